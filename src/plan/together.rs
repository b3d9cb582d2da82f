//! Several jobs on one layout for each cloth, and what that saves.
//!
//! The jobs are laid out one by one first, each on what those before it leave of the stock, then all at
//! once. Of each cloth the better is taken, so that together never takes more than one after the other.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::build::cut;
use super::layout::kinds::Kind;
use super::layout::offers::{self, Chosen, ChosenCloth, Found};
use super::layout::piece::PieceSource;
use super::layout::rolls::Roll;
use super::money::{CostBreakdown, Costs};
use super::{ClothUse, ForPattern, Layout, Observer, PlacedPiece, Plan, Settings, Step, Waste};
use crate::cloth::{Cloth, Purchase};
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::Vector;
use crate::nest::Effort;
use crate::ply::{Piece, Pieces};
use crate::units::{Area, Length, Money};

/// The pieces of one of several jobs, by the names that they have together.
#[derive(Clone, Debug)]
pub struct JobPieces {
    /// The name of the job among the others.
    pub name: String,
    /// Its own pieces; nothing of its cloths need be on hand.
    pub pieces: Pieces,
}

/// One of several jobs that are planned together.
#[derive(Clone, Debug)]
pub struct JobShare {
    name: String,
    plan: Plan,
}

impl JobShare {
    /// Its name among the others; names its folder.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// Its own pieces on the common rolls, its share of cloth and waste by cut area, and resin, bags and
    /// mould, which are its own.
    #[must_use]
    pub const fn plan(&self) -> &Plan {
        &self.plan
    }
}

/// What is bought of a cloth for several jobs.
#[derive(Clone, Debug, PartialEq)]
pub struct Saving {
    /// Name of the cloth.
    pub cloth: String,
    /// Currency of the costs; empty without a price.
    pub currency: String,
    /// If each job were laid out by itself, on what those before it leave of the stock.
    pub one_by_one: Purchase,
    /// As planned.
    pub together: Purchase,
}

/// Share of the seconds of a search by the clock that goes into laying the jobs out one by one.
const ALONE_SHARE: f64 = 0.4;

/// Returns the plan of several jobs: `all` their pieces as one job, `each` those of every job.
///
/// # Errors
/// As [`build()`](super::build()).
pub fn build_together(
    all: &Pieces,
    each: &[JobPieces],
    settings: &Settings,
    observe: &Observer<'_>,
) -> Result<Plan, Diagnostics> {
    let n = each.len() as f64;
    let alone_settings = shared(settings, ALONE_SHARE / n);
    let mut used: BTreeMap<String, Vec<String>> = BTreeMap::new();
    let mut alone = Vec::new();
    for (idx, job) in each.iter().enumerate() {
        let pieces = job.pieces.with_stock(|cloth| {
            let known = all.job().cloths().iter();
            let all_of_it = known.filter(|other| other.name == cloth.name);
            let gone = used.get(&cloth.name);
            let is_left = |name: &String| gone.is_none_or(|gone| !gone.contains(name));
            let stock = all_of_it.flat_map(|cloth| &cloth.supply.stock);
            stock.filter(|s| is_left(&s.name)).cloned().collect()
        });
        let observe = part_of(observe, 0.5 * idx as f64 / n, 0.5 / n);
        let chosen = offers::choose(&pieces, &alone_settings, &observe)?;
        for Found { cloth, rolls, .. } in chosen.cloths.iter().map(|chosen| &*chosen.found) {
            let names = rolls.iter().filter_map(|roll| roll.stock);
            let names = names.map(|idx| cloth.supply.stock[idx].name.clone());
            used.entry(cloth.name.clone()).or_default().extend(names);
        }
        alone.push(chosen);
    }
    let observe = part_of(observe, 0.5, 0.5);
    let mut chosen = offers::choose(all, &shared(settings, 1.0 - ALONE_SHARE), &observe)?;
    let mut savings = Vec::new();
    for cloth in &mut chosen.cloths {
        let alone = OneByOne::of(cloth, &alone);
        if let Some(found) = alone.on_one_roll(&chosen.pieces, cloth)
            && offers::is_cheaper(&found, &cloth.found)
        {
            cloth.found = Arc::new(found);
        }
        savings.push(Saving {
            cloth: cloth.found.cloth.name.clone(),
            currency: (cloth.found.cloth.price.as_ref())
                .map(|price| price.currency.clone())
                .unwrap_or_default(),
            one_by_one: alone.purchase(),
            together: cloth.found.purchase.clone(),
        });
    }
    let mut plan = cut(chosen, settings)?;
    for job in each {
        let plan_of_job = share(&plan, job, settings.effort)?;
        plan.jobs.push(JobShare {
            name: job.name.clone(),
            plan: plan_of_job,
        });
    }
    plan.savings = savings;
    plan.join_jobs();
    Ok(plan)
}

/// `settings` where the search is to take this share of the seconds, if they are counted.
fn shared(settings: &Settings, share: f64) -> Settings {
    Settings {
        effort: match settings.effort {
            Effort::Seconds(_) | Effort::Clocked(..) => offers::shared(settings.effort, share),
            named => named,
        },
        ..settings.clone()
    }
}

/// `observe` for a search that is a share of the whole work, of which `before` is done.
fn part_of<'a>(
    observe: &'a Observer<'_>,
    before: f64,
    share: f64,
) -> impl Fn(Step<'_>) -> crate::nest::Continue + Sync + 'a {
    move |step: Step<'_>| {
        observe(Step {
            job_done: before + share * step.job_done,
            ..step
        })
    }
}

/// A cloth as the jobs that take it lay it out one after another.
struct OneByOne<'a>(Vec<(&'a Pieces, &'a ChosenCloth)>);

impl<'a> OneByOne<'a> {
    fn of(cloth: &ChosenCloth, jobs: &'a [Chosen]) -> Self {
        let name = &cloth.found.cloth.name;
        let of_job = jobs.iter().filter_map(|job| {
            let found = job.cloths.iter().find(|c| c.found.cloth.name == *name);
            Some((&job.pieces, found?))
        });
        Self(of_job.collect())
    }

    /// What is bought; lengths that are cut one after another from a roll keep the gap.
    fn purchase(&self) -> Purchase {
        let none = Purchase {
            used: Length::ZERO,
            needed: Length::ZERO,
            length: Length::ZERO,
            cost: Some(Money::ZERO),
        };
        let purchases = self.0.iter().map(|(_, chosen)| &chosen.found.purchase);
        let n_bought = purchases.clone().filter(|p| p.used > Length::ZERO).count();
        let mut sum = purchases.fold(none, |sum, one| Purchase {
            used: sum.used + one.used,
            needed: sum.needed + one.needed,
            length: sum.length + one.length,
            cost: sum.cost.zip(one.cost).map(|(a, b)| a + b),
        });
        if let Some((_, first)) = self.0.first() {
            let more = (n_bought.saturating_sub(1)) as f64 * apart(&first.found.cloth).max(0.0);
            sum.used = sum.used + Length::mm(more);
        }
        sum
    }

    /// The layouts of the jobs with one roll that is bought, if all buy it in the way of `chosen`, and no
    /// flaw on it keeps pieces from being moved along.
    fn on_one_roll(&self, pieces: &Pieces, chosen: &ChosenCloth) -> Option<Found> {
        let cloth = &chosen.found.cloth;
        let is_like = |(_, other): &(&Pieces, &ChosenCloth)| {
            (other.offer, other.found.cloth.roll_width) == (chosen.offer, cloth.roll_width)
        };
        if !(self.0.iter().all(is_like) && cloth.supply.flaws.is_empty()) {
            return None;
        }
        let own = |pieces: &'a Pieces| -> Vec<&'a Arc<Piece>> {
            let own = pieces.iter();
            own.filter(|piece| piece.cloth().name == cloth.name)
                .collect()
        };
        let joint: Vec<&Arc<Piece>> = (pieces.iter())
            .filter(|piece| piece.cloth().name == cloth.name)
            .collect();
        let kinds = Kind::collect(&joint, &[]);
        let mut shape_of = BTreeMap::new();
        for (shape, kind) in kinds.iter().enumerate() {
            let names = kind.members.iter().map(|(piece, _)| piece.name());
            shape_of.extend(names.map(|name| (name, shape)));
        }
        let mut rolls: Vec<Roll> = Vec::new();
        let mut bought: Option<Roll> = None;
        for (pieces, alone) in &self.0 {
            let own_kinds = Kind::collect(&own(pieces), &[]);
            for roll in &alone.found.rolls {
                let mut roll = roll.clone();
                for (shape, _) in &mut roll.placed {
                    *shape = *shape_of.get(&own_kinds[*shape].like.name())?;
                }
                match roll.stock {
                    Some(idx) => {
                        let name = &alone.found.cloth.supply.stock[idx].name;
                        let stock = cloth.supply.stock.iter();
                        roll.stock = Some(stock.clone().position(|s| s.name == *name)?);
                        rolls.push(roll);
                    }
                    None => bought = Some(after(bought, roll, cloth)),
                }
            }
        }
        rolls.sort_by_key(|roll| roll.stock);
        let used = bought.as_ref().map_or(0.0, |roll| roll.used);
        rolls.extend(bought);
        let alone = || self.0.iter().map(|(_, alone)| &alone.found.for_pattern);
        Some(Found {
            cloth: Arc::clone(cloth),
            rolls,
            purchase: Purchase::of(cloth, Length::mm(used)),
            for_pattern: ForPattern {
                kept_free: alone().map(|of| of.kept_free).sum(),
                left_alone: alone().flat_map(|of| of.left_alone.clone()).collect(),
            },
        })
    }
}

/// How much farther apart than with their end margins side by side two layouts on one roll must lie, mm.
fn apart(cloth: &Cloth) -> f64 {
    (cloth.gap - cloth.end_margin * 2.0).to_mm()
}

/// The bought roll with what is on it `before`, and after that what is on `next`.
fn after(before: Option<Roll>, next: Roll, cloth: &Cloth) -> Roll {
    let Some(mut roll) = before else {
        return next;
    };
    // Frames on a table may not lie over each other.
    let closer = match cloth.supply.table {
        Some(_) => apart(cloth).max(0.0),
        None => apart(cloth),
    };
    let by = roll.used + closer;
    roll.used = by + next.used;
    roll.frames
        .extend(next.frames.iter().map(|frame| frame.map(|x| x + by)));
    let moved = next.placed.into_iter().map(|(shape, placement)| {
        let shift = placement.shift + Vector::new(by, 0.0);
        (shape, crate::geometry::Placement { shift, ..placement })
    });
    roll.placed.extend(moved);
    roll
}

/// The share of `job` in the common plan.
fn share(all: &Plan, job: &JobPieces, effort: Effort) -> Result<Plan, Diagnostics> {
    let ways: BTreeMap<&str, usize> = (all.pieces.job().cloths().iter())
        .map(|cloth| &cloth.name[..])
        .zip(all.pieces.ways().iter().copied())
        .collect();
    let cloths = job.pieces.job().cloths().iter();
    let ways = cloths.map(|cloth| ways.get(&cloth.name[..]).copied().unwrap_or(0));
    let pieces = job.pieces.bought(ways.collect())?;
    let by_name: BTreeMap<String, &Arc<Piece>> =
        pieces.iter().map(|piece| (piece.name(), piece)).collect();
    let layouts = all.layouts.iter();
    let layouts = layouts.map(|layout| of_job(layout, &by_name));
    let layouts: Vec<Layout> = layouts.filter(|layout| !layout.pieces.is_empty()).collect();
    let cloths = all.cloths.iter();
    let cloths = cloths.filter_map(|used| share_of_cloth(used, &layouts));
    let mut plan = Plan {
        cloths: cloths.collect(),
        layouts,
        pieces,
        stock_left: Vec::new(),
        is_share: true,
        remarks: Diagnostics::new(),
        ..all.clone()
    };
    plan.jobs.clear();
    plan.work_out(effort)?;
    Ok(plan)
}

/// `layout` with the pieces of a job alone; their numbers are those of the whole layout.
fn of_job(layout: &Layout, by_name: &BTreeMap<String, &Arc<Piece>>) -> Layout {
    let mut own = Layout {
        pieces: Vec::new(),
        ..layout.clone()
    };
    let mut place_of = vec![None; layout.pieces.len()];
    for (idx, placed) in layout.pieces.iter().enumerate() {
        let piece = placed.piece().and_then(|piece| by_name.get(&piece.name()));
        if let Some(piece) = piece {
            place_of[idx] = Some(own.pieces.len());
            own.pieces.push(PlacedPiece {
                source: PieceSource::Ply(Arc::clone(piece)),
                ..placed.clone()
            });
        }
    }
    for frame in &mut own.order.frames {
        frame.labels = (frame.labels.iter())
            .filter_map(|&idx| place_of[idx])
            .collect();
        frame.cuts.retain(|cut| place_of[cut.piece].is_some());
        for cut in &mut frame.cuts {
            cut.piece = place_of[cut.piece].unwrap_or_default();
        }
    }
    own
}

/// What a job with these `layouts` bears of a cloth, by cut area; `None` if it takes none.
fn share_of_cloth(all: &ClothUse, layouts: &[Layout]) -> Option<ClothUse> {
    let own = layouts.iter().filter(|l| l.cloth.name == all.cloth.name);
    let own: Vec<&PlacedPiece> = own.flat_map(|layout| &layout.pieces).collect();
    let area = |of: fn(&PlacedPiece) -> f64| own.iter().map(|piece| of(piece)).sum::<f64>();
    let (cut, net) = (area(|p| p.cut.area()), area(|p| p.net.area()));
    let of_all = cut / all.cut_area.to_mm2();
    let part = |area: Area| Area::mm2(area.to_mm2() * of_all);
    (!own.is_empty()).then(|| ClothUse {
        n_pieces: own.len(),
        purchase: Purchase {
            used: all.purchase.used * of_all,
            needed: all.purchase.needed * of_all,
            length: all.purchase.length * of_all,
            cost: all.purchase.cost.map(|cost| cost.share(of_all)),
        },
        cut_area: Area::mm2(cut),
        net_area: Area::mm2(net),
        stock_area: part(all.stock_area),
        kept_area: part(all.kept_area),
        for_pattern: ForPattern {
            kept_free: part(all.for_pattern.kept_free),
            ..all.for_pattern.clone()
        },
        waste: Waste {
            selvedge: part(all.waste.selvedge),
            between: part(all.waste.between),
            trim: Area::mm2(cut - net),
            end: part(all.waste.end),
        },
        alternatives: Vec::new(),
        ..all.clone()
    })
}

impl Plan {
    /// Takes on the parts, the remarks and the costs of its jobs.
    fn join_jobs(&mut self) {
        for JobShare { plan, .. } in &self.jobs {
            self.parts.extend(plan.parts.iter().cloned());
            self.remarks.append(plan.remarks.clone());
        }
        self.costs = joined_costs(&self.jobs);
        let lost = |saving: &&Saving| {
            let money = |p: &Purchase| p.cost.map_or(0, Money::to_cents);
            money(&saving.together) > money(&saving.one_by_one) + self.jobs.len() as i64
        };
        // Only where the jobs would each take another roll on offer.
        for saving in self.savings.iter().filter(lost) {
            let message = format!(
                "`{}` costs less if the jobs are planned one by one: each then takes the roll on offer that \
                 suits it best",
                saving.cloth
            );
            self.remarks.push(Diagnostic::warning(message));
        }
    }
}

/// The sum of what the jobs cost, if that is known of all and in one currency.
fn joined_costs(jobs: &[JobShare]) -> Option<Costs> {
    let costs = jobs.iter().map(|job| job.plan.costs.clone());
    let costs: Vec<Costs> = costs.collect::<Option<_>>()?;
    costs.into_iter().map(Some).reduce(|sum, one| {
        let (mut sum, one) = (sum?, one?);
        if sum.currency != one.currency {
            return None;
        }
        sum.order = CostBreakdown {
            cloth: sum.order.cloth + one.order.cloth,
            resin: sum.order.resin + one.order.resin,
            core: sum.order.core + one.order.core,
            bag: sum.order.bag + one.order.bag,
            mould: sum.order.mould + one.order.mould,
            coat: sum.order.coat + one.order.coat,
        };
        sum.cloth_waste = sum.cloth_waste + one.cloth_waste;
        sum.resin_waste = sum.resin_waste + one.resin_waste;
        let more = one.unpriced.into_iter();
        let more: Vec<String> = more.filter(|name| !sum.unpriced.contains(name)).collect();
        sum.unpriced.extend(more);
        Some(sum)
    })?
}
