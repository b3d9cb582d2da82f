//! The two layers of a stitched biaxial: which lies against the mould, and how its fibres run there.

use crate::units::{Angle, FibreAxis, WarpDirection};

/// Angle of the first layer's fibres to the warp of a biaxial, degrees; the second is at its
/// negative.
pub(super) const FIRST_LAYER_DEG: f64 = 45.0;

/// How the fibres of both layers of a piece of stitched biaxial run on the part, in order: against
/// the mould, and towards the bag. Counter-clockwise from the part's 0°, seen from the bag side.
///
/// # How it follows from the turn
/// The cloth lies on the cutting table with its +45° layer below and its −45° layer above, as
/// somebody sees it who looks down on it with the warp to the right. A piece is cut with its warp
/// at the angle w to the part's 0° and is laid so that this is true on the mould as well.
///
/// - *Face up*: the piece is carried to the mould as it lies on the table. What was below lies
///   against the mould: fibres at w + 45°. What was above lies towards the bag, at w − 45°.
/// - *Face down*: the piece is turned over about its warp, so what was above now lies against the
///   mould. But turning over mirrors directions about the warp: fibres that ran at −45° to it now
///   run at +45°. Again w + 45° lies against the mould and w − 45° towards the bag.
///
/// So the order depends on w alone, not on the face. (A biaxial is its own image when it is turned
/// over about its warp; +45° above and −45° below is another cloth, as a left glove is another than
/// a right one, and no turn makes one of the other.) With a ply designed at θ, the straight turn
/// has w = θ − 45°:
///
/// | turn from straight | w | against the mould | towards the bag | layer of the cloth against the mould |
/// |---|---|---|---|---|
/// | 0°, 180°, face up | θ − 45° | θ | θ − 90° | its +45° layer |
/// | 0°, 180°, face down | θ − 45° | θ | θ − 90° | its −45° layer |
/// | 90°, 270°, face up | θ + 45° | θ + 90° | θ | its +45° layer |
/// | 90°, 270°, face down | θ + 45° | θ + 90° | θ | its −45° layer |
///
/// (Fibre directions repeat every 180°, so θ + 90° is θ − 90°.) **A quarter turn exchanges the
/// directions of the two layers, half a turn and turning over do not.** A ply at −45° is a ply at 45° a
/// quarter turn on: its layers are those of the other in the opposite order, which is why 45 and
/// −45 mirror each other about the middle of a stack, and why a quarter turn of one of them undoes
/// that.
///
/// A cloth with its −45° layer below is described by the same words with every sign of a ply angle
/// changed; its stacks are symmetric where these are.
///
/// # Source
/// Own derivation; `tests/outside/laminate.py` follows a mark on each layer from the table to the mould
/// instead.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BiaxialLayers {
    against_mould: FibreAxis,
    towards_bag: FibreAxis,
}

impl BiaxialLayers {
    /// The layers of a piece whose warp runs at `warp` on the part.
    #[must_use]
    pub fn at_warp(warp: WarpDirection) -> Self {
        let first = Angle::degrees(FIRST_LAYER_DEG);
        Self {
            against_mould: without_noise(warp.fibres(first)),
            towards_bag: without_noise(warp.fibres(-first)),
        }
    }

    /// Direction of the fibres of the layer that lies against the mould.
    #[must_use]
    pub const fn against_mould(self) -> FibreAxis {
        self.against_mould
    }

    /// Direction of the fibres of the layer that lies towards the bag.
    #[must_use]
    pub const fn towards_bag(self) -> FibreAxis {
        self.towards_bag
    }
}

/// `fibres` without the noise of sums: a hair above −90° is 90°.
fn without_noise(fibres: FibreAxis) -> FibreAxis {
    const PER_DEGREE: f64 = 1e9;
    let degrees = (fibres.from_zero().to_degrees() * PER_DEGREE).round() / PER_DEGREE;
    FibreAxis::new(Angle::degrees(degrees))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cloth::Weave;
    use crate::units::PlyAngle;

    fn order(warp: f64) -> [f64; 2] {
        let layers = BiaxialLayers::at_warp(WarpDirection::new(Angle::degrees(warp)));
        [layers.against_mould(), layers.towards_bag()].map(|axis| axis.from_zero().to_degrees())
    }

    #[test]
    fn the_straight_turn_lays_the_designed_angle_against_the_mould() {
        for (design, other) in [(45.0, -45.0), (-45.0, 45.0), (0.0, 90.0), (90.0, 0.0)] {
            let warp = Weave::Biaxial.warp(PlyAngle::degrees(design));
            let warp = warp.where_zero_is(Angle::ZERO).to_degrees();
            assert_eq!(order(warp), [design, other]);
            assert_eq!(
                order(warp + 180.0),
                [design, other],
                "half a turn changes nothing"
            );
            assert_eq!(
                order(warp + 90.0),
                [other, design],
                "a quarter turn exchanges them"
            );
            assert_eq!(order(warp - 90.0), [other, design]);
        }
    }

    #[test]
    fn what_is_a_hair_off_is_not_the_opposite_direction() {
        assert_eq!(order(-135.0 + 1e-13), [90.0, 0.0]);
    }
}
