//! Values as a person types them into a field, and as they stand in the file.

use toml_edit::{Item, Value};

use super::PlaceStep;
use crate::job::keys::{Holds, Key, Keys};
use crate::job::read::JobKeys;

/// The value of the key at `at` that a person wrote as `typed`.
pub(super) fn value(at: &[PlaceStep], typed: &str) -> Value {
    let typed = typed.trim();
    let as_toml = || {
        typed.parse::<Value>().map(|mut value| {
            value.decor_mut().clear();
            value
        })
    };
    let is_text = match declared(at).map(|key| &key.holds) {
        // Bare degrees are as good as quoted ones, and stay bare.
        Some(Holds::Angle(_)) => typed.parse::<f64>().is_err(),
        Some(
            Holds::Text | Holds::Name | Holds::Form(..) | Holds::Choice(_) | Holds::Quantity(_),
        ) => true,
        Some(_) => as_toml().is_err(),
        None => !matches!(as_toml(), Ok(value) if !value.is_str()),
    };
    // A stack is as clear without its brackets.
    let is_layup = matches!(at.last(), Some(PlaceStep::Key(key)) if key == "layup");
    if is_layup && !typed.contains('[') {
        return Value::from(format!("[{typed}]"));
    }
    match (is_text, as_toml()) {
        (false, Ok(value)) => value,
        _ => Value::from(typed),
    }
}

/// `item` as it stands in a field: texts without their quotes, all else as TOML has it.
pub(super) fn in_a_field(item: &Item) -> Option<String> {
    let value = item.as_value()?;
    Some(match value.as_str() {
        Some(text) => text.to_owned(),
        None => {
            let mut value = value.clone();
            value.decor_mut().clear();
            value.to_string()
        }
    })
}

/// The declaration of the key at `at`.
fn declared(at: &[PlaceStep]) -> Option<&'static Key> {
    let (last, tables) = at.split_last()?;
    let mut keys: &Keys = JobKeys::keys();
    let mut steps = tables.iter();
    while let Some(step) = steps.next() {
        let PlaceStep::Key(name) = step else {
            return None;
        };
        let key = keys.all().find(|key| key.name == name)?;
        keys = match key.holds {
            Holds::Table(inner) => inner(),
            Holds::Named(inner) | Holds::Listed(inner) => {
                steps.next()?;
                inner()
            }
            _ => return None,
        };
    }
    let PlaceStep::Key(name) = last else {
        return None;
    };
    keys.all().find(|key| key.name == name)
}
