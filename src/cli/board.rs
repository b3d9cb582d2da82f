//! `warpwise board`: the board that templates are photographed on, and what a photograph of it says.

use super::args::BoardOptions;
use super::writing::{Existing, write_file};
use super::{Failure, messages};
use crate::diag::Diagnostic;
use crate::output;
use crate::photo::board::{Board, LARGEST};
use crate::units::Length;

/// Usual width and height, mm.
const USUAL: [f64; 2] = [1200.0, 900.0];

pub(super) fn run(options: &BoardOptions) -> Result<(), Failure> {
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
    write_file(
        &options.file,
        &pdf,
        Existing::replaced(options.replace),
        &[],
    )?;
    if !options.quiet {
        let [width, height] = board.size().map(|side| Length::mm(side).in_mm_and_inches());
        let [level, upright] = board
            .true_lengths()
            .map(|l| Length::mm(l).in_mm_and_inches());
        messages::print(&format!(
            "{}: {width} × {height}, {}; print it at 100 % and measure its long lines ({level} and {upright} on a true print)\n",
            options.file.display(),
            match board.columns * board.rows {
                _ if options.paper == crate::photo::board::BoardPaper::One => "one page".to_owned(),
                n => format!(
                    "{} × {} = {n} sheets, and one that says what to do",
                    board.columns, board.rows
                ),
            }
        ));
    }
    Ok(())
}
