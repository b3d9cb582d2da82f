//! Angles, held in degrees so that right angles stay exact.

use std::fmt;

use super::length::trim_zeros;
use super::quantity::{adds_up, quantity};
use super::read::Units;

quantity! {
    /// An angle, counter-clockwise positive.
    Angle, "angle", like "45 deg";
    held in "degrees": degrees, to_degrees;
    known "deg, rad": Units::Listed(&[
        ("deg", 1.0),
        ("°", 1.0),
        ("degree", 1.0),
        ("degrees", 1.0),
        ("rad", 180.0 / std::f64::consts::PI),
    ])
}

adds_up!(Angle);

impl Angle {
    /// The same rotation, 0 ≤ angle < 360.
    #[must_use]
    pub fn as_rotation(self) -> Self {
        let turned = self.0.rem_euclid(360.0);
        // rem_euclid of a tiny negative number rounds up to the modulus itself.
        Self(if turned >= 360.0 { 0.0 } else { turned })
    }

    /// The same fibre direction, −90 < angle ≤ 90: a fibre has no head, so it repeats every 180°.
    #[must_use]
    pub fn as_fibre(self) -> Self {
        let half = self.0.rem_euclid(180.0);
        Self(if half > 90.0 { half - 180.0 } else { half })
    }
}

impl fmt::Display for Angle {
    /// For example `45°`, `−22.5°` with a plain minus sign.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}°", trim_zeros(self.0, 2))
    }
}
