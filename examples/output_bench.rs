//! How long it takes to write every file of a plan, and how large they are.
//!
//!     cargo run --release --example output_bench -- JOB.toml
//!
//! Lays the job out for half a second, turns on every kind of file and writes them five times, in
//! memory. Prints a line of JSON: `{"pieces", "seconds", "files": {path: bytes}}`, with the median
//! time.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a bench talks to the terminal"
)]

use std::collections::BTreeMap;
use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

use warpwise::job::{FileKind, Job};
use warpwise::nest::{Continue, Effort};
use warpwise::plan::{Plan, Settings, build};
use warpwise::{output, pattern, ply};

fn main() -> ExitCode {
    let Some(file) = std::env::args().nth(1) else {
        eprintln!("usage: output_bench JOB.toml");
        return ExitCode::from(2);
    };
    let plan = match plan(Path::new(&file)) {
        Ok(plan) => plan,
        Err(error) => {
            eprintln!("{file}: {error}");
            return ExitCode::FAILURE;
        }
    };
    let mut times = Vec::new();
    let mut files = Vec::new();
    for _ in 0..5 {
        let started = Instant::now();
        files = output::all(&plan);
        times.push(started.elapsed().as_secs_f64());
    }
    times.sort_by(f64::total_cmp);
    let n_pieces: usize = plan.layouts().iter().map(|l| l.pieces().len()).sum();
    let sizes: BTreeMap<&str, usize> = files
        .iter()
        .map(|f| (f.path.as_str(), f.bytes.len()))
        .collect();
    let told = serde_json::json!({ "pieces": n_pieces, "seconds": times[2], "files": sizes });
    println!("{told}");
    ExitCode::SUCCESS
}

fn plan(file: &Path) -> Result<Plan, String> {
    let text = std::fs::read_to_string(file).map_err(|e| e.to_string())?;
    let (job, _) = Job::read("job.toml", &text).map_err(|p| first(&p))?;
    let job = job.with_files(FileKind::ALL.to_vec());
    let folder = file.parent().unwrap_or(Path::new("."));
    let mut patterns = BTreeMap::new();
    for part in job.parts() {
        let name = &part.pattern.value;
        let bytes = std::fs::read(folder.join(name)).map_err(|e| format!("{name}: {e}"))?;
        let read = pattern::read(name, &bytes, &part.reading).map_err(|p| first(&p))?;
        patterns.insert(name.clone(), read);
    }
    let (pieces, _) = ply::pieces(&job, &patterns).map_err(|p| first(&p))?;
    let settings = Settings {
        effort: Effort::Seconds(0.5),
        effort_name: "0.5s".to_owned(),
        seed: 1,
        threads: 1,
    };
    build(&job, &pieces, &settings, &|_| Continue::Yes).map_err(|p| first(&p))
}

fn first(problems: &warpwise::diag::Diagnostics) -> String {
    problems
        .iter()
        .next()
        .map_or_else(String::new, |p| p.message.clone())
}
