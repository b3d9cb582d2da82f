//! Which boxes lie near each other.

use super::Bounds;

/// Pairs of boxes that overlap or are less than `gap` mm apart, left to right.
pub(crate) fn near_pairs(boxes: &[Bounds], gap: f64) -> Vec<(usize, usize)> {
    let mut by_left: Vec<(usize, &Bounds)> = boxes.iter().enumerate().collect();
    by_left.sort_by(|a, b| a.1.min.x.total_cmp(&b.1.min.x));
    let mut pairs = Vec::new();
    for (n, &(i, a)) in by_left.iter().enumerate() {
        for &(j, b) in &by_left[n + 1..] {
            if b.min.x >= a.max.x + gap {
                break;
            }
            if a.grown(gap).overlaps(b) {
                pairs.push((i, j));
            }
        }
    }
    pairs
}
