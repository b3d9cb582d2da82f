//! A first valid layout: one piece after another, largest first, each as far left as it goes.
//!
//! At a given y every pair of convex parts forbids one exact interval of x, so the leftmost free x
//! on a scan line is found without trial and error, also inside openings and between pieces.

use super::measure::Measure;
use super::shape::Scene;
use super::state::{Pose, Poses, Room};

/// Scan lines tried for each piece and turn. More: denser start; fewer: faster with many pieces.
const N_LINES: usize = 12;
/// With more pieces than this, the number of lines is brought down.
const MANY: usize = 150;

/// A valid layout in a strip as long as needed; pieces are placed in `order`.
pub(super) fn bottom_left(scene: &Scene, measure: &Measure, order: &[usize]) -> Poses {
    let n = scene.pieces.len();
    let unplaced = Pose {
        choice: 0,
        x: 0.0,
        y: 0.0,
    };
    let mut poses = vec![unplaced; n];
    let mut placed: Vec<usize> = Vec::with_capacity(n);
    let n_lines = if n > MANY { N_LINES / 2 } else { N_LINES };
    for &piece in order {
        poses[piece] = leftmost(scene, measure, piece, &placed, &poses, n_lines);
        placed.push(piece);
    }
    poses
}

/// Pieces by falling hull area, equal ones in order of index.
pub(super) fn by_size(scene: &Scene) -> Vec<usize> {
    let mut order: Vec<usize> = (0..scene.pieces.len()).collect();
    order.sort_by(|&a, &b| {
        scene.pieces[b]
            .hull_area
            .total_cmp(&scene.pieces[a].hull_area)
            .then(a.cmp(&b))
    });
    order
}

fn leftmost(
    scene: &Scene,
    measure: &Measure,
    piece: usize,
    placed: &[usize],
    poses: &[Pose],
    n_lines: usize,
) -> Pose {
    let mut best: Option<(f64, f64, Pose)> = None;
    let mut spans = Vec::new();
    for (choice, option) in scene.pieces[piece].choices.iter().enumerate() {
        let variant = &scene.variants[option.variant];
        let Some(room) = Room::of(variant, f64::INFINITY, scene.width) else {
            continue;
        };
        for line in 0..n_lines {
            let t = line as f64 / (n_lines - 1).max(1) as f64;
            let y = room.y.0 + t * (room.y.1 - room.y.0);
            spans.clear();
            for &other in placed {
                let at = poses[other];
                let known = &scene.variants[scene.pieces[other].choices[at.choice].variant];
                if at.y + known.grown.min.y >= y + variant.grown.max.y
                    || at.y + known.grown.max.y <= y + variant.grown.min.y
                {
                    continue;
                }
                let first = spans.len();
                measure.forbidden(
                    scene.pieces[other].choices[at.choice].variant,
                    option.variant,
                    y - at.y,
                    &mut spans,
                );
                for span in &mut spans[first..] {
                    *span = (span.0 + at.x, span.1 + at.x);
                }
            }
            let x = first_free(&mut spans, room.x.0);
            let pose = Pose { choice, x, y };
            let (end, low) = (x + variant.net.max.x, y + variant.net.min.y);
            if best.is_none_or(|(e, l, _)| end < e || (end == e && low < l)) {
                best = Some((end, low, pose));
            }
            if room.y.1 <= room.y.0 {
                break;
            }
        }
    }
    best.map_or(poses[piece], |(_, _, pose)| pose)
}

/// The least x ≥ `from` in none of the open intervals `spans`.
fn first_free(spans: &mut [(f64, f64)], from: f64) -> f64 {
    spans.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
    let mut x = from;
    for &(lo, hi) in spans.iter() {
        if lo >= x {
            break;
        }
        if hi > x {
            x = hi;
        }
    }
    x
}
