//! What a cloth would cost that lies on a mould in another direction.

use crate::cloth::{Cloth, Purchase};
use crate::drape::Trial;
use crate::geometry::{Join, offset};
use crate::job::Part;
use crate::nest::{self, Container, Continue, Effort, Problem, SearchSettings, Shape};
use crate::ply::permitted_turns;
use crate::units::{Angle, Length, PlyAngle};

/// What all plies of `cloth` in `part` would take of a new roll if each lay as `trial` does, trim added flat: by a quick search.
/// `None` where the cloth does not get to the edge, or no ply lies across the roll.
#[must_use]
pub fn cloth_of_trial(
    part: &Part,
    cloth: &Cloth,
    cloth_idx: usize,
    trial: &Trial,
) -> Option<Purchase> {
    let mut plies = part.plies.iter().filter(|ply| ply.cloth == cloth_idx);
    let trim = plies.clone().map(|ply| ply.cutting.trim.to_mm());
    let outline = offset(trial.outline()?, trim.fold(0.0, f64::max), Join::Round).ok()?;
    let n = plies.by_ref().count() * part.sets as usize;
    // Its warp runs along x already.
    let along = PlyAngle::degrees(0.0);
    let zero = -cloth.weave.warp(along).where_zero_is(Angle::ZERO);
    let problem = Problem {
        shapes: vec![Shape {
            outline: outline.simplified(COARSE_MM),
            turns: permitted_turns(cloth, zero, along, false),
            tolerance: Angle::ZERO,
            demand: n,
        }],
        container: Container::strip(cloth.usable_width().to_mm()),
        gap: cloth.gap.to_mm(),
    };
    let settings = SearchSettings {
        effort: Effort::Quick,
        seed: 0,
        threads: 1,
    };
    let found = nest::nest(&problem, &settings, &|_| Continue::Yes).ok()?;
    let used = Length::mm(found.length()) + cloth.end_margin * 2.0;
    Some(Purchase::of(cloth, used))
}

/// Largest departure (mm) of an outline from that of the coarse net of a trial.
const COARSE_MM: f64 = 0.5;
