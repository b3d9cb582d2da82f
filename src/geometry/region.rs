//! Parts of the plane and what they have in common: union, intersection, difference.

use super::Outline;
use super::paths::{COARSE, Paths};
use crate::memo::{Asked, Memo};

/// What is smaller than this (mm²) is rounding dust along an edge that two regions share.
const DUST_MM2: f64 = 0.5;

/// What regions have in common is remembered until so many numbers were asked for; a vertex has two.
const MOST_ASKED: usize = 200_000;

/// A part of the plane: any number of outlines that do not overlap.
#[derive(Clone, Debug, Default)]
pub struct Region(Paths);

impl Region {
    /// The region inside `outline`.
    #[must_use]
    pub fn of(outline: &Outline) -> Self {
        Self(Paths::of(outline))
    }

    /// What lies in any of `outlines`.
    #[must_use]
    pub fn of_all<'a>(outlines: impl IntoIterator<Item = &'a Outline>) -> Self {
        let all = outlines.into_iter().map(Paths::of);
        Self(Paths::together(all).union(&Paths::default(), COARSE))
    }

    /// What lies in this or in `other`.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        if self.0.is_empty() {
            return other.clone();
        }
        static KNOWN: Memo<Region> = Memo::new(MOST_ASKED);
        KNOWN.get(self.with(other), || Self(self.0.union(&other.0, COARSE)))
    }

    /// What lies in this and in `other`.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        static KNOWN: Memo<Region> = Memo::new(MOST_ASKED);
        KNOWN.get(self.with(other), || {
            Self(self.0.intersection(&other.0, COARSE))
        })
    }

    /// What lies in this and not in `other`.
    #[must_use]
    pub fn difference(&self, other: &Self) -> Self {
        if other.0.is_empty() {
            return self.clone();
        }
        static KNOWN: Memo<Region> = Memo::new(MOST_ASKED);
        KNOWN.get(self.with(other), || {
            Self(self.0.difference(&other.0, COARSE))
        })
    }

    /// What is asked of both.
    fn with(&self, other: &Self) -> Asked {
        other.0.asked(self.0.asked(Asked::default()))
    }

    /// Area in mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        self.0.area()
    }

    /// Whether it holds no more than rounding dust.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.area() < DUST_MM2
    }

    /// Its outlines, each with its openings, largest first; dust is left out.
    #[must_use]
    pub fn outlines(&self) -> Vec<Outline> {
        let mut outlines = self.0.sorted(DUST_MM2, |points| points).outlines();
        outlines.sort_by(|a, b| a.outer.area().total_cmp(&b.outer.area()));
        outlines.reverse();
        outlines
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Point, Ring};

    fn square(x: f64, y: f64, side: f64) -> Outline {
        let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
        let ring = Ring::new(corners.map(|(dx, dy)| Point::new(x + dx, y + dy)));
        Outline::solid(ring.expect("a square"))
    }

    #[test]
    fn areas_add_up() {
        let (a, b) = (square(0.0, 0.0, 10.0), square(5.0, 5.0, 10.0));
        let (a, b) = (Region::of(&a), Region::of(&b));
        assert_eq!(a.intersection(&b).area(), 25.0);
        assert_eq!(a.union(&b).area(), 175.0);
        assert_eq!(a.difference(&b).area(), 75.0);
        assert!(a.difference(&a).is_empty() && a.difference(&a).outlines().is_empty());
    }

    #[test]
    fn a_frame_with_an_island_comes_apart_into_two_outlines() {
        let outer = Region::of(&square(0.0, 0.0, 100.0));
        let frame = outer.difference(&Region::of(&square(10.0, 10.0, 80.0)));
        let both = frame.union(&Region::of(&square(40.0, 40.0, 20.0)));
        let outlines = both.outlines();
        let areas: Vec<f64> = outlines.iter().map(Outline::area).collect();
        assert_eq!(areas, [3600.0, 400.0]);
        assert_eq!(outlines[0].openings.len(), 1);
    }
}
