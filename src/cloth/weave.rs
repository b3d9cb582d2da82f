//! Weaves and the turns under which a piece of them is still the same ply.

use crate::geometry::{Face, Turn};
use crate::units::Angle;

/// How a cloth is made.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weave {
    /// Plain weave; both faces alike.
    Plain,
    /// Twill, for example 2×2: warp and weft alike, with a diagonal that runs one way.
    Twill,
    /// Basket weave; both faces alike.
    Basket,
    /// Satin (harness) weave: one face shows warp, the other weft.
    Satin,
    /// All fibres along the roll.
    Unidirectional,
    /// Two stitched layers at +45° and −45° to the roll.
    Biaxial,
    /// No direction: mat, veil, peel ply, film, breather.
    NonDirectional,
}

/// The turns a cloth permits beside lying straight, face up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct WeaveTurns {
    /// Which rotations keep the fibres where the designer wants them.
    pub rotation: Rotation,
    /// Whether a piece may be cut with the other face up.
    pub turn_over: bool,
}

/// Rotations in the plane that a cloth permits.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rotation {
    /// 0° only: the cloth has a nap or a print.
    None,
    /// 0° and 180°.
    Half,
    /// 0°, 90°, 180° and 270°: warp and weft are alike.
    Quarter,
    /// Any angle.
    Any,
}

impl Weave {
    /// All weaves, in the order they are listed to users.
    pub const ALL: [Self; 7] = [
        Self::Plain,
        Self::Twill,
        Self::Basket,
        Self::Satin,
        Self::Unidirectional,
        Self::Biaxial,
        Self::NonDirectional,
    ];

    /// The word for it in a job file.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Plain => "plain",
            Self::Twill => "twill",
            Self::Basket => "basket",
            Self::Satin => "satin",
            Self::Unidirectional => "unidirectional",
            Self::Biaxial => "biaxial",
            Self::NonDirectional => "non-directional",
        }
    }

    /// The weave called `word` in a job file, or `None`.
    #[must_use]
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|w| w.word() == word)
    }

    /// The turns it permits unless the job says otherwise.
    ///
    /// Turning over is off by default for a unidirectional and a biaxial, whose stitching or
    /// backing usually shows on one face only, and for satin, whose faces differ by nature.
    #[must_use]
    pub const fn turns(self) -> WeaveTurns {
        let (rotation, turn_over) = match self {
            Self::Plain | Self::Twill | Self::Basket => (Rotation::Quarter, true),
            Self::Satin | Self::Unidirectional | Self::Biaxial => (Rotation::Half, false),
            Self::NonDirectional => (Rotation::Any, true),
        };
        WeaveTurns {
            rotation,
            turn_over,
        }
    }

    /// Directions of the fibres against the warp, for a face-up cloth.
    #[must_use]
    pub const fn fibres(self) -> &'static [f64] {
        match self {
            Self::Unidirectional => &[0.0],
            Self::Biaxial => &[45.0, -45.0],
            Self::Plain | Self::Twill | Self::Basket | Self::Satin => &[0.0, 90.0],
            Self::NonDirectional => &[],
        }
    }

    /// The rotation (degrees) after which the fibres run as before; `None` without a direction.
    #[must_use]
    pub const fn fibres_repeat_after(self) -> Option<f64> {
        match self {
            Self::Unidirectional => Some(180.0),
            Self::Biaxial | Self::Plain | Self::Twill | Self::Basket | Self::Satin => Some(90.0),
            Self::NonDirectional => None,
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

    /// Angle of the warp on the part for a ply designed at `angle`.
    ///
    /// The designed angle is that of the cloth's first fibre direction: the warp of a woven or
    /// unidirectional cloth, the +45° layer of a biaxial. So a ±45 ply lies straight on a biaxial
    /// and a 0/90 ply lies on the bias.
    #[must_use]
    pub fn warp_angle(self, angle: Angle) -> Angle {
        match self {
            Self::Biaxial => (angle - Angle::degrees(45.0)).as_fibre(),
            _ => angle.as_fibre(),
        }
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
