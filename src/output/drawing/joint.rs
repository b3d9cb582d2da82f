//! The line along which the neighbour of a spliced piece comes to lie, and what is written there.
//!
//! The text stands in the lap, between that line and the piece's own edge; along a butt joint it
//! stands just inside the piece. It names the neighbour and says how the two lie.

use super::face::usual_width;
use super::label::TextSize;
use super::shape::{Align, TextLine};
use crate::geometry::{Point, trig};
use crate::plan::{PlacedJoint, PlacedPiece};
use crate::ply::Lies;
use crate::units::Angle;

/// Share of the lap that letters may take across it.
const OF_LAP: f64 = 0.5;

/// Share of the line that the text may take along it.
const OF_LINE: f64 = 0.8;

/// From a butt joint to the middle of its text, in heights of capitals.
const BESIDE: f64 = 1.1;

/// What is written at the joints of `piece`.
pub(in crate::output) fn texts(
    piece: &PlacedPiece,
    size: TextSize,
) -> impl Iterator<Item = TextLine> {
    piece
        .joints()
        .into_iter()
        .filter_map(move |joint| text(&joint, size))
}

/// What is written at `joint`, if it can be read there.
pub(in crate::output) fn text(joint: &PlacedJoint, size: TextSize) -> Option<TextLine> {
    let [from, to] = joint.joint.line;
    let text = words(joint);
    let lap = joint.joint.lap.to_mm();
    let room = if lap > 0.0 { lap * OF_LAP } else { size.most };
    let height = (from.distance(to) * OF_LINE / usual_width(&text))
        .min(room)
        .min(size.most);
    if height < size.least {
        return None;
    }
    let off = match joint.joint.lies {
        Lies::Under | Lies::Over => -lap / 2.0,
        Lies::Beside => BESIDE * height,
    };
    let middle = from.towards(to, 0.5) + joint.joint.inward * off;
    Some(TextLine {
        text,
        at: middle,
        align: Align::Centre,
        height,
        angle: reading(from, to),
    })
}

/// `RUD-1-B over, lap 25 mm`.
fn words(joint: &PlacedJoint) -> String {
    let lap = joint.joint.lap.in_mm_and_inches();
    match joint.joint.lies {
        // What is on top of this piece is the mate.
        Lies::Under => format!("{} over, lap {lap}", joint.mate),
        Lies::Over => format!("{} under, lap {lap}", joint.mate),
        Lies::Beside => format!("butt to {}", joint.mate),
    }
}

/// Direction of a text along the line that nobody has to read upside down.
fn reading(from: Point, to: Point) -> Angle {
    let along = to - from;
    trig::direction(along.x, along.y).as_fibre()
}
