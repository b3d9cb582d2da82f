//! Cloth that will be seen: which of its faces, and how its lines run on either hand of a pair.

use super::cloths::Cloths;
use super::keys::KeyEntry;
use super::part::{Part, Ply, RunsOnFrom};
use super::reader::JobReader;
use super::table::JobTable;
use super::wording::{shown, suggestion};
use super::{Located, Side};
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

impl Part {
    /// The ply of `from`, by its index, that lies beside `ply`, so that lines of both run on: of those that will be
    /// seen and are of its cloth the one that comes as late among them.
    #[must_use]
    pub fn ply_to_run_on_from(&self, ply: &Ply, from: &Self) -> Option<usize> {
        let is_alike = |other: &Ply| other.appearance && other.cloth == ply.cloth;
        let before = self.plies.iter().take_while(|other| other.n != ply.n);
        let n_before = before.filter(|other| is_alike(other)).count();
        let alike = from.plies.iter().enumerate();
        let mut alike = alike.filter(|(_, other)| is_alike(other));
        alike.nth(n_before).map(|(idx, _)| idx)
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

/// From which part lines of the part in `table` run on.
pub(super) fn runs_on(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    from: Option<Located<String>>,
    shift: &KeyEntry<Option<[Length; 2]>>,
) -> Option<RunsOnFrom> {
    if let (None, Some(place)) = (&from, shift.place()) {
        let message = format!("`runs_on_shift` says nothing of {}", table.what);
        let help = "name the part that it lies beside (`runs_on_from`), or leave it out";
        reader.warn(place, message, help);
    }
    let shift = shift.value.unwrap_or([Length::ZERO; 2]);
    from.map(|part| RunsOnFrom { part, shift })
}

/// Lets the other hand of a pair run on from the other hand of the part that the first runs on from; `before` are the
/// parts before the pair.
pub(super) fn run_on_from_other_hand(other: &mut Part, before: &[Part]) {
    let Some(from) = &mut other.runs_on else {
        return;
    };
    let named = before.iter().position(|part| part.name == from.part.value);
    let hand = named.and_then(|idx| before.get(idx + 1));
    if let Some(hand) = hand.filter(|hand| hand.view.other_hand) {
        from.part.value.clone_from(&hand.name);
    }
}

/// Complains about parts whose lines cannot run on from those of the part that they name.
pub(super) fn check_runs_on(reader: &mut JobReader, parts: &[Part], cloths: &Cloths) {
    if reader.has_errors() {
        return;
    }
    for (idx, part) in parts.iter().enumerate() {
        let Some(RunsOnFrom { part: name, .. }) = &part.runs_on else {
            continue;
        };
        let what = shown(&part.name);
        let Some(from) = parts[..idx].iter().find(|from| from.name == name.value) else {
            let known: Vec<&str> = parts[..idx].iter().map(|part| part.name.as_str()).collect();
            let message = format!("no part before {what} is called {}", shown(&name.value));
            let help = suggestion(&name.value, &known, "parts before it are");
            reader.error(&name.place, message, &help);
            continue;
        };
        let problem = if from.view != part.view {
            let why = "one is shown from the other side, or is the other hand: their lines meet at an angle";
            Some((
                why.to_owned(),
                "draw both parts from one side, or leave out `runs_on_from`".to_owned(),
            ))
        } else if from.on_mould.is_some() || part.on_mould.is_some() {
            let why = "parts on moulds have no drawing in which they lie side by side";
            Some((why.to_owned(), "leave out `runs_on_from`".to_owned()))
        } else {
            plies_that_run_on(part, from, cloths).err()
        };
        if let Some((why, help)) = problem {
            let message = format!(
                "lines of {what} cannot run on from {}: {why}",
                shown(&from.name)
            );
            reader.error(&name.place, message, &help);
        }
    }
}

/// Whether every ply of `part` that will be seen has one of `from` to run on from; else why not, and what helps.
fn plies_that_run_on(part: &Part, from: &Part, cloths: &Cloths) -> Result<(), (String, String)> {
    let seen = || part.plies.iter().filter(|ply| ply.appearance);
    if seen().next().is_none() {
        let help = "set `appearance = true` in the plies that will be, of both parts";
        return Err(("no ply of it will be seen".to_owned(), help.to_owned()));
    }
    for ply in seen() {
        let Some(cloth) = cloths.cloth(ply.cloth) else {
            continue;
        };
        let cloth_name = shown(&cloth.name);
        if part.ply_to_run_on_from(ply, from).is_none() {
            let why = format!(
                "no ply of that is cut from {cloth_name} to be seen beside ply {}",
                ply.n
            );
            return Err((
                why,
                "lines run on in one cloth: lay the same in both parts, with `appearance`"
                    .to_owned(),
            ));
        }
        if cloth.pattern().is_none() {
            let why = format!("nothing is known of how the pattern of {cloth_name} repeats");
            return Err((why, "measure it and give `repeat` of the cloth".to_owned()));
        }
    }
    Ok(())
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
