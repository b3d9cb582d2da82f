//! Remarks that came up, cautions for the bench, and how numbers are rounded.

use crate::diag::{Diagnostics, Place};
use crate::output::pages::model::{Passage, Remark};
use crate::output::pages::prose::prose;
use crate::plan::{PartUse, Plan};

pub(super) fn remarks(plan: &Plan, of_files: &Diagnostics) -> Vec<Passage> {
    if plan.remarks().is_empty() && of_files.is_empty() {
        return Vec::new();
    }
    let remarks = plan.remarks().iter().chain(of_files.iter()).map(|remark| Remark {
        severity: remark.severity,
        message: prose! {
            (&remark.message)
            if let (Some(place) = &remark.place) { " " Aside { "(" (place_in_words(place)) ")" } }
        },
        help: remark.help.clone(),
    });
    vec![
        Passage::section("Remarks", "remarks", "Remarks"),
        Passage::Remarks(remarks.collect()),
    ]
}

fn place_in_words(place: &Place) -> String {
    match place {
        Place::File(file) => file.clone(),
        Place::Text { source, span } => {
            let before = source.text.bytes().take(span.start);
            let line = before.filter(|&b| b == b'\n').count() + 1;
            format!("{}, line {line}", source.name)
        }
        Place::Line { file, line } => format!("{file}, line {line}"),
        Place::Entity {
            file,
            entity,
            at_mm: None,
        } => format!("{file}, {entity}"),
        Place::Entity {
            file,
            entity,
            at_mm: Some((x, y)),
        } => format!("{file}, {entity}, at {x:.1}, {y:.1} mm"),
    }
}

/// What can hurt at the bench. Respirator, goggles, sleeves and eyewash: US Army TM 1-1500-204-23-11, p. 32.
/// The rest is common practice, no source; the makers' data sheets go before it.
const HAZARDS: [(&str, &str); 6] = [
    (
        "Dust",
        "Cutting, trimming and sanding throw up fibres and dust that harm lungs, eyes and skin. \
         Respirator with a filter for 0.3 µm (HEPA; P100 or P3), goggles, gloves. Take dust up wet or \
         with a vacuum cleaner that has such a filter, never blow it away.",
    ),
    (
        "Resin on skin and in eyes",
        "Resin and hardener can make you allergic for life. Nitrile gloves, taped sleeves, splash \
         goggles, fresh air; eyewash within 30 m (100 ft). Change gloves that got wet; wash with soap and \
         water, never with solvent.",
    ),
    (
        "Heat in the mixing pot",
        "Mixed resin in a deep pot heats itself and can smoke and burn. Mix small batches, spread \
         them at once or pour them out flat; take a hot pot outside, onto something that does not burn.",
    ),
    (
        "Vapour",
        "Solvent, alcohol and PVA give off vapour that burns: lids on, fresh air, no flame, no spark.",
    ),
    (
        "Blades",
        "Cut away from hands and body; change a dull blade; cover it when you put it down.",
    ),
    (
        "Structural parts",
        "Data sheets, local code and licensed practice come first. This plan is arithmetic \
         on the numbers it was given; it does not say that a part is strong enough.",
    ),
];

/// Where cloth is carbon, or may be.
const CARBON: &str = "Its dust conducts: keep it out of sockets, chargers and machines. Metal that touches it corrodes: put a \
     ply of glass between.";

pub(super) fn cautions(plan: &Plan) -> Vec<Passage> {
    let carbon = plan.parts().iter().map(PartUse::is_carbon);
    let carbon = carbon.reduce(|a, b| match (a, b) {
        (Some(true), _) | (_, Some(true)) => Some(true),
        (Some(false), Some(false)) => Some(false),
        _ => None,
    });
    let carbon = match carbon.flatten() {
        Some(true) => Some("Carbon"),
        Some(false) => None,
        None => Some("If the cloth is carbon"),
    };
    let carbon = carbon.map(|term| (term, CARBON));
    let hazards = HAZARDS.into_iter().chain(carbon);
    let terms = hazards
        .map(|(term, said)| (term.into(), said.into()))
        .collect();
    vec![
        Passage::section("Before you start", "cautions", "Cautions"),
        Passage::Terms {
            is_caution: true,
            terms,
        },
    ]
}

pub(super) fn rounding() -> Vec<Passage> {
    vec![
        Passage::section("How numbers are rounded", "rounding", "Rounding"),
        Passage::plain(prose! {
            "Numbers are rounded only as they are printed, so sums can differ in the last digit: lengths along "
            "the roll to 0.01 m and 0.01 yd, widths to 0.1 mm and 0.01 in, cloth areas to 0.001 m² and 0.01 yd², "
            "areas of pieces to 1 cm² and 1 in² (below 100 cm² to a tenth, from 1 m² on to 0.01 m² and 0.1 ft²), "
            "weights to 1 g and 0.01 oz (below 10 g to 0.1 g, from 10 kg on to 0.1 kg), resin to what its scale "
            "shows, angles to 0.01°, shares to 0.1 %, thicknesses to 0.01 mm and 0.0001 in, moduli to 0.1 GPa. "
            "Lengths to buy are rounded up to how the cloth is sold. "
            Code("plan.json") " holds coordinates to 0.0001 mm."
        }),
    ]
}
