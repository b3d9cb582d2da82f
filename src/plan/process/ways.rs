//! What would bring a bag on before its resin gels: each way is tried, and told with the times it gives.

use std::ops::Range;

use super::stage::{PlyTakes, Stage};
use super::timeline::Timeline;
use crate::diag::Diagnostic;
use crate::job::{Bagging, Hardener, Job, Part, ResinSystem, parts_by_bag};
use crate::laminate::Batch;
use crate::plan::PartUse;
use crate::units::Duration;

/// More people than this are in one another's way at one part (common practice, no source).
const AT_ONE_PART: u32 = 6;

/// More stages than this are not tried.
const MOST_STAGES: usize = 6;

/// The slowest hardener that is thought of, pot life in minutes.
const SLOWEST: f64 = 24.0 * 60.0;

/// A way of laying a part.
#[derive(Clone)]
struct Remedy {
    system: ResinSystem,
    stages: Vec<Range<usize>>,
    /// In words, what of it differs from the job.
    changes: Vec<String>,
}

/// A part whose bag comes too late as the job has it.
struct Late<'a> {
    /// The plies of each part in the bag.
    parts: Vec<Vec<PlyTakes>>,
    /// The stages of each as the job has them, equally many.
    stages: Vec<Vec<Range<usize>>>,
    bag: &'a Bagging,
    as_is: Remedy,
}

impl PartUse {
    /// The stage whose bag comes too late, by its number from 1; that which is latest.
    #[must_use]
    pub fn late_stage(&self) -> Option<(usize, &Timeline)> {
        let timelines = (1..).zip(&self.stages);
        let late = timelines
            .filter_map(|(n, stage)| Some((n, stage.timeline.as_ref()?)))
            .filter(|(_, timeline)| !timeline.is_in_time());
        late.min_by(|(_, a), (_, b)| a.slack().total_cmp(&b.slack()))
    }

    /// What would bring its bags on in time, in the words of a help: each way was tried. `None` where they
    /// are in time.
    #[must_use]
    pub fn ways_out(&self) -> Option<String> {
        self.ways_out.clone()
    }
}

/// Tells each part whose bag comes too late what would help.
pub(super) fn tell(job: &Job, parts: &mut [PartUse]) {
    let in_job: Vec<&Part> = job.parts().iter().collect();
    for (_, own) in parts_by_bag(&in_job) {
        let ways = ways_of(job, &own, parts);
        for idx in own {
            parts[idx].ways_out.clone_from(&ways);
        }
    }
}

/// What would help the parts of one bag, in words; `None` where it is in time.
fn ways_of(job: &Job, own: &[usize], parts: &[PartUse]) -> Option<String> {
    let lead = &parts[own[0]];
    lead.late_stage()?;
    let late = Late {
        parts: own
            .iter()
            .map(|idx| PlyTakes::of(&parts[*idx]))
            .collect::<Option<_>>()?,
        stages: own.iter().map(|idx| parts[*idx].part().stages()).collect(),
        bag: job.bagging()?,
        as_is: Remedy {
            system: job.resin()?.clone(),
            stages: lead.part().stages(),
            changes: Vec::new(),
        },
    };
    Some(late.in_words())
}

/// Warns of those of `parts` whose bag comes too late.
pub(in crate::plan) fn late_bags(parts: &[PartUse]) -> impl Iterator<Item = Diagnostic> {
    let is_first = |part: &&PartUse| {
        let bag = |part: &PartUse| part.part().bag.as_ref().map(|bag| bag.value.clone());
        let mut before = parts[..]
            .iter()
            .take_while(|other| other.name() != part.name());
        bag(part).is_none() || before.all(|other| bag(other) != bag(part))
    };
    parts.iter().filter(is_first).filter_map(|part| {
        let (n, timeline) = part.late_stage()?;
        let stage = match part.stages.len() {
            1 => String::new(),
            _ => format!("stage {n} of "),
        };
        let message = format!(
            "{stage}`{}` cannot be bagged in time: full vacuum {} after the first mix, but that batch gels after about {}",
            part.bag_name(),
            timeline.bag?.full_vacuum,
            timeline.open_until
        );
        Some(Diagnostic::warning(message).help(part.ways_out()?))
    })
}

impl Late<'_> {
    fn in_words(&self) -> String {
        let mut ways = self.other_hardeners();
        if ways.is_empty() {
            ways.extend(self.slower_hardener());
        }
        ways.extend(self.more_people(&self.as_is));
        ways.extend(self.more_stages(&self.as_is));
        ways.extend(self.bags_of_their_own());
        if ways.is_empty() {
            ways.extend(self.together());
        }
        let least = match self.parts.len() {
            1 => "a smaller part",
            _ => "fewer parts in the bag",
        };
        ways.push(least.to_owned());
        ways.join("; or ")
    }

    /// What `way` changes, with the times of its stage that has least to spare; `None` if that is late too.
    fn tried(&self, way: &Remedy) -> Option<String> {
        let timelines = match &self.parts[..] {
            [plies] => self.timelines(plies, way, &way.stages),
            parts => {
                let mut batches: Vec<Vec<Batch>> = vec![Vec::new(); self.as_is.stages.len()];
                for (plies, stages) in parts.iter().zip(&self.stages) {
                    let stages = Stage::all_of(plies, &way.system, Some(self.bag), stages);
                    let each = batches.iter_mut().zip(stages);
                    each.for_each(|(all, stage)| all.extend(stage.batches));
                }
                let timelines = batches.iter();
                timelines
                    .filter_map(|batches| Timeline::of(batches, &way.system, Some(self.bag)))
                    .collect()
            }
        };
        Self::in_time(&timelines, &way.changes)
    }

    fn timelines(
        &self,
        plies: &[PlyTakes],
        way: &Remedy,
        stages: &[Range<usize>],
    ) -> Vec<Timeline> {
        let stages = Stage::all_of(plies, &way.system, Some(self.bag), stages);
        stages
            .into_iter()
            .filter_map(|stage| stage.timeline)
            .collect()
    }

    /// The parts of a shared bag each under its own.
    fn bags_of_their_own(&self) -> Option<String> {
        if self.parts.len() == 1 {
            return None;
        }
        let alone = self.parts.iter().zip(&self.stages);
        let alone = alone.flat_map(|(plies, stages)| self.timelines(plies, &self.as_is, stages));
        let alone: Vec<Timeline> = alone.collect();
        Self::in_time(&alone, &["a bag for each part, without `bag`".to_owned()])
    }

    /// These `changes` with the times of what has least to spare; `None` if that is late.
    fn in_time(timelines: &[Timeline], changes: &[String]) -> Option<String> {
        let tightest = timelines
            .iter()
            .min_by(|a, b| a.slack().total_cmp(&b.slack()))?;
        let full_vacuum = tightest.bag?.full_vacuum;
        tightest.is_in_time().then(|| {
            format!(
                "{} (full vacuum after {full_vacuum}, gels after {})",
                changes.join(" and "),
                tightest.open_until
            )
        })
    }

    fn with_hardener(&self, hardener: &Hardener) -> Remedy {
        let name = hardener.name.as_deref().unwrap_or_default();
        Remedy {
            system: self.as_is.system.with_hardener(hardener.clone()),
            changes: vec![format!("hardener `{name}`")],
            ..self.as_is.clone()
        }
    }

    /// The job's other hardeners that alone are enough.
    fn other_hardeners(&self) -> Vec<String> {
        let others = self.as_is.system.other_hardeners.iter();
        let tried = others.map(|other| self.tried(&self.with_hardener(other)));
        tried.flatten().collect()
    }

    /// A hardener that nobody has named: the shortest pot life that is enough.
    fn slower_hardener(&self) -> Option<String> {
        let system = &self.as_is.system;
        let given = &system.hardener;
        let with_pot_life = |minutes: f64| {
            let pot_life = Duration::minutes(minutes);
            let slower = minutes / given.pot_life.to_minutes();
            let hardener = Hardener {
                pot_life,
                open_time: given.open_time.map(|open| open * slower),
                ..given.clone()
            };
            Remedy {
                system: system.with_hardener(hardener),
                changes: vec![format!(
                    "a slower hardener, with a pot life of {pot_life} at {}",
                    system.pot_life_at
                )],
                ..self.as_is.clone()
            }
        };
        let (mut short, mut enough) = (given.pot_life.to_minutes().floor(), SLOWEST);
        let mut found = self.tried(&with_pot_life(enough))?;
        while enough - short > 1.0 {
            let middle = ((short + enough) / 2.0).floor();
            match self.tried(&with_pot_life(middle)) {
                Some(tried) => (enough, found) = (middle, tried),
                None => short = middle,
            }
        }
        Some(found)
    }

    /// The fewest more people that are enough, with all else as in `way`.
    fn more_people(&self, way: &Remedy) -> Option<String> {
        let before = way.system.people;
        (before + 1..=AT_ONE_PART).find_map(|people| {
            let mut way = way.clone();
            way.system.people = people;
            way.changes
                .push(format!("{people} people in place of {before}"));
            self.tried(&way)
        })
    }

    /// The fewest more stages that are enough, with all else as in `way`.
    fn more_stages(&self, way: &Remedy) -> Option<String> {
        let [plies] = &self.parts[..] else {
            return None;
        };
        let most = MOST_STAGES.min(plies.len());
        (way.stages.len() + 1..=most).find_map(|n| {
            let mut way = way.clone();
            way.stages = evenly(plies.len(), n);
            let each: Vec<String> = (way.stages.iter())
                .map(|stage| stage.len().to_string())
                .collect();
            let each = each.join(", ");
            way.changes
                .push(format!("stages under peel ply, `stages = [{each}]`"));
            self.tried(&way)
        })
    }

    /// More people and stages together, and another hardener with either or both, where nothing helps alone.
    fn together(&self) -> Option<String> {
        let system = &self.as_is.system;
        let others = (system.other_hardeners.iter()).map(|other| self.with_hardener(other));
        let ways: Vec<Remedy> = others.chain([self.as_is.clone()]).collect();
        let one_more = ways
            .iter()
            .find_map(|way| self.more_people(way).or_else(|| self.more_stages(way)));
        one_more.or_else(|| {
            ways.into_iter().find_map(|mut way| {
                if system.people < AT_ONE_PART {
                    way.system.people = AT_ONE_PART;
                    let before = system.people;
                    way.changes
                        .push(format!("{AT_ONE_PART} people in place of {before}"));
                }
                self.more_stages(&way)
            })
        })
    }
}

/// `n_plies` in `n` stages as even as can be, the larger ones first.
fn evenly(n_plies: usize, n: usize) -> Vec<Range<usize>> {
    let mut from = 0;
    let stages = (0..n).map(|i| {
        let plies = n_plies / n + usize::from(i < n_plies % n);
        let stage = from..from + plies;
        from = stage.end;
        stage
    });
    stages.collect()
}
