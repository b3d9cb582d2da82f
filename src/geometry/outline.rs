//! Closed boundaries and outlines with openings.

use std::fmt;

use super::distance::point_to_segment;
use super::{Bounds, Point, Vector};

/// Vertices nearer to each other than this (mm) are one vertex.
const REPEATED_MM: f64 = 1e-6;

/// Vertices further apart than this (mm) stay apart in a file, which keeps four decimals.
const APART_MM: f64 = 2e-4;

/// A closed boundary: at least three vertices, counter-clockwise, the first not repeated at the
/// end, no two neighbours at the same place, positive area.
///
/// That it does not cross itself is checked by [`Ring::crossing`], not here, because it costs more.
#[derive(Clone, Debug, PartialEq)]
pub struct Ring(Vec<Point>);

/// Why points do not make a [`Ring`].
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum RingFault {
    /// Fewer than three different vertices.
    TooFewPoints,
    /// A coordinate is not a number, infinite, or further out than [`Ring::FARTHEST_MM`].
    OutOfRange,
    /// It encloses nothing.
    NoArea,
}

impl fmt::Display for RingFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::TooFewPoints => "a boundary needs three different points",
            Self::OutOfRange => "a point is no number or further out than a kilometre",
            Self::NoArea => "the boundary encloses nothing",
        })
    }
}

impl std::error::Error for RingFault {}

impl Ring {
    /// Coordinates beyond this many mm (100 km) are refused. Larger: a written hundredth of a
    /// millimetre and the areas far out drown in rounding; smaller: many sets of a long part, laid
    /// out along one roll, would be refused.
    pub const FARTHEST_MM: f64 = 1e8;

    /// The ring through `points`, turned counter-clockwise; repeated vertices are dropped.
    ///
    /// # Errors
    /// [`RingFault`] if the points enclose nothing or are out of range.
    pub fn new(points: impl IntoIterator<Item = Point>) -> Result<Self, RingFault> {
        Self::apart(points, REPEATED_MM)
    }

    /// The ring through `points`, of which neighbours are more than `least` mm apart.
    fn apart(points: impl IntoIterator<Item = Point>, least: f64) -> Result<Self, RingFault> {
        let mut kept: Vec<Point> = Vec::new();
        for p in points {
            if !p.is_finite() || p.x.abs() > Self::FARTHEST_MM || p.y.abs() > Self::FARTHEST_MM {
                return Err(RingFault::OutOfRange);
            }
            if kept.last().is_none_or(|q| q.distance(p) > least) {
                kept.push(p);
            }
        }
        while kept.len() > 1 && kept[0].distance(kept[kept.len() - 1]) <= least {
            kept.pop();
        }
        if kept.len() < 3 {
            return Err(RingFault::TooFewPoints);
        }
        let area = signed_area(&kept);
        if area.abs() < REPEATED_MM {
            return Err(RingFault::NoArea);
        }
        if area < 0.0 {
            kept.reverse();
        }
        Ok(Self(kept))
    }

    /// The vertices, counter-clockwise.
    #[must_use]
    pub fn points(&self) -> &[Point] {
        &self.0
    }

    /// The edges as pairs of vertices, the closing one last.
    pub fn edges(&self) -> impl Iterator<Item = (Point, Point)> + '_ {
        let next = self.0.iter().cycle().skip(1);
        self.0.iter().copied().zip(next.copied())
    }

    /// Enclosed area in mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        signed_area(&self.0)
    }

    /// Length of the boundary in mm.
    #[must_use]
    pub fn perimeter(&self) -> f64 {
        self.edges().map(|(a, b)| a.distance(b)).sum()
    }

    /// The smallest axis-parallel box around it.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        Bounds::of(self.0.iter().copied()).expect("a ring has at least three points")
    }

    /// Distance in mm from `p` to the boundary.
    #[must_use]
    pub fn distance(&self, p: Point) -> f64 {
        self.edges()
            .map(|(a, b)| point_to_segment(p, a, b))
            .fold(f64::INFINITY, f64::min)
    }

    /// Whether `p` lies strictly inside, by the crossing count; on the boundary either answer.
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        is_inside(self.edges(), p)
    }

    /// The ring with fewer vertices, nowhere more than `tolerance` mm off; the ring itself where
    /// nothing would be left.
    #[must_use]
    pub fn simplified(&self, tolerance: f64) -> Self {
        Self::new(fewer(&self.0, tolerance)).unwrap_or_else(|_| self.clone())
    }

    /// The ring with every vertex mapped by `f`; `f` must keep shapes (a turn, a mirror, a shift, a
    /// change of scale).
    pub(crate) fn map_similar(&self, f: impl Fn(Point) -> Point) -> Self {
        let mut points: Vec<Point> = self.0.iter().map(|&p| f(p)).collect();
        if signed_area(&points) < 0.0 {
            points.reverse();
        }
        Self(points)
    }
}

/// Whether a ray from `p` crosses the edges an odd number of times; openings may be among them.
pub(super) fn is_inside(edges: impl Iterator<Item = (Point, Point)>, p: Point) -> bool {
    edges
        .filter(|(a, b)| {
            (a.y > p.y) != (b.y > p.y) && p.x < (b.x - a.x) * (p.y - a.y) / (b.y - a.y) + a.x
        })
        .count()
        % 2
        == 1
}

/// The vertices of a closed line without those that stick out of the line between their neighbours
/// by no more than `tolerance` mm (Douglas and Peucker 1973).
pub(super) fn fewer(points: &[Point], tolerance: f64) -> Vec<Point> {
    use geo::Simplify;
    let mut closed: geo::LineString = points.iter().map(|p| (p.x, p.y)).collect();
    closed.close();
    let mut kept = closed.simplify(tolerance).0;
    kept.pop();
    kept.iter().map(|c| Point::new(c.x, c.y)).collect()
}

/// The vertices of an open line without those that stick out of the line between their neighbours by no more than
/// `tolerance` (Douglas and Peucker 1973).
pub(crate) fn line_simplified(points: &[Point], tolerance: f64) -> Vec<Point> {
    use geo::Simplify;
    let line: geo::LineString = points.iter().map(|p| (p.x, p.y)).collect();
    let kept = line.simplify(tolerance).0;
    kept.iter().map(|c| Point::new(c.x, c.y)).collect()
}

/// Shoelace formula about the first vertex, which keeps digits far from the origin.
pub(crate) fn signed_area(points: &[Point]) -> f64 {
    let Some(&o) = points.first() else { return 0.0 };
    0.5 * points
        .windows(2)
        .map(|w| (w[0] - o).cross(w[1] - o))
        .sum::<f64>()
}

/// One closed boundary with its openings, in millimetres.
#[derive(Clone, Debug, PartialEq)]
pub struct Outline {
    /// The outer boundary.
    pub outer: Ring,
    /// Openings (holes) inside it, each as a counter-clockwise ring of its own.
    pub openings: Vec<Ring>,
}

impl Outline {
    /// An outline without openings.
    #[must_use]
    pub const fn solid(outer: Ring) -> Self {
        Self {
            outer,
            openings: Vec::new(),
        }
    }

    /// Area in mm², openings taken off.
    #[must_use]
    pub fn area(&self) -> f64 {
        self.outer.area() - self.openings.iter().map(Ring::area).sum::<f64>()
    }

    /// Length of all boundaries in mm.
    #[must_use]
    pub fn perimeter(&self) -> f64 {
        self.rings().map(Ring::perimeter).sum()
    }

    /// The smallest axis-parallel box around it.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        self.outer.bounds()
    }

    /// The outline with each boundary mapped by `f`.
    #[must_use]
    pub fn map_rings(&self, mut f: impl FnMut(&Ring) -> Ring) -> Self {
        Self {
            outer: f(&self.outer),
            openings: self.openings.iter().map(f).collect(),
        }
    }

    /// The outline with no neighbouring vertices so near that a file could not tell them apart, however
    /// it is turned. A boundary that this leaves nothing of stays as it is.
    #[must_use]
    pub(crate) fn writable(&self) -> Self {
        self.map_rings(|ring| {
            let apart = Ring::apart(ring.points().iter().copied(), APART_MM);
            apart.unwrap_or_else(|_| ring.clone())
        })
    }

    /// The outline moved by `by`.
    #[must_use]
    pub fn shifted(&self, by: Vector) -> Self {
        self.map_rings(|ring| ring.map_similar(|p| p + by))
    }

    /// The outline with fewer vertices, as in [`Ring::simplified`].
    #[must_use]
    pub fn simplified(&self, tolerance: f64) -> Self {
        self.map_rings(|ring| ring.simplified(tolerance))
    }

    /// What it is not, up to `beyond` mm from its box, as outlines: all around it, and each of its
    /// openings.
    #[must_use]
    pub fn outside(&self, beyond: f64) -> Vec<Self> {
        let bounds = self.bounds();
        // The wider frame can be out of range; the box of an outline never is.
        let frame = bounds.grown(beyond).outline().or_else(|| bounds.outline());
        let around = frame.map(|frame| Self {
            outer: frame.outer,
            openings: vec![self.outer.clone()],
        });
        let openings = self.openings.iter().cloned().map(Self::solid);
        around.into_iter().chain(openings).collect()
    }

    /// Mean width (mm) of what lies between the outer boundary and the largest opening: that of the
    /// rectangle with the same area and the same long sides. `None` without an opening.
    #[must_use]
    pub fn ring_width(&self) -> Option<f64> {
        let larger = |a: &&Ring, b: &&Ring| a.area().total_cmp(&b.area());
        let opening = self.openings.iter().max_by(larger)?;
        let both_sides = self.outer.perimeter() + opening.perimeter();
        Some(2.0 * (self.outer.area() - opening.area()) / both_sides)
    }

    /// The outline as it is written into files: to 0.0001 mm. Boundaries that vanish stay as they
    /// are.
    #[must_use]
    pub fn rounded(&self) -> Self {
        let round = |v: f64| (v * 1e4).round() / 1e4 + 0.0;
        self.map_rings(|ring| {
            let points = ring.points().iter();
            Ring::new(points.map(|p| Point::new(round(p.x), round(p.y))))
                .unwrap_or_else(|_| ring.clone())
        })
    }

    /// All boundaries, the outer one first.
    pub fn rings(&self) -> impl Iterator<Item = &Ring> {
        std::iter::once(&self.outer).chain(&self.openings)
    }

    /// Whether `p` lies strictly inside the material; on the boundary either answer.
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        self.outer.contains(p) && !self.openings.iter().any(|o| o.contains(p))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fewer_vertices_within_the_tolerance() {
        let circle = Ring::new((0..360).map(|i| {
            let angle = crate::units::Angle::degrees(f64::from(i));
            let (sin, cos) = crate::geometry::trig::sin_cos(angle);
            Point::new(100.0 * cos, 100.0 * sin)
        }))
        .expect("a circle");
        let fewer = circle.simplified(0.5);
        assert!(fewer.points().len() < 60);
        assert!((fewer.area() / circle.area() - 1.0).abs() < 0.01);
    }
}
