//! The board that templates are photographed on, as pages to print.

use super::page::Page;
use super::shape::{Align, Shape, TextLine};
use crate::geometry::{Bounds, Point, Vector};
use crate::output::style::{Pen, ink};
use crate::photo::CELLS;
use crate::photo::board::{Board, BoardPaper, BoardSheet, DOT, MARK, PITCH};
use crate::units::{Angle, Length};

/// What printers leave white, mm.
const WHITE_EDGE: f64 = 8.0;
/// Height of capitals beside a line and in the instructions, mm.
const SMALL: f64 = 2.2;
const TEXT: f64 = 3.2;
/// Arms of the crosses at the ends of lines that are measured, mm.
const CROSS: f64 = 4.0;
/// Between which dots the square lies by which printing is checked, from the lower left of a tile: beside the lines
/// that are measured, and on sheets 100 mm wide.
const CHECK: [f64; 2] = [3.5, 3.5];
const CHECK_DOTS: f64 = 5.0;
const CHECK_DOTS_OF_ONE: f64 = 2.0;

/// The pages of `board`: a sheet with what to do and one for each tile, or one page of `size` (mm).
pub(in crate::output) fn pages(board: &Board, size: [f64; 2]) -> Vec<Page> {
    if board.paper == BoardPaper::One {
        let [width, height] = board.size();
        let corner = Vector::new((size[0] - width) / 2.0, (size[1] - height) / 2.0);
        let mut page = Page::new(size[0], size[1]);
        for tile in board.tiles() {
            draw_tile(&mut page, board, tile, board.middle(tile) + corner);
        }
        draw_lines(&mut page, board, |tile, at| {
            board.middle(tile) + corner + at
        });
        draw_check(
            &mut page,
            board,
            board.middle(BoardSheet { column: 0, row: 0 }) + corner,
        );
        let text = instructions(board).join(" ");
        let at = Point::new(corner.x, corner.y - 8.0);
        let height = SMALL.min((size[0] - 2.0 * corner.x) / (0.8 * text.chars().count() as f64));
        page.words(&text, at, height);
        return vec![page];
    }
    let [width, height] = board.paper.tile();
    let middle = Point::new(width / 2.0, height / 2.0);
    let mut pages = vec![cover(board, [width, height])];
    // As they are laid: from the upper left, row by row.
    for row in (0..board.rows).rev() {
        for column in 0..board.columns {
            let tile = BoardSheet { column, row };
            let mut page = Page::new(width, height);
            draw_tile(&mut page, board, tile, middle);
            draw_check(&mut page, board, middle);
            let name = format!("{}, upright this way", name(board, tile));
            let below = middle + board.at(2.6, 1.5);
            page.text(&name, below, SMALL, Align::Left, ink::GREY);
            let visible = Bounds {
                min: Point::new(WHITE_EDGE, WHITE_EDGE),
                max: Point::new(width - WHITE_EDGE, height - WHITE_EDGE),
            };
            let own = board.middle(tile);
            page.within(visible, |page| {
                draw_lines(page, board, |other, at| {
                    middle + (board.middle(other) - own) + at
                });
            });
            pages.push(page);
        }
    }
    pages
}

/// Where a sheet lies, in words.
fn name(board: &Board, tile: BoardSheet) -> String {
    format!(
        "row {} of {} from the top, sheet {} of {}",
        board.rows - tile.row,
        board.rows,
        tile.column + 1,
        board.columns
    )
}

/// Its dots and marks.
fn draw_tile(page: &mut Page, board: &Board, tile: BoardSheet, middle: Point) {
    for at in board.dots() {
        let (centre, radius) = (middle + at, DOT / 2.0);
        page.fill(Shape::Dot { centre, radius }, ink::BLACK);
    }
    for mark in board.marks(tile) {
        let label = board.label(mark);
        let cell = MARK / CELLS as f64;
        let corner = middle + board.mark_at(mark.corner) + Vector::new(-MARK / 2.0, MARK / 2.0);
        let mut bars = Vec::new();
        for row in 0..CELLS {
            let mut column = 0;
            while column < CELLS {
                let first = column;
                while column < CELLS && label.is_black(column, row) {
                    column += 1;
                }
                if column > first {
                    let at = |column: usize, row: usize| {
                        corner + Vector::new(column as f64 * cell, -(row as f64) * cell)
                    };
                    let (min, max) = (at(first, row + 1), at(column, row));
                    bars.push(Bounds { min, max }.corners().to_vec());
                }
                column += 1;
            }
        }
        page.fill(Shape::rings(bars), ink::BLACK);
    }
}

/// A thin square between the dots, and how long its sides are on a true print.
fn draw_check(page: &mut Page, board: &Board, middle: Point) {
    let side = PITCH
        * match board.paper {
            BoardPaper::One => CHECK_DOTS_OF_ONE,
            _ => CHECK_DOTS,
        };
    let min = middle + board.at(CHECK[0], CHECK[1]);
    let bounds = Bounds {
        min,
        max: min + Vector::new(side, side),
    };
    page.draw(Shape::Rectangle(bounds), Pen::solid(ink::GREY, 0.15));
    let text = format!("this square: {side:.0} mm ({:.3} in)", side / 25.4);
    page.text(
        &text,
        min + Vector::new(1.5, 1.3),
        SMALL,
        Align::Left,
        ink::GREY,
    );
}

/// The two lines that are measured, with a cross at each end.
fn draw_lines(page: &mut Page, board: &Board, place: impl Fn(BoardSheet, Vector) -> Point) {
    let pen = Pen::solid(ink::BLACK, 0.2);
    let keys = ["board_width", "board_height"];
    let lines = board.measured_lines().into_iter().zip(board.true_lengths());
    for ((line, length), key) in lines.zip(keys) {
        let [a, b] = line.ends.map(|(tile, at)| place(tile, at));
        page.edge([a, b], pen);
        for end in [a, b] {
            let (x, y) = (Vector::new(CROSS, 0.0), Vector::new(0.0, CROSS));
            page.edge([end + -x, end + x], pen);
            page.edge([end + -y, end + y], pen);
        }
        let along = (b - a) * (1.0 / a.distance(b));
        let left = Vector::new(-along.y, along.x);
        let line = TextLine {
            angle: if along.x > 0.5 {
                Angle::ZERO
            } else {
                Angle::degrees(90.0)
            },
            ..TextLine::level(
                format!(
                    "measure from cross to cross: {length:.1} mm on a true print, here ____________ mm: {key}"
                ),
                a + along * 26.0 + left * 1.4,
                Align::Left,
                SMALL,
            )
        };
        page.write(line, ink::BLACK);
    }
}

fn instructions(board: &Board) -> Vec<String> {
    let [width, height] = board
        .true_lengths()
        .map(|l| Length::mm(l).in_mm_and_inches());
    let mut all = vec![
        "Print at 100 %, without fitting to the page. Check the thin squares with a rule."
            .to_owned(),
    ];
    if board.paper != BoardPaper::One {
        all.push(format!(
            "Lay the {} sheets edge to edge, uncut, {} in a row, as the map shows; tape them down flat. A millimetre askew does no harm.",
            board.columns * board.rows,
            board.columns
        ));
    }
    all.extend([
        format!(
            "Measure the two long lines from cross to cross ({width} and {height} on a true print) and write their lengths into the job: \
             drawing = {{ board_width = \"...\", board_height = \"...\" }}."
        ),
        "Lay the template on it, flat, with dots showing on all sides. It must have a strong colour: not white, grey or black.".to_owned(),
        "A pen line on it (dark, 30 mm and longer, ending within it) is its 0°; a cross of two short strokes is a place to locate by.".to_owned(),
        "Take the picture from above with the whole board in it, in even light, without flash; save it as JPEG.".to_owned(),
    ]);
    all
}

/// The sheet that says what to do, with a map of the others.
fn cover(board: &Board, [width, height]: [f64; 2]) -> Page {
    let mut page = Page::new(width, height);
    let left = 2.0 * WHITE_EDGE;
    let most = width - 2.0 * left;
    let mut y = height - 30.0;
    page.words("Board to photograph templates on", Point::new(left, y), 5.0);
    y -= 14.0;
    for (n, text) in (1..).zip(instructions(board)) {
        for line in wrapped(&format!("{n}. {text}"), TEXT, most) {
            page.words(&line, Point::new(left, y), TEXT);
            y -= 1.9 * TEXT;
        }
        y -= TEXT;
    }
    let [all_x, all_y] = board.size();
    let scale = (most / all_x).min((y - 30.0) / all_y).min(0.12);
    let [w, h] = board.paper.tile().map(|side| side * scale);
    for tile in board.tiles() {
        let min = Point::new(
            left + tile.column as f64 * w,
            y - all_y * scale + tile.row as f64 * h,
        );
        let bounds = Bounds {
            min,
            max: min + Vector::new(w, h),
        };
        page.draw(Shape::Rectangle(bounds), Pen::solid(ink::BLACK, 0.2));
        let text = format!("{}.{}", board.rows - tile.row, tile.column + 1);
        page.text(
            &text,
            bounds.centre(),
            SMALL.min(0.2 * w),
            Align::Centre,
            ink::BLACK,
        );
    }
    page
}

/// `text` in lines that are no wider than `most`.
fn wrapped(text: &str, height: f64, most: f64) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    for word in text.split(' ') {
        let longer = lines.last().map(|line| format!("{line} {word}"));
        match (longer, lines.last_mut()) {
            (Some(longer), Some(last)) if super::face::width(&longer, height) <= most => {
                *last = longer
            }
            _ => lines.push(word.to_owned()),
        }
    }
    lines
}
