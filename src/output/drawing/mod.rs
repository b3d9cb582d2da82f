//! What is drawn: pieces, labels, joints, paper patterns, figures.

pub(super) mod arcs;
pub(super) mod board;
mod compass;
mod directions;
pub(super) mod face;
pub(super) mod figure;
pub(super) mod joint;
pub(super) mod label;
pub(super) mod label_sheet;
pub(super) mod mould;
pub(super) mod page;
mod pens;
mod piece;
pub(super) mod roll;
pub(super) mod roll_view;
pub(super) mod shape;
mod start;
pub(super) mod strokes;
mod tag;
pub(super) mod templates;
