//! Arcs in place of the chords that stand for them.
//!
//! Outlines are chords all the way through the program. Beside them a piece knows the circles that
//! its drawing's arcs lie on, as offsets and turns leave them: chords on one of those become an arc
//! of exactly that circle. Where no such circle is known (round corners of the allowance), chords
//! whose ends lie on one circle are put together again where the arc stays so near to them that both
//! measure the same.

use std::f64::consts::PI;

use crate::geometry::{Circle, Point, Vector, trig};
use crate::ply::ON_ARC_MM;

/// Vertices of an arc lie this near to its circle, mm. Larger: bends that are no arcs become some;
/// smaller: the rounding of coordinates tears arcs.
const ON_CIRCLE_MM: f64 = 0.002;
/// The arc leaves its chords by no more than this, mm: with [`ON_CIRCLE_MM`] less than the 0.01 mm
/// to which all formats agree.
const MOST_SAGITTA_MM: f64 = 0.0078;
/// Fewer chords are no arc.
const LEAST_CHORDS: usize = 4;
/// Fewer chords on a circle of the drawing are a corner that happens to lie there.
const LEAST_KNOWN: usize = 2;
/// An arc turns by half a turn at most, so that it is plain to every reader; what it turns by more
/// in rounded coordinates is no longer than this, mm.
const ROUNDED_MM: f64 = 3e-4;
/// Larger radii (mm) are as good as straight.
const MOST_RADIUS_MM: f64 = 20_000.0;

/// A vertex of a line, and how the line goes on from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::output) struct Vertex {
    pub(in crate::output) point: Point,
    /// Tangent of a quarter of the angle of the arc to the next vertex, positive to the left (a
    /// *bulge*, Autodesk DXF reference); zero for a chord.
    pub(in crate::output) bulge: f64,
}

impl Vertex {
    /// A vertex from which the line goes on straight.
    pub(in crate::output) const fn corner(point: Point) -> Self {
        Self { point, bulge: 0.0 }
    }

    /// Radius of the arc to `next`.
    pub(in crate::output) fn radius(&self, next: Point) -> f64 {
        let b = self.bulge.abs();
        self.point.distance(next) * (1.0 + b * b) / (4.0 * b)
    }

    /// The arc to `next` in two halves: this vertex and the one between.
    pub(in crate::output) fn halves(&self, next: Point) -> [Self; 2] {
        let b = self.bulge;
        let chord = next - self.point;
        let left = Vector::new(-chord.y, chord.x);
        // Half the angle of the tangent's: tan(x / 2) = (√(1 + tan² x) − 1) / tan x.
        let bulge = ((1.0 + b * b).sqrt() - 1.0) / b;
        let middle = self.point.towards(next, 0.5) - left * (b / 2.0);
        [self.point, middle].map(|point| Self { point, bulge })
    }

    /// Centre of the arc to `next`.
    pub(in crate::output) fn centre(&self, next: Point) -> Point {
        let b = self.bulge;
        let chord = next - self.point;
        let left = Vector::new(-chord.y, chord.x);
        self.point.towards(next, 0.5) + left * ((1.0 - b * b) / (4.0 * b))
    }
}

/// The closed line through `points` with arcs where its chords lie on one; `circles` are those that
/// are known.
pub(in crate::output) fn with_arcs(points: &[Point], circles: &[Circle]) -> Vec<Vertex> {
    let n = points.len();
    let first = start(points);
    let line: Vec<Point> = (0..=n).map(|i| points[(first + i) % n]).collect();
    let mut vertices = divided(&line, circles, true);
    vertices.pop();
    vertices
}

/// The open line through `points` with arcs where its chords lie on one.
pub(in crate::output) fn along(points: &[Point], circles: &[Circle]) -> Vec<Vertex> {
    divided(points, circles, false)
}

/// A vertex for each end of an arc or chord; those of arcs on known circles are moved on to them.
fn divided(line: &[Point], circles: &[Circle], closed: bool) -> Vec<Vertex> {
    let n = line.len().saturating_sub(1);
    let known = known(line, circles);
    let line = snapped(line, &known, closed);
    let at = |i: usize| line[i];
    let mut vertices = Vec::new();
    let mut i = 0;
    while i < n {
        let (end, bulge) = match known[i] {
            Some(circle) => known_arc(&line, &known, i, circle),
            None => {
                let next = (i..n).find(|&k| known[k].is_some()).unwrap_or(n);
                longest_arc(&at, i, next).unwrap_or((i + 1, 0.0))
            }
        };
        vertices.push(Vertex {
            point: line[i],
            bulge,
        });
        i = end;
    }
    vertices.extend(line.last().map(|&point| Vertex::corner(point)));
    vertices
}

/// The known circle of each chord: of those that hold it the one that holds most of what follows.
fn known(line: &[Point], circles: &[Circle]) -> Vec<Option<Circle>> {
    let n = line.len().saturating_sub(1);
    let mut known = vec![None; n];
    let mut i = 0;
    while i < n {
        let reach = |circle: &Circle| {
            let is_on = |k: &usize| circle.holds(line[*k], line[*k + 1], ON_ARC_MM);
            (i..n).take_while(is_on).count()
        };
        let runs = circles.iter().map(|circle| (reach(circle), *circle));
        let longest = runs.reduce(|best, run| if run.0 > best.0 { run } else { best });
        match longest {
            Some((length, circle)) if length >= LEAST_KNOWN => {
                known[i..i + length].fill(Some(circle));
                i += length;
            }
            _ => i += 1,
        }
    }
    known
}

/// `line` with the ends of known arcs on their circles.
fn snapped(line: &[Point], known: &[Option<Circle>], closed: bool) -> Vec<Point> {
    let n = known.len();
    let beside = |i: usize| {
        let before = match (i, closed) {
            (0, true) => known.last().copied().flatten(),
            (0, false) => None,
            _ => known[i - 1],
        };
        let after = match (i == n, closed) {
            (true, true) => known.first().copied().flatten(),
            (true, false) => None,
            _ => known[i],
        };
        [before, after]
    };
    let moved = |(i, &point): (usize, &Point)| {
        let circles = beside(i).into_iter().flatten();
        circles.fold(point, |p, circle| circle.nearest(p))
    };
    line.iter().enumerate().map(moved).collect()
}

/// The end and the bulge of the arc of `circle` from vertex `i` on, half a turn at most.
fn known_arc(line: &[Point], known: &[Option<Circle>], i: usize, circle: Circle) -> (usize, f64) {
    let (mut end, mut sweep) = (i, 0.0);
    while end < known.len() && known[end] == Some(circle) {
        let step = angle_between(line[end] - circle.centre, line[end + 1] - circle.centre);
        let is_on = end == i || (step * sweep > 0.0 && is_short(sweep + step, circle.radius));
        if !is_on {
            break;
        }
        sweep += step;
        end += 1;
    }
    (end, bulge(sweep))
}

fn angle_between(from: Vector, to: Vector) -> f64 {
    trig::atan2_radians(from.cross(to), from.dot(to))
}

/// Whether an arc turns by no more than half a turn, but for what rounding adds.
fn is_short(sweep: f64, radius: f64) -> bool {
    (sweep.abs() - PI) * radius <= ROUNDED_MM
}

fn bulge(sweep: f64) -> f64 {
    trig::tan_radians(sweep.clamp(-PI, PI) / 4.0)
}

/// The end of the longest edge: no arc goes on through it, unless all of the line is one.
fn start(points: &[Point]) -> usize {
    let n = points.len();
    let mut best = (0, 0.0);
    for i in 0..n {
        let length = points[i].distance(points[(i + 1) % n]);
        if length > best.1 + 1e-9 {
            best = ((i + 1) % n, length);
        }
    }
    best.0
}

/// The longest arc from vertex `i`: the vertex it ends at, at most `n`, and its bulge.
fn longest_arc(at: &impl Fn(usize) -> Point, i: usize, n: usize) -> Option<(usize, f64)> {
    let mut found = None;
    let mut end = i + LEAST_CHORDS;
    while end <= n {
        match arc(at, i, end) {
            Some(bulge) => found = Some((end, bulge)),
            None => break,
        }
        end += 1;
    }
    found
}

/// The bulge of the arc that the chords from vertex `i` to vertex `end` stand for, if they do.
fn arc(at: &impl Fn(usize) -> Point, i: usize, end: usize) -> Option<f64> {
    let (a, m, b) = (at(i), at((i + end) / 2), at(end));
    let centre = circle(a, m, b)?;
    let radius = centre.distance(a);
    if radius > MOST_RADIUS_MM {
        return None;
    }
    let mut sweep = 0.0;
    for k in i..end {
        let (p, q) = (at(k), at(k + 1));
        let half = p.distance(q) / 2.0;
        let sagitta = radius - (radius * radius - half * half).max(0.0).sqrt();
        if (centre.distance(q) - radius).abs() > ON_CIRCLE_MM || sagitta > MOST_SAGITTA_MM {
            return None;
        }
        let (u, v) = (p - centre, q - centre);
        let step = angle_between(u, v);
        if step * sweep < 0.0 {
            return None;
        }
        sweep += step;
    }
    is_short(sweep, radius).then(|| bulge(sweep))
}

/// Centre of the circle through three points, if they are not in line.
fn circle(a: Point, b: Point, c: Point) -> Option<Point> {
    let (u, v) = (b - a, c - a);
    let cross = 2.0 * u.cross(v);
    if cross.abs() < 1e-9 {
        return None;
    }
    let (uu, vv) = (u.dot(u), v.dot(v));
    let centre = Vector::new(v.y * uu - u.y * vv, u.x * vv - v.x * uu) * (1.0 / cross);
    Some(a + centre)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Angle;

    /// A slot 40 mm long between its ends' centres, ends of 10 mm radius in chords of 3°.
    fn slot() -> Vec<Point> {
        let end = |x: f64, from: i32| {
            (0..=60).map(move |i| {
                let (sin, cos) = trig::sin_cos(Angle::degrees(f64::from(from + 3 * i)));
                Point::new(x + 10.0 * cos, 10.0 * sin)
            })
        };
        end(40.0, -90).chain(end(0.0, 90)).collect()
    }

    #[test]
    fn the_ends_of_a_slot_are_two_arcs_again() {
        let vertices = with_arcs(&slot(), &[]);
        assert_eq!(vertices.len(), 4, "{vertices:?}");
        let arcs: Vec<&Vertex> = vertices.iter().filter(|v| v.bulge != 0.0).collect();
        assert_eq!(arcs.len(), 2);
        for arc in arcs {
            assert!((arc.bulge - 1.0).abs() < 1e-9, "half a turn to the left");
            assert!((arc.point.y.abs() - 10.0).abs() < 1e-9);
        }
    }

    #[test]
    fn half_of_an_arc_is_on_its_circle() {
        let quarters = Vertex {
            point: Point::new(10.0, 0.0),
            bulge: 1.0,
        };
        let [first, second] = quarters.halves(Point::new(-10.0, 0.0));
        assert!(second.point.distance(Point::new(0.0, 10.0)) < 1e-12);
        assert!(first.centre(second.point).distance(Point::default()) < 1e-12);
        assert!(
            second
                .centre(Point::new(-10.0, 0.0))
                .distance(Point::default())
                < 1e-12
        );
    }

    #[test]
    fn a_circle_is_two_arcs_and_a_square_none() {
        let circle: Vec<Point> = (0..180)
            .map(|i| {
                let (sin, cos) = trig::sin_cos(Angle::degrees(f64::from(-2 * i)));
                Point::new(25.0 * cos, 25.0 * sin)
            })
            .collect();
        let vertices = with_arcs(&circle, &[]);
        assert_eq!(vertices.len(), 2);
        assert!(vertices.iter().all(|v| v.bulge < 0.0), "to the right");
        assert!((vertices[0].radius(vertices[1].point) - 25.0).abs() < 1e-6);
        let square = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)];
        let vertices = with_arcs(&square.map(|(x, y)| Point::new(x, y)), &[]);
        assert!(vertices.len() == 4 && vertices.iter().all(|v| v.bulge == 0.0));
    }

    #[test]
    fn chords_of_an_offset_become_the_arc_of_the_drawing() {
        // Ends of 10 mm radius whose vertices lie 0.004 mm inside, as an offset leaves them.
        let inside = |p: Point| {
            let centre = Point::new(if p.x > 20.0 { 40.0 } else { 0.0 }, 0.0);
            centre + (p - centre) * (9.996 / 10.0)
        };
        let ends: Vec<Point> = slot().into_iter().map(inside).collect();
        let circles = [0.0, 40.0].map(|x| Circle {
            centre: Point::new(x, 0.0),
            radius: 10.0,
        });
        for turned in 0..ends.len() {
            // Wherever the line begins.
            let mut points = ends.clone();
            points.rotate_left(turned);
            let closed = with_arcs(&points, &circles);
            assert_eq!(closed.len(), 4, "{closed:?}");
            for (i, vertex) in closed.iter().enumerate() {
                let next = closed[(i + 1) % closed.len()].point;
                if vertex.bulge == 0.0 {
                    continue;
                }
                let (centre, radius) = (vertex.centre(next), vertex.radius(next));
                let is_it = |c: &Circle| {
                    c.centre.distance(centre) < 1e-6 && (c.radius - radius).abs() < 1e-6
                };
                assert!(circles.iter().any(is_it), "{centre:?} {radius}");
            }
        }
        // An open line from the middle of one end to that of the other.
        let open = along(&ends[30..90], &circles);
        let bulges: Vec<bool> = open.iter().map(|v| v.bulge > 0.0).collect();
        assert_eq!(bulges, [true, false, true, false]);
    }
}
