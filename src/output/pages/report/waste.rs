//! Where the cloth goes: into the parts, back on the shelf, or into one of four kinds of waste.

use crate::output::pages::charts::bars::{bar, key, shares};
use crate::output::pages::model::{Group, Passage};
use crate::output::pages::prose::Prose;
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{UNKNOWN, cloth_area, cost, currency, mass, percent};
use crate::plan::{ClothUse, Plan};
use crate::units::{Area, Money};

pub(super) fn section(plan: &Plan) -> Vec<Passage> {
    let mut passages = vec![
        Passage::section("Where the cloth goes", "waste", "Waste"),
        Passage::lead(
            "Waste: cloth that ends in no part and is not kept (trim counts). Shares are of all cloth bought or cut from stock.",
        ),
        Passage::Drawing(key()),
    ];
    passages.extend(plan.cloths().iter().map(destinations));
    passages
}

fn destinations(used: &ClothUse) -> Passage {
    let name = &used.cloth.name;
    let shares = shares(used.net_area, &used.waste, used.kept_area);
    let all = used.cloth_in();
    let bar = bar(&shares, all);
    let part = |area: Area| {
        if all > Area::ZERO {
            area.to_mm2() / all.to_mm2()
        } else {
            0.0
        }
    };
    let paid = |amount: Option<Money>| cost(amount, currency(&used.cloth));
    let sum = |area: Area, paid: Prose| -> [Prose; 4] {
        [
            cloth_area(area),
            mass(used.mass_of(area)),
            paid,
            percent(part(area)).into(),
        ]
    };
    // What goes somewhere bears its share of the cost.
    let mut table = TableOf::new(format!("Where {name} goes"), &shares)
        .caption(format!("{name}: cloth by where it goes"))
        .name("Where", |share| share.name)
        .number("Area", |share| cloth_area(share.area))
        .number("Mass", |share| mass(used.mass_of(share.area)))
        .number("Cost", |share| paid(used.cost_of(share.area)))
        .number("Share", |share| percent(part(share.area)))
        .foot(
            "Waste, all of it",
            sum(used.waste.total(), paid(used.cost_of(used.waste.total()))),
        );
    if used.stock_area > Area::ZERO {
        table = table.foot("From stock", sum(used.stock_area, UNKNOWN.into()));
    }
    let bought = sum(used.bought_area(), paid(used.purchase.cost));
    let table = table.foot("Bought", bought).done();
    Passage::Group(
        Group::Kept,
        vec![
            Passage::Subheading(name.into()),
            Passage::Drawing(bar),
            table,
        ],
    )
}
