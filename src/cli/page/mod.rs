//! `warpwise open`: the job on a page in the browser.
//!
//! The job file stays the one truth: every change on the page is a change of that file, and every change of
//! the file shows on the page. [`JobFile`] holds it with its earlier states, [`planner`] works out what comes of
//! it in a thread of its own, [`routes`] answers the browser, [`record`] keeps what is ticked at the mould.

mod bring;
mod file;
mod hand;
mod planner;
mod record;
mod routes;
mod shown;
mod ways;

use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::sync::Arc;

use self::file::JobFile;
pub(super) use self::hand::ByHand;
pub(super) use self::record::LayupRecord;
use self::shown::Shared;
use super::args::{NewOptions, OpenOptions};
use super::server::{self, Server};
use super::writing::{Existing, write_file};
use super::{Failure, messages, new, progress};
use crate::diag::Diagnostic;

/// The port of the page unless another is asked for, so that a bookmark goes on working.
const USUAL_PORT: u16 = 8418;

pub(super) fn run(options: &OpenOptions) -> Result<(), Failure> {
    let path = job_for(options)?;
    let file = JobFile::open(&path)?;
    let shared = Arc::new(Shared::new(file));
    let routes = routes::routes(Arc::clone(&shared));
    let server = server::offered(options.port, USUAL_PORT, "the page", |port| {
        Server::start(port, routes.clone())
    })?;
    // Who reads the address may stop the program at once.
    progress::note_interrupt();
    let address = server.address("/");
    let is_told = messages::is_printed(&format!("{address}\n"));
    if !options.no_browser {
        show_in_browser(&address);
    } else if !is_told {
        // Nobody can come: the address holds the key.
        return Ok(());
    }
    planner::run(&shared);
    Ok(())
}

/// The job file to open: the one that is named, or a new one for the drawings that are.
fn job_for(options: &OpenOptions) -> Result<PathBuf, Failure> {
    let is_job = |path: &Path| {
        path.extension()
            .is_some_and(|e| e.eq_ignore_ascii_case("toml"))
    };
    match &options.files[..] {
        [] => new_job(),
        [job] if is_job(job) => Ok(job.clone()),
        files if files.iter().any(|file| is_job(file)) => {
            let problem = Diagnostic::error("a page shows one job");
            messages::show(
                &problem.help("name one job file, or drawings alone: a job is made for them"),
            );
            Err(Failure::Input)
        }
        drawings => {
            let start = NewOptions {
                patterns: drawings.to_vec(),
                quiet: true,
                ..NewOptions::default()
            };
            let out = new::out_file(&start);
            // The second time the drawing's job is there already.
            if !out.exists() {
                new::run(&start)?;
            }
            Ok(out)
        }
    }
}

/// The job file of the current folder; an empty one if there is none yet.
fn new_job() -> Result<PathBuf, Failure> {
    let path = PathBuf::from("job.toml");
    if !path.exists() {
        write_file(&path, b"", Existing::Own, &[])?;
    }
    Ok(path)
}

/// Asks the system to open the page; where it cannot, the address that was printed will do.
fn show_in_browser(address: &str) {
    let opener = match std::env::consts::OS {
        "macos" => "open",
        "windows" => "explorer",
        _ => "xdg-open",
    };
    let started = Command::new(opener)
        .arg(address)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn();
    if started.is_err() {
        messages::show(&Diagnostic::note(
            "no browser could be started: open the address above in one",
        ));
    }
}
