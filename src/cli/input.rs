//! Reading of job and pattern files from the disk.

use std::fs::File;
use std::io::Read as _;
use std::path::{Path, PathBuf};

use super::progress::Busy;
use super::sources::Sources;
use super::writing::{file_at, is_shelf};
use super::{Failure, messages, shelf};
use crate::diag::{Diagnostic, Diagnostics, Place, Severity, SourceText};
use crate::inputs::{InputFile, Inputs, Unopened};
use crate::job::{Job, JointJob, NamedJob};
use crate::mould::{Mould, MouldFormat};
use crate::pattern::{self, Pattern};
use crate::photo::PhotoFile;
use crate::plan::{JobPieces, check_pins};
use crate::ply::{self, Pieces};
use crate::units::LengthUnit;

/// Pattern files above this size are refused: real ones have some megabytes at most.
const LARGEST_PATTERN: u64 = 512 << 20;

/// Job files above this size are refused.
const LARGEST_JOB: u64 = 4 << 20;

/// A job with its pieces, ready to be laid out.
pub(super) struct Prepared {
    pub inputs: Inputs,
    pub pieces: Pieces,
    /// Those of each job, where there are several.
    pub each: Vec<JobPieces>,
    /// Warnings and notes; already shown.
    pub remarks: Diagnostics,
    /// The files and folders that were read.
    pub files: Vec<PathBuf>,
    /// The folder of the shelf that is kept, if the job has one.
    pub shelf: Option<PathBuf>,
}

/// Reads the job file and its patterns and makes the pieces; shows every problem.
pub(super) fn prepare(jobs: &[PathBuf], quiet: bool) -> Result<Prepared, Failure> {
    prepare_and_show(jobs, quiet, Severity::Note)
}

/// The same, but remarks that are less than `least` are not shown.
pub(super) fn prepare_and_show(
    jobs: &[PathBuf],
    quiet: bool,
    least: Severity,
) -> Result<Prepared, Failure> {
    let busy = Busy::new("reading the job and its patterns", quiet);
    let read = read_and_make(jobs, &mut Sources::default());
    drop(busy);
    read.inspect(|prepared| messages::show_all(&prepared.remarks.at_least(least)))
        .map_err(|problems| {
            messages::show_all(&problems);
            Failure::Input
        })
}

/// The same, shown by nobody; `sources` are the files that were read or looked for.
pub(super) fn read_and_make(
    jobs: &[PathBuf],
    sources: &mut Sources,
) -> Result<Prepared, Diagnostics> {
    let NamedJobs {
        mut job,
        each,
        folder,
        said: mut remarks,
    } = read_jobs(jobs, sources)?;
    let shelf = job.shelf().map(|written| folder.join(&written.value));
    let mut on_shelf = None;
    if let (Some(path), Some(written)) = (&shelf, job.shelf().cloned()) {
        sources.note(path);
        let (view, said) = shelf::looked_at(path)?;
        remarks.append(said);
        let title = job.title().to_owned();
        let free = view.journal.free_for(&title).into_iter();
        let files = free.map(|there| {
            let file = Path::new(&written.value).join(view.file_of(there));
            InputFile::in_folder(&file.to_string_lossy())
        });
        let files: Vec<InputFile> = files.collect();
        on_shelf = Some((written.value, files));
        job = job.with_remnants_from(|cloth| view.journal.next_number(cloth, &title));
    }
    let mut open = |written: &str| {
        match &on_shelf {
            Some((name, files)) if name == written => return Ok(files.clone()),
            _ => {}
        }
        let path = file_at(&folder.join(written));
        sources.note(&path);
        read_named(&path, written).map_err(|why| {
            Unopened::from(why.as_str()).help(format!(
                "looked for {}; the path is taken from the job file's folder",
                path.display()
            ))
        })
    };
    let made = Inputs::read(job, &mut open).and_then(|(inputs, said)| {
        remarks.append(said);
        let (pieces, said) = ply::pieces(&inputs)?;
        remarks.append(said);
        check_pins(&pieces)?;
        let of_job = |one: NamedJob| -> Result<JobPieces, Diagnostics> {
            // What is to be said of them was said of all.
            let (pieces, _) = ply::pieces(&inputs.with_job(one.job))?;
            Ok(JobPieces {
                name: one.name,
                pieces,
            })
        };
        let each = each.into_iter().map(of_job);
        let each: Vec<JobPieces> = each.collect::<Result<_, _>>()?;
        Ok((inputs, pieces, each))
    });
    match made {
        Ok((inputs, pieces, each)) => Ok(Prepared {
            inputs,
            pieces,
            each,
            remarks,
            files: sources.paths().map(Path::to_owned).collect(),
            shelf,
        }),
        Err(problems) => {
            remarks.append(problems);
            Err(remarks)
        }
    }
}

/// What the job files say.
pub(super) struct NamedJobs {
    /// The job, or all of them as one.
    pub job: Job,
    /// Each job, where there are several.
    pub each: Vec<NamedJob>,
    /// From where its paths are seen.
    pub folder: PathBuf,
    pub said: Diagnostics,
}

/// The jobs at `paths`, as one where there are several.
pub(super) fn read_jobs(
    paths: &[PathBuf],
    sources: &mut Sources,
) -> Result<NamedJobs, Diagnostics> {
    let folder = |path: &Path| path.parent().unwrap_or(Path::new("")).to_owned();
    if let [path] = paths {
        let (job, said) = read_job(path, sources)?;
        return Ok(NamedJobs {
            job,
            each: Vec::new(),
            folder: folder(path),
            said,
        });
    }
    let (mut said, mut problems) = (Diagnostics::new(), Diagnostics::new());
    let mut jobs = Vec::new();
    for path in paths {
        match read_job(path, sources) {
            Ok((job, of_job)) => {
                said.append(of_job);
                jobs.push((path.display().to_string(), job.in_folder(&folder(path))));
            }
            Err(of_job) => problems.append(of_job),
        }
    }
    if !problems.is_empty() {
        return Err(problems);
    }
    let (joint, of_all) = JointJob::of(jobs)?;
    said.append(of_all);
    Ok(NamedJobs {
        job: joint.job,
        each: joint.each,
        folder: PathBuf::new(),
        said,
    })
}

/// The job at `path`, with the shop file that it names.
pub(super) fn read_job(
    path: &Path,
    sources: &mut Sources,
) -> Result<(Job, Diagnostics), Diagnostics> {
    sources.note(path);
    let name = path.display().to_string();
    if has_ending(path, &["svg", "dxf"]) || is_mould(path) {
        let what = if is_mould(path) { "mould" } else { "drawing" };
        return Err(
            Diagnostic::error(format!("this is a {what}, not a job file"))
                .at(Place::File(name.clone()))
                .help(format!("make a job for it first: warpwise new {name}"))
                .into(),
        );
    }
    let text = read_text(path, "job file")?;
    job_of_text(path, &text, sources)
}

/// The job that the file at `path` is with this `text`, with the shop file that it names.
pub(super) fn job_of_text(
    path: &Path,
    text: &str,
    sources: &mut Sources,
) -> Result<(Job, Diagnostics), Diagnostics> {
    let name = path.display().to_string();
    let folder = path.parent().unwrap_or(Path::new(""));
    Job::read_with_shop(&name, text, &mut |written| {
        let shop = folder.join(written);
        sources.note(&shop);
        let name = shop.display().to_string();
        let bytes = read_file(&shop, LARGEST_JOB).map_err(|why| format!("{why} ({name})"))?;
        match String::from_utf8(bytes) {
            Ok(text) => Ok(SourceText { name, text }),
            Err(_) => Err(format!("it is not UTF-8 text ({name})")),
        }
    })
}

/// The text of the job or shop file at `path`.
pub(super) fn read_text(path: &Path, what: &str) -> Result<String, Diagnostic> {
    let name = path.display().to_string();
    let bytes = read_file(path, LARGEST_JOB).map_err(|why| {
        Diagnostic::error(format!("the {what} cannot be read: {why}")).at(Place::File(name.clone()))
    })?;
    String::from_utf8(bytes).map_err(|e| {
        let line = e.as_bytes()[..e.utf8_error().valid_up_to()]
            .iter()
            .filter(|&&b| b == b'\n')
            .count()
            + 1;
        Diagnostic::error(format!("the {what} is not UTF-8 text"))
            .at(Place::Line { file: name, line })
            .help("save it as UTF-8 in the editor")
    })
}

/// The file at `path`, or the names of the remnant files in the folder there, which the job calls `written`.
fn read_named(path: &Path, written: &str) -> Result<Vec<InputFile>, String> {
    if !path.is_dir() {
        let bytes = read_file(path, LARGEST_PATTERN)?;
        return Ok(vec![InputFile::new(&path.display().to_string(), bytes)]);
    }
    if is_shelf(path) {
        return Err(format!(
            "it is a shelf that is kept: write `shelf = \"{written}\"` at the head of the job instead"
        ));
    }
    let entries = std::fs::read_dir(path).map_err(|e| e.to_string())?;
    let mut files = Vec::new();
    for entry in entries {
        let name = PathBuf::from(entry.map_err(|e| e.to_string())?.file_name());
        if !has_ending(&name, &["json"]) {
            continue;
        }
        let inside = Path::new(written).join(&name);
        let inside = inside.to_str().ok_or_else(|| {
            format!(
                "the name of {} in it is not UTF-8 text: rename it",
                name.display()
            )
        })?;
        files.push(InputFile::in_folder(inside));
    }
    files.sort_by(|a, b| a.name.cmp(&b.name));
    Ok(files)
}

/// Reads the pattern file at `path`; the problem names it.
pub(super) fn read_pattern_file(
    path: &Path,
    settings: &pattern::Settings,
) -> Result<Pattern, Diagnostics> {
    if has_ending(path, &["toml"]) {
        return Err(Diagnostic::error("this is a job file, not a drawing")
            .at(Place::File(path.display().to_string()))
            .help(format!(
                "look at it with: warpwise check {}",
                path.display()
            ))
            .into());
    }
    let bytes = read_file(path, LARGEST_PATTERN).map_err(|why| {
        Diagnostic::error(format!("the pattern file cannot be read: {why}"))
            .at(Place::File(path.display().to_string()))
    })?;
    pattern::see(&path.display().to_string(), &bytes, settings)
}

/// The bytes of the picture at `path`; the problem names it.
pub(super) fn read_picture(path: &Path) -> Result<Vec<u8>, Diagnostics> {
    read_file(path, LARGEST_PATTERN).map_err(|why| {
        Diagnostic::error(format!("the photograph cannot be read: {why}"))
            .at(Place::File(path.display().to_string()))
            .into()
    })
}

/// Reads the photographs at `paths`, which show one template.
pub(super) fn read_joined_photographs(
    paths: &[&PathBuf],
    settings: &pattern::Settings,
) -> Result<Pattern, Diagnostics> {
    let mut files = Vec::with_capacity(paths.len());
    for path in paths {
        files.push((path.display().to_string(), read_picture(path)?));
    }
    let files: Vec<PhotoFile<'_>> = (files.iter())
        .map(|(name, bytes)| PhotoFile::new(name, bytes))
        .collect();
    pattern::see_joined(&files, settings)
}

/// Reads the mould at `path`, whose numbers are in `unit`, or in mm: the problem names it.
pub(super) fn read_mould_file(
    path: &Path,
    unit: Option<LengthUnit>,
) -> Result<(Mould, Diagnostics), Diagnostics> {
    let name = path.display().to_string();
    let bytes = read_file(path, LARGEST_PATTERN).map_err(|why| {
        Diagnostic::error(format!("the mould cannot be read: {why}")).at(Place::File(name.clone()))
    })?;
    Mould::read(&name, bytes, unit.or(Some(LengthUnit::Millimetre)))
}

/// Whether `path` is called as moulds are.
pub(super) fn is_mould(path: &Path) -> bool {
    let name = path.file_name().unwrap_or_default();
    MouldFormat::of(&name.to_string_lossy()).is_some()
}

/// Whether the name ends in one of `endings`, in capitals or not.
fn has_ending(path: &Path, endings: &[&str]) -> bool {
    let own = path.extension().unwrap_or_default();
    endings
        .iter()
        .any(|ending| own.eq_ignore_ascii_case(ending))
}

/// The text of a `plan.json`.
pub(super) fn read_plan(path: &Path) -> Result<String, Diagnostic> {
    let refused = |why: String| {
        Diagnostic::error(format!("the plan cannot be read: {why}"))
            .at(Place::File(path.display().to_string()))
            .help("plan the job first, or say with `--out` where its plan is")
    };
    let bytes = read_file(path, LARGEST_PATTERN).map_err(refused)?;
    String::from_utf8(bytes).map_err(|_| refused("it is not UTF-8 text".to_owned()))
}

/// The file's bytes, or why not in a person's words.
fn read_file(path: &Path, most: u64) -> Result<Vec<u8>, String> {
    let why = |e: std::io::Error| match e.kind() {
        std::io::ErrorKind::NotFound => "there is no such file".to_owned(),
        std::io::ErrorKind::PermissionDenied => "reading it is not permitted".to_owned(),
        _ => e.to_string(),
    };
    let about = std::fs::metadata(path).map_err(why)?;
    if about.is_dir() {
        return Err("it is a folder".to_owned());
    }
    // A pipe or a device may never end, or not even begin.
    if !about.is_file() {
        return Err("it is a pipe or a device, not a file".to_owned());
    }
    let file = File::open(path).map_err(why)?;
    // It may grow meanwhile, so the reading itself is bounded too.
    let mut bytes = Vec::new();
    file.take(most + 1).read_to_end(&mut bytes).map_err(why)?;
    if bytes.len() as u64 > most {
        return Err(format!("it is larger than {} MB", most >> 20));
    }
    Ok(bytes)
}
