//! How much of a laminate is fibre, by volume and by weight.

use std::fmt;

use crate::units::{Density, Mass};

/// Share of a laminate's volume that is fibre.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct VolumeFraction(f64);

/// Share of a laminate's mass that is fibre.
#[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
pub struct WeightFraction(f64);

/// Why a number cannot be a fibre fraction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FractionError {
    /// Zero, negative or not a number.
    NotPositive,
    /// More fibre than can be packed, or more than there is laminate.
    TooHigh {
        /// What was given.
        given: f64,
        /// The highest that is possible.
        highest: f64,
    },
}

impl fmt::Display for FractionError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NotPositive => write!(f, "a fibre fraction must be above zero"),
            Self::TooHigh { given, highest } => write!(
                f,
                "a fibre fraction of {:.1} % is above the highest possible, {:.1} %",
                given * 100.0,
                highest * 100.0
            ),
        }
    }
}

impl std::error::Error for FractionError {}

fn checked(fraction: f64, highest: f64) -> Result<f64, FractionError> {
    if fraction > highest {
        Err(FractionError::TooHigh {
            given: fraction,
            highest,
        })
    } else if fraction > 0.0 {
        Ok(fraction)
    } else {
        Err(FractionError::NotPositive)
    }
}

impl VolumeFraction {
    /// The densest packing of equal round fibres: hexagonal, π / (2√3).
    ///
    /// # Source
    /// A. K. Kaw, *Mechanics of Composite Materials*, 2nd ed. 2006, ch. 3 (from memory).
    pub const HIGHEST: f64 = 0.906_899_682_117_109;

    /// Above this, wet layup under a vacuum bag is not believed: handbooks call 0.62 hard to reach
    /// even with better processes (common practice, no source).
    pub const LIKELY_WET: f64 = 0.55;

    /// The fraction `fraction`, 0 to 1.
    ///
    /// # Errors
    /// [`FractionError`] unless 0 < `fraction` ≤ [`Self::HIGHEST`].
    pub fn new(fraction: f64) -> Result<Self, FractionError> {
        checked(fraction, Self::HIGHEST).map(Self)
    }

    /// The fraction, 0 to 1.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }
}

impl WeightFraction {
    /// The fraction `fraction`, 0 to 1.
    ///
    /// # Errors
    /// [`FractionError`] unless 0 < `fraction` ≤ 1.
    pub fn new(fraction: f64) -> Result<Self, FractionError> {
        checked(fraction, 1.0).map(Self)
    }

    /// The fraction of a laminate made of these masses.
    ///
    /// # Errors
    /// [`FractionError`] if there is no fibre, or a mass is negative.
    pub fn of_masses(fibre: Mass, resin: Mass) -> Result<Self, FractionError> {
        Self::new(fibre.to_grams() / (fibre + resin).to_grams())
    }

    /// The fraction, 0 to 1.
    #[must_use]
    pub const fn get(self) -> f64 {
        self.0
    }

    /// Resin that `fibre` holds at this fraction: fibre mass · (1 − Wf) / Wf.
    #[must_use]
    pub fn resin_for(self, fibre: Mass) -> Mass {
        Mass::grams(fibre.to_grams() * (1.0 - self.0) / self.0)
    }
}

/// Densities of what a laminate is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Constituents {
    /// Density of the fibre (not of the cloth).
    pub fibre: Density,
    /// Density of the cured resin.
    pub resin: Density,
}

/// # Source
/// The rule of mixtures without voids: A. K. Kaw, *Mechanics of Composite Materials*, 2nd ed.
/// 2006, ch. 3 (from memory).
impl Constituents {
    /// The volume fraction of fibre at a weight fraction:
    /// Vf = (Wf/ρf) / (Wf/ρf + (1 − Wf)/ρm).
    ///
    /// # Errors
    /// [`FractionError`] if that is denser than fibres can be packed.
    pub fn by_volume(&self, weight: WeightFraction) -> Result<VolumeFraction, FractionError> {
        let fibre = weight.get() / self.fibre.to_g_per_cm3();
        let resin = (1.0 - weight.get()) / self.resin.to_g_per_cm3();
        VolumeFraction::new(fibre / (fibre + resin))
    }

    /// The weight fraction of fibre at a volume fraction:
    /// Wf = Vf·ρf / (Vf·ρf + (1 − Vf)·ρm).
    #[must_use]
    pub fn by_weight(&self, volume: VolumeFraction) -> WeightFraction {
        let fibre = volume.get() * self.fibre.to_g_per_cm3();
        WeightFraction(fibre / self.density(volume).to_g_per_cm3())
    }

    /// Density of the laminate: Vf·ρf + (1 − Vf)·ρm.
    #[must_use]
    pub fn density(&self, volume: VolumeFraction) -> Density {
        let fibre = volume.get() * self.fibre.to_g_per_cm3();
        let resin = (1.0 - volume.get()) * self.resin.to_g_per_cm3();
        Density::g_per_cm3(fibre + resin)
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    const fn of(fibre: f64, resin: f64) -> Constituents {
        Constituents {
            fibre: Density::g_per_cm3(fibre),
            resin: Density::g_per_cm3(resin),
        }
    }

    fn vf(fraction: f64) -> VolumeFraction {
        VolumeFraction::new(fraction).expect("a possible fraction")
    }

    fn wf(fraction: f64) -> WeightFraction {
        WeightFraction::new(fraction).expect("a possible fraction")
    }

    #[track_caller]
    fn close(found: f64, expected: f64, tolerance: f64) {
        let off = (found / expected - 1.0).abs();
        assert!(off <= tolerance, "found {found}, expected {expected}");
    }

    const CARBON: Constituents = of(1.78, 1.10);
    const GLASS: Constituents = of(2.54, 1.10);

    /// Worked out from the formulas.
    #[test]
    fn weight_becomes_volume_and_back() {
        let measured = WeightFraction::of_masses(Mass::grams(4.24), Mass::grams(2.05));
        let by_volume = |of: Constituents, weight| of.by_volume(weight).expect("possible").get();
        close(
            by_volume(CARBON, measured.expect("possible")),
            0.561_048_959_5,
            1e-9,
        );
        close(by_volume(GLASS, wf(0.5)), 0.302_197_802, 1e-9);
        close(by_volume(CARBON, wf(0.5)), 0.381_944_444, 1e-8);
        close(
            by_volume(of(2.54, 1.20), wf(1.0 / 3.0)),
            0.191_082_803,
            1e-8,
        );
        close(CARBON.by_weight(vf(0.62)).get(), 0.725_289_169_3, 1e-9);
    }

    /// Kaw 2006, example 3.1: glass of 2500 and epoxy of 1200 kg/m³ at a volume fraction of 70 %
    /// (from memory; printed 2110, 0.8294 and 3.318).
    #[test]
    fn textbook_example_of_glass_and_epoxy() {
        let laminate = of(2.5, 1.2);
        close(laminate.density(vf(0.7)).to_g_per_cm3(), 2.110, 1e-12);
        let weight = laminate.by_weight(vf(0.7)).get();
        close(weight, 0.829_383_886, 1e-8);
        close(weight * 4.0, 3.317_535_55, 1e-8);
    }

    /// ASTM D2734 gives the density of a laminate without voids as 1 / (R/D + r/d), here at 65 %
    /// fibre by weight (from memory).
    #[test]
    fn density_agrees_with_the_formula_by_weight() {
        let laminate = of(1.78, 1.20);
        let volume = laminate.by_volume(wf(0.65)).expect("possible");
        close(laminate.density(volume).to_g_per_cm3(), 1.522_451_89, 1e-8);
    }

    #[test]
    fn resin_follows_from_the_weight_fraction() {
        // Resin of the same mass as the dry cloth: FAA AC 43.13-1B, chapter 3.
        close(
            wf(0.5).resin_for(Mass::grams(100.0)).to_grams(),
            100.0,
            1e-12,
        );
        close(
            wf(0.3).resin_for(Mass::grams(6000.0)).to_grams(),
            14_000.0,
            1e-12,
        );
        // Cloth to resin 100 : 70 and 100 : 85 by weight, as aircraft manuals give for wet layup.
        for (resin, expected) in [(70.0, 0.588_235_294), (85.0, 0.540_540_541)] {
            let weight = WeightFraction::of_masses(Mass::grams(100.0), Mass::grams(resin));
            close(weight.expect("possible").get(), expected, 1e-9);
        }
        // Fibre 1.6 times as dense as resin; worked out from the formulas.
        for (volume, ratio) in [
            (0.3, 1.458_333_33),
            (0.4, 0.9375),
            (0.5, 0.625),
            (0.6, 0.416_666_667),
            (0.7, 0.267_857_143),
        ] {
            let weight = of(1.6, 1.0).by_weight(vf(volume));
            close(weight.resin_for(Mass::grams(1.0)).to_grams(), ratio, 1e-8);
        }
    }

    #[test]
    fn impossible_fractions_are_refused() {
        close(
            VolumeFraction::HIGHEST,
            std::f64::consts::PI / (2.0 * 3f64.sqrt()),
            1e-14,
        );
        for fraction in [0.0, -0.1, f64::NAN, 0.907, 1.0, f64::INFINITY] {
            assert!(VolumeFraction::new(fraction).is_err(), "{fraction}");
        }
        assert!(CARBON.by_volume(wf(0.98)).is_err());
        assert!(WeightFraction::new(1.01).is_err());
        assert_eq!(
            VolumeFraction::new(0.95).expect_err("too high").to_string(),
            "a fibre fraction of 95.0 % is above the highest possible, 90.7 %"
        );
    }

    proptest! {
        #[test]
        fn conversions_undo_each_other(volume in 0.01..0.9f64, fibre in 0.9..3.0f64, resin in 0.9..1.5f64) {
            let laminate = of(fibre, resin);
            let back = laminate.by_volume(laminate.by_weight(vf(volume))).expect("possible");
            prop_assert!((back.get() - volume).abs() < 1e-12);
        }
    }
}
