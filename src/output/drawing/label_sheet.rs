//! Label sheets: a label for every piece, to cut out or to print on label paper, in cutting order.
//!
//! Each label has the piece's id large, what it is in words, the id once more as a QR code (ISO/IEC
//! 18004), so that a phone or a scanner can tick it off, and its warp and fibres as a picture in
//! which the part's 0° points right.

use qrcodegen::{QrCode, QrCodeEcc};

use super::compass::draw_compass;
use super::directions::Directions;
use super::face;
use super::page::Page;
use super::shape::{Align, Shape};
use crate::geometry::{Bounds, Point, Vector};
use crate::number::number;
use crate::output::notes::Note;
use crate::output::style::{Pen, ink};
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::units::{Angle, PlyAngle};

/// Smallest label, mm.
const SIZE: (f64, f64) = (62.0, 30.0);
/// Side of the QR code with its quiet zone, mm.
const CODE: f64 = 18.5;
/// Radius of the picture of warp and fibres, mm.
const COMPASS: f64 = 4.8;
/// Modules that stay white around a QR code (ISO/IEC 18004 §5.3.8).
const QUIET: f64 = 4.0;
/// Room inside the edge of a label, mm.
const INSET: f64 = 2.5;
/// Height of a page of a paper roll, mm.
const ROLL_PAGE: f64 = 297.0;

/// The pages of the labels for every piece of `plan`.
pub(in crate::output) fn pages(plan: &Plan) -> Vec<Page> {
    let outputs = plan.outputs();
    let (width, height) = outputs.paper.size();
    let height = height.unwrap_or(ROLL_PAGE);
    let margin = outputs.paper_margin.to_mm();
    let (free_x, free_y) = (width - 2.0 * margin, height - 2.0 * margin);
    let fit = |free: f64, size: f64| (free / size).floor().max(1.0);
    let (columns, rows) = (fit(free_x, SIZE.0), fit(free_y, SIZE.1));
    let (label_x, label_y) = (free_x / columns, free_y / rows);
    let labels: Vec<(&Layout, &PlacedPiece)> = plan
        .layouts()
        .iter()
        .flat_map(|layout| layout.pieces().iter().map(move |piece| (layout, piece)))
        .collect();
    let sheets = labels.chunks((columns * rows) as usize);
    sheets
        .map(|labels| {
            let mut page = Page::new(width, height);
            for (i, (layout, piece)) in labels.iter().enumerate() {
                let (column, row) = (i as f64 % columns, (i as f64 / columns).floor());
                let min = Point::new(
                    margin + column * label_x,
                    height - margin - (row + 1.0) * label_y,
                );
                let bounds = Bounds {
                    min,
                    max: min + Vector::new(label_x, label_y),
                };
                draw_label(&mut page, plan, layout, piece, &bounds);
            }
            page
        })
        .collect()
}

fn draw_label(page: &mut Page, plan: &Plan, layout: &Layout, piece: &PlacedPiece, bounds: &Bounds) {
    page.draw(Shape::Rectangle(*bounds), Pen::solid(ink::PALE, 0.1));
    let middle = bounds.centre().y;
    let right = bounds.max.x - INSET;
    let top = middle + CODE / 2.0 + COMPASS;
    draw_code(page, piece.id(), Point::new(right - CODE, top - CODE));
    let directions = Directions {
        weave: layout.cloth().weave,
        angle: piece.angle_design(),
        zero: Angle::ZERO,
    };
    let below = Point::new(right - CODE / 2.0, top - CODE - COMPASS);
    draw_compass(page, &directions, below, COMPASS);
    let left = bounds.min.x + INSET;
    let most = right - CODE - 1.0 - left;
    let degrees = |angle: PlyAngle| format!("{}°", number(angle.to_degrees(), 1));
    let mut facts = format!(
        "ply {}, {}, {}",
        piece.ply(),
        degrees(piece.angle_design()),
        layout.cloth().name
    );
    if piece.is_off_design() {
        facts.push_str(&format!(", cut at {}", degrees(piece.angle_cut())));
    }
    let notes = Note::of_cutting(piece).into_iter();
    let heed: Vec<&str> = notes.map(Note::word).collect();
    let sets = plan.parts().iter().find(|part| part.name() == piece.part());
    let set = match sets.map_or(1, |part| part.sets) {
        0 | 1 => String::new(),
        of => format!(", set {} of {of}", piece.set()),
    };
    let batches = batches(plan, piece);
    let batch = match batches.as_str() {
        "" => String::new(),
        numbers => format!("resin batch {numbers}"),
    };
    let cutting = format!("cut no. {} on {}", piece.sequence(), layout.roll());
    let lines = [
        (piece.id().to_owned(), 4.0_f64, ink::BLACK),
        (format!("part {}{set}", piece.part()), 2.1, ink::BLACK),
        (facts, 2.1, ink::BLACK),
        (cutting, 2.1, ink::BLACK),
        (heed.join(", "), 2.1, ink::BLACK),
        (batch, 2.1, ink::BLACK),
        (plan.title().to_owned(), 1.6, ink::GREY),
    ];
    let mut y = middle + 12.0;
    for (text, height, colour) in lines.iter().filter(|(text, ..)| !text.is_empty()) {
        // The id is never cut short; it gets smaller instead.
        let (text, height) = if *height > 3.0 {
            let width = face::width(text, 1.0);
            (text.clone(), (*height).min(most / width))
        } else {
            (face::fitted(text, *height, most), *height)
        };
        y -= height;
        page.text(&text, Point::new(left, y), height, Align::Left, *colour);
        y -= 1.6;
    }
}

/// The numbers of the resin batches for `piece`, for people.
fn batches(plan: &Plan, piece: &PlacedPiece) -> String {
    let plies = plan.parts().iter();
    let ply = plies
        .filter(|part| part.name() == piece.part())
        .flat_map(|part| &part.plies)
        .find(|ply| ply.n() == piece.ply());
    let resin = plan.work().resin.as_ref().zip(ply);
    resin.map_or_else(String::new, |(resin, ply)| {
        resin.batch_numbers(ply, piece.set())
    })
}

/// The QR code of `id` in a square of [`CODE`] mm with its lower left corner at `at`.
fn draw_code(page: &mut Page, id: &str, at: Point) {
    // An id is short; a text too long for the largest code gets none.
    let Ok(code) = QrCode::encode_text(id, QrCodeEcc::Medium) else {
        return;
    };
    let n = code.size();
    let module = CODE / (f64::from(n) + 2.0 * QUIET);
    let corner = Point::new(at.x + QUIET * module, at.y + CODE - QUIET * module);
    let at = |column: i32, row: i32| {
        corner + Vector::new(f64::from(column) * module, -f64::from(row) * module)
    };
    let mut bars: Vec<Vec<Point>> = Vec::new();
    for row in 0..n {
        let mut column = 0;
        while column < n {
            let first = column;
            while column < n && code.get_module(column, row) {
                column += 1;
            }
            if column > first {
                let (min, max) = (at(first, row + 1), at(column, row));
                bars.push(Bounds { min, max }.corners().to_vec());
            }
            column += 1;
        }
    }
    page.fill(Shape::rings(bars), ink::PRINT);
}
