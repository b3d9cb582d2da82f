//! What a set of each part costs, what the order costs, and what of it is waste.

use crate::job::Packs;
use crate::plan::{PartUse, Plan};
use crate::units::{Length, Mass, Money, Volume};

/// Costs of material in one currency, rounded to hundredths only here.
#[derive(Clone, Debug, PartialEq)]
pub struct Costs {
    /// The currency of all prices.
    pub currency: String,
    /// One set of each part, in the order of the parts.
    pub parts: Vec<CostBreakdown>,
    /// The whole order.
    pub order: CostBreakdown,
    /// Of that, cloth that is bought and in no part.
    pub cloth_waste: Money,
    /// Of that, resin that is mixed and in no part.
    pub resin_waste: Money,
    /// What has no price and is not in the sums.
    pub unpriced: Vec<String>,
}

/// What something costs, by what it is spent on.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct CostBreakdown {
    /// Cloth as it is bought, shared out by cut area: so a part bears its share of the waste.
    pub cloth: Money,
    /// Resin as it is mixed.
    pub resin: Money,
    /// Bag layers as they are used on the roll, shared out by area, and tape.
    pub bag: Money,
    /// Wax and PVA.
    pub mould: Money,
}

impl CostBreakdown {
    /// All of it.
    #[must_use]
    pub fn total(&self) -> Money {
        self.cloth + self.resin + self.bag + self.mould
    }
}

/// Costs in hundredths, unrounded.
#[derive(Clone, Copy, Default)]
struct Cents {
    cloth: f64,
    resin: f64,
    bag: f64,
    mould: f64,
}

impl Cents {
    fn rounded(&self) -> CostBreakdown {
        let money = |cents: f64| Money::cents(cents.round() as i64);
        CostBreakdown {
            cloth: money(self.cloth),
            resin: money(self.resin),
            bag: money(self.bag),
            mould: money(self.mould),
        }
    }
}

impl Plan {
    /// What the order costs; `None` without any price, or where prices are in several currencies.
    #[must_use]
    pub fn costs(&self) -> Option<Costs> {
        let priced = self.shopping();
        let mut currencies = priced
            .iter()
            .filter(|i| i.cost.is_some())
            .map(|i| &i.currency);
        let currency = currencies.next()?.clone();
        if currencies.any(|other| *other != currency) {
            return None;
        }
        let unpriced = priced.iter().filter(|i| i.cost.is_none());
        let unpriced = unpriced.map(|i| i.name.clone()).collect();
        let sets: Vec<Cents> = (0..self.parts.len())
            .map(|idx| self.set_cost(idx))
            .collect();
        let order = sets
            .iter()
            .zip(&self.parts)
            .fold(Cents::default(), |sum, (set, part)| {
                let n = f64::from(part.sets);
                Cents {
                    cloth: sum.cloth + set.cloth * n,
                    resin: sum.resin + set.resin * n,
                    bag: sum.bag + set.bag * n,
                    mould: sum.mould + set.mould * n,
                }
            });
        let cloth_waste = self
            .cloths
            .iter()
            .filter_map(|used| used.cost_of(used.waste.total()))
            .fold(Money::ZERO, |sum, cost| sum + cost);
        let resin_waste = self.work.resin.as_ref().map_or(0.0, |resin| {
            let order = resin.order(&self.parts);
            let wasted = (order.mixed() - order.in_part).to_grams();
            wasted * price_of_one(resin.system.supply.as_ref(), Mass::to_grams)
        });
        Some(Costs {
            currency,
            parts: sets.iter().map(Cents::rounded).collect(),
            order: order.rounded(),
            cloth_waste,
            resin_waste: Money::cents(resin_waste.round() as i64),
            unpriced,
        })
    }

    fn set_cost(&self, idx: usize) -> Cents {
        let part = &self.parts[idx];
        let work = &self.work;
        let cloth = self.cloths.iter().map(|used| {
            let own = cut_area(part, &used.cloth.name);
            let cents = used
                .purchase
                .cost
                .map_or(0.0, |cost| cost.to_cents() as f64);
            share(own, used.cut_area.to_mm2()) * cents
        });
        let resin = work.resin.as_ref().map_or(0.0, |resin| {
            let price = price_of_one(resin.system.supply.as_ref(), Mass::to_grams);
            resin.parts[idx].mixed().to_grams() * price
        });
        let mould = work.mould.as_ref().map_or(0.0, |mould| {
            let all = mould.areas.iter().zip(&self.parts);
            let all: f64 = all.map(|(a, part)| a.to_mm2() * f64::from(part.sets)).sum();
            let wax = price_of_one(mould.setup.wax_supply.as_ref(), Mass::to_grams);
            let pva = price_of_one(mould.setup.pva_supply.as_ref(), Volume::to_litres);
            let litres = mould.pva.map_or(0.0, Volume::to_litres);
            let cost = mould.wax.to_grams() * wax + litres * pva;
            share(mould.areas[idx].to_mm2(), all) * cost
        });
        Cents {
            cloth: cloth.sum(),
            resin,
            bag: self.bag_cost(idx),
            mould,
        }
    }

    fn bag_cost(&self, idx: usize) -> f64 {
        let Some(bags) = &self.work.bagging else {
            return 0.0;
        };
        let part = &self.parts[idx];
        let layers = bags.rolls.iter().map(|roll| {
            let area = |of: &str| -> f64 {
                let pieces = roll.layout.pieces.iter();
                let own = pieces.filter(|piece| of.is_empty() || piece.part() == of);
                own.map(|piece| piece.cut.area()).sum()
            };
            let price = roll.layer.roll.price.as_ref();
            let cents = price.map_or(0.0, |p| p.of(roll.layout.used_length).to_cents() as f64);
            share(area(part.name()), area("")) * cents / f64::from(part.sets.max(1))
        });
        let tape = price_of_one(Some(&bags.setup.tape), Length::to_mm);
        let run = bags.parts[idx].tape.to_mm() * (1.0 + bags.setup.tape_spare);
        layers.sum::<f64>() + run * tape
    }
}

/// Cut area of one set of `part` from a cloth, mm².
fn cut_area(part: &PartUse, cloth: &str) -> f64 {
    let plies = part.plies.iter().filter(|ply| ply.cloth().name == cloth);
    plies.map(|ply| ply.cut_area().to_mm2()).sum()
}

fn share(part: f64, whole: f64) -> f64 {
    if whole > 0.0 { part / whole } else { 0.0 }
}

/// Price in hundredths of one unit of what comes in packs; nothing if it is not known.
fn price_of_one<T: Copy>(supply: Option<&Packs<T>>, size: impl Fn(T) -> f64) -> f64 {
    supply.map_or(0.0, |supply| {
        let cents = supply
            .price
            .as_ref()
            .map_or(0, |price| price.amount.to_cents());
        cents as f64 / size(supply.pack)
    })
}
