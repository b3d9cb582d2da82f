//! Which part of a mould is laid: where it begins, where it ends, its edges as closed lines.

use std::collections::{BTreeSet, VecDeque};

use glam::DVec3;

use super::cut::Triangles;
use super::lap;
use super::line::{LineSeen, SeenRings};
use super::smooth::smoothed;
use super::surface::{NONE, Spot, Surface};
use crate::geometry::trig;

/// What of a mould the part is, as it is asked for.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct AreaChoice {
    /// A point of it, mm; the largest piece if left out.
    pub seed: Option<[f64; 3]>,
    /// Edges that bend more than this (degrees) end it.
    pub crease_deg: Option<f64>,
    /// What lies above these values of x, y, z, mm.
    pub above: [Option<f64>; 3],
    /// What lies below them, mm.
    pub below: [Option<f64>; 3],
    /// How far (mm) it goes on beyond its limits along x, y, z, measured on the mould: its lap onto the part beside it.
    pub laps: [Option<f64>; 3],
    /// Groups, materials or colours of the file that it is made of; all if empty.
    pub groups: Vec<String>,
    /// What lies inside this closed line, seen along an axis, mm.
    pub inside: Option<ClosedLine>,
    /// What lies inside this drawing, all of whose outer line lies on the mould.
    pub line: Option<LineSeen>,
    /// Whether holes of the mould are openings of the part; otherwise the cloth covers them.
    pub keep_openings: bool,
    /// Whether the cloth lies on the back of the triangles.
    pub on_back: bool,
    /// Whether the mould was scanned, so that its noise is smoothed first.
    pub is_scan: bool,
}

impl AreaChoice {
    /// How alike (by their product) the normals on both sides of an edge are at least that does not end it.
    fn least_bend(&self) -> Option<f64> {
        let degrees = self.crease_deg?;
        Some(trig::sin_cos_radians(degrees.to_radians()).1)
    }
}

/// A closed line seen along an axis: from the other side of the plane of the two axes after it.
#[derive(Clone, Debug, PartialEq)]
pub struct ClosedLine {
    /// 0, 1 or 2 for x, y or z.
    pub axis: usize,
    /// Its corners by the two other axes in order (y z, z x, x y), mm.
    pub points: Vec<[f64; 2]>,
}

/// Why there is no part where it was looked for.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub enum AreaError {
    /// The mould has no group of this name.
    NoGroup(String),
    /// Nothing of the mould is as asked for.
    Nothing,
    /// The seed lies this far (mm) from all that is as asked for.
    FarSeed(f64),
    /// The part has no edge: it goes all round the mould.
    NoEdge,
    /// The line around it leaves the mould at this place (mm).
    LineLeaves([f64; 3]),
}

/// The part of a mould that is laid.
#[derive(Clone, Debug)]
pub(crate) struct Area {
    /// The mould, cut along the edges of the part, its openings covered; seen from the side of the cloth.
    pub(crate) surface: Surface,
    /// Of each triangle, whether the cloth lies on it.
    pub(crate) inside: Vec<bool>,
    /// The edges of the part, each a closed line of corners with the triangle inside that each side of it
    /// belongs to; the longest first. The part lies to its left.
    pub(crate) edges: Vec<Vec<EdgeSide>>,
    /// Sides of triangles along which the surface is cut, both of each: by triangle and side.
    pub(super) slits: Vec<(u32, usize)>,
    /// Of cuts whose lips lie apart, the number and the place of the tip.
    pub(crate) tips: Vec<(u32, DVec3)>,
    /// Holes that the cloth covers.
    pub(crate) n_covered: usize,
    /// Of the area that is as asked for, what does not hang together with the part, mm².
    pub(crate) left_out: f64,
    /// By how much (mm) a point of a scan was moved at most when it was smoothed.
    pub(crate) smoothed: Option<f64>,
}

/// A side of an edge of the part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct EdgeSide {
    pub(crate) face: u32,
    /// Which side of the triangle it is.
    pub(super) k: usize,
    /// The cut that it is a lip of.
    pub(crate) slit: Option<u32>,
    pub(crate) from: DVec3,
    pub(crate) to: DVec3,
}

impl Area {
    /// The part of `mould` that `choice` asks for; `groups` by triangle (empty if the file has none) are indices into
    /// `names`, each what triangles stand under together.
    ///
    /// # Errors
    /// When there is nothing like it, or it has no edge.
    pub(crate) fn of(
        mould: &Surface,
        groups: &[u32],
        names: &[Vec<String>],
        choice: &AreaChoice,
    ) -> Result<Self, AreaError> {
        for name in &choice.groups {
            if !names.iter().any(|under| under.contains(name)) {
                return Err(AreaError::NoGroup(name.clone()));
            }
        }
        let is_chosen = |under: &Vec<String>| {
            choice.groups.is_empty() || choice.groups.iter().any(|name| under.contains(name))
        };
        let chosen: Vec<bool> = names.iter().map(is_chosen).collect();
        let smooth = choice.is_scan.then(|| smoothed(mould));
        let mould = smooth.as_ref().map_or(mould, |(smooth, _)| smooth);
        let mut triangles = Triangles::of(mould, groups);
        if choice.on_back {
            triangles.faces.iter_mut().for_each(|face| face.swap(1, 2));
        }
        let bounds = bounds(choice);
        for &(axis, at, _) in &bounds {
            triangles.cut(|p| p.to_array()[axis] - at);
        }
        let drawn = choice.line.as_ref().map(SeenRings::of_drawing);
        let lines: Vec<SeenRings> = (choice.inside.iter())
            .map(SeenRings::of_line)
            .chain(drawn)
            .collect();
        lines.iter().for_each(|line| line.cut(&mut triangles));
        let Triangles {
            points,
            faces,
            groups,
        } = triangles;
        let surface = Surface::new(points, faces);
        let is_laps = |axis: usize| choice.laps[axis].is_some();
        let is_as_asked = |face: u32, with_laps: bool| {
            let middle = surface.middle(face);
            let by_bound = |&(axis, at, above): &(usize, f64, bool)| {
                with_laps && is_laps(axis) || (middle.to_array()[axis] > at) == above
            };
            let by_line = |line: &SeenRings| line.contains(middle);
            let by_group = |of: &u32| chosen.get(*of as usize) != Some(&false);
            bounds.iter().all(by_bound)
                && lines.iter().all(by_line)
                && groups.get(face as usize).is_none_or(by_group)
        };
        let faces = 0..surface.n_faces();
        let wanted: Vec<bool> = faces.map(|face| is_as_asked(face, false)).collect();
        let (inside, left_out) = Self::piece(&surface, &wanted, choice)?;
        let (surface, inside) = match choice.laps {
            [None, None, None] => (surface, inside),
            laps => {
                let of = |(face, &inside): (u32, &bool)| {
                    let may_be = if is_as_asked(face, true) {
                        lap::ALLOWED
                    } else {
                        0
                    };
                    may_be | if inside { lap::INSIDE } else { 0 }
                };
                let kinds: Vec<u32> = (0..).zip(&inside).map(of).collect();
                let triangles = Triangles::of(&surface, &kinds);
                lapped(triangles, &bounds, laps, choice.least_bend())
            }
        };
        let area = Self {
            smoothed: smooth.map(|(_, most)| most),
            ..Self::with_edges(surface, inside, left_out, choice.keep_openings)?
        };
        match (choice.line.as_ref()).and_then(|line| area.leaves(line, choice)) {
            Some(place) => Err(AreaError::LineLeaves(place.to_array())),
            None => Ok(area),
        }
    }

    /// Where the part ends with the mould, and not with the line around it, or goes round the edge of the mould.
    fn leaves(&self, line: &LineSeen, choice: &AreaChoice) -> Option<DVec3> {
        let rings = SeenRings::of_drawing(line);
        let ends = |side: &&EdgeSide| self.surface.across(side.face)[side.k] == NONE;
        let middles = self.edges[0].iter().filter(ends);
        let middles = middles.map(|side| side.from.lerp(side.to, 0.5));
        let mut off = middles.filter(|at| rings.distance(*at) > OFF_LINE_MM);
        if let Some(at) = off.next() {
            return Some(at);
        }
        let is_only_limit = *choice
            == AreaChoice {
                line: choice.line.clone(),
                keep_openings: choice.keep_openings,
                on_back: choice.on_back,
                is_scan: choice.is_scan,
                ..AreaChoice::default()
            };
        // Whatever is bounded by a line is seen as large as that: what turns its back takes off.
        let inside = || (0..self.surface.n_faces()).filter(|&face| self.inside[face as usize]);
        let seen = |face: u32| self.surface.normal(face).dot(line.from());
        let whole: f64 = inside()
            .map(|face| seen(face) * self.surface.area(face))
            .sum();
        let is_less = whole.abs() < LEAST_SEEN * line.outline.outer.area().abs();
        let turned_away = inside().min_by(|&a, &b| seen(a).total_cmp(&seen(b)));
        turned_away
            .filter(|_| is_only_limit && is_less)
            .map(|face| self.surface.middle(face))
    }

    /// The piece of what is wanted that the seed lies on, or the largest; and the area of the others.
    fn piece(
        surface: &Surface,
        wanted: &[bool],
        choice: &AreaChoice,
    ) -> Result<(Vec<bool>, f64), AreaError> {
        let least = choice.least_bend();
        let goes_on = |a: u32, b: u32| {
            least.is_none_or(|least| surface.normal(a).dot(surface.normal(b)) >= least)
        };
        // Of two that a drawing covers, the one that is seen from there.
        let facing = |piece: &[u32]| -> f64 {
            let from = choice.line.as_ref().map_or(DVec3::ZERO, LineSeen::from);
            let of = |&face: &u32| surface.normal(face).dot(from) * surface.area(face);
            piece.iter().map(of).sum::<f64>().max(0.0)
        };
        let spread = |first: u32, seen: &mut Vec<bool>| -> (Vec<u32>, f64) {
            let mut piece = vec![first];
            let mut queue = VecDeque::from([first]);
            seen[first as usize] = true;
            while let Some(face) = queue.pop_front() {
                for next in surface.across(face) {
                    if next != NONE
                        && wanted[next as usize]
                        && !seen[next as usize]
                        && goes_on(face, next)
                    {
                        seen[next as usize] = true;
                        piece.push(next);
                        queue.push_back(next);
                    }
                }
            }
            let area = piece.iter().map(|&face| surface.area(face)).sum();
            (piece, area)
        };
        let mut seen = vec![false; wanted.len()];
        let all: f64 = (0..surface.n_faces())
            .filter(|&face| wanted[face as usize])
            .map(|face| surface.area(face))
            .sum();
        let (piece, area) = match choice.seed {
            Some(seed) => {
                let seed = DVec3::from_array(seed);
                let spot = surface.nearest(seed, |face| wanted[face as usize]);
                let spot = spot.ok_or(AreaError::Nothing)?;
                let off = spot.at.distance(seed);
                if off > FAR_SEED_MM {
                    return Err(AreaError::FarSeed(off));
                }
                spread(spot.face, &mut seen)
            }
            None => {
                let mut best = (Vec::new(), 0.0);
                let mut most = (0.0, 0.0);
                for face in 0..surface.n_faces() {
                    if wanted[face as usize] && !seen[face as usize] {
                        let found = spread(face, &mut seen);
                        let own = (facing(&found.0), found.1);
                        if own > most {
                            (best, most) = (found, own);
                        }
                    }
                }
                best
            }
        };
        if piece.is_empty() {
            return Err(AreaError::Nothing);
        }
        let mut inside = vec![false; wanted.len()];
        piece.iter().for_each(|&face| inside[face as usize] = true);
        Ok((inside, all - area))
    }

    fn with_edges(
        surface: Surface,
        inside: Vec<bool>,
        left_out: f64,
        keep_openings: bool,
    ) -> Result<Self, AreaError> {
        let mut edges = edges_of(&surface, &inside);
        let length = |edge: &Vec<EdgeSide>| -> f64 {
            edge.iter().map(|side| side.from.distance(side.to)).sum()
        };
        edges.sort_by(|a, b| length(b).total_cmp(&length(a)));
        if edges.is_empty() {
            return Err(AreaError::NoEdge);
        }
        if edges.len() == 1 {
            return Ok(Self {
                surface,
                inside,
                edges,
                slits: Vec::new(),
                tips: Vec::new(),
                n_covered: 0,
                left_out,
                smoothed: None,
            });
        }
        // Where the mould itself ends within the part it has a hole; elsewhere the part is told to end there.
        let of_part = (0..surface.n_faces()).filter(|&face| inside[face as usize]);
        let area: f64 = of_part.map(|face| surface.area(face)).sum();
        let is_hole = |edge: &Vec<EdgeSide>| {
            edge.iter()
                .all(|side| surface.across(side.face)[side.k] == NONE)
                && fan(edge).1 < LARGEST_HOLE * area
        };
        let stays: Vec<bool> = (edges.iter().enumerate())
            .map(|(k, edge)| k == 0 || keep_openings || !is_hole(edge))
            .collect();
        let (surface, inside, numbers) = covered(&surface, &inside, &edges[1..]);
        let sides = edges.iter_mut().flatten();
        sides.for_each(|side| side.face = numbers[side.face as usize]);
        let n = edges.len();
        let mut stays = stays.into_iter();
        edges.retain(|_| stays.next() == Some(true));
        Ok(Self {
            surface,
            inside,
            n_covered: n - edges.len(),
            edges,
            slits: Vec::new(),
            tips: Vec::new(),
            left_out,
            smoothed: None,
        })
    }

    /// The part and what lies within `by` mm of its edges, as far as the mould goes on.
    pub(crate) fn grown(&self, by: f64) -> Vec<bool> {
        let mut grown = self.inside.clone();
        let sides = self.edges.iter().flatten();
        let beside =
            |side: &EdgeSide| (self.surface.across(side.face)[side.k], [side.from, side.to]);
        self.spread(&mut grown, sides.map(beside).collect(), by);
        grown
    }

    /// Adds to `reached` what hangs together with those triangles and lies within `by` mm of the two points told with
    /// each.
    pub(super) fn spread(
        &self,
        reached: &mut [bool],
        mut queue: VecDeque<(u32, [DVec3; 2])>,
        by: f64,
    ) {
        while let Some((face, nearest)) = queue.pop_front() {
            if face == NONE || reached[face as usize] {
                continue;
            }
            let [a, b] = nearest;
            let corners = self.surface.corners(face).into_iter();
            let off = corners
                .map(|p| p.distance(a).min(p.distance(b)))
                .fold(f64::INFINITY, f64::min);
            if off <= by {
                reached[face as usize] = true;
                queue.extend(self.surface.across(face).map(|next| (next, nearest)));
            }
        }
    }

    /// The area of the part itself, mm²: with the holes that the cloth covers, without those that stay open.
    pub(crate) fn on_mould(&self) -> f64 {
        let inside = (0..self.surface.n_faces()).filter(|&face| self.inside[face as usize]);
        let whole: f64 = inside.map(|face| self.surface.area(face)).sum();
        let open: f64 = self.edges[1..].iter().map(|edge| fan(edge).1).sum();
        whole - open
    }

    /// Of each triangle, whether it is one of a fan over an opening that stays open; empty where there is none.
    pub(crate) fn over_openings(&self) -> Vec<bool> {
        let middles: Vec<DVec3> = self.edges[1..].iter().map(|edge| fan(edge).0).collect();
        if middles.is_empty() {
            return Vec::new();
        }
        let is_fan = |face: u32| {
            let corners = self.surface.corners(face);
            let meets = |middle: &DVec3| corners.iter().any(|c| c.distance(*middle) < 1e-6);
            middles.iter().any(meets)
        };
        (0..self.surface.n_faces()).map(is_fan).collect()
    }

    /// The middle of the part, on it.
    pub(crate) fn middle(&self) -> Option<Spot> {
        let mut sum = DVec3::ZERO;
        let mut area = 0.0;
        for face in (0..self.surface.n_faces()).filter(|&face| self.inside[face as usize]) {
            let own = self.surface.area(face);
            sum += self.surface.middle(face) * own;
            area += own;
        }
        (self.surface).nearest(sum / area, |face| self.inside[face as usize])
    }
}

/// What is larger than this share of the part is no hole in it: its other edge, as of a tube.
const LARGEST_HOLE: f64 = 0.25;

/// A seed further than this (mm) from the part is a slip.
const FAR_SEED_MM: f64 = 20.0;

/// What is nearer (mm) to a line lies on it.
const OFF_LINE_MM: f64 = 0.05;

/// A part that is seen smaller than by this share of what its line encloses is not bounded by it.
const LEAST_SEEN: f64 = 0.999;

fn bounds(choice: &AreaChoice) -> Vec<(usize, f64, bool)> {
    let of = |values: &[Option<f64>; 3], above: bool| {
        let stated = values.iter().enumerate();
        let stated = stated.filter_map(|(axis, at)| Some((axis, (*at)?, above)));
        stated.collect::<Vec<_>>()
    };
    [of(&choice.above, true), of(&choice.below, false)].concat()
}

/// A part that goes on by its `laps` beyond its limits, as of [`lap::Lap`], over no edge of which the normals are less alike than `least`.
fn lapped(
    mut triangles: Triangles,
    bounds: &[(usize, f64, bool)],
    laps: [Option<f64>; 3],
    least: Option<f64>,
) -> (Surface, Vec<bool>) {
    for (axis, lap) in laps.into_iter().enumerate() {
        let limits = bounds.iter().filter(|(of, ..)| *of == axis);
        let limits: Vec<f64> = limits.map(|&(_, at, _)| at).collect();
        if let Some(by) = lap {
            let lap = lap::Lap {
                axis,
                limits,
                by,
                least,
            };
            lap.add_to(&mut triangles);
        }
    }
    let is_inside = |of: &u32| of & lap::INSIDE != 0;
    let inside = triangles.groups.iter().map(is_inside).collect();
    (Surface::new(triangles.points, triangles.faces), inside)
}

/// The closed lines between what is inside and what is not, the inside to their left.
pub(super) fn edges_of(surface: &Surface, inside: &[bool]) -> Vec<Vec<EdgeSide>> {
    let is_side = |face: u32, k: usize| {
        let next = surface.across(face)[k];
        next == NONE || !inside[next as usize]
    };
    let mut left: BTreeSet<(u32, usize)> = BTreeSet::new();
    for face in (0..surface.n_faces()).filter(|&face| inside[face as usize]) {
        left.extend((0..3).filter(|&k| is_side(face, k)).map(|k| (face, k)));
    }
    let mut edges = Vec::new();
    while let Some(&first) = left.first() {
        let mut edge = Vec::new();
        let (mut face, mut k) = first;
        while left.remove(&(face, k)) {
            let corners = surface.corners(face);
            edge.push(EdgeSide {
                face,
                k,
                slit: None,
                from: corners[k],
                to: corners[(k + 1) % 3],
            });
            // Round the corner over the triangles that are inside, to the next side.
            k = (k + 1) % 3;
            while !is_side(face, k) {
                let next = surface.across(face)[k];
                let Some(entry) = surface.entry(next, face, k) else {
                    break;
                };
                (face, k) = (next, (entry + 1) % 3);
            }
        }
        edges.push(edge);
    }
    edges
}

/// The middle of an opening and the area of the fan of triangles from there to its sides.
fn fan(edge: &[EdgeSide]) -> (DVec3, f64) {
    let length: f64 = edge.iter().map(|side| side.from.distance(side.to)).sum();
    let weighed = edge
        .iter()
        .map(|side| (side.from + side.to) * (side.from.distance(side.to) / 2.0));
    let middle = weighed.sum::<DVec3>() / length;
    let area = |side: &EdgeSide| (side.from - middle).cross(side.to - middle).length() / 2.0;
    (middle, edge.iter().map(area).sum())
}

/// The surface with a fan of triangles over each opening, without what lies in it beyond its sides; and the
/// new number of each triangle.
fn covered(
    surface: &Surface,
    inside: &[bool],
    openings: &[Vec<EdgeSide>],
) -> (Surface, Vec<bool>, Vec<u32>) {
    let mut points = surface.points().to_vec();
    let mut fans = Vec::new();
    let mut dropped = vec![false; inside.len()];
    for edge in openings {
        let middle = points.len() as u32;
        points.push(fan(edge).0);
        for &EdgeSide { face, k, .. } in edge {
            let corners = surface.faces()[face as usize];
            fans.push([corners[(k + 1) % 3], corners[k], middle]);
            let next = surface.across(face)[k];
            if next != NONE {
                dropped[next as usize] = true;
            }
        }
    }
    let mut faces = Vec::with_capacity(inside.len() + fans.len());
    let mut stays = Vec::with_capacity(inside.len() + fans.len());
    let mut numbers = Vec::with_capacity(inside.len());
    for (face, (&inside, dropped)) in surface.faces().iter().zip(inside.iter().zip(dropped)) {
        numbers.push(faces.len() as u32);
        if !dropped {
            faces.push(*face);
            stays.push(inside);
        }
    }
    stays.extend(std::iter::repeat_n(true, fans.len()));
    faces.extend(fans);
    (Surface::new(points, faces), stays, numbers)
}
