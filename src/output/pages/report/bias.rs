//! Pieces on the bias: how to handle them, and how long they can be.

use maud::{Markup, html};

use super::words::{angle, width};
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::ply::longest_strip;
use crate::units::{Angle, Length};

/// Whether a piece lies on the bias.
pub(super) fn is_needed(plan: &Plan) -> bool {
    pieces(plan).next().is_some()
}

pub(super) fn section(plan: &Plan) -> Markup {
    html! {
        section #bias aria-labelledby="bias-title" {
            h2 #bias-title { "On the bias" }
            (handling())
            div .keep .scroll tabindex="0" role="region" aria-label="Pieces on the bias" {
                table {
                    caption { "Pieces on the bias, one set, and the longest strip of their width at their angle" }
                    thead { tr {
                        th scope="col" { "Piece" }
                        th scope="col" { "Cloth" }
                        th scope="col" .n { "Off the warp" }
                        th scope="col" .n { "Length" }
                        th scope="col" .n { "Width" }
                        th scope="col" .n { "Longest possible" }
                    } }
                    tbody { @for (layout, piece) in pieces(plan) { (row(layout, piece)) } }
                }
            }
            ul { @for layout in plan.layouts() { @if has_bias(layout) { li { (limit(layout)) } } } }
        }
    }
}

/// Common practice, no source.
fn handling() -> Markup {
    html! {
        p .note {
            strong { "Handling. " }
            "Where the warp runs neither along nor across a piece, its edges stretch and fray. Lift it "
            "with its backing or rolled on a tube, never by an edge; lay it without pulling, from the "
            "middle outwards; check its outline against the mould before wetting out."
        }
    }
}

/// The pieces on the bias of the first set of every part.
fn pieces(plan: &Plan) -> impl Iterator<Item = (&Layout, &PlacedPiece)> {
    plan.layouts().iter().flat_map(|layout| {
        let mut pieces: Vec<&PlacedPiece> = layout
            .pieces()
            .iter()
            .filter(|p| p.on_bias() && p.set() == 1)
            .collect();
        pieces.sort_by(|a, b| (&a.part(), a.ply(), a.id()).cmp(&(&b.part(), b.ply(), b.id())));
        pieces.into_iter().map(move |piece| (layout, piece))
    })
}

fn has_bias(layout: &Layout) -> bool {
    layout.pieces().iter().any(|p| p.on_bias())
}

fn row(layout: &Layout, piece: &PlacedPiece) -> Markup {
    html! {
        tr {
            th scope="row" { (piece.id()) }
            td { (layout.cloth().name) }
            @if let Some(bias) = piece.bias() {
                td .n { (angle(Angle::degrees((bias.off_warp.to_degrees() * 10.0).round() / 10.0))) }
                td .n { (width(bias.length)) }
                td .n { (width(bias.width)) }
                td .n { (width(bias.longest)) }
            } @else {
                td colspan="4" {}
            }
        }
    }
}

/// Width of the strip that the rule of thumb is given for, beside one of no width.
const STRIP: Length = Length::mm(100.0);

/// The longest strips at 45° from a roll: usable width · √2 less the strip's own width.
fn limit(layout: &Layout) -> Markup {
    let (low, high) = layout.usable_y();
    let longest = |strip: Length| {
        let strip = longest_strip(high - low, strip.to_mm(), Angle::degrees(45.0));
        width(Length::mm(strip))
    };
    html! {
        "Straight strips at 45° from " (layout.roll()) ", usable width " (width(Length::mm(high - low)))
        ": a strip of no width can be " (longest(Length::ZERO)) " long (the width times √2), one "
        (width(STRIP)) " wide " (longest(STRIP)) "."
    }
}
