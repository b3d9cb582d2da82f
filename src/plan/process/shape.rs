//! A part as its plies lie on each other.

use std::sync::Arc;

use crate::geometry::{Outline, Placement, Point, Region, Turn};
use crate::job::{Job, Part};
use crate::ply::Piece;
use crate::units::{Angle, Area};

/// A ply in its place on the part, in the part's frame (that of its pieces: seen from the bag
/// side, the drawing's axes).
pub(in crate::plan) struct PlacedPly {
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
pub(in crate::plan) fn coarse(outline: &Outline) -> Outline {
    outline.simplified(DRAWN_MM)
}

/// The plies of part `part_idx`, moved as the job says; `pieces` are all pieces of the job.
pub(in crate::plan) fn placed_plies(
    job: &Job,
    part_idx: usize,
    pieces: &[Arc<Piece>],
) -> Vec<PlacedPly> {
    let part = &job.parts()[part_idx];
    let of_part = || pieces.iter().filter(|piece| piece.part_idx() == part_idx);
    let mut plies: Vec<PlacedPly> = (0..part.plies.len())
        .filter_map(|ply_idx| {
            let of_ply = of_part().filter(|piece| piece.ply_idx() == ply_idx);
            let net = moved(&together(of_ply)?, part, ply_idx);
            Some(PlacedPly {
                ply: ply_idx,
                kept: Region::of(&net),
                net,
                in_place: true,
            })
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

/// The net outline of a ply: that of its piece, or all of its pieces together.
fn together<'a>(mut pieces: impl Iterator<Item = &'a Arc<Piece>>) -> Option<Outline> {
    let first = pieces.next()?.net();
    let mut all = None;
    for piece in pieces {
        let before = all.unwrap_or_else(|| Region::of(first));
        all = Some(before.union(&Region::of(piece.net())));
    }
    match all {
        None => Some(first.clone()),
        Some(all) => all.outlines().into_iter().next(),
    }
}

/// `net` where the job says that it lies on the part.
fn moved(net: &Outline, part: &Part, ply: usize) -> Outline {
    match part.plies[ply].shift {
        None => net.clone(),
        Some(_) => shift(part, ply).outline(net),
    }
}

/// From where ply `ply` of `part` is drawn to where it lies on the part.
pub(in crate::plan) fn shift(part: &Part, ply: usize) -> Placement {
    let [x, y] = part.plies[ply]
        .shift
        .map_or([0.0; 2], |shift| shift.map(|l| l.to_mm()));
    Placement {
        turn: Turn::rotation(Angle::ZERO),
        // The shift is that of the drawing.
        shift: part.view.turn().apply(Point::new(x, y)) - Point::default(),
    }
}

/// What a part covers on the mould.
pub(in crate::plan) struct Footprint {
    /// Its outer boundary: all plies that lie on it together, openings closed.
    pub boundary: Outline,
    /// Its area, openings taken off.
    pub area: Area,
}

/// What the plies of a part cover together; `None` without plies.
pub(in crate::plan) fn footprint(plies: &[PlacedPly]) -> Option<Footprint> {
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
    // What is as small as rounding dust is a part all the same.
    let largest = all
        .outlines()
        .into_iter()
        .map(|outline| outline.outer)
        .next();
    let boundary = largest.or_else(|| {
        let rings = seen.iter().map(|net| net.outer.clone());
        rings.max_by(|a, b| a.area().total_cmp(&b.area()))
    })?;
    Some(Footprint {
        boundary: Outline::solid(boundary),
        area: Area::mm2(material.area()),
    })
}
