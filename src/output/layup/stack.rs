//! The stack of a part as exploded plies, the mould below.

use maud::{Markup, html};

use crate::cloth::Weave;
use crate::geometry::{Bounds, Outline, Point, trig};
use crate::output::number::number;
use crate::output::report::words::angle;
use crate::plan::{LaidPly, PartUse, Plan, PlyUse};
use crate::units::{Angle, Length};

/// Width of the drawing and of the room for the plies in it, pixels.
const WIDTH: f64 = 720.0;
const PLIES: f64 = 430.0;
/// The plies are drawn no deeper than this, pixels.
const DEEPEST: f64 = 84.0;
/// From ply to ply at least, pixels, and as a share of the depth of a ply.
const SPACING: f64 = 44.0;
const SPREAD: f64 = 0.8;
/// So many plies to a drawing; more go on in the next.
const MOST: usize = 14;
/// How a step up the part goes on paper: so much to the right and so much up.
const ACROSS: (f64, f64) = (0.45, 0.42);
/// Half the length of an arrow, pixels on the part.
const ARROW: f64 = 34.0;

/// The stack of `part` from the mould up, in as many drawings as it takes; the top of the stack comes
/// last and highest.
pub(super) fn figures(plan: &Plan, part: &PartUse, laid: &[LaidPly]) -> Markup {
    let running = running_thickness(part);
    let plies: Vec<(&PlyUse, &LaidPly, Option<Length>)> = part
        .plies
        .iter()
        .zip(laid)
        .zip(running)
        .map(|((ply, laid), t)| (ply, laid, t))
        .collect();
    html! {
        @for (i, some) in plies.chunks(MOST).enumerate() { (figure(plan, part, some, i == 0)) }
    }
}

/// Cured thickness up to and including each ply; `None` from the first on that is not known.
pub(super) fn running_thickness(part: &PartUse) -> Vec<Option<Length>> {
    let mut sum = Some(Length::ZERO);
    let plies = part.plies.iter();
    plies
        .map(|ply| {
            sum = sum.zip(ply.lamina).map(|(t, lamina)| t + lamina.thickness);
            sum
        })
        .collect()
}

struct Projection {
    scale: f64,
    middle: Point,
}

impl Projection {
    /// That shows all of `bounds` in the room for the plies.
    fn of(bounds: &Bounds) -> Self {
        let (w, h) = (bounds.width(), bounds.height());
        Self {
            scale: (PLIES / (w + ACROSS.0 * h)).min(DEEPEST / (ACROSS.1 * h)),
            middle: bounds.centre(),
        }
    }

    /// Where `p` of a ply is drawn whose middle is at height `y`.
    fn at(&self, p: Point, y: f64) -> Point {
        let v = p - self.middle;
        Point::new(
            PLIES / 2.0 + 10.0 + (v.x + ACROSS.0 * v.y) * self.scale,
            y - ACROSS.1 * v.y * self.scale,
        )
    }
}

fn figure(
    plan: &Plan,
    part: &PartUse,
    plies: &[(&PlyUse, &LaidPly, Option<Length>)],
    from_mould: bool,
) -> Markup {
    let bounds = plies
        .iter()
        .map(|(_, laid, _)| centred(&laid.outline))
        .reduce(|a, b| a.union(&b));
    let Some(bounds) = bounds else {
        return html! {};
    };
    let projection = Projection::of(&bounds);
    let depth = ACROSS.1 * bounds.height() * projection.scale;
    let spacing = SPACING.max(SPREAD * depth);
    let height = depth + spacing * (plies.len() as f64 - 1.0) + SPACING + 12.0;
    let first = height - depth / 2.0 - 34.0;
    html! {
        svg .stack role="img" viewBox=(format!("0 0 {WIDTH:.0} {height:.0}"))
            aria-label={ "Plies of " (part.name) " from the mould up; the table lists them" } {
            @if from_mould { (mould(&projection, &bounds, first + SPACING * 0.5)) }
            @for (i, (ply, laid, running)) in plies.iter().enumerate() {
                @let y = first - spacing * i as f64;
                (ply_drawing(plan.weave_of(&ply.cloth), ply, laid, &projection, y))
                (caption(plan.weave_of(&ply.cloth), ply, *running, y))
            }
        }
    }
}

/// Bounds of an outline moved to the middle: plies that are drawn apart are shown one above the other.
fn centred(outline: &Outline) -> Bounds {
    let b = outline.bounds();
    let half = crate::geometry::Vector::new(b.width() / 2.0, b.height() / 2.0);
    let zero = Point::default();
    Bounds {
        min: zero - half,
        max: zero + half,
    }
}

fn mould(projection: &Projection, bounds: &Bounds, y: f64) -> Markup {
    let (min, max) = (bounds.min, bounds.max);
    let corners = [min, Point::new(max.x, min.y), max, Point::new(min.x, max.y)];
    let d: String = corners
        .iter()
        .enumerate()
        .map(|(i, &p)| {
            let p = projection.at(p, y);
            format!("{}{},{}", if i == 0 { 'M' } else { 'L' }, px(p.x), px(p.y))
        })
        .collect();
    html! {
        path .mould d={ (d) "Z" } {}
        text .side x=(px(PLIES + 40.0)) y=(px(y + 14.0)) { "mould" }
    }
}

fn ply_drawing(
    weave: Weave,
    ply: &PlyUse,
    laid: &LaidPly,
    projection: &Projection,
    y: f64,
) -> Markup {
    let centre = laid.outline.bounds().centre();
    let to_middle = projection.middle - centre;
    let at = |p: Point| projection.at(p + to_middle, y);
    let mut d = String::new();
    for ring in laid.outline.rings() {
        let mut last = Point::new(f64::INFINITY, 0.0);
        for (i, p) in ring.points().iter().map(|&p| at(p)).enumerate() {
            if i > 0 && p.distance(last) < 0.4 {
                continue;
            }
            d.push(if i == 0 { 'M' } else { 'L' });
            d.push_str(&format!("{},{}", px(p.x), px(p.y)));
            last = p;
        }
        d.push('Z');
    }
    let warp = weave.warp_angle(ply.angle);
    html! {
        path .ply d=(d) {}
        path .zero d=(line(projection, Angle::ZERO, y, 1.25)) {}
        @for (i, &fibre) in weave.fibres().iter().enumerate() {
            @let direction = warp + Angle::degrees(fibre);
            @let class = if i == 0 || weave == Weave::Biaxial { "warp" } else { "weft" };
            path .(class) d=(line(projection, direction, y, 1.0)) {}
            @if class == "warp" { path .head d=(head(projection, direction, y)) {} }
        }
    }
}

/// The ends of a line through the middle of a ply along `direction`, true on the part.
fn ends(projection: &Projection, direction: Angle, y: f64, reach: f64) -> (Point, Point) {
    let (sin, cos) = trig::sin_cos(direction);
    let reach = ARROW * reach / projection.scale;
    let half = crate::geometry::Vector::new(cos * reach, sin * reach);
    (
        projection.at(projection.middle - half, y),
        projection.at(projection.middle + half, y),
    )
}

fn line(projection: &Projection, direction: Angle, y: f64, reach: f64) -> String {
    let (a, b) = ends(projection, direction, y, reach);
    format!("M{},{}L{},{}", px(a.x), px(a.y), px(b.x), px(b.y))
}

/// An arrow head at the end of the line along `direction`.
fn head(projection: &Projection, direction: Angle, y: f64) -> String {
    let (from, tip) = ends(projection, direction, y, 1.0);
    let along = tip - from;
    let unit = along * (1.0 / along.length().max(1e-9));
    let across = crate::geometry::Vector::new(-unit.y, unit.x);
    let base = tip - unit * 9.0;
    let (left, right) = (base + across * 3.4, base - across * 3.4);
    format!(
        "M{},{}L{},{}L{},{}Z",
        px(tip.x),
        px(tip.y),
        px(left.x),
        px(left.y),
        px(right.x),
        px(right.y)
    )
}

fn caption(weave: Weave, ply: &PlyUse, running: Option<Length>, y: f64) -> Markup {
    let x = PLIES + 40.0;
    let thickness = running.map_or_else(String::new, |t| format!(" · up to {:.2} mm", t.to_mm()));
    html! {
        path .leader d=(format!("M{},{}H{}", px(PLIES + 12.0), px(y), px(x - 4.0))) {}
        text .n x=(px(x)) y=(px(y + 1.0)) { (ply.n) " · " (angle(ply.angle)) " " (ply.cloth) }
        text .small x=(px(x)) y=(px(y + 15.0)) {
            (weave.word())
            @if ply.appearance { ", will be seen" }
            @if ply.on_bias { ", on the bias" }
            (thickness)
        }
    }
}

fn px(value: f64) -> String {
    number(value, 1)
}
