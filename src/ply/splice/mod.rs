//! Plies larger than their cloth: where they are divided, and the pieces that come of it.
//!
//! A ply is divided by parallel lines along or across its warp. In a lap joint each line is the
//! middle of a strip that both neighbours cover; in a butt joint both end at it. The work is done
//! in a frame in which the lines are level: `seams` knows where none may lie, `bands` what two of
//! them leave of the ply, `search` chooses, `join` makes the pieces.
//!
//! The pieces of a division hold all of the ply: their net areas add up to the ply's and its laps.

mod bands;
mod join;
mod seams;
mod search;

pub(super) use seams::Seams;

use super::{Piece, both, fit, name};
use crate::cloth::Cloth;
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{Outline, Placement, Point, Ring, Turn, Vector};
use crate::job::{JointKind, SpliceLines};
use crate::units::{Angle, Length};
use bands::Bands;
use search::{Direction, NoSplice};

/// What is particular to a piece of a divided ply.
#[derive(Clone, Debug, PartialEq)]
pub struct Splice {
    /// `A`, `B`, …: the order in which the pieces are laid; from `G` on those that are let in where cuts open on a mould.
    pub letter: char,
    /// How many pieces the ply has.
    pub of: usize,
    /// Where it meets its neighbours; nowhere, if it is let in.
    pub joints: Vec<Joint>,
    /// Net area that lies on pieces laid before it, mm².
    pub lap_area: f64,
    /// The part of the cut line's inside that is clear of the joints: room for the label.
    pub clear: Outline,
}

/// Where a piece meets a neighbour of the same ply.
#[derive(Clone, Debug, PartialEq)]
pub struct Joint {
    /// How.
    pub kind: JointKind,
    /// Letter of the neighbour.
    pub mate: char,
    /// How the two lie.
    pub lies: Lies,
    /// How far one lies on the other; zero in a butt joint.
    pub lap: Length,
    /// Where the neighbour's edge comes to lie on this piece, from cut line to cut line; mm, in
    /// the frame of the piece's lines. In a butt joint that is the piece's own edge.
    pub line: [Point; 2],
    /// Unit vector from that line into the piece, away from the joint.
    pub inward: Vector,
}

/// How a piece lies against a neighbour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Lies {
    /// Beneath it: this one is laid first.
    Under,
    /// On top of it.
    Over,
    /// Edge to edge with it.
    Beside,
}

impl Lies {
    /// The word for it in `plan.json`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Under => "under",
            Self::Over => "over",
            Self::Beside => "beside",
        }
    }
}

impl Joint {
    /// The joint where `placement` puts it.
    #[must_use]
    pub fn placed(&self, placement: &Placement) -> Self {
        Self {
            line: self.line.map(|p| placement.apply(p)),
            inward: turned(placement.turn, self.inward),
            ..self.clone()
        }
    }
}

fn turned(turn: Turn, v: Vector) -> Vector {
    turn.apply(Point::new(v.x, v.y)) - Point::default()
}

/// The pieces of a ply that is larger than its `cloth`, as it is bought, and may be divided; its seams
/// are remembered in `seams`.
pub(super) fn divide(
    whole: &Piece,
    cloth: &Cloth,
    keep_out: &[Ring],
    seams: &mut Seams,
    problems: &mut Diagnostics,
) -> Result<Vec<Piece>, Diagnostic> {
    let (part, ply) = (whole.part(), whole.ply());
    let fail = |message: String, help: &str| {
        Err(Diagnostic::error(message)
            .at(ply.place.clone())
            .help(help.to_owned()))
    };
    let Some(joint) = ply.cutting.splice.joint else {
        return fail(
            format!("{} may not be divided", name(part, ply)),
            "permit it with `splice`",
        );
    };
    let directions = match directions(cloth, joint, ply.cutting.splice.lines) {
        Ok(directions) => directions,
        Err((why, help)) => {
            return fail(
                format!("{} cannot be divided: {why}", name(part, ply)),
                help,
            );
        }
    };
    let lap = match joint {
        JointKind::Lap => ply.cutting.splice.lap.to_mm(),
        JointKind::Butt => 0.0,
    };
    let mut found = Vec::new();
    let mut failures = Vec::new();
    for direction in directions {
        let frame = frame(whole, direction);
        let mut bands = Bands::new(whole, frame, lap, cloth);
        let barred = seams.barred(whole, frame, lap, keep_out);
        match search::best(&mut bands, &barred, cloth, whole.sets) {
            Ok(choice) => found.push((direction, bands, choice)),
            Err(failure) => failures.push((direction, failure)),
        }
    }
    let best = found
        .into_iter()
        .min_by(|a, b| a.2.cost.total_cmp(&b.2.cost));
    let Some((direction, mut bands, choice)) = best else {
        if failures.iter().all(|(_, why)| *why == NoSplice::NoFit)
            && let Some(problem) = fit::too_large(cloth, whole)
        {
            return Err(problem);
        }
        let reasons: Vec<String> = failures
            .iter()
            .map(|(direction, failure)| failure.in_words(*direction, ply.cutting.splice.stagger))
            .collect();
        return fail(
            format!(
                "{} cannot be divided so that it fits `{}`: {}",
                name(part, ply),
                cloth.name,
                reasons.join("; ")
            ),
            "a smaller `lap` or `stagger`, smaller keep-out areas, `splice_lines = \"either\"` or \
             a wider roll would help",
        );
    };
    let pieces = join::pieces(whole, &mut bands, &choice.at, joint);
    if pieces.len() > MOST_PIECES {
        return Err(too_many(whole, pieces.len()));
    }
    let kept: f64 = pieces.iter().map(net_of_its_own).sum();
    if (kept - whole.net.area()).abs() > ADDS_UP_MM2 {
        return fail(
            format!(
                "the pieces of {} do not add up to it: {kept:.1} mm² of {:.1} mm²",
                name(part, ply),
                whole.net.area()
            ),
            "this is a fault of warpwise, not of the job; please report it",
        );
    }
    seams.remember(whole, &bands, &choice.at);
    tell(cloth, whole, direction, &pieces, problems);
    Ok(pieces)
}

/// A ply falls into more pieces than have letters.
pub(super) fn too_many(whole: &Piece, n: usize) -> Diagnostic {
    let (part, ply) = (whole.part(), whole.ply());
    let message = format!("{} would fall into {n} pieces", name(part, ply));
    Diagnostic::error(message)
        .at(ply.place.clone())
        .help("use a wider roll, or divide the ply in the drawing")
}

/// Net areas of pieces, laps counted once, make up the ply to within this, mm².
const ADDS_UP_MM2: f64 = 1.0;

/// Net area of a piece that lies on no piece laid before it.
fn net_of_its_own(piece: &Piece) -> f64 {
    piece.net.area() - piece.splice.as_ref().map_or(0.0, |s| s.lap_area)
}

/// As many as there are letters.
const MOST_PIECES: usize = 26;

/// In which directions lines may run, or why in none and what to do.
fn directions(
    cloth: &Cloth,
    joint: JointKind,
    lines: Option<SpliceLines>,
) -> Result<Vec<Direction>, (&'static str, &'static str)> {
    use Direction::{Across, Along};
    if joint == JointKind::Butt && cloth.weave.fibres().len() > 1 {
        return Err((
            "a butt joint would cut fibres of its cloth in whatever direction it runs",
            "use `splice = \"lap\"`; butt joints are for unidirectional cloth, along its fibres",
        ));
    }
    Ok(match lines {
        Some(SpliceLines::Along) => vec![Along],
        Some(SpliceLines::Across) => vec![Across],
        Some(SpliceLines::Either) => vec![Along, Across],
        None if cloth.weave.runs_one_way() => vec![Along],
        None => vec![Along, Across],
    })
}

/// The turn from the pattern frame to one where lines along `direction` are level.
fn frame(whole: &Piece, direction: Direction) -> Turn {
    let straight = whole.turns.first().map_or(Angle::ZERO, |t| t.angle);
    Turn::rotation(match direction {
        Direction::Along => straight,
        Direction::Across => straight + Angle::degrees(90.0),
    })
}

/// Says what was done, and what to mind.
fn tell(
    cloth: &Cloth,
    whole: &Piece,
    direction: Direction,
    pieces: &[Piece],
    problems: &mut Diagnostics,
) {
    let (part, ply) = (whole.part(), whole.ply());
    let joint = match ply.cutting.splice.joint {
        Some(JointKind::Butt) => "butt joints".to_owned(),
        _ => format!("laps of {}", both(ply.cutting.splice.lap.to_mm())),
    };
    let too_wide = fit::narrowest(whole) - cloth.usable_width().to_mm();
    let what = if too_wide > 0.0 {
        format!("{} too wide for `{}`", fit::excess(too_wide), cloth.name)
    } else {
        format!("too long for the cutting table of `{}`", cloth.name)
    };
    let of_width = match cloth.supply.offers.is_empty() {
        true => String::new(),
        false => format!(", {} wide,", cloth.roll_width.in_mm_and_inches()),
    };
    let message = format!(
        "{} is {what}{of_width} and is made of {} pieces with {joint} {} the warp",
        name(part, ply),
        pieces.len(),
        direction.word(),
    );
    problems.push(Diagnostic::note(message).at(ply.place.clone()));
    if cloth.weave.runs_one_way() && direction == Direction::Across {
        let message = format!(
            "the splice of {} cuts the fibres of its unidirectional cloth",
            name(part, ply)
        );
        let help = "the job permits it with `splice_lines`; along the fibres nothing is cut";
        problems.push(
            Diagnostic::warning(message)
                .at(ply.place.clone())
                .help(help),
        );
    }
    if ply.appearance {
        let message = format!("{} will be seen, and its splice with it", name(part, ply));
        let help = "a wider roll or a keep-out area can move the splice";
        problems.push(
            Diagnostic::warning(message)
                .at(ply.place.clone())
                .help(help),
        );
    }
}
