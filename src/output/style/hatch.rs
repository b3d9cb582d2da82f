//! The hatch of a ply: parallel lines that run as its fibres run in what is drawn.
//!
//! A woven or unidirectional ply has lines along its warp, a biaxial along both its layers, a mat
//! none. On a roll they lie as the fibres lie on the roll, which is alike for all its pieces, on a
//! part as they lie on the part.

use crate::cloth::Weave;
use crate::geometry::{Point, Vector, trig};
use crate::units::{Angle, FibreAxis, PlyAngle};

/// From line to line of a hatch in so many directions, pixels of a screen. Larger: small pieces stay
/// bare; smaller: labels drown.
pub(in crate::output) fn spacing(n_directions: usize) -> f64 {
    if n_directions > 1 { 13.0 } else { 9.0 }
}

/// The directions of the lines on a roll, counter-clockwise from its length. A piece that is turned
/// by a quarter or lies face down is cut from the same cloth, so its fibres lie in these too.
pub(in crate::output) fn on_roll(weave: Weave) -> Vec<Angle> {
    let from_warp = weave.drawn_as_warp().iter().copied();
    from_warp.map(Angle::degrees).collect()
}

/// The directions of the lines on a part, counter-clockwise from its 0°, above −90° up to 90°.
pub(in crate::output) fn on_part(weave: Weave, angle: PlyAngle) -> Vec<FibreAxis> {
    let n = weave.drawn_as_warp().len();
    weave.fibres_of(angle).take(n).collect()
}

/// The lines along `direction` across what lies within `rings`, `spacing` apart, in their own unit.
pub(in crate::output) fn lines(
    rings: &[Vec<Point>],
    direction: Angle,
    spacing: f64,
) -> Vec<[Point; 2]> {
    let (sin, cos) = trig::sin_cos(direction);
    let (along, across) = (Vector::new(cos, sin), Vector::new(-sin, cos));
    let origin = Point::default();
    let edges: Vec<[(f64, f64); 2]> = rings
        .iter()
        .flat_map(|ring| ring.iter().zip(ring.iter().cycle().skip(1)))
        .map(|(&a, &b)| [a, b].map(|p| ((p - origin).dot(along), (p - origin).dot(across))))
        .collect();
    let heights = edges.iter().map(|edge| edge[0].1);
    let (low, high) = heights.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
        (low.min(v), high.max(v))
    });
    let mut lines = Vec::new();
    // Half-way between multiples, which corners are rarely on.
    let mut k = (low / spacing - 0.5).ceil();
    while (k + 0.5) * spacing < high {
        let height = (k + 0.5) * spacing;
        let mut crossings: Vec<f64> = edges
            .iter()
            .filter(|[a, b]| (a.1 > height) != (b.1 > height))
            .map(|[a, b]| a.0 + (b.0 - a.0) * (height - a.1) / (b.1 - a.1))
            .collect();
        crossings.sort_by(f64::total_cmp);
        for pair in crossings.chunks_exact(2) {
            let at = |u: f64| origin + along * u + across * height;
            lines.push([at(pair[0]), at(pair[1])]);
        }
        k += 1.0;
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Outline, Ring};

    fn square(low: f64, high: f64) -> Ring {
        let corners = [(low, low), (high, low), (high, high), (low, high)];
        Ring::new(corners.map(|(x, y)| Point::new(x, y))).unwrap()
    }

    #[test]
    fn lines_cover_the_area_and_leave_openings_free() {
        let outline = Outline {
            outer: square(0.0, 100.0),
            openings: vec![square(30.0, 70.0)],
        };
        let rings: Vec<Vec<Point>> = outline.rings().map(|r| r.points().to_vec()).collect();
        for degrees in [0.0, 45.0, -45.0, 90.0, 17.0] {
            let spacing = 0.5;
            let lines = lines(&rings, Angle::degrees(degrees), spacing);
            let length: f64 = lines.iter().map(|[a, b]| a.distance(*b)).sum();
            let area = length * spacing;
            assert!((area - 8400.0).abs() < 40.0, "{degrees}°: {area}");
            for [a, b] in lines {
                let middle = a.towards(b, 0.5);
                assert!(outline.contains(middle), "{degrees}°: {middle:?}");
            }
        }
    }

    #[test]
    fn plies_of_different_angles_have_different_hatches() {
        let of = |weave, degrees| on_part(weave, PlyAngle::degrees(degrees));
        let twill: Vec<_> = [0.0, 45.0, -45.0, 90.0].map(|a| of(Weave::Twill, a)).into();
        for (i, a) in twill.iter().enumerate() {
            assert!(twill[i + 1..].iter().all(|b| a != b), "{a:?}");
        }
        // The fibres of a biaxial at 45° lie as a woven ply's at 0/90.
        let mut biaxial = of(Weave::Biaxial, 45.0);
        biaxial.sort_by(|a, b| {
            a.from_zero()
                .to_degrees()
                .total_cmp(&b.from_zero().to_degrees())
        });
        assert_eq!(
            biaxial,
            [-45.0, 45.0].map(|degrees| FibreAxis::new(Angle::degrees(degrees)))
        );
        assert!(of(Weave::NonDirectional, 30.0).is_empty());
    }
}
