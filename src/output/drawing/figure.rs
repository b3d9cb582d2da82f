//! Small drawings that stand in a page: what is on them, whatever shows them.
//!
//! Made once in pixels (y down) and then written as SVG inside HTML or drawn in a PDF, so that the
//! two cannot disagree.

use maud::{Markup, html};

use super::shape::{Align, Shape, TextLine};
use crate::geometry::{Outline, Point};
use crate::output::formats::pdf::{Page, Pen};
use crate::output::formats::svg::elements::Scale;
use crate::output::number::number;
use crate::output::style::{CAPITALS_PER_SIZE, Colour, PRINTED, ink};
use crate::units::Angle;

/// A drawing in pixels, y down.
#[derive(Clone, Debug)]
pub(in crate::output) struct Figure {
    /// What kind of drawing it is: its class in HTML.
    pub(in crate::output) kind: &'static str,
    pub(in crate::output) width: f64,
    pub(in crate::output) height: f64,
    /// What it shows, for those who cannot see it.
    pub(in crate::output) title: String,
    /// What is on it, the lowest first.
    pub(in crate::output) marks: Vec<Mark>,
}

/// Something on a drawing.
#[derive(Clone, Debug)]
pub(in crate::output) enum Mark {
    Line(Look, Vec<Point>),
    Area(Look, Vec<Vec<Point>>),
    Dot(Point, f64),
    Text(Label),
}

/// A text on a drawing.
#[derive(Clone, Debug)]
pub(in crate::output) struct Label {
    pub(in crate::output) look: Look,
    /// A point on its baseline: its left end, or its middle.
    pub(in crate::output) at: Point,
    pub(in crate::output) text: String,
    /// Where it does not have the size of its look, pixels.
    pub(in crate::output) size: Option<f64>,
    /// Counter-clockwise on the page.
    pub(in crate::output) angle: Angle,
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
    /// Where two pieces lie on one another.
    Lap,
    /// The edge of a ply, drawn over what is on it.
    Rim,
    /// A region of a part, darker the thicker it is (0 … 1).
    Region(f64),
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
    const fn class(self) -> &'static str {
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
            Self::Lap => "lap",
            Self::Rim => "rim",
            Self::Region(_) => "region",
            Self::Name => "n",
            Self::Small => "small",
            Self::Inside => "inside",
            Self::Along => "along",
            Self::OfFibres => "of-fibres",
        }
    }

    /// What its line is drawn with, pixels.
    const fn line(self) -> Option<Pen> {
        let (colour, width, dash) = match self {
            Self::Mould | Self::Leader => (ink::GREY, 0.8, None),
            Self::Ply | Self::Rim => (ink::PRINT, 1.0, None),
            Self::Zero => (ink::GREY, 1.0, Some((4.0, 3.0))),
            Self::Warp => (ink::PRINT, 2.2, None),
            Self::Weft => (ink::PRINT, 0.9, None),
            Self::Fibres => (ink::GREY, 0.9, None),
            Self::Edge => (ink::PRINT, 1.6, None),
            Self::Hidden => (ink::PRINT, 1.0, Some((3.0, 2.5))),
            Self::Region(_) => (ink::PRINT, 0.8, None),
            Self::Head
            | Self::Lap
            | Self::Name
            | Self::Small
            | Self::Inside
            | Self::Along
            | Self::OfFibres => return None,
        };
        Some(Pen {
            colour,
            width,
            dash,
        })
    }

    /// What its area is filled with.
    fn area(self) -> Option<Colour> {
        match self {
            Self::Mould | Self::Lap => Some(PRINTED.unused),
            Self::Ply => Some(ink::WHITE),
            Self::Head => Some(ink::PRINT),
            // As the drawing in HTML: that colour over white.
            Self::Region(shade) => Some(
                PRINTED
                    .strong
                    .map(|v| (255.0 - (255.0 - f64::from(v)) * shade).round() as u8),
            ),
            _ => None,
        }
    }

    /// Size of its letters, pixels.
    const fn size(self) -> f64 {
        match self {
            Self::Small | Self::Along => 12.0,
            Self::OfFibres => 10.0,
            _ => 13.0,
        }
    }

    const fn is_strong(self) -> bool {
        matches!(self, Self::Name | Self::Inside)
    }

    /// Whether its texts stand in the middle of something, on a white ground of their own.
    const fn is_inside(self) -> bool {
        matches!(self, Self::Inside | Self::Along | Self::OfFibres)
    }
}

impl Label {
    /// A level text of the usual size.
    pub(in crate::output) fn new(look: Look, at: Point, text: impl Into<String>) -> Self {
        Self {
            look,
            at,
            text: text.into(),
            size: None,
            angle: Angle::ZERO,
        }
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
    /// It as SVG inside HTML; its look is the style sheet's.
    pub(in crate::output) fn svg(&self) -> Markup {
        html! {
            svg class=(self.kind) role="img" viewBox=(format!("0 0 {:.0} {:.0}", self.width, self.height))
                style=(format!("--wide:{:.0}px", self.width)) aria-label=(self.title) {
                @for mark in &self.marks { (mark.svg()) }
            }
        }
    }

    /// Draws it with its upper left corner at `corner`, a pixel being `scale` mm.
    pub(in crate::output) fn draw(&self, page: &mut Page<'_>, corner: Point, scale: f64) {
        let at = |p: Point| Point::new(corner.x + p.x * scale, corner.y - p.y * scale);
        let pen = |look: Look| {
            look.line().map(|pen| Pen {
                width: pen.width * scale,
                dash: pen.dash.map(|(dash, space)| (dash * scale, space * scale)),
                ..pen
            })
        };
        for mark in &self.marks {
            match mark {
                Mark::Line(look, points) => {
                    let points: Vec<Point> = points.iter().map(|&p| at(p)).collect();
                    if let Some(pen) = pen(*look) {
                        page.line(&points, false, pen);
                    }
                }
                Mark::Area(look, rings) => {
                    let rings: Vec<Vec<Point>> = rings
                        .iter()
                        .map(|ring| ring.iter().map(|&p| at(p)).collect())
                        .collect();
                    if let Some(colour) = look.area() {
                        page.fill(rings.iter().map(Vec::as_slice), colour);
                    }
                    if let Some(pen) = pen(*look) {
                        page.rings(rings.iter().map(Vec::as_slice), pen);
                    }
                }
                Mark::Dot(centre, radius) => page.dot(at(*centre), radius * scale, ink::PRINT),
                Mark::Text(label) => draw_label(page, label, at(label.at), scale),
            }
        }
    }
}

fn draw_label(page: &mut Page<'_>, label: &Label, at: Point, scale: f64) {
    let look = label.look;
    let height = label.size.unwrap_or(look.size()) * scale * CAPITALS_PER_SIZE;
    let align = if look.is_inside() {
        Align::Middle
    } else {
        Align::Left
    };
    if look.is_inside() {
        page.ground(&label.text, at, height, align, label.angle, 2.0 * scale);
    }
    if look.is_strong() {
        page.strong_text(&label.text, at, height, align, label.angle, ink::PRINT);
    } else {
        page.turned_text(&label.text, at, height, align, label.angle, ink::PRINT);
    }
}

impl Mark {
    /// What is drawn, with the class of its look.
    fn shape(&self) -> (&'static str, Shape) {
        match self {
            Self::Line(look, points) => {
                let (points, closed) = (points.clone(), false);
                (look.class(), Shape::Line { points, closed })
            }
            Self::Area(look, rings) => {
                let (rings, circles) = (rings.clone(), Vec::new());
                (look.class(), Shape::Area { rings, circles })
            }
            &Self::Dot(centre, radius) => ("end", Shape::Dot { centre, radius }),
            Self::Text(label) => {
                let line = TextLine {
                    text: label.text.clone(),
                    at: label.at,
                    align: Align::Left,
                    height: label.size.unwrap_or(label.look.size()) * CAPITALS_PER_SIZE,
                    angle: label.angle,
                };
                (label.look.class(), Shape::Text(line))
            }
        }
    }

    fn svg(&self) -> Markup {
        const SCALE: Scale = Scale {
            factor: 1.0,
            top: None,
            decimals: 1,
            has_arcs: false,
        };
        let (class, shape) = self.shape();
        // What the style sheet does not know, or would overrule.
        let own = match self {
            Self::Area(Look::Region(shade), _) => Some(("fill-opacity", format!("{shade:.2}"))),
            Self::Text(Label {
                size: Some(size), ..
            }) => Some(("style", format!("font-size:{}px", number(*size, 1)))),
            _ => None,
        };
        let mut attributes = vec![("class", class)];
        attributes.extend(own.iter().map(|(name, value)| (*name, value.as_str())));
        SCALE.markup(&shape, &attributes)
    }
}
