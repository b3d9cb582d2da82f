//! The outline and the 0° direction that a ply or part names in its pattern file.

use super::{both, list_of, name};
use crate::diag::{Diagnostic, Diagnostics, Place, nearest};
use crate::drape::Drape;
use crate::geometry::{Bounds, trig};
use crate::job::{OutlineChoice, Part, Ply, ZeroDirection};
use crate::pattern::{ChoiceError, Pattern, PatternLine, PatternMark, PatternOutline};
use crate::units::Angle;

/// What wants an outline.
pub(super) struct WantedOutlines<'a> {
    pub choice: &'a OutlineChoice,
    /// The number of the ply, if it is one: it may be written in the outline.
    pub ply: Option<u32>,
    /// How messages call it.
    pub name: &'a str,
    pub place: &'a Place,
}

/// The outline that `ply` takes.
///
/// On a mould it lies as `drape` says.
pub(super) fn outline_of_ply<'a>(
    part: &Part,
    ply: &Ply,
    pattern: &'a Pattern,
    drape: Option<&Drape>,
) -> Result<&'a PatternOutline, Diagnostic> {
    if part.on_mould.is_some() {
        let mut outlines = pattern.outlines().iter();
        let laid = drape.map(Drape::outline_name);
        let found = outlines.find(|outline| Some(&outline.id) == laid.as_ref());
        return found.ok_or_else(|| {
            let degrees = ply.drawn_angle.on_drawing().to_degrees();
            let message = format!(
                "{} cannot be laid on its mould at {degrees}°",
                name(part, ply)
            );
            Diagnostic::error(message).at(ply.place.clone())
        });
    }
    let wanted = WantedOutlines {
        choice: &ply.outline,
        ply: Some(ply.n),
        name: &name(part, ply),
        place: &ply.place,
    };
    outline(part, &wanted, pattern)
}

/// The outline that a ply or a core of `part` takes.
pub(super) fn outline<'a>(
    part: &Part,
    wanted: &WantedOutlines<'_>,
    pattern: &'a Pattern,
) -> Result<&'a PatternOutline, Diagnostic> {
    let for_ply = |ids: &[String]| pattern.for_ply(ids, wanted.ply?);
    // A name that several plies take from their part is one fault, so it names no ply.
    let (chosen, what, place) = match wanted.choice {
        OutlineChoice::Only => {
            let what = format!("the outline of {}", wanted.name);
            // Where there are several, a ply number written in one of them counts.
            let only = pattern.only();
            if let (Ok(only), Some(open)) = (&only, left_open(pattern)) {
                // One matter for all plies of the part.
                let what = format!("the outline of part `{}`", part.name);
                let place = part.pattern.place.clone();
                return Err(instead_of_open(&what, pattern, only, open).at(place));
            }
            let chosen = only.or_else(|e| for_ply(&pattern.ids()).ok_or(e));
            (chosen, what, wanted.place)
        }
        OutlineChoice::Named(named) => {
            let chosen = pattern.choose(&named.value).or_else(|e| match &e {
                ChoiceError::Ambiguous { ids, .. } => for_ply(ids).ok_or(e),
                _ => Err(e),
            });
            (chosen, "the outline".to_owned(), &named.place)
        }
    };
    chosen.map_err(|error| not_chosen(&what, pattern, error).at(place.clone()))
}

/// A line that was likely meant to be an outline and is none, because it is open.
fn left_open(pattern: &Pattern) -> Option<&PatternLine> {
    let is_mark = |line: &PatternLine| pattern.marks().iter().any(|mark| mark.id == line.id);
    let mut open = (pattern.lines().iter()).filter(|line| line.is_nearly_closed());
    open.find(|line| !is_mark(line))
}

/// The outline that is left may not be the one that was meant.
fn instead_of_open(
    what: &str,
    pattern: &Pattern,
    only: &PatternOutline,
    open: &PatternLine,
) -> Diagnostic {
    Diagnostic::error(format!(
        "{what} is not named, and beside `{}` {} holds one that is not closed: `{}`",
        only.id,
        pattern.file(),
        open.id
    ))
    .help(mended(only, open))
}

/// How to mend that `open` is not closed: never by taking a hole in it for the outline.
fn mended(only: &PatternOutline, open: &PatternLine) -> String {
    let ends = open.points.first().zip(open.points.last());
    let gap = ends.map_or(0.0, |(from, to)| from.distance(*to));
    let close = format!(
        "close its gap of {} in the drawing, or with `join_gap`",
        both(gap)
    );
    let around = Bounds::of(open.points.iter().copied());
    let is_hole = around.is_some_and(|b| b.holds(&only.outline.bounds(), 0.0));
    match is_hole {
        true => format!("{close}; `{}` lies inside it", only.id),
        false => format!(
            "{close}, or add `outline = \"{}\"` if that is the one",
            only.id
        ),
    }
}

/// The direction of the part's 0° in its pattern file.
pub(super) fn zero_direction(
    part: &Part,
    pattern: &Pattern,
    problems: &mut Diagnostics,
) -> Result<Angle, Diagnostic> {
    let named = match &part.zero {
        ZeroDirection::Angle(angle) => return Ok(*angle),
        ZeroDirection::Line(named) => named,
        ZeroDirection::Drawing => return drawn_zero(part, pattern, problems),
    };
    let line = pattern.line(&named.value).map_err(|error| {
        not_chosen(
            &format!("the 0° line of part `{}`", part.name),
            pattern,
            error,
        )
        .at(named.place.clone())
    })?;
    let ends = line.points.first().zip(line.points.last());
    match ends {
        Some((from, to)) if from != to => {
            let along = *to - *from;
            Ok(trig::direction(along.x, along.y))
        }
        _ => Err(Diagnostic::error(format!(
            "the 0° line of part `{}` has no direction: it ends where it starts",
            part.name
        ))
        .at(named.place.clone())),
    }
}

/// The direction of the drawing's own 0° line, +x if it shows none.
fn drawn_zero(
    part: &Part,
    pattern: &Pattern,
    problems: &mut Diagnostics,
) -> Result<Angle, Diagnostic> {
    let lines: Vec<&PatternMark> = pattern.zero_lines().collect();
    let directions: Vec<Angle> = lines
        .iter()
        .filter_map(|m| {
            let along = *m.points.last()? - m.points[0];
            (along.length() > 0.0).then(|| trig::direction(along.x, along.y))
        })
        .collect();
    let Some(&first) = directions.first() else {
        return Ok(Angle::ZERO);
    };
    let same = |a: &Angle| {
        let off = (*a - first).as_rotation().to_degrees();
        off.min(360.0 - off) < 0.01
    };
    let PatternMark { layer, id, .. } = lines[0];
    let line = match layer.as_str() {
        "" => format!("the line `{id}`"),
        layer => format!("the line on layer {layer}"),
    };
    if !directions.iter().all(same) {
        return Err(Diagnostic::error(format!(
            "{} shows several 0° directions, and part `{}` names none",
            pattern.file(),
            part.name
        ))
        .at(part.pattern.place.clone())
        .help(format!(
            "name one with `zero_line` (a layer or id: {}), or write `zero_direction`",
            list_of(&lines.iter().map(|m| m.id.clone()).collect::<Vec<_>>())
        )));
    }
    problems.push(
        Diagnostic::note(format!(
            "the 0° direction of part `{}` is that of {line}: {first} from +x",
            part.name
        ))
        .at(part.pattern.place.clone()),
    );
    Ok(first)
}

fn not_chosen(what: &str, pattern: &Pattern, error: ChoiceError) -> Diagnostic {
    let file = pattern.file();
    match error {
        ChoiceError::Unknown { name, known } => {
            let message =
                format!("{what} is not there: {file} holds no layer, label or id `{name}`");
            let help = match nearest(&name, known.iter().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`? There are {}", list_of(&known)),
                None if known.is_empty() => "the file holds nothing of that kind".to_owned(),
                None => format!("there are {}", list_of(&known)),
            };
            Diagnostic::error(message).help(help)
        }
        ChoiceError::Ambiguous { name, ids } => Diagnostic::error(format!(
            "{what} is not clear: `{name}` fits {} outlines in {file}",
            ids.len()
        ))
        .help(format!("name one of them: {}", list_of(&ids))),
        ChoiceError::NotOnly { ids } => Diagnostic::error(format!(
            "{what} is not named, and {file} holds {} outlines",
            ids.len()
        ))
        .help(format!(
            "add `outline = \"…\"` with a layer, a label or an id: {}",
            list_of(&ids)
        )),
    }
}
