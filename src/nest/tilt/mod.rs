//! Turning pieces a little, within their angle tolerance, to shorten a finished layout.
//!
//! Searching with small turns from the start costs more than it gives: the search space grows and
//! nothing else changes. So the search runs in the turns as given, and what it found is squeezed
//! with all pieces free to shift and turn: the strip is shortened by a small step, `push` moves and
//! turns all pieces apart, and if that works the strip is shortened again. `bodies` holds the
//! pieces as they lie.

mod bodies;
mod push;

use super::budget::Budget;
use super::random::Random;
use super::shape::Scene;
use super::{Layout, Placed, Problem};
use crate::geometry::{Face, Placement, Point, Turn, Vector, trig};
use crate::nest::explore::Found;
use crate::units::Angle;
use bodies::{Bodies, Lie};
use push::push_apart;

/// Sweeps of joint pushes for each step.
const SWEEPS: usize = 300;
/// First, largest and least shortening step, as a share of the length.
const STEP_FIRST: f64 = 0.002;
const STEP_MOST: f64 = 0.01;
const STEP_LEAST: f64 = 0.00002;

/// Whether any shape of `problem` may be turned off its turns.
pub(super) fn is_wanted(problem: &Problem) -> bool {
    let may = |s: &super::Shape| s.demand > 0 && s.tolerance.to_degrees() > 0.0;
    problem.shapes.iter().any(may)
}

/// A layout with small turns.
#[derive(Clone, Debug)]
pub(super) struct Tilted {
    /// Used length, mm.
    pub length: f64,
    /// Every piece.
    pub lies: Vec<Lie>,
}

/// One logical worker: squeezes a layout with its own stream of random choices.
pub(super) struct Tilter<'a> {
    scene: &'a Scene,
    bodies: Bodies<'a>,
    random: Random,
    budget: Budget,
    /// The shortest valid layout so far.
    pub best: Tilted,
    step: f64,
}

impl<'a> Tilter<'a> {
    /// Starts from `found`; `contact` is the depth in mm that is none yet.
    pub(super) fn new(
        problem: &Problem,
        scene: &'a Scene,
        contact: f64,
        found: &Found,
        random: Random,
        budget: Budget,
    ) -> Self {
        let lies: Vec<Lie> = found
            .poses
            .iter()
            .map(|pose| Lie {
                choice: pose.choice,
                tilt: 0.0,
                at: Point::new(pose.x, pose.y),
            })
            .collect();
        let limits: Vec<f64> = scene
            .pieces
            .iter()
            .map(|piece| problem.shapes[piece.shape].tolerance.to_degrees().max(0.0))
            .collect();
        let bodies = Bodies::new(scene, contact, &lies, &limits);
        Self {
            scene,
            bodies,
            random,
            budget,
            best: Tilted {
                length: found.length,
                lies,
            },
            step: STEP_FIRST,
        }
    }

    pub(super) fn spent(&self) -> f64 {
        self.budget.spent(self.bodies.work)
    }

    /// Squeezes until the share `until` of the budget is spent or `tell`, which hears of every
    /// better length, answers `false`.
    pub(super) fn run(&mut self, until: f64, tell: &(dyn Fn(Option<f64>, f64) -> bool + Sync)) {
        while self.spent() < until {
            let better = self.attempt();
            if !tell(better.then_some(self.best.length), self.spent()) {
                break;
            }
        }
    }

    /// One attempt at a shorter layout.
    fn attempt(&mut self) -> bool {
        let length = self.best.length * (1.0 - self.step);
        let shake = self.step <= STEP_LEAST;
        self.load(length, shake);
        self.bodies.work += 1000;
        let unit = self.scene.unit;
        if push_apart(&mut self.bodies, unit, SWEEPS) {
            let reached = self.bodies.used_length();
            if reached < self.best.length {
                self.best = Tilted {
                    length: reached,
                    lies: self.bodies.lies(),
                };
                self.step = (self.step * 1.5).min(STEP_MOST);
                return true;
            }
        }
        self.step = (self.step * 0.5).max(STEP_LEAST);
        false
    }

    /// The best layout with all x scaled to a strip of `length`.
    fn load(&mut self, length: f64, shake: bool) {
        let ratio = length / self.best.length;
        self.bodies.length = length;
        let amount = if shake {
            let u = self.random.unit();
            0.1 * u * u
        } else {
            0.0
        };
        let unit = self.scene.unit;
        let mut lies = self.best.lies.clone();
        for lie in &mut lies {
            lie.at.x *= ratio;
        }
        self.bodies.restore(&lies);
        for k in 0..self.bodies.len() {
            let by = if shake {
                Vector::new(self.random.signed(), self.random.signed()) * (0.3 * amount * unit)
            } else {
                Vector::default()
            };
            let turn = if shake {
                10.0 * amount * self.random.signed()
            } else {
                0.0
            };
            self.bodies.shove(k, by, turn);
        }
    }
}

/// The layout that `tilted` describes, measured from the true outlines.
pub(super) fn to_layout(problem: &Problem, scene: &Scene, tilted: &Tilted) -> Layout {
    let mut length: f64 = 0.0;
    let mut placed: Vec<(Placed, f64)> = Vec::with_capacity(tilted.lies.len());
    for (piece, lie) in scene.pieces.iter().zip(&tilted.lies) {
        let choice = &piece.choices[lie.choice];
        let placement = placement(choice.turn, choice.shift, lie);
        let outline = placement.outline(&problem.shapes[piece.shape].outline);
        length = length.max(outline.bounds().max.x);
        placed.push((
            Placed {
                shape: piece.shape,
                placement,
            },
            lie.at.x,
        ));
    }
    placed.sort_by(|a, b| a.0.shape.cmp(&b.0.shape).then(a.1.total_cmp(&b.1)));
    Layout {
        placed: placed.into_iter().map(|(p, _)| p).collect(),
        length,
    }
}

/// Where a shape lies whose variant, with its turn and shift, is turned and moved by `lie`.
fn placement(turn: Turn, shift: Vector, lie: &Lie) -> Placement {
    if lie.tilt == 0.0 {
        return Placement {
            turn,
            shift: (lie.at + shift) - Point::default(),
        };
    }
    // A piece that faces down is mirrored after its turn: on the strip it turns the other way.
    let off = Angle::degrees(match turn.face {
        Face::Up => lie.tilt,
        Face::Down => -lie.tilt,
    });
    let (sin, cos) = trig::sin_cos(Angle::degrees(lie.tilt));
    let turned = Vector::new(
        shift.x * cos - shift.y * sin,
        shift.x * sin + shift.y * cos,
    );
    Placement {
        turn: Turn {
            angle: turn.angle + off,
            face: turn.face,
        },
        shift: (lie.at + turned) - Point::default(),
    }
}
