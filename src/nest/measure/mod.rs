//! How badly two pieces collide: the sum, over their convex parts, of the depth of penetration.
//!
//! For convex parts A and B the displacements at which they overlap form the convex polygon
//! A ⊕ (−B) (the Minkowski difference; its boundary is the no-fit polygon). Held as half-planes
//! n·d < c, the depth is the least c − n·d. It is zero exactly when the parts do not overlap, costs
//! a few multiplications, and has a slope everywhere else, so it both decides and guides. Summing
//! over parts was found better than the true depth of the concave shapes: it tells how much there
//! is to undo. Each depth is weighted by the areas of its two parts, (a·b)^¼ over their mean.
//!
//! The normals n are those of the edges of A and, turned round, of B, so they are stored once for
//! each part; only the offsets c are stored for each pair of parts, in single precision. Where
//! single precision cannot tell contact from overlap, the depth is found again in double precision
//! from the vertices.

mod around;
mod inner;
mod part;
mod recent;
mod spans;

pub(super) use around::{LANES, Steps};
pub(super) use part::{edges, farthest};
pub(super) use recent::Recent;

use super::shape::{Detail, ShapeVariant};
use crate::geometry::{Point, Vector, signed_area};
use part::{BLOCK, ConvexPart, HalfPlane, Normals, farther, n_blocks, support};
use wide::{CmpLt, f32x4};

/// Depths of all pairs of variants.
#[derive(Clone, Debug)]
pub(super) struct Depths {
    /// Range in `parts` of each variant, and of each not grown, which is what meets obstacles.
    variants: Vec<[(u32, u32); 2]>,
    /// First variant that is an obstacle.
    first_obstacle: usize,
    parts: Vec<ConvexPart>,
    normals: Vec<Normals>,
    /// The same in double precision, [`BLOCK`] for each block of each part, rest unused.
    exact_normals: Vec<Vector>,
    vertices: Vec<Point>,
    /// The edge from each vertex to the next.
    edges: Vec<HalfPlane>,
    /// First of the part pairs of the variants a ≤ b, at a·n + b.
    pairs: Vec<u32>,
    /// First block of offsets of each part pair.
    starts: Vec<u32>,
    /// Offsets of the half-planes; unused lanes are +∞.
    offsets: Vec<[f32; BLOCK]>,
    /// Whether there are tables; without, offsets are found from the vertices when wanted.
    is_tabled: bool,
    /// Depths up to this (mm) are contact. Larger: slight overlaps pass; smaller: contact is
    /// harder to reach.
    tolerance: f64,
    /// Single precision can be wrong by less than this, mm.
    doubt: f32,
}

/// Most blocks of offsets to hold (16 bytes each). Beyond it, with some hundred different shapes,
/// offsets are found when two parts meet and kept for a while ([`Recent`]).
const MOST_BLOCKS: usize = 8_000_000;

/// Costs of the steps of an evaluation in units of about a nanosecond: what budgets count.
pub(super) mod cost {
    /// One evaluation of a position.
    pub(in super::super) const EVALUATION: u64 = 30;
    /// One group of boxes scanned.
    pub(in super::super) const GROUP: u64 = 5;
    /// One pair of pieces.
    pub(super) const PAIR: u64 = 8;
    /// One pair of boxes of convex parts.
    pub(super) const BOX: u64 = 2;
    /// One depth of a pair of parts.
    pub(super) const DEPTH: u64 = 8;
    /// The same for several positions together, and one block of half-planes.
    pub(in super::super) const EVALUATION_AROUND: u64 = 45;
    pub(super) const PAIR_AROUND: u64 = 14;
    pub(super) const DEPTH_AROUND: u64 = 8;
    pub(super) const BLOCK_AROUND: u64 = 5;
    /// Without tables, on top: finding the offsets of two parts, or having them still.
    pub(super) const DIRECT: u64 = 100;
    pub(super) const RECENT: u64 = 4;
}

impl Depths {
    /// Tables for all pairs of `variants`.
    pub(super) fn new(variants: &[ShapeVariant], detail: Detail, tolerance: f64) -> Self {
        let n = variants.len();
        let reach = variants
            .iter()
            .map(|v| v.grown.width() + v.grown.height())
            .fold(0.0, f64::max);
        let mut measure = Self {
            variants: Vec::with_capacity(n),
            first_obstacle: (variants.iter()).position(|v| v.is_obstacle).unwrap_or(n),
            parts: Vec::new(),
            normals: Vec::new(),
            exact_normals: Vec::new(),
            vertices: Vec::new(),
            edges: Vec::new(),
            pairs: Vec::new(),
            is_tabled: false,
            starts: Vec::new(),
            offsets: Vec::new(),
            tolerance,
            // Some rounding steps of 6e-8 of the largest number that occurs.
            doubt: (tolerance + 1e-6 * reach) as f32,
        };
        let mean_area = mean_area_of_parts(variants, detail);
        for variant in variants {
            let range = measure.add_parts(variant.parts_in(detail), mean_area);
            let bare = variant.bare_in(detail);
            let bare = bare.map_or(range, |parts| measure.add_parts(parts, mean_area));
            measure.variants.push([range, bare]);
        }
        measure.is_tabled = measure.table_size() <= MOST_BLOCKS;
        if measure.is_tabled {
            measure.pairs = vec![0; n * n];
        }
        for a in 0..if measure.is_tabled { n } else { 0 } {
            // Obstacles never meet each other.
            for b in a..if a < measure.first_obstacle { n } else { a } {
                measure.pairs[a * n + b] = measure.starts.len() as u32;
                measure.add_pair(a, b);
            }
        }
        measure
    }

    /// Blocks of offsets that the tables of all pairs would hold.
    fn table_size(&self) -> usize {
        // Every part meets every part, once for a ≤ b.
        let n_parts = self.parts.len();
        n_parts * self.parts.iter().map(n_blocks).sum::<usize>()
    }

    fn add_parts(&mut self, parts: &[Vec<Point>], mean_area: f64) -> (u32, u32) {
        let first = self.parts.len() as u32;
        // Large ones first: they are the deepest, so the bound of a loss is passed early.
        let mut parts: Vec<_> = parts.iter().collect();
        parts.sort_by(|a, b| signed_area(b).total_cmp(&signed_area(a)));
        for part in parts {
            self.add_part(part, mean_area);
        }
        (first, self.parts.len() as u32)
    }

    fn add_part(&mut self, corners: &[Point], mean_area: f64) {
        let first_vertex = self.vertices.len() as u32;
        self.vertices.extend(corners);
        let first = self.normals.len() as u32;
        let edges = edges(corners);
        let n_blocks = edges.len().div_ceil(BLOCK);
        let none = Normals {
            x: [0.0; BLOCK],
            y: [0.0; BLOCK],
        };
        let of_part = first as usize..first as usize + n_blocks;
        self.normals.resize(of_part.end, none);
        self.exact_normals
            .resize(of_part.end * BLOCK, Vector::default());
        let blocks = &mut self.normals[of_part.clone()];
        let exact = &mut self.exact_normals[of_part.start * BLOCK..];
        for edge in &edges {
            let (block, k) = (edge.place as usize / BLOCK, edge.place as usize % BLOCK);
            blocks[block].x[k] = edge.normal.x as f32;
            blocks[block].y[k] = edge.normal.y as f32;
            exact[edge.place as usize] = edge.normal;
        }
        self.edges.extend(&edges);
        let reach = [(1., 0.), (-1., 0.), (0., 1.), (0., -1.)]
            .map(|(x, y)| support(corners, Vector::new(x, y)) as f32 + self.doubt);
        self.parts.push(ConvexPart {
            reach,
            weight: (signed_area(corners) / mean_area).sqrt().sqrt() as f32,
            normals: (first, self.normals.len() as u32),
            vertices: (first_vertex, self.vertices.len() as u32),
        });
    }

    fn add_pair(&mut self, a: usize, b: usize) {
        for p in self.first_parts(a, b) {
            for q in self.parts_of(b) {
                let mut offsets = std::mem::take(&mut self.offsets);
                self.starts.push(offsets.len() as u32);
                self.find_offsets(&self.parts[p], &self.parts[q], &mut offsets);
                self.offsets = offsets;
            }
        }
    }

    /// Index of the first part pair of the variants a ≤ b.
    #[inline]
    fn first_pair(&self, a: usize, b: usize) -> usize {
        if self.is_tabled {
            self.pairs[a * self.variants.len() + b] as usize
        } else {
            0
        }
    }

    #[inline]
    fn parts_of(&self, variant: usize) -> std::ops::Range<usize> {
        let [(first, end), _] = self.variants[variant];
        first as usize..end as usize
    }

    #[inline]
    fn normals_of(&self, part: &ConvexPart) -> &[Normals] {
        &self.normals[part.normals.0 as usize..part.normals.1 as usize]
    }

    /// The parts of `a` that `b` meets, for a ≤ b.
    #[inline]
    fn first_parts(&self, a: usize, b: usize) -> std::ops::Range<usize> {
        let (first, end) = self.variants[a][usize::from(b >= self.first_obstacle)];
        first as usize..end as usize
    }

    /// Calls `visit` with each pair of parts whose boxes meet, the offsets of its half-planes and
    /// its depth in single precision, which is negative if there is clearly none, until it answers
    /// `false`. Returns the cost.
    #[inline]
    fn visit(
        &self,
        (a, b): (usize, usize),
        (dx, dy): (f32, f32),
        recent: &mut Recent,
        mut visit: impl FnMut(&ConvexPart, &ConvexPart, &[[f32; BLOCK]], f32) -> bool,
    ) -> u64 {
        let mut spent = cost::PAIR;
        spent += self.meeting((a, b), [dx, dx, dy, dy], recent, |p, q, offsets, spent| {
            let depth = self.depth(p, q, offsets, dx, dy);
            *spent += cost::DEPTH;
            depth < -self.doubt || visit(p, q, offsets, depth)
        });
        spent
    }

    /// Calls `visit` with each pair of parts whose boxes meet for some displacement within `range`
    /// (least and largest x, least and largest y), the offsets of its half-planes and a count of
    /// the cost, until it answers `false`. Returns the cost.
    #[inline]
    fn meeting(
        &self,
        (a, b): (usize, usize),
        range: [f32; 4],
        recent: &mut Recent,
        mut visit: impl FnMut(&ConvexPart, &ConvexPart, &[[f32; BLOCK]], &mut u64) -> bool,
    ) -> u64 {
        let (first, second) = (self.first_parts(a, b), self.parts_of(b));
        let mut pair = self.first_pair(a, b);
        let mut spent = 0;
        let (of_b, second) = (second.start, &self.parts[second]);
        for of_a in first {
            let p = &self.parts[of_a];
            // The box of p as b sees it.
            let seen = [
                p.reach[0] - range[0],
                p.reach[1] + range[1],
                p.reach[2] - range[2],
                p.reach[3] + range[3],
            ];
            spent += cost::BOX * second.len() as u64;
            for (k, q) in second.iter().enumerate() {
                let [r, l, u, d] = q.reach;
                let room = least(
                    least(seen[0] + l, seen[1] + r),
                    least(seen[2] + d, seen[3] + u),
                );
                if room <= 0.0 {
                    continue;
                }
                let offsets = if self.is_tabled {
                    &self.offsets[self.starts[pair + k] as usize..][..n_blocks(p) + n_blocks(q)]
                } else {
                    let find = |list: &mut Vec<_>| self.find_offsets(p, q, list);
                    let (offsets, is_new) = recent.offsets((of_a, of_b + k), find);
                    spent += if is_new { cost::DIRECT } else { cost::RECENT };
                    offsets
                };
                if !visit(p, q, offsets, &mut spent) {
                    return spent;
                }
            }
            pair += second.len();
        }
        spent
    }

    /// Adds the offsets of the half-planes of p and q in the order of their normals, those of p
    /// first.
    fn find_offsets(&self, p: &ConvexPart, q: &ConvexPart, into: &mut Vec<[f32; BLOCK]>) {
        let first = into.len();
        into.resize(first + n_blocks(p) + n_blocks(q), [f32::INFINITY; BLOCK]);
        let into = &mut into[first..];
        self.each_edge(p, q, |edge, reach, sign| {
            let before = if sign > 0.0 { 0 } else { n_blocks(p) };
            let place = edge.place as usize;
            into[before + place / BLOCK][place % BLOCK] = (edge.offset + reach) as f32;
            true
        });
    }

    /// Depth in single precision; once it is clear that there is none, some negative value.
    #[inline]
    fn depth(
        &self,
        p: &ConvexPart,
        q: &ConvexPart,
        offsets: &[[f32; BLOCK]],
        dx: f32,
        dy: f32,
    ) -> f32 {
        let (of_p, of_q) = offsets.split_at(n_blocks(p));
        let far = f32x4::splat(-self.doubt);
        let mut low = f32x4::splat(f32::INFINITY);
        for (part, offsets, x, y) in [(p, of_p, dx, dy), (q, of_q, -dx, -dy)] {
            let (x, y) = (f32x4::splat(x), f32x4::splat(y));
            for (n, &c) in self.normals_of(part).iter().zip(offsets) {
                let depths = f32x4::from(c) - (f32x4::from(n.x) * x + f32x4::from(n.y) * y);
                if depths.cmp_lt(far).any() {
                    return f32::NEG_INFINITY;
                }
                low = depths.fast_min(low);
            }
        }
        let low = low.to_array();
        least(least(low[0], low[2]), least(low[1], low[3]))
    }

    /// Weighted sum of depths (mm) of variant `b` lying at `by` from variant `a`; zero if they do not
    /// overlap. Once the sum passes `bound`, some value above `bound` is returned early. Adds its
    /// cost to `work`.
    #[inline]
    pub(super) fn loss(
        &self,
        (a, b): (usize, usize),
        by: Vector,
        bound: f64,
        recent: &mut Recent,
        work: &mut u64,
    ) -> f64 {
        let (a, b, by) = if a <= b { (a, b, by) } else { (b, a, -by) };
        let mut sum = 0.0;
        *work += self.visit(
            (a, b),
            (by.x as f32, by.y as f32),
            recent,
            |p, q, _, depth| {
                let depth = if depth > self.doubt {
                    f64::from(depth)
                } else {
                    self.exact_depth(p, q, by).0
                };
                sum += f64::from(p.weight * q.weight) * depth;
                sum <= bound
            },
        );
        sum
    }

    /// The loss as [`Depths::loss`] gives it, and the direction in which to move `b` so that it
    /// falls fastest, as long as the weight of the part pairs that want it.
    pub(super) fn slope(
        &self,
        (a, b): (usize, usize),
        by: Vector,
        recent: &mut Recent,
        work: &mut u64,
    ) -> (f64, Vector) {
        let (a, b, by, sign) = if a <= b {
            (a, b, by, 1.0)
        } else {
            (b, a, -by, -1.0)
        };
        let (mut sum, mut out) = (0.0, Vector::default());
        let mut extra = 0;
        let at = (by.x as f32, by.y as f32);
        *work += self.visit((a, b), at, recent, |p, q, offsets, depth| {
            extra += cost::DEPTH;
            let (depth, normal) = if depth > self.doubt {
                (f64::from(depth), self.way_out(p, q, offsets, at))
            } else {
                extra += cost::DIRECT;
                self.exact_depth(p, q, by)
            };
            if depth > 0.0 {
                let weight = f64::from(p.weight * q.weight);
                sum += weight * depth;
                out = out + normal * weight;
            }
            true
        });
        *work += extra;
        (sum, out * sign)
    }

    /// The normal of the half-plane that gives the depth of two parts with `offsets`.
    fn way_out(
        &self,
        p: &ConvexPart,
        q: &ConvexPart,
        offsets: &[[f32; BLOCK]],
        (dx, dy): (f32, f32),
    ) -> Vector {
        let mut offsets = offsets.iter();
        let mut best = (f32::INFINITY, 0, 1.0);
        for (range, sign) in [(p.normals, 1.0_f32), (q.normals, -1.0)] {
            for (block, c) in (range.0 as usize..range.1 as usize).zip(&mut offsets) {
                let n = &self.normals[block];
                for (k, c) in c.iter().enumerate() {
                    let depth = c - sign * (n.x[k] * dx + n.y[k] * dy);
                    if depth < best.0 {
                        best = (depth, block * BLOCK + k, sign);
                    }
                }
            }
        }
        self.exact_normals[best.1] * f64::from(best.2)
    }

    /// Calls `visit` with the outward normal n and the offset c, in double precision, of every
    /// half-plane n·d < c of the displacements at which q overlaps p, until it answers `false`.
    #[inline]
    fn each_half_plane(
        &self,
        p: &ConvexPart,
        q: &ConvexPart,
        mut visit: impl FnMut(Vector, f64) -> bool,
    ) {
        self.each_edge(p, q, |edge, reach, sign| {
            visit(edge.normal * sign, edge.offset + reach)
        });
    }

    /// Calls `visit` with every edge of p and then of q that has a length, how far the other part
    /// reaches against its normal, and 1 for an edge of p, −1 for one of q, until it answers
    /// `false`.
    #[inline]
    fn each_edge(
        &self,
        p: &ConvexPart,
        q: &ConvexPart,
        mut visit: impl FnMut(&HalfPlane, f64, f64) -> bool,
    ) {
        let of = |part: &ConvexPart| part.vertices.0 as usize..part.vertices.1 as usize;
        for (own, other, sign) in [(p, q, 1.0), (q, p, -1.0)] {
            let corners = &self.vertices[of(other)];
            // As the normal goes round, so does the other part's corner that reaches farthest.
            let mut far = None;
            for edge in &self.edges[of(own)] {
                if edge.normal == Vector::default() {
                    continue;
                }
                let from = far.unwrap_or_else(|| farthest(corners, -edge.normal));
                let (corner, reach) = farther(corners, from, -edge.normal);
                far = Some(corner);
                if !visit(edge, reach, sign) {
                    return;
                }
            }
        }
    }

    /// Depth in double precision, zero for contact, and the way out for `q`.
    #[cold]
    fn exact_depth(&self, p: &ConvexPart, q: &ConvexPart, by: Vector) -> (f64, Vector) {
        let mut least = (f64::INFINITY, Vector::default());
        self.each_half_plane(p, q, |normal, reach| {
            let depth = reach - normal.dot(by);
            if depth < least.0 {
                least = (depth, normal);
                if depth <= self.tolerance {
                    least = (0.0, Vector::default());
                    return false;
                }
            }
            true
        });
        least
    }
}

/// Mean area, mm², of the convex parts of all shapes; obstacles do not count.
fn mean_area_of_parts(variants: &[ShapeVariant], detail: Detail) -> f64 {
    let shapes = variants.iter().filter(|v| !v.is_obstacle);
    let parts = shapes.flat_map(|v| v.parts_in(detail));
    let (n, sum) = parts.fold((0_usize, 0.0), |(n, sum), part| {
        (n + 1, sum + signed_area(part))
    });
    sum / n.max(1) as f64
}

/// The smaller number; `f32::min` would also look for NaN, which cannot occur here.
#[inline]
fn least(a: f32, b: f32) -> f32 {
    if a < b { a } else { b }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Outline;

    pub(super) fn square(side: f64) -> ShapeVariant {
        let h = side / 2.0;
        let corners = [(-h, -h), (h, -h), (h, h), (-h, h)].map(|(x, y)| Point::new(x, y));
        let ring = crate::geometry::Ring::new(corners).unwrap();
        ShapeVariant::plain(Outline::solid(ring))
    }

    #[test]
    fn depth_of_squares_is_the_shorter_way_out() {
        let measure = Depths::new(&[square(2.0), square(4.0)], Detail::Coarse, 1e-9);
        // Areas of 4 and 16, 10 in the mean.
        let weight = 0.64_f64.powf(0.25);
        let loss = |x, y| {
            let loss = measure.loss(
                (0, 1),
                Vector::new(x, y),
                f64::INFINITY,
                &mut Recent::default(),
                &mut 0,
            );
            loss / weight
        };
        assert!((loss(2.5, 0.0) - 0.5).abs() < 1e-6);
        assert!((loss(-2.0, 2.9) - 0.1).abs() < 1e-6);
        assert_eq!(loss(3.0, 1.0), 0.0);
        assert_eq!(loss(3.0 - 1e-10, 1.0), 0.0);
        assert!(loss(3.0 - 1e-8, 1.0) > 0.0);
    }

    #[test]
    fn the_slope_leads_out() {
        let measure = Depths::new(&[square(2.0), square(4.0)], Detail::Coarse, 1e-9);
        for (a, b) in [(0, 1), (1, 0)] {
            let at = Vector::new(2.0, 0.5);
            let (loss, way) = measure.slope((a, b), at, &mut Recent::default(), &mut 0);
            let out = at + way * (loss / way.dot(way));
            assert_eq!(
                measure.loss((a, b), out, f64::INFINITY, &mut Recent::default(), &mut 0),
                0.0
            );
        }
    }
}
