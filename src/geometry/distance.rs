//! Distances between points, segments and outlines.

use super::{Outline, Point, Ring};
use crate::memo::{Asked, Memo};

/// Distance in mm from `p` to the segment `a`–`b`.
#[must_use]
pub fn point_to_segment(p: Point, a: Point, b: Point) -> f64 {
    let along = b - a;
    let length2 = along.dot(along);
    let t = if length2 > 0.0 {
        ((p - a).dot(along) / length2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    p.distance(a + along * t)
}

/// Distance in mm between the materials of two outlines; zero if they overlap or touch.
///
/// An outline that lies in an opening of the other is measured against that opening. The work is
/// done by a general geometry library, so this is a second opinion beside the search's own
/// measure.
#[must_use]
pub fn between(a: &Outline, b: &Outline) -> f64 {
    use geo::{Distance, Euclidean};
    /// Distances are remembered until so many numbers were asked for; a vertex has two.
    const MOST_ASKED: usize = 500_000;
    static KNOWN: Memo<f64> = Memo::new(MOST_ASKED);
    KNOWN.get(Asked::default().outline(a).outline(b), || {
        Euclidean.distance(&to_geo(a), &to_geo(b))
    })
}

/// Area in mm² that two outlines share.
#[must_use]
pub fn shared_area(a: &Outline, b: &Outline) -> f64 {
    use geo::{Area, BooleanOps};
    to_geo(a).intersection(&to_geo(b)).unsigned_area()
}

/// Sides of the smallest rectangle around `ring`, in mm, longer first, and the direction of the
/// longer one in degrees from +x.
#[must_use]
pub fn long_direction(ring: &Ring) -> Option<LongDirection> {
    use geo::MinimumRotatedRect;
    let corners = line_string(ring).minimum_rotated_rect()?;
    let corners: Vec<Point> = corners
        .exterior()
        .0
        .iter()
        .map(|c| Point::new(c.x, c.y))
        .collect();
    let (first, second) = (corners.get(1..)?.first()?, corners.get(2)?);
    let (one, two) = (*first - corners[0], *second - *first);
    let (long, short) = if one.length() >= two.length() {
        (one, two)
    } else {
        (two, one)
    };
    Some(LongDirection {
        length: long.length(),
        width: short.length(),
        direction: super::trig::direction(long.x, long.y).as_fibre(),
    })
}

/// How long, how wide, and which way a ring lies.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LongDirection {
    /// Longer side of the smallest rectangle around it, mm.
    pub length: f64,
    /// Shorter side, mm.
    pub width: f64,
    /// Direction of the longer side.
    pub direction: crate::units::Angle,
}

/// A ring this many times longer than wide has a long direction worth the name.
const LONG: f64 = 1.1;

impl LongDirection {
    /// The long direction, or `otherwise` for a ring about as wide as long.
    #[must_use]
    pub fn way(&self, otherwise: crate::units::Angle) -> crate::units::Angle {
        if self.length > self.width * LONG {
            self.direction
        } else {
            otherwise
        }
    }
}

fn line_string(ring: &Ring) -> geo::LineString {
    ring.points().iter().map(|p| (p.x, p.y)).collect()
}

pub(super) fn to_geo(outline: &Outline) -> geo::Polygon {
    geo::Polygon::new(
        line_string(&outline.outer),
        outline.openings.iter().map(line_string).collect(),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Ring {
        Ring::new([
            Point::new(x0, y0),
            Point::new(x1, y0),
            Point::new(x1, y1),
            Point::new(x0, y1),
        ])
        .unwrap()
    }

    #[test]
    fn outlines_are_measured_across_and_inside_openings() {
        let frame = Outline {
            outer: rectangle(0.0, 0.0, 100.0, 100.0),
            openings: vec![rectangle(20.0, 20.0, 80.0, 80.0)],
        };
        let inside = Outline::solid(rectangle(30.0, 25.0, 50.0, 50.0));
        let beside = Outline::solid(rectangle(103.0, 104.0, 110.0, 110.0));
        let over = Outline::solid(rectangle(90.0, 10.0, 120.0, 20.0));
        assert_eq!(between(&frame, &inside), 5.0);
        assert_eq!(between(&frame, &beside), 5.0);
        assert_eq!(between(&frame, &over), 0.0);
        assert!((shared_area(&frame, &over) - 100.0).abs() < 1e-9);
    }

    #[test]
    fn long_direction_of_a_turned_strip() {
        let strip = Outline::solid(rectangle(0.0, 0.0, 300.0, 40.0));
        let turn = crate::geometry::Turn::rotation(crate::units::Angle::degrees(30.0));
        let found = long_direction(&turn.outline(&strip).outer).unwrap();
        assert!((found.length - 300.0).abs() < 1e-6 && (found.width - 40.0).abs() < 1e-6);
        assert!((found.direction.to_degrees() - 30.0).abs() < 1e-6);
    }
}
