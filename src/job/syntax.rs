//! Faults of the TOML text itself, in the words of somebody who has not heard of TOML.

use toml::de::{DeTable, Error};

use super::reader::JobReader;
use super::wording::shown;
use crate::diag::Diagnostic;

/// The tables in `text`, which may begin with blanks for another file; `None` after a complaint.
pub(super) fn tables<'t>(reader: &mut JobReader, text: &'t str) -> Option<DeTable<'t>> {
    let (document, errors) = DeTable::parse_recoverable(text);
    if errors.is_empty() {
        return Some(document.into_inner());
    }
    note_faults(reader, text, &errors);
    None
}

/// Notes the first fault that stops the text from being read, and every doubled key.
///
/// What follows the first fault is mostly its consequence, so only doubled keys are listed beyond;
/// and of a doubled table, only its header.
fn note_faults(reader: &mut JobReader, text: &str, errors: &[Error]) {
    let start = |error: &&Error| error.span().map_or(0, |span| span.start);
    let first = errors.iter().filter(|e| !is_doubled(e)).min_by_key(start);
    if let Some(error) = first {
        note(reader, text, error);
    }
    let mut doubled_table = None;
    for error in errors.iter().filter(|e| is_doubled(e)) {
        let at = start(&error);
        if is_header(line_around(text, at)) {
            doubled_table = Some(at);
        } else if doubled_table.is_some_and(|header| in_same_table(text, header, at)) {
            continue;
        }
        note(reader, text, error);
    }
}

fn note(reader: &mut JobReader, text: &str, error: &Error) {
    let span = error.span().unwrap_or(0..0);
    let (message, help) = explain(error, text, span.clone());
    let place = reader.place(span);
    reader.push(Diagnostic::error(message).at(place).help(help));
}

/// Whether no table header stands between the header at `header` and the key at `key`.
fn in_same_table(text: &str, header: usize, key: usize) -> bool {
    let between = text.get(header..key).unwrap_or_default();
    !between.lines().skip(1).any(is_header)
}

fn is_header(line: &str) -> bool {
    line.trim_start().starts_with('[')
}

fn is_doubled(error: &Error) -> bool {
    error.message().starts_with("duplicate key")
}

fn explain(error: &Error, text: &str, span: std::ops::Range<usize>) -> (String, String) {
    let written = text.get(span.clone()).unwrap_or_default();
    let line = line_around(text, span.start);
    let message = error.message();
    if is_doubled(error) {
        return doubled(written, line);
    }
    let starts = |beginning: &str| message.starts_with(beginning);
    if starts("string values must be quoted") || starts("invalid boolean") {
        unquoted(written)
    } else if starts("key with no value") {
        let help =
            "a line is `key = value` or a header such as `[cutting]`; a remark starts with #";
        ("there is no `=` and value here".into(), help.into())
    } else if starts("invalid basic string") || starts("invalid literal string") {
        let help = "close the text with the same quote it starts with, on the same line";
        (
            "a text in quotes is not closed or holds a control character".into(),
            help.into(),
        )
    } else if starts("missing escaped value") {
        let help = "in double quotes write \\\\ for a backslash, or put the text in single quotes";
        ("a backslash stands alone in a text".into(), help.into())
    } else if starts("invalid unquoted key") && written == ":" {
        (
            "there is a `:` where a `=` belongs".into(),
            "write `key = value`".into(),
        )
    } else if starts("unexpected key or value") && written_at(text, span.start).starts_with(',') {
        let help = "the decimal sign is a point; numbers with a unit need quotes: \"1.27 m\"";
        ("a value goes on after a comma".into(), help.into())
    } else if starts("unexpected key or value") {
        (
            "there is more on the line than one key and its value".into(),
            "start a new line; texts and numbers with a unit need quotes around the whole".into(),
        )
    } else if starts("unclosed table") || starts("unclosed array table") {
        (
            "a table header is not closed".into(),
            "close it like it is opened: `[cloth.twill]` or `[[part]]`; names with spaces need quotes"
                .into(),
        )
    } else {
        let help = "a line is `key = value` with texts in quotes, or a header such as `[[part]]`";
        (message.to_owned(), help.into())
    }
}

fn doubled(key: &str, line: &str) -> (String, String) {
    let key = key.trim_matches(['"', '\'']);
    let message = format!("{} is there already", shown(key));
    let help = if !is_header(line) {
        "keep one of the two".to_owned()
    } else if matches!(key, "part" | "ply") {
        "write every `[[part]]` and `[[part.ply]]` in double brackets".to_owned()
    } else {
        "give each table a name of its own, or put all its keys under one header".to_owned()
    };
    (message, help)
}

fn unquoted(written: &str) -> (String, String) {
    let plain = written
        .trim_matches(['“', '”', '„', '‘', '’', '«', '»'])
        .trim();
    if written.is_empty() {
        let help = "write it after the `=`, texts and quantities in quotes: `trim = \"25 mm\"`";
        ("there is no value here".into(), help.into())
    } else if ["true", "false"].contains(&written.to_lowercase().as_str()) {
        (
            format!("{} is not in lower case", shown(written)),
            format!("write {}", written.to_lowercase()),
        )
    } else {
        (
            format!("{} needs plain quotes around it", shown(written)),
            format!("write \"{}\"", shown(plain).trim_matches('`')),
        )
    }
}

fn written_at(text: &str, at: usize) -> &str {
    text.get(at..).unwrap_or_default()
}

fn line_around(text: &str, at: usize) -> &str {
    let before = text.get(..at).unwrap_or_default();
    let start = before.rfind('\n').map_or(0, |newline| newline + 1);
    text[start..].lines().next().unwrap_or_default()
}
