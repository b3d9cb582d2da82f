//! How much resin is mixed, for which plies, and in which batches.
//!
//! The whole cut ply is wetted out, trim and all; peel ply and breather take some up under the bag;
//! some stays in the pots. So Σ mixed = in the parts + on their cores + in the trim + taken up + left in
//! the pots.

use super::stage::{PlyTakes, Stage};
use super::timeline::Timeline;
use super::ways;
use crate::job::{Job, Part, ResinSystem, parts_by_bag};
use crate::laminate::{Batch, Mixed};
use crate::plan::{PartUse, PlyUse};
use crate::units::{Duration, Mass};

/// The resin of the whole order.
#[derive(Clone, Debug, PartialEq)]
pub struct ResinUse {
    /// What it is.
    pub system: ResinSystem,
    /// Where that of all sets goes.
    pub order: PartResin,
    /// Every ply of every set, in the order of laying.
    pub steps: Vec<ResinStep>,
    /// The batches that serve the steps, in the order of mixing; none serves two sets or two stages.
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
        let of_parts = parts.iter().map(|part| {
            let plies = PlyTakes::of(part)?;
            let divided = part.part().stages();
            Some(Stage::all_of(&plies, system, job.bagging(), &divided))
        });
        let of_parts: Vec<Vec<Stage>> = of_parts.collect::<Option<_>>()?;
        let mut resin = Self {
            system: system.clone(),
            order: PartResin::default(),
            steps: Vec::new(),
            batches: Vec::new(),
        };
        let mut first_batches = Vec::new();
        for (part, mut stages) in parts.iter_mut().zip(of_parts) {
            first_batches.push(resin.batches.len());
            for set in 1..=part.sets {
                for stage in &mut stages {
                    if let (1, Some(timeline)) = (set, &mut stage.timeline) {
                        timeline.count_on_from(resin.batches.len());
                    }
                    resin.add(part, set, stage);
                }
            }
            let of_set = (stages.iter()).fold(PartResin::default(), |sum, s| sum.plus(&s.resin));
            resin.order = resin.order.plus(&of_set.times(part.sets));
            part.resin = Some(of_set);
            part.stages = stages;
        }
        time_shared_bags(job, system, parts, &first_batches);
        ways::tell(job, parts);
        Some(resin)
    }

    /// Adds a stage of one set of `part`.
    fn add(&mut self, part: &PartUse, set: u32, stage: &Stage) {
        let from = self.steps.len();
        let steps = stage.plies.clone().zip(&stage.steps);
        self.steps.extend(steps.map(|(ply, step)| ResinStep {
            part: part.index(),
            set,
            ply,
            mixed: step.mass,
            time: step.time,
        }));
        self.batches.extend(stage.batches.iter().map(|batch| Batch {
            steps: from + batch.steps.start..from + batch.steps.end,
            ..*batch
        }));
    }

    /// `mass` as it is weighed out.
    #[must_use]
    pub fn divide(&self, mass: Mass) -> Mixed {
        self.system.hardener.ratio.divide(mass)
    }

    /// What a scale has to show so that both parts of every batch are true to 0.5 %.
    #[must_use]
    pub fn scale_step(&self) -> Mass {
        scale_step(self.batches.iter().map(|batch| self.divide(batch.mass)))
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

/// Parts that share a bag are laid one after the other, stage by stage, and their bag is closed when the last of them is:
/// tells each the time of all. The batches of a part's first set begin at `first_batches`.
fn time_shared_bags(
    job: &Job,
    system: &ResinSystem,
    parts: &mut [PartUse],
    first_batches: &[usize],
) {
    let in_job: Vec<&Part> = job.parts().iter().collect();
    let shared = parts_by_bag(&in_job)
        .into_iter()
        .filter(|(name, _)| name.is_some());
    for (_, own) in shared {
        for n in 0..parts[own[0]].stages.len() {
            let mut batches: Vec<Batch> = Vec::new();
            let mut numbers: Vec<usize> = Vec::new();
            for idx in &own {
                let (before, stage) = parts[*idx].stages.split_at(n);
                let Some(stage) = stage.first() else { continue };
                let n_before: usize = before.iter().map(|stage| stage.batches.len()).sum();
                let first = first_batches[*idx] + n_before;
                numbers.extend(first..first + stage.batches.len());
                batches.extend(stage.batches.iter().cloned());
            }
            let mut timeline = Timeline::of(&batches, system, job.bagging());
            let timed = timeline.iter_mut().flat_map(|t| &mut t.batches);
            timed
                .zip(numbers)
                .for_each(|(timed, number)| timed.batch = number);
            for idx in &own {
                if let Some(stage) = parts[*idx].stages.get_mut(n) {
                    stage.timeline.clone_from(&timeline);
                }
            }
        }
    }
}

/// What a scale has to show so that both parts of these batches are true to 0.5 %: a power of ten, at most
/// 0.1 g and at least 0.001 g.
///
/// # Source
/// 0.5 % by weight: a light aircraft's maintenance manual (DA20-C1, 51-00-00).
pub(super) fn scale_step(batches: impl Iterator<Item = Mixed>) -> Mass {
    const TRUE_TO: f64 = 0.005;
    let least = batches
        .map(|mixed| mixed.a.to_grams().min(mixed.b.to_grams()))
        .fold(f64::INFINITY, f64::min);
    let steps = [0.1, 0.01, 0.001];
    let fine = steps.into_iter().find(|step| *step <= TRUE_TO * least);
    Mass::grams(fine.unwrap_or(steps[2]))
}
