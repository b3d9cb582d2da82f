//! What is seen of a cloth: its good face, its line, its pattern.

use super::{Cloth, Weave, WeaveTurns};
use crate::geometry::{Face, Turn};
use crate::units::{Angle, Length};

/// What the job says of how a cloth looks.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Look {
    /// How its line runs, counter-clockwise from the warp, on the upper face as it comes off the roll.
    pub line: Option<Angle>,
    /// The face that is to be seen, where not either will do.
    pub good_face: Option<Face>,
    /// After how much its pattern repeats.
    pub repeat: Option<Length>,
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
