//! What is written on templates: labels, compasses, words at joints and at warp arrows.

use super::drawing::{WARP, ZERO, arrow_head};
use super::shape::{Lay, Template, letter};
use super::tiling::part_within;
use crate::geometry::{Bounds, Outline, Point, Ring, Vector, largest_box, trig};
use crate::output::joint;
use crate::output::label::TextSize;
use crate::output::pdf::{Align, Page, Pen};
use crate::output::style::ink;
use crate::plan::PlacedJoint;
use crate::ply::{Joint, Lies};
use crate::units::Angle;

const FIBRES: Pen = Pen::solid(ink::FIBRE, 0.12);

/// Heights of capitals beside a joint.
const JOINT_TEXT: TextSize = TextSize {
    least: 1.2,
    most: 3.0,
};

/// What is written at the joints of a template, where `clear` shows them.
pub(super) fn joint_texts(page: &mut Page<'_>, template: &Template, clear: &Bounds) {
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

/// What is written at the warp arrows of a template with several lays: along each arrow, where
/// `clear` shows it, off the box that is `taken` and off one another.
pub(super) fn arrow_texts(
    page: &mut Page<'_>,
    template: &Template,
    clear: &Bounds,
    taken: Option<Bounds>,
) {
    /// Height of capitals, and how much of the arrow stays free at its ends, mm.
    const HEIGHT: f64 = 2.4;
    const ENDS: f64 = 7.0;
    /// Where along the arrow, as shares.
    const PLACES: [f64; 9] = [0.85, 0.15, 0.75, 0.25, 0.95, 0.05, 0.65, 0.35, 0.5];
    let mut taken: Vec<Bounds> = taken.into_iter().collect();
    for arrow in template.warp_arrows() {
        let (Some(text), Some([tail, tip])) =
            (template.arrow_text(&arrow), warp_line(template, arrow.warp))
        else {
            continue;
        };
        let Some([from, to]) = part_within(clear, tail, tip) else {
            continue;
        };
        let angle = readable(arrow.warp);
        let (sin, cos) = trig::sin_cos(angle);
        let half = Vector::new(cos, sin) * (page.text_width(&text, HEIGHT) / 2.0 + ENDS);
        if from.distance(to) < 2.0 * half.length() {
            continue;
        }
        let share = half.length() / from.distance(to);
        let place = |at: f64| from.towards(to, share + at * (1.0 - 2.0 * share));
        let box_at = |at: Point| {
            let high = Vector::new(HEIGHT, HEIGHT);
            let ends = Bounds::of([at - half, at + half]).expect("two points have a box");
            Bounds {
                min: ends.min - high,
                max: ends.max + high,
            }
        };
        let is_free = |at: &Point| !taken.iter().any(|t| overlap(t, &box_at(*at)));
        // Where all are taken, the label's compass has to do.
        let Some(at) = PLACES.map(place).into_iter().find(is_free) else {
            continue;
        };
        let down = Vector::new(sin, -cos) * (HEIGHT / 2.0);
        halo(page, &text, at + down, HEIGHT, angle);
        taken.push(box_at(at));
    }
}

/// `direction` or the opposite one, whichever is read from the lower or the right edge.
fn readable(direction: Angle) -> Angle {
    let degrees = direction.to_degrees().rem_euclid(180.0);
    Angle::degrees(if degrees > 90.0 + 1e-6 {
        degrees - 180.0
    } else {
        degrees
    })
}

/// Whether two boxes share more than an edge.
fn overlap(a: &Bounds, b: &Bounds) -> bool {
    a.min.x < b.max.x && b.min.x < a.max.x && a.min.y < b.max.y && b.min.y < a.max.y
}

/// `text` in the middle of a white box.
pub(super) fn halo(page: &mut Page<'_>, text: &str, at: Point, height: f64, angle: Angle) {
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

/// Heights of capitals of a label, mm.
const LABEL: TextSize = TextSize {
    least: 1.5,
    most: 4.5,
};
/// Height of all but the name, as a share of its.
const SMALLER: f64 = 0.72;

/// Name, facts and the directions, in the largest room of `room`. Returns the box it takes.
pub(super) fn draw_label(
    page: &mut Page<'_>,
    template: &Template,
    room: &Outline,
) -> Option<Bounds> {
    match &template.lays[..] {
        [lay] => draw_one(page, template, lay, room),
        _ => draw_several(page, template, room),
    }
}

/// The label of a template with one lay.
fn draw_one(page: &mut Page<'_>, template: &Template, lay: &Lay, room: &Outline) -> Option<Bounds> {
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
    let height = (free.height * 0.92 / high).min(LABEL.most);
    if height < LABEL.least {
        return draw_words(page, &template.number.to_string(), room);
    }
    let taken = white_box(page, free.centre, wide * height, high * height);
    let (left, middle) = (taken.min.x, free.centre.y);
    let centre = Point::new(left + compass * height / 2.0, middle);
    draw_compass(page, (lay, template.zero), centre, compass * height / 2.0);
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
    Some(taken)
}

/// The label of a template with several lays: its name, and a line with a compass for each.
fn draw_several(page: &mut Page<'_>, template: &Template, room: &Outline) -> Option<Bounds> {
    /// In heights of capitals of the name: its line, a line of a lay, a compass with its gutter.
    const NAME: f64 = 2.0;
    const LINE: f64 = 2.5;
    const COMPASS: f64 = 2.9;
    let name = format!("{}  {}", template.number, template.name());
    let lines: Vec<String> = (template.lays.iter().enumerate())
        .map(|(i, lay)| format!("{}  {}", letter(i), lay.line()))
        .collect();
    let widths = lines.iter().map(|l| page.text_width(l, SMALLER) + COMPASS);
    let wide = widths.fold(page.text_width(&name, 1.0), f64::max) + 0.6;
    let high = NAME + LINE * lines.len() as f64;
    let free = largest_box(room, wide / high);
    let height = (free.height * 0.92 / high).min(LABEL.most);
    if height < LABEL.least * 0.8 {
        return draw_words(page, &template.number.to_string(), room);
    }
    let taken = white_box(page, free.centre, wide * height, high * height);
    let left = taken.min.x + 0.3 * height;
    let mut y = taken.max.y - 1.4 * height;
    page.text(&name, Point::new(left, y), height, Align::Left, ink::BLACK);
    y -= 0.5 * height;
    for (lay, line) in template.lays.iter().zip(&lines) {
        let middle = y - LINE * height / 2.0;
        let centre = Point::new(left + LINE * height / 2.0, middle);
        draw_compass(page, (lay, template.zero), centre, LINE * height * 0.52);
        let x = left + COMPASS * height;
        let baseline = middle - SMALLER * height / 2.0;
        let at = Point::new(x, baseline);
        page.text(line, at, height * SMALLER, Align::Left, ink::BLACK);
        y -= LINE * height;
    }
    Some(taken)
}

/// A white box about `centre`.
fn white_box(page: &mut Page<'_>, centre: Point, width: f64, height: f64) -> Bounds {
    let half = Vector::new(width / 2.0, height / 2.0);
    let bounds = Bounds {
        min: centre - half,
        max: centre + half,
    };
    page.fill([bounds.corners().as_slice()], ink::WHITE);
    bounds
}

/// One line of text in the largest room of `room`. Returns the box it takes.
pub(super) fn draw_words(page: &mut Page<'_>, text: &str, room: &Outline) -> Option<Bounds> {
    let width = page.text_width(text, 1.0) + 0.6;
    let free = largest_box(room, width / 1.7);
    let height = (free.height * 0.9 / 1.7).min(3.0);
    if height <= 0.7 {
        return None;
    }
    let at = free.centre - Vector::new(0.0, height / 2.0);
    halo(page, text, at, height, Angle::ZERO);
    let half = Vector::new(width * height / 2.0, height);
    Some(Bounds {
        min: free.centre - half,
        max: free.centre + half,
    })
}

/// A round picture of the fibres, the warp arrow through it, and the part's 0°.
pub(super) fn draw_compass(
    page: &mut Page<'_>,
    (lay, zero): (&Lay, Angle),
    centre: Point,
    radius: f64,
) {
    /// Lines of fibres on each side of the middle.
    const N_LINES: i32 = 3;
    let disc = radius * 0.66;
    for (i, &fibre) in lay.weave.fibres().iter().enumerate() {
        let n = if i == 0 { N_LINES } else { 2 };
        let (sin, cos) = trig::sin_cos(lay.warp + Angle::degrees(fibre));
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
    let back = lay.warp + Angle::degrees(180.0);
    let (tail, tip) = (towards(back, radius * 0.8), towards(lay.warp, radius * 0.8));
    page.line(&[tail, tip], false, WARP);
    page.fill([arrow_head(tail, tip, radius * 0.3).as_slice()], ink::FIBRE);
    let end = towards(zero, radius * 0.75);
    page.line(&[centre, end], false, ZERO);
    let height = radius * 0.26;
    let at = towards(zero, radius * 0.93) - Vector::new(0.0, height / 2.0);
    if height > 0.9 {
        page.text("0°", at, height, Align::Middle, ink::BLACK);
    }
}

/// A line along `warp` through the piece: from edge to edge, where there is most room for it.
pub(super) fn warp_line(template: &Template, warp: Angle) -> Option<[Point; 2]> {
    /// Shorter lines (mm) give no direction.
    const LEAST: f64 = 30.0;
    const INSET: f64 = 5.0;
    let centre = largest_box(&template.net, 1.5).centre;
    let (sin, cos) = trig::sin_cos(warp);
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

/// What of a template is free for a label: within `bounds`, and beside its laps, near enough to
/// find room: parts may hang together by lines without width (Sutherland and Hodgman 1974).
pub(super) fn room(template: &Template, bounds: Option<&Bounds>) -> Option<Outline> {
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
