//! What to buy.

use maud::{Markup, html};

use super::choices;
use super::words::{both, cost, currency, money, percent, price, running, width};
use crate::plan::{ClothUse, Plan};
use crate::units::{Area, Length, Money};

pub(super) fn section(plan: &Plan) -> Markup {
    html! {
        section #buy aria-labelledby="buy-title" {
            h2 #buy-title { "What to buy" }
            (purchase(plan))
            (choices::offers(plan))
            @if !plan.cost_per_set().is_empty() { (choices::cost_per_set(plan)) }
            p .lead {
                "Utilisation is the area inside the cut lines over roll width × used length."
            }
        }
    }
}

fn purchase(plan: &Plan) -> Markup {
    html! {
        div .scroll tabindex="0" role="region" aria-label="Purchase list" {
            table {
                caption { "Purchase list" }
                thead { tr {
                    th scope="col" { "Cloth" }
                    th scope="col" .n { "To buy" }
                    th scope="col" .n { "Cost" }
                    th scope="col" .n { "Used" }
                    th scope="col" .n { "Utilisation" }
                    th scope="col" .n { "Pieces" }
                } }
                tbody { @for used in plan.cloths() { (purchase_row(used)) } }
                @let totals = totals(plan);
                @if !totals.is_empty() && plan.cloths().len() > 1 {
                    tfoot {
                        @for (currency, total) in totals { tr {
                            th scope="row" colspan="2" { "Together" }
                            td .n { (money(total, currency)) }
                            td colspan="3" {}
                        } }
                    }
                }
            }
        }
    }
}

fn purchase_row(used: &ClothUse) -> Markup {
    let cloth = &used.cloth;
    html! {
        tr {
            th scope="row" {
                (cloth.name)
                small { (cloth.weave.word()) ", " (both(&cloth.areal_weight.to_string())) }
                small { (width(cloth.roll_width)) " wide" }
            }
            td .n .key {
                (running(used.purchase.length))
                @if used.stock_area > Area::ZERO { small { "the rest is from stock on hand" } }
                @if cloth.sold_by > Length::ZERO { small { "sold by " (running(cloth.sold_by)) } }
            }
            td .n {
                (cost(used.purchase.cost, cloth))
                @if let Some(p) = &cloth.price { small .q { "at " (price(p)) } }
            }
            td .n { (running(used.purchase.used)) }
            td .n { (percent(used.utilisation)) }
            td .n { (used.n_pieces) }
        }
    }
}

/// Sums of the known costs, one per currency, in the order in which the currencies come up.
fn totals(plan: &Plan) -> Vec<(&str, Money)> {
    let mut totals: Vec<(&str, Money)> = Vec::new();
    for used in plan.cloths() {
        let Some(cost) = used.purchase.cost else {
            continue;
        };
        let currency = currency(&used.cloth);
        match totals.iter_mut().find(|(c, _)| *c == currency) {
            Some((_, total)) => *total = *total + cost,
            None => totals.push((currency, cost)),
        }
    }
    totals
}
