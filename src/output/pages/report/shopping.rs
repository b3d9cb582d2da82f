//! What it all costs, and one list of everything to buy.

use crate::output::pages::model::Passage;
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::table::{About, TableOf};
use crate::output::pages::words::{
    UNKNOWN, known, list as listed, money, piece_area, running, sets, step_in_words, totals,
    weighed,
};
use crate::plan::{Amount, CostBreakdown, ItemKind, Plan, ShoppingItem};
use crate::units::Length;

pub(super) fn costs(plan: &Plan) -> Vec<Passage> {
    let Some(costs) = plan.costs() else {
        return Vec::new();
    };
    let money = |amount| money(amount, &costs.currency);
    let order = &costs.order;
    let together = [
        order.cloth,
        order.resin,
        order.bag,
        order.mould,
        order.total(),
    ];
    let parts = plan.parts().iter();
    let parts = parts.filter_map(|part| Some((part, part.cost.as_ref()?)));
    let table = TableOf::new("Costs", parts)
        .caption("Material")
        .name("Part", |(part, _)| {
            prose! {
                (part.name()) ", one set" Small { (sets(part.sets)) " in the order" }
            }
        })
        .number("Cloth", |(_, cost)| money(cost.cloth))
        .number("Resin", |(_, cost)| money(cost.resin))
        .number("Bag", |(_, cost)| money(cost.bag))
        .number("Mould", |(_, cost)| money(cost.mould))
        .key("Together", |(_, cost): &(_, &CostBreakdown)| {
            money(cost.total())
        })
        .foot("The order", together.map(money));
    vec![
        Passage::section("What it costs", "cost", "Cost"),
        Passage::lead(
            "Cloth as it is bought, shared out by cut area, so that each part bears its share of the waste; \
             resin as it is mixed; bag layers as they lie on the roll. Labour is not in it.",
        ),
        table.done(),
        Passage::facts(prose! {
            "Of that, cloth that ends up in no part: " (money(costs.cloth_waste))
            "; resin in trim, peel ply, breather and pots: " (money(costs.resin_waste)) "."
            if (!costs.unpriced.is_empty()) {
                " Without a price, and not in the sums: " (listed(&costs.unpriced)) "."
            }
        }),
    ]
}

pub(super) fn list(plan: &Plan) -> Vec<Passage> {
    let items = plan.shopping();
    let mut table = TableOf::new("What to get", &items)
        .caption("Everything for the order, less what is on hand")
        .class("shopping")
        .about(|item| About::Item(item.name.clone()))
        .tick("Got")
        .name(
            "What",
            |item| prose! { (&item.name) Small { (kind(item.kind)) } },
        )
        .number("Needed", |item| amount(item.needed))
        .number("On hand", |item| {
            prose! {
                (amount(item.on_hand))
                if (item.kind == ItemKind::Cloth && item.on_hand != Amount::Length(Length::ZERO)) {
                    Small { "cut from stock" }
                }
            }
        })
        .key("To buy", |item| match item.packs {
            Some((0, _)) => "nothing".into(),
            Some((n, pack)) => prose! { (n) " × " (amount(pack)) },
            None => amount(item.buy),
        })
        .number("Cost", cost);
    for (currency, total) in totals(items.iter().map(|item| (item.currency.as_str(), item.cost))) {
        table = table.foot(
            "Together, as far as prices are known",
            [money(total, currency)],
        );
    }
    vec![
        Passage::section("Shopping list", "shopping", "Shopping list"),
        table.done(),
        Passage::facts(beside(plan)),
    ]
}

/// What the work takes that no arithmetic tells.
fn beside(plan: &Plan) -> Prose {
    let work = plan.work();
    let step = work
        .resin
        .as_ref()
        .map(|resin| step_in_words(resin.scale_step()));
    prose! {
        "You also need: nitrile gloves, a respirator, eye protection, shears, sharp blades with a cover, rags, "
        "rollers and brushes"
        if let (Some(step) = step) { ", mixing pots and sticks, a scale that shows " (step) }
        if (work.bagging.is_some()) { ", a vacuum pump with a resin trap, connector, hose and gauge" }
        "."
    }
}

fn cost(item: &&ShoppingItem) -> Prose {
    match item.packs {
        Some((0, _)) => UNKNOWN.into(),
        _ => known(item.cost, |m| money(m, &item.currency)),
    }
}

const fn kind(kind: ItemKind) -> &'static str {
    match kind {
        ItemKind::Cloth => "cloth",
        ItemKind::Core => "core, net area; add for cutting",
        ItemKind::Resin => "resin and hardener together",
        ItemKind::BagLayer => "bag",
        ItemKind::SealantTape => "bag",
        ItemKind::Wax | ItemKind::Pva => "mould",
        ItemKind::EdgeTape => "cutting",
    }
}

/// An amount in both unit systems.
fn amount(amount: Amount) -> Prose {
    match amount {
        Amount::Length(length) => running(length),
        Amount::Mass(mass) => weighed(mass),
        Amount::Volume(volume) => Prose::quantity(volume.in_litres_and_ounces()),
        Amount::Area(area) => piece_area(area),
    }
}
