//! Reads a DXF or SVG and prints its outlines and faults.
//!
//! `cargo run --release --example read_drawing -- patterns/fittings.dxf`

#![allow(clippy::print_stdout, reason = "an example prints its result")]

use warpwise::pattern::{self, Settings};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let path = std::env::args().nth(1).ok_or("name a drawing")?;
    let pattern = pattern::read(&path, &std::fs::read(&path)?, &Settings::default())?;
    for outline in pattern.outlines() {
        let (area, openings) = (outline.outline.area(), outline.outline.openings.len());
        println!("{}: {area:.2} mm², {openings} openings", outline.id);
    }
    for problem in pattern.problems().iter() {
        println!("{}", problem.message);
    }
    Ok(())
}
