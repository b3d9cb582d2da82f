//! Feeds broken pattern and job files to the readers and looks for panics and slow cases.
//!
//!     cargo run --release --example fuzz -- [--cases N] [--seed S] [--target dxf|svg|job]
//!         [--case K] [--keep DIR]
//!
//! N cases in all, shared among the targets. A case that panics or takes longer than a second makes
//! the run fail; its bytes go to DIR. `--case K` runs one case alone.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "an example prints its result"
)]

#[path = "../tests/fuzz/mutator.rs"]
mod mutator;

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use clap::Parser;
use mutator::{Fuzzer, Target};

/// A case slower than this fails the run.
const SLOWEST: Duration = Duration::from_secs(1);

/// A case that takes this long by the clock is not waited for, however busy the machine.
const HANGS: Duration = Duration::from_secs(300);

#[derive(Parser)]
struct Options {
    /// Cases in all
    #[arg(long, default_value_t = 50_000)]
    cases: u64,
    /// Decides, with the number of a case, every byte of it
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Only this target: dxf, svg or job
    #[arg(long)]
    target: Option<String>,
    /// Only this case
    #[arg(long)]
    case: Option<u64>,
    /// Where the bytes of failing cases go
    #[arg(long, default_value = "target/fuzz")]
    keep: PathBuf,
}

fn main() -> ExitCode {
    let options = Options::parse();
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let targets: Vec<Target> = Target::ALL
        .into_iter()
        .filter(|t| options.target.as_ref().is_none_or(|name| name == t.name()))
        .collect();
    if options.case.is_none() {
        // A panic is told once, with its case.
        std::panic::set_hook(Box::new(|_| {}));
    }
    let mut failed = false;
    for &target in &targets {
        let fuzzer = Fuzzer::new(target, &tests, options.seed);
        let share = options.cases / targets.len() as u64;
        let cases = options.case.map_or(0..share, |case| case..case + 1);
        failed |= run(&fuzzer, cases, &options.keep);
    }
    if failed {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    }
}

/// Runs `cases`; answers whether one failed.
fn run(fuzzer: &Fuzzer, cases: std::ops::Range<u64>, keep: &Path) -> bool {
    let name = fuzzer.target.name();
    let (n, begin) = (cases.end - cases.start, Instant::now());
    let present = watch(name, cases.start);
    let mut slowest = (Duration::ZERO, 0);
    let (mut failures, mut sum) = (0, 0_usize);
    for case in cases {
        present.store(case, Ordering::Relaxed);
        let bytes = fuzzer.case(case);
        let feed = || {
            let (start, at_start) = (Instant::now(), processor_time());
            let fed = catch_unwind(AssertUnwindSafe(|| fuzzer.feed(case, &bytes)));
            let took = start.elapsed();
            let spent = processor_time()
                .zip(at_start)
                .map(|(end, start)| end - start);
            (fed, spent.unwrap_or(took))
        };
        let start = Instant::now();
        let mut fed = catch_unwind(AssertUnwindSafe(|| fuzzer.feed(case, &bytes)));
        let mut took = start.elapsed();
        // A busy machine makes quick cases slow: what counts is the time of the processor.
        if took > SLOWEST / 4 {
            (fed, took) = feed();
        }
        slowest = slowest.max((took, case));
        let why = match fed {
            Ok(result) => {
                sum = sum.wrapping_add(result);
                if took <= SLOWEST {
                    continue;
                }
                format!("took {:.2} s", took.as_secs_f64())
            }
            Err(_) => "panicked".to_owned(),
        };
        failures += 1;
        if failures <= 20 {
            let file = keep.join(format!("{name}-{case}"));
            let kept = std::fs::create_dir_all(keep).and_then(|()| std::fs::write(&file, &bytes));
            let kept = kept.map_or_else(|e| e.to_string(), |()| file.display().to_string());
            eprintln!("{name}: case {case} {why} ({kept})");
        }
    }
    present.store(u64::MAX, Ordering::Relaxed);
    println!(
        "{name}: {n} cases in {:.1} s, {failures} failed, slowest {:.3} s (case {}), checksum {sum:x}",
        begin.elapsed().as_secs_f64(),
        slowest.0.as_secs_f64(),
        slowest.1,
    );
    failures > 0
}

/// Time that this thread has had of a processor, where the system tells (Linux).
fn processor_time() -> Option<Duration> {
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok()?;
    let nanoseconds = told.split_whitespace().next()?.parse().ok()?;
    Some(Duration::from_nanos(nanoseconds))
}

/// A watcher that ends the process if a case does not end; it is told the present case.
fn watch(name: &'static str, first: u64) -> Arc<AtomicU64> {
    let present = Arc::new(AtomicU64::new(first));
    let seen = Arc::clone(&present);
    std::thread::spawn(move || {
        let (mut last, mut since) = (u64::MAX, Instant::now());
        loop {
            std::thread::sleep(Duration::from_millis(500));
            let case = seen.load(Ordering::Relaxed);
            if case == u64::MAX {
                return;
            }
            if case != last {
                (last, since) = (case, Instant::now());
            } else if since.elapsed() > HANGS {
                eprintln!("{name}: case {case} does not end");
                std::process::exit(1);
            }
        }
    });
    present
}
