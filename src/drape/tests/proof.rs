//! A flat cloth that its mould does not bear out is no drape.

use super::*;

/// On corners of 4 mm, of which the net is coarser, yarns keep their length over the bends: 0.05 %.
#[test]
fn yarns_keep_their_length_over_bends() {
    for (wall, angle) in [(45.0, 0.0), (60.0, 30.0), (60.0, 45.0)] {
        let choice = AreaChoice {
            below: [None, None, Some(25.0)],
            ..AreaChoice::default()
        };
        let area = part(&tray(wall, 1.0), &choice);
        let laid = flat(&area, &lay([0.0; 3], 5.0), angle).unwrap();
        assert!(laid.yarns_off() < 5e-4, "{}", laid.yarns_off());
        let by_shear = laid.area_by_shear().unwrap();
        let off = (laid.outline().area() / by_shear - 1.0).abs();
        assert!(off < 5e-4, "{wall}° at {angle}°: {off}");
        // The straight way from crossing to crossing would cut each corner short: a rounding of 4 mm by chords of 5 mm.
        assert!(laid.spacing() >= 1.7, "{}", laid.spacing());
    }
}

#[test]
fn a_lie_about_a_flat_cloth_is_denied() {
    let lay = LayChoice {
        darts: Darts::WhereNeeded,
        ..lay([0.0, 0.0, 100.0], 5.0)
    };
    let laid = drape(&hemisphere(100.0), &lay, 0.0, bears(45.0), String::new()).unwrap();
    let lips: Vec<[f64; 2]> = laid.darts().iter().map(|dart| dart.lip_lengths).collect();
    let area = laid.outline().area();
    assert_eq!(laid.denies(area, &lips), None);
    assert!(matches!(
        laid.denies(1.001 * area, &lips),
        Some(Denied::Area(_))
    ));
    let mut longer = lips.clone();
    longer[2][1] += 0.3;
    assert!(matches!(laid.denies(area, &longer), Some(Denied::Lips(_))));
    assert!(matches!(
        laid.denies(area, &lips[1..]),
        Some(Denied::Lips(_))
    ));
}

/// On a cylinder that is raised by h the cloth goes round by (r + h) times the angle; on a fold it is no longer than on the
/// mitre of the two sides.
#[test]
fn a_raised_surface_is_as_much_longer_as_it_turns() {
    let (radius, width, length, by) = (100.0, 3.0, 300.0, 2.0);
    let surface = grid((150, 150), crossed, |u, v| {
        let (sin, cos) = trig::sin_cos_radians(width * (u - 0.5));
        dvec3(radius * sin, length * (v - 0.5), radius * cos)
    });
    let area = part(&surface, &AreaChoice::default());
    for (by, exact) in [(by, 306.0), (-by, 294.0)] {
        let raised = Arc::new(area.raised(by).unwrap());
        let laid = flat(&raised, &lay([0.0, 0.0, radius + by], 5.0), 0.0).unwrap();
        let size = laid.outline().bounds();
        assert!(
            // At its edges a mesh faces as its last triangles do.
            (size.width() - exact).abs() < 0.1,
            "{by}: {}",
            size.width()
        );
        assert!((size.height() - length).abs() < 0.05, "{}", size.height());
    }
    // The inside of a pipe of 1.5 mm has no room for 2 mm of plies.
    let gutter = grid((40, 20), crossed, |u, v| {
        let (sin, cos) = trig::sin_cos_radians(3.0 * (u - 0.5));
        dvec3(1.5 * sin, 20.0 * (v - 0.5), -1.5 * cos)
    });
    assert!(part(&gutter, &AreaChoice::default()).raised(2.0).is_none());
    assert!(part(&gutter, &AreaChoice::default()).raised(0.5).is_some());
}
