//! `warpwise new`: a job file to start from.

use std::io::{BufRead as _, IsTerminal as _, Write as _};
use std::path::{Component, Path, PathBuf};

use super::args::NewOptions;
use super::writing::{Existing, write_file};
use super::{Failure, input, messages};
use crate::diag::{Diagnostic, Place, Severity, counted};
use crate::job::{StartingJob, starting_job};
use crate::pattern::{Pattern, Settings};

pub(super) fn run(options: &NewOptions) -> Result<(), Failure> {
    let out = out_file(options);
    if out.exists() {
        messages::show(
            &Diagnostic::error("there is such a file already, and it is left as it is")
                .at(Place::File(out.display().to_string()))
                .help("delete it, or name another with `--out`"),
        );
        return Err(Failure::Output);
    }
    let patterns = read_patterns(options, &out)?;
    let start = answers(options);
    let text = starting_job(&start, &patterns);
    write_file(&out, text.as_bytes(), Existing::Own, &options.patterns)?;
    // What was written must plan; if it does not, the problems say where it is to be changed.
    let prepared =
        input::prepare_and_show(&out, options.quiet, Severity::Warning).inspect_err(|_| {
            if options.quiet {
                return;
            }
            let out = out.display();
            messages::print(&format!(
                "{out} was written, with the faults above. Mend them there, then:\n  warpwise check {out}\n"
            ));
        })?;
    if !options.quiet {
        let n: u64 = prepared.pieces.iter().map(|p| u64::from(p.sets())).sum();
        messages::print(&format!(
            "{} was written: {}, {n} pieces. Read it through, then:\n  warpwise plan {}\n",
            out.display(),
            counted(prepared.inputs.job().parts().len(), "part", "parts"),
            out.display()
        ));
    }
    Ok(())
}

/// `--out`, or the first pattern's name with `.toml` in the current folder.
fn out_file(options: &NewOptions) -> PathBuf {
    options.out.clone().unwrap_or_else(|| {
        let stem = options.patterns[0].file_stem().unwrap_or_default();
        PathBuf::from(format!("{}.toml", stem.to_string_lossy()))
    })
}

/// The patterns, each with its path as seen from the job file.
fn read_patterns(options: &NewOptions, out: &Path) -> Result<Vec<(String, Pattern)>, Failure> {
    let mut patterns = Vec::new();
    let mut failed = false;
    for path in &options.patterns {
        match input::read_pattern_file(path, &Settings::default()) {
            Ok(pattern) if !pattern.outlines().is_empty() => {
                messages::show_all(&pattern.problems().at_least(Severity::Warning));
                patterns.push((from_job(path, out), pattern));
            }
            Ok(pattern) => {
                messages::show_all(pattern.problems());
                failed = true;
            }
            Err(problems) => {
                messages::show_all(&problems);
                failed = true;
            }
        }
    }
    if failed {
        Err(Failure::Input)
    } else {
        Ok(patterns)
    }
}

/// The path of `pattern` as a job file at `job` gives it, with `/` between the folders.
fn from_job(pattern: &Path, job: &Path) -> String {
    let parent = match job.parent() {
        Some(parent) if !parent.as_os_str().is_empty() => parent,
        _ => Path::new("."),
    };
    let (Some(target), Some(from)) = (whole(pattern), whole(parent)) else {
        return pattern.display().to_string();
    };
    let target: Vec<Component> = target.components().collect();
    let from: Vec<Component> = from.components().collect();
    let common = (target.iter().zip(&from))
        .take_while(|(a, b)| a == b)
        .count();
    // Nothing in common, not even the drive: only the whole path will do.
    if common == 0 {
        return pattern.display().to_string();
    }
    let up = from[common..].iter().map(|_| "..".to_owned());
    let down = target[common..]
        .iter()
        .map(|c| c.as_os_str().to_string_lossy().into_owned());
    up.chain(down).collect::<Vec<_>>().join("/")
}

/// The whole path of `path`, of which the last folders need not be there yet.
fn whole(path: &Path) -> Option<PathBuf> {
    path.canonicalize().ok().or_else(|| {
        let parent = match path.parent()? {
            parent if parent.as_os_str().is_empty() => Path::new("."),
            parent => parent,
        };
        Some(whole(parent)?.join(path.file_name()?))
    })
}

/// What the options say, and where they do not, what a person at the terminal answers.
fn answers(options: &NewOptions) -> StartingJob {
    let is_asked =
        !options.quiet && std::io::stdin().is_terminal() && std::io::stderr().is_terminal();
    let ask = |stated: &Option<String>, question: &str, usual: &str| match stated {
        Some(stated) => stated.clone(),
        None if is_asked => answer(question, usual),
        None => usual.to_owned(),
    };
    let title = out_file(options)
        .file_stem()
        .unwrap_or_default()
        .to_string_lossy()
        .into_owned();
    StartingJob {
        title,
        weave: ask(
            &options.weave,
            "Weave of the cloth: plain, twill, basket, satin, unidirectional, biaxial",
            "plain",
        ),
        areal_weight: ask(&options.areal_weight, "Its areal weight", "200 g/m2"),
        roll_width: ask(&options.roll_width, "Width of the roll", "50 in"),
        price: options.price.clone(),
        layup: ask(
            &options.layup,
            "Plies in laminate code, first against the mould",
            "[0/45]s",
        ),
        sets: options.sets,
        trim: ask(&options.trim, "Cloth beyond the finished edge", "25 mm"),
        units: options.units,
    }
}

/// What is typed after `question`; `usual` if that is nothing.
fn answer(question: &str, usual: &str) -> String {
    _ = write!(std::io::stderr(), "{question} [{usual}]: ");
    _ = std::io::stderr().flush();
    let mut line = String::new();
    // At the end of the input, the usual answers stand.
    _ = std::io::stdin().lock().read_line(&mut line);
    match line.trim() {
        "" => usual.to_owned(),
        typed => typed.to_owned(),
    }
}
