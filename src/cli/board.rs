//! `warpwise board`: the board that templates are photographed on, and what a photograph of it says.

use std::path::Path;

use super::args::BoardOptions;
use super::writing::{Existing, write_file};
use super::{Failure, input, messages};
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::Point;
use crate::output;
use crate::photo::board::{Board, BoardPaper, LARGEST};
use crate::photo::{self, PhotoSettings};
use crate::units::Length;

/// Usual width and height, mm.
const USUAL: [f64; 2] = [1200.0, 900.0];

/// Shorter edges (mm) tell little of a camera.
const LEAST_EDGE: f64 = 50.0;

pub(super) fn run(options: &BoardOptions) -> Result<(), Failure> {
    match (&options.check, &options.file) {
        (Some(photo), _) => check(photo, options),
        (None, Some(file)) => write(file, options),
        // The arguments ask for one of them.
        (None, None) => Err(Failure::Input),
    }
}

/// Prints how long the edges of the template in a photograph are.
fn check(path: &Path, options: &BoardOptions) -> Result<(), Failure> {
    let refused = |problems: Diagnostics| {
        messages::show_all(&problems);
        Failure::Input
    };
    let name = path.display().to_string();
    let bytes = input::read_picture(path).map_err(refused)?;
    let settings = PhotoSettings {
        measured: [options.board_width, options.board_height],
        thickness: options.template_thickness,
        ..PhotoSettings::default()
    };
    let sight = photo::read(&name, &bytes, &settings).map_err(refused)?;
    messages::show_all(&sight.told);
    let mut text = String::new();
    for (n, template) in (1..).zip(&sight.templates) {
        let ends = template
            .edge
            .iter()
            .zip(template.edge.iter().cycle().skip(1));
        let mut edges: Vec<(f64, Point, Point)> = ends
            .map(|(a, b)| (a.distance(*b), *a, *b))
            .filter(|edge| edge.0 >= LEAST_EDGE)
            .collect();
        edges.sort_by(|a, b| b.0.total_cmp(&a.0));
        for (length, a, b) in edges {
            let place = |p: Point| format!("({:.0}, {:.0})", p.x, p.y);
            text.push_str(&format!(
                "template {n}: {length:.1} mm ({:.3} in) from {} to {}\n",
                length / 25.4,
                place(a),
                place(b)
            ));
        }
    }
    messages::print(&text);
    let error = Length::mm(sight.error).in_mm_and_inches();
    messages::print(&format!(
        "Hold a steel rule against two of them, one along the picture and one across. If one differs by more than three times {error}, \
         something is wrong: the measured lines of the board, a template that does not lie flat, or the camera.\n"
    ));
    Ok(())
}

fn write(file: &Path, options: &BoardOptions) -> Result<(), Failure> {
    let size = [
        options.width.map_or(USUAL[0], Length::to_mm),
        options.height.map_or(USUAL[1], Length::to_mm),
    ];
    let Some(board) = Board::of_size(options.paper, size[0], size[1]) else {
        let [width, height] = LARGEST.map(|side| Length::mm(side).in_mm_and_inches());
        messages::show(
            &Diagnostic::error("no board has this size").help(format!(
                "give a width and a height between 200 mm (7.87 in) and {width}, {height} for the shorter of them"
            )),
        );
        return Err(Failure::Input);
    };
    let pdf = output::board_pdf(&board, size);
    write_file(file, &pdf, Existing::replaced(options.replace), &[])?;
    if !options.quiet {
        let [width, height] = board.size().map(|side| Length::mm(side).in_mm_and_inches());
        let [level, upright] = board
            .true_lengths()
            .map(|l| Length::mm(l).in_mm_and_inches());
        messages::print(&format!(
            "{}: {width} × {height}, {}; print it at 100 % and measure its long lines ({level} and {upright} on a true print)\n",
            file.display(),
            match board.columns * board.rows {
                _ if options.paper == BoardPaper::One => "one page".to_owned(),
                n => format!(
                    "{} × {} = {n} sheets, and one that says what to do",
                    board.columns, board.rows
                ),
            }
        ));
    }
    Ok(())
}
