//! How a cloth is to be laid, how it gives, and why it cannot be.

use super::outline::NoOutline;
use super::proof::Denied;
use crate::words::words;

words! {
    /// How the first yarns of a cloth lie.
    pub enum Smoothing {
        /// Straight from the start.
        Straight = "straight",
        /// Bent so that the shear is spread evenly, as a patient person smooths the cloth out.
        Evenly = "evenly",
    }
}

words! {
    /// Whether a cloth gets darts.
    pub enum Darts {
        /// None.
        No = "no",
        /// Where it would shear more than it bears.
        WhereNeeded = "where needed",
    }
}

/// How a part is laid.
#[derive(Clone, Debug, PartialEq)]
pub struct LayChoice {
    /// Where the cloth is put down first, mm; the middle of the part if left out.
    pub start: Option<[f64; 3]>,
    /// The part's 0° there, as a direction in space; if left out x, or y where x stands upright.
    pub zero: Option<[f64; 3]>,
    /// How it is smoothed out.
    pub smoothing: Smoothing,
    /// Whether it is cut where it would shear more than it bears.
    pub darts: Darts,
    /// Lines of points on the mould along which it is cut in any case, each from the tip of a dart to the edge or
    /// towards it, mm.
    pub dart_lines: Vec<Vec<[f64; 3]>>,
    /// How far a gusset goes on under or over the cloth beside it, and past the tip of its cut, measured on the mould, mm.
    pub gusset_lap: f64,
    /// Between crossings of the net that is computed, mm; by the size of the part if left out.
    pub spacing: Option<f64>,
}

/// Why a cloth cannot be laid.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum DrapeError {
    /// The start lies this far (mm) from the part.
    FarStart(f64),
    /// The part's 0° stands upright on the mould at the start.
    UprightZero,
    /// The cloth does not get to this place (mm) of the edge: it would shear beyond what any cloth can.
    NotCovered([f64; 3]),
    /// The part closes upon itself at this place (mm) of its edge.
    Closes([f64; 3]),
    /// The cloth lies over itself when it is flat.
    Overlaps,
    /// A line along which it is to be cut does not come to the edge.
    NoDart,
    /// The net of so many crossings is finer than can be computed.
    TooFine(u64),
    /// By another way than the one that gave its flat outline the cloth comes out otherwise, with a net of this spacing
    /// (mm) still.
    NotBorneOut(Denied, f64),
}

words! {
    /// How the fibres of a cloth give on a mould.
    pub enum Fibres {
        /// They keep their length and turn where they cross: woven or stitched.
        Crossed = "shears",
        /// They keep their length and distance, and slip along each other: all one way.
        Parallel = "slips",
        /// They give every way: mat, fleece.
        Loose = "stretches",
    }
}

/// How a cloth gives on a mould.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct ClothGive {
    pub(crate) fibres: Fibres,
    /// The largest shear (degrees) that it bears where the angle from +warp to +weft closes, and where it opens.
    pub(crate) locks: [f64; 2],
}

impl ClothGive {
    /// Of a cloth of which nothing is known.
    pub(crate) const fn endless(fibres: Fibres) -> Self {
        Self {
            fibres,
            locks: [f64::INFINITY; 2],
        }
    }
}

/// What is laid on what: as much as makes the flat cloth another.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct PlyLies {
    /// The direction of its warp, degrees counter-clockwise from the part's 0° as seen from the bag side.
    pub(crate) angle_deg: f64,
    pub(crate) give: ClothGive,
    /// How thick (mm) the plies are that lie on the mould already.
    pub(crate) under: f64,
}

impl From<NoOutline> for DrapeError {
    fn from(why: NoOutline) -> Self {
        match why {
            NoOutline::NotCovered(at) => Self::NotCovered(at),
            NoOutline::Closes(at) => Self::Closes(at),
        }
    }
}
