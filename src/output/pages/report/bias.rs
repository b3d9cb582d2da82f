//! Pieces on the bias: how to handle them, and how long they can be.

use crate::output::pages::model::{Group, Passage};
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{angle, width};
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::ply::longest_strip;
use crate::units::{Angle, Length};

pub(super) fn section(plan: &Plan) -> Vec<Passage> {
    let pieces: Vec<(&Layout, &PlacedPiece)> =
        plan.layouts().iter().flat_map(of_first_set).collect();
    if pieces.is_empty() {
        return Vec::new();
    }
    let table = TableOf::new("Pieces on the bias", pieces)
        .caption("Pieces on the bias, one set, and how long a piece so wide could be on this roll at that angle")
        .name("Piece", |(_, piece)| piece.id())
        .words("Cloth", |(layout, _)| &layout.cloth().name)
        .narrowed(|(_, piece)| piece.bias().ok_or_else(Prose::default))
        .number("Off the warp", |bias| {
            angle(Angle::degrees(
                (bias.off_warp.to_degrees() * 10.0).round() / 10.0,
            ))
        })
        .number("Length", |bias| width(bias.length))
        .number("Width", |bias| width(bias.width))
        .number("Longest possible", |bias| width(bias.longest));
    let limited = plan
        .layouts()
        .iter()
        .filter(|layout| layout.pieces().iter().any(|p| p.on_bias()));
    vec![
        Passage::section("On the bias", "bias", "Bias"),
        handling(),
        Passage::Group(Group::Kept, vec![table.done()]),
        Passage::Points(limited.map(limit).collect()),
    ]
}

/// Common practice, no source.
fn handling() -> Passage {
    Passage::note(prose! {
        Strong { "Handling. " }
        "Where the warp runs neither along nor across a piece, its edges stretch. Lift it "
        "with its backing or rolled on a tube, never by an edge; lay it without pulling, from the "
        "middle outwards; check its outline against the mould before wetting out."
    })
}

/// The pieces on the bias of the first set of every part.
fn of_first_set(layout: &Layout) -> impl Iterator<Item = (&Layout, &PlacedPiece)> {
    let pieces = layout.pieces().iter();
    let mut pieces: Vec<&PlacedPiece> = pieces.filter(|p| p.on_bias() && p.set() == 1).collect();
    pieces.sort_by(|a, b| (&a.part(), a.ply(), &a.id()).cmp(&(&b.part(), b.ply(), &b.id())));
    pieces.into_iter().map(move |piece| (layout, piece))
}

/// Width of the strip that the rule of thumb is given for, beside one of no width.
const STRIP: Length = Length::mm(100.0);

/// The longest strips at 45° from a roll: usable width · √2 less the strip's own width.
fn limit(layout: &Layout) -> Prose {
    let (low, high) = layout.usable_y();
    let longest = |strip: Length| {
        let strip = longest_strip(high - low, strip.to_mm(), Angle::degrees(45.0));
        width(Length::mm(strip))
    };
    prose! {
        "Longest 45° line on " (layout.roll()) ": " (longest(Length::ZERO)) " (usable width "
        (width(Length::mm(high - low))) " times √2); longest strip " (width(STRIP)) " wide: " (longest(STRIP)) "."
    }
}
