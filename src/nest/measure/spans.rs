//! Where along a line a piece may not lie because of another.

use super::part::BLOCK;
use super::{Measure, Part, cost};

impl Measure {
    /// Adds to `spans` the intervals of x in which `b`, at `(x, y)` from `a`, overlaps it or comes
    /// so near that single precision cannot tell.
    pub(in super::super) fn forbidden(
        &self,
        a: usize,
        b: usize,
        y: f64,
        spans: &mut Vec<(f64, f64)>,
    ) {
        let (a, b, y, sign) = if a <= b {
            (a, b, y, 1.0)
        } else {
            (b, a, -y, -1.0)
        };
        let mut pair = self.first_pair(a, b);
        for p in &self.parts[self.first_parts(a, b)] {
            for q in &self.parts[self.parts_of(b)] {
                let near = f64::from(p.reach[2] + q.reach[3]) > y
                    && f64::from(p.reach[3] + q.reach[2]) > -y;
                let at = pair;
                pair += 1;
                if !near {
                    continue;
                }
                let (lo, hi) = if self.is_tabled {
                    self.span(p, q, self.starts[at] as usize, y)
                } else {
                    // A little more than needed, and quick: the boxes of the parts.
                    let r = [p.reach[0] + q.reach[1], p.reach[1] + q.reach[0]].map(f64::from);
                    (-r[1], r[0])
                };
                if lo < hi {
                    spans.push(if sign > 0.0 { (lo, hi) } else { (-hi, -lo) });
                }
            }
        }
    }

    /// Adds to `spans` the intervals of x in which `b`, at `(x, y)` from `a`, overlaps it by more
    /// than contact. Slower than [`Measure::forbidden`], and leaves no hair's breadth.
    pub(in super::super) fn forbidden_exactly(
        &self,
        (a, b): (usize, usize),
        y: f64,
        spans: &mut Vec<(f64, f64)>,
        work: &mut u64,
    ) {
        let (a, b, y, sign) = if a <= b {
            (a, b, y, 1.0)
        } else {
            (b, a, -y, -1.0)
        };
        for p in &self.parts[self.first_parts(a, b)] {
            for q in &self.parts[self.parts_of(b)] {
                *work += cost::BOX;
                let near = f64::from(p.reach[2] + q.reach[3]) > y
                    && f64::from(p.reach[3] + q.reach[2]) > -y;
                if !near {
                    continue;
                }
                *work += cost::DIRECT;
                let (lo, hi) = self.exact_span(p, q, y);
                if lo < hi {
                    spans.push(if sign > 0.0 { (lo, hi) } else { (-hi, -lo) });
                }
            }
        }
    }

    /// The interval of x in which q, at `(x, y)` from p, overlaps it by more than half of what
    /// counts as contact.
    fn exact_span(&self, p: &Part, q: &Part, y: f64) -> (f64, f64) {
        let (mut lo, mut hi) = (f64::NEG_INFINITY, f64::INFINITY);
        self.each_half_plane(p, q, |normal, reach| {
            let rest = reach - 0.5 * self.tolerance - normal.y * y;
            if normal.x > 0.0 {
                hi = hi.min(rest / normal.x);
            } else if normal.x < 0.0 {
                lo = lo.max(rest / normal.x);
            } else if rest <= 0.0 {
                (lo, hi) = (0.0, 0.0);
                return false;
            }
            true
        });
        (lo, hi)
    }

    /// The interval of x in which q, at `(x, y)` from p, overlaps it; empty ones have lo ≥ hi.
    fn span(&self, p: &Part, q: &Part, start: usize, y: f64) -> (f64, f64) {
        let (mut lo, mut hi) = (f64::NEG_INFINITY, f64::INFINITY);
        let mut at = start;
        for (part, sign) in [(p, 1.0), (q, -1.0)] {
            for n in self.normals_of(part) {
                for k in 0..BLOCK {
                    let (nx, ny) = (sign * f64::from(n.x[k]), sign * f64::from(n.y[k]));
                    let rest = f64::from(self.offsets[at][k] + self.doubt) - ny * y;
                    if nx > 0.0 {
                        hi = hi.min(rest / nx);
                    } else if nx < 0.0 {
                        lo = lo.max(rest / nx);
                    } else if rest <= 0.0 {
                        return (0.0, 0.0);
                    }
                }
                at += 1;
            }
        }
        (lo, hi)
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::square;
    use super::*;
    use crate::nest::shape::Detail;

    #[test]
    fn forbidden_spans_are_where_there_is_loss() {
        let measure = Measure::new(&[square(2.0), square(4.0)], Detail::Coarse, 1e-9);
        let mut spans = Vec::new();
        measure.forbidden(1, 0, 2.0, &mut spans);
        assert_eq!(spans.len(), 1);
        assert!((spans[0].0 + 3.0).abs() < 1e-4 && (spans[0].1 - 3.0).abs() < 1e-4);
    }
}
