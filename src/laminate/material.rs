//! A small library of generic fibres and a resin, and what a layer of them is.
//!
//! The numbers are textbook values of no maker's product. A data sheet goes before them.

use super::elastic::Elastic;
use super::fraction::VolumeFraction;
use crate::units::{Density, Modulus};

/// A generic fibre.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fibre {
    /// What the job calls it.
    pub word: &'static str,
    /// Density (common practice, no source).
    pub density: Density,
    /// Modulus along the fibre.
    pub axial: Modulus,
    /// Modulus across it.
    pub transverse: Modulus,
    /// Shear modulus.
    pub shear: Modulus,
    /// Poisson's ratio, stretched along the fibre.
    pub poisson: f64,
}

impl Fibre {
    /// Standard carbon.
    pub const CARBON: Self = Self::ALL[0];
    /// E-glass.
    pub const E_GLASS: Self = Self::ALL[1];
    /// Aramid.
    pub const ARAMID: Self = Self::ALL[2];

    /// All fibres of the library.
    ///
    /// # Source
    /// Elastic constants of carbon and aramid: A. K. Kaw, *Mechanics of Composite Materials*, 2nd ed.
    /// 2006, table 3.1 (from memory). E-glass: 10.5 Msi = 72.4 GPa, R. M. Jones, *Mechanics of
    /// Composite Materials*, 2nd ed. 1999, table 1-1 (from memory; Kaw's table has a glass of 85 GPa, which
    /// is stiffer than any E-glass), alike in all directions, so G = E / (2 (1 + ν)). Densities: typical
    /// for standard carbon, E-glass and aramid (common practice, no source; Kaw's table has 1.8, 2.5
    /// and 1.4 g/cm³).
    pub const ALL: [Self; 3] = [
        Self {
            word: "carbon",
            density: Density::g_per_cm3(1.78),
            axial: Modulus::gpa(230.0),
            transverse: Modulus::gpa(22.0),
            shear: Modulus::gpa(22.0),
            poisson: 0.30,
        },
        Self {
            word: "e-glass",
            density: Density::g_per_cm3(2.54),
            axial: Modulus::gpa(72.4),
            transverse: Modulus::gpa(72.4),
            shear: Modulus::gpa(72.4 / 2.4),
            poisson: 0.20,
        },
        Self {
            word: "aramid",
            density: Density::g_per_cm3(1.45),
            axial: Modulus::gpa(124.0),
            transverse: Modulus::gpa(8.0),
            shear: Modulus::gpa(3.0),
            poisson: 0.36,
        },
    ];
}

/// A cured resin, alike in all directions.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Resin {
    /// Density, cured.
    pub density: Density,
    /// Young's modulus.
    pub modulus: Modulus,
    /// Poisson's ratio.
    pub poisson: f64,
}

impl Default for Resin {
    /// A typical epoxy.
    ///
    /// # Source
    /// 3.4 GPa, 0.30 and 1.2 g/cm³: A. K. Kaw, *Mechanics of Composite Materials*, 2nd ed. 2006,
    /// table 3.2 (from memory). Liquid resin is lighter (about 1.1 g/cm³): it shrinks as it cures.
    fn default() -> Self {
        Self {
            density: Density::g_per_cm3(1.20),
            modulus: Modulus::gpa(3.4),
            poisson: 0.30,
        }
    }
}

/// The constants of a layer with all fibres one way: the rule of mixtures for E1 and ν12,
/// Halpin–Tsai for E2 (ξ = 2) and G12 (ξ = 1).
///
/// # Source
/// A. K. Kaw, *Mechanics of Composite Materials*, 2nd ed. 2006, sections 3.3.1 and 3.3.2 (from
/// memory).
#[must_use]
pub fn unidirectional(fibre: &Fibre, resin: &Resin, fraction: VolumeFraction) -> Elastic {
    let vf = fraction.get();
    let mixed = |fibre: f64, resin: f64| fibre * vf + resin * (1.0 - vf);
    let halpin_tsai = |fibre: f64, resin: f64, xi: f64| {
        let ratio = fibre / resin;
        let eta = (ratio - 1.0) / (ratio + xi);
        Modulus::mpa(resin * (1.0 + xi * eta * vf) / (1.0 - eta * vf))
    };
    let em = resin.modulus.to_mpa();
    let gm = em / (2.0 * (1.0 + resin.poisson));
    Elastic {
        e1: Modulus::mpa(mixed(fibre.axial.to_mpa(), em)),
        e2: halpin_tsai(fibre.transverse.to_mpa(), em, 2.0),
        g12: halpin_tsai(fibre.shear.to_mpa(), gm, 1.0),
        nu12: mixed(fibre.poisson, resin.poisson),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Kaw, 2nd ed. 2006, examples 3.3 to 3.8 (from memory): glass/epoxy at 70 % has E1 60.52, E2
    /// 20.20, G12 6.169 GPa and ν12 0.2300, with Gm = 1.308 GPa rounded in the book. Its glass has 85 GPa
    /// and 35.42 GPa.
    #[test]
    fn glass_at_seventy_percent_as_printed() {
        let vf = VolumeFraction::new(0.70).expect("possible");
        let glass = Fibre {
            axial: Modulus::gpa(85.0),
            transverse: Modulus::gpa(85.0),
            shear: Modulus::gpa(35.42),
            ..Fibre::E_GLASS
        };
        let layer = unidirectional(&glass, &Resin::default(), vf);
        assert!((layer.e1.to_gpa() - 60.52).abs() < 5e-3);
        assert!((layer.e2.to_gpa() - 20.20).abs() < 5e-3);
        assert!((layer.g12.to_gpa() - 6.169).abs() < 2e-3);
        assert!((layer.nu12 - 0.2300).abs() < 5e-5);
    }

    #[test]
    fn every_layer_is_possible_and_lies_between_resin_and_fibre() {
        let resin = Resin::default();
        for fibre in &Fibre::ALL {
            for percent in [5, 20, 35, 45, 60, 90] {
                let vf = VolumeFraction::new(f64::from(percent) / 100.0).expect("possible");
                let layer = unidirectional(fibre, &resin, vf);
                assert!(layer.is_possible() && layer.scattered().is_possible());
                assert!(layer.e1 > layer.scattered().e1 && layer.e1 < fibre.axial);
                assert!(layer.e2 > resin.modulus && layer.e2 < fibre.transverse);
            }
        }
    }
}
