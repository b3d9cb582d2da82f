//! Remarks that came up, cautions for the bench, and how numbers are rounded.

use crate::diag::Place;
use crate::output::pages::model::{Passage, Remark};
use crate::output::pages::prose::prose;
use crate::plan::Plan;

pub(super) fn remarks(plan: &Plan) -> Vec<Passage> {
    if plan.remarks().is_empty() {
        return Vec::new();
    }
    let remarks = plan.remarks().iter().map(|remark| Remark {
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

/// What can hurt at the bench. Common practice, no source; the makers' data sheets go before it.
const HAZARDS: [(&str, &str); 5] = [
    (
        "Carbon dust and glass fibre",
        "Cutting, trimming and sanding set fibres and dust free that harm lungs, eyes and \
         skin. Wear a fitted particle respirator (P2, N95 or better), eye protection and \
         gloves; take dust up with a filtered vacuum or wet, never with compressed air. \
         Carbon dust conducts: keep it out of sockets, chargers and machines.",
    ),
    (
        "Epoxy on the skin",
        "Resin and hardener can make you allergic for life. Wear nitrile gloves and sleeves, \
         change gloves that got wet, wash with soap and water, never with solvent.",
    ),
    (
        "Heat in the mixing pot",
        "Mixed resin left in a deep pot heats itself and can smoke and burn. Mix small \
         batches, spread them at once or pour them out flat, and put a hot pot outside, on \
         something that does not burn.",
    ),
    (
        "Blades",
        "Cut away from hands and body, change a dull blade, cover it when you put it down.",
    ),
    (
        "Structural parts",
        "Data sheets, local code and licensed practice come first. This plan is arithmetic \
         on the numbers it was given; it does not say that a part is strong enough.",
    ),
];

pub(super) fn cautions() -> Vec<Passage> {
    let terms = HAZARDS
        .map(|(term, said)| (term.into(), said.into()))
        .into();
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
            "Everything is computed unrounded and rounded only where it is written here, so sums can "
            "differ in the last digit: running lengths to 0.01 m and 0.01 yd, widths to 0.1 mm and "
            "0.01 in, cloth areas to 0.001 m² and 0.01 yd², areas of pieces to 0.1 cm² and 0.1 in², "
            "masses to 1 g and 0.01 oz (below 10 g to 0.1 g and 0.001 oz), angles to 0.01°, shares "
            "to 0.1 %, thicknesses to 0.01 mm and 0.0001 in, moduli to 0.1 GPa. Lengths to buy are rounded up to how the cloth is sold. "
            Code("plan.json") " holds coordinates to 0.0001 mm."
        }),
    ]
}
