//! The laminate of a part: thickness, stiffness, and whether it will stay flat.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::job::{Job, Part};
use crate::laminate::{Asymmetry, Imbalance, InPlane, Layer, Plate, balance, symmetry};
use crate::ply::Piece;
use crate::units::Length;

/// Plies of a part, one upon the other.
#[derive(Clone, Debug, PartialEq)]
pub struct Laminate {
    /// The numbers of its plies, from the mould up.
    pub plies: Vec<u32>,
    /// Cured thickness; `None` unless it is known of every ply.
    pub thickness: Option<Length>,
    /// Whether it mirrors itself about its middle, or the plies that break that.
    pub symmetry: Result<(), Asymmetry>,
    /// Whether fibre at every angle has its opposite, or the ply that breaks that.
    pub balance: Result<(), Imbalance>,
    /// Its stiffness; `None` unless it is known of every ply.
    pub plate: Option<Plate>,
    /// What it acts as in its plane.
    pub in_plane: Option<InPlane>,
}

impl Laminate {
    /// The laminate of those plies of `part` that are `chosen` by their index.
    pub(in crate::plan) fn of(job: &Job, part: &Part, chosen: impl Fn(usize) -> bool) -> Self {
        let stack: Vec<_> = part
            .stack(job.cloths())
            .into_iter()
            .enumerate()
            .filter(|(idx, _)| chosen(*idx))
            .map(|(_, ply)| ply)
            .collect();
        let lamina = |cloth: usize| job.laminae()[cloth].as_ref();
        let layers: Option<Vec<Vec<Layer>>> = stack
            .iter()
            .map(|ply| lamina(ply.cloth)?.layers(ply))
            .collect();
        let plate = layers.and_then(|layers| Plate::of(&layers.concat()));
        Self {
            plies: stack.iter().map(|ply| ply.n).collect(),
            thickness: stack.iter().try_fold(Length::ZERO, |sum, ply| {
                Some(sum + lamina(ply.cloth)?.thickness)
            }),
            symmetry: symmetry(&stack),
            balance: balance(&stack),
            in_plane: plate.as_ref().and_then(Plate::in_plane),
            plate,
        }
    }
}

/// Share of the largest ply's area from which a ply of another shape is held to cover the part.
/// Larger: a ply stepped by a few millimetres for a tapered edge counts as partial; smaller: a
/// ply that leaves out a corner counts as full.
const FULL: f64 = 0.95;

/// Which plies, by index in their part, cover the whole part: as large as the largest, openings
/// apart, or nearly.
pub(in crate::plan) fn full_plies(pieces: &[&Arc<Piece>]) -> BTreeSet<usize> {
    let mut areas: BTreeMap<usize, f64> = BTreeMap::new();
    for piece in pieces {
        *areas.entry(piece.ply_idx()).or_default() += piece.net().outer.area();
    }
    let largest = areas.values().copied().fold(0.0, f64::max);
    areas
        .into_iter()
        .filter(|(_, area)| *area >= FULL * largest)
        .map(|(ply, _)| ply)
        .collect()
}
