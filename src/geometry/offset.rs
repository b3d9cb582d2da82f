//! Parallel offset of outlines: the cut line from the net line.
//!
//! The rings go through an integer clipping library on a grid of 0.00001 mm; its answer is then
//! checked against the definition (distance from the source), because an offset whose area is
//! right can still hold a needle that reaches back to the source.

use clipper2_rust::{EndType, JoinType, PathD, PathsD, PointD, inflate_paths_d};

use super::distance::point_to_segment;
use super::outline::signed_area;
use super::{Bounds, Outline, Point, Ring, Vector};

/// How an offset turns an outer corner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Join {
    /// An arc around the corner.
    Round,
    /// Extended edges. A corner that would reach further than `limit` times the offset is cut
    /// square at the plain offset instead.
    Mitre {
        /// Largest reach of a corner, in offsets; at least 1.
        limit: f64,
    },
    /// A straight cut across the corner between the two offset edges.
    Bevel,
}

/// Why an outline has no offset.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OffsetError {
    /// Nothing is left of it.
    Vanished,
    /// It falls into this many separate outlines.
    Split(usize),
    /// The clipping library's answer failed the distance check.
    Inexact,
}

/// Decimals of a millimetre that the clipping grid keeps.
const DECIMALS: i32 = 5;

/// Largest distance in mm between a round corner and its chords. Larger: the allowance falls short
/// at corners; smaller: more vertices for no use with scissors or blade.
const ARC_MM: f64 = 0.01;

/// Vertices that stick out of the line between their neighbours by less than this (mm) are left
/// out. A curve's many small corners each leave two vertices behind; without this the cut line
/// would have twice the net line's.
const STRAIGHT_MM: f64 = 0.005;

/// Largest error in mm of a checked offset: arc, straightening, and the grid.
const CHECK_MM: f64 = ARC_MM + STRAIGHT_MM + 0.002;

/// Returns `outline` grown outwards by `by` mm (shrunk if negative); openings close up as it grows.
///
/// An opening that closes up completely is dropped: compare the number of openings to notice.
/// Where a gulf closes at its mouth, what is left of it is a new opening. With round joins no point
/// of the result is further than 0.017 mm from the true offset. Zero returns the outline unchanged.
///
/// # Errors
/// [`OffsetError`] when the result is not exactly one outline.
pub fn offset(outline: &Outline, by: f64, join: Join) -> Result<Outline, OffsetError> {
    if by == 0.0 {
        return Ok(outline.clone());
    }
    let (join_type, mitre_limit) = match join {
        Join::Round => (JoinType::Round, 2.0),
        // The library's comparison loses a corner that lies exactly at the limit.
        Join::Mitre { limit } => (JoinType::Miter, limit * (1.0 + 1e-6)),
        Join::Bevel => (JoinType::Bevel, 2.0),
    };
    let grown = inflate_paths_d(
        &to_paths(outline),
        by,
        join_type,
        EndType::Polygon,
        mitre_limit,
        DECIMALS,
        ARC_MM,
    );
    let result = from_paths(&grown)?;
    if is_exact(outline, &result, by.abs(), join) {
        Ok(result)
    } else {
        Err(OffsetError::Inexact)
    }
}

/// The rings as the library wants them: outer counter-clockwise, openings clockwise.
fn to_paths(outline: &Outline) -> PathsD {
    let path =
        |points: &[Point]| -> PathD { points.iter().map(|p| PointD { x: p.x, y: p.y }).collect() };
    let mut paths: PathsD = outline.rings().map(|r| path(r.points())).collect();
    for opening in paths.iter_mut().skip(1) {
        opening.reverse();
    }
    paths
}

/// One outline from the library's rings, told apart by their sense; slivers are dropped.
fn from_paths(paths: &PathsD) -> Result<Outline, OffsetError> {
    let mut outers = Vec::new();
    let mut openings = Vec::new();
    for path in paths {
        let points = without_dust(path);
        let sense = signed_area(&points);
        if let Ok(ring) = Ring::new(points)
            && ring.area() > SLIVER_MM2
        {
            if sense > 0.0 {
                &mut outers
            } else {
                &mut openings
            }
            .push(ring);
        }
    }
    match outers.len() {
        0 => Err(OffsetError::Vanished),
        1 => Ok(Outline {
            outer: outers.remove(0),
            openings,
        }),
        n => Err(OffsetError::Split(n)),
    }
}

/// The ring's vertices without those that a blade could not tell from a straight line.
fn without_dust(path: &PathD) -> Vec<Point> {
    use geo::Simplify;
    let mut closed: geo::LineString = path.iter().map(|p| (p.x, p.y)).collect();
    closed.close();
    let mut kept: Vec<Point> = closed
        .simplify(STRAIGHT_MM)
        .0
        .iter()
        .map(|c| Point::new(c.x, c.y))
        .collect();
    kept.pop();
    kept
}

/// Rings smaller than this (mm²) are rounding dust of the clipping grid.
const SLIVER_MM2: f64 = 1e-4;

/// Whether every vertex and edge middle of `result` lies at distance `by` from `source`: exactly
/// for round joins, at least for mitres, at most for bevels.
fn is_exact(source: &Outline, result: &Outline, by: f64, join: Join) -> bool {
    let edges: Vec<(Point, Point)> = source.rings().flat_map(Ring::edges).collect();
    result
        .rings()
        .flat_map(Ring::edges)
        .flat_map(|(a, b)| [a, a.towards(b, 0.5)])
        .all(|p| {
            let distance = edges
                .iter()
                .map(|&(a, b)| point_to_segment(p, a, b))
                .fold(f64::INFINITY, f64::min);
            match join {
                Join::Round => (distance - by).abs() <= CHECK_MM,
                Join::Mitre { .. } => distance >= by - CHECK_MM,
                Join::Bevel => distance <= by + CHECK_MM,
            }
        })
}

/// What keeps `by` mm away from `outline`: its offset with round corners, or a box around it where it
/// has none.
#[must_use]
pub fn surrounding(outline: &Outline, by: f64) -> Outline {
    offset(outline, by, Join::Round).unwrap_or_else(|_| {
        let bounds = outline.bounds();
        let wider = Bounds {
            min: bounds.min - Vector::new(by, by),
            max: bounds.max + Vector::new(by, by),
        };
        wider.outline().unwrap_or_else(|| outline.clone())
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::f64::consts::PI;

    fn outline(points: &[(f64, f64)]) -> Outline {
        let ring = Ring::new(points.iter().map(|&(x, y)| Point::new(x, y)));
        Outline::solid(ring.expect("test ring"))
    }

    fn square(at: f64, side: f64) -> Outline {
        outline(&[
            (at, at),
            (at + side, at),
            (at + side, at + side),
            (at, at + side),
        ])
    }

    fn assert_near(value: f64, expected: f64, relative: f64) {
        assert!(
            (value - expected).abs() <= relative * expected.abs(),
            "{value} is not {expected} within {relative}"
        );
    }

    /// Steiner's formula for convex bodies, area A + P·d + π·d² and perimeter P + 2π·d
    /// (J. Steiner 1840; any text on convex geometry).
    #[test]
    fn round_offset_of_convex_outlines_obeys_steiner() {
        let hexagon: Vec<(f64, f64)> = (0..6)
            .map(|k| {
                let (sin, cos) = crate::geometry::trig::sin_cos(crate::units::Angle::degrees(
                    60.0 * f64::from(k),
                ));
                (50.0 * cos, 50.0 * sin)
            })
            .collect();
        let triangle = [(0.0, 0.0), (300.0, 0.0), (0.0, 400.0)];
        let rectangle = [(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)];
        for (points, d) in [(&hexagon[..], 6.0), (&triangle, 12.7), (&rectangle, 10.0)] {
            let net = outline(points);
            let (area, perimeter) = (net.area(), net.outer.perimeter());
            let cut = offset(&net, d, Join::Round).unwrap();
            assert_near(cut.area(), area + perimeter * d + PI * d * d, 1e-4);
            assert_near(cut.outer.perimeter(), perimeter + 2.0 * PI * d, 1e-4);
        }
    }

    #[test]
    fn corners_follow_the_join() {
        let net = outline(&[(0.0, 0.0), (100.0, 0.0), (100.0, 60.0), (0.0, 60.0)]);
        let mitre = offset(&net, 10.0, Join::Mitre { limit: 2.0 }).unwrap();
        assert_near(mitre.area(), 120.0 * 80.0, 1e-9);
        // An equilateral triangle reaches exactly twice the offset: (√3/4)(s + 2√3·d)².
        let triangle = outline(&[(0.0, 0.0), (100.0, 0.0), (50.0, 50.0 * 3.0_f64.sqrt())]);
        let mitre = offset(&triangle, 5.0, Join::Mitre { limit: 2.0 }).unwrap();
        assert_near(mitre.area(), 5_960.030_829, 1e-7);
        let bevel = offset(&net, 10.0, Join::Bevel).unwrap();
        assert_near(bevel.area(), 120.0 * 80.0 - 4.0 * 50.0, 1e-9);
        let inset = offset(&net, -10.0, Join::Round).unwrap();
        assert_near(inset.area(), 80.0 * 40.0, 1e-9);
    }

    #[test]
    fn openings_shrink_as_the_outline_grows_and_close_up_at_last() {
        let mut net = square(0.0, 100.0);
        net.openings.push(square(40.0, 20.0).outer);
        let cut = offset(&net, 5.0, Join::Round).unwrap();
        // 100 mm square grown by 5 with round corners, opening 20 → 10 mm: closed form.
        assert_near(
            cut.area(),
            100.0 * 100.0 + 400.0 * 5.0 + PI * 25.0 - 100.0,
            1e-4,
        );
        assert_eq!(cut.openings.len(), 1);
        assert!(offset(&net, 12.0, Join::Round).unwrap().openings.is_empty());
    }

    #[test]
    fn a_neck_that_closes_is_reported() {
        let bell = outline(&[
            (0.0, 0.0),
            (40.0, 0.0),
            (40.0, 18.0),
            (60.0, 18.0),
            (60.0, 0.0),
            (100.0, 0.0),
            (100.0, 40.0),
            (60.0, 40.0),
            (60.0, 22.0),
            (40.0, 22.0),
            (40.0, 40.0),
            (0.0, 40.0),
        ]);
        assert_eq!(offset(&bell, -3.0, Join::Round), Err(OffsetError::Split(2)));
        assert_eq!(
            offset(&bell, -30.0, Join::Round),
            Err(OffsetError::Vanished)
        );
    }
}
