//! Splits a written quantity such as `1 1/2 in` into its number and its unit.

use std::fmt;

/// Why a written quantity could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UnitError {
    /// The text holds no number where one is expected.
    NoNumber {
        /// What was written.
        text: String,
        /// An example of what would be right.
        example: &'static str,
    },
    /// A number without a unit.
    NoUnit {
        /// What was written.
        text: String,
        /// An example of what would be right.
        example: &'static str,
    },
    /// A unit that this quantity does not have.
    UnknownUnit {
        /// The unit as written.
        unit: String,
        /// The kind of quantity, for example `length`.
        quantity: &'static str,
        /// The units that are known.
        known: &'static str,
    },
    /// A number that is infinite or not a number.
    NotFinite {
        /// What was written.
        text: String,
    },
}

impl fmt::Display for UnitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::NoNumber { text, example } => {
                write!(f, "`{text}` holds no number; write for example `{example}`")
            }
            Self::NoUnit { text, example } => {
                write!(f, "`{text}` has no unit; write for example `{example}`")
            }
            Self::UnknownUnit {
                unit,
                quantity,
                known,
            } => write!(f, "`{unit}` is not a unit of {quantity}; known are {known}"),
            Self::NotFinite { text } => write!(f, "`{text}` is not a finite number"),
        }
    }
}

impl std::error::Error for UnitError {}

/// What a reader needs to know of one kind of quantity.
pub(super) struct Kind {
    /// `length`, `angle` …, for messages.
    pub quantity: &'static str,
    /// A well-formed example, for messages.
    pub example: &'static str,
    /// The known units, for messages.
    pub known: &'static str,
    /// Factor from a unit as written to the unit the quantity is held in.
    pub factor: fn(&str) -> Option<f64>,
}

/// Reads `text` as a number times a unit of `kind`.
pub(super) fn quantity(text: &str, kind: &Kind) -> Result<f64, UnitError> {
    let (value, unit) = split(text).ok_or_else(|| UnitError::NoNumber {
        text: text.trim().to_owned(),
        example: kind.example,
    })?;
    if unit.is_empty() {
        return Err(UnitError::NoUnit {
            text: text.trim().to_owned(),
            example: kind.example,
        });
    }
    let factor = (kind.factor)(&unit).ok_or_else(|| UnitError::UnknownUnit {
        unit: unit.clone(),
        quantity: kind.quantity,
        known: kind.known,
    })?;
    let held = value * factor;
    if held.is_finite() {
        Ok(held)
    } else {
        Err(UnitError::NotFinite {
            text: text.trim().to_owned(),
        })
    }
}

/// Splits into the number (decimal, fraction, or whole and fraction) and the unit, spaces removed
/// from the unit and `²` written as `2`.
fn split(text: &str) -> Option<(f64, String)> {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|&(at, c)| !is_number_char(text, at, c))
        .map_or(text.len(), |(at, _)| at);
    let (number, unit) = text.split_at(end);
    let value = number_value(number.trim())?;
    let unit = unit
        .chars()
        .filter(|c| !c.is_whitespace())
        .map(|c| if c == '²' { '2' } else { c })
        .collect::<String>()
        .replace("^2", "2")
        .replace("^3", "3")
        .replace('³', "3");
    Some((value, unit))
}

/// Digits, point, sign, space, the slash of a fraction, and the `e` of an exponent.
fn is_number_char(text: &str, at: usize, c: char) -> bool {
    match c {
        '0'..='9' | '.' | '+' | '-' | ' ' => true,
        '/' => {
            text[..at].ends_with(|c: char| c.is_ascii_digit())
                && text[at + 1..].starts_with(|c: char| c.is_ascii_digit())
        }
        'e' | 'E' => {
            let rest = &text[at + 1..];
            let rest = rest.strip_prefix(['+', '-']).unwrap_or(rest);
            text[..at].ends_with(|c: char| c.is_ascii_digit() || c == '.')
                && rest.starts_with(|c: char| c.is_ascii_digit())
        }
        _ => false,
    }
}

fn number_value(number: &str) -> Option<f64> {
    let mut words = number.split_whitespace();
    let first = words.next()?;
    let value = match words.next() {
        // "1 1/2": a whole number and a fraction, the sign applies to both.
        Some(second) => {
            let whole: f64 = first.parse().ok()?;
            let part = fraction(second)?;
            if whole.fract() != 0.0 || words.next().is_some() {
                return None;
            }
            if first.starts_with('-') {
                whole - part
            } else {
                whole + part
            }
        }
        None if first.contains('/') => match first.strip_prefix('-') {
            Some(rest) => -fraction(rest)?,
            None => fraction(first)?,
        },
        None => first.parse().ok()?,
    };
    Some(value)
}

fn fraction(text: &str) -> Option<f64> {
    let (top, bottom) = text.split_once('/')?;
    let (top, bottom): (u32, u32) = (top.parse().ok()?, bottom.parse().ok()?);
    (bottom != 0).then(|| f64::from(top) / f64::from(bottom))
}
