//! What is written on templates: labels, compasses, words at joints.

use super::Purpose;
use super::shape::{Lay, Template, letter};
use crate::geometry::{Bounds, Outline, Point, Ring, Vector, largest_box, trig};
use crate::output::drawing::compass::draw_compass;
use crate::output::drawing::face;
use crate::output::drawing::joint;
use crate::output::drawing::label::TextSize;
use crate::output::drawing::page::Page;
use crate::output::drawing::pens::ZERO;
use crate::output::drawing::shape::{Align, Shape};
use crate::output::drawing::start::WORD_REACH;
use crate::output::style::ink;

use crate::plan::PlacedJoint;
use crate::ply::{Joint, Lies};
use crate::units::Angle;

/// Heights of capitals beside a joint.
const JOINT_TEXT: TextSize = TextSize {
    least: 1.2,
    most: 3.0,
};

/// What is written at the joints of a template, where `clear` shows them.
pub(super) fn joint_texts(page: &mut Page, template: &Template, clear: &Bounds) {
    for joined in &template.joints {
        let [from, to] = joined.joint.line;
        let Some(line) = clear.part_of_edge(from, to) else {
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
            page.inset(&text.text, text.baseline(), text.height, text.angle);
        }
    }
}

/// Heights of capitals of a label, mm.
pub(super) const LABEL: TextSize = TextSize {
    least: 1.5,
    most: 4.5,
};
/// Height of all but the name, as a share of its.
const SMALLER: f64 = 0.72;

/// In heights of capitals of the name: compass, gutter and height of the label of one lay; the line
/// of the name, the line of a lay and its compass with its gutter where there are several.
const ONE: (f64, f64, f64) = (5.2, 0.8, 5.2);
const SEVERAL: (f64, f64, f64) = (2.0, 2.5, 2.9);

/// Where the label of a template stands.
#[derive(Clone, Copy)]
pub(super) struct LabelPlace {
    /// The box that it takes.
    pub(super) bounds: Bounds,
    /// Height of its capitals, mm; of the number alone if there is no room for more.
    height: f64,
    is_number: bool,
}

impl LabelPlace {
    /// Whether there is room for the number alone.
    pub(super) const fn is_number(&self) -> bool {
        self.is_number
    }

    pub(super) fn shifted(&self, by: Vector) -> Self {
        Self {
            bounds: self.bounds.shifted(by),
            ..*self
        }
    }
}

/// First line of a label.
pub(super) fn headline(template: &Template) -> String {
    format!("{}  {}", template.number, template.name())
}

/// A line for each lay, where there are several.
fn lay_lines(template: &Template) -> Vec<String> {
    let lays = template.lays.iter().enumerate();
    lays.map(|(i, lay)| format!("{}  {}", letter(i), lay.line()))
        .collect()
}

/// Where there is most room within `clear` for the label of `template`: inside the finished edge
/// unless it gets too small there.
pub(super) fn place_label(template: &Template, clear: &Bounds) -> Option<LabelPlace> {
    /// From this height of capitals on, mm, a label need not be larger.
    const GOOD: f64 = 2.6;
    let within = |outline| {
        let room = room(template, outline, Some(clear))?;
        place_in(template, &room)
    };
    let inside = within(&template.net);
    match inside {
        Some(place) if !place.is_number && place.height >= GOOD => inside,
        _ => within(&template.cut).or(inside),
    }
}

fn place_in(template: &Template, room: &Outline) -> Option<LabelPlace> {
    let width_of = |text: &str| face::width(text, 1.0);
    let name = width_of(&headline(template));
    let (wide, high) = match &template.lays[..] {
        [_] => {
            let (compass, gutter, high) = ONE;
            let facts = width_of(&template.facts()) * SMALLER;
            (compass + gutter + name.max(facts), high)
        }
        _ => {
            let (head, line, compass) = SEVERAL;
            let lines = lay_lines(template);
            let widths = lines.iter().map(|l| width_of(l) * SMALLER + compass);
            let high = head + line * lines.len() as f64;
            (widths.fold(name, f64::max) + 0.6, high)
        }
    };
    let free = largest_box(room, wide / high);
    let height = (free.height * 0.92 / high).min(LABEL.most);
    if height >= LABEL.least {
        return Some(LabelPlace {
            bounds: about(free.centre, wide * height, high * height),
            height,
            is_number: false,
        });
    }
    let number = width_of(&template.number.to_string()) + 0.6;
    let free = largest_box(room, number / 1.7);
    let height = (free.height * 0.9 / 1.7).min(WORDS.most);
    (height > WORDS.least).then(|| LabelPlace {
        bounds: about(free.centre, number * height, 1.7 * height),
        height,
        is_number: true,
    })
}

/// Name, facts and the directions.
pub(super) fn draw_label(page: &mut Page, template: &Template, place: &LabelPlace) {
    let LabelPlace { bounds, height, .. } = *place;
    if place.is_number {
        let at = bounds.centre() - Vector::new(0.0, height / 2.0);
        let number = template.number.to_string();
        page.inset(&number, at, height, Angle::ZERO);
        return;
    }
    page.fill(Shape::Rectangle(bounds), ink::WHITE);
    match &template.lays[..] {
        [lay] => draw_one(page, template, lay, (bounds, height)),
        _ => draw_several(page, template, (bounds, height)),
    }
}

/// The label of a template with one lay.
fn draw_one(page: &mut Page, template: &Template, lay: &Lay, place: (Bounds, f64)) {
    let (bounds, height) = place;
    let (compass, gutter, _) = ONE;
    let (left, middle) = (bounds.min.x, bounds.centre().y);
    let radius = compass * height / 2.0;
    let centre = Point::new(left + radius, middle);
    match lay.purpose {
        Purpose::Cut => draw_compass(page, &lay.directions(template.zero), centre, radius),
        Purpose::Trim => draw_zero(page, template.zero, centre, radius),
    }
    let x = left + (compass + gutter) * height;
    let at = Point::new(x, middle + 0.35 * height);
    let name = headline(template);
    page.words(&name, at, height);
    let below = Point::new(x, middle - 1.25 * height);
    let facts = template.facts();
    page.words(&facts, below, height * SMALLER);
}

/// The 0° of a finished part, which has no warp.
fn draw_zero(page: &mut Page, zero: Angle, centre: Point, radius: f64) {
    let (sin, cos) = trig::sin_cos(zero);
    let along = Vector::new(cos, sin) * (radius * 0.7);
    page.edge([centre - along, centre + along], ZERO);
    let height = radius * 0.26;
    let at = centre + along * 1.35 - Vector::new(0.0, height / 2.0);
    page.text("0°", at, height, Align::Middle, ink::BLACK);
}

/// The label of a template with several lays: its name, and a line with a compass for each.
fn draw_several(page: &mut Page, template: &Template, (bounds, height): (Bounds, f64)) {
    let (_, line_height, compass) = SEVERAL;
    let left = bounds.min.x + 0.3 * height;
    let mut y = bounds.max.y - 1.4 * height;
    let name = headline(template);
    page.words(&name, Point::new(left, y), height);
    y -= 0.5 * height;
    for (lay, line) in template.lays.iter().zip(lay_lines(template)) {
        let middle = y - line_height * height / 2.0;
        let centre = Point::new(left + line_height * height / 2.0, middle);
        let radius = line_height * height * 0.52;
        draw_compass(page, &lay.directions(template.zero), centre, radius);
        let baseline = middle - SMALLER * height / 2.0;
        let at = Point::new(left + compass * height, baseline);
        page.words(&line, at, height * SMALLER);
        y -= line_height * height;
    }
}

/// A box about `centre`.
fn about(centre: Point, width: f64, height: f64) -> Bounds {
    let half = Vector::new(width / 2.0, height / 2.0);
    Bounds {
        min: centre - half,
        max: centre + half,
    }
}

/// Heights of capitals of a line by itself, mm.
const WORDS: TextSize = TextSize {
    least: 0.7,
    most: 3.0,
};

/// One line of text in the largest room of `room`. Returns the box it takes.
pub(super) fn draw_words(page: &mut Page, text: &str, room: &Outline) -> Option<Bounds> {
    let width = face::width(text, 1.0) + 0.6;
    let free = largest_box(room, width / 1.7);
    let height = (free.height * 0.9 / 1.7).min(WORDS.most);
    if height <= WORDS.least {
        return None;
    }
    let at = free.centre - Vector::new(0.0, height / 2.0);
    page.inset(text, at, height, Angle::ZERO);
    Some(about(free.centre, width * height, 2.0 * height))
}

/// So far off a mark nothing is written, mm.
const OFF_MARK_MM: f64 = 1.0;

/// What of `outline`, a line of a template, is free for a label: within `bounds`, and beside its
/// laps, near enough to find room: parts may hang together by lines without width (Sutherland and Hodgman 1974).
pub(super) fn room(
    template: &Template,
    outline: &Outline,
    bounds: Option<&Bounds>,
) -> Option<Outline> {
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
    // What stands on a mark would hide it.
    let marks = (template.marks.iter())
        .filter_map(|mark| Some(Bounds::of(mark.points.iter().copied())?.grown(OFF_MARK_MM)));
    let start = template.start.iter();
    let start = start.filter_map(|at| Some(Bounds::of([at.start])?.grown(WORD_REACH)));
    let around_marks = marks.chain(start).filter_map(|around| {
        let is_inside = around
            .corners()
            .iter()
            .all(|&corner| outline.contains(corner));
        is_inside
            .then(|| Ring::new(around.corners()).ok())
            .flatten()
    });
    let openings = outline.openings.iter().cloned().chain(around_marks);
    Some(Outline {
        outer: clip_ring(&outline.outer, &sides)?,
        openings: openings.filter_map(|o| clip_ring(&o, &sides)).collect(),
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

#[cfg(test)]
mod tests {
    use crate::geometry::{Bounds, Point};
    use crate::output::drawing::shape::Shape;
    use crate::output::drawing::templates::{Purpose, patterns};
    use crate::output::style::{Paint, ink};
    use crate::plan::tests::plan_of;

    /// What is painted white under words is painted over no line of a template: not over its edges, openings, joints and
    /// marks, whether the template is small, narrow or full of holes.
    #[test]
    fn no_label_hides_a_line() {
        let job = "[cutting]\ntrim = \"6 mm\"\nopenings = \"cut\"\nsplice = \"lap\"\n[cloth.c]\nweave = \"plain\"\n\
            areal_weight = \"200 g/m2\"\nroll_width = \"150 mm\"\n[[part]]\nname = \"PLATE\"\npattern = \"p.svg\"\n\
            outline = \"plate\"\ncloth = \"c\"\nlayup = \"[0/45/0]\"\n[[part]]\nname = \"STRIP\"\npattern = \"p.svg\"\n\
            outline = \"strip\"\ncloth = \"c\"\nlayup = \"[0]\"\n";
        let holes: String = (0..9)
            .map(|i| format!("M{0} {1}h34v34h-34z", 30 + 45 * (i % 3), 20 + 45 * (i / 3)))
            .collect();
        let shapes = format!(
            "<path id=\"plate\" fill-rule=\"evenodd\" d=\"M10 10H270V160H10Z{holes}\"/>\
             <g id=\"drill\"><circle cx=\"215\" cy=\"85\" r=\"4\"/></g><g id=\"notch\"><path d=\"M200 160V155\"/></g>\
             <path id=\"strip\" d=\"M10 175H250V186H10Z\"/>"
        );
        let plan = plan_of(job, &shapes);
        for purpose in [Purpose::Cut, Purpose::Trim] {
            let pages = patterns(&plan, purpose).pages;
            // The first page is the cover.
            for page in &pages[1..] {
                let items = &page.drawing().items;
                let mut lines: Vec<[Point; 2]> = Vec::new();
                for item in items {
                    match &item.shape {
                        Shape::Rectangle(label) if is_white(&item.layer) => {
                            let shown = |line: &[Point; 2]| {
                                let within = item.within.is_none_or(|within: Bounds| {
                                    within.part_of_edge(line[0], line[1]).is_some()
                                });
                                within
                                    && label.grown(-0.05).part_of_edge(line[0], line[1]).is_some()
                            };
                            let hidden = lines.iter().find(|line| shown(line));
                            assert!(hidden.is_none(), "{label:?} hides {hidden:?}");
                        }
                        Shape::Line { points, closed } => {
                            let n = points.len();
                            let ends = if *closed { n } else { n - 1 };
                            lines.extend((0..ends).map(|i| [points[i], points[(i + 1) % n]]));
                        }
                        Shape::Edge(ends) => lines.push(*ends),
                        _ => {}
                    }
                }
                assert!(!lines.is_empty());
            }
        }
    }

    fn is_white(paint: &Paint) -> bool {
        paint.area == Some(ink::WHITE)
    }
}
