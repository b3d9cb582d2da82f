//! Searching until more work is of no use. The same problem is searched again, from its start and
//! by other random choices, each time for as long as all times before together: what is stuck gains
//! little from going on (`heats`). The search is stuck when such a doubling of the work gains next
//! to nothing.

use std::sync::Mutex;

use super::budget::Budget;
use super::{Continue, NestError, SearchSettings};

/// A gain below this share of the length is next to nothing.
const GAIN: f64 = 0.001;
/// The most work, in normal searches. The first search is one, and the sum doubles with each.
const MOST: f64 = 32.0;

/// What one of the searches needs to know of the whole.
pub(super) struct SearchStage<'a> {
    number: u64,
    /// Normal searches that it is worth, and that were done before it.
    times: f64,
    done: f64,
    /// The shortest length told so far, and whether the observer wants to stop.
    told: &'a Mutex<(f64, bool)>,
}

impl SearchStage<'_> {
    pub(super) fn budget(&self, n_pieces: usize) -> Budget {
        Budget::normal(self.times, n_pieces)
    }

    /// `settings` with random numbers of its own.
    pub(super) fn settings(&self, settings: &SearchSettings) -> SearchSettings {
        SearchSettings {
            seed: settings.seed ^ (self.number << 32),
            ..*settings
        }
    }

    /// Tells `observe` of `length` or what was shorter before, and of the share of all work done
    /// when `share` of this search is.
    pub(super) fn tell(
        &self,
        length: f64,
        share: f64,
        observe: impl FnOnce(f64, f64) -> Continue,
    ) -> Continue {
        // Poisoned if an observer panicked: stop, its panic is on its way up.
        let Ok(mut told) = self.told.lock() else {
            return Continue::Stop;
        };
        told.0 = told.0.min(length);
        let answer = observe(told.0, (self.done + share * self.times) / MOST);
        told.1 |= answer == Continue::Stop;
        answer
    }
}

/// The best of the layouts that `search` finds until it is stuck; `cost` says how good one is.
pub(super) fn until_stuck<L>(
    cost: impl Fn(&L) -> f64,
    search: impl Fn(&SearchStage<'_>) -> Result<L, NestError>,
) -> Result<L, NestError> {
    let told = Mutex::new((f64::INFINITY, false));
    let mut stage = SearchStage {
        number: 0,
        times: 1.0,
        done: 0.0,
        told: &told,
    };
    let mut best = search(&stage)?;
    loop {
        stage.done += stage.times;
        stage.times = stage.done;
        stage.number += 1;
        let is_stopped = told.lock().map_or(true, |told| told.1);
        if is_stopped || stage.done + stage.times > MOST {
            return Ok(best);
        }
        // One that finds no room for all where another did is no gain.
        let Ok(other) = search(&stage) else {
            return Ok(best);
        };
        let (before, now) = (cost(&best), cost(&other));
        if now < before {
            best = other;
        }
        if now >= before * (1.0 - GAIN) {
            return Ok(best);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The shares of work done when searches that give `lengths` have begun, and what is found.
    fn run(lengths: &[f64], stop_at: f64) -> (Vec<f64>, f64) {
        let shares = Mutex::new(Vec::new());
        let found = until_stuck(
            |&length| length,
            |stage| {
                let length = lengths[stage.number as usize];
                stage.tell(length, 0.0, |_, done| {
                    shares.lock().unwrap().push(done * MOST);
                    if done * MOST >= stop_at {
                        Continue::Stop
                    } else {
                        Continue::Yes
                    }
                });
                Ok(length)
            },
        );
        (shares.into_inner().unwrap(), found.unwrap())
    }

    #[test]
    fn the_work_doubles_until_that_gains_next_to_nothing() {
        let never = f64::INFINITY;
        let slower = [100.0, 99.0, 98.95, 90.0];
        assert_eq!(run(&slower, never), (vec![0.0, 1.0, 2.0], 98.95));
        let worse = [100.0, 101.0, 90.0];
        assert_eq!(run(&worse, never), (vec![0.0, 1.0], 100.0));
    }

    #[test]
    fn it_ends_when_the_observer_or_the_most_work_says_so() {
        let falling = [60.0, 50.0, 40.0, 30.0, 20.0, 10.0, 5.0];
        assert_eq!(run(&falling, 2.0), (vec![0.0, 1.0, 2.0], 40.0));
        let (begun, found) = run(&falling, f64::INFINITY);
        assert_eq!((begun, found), (vec![0.0, 1.0, 2.0, 4.0, 8.0, 16.0], 10.0));
    }
}
