//! What a set of each part must be sold for: material, hours of its steps, overheads and margin.

use crate::diag::Diagnostic;
use crate::job::Labour;
use crate::plan::{CoreUse, PartUse, Plan, PlyUse};
use crate::units::{Duration, Money};

/// A step of the work on a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
#[non_exhaustive]
pub enum WorkStep {
    /// The mould is made ready.
    Mould,
    /// The pieces are cut.
    Cutting,
    /// Gel coat or wet coat goes on.
    Coat,
    /// Resin is mixed, plies are laid and wetted out.
    LayingUp,
    /// The bags are closed and checked.
    Bagging,
    /// The part is demoulded, trimmed and checked.
    Finishing,
    /// What else the job says.
    Other,
}

/// What one set of a part must be sold for.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct PartPrice {
    /// The steps that take time, each in hours of one person.
    pub hours: Vec<(WorkStep, Duration)>,
    /// Material; nothing where none is priced.
    pub material: Money,
    /// All hours at the hourly rate.
    pub labour: Money,
    /// Overheads on both.
    pub overheads: Money,
    /// What is earned.
    pub margin: Money,
}

impl PartPrice {
    /// The price: all of it.
    #[must_use]
    pub fn total(&self) -> Money {
        self.material + self.labour + self.overheads + self.margin
    }

    /// All hours of one person.
    #[must_use]
    pub fn all_hours(&self) -> Duration {
        let all = self.hours.iter().map(|&(_, time)| time);
        all.fold(Duration::ZERO, |sum, time| sum + time)
    }

    /// One set of `part` by what `labour` says; sums in hundredths add up.
    fn of(part: &PartUse, plan: &Plan, labour: &Labour) -> Self {
        let hours = hours(part, plan, labour);
        let material = part.cost.map_or(Money::ZERO, |cost| cost.total());
        let all: f64 = hours.iter().map(|(_, time)| time.to_minutes() / 60.0).sum();
        let labour_cost = labour.hourly_rate.amount.share(all);
        let overheads = (material + labour_cost).share(labour.overheads);
        let cost = material + labour_cost + overheads;
        Self {
            hours,
            material,
            labour: labour_cost,
            overheads,
            margin: cost.share(labour.margin / (1.0 - labour.margin)),
        }
    }
}

/// The steps of one set that take time.
fn hours(part: &PartUse, plan: &Plan, labour: &Labour) -> Vec<(WorkStep, Duration)> {
    let job = plan.job();
    let n_pieces: usize = part.plies.iter().map(PlyUse::n_pieces).sum();
    let coat = plan.work().coat.as_ref().zip(part.coat.as_ref());
    let coat = coat.map_or(Duration::ZERO, |(coat, of_part)| {
        let n_batches = of_part.batches.len() as f64;
        coat.setup.speed.time_for(of_part.area) + coat.setup.mixing_time * n_batches
    });
    // Parts that share a bag share its time.
    let shared = part.bag.as_ref().and_then(|bag| bag.shared);
    let shared = plan.work().bagging.as_ref().zip(shared);
    let n_in_bag = shared.map_or(1, |(bags, idx)| bags.shared[idx].parts.len());
    let bags = job.bagging().map_or(Duration::ZERO, |bag| {
        (bag.bagging_time + bag.leak_check) * (part.part().stages().len() as f64 / n_in_bag as f64)
    });
    let steps = [
        (WorkStep::Mould, labour.mould),
        (WorkStep::Cutting, labour.cutting * n_pieces as f64),
        (WorkStep::Coat, coat),
        (WorkStep::LayingUp, laying_up(part, plan, labour)),
        (WorkStep::Bagging, bags),
        (WorkStep::Finishing, labour.finishing),
        (WorkStep::Other, labour.other),
    ];
    let take_time = steps.into_iter().filter(|(_, time)| *time > Duration::ZERO);
    take_time.collect()
}

/// Mixing, laying and wetting out of one set, cores among the plies: a batch is of one set.
fn laying_up(part: &PartUse, plan: &Plan, labour: &Labour) -> Duration {
    let Some(resin) = &plan.work().resin else {
        let plies = part.plies.iter().map(PlyUse::cut_area);
        let areas = plies.chain(part.cores.iter().map(CoreUse::area));
        return areas.fold(Duration::ZERO, |sum, area| {
            sum + labour.laying_speed.time_for(area)
        });
    };
    let timelines = part
        .stages
        .iter()
        .filter_map(|stage| stage.timeline.as_ref());
    let batches = timelines.flat_map(|timeline| &timeline.batches);
    batches.fold(Duration::ZERO, |sum, batch| {
        let by_the_clock = batch.laid.to_minutes() - batch.mixed.to_minutes();
        let laying = Duration::minutes(by_the_clock) * f64::from(resin.system.people);
        sum + resin.system.mixing_time + laying
    })
}

impl Plan {
    /// Works out what the parts must be sold for, if the job says what an hour costs; complains where material
    /// has another currency.
    pub(in crate::plan) fn work_out_prices(&mut self) {
        let job = std::sync::Arc::clone(self.pieces.job());
        let Some(labour) = job.labour() else {
            return;
        };
        let currency = &labour.hourly_rate.currency;
        let priced = self.shopping();
        let mut others = priced
            .iter()
            .filter(|item| item.cost.is_some() && item.currency != *currency);
        if let Some(other) = others.next() {
            let message = format!(
                "`{}` is priced in {}, an hour of work in {}: no price of a part is worked out",
                other.name,
                named(&other.currency),
                named(currency)
            );
            self.remarks
                .push(Diagnostic::warning(message).help("give all prices in one currency"));
            return;
        }
        for idx in 0..self.parts.len() {
            let price = PartPrice::of(&self.parts[idx], self, labour);
            self.parts[idx].price = Some(price);
        }
    }

    /// What all sets of all parts must be sold for; `None` where a part has no price.
    #[must_use]
    pub fn price_of_order(&self) -> Option<Money> {
        let of_part = |part: &PartUse| {
            let cents = part.price.as_ref()?.total().to_cents();
            Some(cents.saturating_mul(i64::from(part.sets)))
        };
        let all: Vec<i64> = self.parts.iter().map(of_part).collect::<Option<_>>()?;
        Some(Money::cents(all.iter().sum()))
    }
}

fn named(currency: &str) -> &str {
    if currency.is_empty() {
        "no currency"
    } else {
        currency
    }
}
