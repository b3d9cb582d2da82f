//! Mass, areal weight and density, held in grams, grams per square metre and grams per cubic
//! centimetre.

use std::fmt;
use std::ops::{Add, Mul, Sub};
use std::str::FromStr;

use super::length::Area;
use super::read::{Form, Kind, UnitError, Units, Written, quantity};

/// Grams in an avoirdupois ounce (NIST SP 811: 0.028 349 523 125 kg exactly).
const G_PER_OZ: f64 = 28.349_523_125;
/// Grams in an avoirdupois pound (NIST SP 811: 0.453 592 37 kg exactly).
const G_PER_LB: f64 = 453.592_37;
/// Square metres in a square yard.
const M2_PER_YD2: f64 = 0.9144 * 0.9144;

/// A mass. Held in grams.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Mass(f64);

impl Mass {
    /// No mass.
    pub const ZERO: Self = Self(0.0);

    /// A mass of `value` grams.
    #[must_use]
    pub const fn grams(value: f64) -> Self {
        Self(value)
    }

    /// The mass in grams.
    #[must_use]
    pub const fn to_grams(self) -> f64 {
        self.0
    }

    /// The mass in avoirdupois ounces.
    #[must_use]
    pub const fn to_ounces(self) -> f64 {
        self.0 / G_PER_OZ
    }

    /// Both systems, for example `245 g (8.64 oz)`.
    #[must_use]
    pub fn in_grams_and_ounces(self) -> String {
        format!("{:.0} g ({:.2} oz)", self.0, self.to_ounces())
    }
}

impl Add for Mass {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self(self.0 + other.0)
    }
}

impl Sub for Mass {
    type Output = Self;
    fn sub(self, other: Self) -> Self {
        Self(self.0 - other.0)
    }
}

const MASS: Kind = Kind {
    quantity: "mass",
    example: "250 g",
    known: "g, kg, oz, lb",
    units: Units::Listed(&[
        ("g", 1.0),
        ("kg", 1000.0),
        ("oz", G_PER_OZ),
        ("lb", G_PER_LB),
        ("lbs", G_PER_LB),
    ]),
};

impl Written for Mass {
    const FORM: Form = MASS.form(|| MASS.pattern());
}

impl FromStr for Mass {
    type Err = UnitError;

    /// Reads `250 g`, `1.5 kg`, `8 oz`, `2 lb`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        quantity(text, &MASS).map(Self)
    }
}

/// Mass of cloth per area. Held in grams per square metre.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct ArealWeight(f64);

impl ArealWeight {
    /// An areal weight of `value` g/m².
    #[must_use]
    pub const fn g_per_m2(value: f64) -> Self {
        Self(value)
    }

    /// An areal weight of `value` oz/yd² (33.905 75 g/m², NIST SP 811).
    #[must_use]
    pub const fn oz_per_yd2(value: f64) -> Self {
        Self(value * G_PER_OZ / M2_PER_YD2)
    }

    /// The areal weight in g/m².
    #[must_use]
    pub const fn to_g_per_m2(self) -> f64 {
        self.0
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

const AREAL: Kind = Kind {
    quantity: "areal weight",
    example: "193 g/m2",
    known: "g/m2, gsm, oz/yd2, oz/ft2",
    units: Units::Listed(&[
        ("g/m2", 1.0),
        ("gsm", 1.0),
        ("g/sqm", 1.0),
        ("oz/yd2", G_PER_OZ / M2_PER_YD2),
        ("oz/sqyd", G_PER_OZ / M2_PER_YD2),
        ("osy", G_PER_OZ / M2_PER_YD2),
        ("oz/ft2", G_PER_OZ / (M2_PER_YD2 / 9.0)),
    ]),
};

impl Written for ArealWeight {
    const FORM: Form = AREAL.form(|| AREAL.pattern());
}

impl FromStr for ArealWeight {
    type Err = UnitError;

    /// Reads `193 g/m2`, `193 gsm`, `5.7 oz/yd2`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        quantity(text, &AREAL).map(Self)
    }
}

/// Mass per volume. Held in grams per cubic centimetre.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Density(f64);

impl Density {
    /// A density of `value` g/cm³.
    #[must_use]
    pub const fn g_per_cm3(value: f64) -> Self {
        Self(value)
    }

    /// The density in g/cm³.
    #[must_use]
    pub const fn to_g_per_cm3(self) -> f64 {
        self.0
    }
}

const DENSITY: Kind = Kind {
    quantity: "density",
    example: "1.78 g/cm3",
    known: "g/cm3, kg/m3, lb/in3",
    units: Units::Listed(&[
        ("g/cm3", 1.0),
        ("g/cc", 1.0),
        ("g/ml", 1.0),
        ("kg/m3", 0.001),
        ("lb/in3", G_PER_LB / (2.54 * 2.54 * 2.54)),
    ]),
};

impl Written for Density {
    const FORM: Form = DENSITY.form(|| DENSITY.pattern());
}

impl FromStr for Density {
    type Err = UnitError;

    /// Reads `1.78 g/cm3`, `1780 kg/m3`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        quantity(text, &DENSITY).map(Self)
    }
}
