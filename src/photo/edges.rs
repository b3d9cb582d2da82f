//! From points along an edge to what was cut: corners kept sharp, straight edges, arcs, and smooth curves.
//!
//! A picture rounds every corner. So corners are found first, by how the edge runs a little way off on both sides
//! (a parabola each); what lies between two corners is made a straight edge or an arc where it is one within
//! [`TOLERANCE`], else a smoothed curve; and the corner is where these meet.

use super::solve::Normal;
use crate::geometry::{Circle, Point, Vector, trig};

/// How far (mm) a straight edge or an arc may leave what was seen, noise averaged out.
pub const TOLERANCE: f64 = 0.2;
/// Length (mm) of edge that is looked at on either side of a corner, at least.
const REACH: f64 = 6.0;
/// Turns of the edge above this (degrees) are corners.
const CORNER: f64 = 16.0;
/// Arcs above this radius (mm) are told from straight edges by no hand.
const LARGEST_RADIUS: f64 = 5000.0;
/// How far (mm) chords leave an arc, and points that are left out leave a curve.
const CHORD: f64 = 0.005;
const LEFT_OUT: f64 = 0.01;

/// An edge that was made of points.
pub(super) struct Edge {
    /// Closed.
    pub(super) points: Vec<Point>,
    pub(super) circles: Vec<Circle>,
    pub(super) straight: usize,
    pub(super) arcs: usize,
    pub(super) curves: usize,
    /// Root mean square of what the points were off, mm.
    pub(super) off: f64,
}

/// A way near a place: at + along · s + bend · s².
#[derive(Clone, Copy, Debug)]
struct Way {
    at: Point,
    along: Vector,
    bend: Vector,
}

/// What a stretch of an edge is.
enum Stretch {
    Straight(Point, Vector),
    Arc(Point, f64),
    Curve(Vec<Point>),
}

/// Makes an edge of `points`, which are closed; pixels are `pixel` mm.
pub(super) fn made(points: &[Point], pixel: f64) -> Option<Edge> {
    let ring = Ring::new(points)?;
    let blurred = 5.0 * pixel;
    let whole = stretch(&ring.points, true);
    let corners = match whole {
        Stretch::Arc(..) => Vec::new(),
        _ => ring.without_doubtful(ring.corners(blurred, pixel), blurred),
    };
    let n = corners.len();
    let mut edge = Edge {
        points: Vec::new(),
        circles: Vec::new(),
        straight: 0,
        arcs: 0,
        curves: 0,
        off: 0.0,
    };
    let (mut sum, mut count) = (0.0, 0);
    let mut stretches = Vec::new();
    for i in 0..n.max(1) {
        let inner = match n {
            0 => ring.points.clone(),
            _ => ring.between(corners[i], corners[(i + 1) % n], blurred),
        };
        let stretch = stretch(&inner, n == 0);
        for &p in &inner {
            sum += stretch.off(p).powi(2);
            count += 1;
        }
        stretches.push((stretch, inner));
    }
    edge.off = (sum / f64::from(count.max(1))).sqrt();
    let meeting = |i: usize| -> Point {
        let (before, after) = (&stretches[(i + n - 1) % n], &stretches[i]);
        let at = ring.at(corners[i]);
        let a = before.0.way(&before.1, at, true);
        let b = after.0.way(&after.1, at, false);
        let met = a.zip(b).and_then(|(a, b)| a.meets(&b));
        // What meets far off is no corner that was seen.
        met.filter(|p| p.distance(at) < 3.0 * blurred).unwrap_or(at)
    };
    let meetings: Vec<Point> = (0..n).map(meeting).collect();
    for (i, (stretch, inner)) in stretches.iter().enumerate() {
        let ends = (n > 0).then(|| (meetings[i], meetings[(i + 1) % n]));
        edge.add(stretch, inner, ends);
    }
    (edge.points.len() >= 3).then_some(edge)
}

impl Edge {
    fn add(&mut self, stretch: &Stretch, inner: &[Point], ends: Option<(Point, Point)>) {
        if let Some((start, _)) = ends {
            self.points.push(start);
        }
        match stretch {
            Stretch::Straight(..) => self.straight += 1,
            Stretch::Arc(centre, radius) => {
                self.arcs += 1;
                self.circles.push(Circle {
                    centre: *centre,
                    radius: *radius,
                });
                self.points.extend(arc(*centre, *radius, inner, ends));
            }
            Stretch::Curve(points) => {
                self.curves += 1;
                self.points.extend(thinned(points));
            }
        }
    }
}

/// A closed line with the way along it.
struct Ring {
    points: Vec<Point>,
    /// Way from the first point to each.
    ways: Vec<f64>,
    length: f64,
}

impl Ring {
    fn new(points: &[Point]) -> Option<Self> {
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

    fn at(&self, way: f64) -> Point {
        let near = self.along(way, way + self.length);
        near.first().map_or(self.points[0], |&(_, p)| p)
    }

    /// The points between two corners, without those that the corners blurred.
    fn between(&self, from: f64, to: f64, blurred: f64) -> Vec<Point> {
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
        pixel: f64,
    ) -> Option<(Way, f64)> {
        let parts = [(1.0, CORNER), (0.6, 1.5 * CORNER), (0.35, 2.5 * CORNER)];
        parts.iter().find_map(|&(part, least)| {
            let (near, far) = (way + side * blurred, way + side * (blurred + part * reach));
            let points = self.along(near.min(far), near.max(far));
            let found = Way::through(&points, way)?;
            (found.off(&points, way) < 0.3 * pixel + 0.05).then_some((found, least))
        })
    }

    /// The ways where it has corners.
    fn corners(&self, blurred: f64, pixel: f64) -> Vec<f64> {
        let reach = REACH.max(14.0 * pixel);
        let mut turns: Vec<(f64, f64)> = Vec::new();
        for (k, &way) in self.ways.iter().enumerate() {
            let ahead = self.way_near(way, 1.0, blurred, reach, pixel);
            let behind = self.way_near(way, -1.0, blurred, reach, pixel);
            let (Some((ahead, a)), Some((behind, b))) = (ahead, behind) else {
                continue;
            };
            let limit = libm::sin(a.max(b).to_radians());
            let (a, b) = (behind.direction(), ahead.direction());
            let turn = if a.dot(b) > 0.0 {
                a.cross(b).abs()
            } else {
                2.0 - a.cross(b).abs()
            };
            if turn < limit {
                continue;
            }
            let met = behind.meets(&ahead);
            let gap = met.map_or(f64::INFINITY, |p| p.distance(self.points[k]));
            // A picture rounds a corner by a pixel or two, the more the sharper it is; a rounded edge is further off.
            if gap < pixel * (2.5 + 2.5 * turn) {
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

impl Ring {
    /// The corners without those between whose neighbours there is one straight edge or arc: noise made them.
    fn without_doubtful(&self, mut corners: Vec<f64>, blurred: f64) -> Vec<f64> {
        let mut i = 0;
        while i < corners.len() && corners.len() > 1 {
            let n = corners.len();
            let (before, after) = (corners[(i + n - 1) % n], corners[(i + 1) % n]);
            let joined = self.between(before, after, blurred);
            let is_one = match stretch(&joined, false) {
                Stretch::Straight(..) => true,
                // A short arc goes through anything.
                Stretch::Arc(..) => joined.len() > 60,
                Stretch::Curve(_) => false,
            };
            if n > 2 && is_one {
                corners.remove(i);
                // Its neighbours may be doubtful now.
                i = i.saturating_sub(1);
            } else {
                i += 1;
            }
        }
        corners
    }
}

impl Way {
    /// The parabola nearest to points by their ways, counted from `origin`.
    fn through(points: &[(f64, Point)], origin: f64) -> Option<Self> {
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
    fn off(&self, points: &[(f64, Point)], origin: f64) -> f64 {
        let sum = points.iter().map(|&(way, p)| {
            let s = way - origin;
            let d = p - (self.at + self.along * s + self.bend * (s * s));
            d.dot(d)
        });
        (sum.sum::<f64>() / points.len() as f64).sqrt()
    }

    fn direction(&self) -> Vector {
        self.along * (1.0 / self.along.length().max(1e-9))
    }

    /// Where two ways meet, near their origins.
    fn meets(&self, other: &Self) -> Option<Point> {
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

impl Stretch {
    fn off(&self, p: Point) -> f64 {
        match self {
            Self::Straight(at, along) => along.cross(p - *at),
            Self::Arc(centre, radius) => p.distance(*centre) - radius,
            Self::Curve(points) => points
                .iter()
                .map(|q| q.distance(p))
                .fold(f64::INFINITY, f64::min)
                .min(0.3),
        }
    }

    /// How it runs near `at`: its end if `is_end`, else its start.
    fn way(&self, inner: &[Point], at: Point, is_end: bool) -> Option<Way> {
        let flat = Vector::new(0.0, 0.0);
        match self {
            Self::Straight(on, along) => {
                let foot = *on + *along * (at - *on).dot(*along);
                Some(Way {
                    at: foot,
                    along: *along,
                    bend: flat,
                })
            }
            Self::Arc(centre, radius) => {
                let out = at - *centre;
                let out = out * (1.0 / out.length().max(1e-9));
                let first = *inner.first()?;
                let second = inner[inner.len() / 2];
                let left = Vector::new(-out.y, out.x);
                let forward = (first - *centre).cross(second - *centre) > 0.0;
                let along = if forward { left } else { left * -1.0 };
                Some(Way {
                    at: *centre + out * *radius,
                    along,
                    bend: out * (-0.5 / radius),
                })
            }
            Self::Curve(_) => {
                let mut near: Vec<Point> = inner.to_vec();
                if is_end {
                    near.reverse();
                }
                let mut way = near.first()?.distance(at);
                let mut points = vec![(way, near[0])];
                for pair in near.windows(2) {
                    way += pair[0].distance(pair[1]);
                    points.push((way, pair[1]));
                    if way > points[0].0 + 1.5 * REACH {
                        break;
                    }
                }
                Way::through(&points, 0.0)
            }
        }
    }
}

/// What the points between two corners are; `is_closed` if they are a whole line.
fn stretch(points: &[Point], is_closed: bool) -> Stretch {
    if !is_closed
        && let Some((at, along)) = line(points)
        && keeps_to(points, |p| along.cross(p - at))
    {
        return Stretch::Straight(at, along);
    }
    if let Some((centre, radius)) = circle(points)
        && radius < LARGEST_RADIUS
        && keeps_to(points, |p| p.distance(centre) - radius)
    {
        return Stretch::Arc(centre, radius);
    }
    Stretch::Curve(smoothed(points, is_closed))
}

/// Whether the points are off by no more than the tolerance, the noise of single points averaged out.
fn keeps_to(points: &[Point], off: impl Fn(Point) -> f64) -> bool {
    const AVERAGED: usize = 9;
    let offs: Vec<f64> = points.iter().map(|&p| off(p)).collect();
    let window = AVERAGED.min(offs.len()).max(1);
    offs.windows(window)
        .all(|w| (w.iter().sum::<f64>() / window as f64).abs() <= TOLERANCE)
}

/// A point and the direction of the straight line nearest to `points`, from first to last.
pub(super) fn line(points: &[Point]) -> Option<(Point, Vector)> {
    if points.len() < 3 {
        return None;
    }
    let n = points.len() as f64;
    let middle = Point::new(
        points.iter().map(|p| p.x).sum::<f64>() / n,
        points.iter().map(|p| p.y).sum::<f64>() / n,
    );
    let sum = |f: &dyn Fn(Vector) -> f64| points.iter().map(|&p| f(p - middle)).sum::<f64>();
    let (xx, xy, yy) = (
        sum(&|v| v.x * v.x),
        sum(&|v| v.x * v.y),
        sum(&|v| v.y * v.y),
    );
    let angle = 0.5 * trig::atan2_radians(2.0 * xy, xx - yy);
    let (sin, cos) = trig::sin_cos_radians(angle);
    let along = Vector::new(cos, sin);
    let forward = (points[points.len() - 1] - points[0]).dot(along) >= 0.0;
    (xx + yy > 1e-9).then(|| (middle, if forward { along } else { along * -1.0 }))
}

/// Centre and radius of the circle nearest to `points`: algebraic (Kåsa 1976), then Gauss-Newton steps on
/// the distances.
fn circle(points: &[Point]) -> Option<(Point, f64)> {
    let (from, n) = (*points.first()?, points.len());
    if n < 8 {
        return None;
    }
    let mut normal = Normal::new(3);
    for p in points {
        let v = *p - from;
        normal.add(&[(0, v.x), (1, v.y), (2, 1.0)], v.dot(v), 1.0);
    }
    let x = normal.solved(0.0)?;
    let mut centre = from + Vector::new(x[0] / 2.0, x[1] / 2.0);
    let mut radius = (x[2] + (x[0] * x[0] + x[1] * x[1]) / 4.0).max(0.0).sqrt();
    for _ in 0..8 {
        let mut normal = Normal::new(3);
        for p in points {
            let v = *p - centre;
            let far = v.length().max(1e-9);
            normal.add(
                &[(0, -v.x / far), (1, -v.y / far), (2, -1.0)],
                radius - far,
                1.0,
            );
        }
        let step = normal.solved(0.0)?;
        centre = centre + Vector::new(step[0], step[1]);
        radius += step[2];
    }
    (radius.is_finite() && radius > 0.5 && centre.is_finite()).then_some((centre, radius))
}

/// Every point on the parabola nearest to those around it.
fn smoothed(points: &[Point], is_closed: bool) -> Vec<Point> {
    const HALF: usize = 9;
    let n = points.len();
    if n < 7 {
        return points.to_vec();
    }
    (0..n)
        .map(|k| {
            let half = if is_closed {
                HALF.min((n - 1) / 2)
            } else {
                HALF.min(k.min(n - 1 - k).max(3))
            };
            let around = (0..=2 * half).filter_map(|j| {
                let at = k as isize + j as isize - half as isize;
                let at = if is_closed {
                    at.rem_euclid(n as isize)
                } else {
                    at
                };
                let p = points.get(usize::try_from(at).ok()?)?;
                Some((j as f64 - half as f64, *p))
            });
            let around: Vec<(f64, Point)> = around.collect();
            Way::through(&around, 0.0).map_or(points[k], |way| way.at)
        })
        .collect()
}

/// The points of an arc between its ends, or of a whole circle, so that chords leave it by little.
fn arc(centre: Point, radius: f64, inner: &[Point], ends: Option<(Point, Point)>) -> Vec<Point> {
    let angle = |p: Point| trig::atan2_radians(p.y - centre.y, p.x - centre.x);
    // The way round, added up along the points.
    let mut total = 0.0;
    let mut steps = inner.to_vec();
    if let Some((start, end)) = ends {
        steps.insert(0, start);
        steps.push(end);
    } else {
        steps.push(inner[0]);
    }
    for pair in steps.windows(2) {
        let by = angle(pair[1]) - angle(pair[0]);
        total += by - std::f64::consts::TAU * (by / std::f64::consts::TAU).round();
    }
    let step = 2.0 * trig::acos_radians((1.0 - CHORD / radius).clamp(-1.0, 1.0));
    let n = (total.abs() / step.max(1e-3)).ceil().clamp(2.0, 2000.0) as usize;
    let from = angle(steps[0]);
    let first = usize::from(ends.is_some());
    (first..n)
        .map(|k| {
            let (sin, cos) = trig::sin_cos_radians(from + total * k as f64 / n as f64);
            centre + Vector::new(cos, sin) * radius
        })
        .collect()
}

/// A curve without the points that lie nearly on the chords of the others (Douglas and Peucker 1973).
fn thinned(points: &[Point]) -> Vec<Point> {
    let n = points.len();
    if n < 3 {
        return points.to_vec();
    }
    let mut keep = vec![false; n];
    keep[0] = true;
    keep[n - 1] = true;
    let mut open = vec![(0, n - 1)];
    while let Some((a, b)) = open.pop() {
        let chord = points[b] - points[a];
        let length = chord.length().max(1e-9);
        let off = |k: usize| (chord.cross(points[k] - points[a]) / length).abs();
        let worst = (a + 1..b).max_by(|&i, &j| off(i).total_cmp(&off(j)));
        if let Some(k) = worst
            && off(k) > LEFT_OUT
        {
            keep[k] = true;
            open.extend([(a, k), (k, b)]);
        }
    }
    points
        .iter()
        .zip(keep)
        .filter(|(_, keep)| *keep)
        .map(|(p, _)| *p)
        .collect()
}
