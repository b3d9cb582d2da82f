//! Laminate schedule + outlines → pieces to cut: steps, allowances, permitted turns, labels.
//!
//! A [`Piece`] is a ply's cut line and net line in the pattern frame (seen from the bag side), with
//! every turn under which its cloth may be cut. It can only be made here, so holding one is proof
//! that its outline exists, that its allowance is a true offset, and that it fits the usable width
//! of its cloth in at least one permitted turn.

mod cutline;
mod fit;
mod marks;
mod quantity;
mod select;
mod turns;

use std::collections::BTreeMap;

pub use fit::longest_strip;
pub use marks::{Mark, MarkKind};
pub use turns::{on_bias, permitted_turns};

use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{Face, Outline, Turn};
use crate::job::{Job, Part, Ply, Side};
use crate::pattern::{Pattern, PatternOutline};
use crate::units::{Angle, Length};

/// One ply's shape: everything its pieces (one per set) have in common.
#[derive(Clone, Debug)]
pub struct Piece {
    /// Index into [`Job::parts`].
    pub part: usize,
    /// Index into the part's plies.
    pub ply: usize,
    /// Index into [`Job::cloths`].
    pub cloth: usize,
    /// Where the cloth is cut; pattern frame, seen from the bag side, mm.
    pub cut: Outline,
    /// Where the finished part ends, stepped; same frame.
    pub net: Outline,
    /// Notches and drill marks of the drawing; same frame.
    pub marks: Vec<Mark>,
    /// Direction of the part's 0° in that frame.
    pub zero: Angle,
    /// Permitted turns from that frame to the roll frame, where the warp runs along x.
    pub turns: Vec<Turn>,
    /// How far the layout may turn it off, to either side.
    pub tolerance: Angle,
    /// Whether its warp runs neither along nor across its long direction.
    pub on_bias: bool,
    /// How many are cut: the part's sets, or the quantity in the drawing where the job says none.
    pub sets: u32,
}

impl Piece {
    /// `PART-PLY`, and `#SET` where the part is made more than once.
    #[must_use]
    pub fn id(&self, job: &Job, set: u32) -> String {
        let part = &job.parts[self.part];
        let n = part.plies[self.ply].n;
        if self.sets > 1 {
            format!("{}-{n}#{set}", part.name)
        } else {
            format!("{}-{n}", part.name)
        }
    }
}

/// Returns the pieces of `job`, part by part and ply by ply, with warnings.
///
/// `patterns` holds the part files by the name the job gives them.
///
/// # Errors
/// Every problem found: an outline or 0° line that is not there, an allowance that cannot be made,
/// a piece that is too wide for its cloth at every permitted turn.
pub fn pieces(
    job: &Job,
    patterns: &BTreeMap<String, Pattern>,
) -> Result<(Vec<Piece>, Diagnostics), Diagnostics> {
    let mut problems = Diagnostics::new();
    let mut pieces = Vec::new();
    for (part_idx, part) in job.parts.iter().enumerate() {
        let pattern = &patterns[&part.pattern.value];
        let zero = match select::zero_direction(part, pattern, &mut problems) {
            Ok(zero) => zero,
            Err(problem) => {
                problems.push(problem);
                continue;
            }
        };
        let chosen: Vec<_> = part
            .plies
            .iter()
            .map(|ply| (ply, select::outline(part, ply, pattern)))
            .collect();
        let drawn: Vec<&PatternOutline> = chosen
            .iter()
            .filter_map(|(_, drawn)| drawn.as_ref().ok().copied())
            .collect();
        let sets = quantity::sets(part, &drawn, &mut problems);
        quantity::check_plies(part, pattern, &drawn, &mut problems);
        for (ply_idx, (ply, drawn)) in chosen.into_iter().enumerate() {
            let made = drawn.and_then(|drawn| {
                let ply = PlyIn {
                    job,
                    part,
                    ply,
                    pattern,
                    zero,
                };
                piece(&ply, drawn, &mut problems)
            });
            match made {
                Ok(shape) => pieces.push(Piece {
                    part: part_idx,
                    ply: ply_idx,
                    sets,
                    ..shape
                }),
                // Plies that share a faulty setting share its message.
                Err(problem) => tell(problem, &mut problems),
            }
        }
    }
    quantity::check_pieces(&pieces, &mut problems);
    if problems.has_errors() {
        Err(problems)
    } else {
        Ok((pieces, problems))
    }
}

/// Adds `problem`, unless the same was said already.
fn tell(problem: Diagnostic, problems: &mut Diagnostics) {
    if !problems.iter().any(|p| *p == problem) {
        problems.push(problem);
    }
}

/// A ply with what is around it.
struct PlyIn<'a> {
    job: &'a Job,
    part: &'a Part,
    ply: &'a Ply,
    pattern: &'a Pattern,
    zero: Angle,
}

/// The piece of one ply with the outline `drawn`; its `part`, `ply` and `sets` are left for the
/// caller.
fn piece(
    within: &PlyIn<'_>,
    drawn: &PatternOutline,
    problems: &mut Diagnostics,
) -> Result<Piece, Diagnostic> {
    let &PlyIn { job, part, ply, .. } = within;
    let cloth = &job.cloths[ply.cloth];
    // From the bag side everything below is the same, so a tool-side drawing is turned over here.
    // The other hand of a pair has its drawing turned over before that.
    let drawn_zero = if part.mirrored {
        -within.zero
    } else {
        within.zero
    };
    let (from_tool, zero, angle) = match part.seen_from {
        Side::Bag => (false, drawn_zero, ply.angle),
        Side::Tool => (true, -drawn_zero, -ply.angle),
    };
    let face = if part.mirrored == from_tool {
        Face::Up
    } else {
        Face::Down
    };
    let turn = Turn {
        angle: Angle::ZERO,
        face,
    };
    let lines = cutline::lines(part, ply, drawn, turn, problems)?;
    if marks::has_overlap(within.pattern, drawn) {
        let message = format!(
            "the drawing marks edges of part `{}` for overlap; no overlap is added to them yet",
            part.name
        );
        let help = "draw the cut line with its overlap on the `cut` layer, or mind it when cutting";
        tell(
            Diagnostic::warning(message)
                .at(part.pattern.place.clone())
                .help(help),
            problems,
        );
    }
    let turns = permitted_turns(cloth, zero, angle, ply.appearance);
    let piece = Piece {
        part: 0,
        ply: 0,
        cloth: ply.cloth,
        on_bias: on_bias(cloth.weave, &lines.cut.outer, zero, angle),
        marks: marks::of_outline(within.pattern, drawn, turn, &lines.cut),
        cut: lines.cut,
        net: lines.net,
        zero,
        turns,
        tolerance: ply.angle_tolerance,
        sets: part.sets,
    };
    fit::check(part, ply, &cloth.widest(), &piece)?;
    Ok(piece)
}

/// How a ply is called in messages.
fn name(part: &Part, ply: &Ply) -> String {
    format!("ply {} of part `{}`", ply.n, part.name)
}

/// `length` for messages: `12.7 mm (0.50 in)`.
fn both(mm: f64) -> String {
    Length::mm(mm).in_mm_and_inches()
}
