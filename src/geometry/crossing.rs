//! Where boundaries cross or overlap themselves or each other.
//!
//! A tree of boxes over runs of neighbouring edges is walked against itself, so only edges whose
//! boxes meet are compared: about n log n for boundaries that people draw. The tests use exact
//! orientation predicates (Shewchuk 1997, through the `robust` crate), so a boundary that merely
//! touches itself is told apart from one that crosses by any amount.

use robust::{Coord, orient2d};

use super::box_tree::{FirstPair, order_by_place};
use super::{Bounds, BoxTree, Outline, Point, Ring};

/// Most pairs of edges that are compared: a second or two.
const MOST_COMPARED: usize = 200_000_000;

/// So few rings are compared in the order they come in: sorting their edges costs more than it saves.
const FEW_RINGS: usize = 50;

/// A place where boundaries cross or overlap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Where, in mm.
    pub at: Point,
    /// The two edges: each is named by the index of its first vertex, rings counted through in
    /// their order, the lower index first.
    pub edges: (usize, usize),
}

impl Ring {
    /// The first place found where the ring crosses or overlaps itself, or `None`.
    ///
    /// A ring that touches itself in a point, without passing to the other side, does not cross.
    #[must_use]
    pub fn crossing(&self) -> Option<Crossing> {
        crossing(&[self.points()])
    }
}

impl Outline {
    /// The first place found where a boundary crosses or overlaps itself or another one of this
    /// outline, or `None`. Touching in a point is not crossing.
    #[must_use]
    pub fn crossing(&self) -> Option<Crossing> {
        let rings: Vec<&[Point]> = self.rings().map(Ring::points).collect();
        crossing(&rings)
    }
}

/// The first place found where closed boundaries cross or overlap themselves or each other.
///
/// Boundaries whose edges lie over each other so much that it takes more than two hundred million
/// comparisons to tell count as crossing, at their first vertex.
///
/// Each of `rings` is closed from its last vertex to its first; no two neighbours may be equal.
#[must_use]
pub fn crossing(rings: &[&[Point]]) -> Option<Crossing> {
    let edges = RingEdges::new(rings);
    match edges.first(|i, j| edges.crossing(i, j)) {
        FirstPair::Found(crossing) => Some(crossing),
        FirstPair::None => None,
        // Whoever wants to know that nothing crosses must not be told so unproved.
        FirstPair::GivenUp => Some(Crossing {
            at: edges.all[0].a,
            edges: (0, 0),
        }),
    }
}

/// The places where closed boundaries cross or overlap themselves or each other, as in
/// [`crossing`]; no more than `most`, each pair of edges once.
#[must_use]
pub fn crossings(rings: &[&[Point]], most: usize) -> Vec<Crossing> {
    let edges = RingEdges::new(rings);
    let mut found = Vec::new();
    _ = edges.first(|i, j| {
        found.extend(
            edges
                .crossing(i, j)
                .map(|at| Crossing { at, edges: (i, j) }),
        );
        found.get(most.saturating_sub(1)).map(|last| last.at)
    });
    found.sort_unstable_by_key(|c| c.edges);
    found.dedup_by_key(|c| c.edges);
    found
}

/// The first place found where two different ones of `rings` pass through each other, edge through
/// edge. Rings that touch, share edges or cross themselves are not looked at. The search is given up
/// after two hundred million comparisons, so `None` does not prove that there is no such place.
#[must_use]
pub fn crossing_of_two(rings: &[&[Point]]) -> Option<Crossing> {
    let boxes: Vec<Option<Bounds>> = (rings.iter())
        .map(|r| Bounds::of(r.iter().copied()))
        .collect();
    let drawn: Vec<(Bounds, usize)> = (boxes.iter().enumerate())
        .filter_map(|(ring, bounds)| Some(((*bounds)?, ring)))
        .collect();
    // Most drawings have their outlines side by side; then there is nothing to compare.
    let tree = BoxTree::by_place(drawn.len(), |i| (drawn[i].0, 0.0));
    let near: Vec<(Bounds, usize)> = (0..drawn.len())
        .filter(|&i| tree.has_company(i))
        .map(|i| drawn[i])
        .collect();
    let order: Vec<usize> = order_by_place(near.len(), |i| (near[i].0, 0.0))
        .into_iter()
        .map(|i| near[i].1)
        .collect();
    let placed: Vec<&[Point]> = order.iter().map(|&r| rings[r]).collect();
    let mut edges = RingEdges::new(&placed);
    // A tree over whole rings is of no use where they lie in each other, one over edges is.
    let numbers = if placed.len() > FEW_RINGS {
        edges.sort_by_place()
    } else {
        (0..edges.all.len()).collect()
    };
    let found = edges.first(|i, j| {
        (edges.all[i].ring != edges.all[j].ring)
            .then(|| edges.proper_crossing(i, j))
            .flatten()
    });
    // Given up, nothing is known; the caller asks only to be able to warn.
    let found = found.found()?;
    // Back from the edge's number in the order by place to that in the caller's order.
    let given = |edge: usize| {
        let ring = edges.all[edge].ring as usize;
        let before: usize = placed[..ring].iter().map(|r| r.len()).sum();
        let start: usize = rings[..order[ring]].iter().map(|r| r.len()).sum();
        start + numbers[edge] - before
    };
    let (e, f) = (given(found.edges.0), given(found.edges.1));
    Some(Crossing {
        at: found.at,
        edges: (e.min(f), e.max(f)),
    })
}

/// One directed edge. There are millions of them in a large drawing, so they are kept small.
#[derive(Clone, Copy)]
struct RingEdge {
    a: Point,
    b: Point,
    /// The edge that ends where this one starts.
    previous: u32,
    /// Which ring it belongs to.
    ring: u32,
}

impl RingEdge {
    fn bounds(&self) -> Bounds {
        Bounds::at(self.a).union(&Bounds::at(self.b))
    }
}

struct RingEdges {
    all: Vec<RingEdge>,
}

impl RingEdges {
    fn new(rings: &[&[Point]]) -> Self {
        let mut all = Vec::with_capacity(rings.iter().map(|r| r.len()).sum());
        for (number, ring) in rings.iter().enumerate() {
            let first = all.len();
            let n = ring.len();
            all.extend((0..n).map(|i| RingEdge {
                a: ring[i],
                b: ring[(i + 1) % n],
                previous: (first + (i + n - 1) % n) as u32,
                ring: number as u32,
            }));
        }
        Self { all }
    }

    /// The first pair of edges, with boxes that meet, for which `test` finds a place.
    fn first(&self, mut test: impl FnMut(usize, usize) -> Option<Point>) -> FirstPair<Crossing> {
        let tree = BoxTree::in_order(self.all.len(), |i| (self.all[i].bounds(), 0.0));
        tree.first_pair(MOST_COMPARED, |i, j| {
            test(i, j).map(|at| Crossing { at, edges: (i, j) })
        })
    }

    /// Brings edges that are near each other side by side, whatever ring they belong to; answers
    /// the number that each had. Only for tests that do not ask for an edge's neighbours.
    fn sort_by_place(&mut self) -> Vec<usize> {
        let order = order_by_place(self.all.len(), |i| (self.all[i].bounds(), 0.0));
        // Each is put where it belongs along the cycles of the order: a copy would take as much again.
        let mut is_placed = vec![false; order.len()];
        for start in 0..order.len() {
            let (mut to, first) = (start, self.all[start]);
            while !is_placed[to] {
                is_placed[to] = true;
                let from = order[to];
                self.all[to] = if from == start { first } else { self.all[from] };
                to = from;
            }
        }
        order
    }

    /// Where edges `i` and `j` pass through each other between their ends.
    fn proper_crossing(&self, i: usize, j: usize) -> Option<Point> {
        let (e, f) = (self.all[i], self.all[j]);
        let through = e.bounds().meets(&f.bounds())
            && side(f, e.a) * side(f, e.b) < 0
            && side(e, f.a) * side(e, f.b) < 0;
        through.then(|| intersection(e, f))
    }

    /// Where edges `i` and `j` cross or overlap.
    fn crossing(&self, i: usize, j: usize) -> Option<Point> {
        let (e, f) = (self.all[i], self.all[j]);
        if !e.bounds().meets(&f.bounds()) {
            return None;
        }
        let (e_a, e_b) = (side(f, e.a), side(f, e.b));
        if e_a == 0 && e_b == 0 {
            return overlap(e, f);
        }
        let (f_a, f_b) = (side(e, f.a), side(e, f.b));
        if e_a * e_b < 0 && f_a * f_b < 0 {
            return Some(intersection(e, f));
        }
        // What is left are touching vertices. Each is judged once, by the edge that starts there.
        if f.previous as usize == i || e.previous as usize == j {
            return None;
        }
        if e.a == f.a {
            return self.passes(e, f).then_some(e.a);
        }
        if e_a == 0 && e_b != 0 && strictly_between(f, e.a) {
            let before = side(f, self.before(e));
            return (before * e_b < 0).then_some(e.a);
        }
        if f_a == 0 && f_b != 0 && strictly_between(e, f.a) {
            let before = side(e, self.before(f));
            return (before * f_b < 0).then_some(f.a);
        }
        None
    }

    /// The vertex before the start of `edge`.
    fn before(&self, edge: RingEdge) -> Point {
        self.all[edge.previous as usize].a
    }

    /// Whether two boundaries that share the vertex where `e` and `f` start change sides there.
    fn passes(&self, e: RingEdge, f: RingEdge) -> bool {
        let (before_e, before_f) = (self.before(e), self.before(f));
        let inside = |p: Point| {
            // Left of the corner before → vertex → b, whether it turns left or right.
            let left_in = orientation(before_e, e.a, p) > 0;
            let left_out = orientation(e.a, e.b, p) > 0;
            if orientation(before_e, e.a, e.b) >= 0 {
                left_in && left_out
            } else {
                left_in || left_out
            }
        };
        let on_corner = |p: Point| {
            let on_ray =
                |far: Point| orientation(e.a, far, p) == 0 && (far - e.a).dot(p - e.a) > 0.0;
            on_ray(before_e) || on_ray(e.b)
        };
        // Along a shared ray the edges overlap, which the pair of those edges reports.
        !on_corner(before_f) && !on_corner(f.b) && inside(before_f) != inside(f.b)
    }
}

/// −1, 0 or 1: `p` lies right of, on or left of the line through `edge`. Exact.
fn side(edge: RingEdge, p: Point) -> i32 {
    orientation(edge.a, edge.b, p)
}

fn orientation(a: Point, b: Point, c: Point) -> i32 {
    let coord = |p: Point| Coord { x: p.x, y: p.y };
    let twice_area = orient2d(coord(a), coord(b), coord(c));
    i32::from(twice_area > 0.0) - i32::from(twice_area < 0.0)
}

/// Whether `p`, known to be on the line through `edge`, lies between its ends.
fn strictly_between(edge: RingEdge, p: Point) -> bool {
    let (a, b, p) = along(edge.a, edge.b, p);
    a.min(b) < p && p < a.max(b)
}

/// The coordinates of `a`, `b` and `p` along the axis that the line from `a` to `b` follows most.
fn along(a: Point, b: Point, p: Point) -> (f64, f64, f64) {
    if (b.x - a.x).abs() >= (b.y - a.y).abs() {
        (a.x, b.x, p.x)
    } else {
        (a.y, b.y, p.y)
    }
}

/// The middle of the stretch that two edges on one line share, if it is longer than a point.
fn overlap(e: RingEdge, f: RingEdge) -> Option<Point> {
    let (a, b, c) = along(e.a, e.b, f.a);
    let (_, _, d) = along(e.a, e.b, f.b);
    let (low, high) = (a.min(b).max(c.min(d)), a.max(b).min(c.max(d)));
    (low < high).then(|| {
        let t = ((low + high) / 2.0 - a) / (b - a);
        e.a.towards(e.b, t)
    })
}

/// Where the lines through two edges that cross properly meet.
fn intersection(e: RingEdge, f: RingEdge) -> Point {
    let (u, v) = (e.b - e.a, f.b - f.a);
    let t = (f.a - e.a).cross(v) / u.cross(v);
    e.a.towards(e.b, t.clamp(0.0, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn found(points: &[(f64, f64)]) -> Option<Crossing> {
        let points: Vec<Point> = points.iter().map(|&(x, y)| Point::new(x, y)).collect();
        crossing(&[&points])
    }

    #[test]
    fn a_bow_tie_crosses_in_its_middle() {
        let c = found(&[(0.0, 0.0), (10.0, 10.0), (10.0, 0.0), (0.0, 10.0)]).unwrap();
        assert_eq!(c.at, Point::new(5.0, 5.0));
        assert_eq!(c.edges, (0, 2));
    }

    #[test]
    fn every_crossing_of_a_star_is_found_once() {
        // A pentagram crosses itself five times.
        let star = [
            (0.0, 10.0),
            (6.0, -8.0),
            (-9.5, 3.0),
            (9.5, 3.0),
            (-6.0, -8.0),
        ];
        let star = star.map(|(x, y)| Point::new(x, y));
        assert_eq!(crossings(&[&star], 100).len(), 5);
        assert_eq!(crossings(&[&star], 2).len(), 2);
    }

    #[test]
    fn plain_shapes_do_not_cross() {
        assert_eq!(found(&[(0.0, 0.0), (4.0, 0.0), (4.0, 3.0)]), None);
        // A vertex in the middle of a straight edge.
        assert_eq!(
            found(&[(0.0, 0.0), (2.0, 0.0), (4.0, 0.0), (4.0, 3.0)]),
            None
        );
    }

    #[test]
    fn touching_at_a_vertex_is_not_crossing_but_passing_through_it_is() {
        // Two squares that share the corner (2, 2), walked as one boundary without passing.
        let touch = [
            (0.0, 0.0),
            (2.0, 0.0),
            (2.0, 2.0),
            (4.0, 2.0),
            (4.0, 4.0),
            (2.0, 4.0),
            (2.0, 2.0),
            (0.0, 2.0),
        ];
        assert_eq!(found(&touch), None);
        let pass = [
            (0.0, 0.0),
            (2.0, 0.0),
            (2.0, 2.0),
            (2.0, 4.0),
            (4.0, 4.0),
            (4.0, 2.0),
            (2.0, 2.0),
            (0.0, 2.0),
        ];
        assert_eq!(found(&pass).unwrap().at, Point::new(2.0, 2.0));
    }

    #[test]
    fn a_vertex_on_an_edge_counts_only_if_the_boundary_goes_through() {
        let touch = [(0.0, 0.0), (4.0, 0.0), (4.0, 4.0), (2.0, 0.0), (0.0, 4.0)];
        assert_eq!(found(&touch), None);
        let through = [
            (0.0, 0.0),
            (4.0, 0.0),
            (4.0, 4.0),
            (2.0, 0.0),
            (1.0, -2.0),
            (0.0, 4.0),
        ];
        assert!(found(&through).is_some());
    }

    #[test]
    fn a_needle_of_no_width_overlaps_itself() {
        let needle = [
            (0.0, 0.0),
            (4.0, 0.0),
            (4.0, 4.0),
            (9.0, 4.0),
            (4.0, 4.0),
            (0.0, 4.0),
        ];
        assert!(found(&needle).is_some());
    }

    #[test]
    fn an_opening_that_leaves_its_outline_crosses_it() {
        let ring = |points: &[(f64, f64)]| {
            Ring::new(points.iter().map(|&(x, y)| Point::new(x, y))).unwrap()
        };
        let outer = ring(&[(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)]);
        let inside = ring(&[(1.0, 1.0), (3.0, 1.0), (3.0, 3.0)]);
        let leaving = ring(&[(5.0, 5.0), (12.0, 5.0), (6.0, 8.0)]);
        let with = |opening: &Ring| Outline {
            outer: outer.clone(),
            openings: vec![opening.clone()],
        };
        assert_eq!(with(&inside).crossing(), None);
        assert_eq!(with(&leaving).crossing().unwrap().at.x, 9.0);
    }

    #[test]
    fn neighbours_that_share_an_edge_do_not_cross_but_overlapping_ones_do() {
        let square = |x: f64, y: f64| {
            [(x, y), (x + 2.0, y), (x + 2.0, y + 2.0), (x, y + 2.0)].map(|(x, y)| Point::new(x, y))
        };
        let (a, beside, over) = (square(0.0, 0.0), square(2.0, 0.0), square(1.0, 1.0));
        assert_eq!(crossing_of_two(&[&a, &beside]), None);
        let found = crossing_of_two(&[&a, &over]).unwrap();
        assert_eq!((found.at, found.edges), (Point::new(2.0, 1.0), (1, 4)));
    }

    #[test]
    fn a_crossing_is_found_among_many_squares_in_any_order() {
        let side = 60;
        let square = |i: usize| {
            let (x, y) = ((i % side * 3) as f64, (i / side * 3) as f64);
            [(x, y), (x + 2.0, y), (x + 2.0, y + 2.0), (x, y + 2.0)].map(|(x, y)| Point::new(x, y))
        };
        let n = side * side;
        let mut squares: Vec<[Point; 4]> = (0..n).map(|i| square(i * 1009 % n)).collect();
        let whole = |squares: &[[Point; 4]]| {
            let rings: Vec<&[Point]> = squares.iter().map(|s| s.as_slice()).collect();
            crossing_of_two(&rings)
        };
        assert_eq!(whole(&squares), None);
        let moved = squares[7].map(|p| p + crate::geometry::Vector::new(1.5, 1.5));
        squares.push(moved);
        let found = whole(&squares).unwrap();
        assert_eq!(
            found.edges.1 / 4,
            n,
            "the square that was put in last is one of the two"
        );
    }

    #[test]
    fn a_long_wavy_boundary_is_searched_quickly_and_found_whole() {
        let n = 200_000;
        let mut points: Vec<Point> = (0..n)
            .map(|i| {
                let t = f64::from(i) / f64::from(n) * std::f64::consts::TAU;
                let (s, c) = crate::geometry::trig::sin_cos_radians(t);
                let (wave, _) = crate::geometry::trig::sin_cos_radians(300.0 * t);
                Point::new((500.0 + 20.0 * wave) * c, (500.0 + 20.0 * wave) * s)
            })
            .collect();
        assert_eq!(crossing(&[&points]), None);
        points.swap(1000, 1002);
        assert!(crossing(&[&points]).is_some());
    }
}
