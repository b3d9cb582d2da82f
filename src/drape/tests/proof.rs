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
