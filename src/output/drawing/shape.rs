//! A drawing: shapes on layers, whatever they show and whatever writes them.
//!
//! Lengths are millimetres with y up where something is cut or printed to scale. What a layer is
//! and how it looks is up to who draws and who writes; here it is a mark that shapes carry.

use crate::geometry::{Bounds, Circle, Outline, Point, Vector, trig};
use crate::units::Angle;

/// Shapes on layers, the lowest first.
#[derive(Clone, Debug)]
pub(in crate::output) struct Drawing<L> {
    pub(in crate::output) items: Vec<Drawn<L>>,
    /// The box within which what is added from now on is shown, if not everywhere.
    pub(in crate::output) within: Option<Bounds>,
}

/// A shape, the layer it is on, and the piece it belongs to, if to one.
#[derive(Clone, Debug)]
pub(in crate::output) struct Drawn<L> {
    pub(in crate::output) layer: L,
    pub(in crate::output) piece: Option<usize>,
    /// The box within which it is shown, if not everywhere.
    pub(in crate::output) within: Option<Bounds>,
    pub(in crate::output) shape: Shape,
}

/// Something drawn.
#[derive(Clone, Debug)]
pub(in crate::output) enum Shape {
    /// What lies within closed lines, by the even-odd rule; some of their chords may stand for arcs
    /// of the circles.
    Area {
        rings: Vec<Vec<Point>>,
        circles: Vec<Circle>,
    },
    Rectangle(Bounds),
    /// A line through points; the first is not repeated at the end of a closed one.
    Line {
        points: Vec<Point>,
        closed: bool,
    },
    /// Open lines, drawn as one.
    Lines(Vec<Vec<Point>>),
    Dot {
        centre: Point,
        radius: f64,
    },
    /// A straight line.
    Edge([Point; 2]),
    Pointer(Pointer),
    Text(TextLine),
}

/// A line that tells a direction, with a head or without one.
#[derive(Clone, Copy, Debug)]
pub(in crate::output) struct Pointer {
    /// From tail to tip.
    pub(in crate::output) shaft: [Point; 2],
    /// The head, tip first.
    pub(in crate::output) head: Option<[Point; 3]>,
}

/// One line of text.
#[derive(Clone, Debug)]
pub(in crate::output) struct TextLine {
    pub(in crate::output) text: String,
    pub(in crate::output) at: Point,
    /// What of the text is at that point.
    pub(in crate::output) align: Align,
    /// Height of its capitals.
    pub(in crate::output) height: f64,
    /// 0° reads along x, 90° upwards.
    pub(in crate::output) angle: Angle,
}

/// Which point of a text is given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::output) enum Align {
    /// The left end of its baseline.
    Left,
    /// The middle of its baseline.
    Middle,
    /// The right end of its baseline.
    Right,
    /// The middle, half-way up its capitals.
    Centre,
}

impl<L> Default for Drawing<L> {
    fn default() -> Self {
        Self {
            items: Vec::new(),
            within: None,
        }
    }
}

impl<L> Drawing<L> {
    pub(in crate::output) fn add(&mut self, layer: L, piece: Option<usize>, shape: Shape) {
        self.items.push(Drawn {
            layer,
            piece,
            within: self.within,
            shape,
        });
    }

    /// Adds an open line.
    pub(in crate::output) fn line(&mut self, layer: L, points: &[Point]) {
        self.add(layer, None, Shape::line(points));
    }

    /// Adds open lines as one.
    pub(in crate::output) fn lines(&mut self, layer: L, lines: Vec<Vec<Point>>) {
        self.add(layer, None, Shape::Lines(lines));
    }

    /// Adds an area.
    pub(in crate::output) fn area(&mut self, layer: L, rings: Vec<Vec<Point>>) {
        self.add(layer, None, Shape::rings(rings));
    }

    /// Adds a rectangle with its lesser x and y at `(x, y)`, so long along x and y.
    pub(in crate::output) fn rectangle(&mut self, layer: L, (x, y): (f64, f64), sides: (f64, f64)) {
        let min = Point::new(x, y);
        let max = Point::new(x + sides.0, y + sides.1);
        self.add(layer, None, Shape::Rectangle(Bounds { min, max }));
    }

    /// Adds a dot.
    pub(in crate::output) fn dot(&mut self, layer: L, centre: Point, radius: f64) {
        self.add(layer, None, Shape::Dot { centre, radius });
    }
}

impl Shape {
    /// The area of `outline`.
    pub(in crate::output) fn area(outline: &Outline, circles: &[Circle]) -> Self {
        Self::Area {
            rings: outline.rings().map(|r| r.points().to_vec()).collect(),
            circles: circles.to_vec(),
        }
    }

    /// What lies within closed lines.
    pub(in crate::output) const fn rings(rings: Vec<Vec<Point>>) -> Self {
        let circles = Vec::new();
        Self::Area { rings, circles }
    }

    /// What lies within one closed line.
    pub(in crate::output) fn ring<const N: usize>(points: [Point; N]) -> Self {
        Self::rings(vec![points.to_vec()])
    }

    /// The open line through `points`.
    pub(in crate::output) fn line(points: &[Point]) -> Self {
        let (points, closed) = (points.to_vec(), false);
        Self::Line { points, closed }
    }

    /// It where `at` says, its lengths `scale` times as long; arcs become chords.
    pub(in crate::output) fn mapped(&self, at: impl Fn(Point) -> Point, scale: f64) -> Self {
        let line = |points: &[Point]| points.iter().map(|&p| at(p)).collect::<Vec<_>>();
        let lines = |lines: &[Vec<Point>]| lines.iter().map(|l| line(l)).collect::<Vec<_>>();
        match self {
            Self::Area { rings, .. } => Self::rings(lines(rings)),
            Self::Rectangle(bounds) => Self::ring(bounds.corners().map(&at)),
            Self::Line { points, closed } => Self::Line {
                points: line(points),
                closed: *closed,
            },
            Self::Lines(all) => Self::Lines(lines(all)),
            Self::Dot { centre, radius } => Self::Dot {
                centre: at(*centre),
                radius: radius * scale,
            },
            Self::Edge(ends) => Self::Edge(ends.map(&at)),
            Self::Pointer(Pointer { shaft, head }) => Self::Pointer(Pointer {
                shaft: shaft.map(&at),
                head: head.map(|head| head.map(&at)),
            }),
            Self::Text(text) => Self::Text(TextLine {
                at: at(text.at),
                height: text.height * scale,
                ..text.clone()
            }),
        }
    }
}

impl Pointer {
    /// An arrow whose head is so long, and so wide on each side of the shaft.
    pub(in crate::output) fn arrow(tail: Point, tip: Point, head: (f64, f64)) -> Self {
        let along = (tip - tail) * (1.0 / tip.distance(tail).max(1e-9));
        let left = Vector::new(-along.y, along.x);
        Self {
            shaft: [tail, tip],
            head: Some(arrow_head(head, |x, y| tip + along * x + left * y)),
        }
    }
}

/// The head of an arrow, tip first: so long, and so wide on each side; `at` is where a point lies
/// that is so far ahead of the tip and so far to its left.
pub(in crate::output) fn arrow_head(
    (length, half_width): (f64, f64),
    at: impl Fn(f64, f64) -> Point,
) -> [Point; 3] {
    [
        at(0.0, 0.0),
        at(-length, half_width),
        at(-length, -half_width),
    ]
}

impl TextLine {
    /// A level text.
    pub(in crate::output) fn level(
        text: impl Into<String>,
        at: Point,
        align: Align,
        height: f64,
    ) -> Self {
        Self {
            text: text.into(),
            at,
            align,
            height,
            angle: Angle::ZERO,
        }
    }

    /// Its point on the baseline.
    pub(in crate::output) fn baseline(&self) -> Point {
        if self.align != Align::Centre {
            return self.at;
        }
        let (sin, cos) = trig::sin_cos(self.angle);
        self.at - Vector::new(-sin, cos) * (self.height / 2.0)
    }

    /// Its middle, half-way up its capitals, if it is so wide.
    pub(in crate::output) fn centre(&self, width: f64) -> Point {
        if self.align == Align::Centre {
            return self.at;
        }
        let (sin, cos) = trig::sin_cos(self.angle);
        let (along, up) = (Vector::new(cos, sin), Vector::new(-sin, cos));
        self.at + along * (width / 2.0 - self.align.back(width)) + up * (self.height / 2.0)
    }
}

impl Align {
    /// How far a text of this width begins before its point.
    pub(in crate::output) fn back(self, width: f64) -> f64 {
        match self {
            Self::Left => 0.0,
            Self::Middle | Self::Centre => width / 2.0,
            Self::Right => width,
        }
    }
}
