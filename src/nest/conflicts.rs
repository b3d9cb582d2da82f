//! Which pieces overlap, by how much, and how dear that is to the search: pairs that stay in
//! conflict gain weight (guided local search).

use std::ops::{Add, Div, Mul, Sub};

use super::random::Random;

/// A floating-point number: single precision where there are tables, double where pieces tilt.
pub(super) trait Real:
    Copy
    + PartialOrd
    + Default
    + Into<f64>
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
{
    /// The nearest such number.
    fn of(value: f64) -> Self;
}

impl Real for f32 {
    fn of(value: f64) -> Self {
        value as Self
    }
}

impl Real for f64 {
    fn of(value: f64) -> Self {
        value
    }
}

/// Losses and weights of all pairs. Each piece has a row; its columns are the pieces and, after
/// them, the obstacles.
///
/// Only what differs from the rest is kept: a pair that does not collide and whose weight is the
/// product of its two base weights takes no room, so memory and time follow the neighbours of each
/// piece and not all pairs.
#[derive(Clone, Debug)]
pub(super) struct Conflicts<T> {
    rows: Vec<ConflictRow<T>>,
    /// Base weight of each piece and obstacle; a pair's is the product of two.
    base: Vec<T>,
    /// The weights of one row, spread out to be looked up.
    spread: Spread<T>,
}

#[derive(Clone, Debug)]
struct ConflictRow<T> {
    /// In order of their columns.
    entries: Vec<ConflictEntry<T>>,
    /// Number of pieces and obstacles that the piece overlaps.
    n_colliding: u32,
}

/// A piece and another or an obstacle.
#[derive(Clone, Copy, Debug)]
struct ConflictEntry<T> {
    other: u32,
    loss: T,
    weight: T,
}

#[derive(Clone, Debug)]
struct Spread<T> {
    /// The row it is of; none once a weight has changed.
    of: Option<usize>,
    weights: Vec<T>,
}

/// Growth of the weights of the least and the worst colliding pair per round, and the decay of the
/// others. Faster growth: pieces jump about; slower: the search sits in a valley.
const GROWTH_LEAST: f64 = 1.2;
const GROWTH_MOST: f64 = 2.0;
const DECAY: f64 = 0.95;
/// No weight beyond this, so that single precision never overflows.
const WEIGHT_MOST: f64 = 1e20;

impl<T: Real> ConflictRow<T> {
    /// Where `other` stands, or should.
    fn find(&self, other: usize) -> Result<usize, usize> {
        (self.entries).binary_search_by_key(&(other as u32), |entry| entry.other)
    }

    fn get(&self, other: usize) -> Option<&ConflictEntry<T>> {
        self.find(other).ok().map(|k| &self.entries[k])
    }

    /// The entry of `other`, a new one with `weight` if there is none.
    fn entry(&mut self, other: usize, weight: T) -> &mut ConflictEntry<T> {
        let k = self.find(other).unwrap_or_else(|k| {
            let entry = ConflictEntry {
                other: other as u32,
                loss: T::default(),
                weight,
            };
            self.entries.insert(k, entry);
            k
        });
        &mut self.entries[k]
    }

    fn note(&mut self, other: usize, weight: T, loss: T) {
        self.entry(other, weight).loss = loss;
        self.n_colliding += 1;
    }

    /// Sets the loss with `other`, which collides, to zero.
    fn part_from(&mut self, other: usize) {
        if let Ok(k) = self.find(other) {
            self.entries[k].loss = T::default();
            self.n_colliding -= 1;
        }
    }
}

impl<T: Real> Conflicts<T> {
    /// No conflicts among `n` pieces and the obstacles that `base` has weights of beyond them.
    pub(super) fn new(n: usize, base: Vec<T>) -> Self {
        let row = ConflictRow {
            entries: Vec::new(),
            n_colliding: 0,
        };
        Self {
            rows: vec![row; n],
            base,
            spread: Spread {
                of: None,
                weights: Vec::new(),
            },
        }
    }

    pub(super) fn n_pieces(&self) -> usize {
        self.rows.len()
    }

    /// Weights of the pairs of `piece`.
    pub(super) fn weights_of(&mut self, piece: usize) -> &[T] {
        let spread = &mut self.spread;
        if spread.of != Some(piece) {
            let own = self.base[piece];
            spread.weights.clear();
            spread.weights.extend(self.base.iter().map(|&b| own * b));
            for entry in &self.rows[piece].entries {
                spread.weights[entry.other as usize] = entry.weight;
            }
            spread.of = Some(piece);
        }
        &spread.weights
    }

    /// Forgets all losses.
    pub(super) fn clear(&mut self) {
        for (row, &own) in self.rows.iter_mut().zip(&self.base) {
            row.n_colliding = 0;
            row.entries.retain_mut(|entry| {
                entry.loss = T::default();
                entry.weight != own * self.base[entry.other as usize]
            });
        }
    }

    /// Forgets the losses of `piece`.
    pub(super) fn forget(&mut self, piece: usize) {
        if self.rows[piece].n_colliding == 0 {
            return;
        }
        for k in 0..self.rows[piece].entries.len() {
            let entry = &mut self.rows[piece].entries[k];
            if entry.loss > T::default() {
                entry.loss = T::default();
                let other = entry.other as usize;
                if other < self.n_pieces() {
                    self.rows[other].part_from(piece);
                }
            }
        }
        self.rows[piece].n_colliding = 0;
    }

    /// Takes down the loss, more than zero, of a piece and another or an obstacle that read zero.
    pub(super) fn note(&mut self, piece: usize, other: usize, loss: T) {
        let weight = self.base[piece] * self.base[other];
        self.rows[piece].note(other, weight, loss);
        if other < self.n_pieces() {
            self.rows[other].note(piece, weight, loss);
        }
    }

    /// Sum of all losses, without weights; zero exactly when nothing collides.
    pub(super) fn total(&self) -> f64 {
        let mut sum = 0.0;
        for (i, row) in self.rows.iter().enumerate() {
            if row.n_colliding > 0 {
                let later = row.entries.iter().filter(|e| e.other as usize > i);
                sum += later.map(|e| e.loss.into()).sum::<f64>();
            }
        }
        sum
    }

    pub(super) fn is_empty(&self) -> bool {
        self.rows.iter().all(|row| row.n_colliding == 0)
    }

    pub(super) fn collides(&self, piece: usize) -> bool {
        self.rows[piece].n_colliding > 0
    }

    /// Pieces that collide with another, in a random order.
    pub(super) fn colliding(&self, random: &mut Random, into: &mut Vec<usize>) {
        into.clear();
        into.extend((0..self.n_pieces()).filter(|&k| self.collides(k)));
        random.shuffle(into);
    }

    /// Weighted loss of `piece`.
    pub(super) fn weighted(&self, piece: usize) -> f64 {
        let entries = self.rows[piece].entries.iter();
        entries.fold(0.0, |sum, e| sum + (e.loss * e.weight).into())
    }

    /// Weighted loss of two pieces together.
    pub(super) fn weighted_of_two(&self, a: usize, b: usize) -> f64 {
        let both = self.rows[a].get(b);
        let both = both.map_or(0.0, |e| (e.loss * e.weight).into());
        self.weighted(a) + self.weighted(b) - both
    }

    /// Gives a pair of pieces another weight; hands back the one it had.
    pub(super) fn set_weight(&mut self, a: usize, b: usize, weight: T) -> T {
        self.spread.of = None;
        let base = self.base[a] * self.base[b];
        self.rows[b].entry(a, base).weight = weight;
        std::mem::replace(&mut self.rows[a].entry(b, base).weight, weight)
    }

    /// Weights back to their base values.
    pub(super) fn reset_weights(&mut self) {
        self.spread.of = None;
        for (row, &own) in self.rows.iter_mut().zip(&self.base) {
            row.entries.retain_mut(|entry| {
                entry.weight = own * self.base[entry.other as usize];
                entry.loss > T::default()
            });
        }
    }

    /// Raises the weights of colliding pairs, the worst most, and lets the others decay.
    pub(super) fn update_weights(&mut self) {
        let zero = T::default();
        let larger = |a: T, b: T| if b > a { b } else { a };
        let losses = self.rows.iter().flat_map(|row| &row.entries);
        let worst = losses.fold(zero, |worst, entry| larger(worst, entry.loss));
        if worst <= zero {
            return;
        }
        self.spread.of = None;
        let [least, most, decay, highest] =
            [GROWTH_LEAST, GROWTH_MOST, DECAY, WEIGHT_MOST].map(T::of);
        let slope = (most - least) / worst;
        for (row, &own) in self.rows.iter_mut().zip(&self.base) {
            row.entries.retain_mut(|entry| {
                let collides = entry.loss > zero;
                let growth = least + slope * entry.loss;
                let factor = if collides { growth } else { decay };
                let low = own * self.base[entry.other as usize];
                let next = larger(entry.weight * factor, low);
                entry.weight = if next > highest { highest } else { next };
                collides || entry.weight != low
            });
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// All pairs in tables, as the definition reads.
    struct Tables {
        loss: Vec<Vec<f64>>,
        weight: Vec<Vec<f64>>,
        base: Vec<f64>,
    }

    impl Tables {
        fn new(n: usize, base: &[f64]) -> Self {
            let row = |i: usize| base.iter().map(|b| base[i] * b).collect();
            Self {
                loss: vec![vec![0.0; base.len()]; n],
                weight: (0..n).map(row).collect(),
                base: base.to_vec(),
            }
        }

        fn set(&mut self, i: usize, j: usize, loss: f64) {
            self.loss[i][j] = loss;
            if j < self.loss.len() {
                self.loss[j][i] = loss;
            }
        }

        fn update(&mut self) {
            let worst = self.loss.iter().flatten().copied().fold(0.0, f64::max);
            if worst == 0.0 {
                return;
            }
            for (i, row) in self.weight.iter_mut().enumerate() {
                for (j, weight) in row.iter_mut().enumerate() {
                    let loss = self.loss[i][j];
                    let factor = if loss > 0.0 {
                        GROWTH_LEAST + (GROWTH_MOST - GROWTH_LEAST) / worst * loss
                    } else {
                        DECAY
                    };
                    let base = self.base[i] * self.base[j];
                    *weight = (*weight * factor).max(base).min(WEIGHT_MOST);
                }
            }
        }
    }

    #[test]
    fn rows_that_leave_out_what_is_usual_say_the_same_as_tables_of_all_pairs() {
        let (n, n_all) = (7, 9);
        let base: Vec<f64> = (0..n_all).map(|k| 0.5 + 0.3 * k as f64).collect();
        let mut random = Random::new(3, 0);
        let (mut rows, mut tables) = (Conflicts::new(n, base.clone()), Tables::new(n, &base));
        for step in 0..4000 {
            let (i, j) = (random.below(n), random.below(n_all));
            match random.below(8) {
                0..4 if i != j && tables.loss[i][j] == 0.0 => {
                    let loss = 0.1 + random.unit();
                    rows.note(i, j, loss);
                    tables.set(i, j, loss);
                }
                4 | 5 => {
                    rows.forget(i);
                    (0..n_all).for_each(|j| tables.set(i, j, 0.0));
                }
                6 if step % 9 == 0 => {
                    rows.clear();
                    tables.loss.iter_mut().for_each(|row| row.fill(0.0));
                }
                7 if step % 11 == 0 => {
                    rows.reset_weights();
                    tables.weight = Tables::new(n, &base).weight;
                }
                _ => {
                    rows.update_weights();
                    tables.update();
                }
            }
            let piece = random.below(n);
            let expected: f64 = (tables.loss[piece].iter().zip(&tables.weight[piece]))
                .map(|(loss, weight)| loss * weight)
                .sum();
            assert!((rows.weighted(piece) - expected).abs() <= 1e-9 * expected.max(1.0));
            assert_eq!(rows.weights_of(piece), tables.weight[piece]);
            let collides = tables.loss[piece].iter().any(|&loss| loss > 0.0);
            assert_eq!(rows.collides(piece), collides);
        }
    }

    #[test]
    fn what_is_kept_follows_the_neighbours_and_not_all_pairs() {
        let n = 5000;
        let mut conflicts = Conflicts::new(n, vec![1.0_f32; n]);
        for k in 0..n - 1 {
            conflicts.note(k, k + 1, 1.0);
        }
        conflicts.update_weights();
        let kept = |c: &Conflicts<f32>| c.rows.iter().map(|r| r.entries.len()).sum::<usize>();
        assert_eq!(kept(&conflicts), 2 * (n - 1));
        conflicts.clear();
        // Nothing collides, so nothing decays until something does.
        conflicts.note(0, 1, 1.0);
        for _ in 0..20 {
            conflicts.update_weights();
        }
        assert_eq!(kept(&conflicts), 2);
    }
}
