//! What is drawn: pieces, labels, joints, paper patterns, figures.

pub(super) mod arcs;
pub(super) mod face;
pub(super) mod figure;
pub(super) mod joint;
pub(super) mod label;
pub(super) mod label_sheet;
pub(super) mod page;
pub(super) mod piece;
pub(super) mod roll;
pub(super) mod roll_view;
pub(super) mod shape;
pub(super) mod strokes;
pub(super) mod templates;
