//! How much lies beside how much: what a sweep over outlines has to look at.

use super::{Bounds, Outline, Point};

/// Returns how many pairs there are of a corner of `outlines` and an edge of them, grown by so many mm,
/// that lie at one height, or at one place from left to right if those are more.
///
/// Clipping and offsets take time by this number. An outline of n corners has a few such pairs for each of
/// them, but where teeth stand beside each other n².
pub(crate) fn level_pairs(outlines: &[(&Outline, f64)]) -> usize {
    let x = |p: Point| p.x;
    let y = |p: Point| p.y;
    pairs_along(outlines, x).max(pairs_along(outlines, y))
}

fn pairs_along(outlines: &[(&Outline, f64)], place: fn(Point) -> f64) -> usize {
    let corners = outlines.iter().flat_map(|(outline, _)| outline.rings());
    let mut places: Vec<f64> = corners
        .flat_map(|ring| ring.points().iter().map(|&p| place(p)))
        .collect();
    places.sort_by(f64::total_cmp);
    let mut pairs = 0;
    for (outline, by) in outlines {
        for (a, b) in outline.rings().flat_map(|ring| ring.edges()) {
            let Bounds { min, max } = Bounds::at(a).union(&Bounds::at(b)).grown(*by);
            let below = |limit: f64| places.partition_point(|&at| at < limit);
            pairs += below(place(max)).saturating_sub(below(place(min)));
        }
    }
    pairs
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Ring;
    use crate::geometry::trig::sin_cos_radians;

    #[test]
    fn teeth_make_pairs_by_the_square_of_their_number_and_a_circle_does_not() {
        let outline = |points: Vec<(f64, f64)>| {
            let ring = Ring::new(points.into_iter().map(|(x, y)| Point::new(x, y)));
            Outline::solid(ring.unwrap())
        };
        let circle = |n: u32| {
            let at = |k: u32| sin_cos_radians(f64::from(k) * std::f64::consts::TAU / f64::from(n));
            outline((0..n).map(at).collect())
        };
        let comb = |n: u32| {
            let tooth = |k| (f64::from(n - k), if k % 2 == 0 { 9.0 } else { 1.0 });
            let below = [(0.0, 0.0), (f64::from(n), 0.0)];
            outline(below.into_iter().chain((0..n).map(tooth)).collect())
        };
        let pairs = |outline: &Outline| level_pairs(&[(outline, 0.0)]);
        assert!(pairs(&circle(1000)) < 10_000);
        assert!(pairs(&comb(1000)) > 400_000);
        // Small squares far apart are nothing to each other until they are grown.
        let squares: Vec<Outline> = (0..100)
            .map(|k| {
                let at = f64::from(k) * 10.0;
                outline(vec![
                    (at, at),
                    (at + 1.0, at),
                    (at + 1.0, at + 1.0),
                    (at, at + 1.0),
                ])
            })
            .collect();
        let grown = |by| squares.iter().map(|s| (s, by)).collect::<Vec<_>>();
        assert!(level_pairs(&grown(0.0)) < 2000);
        assert!(level_pairs(&grown(1000.0)) == 160_000);
    }
}
