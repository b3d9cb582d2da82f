//! The shortest way that was found through a number of stops, each of which may be entered at any
//! of several points, where some stops have to come before others.
//!
//! Nearest neighbour first, then 2-opt (reverse a stretch) and Or-opt (move one to three stops
//! elsewhere) among near stops until neither helps, then small disturbances that are kept where they
//! shorten the way (iterated local search). In between, dynamic programming chooses the best point
//! of each stop for the order at hand. All of it is repeatable: the number of disturbances follows
//! from the number of stops, and the random choices have a fixed seed.
//!
//! Sources: Croes 1958 (2-opt), Or 1976 (Or-opt), Bentley 1992 (neighbour lists, don't-look bits),
//! Lourenço, Martin and Stützle 2003 (iterated local search); all from memory.

use std::collections::VecDeque;

use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng as _;

use crate::geometry::{Bounds, BoxTree, Point};
use crate::memo::{Asked, Memo};

/// Near stops that are tried as neighbours of each. Larger: slower; smaller: longer ways.
const N_NEAR: usize = 10;
/// Disturbances for each stop. Larger: slower; smaller: ways some per cent longer.
const KICKS_PER_STOP: usize = 8;
/// With fewer stops than this, fewer disturbances for each find as short a way.
const MANY: usize = 40;
/// Most disturbances at all, so that thousands of pieces take a second and not a minute.
const MOST_KICKS: usize = 4000;
/// Stretches that a disturbance exchanges are at most this many stops long.
const LONGEST_KICK: usize = 30;
/// Rounds of ordering and choosing points; the last ones seldom change anything.
const N_ROUNDS: usize = 3;
/// A gain below this (mm) is noise of a sum.
const NO_GAIN_MM: f64 = 1e-7;
/// Seed of the disturbances.
const SEED: u64 = 0x7761_7270;

/// A stop in the order of the tour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Visit {
    /// Index of the stop.
    pub stop: usize,
    /// Index of the point at which it is entered and left.
    pub point: usize,
}

/// Returns a short way from `start` through all `stops`, each visited once at one of its points.
///
/// `before` holds pairs of stops of which the first has to come before the second. The way ends
/// anywhere. A stop without points is not visited; pairs that contradict each other are kept as far
/// as they can be.
///
/// ```
/// use warpwise::geometry::Point;
/// use warpwise::plan::tour;
/// let at = |x: f64| vec![Point::new(x, 0.0)];
/// let order = tour(Point::new(0.0, 0.0), &[at(3.0), at(1.0), at(2.0)], &[(0, 2)]);
/// let stops: Vec<usize> = order.iter().map(|visit| visit.stop).collect();
/// assert_eq!(stops, [1, 0, 2]);
/// ```
#[must_use]
pub fn tour(start: Point, stops: &[Vec<Point>], before: &[(usize, usize)]) -> Vec<Visit> {
    /// Tours are remembered until so many numbers were asked for; a point has two.
    const MOST_ASKED: usize = 200_000;
    static KNOWN: Memo<Vec<Visit>> = Memo::new(MOST_ASKED);
    let asked = Asked::default().points(&[start]).count(stops.len());
    let asked = stops
        .iter()
        .fold(asked, |asked, points| asked.points(points));
    let asked = (before.iter()).fold(asked, |asked, (a, b)| asked.count(*a).count(*b));
    KNOWN.get(asked, || tour_anew(start, stops, before))
}

fn tour_anew(start: Point, stops: &[Vec<Point>], before: &[(usize, usize)]) -> Vec<Visit> {
    let visited: Vec<usize> = (0..stops.len()).filter(|&s| !stops[s].is_empty()).collect();
    let index_of = |stop: usize| visited.binary_search(&stop).ok();
    let before: Vec<(usize, usize)> = before
        .iter()
        .filter_map(|&(a, b)| Some((index_of(a)?, index_of(b)?)))
        .filter(|(a, b)| a != b)
        .collect();
    let stops: Vec<&[Point]> = visited.iter().map(|&s| stops[s].as_slice()).collect();
    if stops.is_empty() {
        return Vec::new();
    }
    let mut chosen = vec![0; stops.len()];
    let mut search = Search::new(start, &stops, &chosen, &before);
    let mut best = f64::INFINITY;
    let mut result = Vec::new();
    for round in 0..N_ROUNDS {
        let order = search.stops();
        chosen = best_points(start, &stops, &order, chosen);
        search.move_to(&stops, &chosen);
        search.improve(round as u64);
        let order = search.stops();
        chosen = best_points(start, &stops, &order, chosen);
        let points = order.iter().map(|&s| stops[s][chosen[s]]);
        let length = way_length(start, points);
        if length >= best - NO_GAIN_MM {
            break;
        }
        best = length;
        result = order
            .iter()
            .map(|&s| Visit {
                stop: visited[s],
                point: chosen[s],
            })
            .collect();
    }
    result
}

/// Length in mm of the way from `start` through `points`.
#[must_use]
pub fn way_length(start: Point, points: impl IntoIterator<Item = Point>) -> f64 {
    let mut at = start;
    let mut length = 0.0;
    for point in points {
        length += at.distance(point);
        at = point;
    }
    length
}

/// The point of each stop that makes the way through `order` shortest, by dynamic programming.
fn best_points(
    start: Point,
    stops: &[&[Point]],
    order: &[usize],
    mut chosen: Vec<usize>,
) -> Vec<usize> {
    // For each point of the stop: length of the shortest way to it.
    let mut lengths: Vec<f64> = stops[order[0]].iter().map(|&p| start.distance(p)).collect();
    let mut came_from: Vec<Vec<usize>> = vec![vec![0; lengths.len()]];
    for pair in order.windows(2) {
        let (from, to) = (stops[pair[0]], stops[pair[1]]);
        let (mut next, mut best) = (Vec::new(), Vec::new());
        for &q in to {
            let (mut least, mut at) = (f64::INFINITY, 0);
            for (i, &p) in from.iter().enumerate() {
                let length = lengths[i] + p.distance(q);
                if length < least {
                    (least, at) = (length, i);
                }
            }
            next.push(least);
            best.push(at);
        }
        lengths = next;
        came_from.push(best);
    }
    let mut at = (0..lengths.len())
        .min_by(|&a, &b| lengths[a].total_cmp(&lengths[b]))
        .unwrap_or(0);
    for (&stop, from) in order.iter().zip(&came_from).rev() {
        chosen[stop] = at;
        at = from[at];
    }
    chosen
}

/// An order that is being improved. Node 0 is the start, node s + 1 is stop s.
struct Search {
    points: Vec<Point>,
    /// Nodes that have to come later than each.
    later: Vec<Vec<usize>>,
    /// Nodes that have to come earlier than each.
    earlier: Vec<Vec<usize>>,
    near: Vec<Vec<usize>>,
    order: Vec<usize>,
    /// Place of each node in `order`.
    place: Vec<usize>,
}

impl Search {
    /// The nearest allowed stop next, again and again.
    fn new(start: Point, stops: &[&[Point]], chosen: &[usize], before: &[(usize, usize)]) -> Self {
        let n = stops.len() + 1;
        let mut search = Self {
            points: vec![start; n],
            later: vec![Vec::new(); n],
            earlier: vec![Vec::new(); n],
            near: Vec::new(),
            order: Vec::with_capacity(n),
            place: vec![0; n],
        };
        for &(a, b) in before {
            search.later[a + 1].push(b + 1);
            search.earlier[b + 1].push(a + 1);
        }
        search.move_to(stops, chosen);
        let mut open: Vec<usize> = (1..n).collect();
        let mut is_placed = vec![false; n];
        search.order.push(0);
        let mut at = start;
        while !open.is_empty() {
            // What is placed is left out of the tree when it makes up half of it.
            let n_open = open.len();
            let points = &search.points;
            let tree = BoxTree::by_place(n_open, |k| (Bounds::at(points[open[k]]), 0.0));
            for _ in 0..n_open.div_ceil(2) {
                let is_free = |node: usize| {
                    !is_placed[node] && search.earlier[node].iter().all(|&e| is_placed[e])
                };
                let nearest = tree
                    .nearest(at)
                    .map(|k| open[k])
                    .find(|&node| is_free(node));
                // A circle of conditions: go on with the first.
                let first = || open.iter().copied().find(|&node| !is_placed[node]);
                let Some(node) = nearest.or_else(first) else {
                    break;
                };
                is_placed[node] = true;
                at = points[node];
                search.order.push(node);
            }
            open.retain(|&node| !is_placed[node]);
        }
        search.number();
        search
    }

    fn stops(&self) -> Vec<usize> {
        self.order[1..].iter().map(|node| node - 1).collect()
    }

    /// Takes other points for the stops.
    fn move_to(&mut self, stops: &[&[Point]], chosen: &[usize]) {
        for (s, &point) in chosen.iter().enumerate() {
            self.points[s + 1] = stops[s][point];
        }
        let n = self.points.len();
        let tree = BoxTree::by_place(n, |node| (Bounds::at(self.points[node]), 0.0));
        let near = |node: usize| {
            let others = tree.nearest(self.points[node]);
            let others = others.filter(|&other| other != node && other != 0);
            others.take(N_NEAR).collect()
        };
        self.near = (0..n).map(near).collect();
    }

    fn number(&mut self) {
        self.number_between(0, self.order.len());
    }

    fn number_between(&mut self, from: usize, to: usize) {
        for i in from..to {
            self.place[self.order[i]] = i;
        }
    }

    fn distance(&self, a: usize, b: usize) -> f64 {
        self.points[a].distance(self.points[b])
    }

    /// Distance between the nodes at two places; none beyond the end, which is open.
    fn step(&self, i: usize, j: usize) -> f64 {
        match (self.order.get(i), self.order.get(j)) {
            (Some(&a), Some(&b)) => self.distance(a, b),
            _ => 0.0,
        }
    }

    fn length(&self) -> f64 {
        way_length(
            self.points[0],
            self.order[1..].iter().map(|&a| self.points[a]),
        )
    }

    /// Local search, then disturbances.
    fn improve(&mut self, stream: u64) {
        let all: Vec<usize> = self.order.clone();
        self.descend(all);
        let n = self.order.len();
        if n < 5 {
            return;
        }
        let mut random = Pcg32::new(SEED, stream);
        let mut below = |n: usize| ((u64::from(random.next_u32()) * n as u64) >> 32) as usize;
        let mut best = self.length();
        let n_kicks = KICKS_PER_STOP * n * n.min(MANY) / MANY;
        for _ in 0..n_kicks.min(MOST_KICKS) {
            let longest = LONGEST_KICK.min((n - 1) / 2);
            let (first, second) = (1 + below(longest), 1 + below(longest));
            let from = 1 + below(n - first - second);
            let kept = self.order.clone();
            let (middle, to) = (from + first, from + first + second);
            if !self.may_exchange(from, middle, to) {
                continue;
            }
            self.order[from..to].rotate_left(first);
            self.number_between(from, to);
            let seams = [from - 1, from, from + second - 1, from + second, to - 1, to];
            let touched = seams.iter().filter_map(|&i| self.order.get(i).copied());
            self.descend(touched.collect());
            let length = self.length();
            if length < best - NO_GAIN_MM {
                best = length;
            } else {
                self.order = kept;
                self.number();
            }
        }
    }

    /// Applies improving moves until none is left around any node that was touched.
    fn descend(&mut self, nodes: Vec<usize>) {
        let mut is_waiting = vec![false; self.points.len()];
        let mut waiting = VecDeque::new();
        for node in nodes {
            if !std::mem::replace(&mut is_waiting[node], true) {
                waiting.push_back(node);
            }
        }
        while let Some(node) = waiting.pop_front() {
            is_waiting[node] = false;
            while let Some(touched) = self.reverse_at(node).or_else(|| self.carry_from(node)) {
                for node in touched {
                    if !std::mem::replace(&mut is_waiting[node], true) {
                        waiting.push_back(node);
                    }
                }
            }
        }
    }

    /// 2-opt: reverses the stretch that brings `node` and a near node together, if that helps.
    fn reverse_at(&mut self, node: usize) -> Option<Vec<usize>> {
        let last = self.order.len() - 1;
        let i = self.place[node];
        for k in 0..self.near[node].len() {
            let j = self.place[self.near[node][k]];
            // `node` and its new neighbour as both left ends, then as both right ends.
            let (low, high) = (i.min(j), i.max(j));
            for (from, to) in [(low + 1, high), (low, high.saturating_sub(1))] {
                if from >= 1 && from < to && self.try_reverse(from, to) {
                    return Some(self.around(from, to));
                }
            }
        }
        // The open end: what follows `node` the other way round.
        if i + 1 < last && self.try_reverse(i + 1, last) {
            return Some(self.around(i + 1, last));
        }
        None
    }

    fn around(&self, from: usize, to: usize) -> Vec<usize> {
        let places = [from - 1, from, to, to + 1];
        let nodes = places.iter().filter_map(|&i| self.order.get(i).copied());
        nodes.collect()
    }

    fn try_reverse(&mut self, from: usize, to: usize) -> bool {
        let old = self.step(from - 1, from) + self.step(to, to + 1);
        let new = self.step(from - 1, to) + self.step(from, to + 1);
        if new > old - NO_GAIN_MM || !self.may_reverse(from, to) {
            return false;
        }
        self.order[from..=to].reverse();
        self.number_between(from, to + 1);
        true
    }

    /// Or-opt: carries one to three stops that begin or end at `node` to a near node.
    fn carry_from(&mut self, node: usize) -> Option<Vec<usize>> {
        if node == 0 {
            return None;
        }
        let last = self.order.len() - 1;
        let i = self.place[node];
        for length in 1..=3 {
            for from in [i, (i + 1).saturating_sub(length)] {
                let to = from + length - 1;
                if from < 1 || to > last {
                    continue;
                }
                let freed =
                    self.step(from - 1, from) + self.step(to, to + 1) - self.step(from - 1, to + 1);
                for k in 0..self.near[node].len() {
                    let j = self.place[self.near[node][k]];
                    if (from..=to).contains(&j) {
                        continue;
                    }
                    // Into the gap after j, then into the one before it.
                    for gap in [j, j.wrapping_sub(1)] {
                        if gap != usize::MAX
                            && let Some(touched) = self.try_carry((from, to), gap, freed)
                        {
                            return Some(touched);
                        }
                    }
                }
            }
        }
        None
    }

    /// Moves the stretch between the places `gap` and `gap + 1`, either way round, if that gains.
    fn try_carry(
        &mut self,
        (from, to): (usize, usize),
        gap: usize,
        freed: f64,
    ) -> Option<Vec<usize>> {
        if (from - 1..=to).contains(&gap) {
            return None;
        }
        let opened = self.step(gap, gap + 1);
        let straight = self.step(gap, from) + self.step(to, gap + 1) - opened;
        let turned = self.step(gap, to) + self.step(from, gap + 1) - opened;
        let is_turned = turned < straight;
        if straight.min(turned) > freed - NO_GAIN_MM {
            return None;
        }
        let jumped = if gap > to {
            self.may_exchange(from, to + 1, gap + 1)
        } else {
            self.may_exchange(gap + 1, from, to + 1)
        };
        if !jumped || is_turned && !self.may_reverse(from, to) {
            return None;
        }
        if is_turned {
            self.order[from..=to].reverse();
        }
        let length = to + 1 - from;
        let (first, end) = if gap > to {
            self.order[from..=gap].rotate_left(length);
            (from, gap + 1)
        } else {
            self.order[gap + 1..=to].rotate_right(length);
            (gap + 1, to + 1)
        };
        self.number_between(first, end);
        let places = [
            first - 1,
            first,
            first + length - 1,
            first + length,
            end - length - 1,
            end - length,
            end - 1,
            end,
        ];
        let nodes = places.iter().filter_map(|&i| self.order.get(i).copied());
        Some(nodes.collect())
    }

    /// Whether the stretch may run backwards: nothing in it has to come before anything in it.
    fn may_reverse(&self, from: usize, to: usize) -> bool {
        self.order[from..=to].iter().all(|&node| {
            let mut later = self.later[node].iter();
            !later.any(|&l| (from..=to).contains(&self.place[l]))
        })
    }

    /// Whether the stretches from..middle and middle..to may change places.
    fn may_exchange(&self, from: usize, middle: usize, to: usize) -> bool {
        // The shorter one is asked.
        if middle - from <= to - middle {
            self.order[from..middle].iter().all(|&node| {
                let mut later = self.later[node].iter();
                !later.any(|&l| (middle..to).contains(&self.place[l]))
            })
        } else {
            self.order[middle..to].iter().all(|&node| {
                let mut earlier = self.earlier[node].iter();
                !earlier.any(|&e| (from..middle).contains(&self.place[e]))
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// `n` points spread over a square of 1000 mm.
    fn scattered(n: usize, stream: u64) -> Vec<Vec<Point>> {
        let mut random = Pcg32::new(7, stream);
        let mut unit = || f64::from(random.next_u32()) / f64::from(u32::MAX) * 1000.0;
        (0..n).map(|_| vec![Point::new(unit(), unit())]).collect()
    }

    fn length(stops: &[Vec<Point>], visits: &[Visit]) -> f64 {
        let points = visits.iter().map(|v| stops[v.stop][v.point]);
        way_length(Point::default(), points)
    }

    #[test]
    fn a_small_tour_is_the_shortest_of_all() {
        let stops = scattered(7, 1);
        let found = length(&stops, &tour(Point::default(), &stops, &[]));
        let mut best = f64::INFINITY;
        let mut order: Vec<usize> = (0..7).collect();
        permutations(&mut order, 0, &mut |order| {
            let points = order.iter().map(|&s| stops[s][0]);
            best = best.min(way_length(Point::default(), points));
        });
        assert!((found - best).abs() < 1e-6, "{found} instead of {best}");
    }

    fn permutations(order: &mut Vec<usize>, from: usize, told: &mut impl FnMut(&[usize])) {
        if from == order.len() {
            return told(order);
        }
        for k in from..order.len() {
            order.swap(from, k);
            permutations(order, from + 1, told);
            order.swap(from, k);
        }
    }

    #[test]
    fn conditions_hold_and_every_stop_is_visited_once() {
        let stops = scattered(60, 2);
        let before: Vec<(usize, usize)> = (0..59).step_by(2).map(|a| (a + 1, a)).collect();
        let visits = tour(Point::default(), &stops, &before);
        let mut place = vec![usize::MAX; stops.len()];
        for (i, visit) in visits.iter().enumerate() {
            assert_eq!(place[visit.stop], usize::MAX);
            place[visit.stop] = i;
        }
        assert!(place.iter().all(|&p| p < 60));
        assert!(before.iter().all(|&(a, b)| place[a] < place[b]));
    }

    #[test]
    fn a_stop_is_entered_where_the_way_is_shortest() {
        let stops = vec![
            vec![Point::new(0.0, 90.0), Point::new(0.0, 10.0)],
            vec![Point::new(0.0, 200.0), Point::new(0.0, 20.0)],
        ];
        let visits = tour(Point::default(), &stops, &[]);
        assert_eq!(length(&stops, &visits), 20.0);
    }

    #[test]
    fn nothing_and_one_and_a_circle_of_conditions_are_no_trouble() {
        assert!(tour(Point::default(), &[], &[]).is_empty());
        assert!(tour(Point::default(), &[vec![]], &[]).is_empty());
        assert_eq!(tour(Point::default(), &scattered(1, 3), &[]).len(), 1);
        let circle = [(0, 1), (1, 2), (2, 0)];
        assert_eq!(tour(Point::default(), &scattered(3, 4), &circle).len(), 3);
    }
}
