//! Pieces → layouts → plan.

use std::sync::Arc;

use super::cutting::order::{self, CutOrder};
use super::layout::kinds::Kind;
use super::layout::left::Whole;
use super::layout::offers::{self, Chosen, ChosenCloth, Found};
use super::layout::pins::Pinned;
use super::layout::rolls::{self, Roll};
use super::layout::run_on;
use super::process::laminate::AnglesAsCut;
use super::{ClothUse, Layout, PlacedPiece, Plan, StockLeft, Waste, Work, parts};
use crate::cloth::{Cloth, Purchase, Stock};
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::Outline;
use crate::job::{FileKind, HpglNumbers, Outputs};
use crate::nest::{Continue, Effort};
use crate::ply::{Piece, Pieces};
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
    build_while(pieces, settings, observe, &|| true).map(|plan| plan.expect("it is always wanted"))
}

/// The same, given up with `None` once the plan is wanted no longer.
///
/// # Errors
/// As [`build()`].
pub(crate) fn build_while(
    pieces: &Pieces,
    settings: &Settings,
    observe: &Observer<'_>,
    is_wanted: &dyn Fn() -> bool,
) -> Result<Option<Plan>, Diagnostics> {
    let chosen = offers::choose(pieces, settings, observe)?;
    if !is_wanted() {
        return Ok(None);
    }
    let mut plan = cut(chosen, settings)?;
    if !is_wanted() {
        return Ok(None);
    }
    plan.work_out(settings.effort)?;
    Ok(is_wanted().then_some(plan))
}

/// The cloths as they were chosen, cut: the plan without what follows from its layouts.
pub(in crate::plan) fn cut(chosen: Chosen, settings: &Settings) -> Result<Plan, Diagnostics> {
    let pieces = chosen.pieces;
    let mut layouts = Vec::new();
    let mut cloths = Vec::new();
    let mut stock_left = Vec::new();
    for chosen in chosen.cloths {
        let done = cloth_of_plan(&pieces, chosen)?;
        cloths.push(done.used);
        layouts.extend(done.layouts);
        stock_left.extend(done.left);
    }
    stock_left.extend(stock_of_others(&pieces));
    let mut remarks = pieces.remarks_on_offers().clone();
    cloths
        .iter()
        .flat_map(|used| [longer_is_cheaper(used), just_over(used)])
        .flatten()
        .chain(run_on::remarks(&cloths, &layouts))
        .for_each(|note| remarks.push(note));
    Ok(Plan {
        work: Work::default(),
        pieces,
        seed: settings.seed,
        effort: settings.effort_name.clone(),
        cloths,
        layouts,
        parts: Vec::new(),
        stock_left,
        cost_per_set: Vec::new(),
        costs: None,
        jobs: Vec::new(),
        savings: Vec::new(),
        is_share: false,
        remarks,
    })
}

impl Plan {
    /// Works out what follows from the layouts: parts, resin, bags, mould, costs.
    pub(in crate::plan) fn work_out(&mut self, effort: Effort) -> Result<(), Diagnostics> {
        let job = Arc::clone(self.pieces.job());
        let as_cut = AnglesAsCut::of(&job, &self.layouts);
        self.parts = parts::parts(&self.pieces, &as_cut);
        let (work, of_work) = Work::of(&job, &self.pieces, &mut self.parts, effort)?;
        self.remarks.append(of_work);
        let of_bags = work.bagging.iter().flat_map(|bags| &bags.rolls);
        let all = self.layouts.iter().chain(of_bags.map(|roll| &roll.layout));
        let warning = beyond_sixteen_bits(job.outputs(), all);
        warning
            .into_iter()
            .for_each(|warning| self.remarks.push(warning));
        self.work = work;
        self.work_out_costs();
        self.work_out_prices();
        Ok(())
    }
}

/// A cloth, laid out.
struct LaidOut {
    used: ClothUse,
    layouts: Vec<Layout>,
    left: Vec<StockLeft>,
}

/// A cloth as it was chosen, with all that the plan says of it.
fn cloth_of_plan(pieces: &Pieces, chosen: ChosenCloth) -> Result<LaidOut, Diagnostic> {
    let Found {
        cloth,
        rolls,
        purchase,
        for_pattern,
    } = &*chosen.found;
    let own: Vec<&Arc<Piece>> = (pieces.iter())
        .filter(|piece| piece.cloth().name == cloth.name)
        .collect();
    let pinned: Vec<Pinned> = (rolls.iter())
        .flat_map(|roll| roll.pinned.iter().cloned())
        .collect();
    let kinds = Kind::collect(&own, &pinned);
    let frame = pieces.job().outputs().frame;
    let mut used = ClothUse {
        cloth: Arc::clone(cloth),
        n_pieces: 0,
        purchase: purchase.clone(),
        cut_area: Area::ZERO,
        net_area: Area::ZERO,
        utilisation: 0.0,
        stock_area: Area::ZERO,
        kept_area: Area::ZERO,
        for_pattern: for_pattern.clone(),
        waste: Waste::default(),
        alternatives: chosen.alternatives,
    };
    let mut left: Vec<StockLeft> = untouched(cloth, rolls).collect();
    let mut layouts: Vec<Layout> = Vec::new();
    let mut roll_area = 0.0;
    let mut next = vec![0; kinds.len()];
    for roll in rolls {
        let whole = Whole::of(cloth, roll, used.purchase.length.to_mm())
            .ok_or_else(|| rolls::too_long(&cloth.name))?;
        let name = match &rolls[..] {
            [only] if only.stock.is_none() => cloth.name.clone(),
            _ => format!("{}-{}", cloth.name, layouts.len() + 1),
        };
        let pieces = place_all(&kinds, roll, &mut next);
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
        let mut layout = Layout {
            cloth: Arc::clone(cloth),
            roll: name,
            stock: roll.stock,
            offer: chosen.offer.filter(|_| roll.stock.is_none()),
            whole: whole.outline,
            frames: roll.frames.clone(),
            used_length: Length::mm(roll.used),
            pieces,
            order: CutOrder::default(),
        };
        order::arrange(&mut layout, frame);
        roll_area += (layout.roll_width() * layout.used_length).to_mm2();
        layouts.push(layout);
    }
    used.utilisation = used.cut_area.to_mm2() / roll_area;
    run_on::tell(&mut layouts);
    name_left(cloth, &mut left);
    Ok(LaidOut {
        used,
        layouts,
        left,
    })
}

/// The stock of `cloth` that no roll is cut from; what is on a shelf that is kept has its file there.
fn untouched<'a>(cloth: &'a Cloth, rolls: &'a [Roll]) -> impl Iterator<Item = StockLeft> + 'a {
    let stock = cloth.supply.stock.iter().enumerate();
    stock
        .filter(|(_, stock)| !stock.is_on_shelf)
        .filter(|(idx, _)| rolls.iter().all(|roll| roll.stock != Some(*idx)))
        .map(|(_, stock)| StockLeft::untouched(cloth, stock))
}

/// The stock of cloths that no piece is cut from: it stays on the shelf.
fn stock_of_others(pieces: &Pieces) -> Vec<StockLeft> {
    let is_cut = |idx: usize| pieces.iter().any(|piece| piece.cloth_idx() == idx);
    let others = pieces.job().cloths().iter().enumerate();
    let others = others.filter(|(idx, _)| !is_cut(*idx));
    others
        .flat_map(|(_, cloth)| untouched(cloth, &[]))
        .collect()
}

/// Gives what is left a name that no stock of the cloth has or had, so that labels stay true.
fn name_left(cloth: &Cloth, left: &mut [StockLeft]) {
    let is_taken = |name: &str| {
        let same = |stock: &Stock| stock.name.eq_ignore_ascii_case(name);
        cloth.supply.stock.iter().any(same)
    };
    let mut names = (cloth.supply.first_remnant..)
        .map(|n| format!("{}-r{n}", cloth.name))
        .filter(|name| !is_taken(name));
    for left in left.iter_mut().filter(|left| left.from.is_some()) {
        left.stock.name.extend(names.next());
    }
}

/// The pieces of `roll` as they lie along it; `next` counts how many of each kind have their place.
fn place_all(kinds: &[Kind<'_>], roll: &Roll, next: &mut [usize]) -> Vec<PlacedPiece> {
    let mut pieces: Vec<PlacedPiece> = (roll.placed.iter())
        .map(|(shape, placement)| {
            let (piece, set) = kinds[*shape].members[next[*shape]];
            next[*shape] += 1;
            PlacedPiece::of_ply(piece, set, placement)
        })
        .collect();
    pieces.extend(roll.pinned.iter().map(Pinned::placed));
    pieces.sort_by(|a, b| {
        let (a, b) = (a.cut.bounds().min, b.cut.bounds().min);
        a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
    });
    pieces
}

/// Warns of HP-GL whose numbers are too large for plotters that read 16 bits.
fn beyond_sixteen_bits<'a>(
    outputs: &Outputs,
    layouts: impl Iterator<Item = &'a Layout>,
) -> Option<Diagnostic> {
    if !outputs.wants(FileKind::Hpgl) || outputs.hpgl_numbers != HpglNumbers::Any {
        return None;
    }
    let extent = |layout: &Layout| {
        let frames = layout.order().frames.iter();
        let longest = frames.map(|f| f.to - f.from).fold(0.0, f64::max);
        longest.max(layout.roll_width().to_mm())
    };
    let (roll, farthest) = layouts
        .map(|layout| (layout.roll(), extent(layout)))
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    (farthest > HpglNumbers::REACH.to_mm()).then(|| {
        Diagnostic::warning(format!(
            "the HP-GL file of roll {roll} reaches {}: its numbers are larger than 16 bits hold, which \
             end at {}",
            Length::mm(farthest).in_mm_and_inches(),
            HpglNumbers::REACH.in_mm_and_inches()
        ))
        .help("where the plotter reads 16-bit numbers, set `hpgl_numbers = \"16 bit\"` in `[output]`")
    })
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
