//! The kit list in the order of laying, and the cutting list in the order of cutting.

use maud::{Markup, html};

use super::{Sheets, TICK};
use crate::output::report::words::{angle, both, count, running, width};
use crate::plan::{Layout, PlacedPiece, frays};
use crate::units::Length;

pub(super) fn lists(sheets: &Sheets<'_>) -> Markup {
    let plan = sheets.plan;
    html! {
        header {
            p .kind { (plan.title) }
            h1 { "Cutting and kit lists" }
            p { "First cut, roll by roll, in the order of the numbers on the cut files; then put the pieces of each set together, the first ply on top." }
        }
        @for layout in &plan.layouts { (cutting_list(sheets, layout)) }
        @for (idx, part) in plan.parts.iter().enumerate() {
            section .kit {
                h2 { "Kit of " (part.name) " in the order of laying" }
                table {
                    thead { tr {
                        th { "Done" } th .n { "Set" } th .n { "Ply" } th { "Piece" } th { "Cloth" } th .n { "Angle" } th { "Batch" }
                    } }
                    tbody {
                        @for set in 1..=part.sets { @for (ply_idx, ply) in part.plies.iter().enumerate() {
                            @for piece in sheets.index.of(&part.name, ply.n, set) {
                                tr data-kit=(piece.id) {
                                    td .tick { (TICK) }
                                    td .n { (set) }
                                    td .n { (ply.n) }
                                    th { (piece.id) }
                                    td { (ply.cloth) }
                                    td .n { (angle(ply.angle)) }
                                    td { (sheets.batches(idx, set, ply_idx)) }
                                }
                            }
                        } }
                    }
                }
            }
        }
        @if let Some(bags) = &plan.work.bagging {
            @for roll in bags.rolls.iter().filter(|roll| !roll.layout.pieces.is_empty()) {
                (cutting_list(sheets, &roll.layout))
            }
        }
    }
}

fn cutting_list(sheets: &Sheets<'_>, layout: &Layout) -> Markup {
    let weave = sheets.plan.weave_of(&layout.cloth);
    let taped: Length = layout
        .pieces
        .iter()
        .filter(|piece| frays(weave, piece.on_bias))
        .map(PlacedPiece::edge)
        .fold(Length::ZERO, |sum, edge| sum + edge);
    html! {
        section {
            h2 { "Cut from " (layout.roll) " in the order of cutting" }
            p {
                (count(layout.pieces.len(), "piece", "pieces")) " on " (running(layout.used_length)) " of the roll, "
                (width(layout.roll_width)) " wide, face up."
                @if taped > Length::ZERO {
                    " Tape the edge before cutting where it says so, along the cut line, and cut through the middle of the tape: "
                    (running(taped)) " in all."
                }
            }
            table {
                thead { tr {
                    th { "Cut" } th .n { "#" } th { "Piece" } th .n { "Angle" } th .n { "Turn" } th .n { "Along × across" } th { "Heed" }
                } }
                tbody { @for piece in &layout.pieces { tr data-cut=(piece.id) {
                    td .tick { (TICK) }
                    td .n { (piece.sequence) }
                    th { (piece.id) }
                    td .n { @if piece.ply > 0 { (angle(piece.angle_cut)) } }
                    td .n { (angle(piece.turn)) }
                    td .n { (size(piece)) }
                    td {
                        @if piece.turned_over { strong { "face down" } " " }
                        @if piece.appearance { "will be seen " }
                        @if piece.on_bias { "bias: " }
                        @if frays(weave, piece.on_bias) { "tape the edge before cutting, " (running(piece.edge())) }
                    }
                } } }
            }
        }
    }
}

fn size(piece: &PlacedPiece) -> Markup {
    let bounds = piece.cut.bounds();
    let (along, across) = (bounds.width(), bounds.height());
    both(&format!(
        "{along:.0} × {across:.0} mm ({:.1} × {:.1} in)",
        along / 25.4,
        across / 25.4
    ))
}
