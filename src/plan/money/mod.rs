//! What the plan costs, what a set costs by how many are made, and what to buy.

mod cost;
mod per_set;
mod shopping;

pub use cost::{CostBreakdown, Costs};
pub use per_set::cost_per_set;
pub use shopping::{Amount, ItemKind, ShoppingItem};
