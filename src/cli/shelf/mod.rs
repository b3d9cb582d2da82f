//! `warpwise shelf` and `warpwise cut`: a shelf of rolls and remnants that is kept, and what a plan
//! reserves of it.

mod cut;
mod plan;
mod put;

pub(super) use cut::run as cut;
pub(super) use plan::{Reserved, reserve};

use std::path::Path;
use std::time::{SystemTime, UNIX_EPOCH};

use super::args::ShelfOptions;
use super::writing::{HeldShelf, ShelfView};
use super::{Failure, messages};
use crate::cloth::read_remnant;
use crate::diag::{Diagnostic, Diagnostics, Severity, counted};
use crate::json::record;
use crate::shelf::{Deed, Event, Journal, OnShelf};
use crate::units::Length;

/// Runs `warpwise shelf`.
pub(super) fn run(options: &ShelfOptions) -> Result<(), Failure> {
    let folder = &options.folder;
    if options.puts() {
        return put::run(options);
    }
    if let Some(job) = &options.release {
        let mut held = HeldShelf::hold(folder).map_err(unwritten)?;
        let event = event(Deed::Released, job, options.who.as_deref());
        held.book(event, &[]).map_err(input)?;
    } else if !options.scrap.is_empty() {
        scrap(options)?;
    }
    let view = ShelfView::of(folder).map_err(input)?;
    messages::show_all(&view.faults());
    if options.json {
        messages::print_json(&ShelfRecord::of(&view.journal));
    } else if options.journal {
        messages::print(&told(&view.journal));
    } else if !options.quiet {
        messages::print(&listed(folder, &view));
    }
    match view.faults().has_errors() {
        true => Err(Failure::Input),
        false => Ok(()),
    }
}

/// Books out what is thrown away, sold or lost.
fn scrap(options: &ShelfOptions) -> Result<(), Failure> {
    let mut held = HeldShelf::hold(&options.folder).map_err(unwritten)?;
    let mut event = event(Deed::Scrapped, "", options.who.as_deref());
    for name in &options.scrap {
        let there = held.view.journal.on_shelf();
        let mut there = there.filter(|there| there.remnant.name.eq_ignore_ascii_case(name));
        let Some(there) = there.next() else {
            let problem = Diagnostic::error(format!("`{name}` is not on the shelf"));
            let help = "`warpwise shelf FOLDER` lists what is there";
            return Err(input(problem.help(help).into()));
        };
        event.off.push(there.remnant.clone());
    }
    held.book(event, &[]).map_err(input)
}

/// Shows what is wrong with what was asked for.
fn input(problems: Diagnostics) -> Failure {
    messages::show_all(&problems);
    Failure::Input
}

/// Shows why the shelf cannot be had.
fn unwritten(problems: Diagnostics) -> Failure {
    messages::show_all(&problems);
    Failure::Output
}

/// An event of now.
fn event(deed: Deed, job: &str, who: Option<&str>) -> Event {
    let named = |key: &str| std::env::var(key).ok().filter(|name| !name.is_empty());
    let who = who.map(str::to_owned);
    let who = who.or_else(|| named("USER")).or_else(|| named("USERNAME"));
    Event::new(deed, job, &who.unwrap_or_default(), &now())
}

/// The time of the clock as ISO 8601 has it, in UTC.
pub(super) fn now() -> String {
    let since = SystemTime::now().duration_since(UNIX_EPOCH);
    written(since.map_or(0, |since| since.as_secs()))
}

/// `seconds` since 1970 as a date and a time.
///
/// # Source
/// Days to a date: own derivation. A year that begins in March ends with its leap day, so that months
/// have their days by one formula; 400 such years have 146 097 days.
fn written(seconds: u64) -> String {
    let (days, second) = (seconds / 86_400, seconds % 86_400);
    // From 1 March of the year 0.
    let days = days + 719_468;
    let (era, day) = (days / 146_097, days % 146_097);
    let year = (day - day / 1_460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let day_of_month = day - (153 * month + 2) / 5 + 1;
    let month = if month < 10 { month + 3 } else { month - 9 };
    let year = era * 400 + year + u64::from(month <= 2);
    let (hour, minute, second) = (second / 3_600, second / 60 % 60, second % 60);
    format!("{year:04}-{month:02}-{day_of_month:02}T{hour:02}:{minute:02}:{second:02}Z")
}

/// What is on the shelf, for people.
fn listed(folder: &Path, view: &ShelfView) -> String {
    let head = [
        "name",
        "cloth",
        "size",
        "area",
        "lot",
        "since",
        "reserved for",
    ]
    .map(str::to_owned);
    let mut there: Vec<&OnShelf> = view.journal.on_shelf().collect();
    there.sort_by_key(|there| (there.remnant.cloth.clone(), there.put_by));
    let rows = there.iter().map(|there| {
        let size = std::fs::read(folder.join(view.file_of(there))).ok();
        let size = size.and_then(|bytes| read_remnant(&bytes, Length::ZERO).ok());
        let size = size.map(|(_, stock)| {
            let (length, width) = (Length::mm(stock.length()), Length::mm(stock.width()));
            format!(
                "{} × {}",
                length.in_mm_and_inches(),
                width.in_mm_and_inches()
            )
        });
        let remnant = &there.remnant;
        [
            remnant.name.clone(),
            remnant.cloth.clone(),
            size.unwrap_or_default(),
            remnant.area.in_m2_and_yd2(),
            remnant.lot.clone().unwrap_or_default(),
            there.since.get(..10).unwrap_or_default().to_owned(),
            view.journal
                .reserved_for(&remnant.name)
                .unwrap_or_default()
                .to_owned(),
        ]
    });
    let rows: Vec<[String; 7]> = std::iter::once(head).chain(rows).collect();
    let count = counted(there.len(), "roll or remnant", "rolls and remnants");
    let mut text = format!("{}: {count}\n", folder.display());
    if !there.is_empty() {
        text.push_str(&format!("\n{}", messages::columns(&rows)));
    }
    for (_, reservation) in view.journal.reservations() {
        let when = reservation.when.get(..10).unwrap_or_default();
        let n = counted(reservation.off.len(), "piece", "pieces");
        text.push_str(&format!(
            "\n{} waits to be cut: {n} of stock, planned {when}",
            reservation.job
        ));
    }
    text.truncate(text.trim_end().len());
    text + "\n"
}

/// Who used what, for people: a line for each event.
fn told(journal: &Journal) -> String {
    let rows: Vec<[String; 6]> = journal
        .events()
        .iter()
        .map(|event| {
            let names = |of: &[crate::shelf::Remnant]| {
                let named = of.iter().map(|remnant| match &remnant.lot {
                    Some(lot) => format!("{} (lot {lot})", remnant.name),
                    None => remnant.name.clone(),
                });
                named.collect::<Vec<_>>().join(", ")
            };
            let list = |word: &str, of: &[crate::shelf::Remnant]| match of {
                [] => String::new(),
                of => format!("{word} {}", names(of)),
            };
            [
                event.when.clone(),
                event.who.clone(),
                event.deed.word().to_owned(),
                event.job.clone(),
                list("off:", &event.off),
                list("on:", &event.on),
            ]
        })
        .collect();
    messages::columns(&rows)
}

record! {
    /// A shelf for machines.
    struct ShelfRecord of (journal: &Journal) {
        remnants: Vec<OnShelfRecord> =
            journal.on_shelf().map(|there| OnShelfRecord::of(there, journal)).collect(),
        waiting: Vec<WaitingRecord> =
            journal.reservations().map(|(_, event)| WaitingRecord::of(event)).collect(),
    }

    /// A roll or remnant on the shelf.
    struct OnShelfRecord of (there: &OnShelf, journal: &Journal) {
        name: String = there.remnant.name.clone(),
        cloth: String = there.remnant.cloth.clone(),
        area_mm2: f64 = there.remnant.area.to_mm2(),
        #[serde(skip_serializing_if = "Option::is_none")]
        lot: Option<String> = there.remnant.lot.clone(),
        since: String = there.since.clone(),
        #[serde(skip_serializing_if = "Option::is_none")]
        reserved_for: Option<String> =
            journal.reserved_for(&there.remnant.name).map(str::to_owned),
    }

    /// A job that is planned and not cut.
    struct WaitingRecord of (event: &Event) {
        job: String = event.job.clone(),
        since: String = event.when.clone(),
        uses: Vec<String> = event.off.iter().map(|off| off.name.clone()).collect(),
        leaves: Vec<String> = event.on.iter().map(|on| on.name.clone()).collect(),
    }
}

/// The shelf in `folder` as a job sees it, or what is wrong with it.
pub(super) fn looked_at(folder: &Path) -> Result<(ShelfView, Diagnostics), Diagnostics> {
    let view = ShelfView::of(folder)?;
    let faults = view.faults();
    match faults.has_errors() {
        true => Err(faults.at_least(Severity::Error)),
        false => Ok((view, faults)),
    }
}

#[cfg(test)]
mod tests {
    use super::written;

    #[test]
    fn dates_are_those_of_the_calendar() {
        for (seconds, date) in [
            (0, "1970-01-01T00:00:00Z"),
            (951_782_399, "2000-02-28T23:59:59Z"),
            (951_782_400, "2000-02-29T00:00:00Z"),
            (951_868_800, "2000-03-01T00:00:00Z"),
            (1_234_567_890, "2009-02-13T23:31:30Z"),
            (4_107_542_400, "2100-03-01T00:00:00Z"),
            (1_798_761_599, "2026-12-31T23:59:59Z"),
        ] {
            assert_eq!(written(seconds), date);
        }
    }
}
