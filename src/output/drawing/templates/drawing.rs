//! Sheets: the lines of templates, seams, matching marks, and what stands below them.

use super::arrows::{WarpLine, arrow_texts, warp_lines};
use super::labels::{LabelPlace, draw_label, draw_words, joint_texts, place_label, room};
use super::paper::PatternPaper;
use super::shape::Template;
use super::tags::Tags;
use super::tiling::{Cell, Tiling, numbers};
use crate::geometry::{Bounds, Point, Vector, trig};
use crate::output::drawing::face;
use crate::output::drawing::label::SEPARATOR;
use crate::output::drawing::page::Page;
use crate::output::drawing::pens::{CUT, SEAM, pen};
use crate::output::drawing::shape::{Align, Shape};
use crate::output::drawing::start::{draw_start_lines, write_start};
use crate::output::style::{Layer, Pen, ink, stroke};
use crate::units::Angle;

const FRAME: Pen = Pen::solid(ink::PALE, stroke::HAIR);
const CROSS: Pen = Pen::solid(ink::BLACK, stroke::HAIR);

/// The sheets of `tiling`, which is number `map`; `pages` are the first one and how many the file
/// has.
pub(super) fn draw_sheets(
    paper: &PatternPaper,
    (map, tiling): (usize, &Tiling),
    (first, n_pages): (usize, usize),
) -> Vec<Page> {
    let placed: Vec<OnGrid> = (tiling.templates.iter())
        .map(|template| OnGrid::on(tiling, template))
        .collect();
    let cells = tiling.cells.iter().enumerate();
    cells
        .map(|(i, &cell)| {
            let pages = (first + i, n_pages);
            match tiling.cells.len() {
                1 => draw_single(paper, (tiling, &placed), pages),
                _ => draw_tile(paper, (map, tiling, &placed), cell, pages),
            }
        })
        .collect()
}

/// A template on a grid, in the grid's frame.
struct OnGrid {
    /// The sheets that it reaches into.
    cells: Vec<Cell>,
    /// The sheet that carries its label, and where: the one with the most room for it.
    label: Option<(Cell, LabelPlace)>,
    arrows: Vec<WarpLine>,
}

impl OnGrid {
    fn on(tiling: &Tiling, template: &Template) -> Self {
        let cells = tiling.sheets_of(template);
        let mut label: Option<(Cell, LabelPlace)> = None;
        for &cell in &cells {
            let shown = tiling.shown(cell);
            // What lies on one sheet is clear of its seams.
            let clear = match cells.len() {
                1 => shown,
                _ => shown.grown(-off_seam(tiling)),
            };
            let place = place_label(template, &clear);
            let size = |place: &LabelPlace| place.bounds.width();
            let best = label.as_ref().map_or(0.0, |(_, place)| size(place));
            if let Some(place) = place.filter(|place| size(place) > best + 1e-9) {
                label = Some((cell, place));
            }
        }
        Self {
            arrows: warp_lines(template, label.map(|(_, place)| place.bounds)),
            label,
            cells,
        }
    }

    fn arrows_on(&self, to_page: Vector) -> Vec<WarpLine> {
        self.arrows
            .iter()
            .map(|line| line.shifted(to_page))
            .collect()
    }

    /// Where the label stands on `cell`, if it does.
    fn label_on(&self, cell: Cell, to_page: Vector) -> Option<LabelPlace> {
        let (_, place) = self.label.filter(|&(main, _)| main == cell)?;
        Some(place.shifted(to_page))
    }
}

/// How far from the edge of a sheet texts are clear of seams and crosses, mm.
fn off_seam(tiling: &Tiling) -> f64 {
    tiling.overlap() / 2.0 + 5.0
}

/// One sheet of several that belong together.
fn draw_tile(
    paper: &PatternPaper,
    (map, tiling, placed): (usize, &Tiling, &[OnGrid]),
    cell: Cell,
    pages: (usize, usize),
) -> Page {
    let shown = tiling.shown(cell);
    let tops = tiling.templates.iter().map(|t| t.bounds().max.y);
    let top = shown.max.y.min(tops.fold(0.0, f64::max) + 1.0);
    let height = paper.height(top - shown.min.y);
    let to_page = paper.corner() - (shown.min - Point::default());
    let name = tiling.name(cell);
    let mut sheet = Page::new(paper.width, height);
    let page = &mut sheet;
    let low = Point::default() + paper.corner();
    let high = Point::new(page.width() - paper.margin, page.height() - paper.margin);
    let frame = Bounds {
        min: low,
        max: high,
    };
    page.draw(Shape::Rectangle(frame), FRAME);
    // A line along the edge of the sheet is shown in its full width.
    let shown = frame.grown(CUT.width);
    page.within(shown, |page| {
        let on_page: Vec<Template> = (tiling.templates.iter())
            .map(|template| template.shifted(to_page))
            .collect();
        for placed in placed {
            let arrows = placed.arrows.iter();
            arrows.for_each(|line| line.shifted(to_page).draw(page));
        }
        let starts = on_page.iter().filter_map(|template| template.start);
        starts.for_each(|start| draw_start_lines(page, &start));
        seams(page, tiling, cell, &frame);
        let clear = frame.grown(-off_seam(tiling));
        let mut tags = Tags::new(&on_page, clear);
        for (i, (template, placed)) in on_page.iter().zip(placed).enumerate() {
            if !placed.cells.contains(&cell) {
                continue;
            }
            let clear = match placed.cells.len() {
                1 => &frame,
                _ => &clear,
            };
            let taken = match placed.label_on(cell, to_page) {
                Some(label) if placed.cells.len() > 1 => {
                    draw_label(page, template, &label);
                    Some(label.bounds)
                }
                label if placed.cells.len() == 1 => tags.name(page, i, label),
                _ => room(template, &template.cut, Some(clear)).and_then(|part| {
                    let text = format!("{}{SEPARATOR}{name}", template.name());
                    draw_words(page, &text, &part)
                }),
            };
            joint_texts(page, template, clear);
            let arrows = placed.arrows_on(to_page);
            arrow_texts(page, &arrows, clear, taken.into_iter().collect());
        }
        // Last of all, so that no word hides a line to cut by.
        let lines = on_page.iter();
        lines.for_each(|template| draw_lines(page, template, &shown));
    });
    let on_sheet: Vec<&Template> = (tiling.templates.iter().zip(placed))
        .filter(|(_, placed)| placed.cells.contains(&cell))
        .map(|(template, _)| template)
        .collect();
    let (title, what) = foot_words(&on_sheet);
    let grid = format!(
        "map {map}{SEPARATOR}sheet {name}{SEPARATOR}{} × {} sheets, rows from the top",
        tiling.columns, tiling.rows
    );
    let more = format!("{grid}{SEPARATOR}{what}");
    foot(page, paper, &title, &more, pages);
    sheet
}

/// A sheet by itself.
fn draw_single(
    paper: &PatternPaper,
    (tiling, placed): (&Tiling, &[OnGrid]),
    pages: (usize, usize),
) -> Page {
    let tops = tiling.templates.iter().map(|t| t.bounds().max.y);
    let height = paper.height(tops.fold(0.0, f64::max) + 1.0);
    let to_page = paper.corner();
    let mut sheet = Page::new(paper.width, height);
    let page = &mut sheet;
    let frame = Bounds {
        min: Point::default() + to_page,
        max: Point::new(page.width() - paper.margin, page.height() - paper.margin),
    };
    let on_page: Vec<Template> = (tiling.templates.iter())
        .map(|template| template.shifted(to_page))
        .collect();
    let mut tags = Tags::new(&on_page, frame);
    for (i, (template, placed)) in on_page.iter().zip(placed).enumerate() {
        let arrows = placed.arrows_on(to_page);
        arrows.iter().for_each(|line| line.draw(page));
        if let Some(start) = &template.start {
            draw_start_lines(page, start);
        }
        let label = tiling.cells.first();
        let label = label.and_then(|&cell| placed.label_on(cell, to_page));
        let taken = tags.name(page, i, label);
        joint_texts(page, template, &frame);
        arrow_texts(page, &arrows, &frame, taken.into_iter().collect());
        draw_lines(page, template, &frame);
    }
    let on_sheet: Vec<&Template> = tiling.templates.iter().collect();
    let (title, what) = foot_words(&on_sheet);
    foot(page, paper, &title, &what, pages);
    sheet
}

/// Which templates a sheet shows: in large letters, and what else there is to say of them.
fn foot_words(templates: &[&Template]) -> (String, String) {
    match templates {
        [only] => (format!("{}  {}", only.number, only.name()), only.facts()),
        several => {
            let names: Vec<String> = several.iter().map(|t| t.name()).collect();
            let title = format!("Templates {}", numbers(several.iter().copied()));
            (title, names.join(SEPARATOR))
        }
    }
}

/// Cut line, net line, marks, joints and the word at the start of a template, as far as `frame` shows them; the net line
/// lies lowest.
fn draw_lines(page: &mut Page, template: &Template, frame: &Bounds) {
    if let Some(start) = &template.start {
        write_start(page, start);
    }
    let lines = template.lines();
    let is_net = |layer: Layer| layer == Layer::Net;
    let (net, others): (Vec<_>, Vec<_>) = lines.outlines().partition(|(layer, _)| is_net(*layer));
    for (layer, shape) in net.into_iter().chain(others).chain(lines.joints()) {
        match shape {
            Shape::Area { rings, .. } => {
                for ring in &rings {
                    draw_ring(page, ring, pen(layer), frame);
                }
            }
            shape => page.draw(shape, pen(layer)),
        }
    }
}

/// Only the edges that the sheet shows: a large outline stands on many.
fn draw_ring(page: &mut Page, ring: &[Point], pen: Pen, frame: &Bounds) {
    let next = ring.iter().cycle().skip(1);
    let edges: Vec<(Point, Point)> = ring.iter().copied().zip(next.copied()).collect();
    let is_shown: Vec<bool> = edges
        .iter()
        .map(|&(a, b)| frame.part_of_edge(a, b).is_some())
        .collect();
    if is_shown.iter().all(|&shown| shown) {
        let (points, closed) = (ring.to_vec(), true);
        page.draw(Shape::Line { points, closed }, pen);
        return;
    }
    // Begin at an edge that is not shown, so that no run is torn at the start.
    let n = edges.len();
    let first = is_shown.iter().position(|&shown| !shown).unwrap_or(0);
    let mut run: Vec<Point> = Vec::new();
    for k in (0..n).map(|i| (first + i) % n) {
        if is_shown[k] {
            if run.is_empty() {
                run.push(edges[k].0);
            }
            run.push(edges[k].1);
        } else if !run.is_empty() {
            page.draw(Shape::line(&std::mem::take(&mut run)), pen);
        }
    }
    if !run.is_empty() {
        page.draw(Shape::line(&run), pen);
    }
}

/// Seams to the neighbours, with crosses that must meet and the neighbours' names.
fn seams(page: &mut Page, tiling: &Tiling, cell: Cell, frame: &Bounds) {
    let half = tiling.overlap() / 2.0;
    let middle = frame.centre();
    let neighbours = [
        (1, 0, Point::new(frame.max.x - half, middle.y), "→"),
        (-1, 0, Point::new(frame.min.x + half, middle.y), "←"),
        (0, 1, Point::new(middle.x, frame.max.y - half), "↑"),
        (0, -1, Point::new(middle.x, frame.min.y + half), "↓"),
    ];
    for (right, up, at, arrow) in neighbours {
        let column = cell.column.checked_add_signed(right);
        let row = cell.row.checked_add_signed(up);
        let (Some(column), Some(row)) = (column, row) else {
            continue;
        };
        let neighbour = Cell { column, row };
        if !tiling.has(neighbour) {
            continue;
        }
        let (along, extent) = if right != 0 {
            (Vector::new(0.0, 1.0), frame.height())
        } else {
            (Vector::new(1.0, 0.0), frame.width())
        };
        page.edge(
            [at - along * (extent / 2.0), at + along * (extent / 2.0)],
            SEAM,
        );
        for share in [-0.3, 0.3] {
            cross(page, at + along * (extent * share));
        }
        let angle = if right != 0 {
            Angle::degrees(90.0)
        } else {
            Angle::ZERO
        };
        let (sin, cos) = trig::sin_cos(angle);
        // Within the overlap, on the side of the sheet that is not covered by the neighbour.
        let inwards = Vector::new(-right as f64, -up as f64);
        let text = format!("{arrow} {}", tiling.name(neighbour));
        let down = Vector::new(sin, -cos) * 0.9;
        let place = at + inwards * (half * 0.5).min(2.5) + down;
        page.inset(&text, place, 1.8, angle);
    }
}

/// A cross in a circle: the same place on two sheets.
fn cross(page: &mut Page, at: Point) {
    for arm in [Vector::new(4.0, 0.0), Vector::new(0.0, 4.0)] {
        page.edge([at - arm, at + arm], CROSS);
    }
    let circle = Shape::Dot {
        centre: at,
        radius: 2.5,
    };
    page.draw(circle, CROSS);
}

/// What stands below the pattern: the sheet's name, its page, and a scale.
fn foot(page: &mut Page, paper: &PatternPaper, title: &str, more: &str, (n, of): (usize, usize)) {
    let (left, right) = (paper.margin, page.width() - paper.margin);
    let (upper, lower) = (paper.margin + 7.6, paper.margin + 1.2);
    let mut number = format!("page {n} of {of}");
    if !paper.marks.is_empty() {
        number = [paper.marks.as_str(), &number].join(SEPARATOR);
    }
    page.text(
        &number,
        Point::new(right, upper),
        2.4,
        Align::Right,
        ink::BLACK,
    );
    let free = right - left - face::width(&number, 2.4) - 4.0;
    let title = face::fitted(title, 2.8, free * 0.45);
    page.words(&title, Point::new(left, upper), 2.8);
    let used = face::width(&title, 2.8) + 4.0;
    let more = face::fitted(more, 2.0, free - used);
    page.words(&more, Point::new(left + used, upper), 2.0);
    scale(page, Point::new(left, lower));
}

/// A bar of 100 mm with marks every 10, and what to do with it.
fn scale(page: &mut Page, at: Point) {
    let pen = Pen::solid(ink::BLACK, 0.15);
    page.edge([at, at + Vector::new(100.0, 0.0)], pen);
    for i in 0..=10 {
        let height = if i % 5 == 0 { 2.4 } else { 1.4 };
        let foot = at + Vector::new(f64::from(i) * 10.0, 0.0);
        page.edge([foot, foot + Vector::new(0.0, height)], pen);
    }
    let words = "100 mm: measure it before you cut";
    page.text(
        words,
        at + Vector::new(103.0, 0.2),
        1.8,
        Align::Left,
        ink::GREY,
    );
}
