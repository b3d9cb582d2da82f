//! Pages of paper: drawings in mm with y up, painted with pens and inks.

use super::face;
use super::shape::{Align, Drawing, Pointer, Shape, TextLine};
use crate::geometry::{Bounds, Point, Vector, trig};
use crate::output::style::{CAPITALS_PER_SIZE, Colour, Paint, Pen, ink};
use crate::units::Angle;

/// A page in the making: millimetres, origin in the lower left corner, y up.
#[derive(Clone, Debug)]
pub(in crate::output) struct Page {
    width: f64,
    height: f64,
    drawing: Drawing<Paint>,
}

impl Page {
    /// An empty page of `width` × `height` mm.
    pub(in crate::output) fn new(width: f64, height: f64) -> Self {
        Self {
            width,
            height,
            drawing: Drawing::default(),
        }
    }

    pub(in crate::output) const fn width(&self) -> f64 {
        self.width
    }

    pub(in crate::output) const fn height(&self) -> f64 {
        self.height
    }

    /// What is on it.
    pub(in crate::output) const fn drawing(&self) -> &Drawing<Paint> {
        &self.drawing
    }

    /// Paints `shape`.
    pub(in crate::output) fn paint(&mut self, shape: Shape, paint: Paint) {
        self.drawing.add(paint, None, shape);
    }

    /// Draws the lines of `shape`.
    pub(in crate::output) fn draw(&mut self, shape: Shape, pen: Pen) {
        self.paint(shape, Paint::pen(pen));
    }

    /// Fills what lies within the lines of `shape`.
    pub(in crate::output) fn fill(&mut self, shape: Shape, colour: Colour) {
        self.paint(shape, Paint::area(colour));
    }

    /// Draws a straight line.
    pub(in crate::output) fn edge(&mut self, ends: [Point; 2], pen: Pen) {
        self.draw(Shape::Edge(ends), pen);
    }

    /// Draws an arrow.
    pub(in crate::output) fn arrow(&mut self, arrow: &Pointer, pen: Pen) {
        self.edge(arrow.shaft, pen);
        if let Some(head) = arrow.head {
            self.fill(Shape::ring(head), pen.colour);
        }
    }

    /// What `draw` draws is shown only within `bounds`.
    pub(in crate::output) fn within(&mut self, bounds: Bounds, draw: impl FnOnce(&mut Self)) {
        let outer = self.drawing.within.replace(bounds);
        draw(self);
        self.drawing.within = outer;
    }

    /// Writes `line`.
    pub(in crate::output) fn write(&mut self, line: TextLine, colour: Colour) {
        self.paint(Shape::Text(line), Paint::area(colour));
    }

    /// Writes `line` in strong letters: the one face there is, with a pen around it.
    pub(in crate::output) fn write_strong(&mut self, line: TextLine, colour: Colour) {
        /// Width of the pen, in sizes of the font.
        const STRONG: f64 = 0.035;
        let width = STRONG * line.height / CAPITALS_PER_SIZE;
        self.paint(Shape::Text(line), Paint::line(colour, width).over(colour));
    }

    /// Writes `text` with capitals of `height` mm from its point on the baseline.
    pub(in crate::output) fn text(
        &mut self,
        text: &str,
        at: Point,
        height: f64,
        align: Align,
        colour: Colour,
    ) {
        self.write(TextLine::level(text, at, align, height), colour);
    }

    /// Writes `text` from `at` on in black.
    pub(in crate::output) fn words(&mut self, text: &str, at: Point, height: f64) {
        self.text(text, at, height, Align::Left, ink::BLACK);
    }

    /// A white ground for `line`, which is to be written over a drawing: so far (mm) beyond its ends,
    /// below its baseline and above its capitals.
    pub(in crate::output) fn ground(&mut self, line: &TextLine, [ends, below, above]: [f64; 3]) {
        let width = face::width(&line.text, line.height);
        let left = -line.align.back(width) - ends;
        let (right, low, high) = (left + width + 2.0 * ends, -below, line.height + above);
        let (sin, cos) = trig::sin_cos(line.angle);
        let corners = [(left, low), (right, low), (right, high), (left, high)];
        let at = line.baseline();
        let corners = corners.map(|(x, y)| at + Vector::new(x * cos - y * sin, x * sin + y * cos));
        self.fill(Shape::ring(corners), ink::WHITE);
    }

    /// `text` with the middle of its baseline at `at`, on a white ground.
    pub(in crate::output) fn inset(&mut self, text: &str, at: Point, height: f64, angle: Angle) {
        let line = TextLine {
            angle,
            ..TextLine::level(text, at, Align::Middle, height)
        };
        self.ground(&line, [0.3 * height, 0.35 * height, 0.3 * height]);
        self.write(line, ink::BLACK);
    }
}
