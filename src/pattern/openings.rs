//! What lies in what: outer boundaries and their openings, by even-odd depth, and labels in outlines.
//!
//! A line sweeps from left to right over the boxes, so a ring or a label is held only against the
//! rings that the line stands in.

use std::collections::BTreeSet;

use crate::geometry::{Bounds, Outline, Point, Ring};

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
    let mut sweep = Sweep::over(boxes, areas);
    let mut by_left: Vec<usize> = (0..rings.len()).collect();
    by_left.sort_by(|&i, &j| {
        let left = boxes[i].min.x.total_cmp(&boxes[j].min.x);
        left.then(areas[j].total_cmp(&areas[i])).then(i.cmp(&j))
    });
    let mut parents = vec![None; rings.len()];
    for i in by_left {
        sweep.move_to(boxes[i].min.x);
        parents[i] = sweep
            .open_from(areas[i])
            .find(|&j| j != i && covers(&boxes[j], &boxes[i]) && surrounds(rings[j], rings[i]));
    }
    parents
}

/// For each of `points` the smallest of `outlines` whose material it lies in.
pub(super) fn smallest_around(outlines: &[&Outline], points: &[Point]) -> Vec<Option<usize>> {
    let boxes: Vec<Bounds> = outlines.iter().map(|o| o.bounds()).collect();
    let areas: Vec<f64> = outlines.iter().map(|o| o.outer.area()).collect();
    let mut sweep = Sweep::over(&boxes, &areas);
    let mut by_x: Vec<usize> = (0..points.len()).collect();
    by_x.sort_by(|&i, &j| points[i].x.total_cmp(&points[j].x).then(i.cmp(&j)));
    let mut around = vec![None; points.len()];
    for i in by_x {
        let p = points[i];
        sweep.move_to(p.x);
        around[i] = sweep
            .open_from(0.0)
            .find(|&j| (boxes[j].min.y..=boxes[j].max.y).contains(&p.y) && outlines[j].contains(p));
    }
    around
}

/// A vertical line that moves to the right over boxes, and the boxes it stands in.
struct Sweep<'a> {
    boxes: &'a [Bounds],
    areas: &'a [f64],
    /// Boxes still to be met, the leftmost last.
    coming: Vec<usize>,
    /// Boxes the line stands in, by what they hold (its area) and then number.
    open: BTreeSet<(u64, usize)>,
    /// The same boxes by their right edge.
    leaving: BTreeSet<(u64, usize)>,
}

impl<'a> Sweep<'a> {
    fn over(boxes: &'a [Bounds], areas: &'a [f64]) -> Self {
        let mut coming: Vec<usize> = (0..boxes.len()).collect();
        coming.sort_by(|&i, &j| boxes[j].min.x.total_cmp(&boxes[i].min.x).then(j.cmp(&i)));
        Self {
            boxes,
            areas,
            coming,
            open: BTreeSet::new(),
            leaving: BTreeSet::new(),
        }
    }

    fn move_to(&mut self, x: f64) {
        while let Some(&i) = self.coming.last()
            && self.boxes[i].min.x <= x
        {
            self.coming.pop();
            self.open.insert((sortable(self.areas[i]), i));
            self.leaving.insert((sortable(self.boxes[i].max.x), i));
        }
        while let Some(&(right, i)) = self.leaving.first()
            && right < sortable(x)
        {
            self.leaving.pop_first();
            self.open.remove(&(sortable(self.areas[i]), i));
        }
    }

    /// The boxes that the line stands in and that hold at least `area`, the smallest first.
    fn open_from(&self, area: f64) -> impl Iterator<Item = usize> + '_ {
        self.open.range((sortable(area), 0)..).map(|&(_, i)| i)
    }
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
