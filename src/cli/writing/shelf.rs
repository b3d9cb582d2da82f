//! The folder of a shelf that is kept: its journal, and a remnant file for each line's cloth.
//!
//! A line of the journal is what counts. What it puts on the shelf is written before it, as hidden files
//! `.NAME.json-N` that carry the line's number; after it they get their names and what it takes is
//! removed. So a kill leaves either no line, and hidden files of a number that is not there, or the
//! line, and hidden files of its number: [`HeldShelf::hold`] finishes both. Readers take a hidden file of
//! the right number for the file itself, so they need no lock and see each event whole.

use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Write as _};
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

use super::lock::{Lock, Locked, try_lock};
use super::{remove, step, sync_folder, write_new};
use crate::diag::{Diagnostic, Diagnostics, Place};
use crate::shelf::{Event, Journal, OnShelf, ShelfFault};

/// The journal's name.
const JOURNAL: &str = "journal.txt";

/// Longest journal that is read: some hundred thousand jobs.
const LARGEST: u64 = 64 << 20;

/// How long another run is waited for.
const PATIENCE: Duration = Duration::from_secs(20);

/// How a shelf stands.
pub(in crate::cli) struct ShelfView {
    folder: PathBuf,
    pub journal: Journal,
    /// Length of the journal without a last line that is not whole.
    whole: u64,
    /// The files of the folder, hidden ones too.
    files: BTreeSet<String>,
}

/// Whether there is a shelf in `folder`.
pub(in crate::cli) fn is_shelf(folder: &Path) -> bool {
    folder.join(JOURNAL).is_file()
}

impl ShelfView {
    /// Looks at the shelf in `folder`; one that is not there yet is empty.
    pub(in crate::cli) fn of(folder: &Path) -> Result<Self, Diagnostics> {
        /// Another run may book between the two looks, at the journal and at the files.
        const LOOKS: u32 = 5;
        for _ in 1..LOOKS {
            let view = Self::at_once(folder)?;
            if view.missing().next().is_none() {
                return Ok(view);
            }
            thread::sleep(Duration::from_millis(10));
        }
        Self::at_once(folder)
    }

    fn at_once(folder: &Path) -> Result<Self, Diagnostics> {
        // The files first: what comes onto the shelf meanwhile is not missed in the journal.
        let files = files_in(folder).map_err(|e| cannot_be_read(folder, &e))?;
        let path = folder.join(JOURNAL);
        let text = match read_journal(&path) {
            Err(e) if e.kind() == ErrorKind::NotFound => String::new(),
            text => text.map_err(|e| cannot_be_read(&path, &e))?,
        };
        let journal = Journal::read(&text).map_err(|fault| of_journal(&path, &fault))?;
        let whole = text.rfind('\n').map_or(0, |end| end as u64 + 1);
        let folder = folder.to_owned();
        Ok(Self {
            folder,
            journal,
            whole,
            files,
        })
    }

    /// The name of the file of `there` in the folder as it stands.
    pub(in crate::cli) fn file_of(&self, there: &OnShelf) -> String {
        let hidden = hidden_name(&there.remnant.name, there.put_by);
        match self.files.contains(&hidden) {
            true => hidden,
            false => file_name(&there.remnant.name),
        }
    }

    /// What is wrong with the folder beside the journal: copies of it that a synced folder made, cloth
    /// that is there again (errors), and files that nobody booked (warnings).
    pub(in crate::cli) fn faults(&self) -> Diagnostics {
        let mut said = Diagnostics::new();
        let at = |name: &str| Place::File(self.folder.join(name).display().to_string());
        let known: BTreeSet<String> = (self.journal.on_shelf())
            .map(|there| file_name(&there.remnant.name).to_ascii_lowercase())
            .collect();
        for name in &self.files {
            let lower = name.to_ascii_lowercase();
            if lower.starts_with("journal") && lower != JOURNAL {
                said.push(
                    Diagnostic::error("the journal of the shelf is there twice: two machines wrote to it at once")
                        .at(at(name))
                        .help(
                            "a synced folder made this copy. See which cloth its last lines speak of, count \
                             that, then delete the copy; plan on one machine at a time",
                        ),
                );
                continue;
            }
            let Some(stem) = lower
                .strip_suffix(".json")
                .filter(|stem| !stem.starts_with('.'))
            else {
                continue;
            };
            if known.contains(&lower) {
                continue;
            }
            said.push(match self.journal.why_gone(stem) {
                Some(why) => {
                    Diagnostic::error(format!("{why}, and its file is on the shelf again"))
                        .at(at(name))
                        .help(why.help())
                }
                None if self.is_leftover(stem) => continue,
                None => Diagnostic::warning(
                    "this file is on the shelf, and the journal knows nothing of it",
                )
                .at(at(name))
                .help("put it there with `warpwise shelf FOLDER --put FILE`, or delete it"),
            });
        }
        for there in self.missing() {
            let message = format!(
                "the file of `{}` is gone from the shelf",
                there.remnant.name
            );
            let place = at(&file_name(&there.remnant.name));
            let help =
                "put it back; if the cloth is gone too: `warpwise shelf FOLDER --scrap NAME`";
            said.push(Diagnostic::error(message).at(place).help(help));
        }
        said
    }

    /// What is on the shelf by the journal, and its file is not there.
    fn missing(&self) -> impl Iterator<Item = &OnShelf> {
        let is_there = |there: &&OnShelf| self.files.contains(&self.file_of(there));
        self.journal
            .on_shelf()
            .filter(move |there| !is_there(there))
    }

    /// Whether `stem` went with the last line, whose writer may not have removed its file.
    fn is_leftover(&self, stem: &str) -> bool {
        let last = self.journal.events().last();
        last.is_some_and(|event| {
            event
                .off
                .iter()
                .any(|off| off.name.eq_ignore_ascii_case(stem))
        })
    }
}

/// A shelf that this run alone writes to, until it is dropped.
pub(in crate::cli) struct HeldShelf {
    pub view: ShelfView,
    _lock: Option<Lock>,
}

impl HeldShelf {
    /// Takes the shelf in `folder` for this run, waiting for others, and finishes what one that was
    /// ended left unfinished. The folder is made if it is not there.
    pub(in crate::cli) fn hold(folder: &Path) -> Result<Self, Diagnostics> {
        if folder.file_name().is_none() {
            let problem = Diagnostic::error("a shelf needs a folder of its own");
            return Err(problem
                .at(Place::File(folder.display().to_string()))
                .help("name one, for example `shelf`")
                .into());
        }
        fs::create_dir_all(folder).map_err(|e| cannot_be_written(folder, &e))?;
        let mut waited = Duration::ZERO;
        let lock = loop {
            match try_lock(folder).map_err(|e| cannot_be_written(folder, &e))? {
                Locked::Ours(lock) => break lock,
                Locked::Busy if waited >= PATIENCE => {
                    let problem =
                        Diagnostic::error("another run of warpwise is at work on this shelf");
                    return Err(problem
                        .at(Place::File(folder.display().to_string()))
                        .help("wait until it has ended, then try again")
                        .into());
                }
                Locked::Busy => {
                    const STEP: Duration = Duration::from_millis(20);
                    thread::sleep(STEP);
                    waited += STEP;
                }
            }
        };
        let view = ShelfView::of(folder)?;
        let mut held = Self { view, _lock: lock };
        held.finish().map_err(|e| cannot_be_written(folder, &e))?;
        Ok(held)
    }

    /// Books `event`; `files` are the texts of the remnant files of all that it puts on the shelf, and
    /// of all that a plan will put there, by name.
    pub(in crate::cli) fn book(
        &mut self,
        event: Event,
        files: &[(String, String)],
    ) -> Result<(), Diagnostics> {
        let folder = self.view.folder.clone();
        let n = self.view.journal.events().len() + 1;
        let line = (self.view.journal.add(event)).map_err(|fault| refused(&folder, &fault))?;
        self.write(n, &line, files)
            .and_then(|()| self.finish())
            .map_err(|e| cannot_be_written(&folder, &e))
    }

    fn write(&mut self, n: usize, line: &str, files: &[(String, String)]) -> io::Result<()> {
        for (name, text) in files {
            let hidden = hidden_name(name, n);
            step(|_| write_new(&self.view.folder.join(&hidden), text.as_bytes()))?;
            self.view.files.insert(hidden);
        }
        sync_folder(&self.view.folder)?;
        let path = self.view.folder.join(JOURNAL);
        step(|_| {
            let is_new = !path.exists();
            let mut journal = File::options().create(true).append(true).open(&path)?;
            // What a run that was ended wrote of its line.
            journal.set_len(self.view.whole)?;
            let written = journal
                .write_all(line.as_bytes())
                .and_then(|()| journal.sync_all());
            if written.is_err() {
                _ = journal.set_len(self.view.whole);
            }
            written?;
            if is_new {
                sync_folder(&self.view.folder)?;
            }
            Ok(())
        })?;
        self.view.whole += line.len() as u64;
        Ok(())
    }

    /// Gives what is on the shelf its name and removes what is not: twice is as good as once.
    fn finish(&mut self) -> io::Result<()> {
        let view = &mut self.view;
        let mut kept: BTreeSet<String> = BTreeSet::from([JOURNAL.to_owned()]);
        for (n, event) in view.journal.reservations() {
            kept.extend(event.on.iter().map(|left| hidden_name(&left.name, n)));
        }
        for there in view.journal.on_shelf() {
            let (hidden, name) = (
                hidden_name(&there.remnant.name, there.put_by),
                file_name(&there.remnant.name),
            );
            if view.files.remove(&hidden) {
                fs::rename(view.folder.join(&hidden), view.folder.join(&name))?;
                view.files.insert(name.clone());
            }
            kept.insert(name);
        }
        let last = view.journal.events().last();
        let taken: Vec<String> = last
            .into_iter()
            .filter(|event| event.deed != crate::shelf::Deed::Reserved)
            .flat_map(|event| event.off.iter().map(|off| file_name(&off.name)))
            .collect();
        let is_done = |name: &str| is_hidden(name) || taken.iter().any(|t| t == name);
        let done: Vec<String> = (view.files.iter())
            .filter(|name| is_done(name) && !kept.contains(*name))
            .cloned()
            .collect();
        for name in done {
            remove(&view.folder.join(&name))?;
            view.files.remove(&name);
        }
        sync_folder(&view.folder)
    }

    /// The text of the file that the plan whose line is `n` has left for `name`.
    pub(in crate::cli) fn promised(&self, name: &str, n: usize) -> io::Result<Vec<u8>> {
        fs::read(self.view.folder.join(hidden_name(name, n)))
    }
}

fn file_name(remnant: &str) -> String {
    format!("{remnant}.json")
}

/// The name of the file of `remnant` until line `n` is written.
fn hidden_name(remnant: &str, n: usize) -> String {
    format!(".{remnant}.json-{n}")
}

/// Whether `name` is one that [`hidden_name`] makes.
fn is_hidden(name: &str) -> bool {
    let number = (name.strip_prefix('.')).and_then(|name| name.rsplit_once(".json-"));
    number.is_some_and(|(_, n)| !n.is_empty() && n.bytes().all(|b| b.is_ascii_digit()))
}

/// The names of the files in `folder`; none if it is not there.
fn files_in(folder: &Path) -> io::Result<BTreeSet<String>> {
    let entries = match fs::read_dir(folder) {
        Err(e) if e.kind() == ErrorKind::NotFound => return Ok(BTreeSet::new()),
        entries => entries?,
    };
    let name =
        |entry: io::Result<fs::DirEntry>| Ok(entry?.file_name().to_string_lossy().into_owned());
    entries.map(name).collect()
}

fn read_journal(path: &Path) -> io::Result<String> {
    if fs::metadata(path)?.len() > LARGEST {
        return Err(io::Error::other("it is larger than 64 MB"));
    }
    fs::read_to_string(path)
}

fn cannot_be_read(path: &Path, e: &io::Error) -> Diagnostics {
    let problem = Diagnostic::error(format!("the shelf cannot be read: {e}"));
    let help = "a shelf is a folder with `journal.txt` and remnant files";
    (problem
        .at(Place::File(path.display().to_string()))
        .help(help))
    .into()
}

fn cannot_be_written(folder: &Path, e: &io::Error) -> Diagnostics {
    let problem = Diagnostic::error(format!("the shelf cannot be written: {e}"));
    let help = "is there room on the disk, and may you write there?";
    (problem
        .at(Place::File(folder.display().to_string()))
        .help(help))
    .into()
}

/// What is wrong with the journal at `path`.
fn of_journal(path: &Path, fault: &ShelfFault) -> Diagnostics {
    let file = path.display().to_string();
    let place = match fault.line() {
        Some(line) => Place::Line { file, line },
        None => Place::File(file),
    };
    (Diagnostic::error(fault.to_string())
        .at(place)
        .help(fault.help()))
    .into()
}

/// Why something is not booked.
pub(in crate::cli) fn refused(folder: &Path, fault: &ShelfFault) -> Diagnostics {
    let place = Place::File(folder.display().to_string());
    (Diagnostic::error(fault.to_string())
        .at(place)
        .help(fault.help()))
    .into()
}

/// The file at `path` on a shelf: what was hidden while somebody looked at it may have its name by now.
pub(in crate::cli) fn file_at(path: &Path) -> PathBuf {
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    match name
        .strip_prefix('.')
        .and_then(|name| name.rsplit_once(".json-"))
    {
        Some((remnant, _)) if is_hidden(&name) && !path.exists() => {
            path.with_file_name(file_name(remnant))
        }
        _ => path.to_owned(),
    }
}
