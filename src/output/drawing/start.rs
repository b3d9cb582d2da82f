//! Where a piece is put down first on its mould: a small picture of it, and the lines on its template.

use super::directions::Directions;
use super::page::Page;
use super::pens::{START, WARP, ZERO, arrow};
use super::shape::{Align, Shape, TextLine};
use crate::geometry::{Bounds, Outline, Placement, Point, Turn, Vector, trig};
use crate::output::style::{Pen, ink, stroke};
use crate::ply::StartLines;
use crate::units::Angle;

/// Radius of the dot at the start in the picture, and how far 0° and half the warp arrow reach from it, mm.
const DOT: f64 = 0.45;
const REACH: f64 = 4.0;
/// Height of capitals of `0°` there, and of the word at the start of a template, mm.
const ZERO_TEXT: f64 = 1.25;
const WORD: f64 = 2.0;

/// How far the word at the start of a template reaches from there, mm.
pub(super) const WORD_REACH: f64 = 10.0;

/// A piece with its start, seen from the bag side, and its part's 0° to the right.
pub(super) struct StartPicture {
    cut: Outline,
    lines: StartLines,
}

impl StartPicture {
    /// Of a piece with these lines on whose drawing 0° points along `zero`.
    pub(super) fn new(cut: &Outline, lines: &StartLines, zero: Angle) -> Self {
        let placement = Placement {
            turn: Turn::rotation(-zero),
            shift: Vector::default(),
        };
        Self {
            cut: placement.outline(cut),
            lines: lines.placed(&placement),
        }
    }

    /// Draws it as large as `room` lets it be: its edge, the lines from the start, warp and 0° there. The 0° of
    /// `directions` points right.
    pub(super) fn draw(&self, page: &mut Page, directions: &Directions, room: &Bounds) {
        let own = self.cut.bounds();
        let scale = (room.width() / own.width()).min(room.height() / own.height());
        let (middle, centre) = (own.centre(), room.centre());
        let at = |p: Point| centre + (p - middle) * scale;
        let edge = Shape::area(&self.cut, &[]).mapped(at, scale);
        page.draw(edge, Pen::solid(ink::BLACK, stroke::HAIR));
        for line in self.lines.lines() {
            page.edge(line.map(at), START);
        }
        let start = at(self.lines.start);
        let (sin, cos) = trig::sin_cos(directions.warp());
        let along = Vector::new(cos, sin) * REACH;
        page.arrow(&arrow(start - along, start + along, 0.35 * REACH), WARP);
        let zero = start + Vector::new(REACH, 0.0);
        page.edge([start, zero], ZERO);
        let beside = zero + Vector::new(0.3, -0.5 * ZERO_TEXT);
        page.text("0°", beside, ZERO_TEXT, Align::Left, ink::BLACK);
        page.fill(
            Shape::Dot {
                centre: start,
                radius: DOT,
            },
            ink::BLACK,
        );
    }
}

/// Draws the lines from the start of a template.
pub(super) fn draw_start_lines(page: &mut Page, start: &StartLines) {
    for line in start.lines() {
        page.edge(line, START);
    }
}

/// Writes at the start of a template what it is, along the warp beside the cross.
pub(super) fn write_start(page: &mut Page, start: &StartLines) {
    let Some([from, to]) = start.lines().next() else {
        return;
    };
    let along = (to - from) * (1.0 / from.distance(to));
    // From left to right, above the line.
    let along = if along.x < -1e-9 { -along } else { along };
    let above = Vector::new(-along.y, along.x);
    let at = start.start + along * 1.5 + above * 0.8;
    let line = TextLine {
        angle: Angle::degrees(trig::atan2_radians(along.y, along.x).to_degrees()),
        ..TextLine::level("start", at, Align::Left, WORD)
    };
    page.write(line, ink::BLACK);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cloth::Weave;
    use crate::geometry::Ring;
    use crate::units::PlyAngle;

    /// A strip that lies upright on its drawing, its 0° along +y, its start a quarter up: in the picture it lies level, the
    /// start a quarter from the left, and all of it is in the room.
    #[test]
    fn the_start_stands_where_it_is_on_the_piece() {
        let corners = [(0.0, 0.0), (40.0, 0.0), (40.0, 80.0), (0.0, 80.0)];
        let cut = Outline::solid(Ring::new(corners.map(|(x, y)| Point::new(x, y))).unwrap());
        let ends = [(20.0, 80.0), (20.0, 0.0), (0.0, 20.0), (40.0, 20.0)];
        let lines = StartLines {
            start: Point::new(20.0, 20.0),
            ends: ends.map(|(x, y)| Some(Point::new(x, y))),
        };
        let room = Bounds {
            min: Point::new(100.0, 200.0),
            max: Point::new(116.0, 210.0),
        };
        let mut page = Page::new(300.0, 300.0);
        let directions = Directions {
            weave: Weave::Plain,
            angle: PlyAngle::degrees(0.0),
            zero: Angle::ZERO,
        };
        StartPicture::new(&cut, &lines, Angle::degrees(90.0)).draw(&mut page, &directions, &room);
        // 80 × 40 mm in 16 × 10 mm: a fifth, 1 mm free above and below.
        let near = |p: Point, x: f64, y: f64| p.distance(Point::new(x, y)) < 1e-9;
        let items = || page.drawing().items.iter().map(|item| &item.shape);
        let dot = items().find_map(|shape| match shape {
            Shape::Dot { centre, .. } => Some(*centre),
            _ => None,
        });
        assert!(near(dot.unwrap(), 104.0, 205.0), "{dot:?}");
        let is_warp = |shape: &Shape| match shape {
            Shape::Edge([from, to]) => near(*from, 100.0, 205.0) && near(*to, 116.0, 205.0),
            _ => false,
        };
        assert!(items().any(is_warp));
        let area = items().find_map(|shape| match shape {
            Shape::Area { rings, .. } => Bounds::of(rings[0].iter().copied()),
            _ => None,
        });
        let area = area.unwrap();
        assert!(near(area.min, 100.0, 201.0) && near(area.max, 116.0, 209.0));
    }
}
