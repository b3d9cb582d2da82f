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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cloth::Weave;
    use crate::units::ArealWeight;

    fn cloth(sold_by: Length, least_sold: Length, spare: f64) -> Cloth {
        Cloth {
            name: "twill".to_owned(),
            weave: Weave::Twill,
            turns: Weave::Twill.turns(),
            areal_weight: ArealWeight::oz_per_yd2(5.7),
            roll_width: Length::inches(50.0),
            selvedge: Length::ZERO,
            end_margin: Length::ZERO,
            gap: Length::ZERO,
            price: "38.50 USD/yd".parse().ok(),
            sold_by,
            least_sold,
            spare,
        }
    }

    #[test]
    fn lengths_are_rounded_up_to_how_the_cloth_is_sold() {
        let half_yard = Length::yards(0.5);
        let buy = |used, sold_by, least, spare| {
            let bought = Purchase::of(&cloth(sold_by, least, spare), Length::yards(used));
            (bought.length.to_yards(), bought.cost.map(Money::to_cents))
        };
        assert_eq!(buy(2.3, half_yard, Length::ZERO, 0.0), (2.5, Some(9625)));
        // Exactly a multiple, even with the noise of a sum, does not cost another half yard.
        assert_eq!(buy(2.5 + 1e-9, half_yard, Length::ZERO, 0.0).0, 2.5);
        assert_eq!(buy(2.4, half_yard, Length::ZERO, 0.10).0, 3.0);
        assert_eq!(buy(0.3, half_yard, Length::yards(1.0), 0.0).0, 1.0);
        let any = buy(2.3, Length::ZERO, Length::ZERO, 0.0);
        assert!((any.0 - 2.3).abs() < 1e-12 && any.1 == Some(8855));
        assert_eq!(buy(0.0, half_yard, Length::yards(1.0), 0.0), (0.0, Some(0)));
    }
}
