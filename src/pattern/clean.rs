//! One closed line → a clean boundary: tiny edges and spikes dropped, crossings split if wanted.

use crate::geometry::{Crossing, Point, Ring, crossing, crossings, signed_area};

/// Edges shorter than this (mm) are dropped. Larger: fine curves lose points; smaller: the dust of
/// a drawing program's own arithmetic stays and makes corners where there are none.
const TINY_MM: f64 = 1e-3;

/// Spikes narrower than this (mm) are cut off.
const SPIKE_MM: f64 = 1e-3;

/// Crossings of one line that are looked for. A line with more is scribble.
pub(super) const MOST_CROSSINGS: usize = 200;

/// What was taken out of a closed line.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct Cleaned {
    /// Edges without length to speak of.
    pub(super) tiny: usize,
    /// Places where the line ran out and back on itself.
    pub(super) spikes: usize,
    /// The longest of them, mm, and its tip.
    pub(super) longest: Option<(f64, Point)>,
}

/// Drops tiny edges and spikes from a closed line.
pub(super) fn clean(points: Vec<Point>, chord: f64) -> (Vec<Point>, Cleaned) {
    let mut cleaned = Cleaned::default();
    let tiny = TINY_MM.min(chord / 5.0);
    let mut kept: Vec<Point> = Vec::with_capacity(points.len());
    for p in points {
        match kept.last() {
            Some(last) if last.distance(p) == 0.0 => {}
            Some(last) if last.distance(p) < tiny => cleaned.tiny += 1,
            _ => {
                kept.push(p);
                cleaned.cut_spike(&mut kept);
            }
        }
    }
    // What holds along the line holds across its ends.
    let mut start = 0;
    while kept.len() > start + 3 {
        let n = kept.len();
        let (first, last) = (kept[start], kept[n - 1]);
        if first.distance(last) < tiny {
            cleaned.tiny += usize::from(first != last);
            kept.pop();
        } else if let Some(length) = spike(kept[n - 2], last, first) {
            cleaned.note(length, last);
            kept.pop();
        } else if let Some(length) = spike(last, first, kept[start + 1]) {
            cleaned.note(length, first);
            start += 1;
        } else {
            break;
        }
    }
    kept.drain(..start);
    (kept, cleaned)
}

impl Cleaned {
    /// Takes out the vertex before the last for as long as it is the tip of a spike.
    fn cut_spike(&mut self, kept: &mut Vec<Point>) {
        while let [.., a, b, c] = kept[..] {
            let Some(length) = spike(a, b, c) else { return };
            self.note(length, b);
            kept.truncate(kept.len() - 2);
            // The line may come back to the very point it left from.
            if a.distance(c) > 0.0 {
                kept.push(c);
            }
        }
    }

    fn note(&mut self, length: f64, tip: Point) {
        self.spikes += 1;
        if self.longest.is_none_or(|(longest, _)| length > longest) {
            self.longest = Some((length, tip));
        }
    }
}

/// The length of the spike with its tip at `b`, if the line from `a` over `b` to `c` makes one.
fn spike(a: Point, b: Point, c: Point) -> Option<f64> {
    let (out, back) = (a - b, c - b);
    let (long, short) = (
        out.length().max(back.length()),
        out.length().min(back.length()),
    );
    let is_spike = out.dot(back) > 0.0
        && short > 0.0
        && (out.cross(back) / long).abs() <= SPIKE_MM.min(short / 10.0);
    is_spike.then_some(short)
}

/// The loops into which a closed line falls at its `found` crossings; none crosses itself at them.
///
/// Loops that lie in another loop and run the same way round are left out: their material is there
/// already.
pub(super) fn split(points: &[Point], found: &[Crossing]) -> Vec<Ring> {
    let mut on_edge: Vec<(usize, f64, Point)> = found
        .iter()
        .flat_map(|c| [(c.edges.0, c.at), (c.edges.1, c.at)])
        .map(|(edge, at)| (edge, points[edge].distance(at), at))
        .collect();
    on_edge.sort_by(|a, b| a.0.cmp(&b.0).then(a.1.total_cmp(&b.1)));
    let mut rest = on_edge.into_iter().peekable();
    let mut path: Vec<Point> = Vec::new();
    let mut loops: Vec<Vec<Point>> = Vec::new();
    let mut arrive = |p: Point, is_crossing: bool| {
        if path.last() == Some(&p) {
            return;
        }
        let before = path.iter().rposition(|&q| q == p).filter(|_| is_crossing);
        if let Some(before) = before {
            loops.push(path.drain(before..).collect());
        }
        path.push(p);
    };
    let is_crossing = |p: Point| found.iter().any(|c| c.at == p);
    for (edge, &p) in points.iter().enumerate() {
        arrive(p, is_crossing(p));
        while let Some((_, _, at)) = rest.next_if(|(e, _, _)| *e == edge) {
            arrive(at, true);
        }
    }
    loops.push(path);
    let turns_left = |points: &[Point]| signed_area(points) > 0.0;
    let rings: Vec<(bool, Ring)> = loops
        .into_iter()
        .filter_map(|l| Some((turns_left(&l), Ring::new(l).ok()?)))
        .collect();
    let is_covered = |i: usize| {
        let (way, inner) = &rings[i];
        let probe = inner.points()[0].towards(inner.points()[1], 0.5);
        rings.iter().enumerate().any(|(j, (other_way, outer))| {
            j != i && way == other_way && outer.area() > inner.area() && outer.contains(probe)
        })
    };
    (0..rings.len())
        .filter(|&i| !is_covered(i))
        .map(|i| rings[i].1.clone())
        .collect()
}

/// Crossings of the closed line through `points` with itself, as far as they are looked for.
pub(super) fn self_crossings(points: &[Point]) -> Vec<Crossing> {
    if is_convex(points) {
        return Vec::new();
    }
    match crossing(&[points]) {
        None => Vec::new(),
        Some(first) => match crossings(&[points], MOST_CROSSINGS) {
            none if none.is_empty() => vec![first],
            all => all,
        },
    }
}

/// Whether the closed line turns left everywhere and goes round once: then it cannot cross itself.
/// In doubt it is not.
fn is_convex(points: &[Point]) -> bool {
    let n = points.len();
    let at = |i: usize| points[i % n];
    let mut reversals = 0;
    for i in 0..n {
        let (before, after) = (at(i + 1) - at(i), at(i + 2) - at(i + 1));
        // Far above what rounding can do to the product.
        if before.cross(after) <= 1e-9 * before.length() * after.length() {
            return false;
        }
        reversals += usize::from((before.x > 0.0) != (after.x > 0.0));
    }
    reversals == 2
}

#[cfg(test)]
mod tests {
    use super::*;

    fn points(list: &[(f64, f64)]) -> Vec<Point> {
        list.iter().map(|&(x, y)| Point::new(x, y)).collect()
    }

    #[test]
    fn spikes_and_specks_go_and_corners_stay() {
        let drawn = points(&[
            (0.0, 0.0),
            (10.0, 0.0),
            (10.0, 5.0),
            (18.0, 5.0), // out and back
            (10.0, 5.0),
            (10.0, 10.0),
            (10.0, 10.0004), // next to nothing
            (0.0, 10.0),
            (0.0, -3.0), // past the start and back
        ]);
        let (kept, cleaned) = clean(drawn, 0.01);
        assert_eq!((cleaned.spikes, cleaned.tiny), (2, 1));
        assert_eq!(cleaned.longest, Some((8.0, Point::new(18.0, 5.0))));
        let ring = Ring::new(kept).unwrap();
        assert!((ring.area() - 100.0).abs() < 1e-9);
        assert_eq!(ring.crossing(), None);
        // A thin but real tongue is no spike.
        let tongue = points(&[
            (0.0, 0.0),
            (9.0, 0.0),
            (9.0, 4.0),
            (50.0, 4.1),
            (9.0, 4.2),
            (0.0, 9.0),
        ]);
        assert_eq!(clean(tongue.clone(), 0.01).0, tongue);
    }

    #[test]
    fn only_lines_that_go_round_once_count_as_convex() {
        assert!(is_convex(&points(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)])));
        assert!(!is_convex(&points(&[
            (0.0, 0.0),
            (4.0, 0.0),
            (1.0, 1.0),
            (0.0, 4.0)
        ])));
        // A pentagram turns left everywhere, but goes round twice.
        let star = [
            (0.0, 10.0),
            (-6.0, -8.0),
            (9.5, 3.0),
            (-9.5, 3.0),
            (6.0, -8.0),
        ];
        assert!(!is_convex(&points(&star)));
        assert_eq!(self_crossings(&points(&star)).len(), 5);
    }

    #[test]
    fn a_figure_of_eight_falls_into_two_and_a_curl_is_dropped() {
        let eight = Ring::new(points(&[(0.0, 0.0), (4.0, 4.0), (4.0, 0.0), (0.0, 3.0)])).unwrap();
        let parts = split(eight.points(), &self_crossings(eight.points()));
        assert_eq!(parts.len(), 2);
        assert!(parts.iter().all(|p| p.crossing().is_none()));
        // A square whose boundary makes a turn within itself.
        let curl = Ring::new(points(&[
            (0.0, 0.0),
            (9.0, 0.0),
            (9.0, 9.0),
            (4.0, 9.0),
            (4.0, 4.0),
            (6.0, 4.0),
            (6.0, 6.0),
            (0.0, 6.0),
        ]))
        .unwrap();
        let parts = split(curl.points(), &self_crossings(curl.points()));
        assert_eq!(parts.len(), 1, "{parts:?}");
        assert!((parts[0].area() - (54.0 + 15.0)).abs() < 1e-9);
    }
}
