//! Renders photographs of random templates by random cameras and holds what is read against the truth.
//!
//! `cargo run --release --example photo_bench -- [--row NAME] [--cases N] [--seed N] [--keep DIR]`
//! (pictures are kept there, and taken from there another time)
//!
//! A line for each: what it was, root mean square and largest deviation, what the program said of its error,
//! seconds. The last line sums up. A row is what its name says, of 12 megapixels: `usual`, `full`, `tilted`, `wide`, `wavy`, `askew`,
//! `hard`, and `coarse`; without one cameras are random. The seeds that the program was tuned on are those below 11000.

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

use scene::{deviation, farthest, jpeg, laid_on};
use warpwise::geometry::Point;
use warpwise::photo::{self, PhotoSettings};
use warpwise::units::Length;

fn main() {
    let mut arguments = std::env::args().skip(1);
    let (mut cases, mut seed, mut keep, mut row) = (20, 1, None, None);
    while let Some(name) = arguments.next() {
        let value = arguments.next().unwrap();
        match name.as_str() {
            "--cases" => cases = value.parse().unwrap(),
            "--seed" => seed = value.parse().unwrap(),
            "--keep" => keep = Some(value),
            "--row" => row = Some(cases::ROWS.iter().find(|row| row.name == value).unwrap()),
            _ => panic!("{name} is not known"),
        }
    }
    let all: Vec<Option<Read>> = (seed..seed + cases)
        .map(|seed| case(seed, row, keep.as_deref()))
        .collect();
    let read: Vec<&Read> = all.iter().flatten().collect();
    let most = |of: &dyn Fn(&Read) -> f64| {
        let mut values: Vec<f64> = read.iter().map(|read| of(read)).collect();
        values.sort_by(f64::total_cmp);
        let at = |part: f64| {
            let k = (part * (values.len() as f64 - 1.0)) as usize;
            values.get(k).copied().unwrap_or(0.0)
        };
        format!(
            "median {:.3}, 95 % {:.3}, most {:.3}",
            at(0.5),
            at(0.95),
            at(1.0)
        )
    };
    let more_than = |limit: f64| read.iter().filter(|read| read.most > limit).count();
    println!(
        "{}: {} read, {} refused; rms {}; largest {}, {} beyond 0.4 mm, {} beyond 0.6; largest / said {}, {} beyond 3",
        row.map_or("random cameras", |row| row.what),
        read.len(),
        all.len() - read.len(),
        most(&|read| read.rms),
        most(&|read| read.most),
        more_than(0.4),
        more_than(0.6),
        most(&|read| read.most / read.said),
        read.iter()
            .filter(|read| read.most > 3.0 * read.said)
            .count(),
    );
}

/// What a picture was read as: how far off it is and is said to be, mm.
struct Read {
    rms: f64,
    most: f64,
    said: f64,
}

fn case(seed: u64, row: Option<&cases::Row>, keep: Option<&str>) -> Option<Read> {
    let (table, shot, quality) =
        row.map_or_else(|| cases::case(seed), |row| cases::of_row(seed, row));
    let name = format!(
        "{seed:5} {:4} {:?} tilt {:2.0} view {:2.0} waves {:.1} blur {:.1}",
        shot.width, table.board.paper, shot.tilt_deg, shot.view_deg, shot.waves, shot.blur
    );
    let row = row.map_or("", |row| row.name);
    let kept = keep.map(|folder| format!("{folder}/{row}{seed}.jpg"));
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
    let sight = match sight {
        Ok(sight) => sight,
        Err(why) => {
            let why: Vec<&str> = why.iter().map(|d| d.message.as_str()).collect();
            println!("{name}: refused: {}", why.join("; "));
            return None;
        }
    };
    let own = &sight.templates[0];
    let mut read = Read {
        rms: 0.0,
        most: 0.0,
        said: sight.error,
    };
    let mut place = Point::default();
    for ring in laid_on(own, table.template.rings()) {
        let [rms, most] = deviation(&ring, table.template.rings());
        read.rms = read.rms.max(rms);
        if most > read.most {
            (read.most, place) = (most, farthest(&ring, table.template.rings()));
        }
    }
    let missed = own.openings.len() + 1 != table.template.rings().len();
    // By how much the edge is too large, on the mean.
    let area = |ring: &[Point]| {
        let pairs = ring.iter().zip(ring.iter().cycle().skip(1));
        0.5 * pairs
            .map(|(a, b)| (*a - ring[0]).cross(*b - ring[0]))
            .sum::<f64>()
            .abs()
    };
    let truth: Vec<Point> = (table.template.rings()[0].iter())
        .map(|p| Point::new(p[0], p[1]))
        .collect();
    let pairs = truth.iter().zip(truth.iter().cycle().skip(1));
    let length: f64 = pairs.map(|(a, b)| a.distance(*b)).sum();
    let larger = (area(&own.edge) - area(&truth)) / length;
    println!(
        "{name}: larger by {larger:.3} rms {:.3} most {:.3} said {:.3} ratio {:.2} at {:.0},{:.0} in {seconds:.1} s{}",
        read.rms,
        read.most,
        read.said,
        read.most / read.said,
        place.x,
        place.y,
        if missed { " OPENINGS MISSED" } else { "" }
    );
    Some(read)
}
