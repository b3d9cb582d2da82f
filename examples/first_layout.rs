//! When the first valid layout of each cloth of a job is there, from the start of the process.
//!
//! `cargo run --release --example first_layout -- examples/dinghy.toml`

#![allow(clippy::print_stdout, reason = "an example prints its result")]

use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Mutex;
use std::time::Instant;

use warpwise::inputs::{InputFile, Inputs};
use warpwise::{job::Job, nest, plan, ply};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let start = Instant::now();
    let path = std::env::args().nth(1).ok_or("name a job file")?;
    let text = std::fs::read_to_string(&path)?;
    let (job, _) = Job::read(&path, &text).map_err(|_| "the job is wrong: see `warpwise check`")?;
    let folder = Path::new(&path).parent().unwrap_or(Path::new(""));
    let open = &mut |name: &str| {
        let bytes = std::fs::read(folder.join(name))?;
        Ok(vec![InputFile::new(name, bytes)])
    };
    let (inputs, _) = Inputs::read(job, open).map_err(|_| "see `warpwise check`")?;
    let (pieces, _) = ply::pieces(&inputs).map_err(|_| "see `warpwise check`")?;
    println!("pieces       {:.3} s", start.elapsed().as_secs_f64());
    let seen = Mutex::new(BTreeMap::new());
    let settings = plan::Settings {
        effort: nest::Effort::Quick,
        effort_name: "quick".to_owned(),
        seed: 1,
        threads: 2,
    };
    plan::build(&pieces, &settings, &|step| {
        if let Ok(mut seen) = seen.lock() {
            seen.entry(step.index)
                .or_insert_with(|| (step.cloth.to_owned(), start.elapsed().as_secs_f64()));
        }
        // Only the first layout of each cloth is wanted.
        nest::Continue::Stop
    })
    .map_err(|_| "no layout")?;
    for (cloth, seconds) in seen.into_inner()?.into_values() {
        println!("{cloth:<12} {seconds:.3} s");
    }
    Ok(())
}
