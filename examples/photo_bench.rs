//! Renders photographs of random templates by random cameras and holds what is read against the truth.
//!
//! `cargo run --release --example photo_bench -- [--cases N] [--seed N] [--keep DIR]`
//! (pictures are kept there, and taken from there another time)
//!
//! A line for each: what it was, root mean square and largest deviation, what the program said of its error,
//! seconds. The last lines sum up. The seeds that the program was tuned on are 1 to 999 and 5000 to 8119.

#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a tool of its own"
)]

#[path = "../tests/photograph/cases.rs"]
#[allow(dead_code, unreachable_pub, reason = "shared by a test and an example")]
mod cases;
#[path = "../tests/photograph/render.rs"]
#[allow(dead_code, unreachable_pub, reason = "shared by a test and an example")]
mod render;
#[path = "../tests/photograph/scene.rs"]
#[allow(dead_code, unreachable_pub, reason = "shared by a test and an example")]
mod scene;
#[path = "../tests/photograph/shapes.rs"]
#[allow(dead_code, unreachable_pub, reason = "shared by a test and an example")]
mod shapes;

use std::time::Instant;

use scene::{deviation, jpeg, laid_on};
use warpwise::photo::{self, PhotoSettings};
use warpwise::units::Length;

fn main() {
    let mut arguments = std::env::args().skip(1);
    let (mut cases, mut seed, mut keep) = (20, 1, None);
    while let Some(name) = arguments.next() {
        let value = arguments.next().unwrap();
        match name.as_str() {
            "--cases" => cases = value.parse().unwrap(),
            "--seed" => seed = value.parse().unwrap(),
            "--keep" => keep = Some(value),
            _ => panic!("{name} is not known"),
        }
    }
    let (mut refused, mut beyond, mut read) = (0, 0, Vec::new());
    for n in 0..cases {
        match case(seed + n, keep.as_deref()) {
            Some([_, worst, said]) => {
                beyond += usize::from(worst > 3.0 * said);
                read.push(worst / said);
            }
            None => refused += 1,
        }
    }
    read.sort_by(f64::total_cmp);
    let at = |part: f64| {
        read.get((part * (read.len() as f64 - 1.0)) as usize)
            .copied()
    };
    println!(
        "{} read, {refused} refused, {beyond} worse than 3 times what was said; largest / said: median {:.2}, 95 % {:.2}, most {:.2}",
        read.len(),
        at(0.5).unwrap_or(0.0),
        at(0.95).unwrap_or(0.0),
        at(1.0).unwrap_or(0.0)
    );
}

fn case(seed: u64, keep: Option<&str>) -> Option<[f64; 3]> {
    let (table, shot, quality) = cases::case(seed);
    let name = format!(
        "{seed:5} {:4} {:?} tilt {:2.0} view {:2.0} waves {:.1} blur {:.1}",
        shot.width, table.board.paper, shot.tilt_deg, shot.view_deg, shot.waves, shot.blur
    );
    let kept = keep.map(|folder| format!("{folder}/{seed}.jpg"));
    let known = kept.as_ref().and_then(|path| std::fs::read(path).ok());
    let picture = known.unwrap_or_else(|| {
        let picture = jpeg(&shot, &table, quality);
        if let Some(path) = kept {
            std::fs::write(path, &picture).unwrap();
        }
        picture
    });
    let mut settings = PhotoSettings::default();
    settings.measured = table.true_lengths().map(|mm| Some(Length::mm(mm)));
    settings.thickness = (shot.thickness > 0.0).then_some(Length::mm(shot.thickness));
    let start = Instant::now();
    let sight = photo::read("case.jpg", &picture, &settings);
    let seconds = start.elapsed().as_secs_f64();
    match sight {
        Err(why) => {
            let why: Vec<&str> = why.iter().map(|d| d.message.as_str()).collect();
            println!("{name}: refused: {}", why.join("; "));
            None
        }
        Ok(sight) => {
            let own = &sight.templates[0];
            let rings = laid_on(own, table.template.rings());
            let off = rings
                .iter()
                .map(|ring| deviation(ring, table.template.rings()));
            let [rms, worst] = off.fold([0.0, 0.0], |a: [f64; 2], b| {
                [a[0].max(b[0]), a[1].max(b[1])]
            });
            let missed = own.openings.len() + 1 != table.template.rings().len();
            println!(
                "{name}: rms {rms:.3} most {worst:.3} said {:.3} ratio {:.2} in {seconds:.1} s{}",
                sight.error,
                worst / sight.error,
                if missed { " OPENINGS MISSED" } else { "" }
            );
            Some([rms, worst, sight.error])
        }
    }
}
