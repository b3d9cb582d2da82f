//! A shelf of rolls and remnants that is kept: what its journal says.
//!
//! The journal is plain text, one line for each [`Event`], and what is on the shelf follows from it
//! alone: a remnant is there from the line that put it there to the line that cut or scrapped it. A
//! name is given once, so that the label on the cloth stays true. Nothing here touches the disk.
//!
//! # Example
//!
//! ```
//! use warpwise::shelf::Journal;
//! let text = "1 | 2026-11-02T09:00:00Z | put | | Ann | on: twill-r1 twill 480000 lot=B12\n\
//!     2 | 2026-11-02T10:30:00Z | reserved | rudder | Ann | off: twill-r1 twill 480000 lot=B12 | \
//!     on: twill-r2 twill 90000 lot=B12 | cloth: twill 0 350000 40000\n";
//! let journal = Journal::read(text).unwrap();
//! assert_eq!(journal.on_shelf().count(), 1);
//! assert_eq!(journal.reserved_for("twill-r1"), Some("rudder"));
//! // The name that the plan has printed on a label is not given to another remnant.
//! assert_eq!(journal.next_number("twill", "tender"), 3);
//! // A line that a kill has left in part is not in force.
//! assert_eq!(Journal::read(&text[..text.len() - 9]).unwrap().reserved_for("twill-r1"), None);
//! ```

mod fault;
mod line;

use std::collections::BTreeMap;

pub use fault::ShelfFault;
pub use line::{is_name, plain};

use crate::units::Area;
use crate::words::words;

words! {
    /// What became of cloth.
    pub enum Deed {
        /// It came onto the shelf.
        Put = "put",
        /// A plan is to cut it.
        Reserved = "reserved",
        /// The plan is given up.
        Released = "released",
        /// The job was cut: what it used is off the shelf, what is left is on it.
        Cut = "cut",
        /// It was thrown away, sold or lost.
        Scrapped = "scrapped",
    }
}

/// A roll or remnant in the journal.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Remnant {
    /// What its label says.
    pub name: String,
    /// The cloth.
    pub cloth: String,
    /// Its area.
    pub area: Area,
    /// The maker's lot, if it is known.
    pub lot: Option<String>,
}

impl Remnant {
    /// A remnant of this name.
    #[must_use]
    pub fn new(name: &str, cloth: &str, area: Area, lot: Option<String>) -> Self {
        let (name, cloth) = (name.to_owned(), cloth.to_owned());
        Self {
            name,
            cloth,
            area,
            lot,
        }
    }
}

/// What a job takes of one cloth beside what is on the shelf, and where all of it goes.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Account {
    /// The cloth.
    pub cloth: String,
    /// What is bought, or on hand elsewhere.
    pub fresh: Area,
    /// What is in the parts, inside their net lines.
    pub in_parts: Area,
    /// What is in no part and is not kept.
    pub waste: Area,
    /// The lot of what is bought, if it is known.
    pub lot: Option<String>,
}

impl Account {
    /// The account of a cloth of which so much is fresh, in parts and waste.
    #[must_use]
    pub fn new(cloth: &str, [fresh, in_parts, waste]: [Area; 3]) -> Self {
        let cloth = cloth.to_owned();
        let lot = None;
        Self {
            cloth,
            fresh,
            in_parts,
            waste,
            lot,
        }
    }
}

/// One line of the journal.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Event {
    /// When, as the clock of the machine told.
    pub when: String,
    /// What was done.
    pub deed: Deed,
    /// For which job; empty where it was for none.
    pub job: String,
    /// By whom; empty if that is not known.
    pub who: String,
    /// What goes off the shelf.
    pub off: Vec<Remnant>,
    /// What comes onto it.
    pub on: Vec<Remnant>,
    /// The other cloth of a job, cloth by cloth.
    pub accounts: Vec<Account>,
}

impl Event {
    /// An event that moves no cloth yet. Texts are made [`plain`].
    #[must_use]
    pub fn new(deed: Deed, job: &str, who: &str, when: &str) -> Self {
        Self {
            when: plain(when),
            deed,
            job: plain(job),
            who: plain(who),
            off: Vec::new(),
            on: Vec::new(),
            accounts: Vec::new(),
        }
    }
}

/// What is on the shelf.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct OnShelf {
    /// The roll or remnant.
    pub remnant: Remnant,
    /// The number of the line that put it there, from 1.
    pub put_by: usize,
    /// When that was.
    pub since: String,
}

/// Where a name has got to.
#[derive(Clone, Debug)]
enum Fate {
    OnShelf(OnShelf),
    /// The plan of this job will leave it.
    Promised(String),
    /// Taken off by the line of this number.
    Gone(usize),
}

/// The events of a shelf, and what follows from them.
#[derive(Clone, Debug, Default)]
pub struct Journal {
    events: Vec<Event>,
    /// By names in small letters: file names differ in more than case.
    names: BTreeMap<String, Fate>,
    /// Job → the number of the line that reserves for it.
    reservations: BTreeMap<String, usize>,
}

impl Journal {
    /// The journal written in `text`; a last line without its end is left out.
    ///
    /// # Errors
    /// The first line that is none, or that cannot be: what it takes is not there, what it puts is
    /// there already.
    pub fn read(text: &str) -> Result<Self, ShelfFault> {
        let mut journal = Self::default();
        let whole = text.rfind('\n').map_or("", |end| &text[..end]);
        for (idx, written) in whole.lines().enumerate() {
            let in_line = |fault| ShelfFault::InLine(idx + 1, Box::new(fault));
            let event = line::read(written, idx + 1).map_err(in_line)?;
            journal.add(event).map_err(in_line)?;
        }
        Ok(journal)
    }

    /// Takes `event` in; returns its line, which ends the text so far.
    ///
    /// # Errors
    /// If it cannot be: what it takes is not there or is reserved, what it puts is there already.
    /// Then nothing has changed.
    pub fn add(&mut self, event: Event) -> Result<String, ShelfFault> {
        self.check(&event)?;
        let n = self.events.len() + 1;
        let written = line::write(&event, n);
        if matches!(event.deed, Deed::Reserved | Deed::Released | Deed::Cut) {
            self.free_promises(&event.job);
        }
        match event.deed {
            Deed::Reserved => {
                self.reservations.insert(event.job.clone(), n);
                for left in &event.on {
                    self.names
                        .insert(key(&left.name), Fate::Promised(event.job.clone()));
                }
            }
            Deed::Put | Deed::Cut | Deed::Scrapped => {
                for taken in &event.off {
                    self.names.insert(key(&taken.name), Fate::Gone(n));
                }
                for remnant in &event.on {
                    let there = OnShelf {
                        remnant: remnant.clone(),
                        put_by: n,
                        since: event.when.clone(),
                    };
                    self.names.insert(key(&remnant.name), Fate::OnShelf(there));
                }
            }
            Deed::Released => {}
        }
        self.events.push(event);
        Ok(written)
    }

    fn check(&self, event: &Event) -> Result<(), ShelfFault> {
        let is_for_job = matches!(event.deed, Deed::Released | Deed::Cut);
        if is_for_job && !self.reservations.contains_key(&event.job) {
            return Err(self.nothing_reserved(&event.job));
        }
        for (idx, taken) in event.off.iter().enumerate() {
            let name = || taken.name.clone();
            match self.names.get(&key(&taken.name)) {
                Some(Fate::OnShelf(there)) if there.remnant.cloth == taken.cloth => {}
                Some(Fate::Gone(n)) => return Err(self.gone(name(), *n)),
                _ => return Err(ShelfFault::NotThere(name())),
            }
            if let Some(job) = self
                .reserved_for(&taken.name)
                .filter(|job| *job != event.job)
            {
                return Err(ShelfFault::Reserved(name(), job.to_owned()));
            }
            if event.off[..idx]
                .iter()
                .any(|other| key(&other.name) == key(&taken.name))
            {
                return Err(ShelfFault::Twice(name()));
            }
        }
        for (idx, put) in event.on.iter().enumerate() {
            match self.names.get(&key(&put.name)) {
                None => {}
                Some(Fate::Promised(job)) if *job == event.job => {}
                Some(Fate::Gone(n)) => return Err(self.gone(put.name.clone(), *n)),
                Some(_) => return Err(ShelfFault::Twice(put.name.clone())),
            }
            if event.on[..idx]
                .iter()
                .any(|other| key(&other.name) == key(&put.name))
            {
                return Err(ShelfFault::Twice(put.name.clone()));
            }
        }
        Ok(())
    }

    fn nothing_reserved(&self, job: &str) -> ShelfFault {
        let cut = self.events.iter().rev();
        let mut cut = cut.filter(|event| event.deed == Deed::Cut && event.job == job);
        ShelfFault::NothingReserved {
            job: job.to_owned(),
            cut: cut.next().map(|event| event.when.clone()),
        }
    }

    fn gone(&self, name: String, n: usize) -> ShelfFault {
        let by = &self.events[n - 1];
        ShelfFault::Gone {
            name,
            how: match by.deed {
                Deed::Cut => format!("was cut for {}", by.job),
                _ => "was scrapped".to_owned(),
            },
            when: by.when.clone(),
        }
    }

    fn free_promises(&mut self, job: &str) {
        self.reservations.remove(job);
        self.names
            .retain(|_, fate| !matches!(fate, Fate::Promised(by) if by == job));
    }

    /// All events, in their order.
    #[must_use]
    pub fn events(&self) -> &[Event] {
        &self.events
    }

    /// What is on the shelf, by name.
    pub fn on_shelf(&self) -> impl Iterator<Item = &OnShelf> {
        self.names.values().filter_map(|fate| match fate {
            Fate::OnShelf(there) => Some(there),
            _ => None,
        })
    }

    /// What `job` may use, in the order in which it should: the smallest that will do first, and of
    /// about the same size (by powers of two) the oldest.
    #[must_use]
    pub fn free_for(&self, job: &str) -> Vec<&OnShelf> {
        let job = plain(job);
        let is_free = |there: &&OnShelf| {
            let by = self.reserved_for(&there.remnant.name);
            by.is_none_or(|by| by == job)
        };
        let mut free: Vec<&OnShelf> = self.on_shelf().filter(is_free).collect();
        let size = |there: &OnShelf| (there.remnant.area.to_mm2().max(1.0) as u64).ilog2();
        free.sort_by_key(|there| (size(there), there.put_by));
        free
    }

    /// The job that `name` is reserved for, if there is one.
    #[must_use]
    pub fn reserved_for(&self, name: &str) -> Option<&str> {
        let mut all = self.reservations.iter();
        all.find(|(_, n)| {
            let off = &self.events[**n - 1].off;
            off.iter().any(|taken| key(&taken.name) == key(name))
        })
        .map(|(job, _)| job.as_str())
    }

    /// The reservation of `job` and the number of its line, if it has one.
    #[must_use]
    pub fn reservation(&self, job: &str) -> Option<(usize, &Event)> {
        let n = *self.reservations.get(&plain(job))?;
        Some((n, &self.events[n - 1]))
    }

    /// All reservations, by job.
    pub fn reservations(&self) -> impl Iterator<Item = (usize, &Event)> {
        self.reservations
            .values()
            .map(|&n| (n, &self.events[n - 1]))
    }

    /// The first number from which no remnant `CLOTH-r1`, `-r2` … of `cloth` was ever called, but for
    /// what an earlier plan of `job` itself would leave.
    #[must_use]
    pub fn next_number(&self, cloth: &str, job: &str) -> u32 {
        let job = plain(job);
        let prefix = key(&format!("{cloth}-r"));
        let taken = self
            .names
            .iter()
            .filter(|(_, fate)| !matches!(fate, Fate::Promised(by) if *by == job));
        let numbers = taken.filter_map(|(name, _)| name.strip_prefix(&prefix)?.parse().ok());
        numbers.max().map_or(1, |most: u32| most.saturating_add(1))
    }

    /// What is told of a name that is off the shelf for good, but for those of the last line: who
    /// booked that may have been ended before the file was gone.
    #[must_use]
    pub fn why_gone(&self, name: &str) -> Option<ShelfFault> {
        match self.names.get(&key(name))? {
            Fate::Gone(n) if *n < self.events.len() => Some(self.gone(name.to_owned(), *n)),
            _ => None,
        }
    }
}

/// Names that differ only in case are one.
fn key(name: &str) -> String {
    name.to_ascii_lowercase()
}
