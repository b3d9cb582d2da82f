//! Gel coat or wet coat on the mould before the first ply: how much, in which batches, and when ply 1 may
//! follow.

use super::resin::scale_step;
use super::shape::{Footprint, grown_by};
use crate::job::GelCoat;
use crate::laminate::{Batch, Demand, Mixed, batches};
use crate::plan::PartUse;
use crate::units::{Area, Duration, Mass};

/// The coat of the whole order.
#[derive(Clone, Debug, PartialEq)]
pub struct CoatUse {
    /// What it is.
    pub setup: GelCoat,
    /// What is mixed of it.
    pub mixed: Mass,
}

/// The coat of one set of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct PartCoat {
    /// What is coated: the part, its openings and the margin all round.
    pub area: Area,
    /// What the part keeps, inside the net lines, openings taken off.
    pub in_part: Mass,
    /// What is put on beyond them.
    pub beyond: Mass,
    /// What stays in pots and brushes.
    pub left_over: Mass,
    /// The batches of one set, in their order.
    pub batches: Vec<Batch>,
    /// When all of it is on, counted from when its first batch is begun.
    pub on: Duration,
    /// When it is tacky, if the job says how long that takes.
    pub tacky: Option<Duration>,
}

impl PartCoat {
    /// What is mixed.
    #[must_use]
    pub fn mixed(&self) -> Mass {
        self.in_part + self.beyond + self.left_over
    }

    fn of(setup: &GelCoat, footprint: &Footprint) -> Self {
        let area = grown_by(footprint, setup.margin);
        let put_on = setup.areal_weight * area;
        let in_part = setup.areal_weight * footprint.area;
        let left_over = Mass::grams(put_on.to_grams() * setup.waste);
        let batches = batches(
            &[Demand {
                mass: put_on + left_over,
                time: setup.speed.time_for(area) * (1.0 / f64::from(setup.people)),
            }],
            &setup.limits,
        );
        let work = |batch: &Batch| setup.mixing_time + batch.time;
        let on = (batches.iter().map(work)).fold(Duration::ZERO, |sum, time| sum + time);
        Self {
            area,
            in_part,
            beyond: put_on - in_part,
            left_over,
            batches,
            on,
            tacky: setup.tacky_after.map(|wait| on + wait),
        }
    }
}

impl CoatUse {
    /// The coat of `parts` with these boundaries; tells each its own.
    pub(super) fn of(setup: &GelCoat, parts: &mut [PartUse], footprints: &[Footprint]) -> Self {
        let mut mixed = Mass::ZERO;
        for (part, footprint) in parts.iter_mut().zip(footprints) {
            let coat = PartCoat::of(setup, footprint);
            mixed = mixed + Mass::grams(coat.mixed().to_grams() * f64::from(part.sets));
            part.coat = Some(coat);
        }
        Self {
            setup: setup.clone(),
            mixed,
        }
    }

    /// What a scale has to show so that both parts of a batch of `part` are true to 0.5 %.
    #[must_use]
    pub fn scale_step(&self, part: &PartCoat) -> Mass {
        scale_step(part.batches.iter().map(|batch| self.divide(batch.mass)))
    }

    /// `mass` as it is weighed out.
    #[must_use]
    pub fn divide(&self, mass: Mass) -> Mixed {
        self.setup.ratio.divide(mass)
    }
}
