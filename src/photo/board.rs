//! The board that templates are photographed on: where its marks and dots are, sheet by sheet.
//!
//! A board is a grid of tiles that are all alike: sheets of paper laid edge to edge, or squares on one large
//! page. A tile has a field of dots, and in corners of the field coded marks that say which tile of how
//! many it is. So any mark tells the whole board, and every sheet is located for itself.

use super::code::MarkCode;
use crate::geometry::{Point, Vector};
use crate::words::words;

/// Distance of the dots, mm.
pub const PITCH: f64 = 20.0;
/// Diameter of a dot, mm: 8 pixels across where 1600 make a board of 1.2 m.
pub const DOT: f64 = 6.0;
/// Side of a mark, mm.
pub const MARK: f64 = 32.0;
/// Dots that a mark takes the place of, along each side.
const DOTS_OF_MARK: usize = 2;
/// What printers leave white at the edges of a sheet, mm.
const WHITE_EDGE: f64 = 8.0;
/// Side of a tile of a board in one piece, mm.
const TILE: f64 = 160.0;
/// Least margin around a board in one piece, mm.
const MARGIN: f64 = 20.0;
/// Most tiles along a side.
const MOST_TILES: usize = 16;
/// Largest board, mm.
pub const LARGEST: [f64; 2] = [1500.0, 1200.0];

words! {
    /// What a board is printed on.
    pub enum BoardPaper {
        /// Sheets of 210 × 297 mm (ISO 216).
        A4 = "a4",
        /// Sheets of 297 × 420 mm (ISO 216).
        A3 = "a3",
        /// Sheets of 8.5 × 11 in (ANSI/ASME Y14.1, size A).
        Letter = "letter",
        /// Sheets of 11 × 17 in (ANSI/ASME Y14.1, size B).
        Tabloid = "tabloid",
        /// One piece.
        One = "one",
    }
}

impl BoardPaper {
    /// Width and height of a tile, mm.
    #[must_use]
    pub const fn tile(self) -> [f64; 2] {
        match self {
            Self::A4 => [210.0, 297.0],
            Self::A3 => [297.0, 420.0],
            Self::Letter => [215.9, 279.4],
            Self::Tabloid => [279.4, 431.8],
            Self::One => [TILE, TILE],
        }
    }

    /// Dots along width and height of a tile.
    fn dots(self) -> [usize; 2] {
        let edge = if self == Self::One { 0.0 } else { WHITE_EDGE };
        self.tile()
            .map(|side| ((side - 2.0 * edge - DOT) / PITCH).floor() as usize + 1)
    }

    /// The corners of a tile's field that have a mark: lower left, lower right, upper left, upper right.
    const fn corners(self) -> &'static [usize] {
        match self {
            // Its tiles are small, and their neighbours have marks too.
            Self::One => &[0, 3],
            _ => &[0, 1, 2, 3],
        }
    }
}

/// A board.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Board {
    /// What it is printed on.
    pub paper: BoardPaper,
    /// Tiles from left to right.
    pub columns: usize,
    /// Tiles from bottom to top.
    pub rows: usize,
}

/// A tile of a board, from its lower left.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct BoardSheet {
    /// Tiles to its left.
    pub column: usize,
    /// Tiles below it.
    pub row: usize,
}

/// A mark of a board.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct BoardMark {
    /// On which tile.
    pub tile: BoardSheet,
    /// In which corner: lower left, lower right, upper left, upper right.
    pub corner: usize,
}

/// A line of the board that a person measures: from one place on a tile to one on another.
#[derive(Clone, Copy, Debug)]
pub struct MeasuredLine {
    /// Tiles and places on them, from their middles, mm.
    pub ends: [(BoardSheet, Vector); 2],
}

impl Board {
    /// The smallest board on `paper` that is at least so wide and high (mm); a board in one piece keeps within
    /// them.
    ///
    /// Returns `None` if there is none: too small, or larger than [`LARGEST`].
    #[must_use]
    pub fn of_size(paper: BoardPaper, width: f64, height: f64) -> Option<Self> {
        let tile = paper.tile();
        let size = [width, height];
        let least = TILE + 2.0 * MARGIN;
        let is_good = width.min(height) >= least
            && width.max(height) <= LARGEST[0]
            && width.min(height) <= LARGEST[1];
        let tiles = [0, 1].map(|i| {
            let n = match paper {
                BoardPaper::One => ((size[i] - 2.0 * MARGIN) / tile[i]).floor(),
                _ => (size[i] / tile[i] - 1e-9).ceil(),
            };
            n.max(1.0) as usize
        });
        (is_good && tiles.iter().all(|&n| n <= MOST_TILES)).then_some(Self {
            paper,
            columns: tiles[0],
            rows: tiles[1],
        })
    }

    /// Width and height of all tiles, mm.
    #[must_use]
    pub fn size(&self) -> [f64; 2] {
        let [width, height] = self.paper.tile();
        [self.columns as f64 * width, self.rows as f64 * height]
    }

    /// Its tiles, row by row from the lower left.
    pub fn tiles(&self) -> impl Iterator<Item = BoardSheet> + use<> {
        let columns = self.columns;
        (0..self.rows)
            .flat_map(move |row| (0..columns).map(move |column| BoardSheet { column, row }))
    }

    /// The number of `tile` among [`Board::tiles`].
    #[must_use]
    pub const fn index(&self, tile: BoardSheet) -> usize {
        tile.row * self.columns + tile.column
    }

    /// The middle of `tile`; the origin is the lower left corner of the board.
    #[must_use]
    pub fn middle(&self, tile: BoardSheet) -> Point {
        let [width, height] = self.paper.tile();
        Point::new(
            (tile.column as f64 + 0.5) * width,
            (tile.row as f64 + 0.5) * height,
        )
    }

    /// Dots along both sides of a tile.
    #[must_use]
    pub fn grid(&self) -> [usize; 2] {
        self.paper.dots()
    }

    /// The place with so many dots to its left and below it, from the middle of its tile.
    #[must_use]
    pub fn at(&self, i: f64, j: f64) -> Vector {
        let [nx, ny] = self.grid().map(|n| (n as f64 - 1.0) / 2.0);
        Vector::new((i - nx) * PITCH, (j - ny) * PITCH)
    }

    /// The marks of `tile`.
    pub fn marks(&self, tile: BoardSheet) -> impl Iterator<Item = BoardMark> + use<> {
        let corners = self.paper.corners().iter();
        corners.map(move |&corner| BoardMark { tile, corner })
    }

    /// The middle of a mark in this corner, from the middle of its tile.
    #[must_use]
    pub fn mark_at(&self, corner: usize) -> Vector {
        let [nx, ny] = self.grid();
        let place = |far: bool, n: usize| {
            let inset = (DOTS_OF_MARK as f64 - 1.0) / 2.0;
            if far { n as f64 - 1.0 - inset } else { inset }
        };
        self.at(place(corner % 2 == 1, nx), place(corner / 2 == 1, ny))
    }

    /// The dots of a tile, from its middle: all places of its grid where no mark is.
    #[must_use]
    pub fn dots(&self) -> Vec<Vector> {
        let [nx, ny] = self.grid();
        let taken = |i: usize, j: usize| {
            let [right, up] = [i + DOTS_OF_MARK >= nx, j + DOTS_OF_MARK >= ny];
            let in_corner = (right || i < DOTS_OF_MARK) && (up || j < DOTS_OF_MARK);
            let corner = usize::from(right) + 2 * usize::from(up);
            in_corner && self.paper.corners().contains(&corner)
        };
        let places = (0..ny).flat_map(|j| (0..nx).map(move |i| (i, j)));
        let free = places.filter(|&(i, j)| !taken(i, j));
        free.map(|(i, j)| self.at(i as f64, j as f64)).collect()
    }

    /// What is printed in `mark`.
    #[must_use]
    pub fn label(&self, mark: BoardMark) -> MarkCode {
        MarkCode { board: *self, mark }
    }

    /// Whether `label` may stand on a board.
    pub(super) fn holds(&self, mark: BoardMark) -> bool {
        mark.tile.column < self.columns
            && mark.tile.row < self.rows
            && self.paper.corners().contains(&mark.corner)
    }

    /// The two lines that are measured: along the board and across it.
    #[must_use]
    pub fn measured_lines(&self) -> [MeasuredLine; 2] {
        let [nx, ny] = self.grid().map(|n| n as f64);
        let tile = |column, row| BoardSheet { column, row };
        // Half-way between rows of dots, beyond the marks.
        let (near, low, high) = (2.5, 0.5, 1.5);
        [
            MeasuredLine {
                ends: [
                    (tile(0, 0), self.at(low, near)),
                    (tile(self.columns - 1, 0), self.at(nx - high, near)),
                ],
            },
            MeasuredLine {
                ends: [
                    (tile(0, 0), self.at(near, low)),
                    (tile(0, self.rows - 1), self.at(near, ny - high)),
                ],
            },
        ]
    }

    /// How long these lines are where the printer is true and the sheets lie edge to edge, mm.
    #[must_use]
    pub fn true_lengths(&self) -> [f64; 2] {
        self.measured_lines().map(|line| {
            let [a, b] = line.ends.map(|(tile, at)| self.middle(tile) + at);
            a.distance(b)
        })
    }
}
