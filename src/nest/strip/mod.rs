//! A layout while it is being searched: pieces anywhere in the strip, overlaps allowed, with the
//! loss of every pair kept up to date.
//!
//! Nearly all work of a search is done here, so three things are kept beside each other. Boxes
//! (`boxes`) tell in one scan, many at once, which pieces can meet at all. A focus narrows that
//! scan to the neighbours of the piece that is being moved, since it is asked some forty times
//! before it moves once. The losses where the pieces lie (`Conflicts`) are never asked of the
//! measure twice: a move renews one row and one column.

mod around;
mod boxes;
mod holes;
mod refine;

use super::Counts;
use super::conflicts::Conflicts;
use super::exchange::exchange;
use super::measure::{Depths, Recent, cost};
use super::push::shift_apart;
use super::random::Random;
use super::separate::Tangle;
use super::shape::{Scene, ShapeVariant, TurnChoice};
use crate::geometry::{Bounds, Point, Vector};
use boxes::{Boxes, Focus};

/// Where a piece lies: its choice of turn, how far it is turned off it, and its middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Pose {
    /// Index into the piece's choices.
    pub choice: usize,
    /// Turned by this many degrees on the strip, counter-clockwise.
    pub tilt: f64,
    /// Position of the variant's origin, which is the middle of its box.
    pub at: Point,
}

impl Pose {
    /// Not turned off its choice.
    pub(super) const fn straight(choice: usize, at: Point) -> Self {
        Self {
            choice,
            tilt: 0.0,
            at,
        }
    }

    /// From the strip's corner to the piece's middle.
    pub(super) fn shift(&self) -> Vector {
        self.at - Point::default()
    }
}

/// Positions of all pieces; what is saved and restored.
pub(super) type Poses = Vec<Pose>;

/// Pieces in a strip of given length, with their collisions.
#[derive(Clone, Debug)]
pub(super) struct Strip<'a> {
    pub scene: &'a Scene,
    measure: &'a Depths,
    recent: Recent,
    pub length: f64,
    poses: Poses,
    /// Positions of the pieces and, after them, of the obstacles; so are the next two.
    at: Vec<Point>,
    boxes: Boxes,
    variant_of: Vec<u32>,
    focus: Focus,
    conflicts: Conflicts<f32>,
    /// Whose boxes meet the one at hand.
    met: Vec<usize>,
    /// Points that nothing covered when the round began.
    holes: Vec<Point>,
    /// The work done, in units of about a nanosecond.
    pub work: u64,
    /// Evaluations and rounds done.
    pub counts: Counts,
}

/// Base weight of an obstacle; a piece of mean size has 1.
pub(super) const OBSTACLE_WEIGHT: f32 = 1.0;

/// Where the middle of `variant` may be for it to lie in a strip, or `None` if it has no room.
pub(super) fn room(variant: &ShapeVariant, length: f64, width: f64) -> Option<Bounds> {
    let b = &variant.net;
    let range = |lo: f64, hi: f64| match hi - lo {
        d if d >= 0.0 => Some((lo, hi)),
        d if d >= -crate::geometry::fit_tolerance(width) => {
            Some((0.5 * (lo + hi), 0.5 * (lo + hi)))
        }
        _ => None,
    };
    let x = range(-b.min.x, length - b.max.x)?;
    let y = range(-b.min.y, width - b.max.y)?;
    Some(Bounds {
        min: Point::new(x.0, y.0),
        max: Point::new(x.1, y.1),
    })
}

impl<'a> Strip<'a> {
    /// Pieces at `poses` in a strip of `length`.
    pub(super) fn new(scene: &'a Scene, measure: &'a Depths, length: f64, poses: &[Pose]) -> Self {
        let n = scene.pieces.len();
        let mut base: Vec<f32> = scene
            .pieces
            .iter()
            .map(|p| (p.size / scene.unit).sqrt() as f32)
            .collect();
        base.extend(scene.obstacles.iter().map(|_| OBSTACLE_WEIGHT));
        let n_all = base.len();
        let mut strip = Self {
            scene,
            measure,
            recent: Recent::default(),
            length,
            poses: Vec::new(),
            at: vec![Point::default(); n_all],
            boxes: Boxes::empty(n_all),
            variant_of: vec![0; n_all],
            focus: Focus::default(),
            conflicts: Conflicts::new(n, base),
            met: Vec::new(),
            holes: Vec::new(),
            work: 0,
            counts: Counts::default(),
        };
        for (k, obstacle) in scene.obstacles.iter().enumerate() {
            strip.set_box(n + k, obstacle.variant, obstacle.at);
        }
        strip.restore(poses);
        strip
    }

    /// Looks at the pieces in another detail from now on.
    pub(super) fn measure_with(&mut self, measure: &'a Depths) {
        self.measure = measure;
        self.recent = Recent::default();
    }

    /// How far two pieces must part if `b` lies at `by` from `a`, and which way it should go, as
    /// [`Depths::slope`] says.
    pub(super) fn slope(&mut self, a: usize, b: usize, by: Vector) -> (f64, Vector) {
        let variants = (self.variant_of[a] as usize, self.variant_of[b] as usize);
        let (recent, work) = (&mut self.recent, &mut self.work);
        self.measure.slope(variants, by, recent, work)
    }

    pub(super) fn n_pieces(&self) -> usize {
        self.conflicts.n_pieces()
    }

    /// Where the obstacles lie; counted with the pieces, they come after them.
    pub(super) fn obstacles(&self) -> &[Point] {
        &self.at[self.n_pieces()..]
    }

    pub(super) fn poses(&self) -> &Poses {
        &self.poses
    }

    pub(super) fn variant(&self, piece: usize) -> &'a ShapeVariant {
        &self.scene.variants[self.variant_of[piece] as usize]
    }

    pub(super) fn choice(&self, piece: usize, choice: usize) -> &'a TurnChoice {
        &self.scene.pieces[piece].choices[choice]
    }

    /// Where `piece` may lie in one of its turns.
    pub(super) fn room(&self, piece: usize, choice: usize) -> Option<Bounds> {
        let variant = &self.scene.variants[self.choice(piece, choice).variant];
        room(variant, self.length, self.scene.width)
    }

    /// `piece` in a random turn, and where it may lie in that.
    fn random_turn(&self, piece: usize, random: &mut Random) -> Option<(usize, Bounds)> {
        let n_choices = self.scene.pieces[piece].choices.len();
        let choice = if n_choices == 1 {
            0
        } else {
            random.below(n_choices)
        };
        Some((choice, self.room(piece, choice)?))
    }

    /// The largest x of any piece.
    pub(super) fn used_length(&self) -> f64 {
        (0..self.n_pieces())
            .map(|k| self.poses[k].at.x + self.variant(k).net.max.x)
            .fold(0.0, f64::max)
    }

    fn place_box(&mut self, piece: usize) {
        let pose = self.poses[piece];
        let variant = self.choice(piece, pose.choice).variant;
        self.set_box(piece, variant, pose.at);
    }

    fn set_box(&mut self, k: usize, variant: usize, at: Point) {
        self.variant_of[k] = variant as u32;
        self.at[k] = at;
        let frame = self.frame(variant, at);
        self.boxes.set(k, frame);
    }

    /// Fills in the losses of `piece` with all pieces and obstacles; they must read zero.
    fn measure_row(&mut self, piece: usize) {
        let mut met = std::mem::take(&mut self.met);
        met.clear();
        met.extend(self.boxes.met_by(self.boxes.get(piece)));
        for &other in &met {
            if other != piece {
                self.measure_pair(piece, other);
            }
        }
        self.met = met;
    }

    /// Fills in the loss of `piece` and another or an obstacle; it must read zero.
    fn measure_pair(&mut self, piece: usize, other: usize) {
        let variants = [piece, other].map(|k| self.variant_of[k] as usize);
        let loss = self.measure.loss(
            (variants[0], variants[1]),
            self.at[other] - self.at[piece],
            f64::INFINITY,
            &mut self.recent,
            &mut self.work,
        );
        if loss > 0.0 {
            // A tiny loss must not round to "no collision".
            let loss = (loss as f32).max(f32::MIN_POSITIVE);
            self.conflicts.note(piece, other, loss);
        }
    }

    /// Prepares for many evaluations of `piece` near `pose`: what lies within `margin` of its box
    /// there is listed, the heaviest pairs first, so that bad positions are given up early.
    pub(super) fn focus_on(&mut self, piece: usize, pose: Pose, margin: f64) {
        let variant = self.choice(piece, pose.choice).variant;
        let [min_x, max_x, min_y, max_y] = self.frame(variant, pose.at);
        let m = margin as f32;
        let region = [min_x - m, max_x + m, min_y - m, max_y + m];
        let mut focus = std::mem::take(&mut self.focus);
        focus.piece = piece;
        focus.region = region;
        focus.members.clear();
        let near = self.boxes.met_by(region).filter(|&j| j != piece);
        focus.members.extend(near.map(|j| j as u32));
        let weights = self.conflicts.weights_of(piece);
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
        let frame = self.frame(variant, pose.at);
        let weights = self.conflicts.weights_of(piece);
        let mut sum = 0.0;
        // Adds the loss with piece `j`; whether the bound is passed.
        let mut add = |j: usize| {
            let weight = f64::from(weights[j]);
            sum += weight
                * self.measure.loss(
                    (variant, self.variant_of[j] as usize),
                    self.at[j] - pose.at,
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
    fn weighted_slope(&mut self, piece: usize, pose: Pose) -> (f64, Vector) {
        self.work += cost::EVALUATION;
        self.counts.evaluations += 1;
        let variant = self.choice(piece, pose.choice).variant;
        let frame = self.frame(variant, pose.at);
        let weights = self.conflicts.weights_of(piece);
        let (mut sum, mut away) = (0.0, Vector::default());
        for j in self.boxes.met_by(frame) {
            if j == piece {
                continue;
            }
            let (loss, way) = self.measure.slope(
                (self.variant_of[j] as usize, variant),
                pose.at - self.at[j],
                &mut self.recent,
                &mut self.work,
            );
            let weight = f64::from(weights[j]);
            sum += weight * loss;
            away = away + way * weight;
        }
        (sum, away)
    }

    /// Box of `variant` at `at`, rounded outward.
    fn frame(&self, variant: usize, at: Point) -> [f32; 4] {
        let b = &self.scene.variants[variant].grown;
        [
            down(b.min.x + at.x),
            up(b.max.x + at.x),
            down(b.min.y + at.y),
            up(b.max.y + at.y),
        ]
    }
}

/// Share of the size of a piece within which samples near it lie.
const NEAR: f64 = 0.2;
/// How often a piece that finds no better place tries to exchange its place for another's, at most,
/// and times the number of pieces: among many, a random partner is seldom the right one.
const EXCHANGE_MOST: f64 = 0.3;
const EXCHANGE_TIMES_PIECES: f64 = 6.0;

impl Tangle<f32> for Strip<'_> {
    const N_FAR: usize = 20;
    const STAY: f64 = 16.0;

    fn scene(&self) -> &Scene {
        self.scene
    }

    fn conflicts(&self) -> &Conflicts<f32> {
        &self.conflicts
    }

    fn conflicts_mut(&mut self) -> &mut Conflicts<f32> {
        &mut self.conflicts
    }

    fn work(&self) -> u64 {
        self.work
    }

    fn is_valid(&self) -> bool {
        self.conflicts.is_empty()
    }

    fn begin_round(&mut self, random: &mut Random) {
        self.counts.rounds += 1;
        self.find_holes(random);
    }

    fn pose(&self, piece: usize) -> Pose {
        self.poses[piece]
    }

    fn save(&self, into: &mut Poses) {
        into.clone_from(&self.poses);
    }

    /// Puts all pieces where `poses` says and measures all collisions anew.
    fn restore(&mut self, poses: &[Pose]) {
        self.poses.clear();
        self.poses.extend_from_slice(poses);
        self.focus.piece = usize::MAX;
        for k in 0..self.n_pieces() {
            self.place_box(k);
        }
        self.conflicts.clear();
        for (piece, other) in self.boxes.meeting() {
            if piece < self.n_pieces() {
                self.measure_pair(piece, other);
            }
        }
    }

    fn move_to(&mut self, piece: usize, pose: Pose) {
        self.conflicts.forget(piece);
        self.poses[piece] = pose;
        self.place_box(piece);
        self.measure_row(piece);
        self.focus.piece = usize::MAX;
    }

    fn push_apart(&mut self, n_sweeps: usize) -> bool {
        shift_apart(self, n_sweeps)
    }

    fn prepare(&mut self, piece: usize, pose: Pose) {
        self.focus_on(piece, pose, 0.45 * self.scene.pieces[piece].size);
    }

    fn near(&self, piece: usize, here: Pose, random: &mut Random) -> Option<Pose> {
        let (choice, room) = self.random_turn(piece, random)?;
        let reach = NEAR * self.scene.pieces[piece].size;
        let at = random.mostly_near(here.at, reach);
        Some(Pose::straight(choice, room.nearest(at)))
    }

    fn far(&self, piece: usize, random: &mut Random) -> Option<Pose> {
        let (choice, room) = self.random_turn(piece, random)?;
        let variant = self.choice(piece, choice).variant;
        let at = match self.place_in_hole(variant, random) {
            Some(at) => room.nearest(at),
            None => random.within(&room),
        };
        Some(Pose::straight(choice, at))
    }

    fn look(&mut self, piece: usize, pose: Pose, bound: f64) -> (Pose, f64) {
        (pose, self.weighted_loss(piece, pose, bound))
    }

    fn refine(
        &mut self,
        piece: usize,
        from: (Pose, f64),
        step: f64,
        _: &mut Random,
    ) -> (Pose, f64) {
        refine::refine(self, piece, from, step)
    }

    /// It takes another piece's place, now and then.
    fn move_another_way(&mut self, piece: usize, random: &mut Random) {
        let share = EXCHANGE_MOST.min(EXCHANGE_TIMES_PIECES / self.n_pieces() as f64);
        if random.unit() < share {
            exchange(self, piece, random);
        }
    }
}

/// The next lower and higher single-precision numbers, near enough: boxes may only grow.
fn down(v: f64) -> f32 {
    (v - v.abs() * 1e-7) as f32
}

fn up(v: f64) -> f32 {
    (v + v.abs() * 1e-7) as f32
}
