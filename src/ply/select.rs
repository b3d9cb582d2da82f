//! The outline and the 0° direction that a ply or part names in its pattern file.

use super::name;
use crate::diag::{Diagnostic, nearest};
use crate::geometry::{Outline, trig};
use crate::job::{OutlineChoice, Part, Ply, ZeroDirection};
use crate::pattern::{ChoiceError, Pattern};
use crate::units::Angle;

/// Names listed in a message; more would hide the message.
const MOST_LISTED: usize = 12;

/// The outline that `ply` takes.
pub(super) fn outline<'a>(
    part: &Part,
    ply: &Ply,
    pattern: &'a Pattern,
) -> Result<&'a Outline, Diagnostic> {
    // A name that several plies take from their part is one fault, so it names no ply.
    let (chosen, what, place) = match &ply.outline {
        OutlineChoice::Only => {
            let what = format!("the outline of {}", name(part, ply));
            (pattern.only(), what, &ply.place)
        }
        OutlineChoice::Named(named) => (
            pattern.choose(&named.value),
            "the outline".to_owned(),
            &named.place,
        ),
    };
    chosen
        .map(|found| &found.outline)
        .map_err(|error| not_chosen(&what, pattern, error).at(place.clone()))
}

/// The direction of the part's 0° in its pattern file.
pub(super) fn zero_direction(part: &Part, pattern: &Pattern) -> Result<Angle, Diagnostic> {
    let named = match &part.zero {
        ZeroDirection::Angle(angle) => return Ok(*angle),
        ZeroDirection::Line(named) => named,
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

fn not_chosen(what: &str, pattern: &Pattern, error: ChoiceError) -> Diagnostic {
    let file = &pattern.file;
    match error {
        ChoiceError::Unknown { name, known } => {
            let message =
                format!("{what} is not there: {file} holds no layer, label or id `{name}`");
            let help = match nearest(&name, known.iter().map(String::as_str)) {
                Some(near) => format!("did you mean `{near}`? There are {}", list(&known)),
                None if known.is_empty() => "the file holds nothing of that kind".to_owned(),
                None => format!("there are {}", list(&known)),
            };
            Diagnostic::error(message).help(help)
        }
        ChoiceError::Ambiguous { name, ids } => Diagnostic::error(format!(
            "{what} is not clear: `{name}` fits {} outlines in {file}",
            ids.len()
        ))
        .help(format!("name one of them: {}", list(&ids))),
        ChoiceError::NotOnly { ids } => Diagnostic::error(format!(
            "{what} is not named, and {file} holds {} outlines",
            ids.len()
        ))
        .help(format!(
            "add `outline = \"…\"` with a layer, a label or an id: {}",
            list(&ids)
        )),
    }
}

/// Names for a message.
fn list(names: &[String]) -> String {
    let mut text: Vec<String> = names
        .iter()
        .take(MOST_LISTED)
        .map(|n| format!("`{n}`"))
        .collect();
    if names.len() > MOST_LISTED {
        text.push(format!("and {} more", names.len() - MOST_LISTED));
    }
    text.join(", ")
}
