//! What XML can be made to cost before it is read: refused by a look at the text.
//!
//! The parser keeps the prefixes in scope with every element, holds each attribute against the others of
//! its element, and puts in entities wherever they are named. All three grow with the square of the file.

use std::collections::{BTreeSet, HashMap};

use crate::diag::Diagnostic;

/// Prefixes of namespaces that a file may declare; editors write a dozen.
const MOST_PREFIXES: usize = 100;

/// Attributes that one element may have.
const MOST_ATTRIBUTES: usize = 10_000;

/// Entities that a file may declare.
const MOST_ENTITIES: usize = 1000;

/// Bytes of text that entities may add beyond the file's size.
const MOST_ADDED: u64 = 1 << 20;

/// Refuses text that the parser would take too long over.
///
/// # Errors
/// What there is too much of.
pub(super) fn check(text: &str) -> Result<(), Diagnostic> {
    let refuse = |what: String| {
        let help = "save the drawing as plain SVG";
        Err(Diagnostic::error(what).help(help))
    };
    if prefixes(text) > MOST_PREFIXES {
        return refuse(format!(
            "the file declares more than {MOST_PREFIXES} prefixes of namespaces"
        ));
    }
    let tags = text
        .split('<')
        .filter(|tag| tag.len() > 5 * MOST_ATTRIBUTES);
    if tags.map(attributes).any(|n| n > MOST_ATTRIBUTES) {
        return refuse(format!(
            "an element has more than {MOST_ATTRIBUTES} attributes"
        ));
    }
    match added_by_entities(text) {
        Some(added) if added <= MOST_ADDED + text.len() as u64 => Ok(()),
        _ => refuse("entities make too much text of this file".to_owned()),
    }
}

/// How many different prefixes `text` declares, as far as that matters.
fn prefixes(text: &str) -> usize {
    let mut declared = BTreeSet::new();
    for (at, mark) in text.match_indices("xmlns:") {
        let rest = &text[at + mark.len()..];
        let end = rest.find(|c: char| c == '=' || c.is_ascii_whitespace());
        declared.insert(&rest[..end.unwrap_or(rest.len())]);
        if declared.len() > MOST_PREFIXES {
            break;
        }
    }
    declared.len()
}

/// How many attributes a tag may have at most: a value may hold what looks like one.
fn attributes(tag: &str) -> usize {
    let follows = |(at, _)| tag[at + 1..].trim_ascii_start().starts_with(['"', '\'']);
    tag.match_indices('=').filter(|&m| follows(m)).count()
}

/// How many bytes the entities of `text` stand for, all places where they are named together; `None`
/// if there are too many, or if they name each other in a circle.
fn added_by_entities(text: &str) -> Option<u64> {
    let mut entities: HashMap<&str, Entity<'_>> = HashMap::new();
    for (at, mark) in text.match_indices("<!ENTITY") {
        let rest = text[at + mark.len()..].trim_start();
        let Some(end) = rest.find(|c: char| c.is_ascii_whitespace() || c == '"' || c == '\'')
        else {
            continue;
        };
        let (name, rest) = (&rest[..end], rest[end..].trim_start());
        let Some(quote) = rest.chars().next().filter(|c| matches!(c, '"' | '\'')) else {
            continue;
        };
        let value = rest[1..].split(quote).next().unwrap_or_default();
        // Of two with one name only the first counts for the parser.
        entities.entry(name).or_insert(Entity { value, size: None });
        if entities.len() > MOST_ENTITIES {
            return None;
        }
    }
    if entities.is_empty() {
        return Some(0);
    }
    let names: Vec<&str> = entities.keys().copied().collect();
    for name in names {
        measure(name, &mut entities, 0)?;
    }
    let named = references(text).filter_map(|name| entities.get(name)?.size);
    Some(named.fold(0, u64::saturating_add))
}

struct Entity<'t> {
    value: &'t str,
    /// How many bytes it stands for, once that is known.
    size: Option<u64>,
}

/// Deepest nesting of entities that the parser follows.
const MOST_LEVELS: usize = 10;

/// Finds how many bytes the entity `name` stands for; `None` in a circle.
fn measure<'t>(
    name: &str,
    entities: &mut HashMap<&'t str, Entity<'t>>,
    level: usize,
) -> Option<u64> {
    let Some(entity) = entities.get(name) else {
        return Some(0);
    };
    if entity.size.is_some() {
        return entity.size;
    }
    if level > MOST_LEVELS {
        return None;
    }
    let value = entity.value;
    let mut size = value.len() as u64;
    for inner in references(value) {
        size = size.saturating_add(measure(inner, entities, level + 1)?);
    }
    if let Some(entity) = entities.get_mut(name) {
        entity.size = Some(size);
    }
    Some(size)
}

/// The names of the entities that `text` refers to.
fn references(text: &str) -> impl Iterator<Item = &str> {
    text.split('&').skip(1).filter_map(|rest| {
        let end = rest.bytes().take(1000).position(|b| b == b';')?;
        Some(&rest[..end])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn entities_are_counted_with_what_they_stand_for() {
        let text = |inside: &str| {
            format!(
                "<!DOCTYPE svg [<!ENTITY a '0123456789'><!ENTITY b \"&a;&a;\">]><svg>{inside}</svg>"
            )
        };
        let added = |inside: &str| added_by_entities(&text(inside)).unwrap();
        // The second one counts for its own six letters and for what the two in it stand for.
        assert_eq!(added("&b;&a;") - added(""), 6 + 20 + 10);
        assert_eq!(added_by_entities("<svg>&amp;</svg>"), Some(0));
        assert_eq!(
            added_by_entities("<!ENTITY a '&b;'><!ENTITY b '&a;'>"),
            None
        );
        let bomb = text(&"&b;".repeat(100_000));
        assert!(check(&bomb).is_err());
        assert!(check(&text("&b;")).is_ok());
    }
}
