//! Reads one table of the job file key by key and notes what is wrong with each value.
//!
//! A getter returns `None` both for an absent key and for a value it has complained about: the
//! caller goes on with a stand-in, so that one run finds every problem, and an error anywhere means
//! that no job comes out.

use std::ops::Range;
use std::str::FromStr;
use std::sync::Arc;

use toml::de::{DeTable, DeValue};

use super::Located;
use super::rules::{AngleRule, LengthRule};
use crate::diag::{Diagnostic, Diagnostics, Place, Severity, Source, nearest};
use crate::units::{Angle, Length, UnitError};

/// After this many problems reading stops. Larger: a file that is no job file at all floods the
/// screen; smaller: mending a long job takes more runs.
const MAX_PROBLEMS: usize = 100;

/// The file that is read and the problems found so far.
pub(super) struct Reader {
    source: Arc<Source>,
    problems: Vec<Diagnostic>,
}

impl Reader {
    pub(super) fn new(file_name: &str, text: &str) -> Self {
        Self {
            source: Arc::new(Source {
                name: file_name.to_owned(),
                text: text.to_owned(),
            }),
            problems: Vec::new(),
        }
    }

    /// The place of `span`, cut off at the end of its first line.
    pub(super) fn place(&self, span: Range<usize>) -> Place {
        let line_end = self
            .source
            .text
            .get(span.clone())
            .and_then(|text| text.find('\n'))
            .map_or(span.end, |at| span.start + at);
        Place::Text {
            source: Arc::clone(&self.source),
            span: span.start..line_end,
        }
    }

    /// The file as a whole.
    pub(super) fn file(&self) -> Place {
        Place::File(self.source.name.clone())
    }

    /// Line number of `place`, from 1.
    pub(super) fn line(&self, place: &Place) -> usize {
        match place {
            Place::Text { span, .. } => {
                let before = self.source.text.get(..span.start).unwrap_or_default();
                before.matches('\n').count() + 1
            }
            _ => 1,
        }
    }

    pub(super) fn push(&mut self, problem: Diagnostic) {
        if !self.is_full() {
            self.problems.push(problem);
        }
    }

    /// Whether there are so many problems that it is no use to go on.
    pub(super) fn is_full(&self) -> bool {
        self.problems.len() >= MAX_PROBLEMS
    }

    pub(super) fn error(&mut self, place: &Place, message: impl Into<String>, help: &str) {
        self.push(Diagnostic::error(message).at(place.clone()).help(help));
    }

    pub(super) fn warn(&mut self, place: &Place, message: impl Into<String>, help: &str) {
        self.push(Diagnostic::warning(message).at(place.clone()).help(help));
    }

    pub(super) fn has_errors(&self) -> bool {
        // A full list stopped the reading, so the job is not whole.
        self.is_full() || self.problems.iter().any(|p| p.severity == Severity::Error)
    }

    /// All problems, in the order of the file.
    pub(super) fn finish(mut self) -> Diagnostics {
        self.problems.sort_by_key(|problem| match &problem.place {
            Some(Place::Text { span, .. }) => span.start,
            _ => 0,
        });
        if self.is_full() {
            let file = self.file();
            self.problems.push(
                Diagnostic::error("there may be more problems; reading stopped here")
                    .at(file)
                    .help("mend the ones above first"),
            );
        }
        let mut sorted = Diagnostics::new();
        self.problems.into_iter().for_each(|p| sorted.push(p));
        sorted
    }

    /// Place of `part` (a byte range in `text`) inside a value whose place is `place`; the whole
    /// value where its text is not written plainly, for example with escapes.
    pub(super) fn within(&self, place: &Place, text: &str, part: Range<usize>) -> Place {
        if let Place::Text { source, span } = place {
            let start = span.start + 1;
            if source.text.get(start..start + text.len()) == Some(text) {
                return self.place(start + part.start..start + part.end);
            }
        }
        place.clone()
    }
}

/// What is wrong with a value.
pub(super) struct Complaint {
    message: String,
    help: String,
}

impl Complaint {
    pub(super) fn new(message: impl Into<String>, help: impl Into<String>) -> Self {
        Self {
            message: message.into(),
            help: help.into(),
        }
    }
}

/// A table of the job file.
pub(super) struct Table<'t> {
    /// What it describes, for messages: ``cloth `twill` ``.
    pub what: String,
    /// Its header.
    pub header: Place,
    entries: &'t DeTable<'t>,
}

impl<'t> Table<'t> {
    pub(super) fn new(what: impl Into<String>, header: Place, entries: &'t DeTable<'t>) -> Self {
        Self {
            what: what.into(),
            header,
            entries,
        }
    }

    /// Whether the table holds nothing at all.
    pub(super) fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Whether the key is there, well written or not.
    pub(super) fn has(&self, key: &str) -> bool {
        self.entries.contains_key(key)
    }

    /// Place of a key.
    pub(super) fn key_place(&self, reader: &Reader, key: &str) -> Option<Place> {
        let (key, _) = self.entries.get_key_value(key)?;
        Some(reader.place(key.span()))
    }

    /// Complains about every key that is not in `known`.
    pub(super) fn check_keys(&self, reader: &mut Reader, kind: &str, known: &[&str]) {
        for (key, _) in self.entries {
            let word: &str = key.get_ref();
            if known.contains(&word) {
                continue;
            }
            if reader.is_full() {
                return;
            }
            let place = reader.place(key.span());
            let help = suggestion(word, known, &format!("keys of {kind} are"));
            reader.error(&place, format!("{kind} has no key {}", shown(word)), &help);
        }
    }

    /// Complains if a key is missing.
    pub(super) fn require(&self, reader: &mut Reader, key: &str, example: &str) {
        if !self.has(key) {
            let message = format!("{} has no `{key}`", self.what);
            reader.error(&self.header, message, &format!("add `{key} = {example}`"));
        }
    }

    /// Reads the value of `key`, or complains.
    fn value<T>(
        &self,
        reader: &mut Reader,
        key: &str,
        read: impl FnOnce(&'t DeValue<'t>) -> Result<T, Complaint>,
    ) -> Option<Located<T>> {
        let found = self.entries.get(key)?;
        let place = reader.place(found.span());
        match read(found.get_ref()) {
            Ok(value) => Some(Located { value, place }),
            Err(complaint) => {
                reader.error(&place, complaint.message, &complaint.help);
                None
            }
        }
    }

    /// A text that says something.
    pub(super) fn word(
        &self,
        reader: &mut Reader,
        key: &str,
        example: &str,
    ) -> Option<Located<String>> {
        self.value(reader, key, |value| {
            let text = text_of(key, value, example)?;
            if text.trim().is_empty() {
                Err(Complaint::new(
                    format!("`{key}` is empty"),
                    format!("write for example `{key} = {example}`"),
                ))
            } else {
                Ok(text.to_owned())
            }
        })
    }

    /// One of a few words.
    pub(super) fn choice<T: Copy>(
        &self,
        reader: &mut Reader,
        key: &str,
        choices: &[(&str, T)],
    ) -> Option<Located<T>> {
        self.value(reader, key, |value| {
            let words: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
            let text = text_of(key, value, &format!("\"{}\"", words[0]))?;
            choices
                .iter()
                .find(|(word, _)| *word == text)
                .map(|(_, choice)| *choice)
                .ok_or_else(|| {
                    Complaint::new(
                        format!("`{key}` cannot be {}", shown(text)),
                        suggestion(text, &words, "it is one of"),
                    )
                })
        })
    }

    /// A quantity with a unit, in quotes.
    pub(super) fn quantity<T: FromStr<Err = UnitError>>(
        &self,
        reader: &mut Reader,
        key: &str,
        example: &str,
    ) -> Option<Located<T>> {
        self.read_with(reader, key, example, str::parse)
    }

    /// A quantity in quotes, read by `read`.
    pub(super) fn read_with<T>(
        &self,
        reader: &mut Reader,
        key: &str,
        example: &str,
        read: impl FnOnce(&str) -> Result<T, UnitError>,
    ) -> Option<Located<T>> {
        let quoted = format!("\"{example}\"");
        self.value(reader, key, |value| {
            if let Some(number) = number_text(value) {
                return Err(bare_number(key, number, example));
            }
            let text = text_of(key, value, &quoted)?;
            read(text).map_err(|error| unit_complaint(key, &error, example))
        })
    }

    /// A length that keeps `rule`.
    pub(super) fn length(
        &self,
        reader: &mut Reader,
        key: &str,
        rule: &LengthRule,
    ) -> Option<Located<Length>> {
        let length: Located<Length> = self.quantity(reader, key, rule.example)?;
        rule.check(reader, key, &length).then_some(length)
    }

    /// An angle that keeps `rule`: `"45 deg"`, or a bare number of degrees.
    pub(super) fn angle(
        &self,
        reader: &mut Reader,
        key: &str,
        rule: &AngleRule,
    ) -> Option<Located<Angle>> {
        let angle = self.value(reader, key, |value| match number_text(value) {
            Some(text) => finite(key, value, text).map(Angle::degrees),
            None => {
                let text = text_of(key, value, "\"45 deg\"")?;
                if text.contains('±') || text.contains("+-") || text.contains("+/-") {
                    return Err(Complaint::new(
                        format!("{} is two angles; a ply has one", shown(text)),
                        "write \"45 deg\": a biaxial at 45 deg carries fibres at 45 and -45 deg, \
                         and so does a woven cloth",
                    ));
                }
                text.parse()
                    .map_err(|error| unit_complaint(key, &error, "45 deg"))
            }
        })?;
        rule.check(reader, key, &angle).then_some(angle)
    }

    /// A number without a unit, not below `least`.
    pub(super) fn number(
        &self,
        reader: &mut Reader,
        key: &str,
        example: &str,
        least: f64,
    ) -> Option<Located<f64>> {
        self.value(reader, key, |value| {
            let text = number_text(value)
                .ok_or_else(|| wrong_type(key, value, "a number without quotes", example))?;
            let number = finite(key, value, text)?;
            if number < least {
                return Err(Complaint::new(
                    format!("`{key}` is below {least}"),
                    format!("write for example `{key} = {example}`"),
                ));
            }
            Ok(number)
        })
    }

    /// A whole number from 1 to `most`.
    pub(super) fn count(&self, reader: &mut Reader, key: &str, most: u32) -> Option<Located<u32>> {
        self.value(reader, key, |value| {
            let DeValue::Integer(integer) = value else {
                return Err(wrong_type(key, value, "a whole number without quotes", "2"));
            };
            // A number that does not even fit i64 is too large in any case.
            let count = i64::from_str_radix(integer.as_str(), integer.radix()).unwrap_or(i64::MAX);
            u32::try_from(count)
                .ok()
                .filter(|count| (1..=most).contains(count))
                .ok_or_else(|| {
                    Complaint::new(
                        format!("`{key}` cannot be {}", shown(integer.as_str())),
                        format!("write a whole number from 1 to {most}"),
                    )
                })
        })
    }

    /// `true` or `false`.
    pub(super) fn flag(&self, reader: &mut Reader, key: &str) -> Option<Located<bool>> {
        self.value(reader, key, |value| match value {
            DeValue::Boolean(flag) => Ok(*flag),
            _ => Err(wrong_type(
                key,
                value,
                "true or false without quotes",
                "true",
            )),
        })
    }

    /// The table `[key]`.
    pub(super) fn table(&self, reader: &mut Reader, key: &str, what: &str) -> Option<Self> {
        let found = self.value(reader, key, |value| {
            value.as_table().ok_or_else(|| {
                Complaint::new(
                    format!("`{key}` is {}, not a table", type_name(value)),
                    format!("write `[{key}]` on a line of its own and the keys below it"),
                )
            })
        })?;
        Some(Self::new(what, found.place, found.value))
    }

    /// The tables `[key.NAME]` with their names, in the order of the file.
    pub(super) fn named_tables(
        &self,
        reader: &mut Reader,
        key: &str,
    ) -> Vec<(Located<String>, Self)> {
        let Some(found) = self.entries.get(key) else {
            return Vec::new();
        };
        let help = format!("give each {key} a name in its header, for example `[{key}.twill]`");
        let DeValue::Table(tables) = found.get_ref() else {
            let place = reader.place(found.span());
            reader.error(&place, format!("a {key} has no name"), &help);
            return Vec::new();
        };
        let mut named = Vec::new();
        let mut complained = false;
        for (name, value) in tables {
            let place = reader.place(name.span());
            let Some(entries) = value.get_ref().as_table() else {
                // Once is enough: the others most likely stand under the same bare header.
                if !complained {
                    let message = format!("{} stands in no named {key}", shown(name.get_ref()));
                    reader.error(&place, message, &help);
                    complained = true;
                }
                continue;
            };
            let what = format!("{key} {}", shown(name.get_ref()));
            let header = reader.place(value.span());
            let name = Located {
                value: name.get_ref().to_string(),
                place,
            };
            named.push((name, Self::new(what, header, entries)));
        }
        named
    }

    /// The tables `[[header]]` under `key`, in the order of the file.
    pub(super) fn listed_tables(&self, reader: &mut Reader, key: &str, header: &str) -> Vec<Self> {
        let Some(found) = self.entries.get(key) else {
            return Vec::new();
        };
        let help = format!("start each with `[[{header}]]`, in double brackets");
        let DeValue::Array(list) = found.get_ref() else {
            let place = reader.place(found.span());
            reader.error(&place, format!("`{key}` is not a list of tables"), &help);
            return Vec::new();
        };
        let mut tables = Vec::new();
        for (index, element) in list.iter().enumerate() {
            let place = reader.place(element.span());
            match element.get_ref().as_table() {
                Some(entries) => {
                    tables.push(Self::new(format!("{key} {}", index + 1), place, entries));
                }
                None => {
                    let message =
                        format!("{} in the list of `{key}`", type_name(element.get_ref()));
                    reader.error(&place, message, &help);
                }
            }
        }
        tables
    }
}

/// `did you mean …`, if one of `known` is near, and the list of all.
pub(super) fn suggestion(word: &str, known: &[&str], all_are: &str) -> String {
    let all = format!("{all_are} {}", known.join(", "));
    match near(word, known) {
        Some(near) => format!("did you mean `{near}`? {all}"),
        None => all,
    }
}

/// The word of `known` that is nearest to `word` as a whole, or in what follows its first `_`
/// (`width` is near `roll_width`).
fn near<'k>(word: &str, known: &[&'k str]) -> Option<&'k str> {
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
    let mut short: String = text
        .chars()
        .take(MOST)
        .flat_map(char::escape_debug_plain)
        .collect();
    if text.chars().nth(MOST).is_some() {
        short.push('…');
    }
    format!("`{short}`")
}

/// Escapes what would break a line of a message, and leaves quotes alone.
trait EscapePlain {
    fn escape_debug_plain(self) -> Vec<char>;
}

impl EscapePlain for char {
    fn escape_debug_plain(self) -> Vec<char> {
        if self.is_control() {
            self.escape_debug().collect()
        } else {
            vec![self]
        }
    }
}

fn type_name(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "a text",
        DeValue::Integer(_) | DeValue::Float(_) => "a number",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

fn wrong_type(key: &str, value: &DeValue<'_>, wanted: &str, example: &str) -> Complaint {
    Complaint::new(
        format!("`{key}` is {}; it must be {wanted}", type_name(value)),
        format!("write for example `{key} = {example}`"),
    )
}

fn text_of<'v>(key: &str, value: &'v DeValue<'_>, example: &str) -> Result<&'v str, Complaint> {
    value
        .as_str()
        .ok_or_else(|| wrong_type(key, value, "a text in quotes", example))
}

/// The digits of a bare number.
fn number_text<'v>(value: &'v DeValue<'_>) -> Option<&'v str> {
    match value {
        DeValue::Integer(integer) => Some(integer.as_str()),
        DeValue::Float(float) => Some(float.as_str()),
        _ => None,
    }
}

/// A bare number as a finite value; TOML itself allows `nan` and `inf`.
fn finite(key: &str, value: &DeValue<'_>, text: &str) -> Result<f64, Complaint> {
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
fn bare_number(key: &str, number: &str, example: &str) -> Complaint {
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

fn unit_complaint(key: &str, error: &UnitError, example: &str) -> Complaint {
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
