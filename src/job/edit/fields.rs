//! A job file as fields to fill in: what is written, what could be, each with what it says.

use toml_edit::{DocumentMut, Item, Table, TableLike, Value};

use super::written::in_a_field;
use super::{Edit, PlaceStep, place};
use crate::job::keys::{Holds, Key, Keys};
use crate::job::read::JobKeys;
use crate::number::number;
use crate::units::Angle;

/// A table of the job file.
#[derive(Clone)]
pub(crate) struct TableFields {
    /// Where it is.
    pub(crate) at: Vec<PlaceStep>,
    /// What the reference calls such tables: `[[part.ply]]`.
    pub(crate) header: &'static str,
    /// What it is for.
    pub(crate) about: &'static str,
    /// What it says, in the order of the file.
    pub(crate) fields: Vec<Field>,
    /// Keys that it could have, in the order of the reference.
    pub(crate) others: Vec<&'static Key>,
    /// The tables in it: single ones, named ones, and lists of them.
    pub(crate) tables: Vec<TableFields>,
    /// Tables that could be in it: the key, and whether there may be many.
    pub(crate) other_tables: Vec<(&'static Key, Many)>,
}

/// How many tables a key holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Many {
    One,
    Named,
    Listed,
}

/// A key with its value.
#[derive(Clone)]
pub(crate) struct Field {
    pub(crate) name: String,
    /// Its declaration; `None` for a key that the job file does not have.
    pub(crate) key: Option<&'static Key>,
    /// As it stands in a field.
    pub(crate) value: String,
}

/// An angle as a job file has it.
pub(crate) fn in_degrees(angle: Angle) -> String {
    format!("{} deg", number(angle.to_degrees(), 3))
}

impl TableFields {
    /// The changes that give each ply of this part a table of its own, in place of what made them before: cloths, and
    /// angles in the drawing.
    pub(crate) fn ply_tables(&self, plies: impl Iterator<Item = (String, Angle)>) -> Vec<Edit> {
        let written = ["layup", "cloth"].into_iter();
        let written = written.filter(|key| self.value(key).is_some());
        let gone = written.map(|key| Edit::Remove {
            at: self.place_of(key),
        });
        let tables = plies.enumerate().map(|(i, (cloth, angle))| {
            let mut at = self.place_of("ply");
            at.push(PlaceStep::Index(i));
            let keys = vec![
                ("cloth".to_owned(), cloth),
                ("angle".to_owned(), in_degrees(angle)),
            ];
            Edit::Add { at, keys }
        });
        gone.chain(tables).collect()
    }

    /// The whole job file; `None` if it is not TOML.
    pub(crate) fn of(text: &str) -> Option<Self> {
        let file: DocumentMut = text.parse().ok()?;
        Some(Self::read(Vec::new(), JobKeys::keys(), file.as_table()))
    }

    fn read(at: Vec<PlaceStep>, keys: &'static Keys, table: &dyn TableLike) -> Self {
        let mut read = Self {
            at,
            header: keys.header,
            about: keys.about,
            fields: Vec::new(),
            others: Vec::new(),
            tables: Vec::new(),
            other_tables: Vec::new(),
        };
        for (name, item) in table.iter() {
            let key = keys.all().find(|key| key.name == name);
            if let Some(inner) = key.and_then(Key::inner) {
                read.read_inner(name, inner, item, key.is_some_and(is_named));
            } else if let Some(value) = in_a_field(item) {
                read.fields.push(Field {
                    name: name.to_owned(),
                    key,
                    value,
                });
            }
        }
        for key in keys.all() {
            let is_there = table.contains_key(key.name);
            match key.holds {
                Holds::Table(_) if !is_there => read.other_tables.push((key, Many::One)),
                Holds::Table(_) => {}
                Holds::Named(_) => read.other_tables.push((key, Many::Named)),
                Holds::Listed(_) => read.other_tables.push((key, Many::Listed)),
                _ if !is_there => read.others.push(key),
                _ => {}
            }
        }
        read
    }

    fn read_inner(&mut self, name: &str, keys: &'static Keys, item: &Item, is_named: bool) {
        let mut at = self.at.clone();
        at.push(PlaceStep::Key(name.to_owned()));
        let mut push = |step: Option<PlaceStep>, table: &dyn TableLike| {
            let at = at.iter().cloned().chain(step).collect();
            self.tables.push(Self::read(at, keys, table));
        };
        match item {
            Item::ArrayOfTables(list) => {
                for (i, table) in list.iter().enumerate() {
                    push(Some(PlaceStep::Index(i)), table);
                }
            }
            Item::Value(Value::Array(list)) => {
                for (i, table) in list.iter().enumerate() {
                    if let Some(table) = table.as_inline_table() {
                        push(Some(PlaceStep::Index(i)), table);
                    }
                }
            }
            other => {
                let Some(table) = other.as_table_like() else {
                    return;
                };
                if !is_named {
                    return push(None, table);
                }
                for (name, item) in table.iter() {
                    if let Some(table) = item.as_table_like() {
                        push(Some(PlaceStep::Key(name.to_owned())), table);
                    }
                }
            }
        }
    }

    /// The table that this one could have under `key`, with nothing in it yet.
    pub(crate) fn absent(&self, key: &'static Key) -> Option<Self> {
        Some(Self::read(
            self.place_of(key.name),
            key.inner()?,
            &Table::new(),
        ))
    }

    /// What it says under `name`.
    pub(crate) fn value(&self, name: &str) -> Option<&str> {
        let field = self.fields.iter().find(|field| field.name == name)?;
        Some(&field.value)
    }

    /// The tables in it under `key`.
    pub(crate) fn inner<'a>(&'a self, key: &'a str) -> impl Iterator<Item = &'a Self> {
        let depth = self.at.len();
        self.tables
            .iter()
            .filter(move |table| table.at.get(depth..depth + 1) == Some(&place(key)[..]))
    }

    /// The place of `key` in it.
    pub(crate) fn place_of(&self, key: &str) -> Vec<PlaceStep> {
        let own = self.at.iter().cloned();
        own.chain([PlaceStep::Key(key.to_owned())]).collect()
    }
}

fn is_named(key: &Key) -> bool {
    matches!(key.holds, Holds::Named(_))
}
