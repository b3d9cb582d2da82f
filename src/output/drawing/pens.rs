//! What lines on paper are drawn with, and arrows.

use crate::geometry::Point;
use crate::output::drawing::shape::Pointer;
use crate::output::style::{Layer, Pen, ink, stroke};

pub(in crate::output::drawing) const CUT: Pen = Pen::solid(ink::BLACK, stroke::LINE);
pub(in crate::output::drawing) const NET: Pen =
    Pen::dashed(ink::NET, stroke::THIN, &stroke::NET_DASH, 1.0);
pub(in crate::output::drawing) const MARK: Pen = Pen::solid(ink::MARK, 0.3);
pub(in crate::output::drawing) const SPLICE: Pen = Pen::solid(ink::SPLICE, 0.3);
pub(in crate::output::drawing) const WARP: Pen = Pen::solid(ink::FIBRE, 0.3);
pub(in crate::output::drawing) const ZERO: Pen = Pen::dashed(ink::BLACK, 0.3, &[1.0, 1.0], 0.8);
pub(in crate::output::drawing) const START: Pen = Pen::solid(ink::FIBRE, stroke::HAIR);
pub(in crate::output::drawing) const SEAM: Pen = Pen::dashed(ink::GREY, 0.2, &[1.0, 1.0], 1.5);

/// An arrow with a head of this length.
pub(in crate::output::drawing) fn arrow(tail: Point, tip: Point, head: f64) -> Pointer {
    Pointer::arrow(tail, tip, (head, head * 0.28))
}

/// What the lines on `layer` of a piece are drawn with.
pub(in crate::output::drawing) const fn pen(layer: Layer) -> Pen {
    match layer {
        Layer::Net => NET,
        Layer::Notch => MARK,
        Layer::Splice => SPLICE,
        _ => CUT,
    }
}
