//! The time under one bag: batches mixed and laid one after the other, the bag closed, full vacuum, and
//! whether all of that comes before the first batch gels.

use std::fmt::Write as _;

use super::resin::ResinUse;
use crate::diag::Diagnostic;
use crate::job::{Bagging, ResinSystem};
use crate::units::Duration;

/// When what happens to one set of a part, counted from when the first batch is begun.
#[derive(Clone, Debug, PartialEq)]
pub struct Timeline {
    /// The batches in their order.
    pub batches: Vec<TimedBatch>,
    /// From the last ply to full vacuum, and the leak check; `None` without a bag.
    pub bag: Option<Bagged>,
    /// When the first batch is no longer workable in a thin film.
    pub open_until: Duration,
}

/// A batch in its time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TimedBatch {
    /// Its index among the batches of the plan.
    pub batch: usize,
    /// When it is begun to be weighed.
    pub begun: Duration,
    /// When it is mixed, and laying begins.
    pub mixed: Duration,
    /// When it is used up.
    pub laid: Duration,
}

/// The end of the work under a bag.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bagged {
    /// When full vacuum is reached.
    pub full_vacuum: Duration,
    /// When the leak check is over and the pump on again.
    pub leak_checked: Duration,
}

impl Timeline {
    /// The time of the first set of part `part`; every set takes as long. `None` without resin in it.
    pub(super) fn of(resin: &ResinUse, part: usize, bag: Option<&Bagging>) -> Option<Self> {
        let system = &resin.system;
        let of_set = resin.batches.iter().enumerate().filter(|(_, batch)| {
            let first = &resin.steps[batch.steps.start];
            first.part == part && first.set == 1
        });
        let mut now = Duration::ZERO;
        let batches: Vec<TimedBatch> = of_set
            .map(|(idx, batch)| {
                let begun = now;
                let mixed = begun + system.mixing_time;
                now = mixed + batch.time;
                let laid = now;
                TimedBatch {
                    batch: idx,
                    begun,
                    mixed,
                    laid,
                }
            })
            .collect();
        let first = batches.first()?;
        let bag = bag.map(|bag| Bagged {
            full_vacuum: now + bag.bagging_time,
            leak_checked: now + bag.bagging_time + bag.leak_check,
        });
        Some(Self {
            open_until: first.mixed + system.open_time_in_room(),
            batches,
            bag,
        })
    }

    /// When the last ply is wetted out.
    #[must_use]
    pub fn last_ply(&self) -> Duration {
        self.batches.last().map_or(Duration::ZERO, |last| last.laid)
    }

    /// Whether the bag presses before the first batch gels. Without a bag nothing hangs on it.
    #[must_use]
    pub fn is_in_time(&self) -> bool {
        self.bag
            .is_none_or(|bag| bag.full_vacuum <= self.open_until)
    }

    /// What would bring the bag on in time, in the words of a help.
    #[must_use]
    pub fn ways_out(&self, system: &ResinSystem, bag: &Bagging) -> String {
        /// More people than this are in one another's way at one part.
        const AT_ONE_PART: f64 = 6.0;
        let minutes = Duration::to_minutes;
        let laying: f64 = (self.batches.iter())
            .map(|b| minutes(b.laid) - minutes(b.mixed))
            .sum();
        // The mixing of the first batch comes before its time begins to run.
        let first = self.batches.first().map_or(0.0, |b| minutes(b.mixed));
        let needed = minutes(self.last_ply()) - first + minutes(bag.bagging_time);
        let open = minutes(self.open_until) - first;
        let for_laying =
            open - minutes(bag.bagging_time) - (needed - minutes(bag.bagging_time) - laying);
        let people = (laying * f64::from(system.people) / for_laying).ceil();
        let mut help = String::new();
        if for_laying > 0.0 && people <= AT_ONE_PART {
            _ = write!(
                help,
                "{people:.0} people in place of {}; or ",
                system.people
            );
        }
        let slower = needed / open * minutes(system.pot_life);
        // Rounded up, so that what is asked for is enough.
        let (slower, needed) = (
            Duration::minutes(slower.ceil()),
            Duration::minutes(needed.ceil()),
        );
        _ = write!(
            help,
            "a slower hardener, open for {needed} in a thin film (a pot life of about {slower})"
        );
        let stage = open - minutes(bag.bagging_time);
        if stage > 0.0 {
            let stages = (minutes(self.last_ply()) / stage).ceil();
            _ = write!(
                help,
                "; or {stages:.0} stages, each cured under peel ply that is torn off before the next"
            );
        }
        help + "; or a smaller part"
    }

    /// A warning, if the bag of part `name` comes too late.
    pub(super) fn warning(
        &self,
        name: &str,
        system: &ResinSystem,
        bag: &Bagging,
    ) -> Option<Diagnostic> {
        let end = self.bag.filter(|_| !self.is_in_time())?.full_vacuum;
        let message = format!(
            "`{name}` cannot be bagged in time: full vacuum {end} after the first mix, but that batch gels after about {}",
            self.open_until
        );
        Some(Diagnostic::warning(message).help(self.ways_out(system, bag)))
    }
}
