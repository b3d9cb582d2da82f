//! Which cut edges ravel, and where the tape lies that holds them.
//!
//! Along a straight edge the last yarns lie side by side with it and slip off; on the bias every yarn runs
//! into the cloth, so such an edge holds together, but stretches.

use super::Piece;
use crate::geometry::{Ring, trig};
use crate::units::{Angle, Length};

/// How the edges of a piece are held before it is cut.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EdgeTape {
    /// They do not ravel.
    Needless,
    /// Tape along the cut line, which is cut through its middle: half of it stays on the trim.
    Centred,
    /// Tape beside the finished edge: the trim is narrower than half the tape, which would end in the part.
    BesideNet,
    /// They ravel, but without trim any tape would end in the part.
    NoRoom,
}

/// An edge that is nearer (degrees) to warp or weft than this ravels. Larger: edges that hold are taped;
/// smaller: long yarns slip off. Common practice, no source.
const NEAR_DEG: f64 = 20.0;

impl Piece {
    /// Length of its cut edges that ravel: those along warp and weft of a loose weave, openings too.
    #[must_use]
    pub fn ravelling_edge(&self) -> Length {
        if self.cloth().edge_tape.is_none() {
            return Length::ZERO;
        }
        let openings = self.cut.openings.iter();
        let rings = std::iter::once(&self.cut.outer).chain(openings);
        Length::mm(rings.map(|ring| near(ring, self.warp())).sum())
    }

    /// How its edges are held before it is cut.
    #[must_use]
    pub fn edge_tape(&self) -> EdgeTape {
        let trim = self.ply().cutting.trim;
        match self.cloth().edge_tape {
            Some(width) if self.ravelling_edge() > Length::ZERO => match trim {
                Length::ZERO => EdgeTape::NoRoom,
                trim if trim * 2.0 < width => EdgeTape::BesideNet,
                _ => EdgeTape::Centred,
            },
            _ => EdgeTape::Needless,
        }
    }
}

/// Length of the edges of `ring` near to `warp` or square to it, mm.
fn near(ring: &Ring, warp: Angle) -> f64 {
    let edges = ring.edges().filter(|(a, b)| {
        let along = *b - *a;
        let off = (trig::direction(along.x, along.y) - warp).to_degrees();
        let off = off.rem_euclid(90.0);
        off.min(90.0 - off) <= NEAR_DEG
    });
    edges.map(|(a, b)| a.distance(b)).sum()
}
