//! Templates that share sheets: largest first, each on sheets that are printed anyway if there is
//! room for it beside what lies on them, also in hollows and openings; else on sheets of its own.
//!
//! A template that fits one sheet is never put across a seam.

use super::Purpose;
use super::paper::Tile;
use super::raster::{CELL_MM, Raster, Window};
use super::shape::Template;
use super::tiling::{Cell, Tiling};
use crate::geometry::{Bounds, Vector};
use crate::units::Angle;

/// Turns that are tried of pieces, and of finished parts, of which there are few.
const N_TURNS: u32 = 16;
const N_TURNS_OF_PARTS: u32 = 4;
/// So many grids with the most room are looked at for a template. More: less paper, slower.
const N_HOSTS: usize = 6;
/// A template that fits one sheet keeps so far (mm) off its seams, where crosses and names stand.
const OFF_SEAM_MM: f64 = 4.5;
/// A template is not tried where it would take more than this share of what is free: no shapes fill
/// a sheet. Smaller: faster, and now and then a sheet more.
const FILLED: f64 = 0.95;

/// `templates` on few sheets: those that take several first.
pub(super) fn share(templates: &[Template], tile: Tile, purpose: Purpose) -> Vec<Tiling> {
    let n_turns = match purpose {
        Purpose::Cut => N_TURNS,
        Purpose::Trim => N_TURNS_OF_PARTS,
    };
    let mut alone: Vec<Tiling> = templates.iter().map(|t| Tiling::best(t, tile)).collect();
    let area = |t: &Template| t.bounds().width() * t.bounds().height();
    alone.sort_by(|a, b| {
        let (one, other) = (&a.templates[0], &b.templates[0]);
        let by_sheets = b.cells.len().cmp(&a.cells.len());
        by_sheets
            .then_with(|| area(other).total_cmp(&area(one)))
            .then(one.number.cmp(&other.number))
    });
    let mut grids: Vec<SheetGrid> = Vec::new();
    for tiling in alone {
        match host(&grids, &tiling, n_turns) {
            Some((k, place)) => grids[k].put(place),
            None => grids.push(SheetGrid::new(tiling)),
        }
    }
    let mut tilings: Vec<Tiling> = grids.into_iter().map(|grid| grid.tiling).collect();
    tilings.sort_by_key(|t| (t.cells.len() == 1, t.templates[0].number));
    tilings
}

/// A grid of sheets with what is taken of it.
struct SheetGrid {
    tiling: Tiling,
    /// None for a monster, which takes no guests.
    taken: Option<Raster>,
    n_free: usize,
}

/// A template as it fits a grid.
struct Berth {
    template: Template,
    raster: Raster,
    row: usize,
    column: usize,
}

/// The first grid with room for the template of `tiling`, and where.
fn host(grids: &[SheetGrid], tiling: &Tiling, n_turns: u32) -> Option<(usize, Berth)> {
    let template = &tiling.templates[0];
    let is_whole = tiling.cells.len() == 1;
    let least = (template.cut.area() / (CELL_MM * CELL_MM) / FILLED) as usize;
    let mut hosts: Vec<usize> = (0..grids.len())
        .filter(|&k| grids[k].n_free > least)
        .collect();
    hosts.sort_by_key(|&k| (usize::MAX - grids[k].n_free, k));
    hosts.truncate(N_HOSTS);
    if hosts.is_empty() {
        return None;
    }
    let turned: Vec<(Template, Raster)> = (0..n_turns)
        .map(|i| template.turned(Angle::degrees(360.0 / f64::from(n_turns) * f64::from(i))))
        .filter_map(|t| Raster::of(&t.cut).map(|raster| (t, raster)))
        .collect();
    hosts
        .into_iter()
        .find_map(|k| grids[k].room_for(&turned, is_whole).map(|place| (k, place)))
}

impl SheetGrid {
    fn new(tiling: Tiling) -> Self {
        let taken = taken(&tiling);
        Self {
            n_free: taken.as_ref().map_or(0, Raster::n_free),
            tiling,
            taken,
        }
    }

    /// Where one of the `turned` templates fits: whole on one sheet, or anywhere on printed ones.
    fn room_for(&self, turned: &[(Template, Raster)], is_whole: bool) -> Option<Berth> {
        let taken = self.taken.as_ref()?;
        let windows: Vec<Window> = if is_whole {
            let cells = self.tiling.cells.iter();
            cells.map(|&cell| self.window_of_whole(cell)).collect()
        } else {
            vec![Window {
                columns: 0..taken.columns,
                rows: 0..taken.rows,
            }]
        };
        let found = windows.iter().find_map(|window| {
            let places = turned.iter().filter_map(|(template, raster)| {
                let (row, column) = taken.room_for(raster, window)?;
                Some((row + raster.rows, column, template, raster, row))
            });
            places.min_by_key(|place| (place.0, place.1))
        });
        let (_, column, template, raster, row) = found?;
        let shift = Vector::new(column as f64 * CELL_MM, row as f64 * CELL_MM);
        Some(Berth {
            template: template.shifted(shift),
            raster: raster.clone(),
            row,
            column,
        })
    }

    fn put(&mut self, place: Berth) {
        if let Some(taken) = &mut self.taken {
            taken.stamp(&place.raster, place.row, place.column);
            self.n_free = taken.n_free();
        }
        self.tiling.templates.push(place.template);
    }

    /// What a template may take of a sheet that it must not leave.
    fn window_of_whole(&self, cell: Cell) -> Window {
        let mut bounds = self.tiling.cell_bounds(cell);
        for (right, up) in SIDES {
            if neighbour(&self.tiling, cell, right, up) {
                bounds.min.x += if right < 0 { OFF_SEAM_MM } else { 0.0 };
                bounds.max.x -= if right > 0 { OFF_SEAM_MM } else { 0.0 };
                bounds.min.y += if up < 0 { OFF_SEAM_MM } else { 0.0 };
                bounds.max.y -= if up > 0 { OFF_SEAM_MM } else { 0.0 };
            }
        }
        window(&bounds)
    }
}

/// The four sides of a sheet: to the right, upwards.
const SIDES: [(isize, isize); 4] = [(1, 0), (-1, 0), (0, 1), (0, -1)];

/// Whether the sheet beside `cell` is printed.
fn neighbour(tiling: &Tiling, cell: Cell, right: isize, up: isize) -> bool {
    let column = cell.column.checked_add_signed(right);
    let row = cell.row.checked_add_signed(up);
    let beside = column.zip(row).map(|(column, row)| Cell { column, row });
    beside.is_some_and(|cell| tiling.has(cell))
}

/// The cells of the raster that lie wholly within `bounds`.
fn window(bounds: &Bounds) -> Window {
    let low = |mm: f64| (mm / CELL_MM).ceil().max(0.0) as usize;
    let high = |mm: f64| (mm / CELL_MM).floor().max(0.0) as usize;
    Window {
        columns: low(bounds.min.x)..high(bounds.max.x),
        rows: low(bounds.min.y)..high(bounds.max.y),
    }
}

/// What is taken of `tiling`: all but the printed sheets, and what lies on them.
fn taken(tiling: &Tiling) -> Option<Raster> {
    const MOST: usize = 4096;
    let tile = tiling.tile;
    let (step_x, step_y) = tile.step();
    let size = |n: usize, step: f64, shown: f64| {
        (((n - 1) as f64 * step + shown) / CELL_MM).floor() as usize
    };
    let columns = size(tiling.columns, step_x, tile.width);
    let rows = size(tiling.rows, step_y, tile.height);
    if columns > MOST || rows > MOST {
        return None;
    }
    let mut taken = Raster::free(columns, rows);
    let windows: Vec<Window> = (tiling.cells.iter())
        .map(|&cell| {
            let mut bounds = tiling.cell_bounds(cell);
            for (right, up) in SIDES {
                // Cells of the raster across a seam belong to both sheets.
                if neighbour(tiling, cell, right, up) {
                    let by = Vector::new(right as f64, up as f64) * CELL_MM;
                    bounds.min = bounds.min + Vector::new(by.x.min(0.0), by.y.min(0.0));
                    bounds.max = bounds.max + Vector::new(by.x.max(0.0), by.y.max(0.0));
                }
            }
            window(&bounds)
        })
        .collect();
    taken.keep_to(&windows);
    let template = &tiling.templates[0];
    // Its box begins anywhere: the raster of the shape as it lies, from the origin on.
    let lying = Raster::lying(&template.cut, columns, rows);
    taken.stamp(&lying, 0, 0);
    Some(taken)
}

#[cfg(test)]
mod tests {
    use super::super::tiling::tests::{TILE, strip};
    use super::*;

    fn numbered(sizes: &[(f64, f64)]) -> Vec<Template> {
        let numbered = sizes.iter().enumerate();
        numbered
            .map(|(i, &(width, height))| Template {
                number: i + 1,
                ..strip(width, height)
            })
            .collect()
    }

    #[test]
    fn strips_lie_side_by_side_on_the_sheets_of_the_longest() {
        let tilings = share(
            &numbered(&[(90.0, 700.0), (80.0, 650.0)]),
            TILE,
            Purpose::Cut,
        );
        assert_eq!(tilings.len(), 1);
        assert_eq!(tilings[0].cells.len(), 3);
        // Too wide beside the first.
        let tilings = share(
            &numbered(&[(90.0, 700.0), (110.0, 650.0)]),
            TILE,
            Purpose::Cut,
        );
        assert_eq!(tilings.len(), 2);
    }

    #[test]
    fn what_fits_one_sheet_lies_beside_a_large_one_but_across_no_seam() {
        let tilings = share(
            &numbered(&[(100.0, 700.0), (60.0, 200.0), (60.0, 200.0)]),
            TILE,
            Purpose::Cut,
        );
        assert_eq!(tilings.len(), 1);
        let tiling = &tilings[0];
        for guest in &tiling.templates[1..] {
            let bounds = guest.bounds();
            let is_whole = |&cell: &Cell| {
                let sheet = tiling.cell_bounds(cell);
                sheet.union(&bounds) == sheet
            };
            assert!(tiling.cells.iter().any(is_whole), "{bounds:?}");
        }
    }
}
