//! What a set costs by how many are made, as a curve.

use maud::html;

use crate::number::number;
use crate::output::pages::model::Svg;
use crate::plan::SetCost;

/// Size of the chart, user units.
const CHART: (f64, f64) = (640.0, 220.0);
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
    let line: Vec<String> = (costs.iter())
        .map(|&(sets, cost)| format!("{},{}", number(x(sets), 1), number(y(cost), 1)))
        .collect();
    Svg(html! {
        svg .curve role="img" viewBox={ "0 0 " (CHART.0) " " (CHART.1) }
            aria-label={ "Cost of one set against the number of sets; the table below has the numbers" } {
            @for share in [0.0, 0.5, 1.0] {
                path .grid d=(format!("M{},{}H{}", left, number(y(share * most), 1), left + wide)) {}
                text .end x=(left - 8.0) y=(number(y(share * most) + 4.0, 1)) {
                    (number(share * most, 0)) " " (currency)
                }
            }
            polyline .line points=(line.join(" ")) {}
            @for (set, &(sets, cost)) in curve.iter().zip(&costs) {
                circle .(if set.is_this_job { "now" } else { "dot" })
                    cx=(number(x(sets), 1)) cy=(number(y(cost), 1)) r="4" {}
                @if is_labelled(set.sets, last) {
                    text .middle x=(number(x(sets), 1)) y=(CHART.1 - 22.0) { (set.sets) }
                }
            }
            text .middle x=(left + wide / 2.0) y=(CHART.1 - 5.0) { "number of sets" }
        }
    })
}

/// Whether a number of sets has room below the axis.
fn is_labelled(sets: u32, last: f64) -> bool {
    let room = last / 20.0;
    f64::from(sets) >= 3.0 * room || sets == 1
}
