//! Which line of search runs when: in heats, many lines for a short while, then the better half
//! for longer, and so on, until one is left.
//!
//! A line that has got stuck gains little from more time, and two lines from the same start end
//! far apart. So a part of the budget goes into further lines; successive halving (Jamieson and
//! Talwalkar 2016, "Non-stochastic best arm identification", from memory) finds a good one without
//! knowing beforehand how much time each needs.

use std::collections::VecDeque;

use super::strip::{Poses, Strip};

/// A valid layout.
#[derive(Clone, Debug)]
pub(super) struct Found {
    pub length: f64,
    pub poses: Poses,
}

impl Found {
    /// The layout that `strip` holds, which must be valid.
    pub(super) fn in_strip(strip: &Strip) -> Self {
        Self {
            length: strip.used_length(),
            poses: strip.poses().clone(),
        }
    }
}

/// One line of search: a layout that is made shorter and shorter.
#[derive(Clone, Debug)]
pub(super) struct SearchLine {
    pub best: Found,
    /// Share by which the strip is shortened next.
    pub step: f64,
    /// Near-misses at the length now aimed at, least loss first.
    pub pool: Vec<(f64, Poses)>,
    /// Separations at the least step that failed.
    pub n_failures: usize,
    /// Share of the budget that was spent when it last got shorter.
    pub gained_at: f64,
}

impl SearchLine {
    /// A line that starts from `best` with steps of `step`.
    pub(super) fn new(best: Found, step: f64) -> Self {
        Self {
            best,
            step,
            pool: Vec::new(),
            n_failures: 0,
            gained_at: 0.0,
        }
    }
}

/// The lines of one worker that wait, and how long the one that runs may go on.
#[derive(Clone, Debug)]
pub(super) struct Heats {
    /// What every line starts from.
    start: SearchLine,
    /// Lines that wait for their turn in this heat, and those that have had it.
    waiting: VecDeque<SearchLine>,
    done: Vec<SearchLine>,
    turn: Allotted,
    /// Share of the budget that each heat between the first and the last takes.
    heat: f64,
}

/// How long the running line may go on.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Allotted {
    /// Until it is stuck: the first line tells how long a line takes.
    UntilStuck,
    /// For a share of the budget, from when some share was spent.
    For { share: f64, from: f64 },
    /// To the end.
    Rest,
}

/// The first line is stuck once so many separations at the least step have failed, and so many
/// times the budget has been spent as when it last got shorter. Sooner: lines of many pieces, which
/// get shorter slowly but steadily, are broken off; later: less is left for other lines.
const STUCK: usize = 2;
const STALLED: f64 = 1.5;
/// Most lines that a worker starts. More: each gets too little; fewer: luck decides.
const MOST_LINES: usize = 8;
/// The last heat, in which one line is left, lasts this many times as long as those between.
const LAST_HEAT: f64 = 2.0;

impl Heats {
    /// Heats of lines that start like `start`, of which one is running already.
    pub(super) fn new(start: SearchLine) -> Self {
        Self {
            start,
            waiting: VecDeque::new(),
            done: Vec::new(),
            turn: Allotted::UntilStuck,
            heat: 0.0,
        }
    }

    /// Puts the next line in place of `line` if its turn is over now that the share `spent` of the
    /// budget is spent; `end` is the share at which the last heat ends. Whether it did.
    pub(super) fn next(&mut self, line: &mut SearchLine, spent: f64, end: f64) -> bool {
        let is_stuck = line.n_failures >= STUCK && spent >= STALLED * line.gained_at;
        if self.turn == Allotted::UntilStuck && is_stuck {
            self.plan(spent, end);
        }
        let Allotted::For { share, from } = self.turn else {
            return false;
        };
        if spent - from < share {
            return false;
        }
        self.done.push(line.clone());
        let mut share = share;
        if self.waiting.is_empty() {
            self.done
                .sort_by(|a, b| a.best.length.total_cmp(&b.best.length));
            self.done.truncate(self.done.len().div_ceil(2));
            share = self.heat / self.done.len() as f64;
            self.waiting = self.done.drain(..).collect();
        }
        self.turn = if self.waiting.len() == 1 && self.done.is_empty() {
            Allotted::Rest
        } else {
            Allotted::For { share, from: spent }
        };
        if let Some(next) = self.waiting.pop_front() {
            *line = next;
        }
        true
    }

    /// Whether only one line is left, or has been so far.
    pub(super) fn is_single(&self) -> bool {
        !matches!(self.turn, Allotted::For { .. })
    }

    /// Decides how many lines there are to be when one takes the share `quota`: as many as leave
    /// the heats after the first no shorter than it.
    fn plan(&mut self, quota: f64, end: f64) {
        // Each doubling of the lines adds a heat between the first and the last.
        let heat_of = |n_lines: usize| {
            let n_between = f64::from(n_lines.ilog2()) - 1.0;
            (end - quota * n_lines as f64) / (n_between + LAST_HEAT)
        };
        let mut n_lines = 1_usize;
        while n_lines < MOST_LINES && heat_of(2 * n_lines) >= quota * (2 * n_lines) as f64 {
            n_lines *= 2;
        }
        if n_lines == 1 {
            self.turn = Allotted::Rest;
            return;
        }
        self.waiting = (1..n_lines).map(|_| self.start.clone()).collect();
        self.heat = heat_of(n_lines);
        self.turn = Allotted::For {
            share: quota,
            from: 0.0,
        };
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(length: f64) -> SearchLine {
        let poses = Poses::new();
        SearchLine::new(Found { length, poses }, 0.02)
    }

    /// Runs lines of which the first is stuck once the share `quota` is spent, and which end at
    /// `lengths` by turns; gives the order of lengths that ran.
    fn run(quota: f64, lengths: &[f64]) -> Vec<f64> {
        let mut heats = Heats::new(line(100.0));
        let mut current = line(100.0);
        let (mut n_started, mut ran) = (0, Vec::new());
        for step in 0..1000 {
            let spent = f64::from(step) * 0.001;
            if current.best.length == 100.0 {
                current.best.length = lengths[n_started % lengths.len()];
                n_started += 1;
            }
            if spent >= quota {
                current.n_failures = STUCK;
            } else {
                current.gained_at = 0.5 * quota;
            }
            let before = current.best.length;
            if heats.next(&mut current, spent, 0.9) {
                ran.push(before);
            }
        }
        ran.push(current.best.length);
        ran
    }

    #[test]
    fn the_better_half_goes_on() {
        // Heats of 0.2 + 0.233 + 0.467: four lines, two, one.
        assert_eq!(
            run(0.05, &[9.0, 7.0, 8.0, 6.0]),
            [9.0, 7.0, 8.0, 6.0, 6.0, 7.0, 6.0]
        );
    }

    #[test]
    fn a_slow_line_has_the_budget_to_itself() {
        assert_eq!(run(0.3, &[9.0, 7.0]), [9.0]);
        let never_stuck = run(2.0, &[9.0, 7.0]);
        assert_eq!(never_stuck, [9.0]);
    }
}
