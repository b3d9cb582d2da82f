//! Properties of the geometry that must hold for any outline, not only for the ones we thought of.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use proptest::prelude::*;
use warpwise::geometry::{
    Face, Join, Outline, Placement, Point, Ring, Turn, Vector, distance, largest_box, offset, trig,
};
use warpwise::units::Angle;

/// A star-shaped outline with `radii` spread evenly around `centre`, perhaps with an opening.
fn star(radii: &[f64], centre: (f64, f64), opening: Option<f64>) -> Outline {
    let ring = |radius: &dyn Fn(usize) -> f64| {
        let n = radii.len();
        Ring::new((0..n).map(|k| {
            let (sin, cos) = trig::sin_cos(Angle::degrees(360.0 * k as f64 / n as f64));
            Point::new(centre.0 + radius(k) * cos, centre.1 + radius(k) * sin)
        }))
        .unwrap()
    };
    Outline {
        outer: ring(&|k| radii[k]),
        openings: opening.map(|r| ring(&|_| r)).into_iter().collect(),
    }
}

fn outlines() -> impl Strategy<Value = Outline> {
    (
        prop::collection::vec(30.0..120.0f64, 5..24),
        (-5e3..5e3f64, -5e3..5e3f64),
        prop::option::of(2.0..20.0f64),
    )
        .prop_map(|(radii, centre, opening)| star(&radii, centre, opening))
}

fn joins() -> impl Strategy<Value = Join> {
    prop_oneof![
        Just(Join::Round),
        Just(Join::Bevel),
        (1.0..4.0f64).prop_map(|limit| Join::Mitre { limit }),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(128))]

    #[test]
    fn the_cut_line_encloses_the_net_line_at_the_allowance(
        net in outlines(), by in 0.5..25.0f64, join in joins(),
    ) {
        let cut = offset(&net, by, join).unwrap();
        prop_assert!(cut.area() > net.area());
        prop_assert!(cut.openings.len() <= net.openings.len() + 3);
        for p in net.outer.points() {
            prop_assert!(cut.contains(*p));
        }
        // No allowance falls short along the edges; bevelled corners may.
        if !matches!(join, Join::Bevel) {
            for (a, b) in cut.outer.edges() {
                let middle = a.towards(b, 0.5);
                let nearest = net.rings().flat_map(Ring::edges)
                    .map(|(a, b)| distance::point_to_segment(middle, a, b))
                    .fold(f64::INFINITY, f64::min);
                prop_assert!(nearest > by - 0.02, "{nearest} < {by}");
            }
        }
    }

    #[test]
    fn a_placement_keeps_area_and_distances(
        outline in outlines(), degrees in -720.0..720.0f64, over in any::<bool>(), shift in -1e3..1e3f64,
    ) {
        let placement = Placement {
            turn: Turn { angle: Angle::degrees(degrees), face: if over { Face::Down } else { Face::Up } },
            shift: Vector::new(shift, -shift),
        };
        let placed = placement.outline(&outline);
        prop_assert!((placed.area() - outline.area()).abs() < 1e-6 * outline.area());
        prop_assert!((placed.outer.perimeter() - outline.outer.perimeter()).abs() < 1e-6);
        // The warp keeps its direction on the piece, whichever face is up.
        let there = placement.apply(Point::new(0.0, 0.0));
        let (sin, cos) = trig::sin_cos(Angle::degrees(-degrees));
        let along = placement.apply(Point::new(cos, sin)) - there;
        prop_assert!((along.x - 1.0).abs() < 1e-9 && along.y.abs() < 1e-9);
    }

    #[test]
    fn label_boxes_lie_inside(outline in outlines(), aspect in 0.2..5.0f64) {
        let found = largest_box(&outline, aspect);
        prop_assert!((found.width - aspect * found.height).abs() < 1e-9);
        let inside = Ring::new([(-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0)].map(|(sx, sy)| {
            Point::new(found.centre.x + sx * found.width * 0.4999, found.centre.y + sy * found.height * 0.4999)
        }));
        let inside = Outline::solid(inside.unwrap());
        let shared = distance::shared_area(&inside, &outline);
        prop_assert!((shared - inside.area()).abs() < 1e-6 * inside.area());
    }
}

/// A plate of 200 mm whose upper right corner is a stair of small steps, as a rounded one comes out of some programs.
#[test]
fn a_bevelled_allowance_is_whole_along_every_edge_of_a_stepped_corner() {
    for (steps, size) in [(2, 1.0), (5, 0.4), (20, 0.2), (9, 2.5)] {
        let mut corners = vec![
            (0.0, 0.0),
            (200.0, 0.0),
            (200.0, 200.0 - f64::from(steps) * size),
        ];
        for k in 1..=steps {
            let (x, y) = (
                200.0 - f64::from(k) * size,
                200.0 - f64::from(steps - k) * size,
            );
            corners.extend([(x, y - size), (x, y)]);
        }
        corners.push((0.0, 200.0));
        let points = corners.iter().map(|&(x, y)| Point::new(x, y));
        let net = Outline::solid(Ring::new(points).unwrap());
        for by in [3.0, 10.0, 25.0] {
            let cut = offset(&net, by, Join::Bevel).unwrap();
            for (a, b) in net.outer.edges() {
                let along = b - a;
                let out = Vector::new(along.y, -along.x) * (1.0 / along.length());
                for share in [0.05, 0.5, 0.95] {
                    let p = a.towards(b, share) + out * (by - 0.02);
                    assert!(
                        cut.contains(p),
                        "{steps} steps of {size}, allowance {by}: {p:?}"
                    );
                }
            }
        }
    }
}
