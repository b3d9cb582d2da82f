//! `warpwise plan --watch`: plans again whenever the job or a file it reads is saved.

mod page;

use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use self::page::WatchPage;
use super::args::PlanOptions;
use super::input;
use super::plan::{contained, make, out_folder, summary};
use super::progress::{self, Busy, Watcher};
use super::server;
use super::sources::Sources;
use super::writing::{self, OutFolder};
use super::{Failure, messages};
use crate::diag::{Diagnostics, TextColour, counted};

/// What helps after a fault of the program.
const AGAIN: &str = "saving the job or a file it reads tries again";

/// What is said of a plan that takes from a shelf. Each save would else take other remnants from other people.
const RESERVES_NOTHING: &str =
    "Nothing is reserved on the shelf while watching: plan without `--watch` before you cut.\n";

/// Between two looks at the files. Longer: a save is noticed late; shorter: a busy disk.
const LOOK_EVERY: Duration = Duration::from_millis(200);

/// The port of the page unless another is asked for: what a browser remembers of a page, such as its
/// size of text, hangs on it.
const USUAL_PORT: u16 = 8417;

pub(super) fn run(options: &PlanOptions) -> Result<(), Failure> {
    let out = out_folder(options);
    let folder = OutFolder::hold(&out)?;
    let page = offer_page(options.port)?;
    progress::note_interrupt();
    let address = page.address();
    // Without its address nobody can open it.
    messages::print(&match options.quiet {
        true => format!("{address}\n"),
        false => format!("The report is at {address} as long as this runs; Ctrl-C ends it.\n"),
    });
    let mut sources = Sources::default();
    while !progress::was_stopped() {
        let outcome = plan_once(options, &folder, &page, &mut sources);
        if progress::was_stopped() {
            break;
        }
        if let RunOutcome::Outdated = outcome {
            wait_until_settled(&sources);
            continue;
        }
        if !options.quiet {
            let files = counted(sources.len(), "file", "files");
            messages::print(&format!("Watching {files}.\n"));
        }
        wait_for_change(&sources);
    }
    if !options.quiet {
        messages::print("Watching has ended.\n");
    }
    Ok(())
}

/// What the page says where the folder for the results cannot be written.
const NOT_WRITTEN: &str = "The plan could not be written; the terminal says why.";

/// What came of planning once.
enum RunOutcome {
    /// A plan, or a problem that was shown.
    Told,
    /// A file was saved meanwhile: what was worked out is wanted no longer.
    Outdated,
}

fn plan_once(
    options: &PlanOptions,
    folder: &OutFolder,
    page: &WatchPage,
    sources: &mut Sources,
) -> RunOutcome {
    let out = out_folder(options);
    let began = Instant::now();
    let mut read = Sources::default();
    let busy = Busy::new("reading the job and its patterns", options.quiet);
    let prepared = contained(AGAIN, || input::read_and_make(&options.jobs, &mut read));
    drop(busy);
    if prepared.is_err() {
        read.keep(std::mem::take(sources));
    }
    *sources = read;
    let prepared = match prepared {
        Ok(prepared) => prepared,
        Err(problems) => {
            tell_problem(page, &problems);
            return RunOutcome::Told;
        }
    };
    if folder.check_inputs(&prepared.files).is_err() {
        page.tell_problem(NOT_WRITTEN.to_owned());
        return RunOutcome::Told;
    }
    messages::show_all(&prepared.remarks);
    let reserves = match prepared.shelf {
        Some(_) => RESERVES_NOTHING,
        None => "",
    };
    let watcher = Watcher::new(options.quiet);
    let made = while_current(sources, &watcher, || make(prepared, options, &watcher));
    if watcher.was_given_up() || progress::was_stopped() {
        return RunOutcome::Outdated;
    }
    match made {
        Err(problems) => tell_problem(page, &problems),
        Ok(made) => {
            messages::show_all(&made.said);
            let written = folder.write(&made.files);
            writing::go_on();
            if written.is_err() {
                page.tell_problem(NOT_WRITTEN.to_owned());
                return RunOutcome::Told;
            }
            if !options.quiet {
                let text = summary(made.proven.plan(), &out, options.effort().effort);
                let took = began.elapsed().as_secs_f64();
                messages::print(&format!("\n{text}{reserves}Planned in {took:.1} s. "));
            }
            page.show(made.files);
        }
    }
    RunOutcome::Told
}

/// Does `work`, which `watcher` gives up as soon as a source is saved.
fn while_current<T>(
    sources: &Sources,
    watcher: &Watcher,
    work: impl FnOnce() -> Result<T, Diagnostics>,
) -> Result<T, Diagnostics> {
    let is_over = AtomicBool::new(false);
    let look = || {
        while !is_over.load(Ordering::SeqCst) {
            if sources.have_changed() {
                watcher.give_up();
            }
            thread::sleep(LOOK_EVERY / 4);
        }
    };
    thread::scope(|scope| {
        // Should the system have no thread for it, a save is seen after the work.
        _ = thread::Builder::new().spawn_scoped(scope, look);
        let done = contained(AGAIN, work);
        is_over.store(true, Ordering::SeqCst);
        done
    })
}

/// Shows why there is no new plan, on the terminal and on the page.
fn tell_problem(page: &WatchPage, problems: &Diagnostics) {
    messages::show_all(problems);
    let all: Vec<String> = problems
        .iter()
        .map(|p| p.render(TextColour::Plain))
        .collect();
    page.tell_problem(all.join("\n"));
}

/// Returns once a file was saved and is whole, or after Ctrl-C.
fn wait_for_change(sources: &Sources) {
    while !progress::was_stopped() {
        thread::sleep(LOOK_EVERY);
        if sources.have_changed() {
            wait_until_settled(sources);
            return;
        }
    }
}

/// Returns when the files stand still: some editors save in several steps.
fn wait_until_settled(sources: &Sources) {
    let mut before = sources.now();
    while !progress::was_stopped() {
        thread::sleep(LOOK_EVERY / 2);
        let now = sources.now();
        if now == before {
            return;
        }
        before = now;
    }
}

fn offer_page(port: Option<u16>) -> Result<WatchPage, Failure> {
    server::offered(port, USUAL_PORT, "the page of the report", WatchPage::offer)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fault_while_planning_is_told_and_planning_goes_on() {
        let watcher = Watcher::new(true);
        let sources = Sources::default();
        let fault = || -> Result<(), Diagnostics> { panic!("a fault") };
        let told = while_current(&sources, &watcher, fault).unwrap_err();
        assert!(
            told.iter()
                .any(|p| p.render(TextColour::Plain).contains("fault of warpwise"))
        );
        assert_eq!(while_current(&sources, &watcher, || Ok(1)).unwrap(), 1);
    }
}
