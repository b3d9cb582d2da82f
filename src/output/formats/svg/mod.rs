//! SVG 1.1: one way from shapes to elements, and the cut files made of them.

pub(in crate::output) mod elements;
pub(in crate::output) mod figure;
mod outlines;
pub(in crate::output) mod page_roll;
mod roll;

pub use outlines::outlines_svg;
pub(crate) use roll::layout_svg;
