//! Which of the rolls that a cloth is offered on is cheapest for the job.
//!
//! Each is planned wholly for itself: plies are divided for its width and laid out with the effort
//! that is asked for. So an offer never makes a job dearer. What costs least is taken (without prices:
//! of which least cloth is bought). A roll that would cost more even if no cloth were lost between the
//! pieces is laid out in a short search, for the report alone.

use std::sync::Arc;

use super::kinds::Kind;
use super::pins;
use super::rolls::{self, Roll};
use super::run_on::{self, ForPattern};
use crate::cloth::{Cloth, Purchase};
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::Ring;
use crate::nest::{Continue, Effort, NestError, SearchSettings};
use crate::plan::{Alternative, Observer, Settings, Step};
use crate::ply::{Piece, Pieces, fit};
use crate::units::Length;

/// Share of the seconds of a search by the clock that goes into the comparison of offers.
const TRIAL_SHARE: f64 = 0.3;

/// A cloth as it is bought, with its pieces on its rolls.
pub(in crate::plan) struct Found {
    pub cloth: Arc<Cloth>,
    pub rolls: Vec<Roll>,
    pub purchase: Purchase,
    pub for_pattern: ForPattern,
}

/// The pieces for the rolls that are bought, and each cloth that has pieces, in the order of the job.
pub(in crate::plan) struct Chosen {
    pub pieces: Pieces,
    pub cloths: Vec<ChosenCloth>,
}

/// A cloth on the roll that was chosen.
pub(in crate::plan) struct ChosenCloth {
    pub found: Arc<Found>,
    /// Which of the ways to buy it that is; `None` if there is but one.
    pub offer: Option<usize>,
    /// Every roll on offer; empty if there is but one.
    pub alternatives: Vec<Alternative>,
}

/// Lays the cloths of `pieces` out, each on the cheapest of the rolls that it is offered on.
///
/// # Errors
/// A piece that has no place on its cloth.
pub(in crate::plan) fn choose(
    pieces: &Pieces,
    settings: &Settings,
    observe: &Observer<'_>,
) -> Result<Chosen, Diagnostics> {
    let mut search = OfferSearch::new(pieces, settings, observe);
    let mut best = search.way(pieces.clone());
    let n_cloths = search.cloths.len();
    let mut all_tried = vec![Vec::new(); n_cloths];
    for (position, tried) in all_tried.iter_mut().enumerate() {
        if search.cloths[position].n_ways > 1 {
            (best, *tried) = search.cheapest(best, position);
        }
    }
    let mut cloths = Vec::new();
    for (position, tried) in all_tried.into_iter().enumerate() {
        let idx = search.cloths[position].idx;
        let found = search.in_full(&best, position)?;
        let taken = best.pieces.ways()[idx];
        cloths.push(ChosenCloth {
            offer: Some(taken).filter(|_| !tried.is_empty()),
            alternatives: alternatives(&pieces.job().cloths()[idx], tried, taken, &found),
            found,
        });
    }
    Ok(Chosen {
        pieces: best.pieces,
        cloths,
    })
}

/// A cloth laid out for the roll it is bought on; or why it cannot be.
type Outcome = Result<Arc<Found>, Diagnostic>;

/// The job with each cloth bought in one way, laid out cloth by cloth.
#[derive(Clone)]
struct OfferWay {
    pieces: Pieces,
    cloths: Vec<Outcome>,
}

impl OfferWay {
    /// What makes one way better than another: that everything has its place, then the cost, then the
    /// area that is bought.
    fn rank(&self) -> (f64, f64, f64) {
        let found = || self.cloths.iter().filter_map(|c| c.as_ref().ok());
        let ranks = found().map(|found| rank(&found.cloth, &found.purchase));
        let sum = ranks.fold((0.0, 0.0), |sum, one| (sum.0 + one.0, sum.1 + one.1));
        ((self.cloths.len() - found().count()) as f64, sum.0, sum.1)
    }

    fn is_better(&self, other: &Self) -> bool {
        self.rank() < other.rank()
    }
}

/// Whether `one` is better than `other`: by cost, then by the area that is bought, then by the length used.
pub(in crate::plan) fn is_cheaper(one: &Found, other: &Found) -> bool {
    let rank = |found: &Found| (rank(&found.cloth, &found.purchase), found.purchase.used);
    rank(one) < rank(other)
}

/// What makes one purchase better than another: the cost, then the area.
fn rank(cloth: &Cloth, purchase: &Purchase) -> (f64, f64) {
    let area = (cloth.roll_width * purchase.length).to_mm2();
    let cost = purchase.cost.map_or(0.0, |cost| cost.to_cents() as f64);
    (cost, area)
}

/// A cloth that has pieces.
struct OnOffer {
    /// Index into the cloths of the job.
    idx: usize,
    name: String,
    n_ways: usize,
    /// Its share of the whole work.
    share: f64,
    /// What was laid out already: these pieces, on the roll bought in this way.
    known: Vec<(usize, Vec<Arc<Piece>>, Outcome)>,
    /// How many searches there were.
    n_searched: usize,
}

struct OfferSearch<'a> {
    settings: &'a Settings,
    observe: &'a Observer<'a>,
    cloths: Vec<OnOffer>,
}

impl<'a> OfferSearch<'a> {
    fn new(pieces: &Pieces, settings: &'a Settings, observe: &'a Observer<'a>) -> Self {
        let mut cloths: Vec<OnOffer> = (pieces.job().cloths().iter().enumerate())
            .map(|(idx, cloth)| OnOffer {
                idx,
                name: cloth.name.clone(),
                n_ways: 1 + cloth.supply.offers.len(),
                share: weight(settings.effort, &of_cloth(pieces, idx)),
                known: Vec::new(),
                n_searched: 0,
            })
            .filter(|cloth| cloth.share > 0.0)
            .collect();
        let all: f64 = cloths.iter().map(|cloth| cloth.share).sum();
        for cloth in &mut cloths {
            cloth.share /= all;
        }
        Self {
            settings,
            observe,
            cloths,
        }
    }

    /// The job with `pieces`, laid out cloth by cloth.
    fn way(&mut self, pieces: Pieces) -> OfferWay {
        let cloths = (0..self.cloths.len())
            .map(|position| {
                let effort = self.effort(position);
                self.lay_out(&pieces, position, effort)
            })
            .collect();
        OfferWay { pieces, cloths }
    }

    /// The best way of buying a cloth where the others are bought as in `best`, and all that were
    /// looked at.
    fn cheapest(
        &mut self,
        mut best: OfferWay,
        position: usize,
    ) -> (OfferWay, Vec<Result<Purchase, String>>) {
        let start = best.pieces.ways().to_vec();
        let mut tried = Vec::new();
        for way in 0..self.cloths[position].n_ways {
            let mut ways = start.clone();
            ways[self.cloths[position].idx] = way;
            let outcome = match best.pieces.bought(ways) {
                Err(misfits) => misfits.into_iter().next().map_or_else(
                    || Err("a piece does not fit".to_owned()),
                    |misfit| Err(misfit.message),
                ),
                Ok(pieces) if self.is_hopeless(&pieces, position, &best) => {
                    let short = self.lay_out(&pieces, position, Effort::Quick);
                    purchase_of(&short)
                }
                Ok(pieces) => {
                    let new = self.way(pieces);
                    let outcome = purchase_of(&new.cloths[position]);
                    if new.is_better(&best) {
                        best = new;
                    }
                    outcome
                }
            };
            tried.push(outcome);
        }
        (best, tried)
    }

    /// Whether the cloth would cost more than in `best` even if no cloth were lost between its
    /// `pieces`. A search by the clock is short in any case.
    fn is_hopeless(&self, pieces: &Pieces, position: usize, best: &OfferWay) -> bool {
        let idx = self.cloths[position].idx;
        let (Some(cloth), Ok(found)) = (bought(pieces, idx), &best.cloths[position]) else {
            return false;
        };
        let is_long = matches!(
            self.settings.effort,
            Effort::Normal | Effort::Thorough | Effort::UntilStuck
        );
        let cut: f64 = (of_cloth(pieces, idx).iter())
            .map(|piece| piece.cut().area() * f64::from(piece.sets()))
            .sum();
        let stock = cloth.supply.stock.iter();
        let on_hand: f64 = stock.map(|stock| stock.outline.area()).sum();
        let least = (cut - on_hand).max(0.0) / cloth.usable_width().to_mm();
        let least = Purchase::of(&cloth, Length::mm(least));
        is_long && rank(&cloth, &least) >= rank(&found.cloth, &found.purchase)
    }

    /// The cloth as it lies in `best`, after the full search.
    fn in_full(&mut self, best: &OfferWay, position: usize) -> Outcome {
        let found = best.cloths[position].clone()?;
        let Some(effort) = self.effort_left(position) else {
            return Ok(found);
        };
        let longer = self.search(&best.pieces, position, effort)?;
        self.cloths[position].n_searched += 1;
        Ok(if is_cheaper(&longer, &found) {
            longer
        } else {
            found
        })
    }

    /// The effort for one search of a cloth. A search by the clock divides its seconds.
    fn effort(&self, position: usize) -> Effort {
        let OnOffer {
            share,
            n_ways,
            known,
            ..
        } = &self.cloths[position];
        let share = match (n_ways, known.len()) {
            (1, 0) => *share,
            _ => share * TRIAL_SHARE / *n_ways as f64,
        };
        shared(self.settings.effort, share)
    }

    /// The effort that the comparison has left for a cloth.
    fn effort_left(&self, position: usize) -> Option<Effort> {
        let OnOffer { share, n_ways, .. } = &self.cloths[position];
        let is_clocked = matches!(
            self.settings.effort,
            Effort::Seconds(_) | Effort::Clocked(..)
        );
        (is_clocked && *n_ways > 1)
            .then(|| shared(self.settings.effort, share * (1.0 - TRIAL_SHARE)))
    }

    /// The pieces of one cloth laid out on it; searched only once.
    fn lay_out(&mut self, pieces: &Pieces, position: usize, effort: Effort) -> Outcome {
        let idx = self.cloths[position].idx;
        let (way, own) = (pieces.ways()[idx], of_cloth(pieces, idx));
        let same = |(a, b): (&Arc<Piece>, &&Arc<Piece>)| {
            a.cut() == b.cut() && a.turns() == b.turns() && a.run_on() == b.run_on()
        };
        let known = self.cloths[position]
            .known
            .iter()
            .find(|(other, others, _)| {
                *other == way && others.len() == own.len() && others.iter().zip(&own).all(same)
            });
        if let Some((.., outcome)) = known {
            return outcome.clone();
        }
        let outcome = self.search(pieces, position, effort);
        let own = own.into_iter().cloned().collect();
        self.cloths[position].n_searched += 1;
        self.cloths[position]
            .known
            .push((way, own, outcome.clone()));
        outcome
    }

    fn search(&self, pieces: &Pieces, position: usize, effort: Effort) -> Outcome {
        let OnOffer { idx, name, .. } = &self.cloths[position];
        let cloth = bought(pieces, *idx).ok_or_else(|| rolls::too_long(name))?;
        let own = of_cloth(pieces, *idx);
        let pinned =
            pins::of_cloth(pieces, &own, &cloth).map_err(|mut problems| problems.remove(0))?;
        let kinds = Kind::collect(&own, &pinned);
        let cut_area: f64 = kinds.iter().map(Kind::cut_area).sum();
        if cut_area > cloth.usable_width().to_mm() * Ring::FARTHEST_MM {
            return Err(rolls::too_long(name));
        }
        let settings = SearchSettings {
            effort,
            seed: self.settings.seed,
            threads: self.settings.threads,
        };
        let told = |length: f64, done: f64| self.tell(position, &cloth, cut_area, (length, done));
        let (rolls, for_pattern) = run_on::lay_out(&cloth, (&kinds, &pinned), &settings, &told)
            .map_err(|error| does_not_nest(&cloth, &kinds, &error))?;
        let used = rolls.iter().find(|roll| roll.stock.is_none());
        let used = Length::mm(used.map_or(0.0, |roll| roll.used));
        Ok(Arc::new(Found {
            purchase: Purchase::of(&cloth, used),
            cloth: Arc::new(cloth),
            rolls,
            for_pattern,
        }))
    }

    /// Tells how far the work has come, and answers whether to go on.
    fn tell(
        &self,
        position: usize,
        cloth: &Cloth,
        cut_area: f64,
        (length, done): (f64, f64),
    ) -> Continue {
        let is_known = length.is_finite();
        let length = is_known.then(|| Length::mm(length) + cloth.end_margin);
        let utilisation = length.map_or(0.0, |length| {
            cut_area / (cloth.roll_width * length).to_mm2()
        });
        let share_of = |(at, cloth): (usize, &OnOffer)| {
            let searched = cloth.n_searched as f64 + if at == position { done } else { 0.0 };
            let n_searches = cloth.n_ways + usize::from(self.effort_left(at).is_some());
            cloth.share * (searched / n_searches as f64).min(1.0)
        };
        (self.observe)(Step {
            cloth: &cloth.name,
            index: position,
            of: self.cloths.len(),
            length,
            // Several rolls hold more than one of them could.
            utilisation: utilisation.min(1.0),
            done,
            job_done: self
                .cloths
                .iter()
                .enumerate()
                .map(share_of)
                .sum::<f64>()
                .min(1.0),
        })
    }
}

/// `effort`, of which a search gets this share if it counts seconds.
pub(in crate::plan) fn shared(effort: Effort, share: f64) -> Effort {
    match effort {
        Effort::Seconds(all) => Effort::Seconds(all * share),
        Effort::Clocked(all, clock) => Effort::Clocked(all * share, clock),
        named => named,
    }
}

/// What the work on these pieces of a cloth weighs beside that on others.
fn weight(effort: Effort, pieces: &[&Arc<Piece>]) -> f64 {
    let n: u32 = pieces.iter().map(|p| p.sets()).sum();
    match effort {
        Effort::Seconds(_) | Effort::Clocked(..) => f64::from(n),
        // As the search itself grows with the pieces under a named effort.
        _ => f64::from(n).sqrt(),
    }
}

/// The pieces that are cut from a cloth.
pub(in crate::plan) fn of_cloth(pieces: &Pieces, idx: usize) -> Vec<&Arc<Piece>> {
    pieces.iter().filter(|p| p.cloth_idx() == idx).collect()
}

/// The cloth as it is bought for `pieces`.
pub(super) fn bought(pieces: &Pieces, idx: usize) -> Option<Cloth> {
    pieces.job().cloths()[idx].bought(pieces.ways()[idx])
}

fn purchase_of(outcome: &Outcome) -> Result<Purchase, String> {
    match outcome {
        Ok(found) => Ok(found.purchase.clone()),
        Err(problem) => Err(problem.message.clone()),
    }
}

/// The rolls that `cloth` is offered on, with what was `tried`; the one taken as it was `found` in the end.
fn alternatives(
    cloth: &Cloth,
    tried: Vec<Result<Purchase, String>>,
    taken: usize,
    found: &Found,
) -> Vec<Alternative> {
    let alternative = |(way, (cloth, purchase)): (usize, (Cloth, Result<Purchase, String>))| {
        let is_chosen = way == taken;
        Alternative {
            roll_width: cloth.roll_width,
            price: cloth.price,
            price_breaks: cloth.price_breaks,
            sold_by: cloth.sold_by,
            purchase: if is_chosen {
                Ok(found.purchase.clone())
            } else {
                purchase
            },
            is_chosen,
        }
    };
    let tried = cloth.ways_to_buy().zip(tried).enumerate();
    tried.map(alternative).collect()
}

fn does_not_nest(cloth: &Cloth, kinds: &[Kind<'_>], error: &NestError) -> Diagnostic {
    let (NestError::DoesNotFit { shape } | NestError::NoTurn { shape }) = error;
    let piece = kinds[*shape].like;
    let id = piece.id(1);
    let refused = Diagnostic::error(format!(
        "piece {id} does not fit on `{}` in any turn its cloth permits",
        cloth.name
    ));
    let refused = match cloth.supply.table {
        Some(_) => refused.help(fit::table_help(cloth)),
        None => refused,
    };
    refused.at(piece.ply().place.clone())
}
