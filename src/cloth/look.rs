//! What is seen of a cloth: its good face, its line, its pattern.

use super::{Cloth, Weave, WeaveTurns};
use crate::geometry::{Face, Turn, Vector, trig};
use crate::units::{Angle, Length};

/// What the job says of how a cloth looks.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Look {
    /// How its line runs, counter-clockwise from the warp, on the upper face as it comes off the roll.
    pub line: Option<Angle>,
    /// The face that is to be seen, where not either will do.
    pub good_face: Option<Face>,
    /// After how much its pattern repeats: across its line, or along the warp.
    pub repeat: Option<Length>,
    /// After how much it repeats along the weft, if it does not only across its line.
    pub repeat_weft: Option<Length>,
}

/// How the pattern of a cloth repeats on the roll.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum PatternRepeat {
    /// Lines at this angle from the warp, one like the other, so far apart.
    Lines(Angle, Length),
    /// After so much along the roll and so much across it.
    Both([Length; 2]),
}

impl PatternRepeat {
    /// How far a piece must be free to move, along the roll and across it, so that its pattern can come to lie
    /// anywhere, mm. Lines alone need one of both: that in which they come round sooner, but rather along the roll,
    /// which has no end.
    #[must_use]
    pub fn steps(&self) -> [f64; 2] {
        /// Lines that take so many times longer to come round along the roll than across it are met across it.
        const LONG: f64 = 3.0;
        match *self {
            Self::Both(both) => both.map(Length::to_mm),
            Self::Lines(line, repeat) => {
                let (sin, cos) = trig::sin_cos(line);
                match sin.abs() * LONG < cos.abs() {
                    true => [0.0, repeat.to_mm() / cos.abs()],
                    false => [repeat.to_mm() / sin.abs(), 0.0],
                }
            }
        }
    }

    /// The least move forwards, along the roll and across it, after which what lies `off` from a place lies to the
    /// pattern as if it were there.
    #[must_use]
    pub fn to_go(&self, off: Vector) -> Vector {
        let [along, across] = self.steps();
        let left = |off: f64, step: f64| {
            if step > 0.0 {
                (-off).rem_euclid(step)
            } else {
                0.0
            }
        };
        match *self {
            Self::Both(_) => Vector::new(left(off.x, along), left(off.y, across)),
            Self::Lines(line, _) => {
                let (sin, cos) = trig::sin_cos(line);
                match along > 0.0 {
                    true => Vector::new(left(off.x - off.y * cos / sin, along), 0.0),
                    false => Vector::new(0.0, left(off.y - off.x * sin / cos, across)),
                }
            }
        }
    }

    /// The same move, by the shorter way.
    #[must_use]
    pub fn off(&self, off: Vector) -> Vector {
        let (go, [along, across]) = (self.to_go(off), self.steps());
        let shorter = |go: f64, step: f64| if go > step / 2.0 { go - step } else { go };
        Vector::new(shorter(go.x, along), shorter(go.y, across))
    }
}

/// The diagonal of a twill of like yarns that steps by one. Common practice, no source.
const DIAGONAL_DEG: f64 = 45.0;

/// Lines that differ by less (degrees) look alike. Common practice, no source: hands lay no truer.
const ALIKE_DEG: f64 = 0.5;

impl Cloth {
    /// How its line runs on the upper face, counter-clockwise from the warp; that of a twill at 45° unless the job
    /// says otherwise.
    #[must_use]
    pub fn line(&self) -> Option<Angle> {
        let twill = (self.weave == Weave::Twill).then_some(Angle::degrees(DIAGONAL_DEG));
        self.look.line.or(twill)
    }

    /// How its pattern repeats, if the job says after how much: across its line where it has one, along warp and weft
    /// alike where it has none.
    #[must_use]
    pub fn pattern(&self) -> Option<PatternRepeat> {
        let repeat = self.look.repeat?;
        Some(match (self.look.repeat_weft, self.line()) {
            (Some(weft), _) => PatternRepeat::Both([repeat, weft]),
            (None, Some(line)) => PatternRepeat::Lines(line, repeat),
            (None, None) => PatternRepeat::Both([repeat; 2]),
        })
    }

    /// The turns it permits, from lying straight, face up, under which its line runs `from_warp` counter-clockwise
    /// from where the ply's warp was designed. With the face that the ply wants up, if it wants one; else turned over
    /// only where nothing else does it.
    #[must_use]
    pub fn turns_with_line(&self, from_warp: Angle, face: Option<Face>) -> Vec<Turn> {
        let Some(line) = self.line() else {
            return Vec::new();
        };
        let all = WeaveTurns {
            turn_over: true,
            ..self.turns
        };
        let shows = |turn: &Turn| {
            let off = (line_under(line, *turn) - from_warp)
                .as_fibre()
                .to_degrees();
            off.abs() < ALIKE_DEG || off.abs() > 180.0 - ALIKE_DEG
        };
        let showing: Vec<Turn> = all.list().into_iter().filter(shows).collect();
        let with_up = |up: Face| -> Vec<Turn> {
            showing
                .iter()
                .copied()
                .filter(|turn| turn.face == up)
                .collect()
        };
        let own = with_up(face.unwrap_or(Face::Up));
        let may_be_turned = face.is_none() && self.turns.turn_over;
        match own.is_empty() && may_be_turned {
            true => with_up(Face::Down),
            false => own,
        }
    }
}

/// Where `line` (from the warp, upper face) comes to run on what is cut under `turn`, in the frame that is turned.
#[must_use]
pub fn line_under(line: Angle, turn: Turn) -> Angle {
    match turn.face {
        Face::Up => line - turn.angle,
        Face::Down => -line - turn.angle,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// After the move, what counts across the lines (or along both ways) is a whole number of repeats.
    #[test]
    fn a_move_brings_the_pattern_round() {
        for degrees in [45.0, -45.0, 63.0, 90.0, 5.0, 0.0, -17.0] {
            let pattern = PatternRepeat::Lines(Angle::degrees(degrees), Length::mm(8.0));
            for (x, y) in [(0.0, 0.0), (103.7, -55.1), (-3.0, 8.0), (4000.1, 900.9)] {
                let off = Vector::new(x, y);
                for go in [pattern.to_go(off), pattern.off(off)] {
                    let (sin, cos) = trig::sin_cos(Angle::degrees(degrees));
                    let across = (off.y + go.y) * cos - (off.x + go.x) * sin;
                    let left = across.rem_euclid(8.0);
                    assert!(left.min(8.0 - left) < 1e-6, "{degrees} {off:?}: {go:?}");
                    assert!(go.x.abs() < pattern.steps()[0] + 1e-9);
                    assert!(go.y.abs() < pattern.steps()[1] + 1e-9);
                }
            }
        }
        let both = PatternRepeat::Both([Length::mm(10.0), Length::mm(6.0)]);
        assert_eq!(both.to_go(Vector::new(3.0, 8.0)), Vector::new(7.0, 4.0));
        assert_eq!(both.off(Vector::new(3.0, 8.0)), Vector::new(-3.0, -2.0));
    }
}
