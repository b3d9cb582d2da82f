//! Pressure and vacuum level, held in pascals.

use std::str::FromStr;

use super::length::Area;
use super::read::{Form, Kind, UnitError, Units, Written, quantity};

/// Pascals in a conventional inch of mercury (NIST SP 811).
const PA_PER_INHG: f64 = 3386.389;
/// Pascals in a pound-force per square inch (NIST SP 811: 6894.757).
const PA_PER_PSI: f64 = 6_894.757_293_168;

/// A pressure or the depth of a vacuum below the atmosphere. Held in pascals.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Pressure(f64);

impl Pressure {
    /// A pressure of `value` pascals.
    #[must_use]
    pub const fn pascals(value: f64) -> Self {
        Self(value)
    }

    /// The pressure in pascals.
    #[must_use]
    pub const fn to_pascals(self) -> f64 {
        self.0
    }

    /// The pressure in kilopascals.
    #[must_use]
    pub const fn to_kilopascals(self) -> f64 {
        self.0 / 1000.0
    }

    /// The pressure in conventional inches of mercury.
    #[must_use]
    pub const fn to_inches_of_mercury(self) -> f64 {
        self.0 / PA_PER_INHG
    }

    /// The pressure in pounds-force per square inch.
    #[must_use]
    pub const fn to_psi(self) -> f64 {
        self.0 / PA_PER_PSI
    }
}

impl Pressure {
    /// The pressure in millibars.
    #[must_use]
    pub const fn to_millibars(self) -> f64 {
        self.0 / 100.0
    }

    /// The force of the pressure on `area`.
    #[must_use]
    pub fn on(self, area: Area) -> Force {
        Force(self.0 * area.to_m2())
    }
}

/// Newtons in a pound-force (NIST SP 811: 4.448 222).
const N_PER_LBF: f64 = 4.448_221_615_260_5;

/// A force. Held in newtons.
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Force(f64);

impl Force {
    /// The force in newtons.
    #[must_use]
    pub const fn to_newtons(self) -> f64 {
        self.0
    }

    /// The force in pounds-force.
    #[must_use]
    pub const fn to_pounds(self) -> f64 {
        self.0 / N_PER_LBF
    }

    /// Both systems, for example `7.87 kN (1768 lbf)`.
    #[must_use]
    pub fn in_kilonewtons_and_pounds(self) -> String {
        format!("{:.2} kN ({:.0} lbf)", self.0 / 1000.0, self.to_pounds())
    }
}

const KIND: Kind = Kind {
    quantity: "pressure",
    example: "25 inHg",
    known: "inHg, kPa, mbar, bar, psi, Pa",
    units: Units::Listed(&[
        ("inHg", PA_PER_INHG),
        ("psi", PA_PER_PSI),
        ("Pa", 1.0),
        ("mbar", 100.0),
        ("hPa", 100.0),
        ("kPa", 1000.0),
        ("bar", 100_000.0),
    ]),
};

impl Written for Pressure {
    const FORM: Form = KIND.form(|| KIND.pattern());
}

impl FromStr for Pressure {
    type Err = UnitError;

    /// Reads `25 inHg`, `85 kPa`, `850 mbar`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        quantity(text, &KIND).map(Self)
    }
}
