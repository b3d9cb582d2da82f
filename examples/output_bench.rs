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

use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::{FileKind, Job};
use warpwise::nest::{Continue, Effort};
use warpwise::output::ProvenPlan;
use warpwise::plan::{Settings, build};
use warpwise::{output, ply};

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
    let n_pieces: usize = plan.plan().layouts().iter().map(|l| l.pieces().len()).sum();
    let sizes: BTreeMap<&str, usize> = files
        .iter()
        .map(|f| (f.path.as_str(), f.bytes.len()))
        .collect();
    let told = serde_json::json!({ "pieces": n_pieces, "seconds": times[2], "files": sizes });
    println!("{told}");
    ExitCode::SUCCESS
}

fn plan(file: &Path) -> Result<ProvenPlan, String> {
    let text = std::fs::read_to_string(file).map_err(|e| e.to_string())?;
    let (job, _) = Job::read("job.toml", &text).map_err(|p| first(&p))?;
    let job = job.with_files(FileKind::ALL.to_vec());
    let folder = file.parent().unwrap_or(Path::new("."));
    let open = &mut |name: &str| {
        let bytes = std::fs::read(folder.join(name))?;
        Ok(vec![InputFile::new(name, bytes)])
    };
    let (inputs, _) = Inputs::read(job, open).map_err(|p| first(&p))?;
    let (pieces, _) = ply::pieces(&inputs).map_err(|p| first(&p))?;
    let settings = Settings {
        effort: Effort::Seconds(0.5),
        effort_name: "0.5s".to_owned(),
        seed: 1,
        threads: 1,
    };
    let plan = build(&pieces, &settings, &|_| Continue::Yes).map_err(|p| first(&p))?;
    ProvenPlan::prove(plan).map_err(|p| first(&p))
}

fn first(problems: &warpwise::diag::Diagnostics) -> String {
    problems
        .iter()
        .next()
        .map_or_else(String::new, |p| p.message.clone())
}
