//! Small templates that share sheets: nested on a raster, largest first, each at the lowest and
//! leftmost place that is free, also in the hollows and openings of others.
//!
//! A raster is coarse but cannot be wrong: a cell counts as taken if the shape touches it, and one
//! cell all round stays free.

use super::shape::Template;
use crate::geometry::{Outline, Point, Ring, Vector};
use crate::units::Angle;

/// Side of a cell in mm. Larger: more paper; smaller: slower.
const CELL_MM: f64 = 2.5;
/// Turns that are tried.
const TURNS_DEG: [f64; 8] = [0.0, 90.0, 45.0, 135.0, 22.5, 67.5, 112.5, 157.5];
/// So many of the latest sheets are looked at for room.
const N_OPEN: usize = 4;

/// A sheet with the templates on it, in mm from its lower left corner.
pub(super) struct Shared {
    pub(super) templates: Vec<Template>,
    taken: Raster,
}

/// Templates, each of which fits a sheet of `width` × `height` mm as it is, on few sheets.
pub(super) fn share(mut templates: Vec<Template>, width: f64, height: f64) -> Vec<Shared> {
    templates.sort_by(|a, b| {
        let area = |t: &Template| t.bounds().width() * t.bounds().height();
        area(b).total_cmp(&area(a)).then(a.number.cmp(&b.number))
    });
    let columns = (width / CELL_MM).floor() as usize;
    let rows = (height / CELL_MM).floor() as usize;
    let mut sheets: Vec<Shared> = Vec::new();
    for template in templates {
        let turned: Vec<(Template, Raster)> = TURNS_DEG
            .iter()
            .map(|&degrees| template.turned(Angle::degrees(degrees)))
            .filter(|t| t.bounds().width() <= width && t.bounds().height() <= height)
            .filter_map(|t| Raster::of(&t.cut).map(|raster| (t, raster)))
            .filter(|(_, raster)| raster.columns <= columns && raster.rows <= rows)
            .collect();
        let first_open = sheets.len().saturating_sub(N_OPEN);
        let found = (first_open..sheets.len()).find_map(|k| {
            let places = turned.iter().filter_map(|(t, raster)| {
                let (row, column) = sheets[k].taken.room_for(raster)?;
                Some((row + raster.rows, column, t, raster, row))
            });
            let best = places.min_by_key(|place| (place.0, place.1));
            best.map(|(_, column, t, raster, row)| (k, t, raster, row, column))
        });
        match found {
            Some((k, t, raster, row, column)) => sheets[k].put(t, raster, row, column),
            None => sheets.push(Shared::alone(&template, turned.first(), columns, rows)),
        }
    }
    sheets
}

impl Shared {
    /// A new sheet with one template, as it fits if its raster does not.
    fn alone(
        template: &Template,
        turned: Option<&(Template, Raster)>,
        columns: usize,
        rows: usize,
    ) -> Self {
        let mut sheet = Self {
            templates: Vec::new(),
            taken: Raster::free(columns, rows),
        };
        match turned {
            Some((t, raster)) => sheet.put(t, raster, 0, 0),
            None => {
                sheet.templates.push(template.clone());
                sheet.taken.fill();
            }
        }
        sheet
    }

    fn put(&mut self, template: &Template, raster: &Raster, row: usize, column: usize) {
        let shift = Vector::new(column as f64 * CELL_MM, row as f64 * CELL_MM);
        self.templates.push(template.shifted(shift));
        self.taken.stamp(raster, row, column);
    }
}

/// Cells that are taken, row by row from the bottom, 64 to a word.
struct Raster {
    columns: usize,
    rows: usize,
    words: usize,
    bits: Vec<u64>,
}

impl Raster {
    fn free(columns: usize, rows: usize) -> Self {
        let words = columns.div_ceil(64).max(1);
        Self {
            columns,
            rows,
            words,
            bits: vec![0; words * rows],
        }
    }

    /// The cells that `outline`, whose box begins at the origin, touches; none for a monster.
    fn of(outline: &Outline) -> Option<Self> {
        const MOST: f64 = 4096.0;
        let max = outline.bounds().max;
        let (columns, rows) = (
            (max.x / CELL_MM).floor() + 1.0,
            (max.y / CELL_MM).floor() + 1.0,
        );
        if columns > MOST || rows > MOST {
            return None;
        }
        let mut raster = Self::free(columns as usize, rows as usize);
        for ring in outline.rings() {
            raster.draw(ring);
        }
        for row in 0..raster.rows {
            raster.fill_row(outline, row);
        }
        Some(raster)
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

    /// Takes the cells of a row whose middles lie inside.
    fn fill_row(&mut self, outline: &Outline, row: usize) {
        let y = (row as f64 + 0.5) * CELL_MM;
        let mut crossings: Vec<f64> = outline
            .rings()
            .flat_map(|ring| ring.edges())
            .filter(|(a, b)| (a.y > y) != (b.y > y))
            .map(|(a, b): (Point, Point)| a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y))
            .collect();
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

    fn take(&mut self, row: usize, column: usize) {
        self.bits[row * self.words + column / 64] |= 1 << (column % 64);
    }

    fn fill(&mut self) {
        self.bits.fill(u64::MAX);
    }

    /// The lowest, then leftmost place at which `other` touches nothing that is taken.
    fn room_for(&self, other: &Self) -> Option<(usize, usize)> {
        for row in 0..=self.rows.checked_sub(other.rows)? {
            for column in 0..=self.columns.checked_sub(other.columns)? {
                if self.is_free(other, row, column) {
                    return Some((row, column));
                }
            }
        }
        None
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
    fn stamp(&mut self, other: &Self, row: usize, column: usize) {
        for r in 0..other.rows {
            for c in 0..other.columns {
                if other.bits[r * other.words + c / 64] >> (c % 64) & 1 == 0 {
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
