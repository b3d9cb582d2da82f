//! From points along an edge to what was cut: straight edges and arcs, and the corners where they meet.
//!
//! A picture rounds every corner. So the edge is divided into straight lines and arcs first (`divide`, `pieces`), each is fitted
//! to its points without those that corners blur, and a corner is where two of them meet (`corner`). How much of it is missing in
//! the picture tells a sharp corner from one that was cut round.

use std::collections::HashSet;

use super::corner::Corner;
use super::pieces::{EdgeSharpness, pieces};
use super::ring::{EdgePoint, TracedRing};
use super::shape::{EdgeShape, circle, keeps_to};
use crate::geometry::{Circle, Point, Vector, trig};

/// How far (mm) chords leave an arc.
const CHORD: f64 = 0.005;
/// From a quarter to three quarters of a step that is blurred by a normal distribution are so many standard deviations.
const QUARTERS: f64 = 1.349;
/// Edges that slant across the pixels are off by such a part of one, whatever the noise.
const LEAST_NOISE: f64 = 0.07;
/// Least blur, pixels.
const LEAST_BLUR: f64 = 0.7;
/// How far (pixels) an edge is off near ink, where colour alone tells, as if its points were as free of each other as elsewhere: by
/// trials on rendered pictures they are off by 0.4 pixels, eight of them together.
const WEAK_NOISE: f64 = 0.65;

/// An edge that was made of points.
pub(super) struct TracedEdge {
    /// Closed.
    pub(super) points: Vec<Point>,
    pub(super) circles: Vec<Circle>,
    pub(super) straight: usize,
    pub(super) arcs: usize,
    /// How far it may be off by the noise of its points and by what cannot be told of its corners, mm.
    pub(super) error: f64,
    /// Where that is.
    pub(super) worst: Point,
}

/// How edges were traced.
pub(super) struct Tracing<'t> {
    /// Pixels, mm.
    pub(super) pixel: f64,
    /// How wide an edge is seen, from a quarter of the step to three quarters, mm.
    pub(super) soft: f64,
    /// Which places of edges are less sure, and how wide edges are seen there.
    pub(super) weak: &'t WeakPlaces,
    pub(super) soft_weak: f64,
}

/// Places of edges that are less sure than others. They are the very points of the edges, so they are found by their bits.
#[derive(Default)]
pub(super) struct WeakPlaces(HashSet<[u64; 2]>);

impl WeakPlaces {
    fn contains(&self, p: Point) -> bool {
        self.0.contains(&bits(p))
    }
}

impl FromIterator<Point> for WeakPlaces {
    fn from_iter<T: IntoIterator<Item = Point>>(points: T) -> Self {
        Self(points.into_iter().map(bits).collect())
    }
}

fn bits(p: Point) -> [u64; 2] {
    [p.x.to_bits(), p.y.to_bits()]
}

/// Makes an edge of `points`, which are closed.
pub(super) fn made(points: &[Point], tracing: &Tracing<'_>) -> Option<TracedEdge> {
    let ring = TracedRing::new(points)?;
    let pixel = tracing.pixel;
    // A sharp scan is still one of pixels.
    let blur_of = |soft: f64| (soft / QUARTERS).max(LEAST_BLUR * pixel);
    let sharpness = EdgeSharpness {
        blur: blur_of(tracing.soft),
        noise: ring.noise().max(LEAST_NOISE * pixel),
    };
    let mut edge = TracedEdge {
        points: Vec::new(),
        circles: Vec::new(),
        straight: 0,
        arcs: 0,
        error: 0.0,
        worst: ring.points[0],
    };
    let weak = EdgeSharpness {
        blur: blur_of(tracing.soft_weak),
        noise: (WEAK_NOISE * pixel).max(sharpness.noise),
    };
    let weight = (sharpness.noise / weak.noise).powi(2);
    let is_weak = |at| tracing.weak.contains(at);
    let weighed = |&at: &Point| EdgePoint {
        at,
        weight: if is_weak(at) { weight } else { 1.0 },
    };
    let points: Vec<EdgePoint> = ring.points.iter().map(weighed).collect();
    let (points, pieces) = pieces(&points, sharpness);
    let n = pieces.len();
    // What is one arc for the division is round too, however noisy.
    if let Some((centre, radius)) = circle(&points)
        && (n < 2 || keeps_to(&points, sharpness.noise, |p| p.distance(centre) - radius))
    {
        let round = EdgeShape::Arc(centre, radius, 1.0);
        edge.add(&round, &points, None);
        // It is as sure all around as its points are.
        for p in points.iter().step_by(points.len().div_ceil(24)) {
            edge.doubt(round.error(&points, p.at, sharpness.noise), p.at);
        }
        return Some(edge);
    }
    let corners: Vec<Corner> = (0..n)
        .map(|i| {
            let meeting = [&pieces[(i + n - 1) % n], &pieces[i]];
            sharpness.corner(&points, weak.blur, meeting)
        })
        .collect();
    for (i, piece) in pieces.iter().enumerate() {
        let (start, end) = (&corners[i], &corners[(i + 1) % n]);
        edge.doubt(start.error, start.ends[1]);
        if let Some(round) = start.round {
            edge.arcs += 1;
            edge.circles.push(round);
            edge.points.push(start.ends[0]);
            let between = arc(
                round.centre,
                round.radius,
                &[],
                Some((start.ends[0], start.ends[1])),
            );
            edge.points.extend(between);
        }
        edge.add(
            &piece.shape,
            &piece.inner,
            Some((start.ends[1], end.ends[0])),
        );
        for at in [
            start.ends[1],
            end.ends[0],
            piece.inner[piece.inner.len() / 2].at,
        ] {
            edge.doubt(piece.error(at, sharpness.noise), at);
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

    fn add(&mut self, shape: &EdgeShape, inner: &[EdgePoint], ends: Option<(Point, Point)>) {
        if let Some((start, _)) = ends {
            self.points.push(start);
        }
        match *shape {
            EdgeShape::Straight(..) => self.straight += 1,
            EdgeShape::Arc(centre, radius, _) => {
                self.arcs += 1;
                self.circles.push(Circle { centre, radius });
                self.points.extend(arc(centre, radius, inner, ends));
            }
        }
    }
}

/// The points of an arc between its ends, or of a whole circle, so that chords leave it by little.
fn arc(
    centre: Point,
    radius: f64,
    inner: &[EdgePoint],
    ends: Option<(Point, Point)>,
) -> Vec<Point> {
    let angle = |p: Point| trig::atan2_radians(p.y - centre.y, p.x - centre.x);
    // The way round, added up along the points.
    let mut total = 0.0;
    let mut steps: Vec<Point> = inner.iter().map(|p| p.at).collect();
    if let Some((start, end)) = ends {
        steps.insert(0, start);
        steps.push(end);
    } else {
        steps.push(steps[0]);
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
