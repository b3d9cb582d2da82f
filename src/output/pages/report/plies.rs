//! The laminate schedule of every part, from the mould up.

use maud::{Markup, html};

use super::swatch::swatch;
use super::words::{angle, both, mass, piece_area};
use crate::cloth::Weave;
use crate::diag::counted;
use crate::job::JointKind;
use crate::plan::{PartUse, Plan, PlyUse};
use crate::units::{Area, Length, Mass};

pub(super) fn section(plan: &Plan) -> Markup {
    html! {
        section #plies aria-labelledby="plies-title" {
            h2 #plies-title { "What to lay up" }
            p .lead {
                "Ply 1 lies against the mould. Angles are counter-clockwise from the part's 0° "
                "direction, seen from the bag side. In the round pictures 0° points right and the "
                "lines are the fibres, heavy along the warp."
            }
            @for part in plan.parts() { (part_table(plan, part)) }
            @if plan.parts().iter().flat_map(|p| &p.plies).any(|p| p.joint.is_some()) {
                (splice_note())
            }
        }
    }
}

fn part_table(plan: &Plan, part: &PartUse) -> Markup {
    let net: Area = part.plies.iter().map(|p| p.net_area).sum();
    let cut: Area = part.plies.iter().map(|p| p.cut_area).sum();
    let total = part.plies.iter().fold(Mass::ZERO, |m, p| m + p.cloth_mass);
    html! {
        div .keep {
            h3 { (part.name) " " small { (counted(part.sets as usize, "set", "sets")) } }
            div .scroll tabindex="0" role="region" aria-label={ "Plies of " (part.name) } {
                table data-part=(part.name) {
                    caption { "Plies of " (part.name) ", one set, from the mould up" }
                    thead { tr {
                        th scope="col" .n { "Ply" }
                        th scope="col" { "Angle" }
                        th scope="col" { "Cloth" }
                        th scope="col" { "Marks" }
                        th scope="col" .n { "Net area" }
                        th scope="col" .n { "Cut area" }
                        th scope="col" .n { "Dry mass in the part" }
                    } }
                    tbody { @for ply in &part.plies { (ply_row(plan, ply)) } }
                    tfoot { tr {
                        th scope="row" colspan="4" { "Together, one set" }
                        td .n { (piece_area(net)) }
                        td .n { (piece_area(cut)) }
                        td .n { (mass(total)) }
                    } }
                }
            }
        }
    }
}

fn ply_row(plan: &Plan, ply: &PlyUse) -> Markup {
    let weave = plan
        .cloths()
        .iter()
        .find(|c| c.cloth.name == ply.cloth)
        .map_or(Weave::NonDirectional, |c| c.cloth.weave);
    html! {
        tr {
            th scope="row" .n { (ply.n) }
            td { span .angle { (swatch(weave, ply.angle)) (angle(ply.angle)) } }
            td { (ply.cloth) small { (both(&ply.areal_weight.to_string())) } }
            td { (marks(ply)) }
            td .n { (piece_area(ply.net_area)) }
            td .n { (piece_area(ply.cut_area)) }
            td .n { (mass(ply.cloth_mass)) }
        }
    }
}

fn marks(ply: &PlyUse) -> Markup {
    html! {
        @if ply.appearance { span .mark { "face: will be seen" } " " }
        @if ply.step != Length::ZERO { span .mark { "stepped " (step(ply.step)) } " " }
        @if let Some((kind, lap)) = ply.joint {
            span .mark { "spliced: " (letters(&ply.pieces)) } " "
            span .mark { (joint(kind, lap)) } " "
        }
        @if ply.on_bias { span .mark { a href="#bias" { "bias" } } }
    }
}

/// `A, B`.
fn letters(pieces: &[char]) -> String {
    let letters: Vec<String> = pieces.iter().map(char::to_string).collect();
    letters.join(", ")
}

/// `lap 25 mm (0.98 in)`.
fn joint(kind: JointKind, lap: Length) -> Markup {
    match kind {
        JointKind::Lap => both(&format!("lap {}", lap.in_mm_and_inches())),
        JointKind::Butt => html! { "butt joint" },
    }
}

/// A step with its sign.
fn step(step: Length) -> Markup {
    let sign = if step > Length::ZERO { "+" } else { "−" };
    let size = if step > Length::ZERO { step } else { -step };
    both(&format!("{sign}{}", size.in_mm_and_inches()))
}

/// Common practice, no source.
fn splice_note() -> Markup {
    html! {
        p .note {
            strong { "Spliced plies. " }
            "Lay the pieces in the order of their letters. In a lap, the line on each piece is where the "
            "edge of its neighbour comes to lie: A is laid first, B goes over it up to the line on A. In a "
            "butt joint the edges meet without a gap or an overlap. The net area of a spliced ply counts its "
            "laps once, its mass in the part twice."
        }
    }
}
