//! Points by place, so that those near a given one are found without looking at all.
//!
//! A tree of boxes ([`super::BoxTree`]) is made of all that there is; here points come one after
//! another, and millions of them.

use super::Point;

/// No entry.
const NONE: u32 = u32::MAX;

/// Points hashed by square cells, in flat lists: twelve bytes for a point and its share of the
/// table, and no allocation on the way.
pub(crate) struct Buckets {
    cell: f64,
    /// The newest entry of each slot; a power of two of them.
    newest: Vec<u32>,
    entries: Vec<PlacedPoint>,
}

struct PlacedPoint {
    /// The caller's index.
    index: u32,
    /// The entry before it in its slot.
    before: u32,
    /// Tells cells apart that share a slot.
    cell: u32,
}

impl Buckets {
    /// Room for about `n` points that will be looked up within `reach`.
    pub(crate) fn new(reach: f64, n: usize) -> Self {
        Self {
            // Most look-ups then touch one cell only.
            cell: 8.0 * reach,
            newest: vec![NONE; n.next_power_of_two().max(16)],
            entries: Vec::with_capacity(n),
        }
    }

    pub(crate) fn insert(&mut self, p: Point, index: usize) {
        let hash = hash(self.index(p.x), self.index(p.y));
        let slot = self.slot(hash);
        let entry = PlacedPoint {
            index: narrow(index),
            before: self.newest[slot],
            cell: hash as u32,
        };
        self.newest[slot] = narrow(self.entries.len());
        self.entries.push(entry);
    }

    /// Indices of the points that may lie within `reach` of `p`, cell by cell, the newest first.
    pub(crate) fn near(&self, p: Point, reach: f64) -> impl Iterator<Item = usize> + '_ {
        let columns = self.index(p.x - reach)..=self.index(p.x + reach);
        let rows = self.index(p.y - reach)..=self.index(p.y + reach);
        columns
            .flat_map(move |x| rows.clone().map(move |y| hash(x, y)))
            .flat_map(move |hash| {
                let follow = move |e: u32| self.entries.get(e as usize);
                let first = follow(self.newest[self.slot(hash)]);
                std::iter::successors(first, move |e| follow(e.before))
                    .filter(move |e| e.cell == hash as u32)
            })
            .map(|entry| entry.index as usize)
    }

    fn index(&self, coordinate: f64) -> i64 {
        // Half a cell off, so that round coordinates lie in the middle of a cell.
        (coordinate / self.cell + 0.5).floor() as i64
    }

    fn slot(&self, hash: u64) -> usize {
        // The upper half picks the slot, the lower tells cells apart.
        (hash >> 32) as usize & (self.newest.len() - 1)
    }
}

/// A number that scatters cells evenly: two rounds of multiplication and folding.
fn hash(x: i64, y: i64) -> u64 {
    let mix = |v: u64| {
        let v = (v ^ v >> 32).wrapping_mul(0x9e37_79b9_7f4a_7c15);
        v ^ v >> 29
    };
    mix(mix(x as u64).wrapping_add(y as u64))
}

/// Positions fit: no file flattens to as many points.
fn narrow(index: usize) -> u32 {
    u32::try_from(index).expect("a drawing holds fewer than four thousand million points")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn points_within_reach_are_among_the_near_ones_and_far_ones_hardly_ever() {
        let reach = 0.1;
        let points: Vec<Point> = (0..2000)
            .map(|i| Point::new(f64::from(i % 50) * 0.3 - 7.0, f64::from(i / 50) * 0.3 - 6.0))
            .collect();
        let mut buckets = Buckets::new(reach, 10);
        for (i, &p) in points.iter().enumerate() {
            buckets.insert(p, i);
        }
        let mut looked_at = 0;
        for (i, &p) in points.iter().enumerate() {
            let off = Point::new(p.x + 0.09, p.y - 0.03);
            let near: Vec<usize> = buckets.near(off, reach).collect();
            assert!(near.contains(&i));
            looked_at += near.len();
        }
        // A cell of 0.8 mm holds some seven of them.
        assert!(looked_at < 2000 * 20, "{looked_at}");
    }
}
