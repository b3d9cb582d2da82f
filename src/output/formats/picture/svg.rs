//! The picture as SVG 1.1.

use std::fmt::Write as _;

use svg::node::Node as _;
use svg::node::element::{Element, Rectangle, SVG};

use super::{Picture, WIDTH};
use crate::geometry::Bounds;
use crate::number::number;
use crate::output::drawing::shape::{Align, Drawn, Shape};
use crate::output::formats::svg::elements::Scale;
use crate::output::style::{Paint, hex, ink};

/// A picture is in pixels, and y runs down in it.
const SCALE: Scale = Scale {
    factor: 1.0,
    top: None,
    decimals: 2,
    has_arcs: false,
};

impl Picture {
    /// The picture as an SVG file.
    #[must_use]
    pub fn svg(&self) -> String {
        let ground = Rectangle::new()
            .set("width", "100%")
            .set("height", "100%")
            .set("fill", hex(ink::WHITE));
        let mut document = SVG::new()
            .set("width", WIDTH)
            .set("height", self.height)
            .set("viewBox", format!("0 0 {WIDTH} {}", self.height))
            .set("font-family", "'DejaVu Sans', Verdana, sans-serif")
            .add(ground);
        for items in self.drawing.items.chunk_by(|a, b| a.within == b.within) {
            let elements = items.iter().flat_map(elements);
            match items[0].within {
                Some(window) => document.append(elements.fold(view(&window), SVG::add)),
                None => elements.for_each(|element| document.append(element)),
            }
        }
        let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
        _ = writeln!(text, "{document}");
        text
    }
}

/// What shows its content within a box only.
fn view(window: &Bounds) -> SVG {
    let [x, y] = [window.min.x, window.min.y].map(|v| number(v, 2));
    let [width, height] = [window.width(), window.height()].map(|v| number(v, 2));
    let extent = format!("{x} {y} {width} {height}");
    SVG::new()
        .set("x", x)
        .set("y", y)
        .set("width", width)
        .set("height", height)
        .set("viewBox", extent)
}

/// `item` as it is painted.
fn elements(item: &Drawn<Paint>) -> Vec<Element> {
    let mut elements = SCALE.elements(&item.shape);
    for element in &mut elements {
        paint(element, &item.layer);
        if let Shape::Text(line) = &item.shape {
            // The halo lies beneath the letters.
            element.assign("paint-order", "stroke");
            if line.align == Align::Middle {
                element.assign("text-anchor", "middle");
            }
        }
    }
    elements
}

fn paint(element: &mut Element, paint: &Paint) {
    element.assign("fill", paint.area.map_or_else(|| "none".to_owned(), hex));
    let Some(pen) = &paint.line else {
        return;
    };
    element.assign("stroke", hex(pen.colour));
    element.assign("stroke-width", number(pen.width, 3));
    let dashes: Vec<String> = pen.dashes().map(|length| number(length, 3)).collect();
    if !dashes.is_empty() {
        element.assign("stroke-dasharray", dashes.join(" "));
    }
}
