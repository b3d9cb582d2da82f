//! Points by place, so that those near a given one are found without looking at all.

use std::collections::HashMap;

use crate::geometry::Point;

/// Points hashed by square cells. Looked up by cell and never walked through, so the order in
/// which the map keeps its cells does not show.
pub(super) struct Buckets {
    cell: f64,
    /// The newest point of each cell, as a position in `entries`.
    newest: HashMap<(i64, i64), usize>,
    /// The caller's index of each point, and the position of the point before it in its cell.
    entries: Vec<(usize, Option<usize>)>,
}

impl Buckets {
    /// Room for about `n` points that will be looked up within `reach`.
    pub(super) fn new(reach: f64, n: usize) -> Self {
        Self {
            // Most look-ups then touch one cell only.
            cell: 8.0 * reach,
            newest: HashMap::with_capacity(n),
            entries: Vec::with_capacity(n),
        }
    }

    pub(super) fn insert(&mut self, p: Point, index: usize) {
        let cell = (self.index(p.x), self.index(p.y));
        let before = self.newest.insert(cell, self.entries.len());
        self.entries.push((index, before));
    }

    /// Indices of the points that may lie within `reach` of `p`, cell by cell, the newest first.
    pub(super) fn near(&self, p: Point, reach: f64) -> impl Iterator<Item = usize> + '_ {
        let columns = self.index(p.x - reach)..=self.index(p.x + reach);
        let rows = self.index(p.y - reach)..=self.index(p.y + reach);
        columns
            .flat_map(move |x| rows.clone().map(move |y| (x, y)))
            .filter_map(|cell| self.newest.get(&cell).copied())
            .flat_map(|newest| std::iter::successors(Some(newest), |&e| self.entries[e].1))
            .map(|entry| self.entries[entry].0)
    }

    fn index(&self, coordinate: f64) -> i64 {
        // Half a cell off, so that round coordinates lie in the middle of a cell.
        (coordinate / self.cell + 0.5).floor() as i64
    }
}
