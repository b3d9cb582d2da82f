//! Which ring lies in which: outer boundaries and their openings, by even-odd depth.

use std::collections::BTreeSet;

use crate::geometry::{Bounds, Ring};

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
///
/// A line sweeps from left to right over the boxes, so a ring is held only against those that are
/// open where it starts.
pub(super) fn nest(rings: &[&Ring]) -> Vec<Nested> {
    let boxes: Vec<Bounds> = rings.iter().map(|r| r.bounds()).collect();
    let areas: Vec<f64> = rings.iter().map(|r| r.area()).collect();
    let parents = parents(rings, &boxes, &areas);
    // A parent is larger than its child, so depths follow from the largest ring downwards.
    let mut order: Vec<usize> = (0..rings.len()).collect();
    order.sort_by(|&i, &j| areas[j].total_cmp(&areas[i]).then(i.cmp(&j)));
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

fn parents(rings: &[&Ring], boxes: &[Bounds], areas: &[f64]) -> Vec<Option<usize>> {
    let mut by_left: Vec<usize> = (0..rings.len()).collect();
    by_left.sort_by(|&i, &j| {
        let left = boxes[i].min.x.total_cmp(&boxes[j].min.x);
        left.then(areas[j].total_cmp(&areas[i])).then(i.cmp(&j))
    });
    let mut parents = vec![None; rings.len()];
    // Rings whose box the sweep has entered and not left, by area and then number.
    let mut open: BTreeSet<(u64, usize)> = BTreeSet::new();
    let mut leaving: BTreeSet<(u64, usize)> = BTreeSet::new();
    for i in by_left {
        while let Some(&(right, j)) = leaving.first() {
            if right >= sortable(boxes[i].min.x) {
                break;
            }
            leaving.pop_first();
            open.remove(&(sortable(areas[j]), j));
        }
        let key = (sortable(areas[i]), i);
        parents[i] = open
            .range(key..)
            .map(|&(_, j)| j)
            .find(|&j| covers(&boxes[j], &boxes[i]) && surrounds(rings[j], rings[i]));
        open.insert(key);
        leaving.insert((sortable(boxes[i].max.x), i));
    }
    parents
}

/// A number with the order of `value` among finite floats.
fn sortable(value: f64) -> u64 {
    let bits = value.to_bits();
    if bits >> 63 == 0 {
        bits | 1 << 63
    } else {
        !bits
    }
}

fn covers(outer: &Bounds, inner: &Bounds) -> bool {
    outer.min.x <= inner.min.x
        && outer.min.y <= inner.min.y
        && outer.max.x >= inner.max.x
        && outer.max.y >= inner.max.y
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
