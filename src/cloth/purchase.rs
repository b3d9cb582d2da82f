//! How much running cloth to buy, and what it costs.

use super::Cloth;
use crate::units::{Length, Money};

/// What to buy of one cloth.
#[derive(Clone, Debug, PartialEq)]
pub struct Purchase {
    /// Length the layouts use.
    pub used: Length,
    /// Length to buy: used plus spare, rounded up to how the cloth is sold.
    pub length: Length,
    /// What it costs, if the price is known.
    pub cost: Option<Money>,
}

/// A used length that exceeds a sellable multiple by less than this (mm) does not cost another.
const ROUNDING_MM: f64 = 0.01;

impl Purchase {
    /// What to buy of `cloth` when the layouts use `used` of its length.
    #[must_use]
    pub fn of(cloth: &Cloth, used: Length) -> Self {
        let wanted = used * (1.0 + cloth.spare);
        let wanted = if used > Length::ZERO && wanted < cloth.least_sold {
            cloth.least_sold
        } else {
            wanted
        };
        let step = cloth.sold_by.to_mm();
        let length = if step > 0.0 {
            Length::mm(((wanted.to_mm() - ROUNDING_MM) / step).ceil().max(0.0) * step)
        } else {
            wanted
        };
        Self {
            used,
            length,
            cost: cloth.price.as_ref().map(|p| p.of(length)),
        }
    }
}
