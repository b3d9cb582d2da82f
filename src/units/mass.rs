//! Mass, areal weight and density.

use std::fmt;
use std::ops::Mul;

use super::length::{Area, Length, M2_PER_YD2};
use super::quantity::{adds_up, quantity};
use super::read::Units;

/// Grams in an avoirdupois ounce (NIST SP 811: 0.028 349 523 125 kg exactly).
const G_PER_OZ: f64 = 28.349_523_125;
/// Grams in an avoirdupois pound (NIST SP 811: 0.453 592 37 kg exactly).
const G_PER_LB: f64 = 453.592_37;
/// Grams per square metre in an ounce per square yard (NIST SP 811: 33.905 75).
const GSM_PER_OSY: f64 = G_PER_OZ / M2_PER_YD2;

quantity! {
    /// A mass.
    Mass, "mass", like "250 g";
    held in "grams": grams, to_grams;
    known "g, kg, oz, lb": Units::Listed(&[
        ("g", 1.0),
        ("kg", 1000.0),
        ("oz", G_PER_OZ),
        ("lb", G_PER_LB),
        ("lbs", G_PER_LB),
    ])
}

adds_up!(Mass);

impl Mass {
    /// The mass in avoirdupois ounces.
    #[must_use]
    pub const fn to_ounces(self) -> f64 {
        self.0 / G_PER_OZ
    }

    /// Both systems, for example `245 g (8.64 oz)`.
    #[must_use]
    pub fn in_grams_and_ounces(self) -> String {
        format!(
            "{} g ({} oz)",
            super::fixed(self.0, 0),
            super::fixed(self.to_ounces(), 2)
        )
    }
}

quantity! {
    /// Mass of cloth per area.
    ArealWeight, "areal weight", like "193 g/m2";
    held in "g/m²": g_per_m2, to_g_per_m2;
    known "g/m2, gsm, oz/yd2, oz/ft2": Units::Listed(&[
        ("g/m2", 1.0),
        ("gsm", 1.0),
        ("g/sqm", 1.0),
        ("oz/yd2", GSM_PER_OSY),
        ("oz/sqyd", GSM_PER_OSY),
        ("osy", GSM_PER_OSY),
        ("oz/ft2", G_PER_OZ / (M2_PER_YD2 / 9.0)),
    ])
}

impl ArealWeight {
    /// An areal weight of `value` oz/yd².
    #[must_use]
    pub const fn oz_per_yd2(value: f64) -> Self {
        Self(value * G_PER_OZ / M2_PER_YD2)
    }

    /// The areal weight of a layer so thick and dense.
    #[must_use]
    pub fn of_layer(thickness: Length, density: Density) -> Self {
        Self(1000.0 * density.to_g_per_cm3() * thickness.to_mm())
    }

    /// The areal weight in oz/yd².
    #[must_use]
    pub const fn to_oz_per_yd2(self) -> f64 {
        self.0 * M2_PER_YD2 / G_PER_OZ
    }
}

impl fmt::Display for ArealWeight {
    /// Both systems, for example `193 g/m² (5.7 oz/yd²)`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:.0} g/m² ({:.1} oz/yd²)", self.0, self.to_oz_per_yd2())
    }
}

impl Mul<Area> for ArealWeight {
    type Output = Mass;
    fn mul(self, area: Area) -> Mass {
        Mass(self.0 * area.to_m2())
    }
}

quantity! {
    /// Mass per volume.
    Density, "density", like "1.78 g/cm3";
    held in "g/cm³": g_per_cm3, to_g_per_cm3;
    known "g/cm3, kg/m3, lb/in3": Units::Listed(&[
        ("g/cm3", 1.0),
        ("g/cc", 1.0),
        ("g/ml", 1.0),
        ("kg/m3", 0.001),
        ("lb/in3", G_PER_LB / (2.54 * 2.54 * 2.54)),
    ])
}
