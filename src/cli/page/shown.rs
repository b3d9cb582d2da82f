//! What the page shows, and where the threads find it.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::Duration;

use axum::body::Bytes;
use tokio::sync::watch;

use super::file::JobFile;
use super::record::LayupRecord;
use crate::job::edit::TableFields;
use crate::output::{self, Desk, ProvenPlan};

/// What threads share.
pub(super) struct Shared {
    file: Mutex<JobFile>,
    record: Mutex<LayupRecord>,
    /// Told when the page has changed the file.
    changed: Condvar,
    /// Counts how often the job was read.
    round: AtomicU64,
    pub(super) shown: watch::Sender<PageShown>,
}

/// What is on the page.
#[derive(Clone, Default)]
pub(super) struct PageShown {
    /// The state of the job file that is shown.
    pub(super) state: u64,
    /// Counts what was shown.
    pub(super) turn: u64,
    /// How the search stands, in words.
    pub(super) standing: String,
    pub(super) view: Arc<PageView>,
}

/// All that the page is made of.
#[derive(Clone, Default)]
pub(super) struct PageView {
    pub(super) file: String,
    pub(super) job: Option<TableFields>,
    pub(super) planned: Option<Arc<Planned>>,
    pub(super) is_earlier: bool,
    pub(super) problem: Option<String>,
    pub(super) steps: [bool; 2],
}

/// A plan with its files, which are made when one is asked for.
pub(super) struct Planned {
    pub(super) proven: ProvenPlan,
    /// The shelf that its job takes from.
    pub(super) shelf: Option<std::path::PathBuf>,
    files: OnceLock<BTreeMap<String, Bytes>>,
}

impl Planned {
    pub(super) fn new(proven: ProvenPlan, shelf: Option<std::path::PathBuf>) -> Self {
        Self {
            proven,
            shelf,
            files: OnceLock::new(),
        }
    }

    /// All files of the plan; takes a while the first time.
    pub(super) fn files(&self) -> &BTreeMap<String, Bytes> {
        self.files.get_or_init(|| {
            let all = output::all(&self.proven).into_iter();
            all.map(|file| (file.path, Bytes::from(file.bytes)))
                .collect()
        })
    }
}

impl PageShown {
    /// Lends what is shown to the writer of the page.
    pub(super) fn desk<T>(&self, act: impl FnOnce(&Desk<'_>) -> T) -> T {
        let Self { view, standing, .. } = self;
        act(&Desk {
            file: &view.file,
            job: view.job.as_ref(),
            plan: view.planned.as_ref().map(|planned| planned.proven.plan()),
            is_earlier: view.is_earlier,
            problem: view.problem.as_deref(),
            standing,
            steps: view.steps,
        })
    }
}

impl Shared {
    pub(super) fn new(file: JobFile) -> Self {
        let name = file.path().file_name().unwrap_or_default();
        let view = PageView {
            file: name.to_string_lossy().into_owned(),
            job: TableFields::of(file.text()),
            ..PageView::default()
        };
        let shown = PageShown {
            state: file.number(),
            turn: 0,
            standing: "the first plan is being made".to_owned(),
            view: Arc::new(view),
        };
        Self {
            record: Mutex::new(LayupRecord::of(file.path())),
            file: Mutex::new(file),
            changed: Condvar::new(),
            round: AtomicU64::new(0),
            shown: watch::channel(shown).0,
        }
    }

    /// The job file. No thread leaves it half changed, so one that panicked does no harm.
    pub(super) fn file(&self) -> MutexGuard<'_, JobFile> {
        self.file.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What was ticked at the mould.
    pub(super) fn record(&self) -> MutexGuard<'_, LayupRecord> {
        self.record.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The page has changed the file: whoever waits for that goes on.
    pub(super) fn tell_changed(&self) {
        self.changed.notify_all();
    }

    /// The job is read anew: whatever was begun before is wanted no longer.
    pub(super) fn begin_round(&self) -> u64 {
        self.round.fetch_add(1, Ordering::SeqCst) + 1
    }

    /// Whether `round` is the newest.
    pub(super) fn is_round(&self, round: u64) -> bool {
        self.round.load(Ordering::SeqCst) == round
    }

    /// Waits until the page changes the file, but no longer than `most`.
    pub(super) fn wait(&self, state: u64, most: Duration) {
        let file = self.file();
        let is_old = |file: &mut JobFile| file.number() == state;
        drop(self.changed.wait_timeout_while(file, most, is_old));
    }

    /// Shows a changed view.
    pub(super) fn show(&self, state: u64, standing: &str, change: impl FnOnce(&mut PageView)) {
        self.shown.send_modify(|shown| {
            shown.turn += 1;
            shown.state = state;
            standing.clone_into(&mut shown.standing);
            change(Arc::make_mut(&mut shown.view));
        });
    }

    /// Tells how the search stands; the rest of the page stays as it is.
    pub(super) fn stand(&self, standing: String) {
        self.shown.send_modify(|shown| shown.standing = standing);
    }
}
