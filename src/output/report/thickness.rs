//! A part drawn by region: how many plies lie where, and how thick they are together.

use maud::{Markup, html};

use super::words::{UNKNOWN, both, piece_area};
use crate::geometry::{Bounds, Outline, Point, largest_box};
use crate::output::number::number;
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
pub(in crate::output) fn figure(part: &PartUse, map: &ThicknessMap) -> Markup {
    if map.regions.len() < 2 && map.apart.is_empty() {
        return html! {};
    }
    html! {
        figure .thickness {
            figcaption {
                strong { "Thickness by region" } ", 0° to the right, seen from the bag side. "
                @if map.regions.len() < 2 { "Of the plies whose place is known, all lie everywhere." }
            }
            @if map.regions.len() > 1 { (drawing(part, map)) (table(part, map)) }
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

fn list(plies: &[u32]) -> String {
    let words: Vec<String> = plies.iter().map(u32::to_string).collect();
    words.join(", ")
}

/// `A` to `Z`, then `A2` and so on.
fn letter(idx: usize) -> String {
    let letter = char::from(b'A' + (idx % 26) as u8);
    match idx / 26 {
        0 => letter.to_string(),
        round => format!("{letter}{}", round + 1),
    }
}

fn table(part: &PartUse, map: &ThicknessMap) -> Markup {
    let of_area = format!("Regions of {}", part.name);
    html! {
        div .scroll tabindex="0" role="region" aria-label=(of_area) {
            table .regions data-regions=(part.name) {
                thead { tr {
                    th scope="col" { "Region" }
                    th scope="col" { "Plies" }
                    th scope="col" .n { "Thickness" }
                    th scope="col" .n { "Area" }
                } }
                tbody {
                    @for (i, region) in map.regions.iter().enumerate() { tr {
                        th scope="row" {
                            svg .chip viewBox="0 0 28 16" aria-hidden="true" {
                                rect .region x="1" y="1" width="26" height="14"
                                    fill-opacity=(shade(map, region)) {}
                            }
                            " " (letter(i))
                        }
                        td { (list(&region.plies)) }
                        td .n .q { (thickness(region)) }
                        td .n { (piece_area(region.area)) }
                    } }
                }
            }
        }
    }
}

fn thickness(region: &ThicknessRegion) -> Markup {
    html! {
        @match region.thickness {
            Some(t) => { (both(&format!("{:.2} mm ({:.4} in)", t.to_mm(), t.to_inches()))) }
            None => { (UNKNOWN) }
        }
    }
}

/// How dark a region is: by thickness, or by its number of plies where that is not known.
fn shade(map: &ThicknessMap, region: &ThicknessRegion) -> String {
    let size = |r: &ThicknessRegion| r.thickness.map_or(r.plies.len() as f64, |t| t.to_mm());
    let most = map
        .regions
        .iter()
        .map(size)
        .fold(f64::MIN_POSITIVE, f64::max);
    format!("{:.2}", 0.08 + 0.55 * size(region) / most)
}

/// A letter and where it stands, pixels.
struct Mark {
    letter: String,
    inside: Point,
    /// Height of the free box around `inside`.
    room: f64,
}

fn drawing(part: &PartUse, map: &ThicknessMap) -> Markup {
    let bounds = map
        .regions
        .iter()
        .flat_map(|region| &region.outlines)
        .map(Outline::bounds)
        .reduce(|a, b| a.union(&b));
    let Some(Bounds { min, max }) = bounds else {
        return html! {};
    };
    let (w, h) = (max.x - min.x, max.y - min.y);
    let scale = (WIDEST / w).min(HIGHEST / h);
    let at = |p: Point| {
        Point::new(
            AROUND + (p.x - min.x) * scale,
            ABOVE + (max.y - p.y) * scale,
        )
    };
    let marks: Vec<Mark> = map
        .regions
        .iter()
        .enumerate()
        .map(|(i, region)| {
            let free = largest_box(&region.outlines[0], 1.2);
            Mark {
                letter: letter(i),
                inside: at(free.centre),
                room: free.height * scale,
            }
        })
        .collect();
    let (width, height) = (w * scale + 2.0 * AROUND, h * scale + ABOVE + AROUND);
    html! {
        svg .map role="img" viewBox=(format!("0 0 {width:.0} {height:.0}"))
            style=(format!("--wide:{width:.0}px"))
            aria-label={ "Thickness of " (part.name) " by region; the table below lists them" } {
            @for region in &map.regions {
                path .region fill-opacity=(shade(map, region)) d=(path(&region.outlines, &at)) {}
            }
            @for mark in marks.iter().filter(|m| m.room >= LETTER) {
                text .inside x=(px(mark.inside.x)) y=(px(mark.inside.y + LETTER * 0.36)) { (mark.letter) }
            }
            @for (mark, x) in above(&marks, width) {
                path .leader d=(format!("M{},{}L{},{}", px(x), px(ABOVE - 16.0), px(mark.inside.x), px(mark.inside.y))) {}
                circle .end cx=(px(mark.inside.x)) cy=(px(mark.inside.y)) r="1.8" {}
                text .inside x=(px(x)) y=(px(ABOVE - 20.0)) { (mark.letter) }
            }
        }
    }
}

/// The marks that stand above the drawing, with their x: in order, none upon another.
fn above(marks: &[Mark], width: f64) -> Vec<(&Mark, f64)> {
    let mut thin: Vec<&Mark> = marks.iter().filter(|m| m.room < LETTER).collect();
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

fn path(outlines: &[Outline], at: &impl Fn(Point) -> Point) -> String {
    let mut data = String::new();
    for ring in outlines.iter().flat_map(Outline::rings) {
        // Openings must run the other way for the fill to leave them out; so does even-odd.
        let mut last = Point::new(f64::INFINITY, 0.0);
        for (i, point) in ring.points().iter().map(|&p| at(p)).enumerate() {
            // Points nearer than a third of a pixel add nothing.
            if i > 0 && point.distance(last) < 0.3 {
                continue;
            }
            data.push(if i == 0 { 'M' } else { 'L' });
            data.push_str(&format!("{},{}", px(point.x), px(point.y)));
            last = point;
        }
        data.push('Z');
    }
    data
}

fn px(value: f64) -> String {
    number(value, 1)
}
