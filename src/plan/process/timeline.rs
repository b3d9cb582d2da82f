//! The time under one bag: batches mixed and laid one after the other, the bag closed, full vacuum, and
//! whether all of that comes before the first batch gels.

use crate::job::{Bagging, ResinSystem};
use crate::laminate::Batch;
use crate::units::Duration;

/// When what happens to one stage of a part, counted from when the first batch is begun.
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
    /// The time of these batches of one stage; `None` if there are none.
    pub(super) fn of(
        batches: &[Batch],
        system: &ResinSystem,
        bag: Option<&Bagging>,
    ) -> Option<Self> {
        let mut now = Duration::ZERO;
        let batches: Vec<TimedBatch> = (batches.iter().enumerate())
            .map(|(idx, batch)| {
                let begun = now;
                let mixed = begun + system.mixing_time;
                now = mixed + batch.time;
                TimedBatch {
                    batch: idx,
                    begun,
                    mixed,
                    laid: now,
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

    /// Tells that `n` batches of the plan come before these.
    pub(super) fn count_on_from(&mut self, n: usize) {
        self.batches.iter_mut().for_each(|timed| timed.batch += n);
    }

    /// When the last ply is wetted out.
    #[must_use]
    pub fn last_ply(&self) -> Duration {
        self.batches.last().map_or(Duration::ZERO, |last| last.laid)
    }

    /// How many minutes before the first batch gels the bag presses; below zero if it is late.
    pub(super) fn slack(&self) -> f64 {
        let presses = self.bag.map_or(Duration::ZERO, |bag| bag.full_vacuum);
        self.open_until.to_minutes() - presses.to_minutes()
    }

    /// Whether the bag presses before the first batch gels. Without a bag nothing hangs on it.
    #[must_use]
    pub fn is_in_time(&self) -> bool {
        self.bag
            .is_none_or(|bag| bag.full_vacuum <= self.open_until)
    }
}
