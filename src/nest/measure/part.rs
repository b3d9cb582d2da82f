//! The convex parts of the variants.

use crate::geometry::{Point, Vector};

/// Half-planes are tested in blocks of this many.
pub(super) const BLOCK: usize = 4;

/// Outward unit normals of edges, a structure of arrays; unused lanes are zero.
#[derive(Clone, Copy, Debug)]
pub(super) struct Normals {
    pub x: [f32; BLOCK],
    pub y: [f32; BLOCK],
}

/// An edge of a part, as the half-plane on whose border it lies.
#[derive(Clone, Copy, Debug)]
pub(in super::super) struct HalfPlane {
    /// Outward unit normal, zero for an edge without length.
    pub normal: Vector,
    pub offset: f64,
    /// Its place among the part's normals in blocks.
    pub place: u32,
}

/// One convex part of one variant.
#[derive(Clone, Copy, Debug)]
pub(super) struct ConvexPart {
    /// Box, rounded outward: bounds of x, −x, y and −y.
    pub reach: [f32; 4],
    /// What a depth counts is the product of the weights of both parts: a large part has further
    /// to go than its depth in a thin one says. 1 for a part of mean area.
    pub weight: f32,
    /// Range of its blocks of normals.
    pub normals: (u32, u32),
    /// Range of its vertices.
    pub vertices: (u32, u32),
}

/// Blocks of half-planes that a part brings into a pair.
#[inline]
pub(super) fn n_blocks(part: &ConvexPart) -> usize {
    (part.normals.1 - part.normals.0) as usize
}

/// The corner that reaches farthest in the direction of `normal`.
pub(in super::super) fn farthest(corners: &[Point], normal: Vector) -> usize {
    let mut best = (0, f64::NEG_INFINITY);
    for (k, corner) in corners.iter().enumerate() {
        let reach = normal.x * corner.x + normal.y * corner.y;
        if reach > best.1 {
            best = (k, reach);
        }
    }
    best.0
}

/// The same, known to be `from` or to follow it on the way round, and how far it reaches.
#[inline]
pub(super) fn farther(corners: &[Point], from: usize, normal: Vector) -> (usize, f64) {
    let reach_of = |k: usize| normal.x * corners[k].x + normal.y * corners[k].y;
    let (mut at, mut reach) = (from, reach_of(from));
    for _ in 1..corners.len() {
        let next = if at + 1 == corners.len() { 0 } else { at + 1 };
        let next_reach = reach_of(next);
        if next_reach < reach {
            break;
        }
        (at, reach) = (next, next_reach);
    }
    (at, reach)
}

/// How far `points` reach in the direction of unit vector `normal`.
pub(super) fn support(points: &[Point], normal: Vector) -> f64 {
    points
        .iter()
        .map(|p| normal.x * p.x + normal.y * p.y)
        .fold(f64::NEG_INFINITY, f64::max)
}

/// The edges of a counter-clockwise polygon, one from each corner. Their places are such that any
/// few in a row point in very different directions: what separates two parts is then found early.
pub(in super::super) fn edges(corners: &[Point]) -> Vec<HalfPlane> {
    let stride = corners.len().div_ceil(BLOCK);
    // Of the BLOCK runs of `stride` edges, some of the last may be shorter or empty.
    let place = |k: usize| {
        let (run, step) = (k / stride, k % stride);
        let before: usize = (0..step)
            .map(|s| (corners.len() - s).div_ceil(stride))
            .sum();
        before + run
    };
    (0..corners.len())
        .map(|k| {
            let edge = corners[(k + 1) % corners.len()] - corners[k];
            let length = edge.length();
            let normal = if length > 0.0 {
                Vector::new(edge.y / length, -edge.x / length)
            } else {
                Vector::default()
            };
            HalfPlane {
                normal,
                offset: normal.dot(corners[k] - Point::default()),
                place: place(k) as u32,
            }
        })
        .collect()
}
