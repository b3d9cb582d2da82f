//! What every layout must be, on problems chosen to hurt.

mod containers;
mod scale;

use proptest::prelude::*;

use super::*;
use crate::geometry::{Face, Point, Ring, trig::sin_cos_radians};

fn ring(points: &[(f64, f64)]) -> Ring {
    Ring::new(points.iter().map(|&(x, y)| Point::new(x, y))).unwrap()
}

fn rectangle(width: f64, height: f64) -> Ring {
    ring(&[(0., 0.), (width, 0.), (width, height), (0., height)])
}

fn shape(outer: Ring, demand: usize, degrees: &[f64]) -> Shape {
    Shape::new(Outline::solid(outer), degrees, demand)
}

fn strip(width: f64, gap: f64, shapes: Vec<Shape>) -> Problem {
    Problem::strip(shapes, width, gap)
}

fn solve(problem: &Problem, effort: Effort, threads: usize) -> Nesting {
    let settings = SearchSettings {
        effort,
        seed: 7,
        threads,
    };
    let layout = nest(problem, &settings, &|_| Continue::Yes).unwrap();
    assert_eq!(check(problem, &layout), vec![], "{problem:?}");
    layout
}

const BRIEF: Effort = Effort::Seconds(0.05);

#[test]
fn the_thread_count_does_not_change_a_named_effort() {
    let shapes = vec![
        shape(ring(&[(0., 0.), (9., 1.), (3., 7.)]), 3, &[0., 180.]),
        shape(
            ring(&[(0., 0.), (8., 0.), (8., 3.), (3., 3.), (3., 8.), (0., 8.)]),
            2,
            &[0., 90.],
        ),
    ];
    let problem = strip(15.0, 0.5, shapes);
    let one = solve(&problem, Effort::Quick, 1);
    for threads in [2, 5] {
        assert_eq!(one, solve(&problem, Effort::Quick, threads));
    }
}

#[test]
fn a_small_piece_lies_in_the_opening_of_a_large_one() {
    let frame = Outline {
        outer: rectangle(100.0, 100.0),
        openings: vec![ring(&[(20., 20.), (80., 20.), (80., 80.), (20., 80.)])],
    };
    let mut first = shape(rectangle(1.0, 1.0), 1, &[0.]);
    first.outline = frame;
    let problem = strip(
        100.0,
        2.0,
        vec![first, shape(rectangle(50., 50.), 1, &[0.])],
    );
    let layout = solve(&problem, BRIEF, 1);
    assert!((layout.length - 100.0).abs() < 1e-6, "{}", layout.length);
}

#[test]
fn four_squares_fill_the_strip_exactly() {
    let problem = strip(20.0, 0.0, vec![shape(rectangle(10., 10.), 4, &[0., 90.])]);
    let layout = solve(&problem, Effort::Quick, 2);
    assert!((layout.length - 20.0).abs() < 1e-4, "{}", layout.length);
}

#[test]
fn a_piece_as_long_as_the_strip_turns_when_that_is_shorter() {
    let bars = shape(rectangle(30.0, 10.0), 2, &[0.0, 90.0]);
    let layout = solve(&strip(30.0, 0.0, vec![bars]), Effort::Quick, 2);
    assert!((layout.length - 20.0).abs() < 1e-3, "{}", layout.length);
}

#[test]
fn a_turned_over_piece_interlocks() {
    let hook = ring(&[
        (0., 0.),
        (30., 0.),
        (30., 10.),
        (10., 10.),
        (10., 20.),
        (0., 20.),
    ]);
    let mut hooks = shape(hook, 2, &[0.0]);
    hooks.turns.extend([0.0, 180.0].map(|d| Turn {
        angle: Angle::degrees(d),
        face: Face::Down,
    }));
    let problem = strip(30.0, 0.0, vec![hooks]);
    let layout = solve(&problem, BRIEF, 1);
    assert!(layout.length < 45.0, "{}", layout.length);
}

#[test]
fn the_observer_hears_of_a_valid_layout_at_once_and_can_stop() {
    let problem = strip(50.0, 1.0, vec![shape(rectangle(9., 7.), 30, &[0., 90.])]);
    let settings = SearchSettings {
        effort: Effort::Seconds(60.0),
        seed: 1,
        threads: 2,
    };
    let start = std::time::Instant::now();
    let layout = nest(&problem, &settings, &|progress| {
        assert!(progress.length.is_finite());
        Continue::Stop
    })
    .unwrap();
    assert!(start.elapsed().as_secs_f64() < 2.0);
    assert_eq!(check(&problem, &layout), vec![]);
}

#[test]
fn what_cannot_be_placed_is_an_error() {
    let wide = strip(10.0, 0.0, vec![shape(rectangle(5., 11.), 1, &[0.])]);
    let settings = SearchSettings {
        effort: Effort::Quick,
        seed: 1,
        threads: 1,
    };
    let outcome = nest(&wide, &settings, &|_| Continue::Yes);
    assert_eq!(outcome, Err(NestError::DoesNotFit { shape: 0 }));
    let fixed = strip(10.0, 0.0, vec![shape(rectangle(5., 5.), 1, &[])]);
    let outcome = nest(&fixed, &settings, &|_| Continue::Yes);
    assert_eq!(outcome, Err(NestError::NoTurn { shape: 0 }));
    let none = strip(10.0, 0.0, vec![shape(rectangle(5., 50.), 0, &[0.])]);
    assert_eq!(
        nest(&none, &settings, &|_| Continue::Yes).unwrap().length,
        0.0
    );
}

#[test]
fn degenerate_pieces_give_valid_layouts() {
    let cases: Vec<(f64, f64, Ring)> = vec![
        // As wide as the strip, with and without a gap.
        (10.0, 0.0, rectangle(4.0, 10.0)),
        (10.0, 1.0, rectangle(4.0, 10.0)),
        // As wide as the strip after a turn that rounds.
        (10.0 * std::f64::consts::SQRT_2, 0.0, rectangle(10.0, 10.0)),
        // A needle, and one of a hair's width.
        (10.0, 0.2, ring(&[(0., 0.), (90., 0.001), (0., 0.002)])),
        (10.0, 0.0, ring(&[(0., 0.), (9., 1e-6), (0., 2e-6)])),
        // Collinear points and an almost-spike.
        (
            10.0,
            0.1,
            ring(&[
                (0., 0.),
                (1., 0.),
                (2., 0.),
                (4., 0.),
                (4., 3.),
                (2., 3.),
                (2., 9.),
                (1.999, 3.),
                (0., 3.),
            ]),
        ),
        // A spike that runs out and back on itself.
        (
            10.0,
            0.1,
            ring(&[(0., 0.), (4., 0.), (4., 2.), (8., 2.), (4., 2.), (0., 2.)]),
        ),
        // Crosses itself.
        (10.0, 0.0, ring(&[(0., 0.), (6., 6.), (6., 0.), (0., 5.)])),
        (10.0, 0.3, ring(&[(0., 0.), (6., 6.), (6., 0.), (0., 5.)])),
        // Far from the origin.
        (
            10.0,
            0.3,
            ring(&[(9e5, 9e5), (9e5 + 5., 9e5), (9e5 + 2., 9e5 + 5.)]),
        ),
    ];
    for (n, (width, gap, outer)) in cases.into_iter().enumerate() {
        let degrees: &[f64] = if n == 2 { &[45.0] } else { &[0.0, 90.0, 37.0] };
        let problem = strip(width, gap, vec![shape(outer, 3, degrees)]);
        let layout = solve(&problem, BRIEF, 1);
        assert_eq!(layout.placed.len(), 3);
    }
}

#[test]
fn openings_that_touch_are_survived() {
    let touching = Outline {
        outer: rectangle(40.0, 20.0),
        openings: vec![
            ring(&[(2., 2.), (20., 2.), (20., 18.), (2., 18.)]),
            ring(&[(20., 10.), (38., 2.), (38., 18.)]),
        ],
    };
    let mut frame = shape(rectangle(1., 1.), 2, &[0., 180.]);
    frame.outline = touching;
    for gap in [0.0, 1.0] {
        let problem = strip(
            30.0,
            gap,
            vec![frame.clone(), shape(rectangle(6., 6.), 3, &[0.])],
        );
        solve(&problem, BRIEF, 1);
    }
}

#[test]
fn the_check_finds_each_kind_of_fault() {
    let problem = strip(20.0, 1.0, vec![shape(rectangle(10., 10.), 2, &[0.])]);
    let at = |x, y, degrees| Placed {
        shape: 0,
        placement: Placement {
            turn: Turn::rotation(Angle::degrees(degrees)),
            shift: crate::geometry::Vector::new(x, y),
        },
    };
    let faults = |placed: &[Placed]| {
        let layout = Nesting {
            placed: placed.to_vec(),
            length: 30.0,
        };
        check(&problem, &layout)
    };
    assert_eq!(faults(&[at(0., 0., 0.), at(11., 0., 0.)]), vec![]);
    assert!(matches!(
        faults(&[at(0., 0., 0.)])[..],
        [LayoutFault::Count { placed: 1, .. }]
    ));
    assert!(matches!(
        faults(&[at(0., 0., 0.), at(10.5, 0., 0.)])[..],
        [LayoutFault::TooNear { .. }]
    ));
    assert!(matches!(
        faults(&[at(0., 0., 0.), at(9.0, 0., 0.)])[..],
        [LayoutFault::Overlap { .. }]
    ));
    assert!(matches!(
        faults(&[at(0., 0., 0.), at(15., 10.5, 0.)])[..],
        [LayoutFault::Outside { placed: 1, .. }]
    ));
    assert!(matches!(
        faults(&[at(0., 0., 0.), at(21., 0., 90.)])[..],
        [LayoutFault::Turn { placed: 1 }]
    ));
}

/// A star-shaped polygon from radii; very unequal ones give needles and spikes.
fn star(radii: &[f64]) -> Option<Ring> {
    let n = radii.len();
    Ring::new(radii.iter().enumerate().map(|(k, r)| {
        let (sin, cos) = sin_cos_radians(std::f64::consts::TAU * k as f64 / n as f64);
        Point::new(r * cos, r * sin)
    }))
    .ok()
}

fn any_shape() -> impl Strategy<Value = Option<Shape>> {
    let radius = prop_oneof![4 => 5.0..30.0, 1 => 0.01..1.0, 1 => Just(20.0)];
    (
        prop::collection::vec(radius, 3..14),
        prop::collection::vec(
            prop_oneof![Just(0.0), Just(90.0), Just(180.0), 0.0..360.0],
            1..4,
        ),
        1_usize..4,
        prop::option::of(0.1..0.7),
    )
        .prop_map(|(radii, degrees, demand, opening)| {
            let outline = Outline {
                outer: star(&radii)?,
                openings: opening
                    .and_then(|t| star(&radii.iter().map(|r| r * t).collect::<Vec<_>>()))
                    .into_iter()
                    .collect(),
            };
            Some(Shape::new(outline, &degrees, demand))
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_layout_is_valid(
        shapes in prop::collection::vec(any_shape(), 1..6),
        gap in prop_oneof![Just(0.0), 0.01..3.0],
    ) {
        let problem = strip(70.0, gap, shapes.into_iter().flatten().collect());
        let settings = SearchSettings { effort: BRIEF, seed: 3, threads: 1 };
        let layout = nest(&problem, &settings, &|_| Continue::Yes).unwrap();
        prop_assert_eq!(check(&problem, &layout), vec![]);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn turned_within_tolerance_every_layout_is_valid_and_no_longer(
        shapes in prop::collection::vec(any_shape(), 1..5),
        tolerances in prop::collection::vec(prop_oneof![Just(0.0), 0.01..4.0, Just(30.0)], 5),
        faces in prop::collection::vec(prop_oneof![Just(Face::Up), Just(Face::Down)], 5),
        gap in prop_oneof![Just(0.0), 0.01..3.0],
    ) {
        let mut shapes: Vec<Shape> = shapes.into_iter().flatten().collect();
        for ((shape, tolerance), face) in shapes.iter_mut().zip(tolerances).zip(faces) {
            shape.tolerance = Angle::degrees(tolerance);
            for turn in &mut shape.turns {
                turn.face = face;
            }
        }
        let problem = strip(70.0, gap, shapes);
        let settings = SearchSettings { effort: Effort::Seconds(0.3), seed: 3, threads: 1 };
        let told = std::sync::Mutex::new(f64::INFINITY);
        let layout = nest(&problem, &settings, &|progress| {
            *told.lock().unwrap() = progress.length;
            Continue::Yes
        }).unwrap();
        prop_assert_eq!(check(&problem, &layout), vec![]);
        // What was told is what comes, but for turns that save next to nothing.
        let told = told.into_inner().unwrap();
        prop_assert!(layout.placed.is_empty() || layout.length <= told * 1.0002);
    }
}
