//! Sheets: templates as they are drawn, seams, matching marks, and what stands below them.

use super::shape::Template;
use super::sharing::Shared;
use super::tiling::{Cell, Tile, Tiling, crosses, part_within};
use crate::geometry::{Bounds, Outline, Point, Ring, Vector, largest_box, trig};
use crate::job::Outputs;
use crate::output::joint;
use crate::output::label::{SEPARATOR, TextSize};
use crate::output::pdf::{Align, Document, Page, Pen};
use crate::output::style::{Colour, ink, stroke};
use crate::plan::PlacedJoint;
use crate::ply::{Joint, Lies};
use crate::units::Angle;

/// Height of the strip below the pattern with the sheet's name and a scale, mm.
const FOOT: f64 = 13.0;
/// A page of a paper roll is at most this long, mm: PDF allows 5080.
const LONGEST: f64 = 4000.0;

pub(super) const CUT: Pen = Pen::solid(ink::BLACK, stroke::LINE);
pub(super) const NET: Pen = Pen::dashed(ink::NET, stroke::THIN, stroke::NET_DASH);
pub(super) const MARK: Pen = Pen::solid(ink::MARK, 0.3);
pub(super) const SPLICE: Pen = Pen::solid(ink::SPLICE, 0.3);
pub(super) const WARP: Pen = Pen::solid(ink::FIBRE, 0.3);
pub(super) const ZERO: Pen = Pen::dashed(ink::BLACK, 0.3, (0.8, 0.8));
pub(super) const SEAM: Pen = Pen::dashed(ink::GREY, 0.2, (1.5, 1.5));
const FIBRES: Pen = Pen::solid(ink::FIBRE, 0.12);
const FRAME: Pen = Pen::solid(ink::PALE, stroke::HAIR);
const CROSS: Pen = Pen::solid(ink::BLACK, stroke::HAIR);

/// Heights of capitals beside a joint.
const JOINT_TEXT: TextSize = TextSize {
    least: 1.2,
    most: 3.0,
};

/// The paper and how it is divided.
pub(super) struct Paper {
    pub(super) name: String,
    pub(super) width: f64,
    /// None for a roll, whose pages are as long as what is on them.
    height: Option<f64>,
    pub(super) margin: f64,
    pub(super) tile: Tile,
}

impl Paper {
    pub(super) fn of(outputs: &Outputs) -> Self {
        let (width, height) = outputs.paper.size();
        let margin = outputs.paper_margin.to_mm();
        Self {
            name: outputs.paper.name(),
            width,
            height,
            margin,
            tile: Tile {
                width: width - 2.0 * margin,
                height: height.unwrap_or(LONGEST) - 2.0 * margin - FOOT,
                overlap: outputs.paper_overlap.to_mm(),
            },
        }
    }

    /// Height of a page on which the pattern is `used` mm high.
    pub(super) fn height(&self, used: f64) -> f64 {
        self.height.unwrap_or(used + 2.0 * self.margin + FOOT)
    }

    /// Lower left corner of the pattern on the page.
    fn corner(&self) -> Vector {
        Vector::new(self.margin, self.margin + FOOT)
    }
}

/// One sheet of a template that takes several.
pub(super) fn draw_tile(
    document: &mut Document,
    paper: &Paper,
    tiling: &Tiling,
    cell: Cell,
    pages: (usize, usize),
) {
    let shown = tiling.shown(cell);
    let top = shown.max.y.min(tiling.template.bounds().max.y + 1.0);
    let height = paper.height(top - shown.min.y);
    let to_page = paper.corner() - (shown.min - Point::default());
    let template = tiling.template.shifted(to_page);
    let name = tiling.name(cell);
    document.page(paper.width, height, |page| {
        let low = Point::default() + paper.corner();
        let high = Point::new(page.width() - paper.margin, page.height() - paper.margin);
        let frame = Bounds {
            min: low,
            max: high,
        };
        page.rings([frame.corners().as_slice()], FRAME);
        // A line along the edge of the sheet is shown in its full width.
        let shown = inset(&frame, -CUT.width);
        page.within([shown.min, shown.max], |page| {
            draw_lines(page, &template, &shown);
            seams(page, tiling, cell, &frame);
            let main = main_cell(tiling) == cell;
            // Clear of seams and crosses.
            let clear = inset(&frame, paper.tile.overlap / 2.0 + 5.0);
            joint_texts(page, &template, &clear);
            if let Some(part) = room(&template, Some(&clear)) {
                if main {
                    draw_label(page, &template, &part);
                } else {
                    let text = format!("{}{SEPARATOR}{name}", template.name());
                    draw_words(page, &text, &part);
                }
            }
        });
        let template = &tiling.template;
        let place = format!(
            "sheet {name}{SEPARATOR}{} × {} sheets, rows from the top",
            tiling.columns, tiling.rows
        );
        let title = format!("{}  {}", template.number, template.name());
        foot(
            page,
            paper,
            &title,
            &format!("{}{SEPARATOR}{place}", template.facts()),
            pages,
        );
    });
}

/// A sheet with small templates.
pub(super) fn draw_shared(
    document: &mut Document,
    paper: &Paper,
    sheet: &Shared,
    pages: (usize, usize),
) {
    let tops = sheet.templates.iter().map(|t| t.bounds().max.y);
    let height = paper.height(tops.fold(0.0, f64::max) + 1.0);
    document.page(paper.width, height, |page| {
        let frame = Bounds {
            min: Point::default() + paper.corner(),
            max: Point::new(page.width() - paper.margin, page.height() - paper.margin),
        };
        for template in &sheet.templates {
            let template = template.shifted(paper.corner());
            draw_lines(page, &template, &frame);
            joint_texts(page, &template, &frame);
            if let Some(room) = room(&template, None) {
                draw_label(page, &template, &room);
            }
        }
        let numbers: Vec<String> = sheet
            .templates
            .iter()
            .map(|t| t.number.to_string())
            .collect();
        let what = if numbers.len() == 1 {
            "Template"
        } else {
            "Templates"
        };
        let names: Vec<String> = sheet.templates.iter().map(Template::name).collect();
        foot(
            page,
            paper,
            &format!("{what} {}", numbers.join(", ")),
            &names.join(SEPARATOR),
            pages,
        );
    });
}

/// `bounds` made smaller by `mm` on every side.
fn inset(bounds: &Bounds, mm: f64) -> Bounds {
    let by = Vector::new(mm, mm);
    Bounds {
        min: bounds.min + by,
        max: bounds.max - by,
    }
}

/// The sheet that carries the label: the one with the most room for it.
fn main_cell(tiling: &Tiling) -> Cell {
    let room = |cell: &Cell| -> f64 {
        let part = room(&tiling.template, Some(&tiling.shown(*cell)));
        part.map_or(0.0, |part| largest_box(&part, 2.5).width)
    };
    let mut best = (tiling.cells[0], -1.0);
    for cell in &tiling.cells {
        let width = room(cell);
        if width > best.1 {
            best = (*cell, width);
        }
    }
    best.0
}

/// Cut line, net line, marks and warp line of a template, as far as `frame` shows them.
fn draw_lines(page: &mut Page<'_>, template: &Template, frame: &Bounds) {
    for (outline, pen) in [(&template.net, NET), (&template.cut, CUT)] {
        for ring in outline.rings() {
            draw_ring(page, ring, pen, frame);
        }
    }
    for mark in &template.marks {
        page.line(&mark.points, mark.closed, MARK);
    }
    for joined in &template.joints {
        page.line(&joined.joint.line, false, SPLICE);
    }
    if let Some([tail, tip]) = warp_line(template) {
        page.line(&[tail, tip], false, WARP);
        page.fill([arrow_head(tail, tip, 5.0).as_slice()], ink::FIBRE);
    }
}

/// What is written at the joints of a template, where `clear` shows them.
fn joint_texts(page: &mut Page<'_>, template: &Template, clear: &Bounds) {
    for joined in &template.joints {
        let [from, to] = joined.joint.line;
        let Some(line) = part_within(clear, from, to) else {
            continue;
        };
        let shown = PlacedJoint {
            mate: joined.mate.clone(),
            joint: Joint {
                line,
                ..joined.joint.clone()
            },
        };
        if let Some(text) = joint::text(&shown, JOINT_TEXT) {
            halo(page, &text.text, text.baseline(), text.height, text.angle);
        }
    }
}

/// Only the edges that the sheet shows: a large outline stands on many.
fn draw_ring(page: &mut Page<'_>, ring: &Ring, pen: Pen, frame: &Bounds) {
    let edges: Vec<(Point, Point)> = ring.edges().collect();
    let is_shown: Vec<bool> = edges.iter().map(|&(a, b)| crosses(frame, a, b)).collect();
    if is_shown.iter().all(|&shown| shown) {
        page.line(ring.points(), true, pen);
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
            page.line(&std::mem::take(&mut run), false, pen);
        }
    }
    if !run.is_empty() {
        page.line(&run, false, pen);
    }
}

/// Seams to the neighbours, with crosses that must meet and the neighbours' names.
fn seams(page: &mut Page<'_>, tiling: &Tiling, cell: Cell, frame: &Bounds) {
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
        page.line(
            &[at - along * (extent / 2.0), at + along * (extent / 2.0)],
            false,
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
        halo(page, &text, place, 1.8, angle);
    }
}

/// A cross in a circle: the same place on two sheets.
fn cross(page: &mut Page<'_>, at: Point) {
    for arm in [Vector::new(4.0, 0.0), Vector::new(0.0, 4.0)] {
        page.line(&[at - arm, at + arm], false, CROSS);
    }
    page.circle(at, 2.5, CROSS);
}

/// `text` in the middle of a white box.
fn halo(page: &mut Page<'_>, text: &str, at: Point, height: f64, angle: Angle) {
    let half = page.text_width(text, height) / 2.0 + height * 0.3;
    let (sin, cos) = trig::sin_cos(angle);
    let (along, up) = (Vector::new(cos, sin), Vector::new(-sin, cos));
    let corner = |a: f64, u: f64| at + along * (a * half) + up * (u * height);
    let white = [
        corner(-1.0, -0.35),
        corner(1.0, -0.35),
        corner(1.0, 1.3),
        corner(-1.0, 1.3),
    ];
    page.fill([white.as_slice()], ink::WHITE);
    page.turned_text(text, at, height, Align::Middle, angle, ink::BLACK);
}

/// Name, facts and the directions, in the largest room of `room`.
fn draw_label(page: &mut Page<'_>, template: &Template, room: &Outline) {
    /// Heights of capitals, mm.
    const MOST: f64 = 4.5;
    const LEAST: f64 = 1.5;
    const SMALLER: f64 = 0.72;
    let (name, facts) = (
        format!("{}  {}", template.number, template.name()),
        template.facts(),
    );
    let width = page
        .text_width(&name, 1.0)
        .max(page.text_width(&facts, SMALLER));
    // In heights of capitals: compass, gutter, text; two lines with air.
    let (compass, gutter, high) = (5.2, 0.8, 5.2);
    let wide = compass + gutter + width;
    let free = largest_box(room, wide / high);
    let height = (free.height * 0.92 / high).min(MOST);
    if height < LEAST {
        let text = template.number.to_string();
        draw_words(page, &text, room);
        return;
    }
    let left = free.centre.x - wide * height / 2.0;
    let middle = free.centre.y;
    let box_of = Bounds {
        min: Point::new(left, middle - high * height / 2.0),
        max: Point::new(left + wide * height, middle + high * height / 2.0),
    };
    page.fill([box_of.corners().as_slice()], ink::WHITE);
    let centre = Point::new(left + compass * height / 2.0, middle);
    draw_compass(page, template, centre, compass * height / 2.0);
    let x = left + (compass + gutter) * height;
    page.text(
        &name,
        Point::new(x, middle + 0.35 * height),
        height,
        Align::Left,
        ink::BLACK,
    );
    let below = Point::new(x, middle - 1.25 * height);
    page.text(&facts, below, height * SMALLER, Align::Left, ink::BLACK);
}

/// One line of text in the largest room of `room`.
fn draw_words(page: &mut Page<'_>, text: &str, room: &Outline) {
    let width = page.text_width(text, 1.0) + 0.6;
    let free = largest_box(room, width / 1.7);
    let height = (free.height * 0.9 / 1.7).min(3.0);
    if height > 0.7 {
        let at = free.centre - Vector::new(0.0, height / 2.0);
        halo(page, text, at, height, Angle::ZERO);
    }
}

/// A round picture of the fibres, the warp arrow through it, and the part's 0°.
pub(super) fn draw_compass(page: &mut Page<'_>, template: &Template, centre: Point, radius: f64) {
    /// Lines of fibres on each side of the middle.
    const N_LINES: i32 = 3;
    let disc = radius * 0.66;
    for (i, &fibre) in template.weave.fibres().iter().enumerate() {
        let n = if i == 0 { N_LINES } else { 2 };
        let (sin, cos) = trig::sin_cos(template.warp + Angle::degrees(fibre));
        for k in -n..=n {
            let off = disc * f64::from(k) / f64::from(n + 1);
            let half = (disc * disc - off * off).sqrt();
            let at = |along: f64| {
                centre + Vector::new(-sin * off + cos * along, cos * off + sin * along)
            };
            page.line(&[at(-half), at(half)], false, FIBRES);
        }
    }
    page.circle(centre, disc, Pen::solid(ink::GREY, 0.15));
    let towards = |angle: Angle, length: f64| {
        let (sin, cos) = trig::sin_cos(angle);
        centre + Vector::new(cos, sin) * length
    };
    let back = template.warp + Angle::degrees(180.0);
    let (tail, tip) = (
        towards(back, radius * 0.8),
        towards(template.warp, radius * 0.8),
    );
    page.line(&[tail, tip], false, WARP);
    page.fill([arrow_head(tail, tip, radius * 0.3).as_slice()], ink::FIBRE);
    let zero = towards(template.zero, radius * 0.75);
    page.line(&[centre, zero], false, ZERO);
    let height = radius * 0.26;
    let at = towards(template.zero, radius * 0.93) - Vector::new(0.0, height / 2.0);
    if height > 0.9 {
        page.text("0°", at, height, Align::Middle, ink::BLACK);
    }
}

/// The warp through the piece: along it, from edge to edge, where there is most room for it.
fn warp_line(template: &Template) -> Option<[Point; 2]> {
    /// Shorter lines (mm) give no direction.
    const LEAST: f64 = 30.0;
    const INSET: f64 = 5.0;
    let centre = largest_box(&template.net, 1.5).centre;
    let (sin, cos) = trig::sin_cos(template.warp);
    let along = Vector::new(cos, sin);
    let (mut back, mut ahead) = (f64::NEG_INFINITY, f64::INFINITY);
    for (a, b) in template.net.rings().flat_map(|ring| ring.edges()) {
        let (side_a, side_b) = (along.cross(a - centre), along.cross(b - centre));
        if (side_a > 0.0) == (side_b > 0.0) {
            continue;
        }
        let at = a.towards(b, side_a / (side_a - side_b));
        let t = along.dot(at - centre);
        if t < 0.0 {
            back = back.max(t);
        } else {
            ahead = ahead.min(t);
        }
    }
    let is_long = back.is_finite() && ahead.is_finite() && ahead - back > LEAST;
    is_long.then(|| {
        [
            centre + along * (back + INSET),
            centre + along * (ahead - INSET),
        ]
    })
}

pub(super) fn arrow_head(tail: Point, tip: Point, length: f64) -> [Point; 3] {
    let along = (tip - tail) * (1.0 / tip.distance(tail).max(1e-9));
    let across = Vector::new(-along.y, along.x) * (length * 0.28);
    let back = tip - along * length;
    [tip, back + across, back - across]
}

/// What stands below the pattern: the sheet's name, its page, and a scale.
fn foot(page: &mut Page<'_>, paper: &Paper, title: &str, more: &str, (n, of): (usize, usize)) {
    let (left, right) = (paper.margin, page.width() - paper.margin);
    let (upper, lower) = (paper.margin + 7.6, paper.margin + 1.2);
    let number = format!("page {n} of {of}");
    page.text(
        &number,
        Point::new(right, upper),
        2.4,
        Align::Right,
        ink::BLACK,
    );
    let free = right - left - page.text_width(&number, 2.4) - 4.0;
    let title = page.fitted(title, 2.8, free * 0.45);
    page.text(
        &title,
        Point::new(left, upper),
        2.8,
        Align::Left,
        ink::BLACK,
    );
    let used = page.text_width(&title, 2.8) + 4.0;
    let more = page.fitted(more, 2.0, free - used);
    page.text(
        &more,
        Point::new(left + used, upper),
        2.0,
        Align::Left,
        ink::BLACK,
    );
    scale(page, Point::new(left, lower), ink::BLACK);
}

/// A bar of 100 mm with marks every 10, and what to do with it.
fn scale(page: &mut Page<'_>, at: Point, colour: Colour) {
    let pen = Pen::solid(colour, 0.15);
    page.line(&[at, at + Vector::new(100.0, 0.0)], false, pen);
    for i in 0..=10 {
        let height = if i % 5 == 0 { 2.4 } else { 1.4 };
        let foot = at + Vector::new(f64::from(i) * 10.0, 0.0);
        page.line(&[foot, foot + Vector::new(0.0, height)], false, pen);
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

/// What of a template is free for a label: within `bounds`, and beside its laps, near enough to
/// find room: parts may hang together by lines without width (Sutherland and Hodgman 1974).
fn room(template: &Template, bounds: Option<&Bounds>) -> Option<Outline> {
    // Each side with how far inside it a point lies.
    let mut sides: Vec<Box<dyn Fn(Point) -> f64 + '_>> = Vec::new();
    if let Some(bounds) = bounds {
        sides.push(Box::new(|p| p.x - bounds.min.x));
        sides.push(Box::new(|p| bounds.max.x - p.x));
        sides.push(Box::new(|p| p.y - bounds.min.y));
        sides.push(Box::new(|p| bounds.max.y - p.y));
    }
    for joined in &template.joints {
        let joint = &joined.joint;
        // The text of a butt joint stands inside the piece.
        let off = match joint.lies {
            Lies::Beside => 2.0 * JOINT_TEXT.most,
            Lies::Under | Lies::Over => 1.0,
        };
        sides.push(Box::new(move |p| joint.inward.dot(p - joint.line[0]) - off));
    }
    let cut = &template.cut;
    let openings = cut.openings.iter();
    Some(Outline {
        outer: clip_ring(&cut.outer, &sides)?,
        openings: openings.filter_map(|o| clip_ring(o, &sides)).collect(),
    })
}

fn clip_ring(ring: &Ring, sides: &[Box<dyn Fn(Point) -> f64 + '_>]) -> Option<Ring> {
    let mut points = ring.points().to_vec();
    for inside in sides {
        let mut kept = Vec::with_capacity(points.len() + 4);
        for i in 0..points.len() {
            let (a, b) = (points[i], points[(i + 1) % points.len()]);
            let (from, to) = (inside(a), inside(b));
            if from >= 0.0 {
                kept.push(a);
            }
            if (from >= 0.0) != (to >= 0.0) {
                kept.push(a.towards(b, from / (from - to)));
            }
        }
        points = kept;
    }
    Ring::new(points).ok()
}
