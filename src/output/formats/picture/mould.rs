//! A cloth on its mould → shapes to paint: the drawings of the sheet, two beside each other.

use super::{Picture, WIDTH, letters, sheet};
use crate::drape::Drape;
use crate::geometry::Point;
use crate::mould::Mould;
use crate::output::drawing::figure::{Figure, Look};
use crate::output::drawing::mould;
use crate::output::drawing::shape::Shape;
use crate::output::style::{DRAWN, Paint, ink};
use crate::plan::{PartUse, Plan};

/// Room around a drawing, pixels.
const MARGIN: f64 = 50.0;

impl Picture {
    /// A picture of `drape` on the mould of `part`: the mould, the part and its shear, seen slantwise and from three
    /// sides.
    #[must_use]
    pub fn of_mould(plan: &Plan, part: &PartUse, drape: &Drape) -> Self {
        let mut picture = Self::empty();
        let heading = format!(
            "{}: {}, cloth at {}",
            plan.title(),
            part.name(),
            drape.name()
        );
        sheet::heading(&mut picture, &heading);
        picture.figures(&mould::figures(drape, part.lock(drape)));
        picture
    }

    /// It with `moulds` below what is there: what may be a part of each, numbered as `inspect` numbers it.
    #[must_use]
    pub fn with_moulds(mut self, moulds: &[Mould]) -> Self {
        for mould in moulds {
            sheet::heading(&mut self, mould.file());
            self.figures(&mould::candidates(mould));
        }
        self
    }

    /// Draws figures of one width below what is there, two beside each other.
    pub(super) fn figures(&mut self, figures: &[Figure]) {
        for pair in figures.chunks(2) {
            let top = self.height + MARGIN / 2.0;
            for (k, figure) in pair.iter().enumerate() {
                let wide = (WIDTH - 3.0 * MARGIN) / 2.0;
                let scale = wide / figure.width;
                let left = MARGIN + (wide + MARGIN) * k as f64;
                self.figure(figure, Point::new(left, top), scale);
                self.height = self.height.max(top + figure.height * scale);
            }
        }
        self.height = (self.height + MARGIN / 2.0).ceil();
    }

    fn figure(&mut self, figure: &Figure, corner: Point, scale: f64) {
        let at = |p: Point| Point::new(corner.x + p.x * scale, corner.y + p.y * scale);
        for item in &figure.drawing.items {
            let look: Look = item.layer;
            let shape = item.shape.mapped(at, scale);
            let paint = match shape {
                Shape::Text(_) if look.is_inside() => letters(ink::BLACK, ink::WHITE),
                Shape::Text(_) => Paint::area(ink::BLACK),
                _ => Paint {
                    area: look.area(DRAWN),
                    line: look.line().map(|pen| pen.scaled(scale)),
                },
            };
            self.paint(paint, shape);
        }
    }
}
