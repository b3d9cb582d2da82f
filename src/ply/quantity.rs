//! What texts in the drawing say of numbers: how many sets, and which ply an outline is for.

use std::sync::Arc;

use super::{Piece, tell};
use crate::diag::{Diagnostic, Diagnostics};
use crate::job::{Job, MAX_PIECES, MAX_SETS, Part, parts_by_bag};
use crate::pattern::{Pattern, PatternOutline};

/// How many sets of `part` are made: as the job says, else as the outlines in use say, else one.
pub(super) fn sets(part: &Part, drawn: &[&PatternOutline], problems: &mut Diagnostics) -> u32 {
    let mut stated: Vec<(u32, &str)> = drawn
        .iter()
        .filter_map(|o| Some((o.words.quantity?, o.id.as_str())))
        .collect();
    stated.sort_unstable();
    stated.dedup();
    let Some(&(quantity, _)) = stated.first() else {
        return part.sets;
    };
    let place = || part.pattern.place.clone();
    if part.sets_are_stated {
        if let Some((other, id)) = stated.iter().find(|(n, _)| *n != part.sets) {
            let message = format!(
                "the drawing says quantity {other} (outline {id}), the job makes {} of part `{}`: \
                 the job counts",
                part.sets, part.name
            );
            problems.push(Diagnostic::note(message).at(place()));
        }
        return part.sets;
    }
    if let Some((other, id)) = stated.iter().find(|(n, _)| *n != quantity) {
        let message = format!(
            "the outlines of part `{}` state different quantities: {quantity} ({}) and {other} ({id})",
            part.name, stated[0].1
        );
        let help = "say how many parts are made with `sets` in the job";
        problems.push(Diagnostic::error(message).at(place()).help(help));
        return part.sets;
    }
    if quantity > MAX_SETS {
        let message = format!("the drawing says quantity {quantity}; at most {MAX_SETS} are made");
        problems.push(Diagnostic::error(message).at(place()));
        return part.sets;
    }
    if quantity != 1 {
        let message = format!(
            "{quantity} sets of part `{}` are made, as the drawing says",
            part.name
        );
        let help = "`sets` in the job overrules it";
        problems.push(Diagnostic::note(message).at(place()).help(help));
    }
    quantity
}

/// Warns of outlines that say they are for a ply that the part does not have, where the part goes
/// by such numbers.
pub(super) fn check_plies(
    part: &Part,
    pattern: &Pattern,
    drawn: &[&PatternOutline],
    problems: &mut Diagnostics,
) {
    // Several parts on one drawing have plies of the same numbers; then nothing can be said.
    if drawn.iter().all(|o| o.words.plies.is_empty()) {
        return;
    }
    let used = |o: &PatternOutline| drawn.iter().any(|d| d.id == o.id);
    let layer = |o: &PatternOutline| drawn.iter().any(|d| d.layer == o.layer);
    for outline in pattern.outlines().iter().filter(|o| !used(o) && layer(o)) {
        let has = |n: &u32| part.plies.iter().any(|ply| ply.n == *n);
        if let Some(n) = outline.words.plies.iter().find(|n| !has(n)) {
            let message = format!(
                "outline {} is for ply {n}, but part `{}` has no such ply",
                outline.id, part.name
            );
            let help = "is the laminate schedule whole?";
            tell(
                Diagnostic::warning(message)
                    .at(outline.place.clone())
                    .help(help),
                problems,
            );
        }
    }
}

/// Complains of parts of one bag that are not made equally often where quantities in drawings count.
pub(super) fn check_bags(job: &Job, pieces: &[Arc<Piece>], problems: &mut Diagnostics) {
    let sets = |part: usize| {
        let of_part = pieces.iter().find(|piece| piece.part == part);
        of_part.map(|piece| piece.sets)
    };
    let parts: Vec<&Part> = job.parts().iter().collect();
    for (name, own) in parts_by_bag(&parts) {
        let (Some(name), Some(first)) = (name, sets(own[0])) else {
            continue;
        };
        let other = |idx: &usize| sets(*idx).filter(|sets| *sets != first).map(|n| (*idx, n));
        if let Some((idx, n)) = own.iter().find_map(other) {
            let message = format!(
                "the parts of bag `{name}` are not made equally often: {first} of `{}`, {n} of `{}`",
                parts[own[0]].name, parts[idx].name
            );
            let help = "a shared bag holds one set of each part: give them the same `sets`, or leave out `bag`";
            let place = parts[idx].bag.as_ref().map(|bag| bag.place.clone());
            let problem = Diagnostic::error(message).help(help);
            problems.push(place.into_iter().fold(problem, Diagnostic::at));
        }
    }
}

/// Complains if quantities in drawings make too many pieces.
pub(super) fn check_pieces(pieces: &[Arc<Piece>], problems: &mut Diagnostics) {
    let n: u64 = pieces.iter().map(|p| u64::from(p.sets)).sum();
    if n > MAX_PIECES {
        let message = format!("the job has {n} pieces, more than {MAX_PIECES}");
        let help = "quantities in the drawings count where the job has no `sets`";
        problems.push(Diagnostic::error(message).help(help));
    }
}
