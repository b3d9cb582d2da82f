//! What laminate, resin, bag and mould add to the time of a plan.
//!
//!     cargo run --release --example work_bench -- JOB.toml [ROUNDS]
//!
//! Does the whole job in memory, from the text of the job to the bytes of all files and their
//! re-check, in turn as it is and bare: without its tables `[laminate]`, `[resin]`, `[bag]` and
//! `[mould]`. The search is stopped at the first layout of each cloth, which is
//! the same both ways, so that its own time does not drown the difference. Prints a line of JSON:
//! the median processor time (where the system tells it, else time by the clock) of both, in ms, of
//! each step both ways, and `added_ms`, the median of the differences of neighbouring runs.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a bench talks to the terminal"
)]

use std::collections::BTreeMap;
use std::path::Path;
use std::process::ExitCode;
use std::time::Instant;

use warpwise::diag::Diagnostics;
use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::Job;
use warpwise::nest::{Continue, Effort};
use warpwise::output::ProvenPlan;
use warpwise::plan::{self, Settings};
use warpwise::{output, ply};

/// The tables that are left out for comparison.
const TABLES: [&str; 4] = ["laminate", "resin", "bag", "mould"];
/// The steps that are timed.
const STEPS: [&str; 4] = ["read", "plan", "proof", "files"];

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let rounds = arguments.get(1).map_or(Ok(41), |n| n.parse());
    let (Some(file), Ok(rounds @ 1..)) = (arguments.first(), rounds) else {
        eprintln!("usage: work_bench JOB.toml [ROUNDS]");
        return ExitCode::from(2);
    };
    match bench(Path::new(file), rounds) {
        Ok(told) => {
            println!("{told}");
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{file}: {error}");
            ExitCode::FAILURE
        }
    }
}

fn bench(file: &Path, rounds: usize) -> Result<serde_json::Value, String> {
    let text = std::fs::read_to_string(file).map_err(|e| e.to_string())?;
    let bare = without_tables(&text);
    let folder = file.parent().unwrap_or(Path::new("."));
    let (mut whole, mut without) = (Vec::new(), Vec::new());
    for _ in 0..rounds {
        without.push(run(&bare, folder)?);
        whole.push(run(&text, folder)?);
    }
    let sum = |steps: &[f64; STEPS.len()]| steps.iter().sum::<f64>();
    let differences = whole.iter().zip(&without).map(|(a, b)| sum(a) - sum(b));
    let steps: BTreeMap<&str, [f64; 2]> = STEPS
        .iter()
        .enumerate()
        .map(|(i, &name)| {
            let of = |runs: &[[f64; STEPS.len()]]| median(runs.iter().map(|run| run[i]));
            (name, [of(&whole), of(&without)])
        })
        .collect();
    Ok(serde_json::json!({
        "rounds": rounds,
        "added_ms": median(differences),
        "with_ms": median(whole.iter().map(sum)),
        "without_ms": median(without.iter().map(sum)),
        "steps_with_and_without_ms": steps,
    }))
}

/// The text of a job without the tables that say how it is laid up.
fn without_tables(text: &str) -> String {
    let mut is_kept = true;
    let mut kept = String::new();
    for line in text.lines() {
        if let Some(header) = line.trim_start().strip_prefix('[') {
            let name = header.trim_start_matches('[');
            let first = name.split(['.', ']']).next().unwrap_or_default().trim();
            is_kept = !TABLES.contains(&first);
        }
        if is_kept {
            kept.push_str(line);
            kept.push('\n');
        }
    }
    kept
}

/// Does the job once; the time of each step, ms.
fn run(text: &str, folder: &Path) -> Result<[f64; STEPS.len()], String> {
    let mut times = [0.0; STEPS.len()];
    let mut last = now();
    let (job, _) = Job::read("job.toml", text).map_err(|p| first(&p))?;
    let open = &mut |name: &str| {
        let bytes = std::fs::read(folder.join(name))?;
        Ok(vec![InputFile::new(name, bytes)])
    };
    let (inputs, _) = Inputs::read(job, open).map_err(|p| first(&p))?;
    let (pieces, _) = ply::pieces(&inputs).map_err(|p| first(&p))?;
    times[0] = since(&mut last);
    let settings = Settings {
        effort: Effort::Quick,
        effort_name: "quick".to_owned(),
        seed: 1,
        threads: 1,
    };
    let plan = plan::build(&pieces, &settings, &|_| Continue::Stop).map_err(|p| first(&p))?;
    times[1] = since(&mut last);
    let proven = ProvenPlan::prove(plan).map_err(|p| first(&p))?;
    times[2] = since(&mut last);
    drop(std::hint::black_box(output::all(&proven)));
    times[3] = since(&mut last);
    Ok(times)
}

/// Milliseconds since `last`, which is now.
fn since(last: &mut f64) -> f64 {
    let passed = (now() - *last) * 1e3;
    *last += passed * 1e-3;
    passed
}

/// Seconds of a processor that this thread has had, or seconds by the clock where no one tells.
fn now() -> f64 {
    thread_local!(static START: Instant = Instant::now());
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|text| text.split_whitespace().next()?.parse::<u64>().ok());
    match nanoseconds {
        Some(nanoseconds) => nanoseconds as f64 * 1e-9,
        None => START.with(|start| start.elapsed().as_secs_f64()),
    }
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    values.sort_by(f64::total_cmp);
    (values[values.len() / 2] * 100.0).round() / 100.0
}

fn first(problems: &Diagnostics) -> String {
    let problem = problems.iter().next();
    problem.map_or_else(String::new, |p| p.message.clone())
}
