//! From points along an edge to what was cut: corners kept sharp, straight edges, arcs, and smooth curves.
//!
//! A picture rounds every corner. So corners are found first, by how the edge runs a little way off on both sides
//! (a parabola each); what lies between two corners is made a straight edge or an arc where it is one within
//! [`TOLERANCE`], else a smoothed curve; and the corner is where these meet.

use super::ring::{REACH, StretchWay, TracedRing, rounded};
use super::solve::Normal;
use crate::geometry::{Circle, Point, Vector, line_simplified, trig};

/// How far (mm) a straight edge or an arc may leave what was seen, noise averaged out.
pub const TOLERANCE: f64 = 0.2;
/// Arcs above this radius (mm) are told from straight edges by no hand.
const LARGEST_RADIUS: f64 = 5000.0;
/// How far (mm) chords leave an arc, and points that are left out leave a curve.
const CHORD: f64 = 0.005;
const LEFT_OUT: f64 = 0.01;
/// Noise of one point goes with that of so many neighbours (colour is kept for blocks of pixels).
const TOGETHER: f64 = 5.0;

/// An edge that was made of points.
pub(super) struct TracedEdge {
    /// Closed.
    pub(super) points: Vec<Point>,
    pub(super) circles: Vec<Circle>,
    pub(super) straight: usize,
    pub(super) arcs: usize,
    pub(super) curves: usize,
    /// How far it may be off by the noise of its points and by what cannot be told of its corners, mm.
    pub(super) error: f64,
    /// Where that is.
    pub(super) worst: Point,
}

/// So many pixels the edge that is seen half-way up a blur stays from a sharp corner that turns little; from the corner of
/// a quarter turn 1.4 times as far, from a pointed one further.
const SHARP_ROUNDED: f64 = 1.1;

/// What a stretch of an edge is.
enum EdgeStretch {
    Straight(Point, Vector),
    Arc(Point, f64),
    Curve(Vec<Point>),
}

/// Makes an edge of `points`, which are closed; pixels are `pixel` mm.
pub(super) fn made(points: &[Point], pixel: f64) -> Option<TracedEdge> {
    let ring = TracedRing::new(points)?;
    let blurred = 5.0 * pixel;
    let noise = ring.noise();
    let whole = stretch(&ring.points, true, noise);
    let corners = match whole {
        EdgeStretch::Arc(..) => Vec::new(),
        _ => {
            let corners = ring.corners(blurred, pixel, noise);
            let corners = ring.without_split(corners, pixel, noise);
            ring.without_doubtful(corners, blurred, noise)
        }
    };
    let n = corners.len();
    let mut edge = TracedEdge {
        points: Vec::new(),
        circles: Vec::new(),
        straight: 0,
        arcs: 0,
        curves: 0,
        error: 0.0,
        worst: Point::default(),
    };
    let stretches: Vec<(EdgeStretch, Vec<Point>)> = (0..n.max(1))
        .map(|i| {
            let inner = match n {
                0 => ring.points.clone(),
                _ => ring.between(corners[i], corners[(i + 1) % n], blurred),
            };
            (stretch(&inner, n == 0, noise), inner)
        })
        .collect();
    let mut meetings = Vec::with_capacity(n);
    for i in 0..n {
        let (before, after) = (&stretches[(i + n - 1) % n], &stretches[i]);
        let at = ring.at(corners[i]);
        let a = before.0.way(&before.1, at, true);
        let b = after.0.way(&after.1, at, false);
        let met = a.zip(b).and_then(|(a, b)| a.meets(&b));
        // What meets far off is no corner that was seen.
        let met = met.filter(|p| p.distance(at) < 3.0 * blurred);
        // Where they run the same way there is no corner but a place between them.
        let between = || Some(a?.at.towards(b?.at, 0.5)).filter(|p| p.distance(at) < blurred);
        meetings.push(met.or_else(between).unwrap_or(at));
        let off = (before.0.error(&before.1, noise)).max(after.0.error(&after.1, noise));
        let cosine = a
            .zip(b)
            .map_or(0.0, |(a, b)| a.direction().dot(b.direction()));
        // The more pointed a corner, the further it moves for what its edges are off; where they run nearly
        // the same way it lies on both.
        let corner = if met.is_some() || cosine > 0.95 {
            off / (0.5 * (1.0 + cosine)).sqrt().max(0.2)
        } else {
            2.0 * pixel
        };
        edge.doubt(corner, at);
        // A picture rounds a sharp corner by so much and no more: what is rounder was cut round.
        if let Some(met) = met {
            let usual = SHARP_ROUNDED * pixel / (0.5 * (1.0 + cosine)).sqrt().max(0.2);
            let seen = ring.points.iter().map(|p| p.distance(met));
            let off = seen.fold(f64::INFINITY, f64::min);
            if off > 1.5 * usual + 2.0 * noise {
                edge.doubt(off - usual, at);
            }
        }
    }
    for (i, (stretch, inner)) in stretches.iter().enumerate() {
        let ends = (n > 0).then(|| (meetings[i], meetings[(i + 1) % n]));
        edge.add(stretch, inner, ends);
        if let Some(&middle) = inner.get(inner.len() / 2) {
            edge.doubt(stretch.error(inner, noise), middle);
        }
        if let EdgeStretch::Curve(smooth) = stretch
            && let Some((cut_off, at)) = cut_off(inner, smooth, noise)
        {
            edge.doubt(cut_off + SHARP_ROUNDED * pixel, at);
        }
        // Nobody can tell a short edge from one corner that was seen badly, if that would lie near it.
        if let Some((start, end)) = ends
            && n > 2
            && start.distance(end) < 3.0 * blurred
        {
            let (before, after) = (&stretches[(i + n - 1) % n], &stretches[(i + 1) % n]);
            let a = before.0.way(&before.1, start, true);
            let b = after.0.way(&after.1, end, false);
            let one = a.zip(b).and_then(|(a, b)| Some((a.meets(&b)?, a.turn(&b))));
            if let Some((one, turn)) = one {
                let gap = one
                    .distance(start)
                    .min(one.distance(end))
                    .min(one.distance(start.towards(end, 0.5)));
                if gap < 1.3 * rounded(pixel, turn) + 2.0 * noise {
                    edge.doubt(0.5 * gap, start);
                }
            }
        }
    }
    (edge.points.len() >= 3).then_some(edge)
}

impl TracedEdge {
    /// Takes it that it may be off by so much (mm) at a place.
    fn doubt(&mut self, error: f64, at: Point) {
        if error > self.error {
            (self.error, self.worst) = (error, at);
        }
    }

    fn add(&mut self, stretch: &EdgeStretch, inner: &[Point], ends: Option<(Point, Point)>) {
        if let Some((start, _)) = ends {
            self.points.push(start);
        }
        match stretch {
            EdgeStretch::Straight(..) => self.straight += 1,
            EdgeStretch::Arc(centre, radius) => {
                self.arcs += 1;
                self.circles.push(Circle {
                    centre: *centre,
                    radius: *radius,
                });
                self.points.extend(arc(*centre, *radius, inner, ends));
            }
            EdgeStretch::Curve(points) => {
                self.curves += 1;
                self.points.extend(line_simplified(points, LEFT_OUT));
            }
        }
    }
}

impl TracedRing {
    /// The corners without those between whose neighbours there is one straight edge or arc: noise made them.
    fn without_doubtful(&self, mut corners: Vec<f64>, blurred: f64, noise: f64) -> Vec<f64> {
        let mut i = 0;
        while i < corners.len() && corners.len() > 1 {
            let n = corners.len();
            let (before, after) = (corners[(i + n - 1) % n], corners[(i + 1) % n]);
            let joined = self.between(before, after, blurred);
            let is_one = match stretch(&joined, false, noise) {
                EdgeStretch::Straight(..) => true,
                // A short arc goes through anything.
                EdgeStretch::Arc(..) => joined.len() > 60,
                EdgeStretch::Curve(_) => false,
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

impl EdgeStretch {
    /// How far its ends may be off for the noise of its points, mm.
    fn error(&self, inner: &[Point], noise: f64) -> f64 {
        let averaged = (inner.len() as f64 / TOGETHER).max(1.0).sqrt();
        match self {
            Self::Straight(..) => 2.0 * noise / averaged,
            Self::Arc(..) => 3.0 * noise / averaged,
            Self::Curve(_) => noise,
        }
    }

    /// How it runs near `at`: its end if `is_end`, else its start.
    fn way(&self, inner: &[Point], at: Point, is_end: bool) -> Option<StretchWay> {
        let flat = Vector::new(0.0, 0.0);
        match self {
            Self::Straight(on, along) => {
                let foot = *on + *along * (at - *on).dot(*along);
                Some(StretchWay {
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
                Some(StretchWay {
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
                let found = StretchWay::through(&points, 0.0)?;
                // Looked at backwards from its end, it runs the other way.
                let along = if is_end {
                    found.along * -1.0
                } else {
                    found.along
                };
                Some(StretchWay { along, ..found })
            }
        }
    }
}

/// How far (mm) and where a smooth curve stays furthest from the points of the edge, if noise does not explain it: it cuts
/// off a corner that was not found.
fn cut_off(points: &[Point], smooth: &[Point], noise: f64) -> Option<(f64, Point)> {
    /// The middles of three points are hardly ever further off by noise.
    const HARDLY: f64 = 2.5;
    let off = points.windows(3).zip(smooth.iter().skip(1)).map(|(p, on)| {
        let sum = (p[0] - *on) + (p[1] - *on) + (p[2] - *on);
        (sum.length() / 3.0, *on)
    });
    off.filter(|(off, _)| *off > HARDLY * noise)
        .max_by(|a, b| a.0.total_cmp(&b.0))
}

/// What the points between two corners are; `is_closed` if they are a whole line.
fn stretch(points: &[Point], is_closed: bool, noise: f64) -> EdgeStretch {
    if !is_closed
        && let Some((at, along)) = line(points)
        && keeps_to(points, noise, |p| along.cross(p - at))
    {
        return EdgeStretch::Straight(at, along);
    }
    if let Some((centre, radius)) = circle(points)
        && radius < LARGEST_RADIUS
        && keeps_to(points, noise, |p| p.distance(centre) - radius)
    {
        return EdgeStretch::Arc(centre, radius);
    }
    EdgeStretch::Curve(smoothed(points, is_closed, noise))
}

/// Whether the points are off by no more than the tolerance, their noise averaged out; where there are too few
/// points for that, by no more than the noise that is left.
fn keeps_to(points: &[Point], noise: f64, off: impl Fn(Point) -> f64) -> bool {
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

/// Every point on the parabola nearest to those around it: to as many as are one parabola but for their noise.
fn smoothed(points: &[Point], is_closed: bool, noise: f64) -> Vec<Point> {
    const HALVES: [usize; 3] = [30, 18, 9];
    let n = points.len();
    if n < 7 {
        return points.to_vec();
    }
    let around = |k: usize, half: usize| -> Vec<(f64, Point)> {
        let half = if is_closed {
            half.min((n - 1) / 2)
        } else {
            half.min(k.min(n - 1 - k).max(3))
        };
        let place = |j: usize| {
            let at = k as isize + j as isize - half as isize;
            let at = if is_closed {
                at.rem_euclid(n as isize)
            } else {
                at
            };
            let p = points.get(usize::try_from(at).ok()?)?;
            Some((j as f64 - half as f64, *p))
        };
        (0..=2 * half).filter_map(place).collect()
    };
    (0..n)
        .map(|k| {
            let ways = HALVES.iter().filter_map(|&half| {
                let near = around(k, half);
                let way = StretchWay::through(&near, 0.0)?;
                let is_one = half == HALVES[2] || way.off(&near, 0.0) < 1.1 * noise;
                is_one.then_some(way.at)
            });
            ways.into_iter().next().unwrap_or(points[k])
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
