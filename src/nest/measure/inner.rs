//! Points within variants.

use super::Depths;
use crate::geometry::{Point, Vector};
use crate::nest::random::Random;

impl Depths {
    /// Whether the point `at` from the middle of `variant` is within it.
    pub(in super::super) fn covers(&self, variant: usize, at: Vector) -> bool {
        self.parts[self.parts_of(variant)].iter().any(|part| {
            let (first, end) = part.vertices;
            let mut edges = self.edges[first as usize..end as usize].iter();
            edges.all(|edge| edge.normal.dot(at) <= edge.offset)
        })
    }

    /// A random point within `variant`, as seen from its middle; all its parts are as likely.
    pub(in super::super) fn point_within(&self, variant: usize, random: &mut Random) -> Vector {
        let parts = self.parts_of(variant);
        let part = &self.parts[parts.start + random.below(parts.len())];
        let (first, end) = part.vertices;
        let corners = &self.vertices[first as usize..end as usize];
        // One of the triangles of a fan, and a point of the parallelogram that is two of it.
        let k = 1 + random.below(corners.len() - 2);
        let (mut u, mut v) = (random.unit(), random.unit());
        if u + v > 1.0 {
            (u, v) = (1.0 - u, 1.0 - v);
        }
        let (a, b) = (corners[k] - corners[0], corners[k + 1] - corners[0]);
        corners[0] - Point::default() + a * u + b * v
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Outline, Ring};
    use crate::nest::shape::{Detail, ShapeVariant};

    #[test]
    fn a_point_within_is_covered_and_one_in_the_bay_is_not() {
        let corners = [(0., 0.), (6., 0.), (6., 2.), (2., 2.), (2., 5.), (0., 5.)];
        let corners = corners.map(|(x, y)| Point::new(x, y));
        let ell = ShapeVariant::plain(Outline::solid(Ring::new(corners).unwrap()));
        let measure = Depths::new(&[ell], Detail::Coarse, 1e-9);
        let mut random = Random::new(1, 1);
        let mut n_upper = 0;
        for _ in 0..500 {
            let at = measure.point_within(0, &mut random);
            let is_within = |at: Vector| {
                let (x, y) = (0.0..=6.0, 0.0..=5.0);
                x.contains(&at.x) && y.contains(&at.y) && (at.x <= 2.0 || at.y <= 2.0)
            };
            assert!(is_within(at) && measure.covers(0, at));
            n_upper += usize::from(at.y > 2.0);
            let anywhere = Vector::new(8.0 * random.signed(), 8.0 * random.signed());
            assert_eq!(measure.covers(0, anywhere), is_within(anywhere));
        }
        assert!((50..450).contains(&n_upper));
    }
}
