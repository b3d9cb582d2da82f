//! Weaves and the turns under which a piece of them is still the same ply.

use super::layers::FIRST_LAYER_DEG;
use crate::geometry::{Face, Turn};
use crate::laminate::Construction;
use crate::units::{Angle, FibreAxis, PlyAngle, WarpDirection};
use crate::words::words;

words! {
    /// How a cloth is made.
    #[non_exhaustive]
    pub enum Weave {
        /// Plain weave; both faces alike.
        Plain = "plain",
        /// Twill, for example 2×2: warp and weft alike, with a diagonal that runs one way.
        Twill = "twill",
        /// Basket weave; both faces alike.
        Basket = "basket",
        /// Satin (harness) weave: one face shows warp, the other weft.
        Satin = "satin",
        /// All fibres along the roll.
        Unidirectional = "unidirectional",
        /// Two stitched layers at +45° and −45° to the roll; which lies where on the part,
        /// [`BiaxialLayers`](super::BiaxialLayers) says.
        Biaxial = "biaxial",
        /// No direction: mat, veil, peel ply, film, breather.
        NonDirectional = "non-directional",
    }
}

/// The turns a cloth permits beside lying straight, face up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WeaveTurns {
    /// Which rotations keep the fibres where the designer wants them.
    pub rotation: Rotation,
    /// Whether a piece may be cut with the other face up.
    pub turn_over: bool,
}

words! {
    /// Rotations in the plane that a cloth permits.
    pub enum Rotation {
        /// 0° only: the cloth has a nap or a print.
        None = "none",
        /// 0° and 180°.
        Half = "half",
        /// 0°, 90°, 180° and 270°: warp and weft are alike.
        Quarter = "quarter",
        /// Any angle.
        Any = "any",
    }
}

/// What its two faces are to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Faces {
    /// Both carry the fibres alike.
    Alike,
    /// One shows mostly warp, the other mostly weft.
    WarpAndWeft,
    /// Each is one of two layers; turning the cloth over exchanges them.
    TwoLayers,
}

/// Everything that is asked of a weave.
struct Nature {
    /// Rotations that it permits unless the job says otherwise.
    rotation: Rotation,
    /// Whether it may be turned over unless the job says otherwise: not where stitching or backing
    /// usually shows on one face only.
    turn_over: bool,
    /// Directions of its fibres against the warp, face up, in degrees.
    fibres: &'static [f64],
    /// How many of them are drawn like a warp; the others are drawn like a weft.
    n_drawn_as_warp: usize,
    construction: Construction,
    faces: Faces,
    /// Whether its yarns cross so seldom that they slip off along a straight edge. Common practice, no
    /// source.
    is_loose: bool,
}

impl Weave {
    /// The one place that tells weaves apart.
    const fn nature(self) -> Nature {
        let plain = Nature {
            rotation: Rotation::Quarter,
            turn_over: true,
            fibres: &[0.0, 90.0],
            n_drawn_as_warp: 1,
            construction: Construction::Woven,
            faces: Faces::Alike,
            is_loose: false,
        };
        match self {
            Self::Plain | Self::Twill => plain,
            Self::Basket => Nature {
                is_loose: true,
                ..plain
            },
            Self::Satin => Nature {
                rotation: Rotation::Half,
                turn_over: false,
                faces: Faces::WarpAndWeft,
                is_loose: true,
                ..plain
            },
            Self::Unidirectional => Nature {
                rotation: Rotation::Half,
                turn_over: false,
                fibres: &[0.0],
                construction: Construction::Unidirectional,
                ..plain
            },
            Self::Biaxial => Nature {
                rotation: Rotation::Half,
                turn_over: false,
                fibres: &[FIRST_LAYER_DEG, -FIRST_LAYER_DEG],
                n_drawn_as_warp: 2,
                construction: Construction::Biaxial,
                faces: Faces::TwoLayers,
                is_loose: false,
            },
            Self::NonDirectional => Nature {
                rotation: Rotation::Any,
                turn_over: true,
                fibres: &[],
                n_drawn_as_warp: 0,
                construction: Construction::NonDirectional,
                faces: Faces::Alike,
                is_loose: false,
            },
        }
    }

    /// The turns it permits unless the job says otherwise.
    #[must_use]
    pub const fn turns(self) -> WeaveTurns {
        let nature = self.nature();
        WeaveTurns {
            rotation: nature.rotation,
            turn_over: nature.turn_over,
        }
    }

    /// Directions of the fibres against the warp, for a face-up cloth.
    #[must_use]
    pub const fn fibres(self) -> &'static [f64] {
        self.nature().fibres
    }

    /// Those of [`Weave::fibres`] that are drawn like a warp: the first of a woven cloth, both of a
    /// biaxial.
    #[must_use]
    pub fn drawn_as_warp(self) -> &'static [f64] {
        let nature = self.nature();
        &nature.fibres[..nature.n_drawn_as_warp]
    }

    /// What a ply of it is when it cures.
    #[must_use]
    pub const fn construction(self) -> Construction {
        self.nature().construction
    }

    /// What its two faces are to each other.
    #[must_use]
    pub const fn faces(self) -> Faces {
        self.nature().faces
    }

    /// Whether it is two layers, one upon the other.
    #[must_use]
    pub fn has_two_layers(self) -> bool {
        self.faces() == Faces::TwoLayers
    }

    /// Whether it has a direction at all.
    #[must_use]
    pub const fn has_direction(self) -> bool {
        !self.fibres().is_empty()
    }

    /// Whether all its fibres run one way: then a joint along them cuts none.
    #[must_use]
    pub const fn runs_one_way(self) -> bool {
        self.fibres().len() == 1
    }

    /// Whether edges along warp or weft ravel unless they are taped before cutting.
    #[must_use]
    pub const fn is_loose(self) -> bool {
        self.nature().is_loose
    }

    /// The rotation (degrees) after which the fibres run as before; `None` without a direction.
    #[must_use]
    pub const fn fibres_repeat_after(self) -> Option<f64> {
        match self.fibres() {
            [] => None,
            [_] => Some(180.0),
            // Two directions are square to each other.
            _ => Some(90.0),
        }
    }

    /// Whether every turn in `rotation` leaves the set of fibre directions as it was.
    #[must_use]
    pub fn keeps_fibres(self, rotation: Rotation) -> bool {
        let Some(repeat) = self.fibres_repeat_after() else {
            return true;
        };
        match rotation {
            Rotation::None | Rotation::Half => true,
            Rotation::Quarter => repeat <= 90.0,
            Rotation::Any => false,
        }
    }

    /// Where the warp of a ply at `angle` runs on the part.
    ///
    /// The angle of a ply is that of the cloth's first fibre direction: the warp of a woven or
    /// unidirectional cloth, the +45° layer of a biaxial. So a ±45 ply lies straight on a biaxial
    /// and a 0/90 ply lies on the bias.
    #[must_use]
    pub fn warp(self, angle: PlyAngle) -> WarpDirection {
        let first = self.fibres().first().copied().unwrap_or(0.0);
        let warp = angle.turned(Angle::degrees(-first)).in_range();
        WarpDirection::new(warp.from_zero())
    }

    /// Where the fibres of a ply at `angle` lie on the part, in the order of [`Self::fibres`].
    pub fn fibres_of(self, angle: PlyAngle) -> impl Iterator<Item = FibreAxis> {
        let warp = self.warp(angle);
        let from_warp = self.fibres().iter();
        from_warp.map(move |&fibre| warp.fibres(Angle::degrees(fibre)))
    }
}

impl WeaveTurns {
    /// Every permitted turn relative to lying straight, face up; straight first.
    ///
    /// `Rotation::Any` is sampled every 30°, enough for a layout of film or peel ply.
    #[must_use]
    pub fn list(self) -> Vec<Turn> {
        let step = match self.rotation {
            Rotation::None => 360,
            Rotation::Half => 180,
            Rotation::Quarter => 90,
            Rotation::Any => 30,
        };
        let faces: &[Face] = if self.turn_over {
            &[Face::Up, Face::Down]
        } else {
            &[Face::Up]
        };
        faces
            .iter()
            .flat_map(|&face| {
                (0..360).step_by(step).map(move |degrees| Turn {
                    angle: Angle::degrees(f64::from(degrees)),
                    face,
                })
            })
            .collect()
    }
}
