//! Moving all pieces at once: every pair that overlaps is pushed apart along its shallowest way,
//! sweep after sweep, until nothing overlaps or patience ends.
//!
//! Where one piece after another needs many rounds to pass a little slack along a chain of
//! neighbours, this takes a few sweeps. It never lets one piece cross another, so it finishes and
//! squeezes layouts but does not rearrange them. In the spirit of the simultaneous separation of
//! Imamichi, Yagiura and Nagamochi (2009), with a Gauss–Seidel iteration in place of their
//! quasi-Newton descent.

use super::separate::Tangle;
use super::strip::{Pose, Strip};
use crate::geometry::{Bounds, Vector, near_pairs};

/// Pairs whose boxes are this share of the unit apart are still looked at. Larger: slower sweeps;
/// smaller: pieces pushed a long way meet pieces that are not looked at.
const REACH: f64 = 0.15;
/// Pushes are this much longer than the depth asks: pieces come clear of each other in finitely
/// many sweeps.
const EXTRA: f64 = 1.2;
/// Added to each push, as a share of the unit, for the same reason.
const CLEAR: f64 = 1e-7;
/// Every so many sweeps the overlap must have fallen to a share, or the attempt is given up.
const CHECK_EVERY: usize = 10;

/// How far two pieces that overlap by `depth` are pushed apart.
pub(super) fn push_length(depth: f64, unit: f64) -> f64 {
    depth * EXTRA + CLEAR * unit
}

/// Pieces that can be pushed, and obstacles that cannot; `M` is what is remembered of two
/// neighbours from one sweep to the next.
pub(super) trait Pushed<M> {
    /// To this share the overlap must fall within some sweeps.
    const PROMISING: f64;

    /// Root of the mean area of the pieces, mm.
    fn unit(&self) -> f64;
    /// Boxes of the pieces and, after them, of the obstacles.
    fn boxes(&self) -> Vec<Bounds>;
    /// What there is to remember of two neighbours that never met; `None` if neither can move.
    fn meet(&self, pair: (usize, usize)) -> Option<M>;
    /// Pushes a pair apart in sweep number `sweep`; how much it overlapped.
    fn push(&mut self, pair: (usize, usize), memory: &mut M, sweep: usize) -> f64;
    /// Brings pieces that stick out of the strip back into it; by how much they stuck out.
    fn confine_all(&mut self) -> f64;
    /// Where the pieces lie.
    fn poses(&self) -> Vec<Pose>;
    /// How far any corner of `piece` can have moved since it lay at `from`, mm.
    fn way_from(&self, piece: usize, from: Pose) -> f64;
}

/// Pairs of pieces that are near each other, and where all were when this was made.
struct Neighbours<M> {
    pairs: Vec<((usize, usize), M)>,
    listed_at: Vec<Pose>,
}

/// Pushes overlapping pieces apart for at most `n_sweeps`; whether no neighbours overlap in the end.
///
/// The pieces are left where they came in either case.
pub(super) fn push_apart<M, P: Pushed<M>>(pieces: &mut P, n_sweeps: usize) -> bool {
    let mut near = Neighbours::of(pieces);
    let mut mark = f64::INFINITY;
    for sweep in 0..n_sweeps {
        let mut total = 0.0;
        for (pair, memory) in &mut near.pairs {
            total += pieces.push(*pair, memory, sweep);
        }
        total += pieces.confine_all();
        let is_fresh = near.is_fresh(pieces);
        if total == 0.0 && is_fresh {
            return true;
        }
        if sweep % CHECK_EVERY == CHECK_EVERY - 1 {
            if total > P::PROMISING * mark {
                return false;
            }
            mark = total;
        }
        if !is_fresh {
            near = Neighbours::of(pieces);
        }
    }
    false
}

impl<M> Neighbours<M> {
    fn of<P: Pushed<M>>(pieces: &P) -> Self {
        let pairs = near_pairs(&pieces.boxes(), REACH * pieces.unit());
        let pairs = pairs.into_iter();
        Self {
            pairs: pairs
                .filter_map(|pair| Some((pair, pieces.meet(pair)?)))
                .collect(),
            listed_at: pieces.poses(),
        }
    }

    /// Whether no piece has moved so far that its neighbours may have changed.
    fn is_fresh<P: Pushed<M>>(&self, pieces: &P) -> bool {
        let far = 0.5 * REACH * pieces.unit();
        let mut listed = self.listed_at.iter().enumerate();
        listed.all(|(k, &from)| pieces.way_from(k, from) <= far)
    }
}

/// The pieces of a strip as they are pushed; nothing else is measured meanwhile.
struct Shifted<'s, 'a> {
    strip: &'s mut Strip<'a>,
    poses: Vec<Pose>,
    /// Where each may lie; obstacles, which come after the pieces, may not move.
    rooms: Vec<Option<Bounds>>,
    /// The sweep in which each moved last.
    moved_in: Vec<usize>,
}

/// Pushes the pieces of `strip` apart without turning them; whether nothing overlaps in the end.
pub(super) fn shift_apart(strip: &mut Strip, n_sweeps: usize) -> bool {
    let mut poses = strip.poses().clone();
    let mut rooms: Vec<Option<Bounds>> = (poses.iter().enumerate())
        .map(|(k, pose)| strip.room(k, pose.choice))
        .collect();
    for &at in strip.obstacles() {
        poses.push(Pose::straight(0, at));
        rooms.push(Some(Bounds::at(at)));
    }
    let mut shifted = Shifted {
        moved_in: vec![0; poses.len()],
        strip,
        poses,
        rooms,
    };
    push_apart(&mut shifted, n_sweeps);
    let Shifted { strip, poses, .. } = shifted;
    strip.restore(&poses[..strip.n_pieces()]);
    strip.is_valid()
}

/// Remembers the sweep in which a pair was last seen clear; it still is if neither moved since.
impl Pushed<Option<usize>> for Shifted<'_, '_> {
    const PROMISING: f64 = 0.7;

    fn unit(&self) -> f64 {
        self.strip.scene.unit
    }

    fn boxes(&self) -> Vec<Bounds> {
        let boxes = (self.poses.iter().enumerate())
            .map(|(k, pose)| self.strip.variant(k).grown.shifted(pose.shift()));
        boxes.collect()
    }

    fn meet(&self, (i, j): (usize, usize)) -> Option<Option<usize>> {
        (i.min(j) < self.strip.n_pieces()).then_some(None)
    }

    fn push(&mut self, (i, j): (usize, usize), clear_in: &mut Option<usize>, sweep: usize) -> f64 {
        if clear_in.is_some_and(|seen| seen > self.moved_in[i].max(self.moved_in[j])) {
            return 0.0;
        }
        let by = self.poses[j].at - self.poses[i].at;
        let (loss, way) = self.strip.slope(i, j, by);
        if loss <= 0.0 {
            *clear_in = Some(sweep);
            return 0.0;
        }
        *clear_in = None;
        let steep = way.dot(way);
        if steep <= 0.0 {
            return loss;
        }
        // What meets an obstacle goes all the way.
        let is_free = i.max(j) < self.strip.n_pieces();
        let share = if is_free { 0.5 } else { 1.0 };
        let by: Vector = way * (share * push_length(loss, self.unit()) / steep);
        for (k, by) in [(i, -by), (j, by)] {
            self.moved_in[k] = sweep;
            let to = self.poses[k].at + by;
            self.poses[k].at = self.rooms[k].map_or(to, |room| room.nearest(to));
        }
        loss
    }

    fn confine_all(&mut self) -> f64 {
        // No push leads out of the strip.
        0.0
    }

    fn poses(&self) -> Vec<Pose> {
        self.poses.clone()
    }

    fn way_from(&self, piece: usize, from: Pose) -> f64 {
        let by = self.poses[piece].at - from.at;
        by.x.abs() + by.y.abs()
    }
}
