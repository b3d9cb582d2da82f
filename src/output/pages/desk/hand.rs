//! The rolls as they are laid by hand: pieces to take hold of, and what the script needs to know of them.

use maud::{Markup, html};
use serde_json::{Value, json};

use super::fields::{button, table_without};
use super::json as written;
use crate::geometry::{Face, Outline, Ring, line_simplified};
use crate::job::edit::{Edit, TableFields};
use crate::number::{COORDINATE, number, rounded};
use crate::output::drawing::roll_view::tint;
use crate::output::formats::svg::elements::Scale;
use crate::output::formats::svg::page_roll::{hatch_id, hatches};
use crate::output::pages::html::prose;
use crate::output::pages::words::{percent, running};
use crate::output::style::hatch;
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::ply::Piece;

/// Height of a roll on the page, pixels.
const HEIGHT: f64 = 300.0;

/// Outlines are drawn, and told to the script, to this, mm.
const SEEN_MM: f64 = 0.2;
const TOLD_MM: f64 = 0.01;

/// Letters are about this broad, as a share of their size.
const LETTER: f64 = 0.62;

/// Pins that are listed with their fields; more would bury the page.
const MOST_LISTED: usize = 60;

const SCALE: Scale = Scale {
    factor: 1.0,
    top: Some(0.0),
    decimals: 2,
    has_arcs: false,
};

/// The rolls of `plan`, each with its pieces.
pub(crate) fn rolls(plan: &Plan) -> String {
    let page = html! {
        h2 { "The rolls" }
        p .about {
            "Drag a piece to where you want it: it slides along its neighbours and stays pinned there; the others are laid around it. "
            "With the keyboard: " kbd { "Tab" } " to a piece, arrow keys move it (" kbd { "Shift" } ": 10 mm), " kbd { "R" } " turns it as its cloth \
             permits, " kbd { "Enter" } " pins it there, " kbd { "Escape" } " takes it back. The warp runs to the right."
        }
        @for (i, layout) in plan.layouts().iter().enumerate() { (roll(plan, layout, i)) }
    };
    page.into_string()
}

/// How far the script may push pieces along the warp, mm.
fn reach(layout: &Layout) -> f64 {
    match layout.stock() {
        Some(_) => layout.drawn_length().to_mm(),
        None => {
            let longest = layout
                .pieces()
                .iter()
                .map(|piece| piece.cut().bounds().long_side());
            layout.used_length().to_mm()
                + longest.fold(0.0, f64::max)
                + layout.roll_width().to_mm() / 4.0
        }
    }
}

fn roll(plan: &Plan, layout: &Layout, layout_idx: usize) -> Markup {
    let (length, width) = (reach(layout), layout.roll_width().to_mm());
    let (low, high) = layout.usable_y();
    let view = format!(
        "0 {0} {1} {2}",
        number(-width, 2),
        number(length, 2),
        number(width, 2)
    );
    let used = number(layout.used_length().to_mm(), 2);
    let line = |x: &str| format!("M{x} 0V{}", number(-width, 2));
    let area = |outline: &Outline| outline.rings().map(drawn).collect::<String>();
    let name = layout.roll();
    let directions = hatch::on_roll(layout.cloth().weave);
    let px = width / HEIGHT;
    let hatched: Vec<String> = (directions.iter())
        .map(|direction| format!("fill:url(#{})", hatch_id(layout_idx, *direction)))
        .collect();
    html! {
        figure .roll data-roll=(name) {
            figcaption {
                strong { (name) }
                span .about { (prose(&running(layout.used_length()))) " used, " (percent(layout.utilisation())) }
                button type="button" data-hand="pin-all" id={ "pin-all-" (name) } { "Pin all as they lie" }
                button type="button" data-hand="flaw" aria-pressed="false" id={ "mark-" (name) } { "Mark a flaw" }
            }
            div .lengthwise {
                svg viewBox=(view) height=(HEIGHT) width=(number(HEIGHT * length / width, 0)) style=(format!("--px:{}", number(px, 2)))
                    role="group" aria-label={ "Roll " (name) } {
                    defs { (hatches(layout_idx, &directions, px)) }
                    @if layout.stock().is_some() { path .cloth d=(area(layout.whole())) {} }
                    @else { rect .cloth x="0" y=(number(-width, 2)) width=(number(length, 2)) height=(number(width, 2)) {} }
                    path .edge d=(format!("M0 {0}H{length}M0 {1}H{length}", number(-low, 2), number(-high, 2))) {}
                    @if layout.stock().is_none() { path .end d=(line(&used)) { title { "so far the cloth is used" } } }
                    @for flaw in layout.flaws() { path .flaw d=(area(&flaw.area)) { title { "a flaw" } } }
                    @for piece in layout.pieces() { (shown(layout, piece, tint(plan, piece.part()), &hatched)) }
                    rect .drawn x="0" y="0" width="0" height="0" {}
                }
            }
            div .chosen hidden {}
            (flaw_form(name))
        }
    }
}

fn drawn(ring: &Ring) -> String {
    SCALE.line(&line_simplified(ring.points(), SEEN_MM), true)
}

/// A piece of a part with this tint, with the hatches of its roll.
fn shown(layout: &Layout, piece: &PlacedPiece, tint: usize, hatched: &[String]) -> Markup {
    let label = piece.label();
    let letters = piece.id().chars().count().max(1) as f64;
    let size = (0.45 * label.height).min(label.width / (LETTER * letters));
    let place = format!(
        "translate({} {}) rotate({})",
        number(label.centre.x, 2),
        number(-label.centre.y, 2),
        number(-label.angle.to_degrees(), 2)
    );
    let outline: String = piece.cut().rings().map(drawn).collect();
    html! {
        g class={ "piece on-" (tint) } tabindex="0" role="button" id={ "piece-" (layout.roll()) "-" (piece.id()) } data-piece=(piece.id()) aria-label={ "Piece " (piece.id()) } {
            path class={ "tint-" (tint) } d=(outline) {}
            @for fill in hatched { path .hatched d=(outline) style=(fill) {} }
            text transform=(place) font-size=(number(size, 2)) { (piece.id()) }
        }
    }
}

/// A flaw by its numbers.
fn flaw_form(roll: &str) -> Markup {
    let field = |name: &str, label: &str| {
        html! { label { (label) " " input .short type="number" name=(name) min="0" step="1" required inputmode="decimal"; } }
    };
    html! {
        details .flaw id={ "flaw-" (roll) } {
            summary { "A flaw by its numbers, in mm" }
            form .more data-flaw=(roll) {
                (field("from", "from the beginning of the roll")) (field("length", "goes along for"))
                (field("across", "from the lower selvedge")) (field("width", "goes across for"))
                button type="submit" { "Mark it" }
            }
        }
    }
}

/// What is pinned, with its numbers.
pub(super) fn pins(job: &TableFields) -> Markup {
    let pins: Vec<&TableFields> = job.inner("pin").collect();
    let all_go: Vec<Edit> = (pins.iter().rev())
        .map(|pin| Edit::Remove { at: pin.at.clone() })
        .collect();
    let said = |pin: &TableFields, key: &str| pin.value(key).unwrap_or("?").to_owned();
    html! {
        @if !pins.is_empty() {
            h3 { "Pinned by hand" }
            p .about data-pinned=(written(&pins.iter().map(|pin| said(pin, "piece")).collect::<Vec<_>>())) {
                "The search lays the other pieces around these. "
                button type="button" data-edit=(written(&all_go)) { "Let all go" }
            }
            @for pin in pins.iter().take(MOST_LISTED) {
                details id={ "pin-" (said(pin, "piece")) } {
                    summary { strong { (said(pin, "piece")) } " at " (said(pin, "along")) " along, " (said(pin, "across")) " across" }
                    (table_without(pin, &[]))
                    (button("Let it go", &Edit::Remove { at: pin.at.clone() }))
                }
            }
            @if pins.len() > MOST_LISTED { p .about { "and " (pins.len() - MOST_LISTED) " more, in the job file" } }
        }
    }
}

/// The rolls of `plan` as the script knows them, in JSON: outlines in mm, y up from the lower selvedge.
pub(crate) fn laid(plan: &Plan) -> String {
    let rolls: Vec<Value> = plan.layouts().iter().map(told).collect();
    json!({ "rolls": rolls }).to_string()
}

fn told(layout: &Layout) -> Value {
    let (low, high) = layout.usable_y();
    let margin = layout.end_margin().to_mm();
    let is_odd = layout.stock().is_some_and(|stock| !stock.is_rectangle());
    let bounds = layout.whole().bounds();
    let within = match is_odd {
        true => [0.0, 0.0, bounds.max.x, bounds.max.y],
        false => [margin, low, reach(layout) - margin, high],
    };
    json!({
        "roll": layout.roll(),
        "gap": layout.gap().to_mm(),
        "margin": margin,
        "within": within,
        "cloth": is_odd.then(|| rings(layout.whole())),
        "flaws": layout.flaws().iter().map(|flaw| json!({ "clear": flaw.margin.to_mm(), "rings": rings(&flaw.area) })).collect::<Vec<_>>(),
        "pieces": layout.pieces().iter().map(piece).collect::<Vec<_>>(),
    })
}

fn piece(piece: &PlacedPiece) -> Value {
    let turns = piece.piece().map_or(&[][..], Piece::turns);
    let turn = |angle: f64, face: Face| json!([rounded(angle, COORDINATE), face == Face::Down]);
    let own = piece.placement().turn;
    json!({
        "id": piece.id(),
        "turn": turn(own.angle.as_rotation().to_degrees(), own.face),
        "turns": turns.iter().map(|turn_of| turn(turn_of.angle.as_rotation().to_degrees(), turn_of.face)).collect::<Vec<_>>(),
        "rings": rings(piece.cut()),
    })
}

fn rings(outline: &Outline) -> Vec<Vec<f64>> {
    let ring = |ring: &Ring| {
        let mut points = ring.points().to_vec();
        points.extend(points.first().copied());
        let mut kept = line_simplified(&points, TOLD_MM);
        kept.pop();
        let numbers = kept.iter().flat_map(|p| [p.x, p.y]);
        numbers.map(|v| rounded(v, COORDINATE)).collect()
    };
    outline.rings().map(ring).collect()
}
