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
#[derive(Clone, Debug)]
pub(super) struct Conflicts<T> {
    /// Symmetric as far as it is square.
    loss: Vec<T>,
    weights: Vec<T>,
    /// Base weight of each piece and obstacle; a pair's is the product of two.
    base: Vec<T>,
    /// Number of pieces and obstacles that each piece overlaps. It saves looking through rows, most
    /// of which hold nothing but zeros.
    n_colliding: Vec<u32>,
}

/// Growth of the weights of the least and the worst colliding pair per round, and the decay of the
/// others. Faster growth: pieces jump about; slower: the search sits in a valley.
const GROWTH_LEAST: f64 = 1.2;
const GROWTH_MOST: f64 = 2.0;
const DECAY: f64 = 0.95;
/// No weight beyond this, so that single precision never overflows.
const WEIGHT_MOST: f64 = 1e20;
/// Entries looked at together, so that the compiler takes several at once.
const LANES: usize = 8;

impl<T: Real> Conflicts<T> {
    /// No conflicts among `n` pieces and the obstacles that `base` has weights of beyond them.
    pub(super) fn new(n: usize, base: Vec<T>) -> Self {
        let mut conflicts = Self {
            loss: vec![T::default(); n * base.len()],
            weights: vec![T::default(); n * base.len()],
            n_colliding: vec![0; n],
            base,
        };
        conflicts.reset_weights();
        conflicts
    }

    pub(super) fn n_pieces(&self) -> usize {
        self.n_colliding.len()
    }

    fn row(&self, piece: usize) -> std::ops::Range<usize> {
        let n_all = self.base.len();
        piece * n_all..(piece + 1) * n_all
    }

    /// Weights of the pairs of `piece`.
    pub(super) fn weights_of(&self, piece: usize) -> &[T] {
        &self.weights[self.row(piece)]
    }

    /// Forgets all losses.
    pub(super) fn clear(&mut self) {
        self.loss.fill(T::default());
        self.n_colliding.fill(0);
    }

    /// Forgets the losses of `piece`.
    pub(super) fn forget(&mut self, piece: usize) {
        if self.n_colliding[piece] == 0 {
            return;
        }
        let (n, n_all, zero) = (self.n_pieces(), self.base.len(), T::default());
        for j in 0..n_all {
            if self.loss[piece * n_all + j] > zero {
                self.loss[piece * n_all + j] = zero;
                if j < n {
                    self.loss[j * n_all + piece] = zero;
                    self.n_colliding[j] -= 1;
                }
            }
        }
        self.n_colliding[piece] = 0;
    }

    /// Takes down the loss, more than zero, of a piece and another or an obstacle that read zero.
    pub(super) fn note(&mut self, piece: usize, other: usize, loss: T) {
        let n_all = self.base.len();
        self.loss[piece * n_all + other] = loss;
        self.n_colliding[piece] += 1;
        if other < self.n_pieces() {
            self.loss[other * n_all + piece] = loss;
            self.n_colliding[other] += 1;
        }
    }

    /// Sum of all losses, without weights; zero exactly when nothing collides.
    pub(super) fn total(&self) -> f64 {
        let mut sum = 0.0;
        for i in (0..self.n_pieces()).filter(|&i| self.collides(i)) {
            let row = &self.loss[self.row(i)][i + 1..];
            sum += row.iter().map(|&l| l.into()).sum::<f64>();
        }
        sum
    }

    pub(super) fn is_empty(&self) -> bool {
        self.n_colliding.iter().all(|&c| c == 0)
    }

    pub(super) fn collides(&self, piece: usize) -> bool {
        self.n_colliding[piece] > 0
    }

    /// Pieces that collide with another, in a random order.
    pub(super) fn colliding(&self, random: &mut Random, into: &mut Vec<usize>) {
        into.clear();
        into.extend((0..self.n_pieces()).filter(|&k| self.collides(k)));
        random.shuffle(into);
    }

    /// Weighted loss of `piece`.
    pub(super) fn weighted(&self, piece: usize) -> f64 {
        let row = self.row(piece);
        let (loss, weights) = (&self.loss[row.clone()], &self.weights[row]);
        let mut sum = 0.0;
        // Most losses are zero.
        for (loss, weights) in loss.chunks(LANES).zip(weights.chunks(LANES)) {
            if loss.iter().any(|&l| l > T::default()) {
                for (&l, &w) in loss.iter().zip(weights) {
                    sum += (l * w).into();
                }
            }
        }
        sum
    }

    /// Weighted loss of two pieces together.
    pub(super) fn weighted_of_two(&self, a: usize, b: usize) -> f64 {
        let pair = a * self.base.len() + b;
        self.weighted(a) + self.weighted(b) - (self.loss[pair] * self.weights[pair]).into()
    }

    /// Gives a pair of pieces another weight; hands back the one it had.
    pub(super) fn set_weight(&mut self, a: usize, b: usize, weight: T) -> T {
        let n_all = self.base.len();
        self.weights[b * n_all + a] = weight;
        std::mem::replace(&mut self.weights[a * n_all + b], weight)
    }

    /// Weights back to their base values.
    pub(super) fn reset_weights(&mut self) {
        let n_all = self.base.len();
        for i in 0..self.n_pieces() {
            for j in 0..n_all {
                self.weights[i * n_all + j] = self.base[i] * self.base[j];
            }
        }
    }

    /// Raises the weights of colliding pairs, the worst most, and lets the others decay.
    pub(super) fn update_weights(&mut self) {
        let zero = T::default();
        let worst = greatest(&self.loss);
        if worst <= zero {
            return;
        }
        let [least, most, decay, highest] =
            [GROWTH_LEAST, GROWTH_MOST, DECAY, WEIGHT_MOST].map(T::of);
        let slope = (most - least) / worst;
        for i in 0..self.n_pieces() {
            let base_i = self.base[i];
            let row = self.row(i);
            let (weights, loss) = (&mut self.weights[row.clone()], &self.loss[row]);
            // Written so that the compiler takes several at once.
            for ((w, &l), &b) in weights.iter_mut().zip(loss).zip(&self.base) {
                let growth = least + slope * l;
                let factor = if l > zero { growth } else { decay };
                let (next, low) = (*w * factor, base_i * b);
                let next = if next < low { low } else { next };
                *w = if next > highest { highest } else { next };
            }
        }
    }
}

/// The largest of `values` and zero.
fn greatest<T: Real>(values: &[T]) -> T {
    // Apart from each other, so that the compiler takes them all at once.
    let mut most = [T::default(); 2 * LANES];
    let larger = |a: T, b: T| if b > a { b } else { a };
    let groups = values.chunks_exact(most.len());
    let rest = groups.remainder();
    for group in groups {
        for (most, &value) in most.iter_mut().zip(group) {
            *most = larger(*most, value);
        }
    }
    most.iter().chain(rest).copied().fold(T::default(), larger)
}
