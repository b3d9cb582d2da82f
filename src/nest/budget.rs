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
    Time(TimeSpan),
}

/// A span of time by a clock.
#[derive(Clone, Copy, Debug)]
pub(super) struct TimeSpan {
    clock: Clock,
    start: Duration,
    length: Duration,
}

impl TimeSpan {
    fn elapsed(&self) -> Duration {
        (self.clock.0)().saturating_sub(self.start)
    }
}

/// Number of independent searches under a named effort, whatever the number of threads.
pub(super) const N_WORKERS: usize = 2;

/// Work that a quick effort gives to each worker for fifteen pieces: about 0.2 s.
const QUICK_15_PIECES: f64 = 0.15e9;

impl Budget {
    /// The budget of one search of `effort` for `n_pieces`.
    pub(super) fn new(effort: Effort, n_pieces: usize) -> Self {
        match effort {
            Effort::Quick => Self::normal(0.1, n_pieces),
            Effort::Normal | Effort::UntilStuck => Self::normal(1.0, n_pieces),
            Effort::Thorough => Self::normal(6.0, n_pieces),
            Effort::Seconds(seconds) => Self::time(seconds, Clock::WALL),
            Effort::Clocked(seconds, clock) => Self::time(seconds, clock),
        }
    }

    /// So many times what a normal effort gives for `n_pieces`.
    pub(super) fn normal(times: f64, n_pieces: usize) -> Self {
        // Four times the pieces get twice the work: a user of a quick effort wants it quick.
        let scale = (n_pieces as f64 / 15.0).sqrt();
        Self::Work((10.0 * times * scale * QUICK_15_PIECES) as u64)
    }

    fn time(seconds: f64, clock: Clock) -> Self {
        let finite = if seconds.is_finite() { seconds } else { 1e7 };
        Self::Time(TimeSpan {
            clock,
            start: (clock.0)(),
            length: Duration::from_secs_f64(finite.clamp(0.0, 1e7)),
        })
    }

    /// This share of what is left of it, from now on.
    pub(super) fn part(&self, share: f64) -> Self {
        match *self {
            Self::Work(total) => Self::Work((total as f64 * share) as u64),
            Self::Time(span) => {
                let elapsed = span.elapsed();
                Self::Time(TimeSpan {
                    start: span.start + elapsed,
                    length: span.length.saturating_sub(elapsed).mul_f64(share),
                    ..span
                })
            }
        }
    }

    /// What is left of it after `work`.
    pub(super) fn less(&self, work: u64) -> Self {
        match *self {
            Self::Work(total) => Self::Work(total.saturating_sub(work)),
            Self::Time(_) => *self,
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
            Self::Time(span) => {
                let length = span.length.mul_f64(share);
                let rest = TimeSpan {
                    start: span.start + length,
                    length: span.length.saturating_sub(length),
                    ..span
                };
                (Self::Time(TimeSpan { length, ..span }), Self::Time(rest))
            }
        }
    }

    /// Whether there is time for tables in fine detail, which no budget of work counts.
    pub(super) fn is_ample(&self) -> bool {
        match *self {
            Self::Work(_) => true,
            Self::Time(span) => span.length.as_secs_f64() > 0.3,
        }
    }

    /// Share spent, 0 … 1, after `work`.
    pub(super) fn spent(&self, work: u64) -> f64 {
        let share = match *self {
            Self::Work(total) => work as f64 / (total.max(1)) as f64,
            Self::Time(span) => span.elapsed().as_secs_f64() / span.length.as_secs_f64().max(1e-9),
        };
        share.min(1.0)
    }
}
