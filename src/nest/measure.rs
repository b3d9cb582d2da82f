//! How badly two pieces collide: the sum, over their convex parts, of the depth of penetration.
//!
//! For convex parts A and B the displacements at which they overlap form the convex polygon
//! A ⊕ (−B) (the Minkowski difference; its boundary is the no-fit polygon). Held as half-planes
//! n·d < c, the depth is the least c − n·d. It is zero exactly when the parts do not overlap, costs
//! a few multiplications, and has a slope everywhere else, so it both decides and guides. Summing
//! over parts was found better than the true depth of the concave shapes: it tells how much there
//! is to undo.

use super::shape::Variant;
use crate::geometry::{Point, Vector};

/// Half-planes are tested in blocks of this many.
const BLOCK: usize = 4;

/// Half-planes n·d < c, a structure of arrays; unused lanes have c = +∞.
#[derive(Clone, Copy, Debug)]
struct Planes {
    nx: [f64; BLOCK],
    ny: [f64; BLOCK],
    c: [f64; BLOCK],
}

/// The displacements at which one pair of convex parts overlaps.
#[derive(Clone, Copy, Debug)]
struct PartPair {
    min_x: f64,
    max_x: f64,
    min_y: f64,
    max_y: f64,
    /// Blocks of half-planes: first and end index.
    blocks: (u32, u32),
}

/// Depths of all pairs of variants.
#[derive(Clone, Debug)]
pub(super) struct Measure {
    n_variants: usize,
    /// Range in `parts` of the variant pair a·n + b, kept for a ≤ b.
    pairs: Vec<(u32, u32)>,
    parts: Vec<PartPair>,
    planes: Vec<Planes>,
    /// Depths up to this (mm) are contact. Larger: slight overlaps pass; smaller: contact is
    /// harder to reach.
    tolerance: f64,
}

impl Measure {
    /// Tables for all pairs of `variants`.
    pub(super) fn new(variants: &[Variant], tolerance: f64) -> Self {
        let n = variants.len();
        let mut measure = Self {
            n_variants: n,
            pairs: vec![(0, 0); n * n],
            parts: Vec::new(),
            planes: Vec::new(),
            tolerance,
        };
        for a in 0..n {
            for b in a..n {
                let first = measure.parts.len() as u32;
                for p in &variants[a].parts {
                    for q in &variants[b].parts {
                        measure.add(p, q);
                    }
                }
                measure.pairs[a * n + b] = (first, measure.parts.len() as u32);
            }
        }
        measure
    }

    fn add(&mut self, a: &[Point], b: &[Point]) {
        let planes = difference(a, b);
        let first = self.planes.len() as u32;
        for chunk in spread(planes).chunks(BLOCK) {
            let mut block = Planes {
                nx: [0.0; BLOCK],
                ny: [0.0; BLOCK],
                c: [f64::INFINITY; BLOCK],
            };
            for (k, plane) in chunk.iter().enumerate() {
                block.nx[k] = plane.normal.x;
                block.ny[k] = plane.normal.y;
                block.c[k] = plane.offset;
            }
            self.planes.push(block);
        }
        let reach = |of: fn(&Point) -> f64, points: &[Point]| {
            points
                .iter()
                .map(of)
                .fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| {
                    (lo.min(v), hi.max(v))
                })
        };
        let (ax, bx) = (reach(|p| p.x, a), reach(|p| p.x, b));
        let (ay, by) = (reach(|p| p.y, a), reach(|p| p.y, b));
        self.parts.push(PartPair {
            min_x: ax.0 - bx.1 + self.tolerance,
            max_x: ax.1 - bx.0 - self.tolerance,
            min_y: ay.0 - by.1 + self.tolerance,
            max_y: ay.1 - by.0 - self.tolerance,
            blocks: (first, self.planes.len() as u32),
        });
    }

    /// Part pairs of variant `b` displaced from variant `a`, and the sign that turns the
    /// displacement into the table's.
    #[inline]
    fn entry(&self, a: usize, b: usize) -> (&[PartPair], f64) {
        let (key, sign) = if a <= b {
            (a * self.n_variants + b, 1.0)
        } else {
            (b * self.n_variants + a, -1.0)
        };
        let (first, end) = self.pairs[key];
        (&self.parts[first as usize..end as usize], sign)
    }

    /// Sum of depths (mm) of variant `b` lying at `(dx, dy)` from variant `a`; zero if they do not
    /// overlap. Once the sum passes `bound`, some value above `bound` is returned early.
    #[inline]
    pub(super) fn loss(&self, a: usize, b: usize, dx: f64, dy: f64, bound: f64) -> f64 {
        let (parts, sign) = self.entry(a, b);
        let (dx, dy) = (dx * sign, dy * sign);
        let mut sum = 0.0;
        for part in parts {
            if dx <= part.min_x || dx >= part.max_x || dy <= part.min_y || dy >= part.max_y {
                continue;
            }
            sum += self.depth(part, dx, dy);
            if sum > bound {
                break;
            }
        }
        sum
    }

    #[inline]
    fn depth(&self, part: &PartPair, dx: f64, dy: f64) -> f64 {
        let mut least = [f64::INFINITY; BLOCK];
        for block in &self.planes[part.blocks.0 as usize..part.blocks.1 as usize] {
            for (k, least) in least.iter_mut().enumerate() {
                let depth = block.c[k] - block.nx[k] * dx - block.ny[k] * dy;
                *least = if depth < *least { depth } else { *least };
            }
            let low = (least[0].min(least[1])).min(least[2].min(least[3]));
            if low <= self.tolerance {
                return 0.0;
            }
        }
        (least[0].min(least[1])).min(least[2].min(least[3]))
    }

    /// The loss as [`Measure::loss`] gives it, and its slope: moving `b` by the returned vector's
    /// direction reduces the loss.
    pub(super) fn slope(&self, a: usize, b: usize, dx: f64, dy: f64) -> (f64, Vector) {
        let (parts, sign) = self.entry(a, b);
        let (dx, dy) = (dx * sign, dy * sign);
        let (mut sum, mut out) = (0.0, Vector::default());
        for part in parts {
            if dx <= part.min_x || dx >= part.max_x || dy <= part.min_y || dy >= part.max_y {
                continue;
            }
            let (mut least, mut normal) = (f64::INFINITY, Vector::default());
            for block in &self.planes[part.blocks.0 as usize..part.blocks.1 as usize] {
                for k in 0..BLOCK {
                    let depth = block.c[k] - block.nx[k] * dx - block.ny[k] * dy;
                    if depth < least {
                        (least, normal) = (depth, Vector::new(block.nx[k], block.ny[k]));
                    }
                }
            }
            if least > self.tolerance {
                sum += least;
                out = out + normal;
            }
        }
        (sum, out * sign)
    }

    /// Adds to `spans` the intervals of x in which `b`, at `(x, y)` from `a`, overlaps it.
    pub(super) fn forbidden(&self, a: usize, b: usize, y: f64, spans: &mut Vec<(f64, f64)>) {
        let (parts, sign) = self.entry(a, b);
        let y = y * sign;
        for part in parts {
            if y <= part.min_y || y >= part.max_y {
                continue;
            }
            let (mut lo, mut hi) = (part.min_x, part.max_x);
            for block in &self.planes[part.blocks.0 as usize..part.blocks.1 as usize] {
                for k in 0..BLOCK {
                    let (nx, rest) = (block.nx[k], block.c[k] - self.tolerance - block.ny[k] * y);
                    if nx > 0.0 {
                        hi = hi.min(rest / nx);
                    } else if nx < 0.0 {
                        lo = lo.max(rest / nx);
                    } else if rest <= 0.0 {
                        hi = f64::NEG_INFINITY;
                    }
                }
            }
            if lo < hi {
                spans.push(if sign > 0.0 { (lo, hi) } else { (-hi, -lo) });
            }
        }
    }
}

#[derive(Clone, Copy, Debug)]
struct Plane {
    normal: Vector,
    offset: f64,
}

/// The half-planes of a ⊕ (−b), by direction.
fn difference(a: &[Point], b: &[Point]) -> Vec<Plane> {
    let reach = |points: &[Point], n: Vector| {
        points
            .iter()
            .map(|p| n.dot(*p - Point::default()))
            .fold(f64::NEG_INFINITY, f64::max)
    };
    let edges = |points: &[Point]| -> Vec<Vector> {
        (0..points.len())
            .filter_map(|k| {
                let e = points[(k + 1) % points.len()] - points[k];
                let length = e.length();
                (length > 0.0).then(|| Vector::new(e.y / length, -e.x / length))
            })
            .collect()
    };
    let mut planes: Vec<Plane> = edges(a)
        .into_iter()
        .chain(edges(b).into_iter().map(|n| -n))
        .map(|normal| Plane {
            normal,
            offset: reach(a, normal) + reach(b, -normal),
        })
        .collect();
    planes.sort_by(|p, q| turn_key(p.normal).total_cmp(&turn_key(q.normal)));
    planes.dedup_by(|p, q| (p.normal - q.normal).length() < 1e-12);
    planes
}

/// A number that grows with the direction of a unit vector, without trigonometry.
fn turn_key(v: Vector) -> f64 {
    let t = v.x / (v.x.abs() + v.y.abs());
    if v.y >= 0.0 { 1.0 - t } else { 3.0 + t }
}

/// Reorders `planes` so that any few in a row point in very different directions: what separates
/// two parts is then found early.
fn spread(planes: Vec<Plane>) -> Vec<Plane> {
    let n = planes.len();
    let stride = n.div_ceil(BLOCK);
    (0..stride)
        .flat_map(|k| (k..n).step_by(stride))
        .map(|k| planes[k])
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Bounds;

    fn square(side: f64) -> Vec<Point> {
        let h = side / 2.0;
        [(-h, -h), (h, -h), (h, h), (-h, h)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec()
    }

    #[test]
    fn difference_of_squares_is_a_square() {
        let planes = difference(&square(2.0), &square(4.0));
        assert_eq!(planes.len(), 4);
        for plane in planes {
            assert!((plane.offset - 3.0).abs() < 1e-12);
        }
        assert!(Bounds::of(square(2.0)).is_some());
    }
}
