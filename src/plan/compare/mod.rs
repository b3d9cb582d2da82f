//! The same job done in other ways, side by side: what the plies at 45° cost, what a wider roll
//! saves.

mod as_stiff;
mod variants;

pub use as_stiff::{StackFigures, StiffnessWish, stacks_as_stiff};
pub(crate) use variants::roll_width;
pub use variants::{Choices, Variant, variants};

use std::collections::BTreeMap;
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread::Builder;

use super::{ClothUse, PartUse, Plan, Settings, Step, Waste, build};
use crate::diag::{Diagnostic, Diagnostics};
use crate::inputs::Inputs;
use crate::job::MAX_PIECES;
use crate::laminate::InPlane;
use crate::nest::Continue;
use crate::ply;
use crate::units::{Area, Length, Mass, Modulus, Money};

/// One way of doing the job, planned.
#[derive(Clone, Debug)]
pub struct Outcome {
    /// What it is called.
    pub name: String,
    /// What is not as in the job.
    pub change: String,
    /// How many times over everything is made.
    pub times: u32,
    /// The stack of the part whose stiffness is asked for; `None` where none is.
    pub stack: Option<StackFigures>,
    /// How its laminates differ from those of the first way; `None` if they do not.
    pub laminate_change: Option<LaminateChange>,
    /// What came out, or why it cannot be done.
    pub figures: Result<Figures, Diagnostics>,
}

impl Outcome {
    /// Its name and, if that does not tell it, the stack whose stiffness is asked for.
    #[must_use]
    pub fn layup(&self) -> String {
        match &self.stack {
            Some(stack) if stack.code != self.name => format!("{}: {}", self.name, stack.code),
            _ => self.name.clone(),
        }
    }
}

/// How the laminates of a way differ from those of the job.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct LaminateChange {
    /// Whether a part is less stiff in some direction, or may be for all that is known.
    pub may_be_less_stiff: bool,
    /// What is otherwise, part by part.
    pub told: String,
}

impl LaminateChange {
    /// What the plies of `own`, which are laid otherwise if `is_other`, make of the parts `designed`;
    /// `None` if they make the same.
    fn between(designed: &[PartFigures], own: &[PartFigures], is_other: bool) -> Option<Self> {
        let parts = || designed.iter().zip(own);
        let told: Vec<String> = parts()
            .filter_map(|(from, to)| to.change_from(from))
            .collect();
        if told.is_empty() && !is_other {
            return None;
        }
        let is_known = own.iter().all(|part| part.in_plane.is_some());
        Some(Self {
            may_be_less_stiff: !is_known || parts().any(|(from, to)| to.is_less_stiff(from)),
            told: match (told.is_empty(), is_known) {
                (false, true) => told.join("; "),
                (true, true) => "other plies, as stiff".to_owned(),
                (_, false) => "another laminate, of unknown stiffness".to_owned(),
            },
        })
    }
}

/// Thickness or stiffness that differs by less than this share is the same.
const SAME_SHARE: f64 = 0.01;

/// What a plan comes to.
#[derive(Clone, Debug)]
pub struct Figures {
    /// Cloth by cloth, in the order of the job.
    pub cloths: Vec<ClothFigures>,
    /// What the cloth costs by currency; empty if no price is known.
    pub cost: Vec<(String, Money)>,
    /// Whether every cloth has a price.
    pub is_priced: bool,
    /// Area of the rolls over the used lengths.
    pub used: Area,
    /// Area bought.
    pub bought: Area,
    /// Area of the stock on hand that is cut.
    pub stock: Area,
    /// Area of what is left of all rolls and goes on the shelf.
    pub kept: Area,
    /// Σ net area: what ends up in the parts.
    pub net: Area,
    /// Where the rest goes.
    pub waste: Waste,
    /// Dry mass of the cloth in the parts.
    pub cloth_mass: Mass,
    /// What becomes of each part, in the order of the job.
    pub parts: Vec<PartFigures>,
    /// Number of pieces.
    pub n_pieces: usize,
    /// How many of them lie on the bias.
    pub n_on_bias: usize,
}

/// How a part comes out.
#[derive(Clone, Debug)]
pub struct PartFigures {
    /// Name of the part.
    pub name: String,
    /// Mass of one set, cloth and resin; `None` unless it is known of every ply.
    pub mass: Option<Mass>,
    /// Cured thickness of all plies; `None` unless it is known of every ply.
    pub thickness: Option<Length>,
    /// Its stiffness in its plane, along its 0° direction as x; of its plies of full size, if some
    /// are smaller. `None` unless it is known of every ply.
    pub in_plane: Option<InPlane>,
}

/// What a plan takes of one cloth.
#[derive(Clone, Debug)]
pub struct ClothFigures {
    /// Name of the cloth.
    pub name: String,
    /// Width of its roll.
    pub roll_width: Length,
    /// Length the layouts use.
    pub used: Length,
    /// Length to buy.
    pub bought: Length,
    /// What it costs, and in which currency.
    pub cost: Option<(String, Money)>,
}

impl Figures {
    fn of(plan: &Plan) -> Self {
        let zero = Area::default();
        let placed = || plan.layouts.iter().flat_map(|l| &l.pieces);
        let mut cost: BTreeMap<String, Money> = BTreeMap::new();
        let cloths: Vec<ClothFigures> = plan.cloths.iter().map(ClothFigures::of).collect();
        for (currency, money) in cloths.iter().filter_map(|c| c.cost.clone()) {
            let sum = cost.entry(currency).or_default();
            *sum = *sum + money;
        }
        let waste = (plan.cloths.iter()).fold(Waste::default(), |sum, used| sum + used.waste);
        Self {
            is_priced: cloths.iter().all(|c| c.cost.is_some()),
            cost: cost.into_iter().collect(),
            used: (plan.cloths.iter()).fold(zero, |sum, used| {
                sum + used.cloth.roll_width * used.purchase.used
            }),
            bought: (plan.cloths.iter()).fold(zero, |sum, used| sum + used.bought_area()),
            stock: (plan.cloths.iter()).fold(zero, |sum, used| sum + used.stock_area),
            kept: (plan.cloths.iter()).fold(zero, |sum, used| sum + used.kept_area),
            net: (plan.cloths.iter()).fold(zero, |sum, used| sum + used.net_area),
            waste,
            cloth_mass: (plan.cloths.iter()).fold(Mass::default(), |sum, used| {
                sum + used.mass_of(used.net_area)
            }),
            parts: plan.parts.iter().map(PartFigures::of).collect(),
            n_pieces: placed().count(),
            n_on_bias: placed().filter(|p| p.on_bias()).count(),
            cloths,
        }
    }

    /// All cloth that the job takes: what is bought, and the stock that is cut.
    #[must_use]
    pub fn cloth_in(&self) -> Area {
        self.bought + self.stock
    }

    /// The share of it that ends up in no part and not on the shelf, 0 … 1.
    #[must_use]
    pub fn wasted(&self) -> f64 {
        let all = self.cloth_in().to_mm2();
        if all > 0.0 {
            self.waste.total().to_mm2() / all
        } else {
            0.0
        }
    }
}

impl PartFigures {
    /// By which share each of thickness and stiffness is more than in `other`, as far as both are
    /// known and it is not the same.
    fn shares(&self, other: &Self) -> impl Iterator<Item = (&'static str, f64)> {
        let thickness = self.thickness.zip(other.thickness);
        let thickness = thickness.map(|(own, other)| own.to_mm() / other.to_mm() - 1.0);
        let stiffness = self.in_plane.zip(other.in_plane).map(|(own, other)| {
            let more = |of: fn(&InPlane) -> Modulus| of(&own).to_mpa() / of(&other).to_mpa() - 1.0;
            [
                ("Ex", more(|p| p.ex)),
                ("Ey", more(|p| p.ey)),
                ("Gxy", more(|p| p.gxy)),
            ]
        });
        let all = stiffness.into_iter().flatten();
        (all.chain(thickness.map(|share| ("thickness", share))))
            .filter(|(_, share)| share.abs() > SAME_SHARE)
    }

    /// What is otherwise than in `other`: `FIN Ex +4 %, Gxy −61 %`.
    fn change_from(&self, other: &Self) -> Option<String> {
        let shares = self.shares(other).map(|(what, share)| {
            let sign = if share < 0.0 { '−' } else { '+' };
            format!("{what} {sign}{:.0} %", 100.0 * share.abs())
        });
        let told: Vec<String> = shares.collect();
        (!told.is_empty()).then(|| format!("{} {}", self.name, told.join(", ")))
    }

    /// Whether it is less stiff than `other` in some direction.
    fn is_less_stiff(&self, other: &Self) -> bool {
        self.shares(other).any(|(_, share)| share < 0.0)
    }

    fn of(part: &PartUse) -> Self {
        let stack = &part.stack;
        let laminate = stack.full_plies.as_ref().unwrap_or(&stack.laminate);
        Self {
            name: part.name().to_owned(),
            mass: part.mass(),
            thickness: stack.laminate.thickness,
            in_plane: laminate.in_plane,
        }
    }
}

impl ClothFigures {
    fn of(used: &ClothUse) -> Self {
        let currency = |cost| Some((used.cloth.price.as_ref()?.currency.clone(), cost));
        Self {
            name: used.cloth.name.clone(),
            roll_width: used.cloth.roll_width,
            used: used.purchase.used,
            bought: used.purchase.length,
            cost: used.purchase.cost.and_then(currency),
        }
    }
}

/// Plans every variant; they come back in their order.
///
/// `inputs` are those of the job that the variants are of. Variants run side by side on
/// `settings.threads` threads, one thread each; under a named effort that changes no result.
/// `observe` hears of the share of all the work that is done and may stop the searches.
pub fn compare(
    variants: &[Variant],
    inputs: &Inputs,
    settings: &Settings,
    observe: &(dyn Fn(f64) -> Continue + Sync),
) -> Vec<Outcome> {
    let next = AtomicUsize::new(0);
    let shares = Mutex::new(vec![0.0; variants.len()]);
    let found = Mutex::new(vec![None; variants.len()]);
    let alone = Settings {
        threads: 1,
        ..settings.clone()
    };
    let work = || {
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            let Some(variant) = variants.get(index) else {
                return;
            };
            let tell = |done: f64| {
                let Ok(mut shares) = shares.lock() else {
                    return Continue::Stop;
                };
                shares[index] = done;
                observe(shares.iter().sum::<f64>() / shares.len() as f64)
            };
            let figures = figures(variant, inputs, &alone, &tell);
            _ = tell(1.0);
            if let Ok(mut found) = found.lock() {
                found[index] = Some(Outcome {
                    name: variant.name.clone(),
                    change: variant.change.clone(),
                    times: variant.times,
                    stack: variant.stack.clone(),
                    laminate_change: None,
                    figures,
                });
            }
        }
    };
    std::thread::scope(|scope| {
        for _ in 1..settings.threads.min(variants.len()) {
            // Should the system have no more threads, those that are there do the work.
            if Builder::new().spawn_scoped(scope, work).is_err() {
                break;
            }
        }
        work();
    });
    let found = found.into_inner().unwrap_or_default();
    let mut outcomes: Vec<Outcome> = found.into_iter().flatten().collect();
    tell_laminates_apart(&mut outcomes, variants);
    outcomes
}

/// Notes how the laminates of each of `outcomes` differ from those of the first.
fn tell_laminates_apart(outcomes: &mut [Outcome], variants: &[Variant]) {
    let Some((first, others)) = outcomes.split_first_mut() else {
        return;
    };
    let Ok(designed) = &first.figures else {
        return;
    };
    for (way, variant) in others.iter_mut().zip(&variants[1..]) {
        if let Ok(own) = &way.figures {
            way.laminate_change =
                LaminateChange::between(&designed.parts, &own.parts, variant.is_other_laminate);
        }
    }
}

fn figures(
    variant: &Variant,
    inputs: &Inputs,
    settings: &Settings,
    tell: &(dyn Fn(f64) -> Continue + Sync),
) -> Result<Figures, Diagnostics> {
    let (pieces, _) = ply::pieces(&inputs.with_job(variant.job.clone()))?;
    let pieces = pieces.with_sets(|sets| sets.saturating_mul(variant.times));
    let n: u64 = pieces.iter().map(|p| u64::from(p.sets())).sum();
    if n > MAX_PIECES {
        let message = format!("that makes {n} pieces, more than {MAX_PIECES}");
        return Err(Diagnostic::error(message).into());
    }
    let observe = |step: Step<'_>| tell(step.job_done);
    build(&pieces, settings, &observe).map(|plan| Figures::of(&plan))
}
