//! The largest rectangle along the axes that lies in an outline and off everything in its way.
//!
//! The outline's box is divided into cells; a cell that any line touches, or that lies outside
//! the outline or inside an obstacle, is taken. The largest rectangle of free cells is found row by
//! row with a stack (the largest rectangle under a histogram, a textbook method). It holds no
//! taken cell, so it is truly free; it may be short of the true largest by a cell at each side.

use super::{Bounds, Outline, Point, Ring};
use crate::memo::{Asked, Memo};

/// Cells along one side at most. More: slow; fewer: rectangles given away at the edges.
const MOST_CELLS: f64 = 1200.0;
/// Cells are no smaller than this, mm.
const LEAST_CELL_MM: f64 = 2.0;
/// A line that only touches a cell's border by less than this (mm) does not take the cell.
const TOUCH_MM: f64 = 1e-6;

/// Returns the rectangle of most area inside `region` and off all `obstacles`, with sides of at
/// least `least` mm; `None` if there is none.
#[must_use]
pub fn largest_rectangle(region: &Outline, obstacles: &[Outline], least: f64) -> Option<Bounds> {
    largest_rectangles(region, obstacles, least, 1).pop()
}

/// Returns up to `most` such rectangles, each the largest off those before it.
#[must_use]
pub fn largest_rectangles(
    region: &Outline,
    obstacles: &[Outline],
    least: f64,
    most: usize,
) -> Vec<Bounds> {
    /// Rectangles are remembered until so many numbers were asked for; a vertex has two.
    const MOST_ASKED: usize = 300_000;
    static KNOWN: Memo<Vec<Bounds>> = Memo::new(MOST_ASKED);
    let asked = Asked::default().number(least).count(most).outline(region);
    KNOWN.get(asked.outlines(obstacles.iter()), || {
        largest_anew(region, obstacles, least, most)
    })
}

fn largest_anew(region: &Outline, obstacles: &[Outline], least: f64, most: usize) -> Vec<Bounds> {
    let mut grid = CellGrid::over(region.bounds());
    grid.take(region, TakenSide::Outside);
    for obstacle in obstacles {
        grid.take(obstacle, TakenSide::Inside);
    }
    let mut found = Vec::new();
    while found.len() < most
        && let Some(bounds) = grid.largest(least)
        && let Some(outline) = bounds.outline()
    {
        grid.take(&outline, TakenSide::Inside);
        found.push(bounds);
    }
    found
}

/// Which side of an outline's lines is taken.
#[derive(Clone, Copy, PartialEq)]
enum TakenSide {
    Inside,
    Outside,
}

struct CellGrid {
    corner: Point,
    cell: (f64, f64),
    columns: usize,
    rows: usize,
    /// Column by column.
    taken: Vec<bool>,
}

impl CellGrid {
    fn over(bounds: Bounds) -> Self {
        let n = |extent: f64| (extent / LEAST_CELL_MM).ceil().clamp(1.0, MOST_CELLS);
        let (columns, rows) = (n(bounds.width()), n(bounds.height()));
        Self {
            corner: bounds.min,
            cell: (bounds.width() / columns, bounds.height() / rows),
            columns: columns as usize,
            rows: rows as usize,
            taken: vec![false; columns as usize * rows as usize],
        }
    }

    /// Takes the cells on `side` of `outline` and those its lines pass through.
    fn take(&mut self, outline: &Outline, side: TakenSide) {
        for ring in outline.rings() {
            for (a, b) in ring.edges() {
                self.take_line(a, b);
            }
        }
        let bounds = outline.bounds();
        for column in 0..self.columns {
            let x = self.corner.x + (column as f64 + 0.5) * self.cell.0;
            if side == TakenSide::Inside && !(bounds.min.x..=bounds.max.x).contains(&x) {
                continue;
            }
            let crossings = crossings(outline, x);
            let mut next = 0;
            for row in 0..self.rows {
                let y = self.corner.y + (row as f64 + 0.5) * self.cell.1;
                while next < crossings.len() && crossings[next] < y {
                    next += 1;
                }
                if (next % 2 == 1) == (side == TakenSide::Inside) {
                    self.taken[column * self.rows + row] = true;
                }
            }
        }
    }

    fn take_line(&mut self, a: Point, b: Point) {
        let (a, b) = if a.x <= b.x { (a, b) } else { (b, a) };
        let Some((first, last)) = span(
            a.x - self.corner.x,
            b.x - self.corner.x,
            self.cell.0,
            self.columns,
        ) else {
            return;
        };
        let y_at = |x: f64| {
            if b.x - a.x <= TOUCH_MM {
                None
            } else {
                Some(a.y + (b.y - a.y) * ((x.clamp(a.x, b.x) - a.x) / (b.x - a.x)))
            }
        };
        for column in first..=last {
            let left = self.corner.x + column as f64 * self.cell.0;
            let (from, to) = match (y_at(left), y_at(left + self.cell.0)) {
                (Some(from), Some(to)) => (from.min(to), from.max(to)),
                _ => (a.y.min(b.y), a.y.max(b.y)),
            };
            if let Some((low, high)) = span(
                from - self.corner.y,
                to - self.corner.y,
                self.cell.1,
                self.rows,
            ) {
                let start = column * self.rows;
                self.taken[start + low..=start + high].fill(true);
            }
        }
    }

    fn largest(&self, least: f64) -> Option<Bounds> {
        let mut best: Option<(f64, [usize; 4])> = None;
        // Free cells in a row that end at this column, for each row.
        let mut run = vec![0; self.rows];
        for column in 0..self.columns {
            for (row, run) in run.iter_mut().enumerate() {
                *run = if self.taken[column * self.rows + row] {
                    0
                } else {
                    *run + 1
                };
            }
            // Runs that wait for a shorter one, with the lowest row each reaches back to.
            let mut waiting: Vec<(usize, usize)> = Vec::new();
            for row in 0..=self.rows {
                let here = run.get(row).copied().unwrap_or(0);
                let mut from = row;
                while let Some(&(low, length)) = waiting.last().filter(|(_, l)| *l >= here) {
                    waiting.pop();
                    from = low;
                    let (width, height) = (
                        length as f64 * self.cell.0,
                        (row - low) as f64 * self.cell.1,
                    );
                    let area = width * height;
                    if width >= least - TOUCH_MM
                        && height >= least - TOUCH_MM
                        && best.is_none_or(|(most, _)| area > most * (1.0 + 1e-9))
                    {
                        best = Some((area, [column + 1 - length, low, column + 1, row]));
                    }
                }
                if here > 0 {
                    waiting.push((from, here));
                }
            }
        }
        let at = |column: usize, row: usize| {
            Point::new(
                self.corner.x + column as f64 * self.cell.0,
                self.corner.y + row as f64 * self.cell.1,
            )
        };
        best.map(|(_, [x0, y0, x1, y1])| Bounds {
            min: at(x0, y0),
            max: at(x1, y1),
        })
    }
}

/// The first and last of `n` cells of size `cell` from zero that `from`–`to` passes through; for a
/// line within a border, none.
fn span(from: f64, to: f64, cell: f64, n: usize) -> Option<(usize, usize)> {
    let border = |v: f64| (v / cell - (v / cell).round()).abs() * cell <= TOUCH_MM;
    if to - from <= TOUCH_MM && border(from) {
        return None;
    }
    let first = ((from + TOUCH_MM) / cell).floor().max(0.0);
    let last = ((to - TOUCH_MM) / cell).floor().min(n as f64 - 1.0);
    (first <= last).then_some((first as usize, last as usize))
}

/// Where the upright line at `x` crosses the boundaries of `outline`, upwards.
fn crossings(outline: &Outline, x: f64) -> Vec<f64> {
    let mut found: Vec<f64> = outline
        .rings()
        .flat_map(Ring::edges)
        .filter(|(a, b)| (a.x > x) != (b.x > x))
        .map(|(a, b)| a.y + (b.y - a.y) * (x - a.x) / (b.x - a.x))
        .collect();
    found.sort_by(f64::total_cmp);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Outline {
        let bounds = Bounds {
            min: Point::new(x0, y0),
            max: Point::new(x1, y1),
        };
        bounds.outline().unwrap()
    }

    #[test]
    fn a_whole_rectangle_is_found_exactly() {
        let sheet = rectangle(3.0, 5.0, 1273.7, 905.3);
        assert_eq!(largest_rectangle(&sheet, &[], 10.0), Some(sheet.bounds()));
    }

    #[test]
    fn obstacles_are_kept_off_and_openings_can_be_used() {
        let sheet = rectangle(0.0, 0.0, 1000.0, 500.0);
        let mut frame = rectangle(100.0, 50.0, 800.0, 450.0);
        frame
            .openings
            .push(rectangle(200.0, 100.0, 700.0, 400.0).outer);
        let found = largest_rectangle(&sheet, std::slice::from_ref(&frame), 10.0).unwrap();
        // Inside the frame 500 × 300, beyond it 200 × 500.
        assert_eq!(
            (found.width().round(), found.height().round()),
            (500.0, 300.0)
        );
        let beyond = largest_rectangle(&sheet, &[rectangle(100.0, 50.0, 800.0, 450.0)], 10.0);
        assert_eq!(beyond.map(|b| b.min.x.round()), Some(800.0));
        assert_eq!(largest_rectangle(&sheet, &[frame], 501.0), None);
    }

    #[test]
    fn a_slanted_edge_is_never_crossed() {
        let ring = [(0.0, 0.0), (400.0, 0.0), (0.0, 300.0)].map(|(x, y)| Point::new(x, y));
        let triangle = Outline::solid(Ring::new(ring).unwrap());
        let found = largest_rectangle(&triangle, &[], 10.0).unwrap();
        // Half of the triangle's area at best, and nowhere beyond its long side.
        let area = found.width() * found.height();
        assert!(area > 29_000.0 && area <= 30_000.0, "{area}");
        assert!(found.max.x / 400.0 + found.max.y / 300.0 <= 1.0 + 1e-9);
    }
}
