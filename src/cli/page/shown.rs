//! What the page shows, and where the threads find it.

use std::collections::BTreeMap;
use std::sync::atomic::{AtomicU64, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, OnceLock, PoisonError};
use std::time::Duration;

use axum::body::Bytes;
use tokio::sync::watch;

use super::file::{JobFile, NotChanged};
use super::record::LayupRecord;
use crate::cli::input::{self, Prepared};
use crate::cli::sources::Sources;
use crate::diag::{Diagnostic, Diagnostics, Remedy};
use crate::job::edit::{Edit, TableFields};
use crate::output::{self, Desk, DeskDrawing, ProvenPlan};
use crate::plan::{Foreseen, check_pins};

/// How it stands while nothing is known yet of a new state of the job.
pub(super) const READING: &str = "reading the job";

/// What threads share.
pub(super) struct Shared {
    file: Mutex<JobFile>,
    record: Mutex<LayupRecord>,
    /// Told when the page has changed the file.
    changed: Condvar,
    /// Counts how often the job was read.
    round: AtomicU64,
    /// Held by who changes what is shown.
    showing: Mutex<()>,
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
    pub(super) parts: Vec<ShownPart>,
}

/// A part of the page as it is written.
#[derive(Clone)]
pub(super) struct ShownPart {
    pub(super) name: &'static str,
    pub(super) text: Arc<str>,
    /// The turn in which it was changed.
    pub(super) turn: u64,
}

/// All that the page is made of.
#[derive(Clone, Default)]
pub(super) struct PageView {
    pub(super) file: String,
    pub(super) job: Option<TableFields>,
    pub(super) drawings: Arc<[DeskDrawing]>,
    /// What the newest plan is made of.
    pub(super) prepared: Option<Arc<Prepared>>,
    pub(super) planned: Option<Arc<Planned>>,
    pub(super) is_earlier: bool,
    /// What is known of the job before its plan is made.
    pub(super) foreseen: Option<Arc<Foreseen>>,
    pub(super) problems: Vec<Diagnostic>,
    /// What may be permitted to mend it.
    pub(super) remedies: Vec<Remedy>,
    pub(super) steps: [bool; 2],
}

/// A plan with its files, which are made when one is asked for.
pub(super) struct Planned {
    pub(super) proven: ProvenPlan,
    /// The shelf that its job takes from.
    pub(super) shelf: Option<std::path::PathBuf>,
    files: OnceLock<BTreeMap<String, Bytes>>,
    rolls: OnceLock<String>,
    laid: OnceLock<Bytes>,
    papers: OnceLock<Vec<ShownPaper>>,
}

/// Templates or labels as pictures.
pub(super) struct ShownPaper {
    pub(super) path: String,
    pub(super) title: String,
    pub(super) pictures: Vec<Bytes>,
    pub(super) n_pages: usize,
}

/// So many pages of a paper are shown.
const MOST_PICTURES: usize = 12;

impl Planned {
    pub(super) fn new(proven: ProvenPlan, shelf: Option<std::path::PathBuf>) -> Self {
        Self {
            proven,
            shelf,
            files: OnceLock::new(),
            rolls: OnceLock::new(),
            laid: OnceLock::new(),
            papers: OnceLock::new(),
        }
    }

    /// Its templates and labels; takes a while the first time.
    pub(super) fn papers(&self) -> &[ShownPaper] {
        self.papers.get_or_init(|| {
            let papers = output::papers(self.proven.plan(), &mut Diagnostics::new());
            let papers = papers.into_iter().map(|paper| {
                let (pictures, n_pages) = paper.pictures(MOST_PICTURES);
                ShownPaper {
                    path: paper.path,
                    title: paper.title,
                    pictures: pictures.into_iter().map(Bytes::from).collect(),
                    n_pages,
                }
            });
            papers.collect()
        })
    }

    /// The rolls as the page shows them.
    fn rolls(&self) -> &str {
        self.rolls
            .get_or_init(|| output::desk_rolls(self.proven.plan()))
    }

    /// The rolls as the script of the page knows them.
    pub(super) fn laid(&self) -> Bytes {
        let laid = || Bytes::from(output::desk_laid(self.proven.plan()));
        self.laid.get_or_init(laid).clone()
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

impl PageView {
    /// What comes of the job is of an earlier state from now on.
    fn become_earlier(&mut self) {
        self.is_earlier = self.planned.is_some();
        self.foreseen = None;
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
            cloths: (view.prepared.as_ref()).map_or(&[], |made| made.inputs.job().cloths()),
            drawings: &view.drawings,
            is_earlier: view.is_earlier,
            foreseen: view.foreseen.as_deref(),
            rolls: view.planned.as_ref().map_or("", |planned| planned.rolls()),
            problems: &view.problems,
            remedies: &view.remedies,
            standing,
            steps: view.steps,
        })
    }

    /// Writes the parts of the page anew; those that are as they were keep their turn.
    fn write(&mut self) {
        let parts = self.desk(|desk| desk.parts());
        let before = std::mem::take(&mut self.parts);
        let part = |(name, text): (&'static str, String)| {
            let same = before
                .iter()
                .find(|part| *part.text == *text && part.name == name);
            same.cloned().unwrap_or_else(|| ShownPart {
                name,
                text: text.into(),
                turn: self.turn,
            })
        };
        self.parts = parts.into_iter().map(part).collect();
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
        let mut shown = PageShown {
            state: file.number(),
            turn: 0,
            standing: "the first plan is being made".to_owned(),
            view: Arc::new(view),
            parts: Vec::new(),
        };
        shown.write();
        Self {
            record: Mutex::new(LayupRecord::of(file.path())),
            file: Mutex::new(file),
            changed: Condvar::new(),
            round: AtomicU64::new(0),
            showing: Mutex::new(()),
            shown: watch::channel(shown).0,
        }
    }

    /// The job file. No thread leaves it half changed, so one that panicked does no harm.
    pub(super) fn file(&self) -> MutexGuard<'_, JobFile> {
        self.file.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// What is shown now.
    pub(super) fn view(&self) -> Arc<PageView> {
        Arc::clone(&self.shown.borrow().view)
    }

    /// What was ticked at the mould.
    pub(super) fn record(&self) -> MutexGuard<'_, LayupRecord> {
        self.record.lock().unwrap_or_else(PoisonError::into_inner)
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

    /// Shows the job file as it is now, unless that is shown already; what comes of it is of an earlier state from then on.
    pub(super) fn show_file(&self) {
        let (state, job, steps) = {
            let file = self.file();
            (file.number(), TableFields::of(file.text()), file.steps())
        };
        let is_due = |shown: &PageShown| shown.state < state;
        self.show_if(is_due, state, READING, |view| {
            view.job = job;
            view.steps = steps;
            view.become_earlier();
        });
    }

    /// A drawing has changed, and not the job: what comes of it is of an earlier state.
    pub(super) fn show_reading(&self, state: u64) {
        self.show(state, READING, PageView::become_earlier);
    }

    /// The page has changed the file: whoever waits for that goes on, while the page is written that shows the file.
    pub(super) fn tell_changed(&self) {
        self.changed.notify_all();
        self.show_file();
    }

    /// Whether `piece`, put where `edits` pin it, may lie there: what is refused is not written into the job.
    pub(super) fn would_hold(&self, piece: &str, edits: &[Edit]) -> Result<(), NotChanged> {
        let view = self.view();
        let (path, text) = {
            let file = self.file();
            (file.path().to_owned(), file.after(edits)?)
        };
        let job = input::job_of_text(&path, &text, &mut Sources::default());
        // What is wrong elsewhere, or not planned yet, is told by the next plan.
        let (Some(prepared), Ok((job, _)), false) = (&view.prepared, job, view.is_earlier) else {
            return Ok(());
        };
        let Err(problems) = check_pins(&prepared.pieces.with_pins(job.pins().to_vec())) else {
            return Ok(());
        };
        let is_its = |problem: &&Diagnostic| problem.message.split(' ').any(|word| word == piece);
        match problems.iter().find(is_its) {
            Some(problem) => {
                let why = &problem.message;
                Err(NotChanged::Impossible(format!("It goes back: {why}.")))
            }
            None => Ok(()),
        }
    }

    /// Shows a changed view, unless a newer state of the job is shown already.
    pub(super) fn show(&self, state: u64, standing: &str, change: impl FnOnce(&mut PageView)) {
        self.show_if(|shown| shown.state <= state, state, standing, change);
    }

    fn show_if(
        &self,
        is_due: impl FnOnce(&PageShown) -> bool,
        state: u64,
        standing: &str,
        change: impl FnOnce(&mut PageView),
    ) {
        // Written beside the page that is shown, which can be asked for meanwhile; two never do so at once.
        let _turn = self.showing.lock().unwrap_or_else(PoisonError::into_inner);
        let mut shown = self.shown.borrow().clone();
        if !is_due(&shown) {
            return;
        }
        shown.turn += 1;
        shown.state = state;
        standing.clone_into(&mut shown.standing);
        change(Arc::make_mut(&mut shown.view));
        shown.write();
        self.shown.send_replace(shown);
    }

    /// Tells how the search stands; the rest of the page stays as it is.
    pub(super) fn stand(&self, standing: String) {
        self.shown.send_modify(|shown| shown.standing = standing);
    }
}
