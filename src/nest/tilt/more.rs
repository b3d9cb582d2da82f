//! Pieces that go into a full container after all, once pieces may turn a little.
//!
//! A piece that was left out is put where it overlaps least among random places, and `untangle`
//! moves and turns it and the others apart.

use super::bodies::Bodies;
use super::untangle::untangle;
use super::{STREAM, Tell, Tilter, limits_of};
use crate::geometry::{Bounds, Point};
use crate::nest::Problem;
use crate::nest::budget::Budget;
use crate::nest::fill::Filling;
use crate::nest::heats::Found;
use crate::nest::random::Random;
use crate::nest::shape::Scene;
use crate::nest::strip::Pose;

/// How often each shape is tried in vain before it stays out.
const N_TRIES: usize = 3;
/// Places looked at for a piece that is to go in.
const N_SAMPLES: usize = 40;
/// Least work that a try counts, so that a search without anything to do ends.
const TRY_WORK: u64 = 20_000;

/// Puts into `filling` what finds room beside it when pieces turn within their tolerances; whether
/// anything did.
///
/// `contact` is the depth that is no overlap yet.
pub(in crate::nest) fn put_in_more(
    problem: &Problem,
    (scene, contact): (&Scene, f64),
    filling: &mut Filling,
    seed: u64,
    budget: Budget,
    tell: &Tell,
) -> bool {
    let mut random = Random::new(seed, STREAM);
    let mut n_tries = vec![0; problem.shapes.len()];
    let (n_before, mut work) = (filling.members.len(), 0);
    while budget.spent(work) < 1.0 && tell(None, budget.spent(work)) {
        let room = problem.container.area() - filling.area;
        let fits = |&piece: &usize| {
            let piece = &scene.pieces[piece];
            n_tries[piece.shape] < N_TRIES && piece.area <= room * (1.0 + 1e-9)
        };
        let candidates = filling.left_out(scene).into_iter().filter(fits);
        // The largest of those tried least; the first among equals.
        let first = candidates.min_by(|&a, &b| {
            let (a, b) = (&scene.pieces[a], &scene.pieces[b]);
            let tries = n_tries[a.shape].cmp(&n_tries[b.shape]);
            tries.then(b.area.total_cmp(&a.area))
        });
        let Some(piece) = first else {
            break;
        };
        let mut members = filling.members.clone();
        members.push(piece);
        let members = scene.only(&members);
        let mut poses = filling.poses.clone();
        poses.push(Pose::straight(0, Point::default()));
        let mut bodies = Bodies::new(&members, contact, &poses, &limits_of(problem, &members));
        bodies.length = scene.length;
        put_where_it_overlaps_least(&mut bodies, &mut random);
        let before = work;
        let is_in = untangle(&mut bodies, &mut random, &mut |work| {
            let spent = budget.spent(before + work);
            spent < 1.0 && tell(None, spent)
        });
        work += bodies.work.max(TRY_WORK);
        if is_in {
            filling.add(scene, piece, Pose::straight(0, Point::default()));
            filling.poses = bodies.poses();
            n_tries.fill(0);
        } else {
            n_tries[scene.pieces[piece].shape] += 1;
        }
    }
    let is_fuller = filling.members.len() > n_before;
    if is_fuller {
        straighten(problem, (scene, contact), filling, budget.less(work), tell);
    }
    is_fuller
}

/// Puts the last piece of `bodies` where it overlaps the others least among random places.
fn put_where_it_overlaps_least(bodies: &mut Bodies, random: &mut Random) {
    let piece = bodies.n_pieces() - 1;
    let strip = Bounds {
        min: Point::default(),
        max: Point::new(bodies.length, bodies.scene.width),
    };
    let mut best = (f64::INFINITY, bodies.pose(piece));
    for _ in 0..N_SAMPLES {
        let choice = random.below(bodies.scene.pieces[piece].choices.len());
        bodies.put(piece, Pose::straight(choice, random.within(&strip)));
        bodies.confine(piece);
        let frame = bodies.bounds(piece);
        let mut loss = 0.0;
        for other in (0..bodies.n_all()).filter(|&other| other != piece) {
            if loss < best.0 && frame.overlaps(&bodies.bounds(other)) {
                loss += bodies.loss(piece, other, best.0 - loss);
            }
        }
        if loss < best.0 {
            best = (loss, bodies.pose(piece));
        }
    }
    bodies.put(piece, best.1);
}

/// Puts pieces back into their turns where all stay in.
fn straighten(
    problem: &Problem,
    (scene, contact): (&Scene, f64),
    filling: &mut Filling,
    budget: Budget,
    tell: &Tell,
) {
    let members = scene.only(&filling.members);
    let limits = limits_of(problem, &members);
    let found = Found {
        length: scene.length,
        poses: filling.poses.clone(),
    };
    let bodies = Bodies::new(&members, contact, &found.poses, &limits);
    let mut tilter = Tilter::new(bodies, limits, Random::new(0, STREAM), budget, found);
    tilter.straighten(tell);
    filling.poses = tilter.best.poses;
}
