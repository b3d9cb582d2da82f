//! The files a job is read from, and whether they have changed since.
//!
//! They are looked at again and again instead of being watched through the operating system: there
//! are a handful of them, a look costs microseconds, and it holds alike on every system, on network
//! drives, and with editors that save by writing a new file and renaming it.

use std::collections::BTreeMap;
use std::fs::{self, Metadata};
use std::path::{Path, PathBuf};
use std::time::SystemTime;

/// Files, each with how it stood when it was noted.
#[derive(Default)]
pub(super) struct Sources {
    files: BTreeMap<PathBuf, Stamp>,
}

/// How a file stands: enough to see that it was saved.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Stamp {
    /// There is none.
    Absent,
    /// When it was written, if the system tells, and its length.
    File(Option<SystemTime>, u64),
    /// The files in a folder.
    Folder(BTreeMap<PathBuf, Stamp>),
}

impl Stamp {
    fn of(path: &Path) -> Self {
        let Ok(about) = fs::metadata(path) else {
            return Self::Absent;
        };
        if !about.is_dir() {
            return Self::of_file(&about);
        }
        let entries = fs::read_dir(path).into_iter().flatten().flatten();
        let files = entries.filter_map(|entry| {
            let about = entry.metadata().ok().filter(Metadata::is_file)?;
            Some((entry.path(), Self::of_file(&about)))
        });
        Self::Folder(files.collect())
    }

    fn of_file(about: &Metadata) -> Self {
        Self::File(about.modified().ok(), about.len())
    }
}

impl Sources {
    /// Notes how `path` stands. To be called before it is read, so that no change is missed.
    pub(super) fn note(&mut self, path: &Path) {
        let stamp = Stamp::of(path);
        self.files.insert(path.to_owned(), stamp);
    }

    /// Keeps what `earlier` noted and was not noted again: a job that is broken for the moment names
    /// no patterns.
    pub(super) fn keep(&mut self, earlier: Self) {
        for (path, stamp) in earlier.files {
            self.files.entry(path).or_insert(stamp);
        }
    }

    /// Where they are.
    pub(super) fn paths(&self) -> impl Iterator<Item = &Path> {
        self.files.keys().map(PathBuf::as_path)
    }

    /// How many there are.
    pub(super) fn len(&self) -> usize {
        self.files.len()
    }

    /// How they stand now.
    pub(super) fn now(&self) -> Vec<Stamp> {
        self.files.keys().map(|path| Stamp::of(path)).collect()
    }

    /// Whether one has changed since it was noted.
    pub(super) fn have_changed(&self) -> bool {
        (self.files.iter()).any(|(path, stamp)| Stamp::of(path) != *stamp)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_save_by_rename_a_removal_and_a_new_remnant_are_seen() {
        let temp = tempfile::tempdir().unwrap();
        let (job, shelf) = (temp.path().join("job.toml"), temp.path().join("shelf"));
        fs::write(&job, "1").unwrap();
        fs::create_dir(&shelf).unwrap();
        let noted = || {
            let mut sources = Sources::default();
            sources.note(&job);
            sources.note(&shelf);
            assert!(!sources.have_changed());
            sources
        };
        let sources = noted();
        let fresh = temp.path().join("job.toml.new");
        fs::write(&fresh, "22").unwrap();
        fs::rename(&fresh, &job).unwrap();
        assert!(sources.have_changed());
        let sources = noted();
        fs::remove_file(&job).unwrap();
        assert!(sources.have_changed());
        let sources = noted();
        fs::write(shelf.join("a.json"), "{}").unwrap();
        assert!(sources.have_changed());
    }
}
