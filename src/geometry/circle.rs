//! Circles that chords stand for.

use super::{Placement, Point};

/// A circle, in millimetres.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Circle {
    /// Its centre.
    pub centre: Point,
    /// Its radius.
    pub radius: f64,
}

impl Circle {
    /// The circle turned about the origin and shifted.
    #[must_use]
    pub fn placed(&self, placement: &Placement) -> Self {
        Self {
            centre: placement.apply(self.centre),
            radius: self.radius,
        }
    }

    /// Whether the chord from `a` to `b` leaves the circle by no more than `mm`, at its ends and
    /// half-way.
    #[must_use]
    pub fn holds(&self, a: Point, b: Point, mm: f64) -> bool {
        [a, b, a.towards(b, 0.5)]
            .iter()
            .all(|p| (self.centre.distance(*p) - self.radius).abs() <= mm)
    }

    /// The point of the circle nearest to `p`; `p` itself if that is its centre.
    #[must_use]
    pub fn nearest(&self, p: Point) -> Point {
        let from = p - self.centre;
        match from.length() {
            0.0 => p,
            length => self.centre + from * (self.radius / length),
        }
    }
}
