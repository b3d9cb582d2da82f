//! What the work takes beside cloth.

use super::value::Json;
use crate::laminate::Batch;
use crate::plan::{
    Amount, BagUse, CostBreakdown, Costs, ItemKind, MouldUse, PartResin, PieceIndex, Plan,
    ResinUse, RollUse, ShoppingItem, ThicknessMap,
};
use crate::units::{Length, Mass};

/// Masses in grams of what is mixed for the whole order, and batch by batch.
pub(super) fn resin(plan: &Plan, resin: &ResinUse) -> Json {
    let index = plan.piece_index();
    let order = resin.order(plan.parts());
    let mut members = vec![("name", Json::text(&resin.system.name))];
    members.extend(weighed(resin, order.mixed()));
    members.extend(where_it_goes(&order));
    let limits = resin.system.limits();
    members.extend([
        ("largest_batch_g", Json::mass(limits.mass)),
        (
            "pot_life_min",
            Json::number(resin.system.pot_life.to_minutes(), 3),
        ),
        (
            "longest_batch_min",
            Json::number(limits.time.to_minutes(), 3),
        ),
        (
            "laying_speed_m2_h",
            Json::number(resin.system.laying_speed.to_m2_per_hour(), 3),
        ),
        (
            "parts",
            Json::list(plan.parts().iter().zip(&resin.parts).map(|(part, of_set)| {
                let head = [
                    ("part", Json::text(&part.name)),
                    ("sets", Json::raw(part.sets)),
                    ("mixed_g_per_set", Json::mass(of_set.mixed())),
                ];
                Json::object(head.into_iter().chain(where_it_goes(of_set)))
            })),
        ),
        (
            "batches",
            Json::list(
                (1..)
                    .zip(&resin.batches)
                    .map(|(n, b)| batch(plan, &index, resin, n, b)),
            ),
        ),
    ]);
    Json::object(members)
}

fn weighed(resin: &ResinUse, mass: Mass) -> Vec<(&'static str, Json)> {
    let mixed = resin.divide(mass);
    vec![
        ("mixed_g", Json::mass(mass)),
        ("part_a_g", Json::mass(mixed.a)),
        ("part_b_g", Json::mass(mixed.b)),
    ]
}

fn where_it_goes(resin: &PartResin) -> [(&'static str, Json); 4] {
    [
        ("in_parts_g", Json::mass(resin.in_part)),
        ("in_trim_g", Json::mass(resin.in_trim)),
        ("take_up_g", Json::mass(resin.take_up)),
        ("left_over_g", Json::mass(resin.left_over)),
    ]
}

fn batch(plan: &Plan, index: &PieceIndex<'_>, resin: &ResinUse, n: usize, batch: &Batch) -> Json {
    let steps = &resin.steps[batch.steps.clone()];
    let plies = steps.iter().flat_map(|step| {
        let part = &plan.parts()[step.part];
        let pieces = index.of(&part.name, part.plies[step.ply].n, step.set);
        pieces.iter().map(|piece| Json::text(piece.id()))
    });
    let (k, of) = batch.share;
    let mut members = vec![("n", Json::raw(n)), ("plies", Json::list(plies))];
    members.extend(weighed(resin, batch.mass));
    members.push(("minutes", Json::number(batch.time.to_minutes(), 2)));
    if of > 1 {
        members.push(("share_of_ply", Json::list([k, of].map(Json::raw))));
    }
    Json::object(members)
}

/// The bags; layouts are in the roll frame, like those of the cloths.
pub(super) fn bagging(plan: &Plan, bags: &BagUse) -> Json {
    let setup = &bags.setup;
    Json::object([
        ("vacuum_kpa", Json::number(setup.vacuum.to_kilopascals(), 3)),
        ("vacuum_mbar", Json::number(setup.vacuum.to_millibars(), 2)),
        (
            "vacuum_inhg",
            Json::number(setup.vacuum.to_inches_of_mercury(), 3),
        ),
        ("tape_mm", Json::length(bags.tape(plan.parts()))),
        ("tape_spare", Json::number(setup.tape_spare, 6)),
        (
            "parts",
            Json::list(plan.parts().iter().zip(&bags.parts).map(|(part, bag)| {
                Json::object([
                    ("part", Json::text(&part.name)),
                    ("sets", Json::raw(part.sets)),
                    ("area_mm2", Json::area(bag.area)),
                    ("force_n", Json::number(bag.force.to_newtons(), 2)),
                    ("tape_line_mm", sides(bag.tape_line)),
                    ("tape_mm", Json::length(bag.tape)),
                    ("seam_tape_mm", Json::length(bag.seam)),
                    ("film_mm", sides(bag.film)),
                ])
            })),
        ),
        (
            "layers",
            Json::list(bags.rolls.iter().map(|roll| layer(plan, roll))),
        ),
    ])
}

fn sides((length, width): (Length, Length)) -> Json {
    Json::list([length, width].map(Json::length))
}

fn layer(plan: &Plan, roll: &RollUse) -> Json {
    let layer = &roll.layer;
    let currency = layer.roll.price.as_ref().map(|p| p.currency.as_str());
    Json::object([
        ("name", Json::text(&layer.roll.name)),
        ("margin_mm", Json::length(layer.margin)),
        ("take_up_g_m2", Json::number(layer.take_up.to_g_per_m2(), 3)),
        ("used_mm", Json::length(roll.purchase.used)),
        ("on_hand_mm", Json::length(layer.on_hand)),
        ("length_mm", Json::length(roll.purchase.length)),
        ("cost", Json::money(roll.purchase.cost)),
        ("currency", Json::known(currency, Json::text)),
        (
            "too_wide",
            Json::list(roll.joined.iter().map(|joined| Json::text(&joined.id))),
        ),
        ("lap_mm", Json::length(layer.lap)),
        (
            "joined",
            Json::list(roll.joined.iter().map(|joined| {
                let pieces = joined.pieces.iter().map(|id| Json::text(id));
                Json::object([
                    ("id", Json::text(&joined.id)),
                    ("pieces", Json::list(pieces)),
                    ("seam_mm", Json::length(joined.seam)),
                ])
            })),
        ),
        ("layout", super::layout(plan, &roll.layout)),
    ])
}

pub(super) fn mould(plan: &Plan, mould: &MouldUse) -> Json {
    let setup = &mould.setup;
    Json::object([
        ("margin_mm", Json::length(setup.margin)),
        ("wax_coats", Json::raw(setup.wax_coats)),
        ("wax_g", Json::mass(mould.wax)),
        (
            "pva_l",
            Json::known(mould.pva, |pva| Json::number(pva.to_litres(), 4)),
        ),
        (
            "parts",
            Json::list(plan.parts().iter().zip(&mould.areas).map(|(part, area)| {
                Json::object([
                    ("part", Json::text(&part.name)),
                    ("area_mm2", Json::area(*area)),
                ])
            })),
        ),
    ])
}

pub(super) fn costs(plan: &Plan, costs: &Costs) -> Json {
    let of = |cost: &CostBreakdown| {
        [
            ("cloth", Json::money(Some(cost.cloth))),
            ("resin", Json::money(Some(cost.resin))),
            ("bag", Json::money(Some(cost.bag))),
            ("mould", Json::money(Some(cost.mould))),
            ("total", Json::money(Some(cost.total()))),
        ]
    };
    Json::object([
        ("currency", Json::text(&costs.currency)),
        ("order", Json::object(of(&costs.order))),
        ("cloth_waste", Json::money(Some(costs.cloth_waste))),
        ("resin_waste", Json::money(Some(costs.resin_waste))),
        (
            "sets",
            Json::list(plan.parts().iter().zip(&costs.parts).map(|(part, cost)| {
                let name = [("part", Json::text(&part.name))];
                Json::object(name.into_iter().chain(of(cost)))
            })),
        ),
        (
            "unpriced",
            Json::list(costs.unpriced.iter().map(|name| Json::text(name))),
        ),
    ])
}

/// One line of the shopping list; amounts in mm, g or l.
pub(super) fn item(item: &ShoppingItem) -> Json {
    let kind = match item.kind {
        ItemKind::Cloth => "cloth",
        ItemKind::Resin => "resin",
        ItemKind::BagLayer => "bag layer",
        ItemKind::SealantTape => "sealant tape",
        ItemKind::Wax => "wax",
        ItemKind::Pva => "pva",
        ItemKind::EdgeTape => "edge tape",
    };
    let unit = match item.needed {
        Amount::Length(_) => "mm",
        Amount::Mass(_) => "g",
        Amount::Volume(_) => "l",
    };
    let mut members = vec![
        ("name", Json::text(&item.name)),
        ("kind", Json::text(kind)),
        ("unit", Json::text(unit)),
        ("needed", amount(item.needed)),
        ("on_hand", amount(item.on_hand)),
        ("buy", amount(item.buy)),
    ];
    if let Some((n, pack)) = item.packs {
        members.extend([("packs", Json::raw(n)), ("pack", amount(pack))]);
    }
    members.push(("cost", Json::money(item.cost)));
    Json::object(members)
}

fn amount(amount: Amount) -> Json {
    match amount {
        Amount::Length(length) => Json::length(length),
        Amount::Mass(mass) => Json::mass(mass),
        Amount::Volume(volume) => Json::number(volume.to_litres(), 4),
    }
}

/// The regions of a part by which plies lie there.
pub(super) fn regions(map: &ThicknessMap) -> Json {
    Json::object([
        (
            "regions",
            Json::list(map.regions.iter().map(|region| {
                let plies = Json::list(region.plies.iter().map(Json::raw));
                let thickness = Json::known(region.thickness, |t| Json::number(t.to_mm(), 6));
                let head = [("plies", plies), ("thickness_mm", thickness)];
                let area = [("area_mm2", Json::area(region.area))];
                let stiffness = super::in_plane(region.in_plane.as_ref());
                Json::object(head.into_iter().chain(area).chain(stiffness))
            })),
        ),
        ("apart", Json::list(map.apart.iter().map(Json::raw))),
    ])
}
