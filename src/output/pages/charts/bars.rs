//! Where cloth goes, as bars: into the parts, back on the shelf, or into one of four kinds of waste.

use maud::{Markup, html};

use super::key;
use crate::output::pages::model::Svg;
use crate::plan::Waste;
use crate::units::Area;

/// A share of the cloth that is bought or cut from stock.
pub(in crate::output::pages) struct Share {
    /// Style class of its fill.
    class: &'static str,
    pub(in crate::output::pages) name: &'static str,
    pub(in crate::output::pages) area: Area,
}

/// Where all cloth goes, in the order in which it is told.
pub(in crate::output::pages) fn shares(net: Area, waste: &Waste, kept: Area) -> [Share; 6] {
    let share = |class, name, area| Share { class, name, area };
    [
        share("net", "In the parts (net)", net),
        share("trim", "Trim (cut − net)", waste.trim),
        share("between", "Between pieces", waste.between),
        share("selvedge", "Selvedge strips", waste.selvedge),
        share("end", "End, too short to keep", waste.end),
        share("kept", "Left as stock", kept),
    ]
}

/// The shares side by side from `x` on, `per_mm2` user units to a mm², and where they end.
fn rects(shares: &[Share], x: f64, per_mm2: f64, y: &str, height: f64) -> (Markup, f64) {
    let mut end = x;
    let placed = shares.iter().map(|share| {
        let (from, length) = (end, share.area.to_mm2().max(0.0) * per_mm2);
        end += length;
        (share.class, format!("{from:.1}"), format!("{length:.1}"))
    });
    let placed: Vec<_> = placed.collect();
    let rects = html! {
        @for (class, x, length) in placed {
            rect class={ "share " (class) } x=(x) y=(y) width=(length) height=(height) {}
        }
    };
    (rects, end)
}

/// The shares of `all` the cloth as one bar.
pub(in crate::output::pages) fn bar(shares: &[Share], all: Area) -> Svg {
    /// Width of the bar's drawing; only ratios matter.
    const BAR: f64 = 1000.0;
    let per_mm2 = if all > Area::ZERO {
        BAR / all.to_mm2()
    } else {
        0.0
    };
    let (rects, _) = rects(shares, 0.0, per_mm2, "0", 28.0);
    Svg(html! {
        svg .bar viewBox="0 0 1000 28" preserveAspectRatio="none" aria-hidden="true" { (rects) }
    })
}

/// One way of doing the job, in a chart of all of them.
pub(in crate::output::pages) struct Way<'a> {
    pub(in crate::output::pages) name: &'a str,
    /// Where its cloth goes, and what is written behind; none if it is not possible.
    pub(in crate::output::pages) cloth: Option<([Share; 6], String)>,
}

/// Width of a bar as long as the most cloth, and the height of a row, user units.
const BAR: f64 = 560.0;
const ROW: f64 = 34.0;
/// Room for the names on the left and the amounts on the right, user units.
const NAMES: f64 = 210.0;
const AMOUNTS: f64 = 190.0;

/// A bar for each of `ways`, each as long as its share of `most` cloth.
pub(in crate::output::pages) fn ways(ways: &[Way<'_>], most: Area) -> Svg {
    let view = format!("0 0 {} {}", NAMES + BAR + AMOUNTS, ROW * ways.len() as f64);
    Svg(html! {
        div .scroll tabindex="0" role="region" aria-label="Where the cloth goes" {
            svg .ways viewBox=(view) role="img" aria-label="Area of cloth for each way; the figures are in the table" {
                @for (k, way) in ways.iter().enumerate() { (row(way, ROW * k as f64, BAR / most.to_mm2())) }
            }
        }
    })
}

fn row(way: &Way<'_>, top: f64, per_mm2: f64) -> Markup {
    let middle = format!("{:.1}", top + 0.5 * ROW + 4.5);
    html! {
        text x=(NAMES - 10.0) y=(middle) text-anchor="end" { (way.name) }
        @if let Some((shares, amount)) = &way.cloth {
            @let (rects, end) = rects(shares, NAMES, per_mm2, &format!("{:.1}", top + 6.0), ROW - 12.0);
            (rects)
            text .soft x=(format!("{:.1}", end + 8.0)) y=(middle) { (amount) }
        } @else {
            text .soft x=(NAMES) y=(middle) { "not possible, see below" }
        }
    }
}

/// What the fills of the bars mean, and the patterns they use.
pub(in crate::output::pages) fn key() -> Svg {
    let entries = [
        ("net", "in the parts"),
        ("trim", "trim"),
        ("between", "between pieces"),
        ("selvedge", "selvedge"),
        ("end", "end, too short to keep"),
        ("kept", "left as stock"),
    ]
    .map(|(class, name)| (key::area(&format!("share {class}")), name.to_owned()));
    Svg(html! {
        svg .defs width="0" height="0" aria-hidden="true" {
            defs {
                pattern #fill-trim patternUnits="userSpaceOnUse" width="7" height="7"
                    patternTransform="rotate(45)" {
                    rect .ground width="7" height="7" {}
                    path .ink d="M0,0V7" stroke-width="5" {}
                }
                pattern #fill-between patternUnits="userSpaceOnUse" width="9" height="9" {
                    rect .ground width="9" height="9" {}
                    circle .dot cx="4.5" cy="4.5" r="1.7" {}
                }
                pattern #fill-selvedge patternUnits="userSpaceOnUse" width="5" height="5" {
                    rect .ground width="5" height="5" {}
                    path .ink d="M0,0V5" stroke-width="2" {}
                }
            }
        }
        (key::key("Fills of the bars", &entries))
    })
}
