//! Loose segments → closed boundaries and open lines.
//!
//! Ends at one place (within a thousandth of a millimetre) are one node of a graph. Dead ends are
//! peeled off first; what remains is walked, and each time the walk comes back to a node it has
//! passed, the loop between is one boundary. Only then are the dead ends that remain joined to
//! each other across gaps up to the join tolerance, nearest pair first. So a large tolerance never
//! pulls apart a finely divided curve, and the work grows with the number of segments.

mod bridge;
mod graph;

use bridge::bridge;
use graph::Graph;

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
    let graph = Graph::new(segments, same, &mut chained.doubles);
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
struct Line {
    chain: Chain,
    free: [bool; 2],
}

/// Length of a polyline in mm.
pub(super) fn length(points: &[Point]) -> f64 {
    points.windows(2).map(|w| w[0].distance(w[1])).sum()
}
