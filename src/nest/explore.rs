//! The search for ever shorter layouts: shrink the strip, separate, and when stuck disturb a
//! near-miss by swapping two large pieces (Gardeyn, Vanden Berghe and Wauters 2025); near the end,
//! squeeze the best layout in much finer steps.

use super::Counts;
use super::budget::Budget;
use super::heats::{Found, Heats, SearchLine};
use super::measure::Depths;
use super::push::shift_apart;
use super::random::Random;
use super::separate::{Patience, Separation, Tangle, separate};
use super::strip::Strip;
use crate::geometry::Point;

/// One logical worker: an independent search with its own stream of random choices.
pub(super) struct Worker<'a> {
    strip: Strip<'a>,
    random: Random,
    budget: Budget,
    /// The closer view of the shapes to squeeze with, if it differs.
    fine: Option<&'a Depths>,
    /// Share of the budget at which squeezing starts.
    squeeze_at: f64,
    /// The best layout of all its lines.
    pub best: Found,
    /// The line that is running, and when the others do.
    line: SearchLine,
    heats: Heats,
    /// Whether a separation was interrupted and is to go on.
    pending: bool,
}

/// Share of the budget at which squeezing starts, without and with a closer view to change to.
const SQUEEZE_AT: f64 = 0.9;
const SQUEEZE_FINE_AT: f64 = 0.75;
/// First, largest and least shrinking step of exploration.
const STEP_FIRST: f64 = 0.02;
const STEP_MOST: f64 = 0.03;
const STEP_LEAST: f64 = 0.001;
/// First and last shrinking step of compression.
const SQUEEZE_FIRST: f64 = 0.0008;
const SQUEEZE_LAST: f64 = 0.00001;
const EXPLORE_PATIENCE: Patience = Patience {
    rounds: 100,
    strikes: 2,
    is_strict: false,
};
const SQUEEZE_PATIENCE: Patience = Patience {
    rounds: 50,
    strikes: 1,
    is_strict: false,
};
/// Work for each piece below which a separation was easy.
const EASY_WORK: u64 = 40_000;
/// Joint pushes for each squeeze.
const SWEEPS: usize = 200;
/// Near-misses kept.
const POOL: usize = 12;

impl<'a> Worker<'a> {
    pub(super) fn new(
        strip: Strip<'a>,
        fine: Option<&'a Depths>,
        random: Random,
        budget: Budget,
    ) -> Self {
        let best = Found::in_strip(&strip);
        Self {
            strip,
            random,
            budget,
            fine,
            squeeze_at: if fine.is_some() {
                SQUEEZE_FINE_AT
            } else {
                SQUEEZE_AT
            },
            line: SearchLine::new(best.clone(), STEP_FIRST),
            heats: Heats::new(SearchLine::new(best.clone(), STEP_FIRST)),
            best,
            pending: false,
        }
    }

    pub(super) fn counts(&self) -> Counts {
        self.strip.counts
    }

    pub(super) fn spent(&self) -> f64 {
        self.budget.spent(self.strip.work)
    }

    /// Whether it follows one line only, which may as well be another worker's.
    pub(super) fn is_single_minded(&self) -> bool {
        self.heats.is_single()
    }

    /// Takes over a better layout found elsewhere.
    pub(super) fn adopt(&mut self, found: &Found) {
        self.best = found.clone();
        self.line.best = found.clone();
        self.line.gained_at = self.spent();
        self.line.pool.clear();
        self.pending = false;
    }

    /// Searches until the share `until` of the budget is spent or `found` answers `false`.
    ///
    /// `tell` hears of every better layout and, now and then, of none.
    pub(super) fn run(&mut self, until: f64, tell: &(dyn Fn(Option<&Found>, f64) -> bool + Sync)) {
        while self.spent() < until {
            let going = if self.spent() < self.squeeze_at {
                self.explore(until.min(self.squeeze_at), tell)
            } else {
                self.squeeze(until, tell)
            };
            if !going {
                break;
            }
        }
    }

    fn separate(
        &mut self,
        patience: Patience,
        until: f64,
        tell: &(dyn Fn(Option<&Found>, f64) -> bool + Sync),
    ) -> Separation {
        let budget = self.budget;
        separate(&mut self.strip, &mut self.random, patience, &mut |work| {
            let spent = budget.spent(work);
            spent < until && tell(None, spent)
        })
    }

    /// One attempt at a shorter layout; `false` if told to stop.
    fn explore(&mut self, until: f64, tell: &(dyn Fn(Option<&Found>, f64) -> bool + Sync)) -> bool {
        let spent = self.spent();
        if self.heats.next(&mut self.line, spent, self.squeeze_at) {
            self.pending = false;
        }
        if !self.pending {
            if self.line.pool.len() >= 2 && self.line.step <= STEP_LEAST {
                self.disturb();
            } else {
                let length = self.line.best.length * (1.0 - self.line.step);
                if !self.shrink(self.line.best.clone(), length) {
                    // Some piece is as long as the strip: a shorter step may still do; after the
                    // least step what could be had is less than that.
                    let more = self.line.step > STEP_LEAST;
                    self.line.step = (self.line.step * 0.5).max(STEP_LEAST);
                    return more;
                }
            }
        }
        let before = self.strip.work;
        match self.separate(EXPLORE_PATIENCE, until, tell) {
            Separation::Valid => {
                self.pending = false;
                let easy = self.strip.work - before < EASY_WORK * self.strip.n_pieces() as u64;
                self.line.step = if easy {
                    (self.line.step * 1.3).min(STEP_MOST)
                } else {
                    (self.line.step * 0.8).max(STEP_LEAST)
                };
                self.line.pool.clear();
                self.line.gained_at = self.spent();
                self.line.best = Found::in_strip(&self.strip);
                self.keep(tell)
            }
            Separation::Stuck(loss) => {
                self.pending = false;
                if self.line.step > STEP_LEAST {
                    self.line.step = (self.line.step * 0.5).max(STEP_LEAST);
                    self.line.pool.clear();
                } else {
                    self.line.n_failures += 1;
                    let at = self.line.pool.partition_point(|(l, _)| *l <= loss);
                    self.line
                        .pool
                        .insert(at, (loss, self.strip.poses().clone()));
                    self.line.pool.truncate(POOL);
                }
                true
            }
            Separation::Interrupted => {
                self.pending = true;
                tell(None, self.spent())
            }
        }
    }

    /// A tiny shortening of the best layout; `false` if told to stop.
    fn squeeze(&mut self, until: f64, tell: &(dyn Fn(Option<&Found>, f64) -> bool + Sync)) -> bool {
        self.pending = false;
        if let Some(fine) = self.fine.take() {
            self.strip.measure_with(fine);
        }
        let t = (self.spent() - self.squeeze_at) / (1.0 - self.squeeze_at);
        let step = SQUEEZE_FIRST + t * (SQUEEZE_LAST - SQUEEZE_FIRST);
        let length = self.best.length * (1.0 - step);
        if self.scale_best(length) && shift_apart(&mut self.strip, SWEEPS) {
            return self.keep(tell);
        }
        if !self.shrink(self.best.clone(), length) {
            return false;
        }
        match self.separate(SQUEEZE_PATIENCE, until, tell) {
            Separation::Valid => self.keep(tell),
            Separation::Stuck(_) => true,
            Separation::Interrupted => tell(None, self.spent()),
        }
    }

    fn keep(&mut self, tell: &(dyn Fn(Option<&Found>, f64) -> bool + Sync)) -> bool {
        if self.strip.used_length() < self.best.length {
            self.best = Found::in_strip(&self.strip);
        }
        tell(Some(&self.best), self.spent())
    }

    /// `found` in a strip of `length`: what lies right of a random cut moves left.
    /// `false` if some piece has no room at all.
    fn shrink(&mut self, found: Found, length: f64) -> bool {
        let by = found.length - length;
        let cut = self.random.between(0.0, length);
        self.strip.length = length;
        let mut poses = found.poses;
        for (piece, pose) in poses.iter_mut().enumerate() {
            if pose.at.x > cut {
                pose.at.x -= by;
            }
            let n_choices = self.strip.scene.pieces[piece].choices.len();
            // Where the present turn has no room any more, the next one that has takes over.
            let turns = (0..n_choices).map(|k| (pose.choice + k) % n_choices);
            let fitting = turns.filter_map(|c| Some((c, self.strip.room(piece, c)?)));
            let Some((choice, room)) = fitting.into_iter().next() else {
                return false;
            };
            pose.choice = choice;
            pose.at = room.nearest(pose.at);
        }
        self.strip.restore(&poses);
        true
    }

    /// The best layout with all x scaled to a strip of `length`; `false` if some piece has no room.
    fn scale_best(&mut self, length: f64) -> bool {
        let ratio = length / self.best.length;
        self.strip.length = length;
        let mut poses = self.best.poses.clone();
        for (piece, pose) in poses.iter_mut().enumerate() {
            let Some(room) = self.strip.room(piece, pose.choice) else {
                return false;
            };
            pose.at = room.nearest(Point::new(pose.at.x * ratio, pose.at.y));
        }
        self.strip.restore(&poses);
        true
    }

    /// Starts again from a near-miss with two large pieces swapped.
    fn disturb(&mut self) {
        // The square favours the least loss.
        let u = self.random.unit();
        let pick = (u * u * self.line.pool.len() as f64) as usize;
        let mut poses = self.line.pool[pick].1.clone();
        if let Some((a, b)) = self.pick_pair() {
            (poses[a].at, poses[b].at) = (poses[b].at, poses[a].at);
            for piece in [a, b] {
                let pose = &mut poses[piece];
                if let Some(room) = self.strip.room(piece, pose.choice) {
                    pose.at = room.nearest(pose.at);
                }
            }
        }
        self.strip.restore(&poses);
    }

    /// Two pieces of different shape, large ones more likely.
    fn pick_pair(&mut self) -> Option<(usize, usize)> {
        let pieces = &self.strip.scene.pieces;
        let total: f64 = pieces.iter().map(|p| p.hull_area).sum();
        let mut draw = || {
            let mut left = self.random.unit() * total;
            for (k, piece) in pieces.iter().enumerate() {
                left -= piece.hull_area;
                if left < 0.0 {
                    return k;
                }
            }
            pieces.len() - 1
        };
        for _ in 0..20 {
            let (a, b) = (draw(), draw());
            if pieces[a].choices[0].variant != pieces[b].choices[0].variant {
                return Some((a, b));
            }
        }
        None
    }
}
