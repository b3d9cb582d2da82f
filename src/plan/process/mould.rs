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
    /// Wax for the order, all coats.
    pub wax: Mass,
    /// PVA for the order; `None` if no film is put on.
    pub pva: Option<Volume>,
}

/// Largest departure (mm) of the released surface's edge from the true one.
const WIPED_MM: f64 = 1.0;

impl MouldUse {
    /// Release for `parts` with these outer boundaries; tells each its surface to release.
    pub(in crate::plan) fn of(
        setup: &MouldPreparation,
        parts: &mut [PartUse],
        footprints: &[Footprint],
    ) -> Self {
        let margin = setup.margin.to_mm();
        let released = |footprint: &Footprint| {
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
        };
        let mut all = Area::ZERO;
        for (part, footprint) in parts.iter_mut().zip(footprints) {
            let area = released(footprint);
            all = all + Area::mm2(area.to_mm2() * f64::from(part.sets));
            part.released = Some(area);
        }
        let coat = setup.wax * all;
        Self {
            wax: Mass::grams(coat.to_grams() * f64::from(setup.wax_coats)),
            pva: setup.pva.map(|coverage| coverage.volume_for(all)),
            setup: setup.clone(),
        }
    }
}
