//! The reference of the job file for people, as Markdown.

use std::fmt::Write as _;

use super::kinds::count_word;
use super::{Absent, Holds, Key, Keys, forms, tables};
use crate::job::rules::AngleRule;

/// The reference of all keys of the job file, in Markdown.
#[must_use]
pub fn reference() -> String {
    let mut text = String::from(
        "# The job file, key by key\n\n\
         Written by `warpwise schema --markdown`; `warpwise schema` says the same to an editor, as JSON\n\
         Schema. How to begin is in the [README](../README.md).\n\n\
         A job file is TOML. Text stands in quotes, and so does every quantity, with its unit. A key that\n\
         is marked **required** must be there; of the others the third column tells what is so without them.\n\
         Defaults are common practice, no source, unless a source is named; your data sheets go before them.\n",
    );
    for keys in tables() {
        table(&mut text, keys);
    }
    quantities(&mut text);
    text
}

fn table(text: &mut String, keys: &Keys) {
    _ = match keys.header {
        "the job file" => write!(text, "\n## The whole file\n\n{}\n", keys.about),
        "the shop file" => write!(text, "\n## The shop file\n\n{}\n", keys.about),
        header => write!(text, "\n## `{header}`\n\n{}\n", keys.about),
    };
    text.push_str("\n| key | holds, for example | if left out | meaning |\n|---|---|---|---|\n");
    let inherited = keys.header != "[cutting]";
    let shared = keys.shared.iter().filter(|_| !inherited);
    for key in keys.own.iter().chain(shared) {
        _ = writeln!(
            text,
            "| `{}` | {} | {} | {} |",
            key.name,
            in_cell(&holds(key)),
            in_cell(&absent(key)),
            in_cell(key.about)
        );
    }
    if inherited && !keys.shared.is_empty() {
        let names: Vec<String> = (keys.shared.iter())
            .map(|key| format!("`{}`", key.name))
            .collect();
        _ = writeln!(
            text,
            "| {} | as in [`[cutting]`](#cutting) | as around it | for this alone |",
            names.join(", ")
        );
    }
}

/// What a key holds, with an example where the words alone do not show it.
fn holds(key: &Key) -> String {
    let example = key.written(key.example);
    match &key.holds {
        Holds::Text => format!("text: `{example}`"),
        Holds::Name => format!("name: `{example}`"),
        Holds::Form(form, _) | Holds::Quantity(form) => format!("{}: `{example}`", form.what),
        Holds::Choice(words) => {
            let words: Vec<String> = words.iter().map(|w| format!("`\"{w}\"`")).collect();
            words.join(", ")
        }
        Holds::WordsOf(words) => {
            let words: Vec<String> = words.iter().map(|w| format!("`\"{w}\"`")).collect();
            format!("list of {}", words.join(", "))
        }
        Holds::Words => format!("name or list: `{example}`"),
        Holds::Lengths(n) => format!("{} lengths: `{example}`", count_word(*n)),
        Holds::Direction => format!("a direction in space: `{example}`"),
        Holds::Places => format!("list of places: `{example}`"),
        Holds::Lines => format!("list of lines: `{example}`"),
        Holds::Angle(AngleRule::Ply) => format!("ply angle: `{example}` or degrees"),
        Holds::Angle(_) => format!("angle: `{example}` or degrees"),
        Holds::Number { .. } => format!("number: `{example}`"),
        Holds::Count { most } => format!("whole number, 1 to {most}: `{example}`"),
        Holds::Counts { most } => {
            format!("list of whole numbers, 1 to {most}: `{example}`")
        }
        Holds::Flag => "`true` or `false`".to_owned(),
        Holds::Table(keys) => format!("[table](#{}): `{example}`", anchor(keys())),
        Holds::Named(keys) => format!("[named tables](#{})", anchor(keys())),
        Holds::Listed(keys) => format!("[list of tables](#{}): `{example}`", anchor(keys())),
    }
}

fn absent(key: &Key) -> String {
    match key.absent {
        Absent::Required => "**required**".to_owned(),
        Absent::Is(value) => format!("`{}`", key.written(value)),
        Absent::Means(words) => words.to_owned(),
    }
}

/// Where the heading of a table is found: as usual, small letters without points and brackets.
fn anchor(keys: &Keys) -> String {
    keys.header
        .chars()
        .filter(|c| !"[].".contains(*c))
        .map(|c| c.to_ascii_lowercase())
        .collect()
}

/// A bar would end the cell.
fn in_cell(text: &str) -> String {
    text.replace('|', "\\|")
}

/// How quantities are written, each kind once.
fn quantities(text: &mut String) {
    text.push_str(
        "\n## Quantities\n\n\
         A number and a unit, in quotes: `\"12.7 mm\"`, `\"1/2 in\"`, `\"1 1/2 in\"`, `\"1½ in\"`, `\"50\\\"\"`. The\n\
         decimal sign is a point. `²` and `^2` are as good as `2`. Capitals count.\n\n\
         | quantity | units |\n|---|---|\n",
    );
    for form in forms() {
        _ = writeln!(text, "| {} | {} |", form.what, form.units);
    }
}
