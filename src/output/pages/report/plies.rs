//! The laminate schedule of every part, from the mould up.

use crate::job::JointKind;
use crate::output::notes::Note;
use crate::output::pages::charts::swatch::swatch;
use crate::output::pages::model::{Group, Passage};
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{
    angle, angle_and_warp, drawn_angle, list, mass, piece_area, quantity, sets, what_is_drawn,
};
use crate::plan::{PartUse, Plan, PlyUse};
use crate::units::{Area, Length, Mass};

pub(super) fn section(plan: &Plan) -> Vec<Passage> {
    let mut passages = vec![
        Passage::section("What to lay up", "plies", "Lay up"),
        Passage::lead(
            "Ply 1 lies against the mould. Angles are counter-clockwise from the part's 0° \
             direction, seen from the bag side, the one away from the mould. In the round pictures 0° points right; lines are \
             fibres, the heavy ones run along the warp.",
        ),
    ];
    for part in plan.parts() {
        passages.push(part_table(part));
        passages.extend(super::mould::on_mould(part));
    }
    if plan
        .parts()
        .iter()
        .flat_map(|part| &part.plies)
        .any(|ply| ply.joint().is_some())
    {
        passages.push(splice_note());
    }
    passages
}

fn part_table(part: &PartUse) -> Passage {
    let name = part.name();
    let net: Area = part.plies.iter().map(|p| p.net_area()).sum();
    let cut: Area = part.plies.iter().map(|p| p.cut_area()).sum();
    let total = part
        .plies
        .iter()
        .fold(Mass::ZERO, |m, p| m + p.cloth_mass());
    let table = TableOf::new(format!("Plies of {name}"), part.plies.iter())
        .caption(format!("Plies of {name}, one set, from the mould up"))
        .place("Ply", |ply| ply.n())
        .words("Angle", |ply| {
            prose! {
                Picture(
                    swatch(ply.weave(), ply.angle()),
                    &format!("{}{}", angle_and_warp(ply.weave(), ply.angle()), drawn_angle(ply))
                )
            }
        })
        .words(
            "Cloth",
            |ply| prose! { (&ply.cloth().name) Small { (quantity(ply.areal_weight())) } },
        )
        .words("Watch for", |ply| marks(ply))
        .number("Finished area", |ply| piece_area(ply.net_area()))
        .number("Cut area", |ply| piece_area(ply.cut_area()))
        .number("Dry mass in the part", |ply| mass(ply.cloth_mass()))
        .foot(
            "All plies, one set",
            [piece_area(net), piece_area(cut), mass(total)],
        );
    let title = prose! { (name) " " Small { (sets(part.sets)) } };
    let mut passages = vec![Passage::Subheading(title)];
    passages.extend(what_is_drawn(part).map(Passage::plain));
    passages.push(table.done());
    Passage::Group(Group::Kept, passages)
}

fn marks(ply: &PlyUse) -> Prose {
    let notes = Note::of_ply(ply);
    let is = |note: Note| notes.contains(&note);
    let seen = Note::Seen.word();
    let seen = (ply.line()).map_or_else(
        || seen.to_owned(),
        |line| format!("{seen}, line at {}", angle(line)),
    );
    prose! {
        if (is(Note::Seen)) { Mark { (seen) } }
        if (ply.step() != Length::ZERO) { Mark { (smaller(ply.step())) } }
        if let (Some((kind, lap)) = ply.joint()) {
            Mark { (Note::Spliced.word()) ": " (list(ply.letters())) }
            Mark { (joint(kind, lap)) }
        }
        if (is(Note::Bias)) { Mark { Link("#bias", Note::Bias.word()) } }
    }
}

/// `lap 25 mm (0.98 in)`.
fn joint(kind: JointKind, lap: Length) -> Prose {
    match kind {
        JointKind::Lap => Prose::quantity(format!("lap {}", lap.in_mm_and_inches())),
        JointKind::Butt => "butt joint".into(),
    }
}

/// `4 mm (0.16 in) smaller all round`.
fn smaller(step: Length) -> Prose {
    let (size, word) = if step > Length::ZERO {
        (step, "larger")
    } else {
        (-step, "smaller")
    };
    prose! { (Prose::quantity(size.in_mm_and_inches())) " " (word) " all round" }
}

/// Common practice, no source.
fn splice_note() -> Passage {
    Passage::note(prose! {
        Strong { "Spliced plies. " }
        "Lay the pieces in the order of their letters. Lap: lay A and wet it out to its edge, then lay B over it up "
        "to the line on A; the line on B shows where A ends below. Butt joint: the edges meet, a gap of 2 mm (0.08 in) at most (MIL-HDBK-17-3F, rule A-32) and no "
        "overlap. A lap counts once in the finished area, twice in the weight."
    })
}
