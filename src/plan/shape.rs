//! A part as its plies lie on each other.

use crate::geometry::{Outline, Placement, Region, Turn, Vector, simplified};
use crate::job::{Job, Side};
use crate::ply::Piece;
use crate::units::{Angle, Area};

/// A ply in its place on the part, in the part's frame (that of its pieces: seen from the bag
/// side, the drawing's axes).
pub(super) struct PlacedPly {
    /// Index into the part's plies.
    pub ply: usize,
    /// Its net outline.
    pub net: Outline,
    /// What of it stays in the finished part: without the openings of the part's largest ply.
    pub kept: Region,
    /// Whether it lies on the part: not drawn apart from its largest ply.
    pub in_place: bool,
}

/// A ply is drawn apart if less than this share of it lies on the largest ply.
const ON_THE_PART: f64 = 0.05;

/// Areas that differ by less than this share are alike but for rounding.
const SAME_AREA: f64 = 1e-9;

/// Largest departure (mm) of an outline from the true one where it is only drawn.
const DRAWN_MM: f64 = 0.5;

/// `outline` with fewer vertices, for drawings.
pub(super) fn coarse(outline: &Outline) -> Outline {
    Outline {
        outer: simplified(&outline.outer, DRAWN_MM),
        openings: outline
            .openings
            .iter()
            .map(|opening| simplified(opening, DRAWN_MM))
            .collect(),
    }
}

/// The plies of part `part_idx`, moved as the job says; `pieces` are all pieces of the job.
pub(super) fn placed_plies(job: &Job, part_idx: usize, pieces: &[Piece]) -> Vec<PlacedPly> {
    let part = &job.parts[part_idx];
    let mut plies: Vec<PlacedPly> = pieces
        .iter()
        .filter(|piece| piece.part == part_idx)
        .map(|piece| {
            let shift = part.plies[piece.ply].shift.as_ref();
            let net = moved(&piece.net, shift, part.seen_from);
            PlacedPly {
                ply: piece.ply,
                kept: Region::of(&net),
                net,
                in_place: true,
            }
        })
        .collect();
    // The first of the largest: later ones may be the same outline, drawn elsewhere.
    let largest = plies.iter().reduce(|largest, ply| {
        if ply.net.outer.area() > largest.net.outer.area() * (1.0 + SAME_AREA) {
            ply
        } else {
            largest
        }
    });
    let Some(base) = largest.map(|ply| ply.net.clone()) else {
        return plies;
    };
    let openings = base.openings.iter().cloned().map(Outline::solid);
    let openings: Vec<Region> = openings.map(|o| Region::of(&o)).collect();
    let base_region = Region::of(&Outline::solid(base.outer.clone()));
    for ply in plies.iter_mut().filter(|ply| ply.net.outer != base.outer) {
        let own = Region::of(&Outline::solid(ply.net.outer.clone()));
        ply.in_place = own.intersection(&base_region).area() >= ON_THE_PART * own.area();
        if ply.in_place {
            for opening in &openings {
                ply.kept = ply.kept.difference(opening);
            }
        }
    }
    plies
}

fn moved(net: &Outline, shift: Option<&[crate::units::Length; 2]>, side: Side) -> Outline {
    let Some([x, y]) = shift.map(|shift| shift.map(|length| length.to_mm())) else {
        return net.clone();
    };
    // A drawing seen from the tool side was turned over about x.
    let y = if side == Side::Tool { -y } else { y };
    Placement {
        turn: Turn::rotation(Angle::ZERO),
        shift: Vector::new(x, y),
    }
    .outline(net)
}

/// What a part covers on the mould.
pub(super) struct Footprint {
    /// Its outer boundary: all plies that lie on it together, openings closed.
    pub boundary: Outline,
    /// Its area, openings taken off.
    pub area: Area,
}

/// What the plies of a part cover together; `None` without plies.
pub(super) fn footprint(plies: &[PlacedPly]) -> Option<Footprint> {
    let mut seen: Vec<&Outline> = Vec::new();
    let (mut all, mut material) = (Region::default(), Region::default());
    for ply in plies.iter().filter(|ply| ply.in_place) {
        if seen.contains(&&ply.net) {
            continue;
        }
        seen.push(&ply.net);
        all = all.union(&Region::of(&Outline::solid(ply.net.outer.clone())));
        material = material.union(&ply.kept);
    }
    let largest = all.outlines().into_iter().next()?;
    Some(Footprint {
        boundary: Outline::solid(largest.outer),
        area: Area::mm2(material.area()),
    })
}
