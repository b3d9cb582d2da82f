//! A move of two pieces at once: one takes the place of another, which finds itself a new one.
//!
//! Where the hole that is left over does not fit the piece that is left over, single moves must
//! first pile up weight until some neighbour gives way; this asks the neighbour at once. In the
//! spirit of the swaps of Leung, Lin and Zhang (2012), here within the weighted separation and with
//! the second piece free to go anywhere.

use super::random::Random;
use super::separate::refine;
use super::state::{Pose, State};

/// Pieces up to this many times as large or as small change places.
const ALIKE: f64 = 2.0;
/// Draws of a partner before the exchange is dropped.
const N_DRAWS: usize = 8;
/// Random positions over the whole strip tried for the piece that gives way.
const N_FAR: usize = 6;
/// Samples around a place lie within this share of the piece's size.
const SPREAD: f64 = 0.15;

/// Lets `piece` take the place of a random piece of other shape, and that one go to where it
/// overlaps least; undone unless the weighted loss of both together falls. Whether it did.
pub(super) fn exchange(state: &mut State, piece: usize, random: &mut Random) -> bool {
    let Some(other) = partner(state, piece, random) else {
        return false;
    };
    let (here, there) = (state.poses()[piece], state.poses()[other]);
    let now = state.weighted_loss_of_two(piece, other);
    // The other will be gone, so it does not count.
    let weight = state.set_weight(piece, other, 0.0);
    let found = best_near(state, piece, there, 0, now, random);
    state.set_weight(piece, other, weight);
    let Some((pose, loss)) = found else {
        return false;
    };
    if loss >= now {
        return false;
    }
    state.move_to(piece, pose);
    if let Some((pose, _)) = best_near(state, other, here, N_FAR, now, random) {
        state.move_to(other, pose);
        if state.weighted_loss_of_two(piece, other) < now {
            return true;
        }
    }
    state.move_to(other, there);
    state.move_to(piece, here);
    false
}

/// A random piece of another shape but of like size.
fn partner(state: &State, piece: usize, random: &mut Random) -> Option<usize> {
    let pieces = &state.scene.pieces;
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
    state: &mut State,
    piece: usize,
    at: Pose,
    n_far: usize,
    bound: f64,
    random: &mut Random,
) -> Option<(Pose, f64)> {
    let size = state.scene.pieces[piece].size;
    let n_choices = state.scene.pieces[piece].choices.len();
    let n_near = (2 * n_choices).max(4);
    let mut best: Option<(Pose, f64)> = None;
    state.focus_on(piece, Pose { choice: 0, ..at }, 0.5 * size);
    for k in 0..n_near + n_far {
        let is_near = k < n_near;
        let choice = if is_near {
            k % n_choices
        } else {
            random.below(n_choices)
        };
        let Some(room) = state.room(piece, choice) else {
            continue;
        };
        let (x, y) = if is_near {
            // Each turn once exactly at the place.
            let spread = if k < n_choices { 0.0 } else { SPREAD * size };
            room.clamp(
                at.x + spread * random.signed(),
                at.y + spread * random.signed(),
            )
        } else {
            (
                random.between(room.x.0, room.x.1),
                random.between(room.y.0, room.y.1),
            )
        };
        let pose = Pose { choice, x, y };
        // Refining brings the loss down to a part, so worse samples may do.
        let limit = best.map_or(4.0 * bound, |(_, loss)| loss);
        let loss = state.weighted_loss(piece, pose, limit);
        if loss < limit {
            best = Some((pose, loss));
        }
    }
    let best = best?;
    state.focus_on(piece, best.0, 0.45 * size);
    Some(refine(state, piece, best, 0.08 * size))
}
