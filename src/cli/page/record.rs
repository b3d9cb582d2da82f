//! What is ticked and written down on the sheets at the mould.
//!
//! A file beside the job, one line of JSON for each tick: lines are only ever added and brought to the disk before
//! the page is told, so a dead battery loses the last tick at most.

use std::collections::BTreeMap;
use std::fs::File;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

use serde::{Deserialize, Serialize};

use crate::output::made::Noted;

/// The largest record that is read, in bytes.
const LARGEST: u64 = 16 << 20;

/// One tick or one thing written down.
#[derive(Clone, Debug, Serialize, Deserialize)]
struct RecordLine {
    /// When, in UTC.
    time: String,
    /// On which sheet.
    sheet: String,
    /// The box or the blank.
    what: String,
    /// What it says since then; empty if it was taken back.
    is: String,
}

/// The record of a job.
pub(in crate::cli) struct LayupRecord {
    path: PathBuf,
    lines: Vec<RecordLine>,
}

impl LayupRecord {
    /// The record beside the job file at `job`.
    pub(in crate::cli) fn of(job: &Path) -> Self {
        let stem = job.file_stem().unwrap_or_default().to_string_lossy();
        let path = job.with_file_name(format!("{stem}-record.jsonl"));
        let is_small = path
            .metadata()
            .is_ok_and(|about| about.is_file() && about.len() <= LARGEST);
        let text = match is_small {
            true => std::fs::read_to_string(&path).unwrap_or_default(),
            false => String::new(),
        };
        // The last line may be torn.
        let lines = text
            .lines()
            .filter_map(|line| serde_json::from_str(line).ok());
        Self {
            lines: lines.collect(),
            path,
        }
    }

    /// Where it is kept.
    pub(in crate::cli) fn path(&self) -> &Path {
        &self.path
    }

    /// All that was ticked and written, in its order.
    pub(in crate::cli) fn noted(&self) -> Vec<Noted> {
        let noted = |line: &RecordLine| Noted {
            sheet: line.sheet.clone(),
            what: line.what.clone(),
            is: line.is.clone(),
        };
        self.lines.iter().map(noted).collect()
    }

    /// What is ticked and written on `sheet`.
    pub(super) fn on(&self, sheet: &str) -> BTreeMap<&str, &str> {
        let own = self.lines.iter().filter(|line| line.sheet == sheet);
        own.map(|line| (&line.what[..], &line.is[..])).collect()
    }

    /// Adds that `what` on `sheet` says `is` since `time`.
    pub(super) fn note(
        &mut self,
        time: String,
        sheet: &str,
        what: String,
        is: String,
    ) -> io::Result<()> {
        let line = RecordLine {
            time,
            sheet: sheet.to_owned(),
            what,
            is,
        };
        let mut file = File::options()
            .create(true)
            .append(true)
            .read(true)
            .open(&self.path)?;
        let mut text = serde_json::to_string(&line)? + "\n";
        if !ends_whole(&self.path)? {
            text.insert(0, '\n');
        }
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        self.lines.push(line);
        Ok(())
    }
}

/// Whether the last line of the file has its end.
fn ends_whole(path: &Path) -> io::Result<bool> {
    use std::io::{Read as _, Seek as _, SeekFrom};
    let mut file = File::open(path)?;
    if file.metadata()?.len() == 0 {
        return Ok(true);
    }
    file.seek(SeekFrom::End(-1))?;
    let mut last = [0];
    file.read_exact(&mut last)?;
    Ok(last == *b"\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_torn_line_loses_itself_alone() {
        let temp = tempfile::tempdir().unwrap();
        let job = temp.path().join("job.toml");
        let note = |what: &str, is: &str| {
            let (what, is) = (what.to_owned(), is.to_owned());
            LayupRecord::of(&job)
                .note(
                    "2026-11-27T10:00:00Z".to_owned(),
                    "layup/LID.html",
                    what,
                    is,
                )
                .unwrap();
        };
        note("1 Ply 1", "ticked");
        note("2 Ply 2", "ticked");
        let path = temp.path().join("job-record.jsonl");
        let text = std::fs::read_to_string(&path).unwrap();
        std::fs::write(&path, &text[..text.len() - 9]).unwrap();
        note("2 Ply 2", "ticked");
        note("1 Ply 1", "");
        let record = LayupRecord::of(&job);
        let on = record.on("layup/LID.html");
        assert_eq!(on, BTreeMap::from([("1 Ply 1", ""), ("2 Ply 2", "ticked")]));
        assert!(record.on("layup/RIB.html").is_empty());
    }
}
