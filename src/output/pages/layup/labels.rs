//! Labels to cut out and pin to the pieces.

use maud::{Markup, html};

use super::Sheets;
use crate::geometry::trig;
use crate::output::drawing::label::SEPARATOR;
use crate::output::pages::report::words::angle;
use crate::plan::{Layout, PlacedPiece};

pub(super) fn labels(sheets: &Sheets<'_>) -> Markup {
    let plan = sheets.plan;
    html! {
        header .screen-only {
            h1 { "Labels" }
            p { "In the order of cutting. Print at 100 %, cut along the lines, pin or tape one to each piece." }
        }
        div .labels {
            @for layout in plan.layouts() { @for piece in layout.pieces() {
                (label(sheets, layout, piece))
            } }
        }
    }
}

fn label(sheets: &Sheets<'_>, layout: &Layout, piece: &PlacedPiece) -> Markup {
    let others: Vec<&str> = [
        (piece.appearance(), "will be seen"),
        (piece.on_bias(), "bias"),
        (layout.cloth().weave.frays(piece.on_bias()), "edges taped"),
    ]
    .into_iter()
    .filter_map(|(is_so, what)| is_so.then_some(what))
    .collect();
    html! {
        div .label data-label=(piece.id()) {
            (arrow(piece))
            p .id { (piece.id()) }
            p { (layout.cloth().name) ", " strong { (angle(piece.angle_design())) }
                @if piece.angle_cut().off(piece.angle_design()).to_degrees().abs() > 0.005 { " (cut " (angle(piece.angle_cut())) ")" } }
            p .small { "Ply " (piece.ply()) ", set " (piece.set()) " · # " (piece.sequence()) " on " (layout.roll()) (batch(sheets, piece)) }
            p .small {
                @if piece.turned_over() { strong { "face down" } }
                @if piece.turned_over() && !others.is_empty() { (SEPARATOR) }
                (others.join(SEPARATOR))
            }
        }
    }
}

fn batch(sheets: &Sheets<'_>, piece: &PlacedPiece) -> String {
    let parts = sheets.plan.parts();
    let found = parts
        .iter()
        .enumerate()
        .find(|(_, p)| p.name == piece.part());
    let batches = found.and_then(|(idx, part)| {
        let ply = part.plies.iter().position(|ply| ply.n == piece.ply())?;
        Some(sheets.batches(idx, piece.set(), ply))
    });
    match batches {
        Some(batches) if !batches.is_empty() => format!(" · batch {batches}"),
        _ => String::new(),
    }
}

/// The warp against the part's 0°, which points right.
fn arrow(piece: &PlacedPiece) -> Markup {
    let (sin, cos) = trig::sin_cos(piece.angle_design().from_zero());
    let (x, y) = (13.0 * cos, -13.0 * sin);
    html! {
        svg .arrow viewBox="-16 -16 32 32" aria-hidden="true" {
            circle r="15" {}
            path .zero d="M-13,0H13" {}
            path .warp d=(format!("M{:.1},{:.1}L{x:.1},{y:.1}", -x, -y)) {}
            circle .tip cx=(format!("{x:.1}")) cy=(format!("{y:.1}")) r="2.4" {}
        }
    }
}
