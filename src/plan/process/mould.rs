//! What the mould takes before the first ply.

use super::shape::{Footprint, grown_by};
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

impl MouldUse {
    /// Release for `parts` with these outer boundaries; tells each its surface to release.
    pub(in crate::plan) fn of(
        setup: &MouldPreparation,
        parts: &mut [PartUse],
        footprints: &[Footprint],
    ) -> Self {
        let mut all = Area::ZERO;
        for (part, footprint) in parts.iter_mut().zip(footprints) {
            let area = grown_by(footprint, setup.margin);
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
