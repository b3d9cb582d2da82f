//! Outlines as a drawing that is a pattern again, to be corrected by hand.

use std::fmt::Write as _;

use svg::Document;
use svg::node::element::{Circle as SvgCircle, Element, Group, Path};

use super::elements::{Scale, worded};
use crate::geometry::{Bounds, Circle, Point};
use crate::number::COORDINATE;
use crate::pattern::Pattern;

/// Room around the outlines, mm.
const ROOM: f64 = 10.0;
/// Radius of a place to drill or locate by, mm.
const PLACE: f64 = 1.0;

/// The outlines and marks of `pattern` as SVG 1.1 in millimetres, true size: a group for each layer, arcs as arcs. `None`
/// if it has no outline.
#[must_use]
pub fn outlines_svg(pattern: &Pattern) -> Option<String> {
    let outers = pattern.outlines().iter().map(|o| o.outline.bounds());
    let Bounds { min, max } = outers.reduce(|a, b| a.union(&b))?;
    // Many programs take the corner of the page for the origin.
    let shift = Point::new(ROOM, ROOM) - min;
    let [width, height] = [max.x - min.x, max.y - min.y].map(|side| side + 2.0 * ROOM);
    let scale = Scale {
        factor: 1.0,
        top: Some(height),
        decimals: COORDINATE,
        has_arcs: true,
    };
    let size = [width, height].map(|length| scale.length(length));
    let moved = |points: &[Point]| points.iter().map(|&p| p + shift).collect::<Vec<Point>>();
    let circles: Vec<Circle> = (pattern.circles().iter())
        .map(|circle| Circle {
            centre: circle.centre + shift,
            ..*circle
        })
        .collect();
    let mut document = Document::new()
        .set("version", "1.1")
        .set("width", format!("{}mm", size[0]))
        .set("height", format!("{}mm", size[1]))
        .set("viewBox", format!("0 0 {} {}", size[0], size[1]))
        .add(worded("title", pattern.file()));
    let mut layers: Vec<(&str, Vec<Element>)> = Vec::new();
    let mut add = |layer, element: Element| match layers.iter_mut().find(|l| l.0 == layer) {
        Some((_, elements)) => elements.push(element),
        None => layers.push((layer, vec![element])),
    };
    let path = |id: &str, data: String| Path::new().set("id", id).set("d", data).into();
    for found in pattern.outlines() {
        let rings = std::iter::once(&found.outline.outer).chain(&found.outline.openings);
        let rings: Vec<Vec<Point>> = rings.map(|ring| moved(ring.points())).collect();
        let data = scale.area(&rings, &circles);
        add(found.layer.as_str(), path(&found.id, data));
    }
    for mark in pattern.marks() {
        let points = moved(&mark.points);
        let element = match points[..] {
            [at] => SvgCircle::new()
                .set("id", mark.id.as_str())
                .set("cx", scale.length(at.x))
                .set("cy", scale.length(height - at.y))
                .set("r", PLACE)
                .into(),
            _ => path(&mark.id, scale.line(&points, mark.closed)),
        };
        add(mark.layer.as_str(), element);
    }
    for (layer, elements) in layers {
        let group = Group::new()
            .set("id", layer)
            .set("fill", "none")
            .set("stroke", "black")
            .set("stroke-width", 0.25)
            .add(worded("title", layer));
        document = document.add(elements.into_iter().fold(group, Group::add));
    }
    let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    _ = writeln!(text, "{document}");
    Some(text)
}
