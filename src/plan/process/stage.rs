//! What is laid wet in wet and goes under one bag: the plies of a stage, their resin, batches and time.

use std::ops::Range;

use super::resin::PartResin;
use super::timeline::Timeline;
use crate::job::{Bagging, ResinSystem};
use crate::laminate::{Batch, Demand, batches};
use crate::plan::{CoreUse, PartUse, PlyUse};
use crate::units::{Area, Mass};

/// One stage of one set of a part; a part that is laid at once has one.
#[derive(Clone, Debug, PartialEq)]
pub struct Stage {
    /// Its plies, by their index in the part.
    pub plies: Range<usize>,
    /// Where its resin goes.
    pub resin: PartResin,
    /// When what happens; `None` without resin.
    pub timeline: Option<Timeline>,
    /// What each of its plies takes.
    pub(super) steps: Vec<Demand>,
    /// The batches that serve them.
    pub(super) batches: Vec<Batch>,
}

/// What a ply takes, whoever lays it and in whatever stage.
pub(super) struct PlyTakes {
    /// Resin inside its net line; laps stay in the part.
    in_part: Mass,
    /// Resin in its trim.
    in_trim: Mass,
    /// Resin on one face of the cores that lie on it.
    on_face: Mass,
    /// What is laid: its cut area, and the cores on it.
    laid: Area,
    /// Its cut area, laps counted once.
    wet: Area,
}

impl PlyTakes {
    /// The plies of `part`; `None` unless it is known of each.
    pub(super) fn of(part: &PartUse) -> Option<Vec<Self>> {
        let of_ply = |ply: &PlyUse| {
            let in_part = ply.resin_mass()?;
            let cut_area = ply.cut_area();
            let cores = part.cores_on(ply.n()).map(CoreUse::area);
            Some(Self {
                in_part,
                in_trim: ply.resin_in(cut_area)? - in_part,
                on_face: part.cores_on(ply.n()).map(CoreUse::face_resin).sum(),
                laid: cut_area + cores.sum(),
                wet: cut_area - ply.lap_area(),
            })
        };
        part.plies.iter().map(of_ply).collect()
    }
}

impl Stage {
    /// The stages of a part whose plies take this, if it is laid as `divided`, with `system`.
    pub(super) fn all_of(
        plies: &[PlyTakes],
        system: &ResinSystem,
        bag: Option<&Bagging>,
        divided: &[Range<usize>],
    ) -> Vec<Self> {
        let stages = divided.iter();
        stages
            .map(|own| Self::of(plies, system, bag, own.clone()))
            .collect()
    }

    fn of(
        all: &[PlyTakes],
        system: &ResinSystem,
        bag: Option<&Bagging>,
        plies: Range<usize>,
    ) -> Self {
        let own = &all[plies.clone()];
        let mut resin = PartResin::default();
        let mut in_layers = Vec::new();
        let mut below = all[..plies.start].last().map(|ply| ply.on_face);
        for (i, ply) in own.iter().enumerate() {
            // The upper face of a core is wetted when the next ply is laid, be it in the next stage.
            let closes = i + 1 == own.len() && plies.end < all.len();
            let upper = if closes { Mass::ZERO } else { ply.on_face };
            let on_cores = below.take().unwrap_or_default() + ply.on_face + upper;
            resin.in_part = resin.in_part + ply.in_part;
            resin.in_trim = resin.in_trim + ply.in_trim;
            resin.in_cores = resin.in_cores + on_cores;
            in_layers.push(ply.in_part + ply.in_trim + on_cores);
        }
        let wet = Area::mm2(own.iter().map(|ply| ply.wet.to_mm2()).fold(0.0, f64::max));
        let layers = bag.iter().flat_map(|bag| &bag.layers);
        resin.take_up = layers.map(|layer| layer.take_up * wet).sum();
        resin.left_over = Mass::grams(resin.mixed().to_grams() * system.waste);
        let all: Mass = in_layers.iter().copied().sum();
        let steps = own.iter().zip(in_layers).map(|(ply, wet)| Demand {
            mass: Mass::grams(resin.mixed().to_grams() * wet.to_grams() / all.to_grams()),
            time: system.laying_time(ply.laid),
        });
        let steps: Vec<Demand> = steps.collect();
        let batches = batches(&steps, &system.limits());
        Self {
            plies,
            resin,
            timeline: Timeline::of(&batches, system, bag),
            steps,
            batches,
        }
    }
}
