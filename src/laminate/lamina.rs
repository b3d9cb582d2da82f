//! A cured ply: what its cloth and resin become.

use super::cured_thickness;
use super::elastic::{Elastic, Symmetric};
use super::fraction::{Constituents, VolumeFraction};
use super::plate::Layer;
use super::stack::{Construction, StackPly};
use crate::units::{Angle, ArealWeight, Length, Mass};
use crate::words::words;

words! {
    /// How a part is laid up, which decides how much resin stays in it.
    pub enum Process {
        /// Wet out by hand, cured under a vacuum bag.
        VacuumBag = "vacuum bag",
        /// Wet out by hand, cured in the open.
        HandLayup = "hand layup",
    }
}

impl Process {
    /// The fibre volume fraction that is assumed where nothing else is known: 35 % by hand, 45 %
    /// under a bag; 20 % for mat.
    ///
    /// Common practice, no source: 30 to 40 %, 40 to 55 % and 15 to 25 % are usual.
    #[must_use]
    pub fn usual_fraction(self, construction: Construction) -> f64 {
        match (self, construction) {
            (_, Construction::NonDirectional) => 0.20,
            (Self::HandLayup, _) => 0.35,
            (Self::VacuumBag, _) => 0.45,
        }
    }
}

/// Where a cured cloth's fibre fraction comes from.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FractionFrom {
    /// What is usual for the process.
    Process(Process),
    /// Stated by the job, by volume.
    Volume,
    /// Stated by the job, by weight.
    Weight,
    /// From a measured thickness of the cured ply.
    Thickness,
}

/// How stiff a cured cloth is.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum LayerStiffness {
    /// Constants of a layer with all fibres one way; the cloth is built up of such layers.
    Fibres(Elastic),
    /// Constants of the whole cured cloth, 1 along its warp.
    Cloth(Elastic),
}

impl LayerStiffness {
    /// The constants, of whatever they are.
    #[must_use]
    pub const fn elastic(&self) -> &Elastic {
        match self {
            Self::Fibres(elastic) | Self::Cloth(elastic) => elastic,
        }
    }
}

/// What one ply of a cloth is when it has cured. Voids are not in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Lamina {
    /// Densities of fibre and resin.
    pub constituents: Constituents,
    /// Share of the volume that is fibre.
    pub fraction: VolumeFraction,
    /// How that share is known.
    pub fraction_from: FractionFrom,
    /// Thickness.
    pub thickness: Length,
    /// How stiff it is, if that is known.
    pub stiffness: Option<LayerStiffness>,
}

impl Lamina {
    /// A ply of a cloth that weighs `areal_weight` dry.
    #[must_use]
    pub fn new(
        areal_weight: ArealWeight,
        constituents: Constituents,
        fraction: VolumeFraction,
        fraction_from: FractionFrom,
        stiffness: Option<LayerStiffness>,
    ) -> Self {
        Self {
            constituents,
            fraction,
            fraction_from,
            thickness: cured_thickness(areal_weight, constituents.fibre, fraction),
            stiffness,
        }
    }

    /// The resin that stays in a ply with `cloth` of dry cloth.
    #[must_use]
    pub fn resin_for(&self, cloth: Mass) -> Mass {
        self.constituents.by_weight(self.fraction).resin_for(cloth)
    }

    /// The layers of `ply`, from the mould up, in the axes of the part; `None` if its stiffness is
    /// not known.
    ///
    /// A woven ply is a pair of plies, warp and weft, each with its share of the fibre, both spread
    /// over the whole thickness (the waves of the yarns, which cost some stiffness, are left out). A
    /// stitched biaxial is two layers, one upon the other. A mat is alike in all directions.
    #[must_use]
    pub fn layers(&self, ply: &StackPly) -> Option<Vec<Layer>> {
        let fibres = match self.stiffness? {
            LayerStiffness::Cloth(whole) => {
                return Some(vec![Layer {
                    thickness: self.thickness,
                    stiffness: whole.reduced_at(ply.angle),
                }]);
            }
            LayerStiffness::Fibres(fibres) => fibres,
        };
        let directions: Vec<(Angle, f64)> =
            ply.directions().into_iter().zip(ply.shares()).collect();
        Some(built_up(
            &fibres,
            ply.construction,
            &directions,
            self.thickness,
        ))
    }

    /// As [`Self::layers`], where the ply is pushed out of square on a mould: its warp and weft lie in these directions,
    /// with these shares of its fibre, and it is so many times as thick. A cloth of which only the whole is known counts
    /// as turned by the mean of both.
    #[must_use]
    pub fn layers_as_laid(
        &self,
        construction: Construction,
        [warp, weft]: [Angle; 2],
        [of_warp, of_weft]: [f64; 2],
        thicker: f64,
    ) -> Option<Vec<Layer>> {
        let thickness = self.thickness * thicker;
        let fibres = match self.stiffness? {
            LayerStiffness::Cloth(whole) => {
                let mean = (warp + weft - Angle::degrees(90.0)) * 0.5;
                let stiffness = whole.reduced_at(mean);
                return Some(vec![Layer {
                    thickness,
                    stiffness,
                }]);
            }
            LayerStiffness::Fibres(fibres) => fibres,
        };
        let both = [(warp, of_warp), (weft, of_weft)];
        let directions = match construction {
            Construction::Unidirectional => &both[..1],
            Construction::Woven | Construction::Biaxial | Construction::NonDirectional => &both,
        };
        Some(built_up(&fibres, construction, directions, thickness))
    }
}

/// The layers of a ply that is built up of `fibres` in these directions, each with its share.
fn built_up(
    fibres: &Elastic,
    construction: Construction,
    directions: &[(Angle, f64)],
    thickness: Length,
) -> Vec<Layer> {
    let whole = |stiffness| {
        vec![Layer {
            thickness,
            stiffness,
        }]
    };
    match construction {
        Construction::NonDirectional => whole(fibres.scattered().reduced()),
        Construction::Woven => {
            let none = Symmetric::default();
            whole(directions.iter().fold(none, |sum, &(direction, share)| {
                sum.plus(&fibres.reduced_at(direction).times(share))
            }))
        }
        Construction::Unidirectional | Construction::Biaxial => {
            let thickness = thickness * (1.0 / directions.len() as f64);
            let layer = |&(direction, _): &(Angle, f64)| Layer {
                thickness,
                stiffness: fibres.reduced_at(direction),
            };
            directions.iter().map(layer).collect()
        }
    }
}
