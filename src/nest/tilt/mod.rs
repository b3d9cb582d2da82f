//! Turning pieces a little, within their angle tolerance, to shorten a finished layout.
//!
//! Small turns in the whole search cost more than they give: the search space grows and every
//! collision takes longer to measure. So the search runs in the turns as given, and what it found
//! is squeezed with all pieces free to shift and turn. The strip is shortened by a small step and
//! `push` moves and turns all pieces apart; if that works, it is shortened again, and where it no
//! longer does, pieces are shaken first. In the end every piece that need not be off its turn is
//! put straight again: fibres are turned only where that saves cloth. `bodies` holds the pieces as
//! they lie.
//!
//! A container of fixed size that is full takes what `more` finds room for in the same way.
//!
//! Where joint pushes are at their end, `untangle` moves single pieces, with small turns among the
//! moves, as `separate` does without. Left out after measurement: to search on from the tilted
//! shapes with tables and push near-misses apart with tilts; hardly any came apart.

mod bodies;
mod more;
mod push;
mod untangle;

use super::budget::Budget;
use super::heats::Found;
use super::push::push_apart;
use super::random::Random;
use super::run::{layout_of, run_all};
use super::shape::Scene;
use super::strip::Pose;
use super::{Nesting, Problem, SearchSettings};
use crate::geometry::Vector;
use bodies::Bodies;
pub(super) use more::put_in_more;
use untangle::untangle;

/// First, largest and least shortening step, as a share of the length. At the least step, pieces
/// are shaken.
const STEP_FIRST: f64 = 0.002;
const STEP_MOST: f64 = 0.01;
const STEP_LEAST: f64 = 0.00002;
/// How the step changes after a success and a failure, and what it is after a shake that helped.
const STEP_GROW: f64 = 1.5;
const STEP_SHRINK: f64 = 0.5;
const STEP_SHAKEN: f64 = 0.0002;
/// First, largest and least shortening step of untangling, and how it changes.
const STRIDE_FIRST: f64 = 0.001;
const STRIDE_MOST: f64 = 0.01;
const STRIDE_LEAST: f64 = 0.0002;
const STRIDE_GROW: f64 = 1.3;
const STRIDE_SHRINK: f64 = 0.8;
/// Most that a shake shifts, as a share of the unit, and turns, as a share of the tolerance. Larger:
/// most shaken layouts do not come apart again; smaller: they fall back to where they were.
const SHAKE_SHIFT: f64 = 0.03;
const SHAKE_TURN: f64 = 0.5;
/// Share of the budget at which pieces are put straight.
const STRAIGHTEN_AT: f64 = 0.85;
/// Pieces are turned only if the layout gets shorter by at least this share.
const WORTH: f64 = 0.0001;
/// Sweeps of joint pushes for each step.
const SWEEPS: usize = 300;
/// Work of an attempt beside its pushes.
const ATTEMPT: u64 = 1000;
/// Streams of random choices from this one on are for tilting.
const STREAM: u64 = 1 << 32;

/// Hears of better lengths and of the share of the work done; answers whether to go on.
type Tell<'t> = dyn Fn(Option<f64>, f64) -> bool + Sync + 't;

/// Whether any shape of `problem` may be turned off its turns.
pub(super) fn is_wanted(problem: &Problem) -> bool {
    (problem.shapes.iter()).any(|s| s.demand > 0 && s.tolerance.to_degrees() > 0.0)
}

/// Shortens the layouts `found`, each by a worker of its own, by shifting and turning their pieces
/// within the tolerances of their shapes. Returns the best one if it is worth while.
///
/// `contact` is the depth in mm that is no overlap yet.
pub(super) fn shorten(
    problem: &Problem,
    scene: &Scene,
    contact: f64,
    found: &[&Found],
    settings: &SearchSettings,
    budget: Budget,
    tell: &Tell,
) -> Option<Nesting> {
    let limits = limits_of(problem, scene);
    let before = found.iter().map(|f| f.length).fold(f64::INFINITY, f64::min);
    let mut tilters: Vec<Tilter> = (STREAM..)
        .zip(found)
        .map(|(stream, found)| {
            let bodies = Bodies::new(scene, contact, &found.poses, &limits);
            let random = Random::new(settings.seed, stream);
            Tilter::new(bodies, limits.clone(), random, budget, (*found).clone())
        })
        .collect();
    run_all(&mut tilters, settings.threads, &|tilter| {
        tilter.squeeze(STRAIGHTEN_AT, tell);
    });
    let mut best = tilters.into_iter().reduce(|best, other| {
        if other.best.length < best.best.length {
            other
        } else {
            best
        }
    })?;
    if best.best.length > before * (1.0 - WORTH) {
        return None;
    }
    best.straighten(tell);
    // Measured from the true outlines.
    Some(layout_of(scene, &best.best.poses, |piece, _, placement| {
        let outline = placement.outline(&problem.shapes[piece.shape].outline);
        outline.bounds().max.x
    }))
}

/// Tolerance of each piece of `scene`, degrees.
fn limits_of(problem: &Problem, scene: &Scene) -> Vec<f64> {
    let of = |shape: usize| problem.shapes[shape].tolerance.to_degrees().max(0.0);
    scene.pieces.iter().map(|piece| of(piece.shape)).collect()
}

/// One logical worker: squeezes a layout with its own stream of random choices.
struct Tilter<'a> {
    bodies: Bodies<'a>,
    /// Tolerance of each piece, degrees.
    limits: Vec<f64>,
    random: Random,
    budget: Budget,
    /// The shortest valid layout so far.
    best: Found,
    /// Share by which the strip is shortened next, for pushes and for untangling.
    step: f64,
    stride: f64,
    /// Work spent on untangling.
    work_untangling: u64,
}

impl<'a> Tilter<'a> {
    /// Begins with `best`, which lies as `bodies` does.
    fn new(
        bodies: Bodies<'a>,
        limits: Vec<f64>,
        random: Random,
        budget: Budget,
        best: Found,
    ) -> Self {
        Self {
            bodies,
            limits,
            random,
            budget,
            best,
            step: STEP_FIRST,
            stride: STRIDE_FIRST,
            work_untangling: 0,
        }
    }

    fn spent(&self) -> f64 {
        self.budget.spent(self.bodies.work)
    }

    /// Shortens the layout until the share `until` of the budget is spent or told to stop.
    fn squeeze(&mut self, until: f64, tell: &Tell) {
        while self.spent() < until {
            let is_at_end = self.step <= STEP_LEAST;
            // Half of the work goes into untangling, but only when pushes are at their end.
            let is_better = if is_at_end && 2 * self.work_untangling < self.bodies.work {
                self.rearrange(until, tell)
            } else {
                self.push(is_at_end)
            };
            if !tell(is_better.then_some(self.best.length), self.spent()) {
                break;
            }
        }
    }

    /// Scales the best layout to a shorter strip, shakes it if asked, and pushes its pieces apart;
    /// whether that gave a better one.
    fn push(&mut self, is_shaken: bool) -> bool {
        let ratio = 1.0 - self.step;
        self.bodies.work += ATTEMPT;
        self.bodies.length = self.best.length * ratio;
        // The square makes gentle shakes more likely.
        let u = self.random.unit();
        let strength = if is_shaken { u * u } else { 0.0 };
        for k in 0..self.bodies.n_pieces() {
            let mut pose = self.best.poses[k];
            pose.at.x *= ratio;
            self.bodies.put(k, pose);
            let (mut by, mut turn) = (Vector::default(), 0.0);
            if is_shaken {
                let shift = strength * SHAKE_SHIFT * self.bodies.scene.unit;
                by = Vector::new(self.random.signed(), self.random.signed()) * shift;
                turn = strength * SHAKE_TURN * self.limits[k] * self.random.signed();
            }
            self.bodies.shove(k, by, turn);
        }
        let is_better = push_apart(&mut self.bodies, SWEEPS) && self.keep();
        self.step = match (is_better, is_shaken) {
            (true, true) => STEP_SHAKEN,
            (true, false) => (self.step * STEP_GROW).min(STEP_MOST),
            (false, _) => (self.step * STEP_SHRINK).max(STEP_LEAST),
        };
        is_better
    }

    /// Closes the best layout to a shorter strip from the right of a random cut and untangles it;
    /// whether that gave a better one.
    fn rearrange(&mut self, until: f64, tell: &Tell) -> bool {
        let before = self.bodies.work;
        let length = self.best.length * (1.0 - self.stride);
        let by = self.best.length - length;
        self.bodies.length = length;
        let cut = self.random.between(0.0, length);
        for (k, &pose) in self.best.poses.iter().enumerate() {
            self.bodies.put(k, pose);
            let back = if pose.at.x > cut { -by } else { 0.0 };
            self.bodies.shove(k, Vector::new(back, 0.0), 0.0);
        }
        let budget = self.budget;
        let mut go_on = |work| {
            let spent = budget.spent(work);
            spent < until && tell(None, spent)
        };
        let is_valid = untangle(&mut self.bodies, &mut self.random, &mut go_on);
        let is_better = is_valid && self.keep();
        if is_better {
            self.stride = (self.stride * STRIDE_GROW).min(STRIDE_MOST);
            self.step = STEP_SHAKEN;
        } else {
            self.stride = (self.stride * STRIDE_SHRINK).max(STRIDE_LEAST);
        }
        self.work_untangling += self.bodies.work - before + ATTEMPT;
        is_better
    }

    /// Takes the layout as it lies for the best one, if it is shorter.
    fn keep(&mut self) -> bool {
        let length = self.bodies.used_length();
        if length >= self.best.length {
            return false;
        }
        self.best.length = length;
        self.best.poses = self.bodies.poses();
        true
    }

    /// Puts pieces back into their turns where the layout stays as short: all of them, or by parts
    /// of their tilt; then one after another, those least off first.
    fn straighten(&mut self, tell: &Tell) {
        self.bodies.length = self.best.length;
        for share in [0.0, 0.25, 0.5, 0.75] {
            if !tell(None, self.spent()) {
                return;
            }
            if self.hold(|_, tilt| share * tilt) {
                break;
            }
        }
        let off = |pose: &Pose| pose.tilt.abs();
        let mut order: Vec<usize> = (0..self.best.poses.len()).collect();
        order.retain(|&k| self.best.poses[k].tilt != 0.0);
        order.sort_by(|&a, &b| off(&self.best.poses[a]).total_cmp(&off(&self.best.poses[b])));
        for piece in order {
            if self.spent() >= 1.0 || !tell(None, self.spent()) {
                return;
            }
            self.hold(|k, tilt| if k == piece { 0.0 } else { tilt });
        }
    }

    /// Holds each piece to the tilt that `most` answers for its number and present tilt, both
    /// without sign, and keeps what comes of it if the layout stays as short.
    fn hold(&mut self, most: impl Fn(usize, f64) -> f64) -> bool {
        self.bodies.work += ATTEMPT;
        for (k, &pose) in self.best.poses.iter().enumerate() {
            self.bodies.limit(k, most(k, pose.tilt.abs()));
            self.bodies.put(k, pose);
            self.bodies.shove(k, Vector::default(), 0.0);
        }
        let is_held =
            push_apart(&mut self.bodies, SWEEPS) && self.bodies.used_length() <= self.best.length;
        if is_held {
            self.best.length = self.bodies.used_length();
            self.best.poses = self.bodies.poses();
        }
        is_held
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Face, Outline, Point, Ring, Turn, trig};
    use crate::nest::{Container, Continue, Effort, Placed, Shape, check, nest};
    use crate::units::Angle;

    /// `demand` rectangles of 100 × 50 mm, turned by `degrees` on the strip.
    fn slanted(face: Face, degrees: f64, tolerance: f64, demand: usize) -> Problem {
        let corners = [(0., 0.), (100., 0.), (100., 50.), (0., 50.)];
        let ring = Ring::new(corners.map(|(x, y)| Point::new(x, y))).unwrap();
        let angle = Angle::degrees(degrees);
        Problem {
            shapes: vec![Shape {
                outline: Outline::solid(ring),
                turns: vec![Turn { angle, face }],
                tolerance: Angle::degrees(tolerance),
                demand,
            }],
            container: Container::strip(60.0),
            gap: 0.0,
        }
    }

    fn solve(problem: &Problem, threads: usize) -> Nesting {
        let settings = SearchSettings {
            effort: Effort::Quick,
            seed: 1,
            threads,
        };
        let layout = nest(problem, &settings, &|_| Continue::Yes).unwrap();
        assert_eq!(check(problem, &layout), vec![]);
        layout
    }

    fn off(problem: &Problem, layout: &Nesting) -> Vec<f64> {
        let off = |p: &Placed| {
            let turn = problem.shapes[p.shape].turns[0];
            (p.placement.turn.angle - turn.angle).to_degrees()
        };
        layout.placed.iter().map(off).collect()
    }

    #[test]
    fn a_slanted_piece_is_turned_straight_whichever_face_is_up() {
        for face in [Face::Up, Face::Down] {
            let problem = slanted(face, 1.0, 1.5, 1);
            let layout = solve(&problem, 1);
            assert!(layout.length < 100.01, "{face:?}: {}", layout.length);
            let off = off(&problem, &layout);
            assert!((off[0] + 1.0).abs() < 0.02, "{face:?}: {off:?}");
        }
    }

    #[test]
    fn a_piece_turns_no_further_than_its_tolerance() {
        let problem = slanted(Face::Up, 1.0, 0.4, 3);
        let layout = solve(&problem, 2);
        let (sin, cos) = trig::sin_cos(Angle::degrees(0.6));
        let one = 100.0 * cos + 50.0 * sin;
        assert!(layout.length < 3.0 * one + 1e-6, "{}", layout.length);
        let fixed = solve(&slanted(Face::Up, 1.0, 0.0, 3), 1);
        assert!(layout.length < 0.999 * fixed.length);
        assert_eq!(layout, solve(&problem, 1));
    }

    #[test]
    fn a_piece_that_saves_nothing_stays_in_its_turn() {
        let problem = slanted(Face::Up, 0.0, 2.0, 2);
        let layout = solve(&problem, 1);
        assert_eq!(off(&problem, &layout), [0.0, 0.0]);
        // One turned piece among some that need not be.
        let mut mixed = slanted(Face::Up, 0.0, 2.0, 2);
        mixed.shapes.extend(slanted(Face::Up, 1.0, 2.0, 1).shapes);
        let layout = solve(&mixed, 1);
        assert!(layout.length < 300.03, "{}", layout.length);
        let off = off(&mixed, &layout);
        assert!(off[0].abs() < 0.02 && off[1].abs() < 0.02, "{off:?}");
    }

    #[test]
    fn a_tolerance_that_no_piece_has_changes_nothing() {
        let plain = slanted(Face::Up, 1.0, 0.0, 3);
        let mut other = plain.clone();
        other.shapes.extend(slanted(Face::Up, 0.0, 2.0, 0).shapes);
        assert_eq!(solve(&plain, 1), solve(&other, 1));
    }
}
