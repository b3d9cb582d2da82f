//! Random templates by random cameras, each by its number.

use super::render::{Polygon, Random, Shot};
use super::scene::Table;
use super::shapes;
use warpwise::photo::board::{Board, BoardPaper};

const COLOURS: [[f64; 3]; 6] = [
    [0.75, 0.25, 0.08],
    [0.05, 0.22, 0.55],
    [0.08, 0.35, 0.12],
    [0.85, 0.70, 0.10],
    [0.45, 0.05, 0.06],
    [0.80, 0.45, 0.55],
];

/// Table, camera and quality of the JPEG of case `seed`.
pub fn case(seed: u64) -> (Table, Shot, u8) {
    let random = &mut Random::new(seed);
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
        lift: None,
        rays: 2,
        blur: random.between(0.5, 1.6),
        noise: random.between(0.004, 0.02),
        slope: random.between(0.0, 0.5),
        shadow: random.between(0.0, 0.5),
        light: [1.0, random.between(0.9, 1.0), random.between(0.75, 1.0)],
        seed,
    };
    (table, shot, 70 + (random.unit() * 25.0) as u8)
}
