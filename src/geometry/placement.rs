//! Turning, turning over and shifting of outlines.

use super::trig::sin_cos;
use super::{Outline, Point, Vector};
use crate::units::Angle;

/// Which side of a piece faces up.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Face {
    /// As drawn.
    Up,
    /// Turned over: mirrored about the x axis (the warp, in the roll frame).
    Down,
}

/// A rotation about the origin and, after it, perhaps a turning over about the x axis.
///
/// The order matters: rotate first, then mirror y. So the warp (x in the roll frame) keeps its
/// direction on the piece whichever face is up.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Turn {
    /// Rotation, counter-clockwise.
    pub angle: Angle,
    /// Which face is up after it.
    pub face: Face,
}

/// A [`Turn`] followed by a shift.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Placement {
    /// The turn about the origin.
    pub turn: Turn,
    /// The shift after it, in mm.
    pub shift: Vector,
}

impl Turn {
    /// A rotation by `angle`, face up.
    #[must_use]
    pub const fn rotation(angle: Angle) -> Self {
        Self {
            angle,
            face: Face::Up,
        }
    }

    /// `point` turned about the origin.
    #[must_use]
    pub fn apply(&self, point: Point) -> Point {
        let (sin, cos) = sin_cos(self.angle);
        rotate(point, sin, cos, self.face)
    }

    /// Where what points along `direction` points afterwards.
    #[must_use]
    pub fn direction(&self, direction: Angle) -> Angle {
        let turned = direction + self.angle;
        match self.face {
            Face::Up => turned,
            Face::Down => -turned,
        }
    }

    /// `outline` turned about the origin.
    #[must_use]
    pub fn outline(&self, outline: &Outline) -> Outline {
        Placement {
            turn: *self,
            shift: Vector::default(),
        }
        .outline(outline)
    }
}

impl Placement {
    /// `point` turned about the origin and shifted.
    #[must_use]
    pub fn apply(&self, point: Point) -> Point {
        self.turn.apply(point) + self.shift
    }

    /// `outline` turned about the origin and shifted; its rings stay counter-clockwise.
    #[must_use]
    pub fn outline(&self, outline: &Outline) -> Outline {
        let (sin, cos) = sin_cos(self.turn.angle);
        let place = |p| rotate(p, sin, cos, self.turn.face) + self.shift;
        outline.map_rings(|ring| ring.map_similar(place))
    }
}

fn rotate(p: Point, sin: f64, cos: f64, face: Face) -> Point {
    let (x, y) = (p.x * cos - p.y * sin, p.x * sin + p.y * cos);
    match face {
        Face::Up => Point::new(x, y),
        Face::Down => Point::new(x, -y),
    }
}
