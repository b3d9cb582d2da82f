//! The pages before the sheets: two squares to check the printer by, what the lines mean, the list
//! of templates, and the assembly maps.

use super::Purpose;
use super::paper::PatternPaper;
use super::shape::{Lay, Template, letter};
use super::tiling::Tiling;
use crate::geometry::{Bounds, Point, Vector, largest_box};
use crate::output::drawing::compass::draw_compass;
use crate::output::drawing::face;
use crate::output::drawing::page::Page;
use crate::output::drawing::pens::{CUT, MARK, NET, SEAM, SPLICE, START, WARP, ZERO, arrow};
use crate::output::drawing::shape::{Align, Shape};
use crate::output::style::{Pen, ink};
use crate::plan::Plan;
use crate::units::Angle;

/// A template with the pages it is on.
pub(super) struct CoverEntry<'t> {
    pub(super) template: &'t Template,
    /// In ascending order.
    pub(super) pages: Vec<usize>,
}

impl CoverEntry<'_> {
    /// `8–12`, or `8, 10–11`.
    fn page_ranges(&self) -> String {
        let mut runs: Vec<(usize, usize)> = Vec::new();
        for &page in &self.pages {
            match runs.last_mut() {
                Some((_, last)) if *last + 1 == page => *last = page,
                _ => runs.push((page, page)),
            }
        }
        let shown = runs.iter().map(|&(first, last)| match last - first {
            0 => first.to_string(),
            _ => format!("{first}–{last}"),
        });
        shown.collect::<Vec<_>>().join(", ")
    }
}

/// Height of a page of a roll before the sheets.
const ROLL_PAGE: f64 = 297.0;
/// From line to line of the list, mm.
const ROW: f64 = 7.0;
/// Room above the first line of the list, mm.
const HEAD: f64 = 22.0;
/// Room for one map, mm.
const MAP: (f64, f64) = (90.0, 82.0);

fn height(paper: &PatternPaper) -> f64 {
    paper.height(ROLL_PAGE)
}

fn rows_on_a_page(paper: &PatternPaper) -> usize {
    let free = height(paper) - 2.0 * paper.margin - HEAD;
    ((free / ROW).floor() as usize).max(1)
}

fn map_grid(paper: &PatternPaper) -> (usize, usize) {
    let fit = |free: f64, size: f64| ((free / size).floor() as usize).max(1);
    (
        fit(paper.width - 2.0 * paper.margin, MAP.0),
        fit(height(paper) - 2.0 * paper.margin - HEAD, MAP.1),
    )
}

/// Pages that a list of `n_rows` takes.
pub(super) fn list_pages(paper: &PatternPaper, n_rows: usize) -> usize {
    n_rows.div_ceil(rows_on_a_page(paper))
}

/// Pages that the maps take.
pub(super) fn map_pages(paper: &PatternPaper, n_maps: usize) -> usize {
    let (columns, rows) = map_grid(paper);
    n_maps.div_ceil(columns * rows)
}

/// The first page.
pub(super) fn draw_cover(
    plan: &Plan,
    paper: &PatternPaper,
    templates: &[Template],
    n_pages: usize,
    purpose: Purpose,
) -> Page {
    let mut sheet = Page::new(paper.width, height(paper));
    let page = &mut sheet;
    let (left, top) = (paper.margin + 2.0, page.height() - paper.margin);
    let right = page.width() - paper.margin;
    let title = face::fitted(plan.title(), 5.0, right - left);
    page.words(&title, Point::new(left, top - 9.0), 5.0);
    let what = match purpose {
        Purpose::Cut => "True-scale templates",
        Purpose::Trim => "Trim and drill templates of the finished parts, true scale,",
    };
    let about = format!(
        "{what} on {}, {n_pages} pages. Print at 100 % (actual size), never fitted to the page.",
        paper.name
    );
    let about = face::fitted(&about, 2.4, right - left);
    page.words(&about, Point::new(left, top - 16.0), 2.4);
    page.words(&paper.marks, Point::new(left, top - 20.0), 2.4);
    let metric = Point::new(left, top - 22.0 - 100.0);
    square(page, metric, 100.0, "100 mm × 100 mm");
    square(
        page,
        metric - Vector::new(0.0, 106.0 + 1.6),
        101.6,
        "4 in × 4 in",
    );
    let at = Point::new(left + 108.0, top - 28.0);
    match purpose {
        Purpose::Cut => legend(page, at, templates),
        Purpose::Trim => trim_legend(page, at),
    }
    sheet
}

/// A square to measure, with its size inside.
fn square(page: &mut Page, corner: Point, side: f64, size: &str) {
    let bounds = Bounds {
        min: corner,
        max: corner + Vector::new(side, side),
    };
    page.draw(Shape::Rectangle(bounds), Pen::solid(ink::BLACK, 0.2));
    let middle = bounds.centre();
    page.text(size, middle, 3.4, Align::Middle, ink::BLACK);
    let words = "measure from the middle of one line to the middle of the other";
    page.text(
        words,
        middle - Vector::new(0.0, 7.0),
        1.8,
        Align::Middle,
        ink::GREY,
    );
}

/// What the lines mean and what to do, in a column from `at` downwards.
fn legend(page: &mut Page, at: Point, templates: &[Template]) {
    const HOW: [&str; 16] = [
        "1. Measure both squares. If a side is off by",
        "    more than 0.5 mm, print again at 100 %.",
        "2. Cut one sheet of a pair along the seam,",
        "    lay it on the other so that the crosses",
        "    meet, and tape. The maps show the order.",
        "3. Cut along the black line: the allowance is",
        "    in it. The dashed line is the finished edge.",
        "4. Lay the template on the cloth with its",
        "    printed side up and the warp arrow along",
        "    the roll. It shows the ply as it lies on the",
        "    mould, seen from the bag side. Where a",
        "    label says so, turn the paper over.",
        "5. A sheet number such as B2 is row B from",
        "    the top, column 2 from the left. Sheets",
        "    without any line are left out.",
        "6. Mark each piece with its name as you go.",
    ];
    const SHARED: [&str; 4] = [
        "7. Several warp arrows: the template serves",
        "    several plies. Find your ply in the label,",
        "    and lay the arrow with the letter of its",
        "    line along the roll.",
    ];
    let is_spliced = templates.iter().any(|t| !t.joints.is_empty());
    let is_shared = templates.iter().any(|t| t.lays.len() > 1);
    let warp = |page: &mut Page, [tail, tip]: [Point; 2]| {
        page.arrow(&arrow(tail, tip, 5.0), WARP);
    };
    let mut column = CoverColumn { page, at };
    column.line(CUT, "cut here");
    column.line(NET, "finished edge");
    column.sample(&warp, "warp, along the roll");
    column.line(ZERO, "0° of the part");
    column.line(MARK, "notch or drill mark");
    if templates.iter().any(|t| t.start.is_some()) {
        column.line(START, "from the start on the mould");
    }
    if is_spliced {
        column.line(SPLICE, "edge of the piece beside it");
    }
    column.line(SEAM, "seam to the next sheet");
    let shared = SHARED.iter().filter(|_| is_shared);
    column.words(HOW.iter().chain(shared));
}

/// The same for templates of finished parts.
fn trim_legend(page: &mut Page, at: Point) {
    const HOW: [&str; 12] = [
        "1. Measure both squares. If a side is off by",
        "    more than 0.5 mm, print again at 100 %.",
        "2. Cut one sheet of a pair along the seam,",
        "    lay it on the other so that the crosses",
        "    meet, and tape. The maps show the order.",
        "3. Lay the template on the cured part,",
        "    printed side up, 0° along the mark on the",
        "    flange: it is seen from the bag side. On a",
        "    curved part it holds only where it lies flat.",
        "4. Mark the edge and the openings, prick",
        "    through the holes to drill. Trim, then drill",
        "    with a backing board, wet or with extraction.",
    ];
    let mut column = CoverColumn { page, at };
    column.line(CUT, "finished edge: trim here");
    column.line(MARK, "hole to drill");
    column.line(ZERO, "0° of the part");
    column.line(SEAM, "seam to the next sheet");
    column.words(&HOW);
}

/// Samples of lines and words below one another.
struct CoverColumn<'p> {
    page: &'p mut Page,
    at: Point,
}

impl CoverColumn<'_> {
    fn sample(&mut self, draw: &dyn Fn(&mut Page, [Point; 2]), words: &str) {
        let at = self.at;
        let ends = [0.0, 18.0].map(|x| at + Vector::new(x, 1.0));
        draw(self.page, ends);
        let beside = at + Vector::new(22.0, 0.0);
        self.page.words(words, beside, 2.2);
        self.at.y -= 7.0;
    }

    fn line(&mut self, pen: Pen, words: &str) {
        self.sample(&|page, line| page.edge(line, pen), words);
    }

    fn words<'w>(&mut self, lines: impl IntoIterator<Item = &'w &'w str>) {
        self.at.y -= 5.0;
        for line in lines {
            self.page.words(line, self.at, 2.1);
            self.at.y -= 5.0;
        }
    }
}

/// The list of templates.
pub(super) fn draw_list(paper: &PatternPaper, entries: &[CoverEntry<'_>]) -> Vec<Page> {
    let rows: Vec<(&CoverEntry<'_>, usize)> = entries
        .iter()
        .flat_map(|entry| (0..entry.template.lays.len()).map(move |lay| (entry, lay)))
        .collect();
    let mut pages = Vec::new();
    for rows in rows.chunks(rows_on_a_page(paper)) {
        let mut sheet = Page::new(paper.width, height(paper));
        let page = &mut sheet;
        let (left, top) = (paper.margin + 2.0, page.height() - paper.margin);
        let right = page.width() - paper.margin;
        heading(page, paper, "Templates");
        // Right edge of each column as a share of the width, but for the names.
        let width = right - left;
        let x = |share: f64| left + width * share;
        let columns = [0.0, 0.06, 0.47, 0.62, 0.70, 0.78];
        let heads = [
            "No.",
            "Plies",
            "Cloth",
            "Angle",
            "Cut",
            "Size of the paper, mm",
        ];
        let head = top - HEAD + 5.0;
        for (share, text) in columns.into_iter().zip(heads) {
            page.text(
                text,
                Point::new(x(share), head),
                1.9,
                Align::Left,
                ink::GREY,
            );
        }
        page.text(
            "Page",
            Point::new(right, head),
            1.9,
            Align::Right,
            ink::GREY,
        );
        for (i, &(entry, lay)) in rows.iter().enumerate() {
            let y = top - HEAD - i as f64 * ROW;
            if lay == 0 {
                let rule = Pen::solid(ink::PALE, 0.1);
                page.edge(
                    [Point::new(left, y + 4.6), Point::new(right, y + 4.6)],
                    rule,
                );
            }
            let columns = columns.map(x);
            list_row(page, (entry, lay), columns, right, y);
        }
        pages.push(sheet);
    }
    pages
}

/// A line for one lay of a template; what holds for all of it stands in the first.
fn list_row(
    page: &mut Page,
    (entry, lay): (&CoverEntry<'_>, usize),
    columns: [f64; 6],
    right: f64,
    y: f64,
) {
    const SIZE: f64 = 2.2;
    const SMALL: f64 = 1.8;
    let template = entry.template;
    let bounds = template.bounds();
    let is_first = lay == 0;
    let first = |text: String| if is_first { text } else { String::new() };
    let Lay {
        plies,
        cloth,
        angle,
        count,
        ..
    } = &template.lays[lay];
    let mut plies = match template.lays.len() {
        1 => plies.join(", "),
        _ => format!("{}  {}", letter(lay), plies.join(", ")),
    };
    let turned = template.lays[lay].turned_over();
    let room = columns[2] - columns[1] - 2.0;
    let whole = match &turned {
        Some(turned) => format!("{plies}: {turned}"),
        None => plies.clone(),
    };
    // On a line of its own, what is to be done is never cut off for the names.
    if let Some(turned) = turned.filter(|_| face::width(&whole, SIZE) > room) {
        let (turned, size) = face::set_within(&turned, [1.2, SMALL], room);
        page.words(&turned, Point::new(columns[1], y - 2.4), size);
    } else {
        plies = whole;
    }
    let cells = [
        first(template.number.to_string()),
        plies,
        cloth.clone(),
        format!("{}°", crate::number::number(angle.to_degrees(), 1)),
        format!("{count} ×"),
        first(format!("{:.0} × {:.0}", bounds.width(), bounds.height())),
    ];
    for (k, cell) in cells.iter().enumerate() {
        let end = columns.get(k + 1).copied().unwrap_or(right);
        let (shown, size) = face::set_within(cell, [1.4, SIZE], end - columns[k] - 2.0);
        page.words(&shown, Point::new(columns[k], y), size);
    }
    let pages = first(entry.page_ranges());
    page.text(&pages, Point::new(right, y), SIZE, Align::Right, ink::BLACK);
}

fn heading(page: &mut Page, paper: &PatternPaper, text: &str) {
    let at = Point::new(paper.margin + 2.0, page.height() - paper.margin - 8.0);
    page.words(text, at, 4.2);
}

/// How the sheets of each large template lie together; each grid with its first page.
pub(super) fn draw_maps(paper: &PatternPaper, tiled: &[(&Tiling, usize)]) -> Vec<Page> {
    let (columns, rows) = map_grid(paper);
    let mut pages = Vec::new();
    for (k, maps) in tiled.chunks(columns * rows).enumerate() {
        let mut sheet = Page::new(paper.width, height(paper));
        let page = &mut sheet;
        heading(page, paper, "Assembly maps");
        for (i, &(tiling, first)) in maps.iter().enumerate() {
            let (column, row) = (i % columns, i / columns);
            let top = page.height() - paper.margin - HEAD + 6.0 - row as f64 * MAP.1;
            let corner = Point::new(paper.margin + 2.0 + column as f64 * (MAP.0 + 3.0), top);
            let number = k * columns * rows + i + 1;
            draw_map(page, (number, tiling), corner, first);
        }
        pages.push(sheet);
    }
    pages
}

/// A map with its upper left corner at `at`.
fn draw_map(page: &mut Page, (number, tiling): (usize, &Tiling), at: Point, first_page: usize) {
    map_head(page, (number, tiling), at);
    let extent = tiling.extent();
    let scale = ((MAP.0 - 4.0) / extent.width()).min((MAP.1 - 20.0) / extent.height());
    let corner = at + Vector::new(0.0, -12.0 - extent.height() * scale);
    let to_map = |p: Point| corner + (p - extent.min) * scale;
    for template in &tiling.templates {
        let shape = Shape::area(&template.cut, &[]).mapped(to_map, scale);
        page.fill(shape.clone(), ink::CLOTH);
        page.draw(shape, Pen::solid(ink::BLACK, 0.2));
    }
    let mut middles = Vec::new();
    for (i, &cell) in tiling.cells.iter().enumerate() {
        let Bounds { min, max } = tiling.cell_bounds(cell);
        let bounds = Bounds {
            min: to_map(min),
            max: to_map(max),
        };
        page.draw(Shape::Rectangle(bounds), SEAM);
        let height = (bounds.height() * 0.25).min(bounds.width() * 0.22).min(3.0);
        let middle = bounds.centre();
        page.text(
            &tiling.name(cell),
            middle,
            height,
            Align::Middle,
            ink::BLACK,
        );
        let number = format!("p. {}", first_page + i);
        let below = middle - Vector::new(0.0, height * 1.3);
        page.text(&number, below, height * 0.6, Align::Middle, ink::BLACK);
        middles.extend([below, middle + Vector::new(0.0, height / 2.0)]);
    }
    if tiling.templates.len() > 1 {
        for template in &tiling.templates {
            number_on_map(page, template, scale, &to_map, &middles);
        }
    }
}

/// What stands above a map: whose it is, and its directions if it holds but one template.
fn map_head(page: &mut Page, (number, tiling): (usize, &Tiling), at: Point) {
    /// Room for a compass, mm, and for how many.
    const COMPASS: f64 = 12.0;
    const MOST: usize = 3;
    let templates = &tiling.templates;
    let (title, facts, lays) = match &templates[..] {
        [only] => (
            format!("{}  {}", only.number, only.name()),
            only.facts(),
            &only.lays[..only.lays.len().min(MOST)],
        ),
        [main, ..] => (
            format!("{}  {} …", tiling.numbers(), main.name()),
            format!("templates {} on the same sheets", tiling.numbers()),
            &[][..],
        ),
        [] => return,
    };
    let free = MAP.0 - 2.0 - COMPASS * lays.len() as f64;
    let line = |page: &mut Page, text: &str, height: f64, down: f64, colour| {
        let text = face::fitted(text, height, free);
        let at = at - Vector::new(0.0, down);
        page.text(&text, at, height, Align::Left, colour);
    };
    line(
        page,
        &format!("Map {number}:  {title}"),
        2.6,
        3.0,
        ink::BLACK,
    );
    line(page, &facts, 2.0, 7.0, ink::GREY);
    let cut = lays.iter().filter(|lay| lay.purpose == Purpose::Cut);
    for (i, lay) in cut.rev().enumerate() {
        let centre = at + Vector::new(MAP.0 - 9.0 - COMPASS * i as f64, -5.5);
        draw_compass(page, &lay.directions(templates[0].zero), centre, 5.2);
    }
}

/// The number of a template where there is most room for it, off the names of the sheets.
fn number_on_map(
    page: &mut Page,
    template: &Template,
    scale: f64,
    to_map: &impl Fn(Point) -> Point,
    taken: &[Point],
) {
    const HEIGHT: f64 = 2.4;
    let room = largest_box(&template.cut, 1.2);
    let middle = to_map(room.centre);
    let reach = (room.height * scale / 2.0).max(HEIGHT);
    let off = |at: &Point| {
        let nearest = taken
            .iter()
            .map(|t| t.distance(*at))
            .fold(f64::INFINITY, f64::min);
        nearest.min(3.0 * HEIGHT)
    };
    let tried = [(0.0, 0.0), (0.0, 1.0), (0.0, -1.0), (1.0, 0.0), (-1.0, 0.0)];
    let places = tried.map(|(x, y)| middle + Vector::new(x, y) * (reach * 0.8));
    let best = places
        .into_iter()
        .rev()
        .max_by(|a, b| off(a).total_cmp(&off(b)))
        .unwrap_or(middle);
    let at = best - Vector::new(0.0, HEIGHT / 2.0);
    page.inset(&template.number.to_string(), at, HEIGHT, Angle::ZERO);
}
