//! How much resin is mixed, for which plies, and in which batches.
//!
//! The whole cut ply is wetted out, trim and all; peel ply and breather take some up under the bag;
//! some stays in the pots. So Σ mixed = in the parts + on their cores + in the trim + taken up + left in
//! the pots.

use super::timeline::Timeline;
use crate::diag::Diagnostic;
use crate::job::{Bagging, Job, ResinSystem};
use crate::laminate::{Batch, Demand, Mixed, batches};
use crate::plan::{CoreUse, PartUse, PlyUse};
use crate::units::{Area, Duration, Mass};

/// The resin of the whole order.
#[derive(Clone, Debug, PartialEq)]
pub struct ResinUse {
    /// What it is.
    pub system: ResinSystem,
    /// Where that of all sets goes.
    pub order: PartResin,
    /// Every ply of every set, in the order of laying.
    pub steps: Vec<ResinStep>,
    /// The batches that serve the steps, in the order of mixing; none serves two sets.
    pub batches: Vec<Batch>,
}

/// Where resin goes: that of one set of a part, or of the order.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct PartResin {
    /// Inside the net lines: what the part keeps.
    pub in_part: Mass,
    /// On the faces of its cores.
    pub in_cores: Mass,
    /// In the cloth outside the net lines.
    pub in_trim: Mass,
    /// In peel ply and breather.
    pub take_up: Mass,
    /// In pots, brushes and rollers.
    pub left_over: Mass,
}

/// One ply of one set.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ResinStep {
    /// Index into the plan's parts.
    pub part: usize,
    /// Set, from 1.
    pub set: u32,
    /// Index into the part's plies.
    pub ply: usize,
    /// What is mixed for it: what stays in it and its share of what is taken up and left over.
    pub mixed: Mass,
    /// How long it takes to lay and wet out.
    pub time: Duration,
}

impl PartResin {
    /// What is mixed.
    #[must_use]
    pub fn mixed(&self) -> Mass {
        self.in_part + self.in_cores + self.in_trim + self.take_up + self.left_over
    }

    fn times(&self, n: u32) -> Self {
        let times = |mass: Mass| Mass::grams(mass.to_grams() * f64::from(n));
        Self {
            in_part: times(self.in_part),
            in_cores: times(self.in_cores),
            in_trim: times(self.in_trim),
            take_up: times(self.take_up),
            left_over: times(self.left_over),
        }
    }

    fn plus(&self, other: &Self) -> Self {
        Self {
            in_part: self.in_part + other.in_part,
            in_cores: self.in_cores + other.in_cores,
            in_trim: self.in_trim + other.in_trim,
            take_up: self.take_up + other.take_up,
            left_over: self.left_over + other.left_over,
        }
    }
}

impl ResinUse {
    /// The resin for `parts`, which are told theirs; `None` if the job names no resin, or a cloth without
    /// its fibre.
    pub(in crate::plan) fn of(job: &Job, parts: &mut [PartUse]) -> Option<Self> {
        let system = job.resin()?;
        let of_parts = parts
            .iter()
            .map(|part| part_resin(part, system, job.bagging()));
        let of_parts: Vec<PartResin> = of_parts.collect::<Option<_>>()?;
        let mut order = PartResin::default();
        let mut steps = Vec::new();
        for (part, resin) in parts.iter_mut().zip(of_parts) {
            let in_layers = resin.in_part + resin.in_cores + resin.in_trim;
            for set in 1..=part.sets {
                for (ply_idx, ply) in part.plies.iter().enumerate() {
                    // A core is wetted as it is laid on its ply.
                    let wet = (part.cores_on(ply.n()))
                        .fold(ply.resin_in(ply.cut_area())?, |sum, core| {
                            sum + core.resin_mass()
                        });
                    let cores = part.cores_on(ply.n()).map(CoreUse::area);
                    let share = wet.to_grams() / in_layers.to_grams();
                    steps.push(ResinStep {
                        part: part.index(),
                        set,
                        ply: ply_idx,
                        mixed: Mass::grams(resin.mixed().to_grams() * share),
                        time: system.laying_time(ply.cut_area() + cores.sum()),
                    });
                }
            }
            order = order.plus(&resin.times(part.sets));
            part.resin = Some(resin);
        }
        // What is mixed for one bag does not wait for the next.
        let mut bag = 0;
        let mut before = None;
        let demands: Vec<Demand> = steps
            .iter()
            .map(|step| {
                let of_bag = Some((step.part, step.set));
                bag += usize::from(before != of_bag);
                before = of_bag;
                Demand {
                    mass: step.mixed,
                    time: step.time,
                    group: bag,
                }
            })
            .collect();
        let resin = Self {
            batches: batches(&demands, &system.limits()),
            system: system.clone(),
            order,
            steps,
        };
        for part in parts {
            part.timeline = Timeline::of(&resin, part.index(), job.bagging());
        }
        Some(resin)
    }

    /// Warns of those of `parts` whose bag comes too late.
    pub(super) fn warnings<'a>(
        &'a self,
        job: &'a Job,
        parts: &'a [PartUse],
    ) -> impl Iterator<Item = Diagnostic> + 'a {
        parts.iter().filter_map(|part| {
            let timeline = part.timeline.as_ref()?;
            timeline.warning(part.name(), &self.system, job.bagging()?)
        })
    }

    /// `mass` as it is weighed out.
    #[must_use]
    pub fn divide(&self, mass: Mass) -> Mixed {
        self.system.ratio.divide(mass)
    }

    /// What a scale has to show so that every part B is true to 0.5 %: a power of ten, at most 0.1 g and
    /// at least 0.001 g.
    ///
    /// # Source
    /// 0.5 % by weight: a light aircraft's maintenance manual (DA20-C1, 51-00-00).
    #[must_use]
    pub fn scale_step(&self) -> Mass {
        const TRUE_TO: f64 = 0.005;
        let least = (self.batches.iter())
            .map(|batch| self.divide(batch.mass))
            .map(|mixed| mixed.a.to_grams().min(mixed.b.to_grams()))
            .fold(f64::INFINITY, f64::min);
        let steps = [0.1, 0.01, 0.001];
        let fine = steps.into_iter().find(|step| *step <= TRUE_TO * least);
        Mass::grams(fine.unwrap_or(steps[2]))
    }

    /// Numbers, from 1, of the batches for `ply` of one set.
    #[must_use]
    pub fn batches_of(&self, ply: &PlyUse, set: u32) -> Vec<usize> {
        let is_it = |step: &ResinStep| step.set == set && ply.is_at(step.part, step.ply);
        let Some(step) = self.steps.iter().position(is_it) else {
            return Vec::new();
        };
        let numbered = self.batches.iter().zip(1..);
        let serving = numbered.filter(|(batch, _)| batch.steps.contains(&step));
        serving.map(|(_, n)| n).collect()
    }

    /// The same for people: `2`, `3 to 5`, or nothing.
    #[must_use]
    pub fn batch_numbers(&self, ply: &PlyUse, set: u32) -> String {
        match self.batches_of(ply, set).as_slice() {
            [] => String::new(),
            [one] => one.to_string(),
            [first, .., last] => format!("{first} to {last}"),
        }
    }
}

fn part_resin(
    part: &PartUse,
    system: &ResinSystem,
    bagging: Option<&Bagging>,
) -> Option<PartResin> {
    // Laps stay in the part.
    let in_part = part.resin_mass()?;
    let mut wet = part.plies.iter().map(|ply| ply.resin_in(ply.cut_area()));
    let in_cloth = wet.try_fold(Mass::ZERO, |sum, mass| Some(sum + mass?))?;
    let take_up = bagging.map_or(Mass::ZERO, |bag| {
        let wet = wet_area(part);
        let layers = bag.layers.iter().map(|layer| layer.take_up * wet);
        layers.fold(Mass::ZERO, |sum, mass| sum + mass)
    });
    let in_cores = part.core_resin();
    let needed = in_cloth + in_cores + take_up;
    Some(PartResin {
        in_part,
        in_cores,
        in_trim: in_cloth - in_part,
        take_up,
        left_over: Mass::grams(needed.to_grams() * system.waste),
    })
}

/// The wet surface that peel ply and breather lie on: the cut area of the largest ply, its laps
/// counted once.
fn wet_area(part: &PartUse) -> Area {
    let once = |ply: &PlyUse| (ply.cut_area() - ply.lap_area()).to_mm2();
    let largest = part.plies.iter().map(once);
    Area::mm2(largest.fold(0.0, f64::max))
}
