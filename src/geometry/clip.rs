//! Parts of outlines: a band across them, pieces added to them or taken off.
//!
//! Done on the same integer grid as the offset (`paths`).

use super::paths::{FINE, Paths};
use super::{Bounds, Outline, Point, Ring, Vector};

/// Vertices nearer than this (mm) to the one before are one vertex. Larger: corners move; smaller:
/// written coordinates would repeat.
const REPEATED_MM: f64 = 1e-3;

/// Parts smaller than this (mm²) are dust of the clipping grid.
const DUST_MM2: f64 = 1e-2;

/// Returns what of `outline` lies at `from` ≤ y ≤ `to`, from left to right; several outlines where
/// the band cuts it apart. A limit may be infinite.
#[must_use]
pub fn band(outline: &Outline, from: f64, to: f64) -> Vec<Outline> {
    // Beyond everything there is, so that nothing but the limits cuts.
    let mut frame = outline.bounds().grown(1.0);
    frame.min.y = frame.min.y.max(from);
    frame.max.y = frame.max.y.min(to);
    frame
        .outline()
        .map_or_else(Vec::new, |frame| common(outline, &frame))
}

/// Returns `outline` with `additions` added; several outlines if some do not touch it.
#[must_use]
pub fn with(outline: &Outline, additions: &[Ring]) -> Vec<Outline> {
    outlines(&Paths::of(outline).union(&Paths::of_rings(additions), FINE))
}

/// Returns `outline` without what lies in one of `cuts`; several outlines if it falls apart.
#[must_use]
pub fn without(outline: &Outline, cuts: &[Ring]) -> Vec<Outline> {
    outlines(&Paths::of(outline).difference(&Paths::of_rings(cuts), FINE))
}

/// Returns all that `outline` passes over while it is moved by `by`.
#[must_use]
pub fn swept(outline: &Outline, by: Vector) -> Outline {
    // What is not inside before comes inside as an edge passes over it. One along `by` passes over nothing.
    let edges = outline.rings().flat_map(Ring::edges);
    let passed = edges.filter_map(|(a, b)| Ring::new([a, b, b + by, a + by]).ok());
    let passed: Vec<Ring> = passed.collect();
    let swept = with(outline, &passed).into_iter();
    let largest = swept.max_by(|a, b| a.area().total_cmp(&b.area()));
    largest.unwrap_or_else(|| outline.clone())
}

/// Returns the parts of the line from `from` to `to` that lie within `outline`, in the order in which
/// they are passed.
#[must_use]
pub fn line_within(outline: &Outline, [from, to]: [Point; 2]) -> Vec<[Point; 2]> {
    let along = to - from;
    let mut shares = vec![0.0, 1.0];
    for (a, b) in outline.rings().flat_map(Ring::edges) {
        let edge = b - a;
        let across = along.cross(edge);
        // A parallel edge divides nothing; its neighbours do.
        if across != 0.0 {
            let share = (a - from).cross(edge) / across;
            let at = (a - from).cross(along) / across;
            if (0.0..=1.0).contains(&share) && (0.0..=1.0).contains(&at) {
                shares.push(share);
            }
        }
    }
    shares.sort_by(f64::total_cmp);
    let mut chords: Vec<[f64; 2]> = Vec::new();
    for ends in shares.windows(2).filter(|ends| ends[1] > ends[0]) {
        if !outline.contains(from.towards(to, (ends[0] + ends[1]) / 2.0)) {
            continue;
        }
        match chords.last_mut() {
            Some(last) if last[1] >= ends[0] => last[1] = ends[1],
            _ => chords.push([ends[0], ends[1]]),
        }
    }
    let place = |share: f64| from.towards(to, share);
    chords.into_iter().map(|ends| ends.map(place)).collect()
}

/// Returns what `a` and `b` have in common, from left to right.
#[must_use]
pub fn common(a: &Outline, b: &Outline) -> Vec<Outline> {
    outlines(&Paths::of(a).intersection(&Paths::of(b), FINE))
}

/// The parts of `outline` that lie within `bounds`, from left to right, then upwards.
#[must_use]
pub fn within(outline: &Outline, bounds: &Bounds) -> Vec<Outline> {
    if bounds.holds(&outline.bounds(), 0.0) {
        return vec![outline.clone()];
    }
    bounds
        .outline()
        .map_or_else(Vec::new, |frame| common(outline, &frame))
}

/// The intervals of x in which the line at height `y` runs inside `outline`, from left to right.
#[must_use]
pub fn chords(outline: &Outline, y: f64) -> Vec<(f64, f64)> {
    let mut crossings: Vec<f64> = outline
        .rings()
        .flat_map(Ring::edges)
        .filter(|(a, b)| (a.y > y) != (b.y > y))
        .map(|(a, b)| a.x + (b.x - a.x) * (y - a.y) / (b.y - a.y))
        .collect();
    crossings.sort_by(f64::total_cmp);
    crossings
        .chunks_exact(2)
        .map(|ends| (ends[0], ends[1]))
        .filter(|(from, to)| to - from > REPEATED_MM)
        .collect()
}

/// The outlines of `paths` from left to right, then upwards.
fn outlines(paths: &Paths) -> Vec<Outline> {
    let mut outlines = paths.sorted(DUST_MM2, distinct).outlines();
    outlines.sort_by(|a, b| {
        let (a, b) = (a.bounds().min, b.bounds().min);
        a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y))
    });
    outlines
}

fn distinct(points: Vec<Point>) -> Vec<Point> {
    let mut kept: Vec<Point> = Vec::new();
    for p in points {
        if kept.last().is_none_or(|q| q.distance(p) > REPEATED_MM) {
            kept.push(p);
        }
    }
    while kept.len() > 1 && kept[0].distance(kept[kept.len() - 1]) <= REPEATED_MM {
        kept.pop();
    }
    kept
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(f64, f64)]) -> Ring {
        Ring::new(points.iter().map(|&(x, y)| Point::new(x, y))).unwrap()
    }

    /// A frame of 100 × 100 mm with an opening of 40 × 40 mm in its middle.
    fn frame() -> Outline {
        let square = |a: f64, b: f64| ring(&[(a, a), (b, a), (b, b), (a, b)]);
        Outline {
            outer: square(0.0, 100.0),
            openings: vec![square(30.0, 70.0)],
        }
    }

    #[test]
    fn a_band_keeps_openings_and_falls_apart_beside_them() {
        let whole = band(&frame(), f64::NEG_INFINITY, f64::INFINITY);
        assert_eq!(whole.len(), 1);
        assert_eq!(whole[0].area(), 8400.0);
        let below = band(&frame(), f64::NEG_INFINITY, 50.0);
        assert_eq!((below.len(), below[0].area()), (1, 5000.0 - 800.0));
        let beside = band(&frame(), 40.0, 60.0);
        let boxes: Vec<_> = beside.iter().map(|o| o.bounds().min.x).collect();
        assert_eq!(boxes, [0.0, 70.0]);
        assert!(band(&frame(), 120.0, 130.0).is_empty());
    }

    #[test]
    fn what_is_moved_passes_over_both_ends_and_narrows_its_opening() {
        let by = Vector::new(10.0, 5.0);
        let swept = swept(&frame(), by);
        // A square of side a, moved by (x, y), covers a² + a (x + y); of its opening b² only (b - x) (b - y) is left.
        assert!((swept.outer.area() - (10_000.0 + 1500.0)).abs() < 1e-2);
        let left: f64 = swept.openings.iter().map(Ring::area).sum();
        assert!((left - 30.0 * 35.0).abs() < 1e-2, "{left}");
        for p in frame().outer.points().iter().flat_map(|p| [*p, *p + by]) {
            assert!(distance_to(&swept, p) < 1e-4);
        }
    }

    fn distance_to(outline: &Outline, p: Point) -> f64 {
        if outline.contains(p) {
            return 0.0;
        }
        let edges = outline.rings().flat_map(Ring::edges);
        edges.fold(f64::INFINITY, |least, (a, b)| {
            let share = ((p - a).dot(b - a) / (b - a).dot(b - a)).clamp(0.0, 1.0);
            least.min(p.distance(a.towards(b, share)))
        })
    }

    #[test]
    fn chords_run_inside_the_material() {
        assert_eq!(chords(&frame(), 50.0), [(0.0, 30.0), (70.0, 100.0)]);
        assert_eq!(chords(&frame(), 10.0), [(0.0, 100.0)]);
        assert!(chords(&frame(), -1.0).is_empty());
    }

    #[test]
    fn what_is_added_or_taken_off_shows_in_the_area() {
        let strip = ring(&[(100.0, 20.0), (130.0, 20.0), (130.0, 60.0), (100.0, 60.0)]);
        let grown = with(&frame(), std::slice::from_ref(&strip));
        assert_eq!((grown.len(), grown[0].area()), (1, 8400.0 + 1200.0));
        let wedge = ring(&[(40.0, -1.0), (60.0, -1.0), (50.0, 20.0)]);
        let cut = without(&frame(), &[wedge]);
        let width_at_edge = 20.0 * 20.0 / 21.0;
        assert_eq!(cut.len(), 1);
        assert!((cut[0].area() - (8400.0 - width_at_edge * 20.0 / 2.0)).abs() < 1e-3);
    }

    #[test]
    fn a_fork_cut_off_at_its_prongs_is_two_parts() {
        let points = [
            (0.0, 0.0),
            (100.0, 0.0),
            (100.0, 20.0),
            (40.0, 20.0),
            (40.0, 60.0),
            (100.0, 60.0),
            (100.0, 80.0),
            (0.0, 80.0),
        ];
        let fork = Outline::solid(Ring::new(points.map(|(x, y)| Point::new(x, y))).unwrap());
        let beyond = Bounds {
            min: Point::new(50.0, -10.0),
            max: Point::new(200.0, 200.0),
        };
        let parts = within(&fork, &beyond);
        assert_eq!(parts.len(), 2);
        for part in &parts {
            assert!((part.area() - 1000.0).abs() < 1e-3);
        }
        assert!(parts[0].bounds().max.y < parts[1].bounds().min.y);
        assert_eq!(within(&fork, &fork.bounds()), [fork]);
    }

    #[test]
    fn a_line_is_cut_where_it_leaves_the_outline() {
        let square = |low: f64, high: f64| {
            let corners = [(low, low), (high, low), (high, high), (low, high)];
            Ring::new(corners.map(|(x, y)| Point::new(x, y))).unwrap()
        };
        let frame = Outline {
            outer: square(0.0, 100.0),
            openings: vec![square(40.0, 60.0)],
        };
        let at = |x: f64, y: f64| Point::new(x, y);
        let found = line_within(&frame, [at(-10.0, 50.0), at(110.0, 50.0)]);
        let wanted = [[0.0, 40.0], [60.0, 100.0]];
        assert_eq!(found.len(), 2);
        for (chord, ends) in found.iter().zip(wanted) {
            for (p, x) in chord.iter().zip(ends) {
                assert!(p.distance(at(x, 50.0)) < 1e-9, "{p:?}");
            }
        }
        // Through two corners of the opening, and all outside.
        assert_eq!(
            line_within(&frame, [at(0.0, 0.0), at(100.0, 100.0)]).len(),
            2
        );
        assert!(line_within(&frame, [at(-5.0, 0.0), at(-5.0, 100.0)]).is_empty());
    }
}
