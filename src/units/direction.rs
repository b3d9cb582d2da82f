//! Directions on a part, one type for each, so that none is taken for another.
//!
//! All of them count from the part's 0°, counter-clockwise as seen from the bag side (looking down
//! on the mould). [`PlyAngle`] is what the schedule says of a ply, [`WarpDirection`] where the roll
//! ran, [`FibreAxis`] where fibres lie: of a stitched biaxial these are three different directions.
//! A plain [`Angle`] is a direction in some frame, or a rotation.

use std::fmt;

use super::Angle;

/// The angle of a ply on the part: that of its cloth's first fibres.
///
/// The designed one lies above −90° and up to 90°; as cut, a tolerance may take it beyond.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct PlyAngle(Angle);

/// Where the warp of a piece runs on the part, that is the length of the roll.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WarpDirection(Angle);

/// Where fibres lie on the part, above −90° and up to 90°: they have no head, so the axis repeats
/// every 180°.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct FibreAxis(Angle);

impl PlyAngle {
    /// The ply angle `from_zero` counter-clockwise from the part's 0°, seen from the bag side.
    #[must_use]
    pub const fn new(from_zero: Angle) -> Self {
        Self(from_zero)
    }

    /// The ply angle of `value` degrees from the part's 0°.
    #[must_use]
    pub const fn degrees(value: f64) -> Self {
        Self(Angle::degrees(value))
    }

    /// The angle from the part's 0°.
    #[must_use]
    pub const fn from_zero(self) -> Angle {
        self.0
    }

    /// The same in degrees.
    #[must_use]
    pub const fn to_degrees(self) -> f64 {
        self.0.to_degrees()
    }

    /// The ply angle when the whole ply is turned by `by` on the part.
    #[must_use]
    pub fn turned(self, by: Angle) -> Self {
        Self(self.0 + by)
    }

    /// The same fibres, above −90° and up to 90°.
    #[must_use]
    pub fn in_range(self) -> Self {
        Self(self.0.as_fibre())
    }

    /// How far it is off `designed`, above −90° and up to 90°.
    #[must_use]
    pub fn off(self, designed: Self) -> Angle {
        (self.0 - designed.0).as_fibre()
    }
}

impl WarpDirection {
    /// The warp `from_zero` counter-clockwise from the part's 0°, seen from the bag side.
    #[must_use]
    pub const fn new(from_zero: Angle) -> Self {
        Self(from_zero)
    }

    /// Its direction in a frame in which the part's 0° points along `zero`.
    #[must_use]
    pub fn where_zero_is(self, zero: Angle) -> Angle {
        zero + self.0
    }

    /// The fibres that lie `from_warp` counter-clockwise from it.
    #[must_use]
    pub fn fibres(self, from_warp: Angle) -> FibreAxis {
        FibreAxis::new(self.0 + from_warp)
    }
}

impl FibreAxis {
    /// Fibres `from_zero` counter-clockwise from the part's 0°, seen from the bag side.
    #[must_use]
    pub fn new(from_zero: Angle) -> Self {
        Self(from_zero.as_fibre())
    }

    /// The angle from the part's 0°, above −90° and up to 90°.
    #[must_use]
    pub const fn from_zero(self) -> Angle {
        self.0
    }

    /// Its direction in a frame in which the part's 0° points along `zero`.
    #[must_use]
    pub fn where_zero_is(self, zero: Angle) -> Angle {
        zero + self.0
    }
}

impl fmt::Display for PlyAngle {
    /// For example `45°`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}

impl fmt::Display for FibreAxis {
    /// For example `45°`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.fmt(f)
    }
}
