//! From the view of a drawing to what is seen from the bag side: the one place where it is done.

use crate::geometry::{Face, Turn};
use crate::units::{Angle, PlyAngle};
use crate::words::words;

words! {
    /// From which side a ply is looked at.
    pub enum Side {
        /// From the bag side, looking down on the mould: the usual way.
        Bag = "bag",
        /// From the mould (tool) side.
        Tool = "tool",
    }
}

/// What the drawing of a part shows of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct DrawnView {
    /// From which side the drawing shows the part, or the other hand of it.
    pub seen_from: Side,
    /// Whether the drawing shows the other hand of a left and right pair: then the part is the
    /// mirror image of what is drawn, its 0° and the fibres of its plies with it.
    pub other_hand: bool,
}

/// The angle of a ply as the job writes it: in the view of the drawing, counter-clockwise from the
/// 0° that is drawn. [`DrawnView::seen_from_bag`] tells what that is on the part.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct DrawnAngle(Angle);

impl DrawnAngle {
    /// The angle `on_drawing` counter-clockwise from the drawn 0°.
    #[must_use]
    pub const fn new(on_drawing: Angle) -> Self {
        Self(on_drawing)
    }

    /// The angle from the drawn 0°.
    #[must_use]
    pub const fn on_drawing(self) -> Angle {
        self.0
    }
}

impl DrawnView {
    /// From the drawing to what is seen from the bag side: turned over about the drawing's x axis,
    /// or as drawn. The other hand of a part seen from the tool side is turned over twice.
    #[must_use]
    pub const fn turn(self) -> Turn {
        let from_tool = matches!(self.seen_from, Side::Tool);
        Turn {
            angle: Angle::ZERO,
            face: if self.other_hand == from_tool {
                Face::Up
            } else {
                Face::Down
            },
        }
    }

    /// The angle of a ply on the part, of which the drawing shows `drawn`.
    #[must_use]
    pub fn seen_from_bag(self, drawn: DrawnAngle) -> PlyAngle {
        PlyAngle::new(self.turn().direction(drawn.0)).in_range()
    }

    /// How the drawing shows the angle `on_part`: turned over twice is as it was.
    #[must_use]
    pub fn drawn(self, on_part: PlyAngle) -> DrawnAngle {
        let twice = self.seen_from_bag(DrawnAngle(on_part.from_zero()));
        DrawnAngle(twice.from_zero())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point;
    use crate::units::FibreAxis;

    /// A line drawn along the fibres, carried to the part point by point, tells the angle there.
    #[test]
    fn a_line_along_the_fibres_has_the_angle_of_the_ply() {
        for (seen_from, other_hand, over) in [
            (Side::Bag, false, false),
            (Side::Bag, true, true),
            (Side::Tool, false, true),
            (Side::Tool, true, false),
        ] {
            let view = DrawnView {
                seen_from,
                other_hand,
            };
            for degrees in [0.0, 30.0, -60.0, 90.0] {
                let drawn = DrawnAngle::new(Angle::degrees(degrees));
                let (sin, cos) = crate::geometry::trig::sin_cos(Angle::degrees(degrees));
                let end = view.turn().apply(Point::new(cos, sin));
                let on_part = crate::geometry::trig::direction(end.x, end.y);
                let found = FibreAxis::new(view.seen_from_bag(drawn).from_zero());
                let off = (found.from_zero() - on_part).as_fibre().to_degrees();
                assert!(off.abs() < 1e-9, "{view:?}, {degrees}°: {found}");
                assert_eq!(end.y * sin < -1e-9, over && sin.abs() > 1e-9);
            }
        }
    }
}
