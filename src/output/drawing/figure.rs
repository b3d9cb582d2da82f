//! Small drawings that stand in a page: what is on them, whatever shows them.
//!
//! Made once in pixels (y down) and then written as SVG inside HTML or drawn in a PDF, so that the
//! two cannot disagree.

use super::page::Page;
use super::shape::{Align, Drawing, Shape, TextLine};
use crate::geometry::{Outline, Point, Vector};
use crate::output::style::{CAPITALS_PER_SIZE, Colour, Dash, PRINTED, Paint, Pen, Scheme, ink};

/// A drawing in pixels, y down.
#[derive(Clone, Debug)]
pub(in crate::output) struct Figure {
    /// What kind of drawing it is: its class in HTML.
    pub(in crate::output) kind: &'static str,
    pub(in crate::output) width: f64,
    pub(in crate::output) height: f64,
    /// What it shows, for those who cannot see it.
    pub(in crate::output) title: String,
    /// What is on it; angles are counter-clockwise on the page.
    pub(in crate::output) drawing: Drawing<Look>,
}

/// What a mark means, which says how it looks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::output) enum Look {
    Mould,
    Ply,
    Zero,
    Warp,
    Weft,
    /// Fibres that run neither along nor across the warp.
    Fibres,
    Head,
    Leader,
    /// The edge of the piece on top, at a joint.
    Edge,
    /// An edge that lies beneath another piece.
    Hidden,
    /// Where a leader ends.
    End,
    /// Where two pieces lie on one another.
    Lap,
    /// The edge of a ply, drawn over what is on it.
    Rim,
    /// The part beneath a ply that does not cover it.
    Whole,
    /// Fibres all over a ply.
    Hatch,
    /// An opening that is cut after cure.
    Uncut,
    /// A line that is measured from.
    Datum,
    /// A region of a part, darker the thicker it is (0 … 1).
    Region(f64),
    /// Sheared cloth on a mould, darker the more it is sheared (0 … 1).
    Shear(f64),
    /// Sheared beyond what the cloth bears.
    Locked,
    /// A yarn on a mould.
    Yarn,
    /// A place to watch.
    Watch,
    /// One of several areas, by its number.
    Tint(usize),
    Name,
    Small,
    /// A name in the middle of what it names.
    Inside,
    /// A remark in the middle of what it is about.
    Along,
    /// The angle of fibres, at the end of their line.
    OfFibres,
}

impl Look {
    /// The class that it is in a style sheet.
    pub(in crate::output) const fn class(self) -> &'static str {
        match self {
            Self::Mould => "mould",
            Self::Ply => "ply",
            Self::Zero => "zero",
            Self::Warp => "warp",
            Self::Weft => "weft",
            Self::Fibres => "fibres",
            Self::Head => "head",
            Self::Leader => "leader",
            Self::Edge => "edge",
            Self::Hidden => "hidden",
            Self::End => "end",
            Self::Lap => "lap",
            Self::Rim => "rim",
            Self::Whole => "whole",
            Self::Hatch => "hatch",
            Self::Uncut => "uncut",
            Self::Datum => "datum",
            Self::Region(_) => "region",
            Self::Shear(_) => "shear",
            Self::Locked => "locked",
            Self::Yarn => "yarn",
            Self::Watch => "watch",
            Self::Tint(_) => "tint",
            Self::Name => "n",
            Self::Small => "small",
            Self::Inside => "inside",
            Self::Along => "along",
            Self::OfFibres => "of-fibres",
        }
    }

    /// What its line is drawn with, pixels.
    pub(in crate::output) const fn line(self) -> Option<Pen> {
        const SOLID: Dash = &[];
        let (colour, width, dash) = match self {
            Self::Mould | Self::Leader | Self::Whole => (ink::GREY, 0.8, SOLID),
            Self::Hatch => (ink::PALE, 0.7, SOLID),
            Self::Uncut => (ink::PRINT, 1.0, &[5.0, 3.0] as Dash),
            Self::Datum => (ink::PRINT, 1.0, &[10.0, 3.0, 2.0, 3.0] as Dash),
            Self::Ply | Self::Rim => (ink::PRINT, 1.0, SOLID),
            Self::Zero => (ink::GREY, 1.0, &[4.0, 3.0] as Dash),
            Self::Warp => (ink::PRINT, 2.2, SOLID),
            Self::Weft => (ink::PRINT, 0.9, SOLID),
            Self::Fibres => (ink::GREY, 0.9, SOLID),
            Self::Edge => (ink::PRINT, 1.6, SOLID),
            Self::Hidden => (ink::PRINT, 1.0, &[3.0, 2.5] as Dash),
            Self::Region(_) => (ink::PRINT, 0.8, SOLID),
            Self::Shear(_) | Self::Tint(_) => (ink::PRINT, 0.3, SOLID),
            Self::Locked => (ink::PRINT, 0.7, SOLID),
            Self::Yarn => (ink::PRINT, 0.5, SOLID),
            Self::Watch => (ink::PRINT, 1.8, SOLID),
            Self::Head
            | Self::End
            | Self::Lap
            | Self::Name
            | Self::Small
            | Self::Inside
            | Self::Along
            | Self::OfFibres => return None,
        };
        Some(Pen::dashed(colour, width, dash, 1.0))
    }

    /// What its area is filled with.
    pub(in crate::output) fn area(self, scheme: &Scheme) -> Option<Colour> {
        match self {
            Self::Mould | Self::Lap => Some(scheme.unused),
            Self::Ply => Some(ink::WHITE),
            Self::Head | Self::End => Some(ink::PRINT),
            // As the drawing in HTML: that colour over white.
            Self::Tint(k) => Some(scheme.tints[k % scheme.tints.len()]),
            Self::Region(shade) | Self::Shear(shade) => Some(mixed(scheme.strong, shade)),
            _ => None,
        }
    }

    /// Size of its letters, pixels.
    pub(in crate::output) const fn size(self) -> f64 {
        match self {
            Self::Small | Self::Along => 12.0,
            Self::OfFibres => 10.0,
            _ => 13.0,
        }
    }

    const fn is_strong(self) -> bool {
        matches!(self, Self::Name | Self::Inside)
    }

    /// What of its texts is at their point.
    const fn align(self) -> Align {
        match self.is_inside() {
            true => Align::Middle,
            false => Align::Left,
        }
    }

    /// Whether its texts stand in the middle of something, on a white ground of their own.
    pub(in crate::output) const fn is_inside(self) -> bool {
        matches!(self, Self::Inside | Self::Along | Self::OfFibres)
    }
}

/// So much of `colour` in white.
fn mixed(colour: Colour, share: f64) -> Colour {
    colour.map(|v| (255.0 - (255.0 - f64::from(v)) * share).round() as u8)
}

impl Drawing<Look> {
    /// Adds a level text of the usual size at a point on its baseline: its left end, or its middle.
    pub(in crate::output) fn text(&mut self, look: Look, at: Point, text: impl Into<String>) {
        let height = look.size() * CAPITALS_PER_SIZE;
        let line = TextLine::level(text, at, look.align(), height);
        self.add(look, None, Shape::Text(line));
    }
}

/// The rings of `outlines` in a drawing, where `at` says; points nearer than a third of a pixel
/// add nothing.
pub(in crate::output) fn rings<'o>(
    outlines: impl IntoIterator<Item = &'o Outline>,
    at: impl Fn(Point) -> Point,
) -> Vec<Vec<Point>> {
    let rings = outlines.into_iter().flat_map(Outline::rings);
    rings
        .map(|ring| {
            let mut points: Vec<Point> = Vec::new();
            for point in ring.points().iter().map(|&p| at(p)) {
                if points
                    .last()
                    .is_none_or(|last| point.distance(*last) >= 0.3)
                {
                    points.push(point);
                }
            }
            points
        })
        .collect()
}

impl Figure {
    /// The two side by side, `between` pixels apart, as one drawing.
    pub(in crate::output) fn beside(&self, other: &Self, between: f64) -> Self {
        let mut both = self.clone();
        let right = Vector::new(self.width + between, 0.0);
        for item in &other.drawing.items {
            let shape = item.shape.mapped(|p| p + right, 1.0);
            both.drawing.add(item.layer, None, shape);
        }
        both.width += between + other.width;
        both.height = both.height.max(other.height);
        both.title = format!("{}; {}", self.title, other.title);
        both
    }

    /// Draws it with its upper left corner at `corner`, a pixel being `scale` mm.
    pub(in crate::output) fn draw(&self, page: &mut Page, corner: Point, scale: f64) {
        let at = |p: Point| Point::new(corner.x + p.x * scale, corner.y - p.y * scale);
        for item in &self.drawing.items {
            let look = item.layer;
            match item.shape.mapped(at, scale) {
                Shape::Text(line) => {
                    if look.is_inside() {
                        page.ground(&line, [2.0 * scale; 3]);
                    }
                    match look.is_strong() {
                        true => page.write_strong(line, ink::PRINT),
                        false => page.write(line, ink::PRINT),
                    }
                }
                shape => {
                    let (area, line) = (look.area(PRINTED), look.line());
                    let line = line.map(|pen| pen.scaled(scale));
                    page.paint(shape, Paint { area, line });
                }
            }
        }
    }
}
