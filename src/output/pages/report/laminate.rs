//! What cures: thickness, mass and fibre share of every part, and how stiff its laminate is.

use crate::laminate::{Asymmetry, FractionFrom, InPlane};
use crate::output::pages::charts::polar;
use crate::output::pages::model::{Group, Passage};
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{angle, known, list, mass, percent, piece_area, thickness};
use crate::plan::{Laminate, PartUse, Plan};
use crate::units::{Angle, Length, Modulus};

pub(super) fn section(plan: &Plan) -> Vec<Passage> {
    let mut passages = vec![Passage::section(
        "Thickness, weight, stiffness",
        "laminate",
        "Laminate",
    )];
    let mut plies = plan.parts().iter().flat_map(|part| &part.plies);
    if plies.any(|ply| ply.lamina().is_some()) {
        passages.extend(introduction());
        passages.extend(plan.parts().iter().map(about_part));
    } else {
        passages.push(Passage::lead(prose! {
            "Thickness, resin and stiffness are not known: the job does not say what the "
            "fibres are. Add for example " Code("fibre = \"carbon\"") " to each cloth."
        }));
    }
    passages
}

/// How the numbers come about; the rules are those of [`crate::laminate`].
fn introduction() -> [Passage; 2] {
    [
        Passage::note(prose! {
            Strong { "An estimate for comparing layups, not a design approval. " }
            "It shows what a ply at ±45° gains beside what it costs. It says nothing of strength, and does not "
            "count voids, wrinkles, joints or a poor cure; fibres a few degrees off lose much of the stiffness. "
            "Make a test panel and measure it."
        }),
        Passage::lead(
            "Thickness is cloth weight / (fibre density × fibre content by volume). Stiffness is by classical \
             lamination theory, in the plane of the part, for a part that cannot bend; x runs along the part's 0°. \
             A woven cloth counts as two half plies, warp and weft, with straight yarns, and so comes out a \
             little too stiff; a biaxial counts as two layers.",
        ),
    ]
}

fn about_part(part: &PartUse) -> Passage {
    let facts = match part.mass() {
        Some(total) => prose! { "Cured and trimmed, one set weighs about " (mass(total)) ". " },
        None => {
            "Its weight is not known: the job does not say what the fibres of every cloth are. "
                .into()
        }
    };
    let mut within = vec![
        Passage::Subheading(part.name().into()),
        cured_plies(part),
        Passage::facts(facts),
    ];
    within.extend((!part.cores.is_empty()).then(|| cores(part)));
    let map = part.thickness.as_ref();
    within.extend(map.and_then(|map| super::thickness::map(part, map)));
    within.push(Passage::Group(Group::Beside, laminates(part)));
    if !part.other_stacks.is_empty() {
        within.push(sets_as_cut(part));
    }
    Passage::Group(Group::Kept, within)
}

fn cured_plies(part: &PartUse) -> Passage {
    let name = part.name();
    let all_resin = part.resin_mass();
    let in_plies = all_resin.map(|resin| resin - part.core_resin());
    let share = in_plies.map(|resin| {
        let cloth = part.cloth_mass().to_grams();
        cloth / (cloth + resin.to_grams())
    });
    let all = [
        known(plies_together(part), thickness),
        Prose::default(),
        known(share, percent),
        mass(part.cloth_mass()),
        known(in_plies, mass),
    ];
    TableOf::new(format!("Laminate of {name}"), &part.plies)
        .caption(format!("Cured plies of {name}, one set, from the mould up"))
        .place("Ply", |ply| ply.n())
        .words("Cloth", |ply| {
            prose! {
                (&ply.cloth().name)
                if (ply.cloth().is_uneven()) { Small { (percent(ply.cloth().warp_share)) " of its fibre in the warp" } }
                if let (Some(l) = ply.lamina()) { Small { (from(l.fraction_from)) } }
            }
        })
        .number("Thickness", |ply| {
            known(ply.lamina(), |l| thickness(l.thickness))
        })
        .number("Fibre by volume", |ply| {
            known(ply.lamina(), |l| percent(l.fraction.get()))
        })
        .number("Fibre by weight", |ply| {
            known(ply.lamina(), |l| {
                percent(l.constituents.by_weight(l.fraction).get())
            })
        })
        .number("Cloth", |ply| mass(ply.cloth_mass()))
        .number("Resin", |ply| known(ply.resin_mass(), mass))
        .foot("All plies, one set", all)
        .done()
}

/// Thickness of all plies together, without cores.
fn plies_together(part: &PartUse) -> Option<Length> {
    let cores = part.cores.iter().map(|of| of.core().thickness);
    let cores = cores.fold(Length::ZERO, |sum, t| sum + t);
    Some(part.stack.laminate.thickness? - cores)
}

fn cores(part: &PartUse) -> Passage {
    let gpa = |modulus: Option<Modulus>| {
        known(modulus, |modulus| Prose::quantity(modulus.in_gpa_and_msi()))
    };
    TableOf::new(format!("Cores of {}", part.name()), &part.cores)
        .caption(
            "Cores and inserts, one set. Without moduli a core counts only as the distance between the plies on its two sides. Shear of the core is not counted: a real sandwich bends more than these figures say",
        )
        .name("Core", |of| prose! { (&of.core().name) Small { "on ply " (of.core().on_ply) } })
        .number("Thickness", |of| thickness(of.core().thickness))
        .number("Area", |of| piece_area(of.area()))
        .number("Mass", |of| mass(of.mass()))
        .number("Resin on its faces", |of| mass(of.resin_mass()))
        .number("E", |of| gpa(of.core().elastic.map(|elastic| elastic.e1)))
        .number("G", |of| gpa(of.core().elastic.map(|elastic| elastic.g12)))
        .done()
}

/// Where a fibre fraction comes from.
fn from(source: FractionFrom) -> String {
    match source {
        FractionFrom::Process(process) => {
            format!("usual fibre content, {} (common practice)", process.word())
        }
        FractionFrom::Volume => "fibre content by volume as the job says".to_owned(),
        FractionFrom::Weight => "fibre content by weight as the job says".to_owned(),
        FractionFrom::Thickness => "fibre content from the measured thickness".to_owned(),
    }
}

/// The laminates of a part side by side: all plies, and those that cover the whole part.
fn laminates(part: &PartUse) -> Vec<Passage> {
    let all = |title| laminate(part, title, &part.stack.laminate);
    match &part.stack.full_plies {
        None => vec![all("The whole part")],
        Some(full) => vec![
            laminate(part, "Over the whole part", full),
            all("All plies, where they all lie one on another"),
        ],
    }
}

/// How the sets differ, where quarter turns exchange the layers of a biaxial in some of them.
fn sets_as_cut(part: &PartUse) -> Passage {
    let stacks = std::iter::once(&part.stack).chain(&part.other_stacks);
    Passage::facts(prose! {
        "The sets are not cut alike; the figures are for " (numbered("set", &part.stack.sets)) ". "
        for (stack in stacks) {
            "In " (numbered("set", &stack.sets)) " the plies lie at "
            (list(stack.angles.iter().copied().map(angle))) ". " (flatness(&stack.laminate)) " "
        }
    })
}

/// `set 1`, `sets 1, 3`.
fn numbered(word: &str, numbers: &[u32]) -> String {
    let many = if numbers.len() == 1 { "" } else { "s" };
    format!("{word}{many} {}", list(numbers))
}

fn laminate(part: &PartUse, title: &str, laminate: &Laminate) -> Passage {
    let caption = prose! {
        Strong { (title) } ": " (plies_in_words(&laminate.plies))
        for (core in laminate.cores.iter().map(|idx| part.cores[*idx].core())) { ", " (&core.name) }
        if let (Some(t) = laminate.thickness) { ", " (thickness(t)) } ". "
        (flatness(laminate))
    };
    let within = match &laminate.in_plane {
        Some(sheet) => {
            let label = format!("Young's modulus of {} by direction", part.name());
            vec![
                Passage::Drawing(polar::plot(sheet, &label)),
                constants(part, sheet),
            ]
        }
        None => vec![Passage::facts(prose! {
            "Stiffness is not known: a cloth has no " Code("fibre") " and no " Code("stiffness") "."
        })],
    };
    Passage::Group(Group::Captioned("laminate", caption), within)
}

fn constants(part: &PartUse, sheet: &InPlane) -> Passage {
    let gpa = |modulus: crate::units::Modulus| Prose::quantity(modulus.in_gpa_and_msi());
    let rows = [
        ("Ex, along 0°", gpa(sheet.ex)),
        ("Ey, along 90°", gpa(sheet.ey)),
        ("E along 45°", gpa(sheet.along(Angle::degrees(45.0)))),
        ("Gxy, shear", gpa(sheet.gxy)),
        ("νxy", crate::units::fixed(sheet.nu_xy, 3).into()),
    ];
    TableOf::new(format!("Stiffness of {}", part.name()), rows)
        .class("constants")
        .name("", |(name, _)| *name)
        .number("", |(_, value)| value.clone())
        .done()
}

/// `plies 1, 2 and 6`.
fn plies_in_words(plies: &[u32]) -> String {
    match plies {
        [] => "no plies".to_owned(),
        [one] => format!("ply {one}"),
        [most @ .., last] => format!("plies {} and {last}", list(most)),
    }
}

/// Symmetric and balanced, or which ply is to blame.
fn flatness(laminate: &Laminate) -> String {
    let symmetric = match &laminate.symmetry {
        Ok(()) => "Symmetric. ".to_owned(),
        Err(Asymmetry {
            ply: Some(ply),
            mate: Some(mate),
        }) if ply == mate => {
            format!(
                "Not symmetric: the middle ply {ply} has unlike layers below and above its middle, so the part can warp as it cures. "
            )
        }
        Err(Asymmetry { ply, mate }) => {
            let named = |n: &Option<u32>| n.map_or("a core".to_owned(), |n| format!("ply {n}"));
            format!(
                "Not symmetric: {} does not mirror {}, so the part can warp as it cures. ",
                named(ply),
                named(mate)
            )
        }
    };
    let balanced = match &laminate.balance {
        Ok(()) => "Balanced.".to_owned(),
        Err(found) => format!(
            "Not balanced: ply {} at {} has no partner at the opposite angle, so the part skews when it is pulled.",
            found.ply,
            angle(found.direction)
        ),
    };
    symmetric + &balanced
}
