//! The boxes of all pieces, scanned many at once, and which of them lie near a piece.

/// Boxes are scanned in groups of this many.
pub(super) const GROUP: usize = 16;

/// Boxes of the pieces, outward rounded, as a structure of arrays.
#[derive(Clone, Debug)]
pub(super) struct Boxes {
    pub min_x: Vec<f32>,
    pub max_x: Vec<f32>,
    pub min_y: Vec<f32>,
    pub max_y: Vec<f32>,
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
        let mut boxes = Self {
            min_x: Vec::new(),
            max_x: Vec::new(),
            min_y: Vec::new(),
            max_y: Vec::new(),
        };
        boxes.resize(n);
        boxes
    }

    pub(super) fn resize(&mut self, n: usize) {
        let padded = n.div_ceil(GROUP) * GROUP;
        for lows in [&mut self.min_x, &mut self.min_y] {
            lows.clear();
            lows.resize(padded, f32::INFINITY);
        }
        for highs in [&mut self.max_x, &mut self.max_y] {
            highs.clear();
            highs.resize(padded, f32::NEG_INFINITY);
        }
    }

    pub(super) fn n_groups(&self) -> usize {
        self.min_x.len() / GROUP
    }

    /// Makes box `at` the box `from` of `other`.
    pub(super) fn copy(&mut self, at: usize, other: &Self, from: usize) {
        self.min_x[at] = other.min_x[from];
        self.max_x[at] = other.max_x[from];
        self.min_y[at] = other.min_y[from];
        self.max_y[at] = other.max_y[from];
    }

    pub(super) fn meet(&self, a: usize, b: usize) -> bool {
        self.min_x[a] < self.max_x[b]
            && self.max_x[a] > self.min_x[b]
            && self.min_y[a] < self.max_y[b]
            && self.max_y[a] > self.min_y[b]
    }

    /// Bits of the boxes in `group` that meet `frame` = [min x, max x, min y, max y].
    #[inline(always)]
    pub(super) fn hits(&self, group: usize, [min_x, max_x, min_y, max_y]: [f32; 4]) -> u32 {
        let range = group * GROUP..(group + 1) * GROUP;
        let a = &self.min_x[range.clone()];
        let b = &self.max_x[range.clone()];
        let c = &self.min_y[range.clone()];
        let d = &self.max_y[range];
        let mut bits = 0;
        for k in 0..GROUP {
            let hit = (a[k] < max_x) & (b[k] > min_x) & (c[k] < max_y) & (d[k] > min_y);
            bits |= u32::from(hit) << k;
        }
        bits
    }
}
