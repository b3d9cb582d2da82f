//! Net line and cut line of a ply: step, openings, trim allowance.

use super::edges::{self, Edges};
use super::{PlyIn, both, mould, name, tell};
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
    check_size(within, outline)?;
    let lines = plain_lines(within, outline, turn, problems)?;
    let lines = if outline.drawn_cut.is_some() {
        lines
    } else {
        edges::add_overlap(within, outline, turn, lines, problems)?
    };
    edges::cut_darts(within, outline, turn, lines, problems)
}

/// Refuses what the trim allowance would swallow: such a shape is seldom meant.
fn check_size(within: &PlyIn<'_>, outline: &PatternOutline) -> Result<(), Diagnostic> {
    /// A ring narrower than this share of its trim is likely a line drawn twice.
    const RING_SHARE: f64 = 0.2;
    /// A part smaller all round than this share of its trim is likely in another unit.
    const PART_SHARE: f64 = 0.5;
    let &PlyIn { part, ply, .. } = within;
    let trim = ply.cutting.trim.to_mm();
    if outline.drawn_cut.is_some() {
        return Ok(());
    }
    let bounds = outline.outline.bounds();
    let (message, help) = match outline.outline.ring_width() {
        Some(width) if width < RING_SHARE * trim => (
            format!("is a ring only {} wide", both(width)),
            "an outline drawn with a double line? Delete one of the two, or put it on a layer that \
             is not read; if the ring is meant, give it a smaller `trim`",
        ),
        _ if bounds.long_side() < PART_SHARE * trim => (
            format!("is only {:.2} × {:.2} mm", bounds.width(), bounds.height()),
            "is the unit of the drawing right? State `units` if not; if the part is meant to be so \
             small, give it a smaller `trim`",
        ),
        _ => return Ok(()),
    };
    Err(Diagnostic::error(format!(
        "outline {} of part `{}` {message}, and its trim allowance is {}",
        outline.id,
        part.name,
        both(trim)
    ))
    .at(outline.place.clone())
    .help(format!(
        "{help} (`warpwise inspect {} --svg seen.svg` draws it)",
        within.pattern.file()
    )))
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
        // A step inwards makes openings larger.
        let what = match step > 0.0 {
            true => "closes up",
            false => "runs through the edge, or into another opening,",
        };
        let message = format!(
            "an opening of {} {what} under its step of {}",
            name(part, ply),
            both(step)
        );
        let problem = Diagnostic::warning(message).at(ply.place.clone());
        problems.push(match step > 0.0 {
            true => problem,
            false => problem.help("it is cut as a notch: draw it so, or take a smaller step"),
        });
    }
    let cut = trimmed(within, outline, &net, turn, problems)?;
    Ok(Edges { net, cut })
}

/// The cut line around `net`: grown by the trim allowance, with the openings that are cut.
fn trimmed(
    within: &PlyIn<'_>,
    outline: &PatternOutline,
    net: &Outline,
    turn: Turn,
    problems: &mut Diagnostics,
) -> Result<Outline, Diagnostic> {
    let &PlyIn { part, ply, .. } = within;
    let (trim, rule) = (ply.cutting.trim.to_mm(), ply.cutting.openings);
    let mut to_cut = net.clone();
    // The trim makes no opening larger.
    to_cut.openings.retain(|opening| is_cut(opening, rule));
    let mut cut = match mould::trimmed(within) {
        Some(on_mould) => mould::with_openings_of(turn.outline(&on_mould.outline), &to_cut),
        None => offset(&to_cut, trim, ply.cutting.join)
            .map_err(|e| offset_failed(part, ply, "trim allowance", trim, e))?,
    };
    if trim <= 0.0 {
        return Ok(cut);
    }
    let mut left_uncut = Vec::new();
    for opening in &to_cut.openings {
        let is_of_it = |hole: &Ring| opening.contains(hole.points()[0]);
        match cut
            .openings
            .iter()
            .filter(|hole| is_of_it(hole))
            .map(narrow_side)
            .reduce(f64::max)
        {
            None => left_uncut.push("closes it".to_owned()),
            Some(side) if side < least_hole(rule) => {
                left_uncut.push(format!("leaves a hole of {}", both(side)));
                cut.openings.retain(|hole| !is_of_it(hole));
            }
            Some(_) => {}
        }
    }
    // Who gave a size knows that smaller ones are left.
    let is_told = rule == OpeningRule::Cut;
    for what_trim_does in left_uncut.into_iter().filter(|_| is_told) {
        // Plies alike are one matter.
        let message = format!(
            "an opening of outline {} of part `{}` is left uncut: the trim allowance of {} \
             {what_trim_does}",
            outline.id,
            part.name,
            both(trim)
        );
        if !problems.iter().any(|p| p.message == message) {
            let help = "it is cut after cure; set `openings = \"after cure\"` to say so, or a smaller `trim`";
            problems.push(Diagnostic::note(message).at(ply.place.clone()).help(help));
        }
    }
    Ok(cut)
}

/// Without the openings that are not cut.
fn with_openings(mut outline: Outline, rule: OpeningRule) -> Outline {
    outline.openings.retain(|o| is_cut(o, rule));
    outline
}

/// A hole narrower than this (mm) is not cut into dry cloth: a blade cannot turn in it and the
/// yarns around it come loose. Common practice, no source.
const LEAST_HOLE_MM: f64 = 10.0;

/// The narrowest hole (mm) that is cut where the trim allowance has made an opening smaller.
fn least_hole(rule: OpeningRule) -> f64 {
    match rule {
        OpeningRule::CutFrom(least) => least.to_mm(),
        OpeningRule::Cut | OpeningRule::AfterCure => LEAST_HOLE_MM,
    }
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
        OpeningRule::CutFrom(least) => narrow_side(opening) >= least.to_mm(),
    }
}

/// The shorter side of the box around `opening`, mm.
fn narrow_side(opening: &Ring) -> f64 {
    opening.bounds().short_side()
}

pub(super) fn offset_failed(
    part: &Part,
    ply: &Ply,
    what: &str,
    by: f64,
    error: OffsetError,
) -> Diagnostic {
    let ply_name = name(part, ply);
    let seen = format!(
        "(`warpwise inspect {} --svg seen.svg` draws it)",
        part.pattern.value
    );
    let problem = match error {
        OffsetError::Vanished => Diagnostic::error(format!(
            "nothing is left of {ply_name} after its {what} of {}",
            both(by)
        ))
        .help(format!(
            "the outline is narrower than twice that: use a smaller value or another outline {seen}"
        )),
        OffsetError::Split(n) => Diagnostic::error(format!(
            "{ply_name} falls into {n} separate pieces under its {what} of {}",
            both(by)
        ))
        .help(format!(
            "a narrow neck closes up: draw the pieces as outlines of their own, or use a smaller value {seen}"
        )),
        OffsetError::Inexact => Diagnostic::error(format!(
            "the {what} of {ply_name} could not be computed exactly"
        ))
        .help("look at the outline with `warpwise inspect`; points that lie almost on one another are the usual cause"),
    };
    problem.at(ply.place.clone())
}
