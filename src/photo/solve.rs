//! Linear equations and the plane map through four or more points.

use crate::geometry::Point;

/// Normal equations of a least-squares problem: rows are added one by one.
pub(super) struct Normal {
    n: usize,
    /// Row by row, the lower triangle.
    matrix: Vec<f64>,
    right: Vec<f64>,
}

impl Normal {
    pub(super) fn new(n: usize) -> Self {
        Self {
            n,
            matrix: vec![0.0; n * n],
            right: vec![0.0; n],
        }
    }

    /// Adds the equation Σ value · unknown = `right`, of such weight; only a few unknowns are in it.
    pub(super) fn add(&mut self, row: &[(usize, f64)], right: f64, weight: f64) {
        for &(i, a) in row {
            self.right[i] += weight * a * right;
            for &(j, b) in row {
                if j <= i {
                    self.matrix[i * self.n + j] += weight * a * b;
                }
            }
        }
    }

    /// The variance of Σ value · unknown where equations of weight 1 have one of 1; `None` if it is not determined.
    pub(super) fn variance(&self, row: &[(usize, f64)]) -> Option<f64> {
        let mut right = vec![0.0; self.n];
        row.iter().for_each(|&(i, value)| right[i] = value);
        let asked = Self {
            n: self.n,
            matrix: self.matrix.clone(),
            right,
        };
        let x = asked.solved(0.0)?;
        Some(row.iter().map(|&(i, value)| value * x[i]).sum())
    }

    /// The unknowns, with the diagonal raised by the factor 1 + `damping`; `None` if they are not determined.
    pub(super) fn solved(&self, damping: f64) -> Option<Vec<f64>> {
        let n = self.n;
        let mut l = self.matrix.clone();
        for i in 0..n {
            l[i * n + i] *= 1.0 + damping;
            l[i * n + i] += 1e-12;
        }
        for i in 0..n {
            for j in 0..=i {
                let (above, own) = l.split_at(i * n);
                let row_j = if j < i {
                    &above[j * n..j * n + j]
                } else {
                    &own[..j]
                };
                let sum: f64 = own[..j].iter().zip(row_j).map(|(a, b)| a * b).sum();
                let rest = own[j] - sum;
                l[i * n + j] = if j < i {
                    rest / l[j * n + j]
                } else if rest > 0.0 {
                    rest.sqrt()
                } else {
                    return None;
                };
            }
        }
        let mut x = self.right.clone();
        for i in 0..n {
            let sum: f64 = (0..i).map(|j| l[i * n + j] * x[j]).sum();
            x[i] = (x[i] - sum) / l[i * n + i];
        }
        for i in (0..n).rev() {
            let sum: f64 = (i + 1..n).map(|j| l[j * n + i] * x[j]).sum();
            x[i] = (x[i] - sum) / l[i * n + i];
        }
        x.iter().all(|v| v.is_finite()).then_some(x)
    }
}

/// The plane map (row by row) that takes the first point of every pair to the second, as nearly as it can
/// (direct linear transformation, points moved and scaled to about one).
pub(super) fn homography(pairs: &[(Point, Point)]) -> Option<[f64; 9]> {
    let norm = |points: &mut dyn Iterator<Item = Point>| {
        let all: Vec<Point> = points.collect();
        let n = all.len() as f64;
        let (x, y) = (
            all.iter().map(|p| p.x).sum::<f64>() / n,
            all.iter().map(|p| p.y).sum::<f64>() / n,
        );
        let far = all
            .iter()
            .map(|p| p.distance(Point::new(x, y)))
            .sum::<f64>()
            / n;
        (x, y, 1.0 / far.max(1e-12))
    };
    if pairs.len() < 4 {
        return None;
    }
    let (ax, ay, a) = norm(&mut pairs.iter().map(|p| p.0));
    let (bx, by, b) = norm(&mut pairs.iter().map(|p| p.1));
    let mut normal = Normal::new(8);
    for (from, to) in pairs {
        let (x, y) = ((from.x - ax) * a, (from.y - ay) * a);
        let (u, v) = ((to.x - bx) * b, (to.y - by) * b);
        let row = [(0, x), (1, y), (2, 1.0), (6, -u * x), (7, -u * y)];
        normal.add(&row, u, 1.0);
        let row = [(3, x), (4, y), (5, 1.0), (6, -v * x), (7, -v * y)];
        normal.add(&row, v, 1.0);
    }
    let h = normal.solved(0.0)?;
    let m = [[h[0], h[1], h[2]], [h[3], h[4], h[5]], [h[6], h[7], 1.0]];
    // Back: to = T⁻¹ · m · S.
    let s = [[a, 0.0, -a * ax], [0.0, a, -a * ay], [0.0, 0.0, 1.0]];
    let t = [[1.0 / b, 0.0, bx], [0.0, 1.0 / b, by], [0.0, 0.0, 1.0]];
    let product = |p: [[f64; 3]; 3], q: [[f64; 3]; 3]| {
        [0, 1, 2].map(|i| [0, 1, 2].map(|j| (0..3).map(|k| p[i][k] * q[k][j]).sum::<f64>()))
    };
    let all = product(product(t, m), s);
    let mut flat = [0.0; 9];
    for (place, value) in flat.iter_mut().zip(all.iter().flatten()) {
        *place = *value;
    }
    flat.iter().all(|v| v.is_finite()).then_some(flat)
}

/// Where a plane map takes `p`.
pub(super) fn mapped(h: &[f64; 9], p: Point) -> Point {
    let w = h[6] * p.x + h[7] * p.y + h[8];
    Point::new(
        (h[0] * p.x + h[1] * p.y + h[2]) / w,
        (h[3] * p.x + h[4] * p.y + h[5]) / w,
    )
}
