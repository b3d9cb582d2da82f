//! Whether a stack of plies is symmetric and balanced, judged by its fibre directions.
//!
//! A cloth is taken apart into layers: a woven or unidirectional ply is one layer, a stitched
//! biaxial two, one upon the other. Directions repeat every 180°. A woven ply counts as its warp and its weft in
//! the middle of its thickness; of a satin only symmetry sees the two faces.

use std::collections::BTreeMap;

use crate::units::{Angle, ArealWeight};

/// How the fibres of a ply lie.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Construction {
    /// Warp and weft woven into one layer, half the fibre each way unless the ply says otherwise.
    Woven,
    /// All fibres along the warp.
    Unidirectional,
    /// Two layers of equal weight stitched together, the first towards the mould.
    ///
    /// The ply's angle is that of the first layer; the second is turned from it by −90°. So a
    /// biaxial at 45° lies with +45° towards the mould and −45° towards the bag, and one at −45°
    /// the other way round: the two are mirror images of each other.
    Biaxial,
    /// No direction.
    NonDirectional,
}

/// Which face of a ply looks away from the mould.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Facing {
    /// Both faces are alike.
    Alike,
    /// That which is up as the cloth comes off the roll.
    Up,
    /// The other.
    Down,
}

impl Facing {
    /// That of its mirror image.
    const fn mirrored(self) -> Self {
        match self {
            Self::Alike => Self::Alike,
            Self::Up => Self::Down,
            Self::Down => Self::Up,
        }
    }
}

/// One ply of a stack.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct StackPly {
    /// Its number, for naming it; `None` for a core.
    pub n: Option<u32>,
    /// Which cloth or core it is of: equal numbers, equal materials.
    pub cloth: usize,
    /// How the cloth's fibres lie.
    pub construction: Construction,
    /// Which face is up, if its two differ, as those of a satin do: one shows the warp, the other the weft.
    pub facing: Facing,
    /// Of a woven ply, the share of its fibre that runs along `angle`; 0.5 where warp and weft are alike.
    pub warp_share: f64,
    /// Designed angle on the part.
    pub angle: Angle,
    /// Mass by area of the dry cloth.
    pub areal_weight: ArealWeight,
}

impl StackPly {
    /// The directions of its fibres on the part, layer by layer from the mould up.
    #[must_use]
    pub fn directions(&self) -> Vec<Angle> {
        layers_of(self)
            .flat_map(|(_, layer)| layer.directions)
            .map(|millionths| Angle::degrees(millionths as f64 / PER_DEGREE))
            .collect()
    }

    /// The share of its fibre in each of [`Self::directions`].
    #[must_use]
    pub fn shares(&self) -> Vec<f64> {
        let directions: Vec<i64> = layers_of(self).flat_map(|(_, l)| l.directions).collect();
        let along = direction(self.angle);
        let each = 1.0 / directions.len().max(1) as f64;
        let share = |towards: i64| match self.construction {
            Construction::Woven if towards == along => self.warp_share,
            Construction::Woven => 1.0 - self.warp_share,
            _ => each,
        };
        directions.into_iter().map(share).collect()
    }
}

/// Two plies that should mirror each other about the middle of the stack and do not.
///
/// Both are the same ply where one ply alone cannot be its own mirror image (a biaxial in the
/// middle).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Asymmetry {
    /// The ply nearer to the mould; `None` if it is a core.
    pub ply: Option<u32>,
    /// The ply that should mirror it; `None` if it is a core.
    pub mate: Option<u32>,
}

/// Fibre at an angle without as much of the same cloth at the opposite angle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Imbalance {
    /// The last ply that carries fibre in the direction of which there is too much.
    pub ply: u32,
    /// That direction.
    pub direction: Angle,
}

/// A layer with its fibre directions in millionths of a degree, so that they compare exactly.
struct Layer {
    cloth: usize,
    facing: Facing,
    directions: Vec<i64>,
}

impl Layer {
    fn mirrors(&self, other: &Self) -> bool {
        self.facing == other.facing.mirrored()
            && (self.cloth, &self.directions) == (other.cloth, &other.directions)
    }
}

/// Checks that the upper half of `plies` (first against the mould) mirrors the lower half, so that
/// the part does not warp as it cures.
///
/// # Errors
/// The pair farthest from the middle that does not match: it bends the part most.
///
/// # Source
/// US Army TM 1-1500-204-23-11, Advanced Composite Material General Maintenance and Practices: the
/// upper half of a stack mirrors the lower half, else the part warps or bows.
pub fn symmetry(plies: &[StackPly]) -> Result<(), Asymmetry> {
    let layers: Vec<(Option<u32>, Layer)> = plies.iter().flat_map(layers_of).collect();
    let mirrored = layers.iter().rev();
    match layers
        .iter()
        .zip(mirrored)
        .find(|((_, layer), (_, mate))| !layer.mirrors(mate))
    {
        Some((&(ply, _), &(mate, _))) => Err(Asymmetry { ply, mate }),
        None => Ok(()),
    }
}

/// Checks that for all fibre at an angle other than 0° and 90° there is as much of the same cloth
/// at the opposite angle, so that the part does not shear when it is pulled.
///
/// # Errors
/// The smallest angle at which fibre is not in balance.
///
/// # Source
/// A. T. Nettles, *Basic Mechanics of Laminated Composite Plates*, NASA RP-1351, 1994: a balanced
/// stack has A16 = A26 = 0.
pub fn balance(plies: &[StackPly]) -> Result<(), Imbalance> {
    // Surplus of +θ over −θ in g/m², and the last ply on either side, by θ and cloth.
    let mut surplus: BTreeMap<(i64, usize), (f64, [u32; 2])> = BTreeMap::new();
    for ply in plies {
        let directions: Vec<i64> = layers_of(ply).flat_map(|(_, l)| l.directions).collect();
        for (direction, share) in directions.into_iter().zip(ply.shares()) {
            let share = share * ply.areal_weight.to_g_per_m2();
            let entry = surplus.entry((direction.abs(), ply.cloth)).or_default();
            entry.0 += if direction > 0 { share } else { -share };
            // What has a direction is a ply.
            entry.1[usize::from(direction > 0)] = ply.n.unwrap_or_default();
        }
    }
    let weight: f64 = plies.iter().map(|p| p.areal_weight.to_g_per_m2()).sum();
    for ((size, _), (more, last)) in surplus {
        let has_opposite = size != 0 && size != RIGHT_ANGLE;
        // Sums of many plies differ from zero by rounding.
        if has_opposite && more.abs() > 1e-9 * weight {
            let degrees = size as f64 / PER_DEGREE * more.signum();
            return Err(Imbalance {
                ply: last[usize::from(more > 0.0)],
                direction: Angle::degrees(degrees),
            });
        }
    }
    Ok(())
}

const PER_DEGREE: f64 = 1e6;
const RIGHT_ANGLE: i64 = 90_000_000;

/// The layers of a ply from the mould up, with the ply's number.
fn layers_of(ply: &StackPly) -> impl Iterator<Item = (Option<u32>, Layer)> + use<> {
    let along = direction(ply.angle);
    let across = direction(ply.angle - Angle::degrees(90.0));
    let layers: Vec<Vec<i64>> = match ply.construction {
        // Warp and weft that are not alike do not stand for each other.
        Construction::Woven if ply.warp_share != 0.5 => vec![vec![along, across]],
        Construction::Woven => vec![vec![along.min(across), along.max(across)]],
        Construction::Unidirectional => vec![vec![along]],
        Construction::Biaxial => vec![vec![along], vec![across]],
        Construction::NonDirectional => vec![Vec::new()],
    };
    let (n, cloth, facing) = (ply.n, ply.cloth, ply.facing);
    layers.into_iter().map(move |directions| {
        let layer = Layer {
            cloth,
            facing,
            directions,
        };
        (n, layer)
    })
}

/// A fibre direction in millionths of a degree, above −90° and up to 90°.
fn direction(angle: Angle) -> i64 {
    let millionths = (angle.as_fibre().to_degrees() * PER_DEGREE).round() as i64;
    // What lies a hair above −90° rounds to −90°, which is 90°.
    if millionths == -RIGHT_ANGLE {
        RIGHT_ANGLE
    } else {
        millionths
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::Construction::{Biaxial, NonDirectional, Unidirectional, Woven};
    use super::*;

    /// Plies of one cloth of 200 g/m², numbered from 1.
    fn stack(construction: Construction, angles: &[f64]) -> Vec<StackPly> {
        let ply = |(index, &angle): (usize, &f64)| StackPly {
            n: Some(index as u32 + 1),
            cloth: 0,
            construction,
            facing: Facing::Alike,
            warp_share: 0.5,
            angle: Angle::degrees(angle),
            areal_weight: ArealWeight::g_per_m2(200.0),
        };
        angles.iter().enumerate().map(ply).collect()
    }

    fn asymmetry(plies: &[StackPly]) -> Option<(u32, u32)> {
        let named = |pair: Asymmetry| Some((pair.ply?, pair.mate?));
        symmetry(plies).err().and_then(named)
    }

    fn imbalance(plies: &[StackPly]) -> Option<(u32, f64)> {
        let found = balance(plies).err();
        found.map(|found| (found.ply, found.direction.to_degrees()))
    }

    #[test]
    fn a_stack_that_mirrors_itself_is_symmetric() {
        for angles in [
            &[][..],
            &[30.0],
            &[0.0, 90.0, 0.0],
            &[0.0, 45.0, -45.0, 90.0, 90.0, -45.0, 45.0, 0.0],
        ] {
            assert_eq!(
                asymmetry(&stack(Unidirectional, angles)),
                None,
                "{angles:?}"
            );
        }
    }

    #[test]
    fn the_outermost_pair_that_breaks_symmetry_is_named() {
        assert_eq!(
            asymmetry(&stack(Unidirectional, &[0.0, 90.0])),
            Some((1, 2))
        );
        let plies = stack(Unidirectional, &[0.0, 45.0, 90.0, -45.0, 0.0]);
        assert_eq!(asymmetry(&plies), Some((2, 4)));
        let mut other_cloth = stack(Unidirectional, &[0.0, 90.0, 0.0]);
        other_cloth[2].cloth = 1;
        assert_eq!(asymmetry(&other_cloth), Some((1, 3)));
    }

    #[test]
    fn warp_and_weft_of_a_woven_ply_are_interchangeable() {
        assert_eq!(asymmetry(&stack(Woven, &[0.0, 45.0, -45.0, 90.0])), None);
        assert_eq!(asymmetry(&stack(Woven, &[0.0, 45.0])), Some((1, 2)));
        assert_eq!(imbalance(&stack(Woven, &[45.0, 0.0])), None);
        assert_eq!(imbalance(&stack(Woven, &[30.0])), Some((1, 30.0)));
        assert_eq!(imbalance(&stack(Woven, &[30.0, -30.0])), None);
    }

    #[test]
    fn biaxials_mirror_each_other_at_opposite_angles() {
        assert_eq!(asymmetry(&stack(Biaxial, &[45.0])), Some((1, 1)));
        assert_eq!(asymmetry(&stack(Biaxial, &[45.0, 45.0])), Some((1, 2)));
        assert_eq!(asymmetry(&stack(Biaxial, &[45.0, -45.0])), None);
        assert_eq!(imbalance(&stack(Biaxial, &[45.0])), None);
    }

    #[test]
    fn fibre_without_its_opposite_is_named() {
        let quasi = stack(Unidirectional, &[0.0, 45.0, -45.0, 90.0]);
        assert_eq!(imbalance(&quasi), None);
        let plies = stack(Unidirectional, &[0.0, 45.0, -45.0, 45.0]);
        assert_eq!(imbalance(&plies), Some((4, 45.0)));
        assert_eq!(
            imbalance(&stack(Unidirectional, &[-60.0, 0.0])),
            Some((1, -60.0))
        );
        let mut lighter = stack(Unidirectional, &[45.0, -45.0]);
        lighter[1].areal_weight = ArealWeight::g_per_m2(150.0);
        assert_eq!(imbalance(&lighter), Some((1, 45.0)));
        let mut other_cloth = stack(Unidirectional, &[45.0, -45.0]);
        other_cloth[1].cloth = 1;
        assert_eq!(imbalance(&other_cloth), Some((1, 45.0)));
    }

    /// Harness satins show mostly warp on one face (MIL-HDBK-17, from memory): laid all one way, the
    /// upper half of a stack repeats the lower half's faces instead of mirroring them.
    #[test]
    fn satins_mirror_with_opposite_faces_only() {
        let mut plies = stack(Woven, &[0.0, 45.0, 45.0, 0.0]);
        assert_eq!(asymmetry(&plies), None);
        for ply in &mut plies {
            ply.facing = Facing::Up;
        }
        assert_eq!(asymmetry(&plies), Some((1, 4)));
        assert_eq!(asymmetry(&plies[..1]), Some((1, 1)));
        // The lower half face down: every ply finds its mirror image; one that is turned back is named.
        plies[..2]
            .iter_mut()
            .for_each(|ply| ply.facing = Facing::Down);
        assert_eq!(asymmetry(&plies), None);
        assert_eq!(asymmetry(&plies[..3]), Some((1, 3)));
        plies[1].facing = Facing::Up;
        assert_eq!(asymmetry(&plies), Some((2, 3)));
    }

    /// A woven cloth with more of its fibre in the warp is a different ply at 90° than at 0°, and at 45°
    /// it wants one at −45°.
    #[test]
    fn a_cloth_with_more_warp_than_weft_is_told_from_its_quarter_turn() {
        let uneven = |angles: &[f64]| {
            let mut plies = stack(Woven, angles);
            plies.iter_mut().for_each(|ply| ply.warp_share = 0.7);
            plies
        };
        assert_eq!(asymmetry(&uneven(&[0.0, 90.0])), Some((1, 2)));
        assert_eq!(asymmetry(&uneven(&[0.0, 90.0, 90.0, 0.0])), None);
        assert_eq!(imbalance(&uneven(&[45.0])), Some((1, 45.0)));
        assert_eq!(imbalance(&uneven(&[45.0, -45.0])), None);
        // 140 against 60 g/m² of a ply of 200.
        assert_eq!(uneven(&[30.0])[0].shares(), [0.7, 1.0 - 0.7]);
    }

    #[test]
    fn mat_has_no_direction() {
        assert_eq!(imbalance(&stack(NonDirectional, &[30.0])), None);
        assert_eq!(asymmetry(&stack(NonDirectional, &[30.0, 0.0])), None);
    }

    #[test]
    fn directions_a_hair_apart_are_the_same() {
        let plies = stack(Unidirectional, &[90.0, -90.0 + 1e-9]);
        assert_eq!((asymmetry(&plies), imbalance(&plies)), (None, None));
    }

    proptest! {
        #[test]
        fn mirroring_and_pairing_always_help(
            angles in prop::collection::vec(-89.0..90.0f64, 1..8),
            construction in prop::sample::select(vec![Woven, Unidirectional]),
        ) {
            let mirrored: Vec<f64> = angles.iter().chain(angles.iter().rev()).copied().collect();
            prop_assert_eq!(symmetry(&stack(construction, &mirrored)), Ok(()));
            let paired: Vec<f64> = angles.iter().flat_map(|a| [*a, -a]).collect();
            prop_assert_eq!(balance(&stack(construction, &paired)), Ok(()));
        }
    }
}
