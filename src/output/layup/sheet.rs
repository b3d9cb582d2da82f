//! The sheet of one part: from the bare mould to the finished part, in the order of the work.

use maud::{Markup, html};

use super::{Sheets, TICK, fill_in, stack};
use crate::output::report::bag::{by, in_all_units};
use crate::output::report::resin::plies as plies_of_batch;
use crate::output::report::shopping::amount;
use crate::output::report::words::{angle, both, count, mass, piece_area, running, width};
use crate::output::report::work_words::{grams, minutes};
use crate::plan::{Amount, BagUse, MouldUse, PartUse, PlyUse, ResinUse, frays};
use crate::units::Mass;

pub(super) fn sheet(sheets: &Sheets<'_>, idx: usize) -> Markup {
    let plan = sheets.plan;
    let part = &plan.parts[idx];
    html! {
        header {
            p .kind { (plan.title) ": layup sheet" }
            h1 { (part.name) " " small { (count(part.sets as usize, "set", "sets")) } }
            p .fills { (fill_in("Date")) (fill_in("Laid by")) (fill_in("Room °C / °F")) (fill_in("Humidity %")) }
        }
        (cautions(plan.work.resin.is_some()))
        (mould_steps(sheets, idx))
        section .stack-section {
            h2 { "Lay up, from the mould up" }
            p {
                "The dashed line is the part's 0°. Arrows point along the warp, counter-clockwise from 0° "
                "seen from the bag side; a thin line is the weft. Each arrow is true on the ply, which is drawn lying down."
            }
            @if let Some(laid) = plan.work.laid.get(idx) { (stack::figures(plan, part, laid)) }
        }
        (ply_table(sheets, idx))
        @if let Some(resin) = &plan.work.resin { (batches(sheets, resin, idx)) }
        @if let Some(bags) = &plan.work.bagging { (bag_steps(bags, part, idx)) }
        (finish(sheets, part, idx))
    }
}

/// What can hurt. Common practice, no source; data sheets go before it.
fn cautions(has_resin: bool) -> Markup {
    html! {
        section .cautions {
            p {
                strong { "Data sheets, local code and licensed practice come first. " }
                "This sheet is arithmetic on the numbers it was given and approves no design."
            }
            ul {
                li { strong { "Dust: " } "respirator (P2, N95 or better) and eye protection for cutting, trimming, sanding. Carbon dust conducts: keep it off sockets and machines." }
                li { strong { "Resin: " } "nitrile gloves and sleeves, fresh ones when wet; soap and water, never solvent, on skin. Air the room." }
                @if has_resin { li { strong { "Heat: " } "a full pot heats itself and can burn. Mix one batch at a time, pour it out flat." } }
                li { strong { "Blades: " } "cut away from hands; cover the blade when you put it down." }
            }
        }
    }
}

fn mould_steps(sheets: &Sheets<'_>, idx: usize) -> Markup {
    let plan = sheets.plan;
    let mould = plan.work.mould.as_ref();
    let bag = plan.work.bagging.as_ref().map(|bags| &bags.parts[idx]);
    html! {
        section {
            h2 { "Make the mould ready" }
            ol .steps {
                li { (TICK) " Clean the mould of dust, old release and fingerprints." }
                @if let Some(mould) = mould { (release_steps(mould, idx)) }
                @if let Some(bag) = bag { li {
                    (TICK) " Stick down the line of sealant tape before the first ply, along "
                    (by(bag.tape_line)) ", " (running(bag.tape)) " with its pleats. Leave the paper on: "
                    "the line stays free of resin and wax."
                } }
                li { (TICK) " Mark the part's 0° on the mould. Lay out pieces, bag layers, tools and gloves "
                    "before any resin is mixed." }
            }
        }
    }
}

fn release_steps(mould: &MouldUse, idx: usize) -> Markup {
    let setup = &mould.setup;
    let area = mould.areas[idx];
    let wax = Mass::grams((setup.wax * area).to_grams() * f64::from(setup.wax_coats));
    html! {
        @if setup.wax_coats > 0 { li {
            "Wax " (piece_area(area)) ", the part and " (width(setup.margin)) " all round: "
            (count(setup.wax_coats as usize, "coat", "coats")) ", about " (mass(wax)) " in all; wait "
            (minutes(setup.wax_wait)) " after each, then buff. "
            @for coat in 1..=setup.wax_coats { span .box { (TICK) " coat " (coat) } " " }
        } }
        @if let Some(coverage) = setup.pva { li {
            (TICK) " PVA film over the wax: " (amount(Amount::Volume(coverage.volume_for(area))))
            " at " (both(&coverage.to_string())) "; let it dry " (minutes(setup.pva_drying)) "."
        } }
    }
}

fn ply_table(sheets: &Sheets<'_>, idx: usize) -> Markup {
    let part = &sheets.plan.parts[idx];
    let running = stack::running_thickness(part);
    let has_resin = sheets.plan.work.resin.is_some();
    html! {
        section {
            h2 { "Ply by ply" }
            p { "For each ply: lay it, line it up with 0°, wet it out with the roller from the middle outwards, tick it off." }
            table .plies {
                thead { tr {
                    th { "Ply" }
                    th { "Pieces, a tick for each" }
                    th { "Cloth" }
                    th .n { "Angle" }
                    th .n { "Thickness so far" }
                    @if has_resin { th .n { "Resin in it" } th { "Batch" } }
                    th { "Heed" }
                } }
                tbody {
                    @for (ply_idx, ply) in part.plies.iter().enumerate() { tr {
                        th { (ply.n) }
                        td { (pieces(sheets, part, ply)) }
                        td { (ply.cloth) }
                        td .n { strong { (angle(ply.angle)) } }
                        td .n { @if let Some(t) = running[ply_idx] { (both(&format!("{:.2} mm ({:.4} in)", t.to_mm(), t.to_inches()))) } }
                        @if has_resin {
                            td .n { @if let Some(resin) = ply.resin_in(ply.cut_area) { (grams(resin)) } }
                            td { (batch_numbers(sheets, idx, part, ply_idx)) }
                        }
                        td { (heed(sheets, part, ply)) }
                    } }
                }
            }
        }
    }
}

fn pieces(sheets: &Sheets<'_>, part: &PartUse, ply: &PlyUse) -> Markup {
    html! {
        @for set in 1..=part.sets {
            @for piece in sheets.index.of(&part.name, ply.n, set) {
                span .box { (TICK) " " (piece.id) } " "
            }
        }
    }
}

/// The batches of a ply over all sets, first to last.
fn batch_numbers(sheets: &Sheets<'_>, idx: usize, part: &PartUse, ply: usize) -> String {
    let mut seen: Vec<String> = Vec::new();
    for set in 1..=part.sets {
        let text = sheets.batches(idx, set, ply);
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    seen.join(", ")
}

fn heed(sheets: &Sheets<'_>, part: &PartUse, ply: &PlyUse) -> Markup {
    let own: Vec<_> = (1..=part.sets)
        .flat_map(|set| sheets.index.of(&part.name, ply.n, set))
        .collect();
    let turned: Vec<&str> = own
        .iter()
        .filter(|piece| piece.turned_over)
        .map(|piece| piece.id.as_str())
        .collect();
    let off: Vec<String> = own
        .iter()
        .filter(|piece| (piece.angle_cut - piece.angle_design).to_degrees().abs() > 0.005)
        .map(|piece| format!("{} cut at {}", piece.id, angle(piece.angle_cut)))
        .collect();
    let weave = sheets.plan.weave_of(&ply.cloth);
    let spliced = own.len() > part.sets as usize;
    html! {
        @if ply.appearance { span .mark { "will be seen" } " " }
        @if ply.on_bias { span .mark { "bias: do not pull" } " " }
        @if frays(weave, ply.on_bias) { span .mark { "taped edges: trim the tape off outside the net line" } " " }
        @if spliced { span .mark { "spliced: lap or butt as the pieces are marked" } " " }
        @if !turned.is_empty() { span .mark { "cut face down: " (turned.join(", ")) } " " }
        @if !off.is_empty() { span .mark { (off.join(", ")) } }
    }
}

fn batches(sheets: &Sheets<'_>, resin: &ResinUse, idx: usize) -> Markup {
    let plan = sheets.plan;
    let own = (1..).zip(&resin.batches).filter(|(_, batch)| {
        let first = &resin.steps[batch.steps.start];
        first.part == idx
    });
    html! {
        section {
            h2 { "Mix " (resin.system.name) }
            p {
                "100 : " (format!("{:.1}", resin.system.ratio.hardener_to_100())) " by weight, to 0.5 %. Scrape the sides, "
                "fold and do not whip. Pot life " (minutes(resin.system.pot_life)) "; half of it above 32 °C (90 °F)."
            }
            table .batches {
                thead { tr {
                    th { "Batch" } th { "For" } th .n { "Part A" } th .n { "Part B" } th .n { "Work" } th { "Mixed at" } th { "Lot A / B" }
                } }
                tbody { @for (n, batch) in own {
                    @let mixed = resin.divide(batch.mass);
                    tr {
                        th { (TICK) " " (n) }
                        td { (plies_of_batch(plan, &sheets.index, resin, batch)) }
                        td .n { strong { (grams(mixed.a)) } }
                        td .n { strong { (grams(mixed.b)) } }
                        td .n { (minutes(batch.time)) }
                        td .write {} td .write {}
                    }
                } }
            }
        }
    }
}

fn bag_steps(bags: &BagUse, part: &PartUse, idx: usize) -> Markup {
    let bag = &bags.parts[idx];
    let setup = &bags.setup;
    html! {
        section {
            h2 { "Bag it, from the part outwards" }
            ol .steps {
                @for roll in &bags.rolls {
                    @let is_bag = roll.layer.kind == crate::job::LayerKind::Bag;
                    li {
                        (TICK) " " strong { (roll.layer.roll.name) }
                        @if is_bag {
                            " " (by(bag.film)) ": paper off the tape bit by bit, film pressed down, "
                            (count(setup.pleats as usize, "pleat", "pleats")) " of " (width(setup.pleat_height))
                            " where the film must follow a corner or a hollow."
                        } @else {
                            ", " (width(roll.layer.margin)) " beyond the part all round."
                        }
                    }
                }
                li { (TICK) " Connector on a pad of breather beside the part, not on it; hose and gauge; close the bag." }
                li {
                    (TICK) " Vacuum " strong { (in_all_units(setup.vacuum)) } ": "
                    (both(&bag.force.in_kilonewtons_and_pounds())) " on " (piece_area(bag.area))
                    ". Check that the mould can bear it. Work folds and bridges out at low vacuum first."
                }
                li {
                    (TICK) " Leak check, pump off: it may lose 1 inHg (34 mbar) in a minute, unless the data sheets ask for less. "
                    span .fills { (fill_in("Start")) (fill_in("after 1 min")) (fill_in("after 5 min")) (fill_in("lost")) }
                }
            }
            @if part.sets > 1 { p { "One bag for each of the " (part.sets) " sets." } }
        }
    }
}

fn finish(sheets: &Sheets<'_>, part: &PartUse, idx: usize) -> Markup {
    let plan = sheets.plan;
    let cure = plan
        .work
        .resin
        .as_ref()
        .and_then(|resin| resin.system.cure.as_ref());
    let weight = part.resin_mass().map(|resin| part.cloth_mass() + resin);
    let map = plan.work.thickness.get(idx).and_then(Option::as_ref);
    html! {
        section {
            h2 { "Cure and demould" }
            ol .steps {
                li {
                    (TICK) " Cure: "
                    @match cure { Some(cure) => { (cure) "." } None => { "as the resin's data sheet says." } }
                    " " span .fills { (fill_in("Vacuum off")) (fill_in("Warm from")) (fill_in("to")) }
                }
                li { (TICK) " Demould with plastic wedges, slowly, from an edge; wash the PVA off with water." }
                li { (TICK) " Trim to the net line, wet or with extraction." }
                li {
                    (TICK) " Weigh and measure. Expected for one set: "
                    @if let Some(weight) = weight { (mass(weight)) } @else { "mass not known" }
                    @if let Some(t) = part.laminate.thickness { ", " (both(&format!("{:.2} mm ({:.4} in)", t.to_mm(), t.to_inches()))) " with all plies one upon another" }
                    ". " span .fills { (fill_in("Mass")) (fill_in("Thickness")) }
                }
            }
            @if let Some(map) = map.filter(|m| m.regions.len() > 1) {
                (crate::output::report::thickness::figure(part, map))
            }
        }
    }
}
