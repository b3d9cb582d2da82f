//! A part on its mould, place by place: how its fibres lie there, how thick and heavy it is, how stiff.
//!
//! Where a cloth is pushed out of square by γ, as much of it covers less of the mould: its mass by area and its cured
//! thickness (at the same share of fibre) grow by 1/cos γ.

use crate::drape::{Drape, Fibres};
use crate::geometry::trig;
use crate::job::Core;
use crate::laminate::{InPlane, Layer, Plate};
use crate::plan::{CoreUse, PartUse, PlyUse};
use crate::units::{Angle, ArealWeight, Length};

/// A place on the mould of a part.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct PlaceOnMould {
    /// Where, in the axes of the mould, mm.
    pub at: [f64; 3],
    /// The plies there, first against the mould.
    pub plies: Vec<PlyAtPlace>,
    /// Cured thickness of them all, with the cores between them; `None` unless it is known of each.
    pub thickness: Option<Length>,
    /// Dry cloth of them all.
    pub areal_weight: ArealWeight,
    /// What they act as in their plane, along and across the part's 0° as it comes there straight over the mould; `None`
    /// unless it is known of each.
    pub in_plane: Option<InPlane>,
}

/// How a ply lies at a place on its mould.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct PlyAtPlace {
    /// Its number.
    pub n: u32,
    /// Directions of its warp and its weft there, from the part's 0°, counter-clockwise seen from the bag side.
    pub directions: [Angle; 2],
    /// By how many times the designed mass its cloth covers the mould there; its thickness grows with it.
    pub heavier: f64,
    /// Cured thickness, if its fibre is known.
    pub thickness: Option<Length>,
    /// Dry cloth by area of the mould.
    pub areal_weight: ArealWeight,
}

/// So many places are told of.
const PLACES: usize = 12;

impl PartUse {
    /// How the part is at some places of its mould, spread over it: the start, where each cloth shears most, and others;
    /// empty for a part that is drawn flat.
    #[must_use]
    pub fn places(&self) -> Vec<PlaceOnMould> {
        let drapes = self.drapes();
        let Some(first) = drapes.first() else {
            return Vec::new();
        };
        let worst = drapes.iter().map(|drape| drape.shear().at);
        let told: Vec<[f64; 3]> = std::iter::once(first.start()).chain(worst).collect();
        let all = first.spread_places(&told, PLACES).into_iter();
        all.map(|at| self.place(at)).collect()
    }

    fn place(&self, at: [f64; 3]) -> PlaceOnMould {
        let here: Vec<Option<PlyAtPlace>> = (self.plies.iter())
            .map(|ply| ply_at(ply, ply.drape()?, at))
            .collect();
        let cores = self.cores_at(at);
        let layers = self.plies.iter().zip(&here).map(|(ply, here)| {
            let here = here.as_ref()?;
            let of_warp = ply.cloth().warp_share;
            let mut layers = ply.lamina()?.layers_as_laid(
                ply.weave().construction(),
                here.directions,
                [of_warp, 1.0 - of_warp],
                here.heavier,
            )?;
            let on_it = cores.iter().filter(|core| core.on_ply == ply.n());
            layers.extend(on_it.map(|core| core.layer()));
            Some(layers)
        });
        let layers: Option<Vec<Vec<Layer>>> = layers.collect();
        let plies: Vec<PlyAtPlace> = here.into_iter().flatten().collect();
        let each = plies.iter().map(|ply| ply.thickness);
        let each = each.chain(cores.iter().map(|core| Some(core.thickness)));
        let weight = plies.iter().map(|ply| ply.areal_weight.to_g_per_m2()).sum();
        PlaceOnMould {
            at,
            thickness: each.sum::<Option<Length>>(),
            areal_weight: ArealWeight::g_per_m2(weight),
            in_plane: layers.and_then(|layers| Plate::of(&layers.concat())?.in_plane()),
            plies,
        }
    }

    /// The cores at a place of the mould.
    fn cores_at(&self, at: [f64; 3]) -> Vec<&Core> {
        let Some(first) = self.plies.iter().find_map(PlyUse::drape) else {
            return Vec::new();
        };
        let off_edge = first.off_edge(at);
        let cores = self.cores.iter().map(CoreUse::core);
        cores
            .filter(|core| off_edge >= -core.step.to_mm())
            .collect()
    }
}

fn ply_at(ply: &PlyUse, drape: &Drape, at: [f64; 3]) -> Option<PlyAtPlace> {
    let directions = drape.directions_at(at)?.map(Angle::degrees);
    let heavier = match drape.fibres() {
        Fibres::Crossed => {
            let between = directions[1] - directions[0];
            let (sin, _) = trig::sin_cos_radians(between.to_degrees().to_radians());
            1.0 / sin.abs()
        }
        // All of it keeps its area.
        Fibres::Parallel => 1.0,
        // As in the mean of the whole.
        Fibres::Loose => drape.outline().area() / drape.mould_area(),
    };
    let thickness = ply.lamina().map(|lamina| lamina.thickness * heavier);
    Some(PlyAtPlace {
        n: ply.n(),
        directions,
        heavier,
        thickness,
        areal_weight: ArealWeight::g_per_m2(ply.areal_weight().to_g_per_m2() * heavier),
    })
}
