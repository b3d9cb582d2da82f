//! Runs the nesting engine on benchmark instances and prints what it reached.
//!
//! ```text
//! nest_bench --seconds 10 --threads 2 INSTANCE…             runs, a line for each
//! nest_bench --seconds 60 --seeds 3 --save ours.jsonl …     the same, kept and resumable
//! nest_bench --table ours.jsonl --best best_published.csv   the table of what was kept
//! nest_bench --table ours.jsonl --plot ours.svg             and its picture
//! ```
//!
//! The schedule of a run depends on its time, so the lengths at 10 s and at 60 s are two runs.

use std::path::{Path, PathBuf};
use std::process::ExitCode;

use clap::Parser;
use serde_json::json;

#[path = "nest/mod.rs"]
mod bench;

use bench::clock::OF_PROCESSOR;
use bench::published::{JIGSAW, Published};
use bench::results::{Key, Record, Results};
use bench::run::{Outcome, effort, run};
use bench::table::{self, Form};
use bench::{Failure, Instance, drawing, plot};

/// Measures the nesting engine on instance files and generated instances.
#[derive(Parser)]
struct Args {
    /// Wall-clock seconds for each instance; without it the named effort counts.
    #[arg(long)]
    seconds: Option<f64>,
    /// Seconds of processor time for each thread, so that other work on the machine hardly matters.
    #[arg(long, conflicts_with = "seconds", value_name = "SECONDS")]
    processor_seconds: Option<f64>,
    /// quick, normal or thorough; repeatable, unlike --seconds.
    #[arg(long, default_value = "quick")]
    effort: String,
    #[arg(long, default_value_t = 2)]
    threads: usize,
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Runs with this many seeds, from --seed on; prints each.
    #[arg(long, default_value_t = 1)]
    seeds: u64,
    /// One JSON object a line.
    #[arg(long)]
    json: bool,
    /// A table of the best published lengths (CSV with the columns name and length).
    #[arg(long, value_name = "CSV")]
    best: Option<PathBuf>,
    /// Least distance between pieces, in the instance's unit [default: the instance's own, or 0].
    #[arg(long)]
    gap: Option<f64>,
    /// Angle tolerance in degrees.
    #[arg(long, default_value_t = 0.0)]
    tolerance: f64,
    /// Adds each result to this file (a JSON object a line); what it already holds is not run again.
    #[arg(long, value_name = "FILE")]
    save: Option<PathBuf>,
    /// Runs nothing: prints the table of the results in these files.
    #[arg(long, value_name = "FILE", num_args = 1.., conflicts_with_all = ["save", "json"])]
    table: Vec<PathBuf>,
    /// Writes the table in Markdown.
    #[arg(long, requires = "table")]
    markdown: bool,
    /// Draws length against time, a panel for each instance and a line for each run, of the results
    /// just found or, with --table, of those kept.
    #[arg(long, value_name = "FILE.svg")]
    plot: Option<PathBuf>,
    /// Draws each layout as DIR/NAME.svg; with several seeds, DIR/NAME-SEED.svg. The same goes for
    /// the next two.
    #[arg(long, value_name = "DIR")]
    svg: Option<PathBuf>,
    /// Writes each layout as DIR/NAME.json, for checks by another program.
    #[arg(long, value_name = "DIR")]
    layouts: Option<PathBuf>,
    /// All lengths of each instance times this.
    #[arg(long, default_value_t = 1.0, value_name = "FACTOR")]
    scale: f64,
    /// Writes length against time as DIR/NAME.csv.
    #[arg(long, value_name = "DIR")]
    trace: Option<PathBuf>,
    /// Writes each instance as DIR/NAME.json, to see what a generated one holds.
    #[arg(long, value_name = "DIR")]
    instances: Option<PathBuf>,
    /// Instance files, or names of generated ones: curved:PIECES:VERTICES, mixed:PIECES,
    /// plies:PIECES, and with a seed bays:NX:NY:DEPTH:VERTICES:SEED,
    /// lattice:WIDTH:HEIGHT:KINDS:NX:NY:SEED, production:PIECES:SEED.
    #[arg(value_name = "INSTANCE", required_unless_present = "table")]
    files: Vec<PathBuf>,
}

fn main() -> ExitCode {
    let args = Args::parse();
    let done = if args.table.is_empty() {
        run_all(&args)
    } else {
        show(&args)
    };
    match done {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(failure) => {
            anstream::eprintln!("error: {failure}");
            ExitCode::FAILURE
        }
    }
}

/// Prints the tables of kept results; whether all were valid.
fn show(args: &Args) -> Result<bool, Failure> {
    let results = Results::read(&args.table)?;
    let form = if args.markdown {
        Form::Markdown
    } else {
        Form::Text
    };
    let lengths = table::lengths(&results.records, &published(args)?, form);
    let costs = table::costs(&results.records, form);
    let families = table::families(&results.records, form);
    anstream::print!("{lengths}\n{families}\n{costs}");
    write_plot(args, &results.records)?;
    Ok(results.records.iter().all(|r| r.valid))
}

/// Runs every instance with every seed; whether all layouts were valid.
fn run_all(args: &Args) -> Result<bool, Failure> {
    let published = published(args)?;
    let mut kept = match &args.save {
        Some(path) => Results::open(path)?,
        None => Results::default(),
    };
    let effort_name = match (args.seconds, args.processor_seconds) {
        (Some(seconds), _) => format!("{seconds}s"),
        (None, Some(seconds)) => format!("{seconds}s{OF_PROCESSOR}"),
        (None, None) => args.effort.clone(),
    };
    // Before anything runs for an hour.
    effort(&effort_name, args.threads)?;
    print_head(args);
    let mut records: Vec<Record> = Vec::new();
    let mut ratios: Vec<f64> = Vec::new();
    for file in &args.files {
        let instance = Instance::load(file)?.scaled(args.scale);
        if let Some(dir) = &args.instances {
            let text = serde_json::to_string(&instance)?;
            write(dir, &format!("{}.json", instance.name), &text)?;
        }
        for seed in args.seed..args.seed + args.seeds {
            let key = Key {
                name: instance.name.clone(),
                effort: effort_name.clone(),
                seed,
                threads: args.threads,
                gap: args.gap.unwrap_or(instance.gap),
                tolerance_deg: args.tolerance,
            };
            let record = match kept.get(&key) {
                Some(record) => record.clone(),
                None => {
                    let outcome = run(&instance, &key)?;
                    write_extras(args, &instance, &outcome)?;
                    kept.add(outcome.record.clone())?;
                    outcome.record
                }
            };
            let best = published.length(&instance.name);
            print_line(args, &record, best);
            if instance.name != JIGSAW {
                ratios.extend(best.map(|b| record.length / b));
            }
            records.push(record);
        }
    }
    write_plot(args, &records)?;
    if !args.json && !ratios.is_empty() {
        let mean = ratios.iter().sum::<f64>() / ratios.len() as f64;
        let worst = ratios.iter().copied().fold(0.0, f64::max);
        anstream::println!(
            "mean {:.2} % above the best published (without {JIGSAW}), worst {:.2} %",
            100.0 * (mean - 1.0),
            100.0 * (worst - 1.0)
        );
    }
    Ok(records.iter().all(|r| r.valid))
}

fn published(args: &Args) -> Result<Published, Failure> {
    match &args.best {
        Some(path) => Published::read(path),
        None => Ok(Published::default()),
    }
}

fn write_plot(args: &Args, records: &[Record]) -> Result<(), Failure> {
    if let Some(path) = &args.plot {
        std::fs::write(path, plot::to_svg(records, &published(args)?))
            .map_err(|e| format!("{}: {e}", path.display()))?;
    }
    Ok(())
}

fn print_head(args: &Args) {
    if !args.json {
        anstream::println!(
            "{:<14} {:>12} {:>9} {:>8} {:>6} {:>8} {:>8} {:>14} {:>8}",
            "name",
            "length",
            "density %",
            "seconds",
            "valid",
            "first s",
            "peak MiB",
            "best published",
            "ratio"
        );
    }
}

fn print_line(args: &Args, record: &Record, best: Option<f64>) {
    if args.json {
        let line = json!({
            "name": record.key.name,
            "length": record.length,
            "density_percent": record.density_percent,
            "seconds": record.seconds,
            "valid": record.valid,
        });
        anstream::println!("{line}");
    } else {
        let or_none = |text: Option<String>| text.unwrap_or_default();
        let line = format!(
            "{:<14} {:>12.4} {:>9.2} {:>8.2} {:>6} {:>8.3} {:>8} {:>14} {:>8}",
            record.key.name,
            record.length,
            record.density_percent,
            record.seconds,
            record.valid,
            record.first_seconds,
            or_none(record.peak_mib.map(|p| format!("{p:.0}"))),
            or_none(best.map(|b| b.to_string())),
            or_none(best.map(|b| format!("{:.4}", record.length / b))),
        );
        anstream::println!("{}", line.trim_end());
    }
}

fn write_extras(args: &Args, instance: &Instance, outcome: &Outcome) -> Result<(), Failure> {
    let stem = if args.seeds > 1 {
        format!("{}-{}", instance.name, outcome.record.key.seed)
    } else {
        instance.name.clone()
    };
    let (problem, layout) = (&outcome.problem, &outcome.layout);
    if let Some(dir) = &args.layouts {
        let text = drawing::to_json(instance, problem, layout);
        write(dir, &format!("{stem}.json"), &text)?;
    }
    if let Some(dir) = &args.svg {
        let text = drawing::to_svg(instance, problem, layout);
        write(dir, &format!("{stem}.svg"), &text)?;
    }
    if let Some(dir) = &args.trace {
        let lines: String = std::iter::once("seconds,length\n".to_owned())
            .chain(outcome.trace.iter().map(|(t, l)| format!("{t:.4},{l}\n")))
            .collect();
        write(dir, &format!("{stem}.csv"), &lines)?;
    }
    Ok(())
}

fn write(dir: &Path, name: &str, text: &str) -> Result<(), Failure> {
    std::fs::create_dir_all(dir)?;
    std::fs::write(dir.join(name), text)?;
    Ok(())
}
