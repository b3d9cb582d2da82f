//! Lines that run on: which pieces are cut to one pattern, so that it meets where they lie side by side.
//!
//! Pieces that lie the same way round on the roll show the pattern alike wherever they are. It meets across their joint
//! when what shifts them on the roll differs by whole repeats, counted from where they lie beside each other. So all
//! pieces of one ply, or of plies of parts side by side, take one turn and no tolerance, and the layout puts each of
//! them to the pattern.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::Piece;
use crate::cloth::PatternRepeat;
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::{Placement, Point, Turn, Vector};
use crate::job::Job;
use crate::units::Angle;

/// How the pattern is to lie on a piece, so that it runs on in others.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunOn {
    /// How it repeats on the roll.
    pub pattern: PatternRepeat,
    /// The ply from which all of them run on: part and ply, by their index.
    pub first: (usize, usize),
    /// From where the piece is drawn to where it lies beside those of the first ply; mm, seen from the bag side.
    pub shift: Vector,
}

impl RunOn {
    /// Whether a piece of the same shape may take the place of the other: both lie to one pattern.
    #[must_use]
    pub fn is_like(one: Option<&Self>, other: Option<&Self>) -> bool {
        match (one, other) {
            (None, None) => true,
            (Some(one), Some(other)) => one.pattern == other.pattern && one.shift == other.shift,
            _ => false,
        }
    }

    /// What shifts the piece on the roll where `placement` puts it, counted from where it lies beside the others.
    #[must_use]
    pub fn shift_of(&self, placement: &Placement) -> Vector {
        let origin = Point::default();
        placement.apply(origin + self.shift * -1.0) - origin
    }
}

/// Brings pieces to one pattern whose lines run on: those of a ply in several pieces, and of parts side by side.
pub(super) fn bring_together(job: &Job, list: &mut [Arc<Piece>], problems: &mut Diagnostics) {
    let mut groups: BTreeMap<(usize, usize), Vec<(usize, RunOn)>> = BTreeMap::new();
    for (idx, piece) in list.iter().enumerate() {
        if let Some(run) = of_piece(job, piece) {
            groups.entry(run.first).or_default().push((idx, run));
        }
    }
    // A ply in one piece that nothing lies beside runs on into nothing.
    for own in groups.into_values().filter(|own| own.len() > 1) {
        let pieces = || own.iter().map(|(idx, _)| &list[*idx]);
        let Some(turn) = common_turn(pieces()) else {
            problems.push(no_common_turn(pieces().map(|piece| &**piece)));
            continue;
        };
        for (idx, run) in own {
            let piece = Arc::make_mut(&mut list[idx]);
            piece.turns = vec![turn];
            piece.tolerance = Angle::ZERO;
            piece.run_on = Some(run);
        }
    }
}

/// From which ply the pattern of `piece` runs on; from its own where its part names none.
fn of_piece(job: &Job, piece: &Piece) -> Option<RunOn> {
    let ply = piece.ply();
    let pattern = piece.cloth().pattern().filter(|_| ply.appearance)?;
    let (mut part_idx, mut ply_idx) = (piece.part, piece.ply);
    let mut shift = Vector::default();
    // Each names one before it.
    while let Some(from) = &job.parts()[part_idx].runs_on {
        let part = &job.parts()[part_idx];
        let before = &job.parts()[..part_idx];
        let is_named =
            |other: &crate::job::Part| other.name == from.part.value && other.of_job == part.of_job;
        let idx = before.iter().position(is_named)?;
        ply_idx = part.ply_to_run_on_from(&part.plies[ply_idx], &before[idx])?;
        let [x, y] = from.shift.map(|length| length.to_mm());
        let moved = part.view.turn().apply(Point::new(x, y));
        shift = shift + (moved - Point::default());
        part_idx = idx;
    }
    Some(RunOn {
        pattern,
        first: (part_idx, ply_idx),
        shift,
    })
}

/// Turns that differ by less (degrees) are one: what a sum leaves.
const NO_TURN_DEG: f64 = 1e-6;

/// The first turn of the first piece that all may take.
fn common_turn<'a>(mut pieces: impl Iterator<Item = &'a Arc<Piece>>) -> Option<Turn> {
    let mut common = pieces.next()?.turns().to_vec();
    for piece in pieces {
        common.retain(|turn| piece.turns().iter().any(|other| is_one(*turn, *other)));
    }
    common.first().copied()
}

fn is_one(a: Turn, b: Turn) -> bool {
    let off = (a.angle - b.angle).as_rotation().to_degrees();
    a.face == b.face && off.min(360.0 - off) < NO_TURN_DEG
}

fn no_common_turn<'a>(pieces: impl Iterator<Item = &'a Piece>) -> Diagnostic {
    let pieces: Vec<&Piece> = pieces.collect();
    let first = pieces[0];
    let may = |other: &&&Piece| {
        let is_permitted = |turn: &Turn| first.turns.iter().any(|own| is_one(*turn, *own));
        !other.turns.iter().any(is_permitted)
    };
    let other = pieces.iter().find(may).unwrap_or(&pieces[pieces.len() - 1]);
    let warp = |piece: &Piece| piece.warp().as_fibre().to_degrees();
    let message = format!(
        "lines cannot run on from {} into {}: no turn of the cloth lays both alike; their warps run at {:.2} and {:.2} \
         deg on the drawing",
        first.name(),
        other.name(),
        warp(first),
        warp(other)
    );
    let place = (other.part().runs_on.as_ref())
        .map_or_else(|| other.ply().place.clone(), |from| from.part.place.clone());
    Diagnostic::error(message).at(place).help(
        "pieces run on where cloth lies the same way in both: give them one angle (0° counts from each part's own 0°) and \
         one face up, or leave out `runs_on_from`",
    )
}
