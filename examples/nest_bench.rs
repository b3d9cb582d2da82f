//! Runs the nesting engine on benchmark instances and prints what it reached.
//!
//! `cargo run --release --example nest_bench -- --seconds 10 --threads 2 FILE…`

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::sync::Mutex;
use std::time::Instant;

use clap::Parser;
use serde::Deserialize;
use serde_json::json;
use warpwise::geometry::{Outline, Point, Ring, Turn};
use warpwise::nest::{Container, Continue, Effort, Layout, Problem, Settings, Shape, check, nest};
use warpwise::units::Angle;

#[derive(Parser)]
struct Args {
    /// Wall-clock seconds for each instance; without it the named effort counts.
    #[arg(long)]
    seconds: Option<f64>,
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
    /// A table of the best known lengths (columns name … length) to compare with.
    #[arg(long)]
    best: Option<PathBuf>,
    /// Draws each layout as DIR/NAME.svg.
    #[arg(long)]
    svg: Option<PathBuf>,
    /// Writes each layout as DIR/NAME.json, for checks by another program.
    #[arg(long)]
    layouts: Option<PathBuf>,
    /// Writes length against time as DIR/NAME.csv.
    #[arg(long)]
    trace: Option<PathBuf>,
    /// Least distance between pieces, in the instance's units.
    #[arg(long, default_value_t = 0.0)]
    gap: f64,
    /// Angle tolerance in degrees.
    #[arg(long, default_value_t = 0.0)]
    tolerance: f64,
    /// Instance files, or names of generated ones: curved:PIECES:VERTICES, mixed:PIECES,
    /// plies:PIECES.
    #[arg(required = true)]
    files: Vec<PathBuf>,
}

#[derive(Deserialize)]
struct Instance {
    name: String,
    strip_width: f64,
    items: Vec<Item>,
}

#[derive(Deserialize)]
struct Item {
    demand: usize,
    allowed_rotations_deg: Vec<f64>,
    outline: Vec<[f64; 2]>,
    #[serde(default)]
    openings: Vec<Vec<[f64; 2]>>,
}

/// What one run gave.
struct Run {
    name: String,
    length: f64,
    density: f64,
    seconds: f64,
    first: f64,
    valid: bool,
}

#[path = "nest/generate.rs"]
mod generate;

impl Item {
    fn solid(outline: Vec<[f64; 2]>, rotations: &[f64], demand: usize) -> Self {
        Self {
            demand,
            allowed_rotations_deg: rotations.to_vec(),
            outline,
            openings: Vec::new(),
        }
    }
}

type Failure = Box<dyn std::error::Error>;

fn main() -> ExitCode {
    match run(&Args::parse()) {
        Ok(true) => ExitCode::SUCCESS,
        Ok(false) => ExitCode::FAILURE,
        Err(failure) => {
            anstream::eprintln!("error: {failure}");
            ExitCode::FAILURE
        }
    }
}

/// Whether all layouts were valid.
fn run(args: &Args) -> Result<bool, Failure> {
    let known = args.best.as_deref().map(read_best).transpose()?;
    let mut all_valid = true;
    let mut ratios: Vec<f64> = Vec::new();
    if !args.json {
        anstream::println!(
            "{:<14} {:>12} {:>9} {:>8} {:>8} {:>6} {:>12} {:>8}",
            "name",
            "length",
            "density %",
            "seconds",
            "first s",
            "valid",
            "best known",
            "ratio"
        );
    }
    for file in &args.files {
        for seed in args.seed..args.seed + args.seeds {
            let run = run_file(args, file, seed)?;
            all_valid &= run.valid;
            let best = known
                .as_ref()
                .and_then(|table| table.iter().find(|(name, _)| *name == run.name))
                .map(|&(_, length)| length);
            print(args, &run, best);
            // dighe1 is a jigsaw with a known optimum, not a record: it is left out of the mean.
            if run.name != "dighe1" {
                ratios.extend(best.map(|b| run.length / b));
            }
        }
    }
    if !args.json && !ratios.is_empty() {
        let mean = ratios.iter().sum::<f64>() / ratios.len() as f64;
        let worst = ratios.iter().copied().fold(0.0, f64::max);
        anstream::println!(
            "mean {:.2} % above the best known (without dighe1), worst {:.2} %",
            100.0 * (mean - 1.0),
            100.0 * (worst - 1.0)
        );
    }
    Ok(all_valid)
}

fn print(args: &Args, run: &Run, best: Option<f64>) {
    if args.json {
        let line = json!({
            "name": run.name,
            "length": run.length,
            "density_percent": run.density,
            "seconds": run.seconds,
            "valid": run.valid,
        });
        anstream::println!("{line}");
    } else {
        let (known, ratio) = best.map_or((String::new(), String::new()), |b| {
            (format!("{b}"), format!("{:.4}", run.length / b))
        });
        anstream::println!(
            "{:<14} {:>12.4} {:>9.2} {:>8.2} {:>8.3} {:>6} {known:>12} {ratio:>8}",
            run.name,
            run.length,
            run.density,
            run.seconds,
            run.first,
            run.valid
        );
    }
}

fn run_file(args: &Args, file: &Path, seed: u64) -> Result<Run, Failure> {
    let instance = match file.to_str().and_then(generate::instance) {
        Some(instance) => instance,
        None => read_instance(file)?,
    };
    let problem = problem(&instance, args)?;
    let effort = match (args.seconds, args.effort.as_str()) {
        (Some(seconds), _) => Effort::Seconds(seconds),
        (None, "quick") => Effort::Quick,
        (None, "normal") => Effort::Normal,
        (None, "thorough") => Effort::Thorough,
        (None, other) => return Err(format!("unknown effort {other}").into()),
    };
    let settings = Settings {
        effort,
        seed,
        threads: args.threads,
    };
    let start = Instant::now();
    let trace: Mutex<Vec<(f64, f64)>> = Mutex::new(Vec::new());
    let layout = nest(&problem, &settings, &|progress| {
        if let Ok(mut trace) = trace.lock() {
            let better = trace.last().is_none_or(|&(_, l)| progress.length < l);
            if better {
                trace.push((start.elapsed().as_secs_f64(), progress.length));
            }
        }
        Continue::Yes
    })
    .map_err(|e| format!("{}: {e:?}", instance.name))?;
    let seconds = start.elapsed().as_secs_f64();
    let faults = check(&problem, &layout);
    for fault in faults.iter().take(3) {
        anstream::eprintln!("{}: {fault:?}", instance.name);
    }
    let area: f64 = problem
        .shapes
        .iter()
        .map(|s| s.outline.area() * s.demand as f64)
        .sum();
    let trace = trace.into_inner().unwrap_or_default();
    write_extras(args, &instance, &problem, &layout, &trace)?;
    Ok(Run {
        density: 100.0 * area / (instance.strip_width * layout.length),
        name: instance.name,
        length: layout.length,
        seconds,
        first: trace.first().map_or(seconds, |t| t.0),
        valid: faults.is_empty(),
    })
}

fn read_instance(file: &Path) -> Result<Instance, Failure> {
    let text = std::fs::read_to_string(file).map_err(|e| format!("{}: {e}", file.display()))?;
    Ok(serde_json::from_str(&text).map_err(|e| format!("{}: {e}", file.display()))?)
}

fn problem(instance: &Instance, args: &Args) -> Result<Problem, Failure> {
    let ring = |points: &[[f64; 2]]| {
        Ring::new(points.iter().map(|&[x, y]| Point::new(x, y)))
            .map_err(|e| format!("{}: {e:?}", instance.name))
    };
    let shapes = instance
        .items
        .iter()
        .map(|item| {
            let openings: Result<_, _> = item.openings.iter().map(|o| ring(o)).collect();
            Ok(Shape {
                outline: Outline {
                    outer: ring(&item.outline)?,
                    openings: openings?,
                },
                turns: item
                    .allowed_rotations_deg
                    .iter()
                    .map(|&d| Turn::rotation(Angle::degrees(d)))
                    .collect(),
                tolerance: Angle::degrees(args.tolerance),
                demand: item.demand,
            })
        })
        .collect::<Result<_, Failure>>()?;
    Ok(Problem {
        shapes,
        container: Container::strip(instance.strip_width),
        gap: args.gap,
    })
}

/// Name and length of each line of a table with those columns.
fn read_best(path: &Path) -> Result<Vec<(String, f64)>, Failure> {
    let text = std::fs::read_to_string(path).map_err(|e| format!("{}: {e}", path.display()))?;
    let mut lines = text.lines();
    let header: Vec<&str> = lines.next().unwrap_or_default().split(',').collect();
    let column = |name| header.iter().position(|h| *h == name);
    let (Some(name), Some(length)) = (column("name"), column("length")) else {
        return Err(format!("{}: no columns name and length", path.display()).into());
    };
    // The source column is quoted and may hold commas, so cells are split outside quotes only.
    Ok(lines
        .filter_map(|line| {
            let cells = split_cells(line);
            Some((cells.get(name)?.clone(), cells.get(length)?.parse().ok()?))
        })
        .collect())
}

fn split_cells(line: &str) -> Vec<String> {
    let mut cells = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '"' => quoted = !quoted,
            ',' if !quoted => cells.push(String::new()),
            c => {
                if let Some(cell) = cells.last_mut() {
                    cell.push(c);
                }
            }
        }
    }
    cells
}

fn write_extras(
    args: &Args,
    instance: &Instance,
    problem: &Problem,
    layout: &Layout,
    trace: &[(f64, f64)],
) -> Result<(), Failure> {
    let name = &instance.name;
    if let Some(dir) = &args.layouts {
        let placed: Vec<_> = layout
            .placed
            .iter()
            .map(|p| {
                let outline = p.placement.outline(&problem.shapes[p.shape].outline);
                let rings: Vec<Vec<[f64; 2]>> = outline
                    .rings()
                    .map(|r| r.points().iter().map(|p| [p.x, p.y]).collect())
                    .collect();
                json!({
                    "item": p.shape,
                    "turn_deg": p.placement.turn.angle.to_degrees(),
                    "outer": rings[0],
                    "openings": rings[1..],
                })
            })
            .collect();
        let value = json!({
            "name": name, "width": instance.strip_width, "length": layout.length,
            "gap": problem.gap, "placed": placed,
        });
        write(dir, &format!("{name}.json"), &value.to_string())?;
    }
    if let Some(dir) = &args.svg {
        write(
            dir,
            &format!("{name}.svg"),
            &draw(instance, problem, layout),
        )?;
    }
    if let Some(dir) = &args.trace {
        let lines: String = std::iter::once("seconds,length\n".to_owned())
            .chain(trace.iter().map(|(t, l)| format!("{t:.4},{l}\n")))
            .collect();
        write(dir, &format!("{name}.csv"), &lines)?;
    }
    Ok(())
}

fn write(dir: &Path, name: &str, text: &str) -> Result<(), Failure> {
    std::fs::create_dir_all(dir)?;
    std::fs::write(dir.join(name), text)?;
    Ok(())
}

/// The layout as a drawing, one colour for each shape.
fn draw(instance: &Instance, problem: &Problem, layout: &Layout) -> String {
    let (width, length) = (instance.strip_width, layout.length);
    let scale = 1000.0 / length.max(width);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{:.0}\" height=\"{:.0}\" \
         viewBox=\"0 0 {length} {width}\">\n\
         <rect width=\"{length}\" height=\"{width}\" fill=\"#eee\"/>\n",
        length * scale,
        width * scale
    );
    for p in &layout.placed {
        let outline = p.placement.outline(&problem.shapes[p.shape].outline);
        let mut path = String::new();
        for ring in outline.rings() {
            for (k, q) in ring.points().iter().enumerate() {
                let command = if k == 0 { 'M' } else { 'L' };
                path += &format!("{command}{} {}", q.x, width - q.y);
            }
            path.push('Z');
        }
        let hue = (p.shape * 137) % 360;
        svg += &format!(
            "<path d=\"{path}\" fill=\"hsl({hue} 60% 70%)\" fill-rule=\"evenodd\" stroke=\"#333\" \
             stroke-width=\"{}\"/>\n",
            0.7 / scale
        );
    }
    svg + "</svg>\n"
}
