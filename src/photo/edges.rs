//! From points along an edge to what was cut: straight edges and arcs, and the corners where they meet.
//!
//! A picture rounds every corner. So the edge is divided into straight lines and arcs first ([`divide`]), each is fitted
//! to its points without those that corners blur, and a corner is where two of them meet. How much of it is missing in
//! the picture tells a sharp corner from one that was cut round.

use super::divide::{self, PieceOfEdge};
use super::ring::{StretchWay, TracedRing};
use super::solve::Normal;
use crate::geometry::{Circle, Point, Vector, trig};

/// How far (mm) a straight edge may leave what was seen, noise averaged out.
pub const TOLERANCE: f64 = 0.2;
/// Arcs of a radius above so many times their length are straight edges if they keep to that.
const FLAT: f64 = 60.0;
/// How far (mm) chords leave an arc.
const CHORD: f64 = 0.005;
/// Noise of one point goes with that of so many neighbours (colour is kept for blocks of pixels); by trials on rendered pictures.
const TOGETHER: f64 = 3.0;
/// From a quarter to three quarters of a step that is blurred by a normal distribution are so many standard deviations.
const QUARTERS: f64 = 1.349;
/// So many standard deviations of the blur from a corner nothing is seen of it any more.
const BLURRED: f64 = 2.2;
/// The area that a picture takes of a sharp corner, as a part of what its blur takes of a small turn, by trials on rendered pictures.
const TAKEN: f64 = 0.5;
/// Edges that slant across the pixels are off by such a part of one, whatever the noise.
const LEAST_NOISE: f64 = 0.1;
/// A corner of which so many times that is missing was cut round.
const ROUND: f64 = 6.0;
/// Where pieces turn into each other by less (radians), they are one smooth line.
const SMOOTH: f64 = 0.06;

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

/// What a piece of an edge is.
#[derive(Clone, Copy)]
enum EdgeShape {
    /// A place on it, and where it goes.
    Straight(Point, Vector),
    /// Centre, radius, and 1 where it turns left, -1 where it turns right.
    Arc(Point, f64, f64),
}

/// A piece of an edge with the points that it was fitted to.
struct FittedPiece {
    stretch: PieceOfEdge,
    shape: EdgeShape,
    inner: Vec<Point>,
}

/// What is known of the picture: standard deviations of its blur and of the noise of a point, mm.
#[derive(Clone, Copy)]
struct Sharpness {
    blur: f64,
    noise: f64,
}

/// Where two pieces meet.
struct Corner {
    /// Where the first ends and the second begins, and what lies between them if it is cut round.
    ends: [Point; 2],
    round: Option<Circle>,
    /// How far it may be off, mm.
    error: f64,
}

/// Makes an edge of `points`, which are closed; pixels are `pixel` mm, and an edge is seen `soft` mm wide from a quarter of the
/// step to three quarters.
pub(super) fn made(points: &[Point], pixel: f64, soft: f64) -> Option<TracedEdge> {
    let ring = TracedRing::new(points)?;
    let sharpness = Sharpness {
        // A sharp scan is still one of pixels.
        blur: (soft / QUARTERS).max(pixel),
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
    let points = &ring.points;
    if let Some((centre, radius)) = circle(points)
        && keeps_to(points, sharpness.noise, |p| p.distance(centre) - radius)
    {
        let round = EdgeShape::Arc(centre, radius, 1.0);
        edge.add(&round, points, None);
        edge.doubt(
            round.error(points.len(), points.len(), sharpness.noise),
            points[0],
        );
        return Some(edge);
    }
    let (points, pieces) = pieces(points, sharpness);
    let n = pieces.len();
    if n < 2 {
        return None;
    }
    let corners: Vec<Corner> = (0..n)
        .map(|i| sharpness.corner(&points, &pieces[(i + n - 1) % n], &pieces[i]))
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
        edge.doubt(
            piece.error(sharpness.noise),
            piece.inner[piece.inner.len() / 2],
        );
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

    fn add(&mut self, shape: &EdgeShape, inner: &[Point], ends: Option<(Point, Point)>) {
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

/// The points from where a piece begins, and the pieces that they are divided into.
fn pieces(points: &[Point], sharpness: Sharpness) -> (Vec<Point>, Vec<FittedPiece>) {
    let unit = TOGETHER * sharpness.noise.powi(2) * libm::log(points.len() as f64);
    let prices = [3.0 * unit, 4.0 * unit];
    let mut points = points.to_vec();
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
fn leave_blurred(points: &[Point], pieces: &mut Vec<FittedPiece>, sharpness: Sharpness) {
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
            let met = meeting(&a, &b, own.inner[own.inner.len() / 2])?;
            let turn = a.way(met).angle(&b.way(met));
            let taken = 1.5 * libm::tan(0.5 * turn.abs().min(2.9)) * sharpness.blur;
            let hardly = 3.5 * sharpness.noise;
            let offs = own
                .inner
                .iter()
                .map(|&p| (a.left(p) * turn.signum()).min(b.left(p) * turn.signum()));
            let near = own
                .inner
                .iter()
                .all(|p| p.distance(met) < 12.0 * sharpness.blur);
            (near && turn.abs() > SMOOTH && { offs }
                .all(|off| off > -hardly - sharpness.blur && off < taken + hardly))
            .then_some(())
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
fn join_straight(points: &[Point], pieces: &mut Vec<FittedPiece>, sharpness: Sharpness) {
    let mut i = 0;
    while i < pieces.len() && pieces.len() > 2 {
        let n = pieces.len();
        let (own, next) = (&pieces[i], &pieces[(i + 1) % n]);
        let joined: Vec<Point> = own.inner.iter().chain(&next.inner).copied().collect();
        let is_smooth = turns(pieces)[(i + 1) % n] < 0.5 * SMOOTH;
        let flat = |shape: &EdgeShape| match shape {
            EdgeShape::Straight(..) => true,
            EdgeShape::Arc(_, radius, _) => *radius > 1000.0,
        };
        if let Some((at, along)) = line(&joined)
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
    fn of(points: &[Point], stretch: PieceOfEdge, trimmed: [f64; 2], sharpness: Sharpness) -> Self {
        let n = points.len();
        let all: Vec<Point> = (stretch.from..stretch.to).map(|k| points[k % n]).collect();
        let length: f64 = all.windows(2).map(|pair| pair[0].distance(pair[1])).sum();
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

    /// How far its ends may be off, mm.
    fn error(&self, noise: f64) -> f64 {
        let all = self.stretch.to - self.stretch.from;
        self.shape.error(self.inner.len(), all, noise)
    }

    fn first(&self) -> Point {
        self.inner[0]
    }

    fn last(&self) -> Point {
        self.inner[self.inner.len() - 1]
    }
}

impl EdgeShape {
    /// What the points are: a straight edge, unless an arc is nearer by more than noise and by more than is flat.
    fn of(points: &[Point], noise: f64) -> Self {
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
    fn error(&self, inner: usize, all: usize, noise: f64) -> f64 {
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
    fn way(&self, at: Point) -> StretchWay {
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
    fn left(&self, p: Point) -> f64 {
        match *self {
            Self::Straight(on, along) => along.cross(p - on),
            Self::Arc(centre, radius, side) => (radius - p.distance(centre)) * side,
        }
    }
}

/// Where two pieces meet near `at`.
fn meeting(before: &EdgeShape, after: &EdgeShape, at: Point) -> Option<Point> {
    let first = before.way(at).meets(&after.way(at))?;
    before.way(first).meets(&after.way(first))
}

impl Sharpness {
    /// Where two pieces meet, and whether they do so sharply.
    fn corner(&self, points: &[Point], before: &FittedPiece, after: &FittedPiece) -> Corner {
        let n = points.len();
        let (a, b) = (&before.shape, &after.shape);
        // What lies between them in the ring.
        let gap = (after.stretch.from + n - before.stretch.to % n) % n;
        let middle = before.stretch.to + gap / 2;
        let at = points[middle % n];
        let off = before.error(self.noise).max(after.error(self.noise));
        let smooth = |error: f64| {
            let between = a.way(at).at.towards(b.way(at).at, 0.5);
            Corner {
                ends: [between; 2],
                round: None,
                error,
            }
        };
        let Some(met) = meeting(a, b, at).filter(|met| met.distance(at) < 12.0 * self.blur) else {
            return smooth(off + 0.5 * a.way(at).at.distance(b.way(at).at));
        };
        let (into, out) = (a.way(met), b.way(met));
        let turn = into.angle(&out);
        let slope = libm::tan(0.5 * turn.abs().min(2.9));
        // The more pointed a corner, the further it moves for what its edges are off.
        let moved = off * libm::hypot(1.0, slope).min(5.0);
        let sharp = |error: f64| Corner {
            ends: [met; 2],
            round: None,
            error,
        };
        if turn.abs() < 2.0 * SMOOTH {
            return sharp(moved);
        }
        // The area between the corner and what is seen of it: of a sharp one tan(turn / 2) σ², more of a round one.
        let reach = 4.0 * self.blur;
        let (mut missing, mut seen) = (0.0, 0.0);
        let most = before.inner.len().min(after.inner.len()) + gap + 60;
        for k in (middle + n - most.min(n / 2))..=(middle + n + most.min(n / 2)) {
            let (p, next) = (points[k % n], points[(k + 1) % n]);
            let along = [
                (p - met).dot(into.direction()),
                (p - met).dot(out.direction()),
            ];
            let near = if along[0] + along[1] < 0.0 {
                -along[0]
            } else {
                along[1]
            };
            if p.distance(met) > 3.0 * reach || near > reach {
                continue;
            }
            let lefts = [a.left(p) * turn.signum(), b.left(p) * turn.signum()];
            let (gap, way) = if lefts[0] < lefts[1] {
                (lefts[0], &into)
            } else {
                (lefts[1], &out)
            };
            let step = (next - p).dot(way.direction()).max(0.0);
            missing += gap * step;
            seen += step;
        }
        let doubt =
            seen * off + self.noise * (TOGETHER * seen * 2.0 * self.blur / 3.0).max(0.0).sqrt();
        let expected = TAKEN * slope * self.blur * self.blur;
        let area = slope - 0.5 * turn.abs();
        let radius_of = |missing: f64| (missing.max(0.0) / area.max(1e-6)).sqrt();
        let depth_of = |radius: f64| radius * (libm::hypot(1.0, slope) - 1.0);
        if missing > ROUND * expected + 2.0 * doubt {
            let radius = radius_of(missing - expected);
            let tangent = radius * slope;
            let inward = Vector::new(-into.direction().y, into.direction().x) * turn.signum();
            let ends = [
                met - into.direction() * tangent,
                met + out.direction() * tangent,
            ];
            let error = depth_of(radius) - depth_of(radius_of(missing - ROUND * expected - doubt));
            return Corner {
                ends,
                round: Some(Circle {
                    centre: ends[0] + inward * radius,
                    radius,
                }),
                error: moved.max(error.max(0.0)),
            };
        }
        let error = 0.5 * depth_of(radius_of(missing - expected + doubt));
        sharp(moved.max(error))
    }
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
