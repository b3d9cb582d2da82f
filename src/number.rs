//! The one way numbers are written: shortest decimal form, no exponent, no minus zero.

use crate::geometry::Point;

/// Decimals of a written coordinate in mm: a tenth of a micrometre, far below the 0.01 mm to which
/// all formats must agree, and coarse enough that rounding noise never shows.
pub(crate) const COORDINATE: i32 = 4;

/// Decimals of a written angle in degrees: 10⁻⁶° moves a point 3 m away by 0.00005 mm.
pub(crate) const ANGLE: i32 = 6;

/// `value` with at most `decimals` decimals.
pub(crate) fn number(value: f64, decimals: i32) -> String {
    format!("{}", rounded(value, decimals))
}

/// `value` rounded to `decimals` decimals; never minus zero.
pub(crate) fn rounded(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (value * scale).round() / scale + 0.0
}

/// The points of a closed line as all formats write them: rounded, counter-clockwise, and without the
/// repetitions that rounding may cause.
pub(crate) fn vertices(ring: &[Point]) -> Vec<Point> {
    let mut points: Vec<Point> = ring
        .iter()
        .map(|p| Point::new(rounded(p.x, COORDINATE), rounded(p.y, COORDINATE)))
        .collect();
    points.dedup();
    while points.len() > 1 && points.first() == points.last() {
        points.pop();
    }
    points
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Ring;

    #[test]
    fn numbers_are_short_and_plain() {
        assert_eq!(number(-0.000_04, COORDINATE), "0");
        assert_eq!(number(12.500_000_1, COORDINATE), "12.5");
        assert_eq!(number(1e6 + 0.1 + 0.2, COORDINATE), "1000000.3");
        assert_eq!(number(-0.1, COORDINATE), "-0.1");
    }

    #[test]
    fn rounding_leaves_no_repeated_vertex() {
        let ring = Ring::new([
            Point::new(0.0, 0.0),
            Point::new(10.0, 0.0),
            Point::new(10.0, 0.000_02),
            Point::new(0.0, 10.0),
            Point::new(0.000_01, 0.000_01),
        ])
        .unwrap();
        assert_eq!(vertices(ring.points()).len(), 3);
    }
}
