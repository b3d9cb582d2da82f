//! Arcs found again in the chords that stand for them.
//!
//! Outlines are chords all the way through the program. Where the pattern (or a round corner of the
//! allowance) had a circular arc, its chords end on one circle; they are put together again where
//! the arc stays so near to its chords that both measure the same.

use crate::geometry::{Point, Vector, trig};

/// Vertices of an arc lie this near to its circle, mm. Larger: bends that are no arcs become some;
/// smaller: the rounding of coordinates tears arcs.
const ON_CIRCLE_MM: f64 = 0.002;
/// The arc leaves its chords by no more than this, mm: with [`ON_CIRCLE_MM`] less than the 0.01 mm
/// to which all formats agree.
const MOST_SAGITTA_MM: f64 = 0.0078;
/// Fewer chords are no arc.
const LEAST_CHORDS: usize = 4;
/// An arc turns by no more than this, degrees, so that half circles stay plain to every reader.
const MOST_SWEEP_DEG: f64 = 180.0;
/// Larger radii (mm) are as good as straight.
const MOST_RADIUS_MM: f64 = 20_000.0;

/// A vertex of a line, and how the line goes on from it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Vertex {
    pub(super) point: Point,
    /// Tangent of a quarter of the angle of the arc to the next vertex, positive to the left (a
    /// *bulge*, Autodesk DXF reference); zero for a chord.
    pub(super) bulge: f64,
}

impl Vertex {
    /// A vertex from which the line goes on straight.
    pub(super) const fn corner(point: Point) -> Self {
        Self { point, bulge: 0.0 }
    }

    /// Radius of the arc to `next`.
    pub(super) fn radius(&self, next: Point) -> f64 {
        let b = self.bulge.abs();
        self.point.distance(next) * (1.0 + b * b) / (4.0 * b)
    }
}

/// The closed line through `points` with arcs where its chords lie on one.
pub(super) fn with_arcs(points: &[Point]) -> Vec<Vertex> {
    let n = points.len();
    let first = start(points);
    let at = |i: usize| points[(first + i) % n];
    let mut vertices = Vec::new();
    let mut i = 0;
    while i < n {
        let arc = longest_arc(&at, i, n);
        let (end, bulge) = arc.unwrap_or((i + 1, 0.0));
        vertices.push(Vertex {
            point: at(i),
            bulge,
        });
        i = end;
    }
    vertices
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
        let step = trig::atan2_radians(u.cross(v), u.dot(v));
        if step * sweep < 0.0 {
            return None;
        }
        sweep += step;
    }
    let is_short = sweep.abs().to_degrees() <= MOST_SWEEP_DEG + 1e-6;
    is_short.then(|| trig::tan_radians(sweep / 4.0))
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
        let vertices = with_arcs(&slot());
        assert_eq!(vertices.len(), 4, "{vertices:?}");
        let arcs: Vec<&Vertex> = vertices.iter().filter(|v| v.bulge != 0.0).collect();
        assert_eq!(arcs.len(), 2);
        for arc in arcs {
            assert!((arc.bulge - 1.0).abs() < 1e-9, "half a turn to the left");
            assert!((arc.point.y.abs() - 10.0).abs() < 1e-9);
        }
    }

    #[test]
    fn a_circle_is_two_arcs_and_a_square_none() {
        let circle: Vec<Point> = (0..180)
            .map(|i| {
                let (sin, cos) = trig::sin_cos(Angle::degrees(f64::from(-2 * i)));
                Point::new(25.0 * cos, 25.0 * sin)
            })
            .collect();
        let vertices = with_arcs(&circle);
        assert_eq!(vertices.len(), 2);
        assert!(vertices.iter().all(|v| v.bulge < 0.0), "to the right");
        assert!((vertices[0].radius(vertices[1].point) - 25.0).abs() < 1e-6);
        let square = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)];
        let vertices = with_arcs(&square.map(|(x, y)| Point::new(x, y)));
        assert!(vertices.len() == 4 && vertices.iter().all(|v| v.bulge == 0.0));
    }
}
