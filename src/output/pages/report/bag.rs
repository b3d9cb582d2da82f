//! The vacuum bag: layers, tape, vacuum.

use maud::{Markup, html};

use super::drawing::drawing;
use super::rolls::cut_files;
use super::words::{both, cost, piece_area, running, width};
use crate::diag::counted;
use crate::output::files::bag_file_stem;
use crate::plan::{BagUse, Plan, RollUse};
use crate::units::{Length, Pressure};

pub(super) fn section(plan: &Plan, bags: &BagUse) -> Markup {
    html! {
        section #bag aria-labelledby="bag-title" {
            h2 #bag-title { "What goes over it" }
            p .lead {
                "From the part outwards, each layer reaching beyond the part's outer edge by its margin. "
                "Layouts are quick ones, square to the roll: film and felt have no direction."
            }
            (layers(bags))
            (parts(plan, bags))
            (vacuum(bags.setup.vacuum))
            @for (i, roll) in bags.rolls.iter().enumerate().filter(|(_, r)| !r.layout.pieces().is_empty()) {
                article .consumable data-roll=(roll.layout.roll()) {
                    h3 { (roll.layout.roll()) }
                    p .facts {
                        (counted(roll.layout.pieces().len(), "piece", "pieces")) " on "
                        (running(roll.layout.used_length())) ", " (width(roll.layout.roll_width())) " wide. "
                        (cut_files(plan, &bag_file_stem(roll)))
                    }
                    (drawing(plan, &roll.layout, plan.layouts().len() + i))
                }
            }
        }
    }
}

fn layers(bags: &BagUse) -> Markup {
    html! {
        div .scroll tabindex="0" role="region" aria-label="Layers of the bag" {
            table {
                caption { "Layers from the part outwards" }
                thead { tr {
                    th scope="col" { "Layer" }
                    th scope="col" .n { "Beyond the part" }
                    th scope="col" .n { "Takes up resin" }
                    th scope="col" .n { "Used" }
                    th scope="col" .n { "On hand" }
                    th scope="col" .n { "To buy" }
                    th scope="col" .n { "Cost" }
                } }
                tbody { @for roll in &bags.rolls { (layer_row(roll)) } }
            }
        }
    }
}

fn layer_row(roll: &RollUse) -> Markup {
    let layer = &roll.layer;
    let is_bag = layer.kind == crate::job::LayerKind::Bag;
    html! {
        tr {
            th scope="row" { (layer.roll.name) small { (width(layer.roll.roll_width)) " wide" } }
            td .n { @if is_bag { "with pleats" } @else { (width(layer.margin)) } }
            td .n { (both(&layer.take_up.to_string())) }
            td .n { (running(roll.purchase.used)) }
            td .n { (running(layer.on_hand)) }
            td .n .key { (running(roll.purchase.length)) }
            td .n { (cost(roll.purchase.cost, &layer.roll)) }
        }
    }
}

fn parts(plan: &Plan, bags: &BagUse) -> Markup {
    let setup = &bags.setup;
    html! {
        div .scroll tabindex="0" role="region" aria-label="Bags by part" {
            table {
                caption { "One bag for each set" }
                thead { tr {
                    th scope="col" { "Part" }
                    th scope="col" .n { "Tape along" }
                    th scope="col" .n { "Tape" }
                    th scope="col" .n { "Bag film" }
                    th scope="col" .n { "Pressed area" }
                    th scope="col" .n { "Force" }
                } }
                tbody { @for (part, bag) in plan.parts().iter().zip(&bags.parts) { tr {
                    th scope="row" { (part.name) }
                    td .n { (by(bag.tape_line)) }
                    td .n { (running(bag.tape)) }
                    td .n { (by(bag.film)) }
                    td .n { (piece_area(bag.area)) }
                    td .n { (both(&bag.force.in_kilonewtons_and_pounds())) }
                } } }
            }
        }
        p .facts {
            "Tape goes round a rectangle, with " (counted(setup.pleats as usize, "pleat", "pleats")) " of "
            (width(setup.pleat_height)) " that add twice their height each. With "
            (super::words::percent(setup.tape_spare)) " for laps the order takes "
            (running(bags.tape(plan.parts()))) " of tape."
        }
    }
}

/// `860 × 230 mm (33.9 × 9.1 in)`.
fn by(sides: (Length, Length)) -> Markup {
    both(&by_text(sides))
}

/// The same as text.
pub(in crate::output) fn by_text((length, width): (Length, Length)) -> String {
    format!(
        "{:.0} × {:.0} mm ({:.1} × {:.1} in)",
        length.to_mm(),
        width.to_mm(),
        length.to_inches(),
        width.to_inches()
    )
}

/// A vacuum in the units of all gauges: `25.0 inHg = 84.7 kPa = 847 mbar = 12.3 psi`.
pub(in crate::output) fn in_all_units(vacuum: Pressure) -> String {
    format!(
        "{:.1} inHg = {:.1} kPa = {:.0} mbar = {:.1} psi",
        vacuum.to_inches_of_mercury(),
        vacuum.to_kilopascals(),
        vacuum.to_millibars(),
        vacuum.to_psi()
    )
}

fn vacuum(vacuum: Pressure) -> Markup {
    html! {
        p .note {
            strong { "Vacuum: " (in_all_units(vacuum)) " below the atmosphere. " }
            "That is the pressure on the part at sea level; a gauge high in the hills shows less. The force "
            "is pressure × area inside the net lines."
        }
    }
}
