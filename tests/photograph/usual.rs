//! The picture that most tests begin with, and what is said of one.

use super::render::{Polygon, Shot, circle};
use super::scene::{Table, jpeg};
use warpwise::diag::Diagnostics;
use warpwise::photo::board::{Board, BoardPaper};
use warpwise::photo::{self, PhotoSettings, Sight};
use warpwise::units::Length;

pub(crate) const ORANGE: [f64; 3] = [0.75, 0.25, 0.08];
/// A template with sharp corners, an obtuse one and a V notch; its middle is at (350, 270).
pub(crate) const EDGE: [[f64; 2]; 8] = [
    [190.0, 150.0],
    [340.0, 150.0],
    [352.0, 172.0],
    [364.0, 150.0],
    [520.0, 150.0],
    [520.0, 320.0],
    [430.0, 400.0],
    [190.0, 400.0],
];

/// A board of 640 × 480 mm in one piece with that template, a round opening, a 0° line and a cross.
pub(crate) fn table() -> Table {
    let board = Board::of_size(BoardPaper::One, 700.0, 540.0).unwrap();
    let rings = vec![EDGE.to_vec(), circle(280.0, 300.0, 40.0, 720)];
    let mut table = Table::new(board, Polygon::new(rings), ORANGE);
    table.pen = vec![
        ([360.0, 220.0], [480.0, 230.0], 2.0),
        ([409.0, 330.0], [431.0, 330.0], 2.0),
        ([420.0, 319.0], [420.0, 341.0], 2.0),
    ];
    table
}

pub(crate) fn shot() -> Shot {
    Shot {
        width: 1800,
        height: 1350,
        aim: [320.0, 240.0],
        distance: 560.0,
        rays: 2,
        tilt_deg: 10.0,
        ..Shot::default()
    }
}

/// What a person knows who measured the board.
pub(crate) fn measured(table: &Table) -> PhotoSettings {
    let mut settings = PhotoSettings::default();
    settings.measured = table.true_lengths().map(|mm| Some(Length::mm(mm)));
    settings
}

pub(crate) fn seen(table: &Table, shot: &Shot) -> Result<Sight, String> {
    let sight = photo::read("template.jpg", &jpeg(shot, table, 90), &measured(table));
    sight.map_err(|problems| messages(&problems))
}

pub(crate) fn messages(problems: &Diagnostics) -> String {
    let all: Vec<String> = problems.iter().map(|p| p.message.clone()).collect();
    all.join("; ")
}

pub(crate) fn refused(table: &Table, shot: &Shot, why: &str) {
    // A sight is too long to be printed.
    let said = seen(table, shot).map(|_| ()).expect_err(why);
    assert!(said.contains(why), "{said}");
}
