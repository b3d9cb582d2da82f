//! What a set costs by how many are made, as a curve.

use crate::geometry::Point;
use crate::number::number;
use crate::output::drawing::shape::Drawing;
use crate::output::formats::svg::figure::ChartView;
use crate::output::pages::model::Svg;
use crate::plan::SetCost;

/// Size of the chart, user units.
const CHART: (f64, f64) = (640.0, 220.0);
/// Size of the letters.
const LETTERS: f64 = 12.0;
/// Room for the axes: left, top, right, bottom.
const MARGIN: [f64; 4] = [70.0, 14.0, 20.0, 40.0];

/// The cost of one set against the number of sets, all of them priced.
pub(in crate::output::pages) fn chart(curve: &[SetCost], currency: &str) -> Svg {
    let costs: Vec<(f64, f64)> = (curve.iter())
        .filter_map(|s| Some((f64::from(s.sets), s.cost_of_one()?.to_decimal())))
        .collect();
    let most = costs.iter().map(|c| c.1).fold(0.0, f64::max).max(0.01);
    let last = costs.last().map_or(1.0, |c| c.0).max(2.0);
    let [left, top, right, bottom] = MARGIN;
    let (wide, high) = (CHART.0 - left - right, CHART.1 - top - bottom);
    let x = |sets: f64| left + (sets - 1.0) / (last - 1.0) * wide;
    let y = |cost: f64| top + high * (1.0 - cost / most);
    let mut drawing = Drawing::default();
    for share in [0.0, 0.5, 1.0] {
        let level = y(share * most);
        let ends = [left, left + wide].map(|x| Point::new(x, level));
        drawing.line("grid".into(), &ends);
        let text = format!("{} {currency}", number(share * most, 0));
        drawing.words("end", (left - 8.0, level + 4.0), LETTERS, text);
    }
    let at = |&(sets, cost): &(f64, f64)| Point::new(x(sets), y(cost));
    drawing.line("line".into(), &costs.iter().map(at).collect::<Vec<_>>());
    for (set, cost) in curve.iter().zip(&costs) {
        let class = if set.is_this_job { "now" } else { "dot" };
        drawing.dot(class.into(), at(cost), 4.0);
        if is_labelled(set.sets, last) {
            let below = (x(cost.0), CHART.1 - 22.0);
            drawing.words("middle", below, LETTERS, set.sets.to_string());
        }
    }
    let below = (left + wide / 2.0, CHART.1 - 5.0);
    drawing.words("middle", below, LETTERS, "number of sets");
    let view = ChartView {
        class: "curve",
        shown: [0.0, 0.0, CHART.0, CHART.1],
        decimals: 1,
        is_stretched: false,
        label: Some(
            "Cost of one set against the number of sets; the table below has the numbers"
                .to_owned(),
        ),
    };
    Svg(view.svg(&drawing))
}

/// Whether a number of sets has room below the axis.
fn is_labelled(sets: u32, last: f64) -> bool {
    let room = last / 20.0;
    f64::from(sets) >= 3.0 * room || sets == 1
}
