//! Which of the rolls that a cloth is offered on is cheapest for the job.
//!
//! Each is laid out in a short search; the one that costs least (without prices: of which least
//! cloth is bought) then gets the full one.

use std::sync::Arc;

use super::rolls::{Told, lay_out};
use crate::cloth::{Cloth, Purchase};
use crate::nest::{Effort, NestError, SearchSettings, Shape};
use crate::plan::Alternative;
use crate::units::Length;

/// Share of the seconds of a search by the clock that goes into the comparison.
const TRIAL_SHARE: f64 = 0.3;

/// The cloth as it is best bought, what else was looked at, and the effort that is left.
pub(in crate::plan) struct Choice {
    pub cloth: Arc<Cloth>,
    /// Which of the ways to buy it that is; `None` if there is but one.
    pub offer: Option<usize>,
    /// Every roll on offer; empty if there is but one.
    pub alternatives: Vec<Alternative>,
    pub effort: Effort,
}

/// Chooses the roll to buy `cloth` on for `shapes`.
///
/// # Errors
/// A shape that fits none of them.
pub(in crate::plan) fn choose(
    cloth: &Cloth,
    shapes: &[Shape],
    settings: &SearchSettings,
    told: &Told<'_>,
) -> Result<Choice, NestError> {
    let ways: Vec<Cloth> = cloth.ways_to_buy().collect();
    if ways.len() < 2 {
        return Ok(Choice {
            cloth: Arc::new(cloth.clone()),
            offer: None,
            alternatives: Vec::new(),
            effort: settings.effort,
        });
    }
    let (trial, rest) = match settings.effort {
        Effort::Seconds(all) => {
            let each = all * TRIAL_SHARE / ways.len() as f64;
            (
                Effort::Seconds(each),
                Effort::Seconds(all * (1.0 - TRIAL_SHARE)),
            )
        }
        named => (Effort::Quick, named),
    };
    let trial = SearchSettings {
        effort: trial,
        ..*settings
    };
    let mut error = None;
    let mut alternatives: Vec<Alternative> = Vec::new();
    for way in &ways {
        let purchase = match bought(way, shapes, &trial, told) {
            Ok(used) => Some(Purchase::of(way, used)),
            Err(e) => {
                error = Some(e);
                None
            }
        };
        alternatives.push(Alternative {
            roll_width: way.roll_width,
            price: way.price.clone(),
            price_breaks: way.price_breaks.clone(),
            sold_by: way.sold_by,
            purchase,
            is_chosen: false,
        });
    }
    let best = (0..ways.len())
        .filter_map(|i| {
            Some((
                i,
                rank(
                    alternatives[i].roll_width,
                    alternatives[i].purchase.as_ref()?,
                ),
            ))
        })
        .min_by(|(_, a), (_, b)| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
    match (best, error) {
        (Some((best, _)), _) => {
            alternatives[best].is_chosen = true;
            Ok(Choice {
                cloth: Arc::new(ways[best].clone()),
                offer: Some(best),
                alternatives,
                effort: rest,
            })
        }
        (None, error) => Err(error.unwrap_or(NestError::DoesNotFit { shape: 0 })),
    }
}

/// How much of the bought roll `shapes` use, beside the stock.
fn bought(
    cloth: &Cloth,
    shapes: &[Shape],
    settings: &SearchSettings,
    told: &Told<'_>,
) -> Result<Length, NestError> {
    // Whatever the short search has done, the full one is still to come.
    let rolls = lay_out(cloth, shapes, settings, &|length, _| told(length, 0.0))?;
    let used = rolls.iter().find(|roll| roll.stock.is_none());
    Ok(Length::mm(used.map_or(0.0, |roll| roll.used)))
}

/// What makes one purchase better than another: the cost, then the area.
fn rank(width: Length, purchase: &Purchase) -> (f64, f64) {
    let area = (width * purchase.length).to_mm2();
    let cost = purchase.cost.map_or(0.0, |cost| cost.to_cents() as f64);
    (cost, area)
}
