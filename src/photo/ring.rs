//! A traced edge as a closed ring: its noise, and how it runs near a place.

use super::solve::Normal;
use crate::geometry::{Point, Vector, trig};

/// A way near a place: at + along · s + bend · s².
#[derive(Clone, Copy, Debug)]
pub(super) struct StretchWay {
    pub(super) at: Point,
    pub(super) along: Vector,
    pub(super) bend: Vector,
}

/// A place where an edge is seen, and how much that counts: 1 beside plain paper, less where ink is near.
#[derive(Clone, Copy, Debug)]
pub(super) struct EdgePoint {
    pub(super) at: Point,
    pub(super) weight: f64,
}

impl EdgePoint {
    pub(super) const fn is_weak(&self) -> bool {
        self.weight < 1.0
    }
}

/// A closed line.
pub(super) struct TracedRing {
    pub(super) points: Vec<Point>,
}

impl TracedRing {
    /// It of points without those that lie on each other.
    pub(super) fn new(points: &[Point]) -> Option<Self> {
        let mut kept: Vec<Point> = Vec::with_capacity(points.len());
        for &p in points {
            if kept.last().is_none_or(|q| q.distance(p) > 1e-3) {
                kept.push(p);
            }
        }
        (kept.len() >= 12).then_some(Self { points: kept })
    }

    /// How far single points are off what runs through their neighbours (root mean square, mm): the median over the
    /// line, so that corners do not count.
    pub(super) fn noise(&self) -> f64 {
        const MOST: usize = 31;
        let n = self.points.len();
        let width = (n / 6).clamp(9, MOST);
        let mut offs: Vec<f64> = (0..n)
            .step_by((width / 4).max(1))
            .filter_map(|k| {
                let mut way = 0.0;
                let near = (k..k + width).map(|k| {
                    let p = self.points[k % n];
                    way += p.distance(self.points[(k + n - 1) % n]);
                    (way, p)
                });
                let near: Vec<(f64, Point)> = near.collect();
                let middle = near[width / 2].0;
                Some(StretchWay::through(&near, middle)?.off(&near, middle))
            })
            .collect();
        offs.sort_by(f64::total_cmp);
        offs.get(offs.len() / 2).copied().unwrap_or(0.0)
    }
}

impl StretchWay {
    /// The parabola nearest to points by their ways, counted from `origin`.
    pub(super) fn through(points: &[(f64, Point)], origin: f64) -> Option<Self> {
        if points.len() < 5 {
            return None;
        }
        let mut normals = [Normal::new(3), Normal::new(3)];
        for &(way, p) in points {
            let s = way - origin;
            let row = [(0, 1.0), (1, s), (2, s * s)];
            normals[0].add(&row, p.x - points[0].1.x, 1.0);
            normals[1].add(&row, p.y - points[0].1.y, 1.0);
        }
        let (x, y) = (normals[0].solved(0.0)?, normals[1].solved(0.0)?);
        let along = Vector::new(x[1], y[1]);
        (along.length() > 0.1).then(|| Self {
            at: points[0].1 + Vector::new(x[0], y[0]),
            along,
            bend: Vector::new(x[2], y[2]),
        })
    }

    /// How far points by their ways are off it, root mean square.
    pub(super) fn off(&self, points: &[(f64, Point)], origin: f64) -> f64 {
        let sum = points.iter().map(|&(way, p)| {
            let s = way - origin;
            let d = p - (self.at + self.along * s + self.bend * (s * s));
            d.dot(d)
        });
        (sum.sum::<f64>() / points.len() as f64).sqrt()
    }

    pub(super) fn direction(&self) -> Vector {
        self.along * (1.0 / self.along.length().max(1e-9))
    }

    /// The turn from one way to another, radians; to the left above 0.
    pub(super) fn angle(&self, to: &Self) -> f64 {
        trig::atan2_radians(self.along.cross(to.along), self.along.dot(to.along))
    }

    /// Where two ways meet, near their origins.
    pub(super) fn meets(&self, other: &Self) -> Option<Point> {
        let at = |way: &Self, s: f64| way.at + way.along * s + way.bend * (s * s);
        let (mut s, mut t) = (0.0, 0.0);
        for _ in 0..12 {
            let gap = at(other, t) - at(self, s);
            let a = self.along + self.bend * (2.0 * s);
            let b = other.along + other.bend * (2.0 * t);
            let turn = a.cross(b);
            if turn.abs() < 0.05 {
                return None;
            }
            s += gap.cross(b) / turn;
            t += gap.cross(a) / turn;
            if s.abs() > 50.0 || t.abs() > 50.0 {
                return None;
            }
        }
        Some(at(self, s))
    }
}
