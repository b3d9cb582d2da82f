//! Moduli of elasticity, held in megapascals.

use std::str::FromStr;

use super::read::{Form, Kind, UnitError, Units, Written, quantity};

/// Megapascals in a million pounds-force per square inch (NIST SP 811: 1 psi is 6894.757 Pa).
const MPA_PER_MSI: f64 = 6_894.757_293_168;

/// Stiffness of a material: stress by strain. Held in megapascals (N/mm²).
#[derive(Clone, Copy, Debug, Default, PartialEq, PartialOrd)]
pub struct Modulus(f64);

impl Modulus {
    /// A modulus of `value` MPa.
    #[must_use]
    pub const fn mpa(value: f64) -> Self {
        Self(value)
    }

    /// A modulus of `value` GPa.
    #[must_use]
    pub const fn gpa(value: f64) -> Self {
        Self(value * 1000.0)
    }

    /// The modulus in MPa.
    #[must_use]
    pub const fn to_mpa(self) -> f64 {
        self.0
    }

    /// The modulus in GPa.
    #[must_use]
    pub const fn to_gpa(self) -> f64 {
        self.0 / 1000.0
    }

    /// Both systems, for example `70.3 GPa (10.2 Msi)`.
    #[must_use]
    pub fn in_gpa_and_msi(self) -> String {
        format!("{:.1} GPa ({:.2} Msi)", self.to_gpa(), self.0 / MPA_PER_MSI)
    }
}

const KIND: Kind = Kind {
    quantity: "modulus",
    example: "135 GPa",
    known: "GPa, MPa, Msi",
    units: Units::Listed(&[("GPa", 1000.0), ("MPa", 1.0), ("Msi", MPA_PER_MSI)]),
};

impl Written for Modulus {
    const FORM: Form = KIND.form(|| KIND.pattern());
}

impl FromStr for Modulus {
    type Err = UnitError;

    /// Reads `135 GPa`, `4500 MPa`, `19.6 Msi`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        quantity(text, &KIND).map(Self)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn moduli_are_read_in_both_systems() {
        let read = |text: &str| text.parse::<Modulus>().expect("a modulus").to_mpa();
        assert!((read("135 GPa") - 135_000.0).abs() < 1e-9);
        assert!((read("4500 MPa") - 4500.0).abs() < 1e-9);
        assert!((read("10 Msi") - 68_947.572_93).abs() < 1e-4);
        assert_eq!(Modulus::gpa(70.3).in_gpa_and_msi(), "70.3 GPa (10.20 Msi)");
        assert!("135".parse::<Modulus>().is_err());
    }
}
