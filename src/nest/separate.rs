//! Making an overlapping layout valid at a fixed length: pieces in conflict move, one by one, to
//! where they overlap least by weighted depth; pairs that stay in conflict grow dear (guided local
//! search: Egeblad, Nielsen and Odgaard 2007; Gardeyn, Vanden Berghe and Wauters 2025).

use super::exchange::exchange;
use super::measure::{LANES, Steps};
use super::random::Random;
use super::state::{Pose, Poses, Room, State};

/// When a separation gives up.
#[derive(Clone, Copy, Debug)]
pub(super) struct Patience {
    /// Rounds without a gain before going back to the least overlap.
    pub rounds: usize,
    /// Times it may go back without a gain.
    pub strikes: usize,
}

/// How a separation ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Outcome {
    /// No piece overlaps another.
    Valid,
    /// Given up; the state is the one of least overlap, with this loss.
    Stuck(f64),
    /// The caller's limit was reached.
    Interrupted,
}

/// Joint pushes tried when the loss has clearly fallen.
pub(super) const FINISH_SWEEPS: usize = 200;
/// A loss this share below the least so far is a gain.
pub(super) const GAIN: f64 = 0.98;
/// Random positions over the whole strip, and near the piece, that are tried for each move.
const N_FAR: usize = 20;
pub(super) const N_NEAR: usize = 10;
/// How often a piece that finds no better place tries to exchange its place for another's, at most,
/// and times the number of pieces: among many, a random partner is seldom the right one.
const EXCHANGE_MOST: f64 = 0.3;
const EXCHANGE_TIMES_PIECES: f64 = 6.0;
/// How many times worse than where the piece lies the best of them may be. What is worse leads
/// nowhere; then the place where it lies is refined. Larger: refinements in vain; smaller: fewer
/// pieces leave their place.
const STAY: f64 = 16.0;
/// Steps of the refinement of the best of them.
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

/// Runs rounds of moves until the layout is valid, or patience or `go_on` ends.
pub(super) fn separate(
    state: &mut State,
    random: &mut Random,
    patience: Patience,
    go_on: &mut dyn FnMut(u64) -> bool,
) -> Outcome {
    if state.is_valid() {
        return Outcome::Valid;
    }
    state.reset_weights();
    let mut least = state.total_loss();
    let mut kept: Poses = state.poses().clone();
    if super::joint::push_apart(state, FINISH_SWEEPS) {
        return Outcome::Valid;
    }
    state.restore(&kept);
    let exchange_share = EXCHANGE_MOST.min(EXCHANGE_TIMES_PIECES / state.n_pieces() as f64);
    let (mut idle, mut strikes) = (0, 0);
    let mut strike_least = least;
    let mut order = Vec::new();
    loop {
        if !go_on(state.work) {
            return Outcome::Interrupted;
        }
        state.counts.rounds += 1;
        state.colliding(random, &mut order);
        for &piece in &order {
            if state.collides(piece)
                && !relocate(state, piece, random)
                && random.unit() < exchange_share
            {
                exchange(state, piece, random);
            }
        }
        if state.is_valid() {
            return Outcome::Valid;
        }
        let loss = state.total_loss();
        if loss < least {
            let gained = loss < GAIN * least;
            least = loss;
            kept.clone_from(state.poses());
            if gained {
                idle = 0;
                if super::joint::push_apart(state, FINISH_SWEEPS) {
                    return Outcome::Valid;
                }
                state.restore(&kept);
            }
        } else {
            idle += 1;
        }
        state.update_weights();
        if idle >= patience.rounds {
            if least < GAIN * strike_least {
                strikes = 0;
                strike_least = least;
            } else {
                strikes += 1;
            }
            state.restore(&kept);
            if strikes >= patience.strikes {
                return Outcome::Stuck(least);
            }
            idle = 0;
        }
    }
}

/// Moves `piece` to the best place found, if that is better than where it lies.
pub(super) fn relocate(state: &mut State, piece: usize, random: &mut Random) -> bool {
    let here = state.poses()[piece];
    let now = state.weighted_loss_here(piece);
    let unit = state.scene.pieces[piece].size;
    let n_choices = state.scene.pieces[piece].choices.len();
    let mut best = (here, now);
    let mut best_sample = (here, f64::INFINITY);
    let mut from_far = false;
    state.focus_on(piece, here, 0.45 * unit);
    for k in 0..N_FAR + N_NEAR {
        let choice = if n_choices == 1 {
            0
        } else {
            random.below(n_choices)
        };
        let Some(room) = state.room(piece, choice) else {
            continue;
        };
        let (x, y) = if k >= N_NEAR {
            (
                random.between(room.x.0, room.x.1),
                random.between(room.y.0, room.y.1),
            )
        } else {
            room.clamp(
                here.x + 0.2 * unit * (random.signed() + random.signed()),
                here.y + 0.2 * unit * (random.signed() + random.signed()),
            )
        };
        let pose = Pose { choice, x, y };
        let loss = state.weighted_loss(piece, pose, best_sample.1);
        if loss < best_sample.1 {
            best_sample = (pose, loss);
            from_far = k >= N_NEAR;
            if loss == 0.0 {
                break;
            }
        }
    }
    if best_sample.1 > STAY * now {
        (best_sample, from_far) = (best, false);
    }
    if best_sample.1 > 0.0 && best_sample.1 < f64::INFINITY {
        let step = if from_far { 0.1 } else { 0.05 } * unit;
        if from_far {
            state.focus_on(piece, best_sample.0, 0.45 * unit);
        }
        best_sample = refine(state, piece, best_sample, step);
    }
    if best_sample.1 < best.1 {
        best = best_sample;
    }
    if best.0 == here {
        return false;
    }
    state.move_to(piece, best.0);
    true
}

/// Improves a position by steps to the best of the places around it, shorter and shorter ones.
pub(super) fn refine(
    state: &mut State,
    piece: usize,
    (mut pose, mut loss): (Pose, f64),
    mut step: f64,
) -> (Pose, f64) {
    let Some(room) = state.room(piece, pose.choice) else {
        return (pose, loss);
    };
    let least_step = LEAST_STEP * state.scene.unit;
    let mut moved = false;
    for _ in 0..N_REFINE {
        if loss <= 0.0 || step < least_step {
            break;
        }
        let steps = Steps::to(|lane| {
            let (x, y) = COMPASS[lane];
            let to = room.clamp(pose.x + step * x, pose.y + step * y);
            (to.0 - pose.x, to.1 - pose.y)
        });
        let losses = state.weighted_losses_around(piece, pose, &steps, loss);
        let (lane, value) = least_of(&losses);
        if value < loss {
            let by = steps.lane(lane);
            (pose.x, pose.y) = room.clamp(pose.x + by.x, pose.y + by.y);
            (loss, moved) = (value, true);
            step *= STEP_GROW;
        } else {
            step *= STEP_SHRINK;
        }
    }
    if moved {
        // What was found together is good to single precision only.
        loss = state.weighted_loss(piece, pose, f64::INFINITY);
    }
    settle(state, piece, (pose, loss), room)
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
fn settle(state: &mut State, piece: usize, (pose, loss): (Pose, f64), room: Room) -> (Pose, f64) {
    let mut best = (pose, loss);
    for _ in 0..2 {
        if best.1 <= 0.0 {
            break;
        }
        let (value, slope) = state.weighted_slope(piece, best.0);
        let steep = slope.dot(slope);
        if steep <= 0.0 {
            break;
        }
        let by = slope * ((value * (1.0 + 1e-9)) / steep);
        let (x, y) = room.clamp(best.0.x + by.x, best.0.y + by.y);
        let next = Pose { x, y, ..best.0 };
        let value = state.weighted_loss(piece, next, best.1);
        if value >= best.1 {
            break;
        }
        best = (next, value);
    }
    best
}
