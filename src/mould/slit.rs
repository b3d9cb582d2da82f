//! Cuts in the part of a mould that cloth on it does not pass: where a dart is to be.

use std::collections::HashMap;

use glam::DVec3;

use super::area::{Area, edges_of};
use super::cut::Triangles;
use super::surface::{Spot, Stop, Stretch, Surface};

/// A point this near (mm) to the plane of a cut lies on it.
const ON_LINE_MM: f64 = 2e-6;

/// How far a new corner keeps from the sides of its triangle, as a share of the way to the middle.
const INWARD: f64 = 1e-3;

/// The sides of triangles along cuts, by the numbers of their ends, the lower first; and which cut.
type CutSides = HashMap<(u32, u32), u32>;

impl Area {
    /// The part with the surface cut along each of `lines`: from its first point over the others and on straight
    /// through the edge of the part, and `beyond` mm past it where the mould goes on. What lies further out is left
    /// out. `None` where a line does not come to the edge.
    pub(crate) fn slit(&self, lines: &[Vec<DVec3>], beyond: f64) -> Option<Self> {
        let mut triangles = self.near(beyond);
        let mut sides = CutSides::new();
        for (line, cut) in lines.iter().zip(0..) {
            for (from, to) in slit_one(&mut triangles, line, beyond)? {
                sides.insert((from.min(to), from.max(to)), cut);
            }
        }
        let inside: Vec<bool> = triangles.groups.iter().map(|&of| of == 1).collect();
        let mut surface = Surface::new(triangles.points, triangles.faces);
        let cut_by = |surface: &Surface, face: u32, k: usize| {
            let corners = surface.faces()[face as usize];
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            sides.get(&(a.min(b), a.max(b))).copied()
        };
        let of_cuts: Vec<(u32, usize)> = (0..surface.n_faces())
            .flat_map(|face| [(face, 0), (face, 1), (face, 2)])
            .filter(|&(face, k)| cut_by(&surface, face, k).is_some())
            .collect();
        surface.part_at(&of_cuts);
        let mut edges = edges_of(&surface, &inside);
        for side in edges.iter_mut().flatten() {
            side.slit = cut_by(&surface, side.face, side.k);
        }
        // A line that does not come to the edge is an edge of its own.
        if edges.len() != 1 {
            return None;
        }
        edges.extend_from_slice(&self.edges[1..]);
        Some(Self {
            surface,
            inside,
            edges,
            slits: of_cuts,
            n_covered: self.n_covered,
            left_out: self.left_out,
            smoothed: self.smoothed,
        })
    }

    /// The part and what is within `beyond` mm of it; the group of a triangle of the part is 1.
    fn near(&self, beyond: f64) -> Triangles {
        let grown = self.grown(beyond);
        let mut triangles = Triangles {
            points: self.surface.points().to_vec(),
            ..Triangles::default()
        };
        let faces = self.surface.faces().iter();
        for (face, (inside, grown)) in faces.zip(self.inside.iter().zip(grown)) {
            if grown {
                triangles.faces.push(*face);
                triangles.groups.push(u32::from(*inside));
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

/// Cuts the triangles along one line; the sides along it, by the numbers of their ends.
fn slit_one(triangles: &mut Triangles, line: &[DVec3], beyond: f64) -> Option<Vec<(u32, u32)>> {
    let (last, others) = line.split_last()?;
    let mut corners = Vec::new();
    for &p in others {
        let surface = Surface::new(triangles.points.clone(), triangles.faces.clone());
        let spot = surface.nearest(p, |face| triangles.groups[face as usize] == 1)?;
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
            if triangles.groups[stretch.face as usize] == 1 {
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
    among.extend(neighbours.filter(|&face| face != super::surface::NONE));
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
