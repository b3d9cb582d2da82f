//! Segments as a graph of nodes, and its division into loops and open lines.

use super::{CROWD, Chain, OpenChain, Segment};
use crate::geometry::{Buckets, Point};

/// A segment in a direction.
#[derive(Clone, Copy, Debug)]
pub(super) struct DirectedSegment {
    segment: usize,
    forward: bool,
}

/// Segments as edges between nodes.
pub(super) struct Graph {
    segments: Vec<Segment>,
    /// Node at the start and at the end of each segment.
    ends: Vec<[usize; 2]>,
    /// Place of each node: its first end in the file.
    nodes: Vec<Point>,
    /// Segments at the nodes, one node after the other, each in the order of the file; a loop is
    /// listed twice.
    at: Vec<usize>,
    /// Where each node's segments start in `at`; one more than there are nodes.
    at_start: Vec<usize>,
}

impl Graph {
    pub(super) fn new(segments: Vec<Segment>, same: f64, doubles: &mut Vec<Segment>) -> Self {
        let mut nodes: Vec<Point> = Vec::new();
        let mut buckets = Buckets::new(same, 2 * segments.len());
        let mut node = |p: Point| {
            let near = buckets
                .near(p, same)
                .find(|&n| nodes[n].distance(p) <= same);
            near.unwrap_or_else(|| {
                nodes.push(p);
                buckets.insert(p, nodes.len() - 1);
                nodes.len() - 1
            })
        };
        let ends: Vec<[usize; 2]> = segments
            .iter()
            .map(|s| [node(s.points[0]), node(s.points[s.points.len() - 1])])
            .collect();
        let double = find_doubles(&segments, &ends, same);
        let (mut kept, mut kept_ends) = (Vec::with_capacity(segments.len()), Vec::new());
        for ((segment, ends), double) in segments.into_iter().zip(ends).zip(double) {
            if double {
                doubles.push(segment);
            } else {
                kept.push(segment);
                kept_ends.push(ends);
            }
        }
        let mut at_start = vec![0; nodes.len() + 1];
        for &n in kept_ends.iter().flatten() {
            at_start[n + 1] += 1;
        }
        for n in 0..nodes.len() {
            at_start[n + 1] += at_start[n];
        }
        let mut free = at_start.clone();
        let mut at = vec![0; 2 * kept.len()];
        for (segment, ends) in kept_ends.iter().enumerate() {
            for &n in ends {
                at[free[n]] = segment;
                free[n] += 1;
            }
        }
        Self {
            segments: kept,
            ends: kept_ends,
            nodes,
            at,
            at_start,
        }
    }

    /// Whether a segment ends where nothing else does.
    pub(super) fn has_loose_ends(&self) -> bool {
        (0..self.nodes.len()).any(|n| self.at(n).len() == 1)
    }

    /// For each segment, whether its start and its end are joined to nothing.
    pub(super) fn loose_ends(&self) -> Vec<[bool; 2]> {
        let is_loose = |n: usize| self.at(n).len() == 1;
        self.ends.iter().map(|ends| ends.map(is_loose)).collect()
    }

    /// The segments, in the order of the file.
    pub(super) fn into_segments(self) -> Vec<Segment> {
        self.segments
    }

    /// The segments at `node`.
    fn at(&self, node: usize) -> &[usize] {
        &self.at[self.at_start[node]..self.at_start[node + 1]]
    }

    /// Splits the segments into closed loops and what is left.
    pub(super) fn walk(
        &self,
        branches: &mut Vec<(Point, usize)>,
    ) -> (Vec<Vec<DirectedSegment>>, Vec<usize>) {
        let mut used = self.dead_ends();
        let mut open: Vec<usize> = (0..used.len()).filter(|&s| used[s]).collect();
        // Counted without dead ends: a line that merely ends at a boundary makes no doubt about it.
        for node in 0..self.nodes.len() {
            let n = self.at(node).iter().filter(|&&s| !used[s]).count();
            if n > 2 {
                branches.push((self.nodes[node], n));
            }
        }
        let mut walk = Walk {
            graph: self,
            next: vec![0; self.nodes.len()],
            position: vec![None; self.nodes.len()],
            loops: Vec::new(),
        };
        for first in 0..self.segments.len() {
            if !used[first] {
                walk.from(first, &mut used, &mut open);
            }
        }
        // The walk finds inner loops first; people expect the order of their file.
        let mut loops = walk.loops;
        loops.sort_by_key(|l| l.iter().map(|s| s.segment).min());
        open.sort_unstable();
        (loops, open)
    }

    /// Marks the segments that hang on a dead end, and then those that hang on them, and so on.
    fn dead_ends(&self) -> Vec<bool> {
        let mut peeled = vec![false; self.segments.len()];
        let mut degree: Vec<usize> = (0..self.nodes.len()).map(|n| self.at(n).len()).collect();
        let mut bare: Vec<usize> = (0..degree.len()).filter(|&n| degree[n] == 1).collect();
        while let Some(node) = bare.pop() {
            // A line by itself has two bare ends; when the second comes up, it is gone already.
            let Some(&segment) = self.at(node).iter().find(|&&s| !peeled[s]) else {
                continue;
            };
            peeled[segment] = true;
            for n in self.ends[segment] {
                degree[n] -= 1;
                if degree[n] == 1 {
                    bare.push(n);
                }
            }
        }
        peeled
    }

    fn step_from(&self, segment: usize, node: usize) -> DirectedSegment {
        DirectedSegment {
            segment,
            forward: self.ends[segment][0] == node,
        }
    }

    fn end_of(&self, step: DirectedSegment) -> usize {
        self.ends[step.segment][usize::from(step.forward)]
    }

    fn start_of(&self, step: DirectedSegment) -> usize {
        self.ends[step.segment][usize::from(!step.forward)]
    }

    /// Unit direction in which `step` leaves its start.
    fn leaving(&self, step: DirectedSegment) -> (f64, f64) {
        let points = &self.segments[step.segment].points;
        let n = points.len();
        let (a, b) = if step.forward {
            (points[0], points[1])
        } else {
            (points[n - 1], points[n - 2])
        };
        let d = b - a;
        let length = d.length().max(f64::MIN_POSITIVE);
        (d.x / length, d.y / length)
    }

    /// The points along `path`, each node at its one place.
    fn points(&self, path: &[DirectedSegment]) -> Vec<Point> {
        let inner = |s: &DirectedSegment| self.segments[s.segment].points.len() - 1;
        let mut points = Vec::with_capacity(path.iter().map(inner).sum::<usize>() + 1);
        for &step in path {
            points.push(self.nodes[self.start_of(step)]);
            let inner = &self.segments[step.segment].points;
            let inner = &inner[1..inner.len() - 1];
            if step.forward {
                points.extend_from_slice(inner);
            } else {
                points.extend(inner.iter().rev());
            }
        }
        if let Some(&last) = path.last() {
            points.push(self.nodes[self.end_of(last)]);
        }
        points
    }

    fn chain(&self, path: &[DirectedSegment]) -> Chain {
        let shapes = path.iter().map(|s| self.segments[s.segment].shape);
        Chain {
            points: self.points(path),
            shape: shapes.min().expect("a path has at least one step"),
            segments: path.len(),
            closed_gap: None,
            n_gaps: 0,
        }
    }

    pub(super) fn ring(&self, path: &[DirectedSegment]) -> Chain {
        let mut chain = self.chain(path);
        chain.points.pop();
        chain
    }

    /// Joins the segments in `open` where exactly two of them meet and nothing else does.
    pub(super) fn lines(&self, open: &[usize]) -> Vec<OpenChain> {
        let mut used = vec![true; self.segments.len()];
        for &s in open {
            used[s] = false;
        }
        let mut lines = Vec::new();
        for &first in open {
            if used[first] {
                continue;
            }
            used[first] = true;
            let forward = self.extend(self.ends[first][1], &mut used);
            let back = self.extend(self.ends[first][0], &mut used);
            let path: Vec<DirectedSegment> = back
                .into_iter()
                .rev()
                .map(|s| DirectedSegment {
                    forward: !s.forward,
                    ..s
                })
                .chain([DirectedSegment {
                    segment: first,
                    forward: true,
                }])
                .chain(forward)
                .collect();
            let ends = [self.start_of(path[0]), self.end_of(path[path.len() - 1])];
            lines.push(OpenChain {
                free: ends.map(|n| self.at(n).len() == 1),
                chain: self.chain(&path),
            });
        }
        lines
    }

    /// The steps that follow from `node` as long as there is just one way on.
    fn extend(&self, mut node: usize, used: &mut [bool]) -> Vec<DirectedSegment> {
        let mut path = Vec::new();
        while self.at(node).len() == 2 {
            let Some(&next) = self.at(node).iter().find(|&&s| !used[s]) else {
                break;
            };
            used[next] = true;
            let step = self.step_from(next, node);
            node = self.end_of(step);
            path.push(step);
        }
        path
    }
}

/// Marks every segment that lies on an earlier one between the same nodes.
fn find_doubles(segments: &[Segment], ends: &[[usize; 2]], same: f64) -> Vec<bool> {
    let mut double = vec![false; segments.len()];
    let mut order: Vec<usize> = (0..segments.len()).collect();
    let key = |s: usize| (ends[s][0].min(ends[s][1]), ends[s][0].max(ends[s][1]), s);
    order.sort_unstable_by_key(|&s| key(s));
    for group in order.chunk_by(|&s, &t| (key(s).0, key(s).1) == (key(t).0, key(t).1)) {
        for (i, &s) in group.iter().enumerate() {
            let earlier = group[..i].iter().rev().filter(|&&t| !double[t]).take(CROWD);
            let points = &segments[s].points;
            double[s] = earlier
                .into_iter()
                .any(|&t| lies_on(points, &segments[t].points, same));
        }
    }
    double
}

fn lies_on(a: &[Point], b: &[Point], same: f64) -> bool {
    let near = |(p, q): (&Point, &Point)| p.distance(*q) <= 2.0 * same;
    a.len() == b.len() && (a.iter().zip(b).all(near) || a.iter().zip(b.iter().rev()).all(near))
}

/// A walk through the part of a graph that has no dead ends.
struct Walk<'a> {
    graph: &'a Graph,
    /// How many of a node's segments are known to be used, from the front.
    next: Vec<usize>,
    /// Where on the present path a node is passed: the number of steps before it.
    position: Vec<Option<usize>>,
    loops: Vec<Vec<DirectedSegment>>,
}

impl Walk<'_> {
    /// Walks everything that can be reached from the start of `first`.
    fn from(&mut self, first: usize, used: &mut [bool], open: &mut Vec<usize>) {
        let graph = self.graph;
        let mut node = graph.ends[first][0];
        let mut path: Vec<DirectedSegment> = Vec::new();
        self.position[node] = Some(0);
        loop {
            if let Some(step) = self.choose(node, path.last().copied(), used) {
                used[step.segment] = true;
                path.push(step);
                node = graph.end_of(step);
                if let Some(k) = self.position[node] {
                    // The path has come back to itself: what it did since makes one boundary. It is
                    // taken out and the walk goes on from the same node, with the path before it.
                    let round: Vec<DirectedSegment> = path.drain(k..).collect();
                    for &s in &round {
                        self.position[graph.end_of(s)] = None;
                    }
                    // The loop's own end was just forgotten with the rest of it.
                    self.position[node] = Some(k);
                    self.loops.push(round);
                } else {
                    self.position[node] = Some(path.len());
                }
            } else {
                // Nothing leads on: what led here bounds nothing.
                self.position[node] = None;
                let Some(step) = path.pop() else { break };
                open.push(step.segment);
                node = graph.start_of(step);
            }
        }
    }

    /// The unused segment that leads straightest on; the first in the file among equals.
    fn choose(
        &mut self,
        node: usize,
        arrived: Option<DirectedSegment>,
        used: &[bool],
    ) -> Option<DirectedSegment> {
        let at = self.graph.at(node);
        // A node where thousands meet is chosen from thousands of times: what is used at the front
        // is never looked at again.
        while at.get(self.next[node]).is_some_and(|&s| used[s]) {
            self.next[node] += 1;
        }
        let unused = at[self.next[node]..].iter().filter(|&&s| !used[s]);
        let straightness = |step: DirectedSegment| {
            let Some(arrived) = arrived else { return 0.0 };
            let back = DirectedSegment {
                forward: !arrived.forward,
                ..arrived
            };
            let (from, to) = (self.graph.leaving(back), self.graph.leaving(step));
            -(from.0 * to.0 + from.1 * to.1)
        };
        let mut best: Option<(f64, DirectedSegment)> = None;
        for &segment in unused.take(CROWD) {
            let step = self.graph.step_from(segment, node);
            let s = straightness(step);
            if best.is_none_or(|(b, _)| s > b) {
                best = Some((s, step));
            }
        }
        best.map(|(_, step)| step)
    }
}
