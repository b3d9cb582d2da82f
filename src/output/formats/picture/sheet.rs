//! One pattern file → shapes to paint: its name, the drawing with names and circles, the faults in
//! words.

use super::{Colour, DASHED, Item, Paint, Picture, WIDTH, Words};
use crate::diag::{Diagnostic, Diagnostics, Place, Severity, counted};
use crate::geometry::{Bounds, Outline, Point};
use crate::output::style::ink::{BLACK, CLOTH, FIBRE, GREY, MARK, NET, RED, WHITE};
use crate::output::style::text;
use crate::pattern::inspect::FaultInspection;
use crate::pattern::{Pattern, PatternLine, PatternMark, Role};

const MARGIN: f32 = 50.0;
const TEXT: f32 = text::BODY;
const LINE_HEIGHT: f32 = 24.0;
const TALLEST: f32 = 1200.0;

/// Shapes of a file that are drawn; more only blacken the picture.
const MOST_SHAPES: usize = 5_000;

/// Outlines that carry their name; more would cover each other.
const MOST_NAMES: usize = 300;

/// Faults told in words below the drawing, and circled in it.
const MOST_FAULTS: usize = 40;

/// Points of a line nearer than this (pixels) to the one before are not drawn.
const FINEST: f32 = 0.25;

/// From the pattern frame to pixels.
struct View {
    scale: f64,
    left: f64,
    top: f64,
    bounds: Bounds,
}

impl View {
    fn at(&self, p: Point) -> (f32, f32) {
        let x = self.left + (p.x - self.bounds.min.x) * self.scale;
        let y = self.top + (self.bounds.max.y - p.y) * self.scale;
        (x as f32, y as f32)
    }

    /// `points` without those that would fall on the one before.
    fn run(&self, points: &[Point]) -> Vec<(f32, f32)> {
        let mut run: Vec<(f32, f32)> = Vec::new();
        let far = |a: (f32, f32), b: (f32, f32)| (a.0 - b.0).abs().max((a.1 - b.1).abs()) > FINEST;
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
    let at = (MARGIN, picture.height - LINE_HEIGHT / 2.0);
    words(picture, at, text::TITLE, text.to_owned(), BLACK, false);
}

/// Draws a file that could not be read.
pub(super) fn draw_unread(picture: &mut Picture, name: &str, problems: &Diagnostics) {
    heading(picture, &format!("{name}: not read"));
    let faults: Vec<&Diagnostic> = problems.iter().collect();
    tell(picture, &faults);
}

/// Draws a file below what is there, in at most about `most_height`.
pub(super) fn draw(picture: &mut Picture, pattern: &Pattern, most_height: f32) {
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
        picture.height += bounds.height().max(0.0) as f32 * view.scale as f32 + 3.0 * LINE_HEIGHT;
        outlines(picture, pattern, &view);
        lines(picture, pattern, &view);
        scale_bar(picture, &view);
        circle(picture, &faults, &view);
    }
    tell(picture, &faults);
    for line in pattern.healing().told() {
        picture.height += LINE_HEIGHT;
        words(picture, (MARGIN, picture.height), TEXT, line, GREY, false);
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

fn view(bounds: Bounds, top: f32, tallest: f32) -> View {
    let free = f64::from(WIDTH - 2.0 * MARGIN);
    // A single point still has a place.
    let (width, height) = (bounds.width().max(1e-6), bounds.height().max(1e-6));
    let scale = (free / width).min(f64::from(tallest) / height);
    View {
        scale,
        left: f64::from(MARGIN) + (free - width * scale) / 2.0,
        top: f64::from(top),
        bounds,
    }
}

fn outlines(picture: &mut Picture, pattern: &Pattern, view: &View) {
    let rings = |outline: &Outline| outline.rings().map(|r| view.run(r.points())).collect();
    for outline in pattern.outlines().iter().take(MOST_SHAPES) {
        if let Some(cut) = outline.drawn_cut.as_ref().filter(|c| !c.stands_alone) {
            picture.items.push(Item::Lines {
                runs: rings(&cut.outline),
                closed: true,
                paint: Paint::dashed(BLACK, 1.5, DASHED),
            });
        }
        picture.items.push(Item::Lines {
            runs: rings(&outline.outline),
            closed: true,
            paint: Paint {
                area: Some(CLOTH),
                ..Paint::line(NET, 2.0)
            },
        });
    }
    for refused in pattern.refused().iter().take(MOST_SHAPES) {
        picture.items.push(Item::Lines {
            runs: vec![view.run(&refused.points)],
            closed: true,
            paint: Paint::line(RED, 2.0),
        });
    }
    for outline in pattern.outlines().iter().take(MOST_NAMES) {
        let (x, y) = view.at(outline.outline.bounds().centre());
        let name = match (outline.words.name.as_deref(), outline.layer.as_str()) {
            (Some(name), _) => format!("{name} ({})", outline.id),
            (None, "") => outline.id.clone(),
            (None, layer) => format!("{layer} ({})", outline.id),
        };
        words(picture, (x, y), TEXT, name, BLACK, true);
        let bounds = outline.outline.bounds();
        let size = format!("{:.1} × {:.1} mm", bounds.width(), bounds.height());
        words(picture, (x, y + 18.0), text::NOTE, size, GREY, true);
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
        picture.items.push(Item::Lines {
            runs: vec![view.run(&line.points)],
            closed: false,
            paint: Paint::dashed(FIBRE, 2.0, DASHED),
        });
    }
    let arrows: Vec<&PatternMark> = pattern.zero_lines().take(MOST_NAMES).collect();
    for mark in pattern.marks().iter().take(MOST_SHAPES) {
        let run = view.run(&mark.points);
        let colour = match mark.role {
            Role::Zero => FIBRE,
            _ => MARK,
        };
        if let [only] = run[..] {
            picture.items.push(cross(only, colour));
            continue;
        }
        let is_arrow = arrows.iter().any(|&m| std::ptr::eq(m, mark));
        if let (true, [.., from, to]) = (is_arrow, &run[..]) {
            picture.items.push(arrow_head(*from, *to));
            words(
                picture,
                (to.0 + 8.0, to.1),
                TEXT,
                "0°".to_owned(),
                FIBRE,
                false,
            );
        }
        picture.items.push(Item::Lines {
            runs: vec![run],
            closed: mark.closed,
            paint: Paint::line(colour, if mark.role == Role::Overlap { 5.0 } else { 2.0 }),
        });
    }
}

fn cross((x, y): (f32, f32), colour: Colour) -> Item {
    Item::Lines {
        runs: vec![
            vec![(x - 6.0, y), (x + 6.0, y)],
            vec![(x, y - 6.0), (x, y + 6.0)],
        ],
        closed: false,
        paint: Paint::line(colour, 2.0),
    }
}

fn arrow_head(from: (f32, f32), to: (f32, f32)) -> Item {
    let (dx, dy) = (to.0 - from.0, to.1 - from.1);
    let length = (dx * dx + dy * dy).sqrt().max(1e-6);
    let (ux, uy) = (dx / length * 14.0, dy / length * 14.0);
    let back = (to.0 - ux, to.1 - uy);
    Item::Lines {
        runs: vec![vec![
            (back.0 - uy / 2.5, back.1 + ux / 2.5),
            to,
            (back.0 + uy / 2.5, back.1 - ux / 2.5),
        ]],
        closed: false,
        paint: Paint::line(FIBRE, 2.0),
    }
}

/// A bar of a round length below the drawing.
fn scale_bar(picture: &mut Picture, view: &View) {
    let most_mm = 300.0 / view.scale;
    let mut mm = 1e-3;
    // 1, 2, 5, 10 …
    for step in [2.0, 2.5, 2.0].into_iter().cycle().take(40) {
        if mm * step > most_mm {
            break;
        }
        mm *= step;
    }
    let y = (view.top + view.bounds.height() * view.scale) as f32 + LINE_HEIGHT;
    let length = (mm * view.scale) as f32;
    picture.items.push(Item::Lines {
        runs: vec![vec![
            (MARGIN, y - 5.0),
            (MARGIN, y),
            (MARGIN + length, y),
            (MARGIN + length, y - 5.0),
        ]],
        closed: false,
        paint: Paint::line(BLACK, 1.5),
    });
    let text = format!("{mm} mm ({:.3} in)", mm / 25.4);
    words(
        picture,
        (MARGIN + length + 10.0, y),
        TEXT,
        text,
        BLACK,
        false,
    );
}

/// Circles the places of `faults`, each with its number.
fn circle(picture: &mut Picture, faults: &[&Diagnostic], view: &View) {
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
        if !(0.0..=WIDTH).contains(&centre.0) || !(0.0..=picture.height).contains(&centre.1) {
            continue;
        }
        picture.items.push(Item::Circle {
            centre,
            radius: 18.0,
            paint: Paint::line(RED, 3.0),
        });
        let at = (centre.0 + 20.0, centre.1 - 12.0);
        words(picture, at, text::HEADING, (i + 1).to_string(), RED, false);
    }
}

/// The faults in words, with the numbers of their circles.
fn tell(picture: &mut Picture, faults: &[&Diagnostic]) {
    for (i, fault) in faults.iter().take(MOST_FAULTS).enumerate() {
        picture.height += LINE_HEIGHT;
        let text = format!("{}  {}", i + 1, FaultInspection::of(fault).message);
        words(picture, (MARGIN, picture.height), TEXT, text, RED, false);
    }
    if faults.len() > MOST_FAULTS {
        picture.height += LINE_HEIGHT;
        let text = format!("and {} more faults", faults.len() - MOST_FAULTS);
        words(picture, (MARGIN, picture.height), TEXT, text, RED, false);
    }
}

fn words(
    picture: &mut Picture,
    at: (f32, f32),
    size: f32,
    text: String,
    colour: Colour,
    centred: bool,
) {
    /// Longer texts would run out of the picture.
    const MOST: usize = 180;
    let text = match text.char_indices().nth(MOST) {
        Some((cut, _)) => format!("{}…", &text[..cut]),
        None => text,
    };
    picture.items.push(Item::Text(Words {
        text,
        at,
        size,
        centred,
        turn: 0.0,
        colour,
        halo: WHITE,
    }));
}
