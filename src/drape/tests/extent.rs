//! How far a film has to reach over a part, by what surfaces of revolution and folds measure.

use super::*;
use crate::mould::extent::FilmExtent;

fn extent(surface: &Surface, choice: &AreaChoice) -> FilmExtent {
    FilmExtent::of(&part(surface, choice), DVec3::X).unwrap()
}

/// Over a cap of polar angle φ a great circle is 2·R·φ long, its rim seen from above 2·R·sin φ across; the rim is a
/// circle in a plane, as long as it is seen. It bulges, or as a bowl has no corner.
#[test]
fn the_way_over_a_cap_is_its_great_circle() {
    let (radius, polar) = (100.0, 60.0_f64);
    for on_back in [false, true] {
        let choice = AreaChoice {
            on_back,
            ..AreaChoice::default()
        };
        let extent = extent(&cap(radius, 96, polar), &choice);
        let exact =
            2.0 * radius * (polar.to_radians() - trig::sin_cos_radians(polar.to_radians()).0);
        for side in &extent.sides {
            assert!(
                (side.over_more - exact).abs() < 0.2,
                "{} {exact}",
                side.over_more
            );
            assert!(side.edge_more < 0.05 && side.hollows.is_empty(), "{side:?}");
        }
    }
}

/// What bends one way only needs no pleat: its edge is as long as the way over it.
#[test]
fn a_cylinder_wants_no_film_beyond_its_edge() {
    let surface = grid((90, 40), crossed, |u, v| {
        let (sin, cos) = trig::sin_cos_radians(2.0 * u - 1.0);
        dvec3(100.0 * sin, 100.0 * v, 100.0 * cos)
    });
    let extent = extent(&surface, &AreaChoice::default());
    let more: Vec<f64> = extent.sides.iter().map(|side| side.edge_more).collect();
    // An arc of 2 rad is 200 mm, its chord 168.29.
    assert!((more[0] - 31.71).abs() < 0.05 && more[1] < 1e-6, "{more:?}");
    assert!(
        extent.sides.iter().all(|side| side.over_more < 1e-6),
        "{extent:?}"
    );
}

/// Walls at 60° with fillets: each is longer than seen by (1/sin 60° − 1/tan 60°) of its straight height and by
/// r·(π/3 − sin 60°) of its fillet, and has one hollow at its foot on the inner side, none on the outer.
#[test]
fn a_tray_is_hollow_at_the_feet_of_its_walls() {
    let surface = tray(60.0, 1.0);
    // As far as a rim 50 mm up.
    let (fillet, high) = (4.0, 50.0);
    let up_to_rim = AreaChoice {
        below: [None, None, Some(high)],
        ..AreaChoice::default()
    };
    let inner = extent(&surface, &up_to_rim);
    let (sin, cos) = trig::sin_cos_radians(60.0_f64.to_radians());
    let straight = (high - fillet * (1.0 - cos)) * (1.0 - cos) / sin;
    let exact = 2.0 * (straight + fillet * (std::f64::consts::FRAC_PI_3 - sin));
    for side in &inner.sides {
        assert!(
            (side.over_more - exact).abs() < 0.1,
            "{} {exact}",
            side.over_more
        );
        assert_eq!(side.hollows.len(), 2);
        for at in &side.hollows {
            assert!((0.0..fillet).contains(&at[2]), "{at:?}");
        }
    }
    let outer = extent(
        &surface,
        &AreaChoice {
            on_back: true,
            ..up_to_rim
        },
    );
    assert!(
        outer.sides.iter().all(|side| side.hollows.is_empty()),
        "{outer:?}"
    );
}
