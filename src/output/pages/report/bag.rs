//! The vacuum bag: layers, tape, vacuum.

use super::drawing::drawing;
use super::rolls::cut_files;
use crate::job::{Bagging, LayerKind};
use crate::output::files::bag_file_stem;
use crate::output::pages::model::{Group, Passage};
use crate::output::pages::pleats::how_many;
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::shared_bag;
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{
    cost, counted, currency, or_none, percent, piece_area, quantity, running, sides, vacuum, width,
};
use crate::plan::{BagUse, PartBag, PartUse, Plan, RollUse};
use crate::units::{ArealWeight, Length};

pub(super) fn section(plan: &Plan) -> Vec<Passage> {
    let Some(bags) = &plan.work().bagging else {
        return Vec::new();
    };
    let setup = &bags.setup;
    let has_seams = of_parts(plan).any(|(_, bag)| bag.seam > Length::ZERO);
    let of_moulds = of_parts(plan).any(|(_, bag)| bag.pleats.on_sides.is_some());
    let mut passages = vec![
        Passage::section("Vacuum bag", "bag", "Bag"),
        Passage::lead(
            "From the part outwards; every layer is larger than the part by its margin, all round. Films, \
             peel ply and breather have no direction here: they are cut square to the roll.",
        ),
        layers(bags),
        parts(plan, setup),
        Passage::facts(prose! {
            "The tape line is a rectangle, with " (counted(setup.pleats as usize, "pleat", "pleats")) " of "
            (width(setup.pleat_height)) if (of_moulds) { " or as many as the mould of a part wants" }
            "; each takes twice its height of tape. With "
            (percent(setup.tape_spare)) " for laps the order takes " (running(bags.tape))
            " of tape" if (has_seams) { ", with that in the seams of joined bag film" } "."
        }),
        Passage::note(prose! {
            Strong { "Vacuum: " (vacuum(setup.vacuum)) " below the atmosphere. " }
            "That presses on the part at any altitude, if the gauge shows it; high in the hills a pump may not get so far. The force "
            "on the mould is pressure × area inside the tape line."
        }),
    ];
    passages.extend(shared_bag::section(plan, None));
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
            LayerKind::Bag => "to the tape, pleats added".into(),
            _ => width(roll.layer.margin),
        })
        .number("Takes up resin", |roll| {
            or_none(roll.layer.take_up, ArealWeight::g_per_m2(0.0), quantity)
        })
        .number("Off the roll", |roll| running(roll.purchase.used))
        .number("On hand", |roll| {
            or_none(roll.layer.on_hand, Length::ZERO, running)
        })
        .key("To buy", |roll| running(roll.purchase.length))
        .number("Cost", |roll| cost(roll.purchase.cost, currency(&roll.layer.roll)))
        .done()
}

/// Each part with its bag.
fn of_parts(plan: &Plan) -> impl Iterator<Item = (&PartUse, &PartBag)> {
    let parts = plan.parts().iter();
    parts.filter_map(|part| Some((part, part.bag.as_ref()?)))
}

fn has_stages(plan: &Plan) -> bool {
    let mut parts = plan.parts().iter();
    parts.any(|part| part.n_bags() > part.sets)
}

fn parts(plan: &Plan, setup: &Bagging) -> Passage {
    TableOf::new("Bags by part", of_parts(plan))
        .caption(match has_stages(plan) {
            true => "One bag for each set and stage",
            false => "One bag for each set",
        })
        .name("Part", |(part, bag)| {
            prose! {
                (part.name())
                if (bag.shared.is_some()) { Small { "in bag " (part.bag_name()) ", with others" } }
            }
        })
        .number("Tape line", |(_, bag)| sides(bag.tape_line))
        .number("Tape", |(_, bag)| running(bag.tape))
        .number("Bag film", |(_, bag)| {
            prose! {
                (sides(bag.film))
                if (bag.pleats.on_sides.is_some()) { Small { (how_many(&bag.pleats, setup)) } }
            }
        })
        .number("Area of the part", |(_, bag)| piece_area(bag.area))
        .number("Force on the part", |(_, bag)| {
            Prose::quantity(bag.force.in_kilonewtons_and_pounds())
        })
        .number("On the mould", |(_, bag)| {
            Prose::quantity(bag.mould_force.in_kilonewtons_and_pounds())
        })
        .done()
}
