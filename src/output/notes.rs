//! What whoever cuts, labels or lays a piece must know of it beyond id, order and angle: decided
//! once for every file.

use crate::cloth::Weave;
use crate::plan::{PlacedPiece, PlyUse};

/// One thing to know; in the order of what a slip would cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Note {
    /// It is cut with the face of the cloth down.
    FaceDown,
    /// It will be seen on the finished part.
    Seen,
    /// Its warp runs neither along nor across it.
    Bias,
    /// Its edges are taped before it is cut.
    Taped,
    /// It is one of several that make up its ply.
    Spliced,
}

impl Note {
    /// What is to be known of `piece` as it lies on the cloth.
    pub(super) fn of_piece(piece: &PlacedPiece) -> Vec<Self> {
        let mut notes = told([(piece.turned_over(), Self::FaceDown)]);
        notes.extend(Self::of_shape(piece.appearance(), piece.on_bias()));
        notes
    }

    /// What is to be known of a piece wherever it lies.
    pub(super) fn of_shape(appearance: bool, on_bias: bool) -> Vec<Self> {
        told([(appearance, Self::Seen), (on_bias, Self::Bias)])
    }

    /// What is to be known of `piece` before it is cut from cloth of `weave`.
    pub(super) fn of_cutting(piece: &PlacedPiece, weave: Weave) -> Vec<Self> {
        let mut notes = Self::of_piece(piece);
        notes.extend(told([(weave.frays(piece.on_bias()), Self::Taped)]));
        notes
    }

    /// What is to be known of all pieces of `ply`, which is of `weave`.
    pub(super) fn of_ply(ply: &PlyUse) -> Vec<Self> {
        told([
            (ply.appearance(), Self::Seen),
            (ply.on_bias(), Self::Bias),
            (ply.weave().frays(ply.on_bias()), Self::Taped),
            (!ply.letters().is_empty(), Self::Spliced),
        ])
    }

    /// On paper.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::FaceDown => "face down",
            Self::Seen => "will be seen",
            Self::Bias => "bias",
            Self::Taped => "edges taped",
            Self::Spliced => "spliced",
        }
    }

    /// On the cloth and in other narrow places; none if it is not told there.
    pub(super) const fn short(self) -> Option<&'static str> {
        match self {
            Self::FaceDown | Self::Bias => Some(self.word()),
            Self::Seen => Some("seen"),
            Self::Taped | Self::Spliced => None,
        }
    }

    /// For whoever lays the ply.
    pub(super) const fn laying(self) -> &'static str {
        match self {
            Self::FaceDown => {
                "face down: cut as drawn, roll face up; turn the piece over before laying"
            }
            Self::Seen => self.word(),
            Self::Bias => "bias: edges stretch, do not pull",
            Self::Taped => {
                "taped edges: no tape may stay in the part; peel it off before laying, or trim it off with the edge"
            }
            Self::Spliced => "spliced: join as drawn; wet a lap out to the edge of the lower piece",
        }
    }
}

/// The notes that are so.
fn told<const N: usize>(notes: [(bool, Note); N]) -> Vec<Note> {
    let told = notes.into_iter().filter(|(is_so, _)| *is_so);
    told.map(|(_, note)| note).collect()
}
