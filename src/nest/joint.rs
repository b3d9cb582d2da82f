//! Moving all pieces at once: every pair that overlaps is pushed apart along its shallowest way,
//! both halves of it, sweep after sweep, until nothing overlaps or patience ends.
//!
//! Where one piece after another needs many rounds to pass a little slack along a chain of
//! neighbours, this takes a few sweeps. It never lets one piece cross another, so it finishes and
//! squeezes layouts but does not rearrange them. In the spirit of the simultaneous separation of
//! Imamichi, Yagiura and Nagamochi (2009), with a Gauss–Seidel iteration in place of their
//! quasi-Newton descent.

use super::state::{Pose, Room, State};
use crate::geometry::Vector;

/// Pairs whose boxes are this share of the unit apart are still looked at. Larger: slower sweeps;
/// smaller: pieces pushed a long way meet pieces that are not looked at.
const REACH: f64 = 0.15;
/// Pushes are this much longer than the depth asks: pieces come clear of each other in finitely
/// many sweeps.
const EXTRA: f64 = 1.2;
/// Every so many sweeps, the loss must have fallen below this share, or the attempt is given up.
const CHECK_EVERY: usize = 10;
const PROMISING: f64 = 0.7;
/// Added to each push, as a share of the unit, for the same reason.
const CLEAR: f64 = 1e-7;

/// Pushes overlapping pieces apart for at most `n_sweeps`; whether nothing overlaps in the end.
///
/// The state is left with what was reached in either case.
pub(super) fn push_apart(state: &mut State, n_sweeps: usize) -> bool {
    let n = state.n_pieces();
    let mut poses = state.poses().clone();
    let mut rooms: Vec<Option<Room>> = (0..n).map(|k| state.room(k, poses[k].choice)).collect();
    // Obstacles come after the pieces and have no room to move in.
    for at in state.obstacles() {
        let (choice, x, y) = (0, at.x, at.y);
        poses.push(Pose { choice, x, y });
        rooms.push(Some(Room {
            x: (x, x),
            y: (y, y),
        }));
    }
    let unit = state.scene.unit;
    let mut pairs = near_pairs(state, &poses);
    let mut listed_at = poses.clone();
    // When each piece moved last, and each pair was last seen clear, by sweep.
    let mut moved_in = vec![0; poses.len()];
    let mut clear_in = vec![None; pairs.len()];
    let mut mark = f64::INFINITY;
    for sweep in 0..n_sweeps {
        let mut clear = true;
        let mut total = 0.0;
        for (&(i, j), clear_in) in pairs.iter().zip(&mut clear_in) {
            if clear_in.is_some_and(|seen| seen > moved_in[i].max(moved_in[j])) {
                continue;
            }
            let by = Vector::new(poses[j].x - poses[i].x, poses[j].y - poses[i].y);
            let (loss, way) = state.slope(i, j, by);
            if loss <= 0.0 {
                *clear_in = Some(sweep);
                continue;
            }
            *clear_in = None;
            clear = false;
            total += loss;
            let steep = way.dot(way);
            if steep <= 0.0 {
                continue;
            }
            // What meets an obstacle goes all the way.
            let share = if i.max(j) < n { 0.5 } else { 1.0 };
            let by = way * (share * (loss * EXTRA + CLEAR * unit) / steep);
            for (k, sign) in [(i, -1.0), (j, 1.0)] {
                moved_in[k] = sweep;
                let pose = &mut poses[k];
                let (x, y) = (pose.x + sign * by.x, pose.y + sign * by.y);
                (pose.x, pose.y) = rooms[k].map_or((x, y), |room| room.clamp(x, y));
            }
        }
        if clear {
            break;
        }
        if sweep % CHECK_EVERY == CHECK_EVERY - 1 {
            if total > PROMISING * mark {
                break;
            }
            mark = total;
        }
        let moved =
            |k: usize| (poses[k].x - listed_at[k].x).abs() + (poses[k].y - listed_at[k].y).abs();
        if (0..n).any(|k| moved(k) > 0.5 * REACH * unit) {
            pairs = near_pairs(state, &poses);
            clear_in = vec![None; pairs.len()];
            listed_at.clone_from(&poses);
        }
    }
    poses.truncate(n);
    state.restore(&poses);
    state.is_valid()
}

/// Pairs whose boxes overlap or nearly do, left to right.
fn near_pairs(state: &State, poses: &[Pose]) -> Vec<(usize, usize)> {
    let margin = REACH * state.scene.unit;
    let frame = |k: usize| {
        let b = &state.variant(k).grown;
        (
            poses[k].x + b.min.x,
            poses[k].x + b.max.x,
            poses[k].y + b.min.y,
            poses[k].y + b.max.y,
        )
    };
    let mut frames: Vec<(usize, (f64, f64, f64, f64))> =
        (0..poses.len()).map(|k| (k, frame(k))).collect();
    frames.sort_by(|a, b| a.1.0.total_cmp(&b.1.0));
    let mut pairs = Vec::new();
    for (n, &(i, a)) in frames.iter().enumerate() {
        for &(j, b) in &frames[n + 1..] {
            if b.0 >= a.1 + margin {
                break;
            }
            let moves = i.min(j) < state.n_pieces();
            if moves && a.2 - margin < b.3 && b.2 - margin < a.3 {
                pairs.push((i, j));
            }
        }
    }
    pairs
}
