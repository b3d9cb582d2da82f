//! Angles, held in degrees so that right angles stay exact.

use std::fmt;
use std::ops::{Add, Neg, Sub};
use std::str::FromStr;

use super::length::trim_zeros;
use super::read::{Form, Kind, UnitError, Units, Written, quantity};

/// An angle, counter-clockwise positive. Held in degrees.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Angle(f64);

impl Angle {
    /// No turn.
    pub const ZERO: Self = Self(0.0);

    /// An angle of `value` degrees.
    #[must_use]
    pub const fn degrees(value: f64) -> Self {
        Self(value)
    }

    /// The angle in degrees.
    #[must_use]
    pub const fn to_degrees(self) -> f64 {
        self.0
    }

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

const KIND: Kind = Kind {
    quantity: "angle",
    example: "45 deg",
    known: "deg, rad",
    units: Units::Listed(&[
        ("deg", 1.0),
        ("°", 1.0),
        ("degree", 1.0),
        ("degrees", 1.0),
        ("rad", 180.0 / std::f64::consts::PI),
    ]),
};

impl Written for Angle {
    const FORM: Form = KIND.form(|| KIND.pattern());
}

impl FromStr for Angle {
    type Err = UnitError;

    /// Reads `45 deg`, `-45°`, `0.5 rad`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        quantity(text, &KIND).map(Self)
    }
}

impl Add for Angle {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Angle {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

impl Neg for Angle {
    type Output = Self;
    fn neg(self) -> Self {
        Self(-self.0)
    }
}
