//! Cloth that will be seen: which of its faces, and how its lines run on either hand of a pair.

use super::cloths::Cloths;
use super::part::{Part, Ply};
use super::reader::JobReader;
use super::table::JobTable;
use super::wording::shown;
use super::{JointKind, Located, Side};
use crate::cloth::{Cloth, Rotation};
use crate::geometry::Face;
use crate::units::{Angle, Length, PlyAngle};
use crate::words::words;

words! {
    /// How the lines of plies that will be seen run on the other hand of a pair.
    pub enum HandLines {
        /// As the mirror image of those on the first hand.
        Mirrored = "mirrored",
        /// The same way as on the first hand, counted from the 0° of each.
        Alike = "alike",
    }
}

impl Part {
    /// How the line of `ply` is to run on the other hand of a pair, counter-clockwise from where its warp was
    /// designed; `None` where it runs as the cloth lies.
    #[must_use]
    pub fn line_from_warp(&self, ply: &Ply, cloth: &Cloth) -> Option<Angle> {
        let lines = self
            .lines
            .filter(|_| self.view.other_hand && ply.appearance)?;
        let line = cloth.line()?;
        let shown = match ply.face {
            Some(Face::Down) => -line,
            _ => line,
        };
        let own = self.angle_of(ply);
        let first = PlyAngle::new(-own.from_zero()).in_range();
        let warp = |angle: PlyAngle| cloth.weave.warp(angle).where_zero_is(Angle::ZERO);
        let on_first = warp(first) + shown;
        Some(match lines {
            HandLines::Mirrored => -on_first - warp(own),
            HandLines::Alike => on_first - warp(own),
        })
    }
}

/// Lays the plies that will be seen with the good face of their cloth to the side that is seen.
pub(super) fn show_good_faces(
    reader: &mut JobReader,
    plies: &mut [Ply],
    seen: Option<Side>,
    cloths: &Cloths,
) {
    for ply in plies.iter_mut().filter(|ply| ply.appearance) {
        let Some(cloth) = cloths.cloth(ply.cloth) else {
            continue;
        };
        let Some(good) = cloth.look.good_face else {
            continue;
        };
        let Some(seen) = seen else {
            let message = format!(
                "the good face of {} may come to lie inside",
                shown(&cloth.name)
            );
            let help = "say which side of the part will be seen: `seen = \"tool\"` in a female mould, `\"bag\"` on a \
                        male one";
            reader.warn(&ply.place, message, help);
            continue;
        };
        // Face up, the roll's upper face looks to the bag.
        let up = match (seen, good) {
            (Side::Bag, good) => good,
            (Side::Tool, Face::Up) => Face::Down,
            (Side::Tool, Face::Down) => Face::Up,
        };
        if ply.face.is_some_and(|face| face != up) {
            let message = format!("`face` hides the good face of {}", shown(&cloth.name));
            let help =
                "leave `face` out: `good_face` of the cloth and `seen` of the part decide it";
            reader.error(&ply.place, message, help);
        }
        ply.face = Some(up);
    }
}

/// Complains about lines that cannot run on `other`, the other hand of `first`, as the job wants them.
pub(super) fn check_lines(reader: &mut JobReader, first: &Part, other: &Part, cloths: &Cloths) {
    let Some(lines) = other.lines else { return };
    let seen = other.plies.iter().filter(|ply| ply.appearance);
    for ply in seen {
        let Some(cloth) = cloths.cloth(ply.cloth) else {
            continue;
        };
        let Some(wanted) = other.line_from_warp(ply, cloth) else {
            let message = format!("nothing is known of a line of {}", shown(&cloth.name));
            reader.warn(&ply.place, message, "`line` of the cloth says how it runs");
            continue;
        };
        if !cloth.turns_with_line(wanted, ply.face).is_empty() {
            continue;
        }
        let how = match lines {
            HandLines::Mirrored => "be the mirror image of those on",
            HandLines::Alike => "run as they do on",
        };
        let message = format!(
            "lines of {} on {} cannot {how} {}, with this one cloth",
            shown(&cloth.name),
            shown(&other.name),
            shown(&first.name)
        );
        reader.error(&ply.place, message, &way_out(cloth, ply, lines));
    }
}

/// Why it cannot be, and what to do.
fn way_out(cloth: &Cloth, ply: &Ply, lines: HandLines) -> String {
    let why = match (cloth.turns.rotation, ply.face) {
        (Rotation::Quarter, _) => {
            "its line is not at 45° to the warp, so a quarter turn does not mirror it"
        }
        (_, Some(_)) => {
            "its good face must be seen, so it cannot be turned over, and warp and weft are not alike"
        }
        _ => "it may neither be turned over nor by a quarter",
    };
    match lines {
        HandLines::Mirrored => format!(
            "{why}: take another cloth for this hand, whose line runs the other way (as a part of its own), or \
             `lines = \"alike\"`"
        ),
        HandLines::Alike => "the fibres of the other hand lie at the opposite angle, and no turn of this cloth keeps \
                             them and the lines: lay this ply at 0° or 90°, or `lines = \"mirrored\"`"
            .to_owned(),
    }
}

/// Warns of joints at which the pattern of a ply that will be seen cannot be brought together.
pub(super) fn warn_of_joints(reader: &mut JobReader, plies: &[Ply], cloths: &Cloths) {
    for ply in plies.iter().filter(|ply| ply.appearance) {
        let Some(repeat) = cloths.cloth(ply.cloth).and_then(|cloth| cloth.look.repeat) else {
            continue;
        };
        let left = match ply.cutting.splice.joint {
            None => continue,
            Some(JointKind::Lap) => ply.cutting.splice.lap - repeat,
            Some(JointKind::Butt) => Length::ZERO,
        };
        if left <= Length::ZERO {
            let message = "the pattern cannot be brought together at the joints of this ply";
            let help = format!(
                "a piece is moved by up to one repeat ({}) until the lines run on: join it by a lap wider than that",
                repeat.in_mm_and_inches()
            );
            reader.warn(&ply.place, message, &help);
        }
    }
}

/// Warns of a word about the other hand where there is none, or nothing that is seen.
pub(super) fn warn_of_lines(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    lines: Option<&Located<HandLines>>,
    (has_mirror, plies): (bool, &[Ply]),
) {
    let Some(lines) = lines else { return };
    if !has_mirror {
        let message = format!(
            "`lines` says nothing of {}: it has no other hand",
            table.what
        );
        reader.warn(
            &lines.place,
            message,
            "name the other hand (`mirror`), or leave `lines` out",
        );
    } else if plies.iter().all(|ply| !ply.appearance) {
        let message = format!("no ply of {} will be seen", table.what);
        reader.warn(
            &lines.place,
            message,
            "set `appearance = true` in the ply that will be",
        );
    }
}
