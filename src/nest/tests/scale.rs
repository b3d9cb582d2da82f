//! No constant of the engine is a length: in another unit the search is the same.

use std::sync::Mutex;

use super::*;

/// Curved and hollow shapes, one with an opening, a gap between them, and turns with a tolerance.
fn problem(by: f64) -> Problem {
    let waves = |n: u32, size: f64| {
        let corner = |k: u32| {
            let t = f64::from(k) * std::f64::consts::TAU / f64::from(n);
            let (sin, cos) = sin_cos_radians(t);
            let r = by * size * (1.0 + 0.3 * sin_cos_radians(3.0 * t).1);
            Point::new(r * cos, r * sin)
        };
        Ring::new((0..n).map(corner)).unwrap()
    };
    let frame = Outline {
        outer: waves(60, 90.0),
        openings: vec![waves(20, 40.0)],
    };
    let mut shapes = vec![
        Shape::new(frame, &[0.0, 180.0], 2),
        shape(waves(90, 55.0), 5, &[0.0, 90.0, 180.0]),
        shape(rectangle(by * 70.0, by * 20.0), 4, &[0.0, 90.0]),
    ];
    shapes[1].tolerance = Angle::degrees(1.0);
    strip(by * 420.0, by * 2.0, shapes)
}

/// The layout of a quick search and how many places were measured.
fn searched(problem: &Problem) -> (Nesting, u64) {
    let evaluations = Mutex::new(0);
    let layout = nest(problem, &SearchSettings::default(), &|progress| {
        *evaluations.lock().unwrap() = progress.counts.evaluations;
        Continue::Yes
    });
    let layout = layout.unwrap();
    assert_eq!(check(problem, &layout), []);
    (layout, evaluations.into_inner().unwrap())
}

#[test]
fn in_units_that_differ_by_powers_of_two_the_layout_is_the_same_to_the_bit() {
    let (here, evaluations) = searched(&problem(1.0));
    for power in [-7, 5, 10] {
        let by = 2.0_f64.powi(power);
        let (there, as_many) = searched(&problem(by));
        assert_eq!(evaluations, as_many);
        assert_eq!(there.length, here.length * by);
        for (a, b) in here.placed.iter().zip(&there.placed) {
            assert_eq!(a.placement.turn, b.placement.turn);
            assert_eq!(a.placement.shift * by, b.placement.shift);
        }
    }
}

#[test]
fn in_hundredths_inches_and_hundreds_the_search_is_as_fast_and_ends_as_short() {
    let (here, evaluations) = searched(&problem(1.0));
    for by in [0.01, 1.0 / 25.4, 100.0] {
        let (there, as_many) = searched(&problem(by));
        let speed = as_many as f64 / evaluations as f64;
        assert!((0.8..1.25).contains(&speed), "{by}: {speed}");
        let length = there.length / by / here.length;
        assert!((0.95..1.05).contains(&length), "{by}: {length}");
    }
}

#[test]
fn stock_in_another_unit_is_filled_alike() {
    let filled = |by: f64| {
        let Problem { shapes, gap, .. } = problem(by);
        let mut sheet = Container::sheet(by * 300.0, by * 300.0);
        sheet.forbidden.push(Forbidden {
            area: Outline::solid(rectangle(by * 30.0, by * 40.0)),
            margin: by * 5.0,
        });
        let cut = [(0., 0.), (300., 0.), (250., 250.), (0., 200.)].map(|(x, y)| (by * x, by * y));
        let remnant = Container::remnant(Outline::solid(ring(&cut)));
        let containers = vec![sheet, remnant, Container::strip(by * 420.0)];
        let problem = StockProblem {
            shapes,
            containers,
            gap,
        };
        let found = nest_stock(&problem, &SearchSettings::default(), &|_| Continue::Yes).unwrap();
        assert_eq!(check_stock(&problem, &found), []);
        found
    };
    let (here, there) = (filled(1.0), filled(64.0));
    for (a, b) in here.layouts().iter().zip(there.layouts()) {
        assert_eq!(a.length() * 64.0, b.length());
        assert_eq!(a.placed().len(), b.placed().len());
    }
    assert!(here.layouts().iter().all(|layout| layout.length() > 0.0));
}
