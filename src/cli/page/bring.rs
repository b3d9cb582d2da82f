//! Files that are brought to the page: each goes into the folder of the job, and its outlines into the job.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use super::file::JobFile;
use crate::cli::input;
use crate::cli::writing::{Existing, write_file};
use crate::diag::{Diagnostic, Diagnostics, TextColour};
use crate::job::edit::TableFields;
use crate::job::{StartingJob, further_parts, starting_job};
use crate::mould::MouldInspection;
use crate::pattern::{Pattern, Settings};
use crate::units::LengthUnit;

/// What can be brought.
const ENDINGS: [&str; 8] = ["svg", "dxf", "jpg", "jpeg", "png", "stl", "obj", "ply"];

/// So many files of one name there may be.
const MOST_OF_A_NAME: u32 = 1000;

/// What was read of a file.
enum Brought {
    Drawing(Pattern),
    Mould(MouldInspection),
}

/// Takes in a file called `name`; answers what is to be said of it.
pub(super) fn bring(job: &mut JobFile, name: &str, bytes: &[u8]) -> Result<String, String> {
    let name = plain_name(name)?;
    let (path, is_new) = place_for(job.path(), name, bytes)?;
    if is_new {
        write_file(&path, bytes, Existing::Own, &[])
            .map_err(|_| format!("{name} could not be written; the terminal says why"))?;
    }
    let taken = read(&path).map_err(|problems| words(&problems));
    let taken = taken.and_then(|brought| put_in(job, &path, brought));
    if taken.is_err() && is_new {
        // What cannot be used is not left behind.
        _ = fs::remove_file(&path);
    }
    taken
}

/// `name`, if it is that of a file alone and of a kind that can be read.
fn plain_name(name: &str) -> Result<&str, String> {
    let path = Path::new(name);
    let is_plain = path.file_name().is_some_and(|own| own == name)
        && !name.starts_with('.')
        && !name.contains(['/', '\\', ':'])
        && !name.chars().any(char::is_control);
    if !is_plain {
        return Err(
            "a file of that name cannot be taken: rename it, with letters and digits".to_owned(),
        );
    }
    let ending = path.extension().unwrap_or_default();
    let is_known = ENDINGS
        .iter()
        .any(|known| ending.eq_ignore_ascii_case(known));
    is_known.then_some(name).ok_or_else(|| {
        format!(
            "{name} is none of the files that can be brought: drawings (SVG, DXF), photographs on the board (JPEG, \
             PNG), moulds (STL, OBJ, PLY)"
        )
    })
}

/// Where the file is to lie beside the job, and whether it is not there yet.
fn place_for(job: &Path, name: &str, bytes: &[u8]) -> Result<(PathBuf, bool), String> {
    let (stem, ending) = name.rsplit_once('.').unwrap_or((name, ""));
    for n in 1..=MOST_OF_A_NAME {
        let path = match n {
            1 => job.with_file_name(name),
            _ => job.with_file_name(format!("{stem}-{n}.{ending}")),
        };
        // A link that leads nowhere is there too.
        if fs::symlink_metadata(&path).is_err() {
            return Ok((path, true));
        }
        if fs::read(&path).is_ok_and(|there| there == bytes) {
            return Ok((path, false));
        }
    }
    Err(format!("there are too many files called {name}: rename it"))
}

fn read(path: &Path) -> Result<Brought, Diagnostics> {
    if input::is_mould(path) {
        let (mould, _) = input::read_mould_file(path, None)?;
        let unit = LengthUnit::Millimetre.symbol();
        return Ok(Brought::Mould(mould.inspect(unit, false)));
    }
    let pattern = input::read_pattern_file(path, &Settings::default())?;
    match pattern.outlines() {
        [] if pattern.problems().is_empty() => {
            let none = Diagnostic::error("it holds no closed outline");
            Err(none
                .help("draw the edge of the part as one closed line")
                .into())
        }
        [] => Err(pattern.problems().clone()),
        _ => Ok(Brought::Drawing(pattern)),
    }
}

/// Writes what was read into the job.
fn put_in(job: &mut JobFile, path: &Path, brought: Brought) -> Result<String, String> {
    job.take_in();
    let fields = TableFields::of(job.text())
        .ok_or("the job file is not TOML at the moment: mend it in the editor")?;
    let name = path
        .file_name()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    let (patterns, moulds) = match brought {
        Brought::Drawing(pattern) => (vec![(name.clone(), pattern)], Vec::new()),
        Brought::Mould(mould) => (Vec::new(), vec![(name.clone(), mould)]),
    };
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    let mut start = StartingJob::usual(&stem);
    let (text, remarks) = if job.text().trim().is_empty() {
        starting_job(&start, &patterns, &moulds)
    } else {
        start.called = fields.inner("cloth").next().map(cloth_of);
        let taken: BTreeSet<String> = (fields.inner("part"))
            .filter_map(|part| part.value("name").map(str::to_uppercase))
            .collect();
        let (further, remarks) = further_parts(&start, taken, &patterns, &moulds);
        let before = job.text().trim_end_matches('\n');
        (format!("{before}\n{further}"), remarks)
    };
    job.replace(text).map_err(super::file::NotChanged::told)?;
    let problems = patterns
        .iter()
        .flat_map(|(_, pattern)| pattern.problems().iter());
    let said: Vec<&Diagnostic> = problems.chain(remarks.iter()).collect();
    Ok(match said[..] {
        [] => format!("{name} was taken into the job"),
        _ => format!("{name} was taken into the job. {}", plain(&said)),
    })
}

fn cloth_of(table: &TableFields) -> String {
    table.at.last().map(ToString::to_string).unwrap_or_default()
}

fn words(problems: &Diagnostics) -> String {
    plain(&problems.iter().collect::<Vec<_>>())
}

fn plain(problems: &[&Diagnostic]) -> String {
    let all: Vec<String> = problems
        .iter()
        .map(|problem| problem.render(TextColour::Plain))
        .collect();
    all.join("\n")
}
