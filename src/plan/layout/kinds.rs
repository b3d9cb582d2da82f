//! Pieces that are alike, as shapes for the nesting engine; and back to pieces in their places.

use std::sync::Arc;

use super::label::label_for;
use crate::cloth::{BiaxialLayers, Weave};
use crate::geometry::{Face, Placement, Turn};
use crate::nest::Shape;
use crate::plan::{PlacedJoint, PlacedPiece, PlacedSplice};
use crate::ply::{Bias, Piece};
use crate::units::{Angle, PlyAngle, WarpDirection};

/// Pieces that are alike on the cutting table: same cut line, same turns.
pub(in crate::plan) struct Kind<'a> {
    /// The first of them.
    pub like: &'a Arc<Piece>,
    /// Every piece with its set, in the order of the job.
    pub members: Vec<(&'a Arc<Piece>, u32)>,
}

impl<'a> Kind<'a> {
    /// The kinds among `pieces`, in the order of the job.
    pub(in crate::plan) fn collect(pieces: &[&'a Arc<Piece>]) -> Vec<Self> {
        let mut kinds: Vec<Self> = Vec::new();
        for &piece in pieces {
            let members = (1..=piece.sets()).map(|set| (piece, set));
            let alike = |kind: &&mut Self| {
                kind.like.tolerance() == piece.tolerance()
                    && kind.like.turns() == piece.turns()
                    && kind.like.cut() == piece.cut()
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

    pub(in crate::plan) fn cut_area(&self) -> f64 {
        self.like.cut().area() * self.members.len() as f64
    }

    /// The shapes of `kinds`, in their order.
    pub(in crate::plan) fn shapes(kinds: &[Self]) -> Vec<Shape> {
        kinds
            .iter()
            .map(|kind| Shape {
                outline: kind.like.cut().clone(),
                turns: kind.like.turns().to_vec(),
                tolerance: kind.like.tolerance(),
                demand: kind.members.len(),
            })
            .collect()
    }
}

/// The piece of set `set` in its place on the roll.
pub(in crate::plan) fn place(piece: &Arc<Piece>, set: u32, placement: &Placement) -> PlacedPiece {
    let (part, ply) = (piece.part(), piece.ply());
    let id = piece.id(set);
    let cut = placement.outline(piece.cut());
    let off = off_angle(placement.turn, piece.turns(), piece.cloth().weave);
    let angle_design = part.angle_of(ply);
    let zero_direction = placement.turn.direction(piece.zero()).as_rotation();
    let label = match &piece.splice() {
        Some(splice) => label_for(&id, &placement.outline(&splice.clear)),
        None => label_for(&id, &cut),
    };
    let splice = piece.splice().map(|splice| PlacedSplice {
        letter: splice.letter,
        of: splice.of,
        joints: splice
            .joints
            .iter()
            .map(|joint| PlacedJoint {
                mate: piece.mate_id(set, joint.mate),
                joint: joint.placed(placement),
            })
            .collect(),
    });
    PlacedPiece {
        label,
        splice,
        part: part.name.clone(),
        ply: ply.n,
        set,
        sequence: 0,
        angle_design,
        // The warp on the piece turns against the piece on the cloth.
        angle_cut: angle_cut(angle_design, -off),
        layers: (piece.cloth().weave.has_two_layers()).then(|| {
            let warp = -placement.turn.angle - piece.zero();
            BiaxialLayers::at_warp(WarpDirection::new(warp))
        }),
        turn: placement.turn.angle.as_rotation(),
        turned_over: placement.turn.face == Face::Down,
        on_bias: piece.on_bias(),
        bias: Bias::of(&cut.outer, piece.cloth().usable_width(), zero_direction)
            .filter(|_| piece.on_bias()),
        appearance: ply.appearance,
        net: placement.outline(piece.net()),
        marks: piece.marks().iter().map(|m| m.placed(placement)).collect(),
        circles: piece
            .circles()
            .iter()
            .map(|c| c.placed(placement))
            .collect(),
        zero_direction,
        // The first permitted turn is the straight one: it brings the warp along the roll.
        warp_direction: piece
            .turns()
            .first()
            .map_or(Angle::ZERO, |straight| -straight.angle),
        cut,
        id,
    }
}

/// The angle as cut; a sum out of the range of ply angles is written as the same fibre direction,
/// but 91° stays 91° where the layout used a tolerance on a 90° ply.
fn angle_cut(design: PlyAngle, off: Angle) -> PlyAngle {
    let cut = design.turned(off);
    if off.to_degrees().abs() < 45.0 {
        cut
    } else {
        cut.in_range()
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
