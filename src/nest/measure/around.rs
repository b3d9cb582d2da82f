//! The losses at several places around one, found together: what a piece meets there is nearly the
//! same for all of them, so one look at every half-plane serves them all.

use super::part::{BLOCK, n_blocks};
use super::{ConvexPart, Depths, Recent, cost, least};
use crate::geometry::Vector;
use wide::{CmpLe, f32x8};

/// Places looked at together.
pub(in super::super) const LANES: usize = 8;

/// Small steps to the places around one, mm.
#[derive(Clone, Copy, Debug)]
pub(in super::super) struct Steps {
    pub x: [f32; LANES],
    pub y: [f32; LANES],
}

impl Steps {
    /// The steps that `step` gives for each lane.
    pub(in super::super) fn to(mut step: impl FnMut(usize) -> Vector) -> Self {
        let mut steps = Self {
            x: [0.0; LANES],
            y: [0.0; LANES],
        };
        for lane in 0..LANES {
            let step = step(lane);
            (steps.x[lane], steps.y[lane]) = (step.x as f32, step.y as f32);
        }
        steps
    }

    /// One of them.
    pub(in super::super) fn lane(&self, lane: usize) -> Vector {
        Vector::new(f64::from(self.x[lane]), f64::from(self.y[lane]))
    }

    /// Least and largest x, least and largest y.
    pub(in super::super) fn range(&self) -> [f32; 4] {
        let low = |v: &[f32; LANES]| v.iter().copied().fold(f32::INFINITY, least);
        let high = |v: &[f32; LANES]| -v.iter().map(|v| -v).fold(f32::INFINITY, least);
        [low(&self.x), high(&self.x), low(&self.y), high(&self.y)]
    }
}

impl Depths {
    /// Sums of depths (mm) of variants `a` and `b` when `b` lies at `by` from `a` and `a` makes each
    /// of `steps`, to single precision: next to nothing may stand for zero, and the other way
    /// round. Adds its cost to `work`.
    #[inline]
    pub(in super::super) fn losses_around(
        &self,
        (a, b): (usize, usize),
        by: Vector,
        steps: &Steps,
        recent: &mut Recent,
        work: &mut u64,
    ) -> [f32; LANES] {
        let (a, b, sign) = if a <= b { (a, b, 1.0) } else { (b, a, -1.0) };
        let (x, y) = (sign * by.x as f32, sign * by.y as f32);
        let to = Steps {
            x: steps.x.map(|step| x - sign * step),
            y: steps.y.map(|step| y - sign * step),
        };
        let back = Steps {
            x: to.x.map(|x| -x),
            y: to.y.map(|y| -y),
        };
        let mut sums = [0.0; LANES];
        *work += cost::PAIR_AROUND;
        *work += self.meeting((a, b), to.range(), recent, |p, q, offsets, spent| {
            *spent += cost::DEPTH_AROUND + cost::BLOCK_AROUND * offsets.len() as u64;
            let (of_p, of_q) = offsets.split_at(n_blocks(p));
            let mut depths = [f32::INFINITY; LANES];
            self.lower(p, of_p, &to, &mut depths);
            if f32x8::from(depths).cmp_le(f32x8::ZERO).all() {
                return true;
            }
            self.lower(q, of_q, &back, &mut depths);
            let weight = p.weight * q.weight;
            for (sum, depth) in sums.iter_mut().zip(depths) {
                *sum += if depth > 0.0 { weight * depth } else { 0.0 };
            }
            true
        });
        sums
    }

    /// Brings `depths` down to the least of the half-planes of `part` with `offsets`.
    #[inline]
    fn lower(
        &self,
        part: &ConvexPart,
        offsets: &[[f32; BLOCK]],
        at: &Steps,
        depths: &mut [f32; LANES],
    ) {
        let (x, y) = (f32x8::from(at.x), f32x8::from(at.y));
        let mut low = f32x8::from(*depths);
        for (n, c) in self.normals_of(part).iter().zip(offsets) {
            for ((&nx, &ny), &c) in n.x.iter().zip(&n.y).zip(c) {
                let [nx, ny, c] = [nx, ny, c].map(f32x8::splat);
                low = low.fast_min(c - (nx * x + ny * y));
            }
        }
        *depths = low.to_array();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Outline, Point, Ring};
    use crate::nest::random::Random;
    use crate::nest::shape::{Detail, ShapeVariant};

    fn variant(corners: &[(f64, f64)]) -> ShapeVariant {
        let corners = corners.iter().map(|&(x, y)| Point::new(x, y));
        ShapeVariant::plain(Outline::solid(Ring::new(corners).unwrap()))
    }

    #[test]
    fn together_as_one_by_one() {
        let measure = Depths::new(
            &[
                variant(&[(0., 0.), (6., 0.), (6., 2.), (2., 2.), (2., 5.), (0., 5.)]),
                variant(&[(0., 0.), (3., 1.), (1., 4.)]),
                variant(&[(0., 0.), (4., 0.), (5., 2.), (4., 4.), (0., 4.), (2., 2.)]),
            ],
            Detail::Coarse,
            1e-9,
        );
        let recent = &mut Recent::default();
        let mut random = Random::new(1, 1);
        let mut n_clear = 0;
        for _ in 0..2000 {
            let (a, b) = (random.below(3), random.below(3));
            let by = Vector::new(8.0 * random.signed(), 8.0 * random.signed());
            let steps = Steps::to(|_| {
                let x = 2.0 * random.signed();
                Vector::new(x, 2.0 * random.signed())
            });
            let work = &mut 0;
            let sums = measure.losses_around((a, b), by, &steps, recent, work);
            for (lane, sum) in sums.into_iter().enumerate() {
                let by = by - steps.lane(lane);
                let alone = measure.loss((a, b), by, f64::INFINITY, recent, work);
                assert!((f64::from(sum) - alone).abs() < 1e-5);
                n_clear += usize::from(alone == 0.0);
            }
        }
        assert!(n_clear > 1000 && n_clear < 15_000);
    }
}
