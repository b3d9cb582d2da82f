//! Boxes along the axes.

use super::{Outline, Point, Ring, Vector};

/// How much larger (mm) than the strip of `width` mm a shape may be and still fits: the rounding of
/// turns. Larger: a piece sticks out; smaller: one as wide as the strip does not fit when turned.
#[must_use]
pub fn fit_tolerance(width: f64) -> f64 {
    1e-9 * width
}

/// An axis-parallel box, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Lower left corner.
    pub min: Point,
    /// Upper right corner.
    pub max: Point,
}

impl Bounds {
    /// The smallest box that holds all `points`, or `None` if there are none.
    pub fn of(points: impl IntoIterator<Item = Point>) -> Option<Self> {
        let mut points = points.into_iter();
        let first = points.next()?;
        Some(points.fold(Self::at(first), |all, p| all.union(&Self::at(p))))
    }

    /// The box of a single point.
    #[must_use]
    pub const fn at(p: Point) -> Self {
        Self { min: p, max: p }
    }

    /// Extent in x, mm.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.max.x - self.min.x
    }

    /// Extent in y, mm.
    #[must_use]
    pub fn height(&self) -> f64 {
        self.max.y - self.min.y
    }

    /// The longer of both extents, mm.
    #[must_use]
    pub fn long_side(&self) -> f64 {
        self.width().max(self.height())
    }

    /// The shorter of both extents, mm.
    #[must_use]
    pub fn short_side(&self) -> f64 {
        self.width().min(self.height())
    }

    /// The middle of the box.
    #[must_use]
    pub fn centre(&self) -> Point {
        self.min.towards(self.max, 0.5)
    }

    /// Its corners, counter-clockwise from the lower left one.
    #[must_use]
    pub fn corners(&self) -> [Point; 4] {
        let Self { min, max } = *self;
        [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)]
    }

    /// The smallest box that holds both.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        Self {
            min: Point::new(self.min.x.min(other.min.x), self.min.y.min(other.min.y)),
            max: Point::new(self.max.x.max(other.max.x), self.max.y.max(other.max.y)),
        }
    }

    /// The box grown by `by` mm to all sides.
    #[must_use]
    pub fn grown(&self, by: f64) -> Self {
        let by = Vector::new(by, by);
        Self {
            min: self.min - by,
            max: self.max + by,
        }
    }

    /// The box moved by `by`.
    #[must_use]
    pub fn shifted(&self, by: Vector) -> Self {
        Self {
            min: self.min + by,
            max: self.max + by,
        }
    }

    /// Distance in mm from `p` to the box; zero inside it.
    #[must_use]
    pub fn distance(&self, p: Point) -> f64 {
        let off = |low: f64, high: f64, v: f64| (low - v).max(v - high).max(0.0);
        let (x, y) = (
            off(self.min.x, self.max.x, p.x),
            off(self.min.y, self.max.y, p.y),
        );
        Vector::new(x, y).length()
    }

    /// The point of the box that is nearest to `p`; the box must not be inside out.
    #[must_use]
    pub fn nearest(&self, p: Point) -> Point {
        Point::new(
            p.x.clamp(self.min.x, self.max.x),
            p.y.clamp(self.min.y, self.max.y),
        )
    }

    /// The part of the edge from `a` to `b` that lies within the box, be it a point (Liang and Barsky
    /// 1984).
    #[must_use]
    pub fn part_of_edge(&self, a: Point, b: Point) -> Option<[Point; 2]> {
        let (mut enter, mut leave) = (0.0_f64, 1.0_f64);
        let d = b - a;
        for (delta, from, low, high) in [
            (d.x, a.x, self.min.x, self.max.x),
            (d.y, a.y, self.min.y, self.max.y),
        ] {
            if delta == 0.0 {
                if from < low || from > high {
                    return None;
                }
                continue;
            }
            let (t0, t1) = ((low - from) / delta, (high - from) / delta);
            enter = enter.max(t0.min(t1));
            leave = leave.min(t0.max(t1));
        }
        (enter <= leave).then(|| [a.towards(b, enter), a.towards(b, leave)])
    }

    /// Whether the two share at least a point.
    #[must_use]
    pub fn meets(&self, other: &Self) -> bool {
        self.min.x <= other.max.x
            && other.min.x <= self.max.x
            && self.min.y <= other.max.y
            && other.min.y <= self.max.y
    }

    /// Whether the two share more than an edge.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.min.x < other.max.x
            && other.min.x < self.max.x
            && self.min.y < other.max.y
            && other.min.y < self.max.y
    }

    /// Whether `inner` sticks out of this box by no more than `slack` mm.
    #[must_use]
    pub fn holds(&self, inner: &Self, slack: f64) -> bool {
        inner.min.x >= self.min.x - slack
            && inner.max.x <= self.max.x + slack
            && inner.min.y >= self.min.y - slack
            && inner.max.y <= self.max.y + slack
    }

    /// Whether a box as large as `other` has room in this one; see [`fit_tolerance`].
    #[must_use]
    pub fn takes(&self, other: &Self) -> bool {
        let slack = fit_tolerance(self.height());
        other.width() <= self.width() + slack && other.height() <= self.height() + slack
    }

    /// The box as an outline, or `None` if it encloses nothing or is out of range.
    #[must_use]
    pub fn outline(&self) -> Option<Outline> {
        if self.min.x >= self.max.x || self.min.y >= self.max.y {
            return None;
        }
        Ring::new(self.corners()).ok().map(Outline::solid)
    }
}
