//! Renders photographs of random templates by random cameras and holds what is read against the truth.
//!
//! `cargo run --release --example photo_bench -- [--cases N] [--seed N] [--keep DIR]`
//! (pictures are kept there, and taken from there another time)
//!
//! A line for each: what it was, root mean square and largest deviation, what the program said of its error,
//! seconds. The last lines sum up. The seeds that the program was tuned on are 1 to 999 and 5000 to 5999.

#![allow(
    clippy::print_stdout,
    clippy::unwrap_used,
    reason = "a tool of its own"
)]

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

use render::{Polygon, Random, Shot};
use scene::{Table, deviation, jpeg, laid_on};
use warpwise::photo::board::{Board, BoardPaper};
use warpwise::photo::{self, PhotoSettings};
use warpwise::units::Length;

const COLOURS: [[f64; 3]; 6] = [
    [0.75, 0.25, 0.08],
    [0.05, 0.22, 0.55],
    [0.08, 0.35, 0.12],
    [0.85, 0.70, 0.10],
    [0.45, 0.05, 0.06],
    [0.80, 0.45, 0.55],
];

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
    let random = &mut Random::new(seed);
    let (table, shot) = scene(random, seed);
    let name = format!(
        "{seed:5} {:4} {:?} tilt {:2.0} view {:2.0} waves {:.1} blur {:.1}",
        shot.width, table.board.paper, shot.tilt_deg, shot.view_deg, shot.waves, shot.blur
    );
    let quality = 70 + (random.unit() * 25.0) as u8;
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

fn scene(random: &mut Random, seed: u64) -> (Table, Shot) {
    let paper = [
        BoardPaper::A4,
        BoardPaper::A3,
        BoardPaper::Letter,
        BoardPaper::One,
    ][(random.unit() * 4.0) as usize];
    let width = [1600, 2400, 3200, 4000][(random.unit() * 4.0) as usize];
    let board = Board::of_size(paper, 1180.0, 880.0).unwrap();
    let [w, h] = board.size();
    let middle = [w / 2.0, h / 2.0];
    let half = [w / 2.0 - 130.0, h / 2.0 - 130.0].map(|side: f64| side.min(440.0));
    let template = Polygon::new(shapes::template(random, middle, half));
    let mut table = Table::new(board, template, COLOURS[(random.unit() * 6.0) as usize]);
    table.print = [random.between(0.996, 1.004), random.between(0.996, 1.004)];
    if paper != BoardPaper::One && random.unit() < 0.7 {
        table.tape(random.between(0.2, 1.2), random.between(0.05, 0.3), seed);
    }
    let view = random.between(58.0, 78.0);
    let across = 1.12 * w.max(h * 4.0 / 3.0);
    let shot = Shot {
        width,
        height: width * 3 / 4,
        view_deg: view,
        tilt_deg: random.between(0.0, 26.0),
        tilt_to_deg: random.between(0.0, 360.0),
        turn_deg: random.between(-12.0, 12.0),
        aim: [
            middle[0] + random.between(-30.0, 30.0),
            middle[1] + random.between(-30.0, 30.0),
        ],
        distance: 0.5 * across / libm::tan(0.5 * view.to_radians()),
        lens: [random.between(-0.06, 0.12), random.between(-0.02, 0.05)],
        off_axis: [random.between(-20.0, 20.0), random.between(-20.0, 20.0)],
        waves: if random.unit() < 0.4 {
            random.between(0.5, 3.0)
        } else {
            0.0
        },
        thickness: if random.unit() < 0.3 {
            random.between(0.3, 2.0)
        } else {
            0.0
        },
        rays: 2,
        blur: random.between(0.5, 1.6),
        noise: random.between(0.004, 0.02),
        slope: random.between(0.0, 0.5),
        shadow: random.between(0.0, 0.5),
        light: [1.0, random.between(0.9, 1.0), random.between(0.75, 1.0)],
        seed,
    };
    (table, shot)
}
