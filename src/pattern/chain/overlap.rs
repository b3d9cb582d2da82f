//! Straight lines that lie on each other for a part of their length → one line.
//!
//! Whoever traces a drawing twice leaves lines that start or end in the middle of others. Only lines
//! with a loose end are touched: where both ends are joined to something, a line on another one may
//! be the edge of a neighbour.

use super::{SAME_MM, Segment};
use crate::geometry::Point;
use crate::geometry::trig::atan2_radians;

/// Lines whose directions fall into the same step (radians), or the next, may lie on each other.
const STEP: f64 = 1e-3;

/// Lines on one line are looked for within this distance (mm) of each other, as measured far away.
const REACH_MM: f64 = 0.01;

/// Lines on one line that are held against each other, at most.
const MOST_HELD: usize = 64;

/// What became of lines that lie on each other.
pub(super) struct Merged {
    pub(super) segments: Vec<Segment>,
    /// Lines left out because others cover them, or that became part of a longer one.
    pub(super) doubles: Vec<Segment>,
}

/// Merges straight lines that lie on each other. `is_loose` tells for each segment whether its
/// start and its end are joined to nothing.
///
/// # Errors
/// The segments as they were, if there is nothing to merge.
pub(super) fn merge(
    mut segments: Vec<Segment>,
    is_loose: &[[bool; 2]],
) -> Result<Merged, Vec<Segment>> {
    let straight = |s: &Segment| s.points.len() == 2;
    let suspects: Vec<usize> = (0..segments.len())
        .filter(|&s| straight(&segments[s]) && is_loose[s].contains(&true))
        .collect();
    if suspects.is_empty() {
        return Err(segments);
    }
    let centre = segments[suspects[0]].points[0];
    let mut by_line: Vec<(LineThrough, usize)> = (0..segments.len())
        .filter(|&s| straight(&segments[s]))
        .map(|s| (LineThrough::of(&segments[s].points, centre), s))
        .collect();
    by_line.sort_by(|a, b| {
        let (a, b) = ((a.0, a.1), (b.0, b.1));
        (a.0.step.cmp(&b.0.step))
            .then(a.0.offset.total_cmp(&b.0.offset))
            .then(a.1.cmp(&b.1))
    });
    let mut loose: Vec<[bool; 2]> = is_loose.to_vec();
    let mut gone = vec![false; segments.len()];
    // `s` goes into `t`, which keeps its place in the list though it may have grown; so lines that
    // lie on `t` are found by where it lay at first, which is on the same line.
    for s in suspects {
        let line = LineThrough::of(&segments[s].points, centre);
        for t in beside(&by_line, line) {
            if t == s || gone[t] || gone[s] {
                continue;
            }
            if let Some(union) = union(&segments[s], loose[s], &segments[t], loose[t]) {
                segments[t].points = union.0.to_vec();
                loose[t] = union.1;
                gone[s] = true;
            }
        }
    }
    if !gone.contains(&true) {
        return Err(segments);
    }
    let (mut kept, mut doubles) = (Vec::with_capacity(segments.len()), Vec::new());
    for (segment, gone) in segments.into_iter().zip(gone) {
        if gone {
            doubles.push(segment);
        } else {
            kept.push(segment);
        }
    }
    Ok(Merged {
        segments: kept,
        doubles,
    })
}

/// The line a segment lies on: which step its direction falls into, and how far it passes from a
/// fixed point.
#[derive(Clone, Copy)]
struct LineThrough {
    step: i64,
    offset: f64,
}

/// Steps in half a turn, after which directions repeat.
const STEPS: i64 = (std::f64::consts::PI / STEP) as i64 + 1;

impl LineThrough {
    fn of(points: &[Point], centre: Point) -> Self {
        let mut along = points[1] - points[0];
        if along.y < 0.0 || (along.y == 0.0 && along.x < 0.0) {
            along = -along;
        }
        let length = along.length().max(f64::MIN_POSITIVE);
        let angle = atan2_radians(along.y, along.x);
        Self {
            step: (angle / STEP) as i64,
            offset: (points[0] - centre).cross(along) / length,
        }
    }
}

/// Segments that may lie on `line`, the nearest first in the list.
fn beside(by_line: &[(LineThrough, usize)], line: LineThrough) -> Vec<usize> {
    let mut found = Vec::new();
    for step in [line.step - 1, line.step, line.step + 1] {
        // Across the end of the half turn the offset changes its sign.
        let (step, offset) = match step {
            -1 => (STEPS - 1, -line.offset),
            s if s >= STEPS => (s - STEPS, -line.offset),
            s => (s, line.offset),
        };
        let first = by_line
            .partition_point(|(l, _)| (l.step, l.offset - (offset - REACH_MM)) < (step, 0.0));
        let near = by_line[first..]
            .iter()
            .take_while(|(l, _)| l.step == step && l.offset <= offset + REACH_MM);
        found.extend(near.take(MOST_HELD).map(|&(_, s)| s));
    }
    found
}

/// The one line that `s` and `t` make, and which of its ends are loose; `None` if they do not lie
/// on each other, or if an end in the middle of the other is joined to something.
fn union(
    s: &Segment,
    s_loose: [bool; 2],
    t: &Segment,
    t_loose: [bool; 2],
) -> Option<([Point; 2], [bool; 2])> {
    let ([a, b], [c, d]) = (ends(s), ends(t));
    let along = d - c;
    let place = |p: Point| (p - c).dot(along) / along.dot(along);
    let off = |p: Point| (p - c).cross(along).abs() / along.length();
    if off(a) > SAME_MM || off(b) > SAME_MM {
        return None;
    }
    let same = SAME_MM / along.length();
    let mut s_ends = [(place(a), a, s_loose[0]), (place(b), b, s_loose[1])];
    if s_ends[0].0 > s_ends[1].0 {
        s_ends.swap(0, 1);
    }
    let [(from, p, p_loose), (to, q, q_loose)] = s_ends;
    // They must share more than a point: lines end to end are for the graph to join.
    if to.min(1.0) - from.max(0.0) <= 10.0 * same {
        return None;
    }
    let is_inside = |t: f64| t > same && t < 1.0 - same;
    if (is_inside(from) && !p_loose) || (is_inside(to) && !q_loose) {
        return None;
    }
    // An end that something joins may not vanish in the middle of the other line, or what is joined
    // there would hang in the air. The same is asked of both lines.
    let covers = |x: f64| x > from + same && x < to - same;
    if (covers(0.0) && !t_loose[0]) || (covers(1.0) && !t_loose[1]) {
        return None;
    }
    let start = if from < -same {
        (p, p_loose)
    } else {
        (c, t_loose[0])
    };
    let end = if to > 1.0 + same {
        (q, q_loose)
    } else {
        (d, t_loose[1])
    };
    Some(([start.0, end.0], [start.1, end.1]))
}

fn ends(s: &Segment) -> [Point; 2] {
    [s.points[0], s.points[1]]
}

#[cfg(test)]
mod tests {
    use super::super::chain;
    use super::*;

    fn lines(list: &[[(f64, f64); 2]]) -> Vec<Segment> {
        let line = |(shape, ends): (usize, &[(f64, f64); 2])| Segment {
            points: ends.iter().map(|&(x, y)| Point::new(x, y)).collect(),
            shape,
        };
        list.iter().enumerate().map(line).collect()
    }

    #[test]
    fn a_square_traced_with_overlapping_strokes_closes() {
        let chained = chain(
            lines(&[
                [(0.0, 0.0), (60.0, 0.0)],
                [(100.0, 0.0), (40.0, 0.0)], // over the first for 20 mm
                [(100.0, 0.0), (100.0, 100.0)],
                [(100.0, 30.0), (100.0, 50.0)], // on the one before
                [(100.0, 100.0), (0.0, 100.0)],
                [(0.0, 100.0), (0.0, 0.0)],
            ]),
            0.1,
        );
        assert_eq!(chained.rings.len(), 1, "{chained:?}");
        assert_eq!(chained.rings[0].points.len(), 4);
        assert_eq!(chained.doubles.len(), 2);
    }

    #[test]
    fn edges_of_neighbours_are_left_alone() {
        // A small square against the middle of a large one's side.
        let square = |x: f64, y: f64, s: f64| {
            [
                [(x, y), (x + s, y)],
                [(x + s, y), (x + s, y + s)],
                [(x + s, y + s), (x, y + s)],
                [(x, y + s), (x, y)],
            ]
        };
        let both = [square(0.0, 0.0, 100.0), square(100.0, 20.0, 50.0)].concat();
        let chained = chain(lines(&both), 0.1);
        assert_eq!(chained.rings.len(), 2);
        assert!(chained.doubles.is_empty());
    }
}
