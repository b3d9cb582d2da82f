//! Classical lamination theory: layers bonded to one thin plate.
//!
//! Layers are listed from the mould up, z from −h/2 to h/2 about the middle of the thickness. Turning
//! the list round changes the sign of B alone. Plane sections stay plane, shear through the thickness
//! is left out, every layer is bonded without slip: an estimate for comparing layups.

use super::elastic::Symmetric;
use crate::geometry::trig;
use crate::units::{Angle, Length, Modulus};

/// One layer of a plate.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Layer {
    /// Cured thickness.
    pub thickness: Length,
    /// Its stiffness in the axes of the part, MPa (Q̄).
    pub stiffness: Symmetric,
}

/// The stiffness of a plate by width: forces and moments from stretch and curvature of its middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Plate {
    /// Thickness.
    pub thickness: Length,
    /// Stretching, N/mm.
    pub a: Symmetric,
    /// Coupling of stretching and bending, N; zero for a symmetric plate.
    pub b: Symmetric,
    /// Bending, N·mm.
    pub d: Symmetric,
}

/// The constants of the homogeneous sheet that a plate acts as in its plane; x is the part's 0°.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct InPlane {
    /// Young's modulus along x.
    pub ex: Modulus,
    /// Young's modulus along y.
    pub ey: Modulus,
    /// Shear modulus.
    pub gxy: Modulus,
    /// Contraction along y by stretch along x.
    pub nu_xy: f64,
    /// A⁻¹ · h, 1/MPa: strain from mean stress.
    compliance: Symmetric,
}

impl Plate {
    /// The plate of `layers`, first against the mould; `None` without thickness.
    ///
    /// A = Σ Q̄·(z₁ − z₀), B = ½ Σ Q̄·(z₁² − z₀²), D = ⅓ Σ Q̄·(z₁³ − z₀³).
    ///
    /// # Source
    /// A. K. Kaw, *Mechanics of Composite Materials*, 2nd ed. 2006, eq. 4.28; also A. T. Nettles,
    /// *Basic Mechanics of Laminated Composite Plates*, NASA RP-1351, 1994.
    #[must_use]
    pub fn of(layers: &[Layer]) -> Option<Self> {
        let thickness: f64 = layers.iter().map(|l| l.thickness.to_mm()).sum();
        if thickness.is_nan() || thickness <= 0.0 {
            return None;
        }
        let mut plate = Self {
            thickness: Length::mm(thickness),
            a: Symmetric::default(),
            b: Symmetric::default(),
            d: Symmetric::default(),
        };
        let mut below = 0.0;
        for layer in layers {
            let t = layer.thickness.to_mm();
            // From the layer's own middle: exact where layers above and below cancel.
            let middle = below + t / 2.0 - thickness / 2.0;
            let second = t * middle * middle + t * t * t / 12.0;
            plate.a = plate.a.plus(&layer.stiffness.times(t));
            plate.b = plate.b.plus(&layer.stiffness.times(t * middle));
            plate.d = plate.d.plus(&layer.stiffness.times(second));
            below += t;
        }
        Some(plate)
    }

    /// What the plate acts as in its plane, its curvature held (as by a core, a frame, or the
    /// other half of a symmetric stack): from A⁻¹ alone. A plate that is not symmetric and is free
    /// to curl is softer.
    ///
    /// Ex = 1/(h·a11), Ey = 1/(h·a22), Gxy = 1/(h·a66), νxy = −a12/a11, with a = A⁻¹.
    ///
    /// # Source
    /// A. K. Kaw, *Mechanics of Composite Materials*, 2nd ed. 2006, section 4.4.
    #[must_use]
    pub fn in_plane(&self) -> Option<InPlane> {
        let compliance = self.a.inverse()?.times(self.thickness.to_mm());
        Some(InPlane {
            ex: Modulus::mpa(1.0 / compliance.m11),
            ey: Modulus::mpa(1.0 / compliance.m22),
            gxy: Modulus::mpa(1.0 / compliance.m66),
            nu_xy: -compliance.m12 / compliance.m11,
            compliance,
        })
    }

    /// The moduli along x and y that the plate shows in bending; for symmetric plates.
    ///
    /// 12/(h³·d11) and 12/(h³·d22), with d = D⁻¹.
    ///
    /// # Source
    /// As for [`Plate::in_plane`].
    #[must_use]
    pub fn in_bending(&self) -> Option<(Modulus, Modulus)> {
        let h = self.thickness.to_mm();
        let d = self.d.inverse()?;
        let modulus = |compliance: f64| Modulus::mpa(12.0 / (h * h * h * compliance));
        Some((modulus(d.m11), modulus(d.m22)))
    }
}

impl InPlane {
    /// Young's modulus of the plate pulled along `direction`, counter-clockwise from the part's 0°.
    ///
    /// 1/E(θ) = a11·c⁴ + a22·s⁴ + (2·a12 + a66)·s²c² + 2·a16·s·c³ + 2·a26·s³·c.
    ///
    /// # Source
    /// R. M. Jones, *Mechanics of Composite Materials*, 2nd ed. 1999, section 2.6 (from memory).
    #[must_use]
    pub fn along(&self, direction: Angle) -> Modulus {
        let (s, c) = trig::sin_cos(direction);
        let (s2, c2, sc) = (s * s, c * c, s * c);
        let a = &self.compliance;
        Modulus::mpa(
            1.0 / (a.m11 * c2 * c2
                + a.m22 * s2 * s2
                + (2.0 * a.m12 + a.m66) * s2 * c2
                + 2.0 * a.m16 * sc * c2
                + 2.0 * a.m26 * sc * s2),
        )
    }
}
