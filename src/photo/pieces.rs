//! The pieces of a traced edge: how it is divided, without what is only a blurred corner, each fitted to its points.

use super::divide::{self, PieceOfEdge};
use super::ring::EdgePoint;
use super::shape::{EdgeShape, TOGETHER, keeps_to, line_through, meeting};
use crate::geometry::Point;

/// Most points of an edge that are compared.
const MOST_POINTS: usize = 10_000;
/// So many standard deviations of the blur from a corner nothing is seen of it any more.
const BLURRED: f64 = 2.2;
/// Where pieces turn into each other by less (radians), they are one smooth line.
pub(super) const SMOOTH: f64 = 0.06;

/// A piece of an edge with the points that it was fitted to.
pub(super) struct FittedPiece {
    pub(super) stretch: PieceOfEdge,
    pub(super) shape: EdgeShape,
    pub(super) inner: Vec<EdgePoint>,
}

/// What is known of the picture: standard deviations of its blur and of the noise of a point, mm.
#[derive(Clone, Copy)]
pub(super) struct EdgeSharpness {
    pub(super) blur: f64,
    pub(super) noise: f64,
}

/// The points from where a piece begins, and the pieces that they are divided into.
pub(super) fn pieces(
    points: &[EdgePoint],
    sharpness: EdgeSharpness,
) -> (Vec<EdgePoint>, Vec<FittedPiece>) {
    let unit = TOGETHER * sharpness.noise.powi(2) * libm::log(points.len() as f64);
    let prices = [3.0 * unit, 4.0 * unit];
    // A longer line is the edge of no template, and comparing all divisions would take too long.
    let mut points: Vec<EdgePoint> = (points.iter().copied())
        .step_by(points.len().div_ceil(MOST_POINTS))
        .collect();
    // Where the line begins by chance is no end of a piece: the one nearest to its middle is.
    let half = points.len() / 2;
    let first = divide::divided(&points, prices);
    let start = first
        .iter()
        .map(|piece| piece.from)
        .min_by_key(|from| from.abs_diff(half));
    points.rotate_left(start.unwrap_or(0));
    let stretches = divide::divided(&points, prices);
    let mut pieces: Vec<FittedPiece> = (stretches.into_iter())
        .map(|stretch| FittedPiece::of(&points, stretch, [0.0; 2], sharpness))
        .collect();
    leave_blurred(&points, &mut pieces, sharpness);
    let turns = turns(&pieces);
    let n = pieces.len();
    for (i, piece) in pieces.iter_mut().enumerate() {
        // What a corner blurs is left out.
        let blurred = |turn: f64| {
            if turn > 2.0 * SMOOTH {
                BLURRED * sharpness.blur
            } else {
                0.0
            }
        };
        let trimmed = [blurred(turns[i]), blurred(turns[(i + 1) % n])];
        *piece = FittedPiece::of(&points, piece.stretch, trimmed, sharpness);
    }
    join_straight(&points, &mut pieces, sharpness);
    (points, pieces)
}

/// How much (radians) the edge turns from the piece before each into it.
fn turns(pieces: &[FittedPiece]) -> Vec<f64> {
    let n = pieces.len();
    let turn = |i: usize| {
        let (before, after) = (&pieces[(i + n - 1) % n], &pieces[i]);
        let at = before.last().towards(after.first(), 0.5);
        before.shape.way(at).angle(&after.shape.way(at)).abs()
    };
    (0..n).map(turn).collect()
}

/// Leaves out the pieces that are nothing but a blurred corner: short, and as near to their neighbours as a blur makes a sharp
/// corner of them.
fn leave_blurred(points: &[EdgePoint], pieces: &mut Vec<FittedPiece>, sharpness: EdgeSharpness) {
    let mut i = 0;
    while i < pieces.len() && pieces.len() > 3 {
        let n = pieces.len();
        let (before, own, after) = (&pieces[(i + n - 1) % n], &pieces[i], &pieces[(i + 1) % n]);
        let short = own.first().distance(own.last()) < 12.0 * sharpness.blur;
        let longer = before.inner.len().min(after.inner.len()) > own.inner.len();
        let trimmed = [BLURRED * sharpness.blur; 2];
        let [a, b] = [before, after]
            .map(|piece| FittedPiece::of(points, piece.stretch, trimmed, sharpness).shape);
        let is_blurred = || {
            let met = meeting(&a, &b, own.inner[own.inner.len() / 2].at)?;
            let turn = a.way(met).angle(&b.way(met));
            let taken = 1.5 * libm::tan(0.5 * turn.abs().min(2.9)) * sharpness.blur;
            let hardly = |p: &EdgePoint| 3.5 * sharpness.noise / p.weight.sqrt();
            let near = own
                .inner
                .iter()
                .all(|p| p.at.distance(met) < 12.0 * sharpness.blur);
            let is_off = |p: &EdgePoint| {
                let off = [&a, &b].map(|shape| shape.left(p.at) * turn.signum());
                let off = off[0].min(off[1]);
                off < -hardly(p) - sharpness.blur || off > taken + hardly(p)
            };
            (near && turn.abs() > SMOOTH && !own.inner.iter().any(is_off)).then_some(())
        };
        if short && longer && is_blurred().is_some() {
            pieces.remove(i);
            i = i.saturating_sub(1);
        } else {
            i += 1;
        }
    }
}

/// Makes neighbours one where one straight edge keeps to both.
fn join_straight(points: &[EdgePoint], pieces: &mut Vec<FittedPiece>, sharpness: EdgeSharpness) {
    let mut i = 0;
    while i < pieces.len() && pieces.len() > 2 {
        let n = pieces.len();
        let (own, next) = (&pieces[i], &pieces[(i + 1) % n]);
        let joined: Vec<EdgePoint> = own.inner.iter().chain(&next.inner).copied().collect();
        let is_smooth = turns(pieces)[(i + 1) % n] < 0.5 * SMOOTH;
        let flat = |shape: &EdgeShape| match shape {
            EdgeShape::Straight(..) => true,
            EdgeShape::Arc(_, radius, _) => *radius > 1000.0,
        };
        if let Some((at, along)) = line_through(&joined)
            && is_smooth
            && flat(&own.shape)
            && flat(&next.shape)
            && keeps_to(&joined, sharpness.noise, |p| along.cross(p - at))
        {
            let stretch = PieceOfEdge {
                from: own.stretch.from,
                to: next.stretch.to + if i + 1 == n { points.len() } else { 0 },
            };
            pieces[i] = FittedPiece {
                stretch,
                shape: EdgeShape::Straight(at, along),
                inner: joined,
            };
            pieces.remove((i + 1) % n);
            i = i.saturating_sub(1);
        } else {
            i += 1;
        }
    }
}

impl FittedPiece {
    /// It of its points (their numbers may go round), without so much (mm) at each end.
    pub(super) fn of(
        points: &[EdgePoint],
        stretch: PieceOfEdge,
        trimmed: [f64; 2],
        sharpness: EdgeSharpness,
    ) -> Self {
        let n = points.len();
        let all: Vec<EdgePoint> = (stretch.from..stretch.to).map(|k| points[k % n]).collect();
        let length: f64 = all
            .windows(2)
            .map(|pair| pair[0].at.distance(pair[1].at))
            .sum();
        let step = length / (all.len() as f64 - 1.0).max(1.0);
        let [start, end] = trimmed.map(|mm| (mm.min(0.3 * length) / step.max(1e-9)) as usize);
        let inner = all[start..(all.len() - end).max(start + 1)].to_vec();
        let inner = if inner.len() < 3 { all } else { inner };
        Self {
            stretch,
            shape: EdgeShape::of(&inner, sharpness.noise),
            inner,
        }
    }

    /// How far it may be off at a place, mm.
    pub(super) fn error(&self, place: Point, noise: f64) -> f64 {
        self.shape.error(&self.inner, place, noise)
    }

    /// From its first point to its last, mm.
    pub(super) fn length(&self) -> f64 {
        self.first().distance(self.last())
    }

    pub(super) fn first(&self) -> Point {
        self.inner[0].at
    }

    pub(super) fn last(&self) -> Point {
        self.inner[self.inner.len() - 1].at
    }
}
