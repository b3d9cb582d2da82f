//! A traced edge divided into straight lines and arcs, by what its noise allows.
//!
//! Of all divisions that one is taken of which squares of offs and a price for every line and arc are least in sum. Divisions are
//! compared from the first point on, and beginnings that can no longer be best are dropped (Killick, Fearnhead and Eckley 2012). The
//! price is that of the Bayesian criterion (Schwarz 1978) for points of which neighbours share their noise.

use super::ring::EdgePoint;
use crate::geometry::Point;

/// A stretch of the points: the first of them, and the one behind the last.
#[derive(Clone, Copy, Debug)]
pub(super) struct PieceOfEdge {
    pub(super) from: usize,
    pub(super) to: usize,
}

/// Divides an open line of points; a line and an arc cost so much (mm²).
pub(super) fn divided(points: &[EdgePoint], [line, arc]: [f64; 2]) -> Vec<PieceOfEdge> {
    let n = points.len();
    let mut least = vec![0.0; n + 1];
    let mut before = vec![0; n + 1];
    let mut begun: Vec<(usize, Moments)> = Vec::new();
    for end in 1..=n {
        begun.push((end - 1, Moments::about(points[end - 1].at)));
        least[end] = f64::INFINITY;
        let mut left = Vec::with_capacity(begun.len());
        for (start, moments) in &mut begun {
            moments.add(points[end - 1]);
            let [straight, round] = moments.offs();
            let cost = least[*start] + (straight + line).min(round + arc);
            if cost < least[end] {
                (least[end], before[end]) = (cost, *start);
            }
            left.push(least[*start] + round);
        }
        let mut left = left.into_iter();
        begun.retain(|_| left.next().is_some_and(|cost| cost <= least[end]));
    }
    let mut pieces = Vec::new();
    let mut to = n;
    while to > 0 {
        let from = before[to];
        pieces.push(PieceOfEdge { from, to });
        to = from;
    }
    pieces.reverse();
    pieces
}

/// Sums over points, about one of them.
struct Moments {
    about: Point,
    /// How many points, and their weights in sum.
    count: usize,
    n: f64,
    /// Of x, y, x², xy, y², w = x² + y², xw, yw, w².
    sums: [f64; 9],
}

impl Moments {
    const fn about(about: Point) -> Self {
        Self {
            about,
            count: 0,
            n: 0.0,
            sums: [0.0; 9],
        }
    }

    fn add(&mut self, p: EdgePoint) {
        let v = p.at - self.about;
        let (x, y) = (v.x, v.y);
        let w = x * x + y * y;
        let row = [x, y, x * x, x * y, y * y, w, x * w, y * w, w * w];
        self.count += 1;
        self.n += p.weight;
        for (sum, value) in self.sums.iter_mut().zip(row) {
            *sum += p.weight * value;
        }
    }

    /// The squares of the distances to the nearest straight line, and to the nearest circle (Taubin 1991: the least root of
    /// his equation is the mean of them), in sum.
    fn offs(&self) -> [f64; 2] {
        let [x, y, xx, xy, yy, w, xw, yw, ww] = self.sums.map(|sum| sum / self.n);
        let (mxx, mxy, myy) = (xx - x * x, xy - x * y, yy - y * y);
        let mz = mxx + myy;
        let straight = 0.5 * (mz - libm::hypot(mxx - myy, 2.0 * mxy)).max(0.0);
        if self.count < 4 {
            return [straight * self.n, 0.0];
        }
        // z is w about the middle.
        let (cxw, cyw, vw) = (xw - x * w, yw - y * w, ww - w * w);
        let mxz = cxw - 2.0 * (x * mxx + y * mxy);
        let myz = cyw - 2.0 * (x * mxy + y * myy);
        let mzz = vw
            + 4.0 * (x * x * mxx + y * y * myy + 2.0 * x * y * mxy - x * cxw - y * cyw)
            + mz * mz;
        let cov = mxx * myy - mxy * mxy;
        let a3 = 4.0 * mz;
        let a2 = -3.0 * mz * mz - mzz;
        let a1 = mzz * mz + 4.0 * cov * mz - mxz * mxz - myz * myz - mz * mz * mz;
        let a0 =
            mxz * mxz * myy + myz * myz * mxx - mzz * cov - 2.0 * mxz * myz * mxy + mz * mz * cov;
        let mut root = 0.0;
        for _ in 0..6 {
            let value = a0 + root * (a1 + root * (a2 + root * a3));
            let slope = a1 + root * (2.0 * a2 + root * 3.0 * a3);
            if slope.abs() < 1e-300 {
                break;
            }
            let step = value / slope;
            root -= step;
            if step.abs() < 1e-9 * root.abs() + 1e-12 {
                break;
            }
        }
        let round = if root.is_finite() {
            root.clamp(0.0, straight)
        } else {
            straight
        };
        [straight * self.n, round * self.n]
    }
}
