//! What lies in the strip while the first layout is made, and how far each line is known to be
//! filled.
//!
//! Pieces only come, so where a variant found no room on a line it never will: the next of its kind
//! looks on from there, and only at what reaches beyond. With many pieces that is a handful.

use super::{Lying, N_LINES, even_lines, first_free, forbidden_by, leftmost, obstacles};
use crate::nest::measure::Depths;
use crate::nest::shape::Scene;
use crate::nest::strip::Pose;

/// With more pieces than this, a piece of another shape but of like size looks on from near where
/// the last one ended, too.
const VERY_MANY: usize = 2000;
/// It looks again from the start of the strip once pieces have become smaller by this share. Larger:
/// small holes are found later; smaller: slower.
const SMALLER: f64 = 0.1;
/// It goes back so many times its own width first.
const BACK: f64 = 2.0;

/// What lies already.
pub(super) struct Front<'a> {
    scene: &'a Scene,
    measure: &'a Depths,
    /// What lies, by how far right it reaches.
    cells: Vec<Vec<Lying>>,
    /// Width of a cell: no variant is wider.
    cell: f64,
    /// Per variant and line: no x below this is free.
    filled_to: Vec<[f64; N_LINES]>,
    like: Option<LikeSizes>,
    spans: Vec<(f64, f64)>,
}

/// How far lines are filled for pieces of like size.
struct LikeSizes {
    /// Hull area at which lines were last looked at from the start of the strip, mm².
    area: f64,
    /// Left end of the free place that was found last on each line.
    filled_to: [f64; N_LINES],
}

impl<'a> Front<'a> {
    pub(super) fn new(scene: &'a Scene, measure: &'a Depths) -> Self {
        let widths = scene.variants.iter().map(|v| v.grown.width());
        let mut front = Self {
            scene,
            measure,
            cells: Vec::new(),
            cell: widths.fold(1e-3, f64::max),
            filled_to: vec![[f64::NEG_INFINITY; N_LINES]; scene.variants.len()],
            like: (scene.pieces.len() > VERY_MANY).then_some(LikeSizes {
                area: f64::INFINITY,
                filled_to: [f64::NEG_INFINITY; N_LINES],
            }),
            spans: Vec::new(),
        };
        for obstacle in obstacles(scene) {
            front.add(obstacle);
        }
        front
    }

    pub(super) fn add(&mut self, lying: Lying) {
        let end = lying.1.x + self.scene.variants[lying.0].grown.max.x;
        let cell = self.cell_at(end);
        if cell >= self.cells.len() {
            self.cells.resize_with(cell + 1, Vec::new);
        }
        self.cells[cell].push(lying);
    }

    /// The cell of what reaches to `x`.
    fn cell_at(&self, x: f64) -> usize {
        (x / self.cell).max(0.0) as usize
    }

    /// The leftmost place of `piece` on `n_lines` lines.
    pub(super) fn find(&mut self, piece: usize, n_lines: usize) -> Option<Pose> {
        let area = self.scene.pieces[piece].hull_area;
        if let Some(like) = &mut self.like
            && area < like.area * (1.0 - SMALLER)
        {
            *like = LikeSizes {
                area,
                filled_to: [f64::NEG_INFINITY; N_LINES],
            };
        }
        let mut ends = [f64::INFINITY; N_LINES];
        let scene = self.scene;
        let lines = |_: usize, room: &_| even_lines(room, n_lines);
        let found = leftmost(
            scene,
            piece,
            f64::INFINITY,
            lines,
            |variant, line, from, most| {
                let x = self.first_free(variant, line, from, most);
                let left = x + scene.variants[variant].grown.min.x;
                ends[line.0] = ends[line.0].min(left);
                x
            },
        );
        if let Some(like) = &mut self.like {
            for (filled_to, end) in like.filled_to.iter_mut().zip(ends) {
                if end < f64::INFINITY {
                    *filled_to = filled_to.max(end);
                }
            }
        }
        found
    }

    /// The least x from `from` on that is free on a line for `variant`; some larger value than
    /// `most` if it is larger.
    fn first_free(&mut self, variant: usize, (line, y): (usize, f64), from: f64, most: f64) -> f64 {
        let own = &self.scene.variants[variant].grown;
        let mut from = from.max(self.filled_to[variant][line]);
        if let Some(like) = &self.like {
            from = from.max(like.filled_to[line] - own.min.x - BACK * own.width());
        }
        if from > most {
            return from;
        }
        // Spans reach no further than the boxes, but for rounding.
        let slack = 1e-3 * self.cell;
        let (left, right) = (from + own.min.x - slack, most + own.max.x + slack);
        let last = self.cell_at(right + self.cell).saturating_add(1);
        let last = last.min(self.cells.len());
        let first = self.cell_at(left).min(last);
        self.spans.clear();
        for &(other, at) in self.cells[first..last].iter().flatten() {
            let known = &self.scene.variants[other].grown;
            if at.x + known.max.x >= left && at.x + known.min.x <= right {
                let (scene, spans) = (self.scene, &mut self.spans);
                forbidden_by(scene, variant, y, (other, at), spans, |by, spans| {
                    self.measure.forbidden(other, variant, by, spans);
                });
            }
        }
        let x = first_free(&mut self.spans, from);
        self.filled_to[variant][line] = x;
        x
    }
}
