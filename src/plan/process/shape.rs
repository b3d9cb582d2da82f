//! A part as its plies lie on each other.

use std::sync::Arc;

use crate::drape::Drape;
use crate::geometry::{Join, Outline, Placement, Point, Region, Turn, offset};
use crate::job::{Job, Part, StackLayer};
use crate::ply::{CoreShape, Piece};
use crate::units::{Angle, Area, Length};

/// A ply or a core in its place on the part, in the part's frame (that of its pieces: seen from the bag
/// side, the drawing's axes).
pub(in crate::plan) struct PlacedLayer {
    /// Which it is.
    pub layer: StackLayer,
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
) -> Vec<PlacedLayer> {
    let part = &job.parts()[part_idx];
    let of_part = || pieces.iter().filter(|piece| piece.part_idx() == part_idx);
    let mut plies: Vec<PlacedLayer> = (0..part.plies.len())
        .filter_map(|ply_idx| {
            let of_ply = of_part().filter(|piece| piece.ply_idx() == ply_idx);
            let net = moved(&together(of_ply)?, part, part.plies[ply_idx].shift);
            Some(PlacedLayer {
                layer: StackLayer::Ply(ply_idx),
                kept: Region::of(&net),
                net,
                in_place: true,
            })
        })
        .collect();
    if let Some(base) = base(&plies).map(|base| base.net.clone()) {
        plies.iter_mut().for_each(|ply| place_on(&base, ply));
    }
    plies
}

/// The largest ply of a part.
pub(in crate::plan) fn base(plies: &[PlacedLayer]) -> Option<&PlacedLayer> {
    // The first of the largest: later ones may be the same outline, drawn elsewhere.
    plies.iter().reduce(|largest, ply| {
        if ply.net.outer.area() > largest.net.outer.area() * (1.0 + SAME_AREA) {
            ply
        } else {
            largest
        }
    })
}

/// Tells `layer` whether it lies on the largest ply, `base`, and takes the openings of that off it.
fn place_on(base: &Outline, layer: &mut PlacedLayer) {
    if layer.net.outer == base.outer {
        return;
    }
    let own = Region::of(&Outline::solid(layer.net.outer.clone()));
    let base_region = Region::of(&Outline::solid(base.outer.clone()));
    layer.in_place = own.intersection(&base_region).area() >= ON_THE_PART * own.area();
    if layer.in_place {
        for opening in &base.openings {
            let opening = Region::of(&Outline::solid(opening.clone()));
            layer.kept = layer.kept.difference(&opening);
        }
    }
}

/// The cores of part `part_idx` among all `cores` of the job, moved as the job says; `plies` are its
/// plies.
pub(in crate::plan) fn placed_cores(
    job: &Job,
    part_idx: usize,
    cores: &[CoreShape],
    plies: &[PlacedLayer],
) -> Vec<PlacedLayer> {
    let part = &job.parts()[part_idx];
    let base = base(plies).map(|base| &base.net);
    let of_part = cores.iter().filter(|core| core.part_idx() == part_idx);
    of_part
        .map(|core| {
            let net = moved(core.outline(), part, part.cores[core.core_idx()].shift);
            let mut layer = PlacedLayer {
                layer: StackLayer::Core(core.core_idx()),
                kept: Region::of(&net),
                net,
                in_place: true,
            };
            if let Some(base) = base {
                place_on(base, &mut layer);
            }
            layer
        })
        .collect()
}

/// The net outline of a ply: that of its piece, or all of its pieces together.
fn together<'a>(mut pieces: impl Iterator<Item = &'a Arc<Piece>>) -> Option<Outline> {
    let first = pieces.next()?.on_part();
    let mut all = None;
    for piece in pieces {
        let before = all.unwrap_or_else(|| Region::of(first));
        all = Some(before.union(&Region::of(piece.on_part())));
    }
    match all {
        None => Some(first.clone()),
        Some(all) => all.outlines().into_iter().next(),
    }
}

/// `net` where the job says that it lies on the part.
fn moved(net: &Outline, part: &Part, by: Option<[Length; 2]>) -> Outline {
    match by {
        None => net.clone(),
        Some(_) => shift(part, by).outline(net),
    }
}

/// From where something on `part` is drawn to where it lies, as far as the job says `by` how much.
pub(in crate::plan) fn shift(part: &Part, by: Option<[Length; 2]>) -> Placement {
    let [x, y] = by.map_or([0.0; 2], |by| by.map(|l| l.to_mm()));
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
    /// How many times its area the mould under it has.
    share_on_mould: f64,
}

impl Footprint {
    /// Of a part whose first ply lies on its mould as `first`: what is laid, pressed or wetted is the mould's area, not that
    /// of the flat cloth, which is larger where it is pushed out of square.
    pub(super) fn on_mould(&mut self, first: &Drape) {
        self.share_on_mould = first.share_on_mould();
        self.area = Area::mm2(self.area.to_mm2() * self.share_on_mould);
    }
}

/// Largest departure (mm) of a wiped or brushed surface's edge from the true one.
const WIPED_MM: f64 = 1.0;

/// The surface of the mould under a part and its openings, and `margin` all round.
pub(super) fn grown_by(footprint: &Footprint, margin: Length) -> Area {
    let margin = margin.to_mm();
    let inside = footprint.boundary.outer.area();
    let more = inside * (footprint.share_on_mould - 1.0);
    if margin == 0.0 {
        return Area::mm2(inside + more);
    }
    let coarse = Outline::solid(footprint.boundary.outer.simplified(WIPED_MM));
    let grown = offset(&coarse, margin, Join::Round);
    let grown = grown.map_or_else(
        // The box around it, grown.
        |_| {
            let b = footprint.boundary.bounds();
            (b.width() + 2.0 * margin) * (b.height() + 2.0 * margin)
        },
        |grown| grown.outer.area(),
    );
    Area::mm2(grown + more)
}

/// What the plies of a part cover together; `None` without plies.
pub(in crate::plan) fn footprint(plies: &[PlacedLayer]) -> Option<Footprint> {
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
        share_on_mould: 1.0,
    })
}
