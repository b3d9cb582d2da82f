//! Every roll to scale with its pieces, and the pieces in cutting order.

use maud::{Markup, html};

use super::drawing::drawing;
use super::words::{angle, percent, running, width};
use crate::diag::counted;
use crate::geometry::Outline;
use crate::job::FileKind;
use crate::output::files::{LABELS, templates_path};
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::ply::Lies;
use crate::units::Length;

pub(super) fn section(plan: &Plan, cut_files: &[String]) -> Markup {
    html! {
        section #rolls aria-labelledby="rolls-title" {
            h2 #rolls-title { "What to cut" }
            p .lead {
                "The rolls lie face up with the warp from left to right. Numbers with # are the cutting "
                "order. Arrows point along the warp; the short tick beside an arrow is the part's 0°. A piece "
                "marked face down is turned over: it is cut with the face of the cloth down. Hatches "
                "run as the fibres run on the part with its 0° to the right, so plies of one angle look "
                "alike however they lie. In the tables the angle is that of the schedule, as cut it has taken "
                "up what the angle tolerance gave, and turn is how far the piece is turned from the part to "
                "the roll, counter-clockwise."
            }
            (paper(plan))
            @for (i, (layout, file)) in plan.layouts().iter().zip(cut_files).enumerate() {
                (roll(plan, layout, i, file))
            }
        }
    }
}

fn roll(plan: &Plan, layout: &Layout, layout_idx: usize, file: &str) -> Markup {
    html! {
        article data-roll=(layout.roll()) {
            h3 { (layout.roll()) }
            p .facts {
                (counted(layout.pieces().len(), "piece", "pieces")) " on "
                (running(layout.used_length())) " of " (layout.cloth().name)
                @if let Some(stock) = &layout.stock() { ", from stock " strong { (stock) } }
                ", " (width(layout.roll_width())) " wide; utilisation " (percent(layout.utilisation()))
                "; gap " (width(layout.gap())) ". "
                @if !layout.frames().is_empty() { (frames(layout)) " " }
                (cut_files(plan, file))
            }
            (cut_order(layout))
            (drawing(plan, layout, layout_idx))
            (pieces(layout))
        }
    }
}

/// Links to the files for paper.
fn paper(plan: &Plan) -> Markup {
    let outputs = plan.outputs();
    html! {
        @if outputs.wants(FileKind::Templates) || outputs.wants(FileKind::Labels) {
            p {
                "For scissors and printer: "
                @if outputs.wants(FileKind::Templates) {
                    a href=(templates_path(plan)) { "true-scale templates" }
                    " on " (outputs.paper.name())
                }
                @if outputs.wants(FileKind::Templates) && outputs.wants(FileKind::Labels) { "; " }
                @if outputs.wants(FileKind::Labels) {
                    a href=(LABELS) { "labels" } " for every piece"
                }
                "."
            }
        }
    }
}

/// Links to the files that cut this roll.
pub(super) fn cut_files(plan: &Plan, stem: &str) -> Markup {
    let kinds = plan.outputs().files.iter();
    let wanted: Vec<_> = kinds.filter_map(|kind| kind.cut_file()).collect();
    html! {
        @if !wanted.is_empty() {
            "Files: "
            @for (i, (ending, name)) in wanted.iter().enumerate() {
                @if i > 0 { ", " }
                a href={ (stem) "." (ending) } { (name) }
            }
            "."
        }
    }
}

/// How far the blade travels between cuts, and how far it would in the order along the roll.
fn cut_order(layout: &Layout) -> Markup {
    let travel = layout.order().cut_travel;
    let (ordered, placed) = (travel.ordered.to_mm(), travel.as_placed.to_mm());
    let n_cuts: usize = layout.order().frames.iter().map(|f| f.cuts.len()).sum();
    html! {
        @if placed > 0.0 {
            p .facts {
                (counted(n_cuts, "cut", "cuts"))
                @if layout.order().frames.len() > layout.frames().len().max(1) {
                    " in " (counted(layout.order().frames.len(), "frame", "frames"))
                }
                "; travel between cuts " (running(travel.ordered)) ", "
                (percent(ordered / placed)) " of the way along the roll piece by piece ("
                (format!("{:.2} m", travel.as_placed.to_metres())) ")."
            }
        }
    }
}

/// In how many frames the roll goes over the table.
fn frames(layout: &Layout) -> Markup {
    let longest = (layout.frames().iter())
        .map(|[from, to]| to - from)
        .fold(0.0, f64::max);
    html! {
        "It goes over the table in " (counted(layout.frames().len(), "frame", "frames"))
        ", the longest " (running(Length::mm(longest))) "; no piece lies across a border."
    }
}

fn pieces(layout: &Layout) -> Markup {
    let framed = !layout.frames().is_empty();
    html! {
        div .scroll tabindex="0" role="region" aria-label={ "Pieces on " (layout.roll()) } {
            table .pieces {
                caption { "Pieces on " (layout.roll()) " in cutting order" }
                thead { tr {
                    th scope="col" .n { "#" }
                    @if framed { th scope="col" .n { "Frame" } }
                    th scope="col" { "Piece" }
                    th scope="col" .n { "Angle" }
                    th scope="col" .n { "As cut" }
                    th scope="col" .n { "Turn" }
                    th scope="col" { "Marks" }
                    th scope="col" .n { "Along × across the roll" }
                } }
                tbody { @for piece in layout.pieces() { (piece_row(layout, piece)) } }
            }
        }
    }
}

fn piece_row(layout: &Layout, piece: &PlacedPiece) -> Markup {
    html! {
        tr data-piece=(piece.id()) data-part=(piece.part()) data-ply=(piece.ply()) data-cloth=(layout.cloth().name) {
            td .n { (piece.sequence()) }
            @if let Some(frame) = layout.frame_of(piece) { td .n { (frame) } }
            th scope="row" { (piece.id()) }
            td .n { (angle(piece.angle_design())) }
            td .n { (angle(piece.angle_cut())) }
            td .n { (angle(piece.turn())) }
            td { (marks(piece)) (joints(piece)) }
            td .n { (size(piece.cut())) }
        }
    }
}

/// What to heed with this piece; face down first, because a slip there costs the piece.
fn marks(piece: &PlacedPiece) -> Markup {
    html! {
        @if piece.turned_over() { span .mark { strong { "face down" } } " " }
        @if piece.appearance() { span .mark { "will be seen" } " " }
        @if piece.on_bias() { span .mark { "bias" } " " }
    }
}

/// What a piece of a divided ply is joined to.
fn joints(piece: &PlacedPiece) -> Markup {
    html! {
        @if let Some(splice) = &piece.splice() {
            @for placed in &splice.joints {
                span .mark {
                    @match placed.joint.lies {
                        Lies::Under => { "lap under " },
                        Lies::Over => { "lap over " },
                        Lies::Beside => { "butt to " },
                    }
                    (placed.mate)
                } " "
            }
        }
    }
}

/// Extent along and across the roll.
fn size(cut: &Outline) -> Markup {
    let bounds = cut.bounds();
    let (along, across) = (Length::mm(bounds.width()), Length::mm(bounds.height()));
    html! {
        span .q { (format!("{:.0} × {:.0} mm", along.to_mm(), across.to_mm())) } " "
        span .q .other { (format!("({:.1} × {:.1} in)", along.to_inches(), across.to_inches())) }
    }
}
