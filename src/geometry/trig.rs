//! The only sine and cosine of the program.
//!
//! Right angles are exact, and all other angles come from one portable implementation, so the same
//! input gives the same bytes on every machine.

use crate::units::Angle;

/// Sine and cosine of `angle`, exact at multiples of 90°.
#[must_use]
pub fn sin_cos(angle: Angle) -> (f64, f64) {
    let degrees = angle.as_rotation().to_degrees();
    match degrees {
        0.0 => (0.0, 1.0),
        90.0 => (1.0, 0.0),
        180.0 => (0.0, -1.0),
        270.0 => (-1.0, 0.0),
        _ => sin_cos_radians(degrees.to_radians()),
    }
}

/// Sine and cosine of an angle in radians.
#[must_use]
pub fn sin_cos_radians(radians: f64) -> (f64, f64) {
    libm::sincos(radians)
}

/// Tangent of an angle in radians.
#[must_use]
pub fn tan_radians(radians: f64) -> f64 {
    libm::tan(radians)
}

/// Direction of the vector (`x`, `y`) from +x, counter-clockwise, in radians in (−π, π].
#[must_use]
pub fn atan2_radians(y: f64, x: f64) -> f64 {
    libm::atan2(y, x)
}

/// Direction of the vector (`x`, `y`) from +x, counter-clockwise; exact along the axes.
#[must_use]
pub fn direction(x: f64, y: f64) -> Angle {
    let degrees = match (x, y) {
        (x, 0.0) if x >= 0.0 => 0.0,
        (_, 0.0) => 180.0,
        (0.0, y) if y > 0.0 => 90.0,
        (0.0, _) => -90.0,
        _ => libm::atan2(y, x).to_degrees(),
    };
    Angle::degrees(degrees)
}

/// Angle in radians whose tangent is `value`.
#[must_use]
pub fn atan_radians(value: f64) -> f64 {
    libm::atan(value)
}

/// Angle in radians whose cosine is `value`, which is first held to −1 … 1.
#[must_use]
pub fn acos_radians(value: f64) -> f64 {
    libm::acos(value.clamp(-1.0, 1.0))
}
