//! Where along a line a piece may not lie because of another.

use super::{ConvexPart, Depths, cost};

impl Depths {
    /// Adds to `spans` the intervals of x in which `b`, at `(x, y)` from `a`, overlaps it or comes
    /// so near that single precision cannot tell.
    pub(in super::super) fn forbidden(
        &self,
        a: usize,
        b: usize,
        y: f64,
        spans: &mut Vec<(f64, f64)>,
    ) {
        self.each_span((a, b), y, spans, |p, q, pair, y| {
            if self.is_tabled {
                self.span(p, q, self.starts[pair] as usize, y)
            } else {
                // A little more than needed, and quick: the boxes of the parts.
                let r = [p.reach[0] + q.reach[1], p.reach[1] + q.reach[0]].map(f64::from);
                (-r[1], r[0])
            }
        });
    }

    /// Adds to `spans` the intervals of x in which `b`, at `(x, y)` from `a`, overlaps it by more
    /// than contact. Slower than [`Depths::forbidden`], and leaves no hair's breadth.
    pub(in super::super) fn forbidden_exactly(
        &self,
        pair: (usize, usize),
        y: f64,
        spans: &mut Vec<(f64, f64)>,
        work: &mut u64,
    ) {
        let n_pairs = self.each_span(pair, y, spans, |p, q, _, y| {
            *work += cost::DIRECT;
            self.exact_span(p, q, y)
        });
        *work += cost::BOX * n_pairs as u64;
    }

    /// Adds to `spans` those that `span` answers for each pair of parts of `a` and `b` whose boxes
    /// meet on some line, given the parts, the number of their pair and the line. Returns the number
    /// of pairs of parts.
    fn each_span(
        &self,
        (a, b): (usize, usize),
        y: f64,
        spans: &mut Vec<(f64, f64)>,
        mut span: impl FnMut(&ConvexPart, &ConvexPart, usize, f64) -> (f64, f64),
    ) -> usize {
        let is_swapped = a > b;
        let (a, b, y) = if is_swapped { (b, a, -y) } else { (a, b, y) };
        let (first, second) = (
            &self.parts[self.first_parts(a, b)],
            &self.parts[self.parts_of(b)],
        );
        let mut pair = self.first_pair(a, b);
        for p in first {
            for q in second {
                let is_near = f64::from(p.reach[2] + q.reach[3]) > y
                    && f64::from(p.reach[3] + q.reach[2]) > -y;
                if is_near {
                    let (lo, hi) = span(p, q, pair, y);
                    if lo < hi {
                        spans.push(if is_swapped { (-hi, -lo) } else { (lo, hi) });
                    }
                }
                pair += 1;
            }
        }
        first.len() * second.len()
    }

    /// The interval of x in which q, at `(x, y)` from p, overlaps it by more than half of what
    /// counts as contact.
    fn exact_span(&self, p: &ConvexPart, q: &ConvexPart, y: f64) -> (f64, f64) {
        let mut span = EVERYWHERE;
        self.each_half_plane(p, q, |normal, reach| {
            narrow(
                &mut span,
                normal.x,
                reach - 0.5 * self.tolerance - normal.y * y,
            )
        });
        span
    }

    /// The interval of x in which q, at `(x, y)` from p, overlaps it; empty ones have lo ≥ hi.
    fn span(&self, p: &ConvexPart, q: &ConvexPart, start: usize, y: f64) -> (f64, f64) {
        let mut span = EVERYWHERE;
        let mut offsets = self.offsets[start..].iter();
        for (part, sign) in [(p, 1.0), (q, -1.0)] {
            for (n, offsets) in self.normals_of(part).iter().zip(&mut offsets) {
                for (k, offset) in offsets.iter().enumerate() {
                    let (nx, ny) = (sign * f64::from(n.x[k]), sign * f64::from(n.y[k]));
                    if !narrow(&mut span, nx, f64::from(offset + self.doubt) - ny * y) {
                        return span;
                    }
                }
            }
        }
        span
    }
}

const EVERYWHERE: (f64, f64) = (f64::NEG_INFINITY, f64::INFINITY);

/// Narrows `span` to where nx·x < rest; `false` if that is nowhere.
fn narrow(span: &mut (f64, f64), nx: f64, rest: f64) -> bool {
    if nx > 0.0 {
        span.1 = span.1.min(rest / nx);
    } else if nx < 0.0 {
        span.0 = span.0.max(rest / nx);
    } else if rest <= 0.0 {
        *span = (0.0, 0.0);
        return false;
    }
    true
}
#[cfg(test)]
mod tests {
    use super::super::tests::square;
    use super::*;
    use crate::nest::shape::Detail;

    #[test]
    fn forbidden_spans_are_where_there_is_loss() {
        let measure = Depths::new(&[square(2.0), square(4.0)], Detail::Coarse, 1e-9);
        let mut spans = Vec::new();
        measure.forbidden(1, 0, 2.0, &mut spans);
        assert_eq!(spans.len(), 1);
        assert!((spans[0].0 + 3.0).abs() < 1e-4 && (spans[0].1 - 3.0).abs() < 1e-4);
    }
}
