//! Parallel offset of outlines: the cut line from the net line.
//!
//! The rings go through the offset library; its answer is then checked against the definition
//! (distance from the source), because an offset whose area is right can still hold a needle that
//! reaches back to the source.

use std::fmt;

use super::distance::point_to_segment;
use super::outline::fewer;
use super::paths::{Paths, Sorted};
use super::{Bounds, BoxTree, Outline, Point, Ring};
use crate::memo::{Asked, Memo};

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
#[non_exhaustive]
pub enum OffsetError {
    /// Nothing is left of it.
    Vanished,
    /// It falls into this many separate outlines.
    Split(usize),
    /// The clipping library's answer failed the distance check.
    Inexact,
}

impl fmt::Display for OffsetError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Vanished => f.write_str("nothing is left of the outline"),
            Self::Split(n) => write!(f, "the outline falls into {n} parts"),
            Self::Inexact => f.write_str("the offset is not at its distance from the outline"),
        }
    }
}

impl std::error::Error for OffsetError {}

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
    static KNOWN: Memo<Result<Outline, OffsetError>> = Memo::new(MOST_ASKED);
    if by == 0.0 {
        return Ok(outline.clone());
    }
    let how = match join {
        Join::Round => [0.0, 0.0],
        Join::Mitre { limit } => [1.0, limit],
        Join::Bevel => [2.0, 0.0],
    };
    let asked = how
        .into_iter()
        .fold(Asked::default().number(by), Asked::number);
    KNOWN.get(asked.outline(outline), || offset_anew(outline, by, join))
}

/// Offsets are remembered until so many numbers were asked for; a vertex has two.
const MOST_ASKED: usize = 200_000;

fn offset_anew(outline: &Outline, by: f64, join: Join) -> Result<Outline, OffsetError> {
    let n_vertices: usize = outline.rings().map(|ring| ring.points().len()).sum();
    if join == Join::Round && n_vertices > MANY_VERTICES {
        let in_steps = offset_in_steps(outline, by);
        if let Some(result) = in_steps.filter(|result| is_exact(outline, result, by.abs(), join)) {
            return Ok(result);
        }
    }
    let result = one_outline(Paths::of(outline).offset(by, join, ARC_MM), STRAIGHT_MM)?;
    if is_exact(outline, &result, by.abs(), join) {
        Ok(result)
    } else {
        Err(OffsetError::Inexact)
    }
}

/// With more vertices than this a boundary is grown in steps. Every notch between two vertices
/// makes a loop as long as the offset, and all loops that lie beside each other cross: a short first
/// step fills the notches of a noisy line, and the next ones find a smooth one.
const MANY_VERTICES: usize = 5000;

/// The steps, as shares of the whole offset that are reached.
const STEPS: [f64; 3] = [0.02, 0.07, 0.2];

/// What may be lost at each step but the last, and at the last, mm: together no more than
/// [`CHECK_MM`].
const STEP_MM: f64 = 0.0005;
const LAST_STEP_MM: f64 = 0.006;

/// The offset with round corners, a little of it first and the rest then.
fn offset_in_steps(outline: &Outline, by: f64) -> Option<Outline> {
    let (mut grown, mut reached) = (outline.clone(), 0.0);
    for (to, error) in (STEPS.map(|to| (to, STEP_MM)).into_iter()).chain([(1.0, LAST_STEP_MM)]) {
        let paths = Paths::of(&grown).offset((to - reached) * by, Join::Round, error);
        grown = one_outline(paths, error).ok()?;
        reached = to;
    }
    Some(grown)
}

/// The one outline of `paths`, straightened to within `straight_mm`.
fn one_outline(paths: Paths, straight_mm: f64) -> Result<Outline, OffsetError> {
    let straightened = |points: Vec<Point>| fewer(&points, straight_mm);
    let Sorted {
        mut outers,
        openings,
    } = paths.sorted(SLIVER_MM2, straightened);
    match outers.len() {
        0 => Err(OffsetError::Vanished),
        1 => Ok(Outline {
            outer: outers.remove(0),
            openings,
        }),
        n => Err(OffsetError::Split(n)),
    }
}

/// Returns what holds `outline` and all that is nearer to it than `by` mm, and little more: a round
/// corner's chords may lie `arc_mm` outside the arc. `None` where the library's answer is of no use.
///
/// Where several outlines come of it, the largest is taken with the openings of all.
#[must_use]
pub fn grown_at_least(outline: &Outline, by: f64, arc_mm: f64) -> Option<Outline> {
    // The chords of round corners lie inside their arcs.
    let grown = Paths::of(outline).offset(by + arc_mm, Join::Round, arc_mm);
    let Sorted { outers, openings } = grown.sorted(0.0, |points| points);
    let outer = (outers.into_iter()).reduce(|a, b| if b.area() > a.area() { b } else { a })?;
    (outer.area() > outline.outer.area()).then_some(Outline { outer, openings })
}

/// Rings smaller than this (mm²) are rounding dust of the clipping grid.
const SLIVER_MM2: f64 = 1e-4;

/// Whether every vertex and edge middle of `result` lies at distance `by` from `source`: exactly
/// for round joins, at least for mitres, at most for bevels.
fn is_exact(source: &Outline, result: &Outline, by: f64, join: Join) -> bool {
    let edges: Vec<(Point, Point)> = source.rings().flat_map(Ring::edges).collect();
    let box_of = |k: usize| Bounds::at(edges[k].0).union(&Bounds::at(edges[k].1));
    let tree = BoxTree::in_order(edges.len(), |k| (box_of(k), 0.0));
    let distance_to = |p: Point| {
        let mut least = f64::INFINITY;
        for k in tree.nearest(p) {
            if box_of(k).distance(p) > least {
                break;
            }
            let (a, b) = edges[k];
            least = least.min(point_to_segment(p, a, b));
        }
        least
    };
    result
        .rings()
        .flat_map(Ring::edges)
        .flat_map(|(a, b)| [a, a.towards(b, 0.5)])
        .all(|p| {
            let distance = distance_to(p);
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
        let wider = outline.bounds().grown(by);
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
