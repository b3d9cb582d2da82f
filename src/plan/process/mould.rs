//! What the mould takes before the first ply.

use super::shape::Footprint;
use crate::geometry::{Join, Outline, offset};
use crate::job::MouldPreparation;
use crate::plan::PartUse;
use crate::units::{Area, Mass, Volume};

/// Release for the moulds of the whole order.
#[derive(Clone, Debug, PartialEq)]
pub struct MouldUse {
    /// How they are made ready.
    pub setup: MouldPreparation,
    /// Surface to release for one set of each part.
    pub areas: Vec<Area>,
    /// Wax for the order, all coats.
    pub wax: Mass,
    /// PVA for the order; `None` if no film is put on.
    pub pva: Option<Volume>,
}

/// Largest departure (mm) of the released surface's edge from the true one.
const WIPED_MM: f64 = 1.0;

impl MouldUse {
    /// Release for `parts` with these outer boundaries.
    pub(in crate::plan) fn of(
        setup: &MouldPreparation,
        parts: &[PartUse],
        footprints: &[Footprint],
    ) -> Self {
        let margin = setup.margin.to_mm();
        let areas: Vec<Area> = footprints
            .iter()
            .map(|footprint| {
                let coarse = Outline::solid(footprint.boundary.outer.simplified(WIPED_MM));
                let grown = offset(&coarse, margin, Join::Round);
                Area::mm2(grown.map_or_else(
                    // The box around it, grown.
                    |_| {
                        let b = footprint.boundary.bounds();
                        (b.width() + 2.0 * margin) * (b.height() + 2.0 * margin)
                    },
                    |grown| grown.outer.area(),
                ))
            })
            .collect();
        let all: Area = areas
            .iter()
            .zip(parts)
            .map(|(area, part)| Area::mm2(area.to_mm2() * f64::from(part.sets)))
            .sum();
        let coat = setup.wax * all;
        Self {
            wax: Mass::grams(coat.to_grams() * f64::from(setup.wax_coats)),
            pva: setup.pva.map(|coverage| coverage.volume_for(all)),
            areas,
            setup: setup.clone(),
        }
    }
}
