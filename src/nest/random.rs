//! Cheap random numbers, one stream per logical worker.

use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng;

use crate::geometry::{Bounds, Point};

/// A seeded stream of random choices.
#[derive(Clone, Debug)]
pub(super) struct Random(Pcg32);

impl Random {
    /// Stream number `stream` of `seed`.
    pub(super) fn new(seed: u64, stream: u64) -> Self {
        Self(Pcg32::new(seed ^ 0x9e37_79b9_7f4a_7c15, stream))
    }

    /// A number in 0 ≤ u < 1, with 32 random bits.
    pub(super) fn unit(&mut self) -> f64 {
        f64::from(self.0.next_u32()) * (1.0 / 4_294_967_296.0)
    }

    /// A number in −1 ≤ u < 1.
    pub(super) fn signed(&mut self) -> f64 {
        2.0 * self.unit() - 1.0
    }

    /// A number between `lo` and `hi`.
    pub(super) fn between(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * self.unit()
    }

    /// A point within `bounds`.
    pub(super) fn within(&mut self, bounds: &Bounds) -> Point {
        let x = self.between(bounds.min.x, bounds.max.x);
        Point::new(x, self.between(bounds.min.y, bounds.max.y))
    }

    /// A point no further than `reach` from `at` in x and in y.
    pub(super) fn near(&mut self, at: Point, reach: f64) -> Point {
        let x = at.x + reach * self.signed();
        Point::new(x, at.y + reach * self.signed())
    }

    /// A point up to twice `reach` from `at` in x and in y, the nearer the more likely.
    pub(super) fn mostly_near(&mut self, at: Point, reach: f64) -> Point {
        let mut either = || self.signed() + self.signed();
        let x = at.x + reach * either();
        Point::new(x, at.y + reach * either())
    }

    /// An index below `n`, which must not be zero.
    pub(super) fn below(&mut self, n: usize) -> usize {
        // Multiply and shift: as even as 32 bits allow, and no division.
        ((u64::from(self.0.next_u32()) * n as u64) >> 32) as usize
    }

    /// Puts `items` in random order.
    pub(super) fn shuffle<T>(&mut self, items: &mut [T]) {
        for k in (1..items.len()).rev() {
            items.swap(k, self.below(k + 1));
        }
    }
}
