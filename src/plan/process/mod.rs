//! What follows from the plies once they are cut: laminate, thickness, resin, bag, mould.

mod bag_roll;
pub(super) mod bagging;
mod coat;
pub(super) mod laminate;
mod mould;
mod places;
mod pleats;
mod regions;
mod resin;
mod shape;
mod shared;
mod stage;
mod timeline;
mod ways;
mod widths;
mod work;

pub(crate) use bagging::wanted_ids;
pub use bagging::{BagUse, JoinedLayer, PartBag, RollUse};
pub use coat::{CoatUse, PartCoat};
pub use laminate::{Laminate, StackAsCut};
pub use mould::MouldUse;
pub use places::{PlaceOnMould, PlyAtPlace};
pub use pleats::Pleats;
pub use regions::{ThicknessMap, ThicknessRegion};
pub use resin::{PartResin, ResinStep, ResinUse};
pub use shared::SharedBag;
pub use stage::Stage;
pub use timeline::{Bagged, TimedBatch, Timeline};
pub(super) use ways::late_bags;
pub use work::{FinishedPart, LaidPiece, LaidPly, Work};
