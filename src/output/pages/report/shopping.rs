//! What it all costs, and one list of everything to buy.

use maud::{Markup, html};

use super::words::{UNKNOWN, both, money, running};
use super::work_words::grams;
use crate::plan::{Amount, CostBreakdown, Costs, ItemKind, Plan, ShoppingItem};
use crate::units::{Length, Money};

pub(super) fn costs(plan: &Plan, costs: &Costs) -> Markup {
    let set = |n: u32| {
        if n == 1 {
            "1 set".to_owned()
        } else {
            format!("{n} sets")
        }
    };
    html! {
        section #cost aria-labelledby="cost-title" {
            h2 #cost-title { "What it costs" }
            p .lead {
                "Cloth as it is bought, shared out by cut area, so that each part bears its share of the waste; "
                "resin as it is mixed; bag layers as they lie on the roll. Labour is not in it."
            }
            div .scroll tabindex="0" role="region" aria-label="Costs" {
                table {
                    caption { "Material" }
                    thead { tr {
                        th scope="col" { "Part" }
                        th scope="col" .n { "Cloth" }
                        th scope="col" .n { "Resin" }
                        th scope="col" .n { "Bag" }
                        th scope="col" .n { "Mould" }
                        th scope="col" .n { "Together" }
                    } }
                    tbody {
                        @for (part, cost) in plan.parts().iter().zip(&costs.parts) {
                            (row(&format!("{}, one set", part.name), &set(part.sets), cost, &costs.currency))
                        }
                    }
                    tfoot { (row("The order", "", &costs.order, &costs.currency)) }
                }
            }
            p .facts {
                "Of that, cloth that ends up in no part: " (money(costs.cloth_waste, &costs.currency))
                "; resin in trim, peel ply, breather and pots: " (money(costs.resin_waste, &costs.currency)) "."
                @if !costs.unpriced.is_empty() {
                    " Without a price, and not in the sums: " (costs.unpriced.join(", ")) "."
                }
            }
        }
    }
}

fn row(name: &str, sets: &str, cost: &CostBreakdown, currency: &str) -> Markup {
    let cells: [Money; 4] = [cost.cloth, cost.resin, cost.bag, cost.mould];
    html! {
        tr {
            th scope="row" { (name) @if !sets.is_empty() { small { (sets) " in the order" } } }
            @for cell in cells { td .n { (money(cell, currency)) } }
            td .n .key { (money(cost.total(), currency)) }
        }
    }
}

pub(super) fn list(plan: &Plan) -> Markup {
    let items = plan.shopping();
    html! {
        section #shopping aria-labelledby="shopping-title" {
            h2 #shopping-title { "Shopping list" }
            div .scroll tabindex="0" role="region" aria-label="What to get" {
                table .shopping {
                    caption { "Everything for the order, less what is on hand" }
                    thead { tr {
                        th scope="col" { "Got" }
                        th scope="col" { "What" }
                        th scope="col" .n { "Needed" }
                        th scope="col" .n { "On hand" }
                        th scope="col" .n { "To buy" }
                        th scope="col" .n { "Cost" }
                    } }
                    tbody { @for item in &items { (item_row(item)) } }
                    tfoot { @for (currency, total) in totals(&items) { tr {
                        td {}
                        th scope="row" colspan="4" { "Together, as far as prices are known" }
                        td .n { (money(total, currency)) }
                    } } }
                }
            }
            p .facts {
                "Beside it: mixing pots and sticks, a scale that shows 0.1 g, rollers and brushes, nitrile gloves, "
                "a respirator, eye protection, shears, sharp blades with a cover, a vacuum connector, hose and gauge, rags."
            }
        }
    }
}

fn item_row(item: &ShoppingItem) -> Markup {
    let nothing = matches!(item.packs, Some((0, _)));
    html! {
        tr data-item=(item.name) {
            td .tick { "☐" }
            th scope="row" { (item.name) small { (kind(item.kind)) } }
            td .n { (amount(item.needed)) }
            td .n {
                (amount(item.on_hand))
                @if item.kind == ItemKind::Cloth && item.on_hand != Amount::Length(Length::ZERO) {
                    small { "cut from stock" }
                }
            }
            td .n .key {
                @match item.packs {
                    Some((0, _)) => { "nothing" }
                    Some((n, pack)) => { (n) " × " (amount(pack)) }
                    None => { (amount(item.buy)) }
                }
            }
            td .n {
                @if nothing { (UNKNOWN) }
                @else { (item.cost.map_or_else(|| UNKNOWN.to_owned(), |m| money(m, &item.currency))) }
            }
        }
    }
}

const fn kind(kind: ItemKind) -> &'static str {
    match kind {
        ItemKind::Cloth => "cloth",
        ItemKind::Resin => "resin and hardener together",
        ItemKind::BagLayer => "bag",
        ItemKind::SealantTape => "bag",
        ItemKind::Wax | ItemKind::Pva => "mould",
        ItemKind::EdgeTape => "cutting",
    }
}

/// An amount in both unit systems.
fn amount(amount: Amount) -> Markup {
    match amount {
        Amount::Length(length) => running(length),
        Amount::Mass(mass) => grams(mass),
        Amount::Volume(volume) => both(&volume.in_litres_and_ounces()),
    }
}

/// Sums of the known costs, one per currency.
fn totals(items: &[ShoppingItem]) -> Vec<(&str, Money)> {
    let mut totals: Vec<(&str, Money)> = Vec::new();
    for item in items {
        let Some(cost) = item.cost else { continue };
        match totals.iter_mut().find(|(c, _)| *c == item.currency) {
            Some((_, total)) => *total = *total + cost,
            None => totals.push((&item.currency, cost)),
        }
    }
    totals
}
