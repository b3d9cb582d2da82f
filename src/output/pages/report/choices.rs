//! The rolls that a cloth is offered on side by side, and what a set costs by how many are made.

use maud::{Markup, html};

use super::words::{cloth_area, cost, currency, money, price, running, width};
use crate::output::number::number;
use crate::plan::{Alternative, ClothUse, Plan, SetCost};
use crate::units::Area;

pub(super) fn offers(plan: &Plan) -> Markup {
    html! {
        @for used in plan.cloths().iter().filter(|used| !used.alternatives.is_empty()) {
            (offers_of(used))
        }
    }
}

fn offers_of(used: &ClothUse) -> Markup {
    let name = &used.cloth.name;
    html! {
        div .scroll tabindex="0" role="region" aria-label={ "Rolls on offer of " (name) } {
            table {
                caption { (name) ": rolls on offer, from a short search of each" }
                thead { tr {
                    th scope="col" { "Roll width" }
                    th scope="col" .n { "Price" }
                    th scope="col" .n { "Used" }
                    th scope="col" .n { "To buy" }
                    th scope="col" .n { "Cost" }
                    th scope="col" { "Choice" }
                } }
                tbody { @for offer in &used.alternatives { (offer_row(used, offer)) } }
            }
        }
    }
}

fn offer_row(used: &ClothUse, offer: &Alternative) -> Markup {
    html! {
        tr {
            th scope="row" { (width(offer.roll_width)) }
            td .n { @if let Some(p) = &offer.price { (price(p)) } }
            @if let Some(bought) = &offer.purchase {
                td .n { (running(bought.used)) }
                td .n { (running(bought.length)) }
                td .n { (cost(bought.cost, &used.cloth)) }
                td { @if offer.is_chosen { strong { "taken" } } }
            } @else {
                td colspan="4" { "a piece does not fit" }
            }
        }
    }
}

pub(super) fn cost_per_set(plan: &Plan) -> Markup {
    let priced = plan.cost_per_set().iter().all(|s| s.cost.is_some());
    let currency = plan
        .cloths()
        .first()
        .map_or("", |used| currency(&used.cloth));
    html! {
        h3 { "What a set costs" }
        p .lead {
            "By how many sets are cut at once, from bought cloth alone and in a short search for each. "
            "Lengths are rounded up to how the cloth is sold, so the curve has steps."
        }
        @if priced && plan.cost_per_set().len() > 1 { (chart(plan.cost_per_set(), currency)) }
        div .scroll tabindex="0" role="region" aria-label="Cost by number of sets" {
            table {
                caption { "Cost by number of sets" }
                thead { tr {
                    th scope="col" .n { "Sets" }
                    th scope="col" .n { "To buy, all cloths" }
                    th scope="col" .n { "For one set" }
                    @if priced {
                        th scope="col" .n { "Cost" }
                        th scope="col" .n { "Cost of one set" }
                    }
                } }
                tbody { @for set in plan.cost_per_set() { (set_row(set, currency, priced)) } }
            }
        }
    }
}

fn set_row(set: &SetCost, currency: &str, priced: bool) -> Markup {
    html! {
        tr {
            th scope="row" .n { (set.sets) @if set.is_this_job { small { "this job" } } }
            td .n { (cloth_area(set.area)) }
            td .n { (cloth_area(Area::mm2(set.area.to_mm2() / f64::from(set.sets)))) }
            @if priced {
                td .n { @if let Some(c) = set.cost { (money(c, currency)) } }
                td .n { @if let Some(c) = set.cost_of_one() { (money(c, currency)) } }
            }
        }
    }
}

/// Size of the chart, user units.
const CHART: (f64, f64) = (640.0, 220.0);
/// Room for the axes: left, top, right, bottom.
const MARGIN: [f64; 4] = [70.0, 14.0, 20.0, 40.0];

fn chart(curve: &[SetCost], currency: &str) -> Markup {
    let costs: Vec<(f64, f64)> = (curve.iter())
        .filter_map(|s| Some((f64::from(s.sets), s.cost_of_one()?.to_decimal())))
        .collect();
    let most = costs.iter().map(|c| c.1).fold(0.0, f64::max).max(0.01);
    let last = costs.last().map_or(1.0, |c| c.0).max(2.0);
    let [left, top, right, bottom] = MARGIN;
    let (wide, high) = (CHART.0 - left - right, CHART.1 - top - bottom);
    let x = |sets: f64| left + (sets - 1.0) / (last - 1.0) * wide;
    let y = |cost: f64| top + high * (1.0 - cost / most);
    let line: Vec<String> = (costs.iter())
        .map(|&(sets, cost)| format!("{},{}", number(x(sets), 1), number(y(cost), 1)))
        .collect();
    html! {
        svg .curve role="img" viewBox={ "0 0 " (CHART.0) " " (CHART.1) }
            aria-label={ "Cost of one set against the number of sets; the table below has the numbers" } {
            @for share in [0.0, 0.5, 1.0] {
                path .grid d=(format!("M{},{}H{}", left, number(y(share * most), 1), left + wide)) {}
                text .end x=(left - 8.0) y=(number(y(share * most) + 4.0, 1)) {
                    (number(share * most, 0)) " " (currency)
                }
            }
            polyline .line points=(line.join(" ")) {}
            @for (set, &(sets, cost)) in curve.iter().zip(&costs) {
                circle .(if set.is_this_job { "now" } else { "dot" })
                    cx=(number(x(sets), 1)) cy=(number(y(cost), 1)) r="4" {}
                @if is_labelled(set.sets, last) {
                    text .middle x=(number(x(sets), 1)) y=(CHART.1 - 22.0) { (set.sets) }
                }
            }
            text .middle x=(left + wide / 2.0) y=(CHART.1 - 5.0) { "number of sets" }
        }
        @if curve.iter().any(|set| set.is_this_job) { p .lead { "The filled dot is this job." } }
    }
}

/// Whether a number of sets has room below the axis.
fn is_labelled(sets: u32, last: f64) -> bool {
    let room = last / 20.0;
    f64::from(sets) >= 3.0 * room || sets == 1
}
