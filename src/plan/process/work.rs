//! What the work takes beside cloth.

use std::collections::BTreeSet;
use std::sync::Arc;

use super::bagging::{self, BagUse, Laid};
use super::coat::CoatUse;
use super::mould::MouldUse;
use super::regions::ThicknessMap;
use super::shape::{
    Footprint, PlacedLayer, base, coarse, footprint, placed_cores, placed_plies, shift,
};
use super::ways::late_bags;
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{Bounds, Outline, Placement, Point, Region, Ring, Turn, largest_box};
use crate::job::{Job, Part, StackLayer};
use crate::nest::Effort;
use crate::plan::layout::label::label_for;
use crate::plan::{Label, PartUse, ResinUse};
use crate::ply::{Joint, Mark, MarkKind, Piece, Pieces};
use crate::units::Angle;

/// What the work takes beside cloth.
#[derive(Clone, Debug, Default)]
pub struct Work {
    /// The resin; `None` if the job does not say which, or what a fibre is.
    pub resin: Option<ResinUse>,
    /// The vacuum bags; `None` if the job has none.
    pub bagging: Option<BagUse>,
    /// Release for the moulds; `None` if the job does not say how they are made ready.
    pub mould: Option<MouldUse>,
    /// What is put on them before ply 1; `None` if the job has no gel coat.
    pub coat: Option<CoatUse>,
}

/// The shape of a ply on its part.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidPly {
    /// Its net outline to within 0.5 mm, in a frame whose x is the part's 0° direction, seen from
    /// the bag side.
    pub outline: Outline,
    /// For each of its openings, whether there is still cloth in it when it is laid: it is cut after cure.
    pub after_cure: Vec<bool>,
    /// Whether the drawing (or the job's `shift`) shows where it lies on the part.
    pub in_place: bool,
    /// Its pieces in the order of laying; empty where it is one piece.
    pub pieces: Vec<LaidPiece>,
}

/// A part as it is when it is trimmed and drilled: true to size, in the drawing's axes seen from the
/// bag side.
#[derive(Clone, Debug, PartialEq)]
pub struct FinishedPart {
    /// The net outline of its largest ply, with all openings.
    pub outline: Outline,
    /// Where any of its plies is to be drilled; a hole through several plies is there once.
    pub holes: Vec<Mark>,
    /// Its 0°.
    pub zero: Angle,
}

impl FinishedPart {
    /// Part `part_idx`, of whose `plies` the job's `pieces` are cut.
    fn of(
        part: &Part,
        part_idx: usize,
        plies: &[PlacedLayer],
        pieces: &[Arc<Piece>],
    ) -> Option<Self> {
        let base = base(plies)?;
        // What is drawn apart may lie anywhere.
        let is_on_it = |piece: &&Arc<Piece>| {
            let in_place = plies.iter().filter(|ply| ply.in_place);
            let mut layers = in_place.map(|ply| ply.layer);
            piece.part_idx() == part_idx
                && layers.any(|layer| StackLayer::Ply(piece.ply_idx()) == layer)
        };
        let holes = pieces.iter().filter(is_on_it).flat_map(|piece| {
            let placement = shift(part, piece.ply().shift);
            let holes = piece
                .marks()
                .iter()
                .filter(|mark| mark.kind == MarkKind::Drill);
            holes.map(move |mark| mark.placed(&placement))
        });
        Some(Self {
            outline: base.net.clone(),
            holes: each_once(holes),
            zero: zero_of(part_idx, pieces),
        })
    }
}

/// Drill marks of the plies of a part, a hole through several of them once.
fn each_once(holes: impl Iterator<Item = Mark>) -> Vec<Mark> {
    /// Holes nearer than this cannot be told apart with a drill, mm.
    const SAME_MM: f64 = 0.3;
    let mut taken = BTreeSet::new();
    holes
        .filter(|hole| {
            let Some(bounds) = Bounds::of(hole.points.iter().copied()) else {
                return false;
            };
            let cell = |mm: f64| (mm / SAME_MM).round() as i64;
            let (x, y) = (cell(bounds.centre().x), cell(bounds.centre().y));
            let near = (x - 1..=x + 1).flat_map(|x| (y - 1..=y + 1).map(move |y| (x, y)));
            let is_new = !near.into_iter().any(|cell| taken.contains(&cell));
            taken.insert((x, y));
            is_new
        })
        .collect()
}

/// A piece of a spliced ply where it lies on its part, in the frame of the ply's outline.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidPiece {
    /// `A`, `B`, … as in its id.
    pub letter: char,
    /// Its net outline to within 0.5 mm, laps included.
    pub outline: Outline,
    /// Where it meets its neighbours.
    pub joints: Vec<Joint>,
    /// A box for its id that is clear of the joints.
    pub label: Label,
}

/// The plies of part `part_idx` as they lie on it, and its `pieces`.
fn laid(job: &Job, part_idx: usize, plies: &[PlacedLayer], pieces: &[Arc<Piece>]) -> Vec<LaidPly> {
    let part = &job.parts()[part_idx];
    let turn = Turn::rotation(-zero_of(part_idx, pieces));
    let laid_piece = |piece: &Arc<Piece>| {
        // What is let in lies over a cut, and is drawn on the mould.
        let splice = piece.splice().filter(|_| !piece.is_gusset())?;
        let shift = shift(part, piece.ply().shift).shift;
        // The shift is in the drawing's axes; turned, it is in those of the part's 0°.
        let shift = turn.apply(Point::default() + shift) - Point::default();
        let placement = Placement { turn, shift };
        let clear = placement.outline(&coarse(&splice.clear));
        Some(LaidPiece {
            letter: splice.letter,
            outline: placement.outline(&coarse(piece.net())),
            joints: splice.joints.iter().map(|j| j.placed(&placement)).collect(),
            label: label_for(&piece.mate_id(1, splice.letter), &clear),
        })
    };
    plies
        .iter()
        .map(|ply| {
            let own = pieces
                .iter()
                .filter(|p| p.part_idx() == part_idx)
                .filter(|p| StackLayer::Ply(p.ply_idx()) == ply.layer);
            let own: Vec<&Arc<Piece>> = own.collect();
            let net = coarse(&ply.net);
            LaidPly {
                after_cure: after_cure(part, &net, &own),
                outline: turn.outline(&net),
                in_place: ply.in_place,
                pieces: own.into_iter().filter_map(laid_piece).collect(),
            }
        })
        .collect()
}

/// For each opening of `net`, a ply as it lies on `part`, whether one of its `pieces` has cloth there.
fn after_cure(part: &Part, net: &Outline, pieces: &[&Arc<Piece>]) -> Vec<bool> {
    let is_cloth = |opening: &Ring| {
        let middle = largest_box(&Outline::solid(opening.clone()), 1.0).centre;
        pieces.iter().any(|piece| {
            let by = shift(part, piece.ply().shift).shift;
            piece.cut().contains(middle - by)
        })
    };
    net.openings.iter().map(is_cloth).collect()
}

/// The part's 0° in the frame of its `pieces`.
fn zero_of(part_idx: usize, pieces: &[Arc<Piece>]) -> Angle {
    let first = pieces.iter().find(|piece| piece.part_idx() == part_idx);
    first.map_or(Angle::ZERO, |piece| piece.zero())
}

/// Warns of the cores of `part` that reach beyond it.
fn core_warnings(
    part: &PartUse,
    cores: &[PlacedLayer],
    footprint: Option<&Footprint>,
) -> Diagnostics {
    /// An edge along that of the part may be so much (mm) beyond it by rounding and flattening.
    const BESIDE: f64 = 0.1;
    let mut warnings = Diagnostics::new();
    for layer in cores {
        let StackLayer::Core(idx) = layer.layer else {
            continue;
        };
        let core = &part.part().cores[idx];
        if layer.in_place {
            let within = footprint
                .map(|part| Region::of(&part.boundary))
                .unwrap_or_default();
            let over = Region::of(&layer.net).difference(&within).area();
            if over > BESIDE * layer.net.perimeter() {
                let message = format!(
                    "core `{}` of part `{}` reaches over the edge of the part, by {:.0} cm² ({:.1} in²)",
                    core.name,
                    part.name(),
                    over / 100.0,
                    over / (25.4 * 25.4)
                );
                let help =
                    "plies end before it does: give it a smaller `step` or an outline of its own";
                warnings.push(
                    Diagnostic::warning(message)
                        .at(core.place.clone())
                        .help(help),
                );
            }
            continue;
        }
        let message = format!(
            "core `{}` of part `{}` is drawn beside the part, and is in no thickness by region",
            core.name,
            part.name()
        );
        let help = "say with `shift` how far it is from there to its place on the part";
        warnings.push(
            Diagnostic::warning(message)
                .at(core.place.clone())
                .help(help),
        );
    }
    warnings
}

/// How the parts lie, one after the other.
pub(in crate::plan) struct OnParts {
    footprints: Vec<Footprint>,
    /// The 0° of each.
    zeros: Vec<Angle>,
}

impl Work {
    /// What `job` takes for its `pieces`, which become `parts`; and what is to be said of it. Tells each
    /// part how its plies lie and what one set of it takes.
    pub(in crate::plan) fn of(
        job: &Job,
        pieces: &Pieces,
        parts: &mut [PartUse],
        effort: Effort,
    ) -> Result<(Self, Diagnostics), Diagnostic> {
        let (mut work, mut remarks, on_parts) = Self::before_bags(job, pieces, parts);
        let (Some(setup), Some(OnParts { footprints, zeros })) = (job.bagging(), on_parts) else {
            return Ok((work, remarks));
        };
        let laid: Vec<Laid<'_>> = parts
            .iter()
            .enumerate()
            .map(|(idx, part)| Laid {
                part,
                footprint: &footprints[idx],
                zero: zeros[idx],
                tool: job.parts()[idx].tool,
            })
            .collect();
        let (bags, of_parts, more) = bagging::bags(setup, &laid, job.outputs().frame, effort)?;
        work.bagging = Some(bags);
        for (part, bag) in parts.iter_mut().zip(of_parts) {
            part.bag = Some(bag);
        }
        remarks.append(more);
        Ok((work, remarks))
    }

    /// The same without the bags, and where every part is drawn how it lies.
    pub(in crate::plan) fn before_bags(
        job: &Job,
        pieces: &Pieces,
        parts: &mut [PartUse],
    ) -> (Self, Diagnostics, Option<OnParts>) {
        let mut remarks = Diagnostics::new();
        let plies: Vec<Vec<PlacedLayer>> = (0..parts.len())
            .map(|part_idx| placed_plies(job, part_idx, pieces))
            .collect();
        let zeros: Vec<Angle> = (0..parts.len()).map(|idx| zero_of(idx, pieces)).collect();
        for (idx, part) in parts.iter_mut().enumerate() {
            part.laid = laid(job, idx, &plies[idx], pieces);
            part.finished = FinishedPart::of(&job.parts()[idx], idx, &plies[idx], pieces);
            let cores = placed_cores(job, idx, pieces.cores(), &plies[idx]);
            part.thickness = ThicknessMap::of(job, idx, part, [&plies[idx], &cores], zeros[idx]);
            let turn = Turn::rotation(-zeros[idx]);
            for (of, placed) in part.cores.iter_mut().zip(&cores) {
                of.outline = turn.outline(&coarse(&placed.net));
            }
            remarks.append(core_warnings(part, &cores, footprint(&plies[idx]).as_ref()));
        }
        // Every part has plies, or the job would not have been read.
        let footprints: Option<Vec<Footprint>> = plies.iter().map(|p| footprint(p)).collect();
        let mut footprints = footprints.unwrap_or_default();
        for (footprint, part) in footprints.iter_mut().zip(parts.iter()) {
            if let Some(first) = part.drapes().first() {
                footprint.on_mould(first);
            }
        }
        let mut work = Self {
            resin: ResinUse::of(job, parts),
            ..Self::default()
        };
        late_bags(parts).for_each(|warning| remarks.push(warning));
        if footprints.len() != parts.len() {
            return (work, remarks, None);
        }
        if let Some(setup) = job.mould() {
            work.mould = Some(MouldUse::of(setup, parts, &footprints));
        }
        if let Some(setup) = job.gel_coat() {
            work.coat = Some(CoatUse::of(setup, parts, &footprints));
        }
        (work, remarks, Some(OnParts { footprints, zeros }))
    }
}
