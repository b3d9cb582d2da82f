//! What laminate, resin, bag and mould add to the time of a plan.
//!
//!     cargo run --release --example work_bench -- JOB.toml [ROUNDS]
//!     cargo run --release --example work_bench -- --pieces 10000
//!
//! Does the whole job in memory, from the text of the job to the bytes of all files and their
//! re-check, in turn as it is and bare: without its tables `[laminate]`, `[resin]`, `[bag]` and
//! `[mould]`. The search is stopped at the first layout of each cloth, which is
//! the same both ways, so that its own time does not drown the difference. Prints a line of JSON:
//! the median processor time (where the system tells it, else time by the clock) of both, in ms, of
//! each step both ways, and `added_ms`, the median of the differences of neighbouring runs.
//!
//! With `--pieces` it plans that many pieces of twenty shapes once, at quick and on all threads, and
//! prints the seconds of each step by the clock and the most memory taken (where the system tells it).

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
use warpwise::geometry::trig;
use warpwise::inputs::{InputFile, Inputs, Unopened};
use warpwise::job::Job;
use warpwise::nest::{Clock, Continue, Effort};
use warpwise::output::ProvenPlan;
use warpwise::plan::{self, Settings};
use warpwise::units::Angle;
use warpwise::{output, ply};

/// The tables that are left out for comparison.
const TABLES: [&str; 4] = ["laminate", "resin", "bag", "mould"];
/// The steps that are timed.
const STEPS: [&str; 4] = ["read", "plan", "proof", "files"];

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [flag, n] = &arguments[..]
        && flag == "--pieces"
        && let Ok(n @ 1..) = n.parse()
    {
        return tell("--pieces", many_pieces(n));
    }
    let rounds = arguments.get(1).map_or(Ok(41), |n| n.parse());
    let (Some(file), Ok(rounds @ 1..)) = (arguments.first(), rounds) else {
        eprintln!("usage: work_bench JOB.toml [ROUNDS] | --pieces N");
        return ExitCode::from(2);
    };
    tell(file, bench(Path::new(file), rounds))
}

/// Prints a result, or why there is none.
fn tell(what: &str, result: Result<serde_json::Value, String>) -> ExitCode {
    match result {
        Ok(told) => {
            println!("{told}");
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("{what}: {error}");
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
    let open = &mut |name: &str| {
        let bytes = std::fs::read(folder.join(name))?;
        Ok(vec![InputFile::new(name, bytes)])
    };
    steps(text, open, 1, Continue::Stop, now)
}

/// Does the job once, its search as long as `go_on` says; how much `clock` went on in each step.
fn steps(
    text: &str,
    open: &mut dyn FnMut(&str) -> Result<Vec<InputFile>, Unopened>,
    threads: usize,
    go_on: Continue,
    clock: fn() -> f64,
) -> Result<[f64; STEPS.len()], String> {
    let mut times = [0.0; STEPS.len()];
    let mut last = clock();
    let mut since = || {
        let passed = (clock() - last) * 1e3;
        last += passed * 1e-3;
        passed
    };
    let (job, _) = Job::read("job.toml", text).map_err(|p| first(&p))?;
    let (inputs, _) = Inputs::read(job, open).map_err(|p| first(&p))?;
    let (pieces, _) = ply::pieces(&inputs).map_err(|p| first(&p))?;
    times[0] = since();
    let settings = Settings {
        effort: Effort::Quick,
        effort_name: "quick".to_owned(),
        seed: 1,
        threads,
    };
    let plan = plan::build(&pieces, &settings, &|_| go_on).map_err(|p| first(&p))?;
    times[1] = since();
    let proven = ProvenPlan::prove(plan).map_err(|p| first(&p))?;
    times[2] = since();
    drop(std::hint::black_box(output::all(&proven)));
    times[3] = since();
    Ok(times)
}

/// Plans `n` pieces of twenty shapes.
fn many_pieces(n: usize) -> Result<serde_json::Value, String> {
    const N_SHAPES: usize = 20;
    let mut job = "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\n\
                   roll_width = \"1270 mm\"\n"
        .to_owned();
    let mut drawing = String::new();
    for k in 0..N_SHAPES.min(n) {
        let sets = n / N_SHAPES + usize::from(k < n % N_SHAPES);
        let size = 40.0 + 6.0 * k as f64;
        let corner = |i: usize| {
            let angle = Angle::degrees(360.0 * i as f64 / 40.0);
            let wave = trig::sin_cos(angle * 3.0 + Angle::degrees(17.0 * k as f64)).0;
            let (sin, cos) = trig::sin_cos(angle);
            let reach = size * (1.0 + 0.25 * wave);
            format!(
                "{:.3},{:.3} ",
                250.0 + reach * cos,
                250.0 + 0.7 * reach * sin
            )
        };
        let corners: String = (0..40).map(corner).collect();
        let (x, y) = (500 * (k % 5), 500 * (k / 5));
        drawing += &format!("<path id='o{k}' transform='translate({x} {y})' d='M{corners}Z'/>");
        job += &format!(
            "[[part]]\nname = \"P{k}\"\npattern = \"all.svg\"\noutline = \"o{k}\"\ncloth = \"glass\"\n\
             layup = \"[0]\"\nzero_direction = 0\nsets = {sets}\n"
        );
    }
    let drawing = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='2500mm' height='2500mm' viewBox='0 0 2500 2500'>{drawing}</svg>"
    );
    let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.clone().into_bytes())]);
    let threads = std::thread::available_parallelism().map_or(1, usize::from);
    let by_the_clock = || Clock::WALL.0().as_secs_f64();
    let times = steps(&job, open, threads, Continue::Yes, by_the_clock)?;
    let seconds: BTreeMap<&str, f64> = (STEPS.into_iter().zip(times))
        .map(|(step, ms)| (step, ms.round() / 1e3))
        .collect();
    Ok(serde_json::json!({ "pieces": n, "seconds": seconds, "peak_mib": peak_mib() }))
}

/// The most memory that this process ever took, where the system tells it.
fn peak_mib() -> Option<u64> {
    let told = std::fs::read_to_string("/proc/self/status").ok()?;
    let line = told.lines().find_map(|line| line.strip_prefix("VmHWM:"))?;
    let kib: u64 = line.trim().strip_suffix("kB")?.trim().parse().ok()?;
    Some(kib / 1024)
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
