//! Shapes as the value of a question.

use super::{Outline, Point};
use crate::memo::Asked;

impl Asked {
    /// With points.
    pub(crate) fn points(self, points: &[Point]) -> Self {
        self.places(points.iter().map(|p| [p.x, p.y]))
    }

    /// With points in whatever form.
    pub(super) fn places(self, places: impl ExactSizeIterator<Item = [f64; 2]>) -> Self {
        let asked = self.count(places.len());
        places.fold(asked, |asked, [x, y]| asked.number(x).number(y))
    }

    /// With an outline.
    pub(crate) fn outline(self, outline: &Outline) -> Self {
        let asked = self.count(outline.openings.len());
        (outline.rings()).fold(asked, |asked, ring| asked.points(ring.points()))
    }

    /// With outlines.
    pub(crate) fn outlines<'a>(self, outlines: impl ExactSizeIterator<Item = &'a Outline>) -> Self {
        let asked = self.count(outlines.len());
        outlines.fold(asked, Self::outline)
    }
}
