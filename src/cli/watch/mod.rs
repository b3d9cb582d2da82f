//! `warpwise plan --watch`: plans again whenever the job or a file it reads is saved.

mod server;

use std::thread;
use std::time::{Duration, Instant};

use self::server::Server;
use super::args::PlanOptions;
use super::input;
use super::plan::{make, out_folder, summary};
use super::progress::{self, Busy, Watcher};
use super::sources::Sources;
use super::writing::{self, OutFolder};
use super::{Failure, messages};
use crate::diag::{Diagnostic, Diagnostics, Place, TextColour, counted};

/// Between two looks at the files. Longer: a save is noticed late; shorter: a busy disk.
const LOOK_EVERY: Duration = Duration::from_millis(200);

/// The port of the page unless another is asked for; an open page finds the next run there.
const USUAL_PORT: u16 = 8417;

pub(super) fn run(options: &PlanOptions) -> Result<(), Failure> {
    let out = out_folder(options);
    let folder = OutFolder::hold(&out)?;
    let server = start_server(options.port)?;
    progress::note_interrupt();
    if !options.quiet {
        messages::print(&format!(
            "The report is at {} as long as this runs; Ctrl-C ends it.\n",
            server.address()
        ));
    }
    let mut sources = Sources::default();
    while !progress::was_stopped() {
        let outcome = plan_once(options, &folder, &server, &mut sources);
        if progress::was_stopped() {
            break;
        }
        if let Outcome::Outdated = outcome {
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
enum Outcome {
    /// A plan, or a problem that was shown.
    Told,
    /// A file was saved meanwhile: what was worked out is wanted no longer.
    Outdated,
}

fn plan_once(
    options: &PlanOptions,
    folder: &OutFolder,
    server: &Server,
    sources: &mut Sources,
) -> Outcome {
    let out = out_folder(options);
    let began = Instant::now();
    let mut read = Sources::default();
    let busy = Busy::new("reading the job and its patterns", options.quiet);
    let prepared = input::read_and_make(&options.job, &mut read);
    drop(busy);
    if prepared.is_err() {
        read.keep(std::mem::take(sources));
    }
    *sources = read;
    let prepared = match prepared {
        Ok(prepared) => prepared,
        Err(problems) => {
            tell_problem(server, &problems);
            return Outcome::Told;
        }
    };
    if folder.check_inputs(&prepared.files).is_err() {
        server.tell_problem(NOT_WRITTEN.to_owned());
        return Outcome::Told;
    }
    messages::show_all(&prepared.remarks);
    let watcher = Watcher::new(options.quiet);
    let made = thread::scope(|scope| {
        let work = scope.spawn(|| make(prepared, options, &watcher));
        while !work.is_finished() {
            if sources.have_changed() {
                watcher.give_up();
            }
            thread::sleep(LOOK_EVERY / 4);
        }
        work.join().expect("planning does not panic")
    });
    if watcher.was_given_up() || progress::was_stopped() {
        return Outcome::Outdated;
    }
    match made {
        Err(problems) => tell_problem(server, &problems),
        Ok(made) => {
            messages::show_all(&made.said);
            let written = folder.write(&made.files);
            writing::go_on();
            if written.is_err() {
                server.tell_problem(NOT_WRITTEN.to_owned());
                return Outcome::Told;
            }
            if !options.quiet {
                let text = summary(made.proven.plan(), &out, options.effort().effort);
                let took = began.elapsed().as_secs_f64();
                messages::print(&format!("\n{text}Planned in {took:.1} s. "));
            }
            server.show(made.files);
        }
    }
    Outcome::Told
}

/// Shows why there is no new plan, on the terminal and on the page.
fn tell_problem(server: &Server, problems: &Diagnostics) {
    messages::show_all(problems);
    let all: Vec<String> = problems
        .iter()
        .map(|p| p.render(TextColour::Plain))
        .collect();
    server.tell_problem(all.join("\n"));
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

fn start_server(port: Option<u16>) -> Result<Server, Failure> {
    let started = match port {
        Some(port) => Server::start(port),
        None => Server::start(USUAL_PORT).or_else(|_| Server::start(0)),
    };
    started.map_err(|e| {
        messages::show(
            &Diagnostic::error(format!("the page of the report cannot be offered: {e}"))
                .at(Place::File("--port".to_owned()))
                .help("name another port, or 0 for any that is free"),
        );
        Failure::Output
    })
}
