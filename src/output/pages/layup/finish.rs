//! The end of the sheet of a part: cure, demould, post-cure, trim, weight and record.

use super::Sheets;
use super::part::if_carbon;
use crate::job::ResinSystem;
use crate::output::pages::model::Passage;
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::report::thickness;
use crate::output::pages::words::{list, mass, minutes, thickness as thick};
use crate::plan::PartUse;

/// When and how the part leaves its mould.
fn demould(system: Option<&ResinSystem>, has_film: bool) -> Prose {
    let after = system.and_then(|system| system.demould_after);
    let hardness = system.and_then(|system| system.hardness.as_ref());
    prose! {
        Tick("") "Demould after "
        if let (Some(after) = after) { Strong { (minutes(after)) } " at least" }
        else { "the time in the data sheet" }
        if let (Some(hardness) = hardness) { " and from a hardness of " Strong { (hardness) } " on" }
        else { " and when a fingernail leaves no mark" }
        ": plastic wedges, slowly, from an edge"
        if (has_film) { "; wash the PVA off with water" } "."
        if (hardness.is_some()) { Blank("Hardness") }
    }
}

/// How the part is cured hot.
fn post_cure(system: Option<&ResinSystem>) -> Prose {
    let Some((system, cure)) = system.and_then(|s| Some((s, s.post_cure?))) else {
        return prose! {
            Tick("") "Hot post-cure only as the data sheet says, slowly, the part held in shape: the mould is hot after it."
            Blank("°C per h") Blank("hold at") Blank("for")
        };
    };
    prose! {
        Tick("") "Post-cure, the part held in shape: warm it "
        if let (Some(ramp) = cure.ramp) {
            "by no more than " Strong { (ramp.to_string()) } " to " Strong { (cure.at.to_string()) } ", in about "
            (minutes(ramp.time_for(system.room, cure.at)))
        } else { "slowly to " Strong { (cure.at.to_string()) } }
        "; hold it there "
        if let (Some(soak) = cure.soak) { Strong { (minutes(soak)) } } else { "as long as the data sheet says" }
        "; let it cool as slowly. The mould is hot after it."
        Blank("Warm from") Blank("held from") Blank("to")
    }
}

/// From the cure to the finished part, and what is written down of it.
pub(super) fn finish(sheets: &Sheets<'_>, part: &PartUse, passages: &mut Vec<Passage>) {
    let work = &sheets.plan.work();
    let system = work.resin.as_ref().map(|resin| &resin.system);
    let cure = system.and_then(|system| system.hardener.cure.as_ref());
    let has_bag = work.bagging.is_some();
    let has_film = work.mould.as_ref().is_some_and(|mould| mould.pva.is_some());
    let weight = part.mass();
    let map = part.thickness.as_ref();
    // What is drawn apart may lie anywhere.
    let regions = map.filter(|map| map.apart.is_empty());
    let (thickest, where_thick) = match regions {
        Some(map) if map.regions.len() > 1 => {
            let thickest = map.regions.iter().filter_map(|region| region.thickness);
            let thickest = thickest.reduce(|a, b| if b > a { b } else { a });
            (thickest, " where it is thickest")
        }
        Some(_) => (part.stack.laminate.thickness, ""),
        None => (
            part.stack.laminate.thickness,
            " where all plies lie one on another",
        ),
    };
    passages.push(Passage::heading("Cure and demould"));
    passages.push(Passage::Steps(vec![
        prose! {
            Tick("") "Cure: "
            if let (Some(cure) = cure) { (cure) } else { "as the resin's data sheet says" }
            "." if (has_bag) { Blank("Vacuum off") } Blank("Warm from") Blank("to")
        },
        demould(system, has_film),
        post_cure(system),
        prose! {
            Tick("") "Trim to the finished edge, wet or with extraction."
            if let (Some(said) = if_carbon(part, [
                " Metal that touches carbon corrodes: put a ply of glass between.",
                " If the cloth is carbon, metal that touches it corrodes: put a ply of glass between.",
            ])) { (said) }
        },
        prose! {
            Tick("") "Weigh and measure. Expected for one set: "
            if let (Some(weight) = weight) { (mass(weight)) } else { "weight not known" }
            if let (Some(t) = thickest) { ", " (thick(t)) (where_thick) }
            if let (Some(coat) = &work.coat) { ", the " (&coat.setup.name) " in the weight and not in the thickness" }
            "." Blank("Weight") Blank("Thickness")
        },
    ]));
    passages.push(Passage::heading("Record"));
    passages.push(Passage::plain(prose! {
        Blank("First mix") Blank("Last ply") if (has_bag) { Blank("Full vacuum") Blank("Gauge") }
    }));
    passages.push(Passage::plain(prose! {
        Blank("Cloth lots") Blank("Resin lot") Blank("Hardener lot") Blank("Checked by") Blank("Hours of work")
    }));
    let Some(map) = map.filter(|map| map.regions.len() > 1) else {
        return;
    };
    passages.push(Passage::heading("Thickness by region"));
    passages.push(Passage::plain("0° to the right, seen from the bag side."));
    passages.extend(thickness::drawing(part, map).map(Passage::Figure));
    passages.push(thickness::regions(part, map).done());
    if !map.apart.is_empty() {
        passages.push(Passage::plain(format!(
            "Not on the map, as the job does not say where they lie: plies {}.",
            list(&map.apart)
        )));
    }
}
