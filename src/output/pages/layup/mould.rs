//! How the plies of a part go on its mould.

use crate::diag::counted;
use crate::drape::{Drape, Fibres, Smoothing};
use crate::mould::place_in_words;
use crate::output::drawing::mould;
use crate::output::pages::by_place::by_place;
use crate::output::pages::model::{Group, Passage};
use crate::output::pages::prose::{Prose, prose};
use crate::plan::PartUse;
use crate::units::Length;

/// Shear (degrees) that a hand does not feel.
const NEXT_TO_NONE_DEG: f64 = 1.0;

/// Lips that differ by less than this (mm) are not told of.
const NO_EASE_MM: f64 = 0.5;

pub(super) fn section(part: &PartUse, passages: &mut Vec<Passage>) {
    let drapes = part.drapes();
    let Some(first) = drapes.first() else {
        return;
    };
    passages.push(Passage::heading("On the mould"));
    passages.push(Passage::plain(
        "The side that the cloth lies on; what of the mould turns its back to you is left out. Dot: the start. Dashed: \
         0° there. Thick: along the first warp yarn (or fibre). Less thick: across it there.",
    ));
    for drape in &drapes {
        let figures = mould::figures(drape, part.lock(drape)).into_iter();
        let figures = figures.map(Passage::Figure).collect();
        let name = prose! { "Cloth at " (drape.name().to_owned()) };
        passages.push(Passage::Subheading(name));
        passages.push(Passage::Group(Group::Plans, figures));
    }
    let start = place(first.start());
    let mut steps = vec![
        prose! { "Mark the start on the mould at " (start) " in the axes of its file, and the 0° line through it." },
        prose! {
            "Each ply: lay the cross on it on the start and its arrow at the ply's angle to the 0° line."
        },
    ];
    let mut kinds: Vec<Fibres> = Vec::new();
    for drape in &drapes {
        if !kinds.contains(&drape.fibres()) {
            kinds.push(drape.fibres());
        }
    }
    for &kind in &kinds {
        let which = if kinds.len() > 1 {
            kind_of_cloth(kind)
        } else {
            ""
        };
        steps.push(prose! { (which) (how_to_lay(kind, first.smoothing())) });
    }
    let woven = drapes
        .iter()
        .filter(|drape| drape.fibres() == Fibres::Crossed);
    steps.extend(woven.filter_map(|drape| order_of_fields(drape)));
    let sheared = drapes
        .iter()
        .filter(|drape| drape.shear().degrees >= NEXT_TO_NONE_DEG);
    steps.extend(sheared.map(|drape| told(drape)));
    for drape in drapes.iter().filter(|drape| !drape.darts().is_empty()) {
        let n = counted(drape.darts().len(), "dart", "darts");
        steps.push(prose! {
            "At " (drape.name().to_owned()) " the cloth has " (n) ": press each lip down from its tip outwards until both lie edge to edge."
        });
        let eased = drape.darts().iter().map(|dart| dart.eased().abs());
        let most = eased.fold(0.0, f64::max);
        if most > NO_EASE_MM {
            let most = Length::mm(most).in_mm_and_inches();
            steps.push(prose! {
                "One lip is up to " (most) " longer flat than the other: hold both ends and ease it in along the whole lip."
            });
        }
    }
    let relieved = drapes.iter().filter(|drape| !drape.reliefs().is_empty());
    steps.extend(relieved.flat_map(|drape| let_in(part, drape)));
    passages.push(Passage::Steps(steps));
    let mut said: Vec<&str> = Vec::new();
    for drape in &drapes {
        let own = model(drape.fibres());
        if !said.contains(&own) {
            said.push(own);
        }
    }
    said.push("Real cloth slips and resists: try the first ply with a cheap one.");
    passages.push(Passage::plain(said.join(" ")));
    passages.push(by_place(part));
}

/// How gussets are let in where cuts open.
fn let_in(part: &PartUse, drape: &Drape) -> Vec<Prose> {
    let n = drape.reliefs().len();
    let lap = Length::mm(drape.reliefs()[0].gusset.lap).in_mm_and_inches();
    let cuts = counted(n, "cut that opens", "cuts that open");
    let name = || drape.name().to_owned();
    let first = prose! {
        "At " (name()) " the cloth has " (cuts) " on the mould. Lay the cloth on both sides of each as the mould has it, then the gusset over it: its cross on the tip, its notches where the lips leave the part; it laps by " (lap) "."
    };
    let plies = part.plies.iter();
    let plies = plies.filter(|ply| ply.drape().is_some_and(|own| own.name() == drape.name()));
    let of_plies = plies.flat_map(|ply| ply.pieces());
    let gussets = of_plies.filter_map(|piece| Some((piece.name(), piece.relief()?)));
    let told = gussets.map(|(id, relief)| {
        let opens = Length::mm(relief.gusset.opens).in_mm_and_inches();
        let [tip, mouth] = [relief.cut.tip, relief.cut.mouth].map(place);
        prose! {
            (id) ": over the cut from " (tip) " to " (mouth) ", which opens by " (opens) " at the edge."
        }
    });
    std::iter::once(first).chain(told).collect()
}

const fn kind_of_cloth(fibres: Fibres) -> &'static str {
    match fibres {
        Fibres::Crossed => "Woven and stitched: ",
        Fibres::Parallel => "Unidirectional: ",
        Fibres::Loose => "Mat: ",
    }
}

/// How such a cloth goes down from its start.
const fn how_to_lay(fibres: Fibres, smoothing: Smoothing) -> &'static str {
    match (fibres, smoothing) {
        (Fibres::Crossed, Smoothing::Straight) => {
            "Press the first warp and weft yarns down along the notches, outwards from the start, and keep both straight on \
             the mould; then smooth the four fields between them, from the start to the edge."
        }
        (Fibres::Crossed, Smoothing::Evenly) => {
            "Press the first warp and weft yarns down along the notches, outwards from the start; then smooth the four fields \
             between them, from the start to the edge, and let the first yarns bend so that the cloth is pushed out of square \
             evenly."
        }
        (Fibres::Parallel, _) => {
            "Press the fibre through the start down along the notches, both ways, straight on the mould. Then press fibre \
             after fibre down beside it, first on one side, then on the other: each slips along the one before and stays \
             beside it."
        }
        (Fibres::Loose, _) => {
            "Press it down at the start and smooth it outwards all round, a little further each time; pull it thin nowhere, \
             and tear it rather than fold it."
        }
    }
}

/// In which order its four fields are smoothed: what is pushed out of square least goes first, so that what is left over
/// goes to where it must shear anyway. Common practice, no source. `None` where all are alike to a hand.
fn order_of_fields(drape: &Drape) -> Option<Prose> {
    /// Fields that differ by less than this (degrees) are alike.
    const ALIKE_DEG: f64 = 2.0;
    let mut fields = drape.fields();
    fields.sort_by(|a, b| a.1.total_cmp(&b.1));
    let told = fields
        .iter()
        .map(|(field, shear)| format!("{field} ({shear:.0}°)"));
    let told: Vec<String> = told.collect();
    (fields.last()?.1 - fields.first()?.1 > ALIKE_DEG).then(|| {
        prose! {
            "At " (drape.name().to_owned()) " smooth the fields in this order, seen along the arrow from the start: " (told.join(", ")) "."
        }
    })
}

/// For what it is computed.
const fn model(fibres: Fibres) -> &'static str {
    match fibres {
        Fibres::Crossed => {
            "Computed for a cloth whose yarns keep their length and turn where they cross."
        }
        Fibres::Parallel => {
            "Computed for fibres that keep their length and their distance and slip along each other."
        }
        Fibres::Loose => "Computed for a mat that stretches and shears as little as it can.",
    }
}

fn told(drape: &Drape) -> Prose {
    let shear = drape.shear();
    let (degrees, at) = (format!("{:.0}°", shear.degrees), place(shear.at));
    prose! {
        "At " (drape.name().to_owned()) " the cloth " (drape.fibres().word()) " most at " (at) ", by " (degrees) ". Watch for wrinkles there."
    }
}

fn place(at: [f64; 3]) -> String {
    place_in_words(at, 0)
}
