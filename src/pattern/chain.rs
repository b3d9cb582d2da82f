//! Loose segments → closed boundaries and open lines.
//!
//! Ends at one place (within a thousandth of a millimetre) are one node of a graph. Dead ends are
//! peeled off first; what remains is walked, and each time the walk comes back to a node it has
//! passed, the loop between is one boundary. Only then are the dead ends that remain joined to
//! each other across gaps up to the join tolerance, nearest pair first. So a large tolerance never
//! pulls apart a finely divided curve, and the work grows with the number of segments.

use super::buckets::Buckets;
use crate::geometry::Point;

/// Ends nearer than this (mm) are one point without a word: files are written with three decimals.
const SAME_MM: f64 = 1e-3;

/// At a node with more lines than this, the next in the file is taken, not the straightest.
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

/// A segment in a direction.
#[derive(Clone, Copy, Debug)]
struct Step {
    segment: usize,
    forward: bool,
}

/// Segments as edges between nodes.
struct Graph {
    segments: Vec<Segment>,
    /// Node at the start and at the end of each segment.
    ends: Vec<[usize; 2]>,
    /// Place of each node: its first end in the file.
    nodes: Vec<Point>,
    /// Segments at each node, in the order of the file; a loop is listed twice.
    at: Vec<Vec<usize>>,
}

impl Graph {
    fn new(segments: Vec<Segment>, same: f64, doubles: &mut Vec<Segment>) -> Self {
        let mut nodes: Vec<Point> = Vec::new();
        let mut buckets = Buckets::new(same);
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
        let mut graph = Self {
            segments: Vec::with_capacity(segments.len()),
            ends: Vec::with_capacity(segments.len()),
            at: vec![Vec::new(); nodes.len()],
            nodes,
        };
        for ((segment, ends), double) in segments.into_iter().zip(ends).zip(double) {
            if double {
                doubles.push(segment);
                continue;
            }
            for n in ends {
                graph.at[n].push(graph.segments.len());
            }
            graph.segments.push(segment);
            graph.ends.push(ends);
        }
        graph
    }

    /// Splits the segments into closed loops and what is left.
    fn walk(&self, branches: &mut Vec<(Point, usize)>) -> (Vec<Vec<Step>>, Vec<usize>) {
        let mut used = self.dead_ends();
        let mut open: Vec<usize> = (0..used.len()).filter(|&s| used[s]).collect();
        for (node, at) in self.at.iter().enumerate() {
            let n = at.iter().filter(|&&s| !used[s]).count();
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
        let mut loops = walk.loops;
        loops.sort_by_key(|l| l.iter().map(|s| s.segment).min());
        open.sort_unstable();
        (loops, open)
    }

    /// Marks the segments that hang on a dead end, and then those that hang on them, and so on.
    fn dead_ends(&self) -> Vec<bool> {
        let mut peeled = vec![false; self.segments.len()];
        let mut degree: Vec<usize> = self.at.iter().map(Vec::len).collect();
        let mut bare: Vec<usize> = (0..degree.len()).filter(|&n| degree[n] == 1).collect();
        while let Some(node) = bare.pop() {
            let Some(&segment) = self.at[node].iter().find(|&&s| !peeled[s]) else {
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

    fn step_from(&self, segment: usize, node: usize) -> Step {
        Step {
            segment,
            forward: self.ends[segment][0] == node,
        }
    }

    fn end_of(&self, step: Step) -> usize {
        self.ends[step.segment][usize::from(step.forward)]
    }

    fn start_of(&self, step: Step) -> usize {
        self.ends[step.segment][usize::from(!step.forward)]
    }

    /// Unit direction in which `step` leaves its start.
    fn leaving(&self, step: Step) -> (f64, f64) {
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
    fn points(&self, path: &[Step]) -> Vec<Point> {
        let mut points = Vec::new();
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

    fn chain(&self, path: &[Step]) -> Chain {
        let shapes = path.iter().map(|s| self.segments[s.segment].shape);
        Chain {
            points: self.points(path),
            shape: shapes.min().expect("a path has at least one step"),
            segments: path.len(),
            closed_gap: None,
        }
    }

    fn ring(&self, path: &[Step]) -> Chain {
        let mut chain = self.chain(path);
        chain.points.pop();
        chain
    }

    /// Joins the segments in `open` where exactly two of them meet and nothing else does.
    fn lines(&self, open: &[usize]) -> Vec<Line> {
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
            let path: Vec<Step> = back
                .into_iter()
                .rev()
                .map(|s| Step {
                    forward: !s.forward,
                    ..s
                })
                .chain([Step {
                    segment: first,
                    forward: true,
                }])
                .chain(forward)
                .collect();
            let ends = [self.start_of(path[0]), self.end_of(path[path.len() - 1])];
            lines.push(Line {
                free: ends.map(|n| self.at[n].len() == 1),
                chain: self.chain(&path),
            });
        }
        lines
    }

    /// The steps that follow from `node` as long as there is just one way on.
    fn extend(&self, mut node: usize, used: &mut [bool]) -> Vec<Step> {
        let mut path = Vec::new();
        while self.at[node].len() == 2 {
            let Some(&next) = self.at[node].iter().find(|&&s| !used[s]) else {
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
    loops: Vec<Vec<Step>>,
}

impl Walk<'_> {
    /// Walks everything that can be reached from the start of `first`.
    fn from(&mut self, first: usize, used: &mut [bool], open: &mut Vec<usize>) {
        let graph = self.graph;
        let mut node = graph.ends[first][0];
        let mut path: Vec<Step> = Vec::new();
        self.position[node] = Some(0);
        loop {
            if let Some(step) = self.choose(node, path.last().copied(), used) {
                used[step.segment] = true;
                path.push(step);
                node = graph.end_of(step);
                if let Some(k) = self.position[node] {
                    let round: Vec<Step> = path.drain(k..).collect();
                    for &s in &round {
                        self.position[graph.end_of(s)] = None;
                    }
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
    fn choose(&mut self, node: usize, arrived: Option<Step>, used: &[bool]) -> Option<Step> {
        let at = &self.graph.at[node];
        while at.get(self.next[node]).is_some_and(|&s| used[s]) {
            self.next[node] += 1;
        }
        let unused = at[self.next[node]..].iter().filter(|&&s| !used[s]);
        let straightness = |step: Step| {
            let Some(arrived) = arrived else { return 0.0 };
            let back = Step {
                forward: !arrived.forward,
                ..arrived
            };
            let (from, to) = (self.graph.leaving(back), self.graph.leaving(step));
            -(from.0 * to.0 + from.1 * to.1)
        };
        let mut best: Option<(f64, Step)> = None;
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

/// An open chain, and whether each of its ends is free: nothing else ends there.
struct Line {
    chain: Chain,
    free: [bool; 2],
}

/// Joins the free ends of `lines` across gaps up to `join`, nearest pair first.
fn bridge(lines: Vec<Line>, join: f64) -> (Vec<Chain>, Vec<Line>) {
    let mate = pair_ends(&lines, join);
    let mut lines: Vec<Option<Line>> = lines.into_iter().map(Some).collect();
    let (mut rings, mut open) = (Vec::new(), Vec::new());
    // Lines with an end that has no mate first, then what is left are rings.
    for only_open in [true, false] {
        for start in 0..lines.len() {
            let end = match (mate[2 * start], mate[2 * start + 1]) {
                (None, _) => 0,
                (_, None) => 1,
                _ if only_open => continue,
                _ => 0,
            };
            if lines[start].is_none() {
                continue;
            }
            let path = follow(start, end, &mate);
            let links = path
                .iter()
                .filter_map(|&(i, end)| lines[i].take().map(|l| (l, end)))
                .collect();
            if only_open {
                open.push(join_links(links, false));
            } else {
                rings.push(join_links(links, true).chain);
            }
        }
    }
    (rings, open)
}

/// For each end (two per line: start, end) the end it is joined to.
fn pair_ends(lines: &[Line], join: f64) -> Vec<Option<usize>> {
    let end = |e: usize| {
        let points = &lines[e / 2].chain.points;
        points[if e % 2 == 0 { 0 } else { points.len() - 1 }]
    };
    let mut buckets = Buckets::new(join);
    let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
    for e in (0..2 * lines.len()).filter(|&e| lines[e / 2].free[e % 2]) {
        for f in buckets.near(end(e), join).take(8 * CROWD) {
            let gap = end(e).distance(end(f));
            let own = e / 2 == f / 2;
            // A short line must not be bent back onto itself.
            if gap <= join && !(own && length(&lines[e / 2].chain.points) <= 3.0 * gap) {
                pairs.push((gap, f, e));
            }
        }
        buckets.insert(end(e), e);
    }
    pairs.sort_unstable_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
    let mut mate = vec![None; 2 * lines.len()];
    for (_, e, f) in pairs {
        if mate[e].is_none() && mate[f].is_none() {
            (mate[e], mate[f]) = (Some(f), Some(e));
        }
    }
    mate
}

/// The lines met from `start` on, entered at its `end` (0 start, 1 end), each with the end at
/// which it is entered.
fn follow(start: usize, end: usize, mate: &[Option<usize>]) -> Vec<(usize, usize)> {
    let mut path = vec![(start, end)];
    let (mut line, mut entered) = (start, end);
    while let Some(next) = mate[2 * line + 1 - entered] {
        (line, entered) = (next / 2, next % 2);
        if line == start {
            break;
        }
        path.push((line, entered));
    }
    path
}

/// One chain of `links`, each entered at its start (0) or end (1); gaps close at their middle.
fn join_links(links: Vec<(Line, usize)>, closed: bool) -> Line {
    // Run in the direction of the line that comes first in the file.
    let first = links.iter().min_by_key(|(l, _)| l.chain.shape);
    let turn_over = first.is_some_and(|&(_, entered)| entered == 1);
    let mut joined = Line {
        chain: Chain {
            points: Vec::new(),
            shape: usize::MAX,
            segments: 0,
            closed_gap: None,
        },
        free: [true, true],
    };
    let n = links.len();
    for (i, (mut line, entered)) in links.into_iter().enumerate() {
        if entered == 1 {
            line.chain.points.reverse();
            line.free.reverse();
        }
        let chain = &mut joined.chain;
        chain.shape = chain.shape.min(line.chain.shape);
        chain.segments += line.chain.segments;
        if i == 0 {
            chain.points = line.chain.points;
            joined.free[0] = line.free[0];
        } else {
            close_gap(chain, line.chain.points);
        }
        if i + 1 == n {
            joined.free[1] = line.free[1];
        }
    }
    if closed {
        let points = std::mem::take(&mut joined.chain.points);
        let first = points[0];
        joined.chain.points = points;
        close_gap(&mut joined.chain, vec![first]);
        let last = joined.chain.points.pop();
        if let Some(last) = last {
            joined.chain.points[0] = last;
        }
    }
    if turn_over {
        joined.chain.points.reverse();
        joined.free.reverse();
    }
    joined
}

/// Appends `next` to `chain`; the two ends become one point half way between them.
fn close_gap(chain: &mut Chain, next: Vec<Point>) {
    let Some(last) = chain.points.pop() else {
        return;
    };
    let gap = Gap {
        from: last,
        to: next[0],
    };
    chain.points.push(last.towards(next[0], 0.5));
    chain.points.extend_from_slice(&next[1..]);
    if gap.size() > chain.closed_gap.map_or(SAME_MM, |g| g.size()) {
        chain.closed_gap = Some(gap);
    }
}

/// Length of a polyline in mm.
pub(super) fn length(points: &[Point]) -> f64 {
    points.windows(2).map(|w| w[0].distance(w[1])).sum()
}
