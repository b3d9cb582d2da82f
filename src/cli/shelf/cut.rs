//! `warpwise cut`: a job was cut, so what it used goes off the shelf and what is left comes onto it.

use std::fmt::Write as _;
use std::path::Path;

use super::{event, input, unwritten};
use crate::cli::args::CutOptions;
use crate::cli::sources::Sources;
use crate::cli::writing::{HeldShelf, refused};
use crate::cli::{Failure, messages};
use crate::cloth::RemnantRecord;
use crate::diag::{Diagnostic, Diagnostics, Place, Severity};
use crate::json;
use crate::shelf::{Deed, Event, ShelfFault, plain};

pub(in crate::cli) fn run(options: &CutOptions) -> Result<(), Failure> {
    let read = crate::cli::input::read_jobs(&options.jobs, &mut Sources::default());
    let read = read.map_err(|problems| input(problems.at_least(Severity::Error)))?;
    let job = read.job;
    let Some(shelf) = job.shelf() else {
        let problem = Diagnostic::error("the job has no shelf that is kept");
        return Err(input(
            problem
                .at(Place::File(options.jobs[0].display().to_string()))
                .help("write `shelf = \"shelf\"` at the head of the job or of its shop file, and plan it again")
                .into(),
        ));
    };
    let folder = read.folder.join(&shelf.value);
    // Refused before the folder is made.
    let (view, _) = super::looked_at(&folder).map_err(input)?;
    if view.journal.reservation(job.title()).is_none() {
        return Err(input(nothing_reserved(&folder, &view.journal, job.title())));
    }
    let mut held = HeldShelf::hold(&folder).map_err(unwritten)?;
    let faults = held.view.faults();
    if faults.has_errors() {
        return Err(input(faults.at_least(Severity::Error)));
    }
    let Some((n, reserved)) = held.view.journal.reservation(job.title()) else {
        // Another run was first.
        return Err(input(nothing_reserved(
            &folder,
            &held.view.journal,
            job.title(),
        )));
    };
    let mut cut = Event {
        deed: Deed::Cut,
        ..reserved.clone()
    };
    let now = event(Deed::Cut, "", options.who.as_deref());
    (cut.when, cut.who) = (now.when, now.who);
    note_lots(&mut cut, &options.lot).map_err(|why| input(why.into()))?;
    let files = left(&held, n, &cut).map_err(|why| unwritten(why.into()))?;
    let text = told(&cut);
    held.book(cut, &files).map_err(input)?;
    if !options.quiet {
        messages::print(&text);
    }
    Ok(())
}

fn nothing_reserved(folder: &Path, journal: &crate::shelf::Journal, job: &str) -> Diagnostics {
    let nothing = Event::new(Deed::Released, job, "", "");
    match journal.clone().add(nothing) {
        Err(why) => refused(folder, &why),
        Ok(_) => refused(
            folder,
            &ShelfFault::NothingReserved {
                job: plain(job),
                cut: None,
            },
        ),
    }
}

/// Notes the lots of what was bought, as `CLOTH=LOT` tells them.
fn note_lots(cut: &mut Event, lots: &[(String, String)]) -> Result<(), Diagnostic> {
    for (cloth, lot) in lots {
        let Some(account) = cut
            .accounts
            .iter_mut()
            .find(|account| account.cloth == *cloth)
        else {
            return Err(
                Diagnostic::error(format!("the job takes no cloth `{cloth}`"))
                    .help("write the lot as CLOTH=LOT, with the name of the cloth in the job"),
            );
        };
        account.lot = Some(plain(lot));
        // What is left of a piece from the shelf has its lot, or none that is known.
        let is_of = |off: &&crate::shelf::Remnant| off.cloth == *cloth;
        if cut.off.iter().filter(is_of).all(|off| off.lot.is_some()) {
            let fresh = cut
                .on
                .iter_mut()
                .filter(|on| on.cloth == *cloth && on.lot.is_none());
            fresh.for_each(|on| on.lot = Some(plain(lot)));
        }
    }
    Ok(())
}

/// The remnant files of what is left, which the plan of line `n` made, with their lots.
fn left(held: &HeldShelf, n: usize, cut: &Event) -> Result<Vec<(String, String)>, Diagnostic> {
    let mut files = Vec::new();
    for remnant in &cut.on {
        let read = held.promised(&remnant.name, n);
        let record = read.and_then(|bytes| Ok(serde_json::from_slice::<RemnantRecord>(&bytes)?));
        let mut record = record.map_err(|e| {
            Diagnostic::error(format!(
                "what is left as `{}` cannot be read: {e}",
                remnant.name
            ))
            .help("plan the job again, then cut it")
        })?;
        record.lot.clone_from(&remnant.lot);
        files.push((remnant.name.clone(), json::text(&record)));
    }
    Ok(files)
}

/// What was booked.
fn told(cut: &Event) -> String {
    let mut text = format!("{} is cut\n", cut.job);
    let mut list = |what: &str, of: &[crate::shelf::Remnant]| {
        for remnant in of {
            let lot = (remnant.lot.as_ref()).map_or(String::new(), |lot| format!(", lot {lot}"));
            _ = writeln!(
                text,
                "  {what} {} ({}, {}{lot})",
                remnant.name,
                remnant.cloth,
                remnant.area.in_m2_and_yd2()
            );
        }
    };
    list("off the shelf:", &cut.off);
    list("on the shelf: ", &cut.on);
    text
}
