//! Making an overlapping layout valid at a fixed length: pieces in conflict move, one by one, to
//! where they overlap least by weighted depth; pairs that stay in conflict grow dear (guided local
//! search: Egeblad, Nielsen and Odgaard 2007; Gardeyn, Vanden Berghe and Wauters 2025).
//!
//! The rounds and the moves are the same whether pieces keep their turns ([`Strip`], by tables) or
//! tilt (`tilt`, without): a [`Tangle`] is what they act on.

use super::conflicts::{Conflicts, Real};
use super::random::Random;
use super::shape::Scene;
use super::strip::{Pose, Poses, Strip};

/// Pieces in a strip that may overlap; `L` is how exactly their losses are held.
pub(super) trait Tangle<L: Real> {
    /// Random places over the whole strip that are tried for each move.
    const N_FAR: usize;
    /// How many times worse than where the piece lies the best of the places tried may be. What is
    /// worse leads nowhere; then the place where it lies is refined. Larger: refinements in vain;
    /// smaller: fewer pieces leave their place.
    const STAY: f64;

    fn scene(&self) -> &Scene;
    fn conflicts(&self) -> &Conflicts<L>;
    fn conflicts_mut(&mut self) -> &mut Conflicts<L>;
    /// The work done, as budgets count it.
    fn work(&self) -> u64;
    /// Whether nothing overlaps and all is in the strip.
    fn is_valid(&self) -> bool;
    /// Told before each round of moves.
    fn begin_round(&mut self, _random: &mut Random) {}
    fn pose(&self, piece: usize) -> Pose;
    /// Copies where all pieces lie.
    fn save(&self, into: &mut Poses);
    /// Puts all pieces where they were; conflicts are those of then.
    fn restore(&mut self, poses: &[Pose]);
    /// Moves a piece for good.
    fn move_to(&mut self, piece: usize, pose: Pose);
    /// Pushes all pieces apart at once; whether nothing overlaps then.
    fn push_apart(&mut self, n_sweeps: usize) -> bool;

    /// Prepares for many looks near `pose`.
    fn prepare(&mut self, _piece: usize, _pose: Pose) {}
    /// A random place near `here`, and one anywhere; `None` if the turn drawn has no room.
    fn near(&self, piece: usize, here: Pose, random: &mut Random) -> Option<Pose>;
    fn far(&self, piece: usize, random: &mut Random) -> Option<Pose>;
    /// Where `piece` ends if it is put at `pose`, and its weighted loss there; early and above
    /// `bound` once it passes that.
    fn look(&mut self, piece: usize, pose: Pose, bound: f64) -> (Pose, f64);
    /// The best place found by small steps from one with its loss, the first of length `step`.
    fn refine(
        &mut self,
        piece: usize,
        from: (Pose, f64),
        step: f64,
        random: &mut Random,
    ) -> (Pose, f64);
    /// A piece that was looked at elsewhere stays where it is.
    fn stay(&mut self, _piece: usize, _here: Pose) {}
    /// What a piece does that finds no better place.
    fn move_another_way(&mut self, _piece: usize, _random: &mut Random) {}
}

/// When a separation gives up.
#[derive(Clone, Copy, Debug)]
pub(super) struct Patience {
    /// Rounds without a gain before going back to the least overlap.
    pub rounds: usize,
    /// Times it may go back without a gain; at zero it does not go back at all.
    pub strikes: usize,
    /// Whether a round with a gain too small to count is as idle as one with none.
    pub is_strict: bool,
}

/// How a separation ended.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Separation {
    /// No piece overlaps another.
    Valid,
    /// Given up; this was the least loss.
    Stuck(f64),
    /// The caller's limit was reached.
    Interrupted,
}

/// Joint pushes tried when the loss has clearly fallen.
const FINISH_SWEEPS: usize = 200;
/// A loss this share below the least so far is a gain.
const GAIN: f64 = 0.98;
/// A round of more moves than this is asked on its way whether to go on: it takes a second.
const LONG_ROUND: usize = 1000;
/// Random places near the piece that are tried for each move.
const N_NEAR: usize = 10;
/// The first step of a refinement of a place near the piece, and of one far from it, as a share of
/// the piece's size.
const STEP_NEAR: f64 = 0.05;
const STEP_FAR: f64 = 0.1;

/// Pushes all pieces apart and, where that is not enough, runs rounds of moves. A layout given up
/// is left as it was when it overlapped least.
pub(super) fn separate(
    strip: &mut Strip,
    random: &mut Random,
    patience: Patience,
    go_on: &mut dyn FnMut(u64) -> bool,
) -> Separation {
    if strip.is_valid() {
        return Separation::Valid;
    }
    strip.conflicts_mut().reset_weights();
    let start = strip.poses().clone();
    if strip.push_apart(FINISH_SWEEPS) {
        return Separation::Valid;
    }
    strip.restore(&start);
    move_in_rounds(strip, random, patience, go_on)
}

/// Runs rounds of moves until the layout is valid, or patience or `go_on` ends.
pub(super) fn move_in_rounds<L: Real, T: Tangle<L>>(
    tangle: &mut T,
    random: &mut Random,
    patience: Patience,
    go_on: &mut dyn FnMut(u64) -> bool,
) -> Separation {
    let mut least = tangle.conflicts().total();
    let mut kept = Poses::new();
    tangle.save(&mut kept);
    let (mut idle, mut strikes) = (0, 0);
    let mut strike_least = least;
    let mut order = Vec::new();
    loop {
        if !go_on(tangle.work()) {
            return Separation::Interrupted;
        }
        tangle.begin_round(random);
        tangle.conflicts().colliding(random, &mut order);
        for (n, &piece) in order.iter().enumerate() {
            if n % LONG_ROUND == LONG_ROUND - 1 && !go_on(tangle.work()) {
                return Separation::Interrupted;
            }
            if tangle.conflicts().collides(piece) && !relocate(tangle, piece, random) {
                tangle.move_another_way(piece, random);
            }
        }
        if tangle.is_valid() {
            return Separation::Valid;
        }
        let loss = tangle.conflicts().total();
        let (is_less, is_gain) = (loss < least, loss < GAIN * least);
        if is_less {
            least = loss;
            tangle.save(&mut kept);
        }
        if is_gain {
            idle = 0;
            if tangle.push_apart(FINISH_SWEEPS) {
                return Separation::Valid;
            }
            tangle.restore(&kept);
        } else if patience.is_strict || !is_less {
            idle += 1;
        }
        tangle.conflicts_mut().update_weights();
        if idle >= patience.rounds {
            if least < GAIN * strike_least {
                strikes = 0;
                strike_least = least;
            } else {
                strikes += 1;
            }
            if patience.strikes > 0 {
                tangle.restore(&kept);
            }
            if strikes >= patience.strikes {
                return Separation::Stuck(least);
            }
            idle = 0;
        }
    }
}

/// Moves `piece` to the best place found, if that is better than where it lies; whether it was.
fn relocate<L: Real, T: Tangle<L>>(tangle: &mut T, piece: usize, random: &mut Random) -> bool {
    let here = tangle.pose(piece);
    let now = tangle.conflicts().weighted(piece);
    let size = tangle.scene().pieces[piece].size;
    let mut best = (here, f64::INFINITY);
    let mut is_far = false;
    tangle.prepare(piece, here);
    for k in 0..N_NEAR + T::N_FAR {
        let drawn = if k < N_NEAR {
            tangle.near(piece, here, random)
        } else {
            tangle.far(piece, random)
        };
        let Some(pose) = drawn else { continue };
        let (pose, loss) = tangle.look(piece, pose, best.1);
        if loss < best.1 {
            best = (pose, loss);
            is_far = k >= N_NEAR;
            if loss == 0.0 {
                break;
            }
        }
    }
    if best.1 > T::STAY * now {
        (best, is_far) = ((here, now), false);
    }
    if best.1 > 0.0 && best.1 < f64::INFINITY {
        let step = if is_far { STEP_FAR } else { STEP_NEAR } * size;
        if is_far {
            tangle.prepare(piece, best.0);
        }
        best = tangle.refine(piece, best, step, random);
    }
    let moves = best.1 < now && best.0 != here;
    if moves {
        tangle.move_to(piece, best.0);
    } else {
        tangle.stay(piece, here);
    }
    moves
}
