//! What a set of each part must be sold for.

use crate::output::pages::model::Passage;
use crate::output::pages::prose::prose;
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{minutes, money, percent, sets};
use crate::plan::{PartPrice, PartUse, Plan, WorkStep};
use crate::units::Duration;

/// The steps of the work, and what a column of their time is called.
const STEPS: [(WorkStep, &str); 7] = [
    (WorkStep::Mould, "Mould ready"),
    (WorkStep::Cutting, "Cutting"),
    (WorkStep::Coat, "Coat"),
    (WorkStep::LayingUp, "Laying up"),
    (WorkStep::Bagging, "Bagging"),
    (WorkStep::Finishing, "Finishing"),
    (WorkStep::Other, "Other work"),
];

pub(super) fn section(plan: &Plan) -> Vec<Passage> {
    let Some((order, labour)) = plan.price_of_order().zip(plan.job().labour()) else {
        return Vec::new();
    };
    let currency = &labour.hourly_rate.currency;
    let money = |amount| money(amount, currency);
    let unpriced = plan.costs().is_none_or(|costs| !costs.unpriced.is_empty());
    vec![
        Passage::section("What to ask for it", "price", "Price"),
        Passage::lead(prose! {
            "Hours of one person, at " (money(labour.hourly_rate.amount)) " an hour. Overheads: "
            (percent(labour.overheads)) " of material and labour. Margin: " (percent(labour.margin)) " of the price. "
            "How long the steps take is said by " Code("[labour]") ", " Code("[resin]")
            if (plan.work().bagging.is_some()) { ", " Code("[bag]") } " and " Code("[gel_coat]")
            "; waiting for wax, gel coat and cure is not counted."
            if (unpriced) { " Material that has no price is not in it." }
        }),
        times(plan),
        TableOf::new("Price of each part", priced(plan))
            .caption("Price")
            .name("Part", |(part, _)| {
                prose! { (part.name()) ", one set" Small { (sets(part.sets)) " in the order" } }
            })
            .number("Material", |(_, price)| money(price.material))
            .number("Labour", |(_, price)| money(price.labour))
            .number("Overheads", |(_, price)| money(price.overheads))
            .number("Margin", |(_, price)| money(price.margin))
            .key("Price", |(_, price)| money(price.total()))
            .done(),
        Passage::facts(prose! { "The whole order: " Strong { (money(order)) } "." }),
    ]
}

fn priced(plan: &Plan) -> impl Iterator<Item = (&PartUse, &PartPrice)> {
    let parts = plan.parts().iter();
    parts.filter_map(|part| Some((part, part.price.as_ref()?)))
}

/// How long each step takes, the steps that take time in any part.
fn times(plan: &Plan) -> Passage {
    let time_of = |price: &PartPrice, step: WorkStep| {
        let own = price.hours.iter().find(|(of, _)| *of == step);
        own.map_or(Duration::ZERO, |&(_, time)| time)
    };
    let mut table = TableOf::new("Work on each part", priced(plan))
        .caption("Work on one set, in hours of one person")
        .name("Part", |(part, _)| part.name());
    for (step, title) in STEPS {
        let is_taken = priced(plan).any(|(_, price)| time_of(price, step) > Duration::ZERO);
        if is_taken {
            table = table.number(title, |(_, price)| minutes(time_of(price, step)));
        }
    }
    table
        .key("All of it", |(_, price)| minutes(price.all_hours()))
        .done()
}
