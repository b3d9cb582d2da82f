//! Where the cloth goes: into the parts, back on the shelf, or into one of four kinds of waste.

use maud::{Markup, html};

use super::words::{cloth_area, cost, mass, percent};
use crate::plan::{ClothUse, Plan};
use crate::units::{Area, Money};

pub(super) fn section(plan: &Plan) -> Markup {
    html! {
        section #waste aria-labelledby="waste-title" {
            h2 #waste-title { "Where the cloth goes" }
            p .lead { "Shares are of the cloth that is bought and of the stock that is cut." }
            (key())
            @for used in plan.cloths() { (destination(used)) }
        }
    }
}

/// A share of the bought cloth.
struct Share {
    /// Style class of its fill.
    class: &'static str,
    name: &'static str,
    area: Area,
}

fn shares(used: &ClothUse) -> [Share; 6] {
    let share = |class, name, area| Share { class, name, area };
    [
        share("net", "In the parts (net)", used.net_area),
        share("trim", "Trim (cut − net)", used.waste.trim),
        share("between", "Between pieces", used.waste.between),
        share("selvedge", "Selvedge strips", used.waste.selvedge),
        share("end", "End, too short to keep", used.waste.end),
        share("kept", "Left as stock", used.kept_area),
    ]
}

fn destination(used: &ClothUse) -> Markup {
    let cloth = &used.cloth;
    let waste = used.waste.total();
    html! {
        div .keep {
            h3 { (cloth.name) }
            (bar(used))
            div .scroll tabindex="0" role="region" aria-label={ "Where " (cloth.name) " goes" } {
                table {
                    caption { (cloth.name) ": cloth by where it goes" }
                    thead { tr {
                        th scope="col" { "Where" }
                        th scope="col" .n { "Area" }
                        th scope="col" .n { "Mass" }
                        th scope="col" .n { "Cost" }
                        th scope="col" .n { "Share" }
                    } }
                    tbody {
                        @for share in shares(used) {
                            (destination_row(used, share.name, share.area))
                        }
                    }
                    tfoot {
                        (destination_row(used, "Waste, all of it", waste))
                        @if used.stock_area > Area::ZERO {
                            (source_row(used, "From stock", used.stock_area, None))
                        }
                        (source_row(used, "Bought", used.bought_area(), used.purchase.cost))
                    }
                }
            }
        }
    }
}

/// What goes somewhere bears its share of the cost.
fn destination_row(used: &ClothUse, name: &str, area: Area) -> Markup {
    source_row(used, name, area, used.cost_of(area))
}

fn source_row(used: &ClothUse, name: &str, area: Area, paid: Option<Money>) -> Markup {
    html! {
        tr {
            th scope="row" { (name) }
            td .n { (cloth_area(area)) }
            td .n { (mass(used.mass_of(area))) }
            td .n { (cost(paid, &used.cloth)) }
            td .n { (percent(fraction(used, area))) }
        }
    }
}

fn fraction(used: &ClothUse, area: Area) -> f64 {
    let all = used.cloth_in().to_mm2();
    if all > 0.0 { area.to_mm2() / all } else { 0.0 }
}

/// Width of the bar's drawing; only ratios matter.
const BAR: f64 = 1000.0;

/// The shares as one bar, left to right as in the table.
fn bar(used: &ClothUse) -> Markup {
    let mut from = 0.0;
    let parts: Vec<(&str, f64, f64)> = shares(used)
        .iter()
        .map(|share| {
            let length = fraction(used, share.area).max(0.0) * BAR;
            let part = (share.class, from, length);
            from += length;
            part
        })
        .collect();
    html! {
        svg .bar viewBox="0 0 1000 28" preserveAspectRatio="none" aria-hidden="true" {
            @for (class, x, length) in parts {
                rect class={ "share " (class) } x=(format!("{x:.1}")) y="0"
                    width=(format!("{length:.1}")) height="28" {}
            }
        }
    }
}

/// What the fills of the bars mean, and the patterns they use.
pub(super) fn key() -> Markup {
    let entries = [
        ("net", "in the parts"),
        ("trim", "trim"),
        ("between", "between pieces"),
        ("selvedge", "selvedge"),
        ("end", "end, too short to keep"),
        ("kept", "left as stock"),
    ];
    html! {
        svg .defs width="0" height="0" aria-hidden="true" {
            defs {
                pattern #fill-trim patternUnits="userSpaceOnUse" width="7" height="7"
                    patternTransform="rotate(45)" {
                    rect .ground width="7" height="7" {}
                    path .ink d="M0,0V7" stroke-width="5" {}
                }
                pattern #fill-between patternUnits="userSpaceOnUse" width="9" height="9" {
                    rect .ground width="9" height="9" {}
                    circle .dot cx="4.5" cy="4.5" r="1.7" {}
                }
                pattern #fill-selvedge patternUnits="userSpaceOnUse" width="5" height="5" {
                    rect .ground width="5" height="5" {}
                    path .ink d="M0,0V5" stroke-width="2" {}
                }
            }
        }
        ul .key aria-label="Fills of the bars" {
            @for (class, name) in entries {
                li {
                    svg .chip viewBox="0 0 28 16" aria-hidden="true" {
                        rect class={ "share " (class) } x="1" y="1" width="26" height="14" {}
                    }
                    (name)
                }
            }
        }
    }
}
