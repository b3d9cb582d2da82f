//! How much running cloth to buy, and what it costs.

use super::Cloth;
use crate::units::{Length, Money, PricePerLength};

/// What to buy of one cloth.
#[derive(Clone, Debug, PartialEq)]
pub struct Purchase {
    /// Length the layouts use.
    pub used: Length,
    /// The shortest length that will do: used plus spare, rounded up to how the cloth is sold.
    pub needed: Length,
    /// Length to buy: the needed one, or a longer one that costs less at its lower price.
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
        Self::beside(cloth, used, Length::ZERO)
    }

    /// The same where `on_hand` is there already. The spare is a share of what is used, not of what is
    /// missing.
    #[must_use]
    pub fn beside(cloth: &Cloth, used: Length, on_hand: Length) -> Self {
        let missing = (used * (1.0 + cloth.spare) - on_hand).to_mm();
        let wanted = if missing > ROUNDING_MM {
            Length::mm(missing)
        } else {
            Length::ZERO
        };
        let wanted = if wanted > Length::ZERO && wanted < cloth.least_sold {
            cloth.least_sold
        } else {
            wanted
        };
        let needed = sellable(cloth, wanted);
        let (length, cost) = cheapest(cloth, needed);
        Self {
            used,
            needed,
            length,
            cost,
        }
    }
}

/// `length` rounded up to how the cloth is sold.
fn sellable(cloth: &Cloth, length: Length) -> Length {
    let step = cloth.sold_by.to_mm();
    if step > 0.0 {
        Length::mm(((length.to_mm() - ROUNDING_MM) / step).ceil().max(0.0) * step)
    } else {
        length
    }
}

/// The cheapest length to buy where `needed` will do, the shortest among equals; and its cost.
fn cheapest(cloth: &Cloth, needed: Length) -> (Length, Option<Money>) {
    let cost = |length| price_at(cloth, length).map(|price| price.of(length));
    let mut best = (needed, cost(needed));
    if needed <= Length::ZERO {
        return best;
    }
    for at_break in &cloth.price_breaks {
        let length = sellable(cloth, at_break.from);
        let is_cheaper = matches!((cost(length), best.1), (Some(new), Some(old)) if new < old
            || new == old && length < best.0);
        if length > needed && is_cheaper {
            best = (length, cost(length));
        }
    }
    best
}

/// The price by running length where `length` is bought: that of the last break reached.
fn price_at(cloth: &Cloth, length: Length) -> Option<&PricePerLength> {
    cloth
        .price_breaks
        .iter()
        .filter(|b| b.from.to_mm() <= length.to_mm() + ROUNDING_MM)
        .max_by(|a, b| a.from.to_mm().total_cmp(&b.from.to_mm()))
        .map_or(cloth.price.as_ref(), |b| Some(&b.price))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cloth::{PriceBreak, Supply, Weave};
    use crate::units::ArealWeight;

    fn cloth(sold_by: Length, least_sold: Length, spare: f64) -> Cloth {
        Cloth {
            name: "twill".to_owned(),
            weave: Weave::Twill,
            turns: Weave::Twill.turns(),
            warp_share: 0.5,
            edge_tape: None,
            warp_face: None,
            look: crate::cloth::Look::default(),
            lock: None,
            lock_across: None,
            areal_weight: ArealWeight::oz_per_yd2(5.7),
            is_carbon: None,
            roll_width: Length::inches(50.0),
            selvedge: Length::ZERO,
            end_margin: Length::ZERO,
            gap: Length::ZERO,
            price: "38.50 USD/yd".parse().ok(),
            price_breaks: Vec::new(),
            sold_by,
            least_sold,
            spare,
            supply: Supply::default(),
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

    /// 1981 mm used and 20 % spare are 2377.2 mm: with 2000 mm on hand, 377.2 mm are missing.
    #[test]
    fn spare_is_a_share_of_the_need() {
        let film = cloth(Length::ZERO, Length::ZERO, 0.20);
        let buy = |on_hand: f64| Purchase::beside(&film, Length::mm(1981.0), Length::mm(on_hand));
        assert!((buy(2000.0).length.to_mm() - 377.2).abs() < 1e-9);
        assert_eq!(buy(2377.2).length, Length::ZERO);
        assert_eq!(buy(5000.0).length, Length::ZERO);
        let by_metre = cloth(Length::metres(1.0), Length::ZERO, 0.20);
        let bought = Purchase::beside(&by_metre, Length::mm(1981.0), Length::mm(2000.0));
        assert_eq!(bought.length, Length::metres(1.0));
    }

    #[test]
    fn a_longer_length_is_bought_where_its_lower_price_makes_it_cheaper() {
        let mut twill = cloth(Length::yards(0.5), Length::ZERO, 0.0);
        // The larger break first: the order in the job does not count.
        for (yards, price) in [(20.0, "30 USD/yd"), (10.0, "35 USD/yd")] {
            twill.price_breaks.push(PriceBreak {
                from: Length::yards(yards),
                price: price.parse().unwrap(),
            });
        }
        let buy = |yards: f64| {
            let bought = Purchase::of(&twill, Length::yards(yards));
            let yards = |length: Length| (length.to_yards() * 1e6).round() / 1e6;
            let cents = bought.cost.map(Money::to_cents);
            (yards(bought.needed), yards(bought.length), cents)
        };
        // 9 yd at 38.50 are 346.50, 10 yd at 35 are 350; half a yard more and 10 yd are cheaper.
        assert_eq!(buy(9.0), (9.0, 9.0, Some(34_650)));
        assert_eq!(buy(9.2), (9.5, 10.0, Some(35_000)));
        assert_eq!(buy(12.0), (12.0, 12.0, Some(42_000)));
        // 17 yd at 35 are 595, 20 yd at 30 are 600; at 17.5 yd the full break is cheaper.
        assert_eq!(buy(17.0), (17.0, 17.0, Some(59_500)));
        assert_eq!(buy(17.4), (17.5, 20.0, Some(60_000)));
        assert_eq!(buy(21.0), (21.0, 21.0, Some(63_000)));
        assert_eq!(buy(0.0), (0.0, 0.0, Some(0)));
    }
}
