//! Room for a piece's label inside its cut line.

use super::piece::Label;
use crate::geometry::{Outline, largest_box};
use crate::units::Angle;

/// Heights of the label in text heights: two lines, the warp arrow, and air between them.
const LINES: f64 = 3.2;

/// Width of a character in text heights, on the safe side for a plain sans-serif.
const CHARACTER: f64 = 0.62;

/// The second line (`#12 · -45° bias`) needs room for at least this many characters.
const LEAST_CHARACTERS: usize = 12;

/// Tallest text that any output may want, mm: the report shrinks a whole roll to a page.
const TALLEST_TEXT_MM: f64 = 40.0;

/// Text below this height (mm) is hard to read at the table.
const LEGIBLE_TEXT_MM: f64 = 4.0;

/// Share of the free box that is used, so that no letter touches the cut line.
const INSIDE: f64 = 0.9;

/// The label box of the piece called `id` inside `cut`: along x if that is legible or as good.
pub(in crate::plan) fn label_for(id: &str, cut: &Outline) -> Label {
    let characters = id.chars().count().max(LEAST_CHARACTERS);
    let aspect = characters as f64 * CHARACTER / LINES;
    let along_x = largest_box(cut, aspect);
    let (height, free, angle) = if along_x.height * INSIDE >= LEGIBLE_TEXT_MM * LINES {
        (along_x.height, along_x, Angle::ZERO)
    } else {
        let along_y = largest_box(cut, 1.0 / aspect);
        // Worth a tilted head only if it reads clearly larger.
        if along_y.width > along_x.height * 1.2 {
            (along_y.width, along_y, Angle::degrees(90.0))
        } else {
            (along_x.height, along_x, Angle::ZERO)
        }
    };
    let height = (height * INSIDE).min(TALLEST_TEXT_MM * LINES);
    Label {
        centre: free.centre,
        width: height * aspect,
        height,
        angle,
    }
}
