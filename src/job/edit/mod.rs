//! Changes of a job file as a person would make them: comments, order and spacing stay.
//!
//! A change is made in the text, not in a [`Job`](super::Job): what is written is read again like any other
//! job file, and mistakes are told in the same words.
//!
//! # Example
//!
//! ```
//! use warpwise::job::edit::{Edit, edited, place};
//!
//! let text = "[cutting]\ngap = \"4 mm\"   # so that the shears pass\n";
//! let wider = Edit::Set { at: place("cutting.gap"), to: "6 mm".to_owned() };
//! assert_eq!(edited(text, &[wider]).unwrap(), "[cutting]\ngap = \"6 mm\"   # so that the shears pass\n");
//! ```

mod fields;
mod layout;
mod rename;
mod written;

use std::fmt;

use serde::{Deserialize, Serialize};
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, TableLike, Value};

pub(crate) use fields::{Field, Many, TableFields, in_degrees};

/// One change of a job file.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", deny_unknown_fields)]
pub enum Edit {
    /// Writes a key; it and the tables around it may be new. The value is written as the reference
    /// has it: bare where a text or a quantity is held, else as TOML has it.
    Set {
        /// The key.
        at: Vec<PlaceStep>,
        /// The value.
        to: String,
    },
    /// Takes away a key, a table, or one of a list of tables.
    Remove {
        /// What.
        at: Vec<PlaceStep>,
    },
    /// Adds a table to a list of tables, with these keys.
    Add {
        /// Its place in the list, which may be the one behind the last.
        at: Vec<PlaceStep>,
        /// Keys and values, these as in [`Edit::Set`].
        keys: Vec<(String, String)>,
    },
    /// Writes one of a list of tables once more, behind itself.
    Repeat {
        /// Which.
        at: Vec<PlaceStep>,
    },
    /// Moves one of a list of tables to another place of the list.
    Move {
        /// Which.
        at: Vec<PlaceStep>,
        /// Its place afterwards, from 0.
        to: usize,
    },
    /// Gives a table with a name, such as a cloth, another one; what names it follows.
    Rename {
        /// Which.
        at: Vec<PlaceStep>,
        /// Its name afterwards.
        to: String,
    },
}

/// A step from a table to what is in it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum PlaceStep {
    /// One of a list, from 0.
    Index(usize),
    /// A key.
    Key(String),
}

impl Edit {
    /// What it is about.
    #[must_use]
    pub fn at(&self) -> &[PlaceStep] {
        match self {
            Self::Set { at, .. }
            | Self::Remove { at }
            | Self::Add { at, .. }
            | Self::Repeat { at }
            | Self::Move { at, .. }
            | Self::Rename { at, .. } => at,
        }
    }
}

impl fmt::Display for PlaceStep {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Index(index) => write!(f, "{}", index + 1),
            Self::Key(key) => f.write_str(key),
        }
    }
}

/// The steps to `dotted`, such as `part.0.layup`; numbers are places in lists.
#[must_use]
pub fn place(dotted: &str) -> Vec<PlaceStep> {
    let steps = dotted.split('.').map(|step| match step.parse() {
        Ok(index) => PlaceStep::Index(index),
        Err(_) => PlaceStep::Key(step.to_owned()),
    });
    steps.collect()
}

/// `at` in words: `part 1 layup`.
pub(crate) fn words(at: &[PlaceStep]) -> String {
    let steps: Vec<String> = at.iter().map(PlaceStep::to_string).collect();
    steps.join(" ")
}

/// The job file `text` after `edits`, one after the other.
///
/// # Errors
/// The text is not TOML, or there is nothing of the kind at a place; in words.
pub fn edited(text: &str, edits: &[Edit]) -> Result<String, String> {
    edits
        .iter()
        .try_fold(text.to_owned(), |text, edit| one(&text, edit))
}

/// Whether both texts say the same around `at`: of a place in a list, all the list, since its places may
/// have been others.
pub(crate) fn is_same_at(text: &str, other: &str, at: &[PlaceStep]) -> bool {
    let listed = at
        .iter()
        .position(|step| matches!(step, PlaceStep::Index(_)));
    let at = &at[..listed.unwrap_or(at.len())];
    let said = |text: &str| -> Option<Option<String>> {
        let file: DocumentMut = text.parse().ok()?;
        let mut item = file.as_item();
        for step in at {
            let PlaceStep::Key(key) = step else {
                return None;
            };
            match item.as_table_like().and_then(|table| table.get(key)) {
                Some(inner) => item = inner,
                None => return Some(None),
            }
        }
        Some(Some(item.to_string()))
    };
    match (said(text), said(other)) {
        (Some(one), Some(other)) => one == other,
        _ => false,
    }
}

fn one(text: &str, edit: &Edit) -> Result<String, String> {
    let mut file: DocumentMut = text
        .parse()
        .map_err(|_| "the job file is not TOML at the moment: mend it in the editor".to_owned())?;
    match edit {
        Edit::Set { at, to } => set(&mut file, at, to)?,
        Edit::Remove { at } => remove(&mut file, at)?,
        Edit::Add { at, keys } => add(&mut file, at, keys)?,
        Edit::Repeat { at } => repeat(&mut file, at)?,
        Edit::Move { at, to } => {
            let (list, index) = list_at(&mut file, at)?;
            if *to >= list.len() {
                return Err(format!("there is no place {} in that list", to + 1));
            }
            layout::moved(list, index, *to);
        }
        Edit::Rename { at, to } => rename::rename(&mut file, at, to)?,
    }
    Ok(file.to_string())
}

fn nothing_at(at: &[PlaceStep]) -> String {
    format!("the job file has no {}", words(at))
}

fn set(file: &mut DocumentMut, at: &[PlaceStep], to: &str) -> Result<(), String> {
    let Some((PlaceStep::Key(key), tables)) = at.split_last() else {
        return Err(nothing_at(at));
    };
    let value = written::value(at, to);
    let behind = layout::last_position(file.as_table()) + 1;
    let table = table_at(file.as_table_mut(), tables, Some(behind))?;
    match table.get_mut(key) {
        Some(Item::Value(old)) => {
            let decor = old.decor().clone();
            *old = value;
            *old.decor_mut() = decor;
        }
        Some(_) => return Err(format!("{} is a table", words(at))),
        None => {
            table.insert(key, Item::Value(value));
        }
    }
    Ok(())
}

fn remove(file: &mut DocumentMut, at: &[PlaceStep]) -> Result<(), String> {
    let (last, tables) = at.split_last().ok_or_else(|| nothing_at(at))?;
    match last {
        PlaceStep::Key(key) => {
            let table = table_at(file.as_table_mut(), tables, None)?;
            let removed = layout::without_key(table, key).ok_or_else(|| nothing_at(at))?;
            layout::keep_comments(file, &removed);
        }
        PlaceStep::Index(index) if is_inline(file, tables) => {
            let Some((PlaceStep::Key(key), outer)) = tables.split_last() else {
                return Err(nothing_at(at));
            };
            let outer = table_at(file.as_table_mut(), outer, None)?;
            let list = outer.get_mut(key).and_then(Item::as_array_mut);
            let list = list.filter(|list| *index < list.len());
            list.ok_or_else(|| nothing_at(at))?.remove(*index);
        }
        PlaceStep::Index(_) => {
            let (list, index) = list_at(file, at)?;
            let removed = list.remove(index);
            let is_empty = list.is_empty();
            layout::keep_comments(file, &layout::lead_of(&removed));
            // A list without tables would be written as nothing, and read as nothing.
            if is_empty && let Some((PlaceStep::Key(key), tables)) = tables.split_last() {
                table_at(file.as_table_mut(), tables, None)?.remove(key);
            }
        }
    }
    Ok(())
}

/// Whether the list at `at` is written on one line.
fn is_inline(file: &mut DocumentMut, at: &[PlaceStep]) -> bool {
    let Some((PlaceStep::Key(key), outer)) = at.split_last() else {
        return false;
    };
    let outer = table_at(file.as_table_mut(), outer, None);
    outer.is_ok_and(|outer| outer.get(key).is_some_and(Item::is_array))
}

fn add(file: &mut DocumentMut, at: &[PlaceStep], keys: &[(String, String)]) -> Result<(), String> {
    let [tables @ .., PlaceStep::Key(list), PlaceStep::Index(index)] = at else {
        return Err(nothing_at(at));
    };
    let mut fresh = Table::new();
    for (key, to) in keys {
        let at: Vec<PlaceStep> = at
            .iter()
            .cloned()
            .chain([PlaceStep::Key(key.clone())])
            .collect();
        fresh.insert(key, Item::Value(written::value(&at, to)));
    }
    fresh.decor_mut().set_prefix("\n");
    let behind = layout::last_position(file.as_table()) + 1;
    // A cloth of the shop file may have no table here yet.
    let outer = table_at(file.as_table_mut(), tables, Some(behind))?;
    let is_new = !outer.contains_key(list);
    let listed = outer
        .entry(list)
        .or_insert_with(|| Item::ArrayOfTables(ArrayOfTables::new()));
    if let Item::Value(Value::Array(inline)) = listed {
        if *index > inline.len() {
            return Err(nothing_at(at));
        }
        inline.insert(*index, fresh.into_inline_table());
        return Ok(());
    }
    let listed = listed
        .as_array_of_tables_mut()
        .ok_or_else(|| nothing_at(&at[..at.len() - 1]))?;
    if *index > listed.len() {
        return Err(nothing_at(at));
    }
    if is_new && tables.is_empty() {
        fresh.set_position(Some(behind));
    }
    listed.insert(*index, fresh);
    Ok(())
}

fn repeat(file: &mut DocumentMut, at: &[PlaceStep]) -> Result<(), String> {
    let (list, index) = list_at(file, at)?;
    let mut again = list.get(index).cloned().ok_or_else(|| nothing_at(at))?;
    layout::forget_positions(&mut again);
    again.decor_mut().set_prefix("\n");
    list.insert(index + 1, again);
    Ok(())
}

/// The table that `steps` lead to; new ones are made on the way if they have a position to stand at.
fn table_at<'f>(
    root: &'f mut Table,
    steps: &[PlaceStep],
    fresh: Option<isize>,
) -> Result<&'f mut dyn TableLike, String> {
    let mut at: &mut dyn TableLike = root;
    let mut rest = steps.iter().enumerate();
    while let Some((i, step)) = rest.next() {
        let missing = || nothing_at(&steps[..=i]);
        let PlaceStep::Key(key) = step else {
            return Err(missing());
        };
        if !at.contains_key(key) {
            let position = fresh.ok_or_else(missing)?;
            let mut between = layout::fresh_table(position);
            between.set_implicit(i + 1 < steps.len());
            at.insert(key, Item::Table(between));
        }
        let item = at.get_mut(key).ok_or_else(missing)?;
        at = match item {
            Item::ArrayOfTables(list) => {
                let Some((_, PlaceStep::Index(index))) = rest.next() else {
                    return Err(missing());
                };
                list.get_mut(*index).ok_or_else(missing)?
            }
            Item::Value(Value::Array(list)) => {
                let Some((_, PlaceStep::Index(index))) = rest.next() else {
                    return Err(missing());
                };
                let inline = list.get_mut(*index).and_then(Value::as_inline_table_mut);
                inline.ok_or_else(missing)?
            }
            other => other.as_table_like_mut().ok_or_else(missing)?,
        };
    }
    Ok(at)
}

/// The list of tables of which `at` is one, and which one.
fn list_at<'f>(
    file: &'f mut DocumentMut,
    at: &[PlaceStep],
) -> Result<(&'f mut ArrayOfTables, usize), String> {
    let [tables @ .., PlaceStep::Key(key), PlaceStep::Index(index)] = at else {
        return Err(nothing_at(at));
    };
    let outer = table_at(file.as_table_mut(), tables, None)?;
    let list = outer.get_mut(key).and_then(Item::as_array_of_tables_mut);
    match list {
        Some(list) if *index < list.len() => Ok((list, *index)),
        _ => Err(nothing_at(at)),
    }
}

#[cfg(test)]
mod tests;
