//! Making an overlapping layout valid at a fixed length where joint pushes alone do not: as
//! `separate` does it, piece by piece with weights, but with small turns among the moves.

use super::bodies::{Bodies, Lie};
use super::push::push_apart;
use crate::geometry::Point;
use crate::nest::random::Random;
use crate::nest::separate::{FINISH_SWEEPS, GAIN, N_NEAR};
use crate::nest::state::{DECAY, GROWTH_LEAST, GROWTH_MOST, WEIGHT_MOST};

/// Rounds without a gain before giving up. More: longer in vain; fewer: gives up too early.
const PATIENCE: usize = 60;
/// Random positions over the whole strip that are tried for each move: fewer than in the search
/// with tables, as each costs more.
const N_FAR: usize = 10;
/// Steps of the refinement of the best of them; they grow after a gain and shrink after a failure.
const N_REFINE: usize = 30;
const STEP_GROW: f64 = 1.15;
const STEP_SHRINK: f64 = 0.55;

/// Which pairs overlap, and how dear that is.
#[derive(Clone, Debug)]
struct Conflicts {
    n: usize,
    /// Base weight of each piece; a pair's is the product of two.
    base: Vec<f64>,
    /// Loss of each pair, a full symmetric matrix.
    loss: Vec<f64>,
    /// Weight of each pair, likewise.
    weights: Vec<f64>,
}

/// Moves and turns pieces until nothing overlaps, or patience or `go_on` ends; whether the layout
/// is valid.
pub(super) fn untangle(
    bodies: &mut Bodies,
    random: &mut Random,
    go_on: &mut dyn FnMut(u64) -> bool,
) -> bool {
    let mut conflicts = Conflicts::of(bodies);
    let mut least = conflicts.total();
    let mut idle = 0;
    let mut order: Vec<usize> = Vec::new();
    while idle < PATIENCE {
        if !go_on(bodies.work) {
            return false;
        }
        order.clear();
        order.extend((0..bodies.len()).filter(|&k| conflicts.collides(k)));
        random.shuffle(&mut order);
        for &piece in &order {
            if conflicts.collides(piece) {
                relocate(bodies, &mut conflicts, piece, random);
            }
        }
        let loss = conflicts.total();
        if loss == 0.0 {
            return (0..bodies.len()).all(|k| bodies.is_inside(k));
        }
        if loss < GAIN * least {
            idle = 0;
            let kept = bodies.lies();
            if push_apart(bodies, FINISH_SWEEPS) {
                return true;
            }
            bodies.restore(&kept);
        } else {
            idle += 1;
        }
        least = least.min(loss);
        conflicts.update_weights();
    }
    false
}

/// Moves `piece` to the best place found, if that is better than where it lies.
fn relocate(bodies: &mut Bodies, conflicts: &mut Conflicts, piece: usize, random: &mut Random) {
    let here = bodies.lie(piece);
    let now = conflicts.weighted(piece);
    let size = bodies.scene.pieces[piece].size;
    let mut best = (here, f64::INFINITY);
    let mut is_far = false;
    for k in 0..N_NEAR + N_FAR {
        let lie = if k < N_NEAR {
            near(bodies, piece, here, 0.2 * size, random)
        } else {
            far(bodies, piece, random)
        };
        let (lie, loss) = evaluate(bodies, conflicts, piece, lie, best.1);
        if loss < best.1 {
            best = (lie, loss);
            is_far = k >= N_NEAR;
            if loss == 0.0 {
                break;
            }
        }
    }
    if best.1 > 0.0 && best.1 < f64::INFINITY {
        let step = if is_far { 0.1 } else { 0.05 } * size;
        best = refine(bodies, conflicts, piece, best, step, random);
    }
    if best.1 < now {
        bodies.put(piece, best.0);
        conflicts.measure(bodies, piece);
    } else {
        bodies.put(piece, here);
    }
}

fn near(bodies: &Bodies, piece: usize, here: Lie, reach: f64, random: &mut Random) -> Lie {
    let limit = bodies.limit_of(piece);
    let mut either = || random.signed() + random.signed();
    let at = Point::new(here.at.x + reach * either(), here.at.y + reach * either());
    let tilt = if limit > 0.0 {
        (here.tilt + 0.3 * limit * either()).clamp(-limit, limit)
    } else {
        here.tilt
    };
    Lie { at, tilt, ..here }
}

fn far(bodies: &Bodies, piece: usize, random: &mut Random) -> Lie {
    let n_choices = bodies.scene.pieces[piece].choices.len();
    Lie {
        choice: random.below(n_choices),
        tilt: 0.0,
        at: Point::new(
            random.between(0.0, bodies.length),
            random.between(0.0, bodies.scene.width),
        ),
    }
}

/// Weighted loss that `piece` has at `lie`, moved into the strip; early and above `bound` once it
/// passes that, infinite without room. Leaves the piece there.
fn evaluate(
    bodies: &mut Bodies,
    conflicts: &Conflicts,
    piece: usize,
    lie: Lie,
    bound: f64,
) -> (Lie, f64) {
    bodies.put(piece, lie);
    bodies.confine(piece);
    let lie = bodies.lie(piece);
    if !bodies.is_inside(piece) {
        return (lie, f64::INFINITY);
    }
    let frame = bodies.bounds(piece);
    let mut sum = 0.0;
    bodies.work += bodies.len() as u64 / 4;
    for j in 0..bodies.len() {
        let other = bodies.bounds(j);
        let apart = other.min.x >= frame.max.x
            || frame.min.x >= other.max.x
            || other.min.y >= frame.max.y
            || frame.min.y >= other.max.y;
        if apart || j == piece {
            continue;
        }
        let weight = conflicts.weights[piece * conflicts.n + j];
        sum += weight * bodies.loss(piece, j, (bound - sum) / weight);
        if sum > bound {
            break;
        }
    }
    (lie, sum)
}

/// Improves a place by small steps along the axes and diagonals and small turns.
fn refine(
    bodies: &mut Bodies,
    conflicts: &Conflicts,
    piece: usize,
    (mut lie, mut loss): (Lie, f64),
    step: f64,
    random: &mut Random,
) -> (Lie, f64) {
    let limit = bodies.limit_of(piece);
    let n_ways = if limit > 0.0 { 6 } else { 4 };
    // What turns its outmost corner by 1 mm.
    let degrees = (1.0 / bodies.radius(piece).max(1e-9)).to_degrees();
    let mut step = step;
    for _ in 0..N_REFINE {
        if loss <= 0.0 {
            break;
        }
        let (ux, uy, turn) = match random.below(n_ways) {
            0 => (1.0, 0.0, 0.0),
            1 => (0.0, 1.0, 0.0),
            2 => (0.7, 0.7, 0.0),
            3 => (0.7, -0.7, 0.0),
            _ => (0.0, 0.0, degrees),
        };
        let mut gained = false;
        for by in [step, -step] {
            let next = Lie {
                tilt: (lie.tilt + by * turn).clamp(-limit, limit),
                at: Point::new(lie.at.x + by * ux, lie.at.y + by * uy),
                ..lie
            };
            let (next, value) = evaluate(bodies, conflicts, piece, next, loss);
            if value < loss {
                (lie, loss) = (next, value);
                gained = true;
                break;
            }
        }
        step *= if gained { STEP_GROW } else { STEP_SHRINK };
    }
    (lie, loss)
}

impl Conflicts {
    fn of(bodies: &mut Bodies) -> Self {
        let n = bodies.len();
        let base: Vec<f64> = (bodies.scene.pieces.iter())
            .map(|p| (p.size / bodies.scene.unit).sqrt())
            .collect();
        let mut conflicts = Self {
            n,
            loss: vec![0.0; n * n],
            weights: (0..n * n).map(|k| base[k / n] * base[k % n]).collect(),
            base,
        };
        for k in 0..n {
            conflicts.measure(bodies, k);
        }
        conflicts
    }

    /// Measures `piece` against all others.
    fn measure(&mut self, bodies: &mut Bodies, piece: usize) {
        let frame = bodies.bounds(piece);
        for j in (0..self.n).filter(|&j| j != piece) {
            let other = bodies.bounds(j);
            let apart = other.min.x >= frame.max.x
                || frame.min.x >= other.max.x
                || other.min.y >= frame.max.y
                || frame.min.y >= other.max.y;
            let loss = if apart {
                0.0
            } else {
                bodies.loss(piece, j, f64::INFINITY)
            };
            self.loss[piece * self.n + j] = loss;
            self.loss[j * self.n + piece] = loss;
        }
    }

    fn row(&self, piece: usize) -> &[f64] {
        &self.loss[piece * self.n..(piece + 1) * self.n]
    }

    fn collides(&self, piece: usize) -> bool {
        self.row(piece).iter().any(|&l| l > 0.0)
    }

    fn total(&self) -> f64 {
        0.5 * self.loss.iter().sum::<f64>()
    }

    fn weighted(&self, piece: usize) -> f64 {
        let weights = &self.weights[piece * self.n..];
        self.row(piece)
            .iter()
            .zip(weights)
            .map(|(l, w)| l * w)
            .sum()
    }

    /// Raises the weights of colliding pairs, the worst most, and lets the others decay.
    fn update_weights(&mut self) {
        let worst = self.loss.iter().copied().fold(0.0, f64::max);
        let slope = (GROWTH_MOST - GROWTH_LEAST) / worst.max(f64::MIN_POSITIVE);
        for (k, (w, &l)) in self.weights.iter_mut().zip(&self.loss).enumerate() {
            let factor = if l > 0.0 {
                GROWTH_LEAST + slope * l
            } else {
                DECAY
            };
            let base = self.base[k / self.n] * self.base[k % self.n];
            *w = (*w * factor).clamp(base, WEIGHT_MOST);
        }
    }
}
