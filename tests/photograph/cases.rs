//! Random templates by random cameras, each by its number, and the rows of what is asked of them.

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
    on_paper(seed, None)
}

/// Case `seed` as one of a row.
pub fn of_row(seed: u64, row: &Row) -> (Table, Shot, u8) {
    let (mut table, mut shot, quality) = on_paper(seed, row.paper);
    (row.change)(&mut table, &mut shot);
    (table, shot, quality)
}

fn on_paper(seed: u64, wished: Option<BoardPaper>) -> (Table, Shot, u8) {
    let random = &mut Random::new(seed);
    let drawn = [
        BoardPaper::A4,
        BoardPaper::A3,
        BoardPaper::Letter,
        BoardPaper::One,
    ][(random.unit() * 4.0) as usize];
    let paper = wished.unwrap_or(drawn);
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
        halved: true,
        seed,
    };
    (table, shot, 70 + (random.unit() * 25.0) as u8)
}

/// Pictures of which something is asked.
pub struct Row {
    pub name: &'static str,
    /// What they are. All but the coarse ones have 12 megapixels.
    pub what: &'static str,
    paper: Option<BoardPaper>,
    change: fn(&mut Table, &mut Shot),
}

const fn row(name: &'static str, what: &'static str, change: fn(&mut Table, &mut Shot)) -> Row {
    Row {
        name,
        what,
        paper: None,
        change,
    }
}

pub const ROWS: [Row; 8] = [
    row("usual", "tilt to 15°, usual lens", |_, shot| usual(shot)),
    row(
        "full",
        "tilt to 15°, usual lens, colour in full",
        |_, shot| {
            usual(shot);
            shot.halved = false;
        },
    ),
    row("tilted", "tilt 25°, usual lens", |_, shot| {
        usual(shot);
        shot.tilt_deg = 25.0;
    }),
    row("wide", "tilt to 15°, lens of 78°", |_, shot| {
        usual(shot);
        seen_by(shot, 78.0);
    }),
    row(
        "wavy",
        "tilt to 15°, board with waves of 3 mm",
        |_, shot| {
            usual(shot);
            shot.waves = 3.0;
        },
    ),
    Row {
        paper: Some(BoardPaper::A4),
        ..row(
            "askew",
            "tilt to 15°, A4 sheets askew by 1 mm and 0.3°",
            |table, shot| {
                usual(shot);
                table.tape(1.0, 0.3, shot.seed);
            },
        )
    },
    Row {
        paper: Some(BoardPaper::A4),
        ..row(
            "hard",
            "all of that: tilt 25°, lens of 78°, waves, sheets askew",
            |table, shot| {
                usual(shot);
                shot.tilt_deg = 25.0;
                seen_by(shot, 78.0);
                shot.waves = 3.0;
                table.tape(1.0, 0.3, shot.seed);
            },
        )
    },
    row("coarse", "1600 × 1200", |_, shot| {
        (shot.width, shot.height) = (1600, 1200);
    }),
];

fn usual(shot: &mut Shot) {
    (shot.width, shot.height) = (4000, 3000);
    shot.tilt_deg *= 15.0 / 26.0;
    shot.waves = 0.0;
    seen_by(shot, 60.0 + 0.6 * (shot.view_deg - 58.0));
}

/// As much of the board by another lens.
fn seen_by(shot: &mut Shot, view_deg: f64) {
    let half = |degrees: f64| libm::tan(0.5 * degrees.to_radians());
    shot.distance *= half(shot.view_deg) / half(view_deg);
    shot.view_deg = view_deg;
}
