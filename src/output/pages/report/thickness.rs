//! A part drawn by region: how many plies lie where, and how thick they are together.

use maud::{Markup, html};

use super::words::{UNKNOWN, both, piece_area, thickness_text};
use crate::geometry::{Bounds, Outline, Point, Vector};
use crate::output::drawing::figure::{Figure, Label, Look, Mark, rings};
use crate::plan::{PartUse, ThicknessMap, ThicknessRegion};

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

/// The map of `part` as a figure with its table; nothing where the same plies lie everywhere.
pub(super) fn figure(part: &PartUse, map: &ThicknessMap) -> Markup {
    if map.regions.len() < 2 && map.apart.is_empty() {
        return html! {};
    }
    html! {
        figure .thickness {
            figcaption {
                strong { "Thickness by region" } ", 0° to the right, seen from the bag side. "
                @if map.regions.len() < 2 { "Of the plies whose place is known, all lie everywhere." }
            }
            @if map.regions.len() > 1 { @if let Some(map) = drawing(part, map) { (map.svg()) } (table(part, map)) }
            @if !map.apart.is_empty() {
                p .facts {
                    "Not in the map: "
                    @if map.apart.len() == 1 { "ply " } @else { "plies " }
                    (list(&map.apart))
                    ". The drawing shows "
                    @if map.apart.len() == 1 { "it" } @else { "them" }
                    " beside the part; say with " code { "shift" } " where on the part."
                }
            }
        }
    }
}

/// `1, 2, 6`.
pub(in crate::output) fn list(plies: &[u32]) -> String {
    let words: Vec<String> = plies.iter().map(u32::to_string).collect();
    words.join(", ")
}

/// `A` to `Z`, then `A2` and so on.
pub(in crate::output) fn letter(idx: usize) -> String {
    let letter = char::from(b'A' + (idx % 26) as u8);
    match idx / 26 {
        0 => letter.to_string(),
        round => format!("{letter}{}", round + 1),
    }
}

fn table(part: &PartUse, map: &ThicknessMap) -> Markup {
    let of_area = format!("Regions of {}", part.name);
    let is_stiff = map.regions.iter().any(|region| region.in_plane.is_some());
    html! {
        div .scroll tabindex="0" role="region" aria-label=(of_area) {
            table .regions data-regions=(part.name) {
                thead { tr {
                    th scope="col" { "Region" }
                    th scope="col" { "Plies" }
                    th scope="col" .n { "Thickness" }
                    th scope="col" .n { "Area" }
                    @if is_stiff {
                        th scope="col" .n { "Ex" } th scope="col" .n { "Ey" } th scope="col" .n { "Gxy" }
                    }
                } }
                tbody {
                    @for (i, region) in map.regions.iter().enumerate() { tr {
                        th scope="row" {
                            svg .chip viewBox="0 0 28 16" aria-hidden="true" {
                                rect .region x="1" y="1" width="26" height="14"
                                    fill-opacity=(format!("{:.2}", shade(map, region))) {}
                            }
                            " " (letter(i))
                        }
                        td { (list(&region.plies)) }
                        td .n .q { (thickness(region)) }
                        td .n { (piece_area(region.area)) }
                        @if is_stiff { @for modulus in moduli(region) { td .n { (modulus) } } }
                    } }
                }
            }
        }
    }
}

fn thickness(region: &ThicknessRegion) -> Markup {
    html! {
        @match region.thickness {
            Some(t) => { (both(&thickness_text(t))) }
            None => { (UNKNOWN) }
        }
    }
}

/// Ex, Ey and Gxy of the plies of a region.
fn moduli(region: &ThicknessRegion) -> [Markup; 3] {
    let Some(sheet) = &region.in_plane else {
        return [UNKNOWN; 3].map(|unknown| html! { (unknown) });
    };
    [sheet.ex, sheet.ey, sheet.gxy].map(|modulus| both(&modulus.in_gpa_and_msi()))
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
pub(in crate::output) fn drawing(part: &PartUse, map: &ThicknessMap) -> Option<Figure> {
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
    let regions = map.regions.iter();
    let mut marks: Vec<Mark> = regions
        .map(|region| {
            let look = Look::Region(shade(map, region));
            Mark::Area(look, rings(&region.outlines, at))
        })
        .collect();
    let name = |letter: &str, at: Point| Mark::Text(Label::new(Look::Inside, at, letter));
    for mark in letters.iter().filter(|m| m.room >= LETTER) {
        let base = mark.inside + Vector::new(0.0, LETTER * 0.36);
        marks.push(name(&mark.letter, base));
    }
    for (mark, x) in above(&letters, width) {
        let leader = vec![Point::new(x, ABOVE - 16.0), mark.inside];
        marks.push(Mark::Line(Look::Leader, leader));
        marks.push(Mark::Dot(mark.inside, 1.8));
        marks.push(name(&mark.letter, Point::new(x, ABOVE - 20.0)));
    }
    Some(Figure {
        kind: "map",
        width,
        height,
        title: format!(
            "Thickness of {} by region; the table below lists them",
            part.name
        ),
        marks,
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
