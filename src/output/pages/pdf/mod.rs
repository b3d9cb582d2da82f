//! Handouts as pages of a PDF: passages flow down the page; steps, drawings, frames and rows of tables
//! stand whole.

mod atoms;
mod chunk;
mod lines;
mod rows;

use std::borrow::Cow;

use self::atoms::Run;
use self::chunk::{Chunk, chunks};
use self::lines::{BOX, LineOfText, TextMeasure};
use self::rows::SetTable;
use super::model::Handout;
use super::prose::Prose;
use super::table::DataTable;
use crate::geometry::{Bounds, Point};
use crate::job::Outputs;
use crate::output::drawing::face;
use crate::output::drawing::figure::Figure;
use crate::output::drawing::page::Page;
use crate::output::drawing::shape::{Align, Shape, TextLine};
use crate::output::style::{CAPITALS_PER_SIZE, PRINTED, Pen, ink};

/// Least margin around the text, mm; a printer may want more.
const MARGIN: f64 = 12.0;
/// Room for the line at the foot of a page, mm.
const FOOT: f64 = 8.0;
/// Height of a page of a paper roll, and the widest text on it, mm.
const ROLL_PAGE: f64 = 297.0;
const WIDEST: f64 = 280.0;
/// Sizes of the font, mm: text, small text and tables, titles, headings.
const BODY: f64 = 3.2;
const SMALL: f64 = 2.85;
const TITLE: f64 = 6.2;
const HEADING: f64 = 4.2;
/// From line to line, in sizes of the font.
const LEADING: f64 = 1.36;
/// Room between blocks, and above a heading, mm.
const BETWEEN: f64 = 1.8;
const ABOVE: f64 = 4.0;
/// Room between steps, mm.
const STEP: f64 = 0.7;
/// Number of a step, or mark of a point, mm.
const INDENT: f64 = 6.5;
/// Inside a frame, mm.
const FRAME: f64 = 2.4;
/// A drawing may be made so much smaller to stand on the page that is begun, or for what is said
/// about it to stand there too.
const SMALLEST: f64 = 0.72;

/// The pages of all `handouts`, which make up a document called `title`; each begins on a page of its
/// own.
pub(super) fn pages(title: &str, handouts: &[Handout], outputs: &Outputs) -> Vec<Page> {
    let (width, height) = outputs.paper.size();
    let height = height.unwrap_or(ROLL_PAGE);
    let margin = outputs.paper_margin.to_mm().max(MARGIN).min(width / 4.0);
    let area = Bounds {
        min: Point::new(margin, margin),
        max: Point::new(
            (width - margin).min(margin + WIDEST),
            height - margin - FOOT,
        ),
    };
    let flown: Vec<Vec<Page>> = handouts
        .iter()
        .map(|handout| Flow::of(Page::new(width, height), area, handout))
        .collect();
    let total: usize = flown.iter().map(Vec::len).sum();
    let mut all = Vec::new();
    for (handout, pages) in handouts.iter().zip(flown) {
        let n_pages = pages.len();
        for (i, mut page) in pages.into_iter().enumerate() {
            let left = format!("{}, page {} of {n_pages}", handout.title, i + 1);
            let n = all.len() + 1;
            foot(&mut page, area, &left, &format!("{title} · {n} / {total}"));
            all.push(page);
        }
    }
    all
}

/// The line at the foot of a page.
fn foot(page: &mut Page, area: Bounds, left: &str, right: &str) {
    let height = page.height();
    let capitals = SMALL * CAPITALS_PER_SIZE;
    let y = height - area.max.y - FOOT + 1.0;
    let rule = [
        Point::new(area.min.x, y + 4.2),
        Point::new(area.max.x, y + 4.2),
    ];
    page.edge(rule, Pen::solid(ink::GREY, 0.15));
    let half = area.width() * 0.48;
    let left = face::fitted(left, capitals, half);
    let from = Point::new(area.min.x, y);
    let left = TextLine::level(left, from, Align::Left, capitals);
    page.write_strong(left, ink::PRINT);
    let right = fitted_left(right, capitals, half);
    let to = Point::new(area.max.x, y);
    page.text(&right, to, capitals, Align::Right, ink::PRINT);
}

/// `text`, cut short at its beginning with … if it is wider than `most` mm: its end is a number.
fn fitted_left(text: &str, height: f64, most: f64) -> String {
    let mut rest = text;
    let mut shown = text.to_owned();
    while face::width(&shown, height) > most && !rest.is_empty() {
        rest = &rest[rest.chars().next().map_or(0, char::len_utf8)..];
        shown = format!("…{rest}");
    }
    shown
}

/// Whether a paragraph before `chunks` leads into what comes next.
fn introduces(chunks: &[Chunk<'_>]) -> bool {
    matches!(chunks.first(), Some(Chunk::Figure(_) | Chunk::Table(_)))
}

/// Pages in the making; what is put on them is told in mm from the upper left corner, y down.
struct Flow {
    empty: Page,
    area: Bounds,
    pages: Vec<Page>,
    /// How far down the last page is full, mm.
    y: f64,
    /// The heading of the section, for what goes on on the next page.
    heading: String,
}

impl Flow {
    fn of(empty: Page, area: Bounds, handout: &Handout) -> Vec<Page> {
        let mut flow = Self {
            pages: vec![empty.clone()],
            empty,
            area,
            y: area.min.y,
            heading: handout.title.clone(),
        };
        flow.text(&handout.kind.as_str().into(), SMALL, 0.0);
        flow.text(&Prose::from(&handout.title).made_strong(), TITLE, 0.0);
        if !handout.beside.is_empty() {
            flow.text(&handout.beside.as_str().into(), BODY, 0.0);
        }
        for about in &handout.about {
            flow.text(about, BODY, 0.0);
        }
        flow.y += BETWEEN;
        // Whether there is room for what comes next, as what led to it made sure.
        let mut has_room = false;
        let chunks = chunks(&handout.passages);
        for (i, chunk) in chunks.iter().enumerate() {
            let after = &chunks[i + 1..];
            if !has_room && !flow.has_room(flow.start_of(&chunks[i..])) {
                flow.turn_page();
            }
            has_room = match chunk {
                Chunk::Heading(_) => true,
                Chunk::Paragraph(_) => introduces(after),
                _ => false,
            };
            match chunk {
                Chunk::Heading(words) => flow.section(words),
                Chunk::Paragraph(text) => flow.text(text, BODY, 0.0),
                Chunk::Cautions(lead, points) => flow.cautions(lead, points),
                Chunk::List(items) => flow.list(items),
                Chunk::Table(table) => flow.table(flow.set(table)),
                Chunk::Figure(figure) => flow.figure(figure, flow.after_figure(after)),
            }
            flow.y += BETWEEN;
        }
        flow.pages
    }

    fn is_at_top(&self) -> bool {
        self.y <= self.area.min.y
    }

    /// Room on a whole page, mm.
    fn page_height(&self) -> f64 {
        self.area.height()
    }

    fn has_room(&self, height: f64) -> bool {
        self.is_at_top() || self.y + height <= self.area.max.y + 1e-6
    }

    fn turn_page(&mut self) {
        self.pages.push(self.empty.clone());
        self.y = self.area.min.y;
    }

    fn page(&mut self) -> &mut Page {
        self.pages.last_mut().expect("there is always a page")
    }

    /// Where a point is on the page.
    fn at(&self, p: Point) -> Point {
        Point::new(p.x, self.empty.height() - p.y)
    }

    fn rule(&mut self, ends: [Point; 2], width: f64) {
        let ends = ends.map(|p| self.at(p));
        self.page().edge(ends, Pen::solid(ink::PRINT, width));
    }

    fn frame(&mut self, bounds: Bounds, width: f64) {
        let corners = bounds.corners().map(|p| self.at(p));
        let pen = Pen::solid(ink::PRINT, width);
        self.page().draw(Shape::ring(corners), pen);
    }

    fn shade(&mut self, bounds: Bounds) {
        let corners = bounds.corners().map(|p| self.at(p));
        self.page().fill(Shape::ring(corners), PRINTED.unused);
    }

    fn letters(&mut self, text: &str, at: Point, size: f64, is_strong: bool) {
        let at = self.at(at);
        let line = TextLine::level(text, at, Align::Left, size * CAPITALS_PER_SIZE);
        match is_strong {
            true => self.page().write_strong(line, ink::PRINT),
            false => self.page().write(line, ink::PRINT),
        }
    }

    /// Height that must be free for the first of `chunks` to begin where it is: no heading and no
    /// introduction stands at the foot of a page without what it is about.
    fn start_of(&self, chunks: &[Chunk<'_>]) -> f64 {
        let Some((first, rest)) = chunks.split_first() else {
            return 0.0;
        };
        let width = self.area.width();
        match first {
            Chunk::Heading(_) => ABOVE + HEADING * LEADING + BETWEEN + self.start_of(rest),
            Chunk::Paragraph(text) => {
                let own = self.height_of_text(text, width) + BETWEEN;
                let next = if introduces(rest) {
                    self.start_of(rest)
                } else {
                    0.0
                };
                own + next
            }
            Chunk::Cautions(lead, points) => self.cautions_height(lead, points),
            Chunk::List(items) => {
                (items.first()).map_or(0.0, |(_, item)| self.height_of_text(item, width - INDENT))
            }
            Chunk::Table(table) => self.set(table).start_height(),
            Chunk::Figure(figure) => {
                let own = SMALLEST * figure.height * self.figure_scale(figure, self.page_height());
                // What is said about a drawing stands with it.
                let below = rest
                    .iter()
                    .take_while(|chunk| matches!(chunk, Chunk::Paragraph(_)));
                let below: f64 = below.map(|chunk| self.height_of(chunk)).sum();
                (own + below).min(self.page_height())
            }
        }
    }

    /// Height of what comes after a drawing up to the next drawing or heading.
    fn after_figure(&self, chunks: &[Chunk<'_>]) -> f64 {
        let own = chunks
            .iter()
            .take_while(|chunk| !matches!(chunk, Chunk::Heading(_) | Chunk::Figure(_)));
        own.map(|chunk| self.height_of(chunk)).sum()
    }

    /// Height of a chunk, and of the room above it, where it stands in one piece.
    fn height_of(&self, chunk: &Chunk<'_>) -> f64 {
        let width = self.area.width();
        let own = match chunk {
            Chunk::Heading(_) => ABOVE + HEADING * LEADING,
            Chunk::Paragraph(text) => self.height_of_text(text, width),
            Chunk::Cautions(lead, points) => self.cautions_height(lead, points),
            Chunk::List(items) => {
                let heights = items
                    .iter()
                    .map(|(_, item)| self.height_of_text(item, width - INDENT) + STEP);
                heights.sum()
            }
            Chunk::Table(table) => self.set(table).height(),
            Chunk::Figure(figure) => figure.height * self.figure_scale(figure, self.page_height()),
        };
        BETWEEN + own
    }

    fn height_of_text(&self, text: &Prose, width: f64) -> f64 {
        TextMeasure { size: BODY }.lines(text, width).len() as f64 * BODY * LEADING
    }

    fn set(&self, table: &DataTable) -> SetTable {
        SetTable::new(&TextMeasure { size: SMALL }, table, self.area.width())
    }

    fn section(&mut self, words: &str) {
        words.clone_into(&mut self.heading);
        if !self.is_at_top() {
            self.y += ABOVE - BETWEEN;
        }
        let (left, right) = (self.area.min.x, self.area.max.x);
        let rule = [Point::new(left, self.y), Point::new(right, self.y)];
        self.rule(rule, 0.4);
        self.y += 0.8;
        self.text(&Prose::from(words).made_strong(), HEADING, 0.0);
        self.y -= BETWEEN * 0.6;
    }

    /// Writes `text` from `indent` on, page after page if need be.
    fn text(&mut self, text: &Prose, size: f64, indent: f64) {
        let measure = TextMeasure { size };
        for line in measure.lines(text, self.area.width() - indent) {
            if !self.has_room(size * LEADING) {
                self.turn_page();
            }
            self.line(&line, self.area.min.x + indent, self.y, size);
            self.y += size * LEADING;
        }
    }

    /// Writes `line` with the top of its room at `y`.
    fn line(&mut self, line: &LineOfText, x: f64, y: f64, size: f64) {
        let base = y + (LEADING + CAPITALS_PER_SIZE) / 2.0 * size;
        let measure = TextMeasure { size };
        for (from, run) in &line.runs {
            let at = Point::new(x + from, base);
            match run {
                Run::Text { text, is_strong } => self.letters(text, at, size, *is_strong),
                Run::Box => {
                    let side = BOX * size;
                    let low = base + (side - CAPITALS_PER_SIZE * size) / 2.0;
                    let bounds = Bounds {
                        min: Point::new(at.x, low - side),
                        max: Point::new(at.x + side, low),
                    };
                    self.frame(bounds, 0.2);
                }
                Run::Line => {
                    let end = at.x + measure.run(run);
                    let low = base + 0.4;
                    let ends = [Point::new(at.x, low), Point::new(end, low)];
                    self.rule(ends, 0.2);
                }
            }
        }
    }

    fn list(&mut self, items: &[(String, Cow<'_, Prose>)]) {
        for (mark, item) in items {
            let height = self.height_of_text(item, self.area.width() - INDENT);
            if height <= self.page_height() && !self.has_room(height) {
                self.turn_page();
            }
            self.mark(mark, BODY, self.area.min.x);
            self.text(item, BODY, INDENT);
            self.y += STEP;
        }
    }

    /// Writes a number or a dash beside the text that comes next.
    fn mark(&mut self, mark: &str, size: f64, x: f64) {
        let lines = TextMeasure { size }.lines(&mark.into(), INDENT);
        if let [line] = lines.as_slice() {
            self.line(line, x, self.y, size);
        }
    }

    fn cautions_height(&self, lead: &Prose, points: &[Prose]) -> f64 {
        let measure = TextMeasure { size: SMALL };
        let width = self.area.width() - 2.0 * FRAME;
        let points = points
            .iter()
            .map(|p| measure.lines(p, width - INDENT).len());
        let n = measure.lines(lead, width).len() + points.sum::<usize>();
        n as f64 * SMALL * LEADING + 2.0 * FRAME
    }

    fn cautions(&mut self, lead: &Prose, points: &[Prose]) {
        let height = self.cautions_height(lead, points);
        let area = self.area;
        let frame = Bounds {
            min: Point::new(area.min.x, self.y),
            max: Point::new(area.max.x, self.y + height),
        };
        if frame.max.y <= area.max.y + 1e-6 {
            self.frame(frame, 0.4);
        }
        self.area.min.x += FRAME;
        self.area.max.x -= FRAME;
        self.y += FRAME;
        self.text(lead, SMALL, 0.0);
        for point in points {
            self.mark("–", SMALL, self.area.min.x);
            self.text(point, SMALL, INDENT);
        }
        self.y += FRAME;
        self.area = area;
    }

    /// Millimetres to a pixel that show `figure` in the width of the text and a height of `most`.
    fn figure_scale(&self, figure: &Figure, most: f64) -> f64 {
        /// Pixels of the full width, and a pixel where the drawing is smaller.
        const WIDTH: f64 = 720.0;
        (self.area.width() / figure.width.max(WIDTH)).min(most / figure.height)
    }

    /// Draws `figure`, smaller if that leaves room for so much (mm) `below` it.
    fn figure(&mut self, figure: &Figure, below: f64) {
        let free = self.area.max.y - self.y;
        let whole = self.figure_scale(figure, free);
        let smaller = whole.min((free - below) / figure.height);
        let least = SMALLEST * self.figure_scale(figure, self.page_height());
        let scale = if smaller >= least { smaller } else { whole };
        let corner = self.at(Point::new(self.area.min.x, self.y));
        figure.draw(self.page(), corner, scale);
        self.y += figure.height * scale;
    }
}
