//! A move of two pieces at once: one takes the place of another, which finds itself a new one.
//!
//! Where the hole that is left over does not fit the piece that is left over, single moves must
//! first pile up weight until some neighbour gives way; this asks the neighbour at once. In the
//! spirit of the swaps of Leung, Lin and Zhang (2012), here within the weighted separation and with
//! the second piece free to go anywhere.

use super::random::Random;
use super::separate::Tangle;
use super::strip::{Pose, Strip};

/// Pieces up to this many times as large or as small change places.
const ALIKE: f64 = 2.0;
/// Draws of a partner before the exchange is dropped.
const N_DRAWS: usize = 8;
/// Random positions over the whole strip tried for the piece that gives way.
const N_FAR: usize = 6;
/// Samples around a place lie within this share of the piece's size.
const SPREAD: f64 = 0.15;
/// The first step of a refinement, likewise.
const STEP: f64 = 0.08;

/// Lets `piece` take the place of a random piece of other shape, and that one go to where it
/// overlaps least; undone unless the weighted loss of both together falls. Whether it did.
pub(super) fn exchange(strip: &mut Strip, piece: usize, random: &mut Random) -> bool {
    let Some(other) = partner(strip, piece, random) else {
        return false;
    };
    let (here, there) = (strip.pose(piece), strip.pose(other));
    let now = strip.conflicts().weighted_of_two(piece, other);
    // The other will be gone, so it does not count.
    let weight = strip.conflicts_mut().set_weight(piece, other, 0.0);
    let found = best_near(strip, piece, there, 0, now, random);
    strip.conflicts_mut().set_weight(piece, other, weight);
    let Some((pose, loss)) = found else {
        return false;
    };
    if loss >= now {
        return false;
    }
    strip.move_to(piece, pose);
    if let Some((pose, _)) = best_near(strip, other, here, N_FAR, now, random) {
        strip.move_to(other, pose);
        if strip.conflicts().weighted_of_two(piece, other) < now {
            return true;
        }
    }
    strip.move_to(other, there);
    strip.move_to(piece, here);
    false
}

/// A random piece of another shape but of like size.
fn partner(strip: &Strip, piece: usize, random: &mut Random) -> Option<usize> {
    let pieces = &strip.scene.pieces;
    let own = &pieces[piece];
    (0..N_DRAWS).map(|_| random.below(pieces.len())).find(|&k| {
        let ratio = pieces[k].size / own.size;
        pieces[k].choices[0].variant != own.choices[0].variant
            && ratio < ALIKE
            && ratio > 1.0 / ALIKE
    })
}

/// The best position found for `piece` around the place `at`, in any turn, and at `n_far` random
/// positions; `None` if all are far worse than `bound`.
fn best_near(
    strip: &mut Strip,
    piece: usize,
    at: Pose,
    n_far: usize,
    bound: f64,
    random: &mut Random,
) -> Option<(Pose, f64)> {
    let size = strip.scene.pieces[piece].size;
    let n_choices = strip.scene.pieces[piece].choices.len();
    let n_near = (2 * n_choices).max(4);
    let mut best: Option<(Pose, f64)> = None;
    strip.focus_on(piece, Pose { choice: 0, ..at }, 0.5 * size);
    for k in 0..n_near + n_far {
        let is_near = k < n_near;
        let choice = if is_near {
            k % n_choices
        } else {
            random.below(n_choices)
        };
        let Some(room) = strip.room(piece, choice) else {
            continue;
        };
        let at = if is_near {
            // Each turn once exactly at the place.
            let spread = if k < n_choices { 0.0 } else { SPREAD * size };
            room.nearest(random.near(at.at, spread))
        } else {
            random.within(&room)
        };
        let pose = Pose::straight(choice, at);
        // Refining brings the loss down to a part, so worse samples may do.
        let limit = best.map_or(4.0 * bound, |(_, loss)| loss);
        let loss = strip.weighted_loss(piece, pose, limit);
        if loss < limit {
            best = Some((pose, loss));
        }
    }
    let best = best?;
    strip.prepare(piece, best.0);
    Some(strip.refine(piece, best, STEP * size, random))
}
