//! What lies near what: boxes that meet, and orders in which neighbours stand side by side.

use super::{Bounds, Point};

/// Boxes that each box may be held against before the search for lonely ones is given up: a square
/// field of a million small outlines needs a thousand.
const MOST_WORK_PER_BOX: usize = 1000;

/// Which boxes meet another one; all of them if that takes too long to tell.
pub(super) fn near_another(boxes: &[Option<Bounds>]) -> Vec<bool> {
    let mut by_left: Vec<(Bounds, usize)> = boxes
        .iter()
        .enumerate()
        .filter_map(|(i, b)| Some(((*b)?, i)))
        .collect();
    by_left.sort_by(|a, b| a.0.min.x.total_cmp(&b.0.min.x).then(a.1.cmp(&b.1)));
    let mut near = vec![false; boxes.len()];
    let mut held: Vec<(Bounds, usize)> = Vec::new();
    let mut work = 0;
    for (bounds, i) in by_left {
        held.retain(|(other, _)| other.max.x >= bounds.min.x);
        work += held.len();
        if work > MOST_WORK_PER_BOX * boxes.len() {
            return vec![true; boxes.len()];
        }
        for (other, j) in &held {
            if meet(other, &bounds) {
                near[i] = true;
                near[*j] = true;
            }
        }
        held.push((bounds, i));
    }
    near
}

/// Brings neighbours side by side: halves `order` by place, across the way the places spread
/// most, and each half again.
pub(super) fn sort_by_place(order: &mut [usize], places: &[Point]) {
    if order.len() < 2 {
        return;
    }
    let spread = Bounds::of(order.iter().map(|&i| places[i]))
        .map_or((0.0, 0.0), |b| (b.width(), b.height()));
    let key = |i: usize| {
        if spread.0 >= spread.1 {
            places[i].x
        } else {
            places[i].y
        }
    };
    let half = order.len() / 2;
    order.select_nth_unstable_by(half, |&i, &j| key(i).total_cmp(&key(j)).then(i.cmp(&j)));
    let (low, high) = order.split_at_mut(half);
    sort_by_place(low, places);
    sort_by_place(high, places);
}

/// Whether two boxes share at least a point.
pub(super) fn meet(a: &Bounds, b: &Bounds) -> bool {
    a.min.x <= b.max.x && b.min.x <= a.max.x && a.min.y <= b.max.y && b.min.y <= a.max.y
}
