//! What is wrong with a value, in the user's words.

use toml::de::DeValue;

use crate::diag::nearest;
use crate::units::UnitError;

/// What is wrong with a value.
pub(super) struct Complaint {
    pub message: String,
    pub help: String,
}

impl Complaint {
    pub(super) fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            help: help.into(),
        }
    }
}

/// `did you mean …`, if one of `known` is near, and the list of all.
pub(super) fn suggestion(word: &str, known: &[&str], all_are: &str) -> String {
    const MOST: usize = 32;
    let mut all = format!("{all_are} {}", known[..known.len().min(MOST)].join(", "));
    if known.len() > MOST {
        all.push_str(" …");
    }
    match near(word, known) {
        Some(near) => format!("did you mean `{near}`? {all}"),
        None => all,
    }
}

/// The word of `known` that is nearest to `word` as a whole, or in what follows its first `_`
/// (`width` is near `roll_width`).
pub(super) fn near<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
    // The distance takes memory by the product of the lengths.
    if word.len() > 64 {
        return None;
    }
    let endings = known.iter().filter_map(|k| Some(k.split_once('_')?.1));
    nearest(word, known.iter().copied()).or_else(|| {
        let ending = nearest(word, endings)?;
        known.iter().copied().find(|k| k.ends_with(ending))
    })
}

/// A piece of the user's text for a message: in back quotes, on one line, not too long.
pub(super) fn shown(text: &str) -> String {
    const MOST: usize = 40;
    let mut short = String::new();
    for c in text.chars().take(MOST) {
        if c.is_control() {
            short.extend(c.escape_debug());
        } else {
            short.push(c);
        }
    }
    if text.chars().nth(MOST).is_some() {
        short.push('…');
    }
    format!("`{short}`")
}

/// What a value is, for messages.
pub(super) fn type_name(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

pub(super) fn wrong_type(key: &str, value: &DeValue<'_>, wanted: &str, example: &str) -> Complaint {
    Complaint::new(
        format!("`{key}` is {}; it must be {wanted}", type_name(value)),
        format!("write for example `{key} = {example}`"),
    )
}

pub(super) fn text_of<'v>(
    key: &str,
    value: &'v DeValue<'_>,
    example: &str,
) -> Result<&'v str, Complaint> {
    value
        .as_str()
        .ok_or_else(|| wrong_type(key, value, "a text in quotes", example))
}

/// The digits of a bare number.
pub(super) fn number_text<'v>(value: &'v DeValue<'_>) -> Option<&'v str> {
    match value {
        DeValue::Integer(integer) => Some(integer.as_str()),
        DeValue::Float(float) => Some(float.as_str()),
        _ => None,
    }
}

/// A bare number as a finite value; TOML itself allows `nan` and `inf`.
pub(super) fn finite(key: &str, value: &DeValue<'_>, text: &str) -> Result<f64, Complaint> {
    let number = match value {
        DeValue::Integer(integer) if integer.radix() != 10 => None,
        _ => text.parse::<f64>().ok().filter(|number| number.is_finite()),
    };
    number.ok_or_else(|| {
        Complaint::new(
            format!("`{key}` is not a finite decimal number"),
            "write an ordinary number, for example 45 or 22.5",
        )
    })
}

/// Complains about a bare number where a quantity is expected.
pub(super) fn bare_number(key: &str, number: &str, example: &str) -> Complaint {
    if number.parse::<f64>().is_ok_and(f64::is_finite) {
        without_unit(key, number, example)
    } else {
        let help = format!("write for example `{key} = \"{example}\"`");
        Complaint::new(format!("`{key}` is not a finite number"), help)
    }
}

/// Complains about the number `written` without a unit.
fn without_unit(key: &str, written: &str, example: &str) -> Complaint {
    let is_length = example.trim_start_matches(|c: char| c.is_ascii_digit() || c == '-') == " mm";
    let help = if is_length && written.len() <= 12 {
        // The user's own number with a unit is the likeliest right answer.
        format!(
            "write the unit too, in quotes: `{key} = \"{written} mm\"` or `{key} = \"{written} in\"`"
        )
    } else {
        format!("write the unit too, in quotes, for example `{key} = \"{example}\"`")
    };
    Complaint::new(format!("`{key}` has no unit"), help)
}

pub(super) fn unit_complaint(key: &str, error: &UnitError, example: &str) -> Complaint {
    let help = format!("write for example `{key} = \"{example}\"`");
    match error {
        UnitError::Empty { .. } => Complaint::new(format!("`{key}` is empty"), help),
        UnitError::NoNumber { text, .. } => Complaint::new(
            format!("{} does not start with a number", shown(text)),
            help,
        ),
        UnitError::NoUnit { text, .. } => without_unit(key, text, example),
        UnitError::UnknownUnit {
            unit,
            quantity,
            known,
        } => {
            let words: Vec<&str> = known.split(", ").collect();
            Complaint::new(
                format!("{} is not a unit of {quantity}", shown(unit)),
                suggestion(unit, &words, "known are"),
            )
        }
        UnitError::NotFinite { text } => {
            Complaint::new(format!("{} is not a finite number", shown(text)), help)
        }
        UnitError::Comma { text } => Complaint::new(
            format!("{} has a comma in its number", shown(text)),
            "the decimal sign is a point, and thousands are not separated",
        ),
        UnitError::ZeroDenominator { text } => {
            Complaint::new(format!("{} divides by zero", shown(text)), help)
        }
    }
}
