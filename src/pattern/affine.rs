//! The map from a drawing's own coordinates to the pattern frame.

use crate::geometry::{Point, Vector};

/// x' = a·x + c·y + e, y' = b·x + d·y + f: the letters of SVG 1.1 §7.4.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Affine {
    pub(super) a: f64,
    pub(super) b: f64,
    pub(super) c: f64,
    pub(super) d: f64,
    pub(super) e: f64,
    pub(super) f: f64,
}

impl Affine {
    pub(super) const IDENTITY: Self = Self::scale(1.0, 1.0);

    pub(super) const fn new(a: f64, b: f64, c: f64, d: f64, e: f64, f: f64) -> Self {
        Self { a, b, c, d, e, f }
    }

    pub(super) const fn scale(x: f64, y: f64) -> Self {
        Self::new(x, 0.0, 0.0, y, 0.0, 0.0)
    }

    pub(super) const fn shift(x: f64, y: f64) -> Self {
        Self::new(1.0, 0.0, 0.0, 1.0, x, y)
    }

    /// Counter-clockwise where y runs up.
    pub(super) const fn rotation(sin: f64, cos: f64) -> Self {
        Self::new(cos, sin, -sin, cos, 0.0, 0.0)
    }

    /// The map that does `first`, then `self`.
    pub(super) fn after(&self, first: &Self) -> Self {
        let x = self.vector(Vector::new(first.a, first.b));
        let y = self.vector(Vector::new(first.c, first.d));
        let origin = self.point(Point::new(first.e, first.f));
        Self::new(x.x, x.y, y.x, y.y, origin.x, origin.y)
    }

    pub(super) fn point(&self, p: Point) -> Point {
        Point::new(
            self.a * p.x + self.c * p.y + self.e,
            self.b * p.x + self.d * p.y + self.f,
        )
    }

    pub(super) fn vector(&self, v: Vector) -> Vector {
        Vector::new(self.a * v.x + self.c * v.y, self.b * v.x + self.d * v.y)
    }

    pub(super) fn is_finite(&self) -> bool {
        [self.a, self.b, self.c, self.d, self.e, self.f]
            .iter()
            .all(|v| v.is_finite())
    }
}
