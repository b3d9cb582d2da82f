//! A polygon with openings as a few convex parts.
//!
//! Triangles from ear clipping are merged across shared edges as long as the union stays convex
//! (Hertel and Mehlhorn 1983). The number of parts depends on the triangles and on the order of
//! merging, so several of both are tried and the fewest parts win: every part costs time in every
//! collision test.

use std::collections::BTreeMap;

use geo::{Coord, LineString, Polygon, TriangulateEarcut};

use super::random::Random;
use crate::geometry::{Outline, Point, Ring, signed_area};

/// How many merging orders to try. More: slower start; fewer: more parts on knobbly shapes.
const N_ORDERS: usize = 24;
/// From how many first vertices to clip ears, which gives other triangles, and of outlines of at
/// most how many vertices: with hundreds of them the first layout would have to wait.
const N_FIRST_VERTICES: usize = 10;
const MOST_VERTICES: usize = 40;

/// Convex parts, each counter-clockwise, whose union is `outline`.
///
/// Where no proper triangulation is found (the outline crosses itself), the convex hull stands for
/// the shape, which is larger but never wrong.
pub(super) fn parts(outline: &Outline) -> Vec<Vec<Point>> {
    if is_convex(outline) {
        return vec![hull(outline.outer.points())];
    }
    let Some(mesh) = triangulate(outline) else {
        return vec![hull(outline.outer.points())];
    };
    let mut best = fewest_parts(&mesh);
    for other in other_meshes(outline) {
        let parts = fewest_parts(&other);
        if parts.len() < best.len() {
            best = parts;
        }
    }
    best
}

/// Triangulations of `outline` that start at other vertices.
fn other_meshes(outline: &Outline) -> impl Iterator<Item = Mesh> {
    let points = outline.outer.points();
    let n = points.len();
    let n_firsts = if n <= MOST_VERTICES {
        N_FIRST_VERTICES.min(n)
    } else {
        1
    };
    (1..n_firsts).filter_map(move |k| {
        let first = k * n / n_firsts;
        let outer = Ring::new([&points[first..], &points[..first]].concat()).ok()?;
        triangulate(&Outline {
            outer,
            openings: outline.openings.clone(),
        })
    })
}

/// The triangles of `mesh` merged in the order that leaves the fewest parts.
fn fewest_parts(mesh: &Mesh) -> Vec<Vec<Point>> {
    let diagonals = diagonals(mesh);
    let mut random = Random::new(0x5eed, 0);
    let mut best = merge(mesh, &diagonals, &mut random);
    for _ in 1..N_ORDERS {
        let other = merge(mesh, &diagonals, &mut random);
        if other.len() < best.len() {
            best = other;
        }
    }
    best.iter()
        .map(|cycle| hull(&cycle.iter().map(|&v| mesh.vertices[v]).collect::<Vec<_>>()))
        .filter(|part| part.len() >= 3)
        .collect()
}

/// Triangles of `outline`, or `None` if their area is not the outline's.
pub(super) fn triangles(outline: &Outline) -> Option<Vec<[Point; 3]>> {
    let mesh = triangulate(outline)?;
    Some(
        mesh.triangles
            .iter()
            .map(|t| t.map(|v| mesh.vertices[v]))
            .collect(),
    )
}

/// The convex hull of `points`, counter-clockwise, without collinear vertices.
pub(super) fn hull(points: &[Point]) -> Vec<Point> {
    let mut sorted = points.to_vec();
    sorted.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
    sorted.dedup();
    if sorted.len() < 3 {
        return sorted;
    }
    let mut chain: Vec<Point> = Vec::with_capacity(sorted.len() + 1);
    let mut half = |points: &mut dyn Iterator<Item = Point>| {
        let start = chain.len();
        for p in points {
            while chain.len() >= start + 2 {
                let (a, b) = (chain[chain.len() - 2], chain[chain.len() - 1]);
                if (b - a).cross(p - b) > 0.0 {
                    break;
                }
                chain.pop();
            }
            chain.push(p);
        }
        chain.pop();
    };
    half(&mut sorted.iter().copied());
    half(&mut sorted.iter().rev().copied());
    chain
}

struct Mesh {
    vertices: Vec<Point>,
    triangles: Vec<[usize; 3]>,
}

fn is_convex(outline: &Outline) -> bool {
    let area = outline.outer.area();
    let around = signed_area(&hull(outline.outer.points()));
    outline.openings.is_empty() && around - area <= 1e-12 * around
}

fn triangulate(outline: &Outline) -> Option<Mesh> {
    if crosses_itself(outline) {
        return None;
    }
    let openings = outline.openings.iter().map(line).collect();
    let raw = Polygon::new(line(&outline.outer), openings).earcut_triangles_raw();
    let vertices: Vec<Point> = raw
        .vertices
        .iter()
        .map(|&[x, y]| Point::new(x, y))
        .collect();
    let mut sum = 0.0;
    let mut triangles = Vec::new();
    for t in raw.triangle_indices.chunks_exact(3) {
        let [a, b, c] = [vertices[t[0]], vertices[t[1]], vertices[t[2]]];
        let twice = (b - a).cross(c - a);
        sum += 0.5 * twice.abs();
        match twice {
            t2 if t2 > 0.0 => triangles.push([t[0], t[1], t[2]]),
            t2 if t2 < 0.0 => triangles.push([t[0], t[2], t[1]]),
            _ => {}
        }
    }
    let area = outline.area();
    ((sum - area).abs() <= 1e-9 * area.max(outline.outer.area())).then_some(Mesh {
        vertices,
        triangles,
    })
}

/// Whether two edges of `outline` cross each other at inner points of both.
fn crosses_itself(outline: &Outline) -> bool {
    let mut edges: Vec<(Point, Point)> = outline.rings().flat_map(Ring::edges).collect();
    let min_x = |&(a, b): &(Point, Point)| a.x.min(b.x);
    edges.sort_by(|e, f| min_x(e).total_cmp(&min_x(f)));
    let side = |a: Point, b: Point, p: Point| (b - a).cross(p - a);
    edges.iter().enumerate().any(|(n, &(a, b))| {
        edges[n + 1..]
            .iter()
            .take_while(|f| min_x(f) <= a.x.max(b.x))
            .any(|&(p, q)| {
                side(a, b, p) * side(a, b, q) < 0.0 && side(p, q, a) * side(p, q, b) < 0.0
            })
    })
}

fn line(ring: &Ring) -> LineString<f64> {
    ring.points()
        .iter()
        .map(|p| Coord { x: p.x, y: p.y })
        .collect()
}

/// An edge that two triangles share: its ends, and the triangles that have it forward and back.
type Diagonal = ((usize, usize), [usize; 2]);

fn diagonals(mesh: &Mesh) -> Vec<Diagonal> {
    let mut owner: BTreeMap<(usize, usize), usize> = BTreeMap::new();
    for (n, t) in mesh.triangles.iter().enumerate() {
        for k in 0..3 {
            owner.insert((t[k], t[(k + 1) % 3]), n);
        }
    }
    owner
        .iter()
        .filter(|&(&(a, b), _)| a < b)
        .filter_map(|(&(a, b), &left)| Some(((a, b), [left, *owner.get(&(b, a))?])))
        .collect()
}

/// Convex cycles of vertex indices, merged in a random order.
fn merge(mesh: &Mesh, diagonals: &[Diagonal], random: &mut Random) -> Vec<Vec<usize>> {
    let mut cycles: Vec<Option<Vec<usize>>> =
        mesh.triangles.iter().map(|t| Some(t.to_vec())).collect();
    // The cycle that each one has become part of; itself if it still stands.
    let mut merged_into: Vec<usize> = (0..cycles.len()).collect();
    let mut order: Vec<&Diagonal> = diagonals.iter().collect();
    random.shuffle(&mut order);
    for &&(edge, sides) in &order {
        let [left, right] = sides.map(|side| {
            let mut at = side;
            while merged_into[at] != at {
                merged_into[at] = merged_into[merged_into[at]];
                at = merged_into[at];
            }
            at
        });
        if left == right {
            continue;
        }
        let (Some(l), Some(r)) = (&cycles[left], &cycles[right]) else {
            continue;
        };
        let Some(union) = join(&mesh.vertices, l, r, edge) else {
            continue;
        };
        merged_into[right] = left;
        cycles[left] = Some(union);
        cycles[right] = None;
    }
    cycles.into_iter().flatten().collect()
}

/// `left` (which has the edge a → b) and `right` (b → a) as one cycle, if that is convex.
fn join(
    vertices: &[Point],
    left: &[usize],
    right: &[usize],
    (a, b): (usize, usize),
) -> Option<Vec<usize>> {
    let from = |cycle: &[usize], first: usize| -> Option<Vec<usize>> {
        let at = cycle.iter().position(|&v| v == first)?;
        Some([&cycle[at..], &cycle[..at]].concat())
    };
    let l = from(left, b)?; // b … a
    let r = from(right, a)?; // a … b
    let convex = |before: usize, at: usize, after: usize| {
        let (p, q, s) = (vertices[before], vertices[at], vertices[after]);
        let (u, v) = (q - p, s - q);
        u.cross(v) >= -1e-12 * u.length() * v.length()
    };
    let ok = convex(l[l.len() - 2], a, r[1]) && convex(r[r.len() - 2], b, l[1]);
    ok.then(|| [&l[..l.len() - 1], &r[..r.len() - 1]].concat())
}

/// Makes `kept` the part of a convex polygon where `inside`, which must grow evenly in some
/// direction, is not negative (Sutherland and Hodgman 1974).
pub(super) fn clip(polygon: &[Point], kept: &mut Vec<Point>, inside: impl Fn(Point) -> f64) {
    kept.clear();
    for (k, &r) in polygon.iter().enumerate() {
        let s = polygon[(k + 1) % polygon.len()];
        let (of_r, of_s) = (inside(r), inside(s));
        if of_r >= 0.0 {
            kept.push(r);
        }
        if (of_r > 0.0 && of_s < 0.0) || (of_r < 0.0 && of_s > 0.0) {
            kept.push(r.towards(s, of_r / (of_r - of_s)));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(points: &[(f64, f64)]) -> Ring {
        Ring::new(points.iter().map(|&(x, y)| Point::new(x, y))).unwrap()
    }

    #[test]
    fn parts_cover_the_shape_and_leave_the_opening_free() {
        let outline = Outline {
            outer: ring(&[
                (0., 0.),
                (10., 0.),
                (10., 4.),
                (4., 4.),
                (4., 10.),
                (0., 10.),
            ]),
            openings: vec![ring(&[(1., 1.), (2., 1.), (2., 2.), (1., 2.)])],
        };
        let parts = parts(&outline);
        let area: f64 = parts.iter().map(|p| signed_area(p)).sum();
        assert!((area - outline.area()).abs() < 1e-9);
        for part in &parts {
            assert_eq!(hull(part).len(), part.len());
        }
    }

    #[test]
    fn an_l_takes_two_parts() {
        let outline = Outline::solid(ring(&[
            (0., 0.),
            (10., 0.),
            (10., 4.),
            (4., 4.),
            (4., 10.),
            (0., 10.),
        ]));
        assert_eq!(parts(&outline).len(), 2);
    }

    #[test]
    fn a_crossing_outline_becomes_its_hull() {
        let outline = Outline::solid(ring(&[(0., 0.), (10., 10.), (10., 0.), (0., 9.)]));
        assert!(!parts(&outline).is_empty());
    }
}
