//! Cuts in the part of a mould that cloth on it does not pass, where a dart is to be, and gaps that it leaves where a cut
//! opens.

use std::collections::HashMap;

use glam::DVec3;

use super::area::{Area, EdgeSide, edges_of};
use super::cut::Triangles;
use super::line::SeenRings;
use super::surface::{NONE, Spot, Stop, Stretch, Surface};

/// A point this near (mm) to the plane of a cut lies on it.
const ON_LINE_MM: f64 = 2e-6;

/// How far a new corner keeps from the sides of its triangle, as a share of the way to the middle.
const INWARD: f64 = 1e-3;

/// The sides of triangles along cuts, by the numbers of their ends, the lower first; and which cut.
type CutSides = HashMap<(u32, u32), u32>;

/// Of a triangle: the part is there; it lies over an opening of the part. The bits above say in which gap it lies, counted
/// from 1.
const INSIDE: u32 = 1;
const OVER_OPENING: u32 = 2;
const GAP_FROM: u32 = 2;

/// A gap in the cloth: on the mould its lips run from the tip apart to past the edge of the part.
#[derive(Clone, Debug)]
pub(crate) struct GapLines {
    pub(crate) tip: DVec3,
    /// Points of each lip after the tip.
    pub(crate) lips: [Vec<DVec3>; 2],
}

/// What of a part lies in a gap of its cloth.
#[derive(Clone, Debug)]
pub(crate) struct GapArea {
    /// It alone; the sides of its edge along the lips have a cut.
    pub(crate) area: Area,
    /// The outer edge of the whole part.
    pub(crate) part_edge: Vec<EdgeSide>,
}

impl Area {
    /// The part with the surface cut along each of `lines`: from its first point over the others and on straight
    /// through the edge of the part, and `beyond` mm past it where the mould goes on. What lies further out is left
    /// out. `None` where a line does not come to the edge.
    pub(crate) fn slit(&self, lines: &[Vec<DVec3>], beyond: f64) -> Option<Self> {
        Some(self.opened(lines, &[], beyond)?.0)
    }

    /// The same without what lies in `gaps`, whose cuts are numbered after those of `lines`; and what lies in each.
    pub(crate) fn opened(
        &self,
        lines: &[Vec<DVec3>],
        gaps: &[GapLines],
        beyond: f64,
    ) -> Option<(Self, Vec<GapArea>)> {
        let mut triangles = self.near(beyond);
        let rings: Vec<SeenRings> = gaps
            .iter()
            .map(|gap| SeenRings::round(&gap.ring()))
            .collect();
        rings.iter().for_each(|ring| ring.cut(&mut triangles));
        let mut sides = CutSides::new();
        for (line, cut) in lines.iter().zip(0..) {
            for (from, to) in slit_one(&mut triangles, line, beyond)? {
                sides.insert((from.min(to), from.max(to)), cut);
            }
        }
        for ((gap, ring), number) in gaps.iter().zip(&rings).zip(1..) {
            gap.mark(ring, number << GAP_FROM, &mut triangles)?;
        }
        let groups = triangles.groups;
        let surface = Surface::new(triangles.points, triangles.faces);
        let of_gaps = (gaps.iter().zip(1..))
            .map(|(gap, number)| self.gap(&surface, &groups, gap, number))
            .collect::<Option<_>>()?;
        let n_lines = lines.len() as u32;
        let cut_by = |surface: &Surface, face: u32, k: usize| {
            let next = surface.across(face)[k];
            let gap = groups[face as usize] >> GAP_FROM;
            let beside = groups.get(next as usize).map_or(gap, |of| of >> GAP_FROM);
            if gap != beside {
                return Some(n_lines + gap.max(beside) - 1);
            }
            let corners = surface.faces()[face as usize];
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            sides.get(&(a.min(b), a.max(b))).copied()
        };
        let of_cuts: Vec<((u32, usize), u32)> = (0..surface.n_faces())
            .flat_map(|face| [(face, 0), (face, 1), (face, 2)])
            .filter_map(|(face, k)| Some(((face, k), cut_by(&surface, face, k)?)))
            .collect();
        let cut_at: HashMap<(u32, usize), u32> = of_cuts.iter().copied().collect();
        let slits: Vec<(u32, usize)> = of_cuts.into_iter().map(|(side, _)| side).collect();
        let mut surface = surface;
        surface.part_at(&slits);
        let inside = |of: &u32| of & INSIDE != 0 && of >> GAP_FROM == 0;
        let laid: Vec<bool> = groups.iter().map(inside).collect();
        let mut edges = edges_of(&surface, &laid);
        for side in edges.iter_mut().flatten() {
            side.slit = cut_at.get(&(side.face, side.k)).copied();
        }
        // A line that does not come to the edge is an edge of its own.
        if edges.len() != 1 {
            return None;
        }
        edges.extend(openings(&surface, &groups, &laid));
        let tips = gaps.iter().zip(n_lines..).map(|(gap, cut)| (cut, gap.tip));
        let area = Self {
            surface,
            inside: laid,
            edges,
            slits,
            tips: tips.collect(),
            n_covered: self.n_covered,
            left_out: self.left_out,
            smoothed: self.smoothed,
        };
        Some((area, of_gaps))
    }

    /// What of the part lies in gap `number`, on the surface before it is parted.
    fn gap(
        &self,
        surface: &Surface,
        groups: &[u32],
        gap: &GapLines,
        number: u32,
    ) -> Option<GapArea> {
        let is_part = |of: &u32| of & INSIDE != 0;
        let is_own = |of: &u32| is_part(of) && of >> GAP_FROM == number;
        let inside: Vec<bool> = groups.iter().map(is_own).collect();
        let mut edges = edges_of(surface, &inside);
        if edges.len() != 1 {
            return None;
        }
        for side in edges.iter_mut().flatten() {
            let next = surface.across(side.face)[side.k];
            let is_lip = groups.get(next as usize).is_some_and(is_part);
            side.slit = is_lip.then_some(0);
        }
        let whole: Vec<bool> = groups.iter().map(is_part).collect();
        let length = |edge: &Vec<EdgeSide>| -> f64 {
            edge.iter().map(|side| side.from.distance(side.to)).sum()
        };
        let part_edge = edges_of(surface, &whole)
            .into_iter()
            .max_by(|a, b| length(a).total_cmp(&length(b)))?;
        let area = Self {
            surface: surface.clone(),
            inside,
            edges,
            slits: Vec::new(),
            tips: vec![(0, gap.tip)],
            n_covered: 0,
            left_out: 0.0,
            smoothed: self.smoothed,
        };
        Some(GapArea { area, part_edge })
    }

    /// The part and what is within `beyond` mm of it, the triangles in groups.
    fn near(&self, beyond: f64) -> Triangles {
        let grown = self.grown(beyond);
        let open = self.over_openings();
        let mut triangles = Triangles {
            points: self.surface.points().to_vec(),
            ..Triangles::default()
        };
        let faces = self.surface.faces().iter().zip(0..);
        for ((face, k), (inside, grown)) in faces.zip(self.inside.iter().zip(grown)) {
            if grown {
                let over_opening = match open.get(k) {
                    Some(true) => OVER_OPENING,
                    _ => 0,
                };
                triangles.faces.push(*face);
                triangles.groups.push(u32::from(*inside) | over_opening);
            }
        }
        triangles
    }

    /// Of each triangle, whether it lies within `by` mm of a cut; empty where there is none.
    pub(crate) fn by_slits(&self, by: f64) -> Vec<bool> {
        if self.slits.is_empty() {
            return Vec::new();
        }
        let faces = self.slits.iter().map(|&(face, _)| face);
        let mut near = vec![false; self.inside.len()];
        self.spread(&mut near, faces.zip(self.slit_lines()).collect(), by);
        near
    }

    /// The sides of the cuts, of both lips, mm.
    pub(crate) fn slit_lines(&self) -> Vec<[DVec3; 2]> {
        let line = |&(face, k): &(u32, usize)| {
            let corners = self.surface.corners(face);
            [corners[k], corners[(k + 1) % 3]]
        };
        self.slits.iter().map(line).collect()
    }
}

/// The edges of the openings that stay open.
fn openings(surface: &Surface, groups: &[u32], laid: &[bool]) -> Vec<Vec<EdgeSide>> {
    let is_open = |face: u32| {
        let of = groups.get(face as usize);
        of.is_some_and(|of| of & OVER_OPENING != 0)
    };
    let cloth = laid.iter().zip(0..);
    let cloth: Vec<bool> = cloth.map(|(laid, face)| *laid && !is_open(face)).collect();
    let is_opening = |edge: &Vec<EdgeSide>| {
        let side = edge.first();
        side.is_some_and(|side| is_open(surface.across(side.face)[side.k]))
    };
    let edges = edges_of(surface, &cloth).into_iter();
    edges.filter(is_opening).collect()
}

impl GapLines {
    /// Out along one lip and back along the other.
    fn ring(&self) -> Vec<DVec3> {
        let [out, back] = &self.lips;
        let out = std::iter::once(&self.tip).chain(out);
        out.chain(back.iter().rev()).copied().collect()
    }

    /// Adds `mark` to the groups of what hangs together in the gap.
    fn mark(&self, ring: &SeenRings, mark: u32, triangles: &mut Triangles) -> Option<()> {
        let surface = Surface::new(triangles.points.clone(), triangles.faces.clone());
        let lips = self.lips.each_ref();
        let middle = lips.map(|lip| lip.get(lip.len() / 2).copied());
        let middle = middle[0]?.midpoint(middle[1]?);
        let off = |&face: &u32| surface.middle(face).distance_squared(middle);
        let is_in = |&face: &u32| ring.contains(surface.middle(face));
        let first = (0..surface.n_faces())
            .filter(is_in)
            .min_by(|a, b| off(a).total_cmp(&off(b)))?;
        let mut queue = vec![first];
        while let Some(face) = queue.pop() {
            let of = &mut triangles.groups[face as usize];
            if *of >> GAP_FROM == 0 {
                *of |= mark;
                let next = surface.across(face).into_iter();
                queue.extend(next.filter(|next| *next != NONE && is_in(next)));
            }
        }
        Some(())
    }
}

/// Cuts the triangles along one line; the sides along it, by the numbers of their ends.
fn slit_one(triangles: &mut Triangles, line: &[DVec3], beyond: f64) -> Option<Vec<(u32, u32)>> {
    let (last, others) = line.split_last()?;
    let mut corners = Vec::new();
    for &p in others {
        let surface = Surface::new(triangles.points.clone(), triangles.faces.clone());
        let spot = surface.nearest(p, |face| is_part(triangles, face))?;
        corners.push(triangles.insert(spot.face, spot.at.lerp(surface.middle(spot.face), INWARD)));
    }
    let mut sides = Vec::new();
    for (k, &corner) in corners.iter().enumerate() {
        let leg = match corners.get(k + 1) {
            Some(&next) => Leg {
                to: triangles.points[next as usize],
                goes_on: None,
            },
            None => Leg {
                to: *last,
                goes_on: Some(beyond),
            },
        };
        sides.extend(slit_leg(triangles, corner, &leg)?);
    }
    Some(sides)
}

fn is_part(triangles: &Triangles, face: u32) -> bool {
    triangles.groups[face as usize] & INSIDE != 0
}

/// A straight part of a line.
struct Leg {
    to: DVec3,
    /// How far past the edge of the part it goes on, mm; `None` where it ends at `to`.
    goes_on: Option<f64>,
}

fn slit_leg(triangles: &mut Triangles, corner: u32, leg: &Leg) -> Option<Vec<(u32, u32)>> {
    let surface = Surface::new(triangles.points.clone(), triangles.faces.clone());
    let from = triangles.points[corner as usize];
    let along = leg.to - from;
    let around = surface.corner_normal(corner);
    let end = surface.nearest(leg.to, |_| true)?;
    let normal = (around + surface.smooth_normal(end))
        .cross(along)
        .try_normalize()?;
    let height = |p: DVec3| normal.dot(p - from);
    // The triangle round the corner through which the line leaves.
    let ahead = |face: u32| {
        let corners = surface.faces()[face as usize];
        let k = corners.iter().position(|&c| c == corner)?;
        let [a, b] = [1, 2].map(|d| triangles.points[corners[(k + d) % 3] as usize]);
        let (ha, hb) = (height(a), height(b));
        let crosses = (ha >= 0.0) != (hb >= 0.0);
        let at = a.lerp(b, ha / (ha - hb)) - from;
        (crosses && at.dot(along) > 0.0).then_some(face)
    };
    let face = (0..surface.n_faces()).find_map(ahead)?;
    let length = along.length_squared();
    let mut passed = vec![];
    let mut outside = 0.0;
    let mut reach = 0.0_f64;
    let ended = surface.section(
        Spot { face, at: from },
        normal,
        along,
        |stretch: Stretch| {
            passed.push(stretch.face);
            let on = (stretch.to - from).dot(along);
            reach = reach.max(on);
            let is_past = on >= length * (1.0 - 1e-9);
            let Some(beyond) = leg.goes_on else {
                return is_past.then_some(());
            };
            if is_part(triangles, stretch.face) {
                outside = 0.0;
            } else {
                outside += stretch.from.distance(stretch.to);
            }
            (is_past && outside > beyond).then_some(())
        },
    );
    if leg.goes_on.is_none() && ended.is_err() || ended == Err(Stop::Lost) {
        return None;
    }
    let mut among = passed.clone();
    let neighbours = passed.iter().flat_map(|&face| surface.across(face));
    among.extend(neighbours.filter(|&face| face != NONE));
    among.sort_unstable();
    among.dedup();
    let n = triangles.faces.len() as u32;
    triangles.cut_some([&passed, &among], height, |_| true);
    let is_on = |c: u32| {
        let p = triangles.points[c as usize];
        let on = (p - from).dot(along);
        height(p).abs() <= ON_LINE_MM && on >= -ON_LINE_MM && on <= reach + ON_LINE_MM
    };
    let changed = among.into_iter().chain(n..triangles.faces.len() as u32);
    let sides = changed.flat_map(|face| {
        let [a, b, c] = triangles.faces[face as usize];
        [(a, b), (b, c), (c, a)]
    });
    Some(sides.filter(|&(a, b)| is_on(a) && is_on(b)).collect())
}
