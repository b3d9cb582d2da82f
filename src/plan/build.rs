//! Pieces → layouts → plan.

use super::label::label_for;
use super::order::{self, CutOrder};
use super::{ClothUse, Layout, PartUse, PlacedPiece, Plan, PlyUse, Waste};
use crate::cloth::{Cloth, Purchase, Weave};
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{Face, Placement, Turn, Vector};
use crate::job::{Job, Side};
use crate::nest::{self, Container, Continue, Effort, NestError, Problem, Progress, Shape};
use crate::ply::Piece;
use crate::units::{Angle, Area, Length};

/// How hard to search, and how to call it.
#[derive(Clone, Debug, PartialEq)]
pub struct Settings {
    /// Work to spend on the whole job.
    pub effort: Effort,
    /// The effort as the user named it, for the report.
    pub effort_name: String,
    /// Seed of the search.
    pub seed: u64,
    /// Threads; the result of a named effort does not depend on it.
    pub threads: usize,
}

/// How far the plan has come.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step<'a> {
    /// The cloth that is being laid out.
    pub cloth: &'a str,
    /// Its place among the cloths with pieces, from 0.
    pub index: usize,
    /// How many cloths have pieces.
    pub of: usize,
    /// Used length of the best layout so far, end margins included.
    pub length: Length,
    /// Σ cut area / (roll width × that length), 0 … 1.
    pub utilisation: f64,
    /// Share of the work on this cloth that is done, 0 … 1.
    pub done: f64,
    /// Share of the work on all cloths that is done, 0 … 1.
    pub job_done: f64,
}

/// Told of every [`Step`]; answers whether to go on searching.
pub type Observer<'a> = dyn Fn(Step<'_>) -> Continue + Sync + 'a;

/// Returns the plan of `job` for its `pieces`.
///
/// # Errors
/// A piece that cannot be placed on its cloth. [`crate::ply::pieces`] refuses those that are too
/// wide, so this is the exception.
pub fn build(
    job: &Job,
    pieces: &[Piece],
    settings: &Settings,
    observe: &Observer<'_>,
) -> Result<Plan, Diagnostics> {
    let by_cloth: Vec<(&Cloth, Vec<&Piece>)> = job
        .cloths
        .iter()
        .enumerate()
        .map(|(idx, cloth)| (cloth, pieces.iter().filter(|p| p.cloth == idx).collect()))
        .filter(|(_, pieces): &(_, Vec<_>)| !pieces.is_empty())
        .collect();
    let shares = shares(settings.effort, by_cloth.iter().map(|(_, pieces)| pieces));

    let mut layouts = Vec::new();
    let mut cloths = Vec::new();
    let mut before = 0.0;
    for (index, ((cloth, pieces), share)) in by_cloth.iter().zip(shares).enumerate() {
        let settings = nest::Settings {
            effort: match settings.effort {
                Effort::Seconds(all) => Effort::Seconds(all * share),
                named => named,
            },
            seed: settings.seed,
            threads: settings.threads,
        };
        let kinds = Kind::collect(pieces);
        let cut_area: f64 = kinds.iter().map(Kind::cut_area).sum();
        let problem = problem(cloth, &kinds);
        let told = |progress: Progress| {
            let length = Length::mm(progress.length) + cloth.end_margin * 2.0;
            observe(Step {
                cloth: &cloth.name,
                index,
                of: by_cloth.len(),
                length,
                utilisation: cut_area / (cloth.roll_width * length).to_mm2(),
                done: progress.done,
                job_done: before + share * progress.done,
            })
        };
        let found = nest::nest(&problem, &settings, &told)
            .map_err(|e| does_not_nest(job, cloth, &kinds, &e))?;
        let mut layout = layout(job, cloth, &kinds, &found);
        order::arrange(&mut layout, job.outputs.frame);
        cloths.push(cloth_use(cloth, pieces, &layout));
        layouts.push(layout);
        before += share;
    }
    Ok(Plan {
        title: job.title.clone(),
        seed: settings.seed,
        effort: settings.effort_name.clone(),
        cloths,
        layouts,
        parts: parts(job, pieces),
        outputs: job.outputs.clone(),
        remarks: Diagnostics::new(),
    })
}

/// The share of each cloth in the work on the whole job, for the pieces of each.
fn shares<'a>(effort: Effort, by_cloth: impl Iterator<Item = &'a Vec<&'a Piece>>) -> Vec<f64> {
    let weights: Vec<f64> = by_cloth
        .map(|pieces| {
            let n: u32 = pieces.iter().map(|p| p.sets).sum();
            match effort {
                Effort::Seconds(_) => f64::from(n),
                // As the search itself grows with the pieces under a named effort.
                _ => f64::from(n).sqrt(),
            }
        })
        .collect();
    let all: f64 = weights.iter().sum();
    weights.iter().map(|w| w / all).collect()
}

/// Pieces that are alike on the cutting table: same cut line, same turns.
struct Kind<'a> {
    /// The first of them.
    like: &'a Piece,
    /// Every piece with its set, in the order of the job.
    members: Vec<(&'a Piece, u32)>,
}

impl<'a> Kind<'a> {
    /// The kinds among `pieces`, in the order of the job.
    fn collect(pieces: &[&'a Piece]) -> Vec<Self> {
        let mut kinds: Vec<Self> = Vec::new();
        for &piece in pieces {
            let members = (1..=piece.sets).map(|set| (piece, set));
            let alike = |kind: &&mut Self| {
                kind.like.tolerance == piece.tolerance
                    && kind.like.turns == piece.turns
                    && kind.like.cut == piece.cut
            };
            match kinds.iter_mut().find(alike) {
                Some(kind) => kind.members.extend(members),
                None => kinds.push(Self {
                    like: piece,
                    members: members.collect(),
                }),
            }
        }
        kinds
    }

    fn cut_area(&self) -> f64 {
        self.like.cut.area() * self.members.len() as f64
    }
}

fn problem(cloth: &Cloth, kinds: &[Kind<'_>]) -> Problem {
    Problem {
        shapes: kinds
            .iter()
            .map(|kind| Shape {
                outline: kind.like.cut.clone(),
                turns: kind.like.turns.clone(),
                tolerance: kind.like.tolerance,
                demand: kind.members.len(),
            })
            .collect(),
        container: Container::strip(cloth.usable_width().to_mm()),
        gap: cloth.gap.to_mm(),
    }
}

fn does_not_nest(job: &Job, cloth: &Cloth, kinds: &[Kind<'_>], error: &NestError) -> Diagnostic {
    let (NestError::DoesNotFit { shape } | NestError::NoTurn { shape }) = error;
    let piece = kinds[*shape].like;
    let id = piece.id(job, 1);
    Diagnostic::error(format!(
        "piece {id} has no place on `{}` in any permitted turn",
        cloth.name
    ))
    .at(job.parts[piece.part].plies[piece.ply].place.clone())
}

/// The layout in the roll frame: the strip's corner goes to (end margin, selvedge).
fn layout(job: &Job, cloth: &Cloth, kinds: &[Kind<'_>], found: &nest::Layout) -> Layout {
    let corner = Vector::new(cloth.end_margin.to_mm(), cloth.selvedge.to_mm());
    let mut next = vec![0; kinds.len()];
    let mut pieces: Vec<PlacedPiece> = found
        .placed
        .iter()
        .map(|placed| {
            let kind = &kinds[placed.shape];
            let (piece, set) = kind.members[next[placed.shape]];
            next[placed.shape] += 1;
            let placement = Placement {
                shift: placed.placement.shift + corner,
                ..placed.placement
            };
            place(job, piece, set, &placement)
        })
        .collect();
    pieces.sort_by(|a, b| {
        let (a, b) = (a.cut.bounds().min, b.cut.bounds().min);
        a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
    });
    for (idx, piece) in pieces.iter_mut().enumerate() {
        piece.sequence = idx + 1;
    }
    let used_length = Length::mm(found.length) + cloth.end_margin * 2.0;
    let cut_area: f64 = kinds.iter().map(Kind::cut_area).sum();
    Layout {
        cloth: cloth.name.clone(),
        roll: cloth.name.clone(),
        roll_width: cloth.roll_width,
        usable_y: cloth.usable_y(),
        end_margin: cloth.end_margin,
        gap: cloth.gap,
        used_length,
        utilisation: cut_area / (cloth.roll_width * used_length).to_mm2(),
        pieces,
        order: CutOrder::default(),
    }
}

fn place(job: &Job, piece: &Piece, set: u32, placement: &Placement) -> PlacedPiece {
    let part = &job.parts[piece.part];
    let ply = &part.plies[piece.ply];
    let id = piece.id(job, set);
    let cut = placement.outline(&piece.cut);
    let turned = piece.zero + placement.turn.angle;
    let off = off_angle(placement.turn, &piece.turns, job.cloths[piece.cloth].weave);
    // The warp on the piece turns against the piece on the cloth; seen from the tool side once more.
    let off_design = match part.seen_from {
        Side::Bag => -off,
        Side::Tool => off,
    };
    PlacedPiece {
        label: label_for(&id, &cut),
        part: part.name.clone(),
        ply: ply.n,
        set,
        sequence: 0,
        angle_design: ply.angle,
        angle_cut: angle_cut(ply.angle, off_design),
        turn: placement.turn.angle.as_rotation(),
        turned_over: placement.turn.face == Face::Down,
        on_bias: piece.on_bias,
        appearance: ply.appearance,
        net: placement.outline(&piece.net),
        marks: piece.marks.iter().map(|m| m.placed(placement)).collect(),
        zero_direction: match placement.turn.face {
            Face::Up => turned,
            Face::Down => -turned,
        }
        .as_rotation(),
        // The first permitted turn is the straight one: it brings the warp along the roll.
        warp_direction: piece
            .turns
            .first()
            .map_or(Angle::ZERO, |straight| -straight.angle),
        cut,
        id,
    }
}

/// The angle as cut; a sum out of the range of ply angles is written as the same fibre direction,
/// but 91° stays 91° where the layout used a tolerance on a 90° ply.
fn angle_cut(design: Angle, off: Angle) -> Angle {
    let cut = design + off;
    if off.to_degrees().abs() < 45.0 {
        cut
    } else {
        cut.as_fibre()
    }
}

/// A rotation of the fibres below this (degrees) is the noise of a sum.
const NO_TURN_DEG: f64 = 1e-9;

/// How far the fibres of a piece cut under `turn` are off their designed directions.
///
/// That is what the layout used of the tolerance beside the nearest of the `permitted` turns with
/// the same face (the straight one first), and what that turn itself does to the fibres: nothing,
/// unless the job permits turns that the weave does not.
fn off_angle(turn: Turn, permitted: &[Turn], weave: Weave) -> Angle {
    let nearest = permitted
        .iter()
        .filter(|p| p.face == turn.face)
        .map(|p| (p, signed(turn.angle - p.angle, 360.0)))
        .min_by(|(_, a), (_, b)| a.abs().total_cmp(&b.abs()));
    let (Some((nearest, tilt)), Some(straight)) = (nearest, permitted.first()) else {
        return Angle::ZERO;
    };
    let turned = weave
        .fibres_repeat_after()
        .map_or(0.0, |repeat| signed(nearest.angle - straight.angle, repeat));
    if turned.abs() < NO_TURN_DEG {
        Angle::degrees(tilt)
    } else {
        Angle::degrees(turned + tilt)
    }
}

/// `angle` in degrees, brought to −`period`/2 < angle ≤ `period`/2.
fn signed(angle: Angle, period: f64) -> f64 {
    let degrees = angle.to_degrees().rem_euclid(period);
    if degrees > period / 2.0 {
        degrees - period
    } else {
        degrees
    }
}

fn cloth_use(cloth: &Cloth, pieces: &[&Piece], layout: &Layout) -> ClothUse {
    let total = |area: fn(&Piece) -> f64| -> Area {
        pieces
            .iter()
            .map(|p| Area::mm2(area(p) * f64::from(p.sets)))
            .sum()
    };
    let cut_area = total(|p| p.cut.area());
    let net_area = total(|p| p.net.area());
    let used = layout.used_length;
    let purchase = Purchase::of(cloth, used);
    let usable = cloth.usable_width() * used;
    ClothUse {
        cloth: cloth.clone(),
        n_pieces: layout.pieces.len(),
        waste: Waste {
            selvedge: cloth.roll_width * used - usable,
            between: usable - cut_area,
            trim: cut_area - net_area,
            end: cloth.roll_width * (purchase.length - used),
        },
        purchase,
        cut_area,
        net_area,
        utilisation: layout.utilisation,
    }
}

fn parts(job: &Job, pieces: &[Piece]) -> Vec<PartUse> {
    job.parts
        .iter()
        .enumerate()
        .map(|(part_idx, part)| PartUse {
            name: part.name.clone(),
            // A quantity in the drawing counts where the job does not say.
            sets: pieces
                .iter()
                .filter(|piece| piece.part == part_idx)
                .map(|piece| piece.sets)
                .max()
                .unwrap_or(part.sets),
            plies: pieces
                .iter()
                .filter(|piece| piece.part == part_idx)
                .map(|piece| ply_use(job, piece))
                .collect(),
        })
        .collect()
}

fn ply_use(job: &Job, piece: &Piece) -> PlyUse {
    let ply = &job.parts[piece.part].plies[piece.ply];
    let cloth = &job.cloths[piece.cloth];
    let net_area = Area::mm2(piece.net.area());
    PlyUse {
        n: ply.n,
        cloth: cloth.name.clone(),
        angle: ply.angle,
        net_area,
        cut_area: Area::mm2(piece.cut.area()),
        areal_weight: cloth.areal_weight,
        step: ply.step,
        cloth_mass: cloth.areal_weight * net_area,
        appearance: ply.appearance,
        on_bias: piece.on_bias,
    }
}
