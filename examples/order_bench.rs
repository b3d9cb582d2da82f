//! The cut order against any other: orders points read from a file and says how long the way is.
//!
//!     cargo run --release --example order_bench -- FILE.json
//!
//! The file holds a list of `[x, y]` in mm. The way begins at the origin and ends anywhere. Prints a
//! line of JSON: `{"points", "travel_mm", "seconds", "order"}`.

#![allow(
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "a bench talks to the terminal"
)]

use std::process::ExitCode;
use std::time::Instant;

use warpwise::geometry::Point;
use warpwise::plan::{tour, way_length};

fn main() -> ExitCode {
    let Some(file) = std::env::args().nth(1) else {
        eprintln!("usage: order_bench FILE.json");
        return ExitCode::from(2);
    };
    let read = std::fs::read_to_string(&file)
        .map_err(|e| e.to_string())
        .and_then(|text| serde_json::from_str::<Vec<[f64; 2]>>(&text).map_err(|e| e.to_string()));
    let points = match read {
        Ok(points) => points,
        Err(error) => {
            eprintln!("{file}: {error}");
            return ExitCode::FAILURE;
        }
    };
    let stops: Vec<Vec<Point>> = points
        .iter()
        .map(|&[x, y]| vec![Point::new(x, y)])
        .collect();
    let started = Instant::now();
    let visits = tour(Point::default(), &stops, &[]);
    let seconds = started.elapsed().as_secs_f64();
    let order: Vec<usize> = visits.iter().map(|v| v.stop).collect();
    let travel = way_length(Point::default(), order.iter().map(|&s| stops[s][0]));
    let told = serde_json::json!({
        "points": points.len(), "travel_mm": travel, "seconds": seconds, "order": order,
    });
    println!("{told}");
    ExitCode::SUCCESS
}
