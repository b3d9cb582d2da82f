//! The picture as SVG 1.1.

use std::fmt::Write as _;

use svg::node::Node as _;
use svg::node::element::{Element, Rectangle, SVG};

use super::{Picture, WIDTH};
use crate::geometry::Bounds;
use crate::number::number;
use crate::output::drawing::page::Page;
use crate::output::drawing::shape::{Align, Drawing, Drawn, Shape};
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
        painted(&self.drawing, &SCALE, [WIDTH, self.height])
    }
}

/// A page of paper as a picture.
pub(in crate::output) fn page(page: &Page) -> String {
    let scale = Scale {
        top: Some(page.height()),
        ..SCALE
    };
    painted(page.drawing(), &scale, [page.width(), page.height()])
}

/// An SVG file of this width and height.
fn painted(drawing: &Drawing<Paint>, scale: &Scale, [width, height]: [f64; 2]) -> String {
    let ground = Rectangle::new()
        .set("width", "100%")
        .set("height", "100%")
        .set("fill", hex(ink::WHITE));
    let mut document = SVG::new()
        .set("width", width)
        .set("height", height)
        .set("viewBox", format!("0 0 {width} {height}"))
        .set("font-family", "'DejaVu Sans', Verdana, sans-serif")
        .add(ground);
    for items in drawing.items.chunk_by(|a, b| a.within == b.within) {
        let elements = items.iter().flat_map(|item| elements(item, scale));
        match items[0].within {
            Some(window) => {
                document.append(elements.fold(view(&window, scale), SVG::add));
            }
            None => elements.for_each(|element| document.append(element)),
        }
    }
    let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    _ = writeln!(text, "{document}");
    text
}

/// What shows its content within a box only.
fn view(window: &Bounds, scale: &Scale) -> SVG {
    let top = scale.top.map_or(window.min.y, |top| top - window.max.y);
    let [x, y] = [window.min.x, top].map(|v| number(v, 2));
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
fn elements(item: &Drawn<Paint>, scale: &Scale) -> Vec<Element> {
    let mut elements = scale.elements(&item.shape);
    for element in &mut elements {
        paint(element, &item.layer);
        if let Shape::Text(line) = &item.shape {
            // The halo lies beneath the letters.
            element.assign("paint-order", "stroke");
            let anchor = match line.align {
                Align::Left => None,
                Align::Middle | Align::Centre => Some("middle"),
                Align::Right => Some("end"),
            };
            if let Some(anchor) = anchor {
                element.assign("text-anchor", anchor);
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
