//! How one layer answers stress in its plane.

use crate::geometry::trig;
use crate::units::{Angle, Modulus};

/// The elastic constants of a layer in its plane; 1 is along the warp (the fibres), 2 across.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Elastic {
    /// Young's modulus along 1.
    pub e1: Modulus,
    /// Young's modulus along 2.
    pub e2: Modulus,
    /// Shear modulus.
    pub g12: Modulus,
    /// Contraction along 2 by stretch along 1.
    pub nu12: f64,
}

impl Elastic {
    /// Whether such a material can be: moduli above zero, and |ν12| < √(E1/E2), for otherwise it
    /// would give out more work than was put in.
    ///
    /// # Source
    /// R. M. Jones, *Mechanics of Composite Materials*, 2nd ed. 1999, section 2.4 (from memory).
    #[must_use]
    pub fn is_possible(&self) -> bool {
        let moduli = [self.e1, self.e2, self.g12].map(Modulus::to_mpa);
        moduli.iter().all(|m| m.is_finite() && *m > 0.0)
            && self.nu12.is_finite()
            && self.nu12 * self.nu12 < moduli[0] / moduli[1]
    }

    /// The reduced stiffness Q in the layer's own axes, MPa: stress from strain where no stress
    /// acts through the thickness.
    ///
    /// Q11 = E1/(1 − ν12·ν21), Q12 = ν12·E2/(1 − ν12·ν21), Q22 = E2/(1 − ν12·ν21), Q66 = G12, with
    /// ν21 = ν12·E2/E1.
    ///
    /// # Source
    /// A. K. Kaw, *Mechanics of Composite Materials*, 2nd ed. 2006, eq. 2.93.
    #[must_use]
    pub fn reduced(&self) -> Symmetric {
        let (e1, e2) = (self.e1.to_mpa(), self.e2.to_mpa());
        let rest = 1.0 - self.nu12 * self.nu12 * e2 / e1;
        Symmetric {
            m11: e1 / rest,
            m12: self.nu12 * e2 / rest,
            m16: 0.0,
            m22: e2 / rest,
            m26: 0.0,
            m66: self.g12.to_mpa(),
        }
    }

    /// Q̄: the stiffness of a layer whose warp lies at `angle`, in the axes of the part.
    #[must_use]
    pub fn reduced_at(&self, angle: Angle) -> Symmetric {
        self.reduced().turned(angle)
    }

    /// The constants of the same layer with its fibres scattered evenly in all directions, as in a
    /// mat: E = (U1² − U4²)/U1, ν = U4/U1, G = U5.
    ///
    /// # Source
    /// S. W. Tsai and H. T. Hahn, *Introduction to Composite Materials*, 1980, ch. 3 and 4 (from
    /// memory): the quasi-isotropic constants.
    #[must_use]
    pub fn scattered(&self) -> Self {
        let [u1, _, _, u4, u5] = self.reduced().invariants();
        let e = Modulus::mpa((u1 * u1 - u4 * u4) / u1);
        Self {
            e1: e,
            e2: e,
            g12: Modulus::mpa(u5),
            nu12: u4 / u1,
        }
    }
}

/// A symmetric 3 × 3 matrix that ties stress or force (x, y, shear) to strain (x, y, shear as the
/// change of the right angle). Indices as the textbooks have them: 6 is shear.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
#[allow(
    missing_docs,
    reason = "the six numbers have no names but their places"
)]
pub struct Symmetric {
    pub m11: f64,
    pub m12: f64,
    pub m16: f64,
    pub m22: f64,
    pub m26: f64,
    pub m66: f64,
}

impl Symmetric {
    /// A stiffness seen from axes that lie at −`angle` to its own: of a layer laid at `angle`.
    ///
    /// # Source
    /// A. K. Kaw, *Mechanics of Composite Materials*, 2nd ed. 2006, eq. 2.104, for a stiffness
    /// without 16 and 26, which is what a layer has in its own axes.
    #[must_use]
    pub fn turned(&self, angle: Angle) -> Self {
        debug_assert!(self.m16 == 0.0 && self.m26 == 0.0, "a layer's own axes");
        let (s, c) = trig::sin_cos(angle);
        let (s2, c2) = (s * s, c * c);
        let (s4, c4, s2c2) = (s2 * s2, c2 * c2, s2 * c2);
        let one = self.m11 - self.m12 - 2.0 * self.m66;
        let two = self.m22 - self.m12 - 2.0 * self.m66;
        let mixed = self.m12 + 2.0 * self.m66;
        Self {
            m11: self.m11 * c4 + self.m22 * s4 + 2.0 * mixed * s2c2,
            m12: (self.m11 + self.m22 - 4.0 * self.m66) * s2c2 + self.m12 * (c4 + s4),
            m16: one * c2 * c * s - two * s2 * s * c,
            m22: self.m11 * s4 + self.m22 * c4 + 2.0 * mixed * s2c2,
            m26: one * c * s2 * s - two * c2 * c * s,
            m66: (self.m11 + self.m22 - 2.0 * self.m12 - 2.0 * self.m66) * s2c2
                + self.m66 * (s4 + c4),
        }
    }

    /// What stays the same however a layer is turned: U1, U4 and U5, and with them U2 and U3.
    ///
    /// # Source
    /// S. W. Tsai and H. T. Hahn, *Introduction to Composite Materials*, 1980, ch. 3 (from memory).
    #[must_use]
    pub fn invariants(&self) -> [f64; 5] {
        let sum = self.m11 + self.m22;
        let (q12, q66) = (self.m12, self.m66);
        [
            (3.0 * sum + 2.0 * q12 + 4.0 * q66) / 8.0,
            (self.m11 - self.m22) / 2.0,
            (sum - 2.0 * q12 - 4.0 * q66) / 8.0,
            (sum + 6.0 * q12 - 4.0 * q66) / 8.0,
            (sum - 2.0 * q12 + 4.0 * q66) / 8.0,
        ]
    }

    /// The matrix times `factor`.
    #[must_use]
    pub fn times(&self, factor: f64) -> Self {
        let mut all = self.to_array();
        all.iter_mut().for_each(|m| *m *= factor);
        Self::from_array(all)
    }

    /// The sum of both.
    #[must_use]
    pub fn plus(&self, other: &Self) -> Self {
        let mut all = self.to_array();
        for (m, o) in all.iter_mut().zip(other.to_array()) {
            *m += o;
        }
        Self::from_array(all)
    }

    /// The difference of both.
    #[must_use]
    pub fn minus(&self, other: &Self) -> Self {
        self.plus(&other.times(-1.0))
    }

    /// This matrix on both sides of `middle`: M·X·M.
    #[must_use]
    pub fn around(&self, middle: &Self) -> Self {
        let product = |a: [[f64; 3]; 3], b: [[f64; 3]; 3]| -> [[f64; 3]; 3] {
            std::array::from_fn(|i| {
                std::array::from_fn(|j| (0..3).map(|k| a[i][k] * b[k][j]).sum())
            })
        };
        let rows = self.rows();
        let [first, second, third] = product(product(rows, middle.rows()), rows);
        Self {
            m11: first[0],
            m12: first[1],
            m16: first[2],
            m22: second[1],
            m26: second[2],
            m66: third[2],
        }
    }

    const fn rows(&self) -> [[f64; 3]; 3] {
        [
            [self.m11, self.m12, self.m16],
            [self.m12, self.m22, self.m26],
            [self.m16, self.m26, self.m66],
        ]
    }

    /// Of a compliance: strain along `direction` by stress along it alone.
    ///
    /// a11·c⁴ + a22·s⁴ + (2·a12 + a66)·s²c² + 2·a16·s·c³ + 2·a26·s³·c.
    ///
    /// # Source
    /// R. M. Jones, *Mechanics of Composite Materials*, 2nd ed. 1999, section 2.6 (from memory).
    #[must_use]
    pub fn along(&self, direction: Angle) -> f64 {
        let (s, c) = trig::sin_cos(direction);
        let (s2, c2, sc) = (s * s, c * c, s * c);
        self.m11 * c2 * c2
            + self.m22 * s2 * s2
            + (2.0 * self.m12 + self.m66) * s2 * c2
            + 2.0 * self.m16 * sc * c2
            + 2.0 * self.m26 * sc * s2
    }

    /// The inverse; `None` if there is none to within rounding.
    #[must_use]
    pub fn inverse(&self) -> Option<Self> {
        let m = self;
        let c11 = m.m22 * m.m66 - m.m26 * m.m26;
        let c12 = m.m16 * m.m26 - m.m12 * m.m66;
        let c16 = m.m12 * m.m26 - m.m16 * m.m22;
        let determinant = m.m11 * c11 + m.m12 * c12 + m.m16 * c16;
        let inverse = Self {
            m11: c11,
            m12: c12,
            m16: c16,
            m22: m.m11 * m.m66 - m.m16 * m.m16,
            m26: m.m12 * m.m16 - m.m11 * m.m26,
            m66: m.m11 * m.m22 - m.m12 * m.m12,
        }
        .times(1.0 / determinant);
        inverse
            .to_array()
            .iter()
            .all(|v| v.is_finite())
            .then_some(inverse)
    }

    /// 11, 12, 16, 22, 26, 66.
    #[must_use]
    pub const fn to_array(&self) -> [f64; 6] {
        [self.m11, self.m12, self.m16, self.m22, self.m26, self.m66]
    }

    /// From 11, 12, 16, 22, 26, 66.
    #[must_use]
    pub const fn from_array([m11, m12, m16, m22, m26, m66]: [f64; 6]) -> Self {
        Self {
            m11,
            m12,
            m16,
            m22,
            m26,
            m66,
        }
    }
}
