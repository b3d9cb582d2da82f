//! The shared look of all drawings: layers, line widths, colours, text sizes.
//!
//! Colours are dark enough to print in black and white and differ in lightness as well as in hue,
//! so nothing depends on telling hues apart; dashes and arrows carry the meaning.

use super::label::TextSize;

/// A layer of a cut file. The names are part of the file contract.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Layer {
    /// Where the knife goes.
    Cut,
    /// Where the finished part ends.
    Net,
    /// Warp arrow and the part's 0° direction.
    Fibre,
    /// Texts.
    Label,
    /// The edge of the roll over the used length, or of the whole remnant.
    Cloth,
    /// Marks on the cut line.
    Notch,
    /// Where the neighbour of a spliced piece comes to lie.
    Splice,
    /// Flawed areas of the cloth.
    Flaw,
    /// Borders between the frames on the cutting table.
    Frame,
    /// What is left and worth keeping.
    Keep,
}

impl Layer {
    pub(super) const ALL: [Self; 10] = [
        Self::Cloth,
        Self::Cut,
        Self::Net,
        Self::Fibre,
        Self::Label,
        Self::Notch,
        Self::Splice,
        Self::Flaw,
        Self::Frame,
        Self::Keep,
    ];

    pub(super) const fn name(self) -> &'static str {
        match self {
            Self::Cut => "CUT",
            Self::Net => "NET",
            Self::Fibre => "FIBRE",
            Self::Label => "LABEL",
            Self::Cloth => "CLOTH",
            Self::Notch => "NOTCH",
            Self::Splice => "SPLICE",
            Self::Flaw => "FLAW",
            Self::Frame => "FRAME",
            Self::Keep => "KEEP",
        }
    }

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
    pub(super) const fn colour_index(self) -> i32 {
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
