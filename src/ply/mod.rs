//! Laminate schedule + outlines → pieces to cut: steps, allowances, permitted turns, labels.
//!
//! A [`Piece`] is a ply's cut line and net line in the pattern frame (seen from the bag side), with
//! every turn under which its cloth may be cut. It can only be made here, so holding one is proof
//! that its outline exists, that its allowance is a true offset, and that it fits the usable width
//! of its cloth in at least one permitted turn.

mod cutline;
mod fit;
mod select;
mod turns;

use std::collections::BTreeMap;

pub use fit::longest_strip;
pub use turns::{on_bias, permitted_turns};

use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{Outline, Turn};
use crate::job::{Job, Part, Ply, Side};
use crate::pattern::Pattern;
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
    /// Direction of the part's 0° in that frame.
    pub zero: Angle,
    /// Permitted turns from that frame to the roll frame, where the warp runs along x.
    pub turns: Vec<Turn>,
    /// How far the layout may turn it off, to either side.
    pub tolerance: Angle,
    /// Whether its warp runs neither along nor across its long direction.
    pub on_bias: bool,
    /// How many are cut: the part's sets.
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
        let zero = match select::zero_direction(part, pattern) {
            Ok(zero) => zero,
            Err(problem) => {
                problems.push(problem);
                continue;
            }
        };
        for (ply_idx, ply) in part.plies.iter().enumerate() {
            match piece(job, part, ply, pattern, zero, &mut problems) {
                Ok(shape) => pieces.push(Piece {
                    part: part_idx,
                    ply: ply_idx,
                    ..shape
                }),
                // Plies that share a faulty setting share its message.
                Err(problem) if problems.iter().any(|p| *p == problem) => {}
                Err(problem) => problems.push(problem),
            }
        }
    }
    if problems.has_errors() {
        Err(problems)
    } else {
        Ok((pieces, problems))
    }
}

/// The piece of one ply; its `part` and `ply` are left for the caller.
fn piece(
    job: &Job,
    part: &Part,
    ply: &Ply,
    pattern: &Pattern,
    zero: Angle,
    problems: &mut Diagnostics,
) -> Result<Piece, Diagnostic> {
    let cloth = &job.cloths[ply.cloth];
    let drawn = select::outline(part, ply, pattern)?;
    // From the bag side everything below is the same, so a tool-side drawing is turned over here.
    let (drawn, zero, angle) = match part.seen_from {
        Side::Bag => (drawn.clone(), zero, ply.angle),
        Side::Tool => (turned_over(drawn), -zero, -ply.angle),
    };
    let lines = cutline::lines(part, ply, &drawn, problems)?;
    let turns = permitted_turns(cloth, zero, angle, ply.appearance);
    let piece = Piece {
        part: 0,
        ply: 0,
        cloth: ply.cloth,
        on_bias: on_bias(cloth.weave, &lines.cut.outer, zero, angle),
        cut: lines.cut,
        net: lines.net,
        zero,
        turns,
        tolerance: ply.angle_tolerance,
        sets: part.sets,
    };
    fit::check(part, ply, cloth, &piece)?;
    Ok(piece)
}

fn turned_over(outline: &Outline) -> Outline {
    Turn {
        angle: Angle::ZERO,
        face: crate::geometry::Face::Down,
    }
    .outline(outline)
}

/// How a ply is called in messages.
fn name(part: &Part, ply: &Ply) -> String {
    format!("ply {} of part `{}`", ply.n, part.name)
}

/// `length` for messages: `12.7 mm (0.50 in)`.
fn both(mm: f64) -> String {
    Length::mm(mm).in_mm_and_inches()
}
