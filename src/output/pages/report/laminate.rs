//! What cures: thickness, mass and fibre share of every part, and how stiff its laminate is.

use maud::{Markup, html};

use super::polar;
use super::words::{UNKNOWN, both, mass, percent};
use crate::laminate::{FractionFrom, InPlane};
use crate::plan::{Laminate, PartUse, Plan, PlyUse, ThicknessMap};
use crate::units::{Angle, Length, Mass, Modulus};

pub(super) fn section(plan: &Plan) -> Markup {
    let known = |part: &PartUse| part.plies.iter().any(|ply| ply.lamina.is_some());
    html! {
        section #laminate aria-labelledby="laminate-title" {
            h2 #laminate-title { "What it will be" }
            @if plan.parts().iter().any(known) {
                (introduction())
                @for (idx, part) in plan.parts().iter().enumerate() {
                    (part_article(part, plan.work().thickness.get(idx).and_then(Option::as_ref)))
                }
            } @else {
                p .lead {
                    "Thickness, resin and stiffness are not known: the job does not say what the "
                    "fibres are. Add for example " code { "fibre = \"carbon\"" } " to each cloth."
                }
            }
        }
    }
}

/// How the numbers come about; the rules are those of [`crate::laminate`].
fn introduction() -> Markup {
    html! {
        p .note {
            strong { "An estimate for comparing layups, not a design approval. " }
            "It says what a ply at ±45° gains beside what it costs. It knows nothing of strength, voids, "
            "wrinkles, joints or cure, and fibres a few degrees off cost much of the stiffness. Measure "
            "a test panel of your own."
        }
        p .lead {
            "Thickness is cloth mass by area / (fibre density × fibre volume fraction). Stiffness is by "
            "classical lamination theory, in the plane of the part and with its curvature held, x along "
            "the part's 0°. A woven cloth counts as a pair of half plies, warp and weft, without the waves "
            "of its yarns, and so comes out somewhat too stiff; a biaxial counts as two layers."
        }
    }
}

fn part_article(part: &PartUse, map: Option<&ThicknessMap>) -> Markup {
    html! {
        div .keep {
            h3 { (part.name) }
            div .scroll tabindex="0" role="region" aria-label={ "Laminate of " (part.name) } {
                table data-laminate=(part.name) {
                    caption { "Cured plies of " (part.name) ", one set, from the mould up" }
                    thead { tr {
                        th scope="col" .n { "Ply" }
                        th scope="col" { "Cloth" }
                        th scope="col" .n { "Thickness" }
                        th scope="col" .n { "Fibre by volume" }
                        th scope="col" .n { "Fibre by weight" }
                        th scope="col" .n { "Cloth" }
                        th scope="col" .n { "Resin" }
                    } }
                    tbody { @for ply in &part.plies { (ply_row(ply)) } }
                    tfoot { tr {
                        th scope="row" colspan="2" { "All plies, one set" }
                        td .n { (part.laminate.thickness.map_or_else(unknown, thickness)) }
                        td {} td .n { (weight_share(part)) }
                        td .n { (mass(part.cloth_mass())) }
                        td .n { (part.resin_mass().map_or_else(unknown, mass)) }
                    } }
                }
            }
            p .facts { (mass_in_words(part)) }
            @if let Some(map) = map { (super::thickness::figure(part, map)) }
            (laminates(part))
        }
    }
}

fn unknown() -> Markup {
    html! { (UNKNOWN) }
}

fn thickness(length: Length) -> Markup {
    both(&format!(
        "{:.2} mm ({:.4} in)",
        length.to_mm(),
        length.to_mm() / 25.4
    ))
}

fn ply_row(ply: &PlyUse) -> Markup {
    let lamina = ply.lamina.as_ref();
    html! {
        tr {
            th scope="row" .n { (ply.n) }
            td { (ply.cloth) @if let Some(l) = lamina { small { (from(l.fraction_from)) } } }
            td .n { (lamina.map_or_else(unknown, |l| thickness(l.thickness))) }
            td .n { (lamina.map_or_else(|| UNKNOWN.to_owned(), |l| percent(l.fraction.get()))) }
            td .n {
                (lamina.map_or_else(|| UNKNOWN.to_owned(), |l| {
                    percent(l.constituents.by_weight(l.fraction).get())
                }))
            }
            td .n { (mass(ply.cloth_mass)) }
            td .n { (ply.resin_mass().map_or_else(unknown, mass)) }
        }
    }
}

/// Where a fibre fraction comes from.
fn from(source: FractionFrom) -> String {
    match source {
        FractionFrom::Process(process) => {
            format!("fibre share usual for {} (common practice)", process.word())
        }
        FractionFrom::Volume => "fibre share by volume as stated".to_owned(),
        FractionFrom::Weight => "fibre share by weight as stated".to_owned(),
        FractionFrom::Thickness => "fibre share from the measured thickness".to_owned(),
    }
}

fn total_mass(part: &PartUse) -> Option<Mass> {
    Some(part.cloth_mass() + part.resin_mass()?)
}

fn weight_share(part: &PartUse) -> String {
    total_mass(part).map_or_else(
        || UNKNOWN.to_owned(),
        |total| percent(part.cloth_mass().to_grams() / total.to_grams()),
    )
}

fn mass_in_words(part: &PartUse) -> Markup {
    html! {
        @if let Some(total) = total_mass(part) {
            "Cured and trimmed, one set weighs about " (mass(total)) ". "
        } @else {
            "The mass is not known: not every cloth says what its fibre is. "
        }
    }
}

/// The laminates of a part side by side: all plies, and those that cover the whole part.
fn laminates(part: &PartUse) -> Markup {
    let all_title = if part.full_plies.is_some() {
        "All plies one upon another"
    } else {
        "The whole part"
    };
    html! {
        div .laminates {
            @if let Some(full) = &part.full_plies {
                (laminate(part, "Over the whole part", full))
            }
            (laminate(part, all_title, &part.laminate))
        }
    }
}

fn laminate(part: &PartUse, title: &str, laminate: &Laminate) -> Markup {
    html! {
        figure .laminate {
            figcaption {
                strong { (title) } ": " (plies_in_words(&laminate.plies))
                @if let Some(t) = laminate.thickness { ", " (thickness(t)) } ". "
                (flatness(laminate))
            }
            @if let Some(sheet) = &laminate.in_plane {
                (polar::plot(sheet, &format!("Young's modulus of {} by direction", part.name)))
                (constants(sheet))
            } @else {
                p .facts { "Stiffness is not known: a cloth without " code { "fibre" } " or " code { "stiffness" } "." }
            }
        }
    }
}

fn constants(sheet: &InPlane) -> Markup {
    let rows: [(&str, Modulus); 4] = [
        ("Ex, along 0°", sheet.ex),
        ("Ey, along 90°", sheet.ey),
        ("E along 45°", sheet.along(Angle::degrees(45.0))),
        ("Gxy, shear", sheet.gxy),
    ];
    html! {
        table .constants {
            tbody {
                @for (name, modulus) in rows {
                    tr { th scope="row" { (name) } td .n { (both(&modulus.in_gpa_and_msi())) } }
                }
                tr { th scope="row" { "νxy" } td .n { (format!("{:.3}", sheet.nu_xy)) } }
            }
        }
    }
}

/// `plies 1, 2 and 6`.
fn plies_in_words(plies: &[u32]) -> String {
    let words: Vec<String> = plies.iter().map(u32::to_string).collect();
    match words.as_slice() {
        [] => "no plies".to_owned(),
        [one] => format!("ply {one}"),
        [most @ .., last] => format!("plies {} and {last}", most.join(", ")),
    }
}

/// Symmetric and balanced, or which ply is to blame.
fn flatness(laminate: &Laminate) -> Markup {
    html! {
        @match &laminate.symmetry {
            Ok(()) => { "Symmetric. " }
            Err(found) if found.ply == found.mate => {
                "Not symmetric: ply " (found.ply) " is not its own mirror image. "
            }
            Err(found) => {
                "Not symmetric: ply " (found.ply) " does not mirror ply " (found.mate)
                ", so it can warp as it cures. "
            }
        }
        @match &laminate.balance {
            Ok(()) => { "Balanced." }
            Err(found) => {
                "Not balanced: ply " (found.ply) " at " (super::words::angle(found.direction))
                " has no opposite, so it shears when it is pulled."
            }
        }
    }
}
