//! Filling a container of fixed size with the pieces that use it best.
//!
//! Largest first, each piece goes where exact scan lines find room for it. What was left out is
//! then forced in: it is put where it overlaps least, and the pieces are separated as in the
//! search for short strips. When nothing more goes in, a piece not yet placed takes the place of
//! one or a few placed ones, for a gain in area or a slight loss that later insertions may make
//! good.

use super::budget::Budget;
use super::construct;
use super::measure::Depths;
use super::random::Random;
use super::separate::{Patience, Separation, Tangle, separate};
use super::shape::Scene;
use super::strip::{Pose, Poses, Strip};
use crate::geometry::Point;

/// Pieces in a container of fixed size, without overlaps.
#[derive(Clone, Debug, Default)]
pub(super) struct Filling {
    /// Indices into [`Scene::pieces`].
    pub members: Vec<usize>,
    /// Their poses.
    pub poses: Poses,
    /// Σ area of the pieces, mm².
    pub area: f64,
}

impl Filling {
    pub(super) fn add(&mut self, scene: &Scene, piece: usize, pose: Pose) {
        self.members.push(piece);
        self.poses.push(pose);
        self.area += scene.pieces[piece].area;
    }

    /// Takes out the member at place `m`.
    pub(super) fn remove(&mut self, scene: &Scene, m: usize) {
        self.area -= scene.pieces[self.members.remove(m)].area;
        self.poses.remove(m);
    }

    /// One piece of each shape that is not all in.
    pub(super) fn left_out(&self, scene: &Scene) -> Vec<usize> {
        let mut is_in = vec![false; scene.pieces.len()];
        for &piece in &self.members {
            is_in[piece] = true;
        }
        let mut first: Vec<usize> = Vec::new();
        for piece in (0..is_in.len()).filter(|&k| !is_in[k]) {
            let shape = scene.pieces[piece].shape;
            // Pieces of one shape stand together.
            if first.last().is_none_or(|&k| scene.pieces[k].shape != shape) {
                first.push(piece);
            }
        }
        first
    }

    /// Whether every piece of `scene` is in.
    pub(super) fn is_complete(&self, scene: &Scene) -> bool {
        self.members.len() == scene.pieces.len()
    }
}

/// One logical worker: an independent search with its own stream of random choices.
pub(super) struct Filler<'a> {
    scene: &'a Scene,
    measure: &'a Depths,
    /// Area of the container, mm².
    capacity: f64,
    random: Random,
    budget: Budget,
    /// The work done, in the units of [`super::measure::cost`].
    pub work: u64,
    now: Filling,
    pub best: Filling,
    /// Shapes that could not be forced in beside those that are in now.
    refused: Vec<usize>,
    /// Exchanges since the best filling got better.
    idle: usize,
}

/// Fillings made with the order of pieces disturbed, before anything is forced in. They find
/// perfect fits of simple shapes, which separation does not.
const N_ORDERS: usize = 12;
/// Most by which an area in the order is made larger or smaller, as a share.
const DISTURB: f64 = 0.5;
/// Positions tried for a piece to be forced in.
const N_SAMPLES: usize = 60;
const INSERT_PATIENCE: Patience = Patience {
    rounds: 60,
    strikes: 1,
    is_strict: false,
};
const EXCHANGE_PATIENCE: Patience = Patience {
    rounds: 40,
    strikes: 1,
    is_strict: false,
};
/// Exchanges without gain after which the search goes back to the best filling, or, every other
/// time, to a fresh one.
const N_IDLE: usize = 40;
/// A fresh filling is taken up if it has this share of the best one's area.
const FRESH: f64 = 0.93;
/// Most area that an exchange may lose, as a share. Larger: forgets what was good; smaller: stays
/// in one corner.
const LOSS: f64 = 0.04;
/// Most pieces that make room for one.
const N_REMOVED: usize = 3;
/// Least work that a step counts, so that a search without anything to do ends.
const STEP_WORK: u64 = 20_000;

impl<'a> Filler<'a> {
    pub(super) fn new(
        (scene, measure): (&'a Scene, &'a Depths),
        capacity: f64,
        start: Filling,
        random: Random,
        budget: Budget,
    ) -> Self {
        Self {
            scene,
            measure,
            capacity,
            random,
            budget,
            work: 0,
            now: start.clone(),
            best: start,
            refused: Vec::new(),
            idle: 0,
        }
    }

    /// Share of the budget that is spent.
    pub(super) fn spent(&self) -> f64 {
        self.budget.spent(self.work)
    }

    /// Takes over a better filling found elsewhere.
    pub(super) fn adopt(&mut self, filling: &Filling) {
        self.best = filling.clone();
        self.go_to(filling.clone());
        self.idle = 0;
    }

    /// Searches until the share `until` of the budget is spent, everything is in, or `tell`
    /// answers `false`; it hears of every better filling and, now and then, of none.
    pub(super) fn run(
        &mut self,
        until: f64,
        tell: &(dyn Fn(Option<&Filling>, f64) -> bool + Sync),
    ) {
        if self.work == 0 {
            self.try_orders(until);
        }
        while self.spent() < until && !self.best.is_complete(self.scene) {
            let news = self.step(&|done| tell(None, done));
            if !tell(news.then_some(&self.best), self.spent()) {
                break;
            }
        }
    }

    fn try_orders(&mut self, until: f64) {
        for _ in 0..N_ORDERS {
            if self.spent() >= 0.3 * until || self.best.is_complete(self.scene) {
                break;
            }
            let fresh = self.fresh();
            if fresh.area > self.best.area {
                self.best = fresh.clone();
                self.go_to(fresh);
            }
        }
    }

    /// One attempt at a better filling; whether it gave one.
    fn step(&mut self, go_on: &dyn Fn(f64) -> bool) -> bool {
        self.work += STEP_WORK;
        if let Some(piece) = self.next_insertion() {
            match self.exchange(&[], piece, INSERT_PATIENCE, go_on) {
                Some(filling) => self.go_to(filling),
                None => self.refused.push(self.scene.pieces[piece].shape),
            }
        } else {
            self.idle += 1;
            if self.idle.is_multiple_of(N_IDLE) {
                self.start_again();
            } else if let Some((removed, piece)) = self.pick_exchange()
                && let Some(filling) = self.exchange(&removed, piece, EXCHANGE_PATIENCE, go_on)
            {
                self.go_to(filling);
            }
        }
        let better = self.now.area > self.best.area;
        if better {
            self.best = self.now.clone();
            self.idle = 0;
        }
        better
    }

    fn go_to(&mut self, filling: Filling) {
        self.now = filling;
        self.refused.clear();
    }

    /// Goes back to the best filling, or to a fresh one if that is not much worse.
    fn start_again(&mut self) {
        let fresh = self.fresh();
        if fresh.area >= FRESH * self.best.area && self.idle.is_multiple_of(2 * N_IDLE) {
            self.go_to(fresh);
        } else {
            self.go_to(self.best.clone());
        }
    }

    /// A filling from nothing, with the order of the pieces disturbed.
    fn fresh(&mut self) -> Filling {
        let pieces = &self.scene.pieces;
        let mut order: Vec<(f64, usize)> = (0..pieces.len())
            .map(|k| {
                let factor = 1.0 + DISTURB * self.random.signed();
                (pieces[k].hull_area * factor, k)
            })
            .collect();
        order.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        let order: Vec<usize> = order.into_iter().map(|(_, k)| k).collect();
        greedy(self.scene, self.measure, &order, &mut self.work)
    }

    /// The largest piece that might go in as well and was not refused.
    fn next_insertion(&self) -> Option<usize> {
        let pieces = &self.scene.pieces;
        let room = self.capacity - self.now.area;
        let fits = |&k: &usize| {
            pieces[k].area <= room * (1.0 + 1e-9) && !self.refused.contains(&pieces[k].shape)
        };
        // The first among equals: `max_by` would take the last.
        let candidates = self.now.left_out(self.scene).into_iter().filter(fits);
        candidates.reduce(|a, b| {
            if pieces[b].area > pieces[a].area {
                b
            } else {
                a
            }
        })
    }

    /// A piece to put in and the places in `now.members` of those that make room for it.
    fn pick_exchange(&mut self) -> Option<(Vec<usize>, usize)> {
        let left = self.now.left_out(self.scene);
        if left.is_empty() || self.now.members.is_empty() {
            return None;
        }
        let lose = LOSS * self.random.unit() * self.random.unit() * self.now.area;
        for _ in 0..30 {
            let piece = left[self.random.below(left.len())];
            let gain = self.scene.pieces[piece].area;
            let removed = self.pick_removed(gain + lose);
            let taken: f64 = removed.iter().map(|&m| self.member(m).area).sum();
            let same = removed.len() == 1
                && self.member(removed[0]).shape == self.scene.pieces[piece].shape;
            let fits = self.now.area - taken + gain <= self.capacity * (1.0 + 1e-9);
            if !same && fits && !removed.is_empty() {
                return Some((removed, piece));
            }
        }
        None
    }

    fn member(&self, m: usize) -> &super::shape::Movable {
        &self.scene.pieces[self.now.members[m]]
    }

    /// A random placed piece and perhaps its nearest neighbours, of no more area than `most`.
    fn pick_removed(&mut self, most: f64) -> Vec<usize> {
        let n = self.now.members.len();
        let first = self.random.below(n);
        if self.member(first).area > most {
            return Vec::new();
        }
        let n_removed = 1 + self.random.below(N_REMOVED);
        let at = self.now.poses[first];
        let mut others: Vec<(f64, usize)> = (0..n)
            .filter(|&m| m != first)
            .map(|m| {
                let p = self.now.poses[m];
                ((p.at.x - at.at.x).abs() + (p.at.y - at.at.y).abs(), m)
            })
            .collect();
        others.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut removed = vec![first];
        let mut area = self.member(first).area;
        for (_, m) in others.into_iter().take(2 * N_REMOVED) {
            if removed.len() < n_removed && area + self.member(m).area <= most {
                area += self.member(m).area;
                removed.push(m);
            }
        }
        removed
    }

    /// The present filling with `piece` in and the members `removed` out, or `None` if the
    /// overlaps could not be removed.
    fn exchange(
        &mut self,
        removed: &[usize],
        piece: usize,
        patience: Patience,
        go_on: &dyn Fn(f64) -> bool,
    ) -> Option<Filling> {
        let mut filling = Filling::default();
        for (m, (&member, &pose)) in self.now.members.iter().zip(&self.now.poses).enumerate() {
            if !removed.contains(&m) {
                filling.add(self.scene, member, pose);
            }
        }
        let near = removed.first().map(|&m| self.now.poses[m]);
        let anywhere = near.map_or(Point::default(), |pose| pose.at);
        filling.add(self.scene, piece, Pose::straight(0, anywhere));
        let scene = self.scene.only(&filling.members);
        let mut strip = Strip::new(&scene, self.measure, self.scene.length, &filling.poses);
        self.put_in(&mut strip, near)?;
        let (budget, before) = (self.budget, self.work);
        let outcome = separate(&mut strip, &mut self.random, patience, &mut |work| {
            let spent = budget.spent(before + work);
            spent < 1.0 && go_on(spent)
        });
        self.work += strip.work;
        filling.poses = strip.poses().clone();
        (outcome == Separation::Valid).then_some(filling)
    }

    /// Puts the last piece of `strip` where it overlaps least among random places and some near
    /// the one given; `None` if it is too large in one of its turns.
    fn put_in(&mut self, strip: &mut Strip, near: Option<Pose>) -> Option<()> {
        let piece = strip.n_pieces() - 1;
        let n_choices = strip.scene.pieces[piece].choices.len();
        let size = strip.scene.pieces[piece].size;
        let mut best: Option<(f64, Pose)> = None;
        for k in 0..N_SAMPLES {
            let choice = self.random.below(n_choices);
            let room = strip.room(piece, choice)?;
            let at = match near {
                Some(near) if k % 2 == 0 => room.nearest(self.random.near(near.at, 0.3 * size)),
                _ => self.random.within(&room),
            };
            let pose = Pose::straight(choice, at);
            let bound = best.map_or(f64::INFINITY, |(loss, _)| loss);
            let loss = strip.weighted_loss(piece, pose, bound);
            if best.is_none() || loss < bound {
                best = Some((loss, pose));
            }
        }
        strip.move_to(piece, best?.1);
        Some(())
    }
}

/// A filling from nothing: each piece in `order` goes to the leftmost place found, if there is one.
pub(super) fn greedy(scene: &Scene, measure: &Depths, order: &[usize], work: &mut u64) -> Filling {
    let mut filling = Filling::default();
    let mut there = construct::obstacles(scene);
    let mut refused: Vec<usize> = Vec::new();
    for &piece in order {
        let shape = scene.pieces[piece].shape;
        if refused.contains(&shape) {
            continue;
        }
        match construct::snug(scene, measure, piece, &there, work) {
            Some(pose) => {
                filling.add(scene, piece, pose);
                there.push(construct::lying(scene, piece, pose));
            }
            None => refused.push(shape),
        }
    }
    // Scan lines trust to rounding; the measure has the last word.
    let members = scene.only(&filling.members);
    let strip = Strip::new(&members, measure, scene.length, &filling.poses);
    if strip.is_valid() {
        return filling;
    }
    let mut valid = Filling::default();
    let keep = |&m: &usize| !strip.conflicts().collides(m);
    for m in (0..filling.members.len()).filter(keep) {
        valid.add(scene, filling.members[m], filling.poses[m]);
    }
    valid
}
