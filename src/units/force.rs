//! Pressure, the force it makes, and the modulus of elasticity.

use super::length::{Area, Length};
use super::quantity::quantity;
use super::read::Units;

/// Pascals in a conventional inch of mercury (NIST SP 811).
const PA_PER_INHG: f64 = 3386.389;
/// Pascals in a pound-force per square inch (NIST SP 811: 6894.757).
const PA_PER_PSI: f64 = 6_894.757_293_168;
/// Newtons in a pound-force (NIST SP 811: 4.448 222).
const N_PER_LBF: f64 = 4.448_221_615_260_5;
/// Megapascals in a million pounds-force per square inch.
const MPA_PER_MSI: f64 = PA_PER_PSI;

quantity! {
    /// A pressure or the depth of a vacuum below the atmosphere.
    Pressure, "pressure", like "25 inHg";
    held in "pascals": pascals, to_pascals;
    known "inHg, kPa, mbar, bar, psi, Pa": Units::Listed(&[
        ("inHg", PA_PER_INHG),
        ("psi", PA_PER_PSI),
        ("Pa", 1.0),
        ("mbar", 100.0),
        ("hPa", 100.0),
        ("kPa", 1000.0),
        ("bar", 100_000.0),
    ])
}

impl Pressure {
    /// The pressure in kilopascals.
    #[must_use]
    pub const fn to_kilopascals(self) -> f64 {
        self.0 / 1000.0
    }

    /// The pressure in millibars.
    #[must_use]
    pub const fn to_millibars(self) -> f64 {
        self.0 / 100.0
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

    /// The force of the pressure on `area`.
    #[must_use]
    pub fn on(self, area: Area) -> Force {
        Force(self.0 * area.to_m2())
    }
}

quantity! {
    /// A force.
    Force, "force";
    held in "newtons": newtons, to_newtons
}

impl Force {
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

quantity! {
    /// Stiffness of a material: stress by strain.
    Modulus, "modulus", like "135 GPa";
    held in "MPa": mpa, to_mpa;
    known "GPa, MPa, Msi": Units::Listed(&[("GPa", 1000.0), ("MPa", 1.0), ("Msi", MPA_PER_MSI)])
}

impl Modulus {
    /// A modulus of `value` GPa.
    #[must_use]
    pub const fn gpa(value: f64) -> Self {
        Self(value * 1000.0)
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

/// Newton-millimetres in a pound-force inch.
const N_MM_PER_LBF_IN: f64 = N_PER_LBF * 25.4;

quantity! {
    /// Stiffness of a sheet against bending, by its width: moment by width by curvature (D of a plate,
    /// EI/b of a strip of width b).
    BendingStiffness, "bending stiffness by width", like "40 N m";
    held in "N·mm": n_mm, to_n_mm;
    known "N m, N mm, lbf in": Units::Listed(&[
        ("Nm", 1000.0),
        ("Nmm", 1.0),
        ("lbfin", N_MM_PER_LBF_IN),
    ])
}

impl BendingStiffness {
    /// Both systems, for example `46.667 N·m (413.04 lbf·in)`.
    #[must_use]
    pub fn in_newton_metres_and_pound_inches(self) -> String {
        format!(
            "{:.3} N·m ({:.2} lbf·in)",
            self.0 / 1000.0,
            self.0 / N_MM_PER_LBF_IN
        )
    }
}

quantity! {
    /// Stiffness of a beam against bending: EI.
    BeamStiffness, "stiffness of a beam", like "4.6 N m2";
    held in "N·mm²": n_mm2, to_n_mm2;
    known "N m2, N mm2, kN m2, lbf in2": Units::Listed(&[
        ("Nm2", 1e6),
        ("Nm²", 1e6),
        ("Nmm2", 1.0),
        ("Nmm²", 1.0),
        ("kNm2", 1e9),
        ("kNm²", 1e9),
        ("lbfin2", N_MM_PER_LBF_IN * 25.4),
        ("lbfin²", N_MM_PER_LBF_IN * 25.4),
    ])
}

impl BeamStiffness {
    /// What a beam of this stiffness and `width` has by its width.
    #[must_use]
    pub fn by_width(self, width: Length) -> BendingStiffness {
        BendingStiffness(self.0 / width.to_mm())
    }
}

quantity! {
    /// Stiffness of a sheet against stretching, by its width: force by width by strain (E·h of a strip of
    /// thickness h).
    StretchStiffness, "stretching stiffness by width";
    held in "N/mm": n_per_mm, to_n_per_mm
}

impl StretchStiffness {
    /// Both systems, for example `140.00 kN/mm (799414 lbf/in)`.
    #[must_use]
    pub fn in_kilonewtons_and_pounds_by_width(self) -> String {
        let pounds = self.0 / N_PER_LBF * 25.4;
        format!("{:.2} kN/mm ({pounds:.0} lbf/in)", self.0 / 1000.0)
    }
}
