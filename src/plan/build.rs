//! Pieces → layouts → plan.

use std::sync::Arc;

use super::cutting::order::{self, CutOrder};
use super::layout::kinds::Kind;
use super::layout::left::Whole;
use super::layout::offers;
use super::layout::rolls::{self, Roll, Told};
use super::process::laminate::AnglesAsCut;
use super::{ClothUse, Layout, PlacedPiece, Plan, StockLeft, Waste, Work, parts};
use crate::cloth::{Cloth, Purchase, Stock};
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{Outline, Ring};
use crate::job::Job;
use crate::nest::{self, Continue, Effort, NestError};
use crate::ply::{Piece, Pieces, fit};
use crate::units::{Area, Length};

/// How hard to search, and how to call it.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Work to spend on the whole job.
    pub effort: Effort,
    /// The effort as the user named it, for the report.
    pub effort_name: String,
    /// Seed of the search.
    pub seed: u64,
    /// Threads; the result of a named effort does not depend on it.
    pub threads: usize,
}

impl Default for Settings {
    /// The effort `normal` from seed 1, on one thread.
    fn default() -> Self {
        Self {
            effort: Effort::Normal,
            effort_name: "normal".to_owned(),
            seed: 1,
            threads: 1,
        }
    }
}

/// How far the plan has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step<'a> {
    /// The cloth that is being laid out.
    pub cloth: &'a str,
    /// Its place among the cloths with pieces, from 0.
    pub index: usize,
    /// How many cloths have pieces.
    pub of: usize,
    /// Used length of the best layout so far, end margins included; `None` while a piece of stock or
    /// a frame is being filled.
    pub length: Option<Length>,
    /// Σ cut area / (roll width × that length), 0 … 1; 0 without a length.
    pub utilisation: f64,
    /// Share of the work on this cloth that is done, 0 … 1.
    pub done: f64,
    /// Share of the work on all cloths that is done, 0 … 1.
    pub job_done: f64,
}

/// Told of every [`Step`]; answers whether to go on searching.
pub type Observer<'a> = dyn Fn(Step<'_>) -> Continue + Sync + 'a;

/// Returns the plan of a job for its `pieces`.
///
/// # Errors
/// A piece that cannot be placed on its cloth. [`crate::ply::pieces`] refuses those that are too
/// wide, so this is the exception.
pub fn build(
    pieces: &Pieces,
    settings: &Settings,
    observe: &Observer<'_>,
) -> Result<Plan, Diagnostics> {
    let job = pieces.job();
    check(pieces)?;
    let by_cloth = by_cloth(pieces);
    let shares = shares(settings.effort, by_cloth.iter().map(|(_, pieces)| pieces));

    let mut layouts = Vec::new();
    let mut cloths = Vec::new();
    let mut stock_left = Vec::new();
    let mut before = 0.0;
    for (index, ((cloth, pieces), share)) in by_cloth.iter().zip(shares).enumerate() {
        let settings = nest::SearchSettings {
            effort: match settings.effort {
                Effort::Seconds(all) => Effort::Seconds(all * share),
                Effort::Clocked(all, clock) => Effort::Clocked(all * share, clock),
                named => named,
            },
            seed: settings.seed,
            threads: settings.threads,
        };
        let kinds = Kind::collect(pieces);
        let cut_area: f64 = kinds.iter().map(Kind::cut_area).sum();
        let told = |length: f64, done: f64| {
            let is_known = length.is_finite();
            let length = is_known.then(|| Length::mm(length) + cloth.end_margin);
            let utilisation = length.map_or(0.0, |length| {
                cut_area / (cloth.roll_width * length).to_mm2()
            });
            observe(Step {
                cloth: &cloth.name,
                index,
                of: by_cloth.len(),
                length,
                // Several rolls hold more than one of them could.
                utilisation: utilisation.min(1.0),
                done,
                job_done: before + share * done,
            })
        };
        let usable = cloth.widest().usable_width().to_mm();
        if cut_area > usable * Ring::FARTHEST_MM {
            return Err(rolls::too_long(&cloth.name).into());
        }
        let done = lay_out_cloth(job, cloth, &kinds, &settings, &told)?;
        cloths.push(done.used);
        layouts.extend(done.layouts);
        stock_left.extend(done.left);
        before += share;
    }
    stock_left.extend(stock_of_others(job, &by_cloth));
    let mut remarks = Diagnostics::new();
    cloths
        .iter()
        .flat_map(|used| [longer_is_cheaper(used), just_over(used)])
        .flatten()
        .for_each(|note| remarks.push(note));
    let as_cut = AnglesAsCut::of(job, &layouts);
    let mut parts = parts::parts(pieces, &as_cut);
    let (work, of_work) = Work::of(job, pieces, &mut parts)?;
    remarks.append(of_work);
    let mut plan = Plan {
        work,
        pieces: pieces.clone(),
        seed: settings.seed,
        effort: settings.effort_name.clone(),
        cloths,
        layouts,
        parts,
        stock_left,
        cost_per_set: Vec::new(),
        costs: None,
        remarks,
    };
    plan.work_out_costs();
    Ok(plan)
}

/// Refuses pieces that are too long for the cutting table, whatever else lies on it.
///
/// # Errors
/// One for each cloth with such a piece.
pub fn check(pieces: &Pieces) -> Result<(), Diagnostics> {
    let mut problems = Diagnostics::new();
    for (cloth, pieces) in by_cloth(pieces) {
        let Some(table) = cloth.supply.table else {
            continue;
        };
        let kinds = Kind::collect(&pieces);
        let Some((shape, by)) = rolls::too_long_for_table(cloth, &Kind::shapes(&kinds)) else {
            continue;
        };
        if by.is_infinite() {
            let error = NestError::DoesNotFit { shape };
            problems.push(does_not_nest(cloth, &kinds, &error));
            continue;
        }
        let piece = kinds[shape].like;
        let refused = Diagnostic::error(format!(
            "piece {} is {} too long for the cutting table of `{}` in every permitted turn",
            piece.id(1),
            fit::excess(by),
            cloth.name
        ));
        problems.push((refused.at(piece.ply().place.clone())).help(table_help(cloth, table)));
    }
    if problems.is_empty() {
        Ok(())
    } else {
        Err(problems)
    }
}

fn table_help(cloth: &Cloth, table: Length) -> String {
    let margins = if cloth.end_margin == Length::ZERO {
        String::new()
    } else {
        let margin = cloth.end_margin.in_mm_and_inches();
        format!(", less the `end_margin` of {margin}")
    };
    format!(
        "no piece may lie across the end of the cutting table, {} long{margins}; make \
         `table_length` longer, or leave it out",
        table.in_metres_and_yards()
    )
}

/// The cloths that pieces are cut from, with those pieces.
fn by_cloth(pieces: &Pieces) -> Vec<(&Cloth, Vec<&Arc<Piece>>)> {
    let cloths = pieces.job().cloths().iter().enumerate();
    let cut_from = |idx| pieces.iter().filter(|p| p.cloth_idx() == idx).collect();
    cloths
        .map(|(idx, cloth)| (cloth, cut_from(idx)))
        .filter(|(_, pieces): &(_, Vec<_>)| !pieces.is_empty())
        .collect()
}

/// The share of each cloth in the work on the whole job, for the pieces of each.
fn shares<'a>(effort: Effort, by_cloth: impl Iterator<Item = &'a Vec<&'a Arc<Piece>>>) -> Vec<f64> {
    let weights: Vec<f64> = by_cloth
        .map(|pieces| {
            let n: u32 = pieces.iter().map(|p| p.sets()).sum();
            match effort {
                Effort::Seconds(_) | Effort::Clocked(..) => f64::from(n),
                // As the search itself grows with the pieces under a named effort.
                _ => f64::from(n).sqrt(),
            }
        })
        .collect();
    let all: f64 = weights.iter().sum();
    weights.iter().map(|w| w / all).collect()
}

fn does_not_nest(cloth: &Cloth, kinds: &[Kind<'_>], error: &NestError) -> Diagnostic {
    let (NestError::DoesNotFit { shape } | NestError::NoTurn { shape }) = error;
    let piece = kinds[*shape].like;
    let id = piece.id(1);
    let refused = Diagnostic::error(format!(
        "piece {id} has no place on `{}` in any permitted turn",
        cloth.name
    ));
    let refused = match cloth.supply.table {
        Some(table) => refused.help(table_help(cloth, table)),
        None => refused,
    };
    refused.at(piece.ply().place.clone())
}

/// A cloth, laid out.
struct LaidOut {
    used: ClothUse,
    layouts: Vec<Layout>,
    left: Vec<StockLeft>,
}

fn lay_out_cloth(
    job: &Job,
    cloth: &Cloth,
    kinds: &[Kind<'_>],
    settings: &nest::SearchSettings,
    told: &Told<'_>,
) -> Result<LaidOut, Diagnostic> {
    let shapes = Kind::shapes(kinds);
    let refused = |error| does_not_nest(cloth, kinds, &error);
    let choice = offers::choose(cloth, &shapes, settings, told).map_err(refused)?;
    let cloth = &choice.cloth;
    let settings = nest::SearchSettings {
        effort: choice.effort,
        ..*settings
    };
    let rolls = rolls::lay_out(cloth, &shapes, &settings, told).map_err(refused)?;
    let bought = rolls.iter().find(|roll| roll.stock.is_none());
    let purchase = Purchase::of(cloth, Length::mm(bought.map_or(0.0, |roll| roll.used)));

    let mut used = ClothUse {
        cloth: Arc::clone(cloth),
        n_pieces: 0,
        purchase,
        cut_area: Area::ZERO,
        net_area: Area::ZERO,
        utilisation: 0.0,
        stock_area: Area::ZERO,
        kept_area: Area::ZERO,
        waste: Waste::default(),
        alternatives: choice.alternatives,
    };
    let mut left: Vec<StockLeft> = untouched(cloth, &rolls).collect();
    let mut layouts: Vec<Layout> = Vec::new();
    let mut roll_area = 0.0;
    let mut next = vec![0; kinds.len()];
    for roll in &rolls {
        let whole = Whole::of(cloth, roll, used.purchase.length.to_mm())
            .ok_or_else(|| rolls::too_long(&cloth.name))?;
        let name = match &rolls[..] {
            [only] if only.stock.is_none() => cloth.name.clone(),
            _ => format!("{}-{}", cloth.name, layouts.len() + 1),
        };
        let pieces = place_all(kinds, roll, &mut next);
        let area = |of: fn(&PlacedPiece) -> f64| pieces.iter().map(of).sum::<f64>();
        let (cut, net) = (area(|p| p.cut.area()), area(|p| p.net.area()));
        let cuts: Vec<&Outline> = pieces.iter().map(|piece| &piece.cut).collect();
        let mut kept = whole.left(&cuts);
        used.n_pieces += pieces.len();
        used.cut_area = used.cut_area + Area::mm2(cut);
        used.net_area = used.net_area + Area::mm2(net);
        used.waste = used.waste + whole.waste((cut, net), &kept);
        for kept in &mut kept {
            kept.from = Some(name.clone());
            used.kept_area = used.kept_area + Area::mm2(kept.stock.outline.area());
        }
        if roll.stock.is_some() {
            used.stock_area = used.stock_area + Area::mm2(whole.outline.area());
        }
        left.extend(kept);
        let is_stock = |stock: &Stock| roll.stock.is_some_and(|own| std::ptr::eq(own, stock));
        let mut layout = Layout {
            cloth: Arc::clone(cloth),
            roll: name,
            stock: cloth.supply.stock.iter().position(is_stock),
            offer: choice.offer.filter(|_| roll.stock.is_none()),
            whole: whole.outline,
            frames: roll.frames.clone(),
            used_length: Length::mm(roll.used),
            pieces,
            order: CutOrder::default(),
        };
        order::arrange(&mut layout, job.outputs().frame);
        roll_area += (layout.roll_width() * layout.used_length).to_mm2();
        layouts.push(layout);
    }
    used.utilisation = used.cut_area.to_mm2() / roll_area;
    name_left(cloth, &mut left);
    Ok(LaidOut {
        used,
        layouts,
        left,
    })
}

/// The stock of `cloth` that no roll is cut from.
fn untouched<'a>(cloth: &'a Cloth, rolls: &'a [Roll<'a>]) -> impl Iterator<Item = StockLeft> + 'a {
    let is_cut = |stock: &Stock| {
        rolls
            .iter()
            .any(|r| r.stock.is_some_and(|s| s.name == stock.name))
    };
    (cloth.supply.stock.iter())
        .filter(move |stock| !is_cut(stock))
        .map(|stock| StockLeft::untouched(cloth, stock))
}

/// The stock of cloths that no piece is cut from: it stays on the shelf.
fn stock_of_others(job: &Job, by_cloth: &[(&Cloth, Vec<&Arc<Piece>>)]) -> Vec<StockLeft> {
    let is_cut = |cloth: &&Cloth| by_cloth.iter().any(|(c, _)| c.name == cloth.name);
    let others = job.cloths().iter().filter(|cloth| !is_cut(cloth));
    others.flat_map(|cloth| untouched(cloth, &[])).collect()
}

/// Gives what is left a name that no stock of the cloth has or had, so that labels stay true.
fn name_left(cloth: &Cloth, left: &mut [StockLeft]) {
    let is_taken = |name: &str| {
        let same = |stock: &Stock| stock.name.eq_ignore_ascii_case(name);
        cloth.supply.stock.iter().any(same)
    };
    let mut names = (1..)
        .map(|n| format!("{}-r{n}", cloth.name))
        .filter(|name| !is_taken(name));
    for left in left.iter_mut().filter(|left| left.from.is_some()) {
        left.stock.name.extend(names.next());
    }
}

/// The pieces of `roll` as they lie along it; `next` counts how many of each kind have their place.
fn place_all(kinds: &[Kind<'_>], roll: &Roll<'_>, next: &mut [usize]) -> Vec<PlacedPiece> {
    let mut pieces: Vec<PlacedPiece> = (roll.placed.iter())
        .map(|(shape, placement)| {
            let (piece, set) = kinds[*shape].members[next[*shape]];
            next[*shape] += 1;
            PlacedPiece::of_ply(piece, set, placement)
        })
        .collect();
    pieces.sort_by(|a, b| {
        let (a, b) = (a.cut.bounds().min, b.cut.bounds().min);
        a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
    });
    pieces
}

/// Says why more is bought than needed, where it is.
fn longer_is_cheaper(used: &ClothUse) -> Option<Diagnostic> {
    let Purchase { needed, length, .. } = used.purchase;
    (length > needed).then(|| {
        Diagnostic::note(format!(
            "{} of `{}` would do, but {} cost less at the lower price",
            needed.in_metres_and_yards(),
            used.cloth.name,
            length.in_metres_and_yards()
        ))
        .help("what the job does not use is left as stock")
    })
}

/// Says how little is missing to buy one step less, where it is.
fn just_over(used: &ClothUse) -> Option<Diagnostic> {
    /// Share of the length that a better layout may well save.
    const LITTLE: f64 = 0.02;
    let Purchase { needed, length, .. } = used.purchase;
    let wanted = used.purchase.used * (1.0 + used.cloth.spare);
    let less = needed - used.cloth.sold_by;
    let over = wanted - less;
    let is_near = over > Length::ZERO && over <= wanted * LITTLE;
    (length == needed && less > Length::ZERO && less >= used.cloth.least_sold && is_near).then(
        || {
            Diagnostic::note(format!(
                "`{}` takes {} more than {}, so {} are bought",
                used.cloth.name,
                over.in_mm_and_inches(),
                less.in_metres_and_yards(),
                length.in_metres_and_yards()
            ))
            .help("another `--seed`, a longer `--effort` or a smaller `gap` may save the last step")
        },
    )
}
