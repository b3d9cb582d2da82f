//! A traced edge as a closed ring: its noise, how it runs near a place, and where its corners are.

use super::solve::Normal;
use crate::geometry::{Point, Vector};

/// Length (mm) of edge that is looked at on either side of a corner, at least.
pub(super) const REACH: f64 = 6.0;
/// Turns of the edge above this (degrees) are corners.
const CORNER: f64 = 16.0;

/// A way near a place: at + along · s + bend · s².
#[derive(Clone, Copy, Debug)]
pub(super) struct StretchWay {
    pub(super) at: Point,
    pub(super) along: Vector,
    pub(super) bend: Vector,
}

/// A closed line with the way along it.
pub(super) struct TracedRing {
    pub(super) points: Vec<Point>,
    /// Way from the first point to each.
    ways: Vec<f64>,
    pub(super) length: f64,
}

impl TracedRing {
    pub(super) fn new(points: &[Point]) -> Option<Self> {
        let mut kept: Vec<Point> = Vec::with_capacity(points.len());
        for &p in points {
            if kept.last().is_none_or(|q| q.distance(p) > 1e-3) {
                kept.push(p);
            }
        }
        let (first, last) = (*kept.first()?, *kept.last()?);
        if kept.len() < 12 {
            return None;
        }
        let mut ways = Vec::with_capacity(kept.len());
        let mut way = 0.0;
        for (i, p) in kept.iter().enumerate() {
            if i > 0 {
                way += p.distance(kept[i - 1]);
            }
            ways.push(way);
        }
        Some(Self {
            length: way + last.distance(first),
            points: kept,
            ways,
        })
    }

    /// The points between two ways along it (the second may be more than once round), each with its way.
    fn along(&self, from: f64, to: f64) -> Vec<(f64, Point)> {
        let n = self.points.len();
        let base = (from / self.length).floor() * self.length;
        let start = self.ways.partition_point(|&w| w + base < from);
        (start..start + n)
            .map(|k| {
                (
                    self.ways[k % n] + base + self.length * (k / n) as f64,
                    self.points[k % n],
                )
            })
            .take_while(|&(way, _)| way <= to)
            .collect()
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
                let from = self.ways[k];
                let mut points = self.along(from, from + self.length);
                points.truncate(width);
                let middle = points.get(width / 2)?.0;
                Some(StretchWay::through(&points, middle)?.off(&points, middle))
            })
            .collect();
        offs.sort_by(f64::total_cmp);
        offs.get(offs.len() / 2).copied().unwrap_or(0.0)
    }

    pub(super) fn at(&self, way: f64) -> Point {
        let near = self.along(way, way + self.length);
        near.first().map_or(self.points[0], |&(_, p)| p)
    }

    /// The points between two corners, without those that the corners blurred.
    pub(super) fn between(&self, from: f64, to: f64, blurred: f64) -> Vec<Point> {
        let to = if to <= from { to + self.length } else { to };
        let trimmed = blurred.min(0.3 * (to - from));
        let points = self.along(from + trimmed, to - trimmed);
        points.into_iter().map(|(_, p)| p).collect()
    }

    /// How it runs a little way off `way`, ahead (1) or behind (-1), over so long a stretch as is one parabola; and the
    /// least turn (degrees) that is believed of so short a stretch.
    fn way_near(
        &self,
        way: f64,
        side: f64,
        blurred: f64,
        reach: f64,
        limit: f64,
    ) -> Option<(StretchWay, f64)> {
        let parts = [(1.0, CORNER), (0.6, 1.5 * CORNER), (0.35, 2.5 * CORNER)];
        parts.iter().find_map(|&(part, least)| {
            let (near, far) = (way + side * blurred, way + side * (blurred + part * reach));
            let points = self.along(near.min(far), near.max(far));
            let found = StretchWay::through(&points, way)?;
            (found.off(&points, way) < limit).then_some((found, least))
        })
    }

    /// The ways where it has corners.
    pub(super) fn corners(&self, blurred: f64, pixel: f64, noise: f64) -> Vec<f64> {
        // The noisier the points, the more of them make a direction.
        let reach = REACH.max(14.0 * pixel).max((100.0 * noise).min(25.0));
        let limit = (0.3 * pixel + 0.05).max(1.5 * noise);
        let mut turns: Vec<(f64, f64)> = Vec::new();
        for (k, &way) in self.ways.iter().enumerate() {
            let ahead = self.way_near(way, 1.0, blurred, reach, limit);
            let behind = self.way_near(way, -1.0, blurred, reach, limit);
            let (Some((ahead, a)), Some((behind, b))) = (ahead, behind) else {
                continue;
            };
            let limit = libm::sin(a.max(b).to_radians());
            let turn = behind.turn(&ahead);
            if turn < limit {
                continue;
            }
            let met = behind.meets(&ahead);
            let gap = met.map_or(f64::INFINITY, |p| p.distance(self.points[k]));
            if gap < rounded(pixel, turn) + 2.0 * noise {
                turns.push((way, turn - 0.15 * gap / pixel));
            }
        }
        let apart = 1.5 * blurred;
        let is_best = |&(way, turn): &(f64, f64)| {
            turns.iter().all(|&(other, by)| {
                let off = (other - way).abs();
                off.min(self.length - off) > apart || by < turn || (by == turn && other >= way)
            })
        };
        turns.iter().filter(|t| is_best(t)).map(|t| t.0).collect()
    }
}

/// How far (mm) a picture rounds a corner: by a pixel or two, the more the sharper it is. A rounded edge is further off.
pub(super) fn rounded(pixel: f64, turn: f64) -> f64 {
    pixel * (2.5 + 2.5 * turn)
}

impl TracedRing {
    /// The corners, two that lie near each other made one if what runs to the first meets what leaves the second
    /// where one corner would be.
    pub(super) fn without_split(&self, mut corners: Vec<f64>, pixel: f64, noise: f64) -> Vec<f64> {
        let mut i = 0;
        while i < corners.len() && corners.len() > 3 {
            let n = corners.len();
            let (first, second) = (corners[i], corners[(i + 1) % n]);
            let apart = (second - first).rem_euclid(self.length);
            let middle = first + 0.5 * apart;
            // What lies between them is blurred as well.
            let blurred = 0.5 * apart + 4.0 * pixel;
            let reach = REACH.max(14.0 * pixel).max((100.0 * noise).min(25.0));
            let limit = (0.3 * pixel + 0.05).max(1.5 * noise);
            let behind = self.way_near(middle, -1.0, blurred, reach, limit);
            let ahead = self.way_near(middle, 1.0, blurred, reach, limit);
            let gap = behind.zip(ahead).and_then(|((a, _), (b, _))| {
                let gap = a.meets(&b)?.distance(self.at(middle));
                Some(gap - rounded(pixel, a.turn(&b)))
            });
            if apart < 16.0 * pixel + 10.0 * noise && gap.is_some_and(|gap| gap < 2.0 * noise) {
                corners[i] = middle.rem_euclid(self.length);
                corners.remove((i + 1) % n);
                corners.sort_by(f64::total_cmp);
            } else {
                i += 1;
            }
        }
        corners
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

    /// The sine of the turn from one way to another; 2 less that beyond a right angle.
    pub(super) fn turn(&self, to: &Self) -> f64 {
        let (a, b) = (self.direction(), to.direction());
        let sine = a.cross(b).abs();
        if a.dot(b) > 0.0 { sine } else { 2.0 - sine }
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
