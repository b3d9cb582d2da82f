//! Progress on a terminal, and stopping early.

use std::io::Write as _;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};

use super::{messages, writing};
use crate::diag::{Diagnostic, visible};
use crate::nest::Continue;
use crate::plan::Step;

/// Set by Ctrl-C: the search ends with the best it has.
static STOP: AtomicBool = AtomicBool::new(false);

/// Whether Ctrl-C was pressed.
pub(super) fn was_stopped() -> bool {
    STOP.load(Ordering::SeqCst)
}

/// Whether Ctrl-C ends a search only: there is a layout that can be kept.
static CAN_STOP: AtomicBool = AtomicBool::new(false);

/// Calls `first` at a Ctrl-C that is only noted, where `is_noted` answers so; any other, and every
/// second one, ends the program at once, whatever it is at.
fn on_interrupt(is_noted: fn() -> bool, first: impl Fn() + Send + 'static) {
    // Without a handler Ctrl-C ends the program at once, which is no harm: nothing is
    // half-written.
    _ = ctrlc::set_handler(move || {
        if is_noted() && !STOP.swap(true, Ordering::SeqCst) {
            first();
        } else if writing::abandon() {
            if messages::is_watched() {
                // Below what shows the progress.
                _ = writeln!(anstream::stderr());
            }
            messages::show(&Diagnostic::note("stopped by Ctrl-C: nothing was written"));
            // 128 + SIGINT, as shells report it.
            std::process::exit(130);
        }
    });
}

/// From now on the first Ctrl-C is only noted, the second one ends the program.
pub(super) fn note_interrupt() {
    on_interrupt(|| true, || {});
}

/// Shows how the search stands, if somebody is watching.
pub(super) struct Watcher {
    bar: ProgressBar,
    start: Instant,
    /// Set when what is being worked out is wanted no longer.
    given_up: AtomicBool,
}

/// Steps of the bar.
const WHOLE: u64 = 1000;

/// Share of the work below which the time left is anybody's guess.
const LEAST_DONE: f64 = 0.01;

impl Watcher {
    /// A watcher; silent if `quiet` or if nobody is watching.
    pub(super) fn new(quiet: bool) -> Self {
        let bar = if quiet || !messages::is_watched() {
            ProgressBar::hidden()
        } else {
            let bar = ProgressBar::new(WHOLE);
            let style = ProgressStyle::with_template("{prefix} [{bar:24}] {msg}")
                .expect("the template is constant")
                .progress_chars("=> ");
            bar.set_style(style);
            bar
        };
        Self {
            bar,
            start: Instant::now(),
            given_up: AtomicBool::new(false),
        }
    }

    /// Ends the work: it is wanted no longer.
    pub(super) fn give_up(&self) {
        self.given_up.store(true, Ordering::SeqCst);
    }

    /// Whether the work is wanted no longer.
    pub(super) fn was_given_up(&self) -> bool {
        self.given_up.load(Ordering::SeqCst)
    }

    /// From now on a Ctrl-C ends the search with the best so far where there is such a best; a
    /// second one, or one before or after the search, ends the program without a result.
    pub(super) fn stop_on_interrupt(&self) {
        let bar = self.bar.clone();
        on_interrupt(
            || CAN_STOP.load(Ordering::SeqCst),
            move || {
                let told = "stopping with the best so far; Ctrl-C again leaves without a result";
                if bar.is_hidden() {
                    messages::show(&Diagnostic::note(told));
                } else {
                    bar.set_message(told);
                }
            },
        );
    }

    /// Shows `step`; answers whether to go on.
    pub(super) fn see(&self, step: Step<'_>) -> Continue {
        CAN_STOP.store(true, Ordering::SeqCst);
        if was_stopped() || self.was_given_up() {
            return Continue::Stop;
        }
        if !self.bar.is_hidden() {
            let cloth = visible(step.cloth);
            self.bar.set_prefix(if step.of > 1 {
                format!("{cloth} ({} of {})", step.index + 1, step.of)
            } else {
                cloth.into_owned()
            });
            self.bar.set_position((step.job_done * WHOLE as f64) as u64);
            self.bar.set_message(standing(&step, self.start.elapsed()));
        }
        Continue::Yes
    }

    /// Shows that the share `done` of all the work on `what` is done; answers whether to go on.
    pub(super) fn see_share(&self, what: &str, done: f64) -> Continue {
        CAN_STOP.store(true, Ordering::SeqCst);
        if was_stopped() || self.was_given_up() {
            return Continue::Stop;
        }
        if !self.bar.is_hidden() {
            self.bar.set_prefix(what.to_owned());
            self.bar.set_position((done * WHOLE as f64) as u64);
            if done >= LEAST_DONE {
                let left = self.start.elapsed().as_secs_f64() * (1.0 / done - 1.0);
                self.bar.set_message(format!("{} left", time(left)));
            }
        }
        Continue::Yes
    }

    /// The search is over: takes the bar away.
    pub(super) fn done(&self) {
        CAN_STOP.store(false, Ordering::SeqCst);
        self.bar.finish_and_clear();
    }
}

/// Tells what is being done as soon as it has taken [`PATIENCE`], until it is dropped.
pub(super) struct Busy {
    bar: ProgressBar,
    is_over: Arc<(Mutex<bool>, Condvar)>,
    teller: Option<JoinHandle<()>>,
}

/// What takes less is not told of.
const PATIENCE: Duration = Duration::from_millis(500);

impl Busy {
    /// Work called `what`; silent if `quiet` or if nobody is watching.
    pub(super) fn new(what: &str, quiet: bool) -> Self {
        let bar = ProgressBar::hidden();
        let is_over = Arc::new((Mutex::new(false), Condvar::new()));
        let mut busy = Self {
            bar: bar.clone(),
            is_over: Arc::clone(&is_over),
            teller: None,
        };
        if quiet || !messages::is_watched() {
            return busy;
        }
        let style = ProgressStyle::with_template("{spinner} {msg}, {elapsed}");
        bar.set_style(style.expect("the template is constant"));
        bar.set_message(what.to_owned());
        busy.teller = Some(std::thread::spawn(move || {
            let (over, woken) = &*is_over;
            let over = over.lock().unwrap_or_else(PoisonError::into_inner);
            let waited = woken.wait_timeout_while(over, PATIENCE, |over| !*over);
            if waited.is_ok_and(|(over, _)| !*over) {
                bar.set_draw_target(ProgressDrawTarget::stderr());
                bar.enable_steady_tick(Duration::from_millis(120));
            }
        }));
        busy
    }
}

impl Drop for Busy {
    fn drop(&mut self) {
        let (over, woken) = &*self.is_over;
        *over.lock().unwrap_or_else(PoisonError::into_inner) = true;
        woken.notify_all();
        if let Some(teller) = self.teller.take() {
            _ = teller.join();
        }
        self.bar.finish_and_clear();
    }
}

/// Length, utilisation and the time left for the whole job after `elapsed`.
fn standing(step: &Step<'_>, elapsed: Duration) -> String {
    let mut text = match step.length {
        Some(length) => format!(
            "{}, {:.1} % used",
            length.in_metres_and_yards(),
            step.utilisation * 100.0
        ),
        None => "filling stock or a frame".to_owned(),
    };
    if step.job_done >= LEAST_DONE {
        let left = elapsed.as_secs_f64() * (1.0 / step.job_done - 1.0);
        text.push_str(&format!(", {} left", time(left)));
    }
    text
}

/// Seconds as a person says them: `12 s`, `3 min 20 s`, `2 h 5 min`.
fn time(seconds: f64) -> String {
    let s = seconds.ceil() as u64;
    match s {
        0..60 => format!("{s} s"),
        60..3600 => format!("{} min {} s", s / 60, s % 60),
        _ => format!("{} h {} min", s / 3600, s % 3600 / 60),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Length;

    #[test]
    fn a_step_is_told_by_length_utilisation_and_time_left() {
        let mut step = Step {
            cloth: "twill",
            index: 0,
            of: 2,
            length: Some(Length::mm(2290.0)),
            utilisation: 0.698,
            done: 0.5,
            job_done: 0.25,
        };
        let told = standing(&step, Duration::from_secs(30));
        assert_eq!(told, "2.29 m (2.50 yd), 69.8 % used, 1 min 30 s left");
        // Too early to tell.
        step.job_done = 0.0;
        let told = standing(&step, Duration::from_secs(1));
        assert_eq!(told, "2.29 m (2.50 yd), 69.8 % used");
        step.length = None;
        let told = standing(&step, Duration::from_secs(1));
        assert_eq!(told, "filling stock or a frame");
    }

    #[test]
    fn times_are_said_in_two_units_at_most() {
        assert_eq!(time(0.2), "1 s");
        assert_eq!(time(60.0), "1 min 0 s");
        assert_eq!(time(7500.0), "2 h 5 min");
    }
}
