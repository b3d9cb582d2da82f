//! Which turns a ply's cloth permits, and whether it lies on the bias.

use crate::cloth::{Cloth, Rotation, Weave, WeaveTurns};
use crate::geometry::{Ring, Turn, distance};
use crate::units::Angle;

/// Returns the turns from the pattern frame to the roll frame (warp along x) for a ply designed at
/// `angle` on a part whose 0° direction is `zero`; the straight one first.
///
/// The ply is turned by −(zero + warp angle), so that its warp runs along the roll; then the
/// cloth's own symmetry adds turns. An appearance ply takes only 0° and 180° of them, face up, so
/// that the weave line runs the same way on every part.
#[must_use]
pub fn permitted_turns(cloth: &Cloth, zero: Angle, angle: Angle, appearance: bool) -> Vec<Turn> {
    let straight = -(zero + cloth.weave.warp_angle(angle));
    let symmetry = if appearance {
        WeaveTurns {
            rotation: Rotation::Half,
            turn_over: false,
        }
    } else {
        cloth.turns
    };
    symmetry
        .list()
        .into_iter()
        .map(|turn| Turn {
            angle: (straight + turn.angle).as_rotation(),
            face: turn.face,
        })
        .collect()
}

/// A piece this many times longer than wide has a long direction worth the name. Below, the
/// designed angle alone decides.
const LONG: f64 = 1.1;

/// A warp nearer than this (degrees) to along or across is not called bias. Common practice, no
/// source: the edges of such a piece stay firm.
const BIAS_FROM_DEG: f64 = 10.0;

/// Whether the warp runs neither along nor across the long direction of `cut`.
#[must_use]
pub fn on_bias(weave: Weave, cut: &Ring, zero: Angle, angle: Angle) -> bool {
    if weave == Weave::NonDirectional {
        return false;
    }
    let warp = zero + weave.warp_angle(angle);
    let long = match distance::long_direction(cut) {
        Some(long) if long.length > long.width * LONG => long.direction,
        _ => zero,
    };
    let off = (warp - long).to_degrees().rem_euclid(90.0);
    off.min(90.0 - off) > BIAS_FROM_DEG
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Face, Point};
    use crate::units::{ArealWeight, Length};

    pub(crate) fn cloth(weave: Weave) -> Cloth {
        Cloth {
            name: weave.word().to_owned(),
            weave,
            turns: weave.turns(),
            areal_weight: ArealWeight::g_per_m2(200.0),
            roll_width: Length::mm(1270.0),
            selvedge: Length::mm(10.0),
            end_margin: Length::mm(10.0),
            gap: Length::mm(3.0),
            price: None,
            sold_by: Length::ZERO,
            least_sold: Length::ZERO,
            spare: 0.0,
        }
    }

    /// Directions of the fibres on the part, in degrees from its 0° direction, for a piece that
    /// was cut under `turn`: each fibre of the roll is carried back to the pattern frame.
    fn fibres_on_part(weave: Weave, turn: Turn, zero: f64) -> Vec<i64> {
        let mut fibres: Vec<i64> = weave
            .fibres()
            .iter()
            .map(|&fibre| {
                // Face down, the cloth is mirrored about the warp as it lies on the table, and so
                // is the piece: seen from the piece's face both mirrors cancel. What is left is
                // the rotation.
                let on_pattern = Angle::degrees(fibre) - turn.angle;
                let on_part = (on_pattern - Angle::degrees(zero)).as_fibre();
                (on_part.to_degrees() * 1000.0).round() as i64
            })
            .collect();
        fibres.sort_unstable();
        fibres
    }

    #[test]
    fn every_permitted_turn_shows_the_designed_fibres() {
        for weave in Weave::ALL {
            for zero in [0.0, 90.0, -30.0] {
                for angle in [0.0, 45.0, -45.0, 90.0, 20.0] {
                    let turns = permitted_turns(
                        &cloth(weave),
                        Angle::degrees(zero),
                        Angle::degrees(angle),
                        false,
                    );
                    let mut designed: Vec<i64> = weave
                        .fibres()
                        .iter()
                        .map(|f| {
                            let first = weave.fibres()[0];
                            let on_part = Angle::degrees(angle + f - first).as_fibre();
                            (on_part.to_degrees() * 1000.0).round() as i64
                        })
                        .collect();
                    designed.sort_unstable();
                    for turn in turns {
                        assert_eq!(
                            fibres_on_part(weave, turn, zero),
                            designed,
                            "{weave:?} {turn:?}"
                        );
                    }
                }
            }
        }
    }

    #[test]
    fn an_appearance_ply_is_only_turned_end_for_end() {
        let turns = permitted_turns(
            &cloth(Weave::Twill),
            Angle::ZERO,
            Angle::degrees(45.0),
            true,
        );
        let angles: Vec<f64> = turns.iter().map(|t| t.angle.to_degrees()).collect();
        assert_eq!(angles, [315.0, 135.0]);
        assert!(turns.iter().all(|t| t.face == Face::Up));
    }

    #[test]
    fn bias_is_judged_against_the_long_direction() {
        let strip = Ring::new([
            Point::new(0.0, 0.0),
            Point::new(400.0, 0.0),
            Point::new(400.0, 50.0),
            Point::new(0.0, 50.0),
        ])
        .unwrap();
        let judge = |weave, angle| on_bias(weave, &strip, Angle::ZERO, Angle::degrees(angle));
        assert!(!judge(Weave::Plain, 0.0) && !judge(Weave::Plain, 90.0));
        assert!(judge(Weave::Plain, 45.0) && judge(Weave::Unidirectional, -45.0));
        // A ±45 ply lies straight on a stitched biaxial, a 0/90 ply on the bias.
        assert!(!judge(Weave::Biaxial, 45.0) && !judge(Weave::Biaxial, -45.0));
        assert!(judge(Weave::Biaxial, 0.0));
        assert!(!judge(Weave::NonDirectional, 45.0));
    }
}
