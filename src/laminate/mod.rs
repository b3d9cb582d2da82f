//! What cloth and resin become when they cure: fractions, thickness, stiffness, and whether a stack
//! is symmetric and balanced; how resin is mixed.
//!
//! Pure arithmetic on [`crate::units`] and angles; it knows no cloth, no job and no file. The results are
//! estimates for comparing layups and ordering resin, not values for a design approval: voids,
//! print-through and bleed are not in them.
//!
//! # Example
//!
//! What two plies at ±45° do to a carbon skin:
//!
//! ```
//! use warpwise::laminate::{Construction, CuredCloth, Fibre, InPlane, Layup, Process};
//! use warpwise::units::{ArealWeight, PlyAngle};
//!
//! let weight = ArealWeight::g_per_m2(200.0);
//! let twill = CuredCloth::generic(Construction::Woven, &Fibre::CARBON, weight, Process::VacuumBag);
//! let skin = |angles: [f64; 2]| -> InPlane {
//!     let ply = |layup: Layup, &angle: &f64| layup.ply(&twill, PlyAngle::degrees(angle));
//!     let layup = angles.iter().fold(Layup::default(), ply).mirrored();
//!     assert!((layup.thickness().to_mm() - 1.0).abs() < 0.01);
//!     assert_eq!(layup.symmetry(), Ok(()));
//!     layup.plate().unwrap().in_plane().unwrap()
//! };
//! let (straight, with_45s) = (skin([0.0, 0.0]), skin([0.0, 45.0]));
//! assert!(with_45s.gxy > straight.gxy && with_45s.ex < straight.ex);
//! ```

mod elastic;
mod fraction;
mod lamina;
mod layup;
mod material;
mod mix;
mod plate;
mod stack;
mod target;

pub use elastic::{Elastic, Symmetric};
pub use fraction::{Constituents, FractionError, VolumeFraction, WeightFraction};
pub use lamina::{FractionFrom, Lamina, LayerStiffness, Process};
pub use layup::{CuredCloth, Layup};
pub use material::{Fibre, Resin, unidirectional};
pub use mix::{Batch, BatchLimits, Demand, MixRatio, MixRatioError, Mixed, batches, pot_life_in};
pub use plate::{FreeStrip, InPlane, Layer, Plate};
pub use stack::{Asymmetry, Construction, Facing, Imbalance, StackPly, balance, symmetry};
pub use target::{Shares, SheetMaterial, StiffAlong, StiffAs, StiffIn};

use crate::units::{ArealWeight, Density, Length};

/// Thickness of a cured ply without voids.
///
/// t = w / (ρf · Vf), with w the mass of the dry cloth by area and ρf the density of its fibre;
/// in mm: w in g/m² / (1000 · ρf in g/cm³ · Vf).
///
/// # Source
/// ASTM D3171, Method II, solved for the thickness (from memory).
#[must_use]
pub fn cured_thickness(cloth: ArealWeight, fibre: Density, fraction: VolumeFraction) -> Length {
    let per_volume = 1000.0 * fibre.to_g_per_cm3() * fraction.get();
    Length::mm(cloth.to_g_per_m2() / per_volume)
}

/// Fibre volume fraction of a laminate whose thickness was measured; `cloth` is the areal weight of
/// all its plies together.
///
/// # Errors
/// [`FractionError`] if the thickness is too small to hold that much fibre, or is not positive.
///
/// # Source
/// ASTM D3171, Method II (from memory).
pub fn fraction_from_thickness(
    cloth: ArealWeight,
    fibre: Density,
    thickness: Length,
) -> Result<VolumeFraction, FractionError> {
    let per_thickness = 1000.0 * fibre.to_g_per_cm3() * thickness.to_mm();
    VolumeFraction::new(cloth.to_g_per_m2() / per_thickness)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Worked out from the formula; 193.263 g/m² is 5.7 oz/yd².
    #[test]
    fn cured_thickness_follows_from_areal_weight_and_fraction() {
        for (g_per_m2, density, fraction, expected) in [
            (193.262_760_6, 1.78, 0.50, 0.217_149_169),
            (300.0, 2.54, 0.40, 0.295_275_591),
            // Two layers of 450 g/m² chopped mat with twice their weight of resin of 1.20 g/cm³.
            (900.0, 2.54, 0.191_082_803, 1.854_330_71),
        ] {
            let cloth = ArealWeight::g_per_m2(g_per_m2);
            let fibre = Density::g_per_cm3(density);
            let fraction = VolumeFraction::new(fraction).expect("a possible fraction");
            let thickness = cured_thickness(cloth, fibre, fraction);
            assert!((thickness.to_mm() / expected - 1.0).abs() < 1e-6);
            let back = fraction_from_thickness(cloth, fibre, thickness).expect("possible");
            assert!((back.get() - fraction.get()).abs() < 1e-12);
        }
    }

    #[test]
    fn an_impossible_thickness_is_refused() {
        let (cloth, fibre) = (ArealWeight::g_per_m2(300.0), Density::g_per_cm3(2.54));
        for mm in [0.13, 0.0, -1.0, f64::NAN] {
            assert!(
                fraction_from_thickness(cloth, fibre, Length::mm(mm)).is_err(),
                "{mm}"
            );
        }
        assert!(fraction_from_thickness(cloth, fibre, Length::mm(0.14)).is_ok());
    }
}
