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

/// From a butt joint to the upper edge of its text and some air, in heights of capitals.
const TAKEN: f64 = BESIDE + 0.75;

/// What is written at the joints of `piece`: at a butt joint, what stands clear of its label.
pub(in crate::output) fn texts(
    piece: &PlacedPiece,
    size: TextSize,
) -> impl Iterator<Item = TextLine> {
    let label = piece.label().corners();
    piece.joints().into_iter().filter_map(move |joint| {
        let off =
            (label.iter()).map(|&corner| joint.joint.inward.dot(corner - joint.joint.line[0]));
        let most = match joint.joint.lies {
            Lies::Beside => size.most.min(off.fold(f64::INFINITY, f64::min) / TAKEN),
            Lies::Under | Lies::Over => size.most,
        };
        text(&joint, TextSize { most, ..size })
    })
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::style::CUT_FILE_TEXT;
    use crate::plan::tests::plan_of;

    /// A strip 88 mm wide from a roll of 52 mm: two pieces, 44 mm and the trim high.
    #[test]
    fn the_text_of_a_butt_joint_stands_off_the_label() {
        let job = "[cutting]\ntrim = \"3 mm\"\nsplice = \"butt\"\n[cloth.ud]\nweave = \"unidirectional\"\n\
            areal_weight = \"200 g/m2\"\nroll_width = \"52 mm\"\nselvedge = \"0 mm\"\n\
            [[part]]\nname = \"P\"\npattern = \"p.svg\"\ncloth = \"ud\"\nlayup = \"[0]\"\n";
        let plan = plan_of(job, r#"<path d="M10 10H290V98H10Z"/>"#);
        let pieces: Vec<&PlacedPiece> = plan.layouts().iter().flat_map(|l| l.pieces()).collect();
        assert_eq!(pieces.len(), 2);
        for piece in pieces {
            let [text] = &texts(piece, CUT_FILE_TEXT).collect::<Vec<_>>()[..] else {
                panic!("one text at the one joint of {}", piece.id());
            };
            let joint = &piece.joints()[0].joint;
            let off = |p: Point| joint.inward.dot(p - joint.line[0]);
            let far = off(text.at) + text.height / 2.0;
            let label = piece.label().corners().map(off);
            assert!(label.iter().all(|&near| far < near), "{far} mm, {label:?}");
        }
    }
}
