//! The vacuum bag: layers, tape, vacuum.

use super::drawing::drawing;
use super::rolls::cut_files;
use crate::job::LayerKind;
use crate::output::files::bag_file_stem;
use crate::output::pages::model::{Group, Passage};
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{
    cost, counted, percent, piece_area, quantity, running, sides, vacuum, width,
};
use crate::plan::{BagUse, PartBag, PartUse, Plan, RollUse};
use crate::units::Length;

pub(super) fn section(plan: &Plan) -> Vec<Passage> {
    let Some(bags) = &plan.work().bagging else {
        return Vec::new();
    };
    let setup = &bags.setup;
    let has_seams = of_parts(plan).any(|(_, bag)| bag.seam > Length::ZERO);
    let mut passages = vec![
        Passage::section("Vacuum bag", "bag", "Bag"),
        Passage::lead(
            "From the part outwards, each layer reaching beyond the part's outer edge by its margin. \
             Layouts are quick ones, square to the roll: film and felt have no direction.",
        ),
        layers(bags),
        parts(plan),
        Passage::facts(prose! {
            "Tape goes round a rectangle, with " (counted(setup.pleats as usize, "pleat", "pleats")) " of "
            (width(setup.pleat_height)) " that add twice their height each. With "
            (percent(setup.tape_spare)) " for laps the order takes " (running(bags.tape))
            " of tape" if (has_seams) { ", with that in the seams of joined bag film" } "."
        }),
        Passage::note(prose! {
            Strong { "Vacuum: " (vacuum(setup.vacuum)) " below the atmosphere. " }
            "That is what presses on the part wherever you are; high in the hills a pump reaches less. The force "
            "on the mould is pressure × area inside the tape."
        }),
    ];
    let rolls = bags.rolls.iter().enumerate();
    let drawn = rolls.filter(|(_, roll)| !roll.layout.pieces().is_empty());
    passages.extend(drawn.map(|(i, roll)| layer(plan, roll, plan.layouts().len() + i)));
    passages
}

fn layer(plan: &Plan, used: &RollUse, layout_idx: usize) -> Passage {
    let layout = &used.layout;
    let roll = layout.roll().to_owned();
    let facts = prose! {
        (counted(layout.pieces().len(), "piece", "pieces")) " on " (running(layout.used_length())) ", "
        (width(layout.roll_width())) " wide. " (cut_files(plan, &bag_file_stem(used)))
    };
    let within = vec![
        Passage::Subheading((&roll).into()),
        Passage::facts(facts),
        Passage::Drawing(drawing(plan, layout, layout_idx)),
    ];
    Passage::Group(
        Group::Roll {
            roll,
            is_for_bag: true,
        },
        within,
    )
}

fn layers(bags: &BagUse) -> Passage {
    TableOf::new("Layers of the bag", &bags.rolls)
        .caption("Layers from the part outwards")
        .name("Layer", |roll| {
            prose! {
                (&roll.layer.roll.name) Small {
                    (width(roll.layer.roll.roll_width)) " wide"
                    if (!roll.joined.is_empty()) { ", joined from widths with laps of " (width(roll.layer.lap)) }
                }
            }
        })
        .number("Beyond the part", |roll| match roll.layer.kind {
            LayerKind::Bag => "with pleats".into(),
            _ => width(roll.layer.margin),
        })
        .number("Takes up resin", |roll| quantity(roll.layer.take_up))
        .number("Used", |roll| running(roll.purchase.used))
        .number("On hand", |roll| running(roll.layer.on_hand))
        .key("To buy", |roll| running(roll.purchase.length))
        .number("Cost", |roll| cost(roll.purchase.cost, &roll.layer.roll))
        .done()
}

/// Each part with its bag.
fn of_parts(plan: &Plan) -> impl Iterator<Item = (&PartUse, &PartBag)> {
    let parts = plan.parts().iter();
    parts.filter_map(|part| Some((part, part.bag.as_ref()?)))
}

fn parts(plan: &Plan) -> Passage {
    TableOf::new("Bags by part", of_parts(plan))
        .caption("One bag for each set")
        .name("Part", |(part, _)| part.name())
        .number("Tape along", |(_, bag)| sides(bag.tape_line))
        .number("Tape", |(_, bag)| running(bag.tape))
        .number("Bag film", |(_, bag)| sides(bag.film))
        .number("Pressed area", |(_, bag)| piece_area(bag.area))
        .number("Force", |(_, bag)| {
            Prose::quantity(bag.force.in_kilonewtons_and_pounds())
        })
        .number("On the mould", |(_, bag)| {
            Prose::quantity(bag.mould_force.in_kilonewtons_and_pounds())
        })
        .done()
}
