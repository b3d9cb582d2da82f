//! Warp arrows: where they run, and what is written at them.
//!
//! Each arrow runs where it is seen: beside the label, off the others.

use super::shape::Template;
use crate::geometry::distance::point_to_segment;
use crate::geometry::{Bounds, Point, Vector, largest_box, trig};
use crate::output::drawing::face;
use crate::output::drawing::page::Page;
use crate::output::drawing::pens::{WARP, arrow};
use crate::output::drawing::shape::Shape;
use crate::output::style::{Pen, ink};
use crate::units::Angle;

/// Shorter arrows (mm) give no direction.
const LEAST: f64 = 20.0;
/// How far arrows end from the finished edge, mm.
const INSET: f64 = 5.0;
/// Height of capitals at an arrow, and how much of it stays free beside them, mm.
const HEIGHT: f64 = 2.4;
const ENDS: f64 = 3.0;

/// An arrow along the warp.
#[derive(Clone)]
pub(super) struct WarpLine {
    tail: Point,
    tip: Point,
    /// What is written at it, if the template has several.
    text: Option<String>,
}

impl WarpLine {
    pub(super) fn shifted(&self, by: Vector) -> Self {
        Self {
            tail: self.tail + by,
            tip: self.tip + by,
            text: self.text.clone(),
        }
    }

    pub(super) fn draw(&self, page: &mut Page) {
        let arrow = arrow(self.tail, self.tip, 5.0);
        page.arrow(&arrow, WARP);
        // An edge in white lets arrows cross.
        if let Some(head) = arrow.head {
            page.draw(Shape::ring(head), Pen::solid(ink::WHITE, 0.1));
        }
    }
}

/// The arrows of `template`, whose label takes the box `label`.
pub(super) fn warp_lines(template: &Template, label: Option<Bounds>) -> Vec<WarpLine> {
    let most_room = largest_box(&template.net, 1.5).centre;
    let arrows = template.warp_arrows();
    if arrows.is_empty() {
        return Vec::new();
    }
    let points = points_within(template, most_room);
    let mut lines: Vec<WarpLine> = Vec::new();
    for arrow in &arrows {
        let scored = points.iter().filter_map(|&(at, clearance)| {
            let ends = chord(template, at, arrow.warp)?;
            Some((score(ends, label, &lines) + clearance, ends))
        });
        let best = scored.reduce(|best, other| if other.0 > best.0 { other } else { best });
        lines.extend(best.map(|(_, [tail, tip])| WarpLine {
            tail,
            tip,
            text: template.arrow_text(arrow),
        }));
    }
    lines
}

/// Points inside the finished edge, that with the most room first; each with how far it is from
/// the edge, up to a point.
fn points_within(template: &Template, most_room: Point) -> Vec<(Point, f64)> {
    const N: u32 = 14;
    const FAR: f64 = 30.0;
    let edges = || template.net.rings().flat_map(|ring| ring.edges());
    let clearance = |p: Point| {
        let distances = edges().map(|(a, b)| point_to_segment(p, a, b));
        distances.fold(FAR, f64::min)
    };
    let Bounds { min, max } = template.net.bounds();
    let share = |i: u32| (f64::from(i) + 0.5) / f64::from(N);
    let grid = (0..N * N).map(|i| {
        let (x, y) = (share(i % N), share(i / N));
        Point::new(min.x + (max.x - min.x) * x, min.y + (max.y - min.y) * y)
    });
    let inside = grid.filter(|&p| template.net.contains(p));
    std::iter::once(most_room)
        .chain(inside)
        .map(|p| (p, clearance(p)))
        .collect()
}

/// How well an arrow is seen: its length up to a point, less what the label covers and what
/// crosses it.
fn score([tail, tip]: [Point; 2], label: Option<Bounds>, others: &[WarpLine]) -> f64 {
    /// A longer arrow says no more, mm; what covering the label and crossing an arrow count.
    const ENOUGH: f64 = 150.0;
    const COVERED: f64 = 60.0;
    const CROSSED: f64 = 25.0;
    let under = label.and_then(|label| label.grown(3.0).part_of_edge(tail, tip));
    let hidden = under.map_or(0.0, |[a, b]| a.distance(b) + COVERED);
    let crossed = others
        .iter()
        .filter(|o| cross([tail, tip], [o.tail, o.tip]));
    tail.distance(tip).min(ENOUGH + hidden) - hidden - CROSSED * crossed.count() as f64
}

/// Whether two lines meet, or come so near at their ends that it looks so.
fn cross(a: [Point; 2], b: [Point; 2]) -> bool {
    let side = |[from, to]: [Point; 2], p: Point| (to - from).cross(p - from);
    let parts = |line: [Point; 2], other: [Point; 2]| {
        (side(line, other[0]) > 0.0) != (side(line, other[1]) > 0.0)
    };
    parts(a, b) && parts(b, a)
}

/// The line along `warp` through `at`, from edge to edge of the finished part.
fn chord(template: &Template, at: Point, warp: Angle) -> Option<[Point; 2]> {
    let (sin, cos) = trig::sin_cos(warp);
    let along = Vector::new(cos, sin);
    let (mut back, mut ahead) = (f64::NEG_INFINITY, f64::INFINITY);
    for (a, b) in template.net.rings().flat_map(|ring| ring.edges()) {
        let (side_a, side_b) = (along.cross(a - at), along.cross(b - at));
        if (side_a > 0.0) == (side_b > 0.0) {
            continue;
        }
        let crossing = a.towards(b, side_a / (side_a - side_b));
        let t = along.dot(crossing - at);
        if t < 0.0 {
            back = back.max(t);
        } else {
            ahead = ahead.min(t);
        }
    }
    let is_long = back.is_finite() && ahead.is_finite() && ahead - back > LEAST + 2.0 * INSET;
    is_long.then(|| [at + along * (back + INSET), at + along * (ahead - INSET)])
}

/// Writes at `lines` what they are for: along each, where `clear` shows it, off the boxes that are
/// `taken` and off one another.
pub(super) fn arrow_texts(
    page: &mut Page,
    lines: &[WarpLine],
    clear: &Bounds,
    mut taken: Vec<Bounds>,
) {
    for line in lines {
        let Some(text) = &line.text else {
            continue;
        };
        let Some(ends) = clear.part_of_edge(line.tail, line.tip) else {
            continue;
        };
        let half = face::width(text, HEIGHT) / 2.0;
        let Some((at, box_of)) = free_place(ends, half, &taken) else {
            continue;
        };
        let angle = readable(ends);
        let (sin, cos) = trig::sin_cos(angle);
        let down = Vector::new(sin, -cos) * (HEIGHT / 2.0);
        page.inset(text, at + down, HEIGHT, angle);
        taken.push(box_of);
    }
}

/// The middle of a text of twice `half` mm along a line, and its box, where it is off all `taken`.
fn free_place([from, to]: [Point; 2], half: f64, taken: &[Bounds]) -> Option<(Point, Bounds)> {
    /// Where along the line, as shares: near the tip, then near the tail, then between.
    const PLACES: [f64; 11] = [
        0.85, 0.15, 0.75, 0.25, 0.95, 0.05, 1.0, 0.0, 0.65, 0.35, 0.5,
    ];
    let length = from.distance(to);
    let room = half + ENDS;
    if length < 2.0 * room {
        return None;
    }
    let along = (to - from) * (half / length);
    let box_at = |at: Point| {
        let ends = Bounds::of([at - along, at + along]).expect("two points have a box");
        ends.grown(HEIGHT * 0.7)
    };
    let place = |share: f64| {
        let at = from.towards(to, (room + share * (length - 2.0 * room)) / length);
        (at, box_at(at))
    };
    let is_free = |(_, own): &(Point, Bounds)| !taken.iter().any(|t| t.overlaps(own));
    PLACES.map(place).into_iter().find(is_free)
}

/// The direction of a line, or the opposite one: whichever is read from the lower or right edge.
fn readable([from, to]: [Point; 2]) -> Angle {
    let along = to - from;
    let degrees = trig::direction(along.x, along.y)
        .to_degrees()
        .rem_euclid(180.0);
    Angle::degrees(if degrees > 90.0 + 1e-6 {
        degrees - 180.0
    } else {
        degrees
    })
}
