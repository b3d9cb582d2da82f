//! A roll drawn to scale in the page, a long one in several rows, with the key to it.

use maud::{Markup, html};

use crate::geometry::Point;
use crate::output::drawing::roll_view::RollView;
use crate::output::formats::svg::figure::ClassLook;
use crate::output::formats::svg::page_roll::PageRoll;
use crate::output::pages::charts::key;
use crate::output::pages::model::Svg;
use crate::output::pages::words::angle as in_words;
use crate::output::style::hatch;
use crate::plan::{Layout, Plan};
use crate::units::Angle;

/// The figure of `layout`; `layout_idx` tells it from others of the page.
pub(in crate::output::pages) fn drawing(plan: &Plan, layout: &Layout, layout_idx: usize) -> Svg {
    let in_words = |angle| in_words(angle);
    let picture = PageRoll::new(plan, layout, layout_idx, &in_words);
    let rows = picture.view.rows();
    // All rows get the same page width, so that they keep the same scale when it shrinks.
    let widest = rows.iter().map(|[from, to]| to - from).fold(0.0, f64::max);
    Svg(html! {
        figure {
            @for (i, &row) in rows.iter().enumerate() {
                @let name = if rows.len() == 1 {
                    layout.roll().to_owned()
                } else {
                    format!("{}, row {} of {}", layout.roll(), i + 1, rows.len())
                };
                div .scroll tabindex="0" role="region" aria-label={ "Drawing of " (name) } {
                    (picture.row(row, widest, &name))
                }
            }
            figcaption { (legend(&picture.view, &picture.flaw())) }
        }
    })
}

fn legend(view: &RollView<'_>, flaw: &ClassLook) -> Markup {
    let tint = |part| key::area(format!("chip-cut tint-{}", view.tint(part)));
    let parts = view.parts().into_iter();
    let parts = parts.map(|part| (tint(part), part.to_owned()));
    let hatched = || {
        let lines = view.hatch().into_iter().map(chip_hatch);
        key::hatched("chip-ground", &lines.collect::<Vec<_>>())
    };
    let fibres = view.hatch_in_words();
    let fibres = fibres.map(|words| (hatched(), words.to_owned()));
    let others = [
        Some((key::line("chip-cut"), "cut line")),
        Some((key::line("chip-net"), "finished edge")),
        (view.has_splices()).then(|| (key::line("chip-splice"), "splice: edge of the neighbour")),
        (view.has_kept()).then(|| (key::area("kept"), "kept as stock")),
        (!view.layout.flaws().is_empty()).then(|| (key::area(flaw.clone()), "flaw")),
        Some((key::area("unused"), "not used")),
    ];
    let others = others.into_iter().flatten();
    let others = others.map(|(chip, words)| (chip, words.to_owned()));
    let entries: Vec<(Markup, String)> = parts.chain(fibres).chain(others).collect();
    key::key("Key to the drawing", &entries)
}

/// The lines of a hatch across a chip of the key.
fn chip_hatch(direction: Angle) -> Vec<[Point; 2]> {
    let corners = [(1.0, 1.0), (27.0, 1.0), (27.0, 15.0), (1.0, 15.0)];
    let corners = corners.map(|(x, y)| Point::new(x, y));
    // Where y runs down a line that rises has a negative slope.
    let level = -direction;
    hatch::lines(&[corners.to_vec()], level, 5.0)
}
