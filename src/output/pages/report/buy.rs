//! What to buy, the rolls that a cloth is offered on side by side, and what a set costs by how many
//! are made.

use crate::output::pages::charts::curve;
use crate::output::pages::model::Passage;
use crate::output::pages::prose::prose;
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{
    cloth_area, cost, currency, money, percent, price, quantity, running, totals, width,
};
use crate::plan::{ClothUse, Plan};
use crate::units::{Area, Length};

pub(super) fn section(plan: &Plan) -> Vec<Passage> {
    let mut passages = vec![
        Passage::section("What to buy", "buy", "Buy"),
        purchase(plan),
    ];
    let offered = plan
        .cloths()
        .iter()
        .filter(|used| !used.alternatives.is_empty());
    passages.extend(offered.map(offers));
    if !plan.cost_per_set().is_empty() {
        passages.extend(cost_per_set(plan));
    }
    passages.push(Passage::lead(
        "Used: share of the length you cut off the roll that becomes pieces.",
    ));
    passages
}

fn purchase(plan: &Plan) -> Passage {
    let mut table = TableOf::new("Purchase list", plan.cloths())
        .caption("Purchase list")
        .name("Cloth", |used| prose! {
            (&used.cloth.name)
            Small { (used.cloth.weave.word()) ", " (quantity(used.cloth.areal_weight)) }
            Small { (width(used.cloth.roll_width)) " wide" }
        })
        .key("To buy", |used| prose! {
            (running(used.purchase.length))
            if (used.stock_area > Area::ZERO) { Small { "the rest is from stock on hand" } }
            if (used.cloth.sold_by > Length::ZERO) { Small { "sold by " (running(used.cloth.sold_by)) } }
        })
        .number("Cost", |used| prose! {
            (cost(used.purchase.cost, currency(&used.cloth)))
            if let (Some(p) = &used.cloth.price) { Small { (quantity(format!("at {}", price(p)))) } }
        })
        .number("Off the roll", |used| running(used.purchase.used))
        .number("Used", |used| percent(used.utilisation))
        .number("Pieces", |used| used.n_pieces);
    if plan.cloths().len() > 1 {
        let costs = plan
            .cloths()
            .iter()
            .map(|used| (currency(&used.cloth), used.purchase.cost));
        for (currency, total) in totals(costs) {
            let cells = [
                money(total, currency),
                String::new(),
                String::new(),
                String::new(),
            ];
            table = table.foot("Total", cells);
        }
    }
    table.done()
}

fn offers(used: &ClothUse) -> Passage {
    let name = &used.cloth.name;
    TableOf::new(format!("Rolls on offer of {name}"), &used.alternatives)
        .caption(format!(
            "{name}: rolls on offer, each planned for itself with its splices"
        ))
        .name("Roll width", |offer| width(offer.roll_width))
        .number("Price", |offer| offer.price.as_ref().map(price))
        .narrowed(|offer| match &offer.purchase {
            Ok(bought) => Ok((offer, bought)),
            Err(misfit) => Err(misfit.as_str().into()),
        })
        .number("Off the roll", |(_, bought)| running(bought.used))
        .number("To buy", |(_, bought)| running(bought.length))
        .number("Cost", |(_, bought)| {
            cost(bought.cost, currency(&used.cloth))
        })
        .words(
            "Choice",
            |(offer, _)| prose! { if (offer.is_chosen) { Strong { "taken" } } },
        )
        .done()
}

fn cost_per_set(plan: &Plan) -> Vec<Passage> {
    let sets = plan.cost_per_set();
    let is_priced = sets.iter().all(|s| s.cost.is_some());
    let currency = plan
        .cloths()
        .first()
        .map_or("", |used| currency(&used.cloth));
    let mut passages = vec![
        Passage::Subheading("What a set costs".into()),
        Passage::lead(
            "Cost of one set if so many are cut at once, all from new cloth (a short search for each number). Cloth is sold in whole lengths, so the curve has steps.",
        ),
    ];
    if is_priced && sets.len() > 1 {
        passages.push(Passage::Drawing(curve::chart(sets, currency)));
        if sets.iter().any(|set| set.is_this_job) {
            passages.push(Passage::lead("The filled dot is this job."));
        }
    }
    let costs = TableOf::new("Cost by number of sets", sets)
        .caption("Cost by number of sets")
        .place(
            "Sets",
            |set| prose! { (set.sets) if (set.is_this_job) { Small { "this job" } } },
        )
        .number("To buy, all cloths", |set| cloth_area(set.area))
        .number("For one set", |set| {
            cloth_area(Area::mm2(set.area.to_mm2() / f64::from(set.sets)))
        })
        .when(is_priced, |table| {
            table
                .number("Cost", |set| set.cost.map(|c| money(c, currency)))
                .number("Cost of one set", |set| {
                    set.cost_of_one().map(|c| money(c, currency))
                })
        });
    passages.push(costs.done());
    passages
}
