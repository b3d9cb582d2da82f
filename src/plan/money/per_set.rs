//! What one set costs, by how many are made at once.

use crate::diag::Diagnostics;
use crate::job::MAX_PIECES;
use crate::nest::{Continue, Effort};
use crate::plan::{SetCost, Settings, build};
use crate::ply::Pieces;
use crate::units::{Area, Money};

/// Numbers of sets that are looked at, up to the one that is asked for.
const STEPS: [u32; 14] = [1, 2, 3, 4, 6, 8, 12, 16, 24, 32, 48, 64, 96, 128];

/// The cost of one set of the job if 1, 2, 3 … `most` sets are made from bought cloth alone.
///
/// A set is the least that keeps the proportions of the job: with 4 left and 2 right parts it is
/// 2 left ones and 1 right one. Every number of sets is a plan of its own in a short search. Numbers
/// with too many pieces are left out. `observe` is told the share of the work that is done, 0 … 1, and
/// answers whether to go on.
///
/// # Errors
/// As [`build()`].
pub fn cost_per_set(
    pieces: &Pieces,
    settings: &Settings,
    most: u32,
    observe: &(dyn Fn(f64) -> Continue + Sync),
) -> Result<Vec<SetCost>, Diagnostics> {
    let Some(sets_now) = pieces.iter().map(|p| p.sets()).reduce(greatest_divisor) else {
        return Ok(Vec::new());
    };
    let pieces = pieces.without_stock();
    let settings = Settings {
        effort: Effort::Quick,
        ..settings.clone()
    };
    let mut numbers: Vec<u32> = STEPS.into_iter().filter(|&n| n < most).collect();
    numbers.push(most);
    // A plan takes about as long as it has pieces.
    let whole: u32 = numbers.iter().sum();
    let mut before = 0;
    let mut curve = Vec::new();
    for sets in numbers {
        let share = |done: f64| (f64::from(before) + done * f64::from(sets)) / f64::from(whole);
        let scaled = pieces.with_sets(|own| own / sets_now * sets);
        let n_pieces: u64 = scaled.iter().map(|p| u64::from(p.sets())).sum();
        if n_pieces > MAX_PIECES || observe(share(0.0)) == Continue::Stop {
            break;
        }
        let plan = build(&scaled, &settings, &|step| observe(share(step.job_done)))?;
        before += sets;
        let cost = |sum: Option<Money>, cost: Option<Money>| Some(sum? + cost?);
        let costs = plan.cloths.iter().map(|used| used.purchase.cost);
        curve.push(SetCost {
            sets,
            is_this_job: sets == sets_now,
            bought: (plan.cloths.iter())
                .map(|used| (used.cloth.name.clone(), used.purchase.length))
                .collect(),
            area: plan
                .cloths
                .iter()
                .map(crate::plan::ClothUse::bought_area)
                .sum::<Area>(),
            cost: one_currency(&plan)
                .then(|| costs.fold(Some(Money::ZERO), cost))
                .flatten(),
        });
    }
    Ok(curve)
}

/// Whether all costs of `plan` can be added up.
fn one_currency(plan: &crate::plan::Plan) -> bool {
    let mut currencies =
        (plan.cloths.iter()).map(|used| used.cloth.price.as_ref().map(|price| &price.currency));
    let first = currencies.next();
    currencies.all(|currency| Some(currency) == first)
}

fn greatest_divisor(a: u32, b: u32) -> u32 {
    if b == 0 {
        a.max(1)
    } else {
        greatest_divisor(b, a % b)
    }
}

impl SetCost {
    /// Cost of one of the sets, if all prices are known.
    #[must_use]
    pub fn cost_of_one(&self) -> Option<Money> {
        self.cost.map(|cost| cost.share(1.0 / f64::from(self.sets)))
    }
}
