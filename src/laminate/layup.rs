//! A layup for calculations without a job: plies of known cloths, one upon the other.

use super::fraction::{Constituents, VolumeFraction};
use super::lamina::{FractionFrom, Lamina, LayerStiffness, Process};
use super::material::{Fibre, Resin, unidirectional};
use super::plate::Plate;
use super::stack::{Asymmetry, Construction, Facing, Imbalance, StackPly, balance, symmetry};
use crate::units::{Angle, ArealWeight, Length, PlyAngle};

/// A cloth of a generic fibre, with what it becomes in a generic epoxy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CuredCloth {
    construction: Construction,
    areal_weight: ArealWeight,
    lamina: Lamina,
}

impl CuredCloth {
    /// A cloth of `fibre` that weighs `areal_weight` dry, with the fibre fraction that is usual for
    /// `process`.
    #[must_use]
    pub fn generic(
        construction: Construction,
        fibre: &Fibre,
        areal_weight: ArealWeight,
        process: Process,
    ) -> Self {
        let resin = Resin::default();
        let fraction = VolumeFraction::new(process.usual_fraction(construction))
            .expect("the usual fractions are possible");
        let constituents = Constituents {
            fibre: fibre.density,
            resin: resin.density,
        };
        let layer = LayerStiffness::Fibres(unidirectional(fibre, &resin, fraction));
        let from = FractionFrom::Process(process);
        Self {
            construction,
            areal_weight,
            lamina: Lamina::new(areal_weight, constituents, fraction, from, Some(layer)),
        }
    }
}

/// Plies one upon the other, the first against the mould.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Layup {
    plies: Vec<(CuredCloth, PlyAngle)>,
}

impl Layup {
    /// The layup with a ply of `cloth` at `angle` laid on it; of a biaxial, that is the angle of its
    /// layer towards the mould.
    #[must_use]
    pub fn ply(mut self, cloth: &CuredCloth, angle: PlyAngle) -> Self {
        self.plies.push((*cloth, angle));
        self
    }

    /// The layup with its mirror image laid on it: what `s` says after the brackets of a laminate
    /// code.
    #[must_use]
    pub fn mirrored(mut self) -> Self {
        for (cloth, angle) in self.plies.clone().into_iter().rev() {
            let mirrored = match cloth.construction {
                // Its upper layer comes to lie below.
                Construction::Biaxial => angle.turned(Angle::degrees(90.0)).in_range(),
                _ => angle,
            };
            self.plies.push((cloth, mirrored));
        }
        self
    }

    /// Cured thickness.
    #[must_use]
    pub fn thickness(&self) -> Length {
        let each = self.plies.iter().map(|(cloth, _)| cloth.lamina.thickness);
        each.fold(Length::ZERO, |sum, ply| sum + ply)
    }

    /// Its stiffness; `None` without plies.
    #[must_use]
    pub fn plate(&self) -> Option<Plate> {
        let plies = self.plies.iter().zip(self.stack());
        let layers: Option<Vec<_>> = plies
            .map(|((cloth, _), ply)| cloth.lamina.layers(&ply))
            .collect();
        Plate::of(&layers?.concat())
    }

    /// Whether it mirrors itself about its middle.
    ///
    /// # Errors
    /// As [`symmetry`]; plies are numbered from 1.
    pub fn symmetry(&self) -> Result<(), Asymmetry> {
        symmetry(&self.stack())
    }

    /// Whether fibre at every angle has its opposite.
    ///
    /// # Errors
    /// As [`balance`]; plies are numbered from 1.
    pub fn balance(&self) -> Result<(), Imbalance> {
        balance(&self.stack())
    }

    fn stack(&self) -> Vec<StackPly> {
        let first_like = |cloth: &CuredCloth| self.plies.iter().position(|(like, _)| like == cloth);
        let plies = (1..).zip(&self.plies);
        plies
            .map(|(n, (cloth, angle))| StackPly {
                facing: Facing::Alike,
                warp_share: 0.5,
                n: Some(n),
                cloth: first_like(cloth).unwrap_or_default(),
                construction: cloth.construction,
                angle: angle.from_zero(),
                areal_weight: cloth.areal_weight,
            })
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_mirrored_is_symmetric_and_twice_as_thick() {
        for construction in [
            Construction::Woven,
            Construction::Unidirectional,
            Construction::Biaxial,
            Construction::NonDirectional,
        ] {
            let weight = ArealWeight::g_per_m2(300.0);
            let process = Process::HandLayup;
            let cloth = CuredCloth::generic(construction, &Fibre::ALL[1], weight, process);
            let angles = [0.0, 45.0, -30.0].map(PlyAngle::degrees);
            let half = angles
                .iter()
                .fold(Layup::default(), |layup, &angle| layup.ply(&cloth, angle));
            let whole = half.clone().mirrored();
            assert_eq!(whole.symmetry(), Ok(()), "{construction:?}");
            let twice = whole.thickness().to_mm() - 2.0 * half.thickness().to_mm();
            assert!(twice.abs() < 1e-12);
            let plate = whole.plate().expect("plies of known stiffness");
            let scale = plate.a.m11 * plate.thickness.to_mm();
            assert!(plate.b.to_array().iter().all(|b| b.abs() < 1e-9 * scale));
        }
        assert_eq!(Layup::default().plate(), None);
    }
}
