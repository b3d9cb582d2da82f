//! The moves of `separate` with small turns among them.

use super::bodies::Bodies;
use crate::geometry::{Point, Vector};
use crate::nest::conflicts::Conflicts;
use crate::nest::push::push_apart;
use crate::nest::random::Random;
use crate::nest::separate::{Patience, Separation, Tangle, move_in_rounds};
use crate::nest::shape::Scene;
use crate::nest::strip::{OBSTACLE_WEIGHT, Pose, Poses};

/// More rounds: longer in vain; fewer: gives up too early.
const PATIENCE: Patience = Patience {
    rounds: 60,
    strikes: 0,
    is_strict: true,
};
/// Share of the size of a piece and of its tolerance within which samples near it lie.
const NEAR: f64 = 0.2;
const NEAR_TURN: f64 = 0.3;
/// Steps of the refinement of the best place; they grow after a gain and shrink after a failure.
const N_REFINE: usize = 30;
const STEP_GROW: f64 = 1.15;
const STEP_SHRINK: f64 = 0.55;

/// Pieces that tilt, with their collisions.
struct Tilted<'b, 'a> {
    bodies: &'b mut Bodies<'a>,
    conflicts: Conflicts<f64>,
}

/// Moves and turns pieces until nothing overlaps, or patience or `go_on` ends; whether the layout
/// is valid.
pub(super) fn untangle(
    bodies: &mut Bodies,
    random: &mut Random,
    go_on: &mut dyn FnMut(u64) -> bool,
) -> bool {
    let pieces = (bodies.scene.pieces.iter()).map(|p| (p.size / bodies.scene.unit).sqrt());
    let obstacles = (bodies.scene.obstacles.iter()).map(|_| f64::from(OBSTACLE_WEIGHT));
    let mut tilted = Tilted {
        conflicts: Conflicts::new(bodies.n_pieces(), pieces.chain(obstacles).collect()),
        bodies,
    };
    for piece in 0..tilted.bodies.n_pieces() {
        tilted.measure(piece);
    }
    move_in_rounds(&mut tilted, random, PATIENCE, go_on) == Separation::Valid
}

impl Tilted<'_, '_> {
    /// Measures `piece` against all others and the obstacles.
    fn measure(&mut self, piece: usize) {
        self.conflicts.forget(piece);
        let frame = self.bodies.bounds(piece);
        for j in (0..self.bodies.n_all()).filter(|&j| j != piece) {
            if frame.overlaps(&self.bodies.bounds(j)) {
                let loss = self.bodies.loss(piece, j, f64::INFINITY);
                if loss > 0.0 {
                    self.conflicts.note(piece, j, loss);
                }
            }
        }
    }
}

impl Tangle<f64> for Tilted<'_, '_> {
    /// Fewer than in the search with tables, as each costs more.
    const N_FAR: usize = 10;
    const STAY: f64 = f64::INFINITY;

    fn scene(&self) -> &Scene {
        self.bodies.scene
    }

    fn conflicts(&self) -> &Conflicts<f64> {
        &self.conflicts
    }

    fn conflicts_mut(&mut self) -> &mut Conflicts<f64> {
        &mut self.conflicts
    }

    fn work(&self) -> u64 {
        self.bodies.work
    }

    fn is_valid(&self) -> bool {
        self.conflicts.is_empty() && (0..self.bodies.n_pieces()).all(|k| self.bodies.is_inside(k))
    }

    fn pose(&self, piece: usize) -> Pose {
        self.bodies.pose(piece)
    }

    fn save(&self, into: &mut Poses) {
        *into = self.bodies.poses();
    }

    fn restore(&mut self, poses: &[Pose]) {
        for (k, &pose) in poses.iter().enumerate() {
            self.bodies.put(k, pose);
        }
    }

    fn move_to(&mut self, piece: usize, pose: Pose) {
        self.bodies.put(piece, pose);
        self.measure(piece);
    }

    fn push_apart(&mut self, n_sweeps: usize) -> bool {
        push_apart(self.bodies, n_sweeps)
    }

    fn near(&self, piece: usize, here: Pose, random: &mut Random) -> Option<Pose> {
        let limit = self.bodies.limit_of(piece);
        let reach = NEAR * self.bodies.scene.pieces[piece].size;
        let at = random.mostly_near(here.at, reach);
        let tilt = if limit > 0.0 {
            let by = NEAR_TURN * limit * (random.signed() + random.signed());
            (here.tilt + by).clamp(-limit, limit)
        } else {
            here.tilt
        };
        Some(Pose { at, tilt, ..here })
    }

    fn far(&self, piece: usize, random: &mut Random) -> Option<Pose> {
        let choice = random.below(self.bodies.scene.pieces[piece].choices.len());
        let x = random.between(0.0, self.bodies.length);
        let y = random.between(0.0, self.bodies.scene.width);
        Some(Pose::straight(choice, Point::new(x, y)))
    }

    /// The piece is moved into the strip; infinite without room. It is left there.
    fn look(&mut self, piece: usize, pose: Pose, bound: f64) -> (Pose, f64) {
        self.bodies.put(piece, pose);
        self.bodies.confine(piece);
        let pose = self.bodies.pose(piece);
        if !self.bodies.is_inside(piece) {
            return (pose, f64::INFINITY);
        }
        let frame = self.bodies.bounds(piece);
        let weights = self.conflicts.weights_of(piece);
        let mut sum = 0.0;
        self.bodies.work += self.bodies.n_all() as u64 / 4;
        for (j, &weight) in weights.iter().enumerate() {
            if j == piece || !frame.overlaps(&self.bodies.bounds(j)) {
                continue;
            }
            sum += weight * self.bodies.loss(piece, j, (bound - sum) / weight);
            if sum > bound {
                break;
            }
        }
        (pose, sum)
    }

    /// Steps go along the axes and diagonals, and turn.
    fn refine(
        &mut self,
        piece: usize,
        (mut pose, mut loss): (Pose, f64),
        mut step: f64,
        random: &mut Random,
    ) -> (Pose, f64) {
        let limit = self.bodies.limit_of(piece);
        let n_ways = if limit > 0.0 { 6 } else { 4 };
        // What turns its outmost corner by 1 mm.
        let degrees = (1.0 / self.bodies.radius(piece).max(1e-9)).to_degrees();
        for _ in 0..N_REFINE {
            if loss <= 0.0 {
                break;
            }
            let (x, y, turn) = match random.below(n_ways) {
                0 => (1.0, 0.0, 0.0),
                1 => (0.0, 1.0, 0.0),
                2 => (0.7, 0.7, 0.0),
                3 => (0.7, -0.7, 0.0),
                _ => (0.0, 0.0, degrees),
            };
            let from = pose;
            let gained = [step, -step].into_iter().any(|by| {
                let next = Pose {
                    tilt: (from.tilt + by * turn).clamp(-limit, limit),
                    at: from.at + Vector::new(x, y) * by,
                    ..from
                };
                let (next, value) = self.look(piece, next, loss);
                let is_better = value < loss;
                if is_better {
                    (pose, loss) = (next, value);
                }
                is_better
            });
            step *= if gained { STEP_GROW } else { STEP_SHRINK };
        }
        (pose, loss)
    }

    fn stay(&mut self, piece: usize, here: Pose) {
        self.bodies.put(piece, here);
    }
}
