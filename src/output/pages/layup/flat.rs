//! Each ply drawn flat on its part, with its fibres at their true angles, and measured from two datums:
//! what a person lays doublers, drops and joints by.
//!
//! Datum A is the line square to 0° at the lowest point of the part along 0°, datum B the line along
//! 0° at its lowest point across. Plies that look alike share a drawing. Each drawing is small enough
//! to be read on a phone.

use super::joints;
use crate::geometry::{Bounds, Outline, Point, Vector, trig};
use crate::output::drawing::face;
use crate::output::drawing::figure::{Figure, Look, rings};
use crate::output::drawing::shape::{Drawing, arrow_head};
use crate::output::pages::model::{Group, Passage};
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{angle, counted};
use crate::output::style::{CAPITALS_PER_SIZE, hatch};
use crate::plan::{LaidPly, PartUse, PlyUse};
use crate::units::{Angle, Length};

/// Width of a drawing; room left of and below the part for measures, above it for a name and the
/// directions, pixels. A phone shows 320 or more.
pub(super) const WIDTH: f64 = 345.0;
const LEFT: f64 = 46.0;
const ABOVE: f64 = 46.0;
const RIGHT: f64 = 10.0;
/// The part is drawn no deeper than this, pixels.
const DEEPEST: f64 = 250.0;
/// From a row of measures to the next, pixels; so many rows at most.
const ROW: f64 = 15.0;
const ROWS: usize = 4;
/// Radius of the directions beside the name, pixels.
const COMPASS: f64 = 19.0;
/// What differs by less is one measure, mm.
const SAME_MM: f64 = 0.5;

/// Plies that look alike on their part.
struct Alike<'a> {
    laid: &'a LaidPly,
    plies: Vec<&'a PlyUse>,
}

/// Something that is measured from a datum, mm.
#[derive(Clone, Copy)]
struct Measure {
    from_datum: f64,
    is_joint: bool,
}

/// The measures of a ply from datum A and from datum B, each in order.
struct Measures {
    along: Vec<Measure>,
    across: Vec<Measure>,
}

/// The section on the plies of `part` drawn flat.
pub(super) fn section(part: &PartUse, passages: &mut Vec<Passage>) {
    let all = alike(part);
    let Some(whole) = whole(part) else {
        return;
    };
    let is_measured = |one: &&Alike<'_>| !measures(one, &whole).is_empty();
    let measured: Vec<&Alike<'_>> = all.iter().filter(is_measured).collect();
    passages.push(Passage::heading("Ply by ply on the part"));
    passages.push(Passage::plain(prose! {
        "Flat, true angles, 0° to the right, seen from the bag side. Thin lines: fibres (of woven cloth the warp). "
        "Arrow: the warp. Dashed with a cross: an opening to be cut after cure."
        if (!measured.is_empty()) {
            " Measures are in mm from two datums: A, where the part begins along 0°, and B, its lower edge."
        }
    }));
    let figures = all
        .iter()
        .map(|one| Passage::Figure(figure(part, one, &whole)));
    passages.push(Passage::Group(Group::Plans, figures.collect()));
    if !measured.is_empty() {
        passages.push(table(part, &measured, &whole));
    }
}

/// Whether a ply of `part` is measured from the datums.
pub(super) fn is_measured(part: &PartUse) -> bool {
    whole(part).is_some_and(|whole| {
        alike(part)
            .iter()
            .any(|one| !measures(one, &whole).is_empty())
    })
}

/// The plies of `part` in the order of laying, those that look alike together.
fn alike(part: &PartUse) -> Vec<Alike<'_>> {
    let mut all: Vec<Alike<'_>> = Vec::new();
    for (ply, laid) in part.plies.iter().zip(&part.laid) {
        let is_same = |one: &&mut Alike<'_>| {
            let first = one.plies[0];
            one.laid == laid
                && first.angle() == ply.angle()
                && first.cloth().name == ply.cloth().name
        };
        match all.iter_mut().find(is_same) {
            Some(same) => same.plies.push(ply),
            None => all.push(Alike {
                laid,
                plies: vec![ply],
            }),
        }
    }
    all
}

/// The box around all plies that lie on `part`.
fn whole(part: &PartUse) -> Option<Bounds> {
    let in_place = part.laid.iter().filter(|laid| laid.in_place);
    let bounds = in_place.map(|laid| laid.outline.bounds());
    bounds.reduce(|a, b| a.union(&b))
}

impl Alike<'_> {
    /// `Ply 3`, `Plies 1, 4`.
    fn name(&self) -> String {
        let numbers: Vec<String> = self.plies.iter().map(|ply| ply.n().to_string()).collect();
        let word = if numbers.len() == 1 { "Ply" } else { "Plies" };
        format!("{word} {}", numbers.join(", "))
    }
}

impl Measures {
    fn is_empty(&self) -> bool {
        self.along.is_empty() && self.across.is_empty()
    }
}

/// What is to be measured of a ply: where it begins and ends if the part goes on there, and its joints; of one that
/// is drawn beside the part its joints, from its own edges.
fn measures(one: &Alike<'_>, whole: &Bounds) -> Measures {
    let own = one.laid.outline.bounds();
    let whole = if one.laid.in_place { whole } else { &own };
    let edges = |low: f64, high: f64, from: f64, to: f64| {
        let is_whole = low - from < SAME_MM && to - high < SAME_MM;
        let ends = [low - from, high - from];
        let ends = ends.map(|from_datum| Measure {
            from_datum,
            is_joint: false,
        });
        ends.into_iter().filter(|_| !is_whole).collect::<Vec<_>>()
    };
    let mut along = edges(own.min.x, own.max.x, whole.min.x, whole.max.x);
    let mut across = edges(own.min.y, own.max.y, whole.min.y, whole.max.y);
    for edge in joints::lines(one.laid) {
        let run = edge.ends[1] - edge.ends[0];
        // A joint that runs across is found where it leaves the lower and the upper edge.
        let is_steep = run.y.abs() > run.x.abs();
        for end in edge.ends {
            let (list, from_datum) = match is_steep {
                true => (&mut along, end.x - whole.min.x),
                false => (&mut across, end.y - whole.min.y),
            };
            list.push(Measure {
                from_datum,
                is_joint: true,
            });
        }
    }
    for list in [&mut along, &mut across] {
        list.sort_by(|a, b| a.from_datum.total_cmp(&b.from_datum));
        list.dedup_by(|b, a| b.from_datum - a.from_datum < SAME_MM);
    }
    Measures { along, across }
}

/// The measures in both unit systems.
fn table(part: &PartUse, measured: &[&Alike<'_>], whole: &Bounds) -> Passage {
    let of = |list: &[Measure]| -> Prose {
        let words = list.iter().map(|measure| {
            let length = Length::mm(measure.from_datum.max(0.0));
            // Laid by hand, a millimetre is as near as it gets.
            let length = format!("{:.0} mm ({:.2} in)", length.to_mm(), length.to_inches());
            let joint = if measure.is_joint { " (joint)" } else { "" };
            format!("{length}{joint}")
        });
        Prose::joined(words, "; ")
    };
    TableOf::new(
        format!("Measures of {}", part.name()),
        measured.iter().copied(),
    )
    .name("Ply", |one| match one.laid.in_place {
        true => one.name(),
        false => format!("{}, from its own edges", one.name()),
    })
    .words("From A, along 0°", |one| of(&measures(one, whole).along))
    .words("From B, across", |one| of(&measures(one, whole).across))
    .done()
}

/// Where the part is drawn.
struct Frame {
    shown: Bounds,
    scale: f64,
}

impl Frame {
    fn of(shown: Bounds) -> Self {
        let scale = (WIDTH - LEFT - RIGHT) / shown.width();
        Self {
            scale: scale.min(DEEPEST / shown.height()),
            shown,
        }
    }

    fn at(&self, p: Point) -> Point {
        Point::new(
            LEFT + (p.x - self.shown.min.x) * self.scale,
            ABOVE + (self.shown.max.y - p.y) * self.scale,
        )
    }
}

fn figure(part: &PartUse, one: &Alike<'_>, whole: &Bounds) -> Figure {
    let laid = one.laid;
    let shown = if laid.in_place {
        *whole
    } else {
        laid.outline.bounds()
    };
    let frame = Frame::of(shown);
    let mut drawing = Drawing::default();
    draw_head(one, &mut drawing);
    if laid.in_place
        && let Some(base) = base(part, laid)
    {
        drawing.area(Look::Whole, rings([base], |p| frame.at(p)));
    }
    draw_ply(part, one, &frame, &mut drawing);
    let measures = measures(one, whole);
    let n_rows = draw_measures(&measures, &frame, &mut drawing);
    let mut height = ABOVE + shown.height() * frame.scale + 6.0 + ROW * n_rows as f64;
    if !laid.in_place {
        height += ROW;
        let own = laid.outline.bounds();
        let text = format!(
            "its place on the part is not given; {:.0} × {:.0} mm",
            own.width(),
            own.height()
        );
        let at = Point::new(LEFT + (WIDTH - LEFT) / 2.0, height - 4.0);
        drawing.text(Look::Along, at, text);
    }
    Figure {
        kind: "plan",
        width: WIDTH,
        height,
        title: format!(
            "{} of {} flat, seen from the bag side",
            one.name(),
            part.name()
        ),
        drawing,
    }
}

/// The largest ply, drawn beneath one that does not cover the part.
fn base<'a>(part: &'a PartUse, laid: &LaidPly) -> Option<&'a Outline> {
    let area = |outline: &Outline| outline.outer.area();
    let in_place = part.laid.iter().filter(|laid| laid.in_place);
    let largest = in_place
        .map(|laid| &laid.outline)
        .reduce(|a, b| if area(b) > area(a) { b } else { a })?;
    (*largest != laid.outline).then_some(largest)
}

/// Name, angle, cloth, and the directions as a small picture.
fn draw_head(one: &Alike<'_>, drawing: &mut Drawing<Look>) {
    let ply = one.plies[0];
    let beside = 2.0 * COMPASS + 8.0;
    let height = Look::Name.size() * CAPITALS_PER_SIZE;
    let mut line = |look: Look, y: f64, text: String| {
        let text = face::fitted(&text, height, WIDTH - beside);
        drawing.text(look, Point::new(beside, y), text);
    };
    line(Look::Name, 16.0, one.name());
    let bias = if ply.on_bias() { ", on the bias" } else { "" };
    let pieces = match ply.n_pieces() {
        1 => String::new(),
        n => format!(", {}", counted(n, "piece", "pieces")),
    };
    let words = format!("{} {}{bias}{pieces}", angle(ply.angle()), ply.cloth().name);
    line(Look::Small, 31.0, words);
    draw_directions(ply, Point::new(COMPASS + 2.0, COMPASS + 2.0), drawing);
}

fn draw_directions(ply: &PlyUse, centre: Point, drawing: &mut Drawing<Look>) {
    let towards = |direction: Angle, length: f64| {
        let (sin, cos) = trig::sin_cos(direction);
        centre + Vector::new(cos, -sin) * length
    };
    let across =
        |direction: Angle, length: f64| [towards(direction, -length), towards(direction, length)];
    drawing.line(Look::Zero, &[centre, towards(Angle::ZERO, COMPASS)]);
    let weave = ply.weave();
    if !weave.has_direction() {
        return;
    }
    for (&from_warp, axis) in weave.fibres().iter().zip(weave.fibres_of(ply.angle())) {
        let look = if from_warp == 90.0 {
            Look::Weft
        } else {
            Look::Fibres
        };
        if from_warp != 0.0 {
            drawing.line(
                look,
                &across(axis.where_zero_is(Angle::ZERO), COMPASS * 0.8),
            );
        }
    }
    let warp = weave.warp(ply.angle()).where_zero_is(Angle::ZERO);
    let [tail, tip] = across(warp, COMPASS * 0.9);
    drawing.line(Look::Warp, &[tail, tip]);
    let unit = (tip - tail) * (1.0 / (tip - tail).length());
    let side = Vector::new(-unit.y, unit.x);
    let head = arrow_head((8.0, 3.2), |x, y| tip + unit * x + side * y);
    drawing.area(Look::Head, vec![head.to_vec()]);
}

/// The ply with its fibres, openings and joints.
fn draw_ply(part: &PartUse, one: &Alike<'_>, frame: &Frame, drawing: &mut Drawing<Look>) {
    let (ply, laid) = (one.plies[0], one.laid);
    let at = |p: Point| frame.at(p);
    let (uncut, cut): (Vec<_>, Vec<_>) = (laid.outline.openings.iter().zip(&laid.after_cure))
        .partition(|(_, after_cure)| **after_cure);
    let cloth = Outline {
        outer: laid.outline.outer.clone(),
        openings: cut
            .into_iter()
            .map(|(opening, _)| opening.clone())
            .collect(),
    };
    drawing.area(Look::Ply, rings([&cloth], at));
    let edges: Vec<Vec<Point>> = cloth.rings().map(|ring| ring.points().to_vec()).collect();
    let directions = hatch::on_part(ply.weave(), ply.angle());
    let spacing = hatch::spacing(directions.len()) / frame.scale;
    for direction in directions {
        let lines = hatch::lines(&edges, direction.from_zero(), spacing);
        let lines = lines.iter().map(|ends| ends.map(at).to_vec()).collect();
        drawing.lines(Look::Hatch, lines);
    }
    joints::draw(part, ply, laid, (&at, frame.scale), drawing);
    drawing.area(Look::Rim, rings([&cloth], at));
    for (opening, _) in uncut {
        drawing.area(Look::Uncut, rings([&Outline::solid(opening.clone())], at));
        let [a, b, c, d] = opening.bounds().corners().map(at);
        drawing.lines(Look::Uncut, vec![vec![a, c], vec![b, d]]);
    }
}

/// The datums and what is measured from them; how many rows there are below the part.
fn draw_measures(measures: &Measures, frame: &Frame, drawing: &mut Drawing<Look>) -> usize {
    if measures.is_empty() {
        return 0;
    }
    let (corner, far) = (frame.at(frame.shown.min), frame.at(frame.shown.max));
    let (left, bottom, right, top) = (corner.x, corner.y, far.x, far.y);
    let point = Point::new;
    drawing.line(
        Look::Datum,
        &[point(left, bottom + 4.0), point(left, top - 3.0)],
    );
    drawing.line(
        Look::Datum,
        &[point(left - 4.0, bottom), point(right + 8.0, bottom)],
    );
    drawing.text(Look::Inside, point(left - 10.0, top + 4.0), "A");
    drawing.text(Look::Inside, point(left - 12.0, bottom + 4.0), "B");
    let height = Look::Along.size() * CAPITALS_PER_SIZE;
    let text_of = |measure: &Measure| format!("{:.0}", measure.from_datum.max(0.0));
    // Each value in the first row that is free there.
    let mut rows = [f64::NEG_INFINITY; ROWS];
    let mut n_rows = 1;
    for measure in &measures.along {
        let x = left + measure.from_datum * frame.scale;
        let text = text_of(measure);
        let half = face::width(&text, height) / 2.0 + 3.0;
        let free = rows
            .iter()
            .position(|end| *end <= x - half)
            .unwrap_or(ROWS - 1);
        rows[free] = x + half;
        n_rows = n_rows.max(free + 1);
        let y = bottom + ROW * (free + 1) as f64;
        drawing.line(Look::Leader, &[point(x, bottom), point(x, y - 9.0)]);
        drawing.text(Look::Along, point(x, y), text);
    }
    let mut lowest = f64::INFINITY;
    for measure in &measures.across {
        let y = bottom - measure.from_datum * frame.scale;
        let text = text_of(measure);
        // Clear of the value below it and of the letter of datum B.
        let beside = (y + 4.0).min(lowest - 12.0).min(bottom - 8.0);
        lowest = beside;
        drawing.line(
            Look::Leader,
            &[point(left, y), point(left - 12.0, beside - 4.0)],
        );
        let middle = left - 15.0 - face::width(&text, height) / 2.0;
        drawing.text(Look::Along, point(middle, beside), text);
    }
    n_rows + 1
}
