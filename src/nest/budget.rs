//! How much work to do, counted in units of work or, for one effort only, in seconds.
//!
//! Every schedule of the search is driven by the share of the budget spent. When the budget is in
//! work, the same seed gives the same layout on any machine and with any number of threads.

use std::time::Duration;

use super::{Clock, Effort};

/// What a search may spend, and from when.
#[derive(Clone, Copy, Debug)]
pub(super) enum Budget {
    /// Work for each logical worker, in the units of [`super::measure::cost`].
    Work(u64),
    /// Time by a clock.
    Time {
        clock: Clock,
        start: Duration,
        length: Duration,
    },
}

/// Number of independent searches under a named effort, whatever the number of threads.
pub(super) const N_WORKERS: usize = 2;

impl Budget {
    /// The budget of `effort` for `n_pieces`.
    pub(super) fn new(effort: Effort, n_pieces: usize) -> Self {
        if let Some((seconds, clock)) = effort.seconds() {
            let seconds = if seconds.is_finite() {
                seconds.clamp(0.0, 1e7)
            } else {
                1e7
            };
            return Self::Time {
                clock,
                start: (clock.0)(),
                length: Duration::from_secs_f64(seconds),
            };
        }
        let times = match effort {
            Effort::Normal => 10.0,
            Effort::Thorough => 60.0,
            _ => 1.0,
        };
        // Four times the pieces get twice the work: a user of a quick effort wants it quick.
        let scale = (n_pieces as f64 / 15.0).sqrt();
        Self::Work((times * scale * QUICK_15_PIECES) as u64)
    }

    /// This share of what is left of it, from now on.
    pub(super) fn part(&self, share: f64) -> Self {
        match *self {
            Self::Work(total) => Self::Work((total as f64 * share) as u64),
            Self::Time {
                clock,
                start,
                length,
            } => {
                let now = (clock.0)();
                let left = length.saturating_sub(now.saturating_sub(start));
                Self::Time {
                    clock,
                    start: now,
                    length: left.mul_f64(share),
                }
            }
        }
    }

    /// What is left of it after `work`.
    pub(super) fn less(&self, work: u64) -> Self {
        match *self {
            Self::Work(total) => Self::Work(total.saturating_sub(work)),
            time @ Self::Time { .. } => time,
        }
    }

    /// Budgets for two stages, of which the first makes up `share` of the whole.
    ///
    /// Seconds are divided. Work is not: the first stage does all of it and the second comes on
    /// top, so that under a named effort a second stage never makes the result worse.
    pub(super) fn stages(self, share: f64) -> (Self, Self) {
        match self {
            Self::Work(total) => {
                let second = total as f64 * (1.0 - share) / share;
                (self, Self::Work(second as u64))
            }
            Self::Time {
                clock,
                start,
                length,
            } => {
                let first = length.mul_f64(share);
                let time = |start, length| Self::Time {
                    clock,
                    start,
                    length,
                };
                let rest = time(start + first, length.saturating_sub(first));
                (time(start, first), rest)
            }
        }
    }

    /// Whether there is time for tables in fine detail.
    pub(super) fn is_ample(&self) -> bool {
        match *self {
            Self::Work(total) => total as f64 > 4.0 * QUICK_15_PIECES,
            Self::Time { length, .. } => length.as_secs_f64() > 2.0,
        }
    }

    /// Share spent, 0 … 1, after `work`.
    pub(super) fn spent(&self, work: u64) -> f64 {
        let share = match *self {
            Self::Work(total) => work as f64 / (total.max(1)) as f64,
            Self::Time {
                clock,
                start,
                length,
            } => {
                let elapsed = (clock.0)().saturating_sub(start);
                elapsed.as_secs_f64() / length.as_secs_f64().max(1e-9)
            }
        };
        share.min(1.0)
    }
}

/// Work that a quick effort gives to each worker for fifteen pieces: about 0.2 s.
const QUICK_15_PIECES: f64 = 0.15e9;
