//! The look of everything that is drawn or printed: colours, line widths, dashes, hatches, sizes of
//! text, in one place. Nothing else in `output` names a colour.
//!
//! Three schemes hold the same roles: light and dark screens, and print without colour. What the
//! tests of this module prove of them by computation: text stands out from its ground by 4.5 : 1,
//! lines and hatches by 3 : 1 (WCAG 2.2, 1.4.3 and 1.4.11); fills of parts and colours of lines stay
//! apart for people who see two colours only. Even so no meaning rests on colour: a ply's angle is
//! an arrow and a hatch, kinds of line differ by dashes, parts by their names.

mod css;
pub(super) mod hatch;
mod layer;
mod palette;
pub(super) mod stroke;
#[cfg(test)]
mod tests;
pub(super) mod text;

pub(super) use css::{paper_css, screen_css};
pub(super) use layer::{DASH, Layer};
pub(super) use palette::{Colour, DRAWN, INDEXED, PRINTED, Scheme, hex, index_colour, ink};
pub(super) use stroke::{Dash, Paint, Pen};
pub(super) use text::{CAPITALS_PER_SIZE, CUT_FILE_TEXT, GENERATOR, TextSize};
