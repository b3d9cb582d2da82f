//! Points by place, so that those near a given one are found without looking at all.

use std::collections::HashMap;

use crate::geometry::Point;

/// Points hashed by square cells. Looked up by cell and never walked through, so the order in
/// which the map keeps its cells does not show.
pub(super) struct Buckets {
    cell: f64,
    cells: HashMap<(i64, i64), Vec<usize>>,
}

impl Buckets {
    /// Room for points that will be looked up within `reach`.
    pub(super) fn new(reach: f64) -> Self {
        Self {
            // Most look-ups then touch one cell only.
            cell: 8.0 * reach,
            cells: HashMap::new(),
        }
    }

    pub(super) fn insert(&mut self, p: Point, index: usize) {
        let cell = (self.index(p.x), self.index(p.y));
        self.cells.entry(cell).or_default().push(index);
    }

    /// Indices of the points that may lie within `reach` of `p`, cell by cell in order of insertion.
    pub(super) fn near(&self, p: Point, reach: f64) -> impl Iterator<Item = usize> + '_ {
        let columns = self.index(p.x - reach)..=self.index(p.x + reach);
        let rows = self.index(p.y - reach)..=self.index(p.y + reach);
        columns
            .flat_map(move |x| rows.clone().map(move |y| (x, y)))
            .filter_map(|cell| self.cells.get(&cell))
            .flatten()
            .copied()
    }

    fn index(&self, coordinate: f64) -> i64 {
        (coordinate / self.cell).floor() as i64
    }
}
