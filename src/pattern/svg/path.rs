//! The `d` attribute of a path → strokes.

use svgtypes::{PathParser, PathSegment};

use crate::geometry::{Point, Vector};
use crate::pattern::flatten::{Arc, CurvePen, EndArc};
use crate::pattern::shape::Stroke;

/// What a path's data drew, and the fault that ended it.
pub(super) struct Drawn {
    pub(super) strokes: Vec<Stroke>,
    /// Why the rest was not drawn; the subpath it is in is left out.
    pub(super) fault: Option<String>,
}

/// Draws the path data `d` (SVG 1.1, §8.3).
pub(super) fn draw(d: &str, pen: CurvePen<'_>) -> Drawn {
    let mut path = Path {
        pen,
        start: Point::default(),
        control: None,
        drawing: false,
        strokes: Vec::new(),
    };
    let mut fault = None;
    for segment in PathParser::from(d) {
        match segment {
            Ok(segment) => path.segment(segment),
            Err(error) => {
                fault = Some(error.to_string());
                path.drawing = false;
            }
        }
    }
    path.end(false);
    Drawn {
        strokes: path.strokes,
        fault,
    }
}

struct Path<'c> {
    pen: CurvePen<'c>,
    /// Where the present subpath starts.
    start: Point,
    /// The last control point and the degree of its curve, for the smooth commands.
    control: Option<(Point, u8)>,
    /// Whether the present subpath has been moved to and not ended.
    drawing: bool,
    strokes: Vec<Stroke>,
}

impl Path<'_> {
    fn segment(&mut self, segment: PathSegment) {
        let at = self.pen.at();
        let abs = segment.is_abs();
        let to = |x: f64, y: f64| {
            if abs {
                Point::new(x, y)
            } else {
                at + Vector::new(x, y)
            }
        };
        let control = self.control.take();
        let mirrored = |degree: u8| match control {
            Some((c, d)) if d == degree => at + (at - c),
            _ => at,
        };
        // A command after Z starts a new subpath at the old start.
        if !self.drawing && !matches!(segment, PathSegment::MoveTo { .. }) {
            self.pen.move_to(at);
            self.drawing = true;
        }
        match segment {
            PathSegment::MoveTo { x, y, .. } => {
                self.end(false);
                self.start = to(x, y);
                self.pen.move_to(self.start);
                self.drawing = true;
            }
            PathSegment::LineTo { x, y, .. } => self.pen.line_to(to(x, y)),
            PathSegment::HorizontalLineTo { x, .. } => {
                self.pen.line_to(Point::new(to(x, 0.0).x, at.y));
            }
            PathSegment::VerticalLineTo { y, .. } => {
                self.pen.line_to(Point::new(at.x, to(0.0, y).y));
            }
            PathSegment::CurveTo {
                x1,
                y1,
                x2,
                y2,
                x,
                y,
                ..
            } => {
                self.cubic(to(x1, y1), to(x2, y2), to(x, y));
            }
            PathSegment::SmoothCurveTo { x2, y2, x, y, .. } => {
                self.cubic(mirrored(3), to(x2, y2), to(x, y));
            }
            PathSegment::Quadratic { x1, y1, x, y, .. } => self.quadratic(to(x1, y1), to(x, y)),
            PathSegment::SmoothQuadratic { x, y, .. } => self.quadratic(mirrored(2), to(x, y)),
            PathSegment::EllipticalArc {
                rx,
                ry,
                x_axis_rotation,
                large_arc,
                sweep,
                x,
                y,
                ..
            } => {
                let ends = EndArc {
                    rx,
                    ry,
                    turn: x_axis_rotation,
                    large: large_arc,
                    positive: sweep,
                };
                match Arc::from_ends(at, to(x, y), ends) {
                    Some(arc) => self.pen.arc_to(&arc, to(x, y)),
                    None => self.pen.line_to(to(x, y)),
                }
            }
            PathSegment::ClosePath { .. } => self.end(true),
        }
    }

    fn cubic(&mut self, first: Point, second: Point, to: Point) {
        self.pen.cubic_to(first, second, to);
        self.control = Some((second, 3));
    }

    fn quadratic(&mut self, control: Point, to: Point) {
        self.pen.quadratic_to(control, to);
        self.control = Some((control, 2));
    }

    /// Ends the present subpath; closed or not, the pen of a closed one is back at its start.
    fn end(&mut self, closed: bool) {
        let mut points = self.pen.take();
        if self.drawing && points.len() > 1 {
            if closed && points.first() == points.last() {
                points.pop();
            }
            self.strokes.push(Stroke { points, closed });
        }
        self.drawing = false;
        if closed {
            self.pen.jump_to(self.start);
        }
    }
}
