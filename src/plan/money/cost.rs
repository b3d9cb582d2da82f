//! What a set of each part costs, what the order costs, and what of it is waste.

use crate::job::Packs;
use crate::plan::{PartUse, Plan};
use crate::units::{Area, Length, Mass, Money, Volume};

/// Costs of material in one currency, rounded to hundredths only here.
#[derive(Clone, Debug, PartialEq)]
pub struct Costs {
    /// The currency of all prices.
    pub currency: String,
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
    /// Sheets of cores by the area of the cores.
    pub core: Money,
    /// Bag layers as they are used on the roll, shared out by area, and tape.
    pub bag: Money,
    /// Wax and PVA.
    pub mould: Money,
    /// Gel coat as it is mixed.
    pub coat: Money,
}

impl CostBreakdown {
    /// All of it.
    #[must_use]
    pub fn total(&self) -> Money {
        self.cloth + self.resin + self.core + self.bag + self.mould + self.coat
    }
}

/// Costs in hundredths, unrounded.
#[derive(Clone, Copy, Default)]
struct Cents {
    cloth: f64,
    resin: f64,
    core: f64,
    bag: f64,
    mould: f64,
    coat: f64,
}

impl Cents {
    /// Adds `n` times as much as `other`.
    fn add(&mut self, other: &Self, n: f64) {
        self.cloth += other.cloth * n;
        self.resin += other.resin * n;
        self.core += other.core * n;
        self.bag += other.bag * n;
        self.mould += other.mould * n;
        self.coat += other.coat * n;
    }

    fn rounded(&self) -> CostBreakdown {
        let money = |cents: f64| Money::cents(cents.round() as i64);
        CostBreakdown {
            cloth: money(self.cloth),
            resin: money(self.resin),
            core: money(self.core),
            bag: money(self.bag),
            mould: money(self.mould),
            coat: money(self.coat),
        }
    }
}

impl Plan {
    /// Works out what a set of each part costs, and the order: nothing without any price, or where
    /// prices are in several currencies.
    pub(in crate::plan) fn work_out_costs(&mut self) {
        let priced = self.shopping();
        let mut currencies = priced
            .iter()
            .filter(|i| i.cost.is_some())
            .map(|i| &i.currency);
        let Some(currency) = currencies.next().cloned() else {
            return;
        };
        if currencies.any(|other| *other != currency) {
            return;
        }
        let unpriced = priced.iter().filter(|i| i.cost.is_none());
        let unpriced = unpriced.map(|i| i.name.clone()).collect();
        let mut order = Cents::default();
        for idx in 0..self.parts.len() {
            let of_set = self.set_cost(&self.parts[idx]);
            let part = &mut self.parts[idx];
            order.add(&of_set, f64::from(part.sets));
            part.cost = Some(of_set.rounded());
        }
        let cloth_waste = self
            .cloths
            .iter()
            .filter_map(|used| used.cost_of(used.waste.total()))
            .fold(Money::ZERO, |sum, cost| sum + cost);
        let resin_waste = self.work.resin.as_ref().map_or(0.0, |resin| {
            let wasted =
                (resin.order.mixed() - resin.order.in_part - resin.order.in_cores).to_grams();
            wasted * price_of_one(resin.system.supply.as_ref(), Mass::to_grams)
        });
        self.costs = Some(Costs {
            currency,
            order: order.rounded(),
            cloth_waste,
            resin_waste: Money::cents(resin_waste.round() as i64),
            unpriced,
        });
    }

    fn set_cost(&self, part: &PartUse) -> Cents {
        let work = &self.work;
        let cloth = self.cloths.iter().map(|used| {
            let own = cut_area(part, &used.cloth.name);
            let cents = used
                .purchase
                .cost
                .map_or(0.0, |cost| cost.to_cents() as f64);
            share(own, used.cut_area.to_mm2()) * cents
        });
        let resin = work.resin.as_ref().zip(part.resin.as_ref());
        let resin = resin.map_or(0.0, |(resin, of_part)| {
            let price = price_of_one(resin.system.supply.as_ref(), Mass::to_grams);
            of_part.mixed().to_grams() * price
        });
        let released = |part: &PartUse| part.released.map_or(0.0, Area::to_mm2);
        let mould = work.mould.as_ref().map_or(0.0, |mould| {
            let all = self.parts.iter();
            let all: f64 = all.map(|part| released(part) * f64::from(part.sets)).sum();
            let wax = price_of_one(mould.setup.wax_supply.as_ref(), Mass::to_grams);
            let pva = price_of_one(mould.setup.pva_supply.as_ref(), Volume::to_litres);
            let litres = mould.pva.map_or(0.0, Volume::to_litres);
            let cost = mould.wax.to_grams() * wax + litres * pva;
            share(released(part), all) * cost
        });
        let cores = part
            .cores
            .iter()
            .map(|of| of.area().to_mm2() * price_of_one(of.core().supply.as_ref(), Area::to_mm2));
        Cents {
            cloth: cloth.sum(),
            resin,
            core: cores.sum(),
            bag: self.bag_cost(part),
            mould,
            coat: self.coat_cost(part),
        }
    }

    fn coat_cost(&self, part: &PartUse) -> f64 {
        let Some((coat, of_part)) = self.work.coat.as_ref().zip(part.coat.as_ref()) else {
            return 0.0;
        };
        let resin = self.work.resin.as_ref();
        let supply = match coat.setup.is_own {
            true => coat.setup.supply.as_ref(),
            false => resin.and_then(|resin| resin.system.supply.as_ref()),
        };
        of_part.mixed().to_grams() * price_of_one(supply, Mass::to_grams)
    }

    fn bag_cost(&self, part: &PartUse) -> f64 {
        let Some((bags, bag)) = self.work.bagging.as_ref().zip(part.bag.as_ref()) else {
            return 0.0;
        };
        // Parts that share a bag bear it by their area.
        let shared = bag.shared.map(|idx| &bags.shared[idx]);
        let of_shared = shared.map_or(1.0, |shared| {
            let areas = shared
                .parts
                .iter()
                .filter_map(|idx| self.parts[*idx].bag.as_ref());
            let all = areas.map(|bag| bag.area.to_mm2()).sum::<f64>();
            share(bag.area.to_mm2(), all)
        });
        let layers = bags.rolls.iter().map(|roll| {
            let area = |of: &str| -> f64 {
                let pieces = roll.layout.pieces.iter();
                let own = pieces.filter(|piece| of.is_empty() || piece.part() == of);
                own.map(|piece| piece.cut.area()).sum()
            };
            let common = shared.map_or(0.0, |shared| of_shared * area(&shared.name));
            let price = roll.layer.roll.price.as_ref();
            let cents = price.map_or(0.0, |p| p.of(roll.layout.used_length).to_cents() as f64);
            share(area(part.name()) + common, area("")) * cents / f64::from(part.sets.max(1))
        });
        let tape = price_of_one(Some(&bags.setup.tape), Length::to_mm);
        let stages = part.part().stages().len() as f64;
        let run = stages * (bag.tape + bag.seam).to_mm() * (1.0 + bags.setup.tape_spare);
        layers.sum::<f64>() + of_shared * run * tape
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
