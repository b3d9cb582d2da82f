//! What lies in what: outer boundaries and their openings, by even-odd depth, and labels in outlines.
//!
//! A tree of boxes names those around a ring or label, the smallest first, so it is held only against
//! what may be around it.

use std::cmp::Reverse;

use crate::geometry::{Bounds, BoxTree, Outline, Point, Ring};

/// Shapes whose box is around a ring or label that it is held against. Larger: a file of shapes that
/// all lie over each other takes long; smaller: an opening deep among them may miss its outline.
const MOST_HELD: usize = 500;

/// How a ring relates to the others.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Nested {
    /// The smallest ring around it.
    pub(super) parent: Option<usize>,
    /// How many rings are around it: even for an outer boundary, odd for an opening.
    pub(super) depth: usize,
}

impl Nested {
    pub(super) fn is_opening(&self) -> bool {
        self.depth % 2 == 1
    }
}

/// Finds for each of `rings` the smallest one around it. The rings must not cross each other.
pub(super) fn nest(rings: &[&Ring]) -> Vec<Nested> {
    let boxes: Vec<(Bounds, f64)> = rings.iter().map(|r| (r.bounds(), r.area())).collect();
    let parents = parents(rings, &boxes);
    // A parent is larger than its child, so depths follow from the largest ring downwards.
    let mut order: Vec<usize> = (0..rings.len()).collect();
    order.sort_by(|&i, &j| boxes[j].1.total_cmp(&boxes[i].1).then(i.cmp(&j)));
    let mut nested = vec![
        Nested {
            parent: None,
            depth: 0
        };
        rings.len()
    ];
    for i in order {
        nested[i].parent = parents[i];
        nested[i].depth = parents[i].map_or(0, |p| nested[p].depth + 1);
    }
    nested
}

fn parents(rings: &[&Ring], boxes: &[(Bounds, f64)]) -> Vec<Option<usize>> {
    let tree = BoxTree::by_place(boxes.len(), |i| boxes[i]);
    // Of two alike the first in the file counts as the larger.
    let is_larger = |j: usize, i: usize| (boxes[j].1, Reverse(j)) > (boxes[i].1, Reverse(i));
    (0..rings.len())
        .map(|i| {
            tree.around(boxes[i].0, boxes[i].1)
                .take(MOST_HELD)
                .find(|&j| j != i && is_larger(j, i) && surrounds(rings[j], rings[i]))
        })
        .collect()
}

/// For each of `points` the smallest of `outlines` whose material it lies in.
pub(super) fn smallest_around(outlines: &[&Outline], points: &[Point]) -> Vec<Option<usize>> {
    let boxes: Vec<(Bounds, f64)> = (outlines.iter())
        .map(|o| (o.bounds(), o.outer.area()))
        .collect();
    let tree = BoxTree::by_place(boxes.len(), |i| boxes[i]);
    points
        .iter()
        .map(|&p| {
            tree.around(Bounds::at(p), 0.0)
                .take(MOST_HELD)
                .find(|&j| outlines[j].contains(p))
        })
        .collect()
}

/// Whether most of three points of `inner` lie in `outer`: a single one may touch its boundary.
fn surrounds(outer: &Ring, inner: &Ring) -> bool {
    let points = inner.points();
    let n = points.len();
    let middle = |i: usize| points[i].towards(points[(i + 1) % n], 0.5);
    let inside = [0, n / 3, 2 * n / 3]
        .into_iter()
        .filter(|&i| outer.contains(middle(i)))
        .count();
    inside >= 2
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point;

    fn square(x: f64, y: f64, side: f64) -> Ring {
        let corners = [(x, y), (x + side, y), (x + side, y + side), (x, y + side)];
        Ring::new(corners.map(|(x, y)| Point::new(x, y))).unwrap()
    }

    #[test]
    fn rings_in_rings_are_in_turn_outlines_and_openings() {
        let rings = [
            square(2.0, 2.0, 1.0),
            square(0.0, 0.0, 9.0),
            square(20.0, 0.0, 5.0),
            square(1.0, 1.0, 4.0),
            square(6.0, 6.0, 2.0),
        ];
        let refs: Vec<&Ring> = rings.iter().collect();
        let nested = nest(&refs);
        let parents: Vec<_> = nested.iter().map(|n| n.parent).collect();
        assert_eq!(parents, [Some(3), None, None, Some(1), Some(1)]);
        let openings: Vec<_> = nested.iter().map(Nested::is_opening).collect();
        assert_eq!(openings, [false, false, false, true, true]);
    }
}
