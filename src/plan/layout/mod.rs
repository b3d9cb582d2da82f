//! Pieces on their rolls: which roll to buy, where each piece lies, what is left.

pub(super) mod kinds;
pub(super) mod label;
pub(super) mod left;
pub(super) mod offers;
pub(super) mod rolls;
