//! The bag on the sheet of a part: what goes on, in which order, and the leak check.

use crate::job::LayerKind;
use crate::output::pages::model::Passage;
use crate::output::pages::pleats;
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::shared_bag;
use crate::output::pages::words::{running, sides, vacuum, width};
use crate::plan::{BagUse, PartBag, PartUse, Plan, RollUse};

/// How the part is bagged, from the part outwards.
pub(super) fn bag(
    plan: &Plan,
    bags: &BagUse,
    part: &PartUse,
    bag: &PartBag,
    passages: &mut Vec<Passage>,
) {
    let shared = bag.shared.map(|idx| &bags.shared[idx]);
    let layers = bags.rolls.iter();
    let layers = layers.map(|roll| layer(bags, roll, part, bag));
    let mut steps: Vec<Prose> = layers.collect();
    if let Some(shared) = shared {
        let what = prose! {
            Tick("") "One bag for " Strong { (shared_bag::names(plan, shared)) } ": lay them all, each with its own layers, "
            "before a sheet that covers them goes on."
        };
        steps.insert(0, what);
    }
    steps.push(prose! {
        Tick("") "Connector on a pad of breather beside the part, not on it. Hose and gauge on. Close the bag."
    });
    steps.push(prose! {
        Tick("") "Pull a little vacuum, press the film into corners, then full vacuum: "
        Strong { (vacuum(bags.setup.vacuum)) } ". Inside the tape it presses on the mould with "
        (Prose::quantity(bag.mould_force.in_kilonewtons_and_pounds())) ": make sure that the mould can take it."
    });
    steps.push(prose! {
        Tick("") "Leak check, pump off: it may lose 1 inHg (34 mbar) in a minute at most, unless the data sheets "
        "ask for less (US Army TM 1-1500-204-23-11, p. 184)."
        Blank("Start") Blank("after 1 min") Blank("after 5 min") Blank("lost")
    });
    steps.push(prose! { Tick("") "Pump on again, and leave it on until the part has cured." });
    passages.push(Passage::heading("Bag it, from the part outwards"));
    passages.push(Passage::Steps(steps));
    if shared.is_some() {
        passages.extend(shared_bag::section(plan, Some(part.index())));
    }
    if part.part().stages().len() > 1 {
        passages.push(Passage::plain(
            "Each stage has a bag of its own, cut for the whole part.",
        ));
    }
    if part.sets > 1 {
        let words = format!("One bag for each of the {} sets.", part.sets);
        passages.push(Passage::plain(words));
    }
}

/// A layer of the bag and how it goes on.
fn layer(bags: &BagUse, roll: &RollUse, part: &PartUse, bag: &PartBag) -> Prose {
    let setup = &bags.setup;
    let name = &roll.layer.roll.name;
    let breathes = bags.rolls.iter().any(|r| r.layer.roll.name == "breather");
    let shared = bag.shared.filter(|_| roll.layer.covers_bag());
    let lead = shared.map_or(part.index(), |idx| bags.shared[idx].parts[0]);
    let joined = roll.joined.iter().find(|joined| joined.part == lead);
    let over_all = shared.map_or_else(
        Prose::default,
        |_| prose! { " over all parts of bag " (part.bag_name()) },
    );
    let joined = joined.map_or_else(Prose::default, |joined| {
        prose! {
            " Joined from " (joined.pieces.len()) " widths, each over the one before it by "
            (width(roll.layer.lap))
            if (roll.layer.kind == LayerKind::Bag) {
                ", with " (running(joined.seam)) " of sealant tape in the laps"
            }
            "."
        }
    });
    if roll.layer.kind == LayerKind::Bag {
        prose! {
            Tick("") Strong { (name) } " " (sides(bag.film)) (over_all)
            ": peel the backing paper off the tape bit by bit and press the film down, "
            (pleats::how_many(&bag.pleats, setup)) " where the film must follow a corner or a hollow."
            (pleats::where_they_go(&bag.pleats)) (joined)
        }
    } else {
        prose! {
            Tick("") Strong { (name) } ", "
            if (shared.is_some()) { "one sheet" (over_all) ", " }
            (width(roll.layer.margin)) " beyond " if (shared.is_some()) { "them" } else { "the part" } " all round."
            if (name == "release-film" && breathes) {
                " Perforated: resin passes through it into the breather."
            }
            if (name == "release-film" || name == "breather") { (pleats::in_the_hollows(&bag.pleats)) }
            (joined)
        }
    }
}
