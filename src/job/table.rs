//! One table of the job file, as it stands there.
//!
//! Nothing stops at a bad value: it is complained of and counts as left out, so that one run finds
//! every problem, and an error anywhere means that no job comes out.

use toml::de::DeTable;

use super::keys::{Absent, FoundValue, Holds, Key, KeyPlaces, Keys, ValueKind};
use super::reader::JobReader;
use super::wording::{near, shown, suggestion};
use crate::diag::Place;

/// A table of the job file.
#[derive(Clone)]
pub(super) struct JobTable<'t> {
    /// What it describes, for messages: ``cloth `twill` ``.
    pub what: String,
    /// As in its header: `cloth.twill`; empty for the file itself.
    pub path: String,
    /// Its header.
    pub header: Place,
    /// What keys it may have.
    pub keys: &'static Keys,
    pub entries: &'t DeTable<'t>,
}

impl<'t> JobTable<'t> {
    /// Whether the table holds nothing at all.
    pub(super) fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Complains about every key that such a table does not have.
    pub(super) fn check_keys(&self, reader: &mut JobReader) {
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

    /// Complains if `key` is missing.
    pub(super) fn require(&self, reader: &mut JobReader, key: &Key) {
        if !self.entries.contains_key(key.name) && !self.is_misspelt(&[key.name]) {
            let message = format!("{} has no `{}`", self.what, key.name);
            reader.error(
                &self.header,
                message,
                &format!("add {}", key.shown_example()),
            );
        }
    }

    /// The text under `key`, if one is there that says something.
    pub(super) fn text(&self, key: &str) -> Option<&'t str> {
        let text = self.entries.get(key)?.get_ref().as_str()?;
        Some(text).filter(|text| !text.trim().is_empty())
    }

    /// The value of `key`, which `kind` reads, and where it is written, well or not.
    pub(super) fn entry<T>(
        &self,
        reader: &mut JobReader,
        key: &'static Key,
        kind: &impl ValueKind<'t, T>,
    ) -> (Option<T>, Option<KeyPlaces>) {
        let Some((name, value)) = self.entries.get_key_value(key.name) else {
            // That there is no cloth or part is said of the whole job.
            let is_list = matches!(key.holds, Holds::Named(_) | Holds::Listed(_));
            if matches!(key.absent, Absent::Required) && !is_list {
                self.require(reader, key);
            }
            return (None, None);
        };
        let at = KeyPlaces {
            key: reader.place(name.span()),
            value: reader.place(value.span()),
        };
        let found = FoundValue {
            key,
            value: value.get_ref(),
            place: at.value.clone(),
            path: &self.path,
        };
        (kind.read(reader, &found), Some(at))
    }
}

/// The value that `key` has if it is left out.
///
/// # Panics
/// If the declaration gives a default that `kind` does not read.
pub(super) fn usual<T>(key: &'static Key, kind: &impl for<'x> ValueKind<'x, T>) -> T {
    let Absent::Is(text) = key.absent else {
        panic!("`{}` has no default", key.name);
    };
    let line = format!("it = {}", key.written(text));
    let table = DeTable::parse(&line).expect("defaults are TOML");
    let value = table.get_ref().get("it").expect("it was just written");
    let found = FoundValue {
        key,
        value: value.get_ref(),
        place: Place::File(String::new()),
        path: "",
    };
    let value = kind.read(&mut JobReader::new("", ""), &found);
    value.unwrap_or_else(|| panic!("the default of `{}` is wrong", key.name))
}
