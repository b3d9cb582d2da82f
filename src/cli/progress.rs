//! Progress on a terminal, and stopping early.

use std::sync::Mutex;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Duration;

use indicatif::{ProgressBar, ProgressStyle};

use super::messages;
use crate::nest::Continue;
use crate::plan::Step;

/// Set by Ctrl-C: the search ends with the best it has.
static STOP: AtomicBool = AtomicBool::new(false);

/// From now on the first Ctrl-C ends the search, the second one the program.
pub(super) fn stop_on_interrupt() {
    // Without a handler Ctrl-C ends the program at once, which is no harm: nothing is half-written.
    _ = ctrlc::set_handler(|| {
        if STOP.swap(true, Ordering::SeqCst) {
            // 128 + SIGINT, as shells report it.
            std::process::exit(130);
        }
    });
}

/// Whether Ctrl-C was pressed.
pub(super) fn was_stopped() -> bool {
    STOP.load(Ordering::SeqCst)
}

/// Shows how the search stands, if somebody is watching.
pub(super) struct Watcher {
    bar: ProgressBar,
    cloth: Mutex<usize>,
}

/// Steps of the bar.
const WHOLE: u64 = 1000;

impl Watcher {
    /// A watcher; silent if `quiet` or if nobody is watching.
    pub(super) fn new(quiet: bool) -> Self {
        let bar = if quiet || !messages::is_watched() {
            ProgressBar::hidden()
        } else {
            let bar = ProgressBar::new(WHOLE);
            let style = ProgressStyle::with_template("{prefix:>16} [{bar:24}] {msg} {eta} left")
                .expect("the template is constant")
                .progress_chars("=> ");
            bar.set_style(style);
            bar.enable_steady_tick(Duration::from_millis(100));
            bar
        };
        Self {
            bar,
            cloth: Mutex::new(usize::MAX),
        }
    }

    /// Shows `step`; answers whether to go on.
    pub(super) fn see(&self, step: Step<'_>) -> Continue {
        if let Ok(mut cloth) = self.cloth.lock()
            && *cloth != step.index
        {
            *cloth = step.index;
            self.bar.reset_eta();
            self.bar.set_prefix(step.cloth.to_owned());
        }
        self.bar.set_position((step.done * WHOLE as f64) as u64);
        self.bar.set_message(format!(
            "{} · {:.1} % used",
            step.length.in_metres_and_yards(),
            step.utilisation * 100.0
        ));
        if was_stopped() {
            Continue::Stop
        } else {
            Continue::Yes
        }
    }

    /// Takes the bar away.
    pub(super) fn done(&self) {
        self.bar.finish_and_clear();
    }
}
