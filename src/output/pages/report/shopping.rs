//! What it all costs, and one list of everything to buy.

use crate::output::pages::model::Passage;
use crate::output::pages::prose::{Prose, prose};
use crate::output::pages::table::{About, TableOf};
use crate::output::pages::words::{
    NOT_PRICED, UNKNOWN, bought, cost, list as listed, money, or_none, piece_area, quantity,
    running, sets, step_in_words, totals, width,
};
use crate::plan::{Amount, CostBreakdown, ItemKind, Plan, ShoppingItem};
use crate::units::{Area, Length, Mass, Money, Volume};

pub(super) fn costs(plan: &Plan) -> Vec<Passage> {
    let Some(costs) = plan.costs() else {
        return Vec::new();
    };
    let items = plan.shopping();
    let has_bag = plan.work().bagging.is_some();
    let money = |amount| money(amount, &costs.currency);
    let parts = plan.parts().iter();
    let parts = parts.filter_map(|part| Some((part, part.cost.as_ref()?)));
    let mut table = TableOf::new("Costs", parts)
        .caption("Material")
        .name("Part", |(part, _)| {
            prose! {
                (part.name()) ", one set" Small { (sets(part.sets)) " in the order" }
            }
        });
    let mut order = Vec::new();
    for (title, kinds, of) in SPENT_ON {
        if let Some(is_priced) = is_priced(&items, kinds) {
            let told = |cost: &CostBreakdown| match is_priced {
                true => money(of(cost)),
                false => NOT_PRICED.to_owned(),
            };
            table = table.number(title, |(_, cost)| told(cost));
            order.push(told(&costs.order));
        }
    }
    order.push(money(costs.order.total()));
    let table = table
        .key("Total", |(_, cost): &(_, &CostBreakdown)| {
            money(cost.total())
        })
        .foot("The order", order);
    vec![
        Passage::section("What it costs", "cost", "Cost"),
        Passage::lead(prose! {
            "Cloth as it is bought, shared out by cut area, so that each part pays its share of the waste; resin as it "
            "is mixed" if (has_bag) { "; bag layers by the length that comes off the roll" } ". Labour is not in it."
        }),
        table.done(),
        Passage::facts(prose! {
            "Of that, cloth that ends in no part: " (money(costs.cloth_waste))
            if (plan.work().resin.is_some() && costs.resin_waste > Money::ZERO) {
                "; resin in trim" if (has_bag) { ", peel ply, breather" } " and pots: " (money(costs.resin_waste))
            }
            "."
            if (!costs.unpriced.is_empty()) {
                " Not priced, so not in the sums: " (listed(&costs.unpriced)) "."
            }
        }),
    ]
}

/// What money is spent on, with the items that stand for it.
type Spent = (
    &'static str,
    &'static [ItemKind],
    fn(&CostBreakdown) -> Money,
);
const SPENT_ON: [Spent; 6] = [
    ("Cloth", &[ItemKind::Cloth], |cost| cost.cloth),
    ("Resin", &[ItemKind::Resin], |cost| cost.resin),
    ("Cores", &[ItemKind::Core], |cost| cost.core),
    (
        "Bag",
        &[ItemKind::BagLayer, ItemKind::SealantTape],
        |cost| cost.bag,
    ),
    ("Mould", &[ItemKind::Wax, ItemKind::Pva], |cost| cost.mould),
    ("Gel coat", &[ItemKind::GelCoat], |cost| cost.coat),
];

/// Whether anything of `kinds` among `items` has a price; `None` where there is nothing of them.
fn is_priced(items: &[ShoppingItem], kinds: &[ItemKind]) -> Option<bool> {
    let of_kind = items.iter().filter(|item| kinds.contains(&item.kind));
    let priced = of_kind.map(|item| item.cost.is_some());
    priced.reduce(|a, b| a || b)
}

pub(super) fn list(plan: &Plan) -> Vec<Passage> {
    let mut items = plan.shopping();
    // Cloth is bought for all jobs that are planned together.
    items.retain(|item| !(plan.is_share() && item.kind == ItemKind::Cloth));
    if items.is_empty() {
        return Vec::new();
    }
    let mut table = TableOf::new("What to get", &items)
        .caption("Everything for the order, less what is on hand")
        .class("shopping")
        .about(|item| About::Item(item.name.clone()))
        .tick("Got")
        .name("What", |item| {
            prose! { (&item.name) Small { (kind(item)) (made_of(plan, item)) } }
        })
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
        .number("Cost", cost_of);
    for (currency, total) in totals(items.iter().map(|item| (item.currency.as_str(), item.cost))) {
        table = table.foot(
            if items.iter().all(|item| item.cost.is_some()) {
                "Total"
            } else {
                "Sum of what is priced"
            },
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

fn cost_of(item: &&ShoppingItem) -> Prose {
    match item.packs {
        Some((0, _)) => UNKNOWN.into(),
        _ => cost(item.cost, &item.currency),
    }
}

/// What it is for, and of what comes on a roll, how wide that is.
fn kind(item: &ShoppingItem) -> Prose {
    let word = match item.kind {
        ItemKind::Cloth => "cloth",
        ItemKind::Core if item.packs.is_some() => "core, sheets by area; add for offcuts",
        ItemKind::Core => "core, finished area; add for cutting",
        ItemKind::GelCoat | ItemKind::Resin => "resin and hardener together",
        ItemKind::BagLayer => "bag",
        ItemKind::SealantTape => "bag",
        ItemKind::Wax | ItemKind::Pva => "mould",
        ItemKind::EdgeTape => "cutting",
    };
    match item.roll_width {
        Some(roll) => prose! { (word) ", " (width(roll)) " wide" },
        None => word.into(),
    }
}

/// Of a cloth, what to ask for in a shop.
fn made_of(plan: &Plan, item: &ShoppingItem) -> Prose {
    let used = plan.cloths().iter().map(|used| &used.cloth);
    let mut of_name = used.filter(|cloth| item.kind == ItemKind::Cloth && cloth.name == item.name);
    let Some(cloth) = of_name.next() else {
        return "".into();
    };
    prose! {
        ", "
        if (cloth.is_carbon == Some(true)) { "carbon " }
        (cloth.weave.word()) ", " (quantity(cloth.areal_weight))
    }
}

/// An amount in both unit systems.
fn amount(amount: Amount) -> Prose {
    match amount {
        Amount::Length(length) => or_none(length, Length::ZERO, running),
        Amount::Mass(mass) => or_none(mass, Mass::ZERO, bought),
        Amount::Volume(volume) => or_none(volume, Volume::ZERO, |volume| {
            Prose::quantity(volume.in_litres_and_ounces())
        }),
        Amount::Area(area) => or_none(area, Area::ZERO, piece_area),
    }
}
