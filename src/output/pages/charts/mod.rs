//! Charts of report and comparison: where the cloth goes, what a set costs, how stiff a laminate is by
//! direction, how the fibres of a ply lie.

pub(super) mod bars;
pub(super) mod curve;
pub(super) mod key;
pub(super) mod polar;
pub(super) mod swatch;
