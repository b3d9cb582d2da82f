//! One pattern file → shapes to paint: its name, the drawing with names and circles, the faults in
//! words.

use super::{Picture, WIDTH, letters};
use crate::diag::{Diagnostic, Diagnostics, Place, Severity, counted};
use crate::geometry::{Bounds, Outline, Point, Vector};
use crate::output::drawing::shape::{Align, Pointer, Shape};
use crate::output::style::ink::{BLACK, CLOTH, FIBRE, GREY, MARK, NET, RED, WHITE};
use crate::output::style::{Colour, Paint, Pen, text};
use crate::pattern::inspect::FaultInspection;
use crate::pattern::{Pattern, PatternLine, PatternMark, Role};

pub(super) const MARGIN: f64 = 50.0;
const TEXT: f64 = text::BODY;
pub(super) const LINE_HEIGHT: f64 = 24.0;
pub(super) const TALLEST: f64 = 1200.0;

/// Shapes of a file that are drawn; more only blacken the picture.
const MOST_SHAPES: usize = 5_000;

/// Outlines that carry their name; more would cover each other.
const MOST_NAMES: usize = 300;

/// Faults told in words below the drawing, and circled in it.
const MOST_FAULTS: usize = 40;

/// Points of a line nearer than this (pixels) to the one before are not drawn.
const FINEST: f64 = 0.25;

/// A dashed line.
const fn dashed(colour: Colour, width: f64) -> Paint {
    Paint::pen(Pen::dashed(colour, width, &[10.0, 5.0], 1.0))
}

/// From the pattern frame to pixels.
pub(super) struct View {
    pub(super) scale: f64,
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) bounds: Bounds,
}

impl View {
    pub(super) fn at(&self, p: Point) -> Point {
        let x = self.left + (p.x - self.bounds.min.x) * self.scale;
        let y = self.top + (self.bounds.max.y - p.y) * self.scale;
        Point::new(x, y)
    }

    /// `points` without those that would fall on the one before.
    fn run(&self, points: &[Point]) -> Vec<Point> {
        let mut run: Vec<Point> = Vec::new();
        let far = |a: Point, b: Point| (a.x - b.x).abs().max((a.y - b.y).abs()) > FINEST;
        for (i, &p) in points.iter().enumerate() {
            let at = self.at(p);
            if i + 1 == points.len() || run.last().is_none_or(|&last| far(last, at)) {
                run.push(at);
            }
        }
        run
    }
}

/// A line of text as a heading.
pub(super) fn heading(picture: &mut Picture, text: &str) {
    picture.height += 2.0 * LINE_HEIGHT;
    let at = Point::new(MARGIN, picture.height - LINE_HEIGHT / 2.0);
    words(picture, at, text::TITLE, text.to_owned(), BLACK, false);
}

/// Draws a file that could not be read.
pub(super) fn draw_unread(picture: &mut Picture, name: &str, problems: &Diagnostics) {
    heading(picture, &format!("{name}: not read"));
    let faults: Vec<&Diagnostic> = problems.iter().collect();
    tell(picture, &faults);
}

/// Draws a file below what is there, in at most about `most_height`.
pub(super) fn draw(picture: &mut Picture, pattern: &Pattern, most_height: f64) {
    let found = counted(pattern.outlines().len(), "outline", "outlines");
    heading(picture, &format!("{}: {found}", pattern.file()));
    let faults: Vec<&Diagnostic> = pattern
        .problems()
        .iter()
        .filter(|p| p.severity > Severity::Note)
        .collect();
    if let Some(bounds) = bounds_of(pattern) {
        let tallest = TALLEST.min(most_height * 0.6).max(200.0);
        let view = view(bounds, picture.height + LINE_HEIGHT, tallest);
        picture.height += bounds.height().max(0.0) * view.scale + 3.0 * LINE_HEIGHT;
        outlines(picture, pattern, &view);
        lines(picture, pattern, &view);
        scale_bar(picture, &view);
        circle(picture, &faults, &view);
    }
    tell(picture, &faults);
    for line in pattern.healing().told() {
        picture.height += LINE_HEIGHT;
        words(
            picture,
            Point::new(MARGIN, picture.height),
            TEXT,
            line,
            GREY,
            false,
        );
    }
    picture.height += LINE_HEIGHT;
}

fn bounds_of(pattern: &Pattern) -> Option<Bounds> {
    let outlines = pattern.outlines().iter().flat_map(|o| {
        let cut = o.drawn_cut.as_ref().map(|cut| cut.outline.bounds());
        [Some(o.outline.bounds()), cut].into_iter().flatten()
    });
    let of = |points: &[Point]| Bounds::of(points.iter().copied());
    let lines = pattern.lines().iter().filter_map(|l| of(&l.points));
    let refused = pattern.refused().iter().filter_map(|l| of(&l.points));
    let marks = pattern.marks().iter().filter_map(|m| of(&m.points));
    let all = outlines.chain(lines).chain(refused).chain(marks);
    all.reduce(|a, b| a.union(&b))
}

fn view(bounds: Bounds, top: f64, tallest: f64) -> View {
    let free = WIDTH - 2.0 * MARGIN;
    // A single point still has a place.
    let (width, height) = (bounds.width().max(1e-6), bounds.height().max(1e-6));
    let scale = (free / width).min(tallest / height);
    View {
        scale,
        left: MARGIN + (free - width * scale) / 2.0,
        top,
        bounds,
    }
}

fn outlines(picture: &mut Picture, pattern: &Pattern, view: &View) {
    let rings = |outline: &Outline| outline.rings().map(|r| view.run(r.points())).collect();
    for outline in pattern.outlines().iter().take(MOST_SHAPES) {
        if let Some(cut) = outline.drawn_cut.as_ref().filter(|c| !c.stands_alone) {
            picture.lines(rings(&cut.outline), true, dashed(BLACK, 1.5));
        }
        picture.lines(
            rings(&outline.outline),
            true,
            Paint::line(NET, 2.0).over(CLOTH),
        );
    }
    for refused in pattern.refused().iter().take(MOST_SHAPES) {
        picture.lines(vec![view.run(&refused.points)], true, Paint::line(RED, 2.0));
    }
    for outline in pattern.outlines().iter().take(MOST_NAMES) {
        let middle = view.at(outline.outline.bounds().centre());
        let name = match (outline.words.name.as_deref(), outline.layer.as_str()) {
            (Some(name), _) => format!("{name} ({})", outline.id),
            (None, "") => outline.id.clone(),
            (None, layer) => format!("{layer} ({})", outline.id),
        };
        words(picture, middle, TEXT, name, BLACK, true);
        let bounds = outline.outline.bounds();
        let size = format!("{:.1} × {:.1} mm", bounds.width(), bounds.height());
        let below = middle + Vector::new(0.0, 18.0);
        words(picture, below, text::NOTE, size, GREY, true);
    }
}

fn lines(picture: &mut Picture, pattern: &Pattern, view: &View) {
    let is_plain = |l: &&PatternLine| {
        let mut marks = pattern
            .marks()
            .iter()
            .take(MOST_SHAPES)
            .filter(|m| m.is_line());
        !marks.any(|m| m.layer == l.layer && m.points == l.points)
    };
    for line in pattern.lines().iter().take(MOST_SHAPES).filter(is_plain) {
        picture.lines(vec![view.run(&line.points)], false, dashed(FIBRE, 2.0));
    }
    let arrows: Vec<&PatternMark> = pattern.zero_lines().take(MOST_NAMES).collect();
    for mark in pattern.marks().iter().take(MOST_SHAPES) {
        let run = view.run(&mark.points);
        let colour = match mark.role {
            Role::Zero => FIBRE,
            _ => MARK,
        };
        if let [only] = run[..] {
            cross(picture, only, colour);
            continue;
        }
        let is_arrow = arrows.iter().any(|&m| std::ptr::eq(m, mark));
        if let (true, [.., from, to]) = (is_arrow, &run[..]) {
            arrow_head(picture, *from, *to);
            words(
                picture,
                *to + Vector::new(8.0, 0.0),
                TEXT,
                "0°".to_owned(),
                FIBRE,
                false,
            );
        }
        picture.lines(
            vec![run],
            mark.closed,
            Paint::line(colour, if mark.role == Role::Overlap { 5.0 } else { 2.0 }),
        );
    }
}

pub(super) fn cross(picture: &mut Picture, at: Point, colour: Colour) {
    let arms = [Vector::new(6.0, 0.0), Vector::new(0.0, 6.0)];
    let lines = arms.map(|arm| vec![at - arm, at + arm]);
    picture.lines(lines.to_vec(), false, Paint::line(colour, 2.0));
}

/// An open head: the line it stands on may bend.
fn arrow_head(picture: &mut Picture, from: Point, to: Point) {
    let arrow = Pointer::arrow(from, to, (14.0, 14.0 / 2.5));
    if let Some([tip, left, right]) = arrow.head {
        let line = vec![left, tip, right];
        picture.lines(vec![line], false, Paint::line(FIBRE, 2.0));
    }
}

/// A bar of a round length below the drawing.
pub(super) fn scale_bar(picture: &mut Picture, view: &View) {
    let most_mm = 300.0 / view.scale;
    let mut mm = 1e-3;
    // 1, 2, 5, 10 …
    for step in [2.0, 2.5, 2.0].into_iter().cycle().take(40) {
        if mm * step > most_mm {
            break;
        }
        mm *= step;
    }
    let y = view.top + view.bounds.height() * view.scale + LINE_HEIGHT;
    let length = mm * view.scale;
    picture.lines(
        vec![vec![
            Point::new(MARGIN, y - 5.0),
            Point::new(MARGIN, y),
            Point::new(MARGIN + length, y),
            Point::new(MARGIN + length, y - 5.0),
        ]],
        false,
        Paint::line(BLACK, 1.5),
    );
    let text = format!("{mm} mm ({:.3} in)", mm / 25.4);
    words(
        picture,
        Point::new(MARGIN + length + 10.0, y),
        TEXT,
        text,
        BLACK,
        false,
    );
}

/// Circles the places of `faults`, each with its number.
pub(super) fn circle(picture: &mut Picture, faults: &[&Diagnostic], view: &View) {
    for (i, fault) in faults.iter().take(MOST_FAULTS).enumerate() {
        let Some(Place::Entity {
            at_mm: Some((x, y)),
            ..
        }) = &fault.place
        else {
            continue;
        };
        // A fault far outside (a coordinate out of range) has no place in the picture.
        let centre = view.at(Point::new(*x, *y));
        if !(0.0..=WIDTH).contains(&centre.x) || !(0.0..=picture.height).contains(&centre.y) {
            continue;
        }
        let radius = 18.0;
        picture.paint(Paint::line(RED, 3.0), Shape::Dot { centre, radius });
        let at = centre + Vector::new(20.0, -12.0);
        words(picture, at, text::HEADING, (i + 1).to_string(), RED, false);
    }
}

/// The faults in words, with the numbers of their circles.
pub(super) fn tell(picture: &mut Picture, faults: &[&Diagnostic]) {
    for (i, fault) in faults.iter().take(MOST_FAULTS).enumerate() {
        picture.height += LINE_HEIGHT;
        let text = format!("{}  {}", i + 1, FaultInspection::of(fault).message);
        words(
            picture,
            Point::new(MARGIN, picture.height),
            TEXT,
            text,
            RED,
            false,
        );
    }
    if faults.len() > MOST_FAULTS {
        picture.height += LINE_HEIGHT;
        let text = format!("and {} more faults", faults.len() - MOST_FAULTS);
        words(
            picture,
            Point::new(MARGIN, picture.height),
            TEXT,
            text,
            RED,
            false,
        );
    }
}

fn words(picture: &mut Picture, at: Point, size: f64, text: String, colour: Colour, centred: bool) {
    /// Longer texts would run out of the picture.
    const MOST: usize = 180;
    let text = match text.char_indices().nth(MOST) {
        Some((cut, _)) => format!("{}…", &text[..cut]),
        None => text,
    };
    let align = if centred { Align::Middle } else { Align::Left };
    picture.write(&text, at, size, align, letters(colour, WHITE));
}
