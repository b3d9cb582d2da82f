//! How much resin to mix, and when.

use crate::job::ResinSystem;
use crate::laminate::Batch;
use crate::number::number;
use crate::output::pages::model::Passage;
use crate::output::pages::prose::prose;
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{
    counted, list, minutes, percent, piece_area, quantity, step_in_words, weighed, weighed_by,
};
use crate::plan::{PieceIndex, Plan, ResinUse};
use crate::units::Mass;

/// Gel coat or wet coat, which is no part of the resin for the plies.
pub(super) fn coat(plan: &Plan) -> Vec<Passage> {
    let Some(coat) = &plan.work().coat else {
        return Vec::new();
    };
    let setup = &coat.setup;
    let mixed = coat.divide(coat.mixed);
    let parts = plan.parts().iter();
    let parts = parts.filter_map(|part| Some((part, part.coat.as_ref()?)));
    vec![
        Passage::section("Before ply 1", "gel-coat", "Gel coat"),
        Passage::plain(prose! {
            Strong { (weighed(coat.mixed)) } " of " (&setup.name) ", mixed, for the whole order"
            if (!setup.is_own) { ", of the laminating resin and beside what the plies take" }
            ": " (weighed(mixed.a)) " of part A and " (weighed(mixed.b)) " of part B. "
            (quantity(setup.areal_weight)) " are put on, and "
            (percent(setup.waste)) " stays in pots and brushes. The weight of a part has it in as it is put on; "
            "what evaporates is not taken off."
        }),
        TableOf::new("Gel coat by part", parts)
            .caption("One set of each part")
            .name("Part", |(part, _)| part.name())
            .number("Coated", |(_, one)| piece_area(one.area))
            .number("Stays in it", |(_, one)| weighed(one.in_part))
            .number("Beyond it", |(_, one)| weighed(one.beyond))
            .number("Pots, brushes", |(_, one)| weighed(one.left_over))
            .key("Mixed, one set", |(_, one)| weighed(one.mixed()))
            .number("Batches", |(_, one)| one.batches.len())
            .number("Sets", |(part, _)| part.sets)
            .done(),
    ]
}

pub(super) fn section(plan: &Plan) -> Vec<Passage> {
    let Some(resin) = &plan.work().resin else {
        return Vec::new();
    };
    let system = &resin.system;
    let order = resin.order.mixed();
    let mixed = resin.divide(order);
    let limits = system.limits();
    vec![
        Passage::section("What to mix", "resin", "Resin"),
        Passage::plain(prose! {
            Strong { (weighed(order)) } " of " (system.title()) " for the whole order, mixed: "
            (weighed(mixed.a)) " of part A and " (weighed(mixed.b)) " of part B, "
            (ratio(system)) " by weight, in "
            (counted(resin.batches.len(), "batch", "batches")) "."
        }),
        Passage::lead(prose! {
            "Enough to wet out every ply as it is cut, trim and all, plus " (percent(system.waste))
            " for what stays in pots, brushes and rollers."
        }),
        by_part(plan, resin),
        Passage::Subheading("Batches in the order of mixing".into()),
        Passage::facts(prose! {
            "No batch is more than " (weighed(limits.mass)) " or " (minutes(limits.time)) " of work for " (counted(system.people as usize, "person", "people")) " at "
            (system.laying_speed.to_string()) " each: the pot life of " (minutes(system.pot_life_in_room()))
            " at " (system.room.to_string()) " less " (percent(system.reserve)) " to be safe"
            ". A batch is for whole plies of one set; a ply that takes more than one batch gets several. Mix a batch "
            "only when the one before it is used up."
        }),
        batches(plan, resin),
        cautions(resin),
    ]
}

fn by_part(plan: &Plan, resin: &ResinUse) -> Passage {
    let order = &resin.order;
    let parts = plan.parts().iter();
    let parts = parts.filter_map(|part| Some((part, part.resin.as_ref()?)));
    // Nobody without a bag reads of its layers.
    let is_taken_up = order.take_up > Mass::ZERO;
    let whole = [
        Some(order.in_part + order.in_cores),
        Some(order.in_trim),
        is_taken_up.then_some(order.take_up),
        Some(order.left_over),
        Some(order.mixed()),
    ];
    let whole = whole.into_iter().flatten();
    TableOf::new("Resin by part", parts)
        .caption("Mixed resin for one set of each part, and where it goes")
        .name("Part", |(part, _)| part.name())
        .number("Stays in it", |(_, one)| {
            weighed(one.in_part + one.in_cores)
        })
        .number("In the trim", |(_, one)| weighed(one.in_trim))
        .when(is_taken_up, |table| {
            table.number("Peel ply, breather", |(_, one)| weighed(one.take_up))
        })
        .number("Pots, brushes", |(_, one)| weighed(one.left_over))
        .key("Mixed, one set", |(_, one)| weighed(one.mixed()))
        .number("Sets", |(part, _)| part.sets)
        .foot("The whole order", whole.map(weighed).chain(["".into()]))
        .done()
}

fn batches(plan: &Plan, resin: &ResinUse) -> Passage {
    let index = plan.piece_index();
    let step = resin.scale_step();
    let batches = (1_usize..).zip(&resin.batches);
    let batches = batches.map(|(n, batch)| (n, batch, resin.divide(batch.mass)));
    let mut table = TableOf::new("Batches", batches)
        .caption(format!(
            "Weigh A, then B on top of it, to within 0.5 %: use a scale that shows {}",
            step_in_words(step)
        ))
        .class("batches")
        .place("Batch", |(n, ..)| *n)
        .words("For the plies", |(_, batch, _)| {
            pieces_of_batch(plan, &index, resin, batch)
        })
        .key("Part A", |(.., mixed)| weighed_by(mixed.a, step))
        .key("Part B", |(.., mixed)| weighed_by(mixed.b, step))
        .number("Mixed", |(_, batch, _)| weighed_by(batch.mass, step));
    if let Some((a, b)) = resin.system.hardener.densities {
        table = table.number("By volume A + B", |(.., mixed)| {
            let a = mixed.a.to_grams() / a.to_g_per_cm3();
            let b = mixed.b.to_grams() / b.to_g_per_cm3();
            quantity(format!("{a:.0} + {b:.0} ml"))
        });
    }
    table
        .number("Work", |(_, batch, _)| quantity(minutes(batch.time)))
        .done()
}

/// Part A to part B: `100 : 30`.
pub(in crate::output::pages) fn ratio(system: &ResinSystem) -> String {
    format!(
        "100 : {}",
        number(system.hardener.ratio.hardener_to_100(), 2)
    )
}

/// The pieces that a batch serves: `PORT-1, PORT-2`; `KNEE-2, pot 1 of 3`.
pub(in crate::output::pages) fn pieces_of_batch(
    plan: &Plan,
    index: &PieceIndex<'_>,
    resin: &ResinUse,
    batch: &Batch,
) -> String {
    let steps = resin.steps[batch.steps.clone()].iter();
    let pieces = steps.flat_map(|step| {
        let part = &plan.parts()[step.part];
        index.of(part.name(), part.plies[step.ply].n(), step.set)
    });
    let ids = list(pieces.map(|piece| piece.id()));
    match batch.share {
        (_, 1) => ids,
        (k, n) => format!("{ids}, pot {k} of {n}"),
    }
}

/// Pot life above 90 °F: US Army TM 1-1500-204-23-11, p. 169. The rest is common practice, no source.
fn cautions(resin: &ResinUse) -> Passage {
    let largest = resin.system.largest_batch;
    Passage::note(prose! {
        Strong { "Mixed resin heats itself. " }
        "The more in one pot, the hotter: pour a batch out flat at once, never mix two at the same time, take a "
        "pot that gets warm outside. Above 32 °C (90 °F) count on half the pot life."
        if (largest > Mass::grams(500.0)) {
            " The largest batch allowed here, " (weighed(largest))
            ", is a lot for one pot: read in the data sheet how hot it gets (exotherm)."
        }
    })
}
