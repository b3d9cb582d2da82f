//! Trim that is added on the mould: a part with it is a larger part.

use super::*;
use crate::geometry::{Join, offset};

fn with_trim(area: &Arc<Area>, lay: &LayChoice, trim: TrimChoice) -> Drape {
    let lies = PlyLies {
        angle_deg: 0.0,
        give: ClothGive::endless(Fibres::Crossed),
        under: 0.0,
    };
    super::super::drape(area, lay, lies, String::new(), &[trim]).unwrap()
}

fn above(surface: &Surface, z: f64) -> Arc<Area> {
    let choice = AreaChoice {
        above: [None, None, Some(z)],
        ..AreaChoice::default()
    };
    part(surface, &choice)
}

/// A cap of polar angle 50° with 25 mm round it on a ball of 100 mm is a cap of 50° + 0.25 rad; where the cloth shears by 20
/// to 31°, flat it takes 20 to 22 mm.
#[test]
fn a_cap_with_trim_is_a_larger_cap() {
    let ball = cap(100.0, 146, 95.0);
    let polar = |radians: f64| 100.0 * trig::sin_cos_radians(radians).1;
    let lay = lay([0.0, 0.0, 100.0], 2.5);
    let inner = 50.0_f64.to_radians();
    let trim = TrimChoice {
        by: 25.0,
        join: Join::Round,
    };
    let small = with_trim(&above(&ball, polar(inner)), &lay, trim);
    let large = flat(&above(&ball, polar(inner + 0.25)), &lay, 0.0).unwrap();
    let trimmed = small.trimmed(trim).unwrap();
    let off = apart(&trimmed.outline, large.outline());
    assert!(off < 0.2, "{off} mm");
    assert_eq!(trimmed.off_mould, 0.0);
    let widths = trimmed.outline.outer.points().iter();
    let widths: Vec<f64> = widths.map(|&p| small.outline().outer.distance(p)).collect();
    let least = widths.iter().copied().fold(f64::INFINITY, f64::min);
    let most = widths.iter().copied().fold(0.0, f64::max);
    assert!((20.0..22.0).contains(&least), "{least}");
    assert!((24.8..25.1).contains(&most), "{most}");
}

/// On a saddle the corners of cloth between the yarns are drawn together, so that they take more than the trim flat.
#[test]
fn a_saddle_takes_more_cloth_than_its_trim() {
    let saddle = grid((160, 160), crossed, |u, v| {
        let (x, y) = (320.0 * (u - 0.5), 320.0 * (v - 0.5));
        dvec3(x, y, (x * x - y * y) / 200.0)
    });
    let circle = |radius: f64| {
        let corner = |k: u32| {
            let (sin, cos) = trig::sin_cos_radians(f64::from(k) * std::f64::consts::TAU / 72.0);
            [radius * cos, radius * sin]
        };
        AreaChoice {
            inside: Some(ClosedLine {
                axis: 2,
                points: (0..72).map(corner).collect(),
            }),
            ..AreaChoice::default()
        }
    };
    let trim = TrimChoice {
        by: 25.0,
        join: Join::Round,
    };
    let laid = with_trim(&part(&saddle, &circle(90.0)), &lay([0.0; 3], 2.5), trim);
    let trimmed = laid.trimmed(trim).unwrap();
    let on_bias = |ring: &Ring| {
        let reach = |p: &Point| (p.x + p.y) / std::f64::consts::SQRT_2;
        ring.points().iter().map(reach).fold(0.0, f64::max)
    };
    let degrees = laid.shear().degrees;
    let width = on_bias(&trimmed.outline.outer) - on_bias(&laid.outline().outer);
    let sin = trig::sin_cos_radians(degrees.to_radians()).0;
    // As at the edge of the part, and more beyond it.
    let least = 25.0 / (1.0 - sin).sqrt();
    assert!(
        degrees > 15.0 && (least..least + 4.0).contains(&width),
        "{degrees}° {width} mm"
    );
}

/// On a plane it is the offset, round each kind of corner; where the plane ends, too, and that is told.
#[test]
fn on_a_plane_trim_is_the_offset() {
    let plane = |edge: f64| {
        let at = move |u: f64, v: f64| dvec3(50.0 + (edge - 50.0) * u, 400.0 * v, 0.0);
        grid((80, 80), crossed, at)
    };
    let angle_piece = AreaChoice {
        inside: Some(ClosedLine {
            axis: 2,
            points: vec![
                [100.0, 100.0],
                [300.0, 100.0],
                [300.0, 200.0],
                [200.0, 200.0],
                [200.0, 300.0],
                [100.0, 300.0],
            ],
        }),
        ..AreaChoice::default()
    };
    for (edge, share) in [(400.0, 0.0), (310.0, 100.0 / 800.0)] {
        for join in [Join::Round, Join::Mitre { limit: 2.0 }, Join::Bevel] {
            let trim = TrimChoice { by: 25.0, join };
            let area = part(&plane(edge), &angle_piece);
            let laid = with_trim(&area, &lay([150.0, 150.0, 0.0], 3.0), trim);
            let trimmed = laid.trimmed(trim).unwrap();
            let exact = offset(laid.outline(), 25.0, join).unwrap();
            let off = apart(&trimmed.outline, &exact);
            assert!(off < 0.1, "{join:?}: {off} mm");
            assert!(
                (trimmed.off_mould - share).abs() < 0.02,
                "{}",
                trimmed.off_mould
            );
        }
    }
}
