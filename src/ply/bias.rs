//! Pieces on the bias: how far off the warp they lie, and how long they could be.

use crate::geometry::{Ring, distance, trig};
use crate::units::{Angle, Length};

/// A piece on the bias.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bias {
    /// Between its long direction (or the part's 0°, if it has none) and the warp, 0 … 90°.
    pub off_warp: Angle,
    /// Its long side, that of the smallest rectangle around the cut line.
    pub length: Length,
    /// Its short side.
    pub width: Length,
    /// How long a straight strip of its width at its angle could be on the usable width.
    pub longest: Length,
}

impl Bias {
    /// How the piece `cut` lies in the roll frame (warp along x) on a usable width of `usable`. A
    /// piece about as wide as long lies as its `zero` does, the part's 0° in the same frame. `None`
    /// if it is no area.
    #[must_use]
    pub fn of(cut: &Ring, usable: Length, zero: Angle) -> Option<Self> {
        let long = distance::long_direction(cut)?;
        let off = long.way(zero).as_fibre().to_degrees().abs();
        let off_warp = Angle::degrees(off);
        let longest = longest_strip(usable.to_mm(), long.width, off_warp);
        longest.is_finite().then_some(Self {
            off_warp,
            length: Length::mm(long.length),
            width: Length::mm(long.width),
            longest: Length::mm(longest),
        })
    }
}

/// The length of the longest strip of width `strip` that fits a usable width `usable` when it lies
/// at `angle` to the warp, in mm; infinite for a strip along the warp.
///
/// From the extents of a turned rectangle: usable = length·sin + strip·cos. At 45° this is
/// usable·√2 − strip.
#[must_use]
pub fn longest_strip(usable: f64, strip: f64, angle: Angle) -> f64 {
    let (sin, cos) = trig::sin_cos(angle);
    let (sin, cos) = (sin.abs(), cos.abs());
    if sin == 0.0 {
        if strip <= usable { f64::INFINITY } else { 0.0 }
    } else {
        ((usable - strip * cos) / sin).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point;

    /// Geometry: W·√2 − w at 45°, W/sin(30°) for a line at 30°.
    #[test]
    fn longest_bias_strip() {
        let at = |strip, degrees| longest_strip(1270.0, strip, Angle::degrees(degrees));
        assert!((at(100.0, 45.0) - 1_696.051_224).abs() < 1e-6);
        assert!((at(0.0, 45.0) - 1270.0 * 2.0_f64.sqrt()).abs() < 1e-9);
        assert!((at(0.0, 30.0) - 2540.0).abs() < 1e-9);
        assert_eq!(at(100.0, 0.0), f64::INFINITY);
    }

    /// The smallest rectangle around a disc may lie any way.
    #[test]
    fn a_disc_lies_as_its_part_does() {
        let corner = |k: u32| {
            let (sin, cos) = trig::sin_cos(Angle::degrees(3.0 + 360.0 * f64::from(k) / 57.0));
            Point::new(100.0 * cos, 100.0 * sin)
        };
        let disc = Ring::new((0..57).map(corner)).unwrap();
        let bias = Bias::of(&disc, Length::mm(1250.0), Angle::degrees(-45.0)).unwrap();
        assert_eq!(bias.off_warp, Angle::degrees(45.0));
    }

    /// A strip of the longest length just fills the usable width.
    #[test]
    fn the_longest_strip_of_a_width_is_as_high_as_the_cloth_is_wide() {
        for (angle, strip) in [(45.0, 100.0), (30.0, 250.0), (-45.0, 20.0), (60.0, 400.0)] {
            let angle = Angle::degrees(angle);
            let length = longest_strip(1250.0, strip, angle);
            let (sin, cos) = trig::sin_cos(angle);
            let corner = |l: f64, w: f64| Point::new(l * cos - w * sin, l * sin + w * cos);
            let ring = Ring::new([
                corner(0.0, 0.0),
                corner(length, 0.0),
                corner(length, strip),
                corner(0.0, strip),
            ])
            .unwrap();
            assert!((ring.bounds().height() - 1250.0).abs() < 1e-9);
            let bias = Bias::of(&ring, Length::mm(1250.0), Angle::ZERO).unwrap();
            assert!((bias.longest.to_mm() - length).abs() < 1e-6, "{bias:?}");
            assert!((bias.length.to_mm() - length).abs() < 1e-6, "{bias:?}");
        }
    }
}
