//! The cut order of a layout in `plan.json`.

use super::value::Json;
use crate::output::number::COORDINATE;
use crate::plan::{Cut, CutFrame, Layout, Travel};

fn travel(travel: &Travel) -> Json {
    Json::object([
        ("mm", Json::length(travel.ordered)),
        ("as_placed_mm", Json::length(travel.as_placed)),
    ])
}

/// In which order the layout is labelled and cut; pieces by their ids.
pub(super) fn cut_order(layout: &Layout) -> Json {
    let order = layout.order();
    let id = |piece: usize| Json::text(layout.pieces()[piece].id());
    let cut = |cut: &Cut| {
        let start = cut.points.first().copied().unwrap_or_default();
        Json::object([
            ("id", id(cut.piece)),
            (
                "opening",
                cut.opening.map_or_else(Json::null, |k| Json::raw(k + 1)),
            ),
            (
                "start",
                Json::list([start.x, start.y].map(|v| Json::number(v, COORDINATE))),
            ),
        ])
    };
    let frame = |frame: &CutFrame| {
        Json::object([
            ("from", Json::number(frame.from, COORDINATE)),
            ("to", Json::number(frame.to, COORDINATE)),
            ("labels", Json::list(frame.labels.iter().map(|&p| id(p)))),
            ("cuts", Json::list(frame.cuts.iter().map(cut))),
        ])
    };
    Json::object([
        ("cut_travel", travel(&order.cut_travel)),
        ("label_travel", travel(&order.label_travel)),
        ("frames", Json::list(order.frames.iter().map(frame))),
    ])
}
