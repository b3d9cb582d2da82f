//! Fills generated remnants, sheets and flawed rolls, and prints how much of each is used.
//!
//! `cargo run --release --example stock_bench -- --effort normal --threads 2`

use std::path::{Path, PathBuf};
use std::process::ExitCode;
use std::time::Instant;

use clap::Parser;
use serde_json::{Value, json};
use warpwise::geometry::{Face, Outline, Placement, Ring};
use warpwise::nest::{
    Continue, Effort, Extent, SearchSettings, StockNesting, StockProblem, check_stock, nest_stock,
};

#[path = "stock/cases.rs"]
mod cases;

#[derive(Parser)]
struct Args {
    /// Wall-clock seconds for each case; without it the named effort counts.
    #[arg(long)]
    seconds: Option<f64>,
    /// quick, normal or thorough; repeatable, unlike --seconds.
    #[arg(long, default_value = "quick")]
    effort: String,
    #[arg(long, default_value_t = 2)]
    threads: usize,
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// One JSON object a line.
    #[arg(long)]
    json: bool,
    /// Writes each case with its layouts as DIR/NAME.json, for checks by another program.
    #[arg(long, value_name = "DIR")]
    layouts: Option<PathBuf>,
    /// Draws the layouts of each case as DIR/NAME.svg.
    #[arg(long, value_name = "DIR")]
    svg: Option<PathBuf>,
    /// Cases to run; all of them if none is named.
    cases: Vec<String>,
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
    let effort = match (args.seconds, args.effort.as_str()) {
        (Some(seconds), _) => Effort::Seconds(seconds),
        (None, "quick") => Effort::Quick,
        (None, "normal") => Effort::Normal,
        (None, "thorough") => Effort::Thorough,
        (None, other) => return Err(format!("unknown effort {other}").into()),
    };
    let settings = SearchSettings {
        effort,
        seed: args.seed,
        threads: args.threads,
    };
    let mut all_valid = true;
    for (name, problem) in cases::all() {
        if !args.cases.is_empty() && !args.cases.iter().any(|c| c == name) {
            continue;
        }
        let start = Instant::now();
        let found = nest_stock(&problem, &settings, &|_| Continue::Yes)
            .map_err(|e| format!("{name}: {e}"))?;
        let seconds = start.elapsed().as_secs_f64();
        let faults = check_stock(&problem, &found);
        for fault in faults.iter().take(3) {
            anstream::eprintln!("{name}: {fault:?}");
        }
        all_valid &= faults.is_empty();
        print(args, name, &problem, &found, seconds, faults.is_empty());
        if let Some(dir) = &args.layouts {
            let value = written(name, &problem, &found);
            write(dir, &format!("{name}.json"), &value.to_string())?;
        }
        if let Some(dir) = &args.svg {
            write(dir, &format!("{name}.svg"), &draw(&problem, &found))?;
        }
    }
    Ok(all_valid)
}

fn print(
    args: &Args,
    name: &str,
    problem: &StockProblem,
    found: &StockNesting,
    seconds: f64,
    valid: bool,
) {
    let left: usize = found.left().iter().sum();
    let used: Vec<f64> = (problem.containers.iter().zip(found.layouts()))
        .map(|(container, layout)| {
            let area = match container.extent {
                Extent::Strip { width } => width * layout.length(),
                _ => container.area(),
            };
            100.0 * layout.area(&problem.shapes) / area.max(f64::MIN_POSITIVE)
        })
        .collect();
    if args.json {
        let lengths: Vec<f64> = found.layouts().iter().map(|l| l.length()).collect();
        let line = json!({
            "name": name, "used_percent": used, "length": lengths, "left": left,
            "seconds": seconds, "valid": valid,
        });
        anstream::println!("{line}");
        return;
    }
    anstream::println!("{name}: {left} left, {seconds:.2} s, valid {valid}");
    for ((container, layout), used) in problem.containers.iter().zip(found.layouts()).zip(used) {
        let kind = match container.extent {
            Extent::Strip { .. } => "strip",
            Extent::Sheet { .. } => "sheet",
            Extent::Remnant(_) => "remnant",
        };
        anstream::println!(
            "  {kind:<8} {:>4} pieces {:>10.3} mm {used:>7.2} %",
            layout.placed().len(),
            layout.length()
        );
    }
}

fn written(name: &str, problem: &StockProblem, found: &StockNesting) -> Value {
    let shapes = problem.shapes.iter().map(|shape| {
        let turns = shape.turns.iter();
        json!({
            "shape": rings(&shape.outline),
            "turns": turns.map(|t| turn(t.angle.to_degrees(), t.face)).collect::<Vec<_>>(),
            "demand": shape.demand,
        })
    });
    let containers = problem.containers.iter().map(|container| {
        let forbidden = container.forbidden.iter();
        let extent = match &container.extent {
            Extent::Strip { width } => json!({ "width": width }),
            Extent::Sheet { length, width } => json!({ "width": width, "length": length }),
            Extent::Remnant(outline) => json!({ "outline": rings(outline) }),
        };
        json!({
            "extent": extent,
            "forbidden": forbidden
                .map(|f| json!({ "area": rings(&f.area), "margin": f.margin }))
                .collect::<Vec<_>>(),
        })
    });
    let layouts = found.layouts().iter().map(|layout| {
        let placed = layout.placed().iter().map(|p| {
            let Placement { turn: t, .. } = p.placement;
            json!({
                "shape": p.shape,
                "turn": turn(t.angle.to_degrees(), t.face),
                "at": rings(&p.outline(&problem.shapes)),
            })
        });
        json!({ "length": layout.length(), "placed": placed.collect::<Vec<_>>() })
    });
    json!({
        "name": name,
        "gap": problem.gap,
        "shapes": shapes.collect::<Vec<_>>(),
        "containers": containers.collect::<Vec<_>>(),
        "layouts": layouts.collect::<Vec<_>>(),
        "left": found.left(),
    })
}

fn turn(degrees: f64, face: Face) -> Value {
    json!({ "degrees": degrees, "face_down": face == Face::Down })
}

/// The outer boundary first, then the openings.
fn rings(outline: &Outline) -> Vec<Vec<[f64; 2]>> {
    let points = |ring: &Ring| ring.points().iter().map(|p| [p.x, p.y]).collect();
    outline.rings().map(points).collect()
}

fn write(dir: &Path, name: &str, text: &str) -> Result<(), Failure> {
    std::fs::create_dir_all(dir)?;
    std::fs::write(dir.join(name), text)?;
    Ok(())
}

/// The containers one above the other, forbidden areas hatched dark, one colour for each shape.
fn draw(problem: &StockProblem, found: &StockNesting) -> String {
    let mut body = String::new();
    let (mut top, mut right) = (0.0_f64, 0.0_f64);
    for (container, layout) in problem.containers.iter().zip(found.layouts()) {
        let whole = match &container.extent {
            Extent::Strip { width } => cases::rectangle(layout.length().max(1.0), *width),
            Extent::Sheet { length, width } => cases::rectangle(*length, *width),
            Extent::Remnant(outline) => outline.clone(),
        };
        let b = whole.bounds();
        body += &format!(
            "<g transform=\"translate({} {}) scale(1 -1)\">\n",
            -b.min.x,
            top + b.max.y
        );
        body += &path(&whole, "#eee");
        for placed in layout.placed() {
            let outline = placed.outline(&problem.shapes);
            let hue = (placed.shape * 137) % 360;
            body += &path(&outline, &format!("hsl({hue} 60% 70%)"));
        }
        for forbidden in &container.forbidden {
            body += &path(&forbidden.area, "#555");
        }
        body += "</g>\n";
        top += b.height() + 30.0;
        right = right.max(b.width());
    }
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1000\" viewBox=\"0 0 {right} {top}\" \
         stroke=\"#333\" stroke-width=\"1\" fill-rule=\"evenodd\">\n{body}</svg>\n"
    )
}

fn path(outline: &Outline, fill: &str) -> String {
    let mut d = String::new();
    for ring in outline.rings() {
        for (k, p) in ring.points().iter().enumerate() {
            d += &format!("{}{} {}", if k == 0 { 'M' } else { 'L' }, p.x, p.y);
        }
        d.push('Z');
    }
    format!("<path d=\"{d}\" fill=\"{fill}\"/>\n")
}
