//! The pleats of a bag in words.

use super::prose::{Prose, prose};
use super::words::{counted, width};
use crate::job::Bagging;
use crate::mould::place_in_words;
use crate::plan::Pleats;

/// `8 pleats of 76 mm (3.0 in)`, and how they are spread over the sides where the mould says so.
pub(super) fn how_many(pleats: &Pleats, setup: &Bagging) -> Prose {
    prose! {
        (counted(pleats.count as usize, "pleat", "pleats")) " of " (width(setup.pleat_height))
        if let (Some([long, short]) = pleats.on_sides) {
            ", " (long.to_string()) " on each long side and " (short.to_string()) " on each short one"
        }
    }
}

/// Where they go on a mould, and why; nothing where it has no need of them.
pub(super) fn where_they_go(pleats: &Pleats) -> Prose {
    let sides = ["long", "short"].into_iter().zip(pleats.over);
    let mut all = Prose::default();
    for ((side, over), hollows) in sides.zip(&pleats.hollows) {
        if over.to_mm() < LEAST_MM && hollows.is_empty() {
            continue;
        }
        let at: Vec<String> = (hollows.iter()).map(|at| place_in_words(*at, 0)).collect();
        all.push(prose! {
            " Along the " (side) " sides the way over the mould is " (width(over)) " longer than its edge"
            if (at.is_empty()) { ": spread their pleats evenly." }
            else { ": set their pleats across from the mould's hollows at " (at.join(", ")) "." }
        });
    }
    all
}

/// Less than this (mm) a film takes up unpleated.
const LEAST_MM: f64 = 1.0;

/// What layers under the film want that do not shear.
pub(super) fn in_the_hollows(pleats: &Pleats) -> &'static str {
    let is_long = pleats.over.iter().any(|over| over.to_mm() > SLIT_MM);
    let is_hollow = pleats.hollows.iter().any(|all| !all.is_empty());
    match is_hollow || is_long {
        true => {
            " It does not shear: where it will not lie, cut it in from the edge and let the cut lap, so that nothing spans \
             a hollow."
        }
        false => "",
    }
}

/// From so much on (mm) what does not shear is cut to lie: common practice, no source.
const SLIT_MM: f64 = 10.0;
