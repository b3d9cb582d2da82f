//! What whoever cuts, labels or lays a piece must know of it beyond id, order and angle: decided
//! once for every file.

use crate::geometry::Face;
use crate::output::drawing::label::SEPARATOR;
use crate::plan::{PlacedPiece, Plan, PlyUse};
use crate::ply::{EdgeTape, Piece};

/// `first`, and number, revision and date of the job where it gives them: the head of a paper.
pub(super) fn head(plan: &Plan, first: impl Into<String>) -> String {
    let mut words = vec![first.into()];
    words.extend(plan.marks().in_words());
    words.join(SEPARATOR)
}

/// One thing to know; in the order of what a slip would cost.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Note {
    /// It is cut with the face of the cloth down.
    FaceDown,
    /// It will be seen on the finished part.
    Seen,
    /// Its warp runs neither along nor across it.
    Bias,
    /// Its edges are taped before it is cut, and the tape is cut through.
    Taped,
    /// Its edges are taped beside the finished edge before it is cut.
    TapedBeside,
    /// Its edges ravel, and there is no room for tape.
    Ravels,
    /// It is one of several that make up its ply.
    Spliced,
}

impl Note {
    /// What is to be known of `piece` as it lies on the cloth.
    pub(super) fn of_piece(piece: &PlacedPiece) -> Vec<Self> {
        let mut notes = told([(piece.turned_over(), Self::FaceDown)]);
        notes.extend(told([
            (piece.appearance(), Self::Seen),
            (piece.on_bias(), Self::Bias),
        ]));
        notes
    }

    /// What is to be known of a piece wherever it lies.
    pub(super) fn of_shape(piece: &Piece) -> Vec<Self> {
        told([
            (piece.ply().face == Some(Face::Down), Self::FaceDown),
            (piece.ply().appearance, Self::Seen),
            (piece.on_bias(), Self::Bias),
        ])
    }

    /// What is to be known of `piece` before it is cut.
    pub(super) fn of_cutting(piece: &PlacedPiece) -> Vec<Self> {
        let mut notes = Self::of_piece(piece);
        let tape = piece.piece().map(Piece::edge_tape);
        notes.extend(tape.and_then(Self::of_tape));
        notes
    }

    /// What is to be known of all pieces of `ply`.
    pub(super) fn of_ply(ply: &PlyUse) -> Vec<Self> {
        let mut notes = told([(ply.appearance(), Self::Seen), (ply.on_bias(), Self::Bias)]);
        notes.extend(Self::of_tape(ply.edge_tape()));
        notes.extend(told([(!ply.letters().is_empty(), Self::Spliced)]));
        notes
    }

    const fn of_tape(tape: EdgeTape) -> Option<Self> {
        match tape {
            EdgeTape::Needless => None,
            EdgeTape::Centred => Some(Self::Taped),
            EdgeTape::BesideNet => Some(Self::TapedBeside),
            EdgeTape::NoRoom => Some(Self::Ravels),
        }
    }

    /// On paper.
    pub(super) const fn word(self) -> &'static str {
        match self {
            Self::FaceDown => "face down",
            Self::Seen => "will be seen",
            Self::Bias => "bias",
            Self::Taped | Self::TapedBeside => "edges taped",
            Self::Ravels => "edges ravel",
            Self::Spliced => "spliced",
        }
    }

    /// On the cloth and in other narrow places; none if it is not told there.
    pub(super) const fn short(self) -> Option<&'static str> {
        match self {
            Self::FaceDown | Self::Bias => Some(self.word()),
            Self::Seen => Some("seen"),
            Self::Taped | Self::TapedBeside | Self::Ravels | Self::Spliced => None,
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
            Self::Taped | Self::TapedBeside => {
                "taped edges: no tape may stay in the part; peel it off before laying, or trim it off with the edge"
            }
            Self::Ravels => "edges ravel, and no tape may lie in the part: handle it little",
            Self::Spliced => "spliced: join as drawn; wet a lap out to the edge of the lower piece",
        }
    }
}

/// The notes that are so.
fn told<const N: usize>(notes: [(bool, Note); N]) -> Vec<Note> {
    let told = notes.into_iter().filter(|(is_so, _)| *is_so);
    told.map(|(_, note)| note).collect()
}
