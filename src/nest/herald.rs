//! How the workers of a search tell the observer what they have found, and hear that it wants to stop.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};

use super::Continue;

/// Told the best value so far and the share of the work done.
pub(super) type Observe<'a> = dyn Fn(f64, f64) -> Continue + Sync + 'a;

/// What the workers share: the way to the observer.
pub(super) struct Herald<'a> {
    observe: &'a Observe<'a>,
    /// The better of two values.
    better: fn(f64, f64) -> f64,
    /// The best value told so far.
    told: Mutex<f64>,
    stop: AtomicBool,
}

impl<'a> Herald<'a> {
    /// `better` is what tells the better of two values, of which `first` is the first.
    pub(super) fn new(first: f64, better: fn(f64, f64) -> f64, observe: &'a Observe<'a>) -> Self {
        Self {
            observe,
            better,
            told: Mutex::new(first),
            stop: AtomicBool::new(false),
        }
    }

    pub(super) fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }

    /// Passes progress on; `false` once the observer wants to stop.
    pub(super) fn tell(&self, found: Option<f64>, done: f64) -> bool {
        if self.stopped() {
            return false;
        }
        // Poisoned if another worker's observer panicked: stop, its panic is on its way up.
        let Ok(mut told) = self.told.lock() else {
            return false;
        };
        *told = found.map_or(*told, |found| (self.better)(*told, found));
        if (self.observe)(*told, done) == Continue::Stop {
            self.stop.store(true, Ordering::Relaxed);
            return false;
        }
        true
    }
}
