//! How shapes become elements, whatever file or page they stand in.

use std::fmt::Write as _;

use maud::{Markup, PreEscaped};
use svg::node::element::{Circle as SvgCircle, Element, Line, Path, Rectangle};
use svg::node::{Node as _, Text};

use crate::geometry::{Circle, Point};
use crate::number::{number, vertices};
use crate::output::drawing::arcs::{Vertex, with_arcs};
use crate::output::drawing::label::is_printable;
use crate::output::drawing::shape::{Shape, TextLine};
use crate::output::style::CAPITALS_PER_SIZE;

/// From a drawing to a page where y runs down.
pub(in crate::output) struct Scale {
    /// Units of the page in one of the drawing.
    pub(in crate::output) factor: f64,
    /// The height in the drawing that is the top of the page; none where y runs down already.
    pub(in crate::output) top: Option<f64>,
    /// Decimals of written coordinates.
    pub(in crate::output) decimals: i32,
    /// Whether arcs take the place of chords that lie on one.
    pub(in crate::output) has_arcs: bool,
}

impl Scale {
    /// The elements of `shape`; who uses them says how they look.
    pub(in crate::output) fn elements(&self, shape: &Shape) -> Vec<Element> {
        match shape {
            Shape::Area { rings, circles } => {
                let path = Path::new()
                    .set("fill-rule", "evenodd")
                    .set("d", self.area(rings, circles));
                vec![path.into()]
            }
            Shape::Rectangle(bounds) => {
                let upper = self.top.map_or(bounds.min.y, |_| bounds.max.y);
                let (x, y) = self.xy(Point::new(bounds.min.x, upper));
                let rectangle = Rectangle::new()
                    .set("x", x)
                    .set("y", y)
                    .set("width", self.length(bounds.width()))
                    .set("height", self.length(bounds.height()));
                vec![rectangle.into()]
            }
            Shape::Line { points, closed } => vec![path(self.line(points, *closed)).into()],
            Shape::Lines(lines) => {
                let data = lines.iter().map(|line| self.line(line, false));
                vec![path(data.collect()).into()]
            }
            Shape::Dot { centre, radius } => {
                let (x, y) = self.xy(*centre);
                let circle = SvgCircle::new()
                    .set("cx", x)
                    .set("cy", y)
                    .set("r", self.length(*radius));
                vec![circle.into()]
            }
            Shape::Edge(ends) => vec![path(self.line(ends, false)).into()],
            Shape::Pointer(pointer) => {
                let [(x1, y1), (x2, y2)] = pointer.shaft.map(|p| self.xy(p));
                let shaft = Line::new()
                    .set("x1", x1)
                    .set("y1", y1)
                    .set("x2", x2)
                    .set("y2", y2);
                let head = pointer.head.map(|head| path(self.line(&head, true)).into());
                std::iter::once(shaft.into()).chain(head).collect()
            }
            Shape::Text(line) => vec![self.text(line)],
        }
    }

    /// `shape` with these attributes, for a page in HTML.
    pub(in crate::output) fn markup(&self, shape: &Shape, attributes: &[(&str, &str)]) -> Markup {
        let elements = self.elements(shape).into_iter();
        let drawn = elements.map(|mut element| {
            for &(name, value) in attributes {
                element.assign(name, value);
            }
            element.to_string()
        });
        PreEscaped(drawn.collect())
    }

    /// `point` as written.
    fn xy(&self, point: Point) -> (String, String) {
        let y = self.top.map_or(point.y, |top| top - point.y);
        (self.length(point.x), self.length(y))
    }

    /// A length as written.
    pub(super) fn length(&self, length: f64) -> String {
        number(length * self.factor, self.decimals)
    }

    fn text(&self, line: &TextLine) -> Element {
        let (x, y) = self.xy(line.baseline());
        let size = line.height * self.factor / CAPITALS_PER_SIZE;
        let mut text = worded("text", &line.text);
        text.assign("x", x.as_str());
        text.assign("y", y.as_str());
        text.assign("font-size", number(size, (self.decimals - 2).max(2)));
        let degrees = line.angle.to_degrees();
        if degrees != 0.0 {
            // Counter-clockwise in the drawing is negative where y runs down.
            let turn = format!("rotate({} {x} {y})", number(-degrees, 4));
            text.assign("transform", turn);
        }
        text
    }

    /// Path data of closed lines.
    pub(in crate::output) fn area(&self, rings: &[Vec<Point>], circles: &[Circle]) -> String {
        let rings = rings.iter().map(|ring| vertices(ring));
        if self.has_arcs {
            return rings
                .map(|ring| self.arcs(&with_arcs(&ring, circles)))
                .collect();
        }
        let rings: Vec<String> = rings.map(|ring| self.line(&ring, true)).collect();
        rings.join(" ")
    }

    /// Path data of a closed line with arcs.
    fn arcs(&self, line: &[Vertex]) -> String {
        let line = in_quarters(line);
        let mut data = String::new();
        for (i, vertex) in line.iter().enumerate() {
            let (x, y) = self.xy(vertex.point);
            if i == 0 {
                _ = write!(data, "M{x},{y}");
            }
            let next = line[(i + 1) % line.len()].point;
            let (x, y) = self.xy(next);
            if vertex.bulge == 0.0 {
                if i + 1 < line.len() {
                    _ = write!(data, " L{x},{y}");
                }
            } else {
                let radius = self.length(vertex.radius(next));
                // To the left is against the clock, also where y runs down the page.
                let sweep = i32::from(vertex.bulge < 0.0);
                _ = write!(data, " A{radius},{radius} 0 0 {sweep} {x},{y}");
            }
        }
        data.push('Z');
        data
    }

    /// Path data of the line through `points`, closed or not.
    pub(in crate::output) fn line(&self, points: &[Point], closed: bool) -> String {
        let mut data = String::new();
        for (i, &point) in points.iter().enumerate() {
            let (x, y) = self.xy(point);
            let command = if i == 0 { "M" } else { " L" };
            _ = write!(data, "{command}{x},{y}");
        }
        if closed {
            data.push('Z');
        }
        data
    }
}

fn path(data: String) -> Path {
    Path::new().set("d", data)
}

/// An element that holds `words` and no white space around them.
pub(super) fn worded(element: &str, words: &str) -> Element {
    let mut element = Element::new(element);
    element.append(Text::new(printable(words)));
    element
}

/// A closed line with arcs of more than a quarter turn halved: SVG gives an arc by its radius, and
/// where the ends are nearly a diameter apart a rounded radius says little about the centre.
fn in_quarters(line: &[Vertex]) -> Vec<Vertex> {
    /// Bulge of a quarter turn, tan 22.5°, and a little more for what is rounded.
    const QUARTER: f64 = 0.415;
    let next = line.iter().cycle().skip(1);
    line.iter()
        .zip(next)
        .flat_map(|(vertex, next)| {
            if vertex.bulge.abs() > QUARTER {
                vertex.halves(next.point).to_vec()
            } else {
                vec![*vertex]
            }
        })
        .collect()
}

/// `text` without the characters XML 1.0 cannot hold.
pub(super) fn printable(text: &str) -> String {
    text.chars().filter(|&c| is_printable(c)).collect()
}
