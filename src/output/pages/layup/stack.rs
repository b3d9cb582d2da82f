//! The stack of a part as exploded plies, the mould below.

use super::joints;
use crate::cloth::Weave;
use crate::geometry::{Bounds, Outline, Point, Vector, trig};
use crate::output::drawing::face;
use crate::output::drawing::figure::{Figure, Look, rings};
use crate::output::drawing::label::SEPARATOR;
use crate::output::drawing::shape::{Drawing, arrow_head};
use crate::output::pages::words::{angle, counted};
use crate::output::style::CAPITALS_PER_SIZE;
use crate::plan::{CoreUse, LaidPly, PartUse, PlyUse};
use crate::units::{Angle, Length};

/// Width of the drawing and of the room for the plies in it, pixels.
const WIDTH: f64 = 720.0;
const PLIES: f64 = 430.0;
/// Where the captions beside the plies begin, pixels.
const CAPTIONS: f64 = PLIES + 40.0;
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
pub(super) fn figures(part: &PartUse) -> Vec<Figure> {
    let running = running_thickness(part);
    let plies: Vec<(&PlyUse, &LaidPly, Option<Length>)> = part
        .plies
        .iter()
        .zip(&part.laid)
        .zip(running)
        .map(|((ply, laid), t)| (ply, laid, t))
        .collect();
    let some = plies.chunks(MOST).enumerate();
    some.filter_map(|(i, some)| figure(part, some, i == 0))
        .collect()
}

/// Cured thickness up to and including each ply, where that ply makes the part thickest: plies that lie
/// elsewhere do not count. `None` where it is not known.
pub(super) fn running_thickness(part: &PartUse) -> Vec<Option<Length>> {
    let up_to = |n: u32, lies: &dyn Fn(u32) -> bool, cores: &[usize]| {
        let below = part
            .plies
            .iter()
            .filter(|ply| ply.n() <= n && lies(ply.n()));
        let plies = below.map(|ply| Some(ply.lamina()?.thickness));
        let plies: Option<Length> = plies.sum();
        let is_below = |core: &usize| part.cores[*core].core().on_ply < n;
        let cores = cores.iter().filter(|core| is_below(core));
        let cores: Length = cores.map(|core| part.cores[*core].core().thickness).sum();
        plies.map(|plies| plies + cores)
    };
    let all: Vec<usize> = (0..part.cores.len()).collect();
    let thickest = |ply: &PlyUse| {
        let with_it = (part.thickness.iter())
            .flat_map(|map| &map.regions)
            .filter(|r| r.plies.contains(&ply.n()));
        let of_regions =
            with_it.map(|region| up_to(ply.n(), &|n| region.plies.contains(&n), &region.cores));
        let thickest = of_regions.reduce(|a, b| if b > a { b } else { a });
        thickest.unwrap_or_else(|| up_to(ply.n(), &|_| true, &all))
    };
    part.plies.iter().map(thickest).collect()
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
    part: &PartUse,
    plies: &[(&PlyUse, &LaidPly, Option<Length>)],
    from_mould: bool,
) -> Option<Figure> {
    let bounds = plies
        .iter()
        .map(|(_, laid, _)| centred(&laid.outline))
        .reduce(|a, b| a.union(&b))?;
    let projection = Projection::of(&bounds);
    let depth = ACROSS.1 * bounds.height() * projection.scale;
    let spacing = SPACING.max(SPREAD * depth);
    let height = depth + spacing * (plies.len() as f64 - 1.0) + SPACING + 20.0;
    let first = height - depth / 2.0 - 42.0;
    let mut drawing = Drawing::default();
    if from_mould {
        draw_mould(&projection, &bounds, first + SPACING * 0.5, &mut drawing);
    }
    for (i, (ply, laid, running)) in plies.iter().enumerate() {
        let y = first - spacing * i as f64;
        let weave = ply.weave();
        draw_ply(weave, ply, laid, &projection, y, &mut drawing);
        let cores: Vec<&CoreUse> = part.cores_on(ply.n()).collect();
        for core in &cores {
            draw_core(core, laid, &projection, y - spacing * 0.3, &mut drawing);
        }
        draw_caption(ply, *running, &cores, y, &mut drawing);
    }
    Some(Figure {
        kind: "stack",
        width: WIDTH,
        height,
        title: format!(
            "Plies of {} from the mould up; the table lists them",
            part.name()
        ),
        drawing,
    })
}

/// Bounds of an outline moved to the middle: plies that are drawn apart are shown one above the other.
fn centred(outline: &Outline) -> Bounds {
    let b = outline.bounds();
    let half = Vector::new(b.width() / 2.0, b.height() / 2.0);
    let zero = Point::default();
    Bounds {
        min: zero - half,
        max: zero + half,
    }
}

fn draw_mould(projection: &Projection, bounds: &Bounds, y: f64, drawing: &mut Drawing<Look>) {
    let corners = bounds.corners().map(|p| projection.at(p, y));
    drawing.area(Look::Mould, vec![corners.to_vec()]);
    let beside = Point::new(CAPTIONS, y + 20.0);
    drawing.text(Look::Small, beside, "mould");
}

/// A core over its ply, which is `laid` so: its edge, shaded.
fn draw_core(
    core: &CoreUse,
    laid: &LaidPly,
    projection: &Projection,
    y: f64,
    drawing: &mut Drawing<Look>,
) {
    let to_middle = projection.middle - laid.outline.bounds().centre();
    let at = |p: Point| projection.at(p + to_middle, y);
    drawing.area(Look::Region(0.2), rings([core.outline()], at));
}

fn draw_ply(
    weave: Weave,
    ply: &PlyUse,
    laid: &LaidPly,
    projection: &Projection,
    y: f64,
    drawing: &mut Drawing<Look>,
) {
    let centre = laid.outline.bounds().centre();
    let to_middle = projection.middle - centre;
    let at = |p: Point| projection.at(p + to_middle, y);
    drawing.area(Look::Ply, rings([&laid.outline], at));
    for joint in joints::lines(laid) {
        drawing.line(joint.look, &joint.ends.map(at));
    }
    let line = |direction: Angle, reach: f64| {
        let (a, b) = ends(projection, direction, y, reach);
        [a, b]
    };
    drawing.line(Look::Zero, &line(Angle::ZERO, 1.25));
    if !weave.has_direction() {
        return;
    }
    let warp = weave.warp(ply.angle()).where_zero_is(Angle::ZERO);
    for (&from_warp, axis) in weave.fibres().iter().zip(weave.fibres_of(ply.angle())) {
        let direction = axis.where_zero_is(Angle::ZERO);
        if from_warp == 90.0 {
            drawing.line(Look::Weft, &line(direction, 1.0));
        } else if from_warp != 0.0 {
            drawing.line(Look::Fibres, &line(direction, 1.0));
            let (_, end) = ends(projection, direction, y, 1.35);
            let at = end + Vector::new(0.0, 3.5);
            drawing.text(Look::OfFibres, at, angle(axis));
        }
    }
    drawing.line(Look::Warp, &line(warp, 1.0));
    drawing.area(Look::Head, vec![head(projection, warp, y).to_vec()]);
}

/// The ends of a line through the middle of a ply along `direction`, true on the part.
fn ends(projection: &Projection, direction: Angle, y: f64, reach: f64) -> (Point, Point) {
    let (sin, cos) = trig::sin_cos(direction);
    let reach = ARROW * reach / projection.scale;
    let half = Vector::new(cos * reach, sin * reach);
    (
        projection.at(projection.middle - half, y),
        projection.at(projection.middle + half, y),
    )
}

/// An arrow head at the end of the line along `direction`.
fn head(projection: &Projection, direction: Angle, y: f64) -> [Point; 3] {
    let (from, tip) = ends(projection, direction, y, 1.0);
    let along = tip - from;
    let unit = along * (1.0 / along.length().max(1e-9));
    let across = Vector::new(-unit.y, unit.x);
    arrow_head((9.0, 3.4), |x, y| tip + unit * x + across * y)
}

fn draw_caption(
    ply: &PlyUse,
    running: Option<Length>,
    cores: &[&CoreUse],
    y: f64,
    drawing: &mut Drawing<Look>,
) {
    let x = CAPTIONS;
    let leader = [PLIES + 12.0, x - 4.0].map(|x| Point::new(x, y));
    drawing.line(Look::Leader, &leader);
    let mut text = |look: Look, down: f64, text: String| {
        drawing.text(look, Point::new(x, y + down), text);
    };
    let name = format!("{} · {} {}", ply.n(), angle(ply.angle()), ply.cloth().name);
    text(Look::Name, 1.0, name);
    let mut words = Vec::new();
    // A cloth called twill need not be called so twice.
    if ply.cloth().name != ply.weave().word() {
        words.push(ply.weave().word().to_owned());
    }
    if ply.appearance() {
        words.push("will be seen".to_owned());
    }
    if ply.on_bias() {
        words.push("on the bias".to_owned());
    }
    if !ply.letters().is_empty() {
        words.push(counted(ply.n_pieces(), "piece", "pieces"));
    }
    if let Some(thickness) = running {
        words.push(format!("{:.2} mm so far", thickness.to_mm()));
    }
    for core in cores {
        words.push(format!("{} on it", core.core().name));
    }
    for (i, line) in lines(&words).into_iter().enumerate() {
        text(Look::Small, 15.0 + 13.0 * i as f64, line);
    }
}

/// `words` in as few lines as have room beside the plies.
fn lines(words: &[String]) -> Vec<String> {
    let height = Look::Small.size() * CAPITALS_PER_SIZE;
    let fits = |line: &str, word: &str| {
        face::width(&format!("{line}{SEPARATOR}{word}"), height) <= WIDTH - CAPTIONS
    };
    let mut lines: Vec<String> = Vec::new();
    for word in words {
        match lines.last_mut() {
            Some(line) if fits(line, word) => {
                line.push_str(SEPARATOR);
                line.push_str(word);
            }
            _ => lines.push(word.clone()),
        }
    }
    lines
}
