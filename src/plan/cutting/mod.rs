//! In which order the pieces of a roll are labelled and cut, and how far that is to go.

pub(super) mod order;
mod tour;

pub use order::{Cut, CutFrame, CutOrder, Travel, ordered};
pub use tour::{Visit, tour, way_length};
