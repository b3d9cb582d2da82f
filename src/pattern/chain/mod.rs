//! Loose segments → closed boundaries and open lines.
//!
//! Ends at one place (within a thousandth of a millimetre) are one node of a graph. Dead ends are
//! peeled off first; what remains is walked, and each time the walk comes back to a node it has
//! passed, the loop between is one boundary. Only then are the dead ends that remain joined to
//! each other across gaps up to the join tolerance, nearest pair first. So a large tolerance never
//! pulls apart a finely divided curve, and the work grows with the number of segments.

mod bridge;
mod graph;
mod overlap;

use bridge::bridge;
use graph::Graph;
use overlap::merge;

use crate::geometry::Point;

/// Ends nearer than this (mm) are one point without a word: files are written with three decimals.
const SAME_MM: f64 = 1e-3;

/// Where more ends than this meet, only the first are weighed against each other, so that a crowd
/// of lines in one place cannot make the work grow with its square.
const CROWD: usize = 16;

/// A line between two ends, not closed.
#[derive(Clone, Debug)]
pub(super) struct Segment {
    /// At least two points.
    pub(super) points: Vec<Point>,
    /// Which shape it belongs to.
    pub(super) shape: usize,
}

/// Segments joined end to end.
#[derive(Clone, Debug)]
pub(super) struct Chain {
    /// In order; a closed chain does not repeat its first point.
    pub(super) points: Vec<Point>,
    /// The shapes it is made of: the first in the file and how many.
    pub(super) shape: usize,
    /// Number of segments.
    pub(super) segments: usize,
    /// The widest gap that was closed beyond [`SAME_MM`].
    pub(super) closed_gap: Option<Gap>,
    /// How many such gaps were closed.
    pub(super) n_gaps: usize,
}

impl From<Segment> for Chain {
    fn from(only: Segment) -> Self {
        Self {
            points: only.points,
            shape: only.shape,
            segments: 1,
            closed_gap: None,
            n_gaps: 0,
        }
    }
}

/// A distance between two ends.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Gap {
    pub(super) from: Point,
    pub(super) to: Point,
}

impl Gap {
    pub(super) fn size(&self) -> f64 {
        self.from.distance(self.to)
    }
}

/// What became of the segments, each kind in the order of the file.
#[derive(Debug, Default)]
pub(super) struct Chained {
    pub(super) rings: Vec<Chain>,
    pub(super) lines: Vec<Chain>,
    /// Segments drawn over an equal one; left out.
    pub(super) doubles: Vec<Segment>,
    /// Segments of no length; left out.
    pub(super) specks: Vec<Segment>,
    /// Places where more than two lines that are part of a boundary meet, with their number.
    pub(super) branches: Vec<(Point, usize)>,
}

/// Joins `segments` whose ends are within `join` mm of each other.
pub(super) fn chain(segments: Vec<Segment>, join: f64) -> Chained {
    let mut chained = Chained::default();
    let same = SAME_MM.min(join);
    let (specks, segments) = segments
        .into_iter()
        .partition(|s| length(&s.points) <= same);
    chained.specks = specks;
    let mut graph = Graph::new(segments, same, &mut chained.doubles);
    // Most drawings have none, and looking for lines that lie on each other is not for free. What
    // merges has other ends, so the graph is made anew.
    if graph.has_loose_ends() {
        let loose = graph.loose_ends();
        graph = match merge(graph.into_segments(), &loose) {
            Ok(merged) => {
                chained.doubles.extend(merged.doubles);
                Graph::new(merged.segments, same, &mut chained.doubles)
            }
            Err(segments) => Graph::new(segments, same, &mut chained.doubles),
        };
    }
    let (loops, open) = graph.walk(&mut chained.branches);
    for path in loops {
        chained.rings.push(graph.ring(&path));
    }
    let lines = graph.lines(&open);
    let (rings, lines) = bridge(lines, join);
    chained.rings.extend(rings);
    chained.lines = lines.into_iter().map(|l| l.chain).collect();
    chained.rings.sort_by_key(|c| c.shape);
    chained.lines.sort_by_key(|c| c.shape);
    chained
}

/// An open chain, and whether each of its ends is free: nothing else ends there.
struct OpenChain {
    chain: Chain,
    free: [bool; 2],
}

/// Whether the ends of an open line are so near each other for its length that it was likely meant
/// to be closed.
pub(super) fn is_nearly_closed(points: &[Point]) -> bool {
    let ends = points.first().zip(points.last());
    points.len() > 2 && ends.is_some_and(|(from, to)| from.distance(*to) < length(points) / 2.0)
}

/// Length of a polyline in mm.
pub(super) fn length(points: &[Point]) -> f64 {
    points.windows(2).map(|w| w[0].distance(w[1])).sum()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn segments(lines: &[&[(f64, f64)]]) -> Vec<Segment> {
        let segment = |(shape, points): (usize, &&[(f64, f64)])| Segment {
            points: points.iter().map(|&(x, y)| Point::new(x, y)).collect(),
            shape,
        };
        lines.iter().enumerate().map(segment).collect()
    }

    #[test]
    fn squares_that_touch_in_a_corner_stay_two() {
        let chained = chain(
            segments(&[
                &[(0.0, 0.0), (2.0, 0.0), (2.0, 2.0)],
                &[(4.0, 2.0), (2.0, 2.0)],
                &[(2.0, 2.0), (0.0, 2.0), (0.0, 0.0)],
                &[(2.0, 2.0), (2.0, 4.0), (4.0, 4.0), (4.0, 2.0)],
            ]),
            0.1,
        );
        assert_eq!(chained.rings.len(), 2);
        assert!(chained.rings.iter().all(|r| r.points.len() == 4));
        assert!(chained.lines.is_empty());
        assert_eq!(chained.branches, [(Point::new(2.0, 2.0), 4)]);
    }

    #[test]
    fn loops_joined_by_a_bridge_are_found_with_the_bridge_left_over() {
        let chained = chain(
            segments(&[
                &[(2.0, 0.0), (8.0, 0.0)],
                &[(0.0, 0.0), (2.0, 0.0)],
                &[(2.0, 0.0), (1.0, 3.0), (0.0, 0.0)],
                &[(8.0, 0.0), (9.0, 3.0), (10.0, 0.0)],
                &[(10.0, 0.0), (8.0, 0.0)],
            ]),
            0.1,
        );
        assert_eq!(chained.rings.len(), 2);
        assert_eq!(chained.lines.len(), 1);
        assert_eq!(chained.lines[0].shape, 0);
    }

    #[test]
    fn a_curve_divided_more_finely_than_the_tolerance_keeps_its_vertices() {
        // 400 lines of 0.05 mm around a square of 5 mm, with a tolerance of 0.1 mm.
        let n = 400;
        let at = |i: usize| {
            let (side, along) = (i % n / 100, (i % 100) as f64 * 0.05);
            [
                (along, 0.0),
                (5.0, along),
                (5.0 - along, 5.0),
                (0.0, 5.0 - along),
            ][side]
        };
        let lines: Vec<[(f64, f64); 2]> = (0..n).map(|i| [at(i), at(i + 1)]).collect();
        let lines: Vec<&[(f64, f64)]> = lines.iter().map(|l| l.as_slice()).collect();
        let chained = chain(segments(&lines), 0.1);
        assert_eq!(chained.rings.len(), 1);
        assert_eq!(chained.rings[0].points.len(), n);
    }

    #[test]
    fn gaps_close_at_the_nearest_end_and_half_way() {
        let chained = chain(
            segments(&[
                &[(0.0, 0.0), (9.0, 0.0)],
                &[(9.0, 0.06), (9.0, 9.0), (0.0, 0.0)],
                // Within the tolerance too, but further away.
                &[(9.08, 0.0), (20.0, 0.0)],
            ]),
            0.1,
        );
        assert_eq!(chained.rings.len(), 1);
        assert!(chained.rings[0].points.contains(&Point::new(9.0, 0.03)));
        assert_eq!(chained.rings[0].closed_gap.map(|g| g.size()), Some(0.06));
        assert_eq!(chained.lines.len(), 1);
    }

    #[test]
    fn an_open_line_runs_as_its_first_segment_was_drawn() {
        let chained = chain(
            segments(&[
                &[(5.0, 0.0), (0.0, 0.0)],
                &[(5.05, 0.0), (9.0, 0.0)],
                &[(-4.0, 0.0), (0.0, 0.0)],
            ]),
            0.1,
        );
        assert!(chained.rings.is_empty());
        let [line] = chained.lines.as_slice() else {
            panic!("the three make one line");
        };
        let x: Vec<f64> = line.points.iter().map(|p| p.x).collect();
        assert_eq!(x, [9.0, 5.025, 0.0, -4.0]);
    }

    #[test]
    fn a_short_line_is_not_bent_onto_itself() {
        let chained = chain(segments(&[&[(0.0, 0.0), (0.05, 0.0), (0.05, 0.05)]]), 0.1);
        assert!(chained.rings.is_empty());
        assert_eq!(chained.lines.len(), 1);
    }
}
