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
mod palette;
pub(super) mod stroke;
#[cfg(test)]
mod tests;

pub(super) use crate::job::Layer;
pub(super) use css::{paper_css, screen_css};
pub(super) use palette::{Colour, DRAWN, INDEXED, PRINTED, hex, index_colour, ink};
pub(super) use stroke::Pen;

impl Layer {
    /// Colour in SVG.
    pub(super) const fn colour(self) -> Colour {
        match self {
            // Machines tell lines by their colour, and black cuts.
            Self::Cut => ink::PRINT,
            Self::Net => ink::NET,
            Self::Fibre => ink::FIBRE,
            Self::Label => ink::BLACK,
            Self::Cloth | Self::Frame => ink::GREY,
            Self::Notch => ink::MARK,
            Self::Splice => ink::SPLICE,
            Self::Flaw => ink::RED,
            Self::Keep => ink::KEEP,
        }
    }

    /// Colour index in DXF (7 is black on paper and white on a dark screen).
    pub(super) const fn colour_index(self) -> u8 {
        match self {
            Self::Cut => 7,
            Self::Net => 5,
            Self::Fibre => 30,
            Self::Label => 3,
            Self::Cloth => 8,
            Self::Notch => 6,
            Self::Splice => 4,
            Self::Flaw => 1,
            Self::Frame => 9,
            Self::Keep => 94,
        }
    }

    /// Width of its lines in mm.
    pub(super) const fn line_width(self) -> f64 {
        match self {
            Self::Cut => stroke::BOLD,
            Self::Net | Self::Label | Self::Cloth | Self::Frame => stroke::THIN,
            Self::Fibre | Self::Notch | Self::Splice | Self::Flaw | Self::Keep => stroke::LINE,
        }
    }

    /// Whether its lines are dashed.
    pub(super) const fn is_dashed(self) -> bool {
        matches!(self, Self::Net | Self::Frame)
    }
}

/// Length in mm of the dashes of a dashed line in cut files, and of the spaces between them.
pub(super) const DASH: (f64, f64) = (
    stroke::NET_DASH.0 * stroke::CLOTH_DASH,
    stroke::NET_DASH.1 * stroke::CLOTH_DASH,
);

/// Bounds of the height of capitals in mm.
#[derive(Clone, Copy, Debug)]
pub(in crate::output) struct TextSize {
    /// Smaller letters are not worth writing; less text is written instead.
    pub(in crate::output) least: f64,
    /// Letters never grow beyond this.
    pub(in crate::output) most: f64,
}

/// Height of capitals in the cut files. Below 2 mm a pen on cloth closes the letters up; above
/// 10 mm a label only takes longer to plot.
pub(super) const CUT_FILE_TEXT: TextSize = TextSize {
    least: 2.0,
    most: 10.0,
};

/// Height of capitals per size of the usual sans-serif faces (0.716 … 0.729 in the common ones).
pub(super) const CAPITALS_PER_SIZE: f64 = 0.72;

/// Sizes of text in pictures, pixels: each about a fifth above the next.
pub(super) mod text {
    pub(in crate::output) const TITLE: f64 = 23.0;
    pub(in crate::output) const HEADING: f64 = 19.0;
    pub(in crate::output) const BODY: f64 = 16.0;
    pub(in crate::output) const NOTE: f64 = 13.0;
}

/// What made a file, for its properties and at its foot.
pub(super) const GENERATOR: &str = concat!("warpwise ", env!("CARGO_PKG_VERSION"));
