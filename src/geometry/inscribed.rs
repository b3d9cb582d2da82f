//! The largest upright box of a given shape inside an outline: room for a label.
//!
//! In coordinates scaled by the box's sides, the largest box about a point has the Chebyshev
//! distance to the boundary as half its side. So the best centre is the pole of inaccessibility in
//! that metric, found by splitting squares, most promising first, until no square can hold a
//! better point.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use super::outline::is_inside;
use super::{Bounds, Outline, Point, Ring};
use crate::memo::{Asked, Memo};

/// A box inside an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InscribedBox {
    /// Its middle.
    pub centre: Point,
    /// Extent in x, mm.
    pub width: f64,
    /// Extent in y, mm.
    pub height: f64,
}

/// Gain in size, as a fraction, that is not worth further search.
const PRECISION: f64 = 0.02;

/// Curves may be this far off, mm, which is taken off the box again.
const COARSE_MM: f64 = 0.25;

/// Squares looked at before the search settles for what it has.
const MOST_SQUARES: usize = 4000;

/// Returns the largest box with `width` = `aspect` · `height` inside the material of `outline`,
/// to within 2 %.
#[must_use]
pub fn largest_box(outline: &Outline, aspect: f64) -> InscribedBox {
    /// Boxes are remembered until so many numbers were asked for; a vertex has two.
    const MOST_ASKED: usize = 300_000;
    static KNOWN: Memo<InscribedBox> = Memo::new(MOST_ASKED);
    KNOWN.get(Asked::default().number(aspect).outline(outline), || {
        largest_box_anew(outline, aspect)
    })
}

fn largest_box_anew(outline: &Outline, aspect: f64) -> InscribedBox {
    let coarse = outline.simplified(COARSE_MM);
    let n_vertices = |o: &Outline| o.rings().map(|ring| ring.points().len()).sum::<usize>();
    if 2 * n_vertices(&coarse) > n_vertices(outline) {
        return largest_box_in(outline, aspect);
    }
    // Where the coarse outline lies outside the true one, the box must not.
    let found = largest_box_in(&coarse, aspect);
    let by = 2.0 * COARSE_MM.max(COARSE_MM / aspect);
    InscribedBox {
        width: (found.width - by * aspect).max(0.0),
        height: (found.height - by).max(0.0),
        ..found
    }
}

fn largest_box_in(outline: &Outline, aspect: f64) -> InscribedBox {
    let scale = |p: Point| Point::new(p.x / aspect, p.y);
    let edges: Vec<(Point, Point)> = outline
        .rings()
        .flat_map(Ring::edges)
        .map(|(a, b)| (scale(a), scale(b)))
        .collect();
    let bounds = Bounds::of(edges.iter().map(|e| e.0)).expect("an outline has edges");
    let reach = |p: Point| {
        let distance = edges
            .iter()
            .map(|&(a, b)| chebyshev_to_segment(p, a, b))
            .fold(f64::INFINITY, f64::min);
        if is_inside(edges.iter().copied(), p) {
            distance
        } else {
            -distance
        }
    };

    let mut best = Square::new(bounds.centre(), 0.0, &reach);
    let mut queue = BinaryHeap::new();
    let side = bounds.short_side();
    let (columns, rows) = (
        (bounds.width() / side).ceil(),
        (bounds.height() / side).ceil(),
    );
    for row in 0..rows as usize {
        for column in 0..columns as usize {
            let centre = Point::new(
                bounds.min.x + (column as f64 + 0.5) * side,
                bounds.min.y + (row as f64 + 0.5) * side,
            );
            queue.push(Square::new(centre, side / 2.0, &reach));
        }
    }
    let mut looked_at = 0;
    while let Some(square) = queue.pop() {
        if square.reach > best.reach {
            best = square;
        }
        looked_at += 1;
        if square.most <= best.reach * (1.0 + PRECISION) || looked_at > MOST_SQUARES {
            break;
        }
        let half = square.half / 2.0;
        for (dx, dy) in [(-half, -half), (half, -half), (-half, half), (half, half)] {
            let centre = Point::new(square.centre.x + dx, square.centre.y + dy);
            queue.push(Square::new(centre, half, &reach));
        }
    }
    let half = best.reach.max(0.0);
    InscribedBox {
        centre: Point::new(best.centre.x * aspect, best.centre.y),
        width: 2.0 * half * aspect,
        height: 2.0 * half,
    }
}

/// A square of candidate centres, ordered by the best that any of them could reach.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Square {
    centre: Point,
    half: f64,
    reach: f64,
    most: f64,
}

impl Square {
    fn new(centre: Point, half: f64, reach: &impl Fn(Point) -> f64) -> Self {
        let reach = reach(centre);
        Self {
            centre,
            half,
            reach,
            most: reach + half,
        }
    }
}

impl Eq for Square {}

impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Square {
    fn cmp(&self, other: &Self) -> Ordering {
        let place = |s: &Self| (s.centre.x, s.centre.y);
        self.most.total_cmp(&other.most).then_with(|| {
            let (a, b) = (place(self), place(other));
            b.0.total_cmp(&a.0).then(b.1.total_cmp(&a.1))
        })
    }
}

/// Largest of |dx| and |dy| from `p` to the nearest point, in that sense, of the segment `a`–`b`.
///
/// The larger of the two is convex along the segment, so its least value is at an end, where
/// |dx| = |dy|, or where one of them is zero.
fn chebyshev_to_segment(p: Point, a: Point, b: Point) -> f64 {
    let (from, along) = (a - p, b - a);
    let at = |t: f64| {
        let t = t.clamp(0.0, 1.0);
        (from.x + along.x * t)
            .abs()
            .max((from.y + along.y * t).abs())
    };
    let zero_of = |value: f64, slope: f64| if slope == 0.0 { 0.0 } else { -value / slope };
    [
        0.0,
        1.0,
        zero_of(from.x - from.y, along.x - along.y),
        zero_of(from.x + from.y, along.x + along.y),
        zero_of(from.x, along.x),
        zero_of(from.y, along.y),
    ]
    .into_iter()
    .map(at)
    .fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(f64, f64)]) -> Ring {
        Ring::new(points.iter().map(|&(x, y)| Point::new(x, y))).unwrap()
    }

    #[test]
    fn fills_a_rectangle_and_avoids_its_opening() {
        let mut plate = Outline::solid(ring(&[
            (0.0, 0.0),
            (200.0, 0.0),
            (200.0, 50.0),
            (0.0, 50.0),
        ]));
        let found = largest_box(&plate, 4.0);
        assert!((found.width - 200.0).abs() < 5.0, "{found:?}");
        plate.openings.push(ring(&[
            (90.0, 5.0),
            (110.0, 5.0),
            (110.0, 45.0),
            (90.0, 45.0),
        ]));
        let found = largest_box(&plate, 4.0);
        assert!(found.width > 86.0 && found.width <= 90.0, "{found:?}");
    }

    #[test]
    fn every_corner_of_the_box_is_inside() {
        let crescent = Outline::solid(ring(&[
            (0.0, 0.0),
            (60.0, -20.0),
            (120.0, 0.0),
            (150.0, 60.0),
            (120.0, 15.0),
            (60.0, 0.0),
            (10.0, 30.0),
        ]));
        for aspect in [0.2, 1.0, 3.0] {
            let found = largest_box(&crescent, aspect);
            assert!(found.width > 1.0);
            for (sx, sy) in [
                (-0.499, -0.499),
                (0.499, -0.499),
                (0.499, 0.499),
                (-0.499, 0.499),
            ] {
                let corner = Point::new(
                    found.centre.x + sx * found.width,
                    found.centre.y + sy * found.height,
                );
                assert!(crescent.contains(corner));
            }
        }
    }
}
