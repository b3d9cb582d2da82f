//! From a place to the best one near it.

use super::{Pose, Strip};
use crate::geometry::{Bounds, Vector};
use crate::nest::measure::{LANES, Steps};

/// Steps of a refinement.
const N_REFINE: usize = 8;
/// Refinement steps grow after a gain and shrink after a failure, down to this share of the unit.
const STEP_GROW: f64 = 1.3;
const STEP_SHRINK: f64 = 0.3;
const LEAST_STEP: f64 = 1e-4;
/// The directions of refinement steps.
const COMPASS: [(f64, f64); LANES] = {
    let d = std::f64::consts::FRAC_1_SQRT_2;
    [
        (1.0, 0.0),
        (d, d),
        (0.0, 1.0),
        (-d, d),
        (-1.0, 0.0),
        (-d, -d),
        (0.0, -1.0),
        (d, -d),
    ]
};

/// Improves a position by steps to the best of the places around it, shorter and shorter ones.
pub(super) fn refine(
    strip: &mut Strip,
    piece: usize,
    (mut pose, mut loss): (Pose, f64),
    mut step: f64,
) -> (Pose, f64) {
    let Some(room) = strip.room(piece, pose.choice) else {
        return (pose, loss);
    };
    let least_step = LEAST_STEP * strip.scene.unit;
    let mut moved = false;
    for _ in 0..N_REFINE {
        if loss <= 0.0 || step < least_step {
            break;
        }
        let steps = Steps::to(|lane| {
            let (x, y) = COMPASS[lane];
            room.nearest(pose.at + Vector::new(x, y) * step) - pose.at
        });
        let losses = strip.weighted_losses_around(piece, pose, &steps, loss);
        let (lane, value) = least_of(&losses);
        if value < loss {
            pose.at = room.nearest(pose.at + steps.lane(lane));
            (loss, moved) = (value, true);
            step *= STEP_GROW;
        } else {
            step *= STEP_SHRINK;
        }
    }
    if moved {
        // What was found together is good to single precision only.
        loss = strip.weighted_loss(piece, pose, f64::INFINITY);
    }
    settle(strip, piece, (pose, loss), room)
}

/// The least of `losses` and its lane, the first among equals.
fn least_of(losses: &[f32; LANES]) -> (usize, f64) {
    let mut best = 0;
    for lane in 1..LANES {
        if losses[lane] < losses[best] {
            best = lane;
        }
    }
    (best, f64::from(losses[best]))
}

/// Moves the piece out of its collisions along their steepest way, aiming at zero: this reaches
/// exact contact, which steps of random length do not.
fn settle(strip: &mut Strip, piece: usize, (pose, loss): (Pose, f64), room: Bounds) -> (Pose, f64) {
    let mut best = (pose, loss);
    for _ in 0..2 {
        if best.1 <= 0.0 {
            break;
        }
        let (value, slope) = strip.weighted_slope(piece, best.0);
        let steep = slope.dot(slope);
        if steep <= 0.0 {
            break;
        }
        let by = slope * ((value * (1.0 + 1e-9)) / steep);
        let next = Pose {
            at: room.nearest(best.0.at + by),
            ..best.0
        };
        let value = strip.weighted_loss(piece, next, best.1);
        if value >= best.1 {
            break;
        }
        best = (next, value);
    }
    best
}
