//! A layout while it is being searched: pieces anywhere in the strip, overlaps allowed, with the
//! loss of every pair kept up to date.

mod around;
mod boxes;

use super::Counts;
use super::measure::{Measure, Recent, cost};
use super::random::Random;
use super::shape::{Choice, Scene, Variant};
use crate::geometry::Vector;
use boxes::{Boxes, Focus, GROUP};

/// Pairs looked at together.
const LANES: usize = 8;

/// Where a piece lies: its choice of turn and the position of the variant's middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pose {
    /// Index into the piece's choices.
    pub choice: usize,
    pub x: f64,
    pub y: f64,
}

/// Positions of all pieces; what is saved and restored.
pub(super) type Poses = Vec<Pose>;

/// Pieces in a strip of given length, with their collisions.
#[derive(Clone, Debug)]
pub(super) struct State<'a> {
    pub scene: &'a Scene,
    measure: &'a Measure,
    recent: Recent,
    pub length: f64,
    poses: Poses,
    /// Positions of the pieces and, after them, of the obstacles; so are the next two.
    at: Vec<Vector>,
    boxes: Boxes,
    variant_of: Vec<u32>,
    focus: Focus,
    /// Loss of each piece (row) with each piece and each obstacle (columns), symmetric as far as
    /// it is square.
    loss: Vec<f32>,
    /// Weight of each pair, likewise.
    weights: Vec<f32>,
    /// Base weight of each piece and obstacle; a pair's is the product of two.
    base: Vec<f32>,
    /// Number of pieces each piece collides with.
    n_colliding: Vec<u32>,
    /// The work done, in units of about a nanosecond.
    pub work: u64,
    /// Evaluations and rounds done.
    pub counts: Counts,
}

/// The range of positions in which a variant lies within the strip.
#[derive(Clone, Copy, Debug)]
pub(super) struct Room {
    pub x: (f64, f64),
    pub y: (f64, f64),
}

impl Room {
    /// Room for `variant` in a strip, or `None` if there is none.
    pub(super) fn of(variant: &Variant, length: f64, width: f64) -> Option<Self> {
        let b = &variant.net;
        let range = |lo: f64, hi: f64| match hi - lo {
            d if d >= 0.0 => Some((lo, hi)),
            d if d >= -super::shape::fit_tolerance(width) => {
                Some((0.5 * (lo + hi), 0.5 * (lo + hi)))
            }
            _ => None,
        };
        Some(Self {
            x: range(-b.min.x, length - b.max.x)?,
            y: range(-b.min.y, width - b.max.y)?,
        })
    }

    /// The nearest position within.
    pub(super) fn clamp(&self, x: f64, y: f64) -> (f64, f64) {
        (x.clamp(self.x.0, self.x.1), y.clamp(self.y.0, self.y.1))
    }
}

impl<'a> State<'a> {
    /// Pieces at `poses` in a strip of `length`.
    pub(super) fn new(scene: &'a Scene, measure: &'a Measure, length: f64, poses: Poses) -> Self {
        let n = scene.pieces.len();
        let mut base: Vec<f32> = scene
            .pieces
            .iter()
            .map(|p| (p.size / scene.unit).sqrt() as f32)
            .collect();
        base.extend(scene.obstacles.iter().map(|_| OBSTACLE_WEIGHT));
        let n_all = base.len();
        let mut state = Self {
            scene,
            measure,
            recent: Recent::default(),
            length,
            poses: Vec::new(),
            at: vec![Vector::default(); n_all],
            boxes: Boxes::empty(n_all),
            variant_of: vec![0; n_all],
            focus: Focus::default(),
            loss: vec![0.0; n * n_all],
            weights: vec![0.0; n * n_all],
            base,
            n_colliding: vec![0; n],
            work: 0,
            counts: Counts::default(),
        };
        for (k, obstacle) in scene.obstacles.iter().enumerate() {
            state.set_box(n + k, obstacle.variant, obstacle.at);
        }
        state.reset_weights();
        state.restore(&poses);
        state
    }

    /// Looks at the pieces in another detail from now on.
    pub(super) fn measure_with(&mut self, measure: &'a Measure) {
        self.measure = measure;
        self.recent = Recent::default();
    }

    /// How far two pieces must part if `b` lies at `by` from `a`, and which way it should go, as
    /// [`Measure::slope`] says.
    pub(super) fn slope(&mut self, a: usize, b: usize, by: Vector) -> (f64, Vector) {
        let variants = (self.variant_of[a] as usize, self.variant_of[b] as usize);
        let (recent, work) = (&mut self.recent, &mut self.work);
        self.measure.slope(variants, by, recent, work)
    }

    pub(super) fn n_pieces(&self) -> usize {
        self.n_colliding.len()
    }

    /// Number of pieces and obstacles: the columns of a row.
    fn n_all(&self) -> usize {
        self.variant_of.len()
    }

    /// Where the obstacles lie; counted with the pieces, they come after them.
    pub(super) fn obstacles(&self) -> &[Vector] {
        &self.at[self.n_pieces()..]
    }

    /// The row of `piece` in a matrix of pairs.
    fn row(&self, piece: usize) -> std::ops::Range<usize> {
        piece * self.n_all()..(piece + 1) * self.n_all()
    }

    pub(super) fn poses(&self) -> &Poses {
        &self.poses
    }

    pub(super) fn variant(&self, piece: usize) -> &'a Variant {
        &self.scene.variants[self.variant_of[piece] as usize]
    }

    pub(super) fn choice(&self, piece: usize, choice: usize) -> &'a Choice {
        &self.scene.pieces[piece].choices[choice]
    }

    /// Room for `piece` in one of its turns.
    pub(super) fn room(&self, piece: usize, choice: usize) -> Option<Room> {
        let variant = &self.scene.variants[self.choice(piece, choice).variant];
        Room::of(variant, self.length, self.scene.width)
    }

    /// The largest x of any piece.
    pub(super) fn used_length(&self) -> f64 {
        (0..self.n_pieces())
            .map(|k| self.poses[k].x + self.variant(k).net.max.x)
            .fold(0.0, f64::max)
    }

    /// Puts all pieces where `poses` says and measures all collisions anew.
    pub(super) fn restore(&mut self, poses: &Poses) {
        self.poses.clone_from(poses);
        self.focus.piece = usize::MAX;
        for k in 0..self.n_pieces() {
            self.place_box(k);
        }
        self.loss.fill(0.0);
        self.n_colliding.fill(0);
        for k in 0..self.n_pieces() {
            self.measure_row(k, k + 1);
        }
    }

    fn place_box(&mut self, piece: usize) {
        let pose = self.poses[piece];
        let variant = self.choice(piece, pose.choice).variant;
        self.set_box(piece, variant, Vector::new(pose.x, pose.y));
    }

    fn set_box(&mut self, k: usize, variant: usize, at: Vector) {
        self.variant_of[k] = variant as u32;
        self.at[k] = at;
        let frame = self.frame(variant, at);
        self.boxes.set(k, frame);
    }

    /// Fills in the losses of `piece` with all pieces and obstacles from `first` on; they must
    /// read zero.
    fn measure_row(&mut self, piece: usize, first: usize) {
        let (n, n_all) = (self.n_pieces(), self.n_all());
        let at = self.at[piece];
        let variant = self.variant_of[piece] as usize;
        let frame = self.boxes.get(piece);
        for j in self.boxes.met_by(frame) {
            if j == piece || j < first {
                continue;
            }
            let loss = self.measure.loss(
                (variant, self.variant_of[j] as usize),
                self.at[j] - at,
                f64::INFINITY,
                &mut self.recent,
                &mut self.work,
            );
            if loss > 0.0 {
                // A tiny loss must not round to "no collision".
                let loss = (loss as f32).max(f32::MIN_POSITIVE);
                self.loss[piece * n_all + j] = loss;
                self.n_colliding[piece] += 1;
                if j < n {
                    self.loss[j * n_all + piece] = loss;
                    self.n_colliding[j] += 1;
                }
            }
        }
    }

    /// Moves `piece` to `pose`.
    pub(super) fn move_to(&mut self, piece: usize, pose: Pose) {
        let (n, n_all) = (self.n_pieces(), self.n_all());
        if self.n_colliding[piece] > 0 {
            for j in 0..n_all {
                if self.loss[piece * n_all + j] > 0.0 {
                    self.loss[piece * n_all + j] = 0.0;
                    if j < n {
                        self.loss[j * n_all + piece] = 0.0;
                        self.n_colliding[j] -= 1;
                    }
                }
            }
            self.n_colliding[piece] = 0;
        }
        self.poses[piece] = pose;
        self.place_box(piece);
        self.measure_row(piece, 0);
        self.focus.piece = usize::MAX;
    }

    /// Sum of all losses, without weights; zero exactly when nothing collides.
    pub(super) fn total_loss(&self) -> f64 {
        let mut sum = 0.0;
        for i in 0..self.n_pieces() {
            if self.n_colliding[i] > 0 {
                sum += self.loss[self.row(i)][i + 1..]
                    .iter()
                    .map(|&l| f64::from(l))
                    .sum::<f64>();
            }
        }
        sum
    }

    pub(super) fn is_valid(&self) -> bool {
        self.n_colliding.iter().all(|&c| c == 0)
    }

    /// Pieces that collide with another, in a random order.
    pub(super) fn colliding(&self, random: &mut Random, into: &mut Vec<usize>) {
        into.clear();
        into.extend((0..self.n_pieces()).filter(|&k| self.n_colliding[k] > 0));
        random.shuffle(into);
    }

    pub(super) fn collides(&self, piece: usize) -> bool {
        self.n_colliding[piece] > 0
    }

    /// Weighted loss of `piece` where it lies.
    pub(super) fn weighted_loss_here(&self, piece: usize) -> f64 {
        let row = self.row(piece);
        let (loss, weights) = (&self.loss[row.clone()], &self.weights[row]);
        let mut sum = 0.0;
        // Most losses are zero.
        for (loss, weights) in loss.chunks(LANES).zip(weights.chunks(LANES)) {
            if loss.iter().any(|&l| l > 0.0) {
                for (&l, &w) in loss.iter().zip(weights) {
                    sum += f64::from(l * w);
                }
            }
        }
        sum
    }

    /// Weighted loss of two pieces where they lie.
    pub(super) fn weighted_loss_of_two(&self, a: usize, b: usize) -> f64 {
        let pair = a * self.n_all() + b;
        self.weighted_loss_here(a) + self.weighted_loss_here(b)
            - f64::from(self.loss[pair] * self.weights[pair])
    }

    /// Gives a pair of pieces another weight; hands back the one it had.
    pub(super) fn set_weight(&mut self, a: usize, b: usize, weight: f32) -> f32 {
        let n = self.n_all();
        self.weights[b * n + a] = weight;
        std::mem::replace(&mut self.weights[a * n + b], weight)
    }

    /// Prepares for many evaluations of `piece` near `pose`: what lies within `margin` of its box
    /// there is listed, the heaviest pairs first, so that bad positions are given up early.
    pub(super) fn focus_on(&mut self, piece: usize, pose: Pose, margin: f64) {
        let variant = self.choice(piece, pose.choice).variant;
        let [min_x, max_x, min_y, max_y] = self.frame(variant, Vector::new(pose.x, pose.y));
        let m = margin as f32;
        let region = [min_x - m, max_x + m, min_y - m, max_y + m];
        let mut focus = std::mem::take(&mut self.focus);
        focus.piece = piece;
        focus.region = region;
        focus.members.clear();
        let near = self.boxes.met_by(region).filter(|&j| j != piece);
        focus.members.extend(near.map(|j| j as u32));
        let weights = &self.weights[self.row(piece)];
        focus.members.sort_by(|&a, &b| {
            weights[b as usize]
                .total_cmp(&weights[a as usize])
                .then(a.cmp(&b))
        });
        focus.boxes.clear(focus.members.len());
        for (k, &j) in focus.members.iter().enumerate() {
            focus.boxes.set(k, self.boxes.get(j as usize));
        }
        self.focus = focus;
    }

    /// Weighted loss that `piece` would have at `pose`; early and above `bound` once it passes it.
    pub(super) fn weighted_loss(&mut self, piece: usize, pose: Pose, bound: f64) -> f64 {
        let (mut work, mut scanned) = (cost::EVALUATION, 0);
        let variant = self.choice(piece, pose.choice).variant;
        let at = Vector::new(pose.x, pose.y);
        let frame = self.frame(variant, at);
        let weights = &self.weights[self.row(piece)];
        let mut sum = 0.0;
        // Adds the loss with piece `j`; whether the bound is passed.
        let mut add = |j: usize| {
            let weight = f64::from(weights[j]);
            sum += weight
                * self.measure.loss(
                    (variant, self.variant_of[j] as usize),
                    self.at[j] - at,
                    (bound - sum) / weight,
                    &mut self.recent,
                    &mut work,
                );
            sum > bound
        };
        if self.focus.covers(piece, frame) {
            for k in self.focus.boxes.met_by(frame) {
                if add(self.focus.members[k] as usize) {
                    break;
                }
            }
        } else {
            scanned = self.boxes.n_groups() as u64;
            for j in self.boxes.met_by(frame) {
                if j != piece && add(j) {
                    break;
                }
            }
        }
        self.work += work + cost::GROUP * scanned;
        self.counts.evaluations += 1;
        sum
    }

    /// Weighted loss of `piece` at `pose`, and the way along which it falls fastest.
    pub(super) fn weighted_slope(&mut self, piece: usize, pose: Pose) -> (f64, Vector) {
        self.work += cost::EVALUATION;
        self.counts.evaluations += 1;
        let (n_all, at) = (self.n_all(), Vector::new(pose.x, pose.y));
        let variant = self.choice(piece, pose.choice).variant;
        let (mut sum, mut away) = (0.0, Vector::default());
        let frame = self.frame(variant, at);
        for j in self.boxes.met_by(frame) {
            if j == piece {
                continue;
            }
            let (loss, way) = self.measure.slope(
                (self.variant_of[j] as usize, variant),
                at - self.at[j],
                &mut self.recent,
                &mut self.work,
            );
            let weight = f64::from(self.weights[piece * n_all + j]);
            sum += weight * loss;
            away = away + way * weight;
        }
        (sum, away)
    }

    /// Box of `variant` at `at`, rounded outward.
    fn frame(&self, variant: usize, at: Vector) -> [f32; 4] {
        let b = &self.scene.variants[variant].grown;
        [
            down(b.min.x + at.x),
            up(b.max.x + at.x),
            down(b.min.y + at.y),
            up(b.max.y + at.y),
        ]
    }

    /// Weights back to their base values.
    pub(super) fn reset_weights(&mut self) {
        let (n, n_all) = (self.n_pieces(), self.n_all());
        for i in 0..n {
            for j in 0..n_all {
                self.weights[i * n_all + j] = self.base[i] * self.base[j];
            }
        }
    }

    /// Raises the weights of colliding pairs, the worst most, and lets the others decay.
    pub(super) fn update_weights(&mut self) {
        let worst = greatest(&self.loss);
        if worst <= 0.0 {
            return;
        }
        let (least, most) = (GROWTH_LEAST as f32, GROWTH_MOST as f32);
        let most_weight = WEIGHT_MOST as f32;
        let slope = (most - least) / worst;
        for i in 0..self.n_pieces() {
            let base_i = self.base[i];
            let row = self.row(i);
            let (weights, loss) = (&mut self.weights[row.clone()], &self.loss[row]);
            // Written so that the compiler takes several at once.
            for ((w, &l), &b) in weights.iter_mut().zip(loss).zip(&self.base) {
                let growth = least + slope * l;
                let factor = if l > 0.0 { growth } else { DECAY as f32 };
                let (next, low) = (*w * factor, base_i * b);
                let next = if next < low { low } else { next };
                *w = if next > most_weight {
                    most_weight
                } else {
                    next
                };
            }
        }
    }
}

/// Growth of the weights of the least and the worst colliding pair per round, and the decay of the
/// others. Faster growth: pieces jump about; slower: the search sits in a valley.
pub(super) const GROWTH_LEAST: f64 = 1.2;
pub(super) const GROWTH_MOST: f64 = 2.0;
pub(super) const DECAY: f64 = 0.95;
/// Base weight of an obstacle; a piece of mean size has 1.
const OBSTACLE_WEIGHT: f32 = 1.0;
/// No weight beyond this, so that single precision never overflows.
pub(super) const WEIGHT_MOST: f64 = 1e20;

/// The next lower and higher single-precision numbers, near enough: boxes may only grow.
fn down(v: f64) -> f32 {
    (v - v.abs() * 1e-7) as f32
}

fn up(v: f64) -> f32 {
    (v + v.abs() * 1e-7) as f32
}

/// The largest of `values` and zero.
fn greatest(values: &[f32]) -> f32 {
    let mut most = [0.0_f32; GROUP];
    let groups = values.chunks_exact(GROUP);
    let rest = groups.remainder();
    for group in groups {
        for (most, &value) in most.iter_mut().zip(group) {
            *most = if value > *most { value } else { *most };
        }
    }
    most.iter().chain(rest).copied().fold(0.0, f32::max)
}
