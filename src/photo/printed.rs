//! Where in a picture the board is printed: near its dots and marks what lies beside a template is not plain paper.

use super::board::{Board, DOT, MARK};
use super::fit::BoardPose;
use super::picture::DecodedPicture;
use crate::geometry::{Point, Vector};

/// Pixels along the side of a place that is printed or not.
const CELL: usize = 4;
/// So many pixels from ink nothing is taken for plain paper.
const MARGIN: f64 = 5.0;

/// Discs along the side of a mark.
const PARTS: usize = 8;

/// The places of a picture where the board is printed, or nearly.
pub(super) struct Printed {
    columns: usize,
    rows: usize,
    is_in: Vec<bool>,
}

impl Printed {
    pub(super) fn of(board: &Board, scene: &BoardPose, picture: &DecodedPicture) -> Self {
        let (columns, rows) = (picture.width.div_ceil(CELL), picture.height.div_ceil(CELL));
        let mut printed = Self {
            columns,
            rows,
            is_in: vec![false; columns * rows],
        };
        let dots = board.dots();
        for tile in board.tiles() {
            let discs = dots.iter().map(|&at| (at, DOT / 2.0));
            // A mark is as good as a field of discs.
            let parts = board.marks(tile).flat_map(|mark| {
                let middle = board.mark_at(mark.corner);
                let part = MARK / PARTS as f64;
                (0..PARTS * PARTS).map(move |k| {
                    let at = |n: usize| (n as f64 + 0.5) * part - MARK / 2.0;
                    let by = Vector::new(at(k % PARTS), at(k / PARTS));
                    (middle + by, 0.6 * part)
                })
            });
            for (at, radius) in discs.chain(parts) {
                if let Some((middle, right, up)) = scene.disc(tile, at, radius) {
                    printed.add(middle, right.length().max(up.length()));
                }
            }
        }
        printed
    }

    fn add(&mut self, middle: Point, radius: f64) {
        let reach = radius + MARGIN;
        let span = |v: f64, most: usize| {
            let cell = |v: f64| (v / CELL as f64).clamp(0.0, most as f64) as usize;
            cell(v - reach)..(cell(v + reach) + 1).min(most)
        };
        for row in span(middle.y, self.rows) {
            for column in span(middle.x, self.columns) {
                let at = |n: usize| (n as f64 + 0.5) * CELL as f64;
                let near = middle.distance(Point::new(at(column), at(row))) < reach;
                self.is_in[row * self.columns + column] |= near;
            }
        }
    }

    /// Whether ink is near a place in pixels.
    pub(super) fn is_near(&self, p: Point) -> bool {
        let (column, row) = ((p.x / CELL as f64) as usize, (p.y / CELL as f64) as usize);
        column < self.columns && row < self.rows && self.is_in[row * self.columns + column]
    }
}
