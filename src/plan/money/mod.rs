//! What the plan costs, what a set costs by how many are made, what it must be sold for, and what to buy.

mod cost;
mod per_set;
mod price;
mod shopping;

pub use cost::{CostBreakdown, Costs};
pub use per_set::cost_per_set;
pub use price::{PartPrice, WorkStep};
pub use shopping::{Amount, ItemKind, ShoppingItem};
