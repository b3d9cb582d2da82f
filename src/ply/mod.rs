//! Laminate schedule + outlines → pieces to cut: steps, allowances, permitted turns, labels.
//!
//! A [`Piece`] is a ply's cut line and net line in the pattern frame (seen from the bag side), with
//! every turn under which its cloth may be cut. It can only be made here, so holding one is proof
//! that its outline exists, that its allowance is a true offset, and that it fits the usable width
//! of its cloth in at least one permitted turn.
//!
//! # Example
//!
//! How a cloth may be turned for a ply at 45° on a part whose 0° is the drawing's +x:
//!
//! ```
//! use warpwise::cloth::Weave;
//! use warpwise::job::Job;
//! use warpwise::ply::permitted_turns;
//! use warpwise::units::{Angle, PlyAngle};
//!
//! let turns_of = |weave: Weave| {
//!     let text = format!(
//!         "[cloth.c]\nweave = \"{}\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
//!          [[part]]\nname = \"A\"\npattern = \"a.svg\"\ncloth = \"c\"\nlayup = \"[45]\"\n",
//!         weave.word()
//!     );
//!     let (job, _) = Job::read("job.toml", &text).unwrap();
//!     let (zero, angle) = (Angle::ZERO, PlyAngle::degrees(45.0));
//!     permitted_turns(&job.cloths()[0], zero, angle, false)
//! };
//! // Warp along the roll: the piece is turned by -45°, or from there by half a turn.
//! let unidirectional = turns_of(Weave::Unidirectional);
//! assert_eq!(unidirectional.len(), 2);
//! assert!(unidirectional.iter().any(|turn| turn.angle.as_rotation() == Angle::degrees(315.0)));
//! // A plain weave may also be turned by a quarter, and laid face down.
//! assert_eq!(turns_of(Weave::Plain).len(), 8);
//! ```
//!
//! The whole way from drawing and job to pieces is in the [crate's example](crate#example).

mod bias;
mod circles;
mod core;
mod cutline;
mod division;
mod edges;
pub(crate) mod fit;
pub(crate) mod gusset;
mod marks;
mod mould;
mod pieces;
mod quantity;
mod ravel;
mod run_on;
mod select;
mod splice;
mod turns;

use std::sync::Arc;

pub use bias::{Bias, longest_strip};
pub use circles::ON_ARC_MM;
pub use core::CoreShape;
pub use marks::{Mark, MarkKind};
pub use mould::StartLines;
pub use pieces::Pieces;
pub use ravel::EdgeTape;
pub use run_on::RunOn;
pub use splice::{Joint, Lies, Splice};
pub use turns::{on_bias, permitted_turns};

use crate::cloth::{Cloth, line_under};
use crate::diag::{Diagnostic, Diagnostics};
use crate::drape::Drape;
use crate::geometry::{Bounds, Circle, Join, Outline, Point, Ring, Turn, offset};
use crate::inputs::Inputs;
use crate::job::{Job, Part, Ply};
use crate::pattern::{Pattern, PatternOutline, Role};
use crate::units::{Angle, Length};
use division::Wholes;

/// One ply's shape: everything its pieces (one per set) have in common.
#[derive(Clone, Debug)]
pub struct Piece {
    job: Arc<Job>,
    part: usize,
    ply: usize,
    cloth: usize,
    cut: Outline,
    net: Outline,
    marks: Vec<Mark>,
    circles: Vec<Circle>,
    zero: Angle,
    usable_width: Length,
    turns: Vec<Turn>,
    tolerance: Angle,
    on_bias: bool,
    splice: Option<Splice>,
    sets: u32,
    laid: Option<Laid>,
    run_on: Option<RunOn>,
}

/// How a ply lies on a mould.
#[derive(Clone, Debug)]
struct Laid {
    drape: Arc<Drape>,
    /// As it would lie on the mould itself.
    on_mould: Arc<Drape>,
    /// The edge of the part, the same for all its plies: flat outlines differ by direction.
    edge: Outline,
}

impl Piece {
    /// Index into [`Job::parts`].
    #[must_use]
    pub fn part_idx(&self) -> usize {
        self.part
    }

    /// The part that it is of.
    #[must_use]
    pub fn part(&self) -> &Part {
        &self.job.parts()[self.part]
    }

    /// Index into the part's plies.
    #[must_use]
    pub fn ply_idx(&self) -> usize {
        self.ply
    }

    /// The ply that it is of.
    #[must_use]
    pub fn ply(&self) -> &Ply {
        &self.part().plies[self.ply]
    }

    /// Index into [`Job::cloths`].
    #[must_use]
    pub fn cloth_idx(&self) -> usize {
        self.cloth
    }

    /// The cloth that it is cut from, as the job describes it.
    #[must_use]
    pub fn cloth(&self) -> &Cloth {
        &self.job.cloths()[self.cloth]
    }

    /// Usable width of the roll that is bought for it.
    #[must_use]
    pub fn usable_width(&self) -> Length {
        self.usable_width
    }

    /// Where the cloth is cut; pattern frame, seen from the bag side, mm.
    #[must_use]
    pub fn cut(&self) -> &Outline {
        &self.cut
    }

    /// Where the finished part ends, stepped; same frame.
    #[must_use]
    pub fn net(&self) -> &Outline {
        &self.net
    }

    /// What of the part it covers, in the same frame: inside the net line, but for a ply on a mould inside an edge that
    /// is the same for all plies of the part.
    #[must_use]
    pub fn on_part(&self) -> &Outline {
        self.laid.as_ref().map_or(&self.net, |laid| &laid.edge)
    }

    /// How its ply lies on the mould and what is on it before; `None` for one that is drawn flat.
    #[must_use]
    pub fn drape(&self) -> Option<&Drape> {
        Some(&self.laid.as_ref()?.drape)
    }

    /// How its ply would lie on the mould itself, without the plies beneath.
    #[must_use]
    pub fn drape_on_mould(&self) -> Option<&Drape> {
        Some(&self.laid.as_ref()?.on_mould)
    }

    /// Notches and drill marks of the drawing; same frame.
    #[must_use]
    pub fn marks(&self) -> &[Mark] {
        &self.marks
    }

    /// Circles that arcs of both lines lie on, known from the drawing; same frame. Empty where the
    /// job wants chords.
    #[must_use]
    pub fn circles(&self) -> &[Circle] {
        &self.circles
    }

    /// Direction of the part's 0° in that frame.
    #[must_use]
    pub fn zero(&self) -> Angle {
        self.zero
    }

    /// Permitted turns from that frame to the roll frame, where the warp runs along x.
    #[must_use]
    pub fn turns(&self) -> &[Turn] {
        &self.turns
    }

    /// How far the layout may turn it off, to either side.
    #[must_use]
    pub fn tolerance(&self) -> Angle {
        self.tolerance
    }

    /// Whether its warp runs neither along nor across its long direction.
    #[must_use]
    pub fn on_bias(&self) -> bool {
        self.on_bias
    }

    /// What is particular to it as a piece of a divided ply; none where the ply is one piece.
    #[must_use]
    pub fn splice(&self) -> Option<&Splice> {
        self.splice.as_ref()
    }

    /// How its pattern is to lie, where lines run on from it into other pieces or from them.
    #[must_use]
    pub fn run_on(&self) -> Option<&RunOn> {
        self.run_on.as_ref()
    }

    /// How many are cut: the part's sets, or the quantity in the drawing where the job says none.
    #[must_use]
    pub fn sets(&self) -> u32 {
        self.sets
    }

    /// `PART-PLY`, and `-A`, `-B` … where the ply is divided.
    #[must_use]
    pub fn name(&self) -> String {
        let name = format!("{}-{}", self.part().name, self.ply().n);
        match &self.splice {
            Some(splice) => format!("{name}-{}", splice.letter),
            None => name,
        }
    }

    /// The name of the piece `letter` of the same ply.
    #[must_use]
    pub fn mate_name(&self, letter: char) -> String {
        format!("{}-{}-{letter}", self.part().name, self.ply().n)
    }

    /// The name, and `#SET` where the part is made more than once.
    #[must_use]
    pub fn id(&self, set: u32) -> String {
        self.of_set(self.name(), set)
    }

    /// The id of the piece `letter` of the same ply and set.
    #[must_use]
    pub fn mate_id(&self, set: u32, letter: char) -> String {
        self.of_set(self.mate_name(letter), set)
    }

    fn of_set(&self, name: String, set: u32) -> String {
        if self.sets > 1 {
            format!("{name}#{set}")
        } else {
            name
        }
    }

    /// A piece with these lines (cut and net) of a ply, by its part and place in it.
    #[cfg(test)]
    pub(crate) fn made(
        job: &Arc<Job>,
        (part, ply): (usize, usize),
        [cut, net]: [Outline; 2],
        zero: Angle,
        on_bias: bool,
    ) -> Self {
        let of = &job.parts()[part];
        let own = &of.plies[ply];
        let cloth = &job.cloths()[own.cloth];
        Self {
            job: Arc::clone(job),
            part,
            ply,
            cloth: own.cloth,
            turns: turns::of_ply(cloth, zero, of, own),
            cut,
            net,
            marks: Vec::new(),
            circles: Vec::new(),
            zero,
            usable_width: cloth.usable_width(),
            tolerance: Angle::ZERO,
            on_bias,
            splice: None,
            sets: of.sets,
            laid: None,
            run_on: None,
        }
    }

    /// Where the line of its cloth runs on the part, from its 0°, seen from the bag side, if it is cut under `turn`;
    /// `None` unless the ply will be seen and the job tells of lines.
    #[must_use]
    pub fn line_under(&self, turn: Turn) -> Option<Angle> {
        let cloth = self.cloth();
        let is_told = cloth.look.line.is_some() || self.part().lines.is_some();
        let line = cloth.line().filter(|_| is_told && self.ply().appearance)?;
        Some((line_under(line, turn) - self.zero).as_fibre())
    }

    /// Direction of the warp in the frame of its lines.
    #[must_use]
    pub fn warp(&self) -> Angle {
        self.turns.first().map_or(Angle::ZERO, |t| -t.angle)
    }
}

/// Returns the pieces of the job of `inputs`, with warnings.
///
/// # Errors
/// Every problem found: an outline or 0° line that is not there, an allowance that cannot be made,
/// a piece that is too wide for its cloth at every permitted turn.
pub fn pieces(inputs: &Inputs) -> Result<(Pieces, Diagnostics), Diagnostics> {
    let job = inputs.job();
    let mut problems = Diagnostics::new();
    let mut wholes = Wholes::default();
    let mut cores = Vec::new();
    for (part_idx, part) in job.parts().iter().enumerate() {
        let pattern = inputs.pattern(part);
        wholes.keep_out.push(keep_out(part, pattern));
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
            .map(|ply| {
                let drape = inputs.drapes(part, ply).map(|[drape, ..]| &**drape);
                (ply, select::outline_of_ply(part, ply, pattern, drape))
            })
            .collect();
        let drawn: Vec<&PatternOutline> = chosen
            .iter()
            .filter_map(|(_, drawn)| drawn.as_ref().ok().copied())
            .collect();
        let sets = quantity::sets(part, &drawn, &mut problems);
        quantity::check_plies(part, pattern, &drawn, &mut problems);
        let first = part.plies.first().and_then(|ply| inputs.drapes(part, ply));
        let edge = first.map(|[.., first]| first.uncut());
        for (core, of) in part.cores.iter().enumerate() {
            match core::outline(part, of, pattern, edge) {
                Ok(outline) => cores.push(CoreShape {
                    part: part_idx,
                    core,
                    outline: outline.writable(),
                }),
                Err(problem) => tell(problem, &mut problems),
            }
        }
        for (position, (ply, drawn)) in chosen.into_iter().enumerate() {
            let made = drawn.and_then(|drawn| {
                let within = PlyIn {
                    job,
                    part,
                    ply,
                    part_idx,
                    position,
                    sets,
                    pattern,
                    zero,
                    drapes: inputs.drapes(part, ply),
                };
                piece(&within, drawn, &mut problems)
            });
            match made {
                Ok(whole) => {
                    let gussets = whole.gussets(part.view.turn());
                    wholes.plies.push(whole);
                    wholes.plies.extend(gussets);
                }
                // Plies that share a faulty setting share its message.
                Err(problem) => tell(problem, &mut problems),
            }
        }
    }
    let ways = wholes.fitting_ways(job);
    let mut divided = wholes.divided(job, &ways);
    let misfits = std::mem::take(&mut divided.misfits).into_iter();
    misfits.for_each(|(_, problem)| problems.push(problem));
    problems.append(std::mem::take(&mut divided.apart));
    quantity::check_pieces(&divided.list, &mut problems);
    quantity::check_bags(job, &divided.list, &mut problems);
    let pieces = Pieces {
        job: Arc::clone(job),
        wholes: Arc::new(wholes),
        ways,
        offered: Diagnostics::new(),
        list: Vec::new(),
        cores,
    };
    let (pieces, said) = pieces.of(divided);
    problems.append(said);
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
    job: &'a Arc<Job>,
    /// Index into the parts of the job.
    part_idx: usize,
    part: &'a Part,
    ply: &'a Ply,
    /// Its position in the schedule, from 0.
    position: usize,
    /// How many sets of the part are made.
    sets: u32,
    pattern: &'a Pattern,
    zero: Angle,
    /// How it lies, how it would on the mould itself, and how the first ply does.
    drapes: Option<[&'a Arc<Drape>; 3]>,
}

/// The piece of one ply with the outline `drawn`.
fn piece(
    within: &PlyIn<'_>,
    drawn: &PatternOutline,
    problems: &mut Diagnostics,
) -> Result<Piece, Diagnostic> {
    let &PlyIn { job, part, ply, .. } = within;
    let cloth = &job.cloths()[ply.cloth];
    // From the bag side everything below is the same, so a tool-side drawing is turned over here.
    let turn = part.view.turn();
    let zero = turn.direction(within.zero);
    let angle = part.angle_of(ply);
    let lines = cutline::lines(within, drawn, turn, problems)?;
    let turns = turns::of_ply(cloth, zero, part, ply);
    let piece = Piece {
        job: Arc::clone(job),
        part: within.part_idx,
        ply: within.position,
        cloth: ply.cloth,
        on_bias: on_bias(cloth.weave, &lines.cut.outer, zero, angle),
        marks: marks::of_outline(within.pattern, drawn, turn, &lines.net, &lines.cut),
        circles: circles::of_lines(within, turn, [&lines.net, &lines.cut]),
        cut: lines.cut.writable(),
        net: lines.net.writable(),
        zero,
        usable_width: cloth.usable_width(),
        turns,
        tolerance: ply.cutting.angle_tolerance,
        splice: None,
        sets: within.sets,
        laid: laid(within, turn, problems)?,
        run_on: None,
    };
    Ok(piece)
}

/// How the ply lies on its mould, if it does; what is to be known of that goes to `problems`.
fn laid(
    within: &PlyIn<'_>,
    turn: Turn,
    problems: &mut Diagnostics,
) -> Result<Option<Laid>, Diagnostic> {
    let Some([drape, on_mould, first]) = within.drapes else {
        return Ok(None);
    };
    mould::tell(within, on_mould, problems);
    let edge = turn.outline(first.uncut());
    let edge = offset(&edge, within.ply.step.to_mm(), Join::Round);
    Ok(Some(Laid {
        drape: Arc::clone(drape),
        on_mould: Arc::clone(on_mould),
        edge: edge.map_err(|e| {
            cutline::offset_failed(within.part, within.ply, "step", within.ply.step.to_mm(), e)
        })?,
    }))
}

/// The outline that `ply` takes from the drawing of its part; `None` if it is not clear which.
pub(crate) fn chosen_outline<'a>(
    part: &Part,
    ply: &Ply,
    pattern: &'a Pattern,
) -> Option<&'a PatternOutline> {
    select::outline_of_ply(part, ply, pattern, None).ok()
}

/// Where no splice may lie: the keep-out areas of the drawing and of the job, seen from the bag
/// side.
fn keep_out(part: &Part, pattern: &Pattern) -> Vec<Ring> {
    let turn = part.view.turn();
    let drawn = pattern
        .marks()
        .iter()
        .filter(|m| m.role == Role::KeepOut && m.closed)
        .map(|m| m.points.clone());
    let corners = |b: &Bounds| {
        let (low, high) = (b.min, b.max);
        vec![
            low,
            Point::new(high.x, low.y),
            high,
            Point::new(low.x, high.y),
        ]
    };
    let stated = part.keep_out.iter().map(corners);
    drawn
        .chain(stated)
        .filter_map(|points| Ring::new(points.into_iter().map(|p| turn.apply(p))).ok())
        .collect()
}

/// Names listed in a message; more would hide the message.
const MOST_LISTED: usize = 12;

/// Names for a message.
fn list_of(names: &[String]) -> String {
    let mut text: Vec<String> = names
        .iter()
        .take(MOST_LISTED)
        .map(|n| format!("`{n}`"))
        .collect();
    if names.len() > MOST_LISTED {
        text.push(format!("and {} more", names.len() - MOST_LISTED));
    }
    text.join(", ")
}

/// How a ply is called in messages.
fn name(part: &Part, ply: &Ply) -> String {
    format!("ply {} of part `{}`", ply.n, part.name)
}

/// `length` for messages: `12.7 mm (0.50 in)`.
fn both(mm: f64) -> String {
    Length::mm(mm).in_mm_and_inches()
}
