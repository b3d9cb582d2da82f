//! Which turns a ply's cloth permits, and whether it lies on the bias.

use crate::cloth::{BiaxialLayers, Cloth, Rotation, Weave, WeaveTurns};
use crate::geometry::{Face, Ring, Turn, distance};
use crate::job::{Part, Ply};
use crate::units::{Angle, PlyAngle, WarpDirection};

/// Returns the turns from the pattern frame to the roll frame (warp along x) for a ply designed at
/// `angle` on a part whose 0° direction is `zero`; the straight one first.
///
/// The ply is turned by −(zero + warp angle), so that its warp runs along the roll; then the
/// cloth's own symmetry adds turns. An appearance ply takes only 0° and 180° of them (only 0° where
/// the cloth permits no other), face up, so
/// that the weave line runs the same way on every part.
#[must_use]
pub fn permitted_turns(cloth: &Cloth, zero: Angle, angle: PlyAngle, appearance: bool) -> Vec<Turn> {
    let straight = -cloth.weave.warp(angle).where_zero_is(zero);
    let symmetry = if appearance {
        WeaveTurns {
            rotation: match cloth.turns.rotation {
                Rotation::None => Rotation::None,
                _ => Rotation::Half,
            },
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

/// The [permitted turns](permitted_turns) of `ply` of `part`, all with the face up that it says; on the other hand of a
/// pair those under which its line runs as the job wants it.
pub(super) fn of_ply(cloth: &Cloth, zero: Angle, part: &Part, ply: &Ply) -> Vec<Turn> {
    if let Some(wanted) = part.line_from_warp(ply, cloth) {
        let straight = -cloth.weave.warp(part.angle_of(ply)).where_zero_is(zero);
        let turns = cloth.turns_with_line(wanted, ply.face).into_iter();
        return turns
            .map(|turn| Turn {
                angle: (straight + turn.angle).as_rotation(),
                face: turn.face,
            })
            .collect();
    }
    let mut turns = permitted_turns(cloth, zero, part.angle_of(ply), ply.appearance);
    if let Some(face) = ply.face {
        // Those that turn it over are the same turns once more.
        turns.retain(|turn| turn.face == Face::Up);
        turns.iter_mut().for_each(|turn| turn.face = face);
    }
    turns
}

/// Leaves a piece of a biaxial those of its `turns` that keep the order of the layers.
///
/// For the pieces of a divided ply: a ply that has one layer below here and the other there has no
/// order at all.
pub(super) fn keep_layers(weave: Weave, turns: &mut Vec<Turn>) {
    let order = |turn: &Turn| BiaxialLayers::at_warp(WarpDirection::new(-turn.angle));
    if weave.has_two_layers()
        && let Some(designed) = turns.first().map(order)
    {
        turns.retain(|turn| order(turn) == designed);
    }
}

/// A warp nearer than this (degrees) to along or across is not called bias. Common practice, no
/// source: the edges of such a piece stay firm.
const BIAS_FROM_DEG: f64 = 10.0;

/// Whether the warp runs neither along nor across the long direction of `cut`.
#[must_use]
pub fn on_bias(weave: Weave, cut: &Ring, zero: Angle, angle: PlyAngle) -> bool {
    lies_on_bias(weave, cut, zero, weave.warp(angle).where_zero_is(zero))
}

/// [`on_bias`] for a warp along `warp` in the frame of `cut`.
pub(super) fn lies_on_bias(weave: Weave, cut: &Ring, zero: Angle, warp: Angle) -> bool {
    if !weave.has_direction() {
        return false;
    }
    let long = distance::long_direction(cut).map_or(zero, |long| long.way(zero));
    let off = (warp - long).to_degrees().rem_euclid(90.0);
    off.min(90.0 - off) > BIAS_FROM_DEG
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Point, trig};
    use crate::units::{ArealWeight, Length};

    pub(crate) fn cloth(weave: Weave) -> Cloth {
        Cloth {
            name: weave.word().to_owned(),
            weave,
            turns: weave.turns(),
            warp_share: 0.5,
            edge_tape: None,
            warp_face: None,
            look: crate::cloth::Look::default(),
            lock: None,
            lock_across: None,
            areal_weight: ArealWeight::g_per_m2(200.0),
            is_carbon: None,
            roll_width: Length::mm(1270.0),
            selvedge: Length::mm(10.0),
            end_margin: Length::mm(10.0),
            gap: Length::mm(3.0),
            price: None,
            price_breaks: Vec::new(),
            sold_by: Length::ZERO,
            least_sold: Length::ZERO,
            spare: 0.0,
            supply: crate::cloth::Supply::default(),
        }
    }

    /// The table of permitted turns, cell by cell, as people in the trade have it: weave, rotations
    /// in the plane, whether a piece may be turned over.
    const TABLE: [(Weave, &[i32], bool); 6] = [
        (Weave::Plain, &[0, 90, 180, 270], true),
        (Weave::Twill, &[0, 90, 180, 270], true),
        (Weave::Basket, &[0, 90, 180, 270], true),
        (Weave::Satin, &[0, 180], false),
        (Weave::Unidirectional, &[0, 180], false),
        (Weave::Biaxial, &[0, 180], false),
    ];

    /// A direction of fibres on the roll (degrees from the warp), and what is seen of them with
    /// the face of the cloth up and with its back up. Yarns that cannot be told apart read alike.
    type Yarns = (f64, &'static str, &'static str);

    fn yarns(weave: Weave) -> &'static [Yarns] {
        match weave {
            Weave::Plain | Weave::Twill | Weave::Basket => {
                &[(0.0, "yarn", "yarn"), (90.0, "yarn", "yarn")]
            }
            Weave::Satin => &[
                (0.0, "warp that floats", "warp beneath"),
                (90.0, "weft beneath", "weft that floats"),
            ],
            Weave::Unidirectional => &[(0.0, "bare tows", "backing")],
            Weave::Biaxial => &[
                (45.0, "first layer, stitches", "first layer, loops"),
                (-45.0, "second layer, stitches", "second layer, loops"),
            ],
            Weave::NonDirectional => &[],
        }
    }

    /// The diagonal of a 2×2 twill.
    const DIAGONAL: f64 = 45.0;

    /// Direction on the part, in thousandths of a degree from its 0°, of a line at `on_roll` to
    /// the warp on a piece that was cut under `turn`.
    ///
    /// The cloth lies on the table face up. The line is carried back to the pattern by the inverse
    /// of the turn itself (a rotation, and a mirror for a piece that is laid face down), not by a
    /// formula for angles.
    fn on_part(on_roll: f64, turn: Turn, zero: f64) -> i64 {
        let (sin, cos) = trig::sin_cos(Angle::degrees(on_roll));
        let x = turn.apply(Point::new(1.0, 0.0));
        let y = turn.apply(Point::new(0.0, 1.0));
        // The inverse of an orthogonal matrix is its transpose.
        let back = trig::direction(x.x * cos + x.y * sin, y.x * cos + y.y * sin);
        thousandths(back.to_degrees() - zero)
    }

    /// A fibre direction repeats every 180°.
    fn thousandths(degrees: f64) -> i64 {
        ((degrees * 1000.0).round() as i64).rem_euclid(180_000)
    }

    /// What a person sees of the fibres on the part: directions, and which yarns run there.
    fn seen(weave: Weave, turn: Turn, zero: f64) -> Vec<(i64, &'static str)> {
        let mut seen: Vec<_> = yarns(weave)
            .iter()
            .map(|&(fibre, face, back)| {
                let yarn = match turn.face {
                    Face::Up => face,
                    Face::Down => back,
                };
                (on_part(fibre, turn, zero), yarn)
            })
            .collect();
        seen.sort_unstable();
        seen
    }

    /// What the designer wants to see: the first fibres of the cloth at the ply's angle.
    fn designed(weave: Weave, angle: f64) -> Vec<(i64, &'static str)> {
        let first = yarns(weave)[0].0;
        let mut seen: Vec<_> = yarns(weave)
            .iter()
            .map(|&(fibre, face, _)| (thousandths(angle + fibre - first), face))
            .collect();
        seen.sort_unstable();
        seen
    }

    fn directions(seen: &[(i64, &'static str)]) -> Vec<i64> {
        seen.iter().map(|&(direction, _)| direction).collect()
    }

    fn turns_of(cloth: &Cloth, zero: f64, angle: f64, appearance: bool) -> Vec<Turn> {
        permitted_turns(
            cloth,
            Angle::degrees(zero),
            PlyAngle::degrees(angle),
            appearance,
        )
    }

    /// Every turn by 15°, either face up, beside `straight`.
    fn all_turns(straight: Turn) -> impl Iterator<Item = (i32, Turn)> {
        [Face::Up, Face::Down].into_iter().flat_map(move |face| {
            (0..360).step_by(15).map(move |off| {
                let angle = (straight.angle + Angle::degrees(f64::from(off))).as_rotation();
                (off, Turn { angle, face })
            })
        })
    }

    fn is_among(turn: Turn, turns: &[Turn]) -> bool {
        turns.iter().any(|t| {
            let off = (t.angle - turn.angle).as_rotation().to_degrees();
            t.face == turn.face && off.min(360.0 - off) < 1e-9
        })
    }

    #[test]
    fn permitted_turns_show_the_designed_fibres_and_forbidden_ones_do_not() {
        for (weave, rotations, over) in TABLE {
            for zero in [0.0, 90.0, -30.0, 17.3] {
                for angle in [0.0, 45.0, -45.0, 90.0, 20.0] {
                    let permitted = turns_of(&cloth(weave), zero, angle, false);
                    let designed = designed(weave, angle);
                    for (off, turn) in all_turns(permitted[0]) {
                        let cell = format!("{weave:?} at {angle}, {off} from straight, {turn:?}");
                        let may = rotations.contains(&off) && (over || turn.face == Face::Up);
                        assert_eq!(is_among(turn, &permitted), may, "{cell}");
                        let seen = seen(weave, turn, zero);
                        assert_eq!(seen == designed, may, "{cell}: {seen:?}");
                        // What is forbidden for its yarns alone keeps the directions.
                        let turned = match weave {
                            Weave::Unidirectional => off % 180 != 0,
                            _ => off % 90 != 0,
                        };
                        let differ = directions(&seen) != directions(&designed);
                        assert_eq!(differ, turned, "{cell}: {seen:?}");
                    }
                    let n = rotations.len() * if over { 2 } else { 1 };
                    assert_eq!(permitted.len(), n, "{weave:?}");
                }
            }
        }
        let mat = turns_of(&cloth(Weave::NonDirectional), 0.0, 0.0, false);
        assert!(all_turns(mat[0]).all(|(off, turn)| off % 30 != 0 || is_among(turn, &mat)));
    }

    #[test]
    fn overrides_show_the_designed_fibres_where_the_weave_says_that_they_keep_them() {
        for weave in Weave::ALL {
            let all = [
                Rotation::None,
                Rotation::Half,
                Rotation::Quarter,
                Rotation::Any,
            ];
            for rotation in all {
                let mut cloth = cloth(weave);
                cloth.turns = WeaveTurns {
                    rotation,
                    turn_over: true,
                };
                let shown = |turn| directions(&seen(weave, turn, 10.0));
                let turns = turns_of(&cloth, 10.0, 20.0, false);
                let kept = turns.iter().all(|&turn| shown(turn) == shown(turns[0]));
                assert_eq!(kept, weave.keeps_fibres(rotation), "{weave:?} {rotation:?}");
                // An appearance ply asks the weave, not the override.
                let visible = turns_of(&cloth, 10.0, 20.0, true);
                let n = if rotation == Rotation::None { 1 } else { 2 };
                assert_eq!(visible.len(), n);
                assert!(visible.iter().all(|&turn| shown(turn) == shown(turns[0])));
            }
        }
    }

    #[test]
    fn an_appearance_ply_keeps_the_diagonal_of_its_twill() {
        let diagonals = |appearance| -> Vec<i64> {
            let turns = turns_of(&cloth(Weave::Twill), 0.0, 0.0, appearance);
            let lines = turns.iter().map(|&turn| on_part(DIAGONAL, turn, 0.0));
            lines.collect()
        };
        assert_eq!(diagonals(true), [45_000; 2]);
        // A quarter turn and turning over each change the way it runs; both together restore it.
        let (same, other) = (45_000, 135_000);
        let face_up = [same, other, same, other];
        let face_down = [other, same, other, same];
        assert_eq!(diagonals(false), [face_up, face_down].concat());

        let turns = turns_of(&cloth(Weave::Twill), 0.0, 45.0, true);
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
        let at = |angle| PlyAngle::degrees(angle);
        let judge = |weave, angle| on_bias(weave, &strip, Angle::ZERO, at(angle));
        assert!(!judge(Weave::Plain, 0.0) && !judge(Weave::Plain, 90.0));
        assert!(judge(Weave::Plain, 45.0) && judge(Weave::Unidirectional, -45.0));
        // A ±45 ply lies straight on a stitched biaxial, a 0/90 ply on the bias.
        assert!(!judge(Weave::Biaxial, 45.0) && !judge(Weave::Biaxial, -45.0));
        assert!(judge(Weave::Biaxial, 0.0));
        assert!(!judge(Weave::NonDirectional, 45.0));
    }

    /// The mark is a line of the cloth's look, drawn on the roll; it is carried to the part by the inverse of the turn
    /// under which the piece is cut. Every weave that has a line × hand × face × angle, and what cannot be is refused.
    #[test]
    fn lines_run_on_the_other_hand_as_the_job_wants_them() {
        let (mut shown, mut refused) = (0, 0);
        for (weave, line, good) in [
            ("twill", 45.0, ""),
            ("twill", -45.0, ""),
            ("twill", 45.0, "good_face = \"up\"\n"),
            ("twill", 63.4, ""),
            ("twill", 63.4, "good_face = \"down\"\n"),
            ("plain", 30.0, "turn_over = false\n"),
            ("satin", 72.0, "good_face = \"up\"\n"),
            ("unidirectional", 45.0, "turn_over = true\n"),
        ] {
            for angle in [0.0, 45.0, 90.0, -30.0] {
                for (seen, lines) in [
                    ("tool", "mirrored"),
                    ("bag", "mirrored"),
                    ("tool", "alike"),
                    ("bag", "alike"),
                ] {
                    let text = format!(
                        "[cloth.c]\nweave = \"{weave}\"\nareal_weight = \"200 gsm\"\nroll_width = \"1 m\"\nline = {line}\n{good}\
                         [[part]]\nname = \"A\"\nmirror = \"B\"\npattern = \"a.svg\"\nseen = \"{seen}\"\nlines = \"{lines}\"\n\
                         [[part.ply]]\ncloth = \"c\"\nangle = {angle}\nappearance = true\n"
                    );
                    let Ok((job, _)) = crate::job::Job::read("job.toml", &text) else {
                        refused += 1;
                        continue;
                    };
                    shown += 1;
                    let cloth = &job.cloths()[0];
                    let zero = 17.0;
                    let look = |part: usize| -> Vec<i64> {
                        let part = &job.parts()[part];
                        let turns = of_ply(cloth, Angle::degrees(zero), part, &part.plies[0]);
                        assert!(!turns.is_empty());
                        for turn in &turns {
                            // Face up, the roll's upper face looks to the bag.
                            let to_bag = if turn.face == Face::Up { "up" } else { "down" };
                            if let Some(good) = good.strip_prefix("good_face = ") {
                                assert_eq!(
                                    good.trim().trim_matches('"') == to_bag,
                                    seen == "bag",
                                    "{text}"
                                );
                            }
                            // The fibres are where they were designed.
                            let designed = part.angle_of(&part.plies[0]).from_zero().to_degrees();
                            let repeat = if weave == "plain" || weave == "twill" {
                                90_000
                            } else {
                                180_000
                            };
                            let off = (on_part(0.0, *turn, zero) - thousandths(designed))
                                .rem_euclid(repeat);
                            assert!(off.min(repeat - off) <= 1, "{text}{turn:?}");
                        }
                        let mut lines: Vec<i64> = turns
                            .iter()
                            .map(|turn| on_part(line, *turn, zero))
                            .collect();
                        lines.dedup();
                        lines
                    };
                    let ([first], [other]) = (&look(0)[..], &look(1)[..]) else {
                        panic!("one hand shows several lines: {text}");
                    };
                    let wanted = if lines == "mirrored" { -first } else { *first };
                    let off = (other - wanted).rem_euclid(180_000);
                    assert!(off.min(180_000 - off) <= 1, "{first} and {other}: {text}");
                }
            }
        }
        // Satin and twill at 63.4° with a good face, and a plain that may not be turned, have no mirror image;
        // alike is possible at 0° and 90°, or where the fibres happen to fit.
        assert!(
            shown >= 60 && refused >= 30,
            "{shown} shown, {refused} refused"
        );
    }
}
