//! Net line and cut line of a ply: step, openings, trim allowance.

use super::edges::{self, Edges};
use super::{PlyIn, both, name, tell};
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{Join, OffsetError, Outline, Ring, Turn, offset};
use crate::job::{OpeningRule, Part, Ply};
use crate::pattern::{PatternOutline, Role};

/// The net line and the cut line of a ply, made from the outline as drawn and turned by `turn`:
/// step, then openings, then allowances, then darts. Where the drawing shows the cut line, no
/// allowance is added to it.
pub(super) fn lines(
    within: &PlyIn<'_>,
    outline: &PatternOutline,
    turn: Turn,
    problems: &mut Diagnostics,
) -> Result<Edges, Diagnostic> {
    let lines = plain_lines(within, outline, turn, problems)?;
    let lines = if outline.drawn_cut.is_some() {
        lines
    } else {
        edges::add_overlap(within, outline, turn, lines, problems)?
    };
    edges::cut_darts(within, outline, turn, lines, problems)
}

/// Both lines without what single edges carry.
fn plain_lines(
    within: &PlyIn<'_>,
    outline: &PatternOutline,
    turn: Turn,
    problems: &mut Diagnostics,
) -> Result<Edges, Diagnostic> {
    let &PlyIn { part, ply, .. } = within;
    let step = ply.step.to_mm();
    let drawn = turn.outline(&outline.outline);
    let net =
        offset(&drawn, step, Join::Round).map_err(|e| offset_failed(part, ply, "step", step, e))?;
    if let Some(cut) = &outline.drawn_cut {
        let cut = turn.outline(&cut.outline);
        let cut = offset(&cut, step, Join::Round)
            .map_err(|e| offset_failed(part, ply, "step", step, e))?;
        note_drawn_cut(part, outline, problems);
        return Ok(Edges {
            net,
            cut: with_openings(cut, ply.cutting.openings),
        });
    }
    warn_of_cut_layer(part, ply, outline, problems);
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
    let to_cut = with_openings(net.clone(), ply.cutting.openings);
    let trim = ply.cutting.trim.to_mm();
    let cut = offset(&to_cut, trim, ply.cutting.join)
        .map_err(|e| offset_failed(part, ply, "trim allowance", trim, e))?;
    if cut.openings.len() < to_cut.openings.len() {
        // Plies alike are one matter.
        let message = format!(
            "an opening of outline {} of part `{}` is left uncut: the trim allowance of {} closes it",
            outline.id,
            part.name,
            both(trim)
        );
        if !problems.iter().any(|p| p.message == message) {
            let help = "it is cut after cure; set `openings = \"after cure\"` to say so, or a smaller `trim`";
            problems.push(Diagnostic::note(message).at(ply.place.clone()).help(help));
        }
    }
    Ok(Edges { net, cut })
}

/// Without the openings that are not cut.
fn with_openings(mut outline: Outline, rule: OpeningRule) -> Outline {
    outline.openings.retain(|o| is_cut(o, rule));
    outline
}

/// Says once per part that its allowance is the drawing's.
fn note_drawn_cut(part: &Part, outline: &PatternOutline, problems: &mut Diagnostics) {
    let Some(cut) = &outline.drawn_cut else {
        return;
    };
    let message = if cut.stands_alone {
        format!(
            "layer {} of part `{}` holds cut lines, so no allowance is added; the drawing shows no \
             net line, so the cut line counts as net line too",
            cut.layer, part.name
        )
    } else {
        format!(
            "the cut line of part `{}` is drawn on layer {}, so no allowance is added",
            part.name, cut.layer
        )
    };
    tell(
        Diagnostic::note(message).at(part.pattern.place.clone()),
        problems,
    );
}

/// Doubts the allowance of an outline that lies on a layer called CUT.
fn warn_of_cut_layer(part: &Part, ply: &Ply, outline: &PatternOutline, problems: &mut Diagnostics) {
    let roles = &part.reading.layers;
    let doubtful = !roles.names(Role::Cut) && roles.role(&outline.layer) == Some(Role::Cut);
    if doubtful && ply.cutting.trim.to_mm() > 0.0 {
        let message = format!(
            "the outline of part `{}` lies on layer {}, but is taken for the finished edge: the \
             allowance is added",
            part.name, outline.layer
        );
        let help = format!(
            "if the allowance is drawn already, say so with `cut = \"{0}\"` in `[part.drawing]`; \
             if not, `net = \"{0}\"` ends this warning",
            outline.layer
        );
        tell(
            Diagnostic::warning(message)
                .at(part.pattern.place.clone())
                .help(help),
            problems,
        );
    }
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
