//! How the layers of cut files look.

use super::palette::{Colour, ink};
use super::stroke;
pub(in crate::output) use crate::job::Layer;

impl Layer {
    /// Colour in SVG.
    pub(in crate::output) const fn colour(self) -> Colour {
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
    pub(in crate::output) const fn colour_index(self) -> u8 {
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
    pub(in crate::output) const fn line_width(self) -> f64 {
        match self {
            Self::Cut => stroke::BOLD,
            Self::Net | Self::Label | Self::Cloth | Self::Frame => stroke::THIN,
            Self::Fibre | Self::Notch | Self::Splice | Self::Flaw | Self::Keep => stroke::LINE,
        }
    }

    /// Whether its lines are dashed.
    pub(in crate::output) const fn is_dashed(self) -> bool {
        matches!(self, Self::Net | Self::Frame)
    }
}

/// Length in mm of the dashes of a dashed line in cut files, and of the spaces between them.
pub(in crate::output) const DASH: (f64, f64) = (
    stroke::NET_DASH[0] * stroke::CLOTH_DASH,
    stroke::NET_DASH[1] * stroke::CLOTH_DASH,
);
