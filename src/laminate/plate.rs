//! Classical lamination theory: layers bonded to one thin plate.
//!
//! Layers are listed from the mould up, z from −h/2 to h/2 about the middle of the thickness. Turning
//! the list round changes the sign of B alone. Plane sections stay plane, shear through the thickness
//! is left out, every layer is bonded without slip: an estimate for comparing layups.

use super::elastic::Symmetric;
use crate::units::{Angle, BendingStiffness, Length, Modulus, StretchStiffness};

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

/// How stiff a narrow strip of a plate is along its length, by its width, where nothing else holds it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FreeStrip {
    /// Against stretching, free to curl.
    pub stretch: StretchStiffness,
    /// Against bending, free to contract.
    pub bend: BendingStiffness,
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

    /// A strip cut from the plate along `direction`, counter-clockwise from the part's 0°; of a plate
    /// that is not symmetric, bending and stretching each take the easier way.
    ///
    /// 1/a*(θ) and 1/d*(θ), with a* = (A − B·D⁻¹·B)⁻¹ and d* = (D − B·A⁻¹·B)⁻¹.
    ///
    /// # Source
    /// R. M. Jones, *Mechanics of Composite Materials*, 2nd ed. 1999, section 4.4 (from memory): the
    /// inverse of the whole stiffness.
    #[must_use]
    pub fn strip(&self, direction: Angle) -> Option<FreeStrip> {
        let (a, b, d) = (&self.a, &self.b, &self.d);
        let stretch = a.minus(&b.around(&d.inverse()?)).inverse()?;
        let bend = d.minus(&b.around(&a.inverse()?)).inverse()?;
        Some(FreeStrip {
            stretch: StretchStiffness::n_per_mm(1.0 / stretch.along(direction)),
            bend: BendingStiffness::n_mm(1.0 / bend.along(direction)),
        })
    }

    /// Moment by width by curvature along x and along y where the plate may not contract across the
    /// bend (D11 and D22): of a wide sheet. What is not symmetric may stretch as it bends.
    #[must_use]
    pub fn wide(&self) -> Option<[BendingStiffness; 2]> {
        let d = self.d.minus(&self.b.around(&self.a.inverse()?));
        Some([d.m11, d.m22].map(BendingStiffness::n_mm))
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
    /// Young's modulus of the plate pulled along `direction`, counter-clockwise from the part's 0°:
    /// 1/E(θ) is the [compliance along it](Symmetric::along).
    #[must_use]
    pub fn along(&self, direction: Angle) -> Modulus {
        Modulus::mpa(1.0 / self.compliance.along(direction))
    }
}
