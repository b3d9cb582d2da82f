//! Feeds broken pattern and job files to the readers, and whole jobs made by chance to all that lies behind
//! them; looks for panics, slow cases and plans that do not prove.
//!
//!     cargo run --release --example fuzz -- [--cases N] [--jobs N] [--seed S]
//!         [--target dxf|svg|job|stl|obj|ply|photo|whole|mould] [--case K] [--keep DIR]
//!
//! `--cases` broken files in all, shared among the readers (photographs get a tenth of a share, as each takes
//! many times as long), and `--jobs` whole jobs, each run once more with what it left as stock. A case that panics,
//! takes too long or, if it is a file, too much memory, or that is called the program's own fault makes
//! the run fail; its files go to DIR. `--case K` runs one case alone. A long run is nothing but larger
//! numbers: `--cases 10000000 --jobs 1000000`.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "an example prints its result"
)]

#[path = "../tests/fuzz/meshes.rs"]
mod meshes;
#[path = "../tests/fuzz/mutator.rs"]
mod mutator;
#[path = "../tests/fuzz/photographs.rs"]
mod photographs;
#[path = "../tests/photograph/render.rs"]
#[allow(dead_code, unreachable_pub, reason = "shared by tests and examples")]
mod render;
#[path = "../tests/photograph/scene.rs"]
#[allow(
    dead_code,
    unreachable_pub,
    clippy::unwrap_used,
    reason = "shared by tests and examples"
)]
mod scene;
#[path = "../tests/fuzz/whole.rs"]
mod whole;

use std::cell::RefCell;
use std::collections::BTreeMap;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::{Duration, Instant};

use clap::Parser;
use mutator::{Fuzzer, Target};
use peak_alloc::PeakAlloc;
use photographs::Photographs;
use whole::{Outcome, WholeJob};

/// Counts what is taken of the heap; made for tests.
#[global_allocator]
static HEAP: PeakAlloc = PeakAlloc;

/// A broken file that takes longer than this fails the run, or more memory than this and `MEMORY_A_BYTE` for
/// each of its bytes.
const SLOWEST: Duration = Duration::from_secs(1);
const MEMORY: usize = 64 << 20;
const MEMORY_A_BYTE: usize = 200;

/// The same for photographs: they may have 64 million pixels in a small file.
const SLOWEST_PHOTO: Duration = Duration::from_secs(10);
const MEMORY_PHOTO: usize = 600 << 20;

/// A whole job that takes longer than this fails the run.
const SLOWEST_JOB: Duration = Duration::from_secs(60);

/// A case that takes this long by the clock is not waited for, however busy the machine.
const HANGS: Duration = Duration::from_secs(300);

#[derive(Parser)]
struct Options {
    /// Broken files in all but photographs, of which there are fewer
    #[arg(long, default_value_t = 50_000)]
    cases: u64,
    /// Whole jobs
    #[arg(long, default_value_t = 500)]
    jobs: u64,
    /// Decides, with the number of a case, every byte of it
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Only this target: dxf, svg, job, stl, obj, ply, photo, whole or mould
    #[arg(long)]
    target: Option<String>,
    /// Only this case
    #[arg(long)]
    case: Option<u64>,
    /// Where the bytes of failing cases go
    #[arg(long, default_value = "target/fuzz")]
    keep: PathBuf,
}

/// Makes the whole job of a case from a seed.
type MakeJob = fn(u64, u64) -> WholeJob;

fn main() -> ExitCode {
    let options = Options::parse();
    let tests = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests");
    let is_wanted = |target: &str| options.target.as_ref().is_none_or(|name| name == target);
    let mut targets: Vec<Target> = Target::ALL.to_vec();
    targets.retain(|target| is_wanted(target.name()));
    if options.case.is_none() {
        // A panic is told once, with its case.
        std::panic::set_hook(Box::new(|_| {}));
    }
    let mut failed = false;
    let cases_of = |share: u64| options.case.map_or(0..share, |case| case..case + 1);
    for &target in &targets {
        let fuzzer = Fuzzer::new(target, &tests, options.seed);
        let run = Run {
            name: target.name(),
            slowest: SLOWEST,
            feed: &|case| within(MEMORY, &fuzzer.case(case), |bytes| fuzzer.feed(case, bytes)),
            files: &|case| vec![("input".to_owned(), fuzzer.case(case))],
        };
        failed |= run.all(
            cases_of(options.cases / targets.len() as u64),
            &options.keep,
        );
    }
    if is_wanted("photo") {
        let photographs = Photographs::new(options.seed);
        let run = Run {
            name: "photo",
            slowest: SLOWEST_PHOTO,
            feed: &|case| {
                let bytes = photographs.case(case);
                within(MEMORY_PHOTO, &bytes, |bytes| photographs.feed(case, bytes))
            },
            files: &|case| vec![("input".to_owned(), photographs.case(case))],
        };
        let shares = 10 * (targets.len() as u64) + 1;
        failed |= run.all(cases_of(options.cases / shares), &options.keep);
    }
    let kinds: [(&str, MakeJob); 2] = [("whole", whole::job), ("mould", meshes::job)];
    for (name, make) in kinds.into_iter().filter(|(name, _)| is_wanted(name)) {
        let refused = RefCell::new(BTreeMap::new());
        let run = Run {
            name,
            slowest: SLOWEST_JOB,
            feed: &|case| feed_whole(&make(options.seed, case), &refused),
            files: &|case| {
                let job = make(options.seed, case);
                let own = [("fuzz.toml".to_owned(), job.text.into_bytes())];
                own.into_iter().chain(job.files).collect()
            },
        };
        failed |= run.all(cases_of(options.jobs), &options.keep);
        let mut reasons: Vec<(String, u64)> = refused.into_inner().into_iter().collect();
        reasons.sort_by_key(|(_, n)| std::cmp::Reverse(*n));
        for (why, n) in reasons {
            println!("{n:>8} refused: {why}");
        }
    }
    if failed {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    }
}

/// What `feed` makes of a file, if that takes no more memory than `most` and what the file is worth.
fn within(most: usize, file: &[u8], feed: impl Fn(&[u8]) -> usize) -> Result<usize, String> {
    let before = HEAP.current_usage();
    HEAP.reset_peak_usage();
    let result = feed(file);
    let peak = HEAP.peak_usage().saturating_sub(before);
    let most = most + MEMORY_A_BYTE * file.len();
    if peak > most {
        return Err(format!("takes {} MB of {}", peak >> 20, most >> 20));
    }
    Ok(result)
}

/// Runs a job and, if it was planned, the same with what it left as stock.
fn feed_whole(job: &WholeJob, refused: &RefCell<BTreeMap<String, u64>>) -> Result<usize, String> {
    let (bytes, pieces, left) = match whole::run(job)? {
        Outcome::Refused(why) => {
            *refused.borrow_mut().entry(why).or_insert(0) += 1;
            return Ok(0);
        }
        Outcome::Planned {
            bytes,
            pieces,
            left,
        } => (bytes, pieces, left),
    };
    let again = match left.is_empty() {
        true => 0,
        false => match whole::run(&whole::again(job, &left)) {
            Ok(Outcome::Planned { bytes, .. }) => bytes,
            Ok(Outcome::Refused(why)) => {
                return Err(format!("refused with what it left as stock: {why}"));
            }
            Err(why) => return Err(format!("with what it left as stock: {why}")),
        },
    };
    Ok(bytes + again + pieces)
}

/// Cases of one kind.
struct Run<'a> {
    name: &'static str,
    slowest: Duration,
    /// Feeds a case; answers something of what came out, or what is the program's own fault.
    feed: &'a dyn Fn(u64) -> Result<usize, String>,
    /// The files of a case by name, to be kept if it fails.
    files: &'a dyn Fn(u64) -> Vec<(String, Vec<u8>)>,
}

impl Run<'_> {
    /// Runs `cases`; answers whether one failed.
    fn all(&self, cases: std::ops::Range<u64>, keep: &Path) -> bool {
        let (n, begin) = (cases.end - cases.start, Instant::now());
        let present = watch(self.name, cases.start);
        let mut slowest = (Duration::ZERO, 0);
        let (mut failures, mut nothing, mut sum, mut largest) = (0, 0, 0_usize, (0, 0));
        for case in cases {
            present.store(case, Ordering::Relaxed);
            let (fed, took) = self.timed(case);
            slowest = slowest.max((took, case));
            let why = match fed {
                Ok(Ok(result)) => {
                    nothing += u64::from(result == 0);
                    largest = largest.max((result, case));
                    sum = sum.wrapping_add(result);
                    if took <= self.slowest {
                        continue;
                    }
                    format!("took {:.2} s", took.as_secs_f64())
                }
                Ok(Err(why)) => why,
                Err(_) => "panicked".to_owned(),
            };
            failures += 1;
            if failures <= 20 {
                let folder = keep.join(format!("{}-{case}", self.name));
                let kept = self.keep(case, &folder);
                let kept = kept.map_or_else(|e| e.to_string(), |()| folder.display().to_string());
                eprintln!("{}: case {case} {why} ({kept})", self.name);
            }
        }
        present.store(u64::MAX, Ordering::Relaxed);
        println!(
            "{}: {n} cases in {:.1} s, {failures} failed, {nothing} came to nothing, slowest {:.3} s (case {}), largest {} (case {}), checksum {sum:x}",
            self.name,
            begin.elapsed().as_secs_f64(),
            slowest.0.as_secs_f64(),
            slowest.1,
            largest.0,
            largest.1,
        );
        failures > 0
    }

    /// What comes of a case, and how long it takes: where a busy machine makes it slow, the time of
    /// the processor counts.
    fn timed(&self, case: u64) -> (std::thread::Result<Result<usize, String>>, Duration) {
        let feed = || catch_unwind(AssertUnwindSafe(|| (self.feed)(case)));
        let start = Instant::now();
        let (fed, took) = (feed(), start.elapsed());
        if took <= self.slowest / 4 {
            return (fed, took);
        }
        let (start, at_start) = (Instant::now(), processor_time());
        let (fed, took) = (feed(), start.elapsed());
        let times = processor_time().zip(at_start);
        (fed, times.map_or(took, |(end, start)| end - start))
    }

    fn keep(&self, case: u64, folder: &Path) -> std::io::Result<()> {
        std::fs::create_dir_all(folder)?;
        (self.files)(case)
            .into_iter()
            .try_for_each(|(name, bytes)| std::fs::write(folder.join(name), bytes))
    }
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
