//! What texts in the drawing say of numbers: how many sets, and which ply an outline is for.

use super::{Piece, tell};
use crate::diag::{Diagnostic, Diagnostics};
use crate::job::{MAX_PIECES, MAX_SETS, Part};
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

/// Complains if quantities in drawings make too many pieces.
pub(super) fn check_pieces(pieces: &[std::sync::Arc<Piece>], problems: &mut Diagnostics) {
    let n: u64 = pieces.iter().map(|p| u64::from(p.sets)).sum();
    if n > MAX_PIECES {
        let message = format!("the job has {n} pieces, more than {MAX_PIECES}");
        let help = "quantities in the drawings count where the job has no `sets`";
        problems.push(Diagnostic::error(message).help(help));
    }
}
