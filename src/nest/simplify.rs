//! Fewer vertices for the search, never less area.
//!
//! Only moves that grow the material are made: a hollow (reflex) vertex is cut off by its chord,
//! and a short edge between two bulging vertices is replaced by the point where its neighbours
//! meet. So a layout that is valid for the simplified shapes is valid for the true ones.

use crate::geometry::{Outline, Point, Ring};

/// How far (mm) an outline may grow to save vertices.
///
/// Bulging vertices cost a few multiplications each. Hollow ones cost a convex part each, which is
/// far more, so more may be given away there.
#[derive(Clone, Copy, Debug)]
pub(super) struct Give {
    pub bulges: f64,
    pub hollows: f64,
}

/// `outline` grown by at most `give` to save vertices.
pub(super) fn outward(outline: &Outline, give: Give) -> Outline {
    let rings: Vec<Vec<Point>> = std::iter::once(outline.outer.points().to_vec())
        .chain(
            outline
                .openings
                .iter()
                .map(|o| o.points().iter().rev().copied().collect()),
        )
        .collect();
    let mut simplified: Vec<Vec<Point>> = Vec::new();
    for n in 0..rings.len() {
        // Rings already simplified bound what the next one may sweep over.
        let others: Vec<Point> = (simplified.iter().chain(&rings[n + 1..]))
            .flatten()
            .copied()
            .collect();
        simplified.push(simplify_ring(&rings[n], &others, give));
    }
    let mut result = simplified.into_iter().map(Ring::new);
    let outer = match result.next() {
        Some(Ok(ring)) if ring.area() >= outline.outer.area() * (1.0 - 1e-9) => ring,
        _ => return outline.clone(),
    };
    // An opening that vanished within the tolerance is simply closed.
    Outline {
        outer,
        openings: result.filter_map(Result::ok).collect(),
    }
}

/// One way to lose a vertex.
#[derive(Clone, Copy)]
struct Removal {
    at: usize,
    /// The vertex that replaces the edge from `at` to the next one; `None`: drop `at`.
    apex: Option<Point>,
    error: f64,
    area: f64,
}

/// Simplifies one ring with the material on its left; `others` are vertices it must not sweep.
fn simplify_ring(ring: &[Point], others: &[Point], give: Give) -> Vec<Point> {
    let mut points = ring.to_vec();
    // How far each edge (from this vertex to the next) may lie from the given outline.
    let mut errors = vec![0.0_f64; points.len()];
    let mut steps: Vec<Option<Removal>> = (0..points.len())
        .map(|k| step_at(&points, &errors, k, give))
        .collect();
    while points.len() > 3 {
        let cheapest = steps
            .iter()
            .enumerate()
            .filter_map(|(k, step)| step.map(|s| Removal { at: k, ..s }))
            .min_by(|a, b| a.area.total_cmp(&b.area));
        let Some(step) = cheapest else { break };
        if !sweeps_nothing(&points, others, &step) {
            // Not tried again unless the vertices around it change.
            steps[step.at] = None;
            continue;
        }
        let n = points.len();
        let (before, next) = ((step.at + n - 1) % n, (step.at + 1) % n);
        let gone = if let Some(apex) = step.apex {
            points[step.at] = apex;
            errors[before] = errors[before].max(step.error);
            errors[next] = errors[next].max(step.error);
            next
        } else {
            errors[before] = step.error;
            step.at
        };
        points.remove(gone);
        steps.remove(gone);
        // The edge that starts at the vertex is gone in both cases.
        errors.remove(step.at);
        if gone < step.at {
            // The last vertex took the place of the first: its edge comes last.
            errors.rotate_left(1);
        }
        let n = points.len();
        for k in (step.at + n - 3)..(step.at + n + 3) {
            steps[k % n] = step_at(&points, &errors, k % n, give);
        }
    }
    points
}

fn step_at(points: &[Point], errors: &[f64], k: usize, give: Give) -> Option<Removal> {
    let n = points.len();
    let (a, b, c, d) = (
        points[(k + n - 1) % n],
        points[k],
        points[(k + 1) % n],
        points[(k + 2) % n],
    );
    let turn = (b - a).cross(c - b);
    if turn <= 0.0 {
        // Reflex or straight: the chord a–c adds the triangle a b c.
        let chord = (c - a).length();
        if chord <= 0.0 {
            return None;
        }
        let error = -turn / chord + errors[k].max(errors[(k + n - 1) % n]);
        return (error <= give.hollows).then_some(Removal {
            at: k,
            apex: None,
            error,
            area: -0.5 * turn,
        });
    }
    let turn_c = (c - b).cross(d - c);
    if turn_c <= 0.0 || n < 5 {
        return None;
    }
    // Both bulge: extend a→b and d→c until they meet.
    let (u, v) = (b - a, c - d);
    let across = u.cross(v);
    if across >= -1e-9 * u.length() * v.length() {
        return None;
    }
    let t = (c - b).cross(v) / across;
    let apex = b + u * t;
    let base = (c - b).length();
    let area = 0.5 * (c - b).cross(apex - c).abs();
    let far = if base > 0.0 { 2.0 * area / base } else { 0.0 };
    // Beyond the ends of the edge, the nearest point is a corner.
    let foot_inside = (apex - b).dot(c - b) >= 0.0 && (apex - c).dot(b - c) >= 0.0;
    let reach = apex.distance(b).min(apex.distance(c));
    let error = errors[k] + if foot_inside { far } else { reach };
    (error <= give.bulges).then_some(Removal {
        at: k,
        apex: Some(apex),
        error,
        area,
    })
}

/// Whether the triangle the step adds holds no other vertex.
fn sweeps_nothing(points: &[Point], others: &[Point], step: &Removal) -> bool {
    let n = points.len();
    let triangle = match step.apex {
        None => [
            points[(step.at + n - 1) % n],
            points[step.at],
            points[(step.at + 1) % n],
        ],
        Some(apex) => [points[step.at], apex, points[(step.at + 1) % n]],
    };
    let corner = |p: &Point| triangle.contains(p);
    !points
        .iter()
        .chain(others)
        .any(|p| !corner(p) && in_triangle(*p, triangle))
}

fn in_triangle(p: Point, [a, b, c]: [Point; 3]) -> bool {
    let (u, v, w) = (
        (b - a).cross(p - a),
        (c - b).cross(p - b),
        (a - c).cross(p - c),
    );
    (u >= 0.0 && v >= 0.0 && w >= 0.0) || (u <= 0.0 && v <= 0.0 && w <= 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::trig::sin_cos_radians;

    fn give(mm: f64) -> Give {
        Give {
            bulges: mm,
            hollows: mm,
        }
    }

    #[test]
    fn a_circle_keeps_inside_its_simpler_self() {
        let n = 200;
        let circle = Ring::new((0..n).map(|k| {
            let (s, c) = sin_cos_radians(f64::from(k) * std::f64::consts::TAU / f64::from(n));
            Point::new(100.0 * c, 100.0 * s)
        }))
        .unwrap();
        let simple = outward(&Outline::solid(circle.clone()), give(0.3));
        let n_left = simple.outer.points().len();
        assert!(n_left < 80, "{n_left}");
        assert!(simple.area() >= circle.area());
        for p in simple.outer.points() {
            assert!(p.distance(Point::default()) < 100.31);
        }
        for (a, b) in simple.outer.edges() {
            let middle = a.towards(b, 0.5);
            assert!(middle.distance(Point::default()) > 99.98);
        }
    }

    #[test]
    fn a_bay_is_filled_within_tolerance_and_a_deep_one_is_kept() {
        let notch = |depth: f64| {
            Ring::new(
                [
                    (0., 0.),
                    (10., 0.),
                    (10., 10.),
                    (5., 10. - depth),
                    (0., 10.),
                ]
                .map(|(x, y)| Point::new(x, y)),
            )
            .unwrap()
        };
        let shallow = outward(&Outline::solid(notch(0.05)), give(0.1));
        assert_eq!(shallow.outer.points().len(), 4);
        let deep = outward(&Outline::solid(notch(3.0)), give(0.1));
        assert_eq!(deep.outer.points().len(), 5);
    }
}
