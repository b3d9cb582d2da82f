//! The shared look of all drawings: layers, line widths, colours, text sizes.
//!
//! Colours are dark enough to print in black and white and differ in lightness as well as in hue,
//! so nothing depends on telling hues apart; dashes and arrows carry the meaning.

use super::label::TextSize;
pub(super) use crate::job::Layer;

impl Layer {
    /// Colour in SVG.
    pub(super) const fn colour(self) -> &'static str {
        match self {
            Self::Cut => "#000000",
            Self::Net => "#0a5ea8",
            Self::Fibre => "#b4520a",
            Self::Label => "#333333",
            Self::Cloth => "#8a8a8a",
            Self::Notch => "#7a1fa2",
            Self::Splice => "#0b7a53",
            Self::Flaw => "#b3261e",
            Self::Frame => "#5b5b5b",
            Self::Keep => "#1b6e3c",
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
            Self::Cut => 0.5,
            Self::Net | Self::Label | Self::Cloth | Self::Frame => 0.25,
            Self::Fibre | Self::Notch | Self::Splice | Self::Flaw | Self::Keep => 0.35,
        }
    }

    /// Whether its lines are dashed.
    pub(super) const fn is_dashed(self) -> bool {
        matches!(self, Self::Net | Self::Frame)
    }
}

/// Length in mm of the dashes of a dashed line, and of the spaces between them.
pub(super) const DASH: (f64, f64) = (6.0, 3.0);

/// Height of capitals in the cut files. Below 2 mm a pen on cloth closes the letters up; above
/// 10 mm a label only takes longer to plot.
pub(super) const CUT_FILE_TEXT: TextSize = TextSize {
    least: 2.0,
    most: 10.0,
};

/// Height of capitals per size of the usual sans-serif faces (0.716 … 0.729 in the common ones).
pub(super) const CAPITALS_PER_SIZE: f64 = 0.72;

/// Red, green, blue.
pub(super) type Colour = [u8; 3];

/// The colours of all pictures: dark on light, told apart by lightness as well as by hue.
pub(super) mod ink {
    use super::Colour;

    /// Cut lines and text.
    pub(in crate::output) const BLACK: Colour = [0x1a, 0x1a, 0x1a];
    /// Frames, seams, everything that is not the piece.
    pub(in crate::output) const GREY: Colour = [0x77, 0x77, 0x77];
    /// The same, where it may stand in the way.
    pub(in crate::output) const PALE: Colour = [0xbb, 0xbb, 0xbb];
    /// Net lines.
    pub(in crate::output) const NET: Colour = [0x0a, 0x5e, 0xa8];
    /// Warp and 0° direction.
    pub(in crate::output) const FIBRE: Colour = [0xb4, 0x52, 0x0a];
    /// Notches and drill marks.
    pub(in crate::output) const MARK: Colour = [0x7a, 0x1f, 0xa2];
    /// Where the neighbour of a spliced piece comes to lie.
    pub(in crate::output) const SPLICE: Colour = [0x0b, 0x7a, 0x53];
    /// The area of a piece.
    pub(in crate::output) const CLOTH: Colour = [0xdd, 0xea, 0xf5];
    /// Faults.
    pub(in crate::output) const RED: Colour = [0xc8, 0x1e, 0x1e];
    /// Codes for machines: as dark as can be.
    pub(in crate::output) const PRINT: Colour = [0, 0, 0];
    /// Paper.
    pub(in crate::output) const WHITE: Colour = [0xff, 0xff, 0xff];
}

/// What made a file, for its properties and at its foot.
pub(super) const GENERATOR: &str = concat!("warpwise ", env!("CARGO_PKG_VERSION"));
