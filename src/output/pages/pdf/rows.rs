//! Tables on pages: rows stand whole, the head is repeated on every page.

use super::lines::{LineOfText, PAD, TextMeasure};
use super::{BETWEEN, Flow, LEADING, SMALL};
use crate::geometry::{Bounds, Point};
use crate::output::pages::prose::Prose;
use crate::output::pages::table::{ColumnKind, DataTable, Row};

/// Above and below the text in a cell, mm.
const CELL: f64 = 0.75;
/// The last row of a table takes the one before it along to a new page, unless it is taller, mm.
const MOST_ALONE: f64 = 20.0;

/// A table set in the width of a page.
pub(super) struct SetTable {
    head: SetRow,
    rows: Vec<SetRow>,
}

/// The lines in each cell of a row.
struct SetRow {
    cells: Vec<SetCell>,
    height: f64,
}

struct SetCell {
    kind: ColumnKind,
    width: f64,
    lines: Vec<LineOfText>,
}

impl SetTable {
    /// `table` in all `width` mm.
    pub(super) fn new(measure: &TextMeasure, table: &DataTable, width: f64) -> Self {
        let widths = measure.columns(table, width);
        let columns = || table.columns.iter().zip(&widths);
        let set = |kind, prose: &Prose, width: f64| SetCell {
            kind,
            width,
            lines: measure.lines(prose, width - 2.0 * PAD),
        };
        let head = columns().map(|(c, &width)| set(c.kind, &c.title.made_strong(), width));
        // A row with fewer cells than columns ends, at the foot begins, with one that takes several.
        let body = |row: &Row| {
            let n = row.cells.len();
            let cells = columns().zip(&row.cells).enumerate();
            let cells = cells.map(|(i, ((column, &width), cell))| {
                let width = if i + 1 == n {
                    widths[i..].iter().sum()
                } else {
                    width
                };
                let cell = if column.kind == ColumnKind::Name {
                    &cell.made_strong()
                } else {
                    cell
                };
                set(column.kind, cell, width)
            });
            SetRow::new(cells.collect())
        };
        let foot = |row: &Row| {
            let first = (table.columns.len() + 1).saturating_sub(row.cells.len());
            let cells = row.cells.iter().enumerate().map(|(i, cell)| match i {
                0 => set(
                    ColumnKind::Name,
                    &cell.made_strong(),
                    widths[..first].iter().sum(),
                ),
                _ => set(
                    table.columns[first + i - 1].kind,
                    cell,
                    widths[first + i - 1],
                ),
            });
            SetRow::new(cells.collect())
        };
        Self {
            head: SetRow::new(head.collect()),
            rows: table
                .rows
                .iter()
                .map(body)
                .chain(table.foot.iter().map(foot))
                .collect(),
        }
    }

    pub(super) fn height(&self) -> f64 {
        self.head.height + self.rows.iter().map(|row| row.height).sum::<f64>()
    }

    /// Height of its head and of the rows that stand with it: the first, and a second that is not too
    /// tall for that.
    pub(super) fn start_height(&self) -> f64 {
        let first = self.rows.first().map_or(0.0, |row| row.height);
        let second = self.rows.get(1).map_or(0.0, |row| row.height);
        let second = if second <= MOST_ALONE { second } else { 0.0 };
        self.head.height + first + second
    }
}

impl SetRow {
    fn new(cells: Vec<SetCell>) -> Self {
        let mut row = Self { cells, height: 0.0 };
        row.height = row.n_lines().max(1) as f64 * SMALL * LEADING + 2.0 * CELL;
        row
    }

    fn n_lines(&self) -> usize {
        self.cells
            .iter()
            .map(|cell| cell.lines.len())
            .max()
            .unwrap_or(0)
    }

    /// Keeps the first `n` lines and returns the rest.
    fn split_off(&mut self, n: usize) -> Self {
        let rest = self.cells.iter_mut().map(|cell| SetCell {
            lines: cell.lines.split_off(n.min(cell.lines.len())),
            ..*cell
        });
        let rest = Self::new(rest.collect());
        *self = Self::new(std::mem::take(&mut self.cells));
        rest
    }
}

impl Flow {
    pub(super) fn table(&mut self, table: SetTable) {
        let SetTable { head, rows } = table;
        self.row(&head, true);
        let n_rows = rows.len();
        let last = rows.last().map_or(0.0, |row| row.height);
        for (i, mut row) in rows.into_iter().enumerate() {
            let with = if i > 0 && i + 2 == n_rows && last <= MOST_ALONE {
                last
            } else {
                0.0
            };
            if !self.has_room(row.height + with) {
                self.go_on(&head);
            }
            // A row that is longer than a whole page is the only one that is torn.
            while self.y + row.height > self.area.max.y + 1e-6 && row.n_lines() > 1 {
                let room = self.area.max.y - self.y - 2.0 * CELL;
                let n = (room / (SMALL * LEADING)).floor().max(1.0) as usize;
                let rest = row.split_off(n.min(row.n_lines() - 1));
                self.row(&row, false);
                self.go_on(&head);
                row = rest;
            }
            self.row(&row, false);
        }
    }

    /// Begins the next page of a table.
    fn go_on(&mut self, head: &SetRow) {
        self.turn_page();
        let words = Prose::from(format!("{} (continued)", self.heading));
        self.text(&words.made_strong(), SMALL, 0.0);
        self.y += BETWEEN / 2.0;
        self.row(head, true);
    }

    fn row(&mut self, row: &SetRow, is_head: bool) {
        let (top, bottom) = (self.y, self.y + row.height);
        let mut x = self.area.min.x;
        for cell in &row.cells {
            let bounds = Bounds {
                min: Point::new(x, top),
                max: Point::new(x + cell.width, bottom),
            };
            if is_head {
                self.shade(bounds);
            }
            self.frame(bounds, 0.15);
            for (i, line) in cell.lines.iter().enumerate() {
                let free = cell.width - line.width;
                let indent = match cell.kind {
                    kind if kind.is_number() => free - PAD,
                    ColumnKind::Tick => free / 2.0,
                    _ => PAD,
                };
                let y = top + CELL + i as f64 * SMALL * LEADING;
                self.line(line, x + indent, y, SMALL);
            }
            x += cell.width;
        }
        self.y = bottom;
    }
}
