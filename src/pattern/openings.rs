//! What lies in what: outer boundaries and their openings, by even-odd depth, and labels in outlines.
//!
//! A tree of boxes names those around a ring or label, the smallest first, so it is held only against
//! what may be around it.

use std::cell::Cell;
use std::cmp::Reverse;

use crate::diag::Diagnostic;
use crate::geometry::{Bounds, BoxTree, Outline, Point, Ring, SizedBox};

/// Boxes of a drawing that are looked at to tell what lies in what. Larger: a small file of shapes that
/// all lie over each other takes long; smaller: an honest pile of outlines is refused.
const MOST_LOOKS: usize = 4_000_000;

/// Boxes beyond that for each ring or text.
const LOOKS_OF_ONE: usize = 200;

/// Boxes that take as long to look at as it takes to hold a shape against the outline around it.
const LOOKS_TO_HOLD: usize = 8;

/// How much of a drawing is looked at to tell what lies in what.
pub(super) struct Looks(Cell<usize>);

impl Looks {
    /// For a drawing of `n` rings or texts.
    pub(super) fn of(n: usize) -> Self {
        Self(Cell::new(MOST_LOOKS + n.saturating_mul(LOOKS_OF_ONE)))
    }

    /// The first shape in `tree` around `inner`, from the smallest that holds `size` on, of which `holds`
    /// is true; an error if too many lie over each other.
    pub(super) fn first_around<B: Fn(usize) -> SizedBox>(
        &self,
        tree: &BoxTree<B>,
        (inner, size): SizedBox,
        mut holds: impl FnMut(usize) -> bool,
    ) -> Result<Option<usize>, Piled> {
        let first = tree.around(inner, size, &self.0).find(|&j| {
            self.0.set(self.0.get().saturating_sub(LOOKS_TO_HOLD));
            holds(j)
        });
        (self.0.get() > 0).then_some(first).ok_or(Piled)
    }
}

/// More outlines lie over each other than anybody could sort.
#[derive(Debug)]
pub(super) struct Piled;

impl Piled {
    pub(super) fn told(&self) -> Diagnostic {
        Diagnostic::error(
            "so many outlines lie over each other that it can't be told which of them lie in which",
        )
        .help(
            "draw each part once and beside the others, or put what overlaps on layers of its own",
        )
    }
}

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

/// Finds for each of `rings` the smallest one around it; an error if too many of them lie over each other.
/// The rings must not cross each other.
pub(super) fn nest(rings: &[&Ring]) -> Result<Vec<Nested>, Piled> {
    let boxes: Vec<SizedBox> = rings.iter().map(|r| (r.bounds(), r.area())).collect();
    let parents = parents(rings, &boxes)?;
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
    Ok(nested)
}

fn parents(rings: &[&Ring], boxes: &[SizedBox]) -> Result<Vec<Option<usize>>, Piled> {
    let looks = Looks::of(rings.len());
    let tree = BoxTree::by_place(boxes.len(), |i| boxes[i]);
    // Of two alike the first in the file counts as the larger.
    let is_larger = |j: usize, i: usize| (boxes[j].1, Reverse(j)) > (boxes[i].1, Reverse(i));
    (0..rings.len())
        .map(|i| {
            looks.first_around(&tree, boxes[i], |j| {
                j != i && is_larger(j, i) && surrounds(rings[j], rings[i])
            })
        })
        .collect()
}

/// For each of `points` the smallest of `outlines` whose material it lies in; an error if too many of
/// them lie over each other.
pub(super) fn smallest_around(
    outlines: &[&Outline],
    points: &[Point],
) -> Result<Vec<Option<usize>>, Piled> {
    let looks = Looks::of(points.len());
    let boxes: Vec<SizedBox> = (outlines.iter())
        .map(|o| (o.bounds(), o.outer.area()))
        .collect();
    let tree = BoxTree::by_place(boxes.len(), |i| boxes[i]);
    (points.iter())
        .map(|&p| looks.first_around(&tree, (Bounds::at(p), 0.0), |j| outlines[j].contains(p)))
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
        let nested = nest(&refs).unwrap();
        let parents: Vec<_> = nested.iter().map(|n| n.parent).collect();
        assert_eq!(parents, [Some(3), None, None, Some(1), Some(1)]);
        let openings: Vec<_> = nested.iter().map(Nested::is_opening).collect();
        assert_eq!(openings, [false, false, false, true, true]);
    }
}
