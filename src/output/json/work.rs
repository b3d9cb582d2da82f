//! What the work takes beside cloth.

use super::value::Json;
use crate::laminate::Batch;
use crate::plan::{PartResin, PieceIndex, Plan, ResinUse};
use crate::units::Mass;

/// Masses in grams of what is mixed for the whole order, and batch by batch.
pub(super) fn resin(plan: &Plan, resin: &ResinUse) -> Json {
    let index = plan.piece_index();
    let order = resin.order(&plan.parts);
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
            Json::list(plan.parts.iter().zip(&resin.parts).map(|(part, of_set)| {
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
        let part = &plan.parts[step.part];
        let pieces = index.of(&part.name, part.plies[step.ply].n, step.set);
        pieces.iter().map(|piece| Json::text(&piece.id))
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
