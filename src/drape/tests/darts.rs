//! Cloth that is cut where it would lock.

use super::*;

/// That lips are as long as each other flat, and lie on the outline, whose V is cut out of the bridged one.
fn assert_darts(laid: &Drape, most: f64) {
    let [mut cut_out, simple] = [0.0, laid.outline().outer.area()];
    for dart in laid.darts() {
        let [a, b] = dart.lip_lengths;
        assert!(
            dart.eased().abs() < most * a,
            "{a} and {b} at {:?}",
            dart.tip
        );
        let [inward, outward] = &dart.lips;
        for p in inward.iter().chain(outward) {
            assert!(laid.outline().outer.distance(*p) < 0.02, "{p:?}");
        }
        let legs: Vec<Point> = inward
            .iter()
            .chain(outward.iter().rev().skip(1))
            .copied()
            .collect();
        cut_out += Ring::new(legs).unwrap().area();
    }
    let off = laid.uncut().outer.area() - cut_out - simple;
    assert!(
        off.abs() < 1e-3 * cut_out,
        "{off} of {cut_out} mm² that is cut out"
    );
    assert!(laid.outline().crossing().is_none());
}

/// A hemisphere shears by 52.4° at its edge; with four darts it stays below what the cloth bears.
#[test]
fn darts_keep_a_hemisphere_below_the_lock() {
    let radius = 100.0;
    let area = hemisphere(radius);
    for (lock, smoothing, angle) in [
        (45.0, Smoothing::Straight, 0.0),
        (40.0, Smoothing::Evenly, 0.0),
        (40.0, Smoothing::Straight, 25.0),
    ] {
        let lay = LayChoice {
            darts: Darts::WhereNeeded,
            smoothing,
            ..lay([0.0, 0.0, radius], 2.5)
        };
        let give = bears(lock);
        let laid = drape(&area, &lay, angle, give, String::new()).unwrap();
        assert!(laid.shear().degrees < lock, "{lock}: {:?}", laid.shear());
        assert!((1..=4).contains(&laid.darts().len()), "{:?}", laid.darts());
        assert_darts(&laid, 5e-4);
        // They run out of the middle of the cloth on its bias, to the edge.
        for dart in laid.darts() {
            let [x, y, z] = dart.mouth;
            let off = (trig::atan2_radians(y, x).to_degrees() - angle).rem_euclid(90.0) - 45.0;
            assert!(off.abs() < 1.0 && z.abs() < 1e-6, "{:?}", dart.mouth);
            assert!(dart.tip[2] > 30.0, "{:?}", dart.tip);
        }
    }
}

/// Steep walls lock at the corners of a tray, and there the darts are.
#[test]
fn darts_are_at_the_corners_of_a_tray() {
    // The walls of 70° lock further in, where yarns beside one lip are not those beside the other.
    for (wall, lock, equal) in [(60.0_f64, 40.0, 5e-4), (70.0, 45.0, 0.02)] {
        let choice = AreaChoice {
            below: [None, None, Some(25.0)],
            ..AreaChoice::default()
        };
        let area = part(&tray(wall, 1.0), &choice);
        let lay = LayChoice {
            darts: Darts::WhereNeeded,
            ..lay([0.0; 3], 2.5)
        };
        let laid = drape(&area, &lay, 0.0, bears(lock), String::new()).unwrap();
        assert!(laid.shear().degrees < lock, "{wall}°: {:?}", laid.shear());
        assert_eq!(laid.darts().len(), 4);
        assert_darts(&laid, equal);
        for dart in laid.darts() {
            let [x, y, _] = dart.mouth.map(f64::abs);
            assert!(x > 95.0 && y > 65.0, "{:?}", dart.mouth);
        }
    }
}

/// A dart along a line that is told: with the corners of the line on it.
#[test]
fn a_dart_lies_where_it_is_told() {
    let surface = cap(100.0, 100, 95.0);
    let choice = AreaChoice {
        above: [None, None, Some(20.0)],
        ..AreaChoice::default()
    };
    let area = part(&surface, &choice);
    let on = |polar: f64, round: f64| {
        let (sin, cos) = trig::sin_cos_radians(polar.to_radians());
        let (y, x) = trig::sin_cos_radians(round.to_radians());
        [100.0 * sin * x, 100.0 * sin * y, 100.0 * cos]
    };
    let line = vec![on(45.0, 50.0), on(60.0, 42.0), on(70.0, 40.0)];
    let told = |line| LayChoice {
        dart_lines: vec![line],
        ..lay([0.0, 0.0, 100.0], 2.5)
    };
    let laid = flat(&area, &told(line.clone()), 0.0).unwrap();
    let [dart] = laid.darts() else {
        panic!("{:?}", laid.darts())
    };
    let off = DVec3::from_array(dart.tip).distance(DVec3::from_array(line[0]));
    assert!(off < 2.0, "{off}");
    assert!((dart.mouth[2] - 20.0).abs() < 1e-6, "{:?}", dart.mouth);
    assert!(laid.outline().area() < laid.uncut().area() - 10.0);
    assert_darts(&laid, 0.05);
}

/// Just below the most that it shears, and well below: four darts do.
#[test]
fn a_shallow_dish_gets_as_few_darts() {
    let surface = grid(
        (52, 52),
        |_, _| true,
        |u, v| {
            let (x, y) = (260.0 * (u - 0.5), 260.0 * (v - 0.5));
            dvec3(x, y, (150.0f64 * 150.0 - x * x - y * y).max(0.0).sqrt())
        },
    );
    let choice = AreaChoice {
        above: [None, None, Some(90.0)],
        ..AreaChoice::default()
    };
    let area = part(&surface, &choice);
    for lock in [21.0, 18.0, 15.0] {
        let lay = LayChoice {
            darts: Darts::WhereNeeded,
            smoothing: Smoothing::Evenly,
            ..lay([0.0, 0.0, 150.0], 3.0)
        };
        let laid = drape(&area, &lay, 0.0, bears(lock), String::new()).unwrap();
        assert!(laid.shear().degrees < lock, "{lock}: {:?}", laid.shear());
        assert_eq!(laid.darts().len(), 4);
        assert_darts(&laid, 5e-3);
    }
}
