//! Which parts of a sheet are taken, on a raster.
//!
//! A raster is coarse but cannot be wrong: a cell counts as taken if the shape touches it, and one
//! cell all round stays free.

use std::ops::Range;

use crate::geometry::{Outline, Ring};

/// Side of a cell in mm. Larger: more paper; smaller: slower.
pub(super) const CELL_MM: f64 = 2.5;

/// A box of cells.
pub(super) struct Window {
    pub(super) columns: Range<usize>,
    pub(super) rows: Range<usize>,
}

/// Cells that are taken, row by row from the bottom, 64 to a word.
#[derive(Clone)]
pub(super) struct Raster {
    pub(super) columns: usize,
    pub(super) rows: usize,
    words: usize,
    bits: Vec<u64>,
}

impl Raster {
    pub(super) fn free(columns: usize, rows: usize) -> Self {
        let words = columns.div_ceil(64).max(1);
        Self {
            columns,
            rows,
            words,
            bits: vec![0; words * rows],
        }
    }

    /// The cells of a sheet of `columns` × `rows` that `outline` touches.
    pub(super) fn lying(outline: &Outline, columns: usize, rows: usize) -> Self {
        let mut raster = Self::free(columns, rows);
        raster.take_all(outline);
        raster
    }

    /// The cells that `outline`, whose box begins at the origin, touches; none for a monster.
    pub(super) fn of(outline: &Outline) -> Option<Self> {
        const MOST: f64 = 4096.0;
        let max = outline.bounds().max;
        let (columns, rows) = (
            (max.x / CELL_MM).floor() + 1.0,
            (max.y / CELL_MM).floor() + 1.0,
        );
        if columns > MOST || rows > MOST {
            return None;
        }
        Some(Self::lying(outline, columns as usize, rows as usize))
    }

    fn take_all(&mut self, outline: &Outline) {
        for ring in outline.rings() {
            self.draw(ring);
        }
        self.fill(outline);
    }

    /// Takes the cells along a line, in steps so short that none is jumped over by more than a
    /// corner, which the free cell around every shape makes good.
    fn draw(&mut self, ring: &Ring) {
        for (a, b) in ring.edges() {
            let n = (a.distance(b) / (CELL_MM / 4.0)).ceil().max(1.0);
            for i in 0..(n as usize) {
                let p = a.towards(b, i as f64 / n);
                let cell = |v: f64, n: usize| ((v / CELL_MM).max(0.0) as usize).min(n - 1);
                self.take(cell(p.y, self.rows), cell(p.x, self.columns));
            }
        }
    }

    /// Takes the cells whose middles lie inside.
    fn fill(&mut self, outline: &Outline) {
        let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); self.rows];
        for (a, b) in outline.rings().flat_map(|ring| ring.edges()) {
            // The rows whose middles lie between the ends, the lower one included.
            let first = |y: f64| (y / CELL_MM - 0.5).ceil().max(0.0) as usize;
            let rows = first(a.y.min(b.y))..first(a.y.max(b.y)).min(self.rows);
            for row in rows {
                let y = (row as f64 + 0.5) * CELL_MM;
                crossings[row].push(a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y));
            }
        }
        for (row, mut crossings) in crossings.into_iter().enumerate() {
            crossings.sort_by(f64::total_cmp);
            for pair in crossings.chunks_exact(2) {
                let from = ((pair[0] / CELL_MM - 0.5).ceil().max(0.0)) as usize;
                let to = (pair[1] / CELL_MM - 0.5).floor();
                if to >= 0.0 {
                    for column in from..=(to as usize).min(self.columns - 1) {
                        self.take(row, column);
                    }
                }
            }
        }
    }

    fn take(&mut self, row: usize, column: usize) {
        self.bits[row * self.words + column / 64] |= 1 << (column % 64);
    }

    /// The lowest, then leftmost place within `window` at which `other` touches nothing that is
    /// taken: row and column.
    pub(super) fn room_for(&self, other: &Self, window: &Window) -> Option<(usize, usize)> {
        let last_row = window.rows.end.min(self.rows).checked_sub(other.rows)?;
        let last_column = (window.columns.end.min(self.columns)).checked_sub(other.columns)?;
        for row in window.rows.start..=last_row {
            for column in window.columns.start..=last_column {
                if self.is_free(other, row, column) {
                    return Some((row, column));
                }
            }
        }
        None
    }

    /// Takes everything outside all of `windows`.
    pub(super) fn keep_to(&mut self, windows: &[Window]) {
        let (free, columns) = (self.clone(), self.columns);
        self.bits.fill(u64::MAX);
        for window in windows {
            for row in window.rows.start..window.rows.end.min(self.rows) {
                for column in window.columns.start..window.columns.end.min(columns) {
                    let (word, bit) = (row * self.words + column / 64, column % 64);
                    self.bits[word] &= !(1 << bit) | free.bits[word];
                }
            }
        }
    }

    /// How many cells are free.
    pub(super) fn n_free(&self) -> usize {
        let in_row = |row: usize| -> usize {
            let taken = (0..self.columns).filter(|&c| self.is_taken(row, c));
            self.columns - taken.count()
        };
        (0..self.rows).map(in_row).sum()
    }

    fn is_taken(&self, row: usize, column: usize) -> bool {
        self.bits[row * self.words + column / 64] >> (column % 64) & 1 == 1
    }

    fn is_free(&self, other: &Self, row: usize, column: usize) -> bool {
        let (word, bit) = (column / 64, column % 64);
        (0..other.rows).all(|r| {
            let own = &self.bits[(row + r) * self.words..(row + r + 1) * self.words];
            let theirs = &other.bits[r * other.words..(r + 1) * other.words];
            theirs.iter().enumerate().all(|(w, &bits)| {
                let low = own.get(word + w).copied().unwrap_or(0) >> bit;
                let high = match bit {
                    0 => 0,
                    _ => own.get(word + w + 1).copied().unwrap_or(0) << (64 - bit),
                };
                bits & (low | high) == 0
            })
        })
    }

    /// Takes the cells of `other` and one all round.
    pub(super) fn stamp(&mut self, other: &Self, row: usize, column: usize) {
        for r in 0..other.rows {
            for c in 0..other.columns {
                if !other.is_taken(r, c) {
                    continue;
                }
                for (dr, dc) in (0..3).flat_map(|dr| (0..3).map(move |dc| (dr, dc))) {
                    let (y, x) = (
                        (row + r + dr).checked_sub(1),
                        (column + c + dc).checked_sub(1),
                    );
                    if let (Some(y), Some(x)) = (y, x)
                        && y < self.rows
                        && x < self.columns
                    {
                        self.take(y, x);
                    }
                }
            }
        }
    }
}
