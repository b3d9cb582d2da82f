//! Smoothing of a scanned mould.
//!
//! Two steps in turn, as Taubin says (A signal processing approach to fair surface design, 1995; from memory): every
//! point goes towards the mean of its neighbours, and then a little further back, so that dents of the scanner's noise
//! go and the shape does not shrink. Points on the border stay.

use glam::DVec3;

use super::surface::{NONE, Surface};

/// Rounds of both steps.
const ROUNDS: usize = 10;
/// Shares of the way to the mean of the neighbours.
const STEPS: [f64; 2] = [0.5, -0.53];

/// A surface smoothed, and the largest distance by which a point was moved, mm.
pub(super) fn smoothed(surface: &Surface) -> (Surface, f64) {
    let mut points = surface.points().to_vec();
    let faces = surface.faces();
    let mut stays = vec![false; points.len()];
    for (face, across) in faces.iter().zip((0..).map(|k| surface.across(k))) {
        for k in (0..3).filter(|&k| across[k] == NONE) {
            stays[face[k] as usize] = true;
            stays[face[(k + 1) % 3] as usize] = true;
        }
    }
    for _ in 0..ROUNDS {
        for share in STEPS {
            // Within the border every neighbour is met twice, by the triangles on either side of the edge.
            let mut sums = vec![(DVec3::ZERO, 0_u32); points.len()];
            for face in faces {
                for k in 0..3 {
                    let ends = [face[k] as usize, face[(k + 1) % 3] as usize];
                    for [own, next] in [ends, [ends[1], ends[0]]] {
                        sums[own].0 += points[next];
                        sums[own].1 += 1;
                    }
                }
            }
            for ((point, (sum, n)), stays) in points.iter_mut().zip(sums).zip(&stays) {
                if !stays && n > 0 {
                    *point += (sum / f64::from(n) - *point) * share;
                }
            }
        }
    }
    let moved = points.iter().zip(surface.points());
    let most = moved.map(|(a, b)| a.distance(*b)).fold(0.0, f64::max);
    (Surface::new(points, faces.to_vec()), most)
}
