//! Net line and cut line of a ply: step, openings, trim allowance.

use super::{both, name};
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{Join, OffsetError, Outline, Ring, offset};
use crate::job::{OpeningRule, Part, Ply};

/// The two lines of a ply.
pub(super) struct Lines {
    /// Where the finished part ends, stepped.
    pub net: Outline,
    /// Where the cloth is cut.
    pub cut: Outline,
}

/// The lines of `ply`, made from the outline as drawn: step, then openings, then allowance.
pub(super) fn lines(
    part: &Part,
    ply: &Ply,
    drawn: &Outline,
    problems: &mut Diagnostics,
) -> Result<Lines, Diagnostic> {
    let step = ply.step.to_mm();
    let net =
        offset(drawn, step, Join::Round).map_err(|e| offset_failed(part, ply, "step", step, e))?;
    if net.openings.len() < drawn.openings.len() {
        problems.push(
            Diagnostic::warning(format!(
                "an opening of {} closes up under its step of {}",
                name(part, ply),
                both(step)
            ))
            .at(ply.place.clone()),
        );
    }
    let to_cut = Outline {
        outer: net.outer.clone(),
        openings: net
            .openings
            .iter()
            .filter(|o| is_cut(o, ply.openings))
            .cloned()
            .collect(),
    };
    let trim = ply.trim.to_mm();
    let cut = offset(&to_cut, trim, ply.join)
        .map_err(|e| offset_failed(part, ply, "trim allowance", trim, e))?;
    if cut.openings.len() < to_cut.openings.len() {
        problems.push(
            Diagnostic::note(format!(
                "an opening of {} is left uncut: the trim allowance of {} closes it",
                name(part, ply),
                both(trim)
            ))
            .at(ply.place.clone())
            .help("it is cut after cure; set `openings = \"after cure\"` to say so, or a smaller `trim`"),
        );
    }
    Ok(Lines { net, cut })
}

fn is_cut(opening: &Ring, rule: OpeningRule) -> bool {
    match rule {
        OpeningRule::Cut => true,
        OpeningRule::AfterCure => false,
        OpeningRule::CutFrom(least) => {
            let bounds = opening.bounds();
            bounds.width().min(bounds.height()) >= least.to_mm()
        }
    }
}

fn offset_failed(part: &Part, ply: &Ply, what: &str, by: f64, error: OffsetError) -> Diagnostic {
    let ply_name = name(part, ply);
    let problem = match error {
        OffsetError::Vanished => Diagnostic::error(format!(
            "nothing is left of {ply_name} after its {what} of {}",
            both(by)
        ))
        .help("the outline is narrower than twice that: use a smaller value or another outline"),
        OffsetError::Split(n) => Diagnostic::error(format!(
            "{ply_name} falls into {n} separate pieces under its {what} of {}",
            both(by)
        ))
        .help("a narrow neck closes up: draw the pieces as outlines of their own, or use a smaller value"),
        OffsetError::Inexact => Diagnostic::error(format!(
            "the {what} of {ply_name} could not be computed exactly"
        ))
        .help("look at the outline with `warpwise inspect`; points that lie almost on one another are the usual cause"),
    };
    problem.at(ply.place.clone())
}
