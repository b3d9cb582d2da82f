//! Cloth that is cut where the mould is saddled, with what is let in there.

use super::*;

/// z = ((x² − y²) cos t + 2xy sin t) / 2R within a circle of 90 corners.
fn saddle(radius: f64, reach: f64, turned: f64) -> Arc<Area> {
    let (sin, cos) = trig::sin_cos_radians(turned);
    let surface = grid((90, 90), crossed, |u, v| {
        let [x, y] = [u, v].map(|t| 1.3 * reach * (2.0 * t - 1.0));
        let z = ((x * x - y * y) * cos + 2.0 * x * y * sin) / (2.0 * radius);
        dvec3(x, y, z)
    });
    let corner = |k: u32| {
        let (sin, cos) = trig::sin_cos_radians((4.0 * f64::from(k)).to_radians());
        [reach * cos, reach * sin]
    };
    let choice = AreaChoice {
        inside: Some(ClosedLine {
            axis: 2,
            points: (0..90).map(corner).collect(),
        }),
        ..AreaChoice::default()
    };
    part(&surface, &choice)
}

/// ∫ √(1 + r²/R²) dA within the line around [`saddle`].
fn area_of_saddle(radius: f64, reach: f64) -> f64 {
    const STEPS: u32 = 4000;
    let step = 2f64.to_radians() / f64::from(STEPS);
    let wedge = |k: u32| {
        let (_, cos_half) = trig::sin_cos_radians(2f64.to_radians());
        let (_, cos) = trig::sin_cos_radians((f64::from(k) + 0.5) * step);
        let r = reach * cos_half / cos;
        radius * radius / 3.0 * ((1.0 + r * r / (radius * radius)).powf(1.5) - 1.0) * step
    };
    // Half of one of 90 sides.
    180.0 * (0..STEPS).map(wedge).sum::<f64>()
}

/// How long the parabola x²/2R is as far as x.
fn arc(radius: f64, x: f64) -> f64 {
    let root = (1.0 + x * x / (radius * radius)).sqrt();
    x / 2.0 * root + radius / 2.0 * (x / radius + root).ln()
}

fn with_darts(darts: Darts, spacing: f64) -> LayChoice {
    LayChoice {
        darts,
        gusset_lap: 20.0,
        ..lay([0.0; 3], spacing)
    }
}

/// Along x and y the cloth lies as the translated profiles do: its yarns meet at the angle whose cosine is
/// −xy / √(R² + x²)√(R² + y²), at most 29.2° off square. Cut on its bias it stays below 20°.
#[test]
fn cuts_with_gussets_keep_a_saddle_below_the_lock() {
    let (radius, reach, lock) = (80.0, 110.0, 20.0);
    let area = saddle(radius, reach, 0.0);
    let lay = |darts| with_darts(darts, 2.5);
    let before = drape(&area, &lay(Darts::No), 0.0, bears(lock), String::new()).unwrap();
    let half = reach * reach / 2.0;
    let most = trig::acos_radians(half / (radius * radius + half)).to_degrees();
    assert!(
        (before.shear().degrees - (90.0 - most)).abs() < 0.2,
        "{most} {:?}",
        before.shear()
    );
    let laid = drape(
        &area,
        &lay(Darts::WhereNeeded),
        0.0,
        bears(lock),
        String::new(),
    )
    .unwrap();
    assert!(laid.shear().degrees < lock, "{:?}", laid.shear());
    assert!(!laid.is_saddled() && laid.darts().is_empty());
    assert_eq!(laid.reliefs().len(), 4);
    let exact = area_of_saddle(radius, reach);
    let gussets = laid.reliefs().iter().map(|relief| relief.gusset.mould_area);
    let covered = laid.on.area.on_mould() + gussets.sum::<f64>();
    assert!((covered / exact - 1.0).abs() < 5e-4, "{covered} of {exact}");
    let by_shear = laid.area_by_shear().unwrap();
    assert!((laid.outline().area() / by_shear - 1.0).abs() < 5e-4);
    for Relief { cut, gusset } in laid.reliefs() {
        // On the bias, from a tip on the net that is as without cuts, out to the edge.
        let [tip, mouth] = [cut.tip, cut.mouth];
        let flat_tip = *cut.lips[0].last().unwrap();
        let off = |flat: f64, on: f64| (flat.abs() - arc(radius, on.abs())).abs();
        assert!(
            off(flat_tip.x, tip[0]).max(off(flat_tip.y, tip[1])) < 0.05,
            "{cut:?}"
        );
        assert!(
            (f64::hypot(mouth[0], mouth[1]) / reach - 1.0).abs() < 2e-3,
            "{mouth:?}"
        );
        assert!(
            (mouth[0].abs() - mouth[1].abs()).abs() < gusset.opens,
            "{mouth:?}"
        );
        assert!(cut.eased().abs() < 0.2, "{:?}", cut.lip_lengths);
        // As wide as it opens there, and no more sheared than by the little that it covers.
        let [right, left] = &gusset.lips;
        assert!((right[0].distance(left[0]) / gusset.opens - 1.0).abs() < 0.02);
        assert!(
            gusset.opens > 5.0 && gusset.shear.degrees < 5.0,
            "{gusset:?}"
        );
        // Its laps on both sides and past its tip, not past the mouth: about two strips and half a disc.
        let sides: f64 = [right, left]
            .into_iter()
            .flat_map(|lip| lip.windows(2))
            .map(|p| p[0].distance(p[1]))
            .sum();
        let laps = 20.0 * sides + std::f64::consts::PI * 200.0;
        let own = gusset.net.area() - gusset.bare.area();
        assert!((own / laps - 1.0).abs() < 0.05, "{own} for {laps}");
        assert!(
            right
                .iter()
                .chain(left)
                .all(|&p| gusset.net.outer.contains(p) || gusset.net.outer.distance(p) < 0.05)
        );
    }
}

/// On the mirror image everything is mirrored.
#[test]
fn a_mirrored_saddle_gets_mirrored_gussets() {
    let laid = [0.25, -0.25].map(|turned| {
        let area = saddle(80.0, 100.0, turned);
        drape(
            &area,
            &with_darts(Darts::WhereNeeded, 3.0),
            0.0,
            bears(19.0),
            String::new(),
        )
        .unwrap()
    });
    let [one, other] = &laid;
    assert_eq!(one.reliefs().len(), other.reliefs().len());
    assert!(one.reliefs().len() >= 2, "{:?}", one.shear());
    let mirrored = |outline: &Outline| {
        Outline::solid(
            Ring::new(outline.outer.points().iter().map(|p| Point::new(p.x, -p.y))).unwrap(),
        )
    };
    for relief in one.reliefs() {
        let [x, y, _] = relief.cut.tip;
        let off = |other: &&Relief| f64::hypot(other.cut.tip[0] - x, other.cut.tip[1] + y);
        let mate = other
            .reliefs()
            .iter()
            .min_by(|a, b| off(a).total_cmp(&off(b)))
            .unwrap();
        for [a, b] in [
            [&relief.gusset.bare, &mate.gusset.bare],
            [&relief.gusset.net, &mate.gusset.net],
        ] {
            let off = apart(a, &mirrored(b));
            assert!(off < 0.1, "{off} of {:?}", relief.cut);
        }
    }
}

/// A line told where the mould is saddled becomes such a cut, too.
#[test]
fn a_line_told_on_a_saddle_opens() {
    let area = saddle(80.0, 100.0, 0.0);
    let on = |x: f64, y: f64| [x, y, (x * x - y * y) / 160.0];
    let lay = LayChoice {
        dart_lines: vec![vec![on(40.0, 40.0), on(70.0, 70.0)]],
        ..with_darts(Darts::No, 3.0)
    };
    let laid = flat(&area, &lay, 0.0).unwrap();
    assert!(laid.darts().is_empty());
    let [relief] = laid.reliefs() else {
        panic!("{:?}", laid.reliefs())
    };
    let off = f64::hypot(relief.cut.tip[0] - 40.0, relief.cut.tip[1] - 40.0);
    assert!(off < 3.0 && relief.gusset.opens > 1.0, "{relief:?}");
}
