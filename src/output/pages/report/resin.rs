//! How much resin to mix, and when.

use maud::{Markup, html};

use super::words::percent;
use super::work_words::{grams, minutes};
use crate::diag::counted;
use crate::laminate::Batch;
use crate::plan::{PieceIndex, Plan, ResinUse};
use crate::units::Mass;

pub(super) fn section(plan: &Plan, resin: &ResinUse) -> Markup {
    let order = resin.order(plan.parts());
    let mixed = resin.divide(order.mixed());
    html! {
        section #resin aria-labelledby="resin-title" {
            h2 #resin-title { "What to mix" }
            p {
                strong { (grams(order.mixed())) } " of mixed " (resin.system.name) " for the whole order: "
                (grams(mixed.a)) " of part A and " (grams(mixed.b)) " of part B, "
                "100 : " (format!("{:.1}", resin.system.ratio.hardener_to_100())) " by weight, in "
                (counted(resin.batches.len(), "batch", "batches")) "."
            }
            p .lead {
                "The whole cut ply is wetted out, trim and all, to the fibre share of its cloth. "
                (percent(resin.system.waste)) " is added for what stays in pots, brushes and rollers."
            }
            (by_part(plan, resin))
            (batches(plan, resin))
            (cautions(resin))
        }
    }
}

fn by_part(plan: &Plan, resin: &ResinUse) -> Markup {
    let order = resin.order(plan.parts());
    html! {
        div .scroll tabindex="0" role="region" aria-label="Resin by part" {
            table {
                caption { "Mixed resin for one set of each part, and where it goes" }
                thead { tr {
                    th scope="col" { "Part" }
                    th scope="col" .n { "Stays in it" }
                    th scope="col" .n { "In the trim" }
                    th scope="col" .n { "Peel ply, breather" }
                    th scope="col" .n { "Pots, brushes" }
                    th scope="col" .n { "Mixed, one set" }
                    th scope="col" .n { "Sets" }
                } }
                tbody {
                    @for (part, one) in plan.parts().iter().zip(&resin.parts) { tr {
                        th scope="row" { (part.name) }
                        td .n { (grams(one.in_part)) }
                        td .n { (grams(one.in_trim)) }
                        td .n { (grams(one.take_up)) }
                        td .n { (grams(one.left_over)) }
                        td .n .key { (grams(one.mixed())) }
                        td .n { (part.sets) }
                    } }
                }
                tfoot { tr {
                    th scope="row" { "The whole order" }
                    td .n { (grams(order.in_part)) }
                    td .n { (grams(order.in_trim)) }
                    td .n { (grams(order.take_up)) }
                    td .n { (grams(order.left_over)) }
                    td .n { (grams(order.mixed())) }
                    td {}
                } }
            }
        }
    }
}

fn batches(plan: &Plan, resin: &ResinUse) -> Markup {
    let system = &resin.system;
    let limits = system.limits();
    let index = plan.piece_index();
    html! {
        h3 { "Batches in the order of mixing" }
        p .facts {
            "No batch is more than " (grams(limits.mass)) ", nor more than " (minutes(limits.time))
            " of work at " (system.laying_speed.to_string()) ": the pot life of " (minutes(system.pot_life))
            " less " (percent(system.reserve)) ". A batch serves whole plies of one part; a ply that is too "
            "much for one gets several. Mix a batch when the one before it is used up."
        }
        div .scroll tabindex="0" role="region" aria-label="Batches" {
            table .batches {
                caption { "Weigh A, then B on top of it, to 0.5 %" }
                thead { tr {
                    th scope="col" .n { "Batch" }
                    th scope="col" { "For the plies" }
                    th scope="col" .n { "Part A" }
                    th scope="col" .n { "Part B" }
                    th scope="col" .n { "Mixed" }
                    @if system.densities.is_some() { th scope="col" .n { "By volume A + B" } }
                    th scope="col" .n { "Work" }
                } }
                tbody {
                    @for (n, batch) in (1..).zip(&resin.batches) { (row(plan, &index, resin, n, batch)) }
                }
            }
        }
    }
}

fn row(plan: &Plan, index: &PieceIndex<'_>, resin: &ResinUse, n: usize, batch: &Batch) -> Markup {
    let mixed = resin.divide(batch.mass);
    html! {
        tr {
            th scope="row" .n { (n) }
            td { (plies(plan, index, resin, batch)) }
            td .n .key { (grams(mixed.a)) }
            td .n .key { (grams(mixed.b)) }
            td .n { (grams(batch.mass)) }
            @if let Some((a, b)) = resin.system.densities {
                td .n .q { (format!("{:.0} + {:.0} ml",
                    mixed.a.to_grams() / a.to_g_per_cm3(), mixed.b.to_grams() / b.to_g_per_cm3())) }
            }
            td .n .q { (minutes(batch.time)) }
        }
    }
}

/// The pieces that a batch serves: `PORT-1, PORT-2`; `first third of KNEE-2`.
pub(in crate::output) fn plies(
    plan: &Plan,
    index: &PieceIndex<'_>,
    resin: &ResinUse,
    batch: &Batch,
) -> String {
    let steps = &resin.steps[batch.steps.clone()];
    let ids: Vec<&str> = steps
        .iter()
        .flat_map(|step| {
            let part = &plan.parts()[step.part];
            index.of(&part.name, part.plies[step.ply].n, step.set)
        })
        .map(|piece| piece.id())
        .collect();
    let ids = ids.join(", ");
    match batch.share {
        (_, 1) => ids,
        (k, n) => format!("{ids}, pot {k} of {n}"),
    }
}

/// Pot life above 90 °F: US Army TM 1-1500-204-23-11, p. 169. The rest is common practice, no source.
fn cautions(resin: &ResinUse) -> Markup {
    let large = resin.system.largest_batch > Mass::grams(500.0);
    html! {
        p .note {
            strong { "Mixed resin heats itself. " }
            "The more of it in one pot, the hotter: pour a batch out flat at once, never mix two at the same "
            "time, and set a pot that grows warm outside. Above 32 °C (90 °F) count on half the pot life."
            @if large {
                " The largest batch allowed here, " (grams(resin.system.largest_batch))
                ", is a lot for one pot: look at the exotherm in the data sheet."
            }
        }
    }
}
