//! Positions, displacements and axis-parallel bounds.

use std::ops::{Add, Mul, Neg, Sub};

/// A position in the plane, in millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Up.
    pub y: f64,
}

/// A displacement in the plane, in millimetres.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Vector {
    /// To the right.
    pub x: f64,
    /// Up.
    pub y: f64,
}

impl Point {
    /// The point (`x`, `y`).
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Distance to `other` in mm.
    #[must_use]
    pub fn distance(self, other: Self) -> f64 {
        (self - other).length()
    }

    /// The point a fraction `t` of the way to `other`.
    #[must_use]
    pub fn towards(self, other: Self, t: f64) -> Self {
        self + (other - self) * t
    }

    /// Whether both coordinates are finite.
    #[must_use]
    pub const fn is_finite(self) -> bool {
        self.x.is_finite() && self.y.is_finite()
    }
}

impl Vector {
    /// The displacement (`x`, `y`).
    #[must_use]
    pub const fn new(x: f64, y: f64) -> Self {
        Self { x, y }
    }

    /// Its length in mm.
    #[must_use]
    pub fn length(self) -> f64 {
        self.dot(self).sqrt()
    }

    /// Scalar product.
    #[must_use]
    pub fn dot(self, other: Self) -> f64 {
        self.x * other.x + self.y * other.y
    }

    /// z of the cross product: positive if `other` lies to the left of this.
    #[must_use]
    pub fn cross(self, other: Self) -> f64 {
        self.x * other.y - self.y * other.x
    }
}

impl Sub for Point {
    type Output = Vector;
    fn sub(self, other: Self) -> Vector {
        Vector::new(self.x - other.x, self.y - other.y)
    }
}

impl Add<Vector> for Point {
    type Output = Self;
    fn add(self, by: Vector) -> Self {
        Self::new(self.x + by.x, self.y + by.y)
    }
}

impl Sub<Vector> for Point {
    type Output = Self;
    fn sub(self, by: Vector) -> Self {
        Self::new(self.x - by.x, self.y - by.y)
    }
}

impl Add for Vector {
    type Output = Self;
    fn add(self, by: Self) -> Self {
        Self::new(self.x + by.x, self.y + by.y)
    }
}

impl Sub for Vector {
    type Output = Self;
    fn sub(self, by: Self) -> Self {
        Self::new(self.x - by.x, self.y - by.y)
    }
}

impl Neg for Vector {
    type Output = Self;
    fn neg(self) -> Self {
        Self::new(-self.x, -self.y)
    }
}

impl Mul<f64> for Vector {
    type Output = Self;
    fn mul(self, by: f64) -> Self {
        Self::new(self.x * by, self.y * by)
    }
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
        Some(points.fold(
            Self {
                min: first,
                max: first,
            },
            |b, p| Self {
                min: Point::new(b.min.x.min(p.x), b.min.y.min(p.y)),
                max: Point::new(b.max.x.max(p.x), b.max.y.max(p.y)),
            },
        ))
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

    /// The point of the box that is nearest to `p`; the box must not be inside out.
    #[must_use]
    pub fn nearest(&self, p: Point) -> Point {
        Point::new(
            p.x.clamp(self.min.x, self.max.x),
            p.y.clamp(self.min.y, self.max.y),
        )
    }

    /// Whether the two share more than an edge.
    #[must_use]
    pub fn overlaps(&self, other: &Self) -> bool {
        self.min.x < other.max.x
            && other.min.x < self.max.x
            && self.min.y < other.max.y
            && other.min.y < self.max.y
    }

    /// The smallest box that holds both.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        Self {
            min: Point::new(self.min.x.min(other.min.x), self.min.y.min(other.min.y)),
            max: Point::new(self.max.x.max(other.max.x), self.max.y.max(other.max.y)),
        }
    }
}
