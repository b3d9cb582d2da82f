//! Reads one table of the job file key by key and notes what is wrong with each value.
//!
//! A getter returns `None` both for an absent key and for a value it has complained about: the
//! caller goes on with a stand-in, so that one run finds every problem, and an error anywhere means
//! that no job comes out.

use toml::de::{DeTable, DeValue};

use super::Located;
use super::keys::{self, Holds, Keys};
use super::reader::Reader;
use super::rules;
use super::wording::{
    Complaint, bare_number, finite, near, number_text, shown, suggestion, text_of, type_name,
    unit_complaint, wrong_type,
};
use crate::diag::Place;
use crate::units::{Angle, Length, UnitError, Written};

/// A table of the job file.
///
/// What its keys hold stands in [`Keys`]; a getter that reads a key as something else, or that reads
/// a key that is not listed there, is a fault of the program and panics.
pub(super) struct Table<'t> {
    /// What it describes, for messages: ``cloth `twill` ``.
    pub what: String,
    /// Its header.
    pub header: Place,
    keys: &'static Keys,
    entries: &'t DeTable<'t>,
}

impl<'t> Table<'t> {
    /// The table of the whole job file.
    pub(super) fn of_job(header: Place, entries: &'t DeTable<'t>) -> Self {
        Self::new("the job", header, &keys::JOB, entries)
    }

    fn new(
        what: impl Into<String>,
        header: Place,
        keys: &'static Keys,
        entries: &'t DeTable<'t>,
    ) -> Self {
        Self {
            what: what.into(),
            header,
            keys,
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

    /// `key = example`, in back quotes.
    pub(super) fn example(&self, key: &str) -> String {
        format!("`{key} = {}`", self.keys.key(key).quoted_example())
    }

    /// Complains about every key that such a table does not have.
    pub(super) fn check_keys(&self, reader: &mut Reader) {
        let (kind, known) = (self.keys.kind, &self.keys.names()[..]);
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

    /// Whether a key that is not known looks like one of `keys`: then one complaint, about it, is
    /// enough.
    pub(super) fn is_misspelt(&self, keys: &[&str]) -> bool {
        let known = self.keys.names();
        (self.entries.keys())
            .filter(|own| !known.contains(&own.get_ref().as_ref()))
            .filter_map(|own| near(own.get_ref(), &known))
            .any(|meant| keys.contains(&meant))
    }

    /// Complains if a key is missing.
    pub(super) fn require(&self, reader: &mut Reader, key: &str) {
        if !self.has(key) && !self.is_misspelt(&[key]) {
            let example = self.keys.key(key).quoted_example();
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
    pub(super) fn word(&self, reader: &mut Reader, key: &str) -> Option<Located<String>> {
        let known = self.keys.key(key);
        debug_assert!(
            matches!(known.holds, Holds::Text | Holds::Name | Holds::Form(..)),
            "`{key}` is no text"
        );
        let example = &known.quoted_example()[..];
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

    /// A text or a whole number, or a list of them: names of layers, colours.
    pub(super) fn words(&self, reader: &mut Reader, key: &str) -> Option<Located<Vec<String>>> {
        const MOST: usize = 200;
        let known = self.keys.key(key);
        debug_assert!(
            matches!(
                known.holds,
                Holds::Words | Holds::WordsOf(_) | Holds::TwoLengths
            ),
            "`{key}` is no list"
        );
        let example = &known.quoted_example()[..];
        self.value(reader, key, |value| {
            let one = |value: &DeValue<'_>| match value {
                DeValue::String(text) if !text.trim().is_empty() => Ok(text.to_string()),
                DeValue::Integer(integer) => Ok(integer.as_str().to_owned()),
                _ => Err(wrong_type(
                    key,
                    value,
                    "a name in quotes, or a list of them",
                    example,
                )),
            };
            let DeValue::Array(list) = value else {
                return Ok(vec![one(value)?]);
            };
            if list.len() > MOST {
                let message = format!("`{key}` lists more than {MOST} names");
                return Err(Complaint::new(message, "shorten the list"));
            }
            list.iter().map(|element| one(element.get_ref())).collect()
        })
    }

    /// One of a few words.
    pub(super) fn choice<T: Copy>(
        &self,
        reader: &mut Reader,
        key: &str,
        choices: &[(&str, T)],
    ) -> Option<Located<T>> {
        let words: Vec<&str> = choices.iter().map(|(word, _)| *word).collect();
        debug_assert!(
            matches!(&self.keys.key(key).holds, Holds::Choice(known) if known() == words),
            "`{key}` is no choice of {words:?}"
        );
        self.value(reader, key, |value| {
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
    pub(super) fn quantity<T: Written>(
        &self,
        reader: &mut Reader,
        key: &str,
    ) -> Option<Located<T>> {
        debug_assert!(
            match &self.keys.key(key).holds {
                Holds::Quantity(form) => form.what == T::FORM.what,
                Holds::Length(_) => T::FORM.what == Length::FORM.what,
                _ => false,
            },
            "`{key}` is no {}",
            T::FORM.what
        );
        self.read_text(reader, key, str::parse)
    }

    /// A text of a form of its own, read by `read`.
    pub(super) fn read_with<T>(
        &self,
        reader: &mut Reader,
        key: &str,
        read: impl FnOnce(&str) -> Result<T, UnitError>,
    ) -> Option<Located<T>> {
        debug_assert!(
            matches!(&self.keys.key(key).holds, Holds::Form(..)),
            "`{key}` has no form of its own"
        );
        self.read_text(reader, key, read)
    }

    /// A quantity in quotes, read by `read`.
    fn read_text<T>(
        &self,
        reader: &mut Reader,
        key: &str,
        read: impl FnOnce(&str) -> Result<T, UnitError>,
    ) -> Option<Located<T>> {
        let example = self.keys.key(key).example;
        let quoted = format!("\"{example}\"");
        self.value(reader, key, |value| {
            if let Some(number) = number_text(value) {
                return Err(bare_number(key, number, example));
            }
            let text = text_of(key, value, &quoted)?;
            read(text).map_err(|error| match (&self.keys.key(key).holds, &error) {
                // A misspelt word is no number that lacks something.
                (Holds::Form(form, [_, ..]), UnitError::NoNumber { text, .. }) => Complaint::new(
                    format!("`{key}` cannot be {}", shown(text)),
                    format!("it is {}", form.units),
                ),
                _ => unit_complaint(key, &error, example),
            })
        })
    }

    /// A length that keeps the rule of its key.
    pub(super) fn length(&self, reader: &mut Reader, key: &str) -> Option<Located<Length>> {
        let Holds::Length(rule) = self.keys.key(key).holds else {
            panic!("`{key}` is no length with a rule");
        };
        let length: Located<Length> = self.quantity(reader, key)?;
        rule.check(reader, key, &length).then_some(length)
    }

    /// A list of places, each two lengths: along the roll and across it.
    pub(super) fn places(
        &self,
        reader: &mut Reader,
        key: &str,
    ) -> Option<Located<Vec<[Length; 2]>>> {
        const MOST: usize = 10_000;
        let known = self.keys.key(key);
        debug_assert!(
            matches!(known.holds, Holds::Places),
            "`{key}` is no list of places"
        );
        let example = known.example;
        let wrong =
            |value: &DeValue<'_>| wrong_type(key, value, "a list of pairs of lengths", example);
        let one = |value: &DeValue<'_>| {
            let text = value.as_str().ok_or_else(|| wrong(value))?;
            let length: Length = (text.parse()).map_err(|e| unit_complaint(key, &e, "60 mm"))?;
            if length.to_mm().abs() > rules::FARTHEST_MM {
                let message = format!("{} is impossibly far", shown(text));
                return Err(Complaint::new(
                    message,
                    "a roll is at most some hundred metres long",
                ));
            }
            Ok(length)
        };
        self.value(reader, key, |value| {
            let list = value.as_array().ok_or_else(|| wrong(value))?;
            if list.len() > MOST {
                let message = format!("`{key}` lists more than {MOST} places");
                return Err(Complaint::new(message, "shorten the list"));
            }
            list.iter()
                .map(|pair| {
                    let value = pair.get_ref();
                    match value.as_array().map(|pair| &pair[..]) {
                        Some([x, y]) => Ok([one(x.get_ref())?, one(y.get_ref())?]),
                        _ => Err(wrong(value)),
                    }
                })
                .collect()
        })
    }

    /// An angle that keeps the rule of its key: `"45 deg"`, or a bare number of degrees.
    pub(super) fn angle(&self, reader: &mut Reader, key: &str) -> Option<Located<Angle>> {
        let Holds::Angle(rule) = &self.keys.key(key).holds else {
            panic!("`{key}` is no angle");
        };
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

    /// A number without a unit, not below the least its key takes.
    pub(super) fn number(&self, reader: &mut Reader, key: &str) -> Option<Located<f64>> {
        let known = self.keys.key(key);
        let Holds::Number { least, .. } = known.holds else {
            panic!("`{key}` is no number");
        };
        let example = known.example;
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

    /// A whole number from 1 to the most its key takes.
    pub(super) fn count(&self, reader: &mut Reader, key: &str) -> Option<Located<u32>> {
        let Holds::Count { most } = self.keys.key(key).holds else {
            panic!("`{key}` is no count");
        };
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
        debug_assert!(
            matches!(self.keys.key(key).holds, Holds::Flag),
            "`{key}` is no flag"
        );
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
        let Holds::Table(keys) = self.keys.key(key).holds else {
            panic!("`{key}` is no table");
        };
        let found = self.value(reader, key, |value| {
            value.as_table().ok_or_else(|| {
                Complaint::new(
                    format!("`{key}` is {}, not a table", type_name(value)),
                    format!("write `[{key}]` on a line of its own and the keys below it"),
                )
            })
        })?;
        Some(Self::new(what, found.place, keys, found.value))
    }

    /// The tables `[key.NAME]` with their names, in the order of the file.
    pub(super) fn named_tables(
        &self,
        reader: &mut Reader,
        key: &str,
    ) -> Vec<(Located<String>, Self)> {
        let Holds::Named(keys) = self.keys.key(key).holds else {
            panic!("`{key}` holds no named tables");
        };
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
            named.push((name, Self::new(what, header, keys, entries)));
        }
        named
    }

    /// The tables `[[header]]` under `key`, in the order of the file.
    pub(super) fn listed_tables(&self, reader: &mut Reader, key: &str, header: &str) -> Vec<Self> {
        let Holds::Listed(keys) = self.keys.key(key).holds else {
            panic!("`{key}` holds no list of tables");
        };
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
                    tables.push(Self::new(
                        format!("{key} {}", index + 1),
                        place,
                        keys,
                        entries,
                    ));
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
