//! Results kept in a file, one JSON object a line, so that a long bench can go on where it stopped.

use std::fs::{File, OpenOptions};
use std::io::Write as _;
use std::path::Path;

use serde::{Deserialize, Serialize};

use super::Failure;

/// What was run: two runs with the same key would do the same.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub(crate) struct Key {
    /// Name of the instance.
    pub name: String,
    /// `quick`, `normal`, `thorough`, or the seconds asked for such as `60s`.
    pub effort: String,
    pub seed: u64,
    pub threads: usize,
    /// Least distance between pieces, in the instance's unit.
    pub gap: f64,
    /// Angle tolerance in degrees.
    pub tolerance_deg: f64,
}

/// What a run gave.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub(crate) struct Record {
    #[serde(flatten)]
    pub key: Key,
    /// Number of pieces placed.
    pub pieces: usize,
    /// Used length in the instance's unit.
    pub length: f64,
    pub density_percent: f64,
    /// Preparation included, by the clock of the effort.
    pub seconds: f64,
    pub valid: bool,
    /// When the first valid layout was there, by the wall clock: one thread makes it.
    pub first_seconds: f64,
    /// Largest resident memory during the run, where the system tells it.
    pub peak_mib: Option<f64>,
    /// Positions measured, and rounds of the separation, a second over all threads.
    #[serde(default)]
    pub evaluations_per_second: Option<f64>,
    #[serde(default)]
    pub rounds_per_second: Option<f64>,
    /// Percent of the pieces' area that the coarse view and the fine view add, and the convex parts
    /// of a piece in them.
    #[serde(default)]
    pub views: Option<[(f64, f64); 2]>,
    /// Seconds and length of the best layout over time.
    pub trace: Vec<(f64, f64)>,
}

/// Kept results, and the file that further ones go to.
#[derive(Default)]
pub(crate) struct Results {
    pub records: Vec<Record>,
    file: Option<File>,
}

impl Results {
    /// The results in `path`, which need not exist yet; further ones are added to it.
    pub(crate) fn open(path: &Path) -> Result<Self, Failure> {
        let at = |e: std::io::Error| format!("{}: {e}", path.display());
        let text = match std::fs::read_to_string(path) {
            Ok(text) => text,
            Err(e) if e.kind() == std::io::ErrorKind::NotFound => String::new(),
            Err(e) => return Err(at(e).into()),
        };
        let mut file = OpenOptions::new()
            .append(true)
            .create(true)
            .open(path)
            .map_err(at)?;
        // A run that was killed while writing leaves part of a line.
        if !text.is_empty() && !text.ends_with('\n') {
            writeln!(file).map_err(at)?;
        }
        Ok(Self {
            records: parse(path, &text),
            file: Some(file),
        })
    }

    /// The results in all of `paths`, to look at; of the same run, the last one counts.
    pub(crate) fn read(paths: &[impl AsRef<Path>]) -> Result<Self, Failure> {
        let mut records: Vec<Record> = Vec::new();
        for path in paths {
            let path = path.as_ref();
            let text =
                std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
            for record in parse(path, &text) {
                records.retain(|r| r.key != record.key);
                records.push(record);
            }
        }
        Ok(Self {
            records,
            file: None,
        })
    }

    /// The result of the run with that key.
    pub(crate) fn get(&self, key: &Key) -> Option<&Record> {
        self.records.iter().find(|r| r.key == *key)
    }

    /// Adds a result, on the disk first.
    pub(crate) fn add(&mut self, record: Record) -> Result<(), Failure> {
        if let Some(file) = &mut self.file {
            writeln!(file, "{}", serde_json::to_string(&record)?)?;
        }
        self.records.push(record);
        Ok(())
    }
}

/// Every record of `text`; lines that hold none are named and left out.
fn parse(path: &Path, text: &str) -> Vec<Record> {
    let lines = text.lines().enumerate();
    lines
        .filter(|(_, line)| !line.trim().is_empty())
        .filter_map(|(k, line)| {
            serde_json::from_str(line)
                .inspect_err(|e| {
                    anstream::eprintln!("{}, line {}: left out: {e}", path.display(), k + 1);
                })
                .ok()
        })
        .collect()
}
