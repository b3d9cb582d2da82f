//! Curves → chords that leave the curve by no more than the chord tolerance.
//!
//! [`CurvePen`] takes strokes in a drawing's own coordinates and leaves points in the pattern frame.
//! Béziers go through `lyon::geom` in f64. Circular and elliptical arcs are sampled here from their
//! exact equation, because the sines must be the program's own ([`trig`]); NURBS are split into
//! rational Béziers and halved until their control polygon lies within the tolerance.

use std::cell::{Cell, RefCell};
use std::ops::Range;

use lyon::geom::{CubicBezierSegment, LineSegment, QuadraticBezierSegment, point};

use super::affine::Affine;
use super::shape::{LIMIT_MM, Room};
use crate::geometry::distance::point_to_segment;
use crate::geometry::trig::{acos_radians, atan2_radians, sin_cos_radians};
use crate::geometry::{Circle, Point, Vector};

/// Most chords for one arc. A circle within the permitted range of coordinates needs fewer; this
/// only keeps an absurd radius from filling the memory before its points are refused.
const MOST_CHORDS: f64 = 32_000.0;

/// Arcs wider than this (radians) make a shape of their own, whose area is theirs, and not only its
/// corners.
const WIDE_RADIANS: f64 = 3.0;

/// One of so many points of a whole circle is not paid for: it is closed as drawn, so its points are never
/// sorted into chains, and take less memory than others. Smaller: circles that lie over each other take more
/// than a file of that size is worth; larger: a sheet of 20,000 holes is refused.
const CIRCLE_SAVES: usize = 6;

/// Step of such arcs (radians): the area of a circle of any size is then true to 0.02 % (a regular
/// polygon with n corners falls short by (2π/n)²/6). Larger: small openings are off by more; smaller:
/// bolt holes grow as many points as hatches.
const FINE_STEP_RADIANS: f64 = std::f64::consts::TAU / 184.0;

/// So many arcs of a drawing get that step; later ones are holes of a perforated sheet, and get a larger
/// one (area true to 0.7 %). More: a sheet of a few thousand holes takes more room than its file is
/// worth; fewer: an ordinary drawing has coarse holes.
const MOST_FINE: usize = 1000;
const COARSE_STEP_RADIANS: f64 = std::f64::consts::TAU / 32.0;

/// How often a piece of a NURBS is halved at most: a piece of ten metres needs nine.
const MOST_HALVINGS: u32 = 14;

/// Curves that reach further out than this (mm) are not flattened: their end point is enough to
/// have them refused, and the number of chords stays bounded.
const REACH_MM: f64 = 1e7;

/// No chord tolerance finer than this (mm) is of use, and zero would never end.
const FINEST_MM: f64 = 1e-6;

/// Circles of a drawing that are kept. More would be patterns of dots, whose arcs are found again
/// from their chords as well.
const MOST_CIRCLES: usize = 4096;

/// Half axes that differ by less than this share of their length make a circle: the noise of a
/// map's turn.
const ROUND: f64 = 1e-9;

/// How finely curves are divided, how far the chords of a drawing leave them, and which of the
/// curves were circular arcs.
#[derive(Debug)]
pub(super) struct Chords {
    tolerance_mm: f64,
    /// Room for the points.
    room: Room,
    /// The largest distance so far between a curve and its chord.
    largest_mm: Cell<f64>,
    circles: RefCell<Vec<Circle>>,
    /// Wide arcs so far.
    n_wide: Cell<usize>,
}

impl Chords {
    pub(super) fn new(tolerance_mm: f64, room: Room) -> Self {
        Self {
            tolerance_mm: tolerance_mm.max(FINEST_MM),
            room,
            largest_mm: Cell::new(0.0),
            circles: RefCell::new(Vec::new()),
            n_wide: Cell::new(0),
        }
    }

    /// The largest distance in mm between a curve drawn so far and its chord.
    pub(super) fn largest_mm(&self) -> f64 {
        self.largest_mm.get()
    }

    /// The circles that the circular arcs drawn so far lie on, in the pattern frame, each once.
    pub(super) fn take_circles(&self) -> Vec<Circle> {
        /// Nearer than this, mm, they are one.
        const SAME_MM: f64 = 1e-7;
        let mut circles = self.circles.take();
        circles.sort_by(|a, b| {
            let by_x = a.centre.x.total_cmp(&b.centre.x);
            by_x.then(a.centre.y.total_cmp(&b.centre.y))
                .then(a.radius.total_cmp(&b.radius))
        });
        circles.dedup_by(|a, b| {
            a.centre.distance(b.centre) < SAME_MM && (a.radius - b.radius).abs() < SAME_MM
        });
        circles
    }

    fn note(&self, mm: f64) {
        self.largest_mm.set(self.largest_mm.get().max(mm));
    }
}

/// Draws in a drawing's own coordinates, leaves points in millimetres.
pub(super) struct CurvePen<'c> {
    to_mm: Affine,
    chords: &'c Chords,
    /// Where the pen is, in the drawing's coordinates.
    at: Point,
    points: Vec<Point>,
}

/// A vertex of a line with the bulge of what follows it (see [`CurvePen::bulge_to`]).
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Vertex {
    pub(super) at: Point,
    pub(super) bulge: f64,
}

impl From<Point> for Vertex {
    fn from(at: Point) -> Self {
        Self { at, bulge: 0.0 }
    }
}

/// An arc of an ellipse: centre + `u`·cos t + `v`·sin t, for t from `start` over `sweep` radians.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Arc {
    pub(super) centre: Point,
    pub(super) u: Vector,
    pub(super) v: Vector,
    pub(super) start: f64,
    pub(super) sweep: f64,
}

impl<'c> CurvePen<'c> {
    pub(super) fn new(to_mm: Affine, chords: &'c Chords) -> Self {
        Self {
            to_mm,
            chords,
            at: Point::default(),
            points: Vec::new(),
        }
    }

    /// The points drawn so far; the pen is ready for the next stroke.
    pub(super) fn take(&mut self) -> Vec<Point> {
        let mut points = std::mem::take(&mut self.points);
        // Millions of short lines are kept: room that was taken in advance would add up.
        points.shrink_to_fit();
        points
    }

    pub(super) fn at(&self) -> Point {
        self.at
    }

    /// Lifts the pen to `p` without drawing.
    pub(super) fn jump_to(&mut self, p: Point) {
        self.points.clear();
        self.at = p;
    }

    pub(super) fn move_to(&mut self, p: Point) {
        self.points.clear();
        self.line_to(p);
    }

    pub(super) fn line_to(&mut self, p: Point) {
        if self.chords.room.spend(1) {
            self.points.push(self.to_mm.point(p));
        }
        self.at = p;
    }

    pub(super) fn quadratic_to(&mut self, control: Point, to: Point) {
        let hull = [self.at, control, to].map(|p| self.to_mm.point(p));
        let [from, ctrl, end] = hull.map(|p| point(p.x, p.y));
        let curve = QuadraticBezierSegment {
            from,
            ctrl,
            to: end,
        };
        self.curve_to(to, &hull, &|t| curve.sample(t), |tolerance, chord| {
            curve.for_each_flattened_with_t(tolerance, &mut |line, t| chord(line, t));
        });
    }

    pub(super) fn cubic_to(&mut self, first: Point, second: Point, to: Point) {
        let hull = [self.at, first, second, to].map(|p| self.to_mm.point(p));
        let [from, ctrl1, ctrl2, end] = hull.map(|p| point(p.x, p.y));
        let curve = CubicBezierSegment {
            from,
            ctrl1,
            ctrl2,
            to: end,
        };
        self.curve_to(to, &hull, &|t| curve.sample(t), |tolerance, chord| {
            curve.for_each_flattened_with_t(tolerance, &mut |line, t| chord(line, t));
        });
    }

    /// Draws the chords that `flatten` makes of a curve within `hull` (mm) that ends at `to`.
    fn curve_to(
        &mut self,
        to: Point,
        hull: &[Point],
        sample: &dyn Fn(f64) -> lyon::geom::Point<f64>,
        flatten: impl FnOnce(f64, &mut dyn FnMut(&LineSegment<f64>, Range<f64>)),
    ) {
        if hull.iter().all(is_within_reach) && !self.chords.room.is_over() {
            let (points, chords) = (&mut self.points, self.chords);
            flatten(chords.tolerance_mm, &mut |chord, t| {
                if !chords.room.spend(1) {
                    return;
                }
                points.push(Point::new(chord.to.x, chord.to.y));
                chords.note(off(chord, sample(f64::midpoint(t.start, t.end))));
            });
            self.points.pop();
        }
        self.line_to(to);
    }

    /// Draws `arc`, whose start is where the pen is, and ends exactly at `to`.
    pub(super) fn arc_to(&mut self, arc: &Arc, to: Point) {
        if let Some(far) = self.out_of_range(arc) {
            self.line_to(far);
            return self.line_to(to);
        }
        let chords = self.divide(arc);
        self.note_arc(arc, chords);
        for i in 1..chords {
            if self.chords.room.is_over() {
                break;
            }
            self.line_to(arc.at_fraction(f64::from(i) / f64::from(chords)));
        }
        self.line_to(to);
    }

    /// Draws `arc` as a stroke of its own.
    pub(super) fn arc(&mut self, arc: &Arc) {
        self.move_to(arc.at_fraction(0.0));
        self.arc_to(arc, arc.at_fraction(1.0));
    }

    /// Draws a line through `vertices` as a stroke of its own; a closed one does not repeat its
    /// first point.
    pub(super) fn polyline(&mut self, vertices: &[Vertex], closed: bool) {
        let (Some(first), Some(last)) = (vertices.first(), vertices.last()) else {
            return;
        };
        self.move_to(first.at);
        for pair in vertices.windows(2) {
            self.bulge_to(pair[0].bulge, pair[1].at);
        }
        if closed {
            self.bulge_to(last.bulge, first.at);
            self.points.pop();
        }
    }

    /// A whole circle or ellipse as a closed stroke; its four axis points are among the vertices.
    pub(super) fn ellipse(&mut self, centre: Point, u: Vector, v: Vector) {
        let whole = Arc {
            centre,
            u,
            v,
            start: 0.0,
            sweep: std::f64::consts::TAU,
        };
        self.points.clear();
        if let Some(far) = self.out_of_range(&whole) {
            return self.line_to(far);
        }
        let chords = self.divide(&whole).next_multiple_of(4);
        self.note_arc(&whole, chords);
        let quarter = chords / 4;
        for i in 0..chords {
            if self.chords.room.is_over() {
                break;
            }
            let t = f64::from(i % quarter) / f64::from(quarter) * std::f64::consts::FRAC_PI_2;
            let (sin, cos) = sin_cos_radians(t);
            let (x, y) = match i / quarter {
                0 => (cos, sin),
                1 => (-sin, cos),
                2 => (-cos, -sin),
                _ => (sin, -cos),
            };
            self.line_to(centre + u * x + v * y);
        }
        self.chords.room.give_back(chords as usize / CIRCLE_SAVES);
    }

    /// A circular arc from where the pen is to `to` with a DXF bulge: the tangent of a quarter of
    /// the included angle, positive if counter-clockwise (Autodesk DXF reference, LWPOLYLINE 42).
    pub(super) fn bulge_to(&mut self, bulge: f64, to: Point) {
        let chord = to - self.at;
        if bulge == 0.0 || chord.length() == 0.0 {
            return self.line_to(to);
        }
        let left = Vector::new(-chord.y, chord.x);
        let centre = self.at.towards(to, 0.5) + left * ((1.0 - bulge * bulge) / (4.0 * bulge));
        let u = self.at - centre;
        let arc = Arc {
            centre,
            u,
            v: Vector::new(-u.y, u.x),
            start: 0.0,
            sweep: 4.0 * crate::geometry::trig::atan_radians(bulge),
        };
        self.arc_to(&arc, to);
    }

    /// A rational Bézier curve of any degree given by control points and positive weights; the pen
    /// is at the first control point.
    pub(super) fn rational_to(&mut self, control: &[(Point, f64)]) {
        let Some(&(to, _)) = control.last() else {
            return;
        };
        let in_mm = |&(p, w): &(Point, f64)| (self.to_mm.point(p), w);
        if control.iter().all(|c| is_within_reach(&in_mm(c).0)) {
            let homogeneous = control.iter().map(in_mm);
            let homogeneous: Vec<[f64; 3]> =
                homogeneous.map(|(p, w)| [p.x * w, p.y * w, w]).collect();
            halve(&homogeneous, self.chords, MOST_HALVINGS, &mut self.points);
            self.points.pop();
        }
        self.line_to(to);
    }

    /// A point of `arc` beyond the permitted range of coordinates, if there is one: then its chords
    /// need not be made to have it refused.
    fn out_of_range(&self, arc: &Arc) -> Option<Point> {
        let (centre, u, v) = (
            self.to_mm.point(arc.centre),
            self.to_mm.vector(arc.u),
            self.to_mm.vector(arc.v),
        );
        let reach = u.length() + v.length();
        if centre.x.abs().max(centre.y.abs()) + reach <= LIMIT_MM {
            return None;
        }
        // The ends, and where the tangent is level or upright, as fractions of the sweep.
        let level = [atan2_radians(v.x, u.x), atan2_radians(v.y, u.y)];
        let turns = level.into_iter().flat_map(|t| {
            [t, t + std::f64::consts::PI].map(|t| {
                let past = (t - arc.start) * arc.sweep.signum();
                past.rem_euclid(std::f64::consts::TAU) / arc.sweep.abs()
            })
        });
        let fractions = [0.0, 1.0].into_iter().chain(turns);
        let points = fractions
            .filter(|f| (0.0..=1.0).contains(f))
            .map(|f| arc.at_fraction(f));
        let is_far = |p: &Point| {
            let p = self.to_mm.point(*p);
            !(p.x.abs() <= LIMIT_MM && p.y.abs() <= LIMIT_MM)
        };
        let mut points = points;
        points.find(is_far)
    }

    /// How many equal steps of t keep every chord within the tolerance.
    ///
    /// The arc is the image of a unit circle under a map that lengthens nothing by more than the
    /// longer half axis, and a chord of step h leaves the unit circle by 1 − cos(h/2).
    fn divide(&self, arc: &Arc) -> u32 {
        let radius = longer_half_axis(self.to_mm.vector(arc.u), self.to_mm.vector(arc.v));
        let step = 2.0 * acos_radians(1.0 - self.chords.tolerance_mm / radius);
        let chords = (arc.sweep.abs() / step).ceil();
        if !chords.is_finite() {
            return 1;
        }
        // A quarter turn per chord at most, so that tiny circles stay round.
        let least = match arc.sweep.abs() {
            wide if wide > WIDE_RADIANS => {
                let n_wide = &self.chords.n_wide;
                n_wide.set(n_wide.get() + 1);
                let is_fine = n_wide.get() <= MOST_FINE;
                (wide
                    / if is_fine {
                        FINE_STEP_RADIANS
                    } else {
                        COARSE_STEP_RADIANS
                    })
                .ceil()
            }
            narrow => (narrow / std::f64::consts::FRAC_PI_2).ceil(),
        };
        chords.max(least).clamp(1.0, MOST_CHORDS) as u32
    }

    /// Notes how far `n` equal chords leave the arc.
    fn note_arc(&self, arc: &Arc, n: u32) {
        let radius = longer_half_axis(self.to_mm.vector(arc.u), self.to_mm.vector(arc.v));
        let (_, cos) = sin_cos_radians(arc.sweep / f64::from(n) / 2.0);
        self.chords.note(radius * (1.0 - cos));
        self.note_circle(arc);
    }

    /// Keeps the circle of `arc`, if it is one in the pattern frame.
    fn note_circle(&self, arc: &Arc) {
        let (u, v) = (self.to_mm.vector(arc.u), self.to_mm.vector(arc.v));
        let square = u.dot(u);
        let is_round =
            (square - v.dot(v)).abs() <= ROUND * square && u.dot(v).abs() <= ROUND * square;
        let mut circles = self.chords.circles.borrow_mut();
        if is_round && square > 0.0 && circles.len() < MOST_CIRCLES {
            circles.push(Circle {
                centre: self.to_mm.point(arc.centre),
                radius: u.length(),
            });
        }
    }
}

impl Arc {
    /// The point a fraction `f` of the way along, in equal steps of t.
    pub(super) fn at_fraction(&self, f: f64) -> Point {
        let (sin, cos) = sin_cos_radians(self.start + self.sweep * f);
        self.centre + self.u * cos + self.v * sin
    }

    /// The arc with the half axes `u` and `v` between two angles in degrees; all of the ellipse if
    /// they are the same.
    pub(super) fn between(centre: Point, u: Vector, v: Vector, (from, to): (f64, f64)) -> Self {
        let sweep = match (to - from).rem_euclid(360.0) {
            0.0 => 360.0,
            sweep => sweep,
        };
        Self {
            centre,
            u,
            v,
            start: from.to_radians(),
            sweep: sweep.to_radians(),
        }
    }

    /// The arc of SVG's `A` command, or `None` where the command means a straight line.
    ///
    /// # Source
    /// SVG 1.1, appendix F.6.5 and F.6.6: from end points to centre.
    pub(super) fn from_ends(from: Point, to: Point, ends: EndArc) -> Option<Self> {
        let (mut rx, mut ry) = (ends.rx.abs(), ends.ry.abs());
        if rx == 0.0 || ry == 0.0 || from == to {
            return None;
        }
        let (sin, cos) = crate::geometry::trig::sin_cos(crate::units::Angle::degrees(ends.turn));
        let half = (from - to) * 0.5;
        let (x, y) = (cos * half.x + sin * half.y, cos * half.y - sin * half.x);
        let (x2, y2) = (x / rx, y / ry);
        let too_far = x2 * x2 + y2 * y2;
        if too_far > 1.0 {
            rx *= too_far.sqrt();
            ry *= too_far.sqrt();
        }
        let (x2, y2) = (x / rx, y / ry);
        let sum = x2 * x2 + y2 * y2;
        let factor = (1.0 / sum - 1.0).max(0.0).sqrt();
        let factor = if ends.large == ends.positive {
            -factor
        } else {
            factor
        };
        let (cx, cy) = (factor * rx * y2, -factor * ry * x2);
        let centre = from.towards(to, 0.5) + Vector::new(cos * cx - sin * cy, sin * cx + cos * cy);
        let start = atan2_radians((y - cy) / ry, (x - cx) / rx);
        let end = atan2_radians((-y - cy) / ry, (-x - cx) / rx);
        let mut sweep = end - start;
        if ends.positive && sweep < 0.0 {
            sweep += std::f64::consts::TAU;
        } else if !ends.positive && sweep > 0.0 {
            sweep -= std::f64::consts::TAU;
        }
        Some(Self {
            centre,
            u: Vector::new(cos, sin) * rx,
            v: Vector::new(-sin, cos) * ry,
            start,
            sweep,
        })
    }
}

/// What SVG's `A` command says beside its end points.
#[derive(Clone, Copy, Debug)]
pub(super) struct EndArc {
    pub(super) rx: f64,
    pub(super) ry: f64,
    /// Rotation of the ellipse in degrees, from x towards y.
    pub(super) turn: f64,
    pub(super) large: bool,
    /// Whether the arc runs from x towards y.
    pub(super) positive: bool,
}

/// The longer half axis of the ellipse with the conjugate half diameters `u` and `v`: the larger
/// singular value of the matrix of both.
fn longer_half_axis(u: Vector, v: Vector) -> f64 {
    let sum = (u.dot(u) + v.dot(v)) / 2.0;
    let difference = (u.dot(u) - v.dot(v)) / 2.0;
    (sum + Vector::new(difference, u.dot(v)).length()).sqrt()
}

/// Distance of `p` from a chord.
fn off(chord: &LineSegment<f64>, p: lyon::geom::Point<f64>) -> f64 {
    let plain = |p: lyon::geom::Point<f64>| Point::new(p.x, p.y);
    point_to_segment(plain(p), plain(chord.from), plain(chord.to))
}

fn is_within_reach(p: &Point) -> bool {
    p.x.abs() < REACH_MM && p.y.abs() < REACH_MM
}

/// Adds the chords of a rational Bézier curve in homogeneous coordinates, without its start.
fn halve(control: &[[f64; 3]], chords: &Chords, halvings: u32, out: &mut Vec<Point>) {
    let project = |c: &[f64; 3]| Point::new(c[0] / c[2], c[1] / c[2]);
    let (from, to) = (project(&control[0]), project(&control[control.len() - 1]));
    // With positive weights the curve lies in the hull of its control points.
    let off = control
        .iter()
        .map(|c| point_to_segment(project(c), from, to))
        .fold(0.0, f64::max);
    // A point of a curve of high degree takes more work than others.
    let work = 1 + control.len() / 4;
    if !chords.room.spend(work) || off <= chords.tolerance_mm || halvings == 0 {
        chords.note(off);
        out.push(to);
        return;
    }
    // De Casteljau's construction at the middle.
    let mut rest = control.to_vec();
    let mut left = Vec::with_capacity(control.len());
    let mut right = Vec::with_capacity(control.len());
    while let (Some(&first), Some(&last)) = (rest.first(), rest.last()) {
        left.push(first);
        right.push(last);
        rest = rest
            .windows(2)
            .map(|w| [0, 1, 2].map(|k| f64::midpoint(w[0][k], w[1][k])))
            .collect();
    }
    right.reverse();
    halve(&left, chords, halvings - 1, out);
    halve(&right, chords, halvings - 1, out);
}

#[cfg(test)]
mod tests {
    use super::*;

    const CHORD: f64 = 0.01;

    fn p(x: f64, y: f64) -> Point {
        Point::new(x, y)
    }

    /// Checks that no point of the curve `at` (t from 0 to 1) is further than the tolerance from
    /// the chords, and that there are no more than `most` of them.
    fn check(chords: &[Point], most: usize, at: impl Fn(f64) -> Point) {
        assert!(chords.len() <= most, "{} points", chords.len());
        for i in 0..=2000 {
            let q = at(f64::from(i) / 2000.0);
            let off = chords
                .windows(2)
                .map(|w| point_to_segment(q, w[0], w[1]))
                .fold(f64::INFINITY, f64::min);
            assert!(off <= CHORD * 1.000_001, "{off} mm off at {q:?}");
        }
    }

    fn cubic(c: [Point; 4], t: f64) -> Point {
        let s = 1.0 - t;
        let w = [s * s * s, 3.0 * s * s * t, 3.0 * s * t * t, t * t * t];
        let sum = |f: fn(&Point) -> f64| c.iter().zip(w).map(|(q, w)| f(q) * w).sum();
        p(sum(|q| q.x), sum(|q| q.y))
    }

    #[test]
    fn chords_stay_within_the_tolerance_of_every_kind_of_curve() {
        // A plain bow, an S, a loop, a cusp and a straight run out and back.
        for c in [
            [p(0.0, 0.0), p(0.0, 55.0), p(45.0, 100.0), p(100.0, 100.0)],
            [p(0.0, 0.0), p(150.0, 0.0), p(-50.0, 100.0), p(100.0, 100.0)],
            [
                p(0.0, 0.0),
                p(300.0, 200.0),
                p(-200.0, 200.0),
                p(100.0, 0.0),
            ],
            [p(0.0, 0.0), p(100.0, 100.0), p(0.0, 100.0), p(100.0, 0.0)],
            [p(0.0, 0.0), p(200.0, 0.0), p(-100.0, 0.0), p(100.0, 0.0)],
        ] {
            let chords = Chords::new(CHORD, Room::new(100_000));
            let mut pen = CurvePen::new(Affine::IDENTITY, &chords);
            pen.move_to(c[0]);
            pen.cubic_to(c[1], c[2], c[3]);
            check(&pen.take(), 250, |t| cubic(c, t));
            // The same curve as a NURBS piece.
            pen.move_to(c[0]);
            pen.rational_to(&c.map(|q| (q, 1.0)));
            check(&pen.take(), 400, |t| cubic(c, t));
        }
        let (a, b, c) = (p(0.0, 0.0), p(50.0, 200.0), p(100.0, 0.0));
        let chords = Chords::new(CHORD, Room::new(100_000));
        let mut pen = CurvePen::new(Affine::IDENTITY, &chords);
        pen.move_to(a);
        pen.quadratic_to(b, c);
        check(&pen.take(), 150, |t| {
            a.towards(b, t).towards(b.towards(c, t), t)
        });
    }

    #[test]
    fn the_tolerance_holds_in_millimetres_whatever_the_drawings_scale() {
        for (to_mm, scale) in [
            (Affine::scale(25.4, -25.4), 25.4),
            (Affine::new(0.0, 3.0, -0.2, 0.0, 7.0, 9.0), 3.0),
        ] {
            let radius = 100.0 / scale;
            let arc = Arc {
                centre: p(1.0, 2.0),
                u: Vector::new(radius, 0.0),
                v: Vector::new(0.0, radius),
                start: 0.3,
                sweep: -4.0,
            };
            let chords = Chords::new(CHORD, Room::new(100_000));
            let mut pen = CurvePen::new(to_mm, &chords);
            pen.move_to(arc.at_fraction(0.0));
            pen.arc_to(&arc, arc.at_fraction(1.0));
            check(&pen.take(), 145, |t| to_mm.point(arc.at_fraction(t)));
        }
    }

    #[test]
    fn an_arc_by_its_ends_takes_the_side_its_flags_ask_for() {
        // From (0, 0) to (10, 0) with radius 5√2: centre (5, ±5), quarter or three quarters.
        let radius = 50.0_f64.sqrt();
        let depth = radius - 5.0;
        for (large, positive, y) in [
            (false, false, depth),
            (false, true, -depth),
            (true, false, 5.0 + radius),
            (true, true, -5.0 - radius),
        ] {
            let ends = EndArc {
                rx: radius,
                ry: radius,
                turn: 0.0,
                large,
                positive,
            };
            let arc = Arc::from_ends(p(0.0, 0.0), p(10.0, 0.0), ends).unwrap();
            let middle = arc.at_fraction(0.5);
            assert!(
                middle.distance(p(5.0, y)) < 1e-9,
                "{large} {positive}: {middle:?}"
            );
            assert!(arc.at_fraction(1.0).distance(p(10.0, 0.0)) < 1e-9);
        }
        // Radii too small are enlarged until the arc reaches (SVG 1.1, F.6.6).
        let ends = EndArc {
            rx: 1.0,
            ry: 1.0,
            turn: 0.0,
            large: false,
            positive: true,
        };
        let arc = Arc::from_ends(p(0.0, 0.0), p(10.0, 0.0), ends).unwrap();
        assert!(arc.at_fraction(0.5).distance(p(5.0, -5.0)) < 1e-9);
    }
}
