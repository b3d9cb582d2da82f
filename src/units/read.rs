//! Splits a written quantity such as `1 1/2 in` into its number and its unit.

use std::fmt;
use std::str::FromStr;

use super::LengthUnit;

/// Why a written quantity could not be read.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum UnitError {
    /// Nothing is written.
    Empty {
        /// An example of what would be right.
        example: &'static str,
    },
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
    /// A comma in the number.
    Comma {
        /// What was written.
        text: String,
    },
    /// A fraction with nothing under its line.
    ZeroDenominator {
        /// What was written.
        text: String,
    },
}

impl fmt::Display for UnitError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Empty { example } => {
                write!(f, "nothing is written; write for example `{example}`")
            }
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
            Self::Comma { text } => write!(
                f,
                "`{text}` has a comma; the decimal sign is a point, and thousands are not separated"
            ),
            Self::ZeroDenominator { text } => write!(f, "`{text}` divides by zero"),
        }
    }
}

impl std::error::Error for UnitError {}

impl UnitError {
    pub(super) fn no_number(text: &str, example: &'static str) -> Self {
        let text = text.to_owned();
        Self::NoNumber { text, example }
    }

    pub(super) fn no_unit(text: &str, example: &'static str) -> Self {
        let text = text.to_owned();
        Self::NoUnit { text, example }
    }

    pub(super) fn not_finite(text: &str) -> Self {
        let text = text.to_owned();
        Self::NotFinite { text }
    }

    pub(super) fn comma(text: &str) -> Self {
        let text = text.to_owned();
        Self::Comma { text }
    }
}

/// How one kind of quantity is read.
pub(super) struct Reading {
    /// `length`, `angle` …, for messages.
    pub quantity: &'static str,
    /// A well-formed example, for messages.
    pub example: &'static str,
    /// The usual units, for messages.
    pub known: &'static str,
    /// All units.
    pub units: Units,
}

/// The units of a quantity, each as it is written without blanks, with its factor to the
/// unit the quantity is held in.
pub(super) enum Units {
    /// These.
    Listed(&'static [(&'static str, f64)]),
    /// Those of length.
    Length,
    /// Those of length, each divided by one of these.
    LengthPer(&'static [(&'static str, f64)]),
}

impl Units {
    /// The factor of `unit`, if there is such a unit.
    fn factor(&self, unit: &str) -> Option<f64> {
        let listed = |units: &[(&str, f64)], unit: &str| {
            let (_, factor) = units.iter().find(|(known, _)| *known == unit)?;
            Some(*factor)
        };
        match self {
            Self::Listed(units) => listed(units, unit),
            Self::Length => LengthUnit::from_symbol(unit).map(LengthUnit::in_mm),
            Self::LengthPer(times) => {
                let (length, time) = unit.split_once('/')?;
                let divisor = listed(times, time)?;
                LengthUnit::from_symbol(length).map(|unit| unit.in_mm() / divisor)
            }
        }
    }

    /// A regular expression for any of the units.
    fn pattern(&self) -> String {
        let any = |units: &[(&str, f64)]| any_of(units.iter().map(|(unit, _)| *unit));
        match self {
            Self::Listed(units) => any(units),
            Self::Length => length_unit_pattern(),
            Self::LengthPer(times) => format!(r"{}\s*/\s*{}", length_unit_pattern(), any(times)),
        }
    }
}

/// How a value is written in a job file, for those who check a file before it is read.
#[derive(Clone, Copy)]
pub(crate) struct Form {
    /// What it is: `length`, `areal weight` …
    pub what: &'static str,
    /// The units it has, in words.
    pub units: &'static str,
    /// A regular expression (ECMA-262) that takes all that is read, blanks around it apart, and
    /// little else.
    pub pattern: fn() -> String,
}

/// A quantity that is written with its unit.
pub(crate) trait WithUnit: FromStr<Err = UnitError> {
    /// How it is written.
    const FORM: Form;
}

impl Reading {
    /// The form of such a quantity.
    pub(super) const fn form(&self, pattern: fn() -> String) -> Form {
        Form {
            what: self.quantity,
            units: self.known,
            pattern,
        }
    }

    /// Reads `text` as a number times one of the units.
    pub(super) fn value(&self, text: &str) -> Result<f64, UnitError> {
        let text = text.trim();
        let (value, unit) = split(text, self.example)?;
        if unit.is_empty() {
            return Err(UnitError::no_unit(text, self.example));
        }
        let Some(factor) = self.units.factor(&unit) else {
            return Err(UnitError::UnknownUnit {
                unit,
                quantity: self.quantity,
                known: self.known,
            });
        };
        let held = value * factor;
        if held.is_finite() {
            Ok(held)
        } else {
            Err(UnitError::not_finite(text))
        }
    }

    /// A regular expression for a number and one of the units.
    pub(super) fn pattern(&self) -> String {
        format!(r"{NUMBER}\s*{}", self.units.pattern())
    }
}

/// A regular expression for the number of a quantity: decimal, fraction, whole and fraction.
const NUMBER: &str = r"[-+−]?\s*(?:\d+ *[- ] *\d+/\d+|\d+/\d+|(?:\d+ *-? *)?[½¼¾⅓⅔⅛⅜⅝⅞]|(?:\d+\.?\d*|\.\d+)(?:[eE][-+]?\d+)?)";

/// A regular expression for any unit of length.
pub(super) fn length_unit_pattern() -> String {
    any_of(LengthUnit::spellings())
}

/// A regular expression for any of `units`, with blanks anywhere and raised figures.
fn any_of<'u>(units: impl Iterator<Item = &'u str>) -> String {
    let spelt = |unit: &str| {
        let signs = unit.chars().map(|c| match c {
            '2' => r"\^?\s*[2²]".to_owned(),
            '3' => r"\^?\s*[3³]".to_owned(),
            c => c.to_string(),
        });
        signs.collect::<Vec<_>>().join(r"\s*")
    };
    let all: Vec<String> = units.map(spelt).collect();
    format!("(?:{})", all.join("|"))
}

/// Splits into the number (decimal, fraction, or whole and fraction) and the unit, spaces removed
/// from the unit and `²` written as `2`.
fn split(text: &str, example: &'static str) -> Result<(f64, String), UnitError> {
    if text.is_empty() {
        return Err(UnitError::Empty { example });
    }
    if names_no_number(text) {
        return Err(UnitError::not_finite(text));
    }
    let plain = plain_number_signs(text);
    let end = plain
        .char_indices()
        .find(|&(at, c)| !is_number_char(&plain, at, c))
        .map_or(plain.len(), |(at, _)| at);
    let (number, unit) = plain.split_at(end);
    if unit.starts_with(',') {
        return Err(UnitError::comma(text));
    }
    let value = number_value(number.trim()).ok_or_else(|| UnitError::no_number(text, example))?;
    if value.is_infinite() && number.contains('/') {
        let text = text.to_owned();
        return Err(UnitError::ZeroDenominator { text });
    }
    let unit = unit
        .chars()
        .filter(|c| !c.is_whitespace())
        .map(|c| if c == '²' { '2' } else { c })
        .collect::<String>()
        .replace("^2", "2")
        .replace("^3", "3")
        .replace('³', "3");
    Ok((value, unit))
}

/// Whether `text` starts with `nan` or `inf`, which some number readers would take.
fn names_no_number(text: &str) -> bool {
    let text = text.trim_start_matches(['+', '-']);
    let word: String = text.chars().take_while(|c| c.is_alphabetic()).collect();
    ["nan", "inf", "infinity"].contains(&word.to_lowercase().as_str())
}

/// `text` with the typographic minus and the ready-made fractions spelt out.
fn plain_number_signs(text: &str) -> String {
    const FRACTIONS: [(char, &str); 9] = [
        ('½', "1/2"),
        ('¼', "1/4"),
        ('¾', "3/4"),
        ('⅓', "1/3"),
        ('⅔', "2/3"),
        ('⅛', "1/8"),
        ('⅜', "3/8"),
        ('⅝', "5/8"),
        ('⅞', "7/8"),
    ];
    let mut plain = String::with_capacity(text.len());
    for c in text.chars() {
        if let Some((_, spelt)) = FRACTIONS.iter().find(|(f, _)| *f == c) {
            if plain.ends_with(|c: char| c.is_ascii_digit()) {
                plain.push(' ');
            }
            plain.push_str(spelt);
        } else {
            plain.push(if c == '−' { '-' } else { c });
        }
    }
    plain
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

/// The value of `12.7`, `1e3`, `1/2`, `1 1/2` or `1-1/2`; a sign in front applies to all of it. What
/// is divided by zero is infinite.
fn number_value(number: &str) -> Option<f64> {
    let (sign, number) = match number.strip_prefix('-') {
        Some(rest) => (-1.0, rest),
        None => (1.0, number.strip_prefix('+').unwrap_or(number)),
    };
    let number = number.trim_start();
    let size = if number.contains('/') {
        // A whole number and a fraction stand apart by a space or by the hyphen of the shop floor.
        match number.rsplit_once([' ', '-']) {
            Some((whole, part)) => whole_number(whole.trim_end())? + fraction(part)?,
            None => fraction(number)?,
        }
    } else if number.starts_with(|c: char| c.is_ascii_digit() || c == '.') {
        number.parse().ok()?
    } else {
        return None;
    };
    Some(sign * size)
}

fn fraction(text: &str) -> Option<f64> {
    let (top, bottom) = text.split_once('/')?;
    match (whole_number(top)?, whole_number(bottom)?) {
        (_, 0.0) => Some(f64::INFINITY),
        (top, bottom) => Some(top / bottom),
    }
}

fn whole_number(text: &str) -> Option<f64> {
    let is_plain = text.starts_with(|c: char| c.is_ascii_digit());
    let number: u32 = is_plain.then(|| text.parse().ok())??;
    Some(f64::from(number))
}

/// Reads a share such as `5 %` as a fraction: 0.05.
///
/// # Errors
/// Whatever is not a finite number with a percent sign.
pub fn read_percent(text: &str) -> Result<f64, UnitError> {
    SHARE.value(text)
}

const SHARE: Reading = Reading {
    quantity: "share",
    example: "5 %",
    known: "%",
    units: Units::Listed(&[("%", 0.01), ("percent", 0.01)]),
};

/// How a share is written.
pub(crate) const PERCENT: Form = SHARE.form(|| SHARE.pattern());
