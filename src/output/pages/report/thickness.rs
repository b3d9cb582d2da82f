//! A part drawn by region: how many plies lie where, and how thick they are together.

use crate::geometry::{Bounds, Outline, Point, Vector};
use crate::laminate::InPlane;
use crate::output::drawing::figure::{Figure, Look, rings};
use crate::output::drawing::shape::Drawing;
use crate::output::formats::svg::figure::svg_figure;
use crate::output::pages::charts::key;
use crate::output::pages::model::{Group, Passage, Svg};
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{known, list, piece_area, thickness};
use crate::plan::{PartUse, ThicknessMap, ThicknessRegion};
use crate::units::Modulus;

/// Largest size of the drawing, pixels.
const WIDEST: f64 = 560.0;
const HIGHEST: f64 = 300.0;
/// Room above for letters of regions that are too thin to hold one, pixels.
const ABOVE: f64 = 34.0;
const AROUND: f64 = 8.0;
/// Height of a letter, pixels.
const LETTER: f64 = 13.0;
/// From letter to letter above the drawing, pixels.
const SPACING: f64 = 20.0;

/// The map of `part` with its table; none where the same plies lie everywhere.
pub(super) fn map(part: &PartUse, map: &ThicknessMap) -> Option<Passage> {
    let is_divided = map.regions.len() > 1;
    if !is_divided && map.apart.is_empty() {
        return None;
    }
    let caption = prose! {
        Strong { "Thickness by region" } ", 0° to the right, seen from the bag side. "
        if (!is_divided) { "All plies cover the whole part, apart from those below." }
    };
    let mut within = Vec::new();
    if is_divided && let Some(drawn) = drawing(part, map) {
        within = vec![
            Passage::Drawing(Svg(svg_figure(&drawn))),
            stiff_regions(part, map),
        ];
    }
    if !map.apart.is_empty() {
        let is_one = map.apart.len() == 1;
        within.push(Passage::facts(prose! {
            "Not on the map: " (if is_one { "ply " } else { "plies " }) (list(&map.apart))
            (if is_one { ", which is" } else { ", which are" }) " drawn beside the part: say in the job with " Code("shift") " where on the part "
            (if is_one { "it lies." } else { "they lie." })
        }));
    }
    Some(Passage::Group(
        Group::Captioned("thickness", caption),
        within,
    ))
}

/// `A` to `Z`, then `A2` and so on.
pub(in crate::output::pages) fn letter(idx: usize) -> String {
    let letter = char::from(b'A' + (idx % 26) as u8);
    match idx / 26 {
        0 => letter.to_string(),
        round => format!("{letter}{}", round + 1),
    }
}

/// The regions of `part`.
pub(in crate::output::pages) fn regions<'a>(
    part: &PartUse,
    map: &'a ThicknessMap,
) -> TableOf<(usize, &'a ThicknessRegion)> {
    TableOf::new(
        format!("Regions of {}", part.name()),
        map.regions.iter().enumerate(),
    )
    .class("regions")
    .name(
        "Region",
        |&(i, region)| prose! { Picture(chip(shade(map, region)), &letter(i)) },
    )
    .words("Plies", |(_, region)| list(&region.plies))
    .number("Thickness", |(_, region)| {
        known(region.thickness, thickness)
    })
    .number("Area", |(_, region)| piece_area(region.area))
}

/// The regions of `part` with their stiffness, where it is known.
fn stiff_regions(part: &PartUse, map: &ThicknessMap) -> Passage {
    let is_known = map.regions.iter().any(|region| region.in_plane.is_some());
    let gpa = |region: &ThicknessRegion, of: fn(&InPlane) -> Modulus| {
        known(region.in_plane.as_ref(), |sheet| {
            Prose::quantity(of(sheet).in_gpa_and_msi())
        })
    };
    regions(part, map)
        .when(is_known, |table| {
            table
                .number("Ex", |(_, region)| gpa(region, |sheet| sheet.ex))
                .number("Ey", |(_, region)| gpa(region, |sheet| sheet.ey))
                .number("Gxy", |(_, region)| gpa(region, |sheet| sheet.gxy))
        })
        .done()
}

fn chip(shade: f64) -> Svg {
    Svg(key::area(Look::Region(shade)))
}

/// How dark a region is: by thickness, or by its number of plies where that is not known.
fn shade(map: &ThicknessMap, region: &ThicknessRegion) -> f64 {
    let size = |r: &ThicknessRegion| r.thickness.map_or(r.plies.len() as f64, |t| t.to_mm());
    let most = map
        .regions
        .iter()
        .map(size)
        .fold(f64::MIN_POSITIVE, f64::max);
    0.08 + 0.55 * size(region) / most
}

/// A letter and where it stands, pixels.
struct Letter {
    letter: String,
    inside: Point,
    /// Height of the free box around `inside`.
    room: f64,
}

/// The map drawn; `None` if there is nothing to draw.
pub(in crate::output::pages) fn drawing(part: &PartUse, map: &ThicknessMap) -> Option<Figure> {
    let bounds = map
        .regions
        .iter()
        .flat_map(|region| &region.outlines)
        .map(Outline::bounds)
        .reduce(|a, b| a.union(&b));
    let Bounds { min, max } = bounds?;
    let (w, h) = (max.x - min.x, max.y - min.y);
    let scale = (WIDEST / w).min(HIGHEST / h);
    let at = |p: Point| {
        Point::new(
            AROUND + (p.x - min.x) * scale,
            ABOVE + (max.y - p.y) * scale,
        )
    };
    let letters: Vec<Letter> = map
        .regions
        .iter()
        .enumerate()
        .map(|(i, region)| Letter {
            letter: letter(i),
            inside: at(region.free.centre),
            room: region.free.height * scale,
        })
        .collect();
    let (width, height) = (w * scale + 2.0 * AROUND, h * scale + ABOVE + AROUND);
    let mut drawing = Drawing::default();
    for region in &map.regions {
        let look = Look::Region(shade(map, region));
        drawing.area(look, rings(&region.outlines, at));
    }
    for mark in letters.iter().filter(|m| m.room >= LETTER) {
        let base = mark.inside + Vector::new(0.0, LETTER * 0.36);
        drawing.text(Look::Inside, base, &mark.letter);
    }
    for (mark, x) in above(&letters, width) {
        drawing.line(Look::Leader, &[Point::new(x, ABOVE - 16.0), mark.inside]);
        drawing.dot(Look::End, mark.inside, 1.8);
        drawing.text(Look::Inside, Point::new(x, ABOVE - 20.0), &mark.letter);
    }
    Some(Figure {
        kind: "map",
        width,
        height,
        title: format!(
            "Thickness of {} by region; the table below lists them",
            part.name()
        ),
        drawing,
    })
}

/// The marks that stand above the drawing, with their x: in order, none upon another.
fn above(marks: &[Letter], width: f64) -> Vec<(&Letter, f64)> {
    let mut thin: Vec<&Letter> = marks.iter().filter(|m| m.room < LETTER).collect();
    thin.sort_by(|a, b| a.inside.x.total_cmp(&b.inside.x));
    let n = thin.len();
    let mut next = SPACING / 2.0;
    thin.into_iter()
        .enumerate()
        .map(|(i, mark)| {
            let left = (n - i) as f64 * SPACING - SPACING / 2.0;
            let x = mark.inside.x.max(next).min((width - left).max(next));
            next = x + SPACING;
            (mark, x)
        })
        .collect()
}
