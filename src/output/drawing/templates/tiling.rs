//! A template on sheets of paper: which way round it lies, and on which sheets.
//!
//! Smaller templates may lie beside it: see `sharing`. Sheets overlap; half-way through each overlap runs the seam. What lies within a sheet's seams is
//! its cell; a sheet is printed if the piece reaches into its cell. Among the turns in small steps
//! and a few shifts the one with the fewest sheets wins.

use super::paper::Tile;
use super::shape::{Template, letters};
use crate::geometry::{Bounds, Outline, Point, Vector};
use crate::units::Angle;

/// A sheet of a template: its column from the left and row from the bottom, from 0.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Cell {
    pub(super) column: usize,
    pub(super) row: usize,
}

/// Templates on a grid of sheets.
#[derive(Clone, Debug)]
pub(super) struct Tiling {
    /// Turned and shifted: the lower left corner of the first sheet is the origin. The first is
    /// the one that the grid was made for.
    pub(super) templates: Vec<Template>,
    pub(super) columns: usize,
    pub(super) rows: usize,
    /// The sheets that are printed, row by row from the top.
    pub(super) cells: Vec<Cell>,
    pub(super) tile: Tile,
}

/// Turns that are tried, degrees apart. Smaller: slower; larger: now and then a sheet more.
const TURN_STEP_DEG: f64 = 5.0;
/// Shifts that are tried within the room that the grid leaves, in each direction.
const N_SHIFTS: usize = 3;

impl Tiling {
    /// The tiling of `template` with the fewest sheets.
    pub(super) fn best(template: &Template, tile: Tile) -> Self {
        let n_turns = (180.0 / TURN_STEP_DEG).round() as usize;
        let mut grids: Vec<(usize, usize, f64)> = (0..n_turns)
            .map(|i| {
                let degrees = TURN_STEP_DEG * i as f64;
                let bounds = turned_bounds(&template.cut, Angle::degrees(degrees));
                let (columns, rows) = (
                    tile.count(bounds.width(), tile.width),
                    tile.count(bounds.height(), tile.height),
                );
                (columns * rows, i, degrees)
            })
            .collect();
        grids.sort_by_key(|&(n, i, _)| (n, i));
        let least = grids[0].0;
        if least == 1 {
            return Self::new(
                template.turned(Angle::degrees(grids[0].2)),
                tile,
                (0.0, 0.0),
            );
        }
        let (step_x, step_y) = tile.step();
        let fewest = (template.cut.area() / (step_x * step_y)).ceil() as usize;
        let mut best: Option<Self> = None;
        for (grid, _, degrees) in grids {
            let n = best.as_ref().map_or(usize::MAX, |b| b.cells.len());
            // A grid of twice as many sheets hardly ever has half of them empty.
            if n <= fewest || grid > least * 2 {
                break;
            }
            let turned = template.turned(Angle::degrees(degrees));
            for i in 0..N_SHIFTS * N_SHIFTS {
                let share = |k: usize| k as f64 / (N_SHIFTS - 1) as f64;
                let shifts = (share(i % N_SHIFTS), share(i / N_SHIFTS));
                let tried = Self::new(turned.clone(), tile, shifts);
                let n = best.as_ref().map_or(usize::MAX, |b| b.cells.len());
                if tried.cells.len() < n {
                    best = Some(tried);
                }
            }
        }
        let mut best = best.unwrap_or_else(|| Self::new(template.clone(), tile, (0.0, 0.0)));
        best.leave_out_empty();
        best
    }

    /// The tiling of `template` as it lies, moved by these shares of the room in the grid.
    fn new(template: Template, tile: Tile, (x, y): (f64, f64)) -> Self {
        let bounds = template.bounds();
        let (columns, rows) = (
            tile.count(bounds.width(), tile.width),
            tile.count(bounds.height(), tile.height),
        );
        let (step_x, step_y) = tile.step();
        let room =
            |n: usize, step: f64, extent: f64| (n as f64 * step + tile.overlap - extent).max(0.0);
        let shift = Vector::new(
            room(columns, step_x, bounds.width()) * x,
            room(rows, step_y, bounds.height()) * y,
        );
        let mut tiling = Self {
            templates: vec![template.shifted(Point::default() - bounds.min + shift)],
            columns,
            rows,
            cells: Vec::new(),
            tile,
        };
        tiling.cells = tiling.reached(&tiling.templates[0]);
        tiling
    }

    /// Leaves out the sheets in the middle that would show no line, if the others still hang together
    /// without them.
    fn leave_out_empty(&mut self) {
        let template = &self.templates[0];
        let lines = template.lines();
        let edges: Vec<(Point, Point)> = (lines.outlines().chain(lines.joints()))
            .flat_map(|(_, shape)| shape.pen_lines())
            .flat_map(|(points, is_closed)| {
                let n = points.len() - usize::from(!is_closed);
                let edge = move |i: usize| (points[i], points[(i + 1) % points.len()]);
                (0..n).map(edge).collect::<Vec<_>>()
            })
            .collect();
        let is_shown = |cell: &Cell| {
            let bounds = self.shown(*cell);
            edges
                .iter()
                .any(|&(a, b)| bounds.part_of_edge(a, b).is_some())
        };
        let is_outer = |cell: &Cell| {
            cell.column == 0
                || cell.row == 0
                || cell.column + 1 == self.columns
                || cell.row + 1 == self.rows
        };
        let (kept, empty): (Vec<Cell>, Vec<Cell>) =
            (self.cells.iter().copied()).partition(|cell| is_outer(cell) || is_shown(cell));
        if !empty.is_empty() && hang_together(&kept) {
            self.cells = kept;
        }
    }

    /// Names of the templates: their numbers.
    pub(super) fn numbers(&self) -> String {
        numbers(&self.templates)
    }

    /// The sheets that are printed and that `template`, which lies on the grid, reaches into.
    pub(super) fn sheets_of(&self, template: &Template) -> Vec<Cell> {
        let mut cells = self.reached(template);
        cells.retain(|&cell| self.has(cell));
        cells
    }

    /// The box that a sheet shows.
    pub(super) fn shown(&self, cell: Cell) -> Bounds {
        let (step_x, step_y) = self.tile.step();
        let min = Point::new(cell.column as f64 * step_x, cell.row as f64 * step_y);
        Bounds {
            min,
            max: min + Vector::new(self.tile.width, self.tile.height),
        }
    }

    /// Name of a sheet: rows are letters from the top, columns numbers from the left.
    pub(super) fn name(&self, cell: Cell) -> String {
        format!("{}{}", letters(self.rows - 1 - cell.row), cell.column + 1)
    }

    /// How far neighbours overlap, mm.
    pub(super) fn overlap(&self) -> f64 {
        self.tile.overlap
    }

    /// The box around all sheets that are printed.
    pub(super) fn extent(&self) -> Bounds {
        let boxes = self.cells.iter().map(|&cell| self.cell_bounds(cell));
        let all = boxes.reduce(|a, b| a.union(&b));
        all.unwrap_or_else(|| self.templates[0].bounds())
    }

    /// Whether the sheet is printed.
    pub(super) fn has(&self, cell: Cell) -> bool {
        self.cells.contains(&cell)
    }

    /// The sheet's own part of the grid, between the seams.
    pub(super) fn cell_bounds(&self, cell: Cell) -> Bounds {
        let half = self.tile.overlap / 2.0;
        let mut bounds = self.shown(cell);
        if cell.column > 0 {
            bounds.min.x += half;
        }
        if cell.row > 0 {
            bounds.min.y += half;
        }
        if cell.column + 1 < self.columns {
            bounds.max.x -= half;
        }
        if cell.row + 1 < self.rows {
            bounds.max.y -= half;
        }
        bounds
    }

    /// The sheets whose cells `template` reaches into, row by row from the top.
    fn reached(&self, template: &Template) -> Vec<Cell> {
        let (columns, rows) = (self.columns, self.rows);
        if columns * rows == 1 {
            return vec![Cell { column: 0, row: 0 }];
        }
        let bounds: Vec<Bounds> = (0..columns * rows)
            .map(|i| {
                self.cell_bounds(Cell {
                    column: i % columns,
                    row: i / columns,
                })
            })
            .collect();
        let mut reached = vec![false; columns * rows];
        let (step_x, step_y) = self.tile.step();
        let index = |v: f64, step: f64, n: usize| ((v / step).floor().max(0.0) as usize).min(n - 1);
        for ring in template.cut.rings() {
            for (a, b) in ring.edges() {
                // The cells near the edge: one more on each side for the half overlap.
                let (x0, x1) = (a.x.min(b.x), a.x.max(b.x));
                let (y0, y1) = (a.y.min(b.y), a.y.max(b.y));
                let (c0, c1) = (index(x0, step_x, columns), index(x1, step_x, columns));
                let (r0, r1) = (index(y0, step_y, rows), index(y1, step_y, rows));
                for row in r0.saturating_sub(1)..=r1 {
                    for column in c0.saturating_sub(1)..=c1 {
                        let i = row * columns + column;
                        reached[i] = reached[i] || bounds[i].part_of_edge(a, b).is_some();
                    }
                }
            }
        }
        let mut cells = Vec::new();
        for row in (0..rows).rev() {
            for column in 0..columns {
                let i = row * columns + column;
                if reached[i] || template.cut.contains(bounds[i].centre()) {
                    cells.push(Cell { column, row });
                }
            }
        }
        cells
    }
}

/// Whether one can go from each of `cells` to each other across their sides.
fn hang_together(cells: &[Cell]) -> bool {
    let Some(&first) = cells.first() else {
        return false;
    };
    let (mut seen, mut next) = (vec![first], 0);
    while let Some(&from) = seen.get(next) {
        next += 1;
        for &cell in cells {
            let apart = cell.column.abs_diff(from.column) + cell.row.abs_diff(from.row);
            if apart == 1 && !seen.contains(&cell) {
                seen.push(cell);
            }
        }
    }
    seen.len() == cells.len()
}

/// The box around `outline` turned by `angle`.
fn turned_bounds(outline: &Outline, angle: Angle) -> Bounds {
    let turn = crate::geometry::Turn::rotation(angle);
    let points = outline.outer.points().iter().map(|&p| turn.apply(p));
    Bounds::of(points).expect("a ring has points")
}

/// The numbers of `templates`: `3, 4`.
pub(super) fn numbers<'t>(templates: impl IntoIterator<Item = &'t Template>) -> String {
    let numbers = templates.into_iter().map(|t| t.number.to_string());
    numbers.collect::<Vec<_>>().join(", ")
}

#[cfg(test)]
pub(super) mod tests {
    use super::super::shape::Lay;
    use super::*;
    use crate::cloth::Weave;
    use crate::geometry::Ring;

    pub(in super::super) const TILE: Tile = Tile {
        width: 190.0,
        height: 260.0,
        overlap: 10.0,
    };

    pub(in super::super) fn strip(width: f64, height: f64) -> Template {
        let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
        let ring = Ring::new(corners.map(|(x, y)| Point::new(x, y))).unwrap();
        Template {
            number: 1,
            lays: vec![Lay {
                plies: vec!["P-1".into()],
                count: 1,
                cloth: "c".into(),
                weave: Weave::Plain,
                angle: crate::units::PlyAngle::default(),
                notes: Vec::new(),
                warp: Angle::ZERO,
                face_down: Vec::new(),
                purpose: crate::output::drawing::templates::Purpose::Cut,
            }],
            cut: Outline::solid(ring.clone()),
            net: Outline::solid(ring),
            marks: Vec::new(),
            joints: Vec::new(),
            start: None,
            zero: Angle::ZERO,
        }
    }

    #[test]
    fn a_piece_is_turned_to_need_the_fewest_sheets() {
        // 300 mm do not fit across or along a sheet, but across its diagonal.
        assert_eq!(Tiling::best(&strip(300.0, 10.0), TILE).cells.len(), 1);
        // Two sheets of 260 mm, end to end with 10 mm of overlap.
        assert_eq!(Tiling::best(&strip(510.0, 190.0), TILE).cells.len(), 2);
        assert_eq!(Tiling::best(&strip(511.0, 190.0), TILE).cells.len(), 3);
    }

    #[test]
    fn sheets_without_a_line_are_left_out_where_the_others_hang_together() {
        // Four by three sheets, of which the two in the middle show nothing.
        let wide = Tiling::best(&strip(720.0, 740.0), TILE);
        assert_eq!((wide.columns, wide.rows), (4, 3));
        assert_eq!(wide.cells.len(), 10);
        let cell = |column, row| Cell { column, row };
        assert!(!wide.has(cell(1, 1)) && !wide.has(cell(2, 1)));
        assert!(hang_together(&wide.cells));
        assert!(!hang_together(&[cell(0, 0), cell(1, 1)]));
        // A hole to drill there keeps its sheet.
        let mut drilled = strip(720.0, 740.0);
        drilled.marks.push(crate::ply::Mark {
            kind: crate::ply::MarkKind::Drill,
            points: [(270.0, 370.0), (275.0, 370.0)]
                .map(|(x, y)| Point::new(x, y))
                .to_vec(),
            closed: false,
        });
        let drilled = Tiling::best(&drilled, TILE);
        assert_eq!(drilled.cells.len(), 11);
        assert!(drilled.has(cell(1, 1)));
    }

    #[test]
    fn every_point_of_the_line_is_on_a_printed_sheet() {
        let mut lean = strip(900.0, 30.0).turned(Angle::degrees(40.0));
        lean = lean.shifted(Vector::new(3.0, 7.0));
        let tiling = Tiling::best(&lean, TILE);
        let ring = &tiling.templates[0].cut.outer;
        for (a, b) in ring.edges() {
            for i in 0..100 {
                let p = a.towards(b, f64::from(i) / 100.0);
                let shown = tiling.cells.iter().any(|&cell| {
                    let b = tiling.shown(cell);
                    p.x >= b.min.x && p.x <= b.max.x && p.y >= b.min.y && p.y <= b.max.y
                });
                assert!(shown, "{p:?}");
            }
        }
    }

    #[test]
    fn sheets_are_named_like_a_map() {
        assert_eq!(
            (letters(0), letters(25), letters(26)),
            ("A".into(), "Z".into(), "AA".into())
        );
    }
}
