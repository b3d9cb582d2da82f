//! The boxes of all pieces, scanned many at once, and which of them lie near a piece.

use wide::{CmpGt, CmpLt, f32x4};

/// Boxes are scanned in groups of this many.
const GROUP: usize = 16;
/// Of which this many at once.
const LANES: usize = 4;

/// Boxes of the pieces, outward rounded, in groups.
#[derive(Clone, Debug)]
pub(super) struct Boxes {
    groups: Vec<BoxGroup>,
}

/// The boxes of a group as a structure of arrays: [min x, max x, min y, max y] of each.
#[derive(Clone, Debug)]
struct BoxGroup([[f32; GROUP]; 4]);

impl BoxGroup {
    /// Boxes that meet nothing.
    const NOTHING: Self = {
        let (low, high) = ([f32::INFINITY; GROUP], [f32::NEG_INFINITY; GROUP]);
        Self([low, high, low, high])
    };
}

/// What lies near the piece that is being moved.
#[derive(Clone, Debug)]
pub(super) struct Focus {
    pub piece: usize,
    /// Frames within this region meet no box but those of `members`.
    pub region: [f32; 4],
    pub members: Vec<u32>,
    pub boxes: Boxes,
}

impl Default for Focus {
    fn default() -> Self {
        Self {
            piece: usize::MAX,
            region: [0.0; 4],
            members: Vec::new(),
            boxes: Boxes::empty(0),
        }
    }
}

impl Focus {
    pub(super) fn covers(&self, piece: usize, [min_x, max_x, min_y, max_y]: [f32; 4]) -> bool {
        self.piece == piece
            && self.region[0] <= min_x
            && max_x <= self.region[1]
            && self.region[2] <= min_y
            && max_y <= self.region[3]
    }
}

impl Boxes {
    /// `n` boxes that meet nothing.
    pub(super) fn empty(n: usize) -> Self {
        Self {
            groups: vec![BoxGroup::NOTHING; n.div_ceil(GROUP)],
        }
    }

    /// Makes it `n` boxes that meet nothing.
    pub(super) fn clear(&mut self, n: usize) {
        self.groups.clear();
        self.groups.resize(n.div_ceil(GROUP), BoxGroup::NOTHING);
    }

    pub(super) fn n_groups(&self) -> usize {
        self.groups.len()
    }

    /// [min x, max x, min y, max y] of a box.
    pub(super) fn get(&self, at: usize) -> [f32; 4] {
        let group = &self.groups[at / GROUP].0;
        std::array::from_fn(|bound| group[bound][at % GROUP])
    }

    pub(super) fn set(&mut self, at: usize, frame: [f32; 4]) {
        let group = &mut self.groups[at / GROUP].0;
        for (bounds, bound) in group.iter_mut().zip(frame) {
            bounds[at % GROUP] = bound;
        }
    }

    /// All pairs of boxes that meet, the first index the lower one, in order.
    pub(super) fn meeting(&self) -> Vec<(usize, usize)> {
        let frames: Vec<[f32; 4]> = (0..self.groups.len() * GROUP)
            .map(|k| self.get(k))
            .collect();
        let mut from_left: Vec<usize> = (0..frames.len()).collect();
        from_left.retain(|&k| frames[k][0] < f32::INFINITY);
        from_left.sort_unstable_by(|&a, &b| frames[a][0].total_cmp(&frames[b][0]));
        let mut pairs = Vec::new();
        for (n, &a) in from_left.iter().enumerate() {
            let [_, max_x, min_y, max_y] = frames[a];
            let reached = from_left[n + 1..].iter();
            for &b in reached.take_while(|&&b| frames[b][0] < max_x) {
                if frames[b][2] < max_y && frames[b][3] > min_y {
                    pairs.push((a.min(b), a.max(b)));
                }
            }
        }
        pairs.sort_unstable();
        pairs
    }

    /// Which boxes meet `frame` = [min x, max x, min y, max y], in their order.
    #[inline]
    pub(super) fn met_by(&self, frame: [f32; 4]) -> Met<'_> {
        Met {
            groups: self.groups.iter(),
            frame: frame.map(f32x4::splat),
            n_seen: 0,
            hits: 0,
        }
    }
}

/// The boxes that meet a frame.
pub(super) struct Met<'a> {
    groups: std::slice::Iter<'a, BoxGroup>,
    frame: [f32x4; 4],
    /// Number of boxes in the groups before the next one.
    n_seen: usize,
    /// Bits of the boxes still to tell of the last group.
    hits: u32,
}

impl Iterator for Met<'_> {
    type Item = usize;

    #[inline]
    fn next(&mut self) -> Option<usize> {
        while self.hits == 0 {
            self.hits = self.groups.next()?.hits(self.frame);
            self.n_seen += GROUP;
        }
        let k = self.n_seen - GROUP + self.hits.trailing_zeros() as usize;
        self.hits &= self.hits - 1;
        Some(k)
    }
}

impl BoxGroup {
    /// Bits of the boxes that meet a frame.
    #[inline]
    fn hits(&self, [min_x, max_x, min_y, max_y]: [f32x4; 4]) -> u32 {
        let mut bits = 0;
        for k in 0..GROUP / LANES {
            let four = |bound: usize| f32x4::from(self.0[bound].as_chunks::<LANES>().0[k]);
            let hit = four(0).cmp_lt(max_x)
                & four(1).cmp_gt(min_x)
                & four(2).cmp_lt(max_y)
                & four(3).cmp_gt(min_y);
            bits |= (hit.move_mask() as u32) << (k * LANES);
        }
        bits
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn pairs_that_meet_are_those_that_each_box_meets() {
        let n = 50;
        let mut boxes = Boxes::empty(n);
        for k in 0..n {
            let (x, y) = ((k * 37 % 50) as f32, (k * 11 % 7) as f32);
            boxes.set(k, [x, x + 5.0 + (k % 9) as f32, y, y + 2.0]);
        }
        let mut expected = Vec::new();
        for k in 0..n {
            let met = boxes.met_by(boxes.get(k)).filter(|&j| j > k);
            expected.extend(met.map(|j| (k, j)));
        }
        assert!(expected.len() > n);
        assert_eq!(boxes.meeting(), expected);
    }

    #[test]
    fn each_box_is_met_where_it_lies() {
        for n in [1, 7, 16, 40] {
            let mut boxes = Boxes::empty(n);
            for k in 0..n {
                let x = 2.0 * k as f32;
                boxes.set(k, [x, x + 1.0, 0.0, 1.0]);
            }
            let met = |frame| boxes.met_by(frame).collect::<Vec<_>>();
            for k in 0..n {
                let x = 2.0 * k as f32 + 0.5;
                assert_eq!(met([x, x + 1.0, 0.5, 0.6]), [k]);
                assert!(met([x, x + 1.0, 1.0, 2.0]).is_empty());
            }
            assert_eq!(met([0.5, 1000.0, 0.5, 2.0]), (0..n).collect::<Vec<_>>());
        }
    }
}
