//! Fibres all one way, mats, and which direction and start are best.

use super::*;

/// On a sphere the flat place at longitude λ along the first fibre and φ from it is (R λ cos φ, R φ), and the tangent of
/// the slip is −λ sin φ. Largest in a cap of 60° polar angle: 29.14°.
#[test]
fn fibres_all_one_way_slip_on_a_sphere_as_they_must() {
    let radius = 100.0;
    let surface = cap(radius, 146, 70.0);
    for (polar, most) in [(45.0_f64, 17.16), (60.0, 29.14)] {
        let (sin, cos) = trig::sin_cos_radians(polar.to_radians());
        let choice = AreaChoice {
            above: [None, None, Some(radius * cos)],
            ..AreaChoice::default()
        };
        let area = part(&surface, &choice);
        let give = ClothGive::endless(Fibres::Parallel);
        let laid = drape(
            &area,
            &lay([0.0, 0.0, radius], 5.0),
            0.0,
            give,
            String::new(),
        )
        .unwrap();
        let slip = laid.shear().degrees;
        assert!((slip - most).abs() < 0.5, "{polar}°: {slip}");
        // Its edge is a circle of the sphere.
        let exact = (0..3600).map(|k| {
            let (s, c) = trig::sin_cos_radians((f64::from(k) / 10.0).to_radians());
            let (x, y, z) = (sin * c, sin * s, cos);
            let across = (1.0 - y * y).sqrt();
            let (long, off) = (trig::atan2_radians(x, z), trig::atan2_radians(y, across));
            Point::new(radius * long * across, radius * off)
        });
        let exact = Outline::solid(Ring::new(exact).unwrap());
        assert!(
            apart(laid.outline(), &exact) < 0.3,
            "{}",
            apart(laid.outline(), &exact)
        );
        // Area is kept, but for what a chord is shorter than its arc.
        let fine = drape(
            &area,
            &lay([0.0, 0.0, radius], 2.5),
            0.0,
            give,
            String::new(),
        )
        .unwrap();
        let kept = fine.outline().area() / fine.mould_area();
        assert!((kept - 1.0).abs() < 5e-4, "{kept}");
        // Cell by cell.
        let net = slipping(&area, [0.0, 0.0, radius]);
        let (mut sum, mut n) = (0.0, 0.0);
        for (cell, corners) in net.cells() {
            if corners.iter().all(|spot| area.inside[spot.face as usize]) {
                let p = corners.iter().map(|c| c.at).sum::<DVec3>().normalize();
                let tan = -trig::atan2_radians(p.x, p.z) * p.y;
                let exact = trig::atan2_radians(tan, 1.0).to_degrees();
                sum += (cell.shear - exact).powi(2);
                n += 1.0;
            }
        }
        let rms = f64::sqrt(sum / n);
        assert!(rms < 0.2, "{rms}");
    }
}

fn slipping(area: &Area, start: [f64; 3]) -> Net {
    let start = DVec3::from_array(start);
    let spot = area.surface.nearest(start, |_| true).unwrap();
    let warp = area.surface.in_plane(spot.face, DVec3::X).unwrap();
    let ground = Ground {
        surface: &area.surface,
        inside: &area.inside,
        laid: &area.grown(12.5),
        by_slits: &[],
        slits: &[],
        cuts: &[],
    };
    let rules = Rules {
        spacing: 5.0,
        limit: LIMIT_DEG,
        lines: FirstYarns::Sections,
        over_bends: true,
    };
    parallels::laid(&ground, NetStart { spot, warp }, &rules)
}

/// Where the first fibre ends before the part does, the next ones go on: an angle of sheet is its own drawing.
#[test]
fn fibres_go_on_round_a_corner() {
    let surface = grid((60, 60), crossed, |u, v| dvec3(200.0 * u, 200.0 * v, 0.0));
    let corner = [
        [5.0, 5.0],
        [195.0, 5.0],
        [195.0, 45.0],
        [45.0, 45.0],
        [45.0, 195.0],
        [5.0, 195.0],
    ];
    let choice = AreaChoice {
        inside: Some(ClosedLine {
            axis: 2,
            points: corner.to_vec(),
        }),
        ..AreaChoice::default()
    };
    let area = part(&surface, &choice);
    for angle in [0.0, 30.0, 90.0] {
        let give = ClothGive::endless(Fibres::Parallel);
        let laid = drape(
            &area,
            &lay([25.0, 25.0, 0.0], 4.0),
            angle,
            give,
            String::new(),
        )
        .unwrap();
        let exact = corner.iter().map(|p| Point::new(p[0] - 25.0, p[1] - 25.0));
        let exact = Outline::solid(Ring::new(exact).unwrap());
        assert!(apart(laid.outline(), &exact) < 0.02, "{angle}°");
        assert!(laid.shear().degrees < 0.01);
    }
}

/// A mat is not strained on what unrolls, and on a cap less than a woven cloth is sheared.
#[test]
fn a_mat_goes_where_it_is_strained_least() {
    let give = ClothGive::endless(Fibres::Loose);
    let half = grid((90, 60), crossed, |u, v| {
        let (sin, cos) = trig::sin_cos_radians((150.0 * (u - 0.5)).to_radians());
        dvec3(80.0 * sin, 160.0 * v, 80.0 * cos)
    });
    let laid = drape(
        &part(&half, &AreaChoice::default()),
        &lay([0.0, 80.0, 80.0], 4.0),
        30.0,
        give,
        String::new(),
    )
    .unwrap();
    assert!(laid.shear().degrees < 0.1, "{:?}", laid.shear());
    let long = 80.0 * 150.0_f64.to_radians();
    let exact = [[-0.5, -0.5], [0.5, -0.5], [0.5, 0.5], [-0.5, 0.5]];
    let exact = exact.map(|[x, y]| Point::new(long * x, 160.0 * y));
    let exact = Outline::solid(Ring::new(exact).unwrap());
    assert!(
        apart(laid.outline(), &exact) < 0.2,
        "{}",
        apart(laid.outline(), &exact)
    );

    let choice = AreaChoice {
        above: [None, None, Some(50.0)],
        ..AreaChoice::default()
    };
    let area = part(&cap(100.0, 100, 70.0), &choice);
    let start = lay([0.0, 0.0, 100.0], 4.0);
    let woven = flat(&area, &start, 0.0).unwrap();
    let loose = drape(&area, &start, 0.0, give, String::new()).unwrap();
    assert!(
        loose.shear().degrees < 0.7 * woven.shear().degrees,
        "{:?}",
        loose.shear()
    );
    // Round as the cap is: the same way to the edge all round.
    let reach = loose
        .outline()
        .outer
        .points()
        .iter()
        .map(|p| (*p - Point::default()).length());
    let (least, most) = reach.fold((f64::INFINITY, 0.0_f64), |(a, b), r| (a.min(r), b.max(r)));
    assert!(most / least < 1.02, "{least} to {most}");
}

/// On a shell whose net shears least on the bias the table says so, and a start off the middle is worse.
#[test]
fn the_best_direction_and_start_are_found_by_trial() {
    // A long shallow trough of a doubly curved shell: 600 × 400 mm of a sphere of 500 mm.
    let surface = grid((120, 80), crossed, |u, v| {
        let (x, y) = (600.0 * (u - 0.5), 400.0 * (v - 0.5));
        dvec3(x, y, (500.0_f64.powi(2) - x * x - y * y).sqrt())
    });
    let area = part(&surface, &AreaChoice::default());
    let lay = lay([0.0, 0.0, 500.0], 5.0);
    let all = trials(&area, &lay, ClothGive::endless(Fibres::Crossed)).unwrap();
    // Five starts; a woven cloth lies at 90° as at 0°.
    assert_eq!(all.len(), 5 * 6);
    let shear = |start: usize, angle: f64| {
        let row = &all[6 * start..6 * start + 6];
        row.iter()
            .find(|trial| trial.angle_deg == angle)
            .unwrap()
            .shear_deg
            .unwrap()
    };
    for angle in [0.0, 45.0] {
        let exact = flat(&area, &lay, angle).unwrap().shear().degrees;
        assert!(
            (shear(0, angle) - exact).abs() < 0.5,
            "{angle}°: {} for {exact}",
            shear(0, angle)
        );
    }
    assert!((1..5).all(|start| shear(start, 0.0) > shear(0, 0.0) + 1.0));
    assert!(shear(0, 45.0) < shear(0, 0.0));
    for trial in &all {
        let off = trial.flat_area / area.on_mould();
        assert!((1.0..1.2).contains(&off), "{trial:?}");
    }
    // A third of the way along: at x = 100 of 300 by the arc.
    let third = 500.0 * trig::sin_cos_radians(trig::atan2_radians(300.0, 400.0) / 3.0).0;
    assert!((all[6].start[0] - third).abs() < 1.0, "{:?}", all[6].start);
    assert_eq!(
        trials(&area, &lay, ClothGive::endless(Fibres::Parallel))
            .unwrap()
            .len(),
        5 * 12
    );
}
