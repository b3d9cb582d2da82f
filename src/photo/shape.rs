//! What a stretch of a traced edge is: a straight line or an arc, whichever its points are.

use super::ring::{EdgePoint, StretchWay};
use super::solve::Normal;
use crate::geometry::{Point, Vector, trig};

/// How far (mm) a straight edge may leave what was seen, noise averaged out.
pub const TOLERANCE: f64 = 0.2;
/// Arcs of a radius above so many times their length are straight edges if they keep to that.
const FLAT: f64 = 60.0;
/// Noise of one point goes with that of so many neighbours (colour is kept for blocks of pixels); by trials on rendered pictures.
pub(super) const TOGETHER: f64 = 3.0;

/// What a piece of an edge is.
#[derive(Clone, Copy)]
pub(super) enum EdgeShape {
    /// A place on it, and where it goes.
    Straight(Point, Vector),
    /// Centre, radius, and 1 where it turns left, -1 where it turns right.
    Arc(Point, f64, f64),
}

impl EdgeShape {
    /// What the points are: a straight edge, unless an arc is nearer by more than noise and by more than is flat.
    pub(super) fn of(points: &[EdgePoint], noise: f64) -> Self {
        let (first, last) = (points[0].at, points[points.len() - 1].at);
        let length = first.distance(last);
        let chord = (last - first) * (1.0 / length.max(1e-9));
        let straight = line_through(points).unwrap_or((first, chord));
        let Some((centre, radius)) = circle(points) else {
            return Self::Straight(straight.0, straight.1);
        };
        let squares = |off: &dyn Fn(Point) -> f64| {
            points
                .iter()
                .map(|p| p.weight * off(p.at).powi(2))
                .sum::<f64>()
        };
        let price = TOGETHER * noise * noise * libm::log(points.len() as f64);
        let is_arc = squares(&|p| p.distance(centre) - radius) + price
            < squares(&|p| straight.1.cross(p - straight.0));
        let flat =
            radius > FLAT * length && keeps_to(points, noise, |p| straight.1.cross(p - straight.0));
        if !is_arc || flat {
            return Self::Straight(straight.0, straight.1);
        }
        let middle = points[points.len() / 2].at;
        Self::Arc(
            centre,
            radius,
            (middle - first).cross(last - middle).signum(),
        )
    }

    /// How far it may be off at `place` for the noise of `points`, which it was fitted to, mm: a mean, a slope and a bend are
    /// uncertain, and the further they lead on, the more.
    pub(super) fn error(&self, points: &[EdgePoint], place: Point, noise: f64) -> f64 {
        let middle = points[points.len() / 2].at;
        let along = self.way(middle).direction();
        // A line may be shifted and turned; a circle shifted both ways, and larger.
        let (unknowns, centre, radius) = match *self {
            Self::Straight(on, _) => (2, on, middle.distance(points[0].at).max(1e-6)),
            Self::Arc(centre, radius, _) => (3, centre, radius),
        };
        let across = (middle - centre) * (1.0 / radius);
        let terms = |p: Point| {
            let from = (p - centre) * (1.0 / radius);
            [(0, 1.0), (1, from.dot(along)), (2, 1.0 - from.dot(across))]
        };
        let mut normal = Normal::new(unknowns);
        for p in points {
            normal.add(&terms(p.at)[..unknowns], 0.0, p.weight);
        }
        let variance = normal.variance(&terms(place)[..unknowns]);
        noise * (TOGETHER * variance.unwrap_or(f64::INFINITY)).sqrt()
    }

    /// How it runs near `at`.
    pub(super) fn way(&self, at: Point) -> StretchWay {
        match *self {
            Self::Straight(on, along) => StretchWay {
                at: on + along * (at - on).dot(along),
                along,
                bend: Vector::new(0.0, 0.0),
            },
            Self::Arc(centre, radius, side) => {
                let out = at - centre;
                let out = out * (1.0 / out.length().max(1e-9));
                StretchWay {
                    at: centre + out * radius,
                    along: Vector::new(-out.y, out.x) * side,
                    bend: out * (-0.5 / radius),
                }
            }
        }
    }

    /// How far `p` is to the left of it.
    pub(super) fn left(&self, p: Point) -> f64 {
        match *self {
            Self::Straight(on, along) => along.cross(p - on),
            Self::Arc(centre, radius, side) => (radius - p.distance(centre)) * side,
        }
    }
}

/// Where two pieces meet near `at`.
pub(super) fn meeting(before: &EdgeShape, after: &EdgeShape, at: Point) -> Option<Point> {
    let first = before.way(at).meets(&after.way(at))?;
    before.way(first).meets(&after.way(first))
}

/// Where two pieces that go the same way near `at` neither come nearer to each other nor part: where they would touch.
pub(super) fn nearest(before: &EdgeShape, after: &EdgeShape, at: Point) -> Option<Point> {
    let mut near = at;
    for _ in 0..8 {
        let (a, b) = (before.way(near), after.way(near));
        let along = a.direction();
        // By how much more the one is to the left of the other, a little further on.
        let [slope, bend] = [b.along - a.along, b.bend - a.bend].map(|by| along.cross(by));
        let by = -slope / (2.0 * bend);
        near = near + along * by;
        if !near.is_finite() {
            return None;
        }
    }
    Some(near)
}

/// Whether the points are off by no more than the tolerance, their noise averaged out; where there are too few
/// points for that, by no more than the noise that is left.
pub(super) fn keeps_to(points: &[EdgePoint], noise: f64, off: impl Fn(Point) -> f64) -> bool {
    const AVERAGED: f64 = 9.0;
    const MOST: f64 = 60.0;
    /// So many times the root mean square is hardly ever exceeded along one edge.
    const HARDLY: f64 = 3.2;
    let offs: Vec<[f64; 2]> = { points.iter() }
        .map(|p| [p.weight * off(p.at), p.weight])
        .collect();
    let wished = TOGETHER * (HARDLY * noise / TOLERANCE).powi(2);
    let window = wished.clamp(AVERAGED, MOST) as usize;
    let window = window
        .min((offs.len() / 4).max(AVERAGED as usize))
        .min(offs.len())
        .max(1);
    offs.windows(window).all(|w| {
        let [off, weight] = [0, 1].map(|i| w.iter().map(|v| v[i]).sum::<f64>());
        let left = HARDLY * noise * (TOGETHER / weight).min(window as f64 / weight).sqrt();
        (off / weight).abs() <= left.max(TOLERANCE)
    })
}

/// A point and the direction of the straight line nearest to `points`, from first to last.
pub(super) fn line(points: &[Point]) -> Option<(Point, Vector)> {
    let points: Vec<EdgePoint> = { points.iter() }
        .map(|&at| EdgePoint { at, weight: 1.0 })
        .collect();
    line_through(&points)
}

/// The same of points each of which counts by its weight.
pub(super) fn line_through(points: &[EdgePoint]) -> Option<(Point, Vector)> {
    if points.len() < 3 {
        return None;
    }
    let n = points.iter().map(|p| p.weight).sum::<f64>();
    let mean = |of: fn(Point) -> f64| points.iter().map(|p| p.weight * of(p.at)).sum::<f64>() / n;
    let middle = Point::new(mean(|p| p.x), mean(|p| p.y));
    let sum = |f: &dyn Fn(Vector) -> f64| {
        let parts = points.iter().map(|p| p.weight * f(p.at - middle));
        parts.sum::<f64>()
    };
    let (xx, xy, yy) = (
        sum(&|v| v.x * v.x),
        sum(&|v| v.x * v.y),
        sum(&|v| v.y * v.y),
    );
    let angle = 0.5 * trig::atan2_radians(2.0 * xy, xx - yy);
    let (sin, cos) = trig::sin_cos_radians(angle);
    let along = Vector::new(cos, sin);
    let forward = (points[points.len() - 1].at - points[0].at).dot(along) >= 0.0;
    (xx + yy > 1e-9).then(|| (middle, if forward { along } else { along * -1.0 }))
}

/// Centre and radius of the circle nearest to `points`: algebraic (Kåsa 1976), then Gauss-Newton steps on
/// the distances.
pub(super) fn circle(points: &[EdgePoint]) -> Option<(Point, f64)> {
    let (from, n) = (points.first()?.at, points.len());
    if n < 8 {
        return None;
    }
    let mut normal = Normal::new(3);
    for p in points {
        let v = p.at - from;
        normal.add(&[(0, v.x), (1, v.y), (2, 1.0)], v.dot(v), p.weight);
    }
    let x = normal.solved(0.0)?;
    let mut centre = from + Vector::new(x[0] / 2.0, x[1] / 2.0);
    let mut radius = (x[2] + (x[0] * x[0] + x[1] * x[1]) / 4.0).max(0.0).sqrt();
    for _ in 0..8 {
        let mut normal = Normal::new(3);
        for p in points {
            let v = p.at - centre;
            let far = v.length().max(1e-9);
            normal.add(
                &[(0, -v.x / far), (1, -v.y / far), (2, -1.0)],
                radius - far,
                p.weight,
            );
        }
        let step = normal.solved(0.0)?;
        centre = centre + Vector::new(step[0], step[1]);
        radius += step[2];
    }
    (radius.is_finite() && radius > 0.5 && centre.is_finite()).then_some((centre, radius))
}
