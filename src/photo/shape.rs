//! What a stretch of a traced edge is: a straight line or an arc, whichever its points are.

use super::ring::StretchWay;
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
    pub(super) fn of(points: &[Point], noise: f64) -> Self {
        let (first, last) = (points[0], points[points.len() - 1]);
        let length = first.distance(last);
        let chord = (last - first) * (1.0 / length.max(1e-9));
        let straight = line(points).unwrap_or((first, chord));
        let Some((centre, radius)) = circle(points) else {
            return Self::Straight(straight.0, straight.1);
        };
        let squares =
            |off: &dyn Fn(Point) -> f64| points.iter().map(|&p| off(p).powi(2)).sum::<f64>();
        let price = TOGETHER * noise * noise * libm::log(points.len() as f64);
        let is_arc = squares(&|p| p.distance(centre) - radius) + price
            < squares(&|p| straight.1.cross(p - straight.0));
        let flat =
            radius > FLAT * length && keeps_to(points, noise, |p| straight.1.cross(p - straight.0));
        if !is_arc || flat {
            return Self::Straight(straight.0, straight.1);
        }
        let middle = points[points.len() / 2];
        Self::Arc(
            centre,
            radius,
            (middle - first).cross(last - middle).signum(),
        )
    }

    /// How far its ends may be off for the noise of its points (mm), which are `inner` of `all`: a mean, a slope and a bend are
    /// uncertain each for itself, and the further they lead on, the more.
    pub(super) fn error(&self, inner: usize, all: usize, noise: f64) -> f64 {
        let averaged = (inner as f64 / TOGETHER).max(1.0).sqrt();
        let beyond = (all as f64 / inner.max(1) as f64).powi(2);
        let slope = 1.0 + 3.0 * beyond;
        let parts = match self {
            Self::Straight(..) => slope,
            Self::Arc(..) => slope + 5.0 * (1.5 * beyond - 0.5).powi(2),
        };
        noise * parts.sqrt() / averaged
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

/// Whether the points are off by no more than the tolerance, their noise averaged out; where there are too few
/// points for that, by no more than the noise that is left.
pub(super) fn keeps_to(points: &[Point], noise: f64, off: impl Fn(Point) -> f64) -> bool {
    const AVERAGED: f64 = 9.0;
    const MOST: f64 = 60.0;
    /// So many times the root mean square is hardly ever exceeded along one edge.
    const HARDLY: f64 = 3.2;
    let offs: Vec<f64> = points.iter().map(|&p| off(p)).collect();
    let wished = TOGETHER * (HARDLY * noise / TOLERANCE).powi(2);
    let window = wished.clamp(AVERAGED, MOST) as usize;
    let window = window
        .min((offs.len() / 4).max(AVERAGED as usize))
        .min(offs.len())
        .max(1);
    let left = HARDLY * noise * (TOGETHER / window as f64).min(1.0).sqrt();
    offs.windows(window)
        .all(|w| (w.iter().sum::<f64>() / window as f64).abs() <= left.max(TOLERANCE))
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
pub(super) fn circle(points: &[Point]) -> Option<(Point, f64)> {
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
