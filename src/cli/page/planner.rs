//! Works out what comes of the job, again and again: at once a first layout, then a better one.

use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::thread::{self, JoinHandle};
use std::time::{Duration, Instant};

use super::shown::{Planned, Shared};
use crate::cli::input::{self, Prepared};
use crate::cli::plan::{all_threads, contained};
use crate::cli::progress;
use crate::cli::sources::Sources;
use crate::diag::{Diagnostics, Remedy, Severity};
use crate::job::edit::TableFields;
use crate::nest::{Continue, Effort};
use crate::output::{DeskDrawing, ProvenPlan};
use crate::pattern;
use crate::plan::{self, Foreseen, Observer, Settings, Step};

/// What helps after a fault of the program.
const AGAIN: &str = "the next change tries again";

/// Between two looks at the files.
const LOOK_EVERY: Duration = Duration::from_millis(200);

/// Goes on until the program is ended.
pub(super) fn run(shared: &Arc<Shared>) {
    let mut sources = Sources::default();
    let (mut search, mut before) = (None, None);
    while !progress::was_stopped() {
        // A search that is under way is wanted no longer.
        let round = shared.begin_round();
        let state = shared.file().number();
        if before.replace(state) == Some(state) {
            shared.show_reading(state);
        } else {
            shared.show_file();
        }
        if let Some(prepared) = first_layout(shared, state, &mut sources) {
            // It ends soon; until then the first layout of the new one is on the page already.
            search.map(JoinHandle::join);
            search = LongSearch::start(shared, state, round, prepared);
        }
        wait_for_change(shared, state, &sources);
    }
}

fn wait_for_change(shared: &Shared, state: u64, sources: &Sources) {
    while !progress::was_stopped() {
        shared.wait(state, LOOK_EVERY);
        if shared.file().number() != state {
            return;
        }
        if sources.have_changed() {
            // A drawing may have changed, and not the job.
            shared.file().take_in();
            return;
        }
    }
}

/// Shows the first layout of every cloth; answers what a better one is made of.
fn first_layout(shared: &Shared, state: u64, sources: &mut Sources) -> Option<Arc<Prepared>> {
    let path = shared.file().path().to_owned();
    let mut read = Sources::default();
    let prepared = contained(AGAIN, || {
        input::read_and_make(std::slice::from_ref(&path), &mut read)
    });
    if prepared.is_err() {
        read.keep(std::mem::take(sources));
    }
    *sources = read;
    // Saved while it was read: what was read is not what the page shows as the job.
    if shared.file().take_in() || shared.file().number() != state {
        return None;
    }
    let found = prepared.and_then(|prepared| {
        let foreseen = contained(AGAIN, || {
            let drawings = DeskDrawing::all(&prepared.inputs, &prepared.pieces);
            Ok((drawings, Foreseen::of(&prepared.pieces)))
        })?;
        let prepared = Arc::new(prepared);
        foresee(shared, state, &prepared, foreseen);
        let first = |_: Step<'_>| Continue::Stop;
        let is_wanted = || shared.file().number() == state;
        let found = contained(AGAIN, || {
            planned(&prepared, Effort::Seconds(0.0), &first, &is_wanted)
        })?;
        Ok((prepared, found))
    });
    match found {
        Ok((prepared, Some(found))) => {
            show(shared, state, found, "searching for a shorter layout");
            Some(prepared)
        }
        Ok((_, None)) => None,
        Err(problems) => {
            let drawings = read_drawings(&path, shared.view().job.as_ref());
            tell(shared, state, &problems, Some(drawings));
            None
        }
    }
}

/// The drawings of the parts of a job that cannot be planned as it is: on them it may be mended.
fn read_drawings(path: &Path, job: Option<&TableFields>) -> Vec<DeskDrawing> {
    let parts = job.iter().flat_map(|job| job.inner("part"));
    let drawn = parts.filter_map(|part| {
        let file = path.with_file_name(part.value("pattern")?);
        let pattern = input::read_pattern_file(&file, &pattern::Settings::default()).ok()?;
        DeskDrawing::of_pattern(part.value("name")?, part.value("outline"), &pattern)
    });
    drawn.collect()
}

/// The proved plan of a job; `None` as soon as it is wanted no longer.
fn planned(
    prepared: &Prepared,
    effort: Effort,
    observe: &Observer<'_>,
    is_wanted: &dyn Fn() -> bool,
) -> Result<Option<Planned>, Diagnostics> {
    let settings = Settings {
        effort,
        threads: all_threads(),
        ..Settings::default()
    };
    let found = plan::build_while(&prepared.pieces, &settings, observe, is_wanted)?;
    let Some(mut plan) = found else {
        return Ok(None);
    };
    plan.put_remarks_first(prepared.remarks.clone());
    let proven = ProvenPlan::prove(plan)?;
    Ok(Some(Planned::new(proven, prepared.shelf.clone())))
}

/// Shows the figures that no layout is needed for.
fn foresee(
    shared: &Shared,
    state: u64,
    prepared: &Arc<Prepared>,
    (drawings, foreseen): (Vec<DeskDrawing>, Foreseen),
) {
    shared.show(state, "laying out", |view| {
        view.prepared = Some(Arc::clone(prepared));
        view.drawings = drawings.into();
        view.foreseen = Some(Arc::new(foreseen));
        view.problems.clear();
    });
}

fn show(shared: &Shared, state: u64, found: Planned, standing: &str) {
    shared.show(state, standing, |view| {
        view.planned = Some(Arc::new(found));
        view.is_earlier = false;
        view.foreseen = None;
        view.problems.clear();
    });
}

fn tell(shared: &Shared, state: u64, problems: &Diagnostics, drawings: Option<Vec<DeskDrawing>>) {
    // Remarks would bury what is to be mended.
    let errors = problems.at_least(Severity::Error);
    let mut remedies: Vec<Remedy> = Vec::new();
    for remedy in problems
        .iter()
        .filter_map(|problem| problem.remedy.as_ref())
    {
        // Plies of one part are mended together.
        if !remedies.iter().any(|known| known.label == remedy.label) {
            remedies.push(remedy.clone());
        }
    }
    shared.show(state, "waiting for a change", |view| {
        view.problems = errors.iter().cloned().collect();
        view.remedies = remedies;
        if let Some(drawings) = drawings {
            view.drawings = drawings.into();
        }
    });
}

/// A search for a shorter layout, in a thread of its own: it ends as soon as it is wanted no longer.
struct LongSearch {
    shared: Arc<Shared>,
    state: u64,
    round: u64,
    began: Instant,
    /// When it was told last how it stands, in milliseconds since it began.
    told: AtomicU64,
}

impl LongSearch {
    fn start(
        shared: &Arc<Shared>,
        state: u64,
        round: u64,
        prepared: Arc<Prepared>,
    ) -> Option<JoinHandle<()>> {
        let search = Self {
            shared: Arc::clone(shared),
            state,
            round,
            began: Instant::now(),
            told: AtomicU64::new(0),
        };
        // Should the system have no thread for it, the first layout stays.
        thread::Builder::new()
            .name("search".to_owned())
            .spawn(move || search.run(&prepared))
            .ok()
    }

    fn run(&self, prepared: &Prepared) {
        let found = contained(AGAIN, || {
            let is_wanted = || self.is_wanted();
            planned(
                prepared,
                Effort::Normal,
                &|step| self.see(&step),
                &is_wanted,
            )
        });
        if !self.is_wanted() {
            return;
        }
        match found {
            Ok(None) => {}
            Ok(Some(found)) => show(
                &self.shared,
                self.state,
                found,
                "this is the layout that will be cut",
            ),
            Err(problems) => tell(&self.shared, self.state, &problems, None),
        }
    }

    fn is_wanted(&self) -> bool {
        // The file may be changed before the next round begins.
        let is_newest = || self.shared.file().number() == self.state;
        self.shared.is_round(self.round) && !progress::was_stopped() && is_newest()
    }

    fn see(&self, step: &Step<'_>) -> Continue {
        if !self.is_wanted() {
            return Continue::Stop;
        }
        let now = self.began.elapsed().as_millis() as u64;
        let before = self.told.load(Ordering::Relaxed);
        let is_due = now >= before + LOOK_EVERY.as_millis() as u64;
        if is_due && self.told.swap(now, Ordering::Relaxed) == before {
            let done = (step.job_done * 100.0) as u32;
            self.shared
                .stand(format!("searching for a shorter layout: {done} %"));
        }
        Continue::Yes
    }
}
