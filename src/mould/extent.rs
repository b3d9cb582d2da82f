//! How a film lies over a part: it keeps its size, so it has to reach as far as the mould does, and into its hollows.
//!
//! A cloth shears until it lies; a film does not. Cut as a rectangle and stuck down along the part's edge, it must be as
//! long as the longest line over the part from edge to edge. What it is longer than the edge beside that line goes into
//! pleats there. Where that line turns up sharply, a film without a pleat spans the hollow.

use std::f64::consts::FRAC_PI_6;

use glam::DVec3;

use super::area::{Area, EdgeSide};
use super::surface::{Spot, Stretch};
use crate::geometry::{Bounds, Outline, Point, Ring, Turn, distance, trig};
use crate::units::Angle;

/// A part as a film has to follow it.
#[derive(Clone, Debug)]
pub(crate) struct FilmExtent {
    /// The part as it is seen from the way it faces in the mean: from the bag side, x along its 0°, mm.
    pub(crate) seen: Outline,
    /// Along the longer side of the rectangle round what is seen, and along the other.
    pub(crate) sides: [SideExtent; 2],
}

/// How far the mould reaches along a side of the rectangle round a part.
#[derive(Clone, Debug, Default)]
pub(crate) struct SideExtent {
    /// By how much (mm) the part's edge on this side is longer than it is seen.
    pub(crate) edge_more: f64,
    /// By how much (mm) the longest line over the part is longer than the edge.
    pub(crate) over_more: f64,
    /// Places where that line turns up sharply, in its order.
    pub(crate) hollows: Vec<[f64; 3]>,
}

/// Lines over a part that are measured along each side.
const LINES: usize = 48;

/// A mould faces some way if the sum of its triangles by their directions is at least this share of their sum by size;
/// a sleeve does not.
const FACES: f64 = 0.1;

/// A film spans what turns up by this (radians) within so much (mm) of a line: common practice, no source.
const SHARP: f64 = FRAC_PI_6;
const WITHIN_MM: f64 = 50.0;

/// What turns by less (radians) does not turn: triangles of one plane.
const FLAT: f64 = 1e-6;

/// Right, up and out of the picture of a part.
#[derive(Clone, Copy)]
struct SideView([DVec3; 3]);

impl SideView {
    fn point(&self, p: DVec3) -> Point {
        Point::new(p.dot(self.0[0]), p.dot(self.0[1]))
    }

    /// Turned so that `direction` of the picture runs right.
    fn turned(&self, direction: Angle) -> Self {
        let [right, up, out] = self.0;
        let along = Turn::rotation(direction).apply(Point::new(1.0, 0.0));
        let right = right * along.x + up * along.y;
        Self([right, out.cross(right), out])
    }
}

impl FilmExtent {
    /// Of `area`, whose 0° runs along `zero`; `None` where it faces no way, as a sleeve.
    pub(crate) fn of(area: &Area, zero: DVec3) -> Option<Self> {
        let inside = || (0..area.surface.n_faces()).filter(|&face| area.inside[face as usize]);
        let whole: f64 = inside().map(|face| area.surface.area(face)).sum();
        let facing: DVec3 = inside()
            .map(|face| area.surface.normal(face) * area.surface.area(face))
            .sum();
        let out = facing
            .try_normalize()
            .filter(|_| facing.length() >= FACES * whole)?;
        let across = |along: DVec3| (along - out * out.dot(along)).try_normalize();
        let right = across(zero).or_else(|| across(out.any_orthonormal_vector()))?;
        let view = SideView([right, out.cross(right), out]);
        let edge = area.edges[0].iter().map(|side| view.point(side.from));
        let corners = || inside().flat_map(|face| area.surface.corners(face));
        let seen = Ring::new(edge)
            .map(Outline::solid)
            .ok()
            .filter(|seen| seen.crossing().is_none())
            // An edge that is not simple from there: the box round all of it.
            .or_else(|| Bounds::of(corners().map(|p| view.point(p)))?.outline())?;
        let long = distance::long_direction(&seen.outer).map_or(Angle::ZERO, |l| l.direction);
        let along = view.turned(long);
        let sides = [along, along.turned(Angle::degrees(90.0))];
        Some(Self {
            seen,
            sides: sides.map(|view| SideExtent::of(area, view)),
        })
    }
}

impl SideExtent {
    /// Along the right of `view`.
    fn of(area: &Area, view: SideView) -> Self {
        let edge_more = area.edges[0]
            .iter()
            .map(|side| more_on_edge(side, view))
            .sum::<f64>()
            / 2.0;
        let lines = lines_over(area, view).into_iter();
        let longer = |line: &Vec<Stretch>| {
            let more = |s: &Stretch| s.from.distance(s.to) - (s.to - s.from).dot(view.0[0]).abs();
            line.iter().map(more).sum::<f64>()
        };
        let of_line = |pieces: Vec<Vec<Stretch>>| (pieces.iter().map(longer).sum::<f64>(), pieces);
        let longest = lines.map(of_line).max_by(|a, b| a.0.total_cmp(&b.0));
        let (more, pieces) = longest.unwrap_or_default();
        let over_more = (more - edge_more).max(0.0);
        let hollows = pieces.iter().flat_map(|piece| hollows(area, piece));
        Self {
            edge_more,
            over_more,
            hollows: hollows.collect(),
        }
    }
}

/// By how much a side of the edge that runs along the right of `view` is longer than it is seen.
fn more_on_edge(side: &EdgeSide, view: SideView) -> f64 {
    let along = side.to - side.from;
    let [right, up] = [view.0[0], view.0[1]].map(|axis| along.dot(axis));
    match right.abs() > up.abs() {
        true => along.length() - right.hypot(up),
        false => 0.0,
    }
}

/// Lines over the part along the right of `view`, evenly apart, each in its pieces in order.
fn lines_over(area: &Area, view: SideView) -> Vec<Vec<Vec<Stretch>>> {
    let across = view.0[1];
    let inside: Vec<u32> = (0..area.surface.n_faces())
        .filter(|&face| area.inside[face as usize])
        .collect();
    let reach = |face: u32| {
        let heights = area.surface.corners(face).map(|p| p.dot(across));
        let [a, b, c] = heights;
        [a.min(b).min(c), a.max(b).max(c)]
    };
    let all = inside.iter().map(|&face| reach(face));
    let Some([low, high]) = all.reduce(|a, b| [a[0].min(b[0]), a[1].max(b[1])]) else {
        return Vec::new();
    };
    let apart = (high - low) / LINES as f64;
    if apart <= 0.0 {
        return Vec::new();
    }
    let mut crossed: Vec<Vec<u32>> = vec![Vec::new(); LINES];
    for &face in &inside {
        let [from, to] = reach(face).map(|at| (at - low) / apart - 0.5);
        let first = from.ceil().max(0.0) as usize;
        let behind = (to.ceil().max(0.0) as usize).min(LINES);
        (first..behind).for_each(|k| crossed[k].push(face));
    }
    let mut seen = vec![usize::MAX; area.inside.len()];
    (crossed.iter().enumerate())
        .map(|(k, faces)| {
            let at = low + (k as f64 + 0.5) * apart;
            let mut pieces = Vec::new();
            for &face in faces {
                if seen[face as usize] != k
                    && let Some(spot) = on_plane(area, face, across, at)
                {
                    pieces.push(walked(area, spot, view, (&mut seen, k)));
                }
            }
            pieces
        })
        .collect()
}

/// A place of a triangle in the plane that lies `at` along `across`.
fn on_plane(area: &Area, face: u32, across: DVec3, at: f64) -> Option<Spot> {
    let corners = area.surface.corners(face);
    let crossings = (0..3).filter_map(|k| {
        let (a, b) = (corners[k], corners[(k + 1) % 3]);
        let (ha, hb) = (a.dot(across) - at, b.dot(across) - at);
        ((ha >= 0.0) != (hb >= 0.0)).then(|| a.lerp(b, ha / (ha - hb)))
    });
    let ends: Vec<DVec3> = crossings.collect();
    let [a, b] = ends[..] else { return None };
    Some(Spot {
        face,
        at: (a + b) / 2.0,
    })
}

/// The line through `spot` as far as it runs on the part; its triangles are noted in `seen`.
fn walked(
    area: &Area,
    spot: Spot,
    view: SideView,
    (seen, k): (&mut [usize], usize),
) -> Vec<Stretch> {
    seen[spot.face as usize] = k;
    let [right, across, _] = view.0;
    let mut way = |toward: DVec3| {
        let mut line: Vec<Stretch> = Vec::new();
        let visit = |stretch: Stretch| {
            let face = stretch.face as usize;
            let is_new = face == spot.face as usize || seen[face] != k;
            if !area.inside[face] || !is_new {
                return Some(());
            }
            seen[face] = k;
            line.push(stretch);
            None
        };
        // It ends with the part or with the mould.
        _ = area.surface.section(spot, across, toward, visit);
        line
    };
    let (ahead, mut behind) = (way(right), way(-right));
    behind.reverse();
    let turned = behind.into_iter().map(|s| Stretch {
        from: s.to,
        to: s.from,
        ..s
    });
    turned.chain(ahead).collect()
}

/// Where a line turns up by [`SHARP`] within [`WITHIN_MM`].
fn hollows(area: &Area, line: &[Stretch]) -> Vec<[f64; 3]> {
    let mut found = Vec::new();
    // How far along, how much it turns there, where; of the last millimetres.
    let mut turns: Vec<(f64, f64, DVec3)> = Vec::new();
    let mut at = 0.0;
    let sum = |turns: &[(f64, f64, DVec3)]| turns.iter().map(|(_, turn, _)| turn).sum::<f64>();
    let place = |turns: &[(f64, f64, DVec3)]| {
        let up = || turns.iter().filter(|(_, turn, _)| *turn > 0.0);
        let weight: f64 = up().map(|(_, turn, _)| turn).sum();
        (up().map(|(_, turn, p)| *p * *turn).sum::<DVec3>() / weight).to_array()
    };
    for pair in line.windows(2) {
        let [a, b] = [pair[0].to - pair[0].from, pair[1].to - pair[1].from];
        at += a.length();
        let (Some(a), Some(b)) = (a.try_normalize(), b.try_normalize()) else {
            continue;
        };
        let turn = trig::atan2_radians(b.dot(area.surface.normal(pair[0].face)), b.dot(a));
        if turn.abs() < FLAT {
            continue;
        }
        // A hollow is told when it turns up no further.
        let is_sharp = sum(&turns) >= SHARP;
        if is_sharp && (turn < 0.0 || at - turns[0].0 > WITHIN_MM) {
            found.push(place(&turns));
            turns.clear();
        }
        turns.push((at, turn, pair[0].to));
        let keep = |(from, _, _): &(f64, f64, DVec3)| is_sharp || at - from <= WITHIN_MM;
        turns.retain(keep);
    }
    if sum(&turns) >= SHARP {
        found.push(place(&turns));
    }
    found
}
