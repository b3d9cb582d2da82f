//! The lines of a piece, wherever it lies: on a roll, on paper.

use std::borrow::Cow;

use super::shape::Shape;
use crate::geometry::{Circle, Outline};
use crate::output::style::Layer;
use crate::plan::{PlacedJoint, PlacedPiece};
use crate::ply::Mark;

/// What is drawn of a piece, in one frame.
pub(in crate::output) struct PieceLines<'a> {
    pub(in crate::output) cut: &'a Outline,
    pub(in crate::output) net: &'a Outline,
    /// Circles that arcs of both lie on.
    pub(in crate::output) circles: Cow<'a, [Circle]>,
    pub(in crate::output) marks: Cow<'a, [Mark]>,
    pub(in crate::output) joints: Cow<'a, [PlacedJoint]>,
}

impl<'a> PieceLines<'a> {
    /// Those of a piece on its roll.
    pub(in crate::output) fn of(piece: &'a PlacedPiece) -> Self {
        Self {
            cut: piece.cut(),
            net: piece.net(),
            circles: piece.circles().into(),
            marks: piece.marks().into(),
            joints: piece.joints().into(),
        }
    }

    /// Cut line, net line and marks.
    pub(in crate::output) fn outlines(&self) -> impl Iterator<Item = (Layer, Shape)> + '_ {
        let outlines = [(Layer::Cut, self.cut), (Layer::Net, self.net)];
        let outlines = outlines.map(|(layer, line)| (layer, Shape::area(line, &self.circles)));
        let marks = self.marks.iter().map(|mark| {
            let (points, closed) = (mark.points.clone(), mark.closed);
            (Layer::Notch, Shape::Line { points, closed })
        });
        outlines.into_iter().chain(marks)
    }

    /// The lines along which its neighbours come to lie.
    pub(in crate::output) fn joints(&self) -> impl Iterator<Item = (Layer, Shape)> + '_ {
        let joints = self.joints.iter();
        joints.map(|joined| (Layer::Splice, Shape::Edge(joined.joint.line)))
    }
}
