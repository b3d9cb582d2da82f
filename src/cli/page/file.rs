//! The job file, with the states it was in since the page was opened.

use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

use crate::cli::writing::{Existing, write_file};
use crate::cli::{Failure, input, messages};
use crate::job::edit::{self, Edit};

/// Earlier states that are kept.
const MOST_STATES: usize = 1000;

/// So often a file that somebody is writing is read again.
const MOST_LOOKS: u32 = 10;
const BETWEEN_LOOKS: Duration = Duration::from_millis(10);

/// The job file, which may be changed by others too.
pub(super) struct JobFile {
    path: PathBuf,
    /// All states, those that were undone behind the present one.
    states: Vec<State>,
    /// Which of them the file is in.
    now: usize,
    /// The number of the newest state.
    newest: u64,
}

/// What the file says, and how pages call it.
#[derive(Clone)]
struct State {
    number: u64,
    text: String,
}

/// Why the file was not changed.
#[derive(Debug)]
pub(super) enum NotChanged {
    /// The change cannot be made.
    Impossible(String),
    /// Somebody else changed the same meanwhile.
    Outdated(String),
}

impl NotChanged {
    /// In words.
    pub(super) fn told(self) -> String {
        let (Self::Impossible(why) | Self::Outdated(why)) = self;
        why
    }
}

const NOT_WRITTEN: &str = "The job file could not be written; the terminal says why.";

impl JobFile {
    pub(super) fn open(path: &Path) -> Result<Self, Failure> {
        let text = input::read_text(path, "job file").map_err(|problem| {
            messages::show(&problem);
            Failure::Input
        })?;
        Ok(Self {
            path: path.canonicalize().unwrap_or_else(|_| path.to_owned()),
            states: vec![State { number: 0, text }],
            now: 0,
            newest: 0,
        })
    }

    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    pub(super) fn text(&self) -> &str {
        &self.states[self.now].text
    }

    /// The number of the present state; another one after each change.
    pub(super) fn number(&self) -> u64 {
        self.states[self.now].number
    }

    /// Whether there is something to undo and to redo.
    pub(super) fn steps(&self) -> [bool; 2] {
        [self.now > 0, self.now + 1 < self.states.len()]
    }

    /// Takes in what an editor has saved; answers whether it was anything new.
    pub(super) fn take_in(&mut self) -> bool {
        // What cannot be read is told when it is planned.
        let read = || input::read_text(&self.path, "job file").ok();
        let Some(mut text) = read().filter(|text| text != self.text()) else {
            return false;
        };
        // An editor that empties the file before it writes is not taken at half its work.
        for _ in 0..MOST_LOOKS {
            thread::sleep(BETWEEN_LOOKS);
            match read() {
                Some(again) if again != text => text = again,
                _ => break,
            }
        }
        let is_new = text != self.text();
        if is_new {
            self.push(text);
        }
        is_new
    }

    /// What the file would say after `edits`.
    pub(super) fn after(&self, edits: &[Edit]) -> Result<String, NotChanged> {
        edit::edited(self.text(), edits).map_err(NotChanged::Impossible)
    }

    /// Makes `edits`, which somebody asked for who has seen the state `seen`.
    pub(super) fn change(&mut self, seen: u64, edits: &[Edit]) -> Result<(), NotChanged> {
        self.take_in();
        if seen != self.number() {
            let known = self.states.iter().find(|state| state.number == seen);
            let is_same =
                |at| known.is_some_and(|known| edit::is_same_at(&known.text, self.text(), at));
            if let Some(edit) = edits.iter().find(|edit| !is_same(edit.at())) {
                let what = edit::words(edit.at());
                return Err(NotChanged::Outdated(format!(
                    "{what} was changed elsewhere meanwhile: look at it, then change it again"
                )));
            }
        }
        let text = self.after(edits)?;
        self.replace(text)
    }

    /// Writes `text` in place of what the file says.
    pub(super) fn replace(&mut self, text: String) -> Result<(), NotChanged> {
        if text == self.text() {
            return Ok(());
        }
        self.write(&text)?;
        self.push(text);
        Ok(())
    }

    /// Goes back by one state.
    pub(super) fn undo(&mut self) -> Result<(), NotChanged> {
        self.take_in();
        self.go_to(self.now.checked_sub(1))
    }

    /// Goes forward by one state that was undone.
    pub(super) fn redo(&mut self) -> Result<(), NotChanged> {
        self.take_in();
        self.go_to(Some(self.now + 1).filter(|to| *to < self.states.len()))
    }

    fn go_to(&mut self, to: Option<usize>) -> Result<(), NotChanged> {
        let to = to.ok_or_else(|| NotChanged::Impossible("there is no such step".to_owned()))?;
        self.write(&self.states[to].text.clone())?;
        // A number is never used twice, so that no page takes an old state for a new one.
        self.newest += 1;
        self.states[to].number = self.newest;
        self.now = to;
        Ok(())
    }

    fn push(&mut self, text: String) {
        self.newest += 1;
        self.states.truncate(self.now + 1);
        self.states.push(State {
            number: self.newest,
            text,
        });
        if self.states.len() > MOST_STATES {
            self.states.remove(0);
        }
        self.now = self.states.len() - 1;
    }

    fn write(&self, text: &str) -> Result<(), NotChanged> {
        write_file(&self.path, text.as_bytes(), Existing::Any, &[])
            .map_err(|_| NotChanged::Impossible(NOT_WRITTEN.to_owned()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::edit::place;

    fn set(at: &str, to: &str) -> Vec<Edit> {
        vec![Edit::Set {
            at: place(at),
            to: to.to_owned(),
        }]
    }

    #[test]
    fn changes_of_the_page_and_of_an_editor_are_undone_and_redone() {
        let temp = tempfile::tempdir().unwrap();
        let path = temp.path().join("job.toml");
        let on_disk = || std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, "title = \"A\" # name\n").unwrap();
        let mut file = JobFile::open(&path).unwrap();
        file.change(file.number(), &set("title", "B")).unwrap();
        assert_eq!(on_disk(), "title = \"B\" # name\n");
        std::fs::write(&path, "title = \"B\" # name\n# saved\n").unwrap();
        file.change(file.number(), &set("title", "C")).unwrap();
        assert_eq!(on_disk(), "title = \"C\" # name\n# saved\n");
        for expected in [
            "title = \"B\" # name\n# saved\n",
            "title = \"B\" # name\n",
            "title = \"A\" # name\n",
        ] {
            file.undo().unwrap();
            assert_eq!(on_disk(), expected);
        }
        assert!(file.undo().is_err());
        for _ in 0..3 {
            file.redo().unwrap();
        }
        assert!(file.redo().is_err());
        assert_eq!(on_disk(), "title = \"C\" # name\n# saved\n");
    }

    #[test]
    fn two_pages_that_change_the_same_are_told() {
        let temp = tempfile::tempdir().unwrap();
        let path = temp.path().join("job.toml");
        std::fs::write(
            &path,
            "a = 1\n[[part]]\nname = \"X\"\n[cutting]\ngap = \"4 mm\"\n",
        )
        .unwrap();
        let mut file = JobFile::open(&path).unwrap();
        let seen = file.number();
        file.change(seen, &set("part.0.name", "Y")).unwrap();
        // Another table: both are wanted.
        file.change(seen, &set("cutting.gap", "5 mm")).unwrap();
        let told = file.change(seen, &set("part.0.name", "Z")).unwrap_err();
        assert!(matches!(told, NotChanged::Outdated(told) if told.contains("part 1 name")));
        assert!(file.text().contains("\"Y\"") && file.text().contains("5 mm"));
    }
}
