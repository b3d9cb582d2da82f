//! The basic shapes (SVG 1.1, §9) → strokes.

use roxmltree::Node;
use svgtypes::PointsParser;

use super::size::user_units;
use crate::geometry::{Point, Vector};
use crate::pattern::flatten::{Arc, CurvePen, Vertex};
use crate::pattern::shape::Stroke;

/// Draws a basic shape; percentages refer to `view`.
///
/// # Errors
/// What is wrong with one of its attributes.
pub(super) fn draw(
    node: Node<'_, '_>,
    view: (f64, f64),
    pen: CurvePen<'_>,
) -> Result<Vec<Stroke>, String> {
    let shape = Attributes { node, view };
    let stroke = match node.tag_name().name() {
        "rect" => shape.rect(pen)?,
        "circle" => {
            let r = shape.across_both("r")?;
            ellipse(shape.point("cx", "cy")?, r, r, pen)
        }
        "ellipse" => {
            let (rx, ry) = (shape.radius("rx", view.0)?, shape.radius("ry", view.1)?);
            // One radius alone stands for both (SVG 2, §9.4).
            let (rx, ry) = (rx.or(ry), ry.or(rx));
            ellipse(
                shape.point("cx", "cy")?,
                rx.unwrap_or(0.0),
                ry.unwrap_or(0.0),
                pen,
            )
        }
        "line" => Some(polyline(
            &[shape.point("x1", "y1")?, shape.point("x2", "y2")?],
            false,
            pen,
        )),
        "polyline" => shape.points(false, pen)?,
        "polygon" => shape.points(true, pen)?,
        _ => None,
    };
    Ok(stroke.into_iter().collect())
}

struct Attributes<'a, 'input> {
    node: Node<'a, 'input>,
    view: (f64, f64),
}

impl Attributes<'_, '_> {
    /// A length attribute, if it is there.
    fn length(&self, name: &str, whole: f64) -> Result<Option<f64>, String> {
        let Some(text) = self.node.attribute(name) else {
            return Ok(None);
        };
        match user_units(text, whole) {
            Ok(value) => Ok(Some(value)),
            Err(error) => Err(format!("attribute {name}=\"{text}\" is no length: {error}")),
        }
    }

    fn point(&self, x: &str, y: &str) -> Result<Point, String> {
        Ok(Point::new(
            self.length(x, self.view.0)?.unwrap_or(0.0),
            self.length(y, self.view.1)?.unwrap_or(0.0),
        ))
    }

    /// A radius; `auto` and a negative one count as not stated.
    fn radius(&self, name: &str, whole: f64) -> Result<Option<f64>, String> {
        if self.node.attribute(name).map(str::trim) == Some("auto") {
            return Ok(None);
        }
        Ok(self.length(name, whole)?.filter(|&r| r >= 0.0))
    }

    /// A length whose percentages refer to the diagonal (SVG 1.1, §7.10).
    fn across_both(&self, name: &str) -> Result<f64, String> {
        let diagonal = Vector::new(self.view.0, self.view.1).length() / std::f64::consts::SQRT_2;
        Ok(self.length(name, diagonal)?.unwrap_or(0.0))
    }

    fn rect(&self, mut pen: CurvePen<'_>) -> Result<Option<Stroke>, String> {
        let corner = self.point("x", "y")?;
        let width = self.length("width", self.view.0)?.unwrap_or(0.0);
        let height = self.length("height", self.view.1)?.unwrap_or(0.0);
        if width <= 0.0 || height <= 0.0 {
            return Ok(None);
        }
        let (rx, ry) = (
            self.radius("rx", self.view.0)?,
            self.radius("ry", self.view.1)?,
        );
        let (rx, ry) = (rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0));
        let (rx, ry) = (rx.min(width / 2.0), ry.min(height / 2.0));
        let at = |x: f64, y: f64| corner + Vector::new(x, y);
        if rx == 0.0 || ry == 0.0 {
            let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
            let corners = corners.map(|(x, y)| at(x, y));
            return Ok(Some(polyline(&corners, true, pen)));
        }
        let quarter = |centre: Point, u: Vector, v: Vector| Arc {
            centre,
            u,
            v,
            start: 0.0,
            sweep: std::f64::consts::FRAC_PI_2,
        };
        let (right, down) = (Vector::new(rx, 0.0), Vector::new(0.0, ry));
        let (x, y) = (width - rx, height - ry);
        pen.move_to(at(rx, 0.0));
        pen.line_to(at(x, 0.0));
        pen.arc_to(&quarter(at(x, ry), -down, right), at(width, ry));
        pen.line_to(at(width, y));
        pen.arc_to(&quarter(at(x, y), right, down), at(x, height));
        pen.line_to(at(rx, height));
        pen.arc_to(&quarter(at(rx, y), down, -right), at(0.0, y));
        pen.line_to(at(0.0, ry));
        pen.arc_to(&quarter(at(rx, ry), -right, -down), at(rx, 0.0));
        let mut points = pen.take();
        points.pop();
        Ok(Some(Stroke {
            points,
            closed: true,
        }))
    }

    fn points(&self, closed: bool, pen: CurvePen<'_>) -> Result<Option<Stroke>, String> {
        let text = self.node.attribute("points").unwrap_or_default();
        let numbers = text
            .split([' ', ',', '\n', '\t', '\r'])
            .filter(|n| !n.is_empty());
        let points: Vec<Point> = PointsParser::from(text)
            .map(|(x, y)| Point::new(x, y))
            .collect();
        if let Some(odd) = numbers.clone().find(|n| n.parse::<f64>().is_err()) {
            // Numbers may run together ("1-2"), which only the parser can tell.
            if points.is_empty() || odd.chars().any(|c| !"+-.eE0123456789".contains(c)) {
                return Err(format!(
                    "attribute points holds \"{odd}\", which is no number"
                ));
            }
        }
        Ok((points.len() > 1).then(|| polyline(&points, closed, pen)))
    }
}

fn ellipse(centre: Point, rx: f64, ry: f64, mut pen: CurvePen<'_>) -> Option<Stroke> {
    if rx <= 0.0 || ry <= 0.0 {
        return None;
    }
    pen.ellipse(centre, Vector::new(rx, 0.0), Vector::new(0.0, ry));
    Some(Stroke {
        points: pen.take(),
        closed: true,
    })
}

fn polyline(points: &[Point], closed: bool, mut pen: CurvePen<'_>) -> Stroke {
    let vertices: Vec<Vertex> = points.iter().map(|&p| p.into()).collect();
    pen.polyline(&vertices, closed);
    Stroke {
        points: pen.take(),
        closed,
    }
}
