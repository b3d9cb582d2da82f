//! Figures as SVG inside HTML.

use maud::{Markup, html};

use super::elements::Scale;
use crate::number::number;
use crate::output::drawing::figure::{Figure, Look};
use crate::output::drawing::shape::Shape;
use crate::output::style::CAPITALS_PER_SIZE;

/// `figure` inside a page in HTML, whose style sheet gives it its look.
pub(in crate::output) fn svg_figure(figure: &Figure) -> Markup {
    html! {
        svg class=(figure.kind) role="img" viewBox=(format!("0 0 {:.0} {:.0}", figure.width, figure.height))
            style=(format!("--wide:{:.0}px", figure.width)) aria-label=(figure.title) {
            @for item in &figure.drawing.items { (markup(item.layer, &item.shape)) }
        }
    }
}

/// `shape` as an element of HTML.
fn markup(look: Look, shape: &Shape) -> Markup {
    const SCALE: Scale = Scale {
        factor: 1.0,
        top: None,
        decimals: 1,
        has_arcs: false,
    };
    // What the style sheet does not know, or would overrule.
    let own = match (look, shape) {
        (Look::Region(shade), Shape::Area { .. }) => Some(("fill-opacity", format!("{shade:.2}"))),
        (_, Shape::Text(line)) if line.height != look.size() * CAPITALS_PER_SIZE => {
            let size = number(line.height / CAPITALS_PER_SIZE, 1);
            Some(("style", format!("font-size:{size}px")))
        }
        _ => None,
    };
    let mut attributes = vec![("class", look.class())];
    attributes.extend(own.iter().map(|(name, value)| (*name, value.as_str())));
    SCALE.markup(shape, &attributes)
}
