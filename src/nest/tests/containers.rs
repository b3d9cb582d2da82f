//! Fixed rectangles, remnants, forbidden areas, and several containers one after another.

use super::*;
use std::sync::atomic::{AtomicUsize, Ordering};

fn solve_stock(problem: &StockProblem, effort: Effort) -> StockNesting {
    let settings = SearchSettings {
        effort,
        seed: 7,
        threads: 2,
    };
    let found = nest_stock(problem, &settings, &|_| Continue::Yes).unwrap();
    assert_eq!(check_stock(problem, &found), vec![], "{problem:?}");
    found
}

fn stock(containers: Vec<Container>, gap: f64, shapes: Vec<Shape>) -> StockProblem {
    StockProblem {
        shapes,
        containers,
        gap,
    }
}

/// 100 × 80 with a 60 × 40 corner missing and a 10 × 10 opening in the corner that is left.
fn holed_l() -> Outline {
    Outline {
        outer: ring(&[
            (0., 0.),
            (100., 0.),
            (100., 40.),
            (40., 40.),
            (40., 80.),
            (0., 80.),
        ]),
        openings: vec![ring(&[(15., 15.), (25., 15.), (25., 25.), (15., 25.)])],
    }
}

fn moved(outline: &Outline, x: f64, y: f64) -> Outline {
    Placement {
        turn: Turn::rotation(Angle::ZERO),
        shift: crate::geometry::Vector::new(x, y),
    }
    .outline(outline)
}

fn forbidden(points: &[(f64, f64)], margin: f64) -> Forbidden {
    Forbidden {
        area: Outline::solid(ring(points)),
        margin,
    }
}

#[test]
fn rectangles_fill_sheets_that_they_fit_exactly() {
    let all_in: Vec<(f64, f64, Vec<Shape>)> = vec![
        // One piece of exactly the sheet's size.
        (30., 20., vec![shape(rectangle(30., 20.), 1, &[0.])]),
        (30., 20., vec![shape(rectangle(20., 30.), 1, &[0., 90.])]),
        // Rows and columns.
        (30., 20., vec![shape(rectangle(10., 10.), 6, &[0.])]),
        // Four around one, like a windmill.
        (
            30.,
            30.,
            vec![
                shape(rectangle(20., 10.), 4, &[0., 90.]),
                shape(rectangle(10., 10.), 1, &[0.]),
            ],
        ),
        // Two L-shapes, one turned.
        (
            30.,
            20.,
            vec![shape(
                ring(&[
                    (0., 0.),
                    (20., 0.),
                    (20., 10.),
                    (10., 10.),
                    (10., 20.),
                    (0., 20.),
                ]),
                2,
                &[0., 180.],
            )],
        ),
    ];
    for (length, width, shapes) in all_in {
        let problem = stock(vec![Container::sheet(length, width)], 0.0, shapes);
        let found = solve_stock(&problem, Effort::Quick);
        let area = found.layouts[0].area(&problem.shapes);
        assert!((area - length * width).abs() < 1e-9, "{area} {problem:?}");
    }
}

#[test]
fn thin_bars_lie_beside_a_large_piece_that_they_touch() {
    for thin in [1.0, 0.05] {
        let shapes = vec![
            shape(rectangle(990., 1000.), 1, &[0.]),
            shape(rectangle(thin, 1000.), 4, &[0.]),
        ];
        let sheet = stock(vec![Container::sheet(1000., 1000.)], 0.0, shapes.clone());
        assert_eq!(solve_stock(&sheet, Effort::Quick).left, vec![0, 0]);
        let layout = solve(&strip(1000., 0.0, shapes), BRIEF, 1);
        let least = 990.0 + 4.0 * thin;
        assert!(layout.length < least * 1.0001, "{}", layout.length);
    }
}

#[test]
fn of_too_many_pieces_those_that_cover_most_go_in() {
    // Largest first would take the 12 × 10 and leave 8 × 10, where nothing fits.
    let shapes = vec![
        shape(rectangle(12., 10.), 1, &[0.]),
        shape(rectangle(10., 10.), 2, &[0.]),
    ];
    let problem = stock(vec![Container::sheet(20., 10.)], 0.0, shapes);
    let found = solve_stock(&problem, Effort::Quick);
    assert_eq!(found.layouts[0].area(&problem.shapes), 200.0);
    assert_eq!(found.left, vec![1, 0]);
}

#[test]
fn a_remnant_is_filled_up_to_its_edges_and_around_its_opening() {
    let shapes = vec![
        shape(rectangle(60., 40.), 1, &[0., 90.]),
        shape(rectangle(40., 40.), 1, &[0.]),
        shape(rectangle(15., 40.), 2, &[0., 90.]),
        shape(rectangle(41., 41.), 5, &[0.]),
    ];
    for gap in [0.0, 2.0] {
        for (x, y) in [(0., 0.), (-500., 300.)] {
            let remnant = Container::remnant(moved(&holed_l(), x, y));
            let problem = stock(vec![remnant], gap, shapes.clone());
            let found = solve_stock(&problem, Effort::Quick);
            assert_eq!(found.left[3], 5);
            if gap == 0.0 {
                assert_eq!(found.left, vec![0, 0, 0, 5], "at {x} {y}");
            }
        }
    }
}

#[test]
fn a_strip_goes_around_its_flaws() {
    let mut strip = Container::strip(20.0);
    // One in the middle, one that all but blocks the strip.
    strip.forbidden = vec![
        forbidden(&[(9., 9.), (11., 9.), (11., 11.), (9., 11.)], 0.9),
        forbidden(&[(30., -5.), (35., -5.), (35., 19.), (30., 19.)], 0.5),
    ];
    let problem = Problem {
        shapes: vec![shape(rectangle(8., 8.), 8, &[0.])],
        container: strip,
        gap: 0.5,
    };
    let scene = shape::Scene::new(&problem, shape::Misfits::Refuse).unwrap();
    let in_a_row = construct::one_after_another(&scene, &construct::by_size(&scene));
    assert_eq!(check(&problem, &run::to_layout(&scene, &in_a_row)), vec![]);
    // Six squares pass above and below the first flaw; the block leaves two to lie beyond it.
    let layout = solve(&problem, Effort::Quick, 2);
    assert!(layout.length < 43.6, "{}", layout.length);
    assert!(layout.length >= 43.5 - 1e-6, "{}", layout.length);
}

#[test]
fn stock_comes_before_new_cloth_and_all_pieces_are_placed_once() {
    let shapes = vec![
        shape(ring(&[(0., 0.), (30., 0.), (15., 25.)]), 12, &[0., 180.]),
        shape(rectangle(25., 12.), 10, &[0., 90.]),
        shape(rectangle(300., 20.), 1, &[0.]),
    ];
    let mut sheet = Container::sheet(90., 60.);
    sheet.forbidden = vec![forbidden(&[(40., 20.), (50., 22.), (44., 33.)], 3.0)];
    let containers = vec![Container::remnant(holed_l()), sheet, Container::strip(70.0)];
    let problem = stock(containers, 1.0, shapes);
    let found = solve_stock(&problem, Effort::Quick);
    assert_eq!(found.left, vec![0, 0, 0]);
    let used = |k: usize| found.layouts[k].area(&problem.shapes);
    assert!(used(0) > 0.6 * holed_l().area(), "{}", used(0));
    // All but the long bar lies in what is on hand.
    let small = 12. * 375. + 10. * 300.;
    assert!(used(0) + used(1) > small - 1e-6, "{}", used(1));
    // The same on one thread.
    let settings = SearchSettings {
        effort: Effort::Quick,
        seed: 7,
        threads: 1,
    };
    let one = nest_stock(&problem, &settings, &|_| Continue::Yes).unwrap();
    assert_eq!(one, found);
}

#[test]
fn what_goes_into_a_sheet_whole_lies_close_together() {
    let shapes = vec![shape(rectangle(10., 10.), 6, &[0.])];
    let problem = stock(vec![Container::sheet(500., 20.)], 0.0, shapes);
    let found = solve_stock(&problem, Effort::Quick);
    assert!((found.layouts[0].length - 30.0).abs() < 1e-3);
}

#[test]
fn stopping_at_any_time_leaves_a_valid_result() {
    let shapes = vec![
        shape(ring(&[(0., 0.), (30., 0.), (15., 25.)]), 9, &[0., 180.]),
        shape(rectangle(25., 12.), 9, &[0., 90.]),
    ];
    let containers = vec![
        Container::sheet(60., 50.),
        Container::remnant(holed_l()),
        Container::strip(70.0),
    ];
    let problem = stock(containers, 1.0, shapes);
    let settings = SearchSettings {
        effort: Effort::Seconds(0.3),
        seed: 1,
        threads: 2,
    };
    for n_calls in [0, 1, 5, 50, 400] {
        let calls = AtomicUsize::new(0);
        let found = nest_stock(&problem, &settings, &|_| {
            if calls.fetch_add(1, Ordering::Relaxed) < n_calls {
                Continue::Yes
            } else {
                Continue::Stop
            }
        })
        .unwrap();
        assert_eq!(check_stock(&problem, &found), vec![]);
        assert_eq!(found.left, vec![0, 0]);
    }
}

#[test]
fn nest_places_all_in_a_fixed_container_or_says_what_has_no_room() {
    let problem = |demand| Problem {
        shapes: vec![shape(rectangle(10., 10.), demand, &[0.])],
        container: Container::sheet(20., 20.),
        gap: 0.0,
    };
    assert_eq!(solve(&problem(4), Effort::Quick, 1).placed.len(), 4);
    let settings = SearchSettings {
        effort: Effort::Seconds(0.1),
        seed: 1,
        threads: 1,
    };
    let outcome = nest(&problem(5), &settings, &|_| Continue::Yes);
    assert_eq!(outcome, Err(NestError::DoesNotFit { shape: 0 }));
}

#[test]
fn containers_that_hold_little_or_nothing_are_survived() {
    let square = |side: f64| shape(rectangle(side, side), 2, &[0., 45.]);
    let sliver = ring(&[(0., 0.), (90., 0.001), (0., 0.002)]);
    let crossing = ring(&[(0., 0.), (60., 60.), (60., 0.), (0., 50.)]);
    let spiked = ring(&[
        (0., 0.),
        (20., 0.),
        (40., 0.),
        (40., 20.),
        (80., 20.),
        (40., 20.),
        (40., 40.),
        (0., 40.),
    ]);
    let mut covered = Container::sheet(50., 50.);
    covered.forbidden = vec![forbidden(
        &[(-9., -9.), (60., -9.), (60., 60.), (-9., 60.)],
        0.,
    )];
    let mut grown_over = Container::sheet(50., 50.);
    grown_over.forbidden = vec![forbidden(&[(25., 25.), (26., 25.), (25., 26.)], 40.0)];
    let mut touching = Outline::solid(rectangle(40., 40.));
    touching.openings = vec![
        ring(&[(0., 10.), (10., 10.), (10., 20.), (0., 20.)]),
        ring(&[(10., 20.), (20., 20.), (20., 30.), (10., 30.)]),
    ];
    let mut flaw_crosses = Container::sheet(40., 40.);
    flaw_crosses.forbidden = vec![Forbidden {
        area: Outline::solid(crossing.clone()),
        margin: 1.0,
    }];
    let containers = [
        (Container::sheet(0., 50.), true),
        (Container::sheet(9.9, 500.), true),
        (Container::remnant(Outline::solid(sliver)), true),
        (Container::remnant(Outline::solid(crossing)), true),
        (Container::remnant(Outline::solid(spiked)), false),
        (Container::remnant(touching), false),
        (covered, true),
        (grown_over, true),
        (flaw_crosses, true),
    ];
    for (n, (container, is_hopeless)) in containers.into_iter().enumerate() {
        for gap in [0.0, 0.7] {
            let problem = stock(vec![container.clone()], gap, vec![square(10.0)]);
            let found = solve_stock(&problem, BRIEF);
            assert_eq!(found.left[0] == 2, is_hopeless, "{n}");
        }
    }
}

#[test]
fn degenerate_pieces_go_into_remnants_or_are_left() {
    let pieces = [
        ring(&[(0., 0.), (90., 0.001), (0., 0.002)]),
        ring(&[(0., 0.), (4., 0.), (4., 2.), (8., 2.), (4., 2.), (0., 2.)]),
        ring(&[(0., 0.), (1., 0.), (2., 0.), (4., 0.), (4., 3.), (0., 3.)]),
        ring(&[(0., 0.), (6., 6.), (6., 0.), (0., 5.)]),
        ring(&[(9e5, 9e5), (9e5 + 5., 9e5), (9e5 + 2., 9e5 + 5.)]),
        // As wide as the remnant's foot, as long as its leg.
        rectangle(100.0, 15.0),
        rectangle(15.0, 80.0),
    ];
    for gap in [0.0, 0.4] {
        let shapes = pieces.iter().map(|p| shape(p.clone(), 2, &[0., 37.]));
        let containers = vec![Container::remnant(holed_l()), Container::strip(110.0)];
        let problem = stock(containers, gap, shapes.collect());
        let found = solve_stock(&problem, Effort::Seconds(0.2));
        assert_eq!(found.left, vec![0; pieces.len()]);
    }
}

#[test]
fn the_check_finds_what_lies_off_a_remnant_or_on_a_flaw() {
    let mut remnant = Container::remnant(holed_l());
    remnant.forbidden = vec![forbidden(
        &[(80., 0.), (90., 0.), (90., 10.), (80., 10.)],
        2.0,
    )];
    let problem = Problem {
        shapes: vec![shape(rectangle(10., 10.), 1, &[0.])],
        container: remnant,
        gap: 0.0,
    };
    let faults = |x, y| {
        let placed = vec![Placed {
            shape: 0,
            placement: Placement {
                turn: Turn::rotation(Angle::ZERO),
                shift: crate::geometry::Vector::new(x, y),
            },
        }];
        check(
            &problem,
            &Nesting {
                placed,
                length: 100.0,
            },
        )
    };
    // Touching edges, and the opening, is fine.
    assert_eq!(faults(30., 70.), vec![]);
    assert_eq!(faults(25., 15.), vec![]);
    assert!(matches!(
        faults(30.1, 70.)[..],
        [LayoutFault::OffRemnant { .. }]
    ));
    assert!(matches!(
        faults(50., 50.)[..],
        [LayoutFault::OffRemnant { .. }]
    ));
    assert!(matches!(
        faults(15., 15.)[..],
        [LayoutFault::OffRemnant { .. }]
    ));
    assert!(matches!(
        faults(30., 75.)[..],
        [LayoutFault::Outside { .. }, ..]
    ));
    assert!(matches!(
        faults(85., 5.)[..],
        [LayoutFault::OnForbidden { .. }]
    ));
    assert!(matches!(
        faults(80., 11.)[..],
        [LayoutFault::NearForbidden { .. }]
    ));
    assert_eq!(faults(80., 12.), vec![]);
}

fn any_remnant() -> impl Strategy<Value = Option<Container>> {
    let radius = prop_oneof![4 => 20.0..60.0, 1 => 0.01..5.0];
    let flaw = (
        prop::collection::vec(1.0..15.0, 3..8),
        -40.0..40.0,
        -40.0..40.0,
        prop_oneof![Just(0.0), 0.1..6.0],
    );
    (
        prop::collection::vec(radius, 3..30),
        prop::option::of(0.1..0.7),
        prop::collection::vec(flaw, 0..3),
    )
        .prop_map(|(radii, opening, flaws)| {
            let mut container = Container::remnant(Outline {
                outer: star(&radii)?,
                openings: opening
                    .and_then(|t| star(&radii.iter().map(|r| r * t).collect::<Vec<_>>()))
                    .into_iter()
                    .collect(),
            });
            container.forbidden = (flaws.iter())
                .filter_map(|(radii, x, y, margin)| {
                    Some(Forbidden {
                        area: moved(&Outline::solid(star(radii)?), *x, *y),
                        margin: *margin,
                    })
                })
                .collect();
            Some(container)
        })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_layout_of_stock_is_valid(
        shapes in prop::collection::vec(any_shape(), 1..6),
        remnants in prop::collection::vec(any_remnant(), 1..3),
        flaw in any_remnant(),
        gap in prop_oneof![Just(0.0), 0.01..3.0],
    ) {
        let mut containers: Vec<Container> = remnants.into_iter().flatten().collect();
        let mut strip = Container::strip(70.0);
        strip.forbidden = flaw.map(|f| f.forbidden).unwrap_or_default();
        containers.push(strip);
        let problem = stock(containers, gap, shapes.into_iter().flatten().collect());
        let settings = SearchSettings { effort: Effort::Seconds(0.1), seed: 3, threads: 1 };
        let found = nest_stock(&problem, &settings, &|_| Continue::Yes).unwrap();
        prop_assert_eq!(check_stock(&problem, &found), vec![]);
        prop_assert!(found.left.iter().all(|&n| n == 0));
    }
}

/// Rectangles of 100 × 50 that lie a degree off, and how far each may be turned.
fn slanted(tolerance: f64, demand: usize) -> Shape {
    Shape {
        tolerance: Angle::degrees(tolerance),
        ..shape(rectangle(100., 50.), demand, &[1.0])
    }
}

/// A sheet of 300.5 × 51.9, a remnant that is the same with a corner more, a strip with a flaw: in none of
/// them three pieces a degree off lie as short as straight ones.
#[test]
fn an_angle_tolerance_serves_sheets_remnants_and_flawed_strips() {
    let sheet = || stock(vec![Container::sheet(300.5, 51.9)], 0.0, Vec::new());
    let remnant = ring(&[
        (0., 0.),
        (300.5, 0.),
        (300.5, 51.9),
        (150., 51.9),
        (140., 58.),
        (130., 51.9),
        (0., 51.9),
    ]);
    let remnant = || {
        let outline = Outline::solid(remnant.clone());
        stock(vec![Container::remnant(outline)], 0.0, Vec::new())
    };
    let kept = |mut problem: StockProblem, tolerance: f64| {
        problem.shapes = vec![slanted(tolerance, 3)];
        solve_stock(&problem, Effort::Quick)
    };
    for container in [&sheet as &dyn Fn() -> StockProblem, &remnant] {
        assert_eq!(kept(container(), 0.0).left, [1]);
        let found = kept(container(), 1.5);
        assert_eq!(found.left, [0], "{:?}", container().containers);
        let angles = found.layouts[0].placed.iter().map(|placed| {
            let off = placed.placement.turn.angle - Angle::degrees(1.0);
            off.to_degrees().abs()
        });
        assert!(angles.clone().all(|off| off <= 1.5 + 1e-9));
        assert!(angles.fold(0.0, f64::max) > 0.1);
    }

    let mut flawed = strip(60.0, 0.0, vec![slanted(0.0, 3)]);
    flawed.container.forbidden = vec![forbidden(
        &[(-5., -5.), (20., -5.), (20., 65.), (-5., 65.)],
        0.0,
    )];
    let straight = solve(&flawed, Effort::Quick, 1).length;
    flawed.shapes = vec![slanted(1.5, 3)];
    let tilted = solve(&flawed, Effort::Quick, 1).length;
    assert!(straight > 320.5, "{straight}");
    assert!((320.0..320.1).contains(&tilted), "{tilted}");
}
