//! Another name for a cloth of the job, with all that names it.

use toml_edit::{DocumentMut, Item, Table, TableLike, Value};

use super::{PlaceStep, nothing_at, table_at, words};

pub(super) fn rename(file: &mut DocumentMut, at: &[PlaceStep], to: &str) -> Result<(), String> {
    let to = to.trim();
    let Some((PlaceStep::Key(from), tables)) = at.split_last() else {
        return Err(nothing_at(at));
    };
    if to.is_empty() {
        return Err(format!("{} needs a name", words(at)));
    }
    if to == from {
        return Ok(());
    }
    let named = table_at(file.as_table_mut(), tables, None)?;
    if named.contains_key(to) {
        return Err(format!("there is a {} {to} already", words(tables)));
    }
    let item = named.remove(from).ok_or_else(|| nothing_at(at))?;
    named.insert(to, item);
    if matches!(tables, [PlaceStep::Key(key)] if key == "cloth") {
        follow(file.as_table_mut(), from, to);
    }
    Ok(())
}

/// Lets every part and ply that names the cloth `from` name `to`.
fn follow(job: &mut Table, from: &str, to: &str) {
    each_of(job.get_mut("part"), &mut |part| {
        name_anew(part, from, to);
        each_of(part.get_mut("ply"), &mut |ply| name_anew(ply, from, to));
    });
}

/// Does `what` to each table of a list, however it is written.
fn each_of(list: Option<&mut Item>, what: &mut dyn FnMut(&mut dyn TableLike)) {
    match list {
        Some(Item::ArrayOfTables(list)) => list.iter_mut().for_each(|table| what(table)),
        Some(Item::Value(Value::Array(list))) => {
            let tables = list.iter_mut().filter_map(Value::as_inline_table_mut);
            tables.for_each(|table| what(table));
        }
        _ => {}
    }
}

fn name_anew(table: &mut dyn TableLike, from: &str, to: &str) {
    if let Some(Item::Value(value)) = table.get_mut("cloth")
        && value.as_str() == Some(from)
    {
        let decor = value.decor().clone();
        *value = Value::from(to);
        *value.decor_mut() = decor;
    }
}
