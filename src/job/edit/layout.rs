//! Where tables stand in the text, and which comments belong to them.
//!
//! What stands above a header up to the last empty line belongs to the place in the file, such as the title
//! of a section; what stands right above the header belongs to the table and goes where it goes.

use toml_edit::{ArrayOfTables, Decor, DocumentMut, Item, Table, TableLike};

/// A table with a header of its own, an empty line above.
pub(super) fn fresh_table(position: isize) -> Table {
    let mut table = Table::new();
    table.set_position(Some(position));
    table.decor_mut().set_prefix("\n");
    table
}

/// The place of the last table of the text.
pub(super) fn last_position(table: &Table) -> isize {
    let inner = inner(table).map(last_position).max();
    inner.max(table.position()).unwrap_or(0)
}

/// The tables with headers right inside `table`.
fn inner(table: &Table) -> impl Iterator<Item = &Table> {
    table.iter().flat_map(|(_, item)| {
        let one = item.as_table().into_iter();
        let listed = item.as_array_of_tables().into_iter().flatten();
        one.chain(listed)
    })
}

fn each(table: &mut Table, act: &mut dyn FnMut(&mut Table)) {
    act(table);
    for (_, item) in table.iter_mut() {
        match item {
            Item::Table(inner) => each(inner, act),
            Item::ArrayOfTables(list) => list.iter_mut().for_each(|inner| each(inner, act)),
            _ => {}
        }
    }
}

/// Lets `table` and all in it stand behind what comes before them.
pub(super) fn forget_positions(table: &mut Table) {
    each(table, &mut |table| table.set_position(None));
}

/// Moves the table at `from` to `to`; what it holds moves with it.
pub(super) fn moved(list: &mut ArrayOfTables, from: usize, to: usize) {
    let mut order: Vec<usize> = (0..list.len()).collect();
    let moved = order.remove(from);
    order.insert(to, moved);

    let leads: Vec<Lead> = list.iter().map(|table| Lead::of(table.decor())).collect();
    let positions = |table: &Table| {
        let mut found = Vec::new();
        each(&mut table.clone(), &mut |t| found.extend(t.position()));
        found.sort_unstable();
        found
    };
    let old: Vec<Vec<isize>> = list.iter().map(positions).collect();
    let mut places: Vec<isize> = old.iter().flatten().copied().collect();
    places.sort_unstable();
    let mut places = places.into_iter();
    for (place, &which) in order.iter().enumerate() {
        let fresh: Vec<isize> = places.by_ref().take(old[which].len()).collect();
        let Some(table) = list.get_mut(which) else {
            continue;
        };
        each(table, &mut |t| {
            let at = t.position().and_then(|p| old[which].binary_search(&p).ok());
            if let Some(at) = at {
                t.set_position(Some(fresh[at]));
            }
        });
        let lead = format!("{}{}", leads[place].of_place, leads[which].own);
        table.decor_mut().set_prefix(lead);
    }
}

/// What stands above a header or a key.
struct Lead {
    /// Up to the last empty line.
    of_place: String,
    own: String,
}

impl Lead {
    fn of(decor: &Decor) -> Self {
        let prefix = decor.prefix().and_then(|prefix| prefix.as_str());
        let prefix = prefix.unwrap_or_default();
        let lines: Vec<&str> = prefix.split_inclusive('\n').collect();
        let empty = lines
            .iter()
            .rposition(|line| line.trim().is_empty() && line.ends_with('\n'));
        let split = empty.map_or(0, |at| lines[..=at].iter().map(|line| line.len()).sum());
        Self {
            of_place: prefix[..split].to_owned(),
            own: prefix[split..].to_owned(),
        }
    }
}

/// What of the text above a table stays where it is when the table goes.
pub(super) fn lead_of(table: &Table) -> Kept {
    Kept {
        text: Lead::of(table.decor()).of_place,
        before: table.position(),
    }
}

/// Comments whose table or key has gone.
pub(super) struct Kept {
    text: String,
    /// Where they stood.
    before: Option<isize>,
}

/// Removes `key`; what stood above it, apart from it, goes above the next key of the table.
pub(super) fn without_key(table: &mut dyn TableLike, key: &str) -> Option<Kept> {
    let keys: Vec<String> = table.iter().map(|(key, _)| key.to_owned()).collect();
    let at = keys.iter().position(|known| known == key)?;
    let lead = Lead::of(table.key(key)?.leaf_decor());
    let removed = table.remove(key)?;
    if let Item::Table(removed) = &removed {
        return Some(lead_of(removed));
    }
    let mut kept = Kept {
        text: lead.of_place,
        before: None,
    };
    let next = keys.get(at + 1);
    let has_words = |text: &str| !text.trim().is_empty();
    if let Some(next) = next
        && has_words(&kept.text)
        && table.get(next).is_some_and(Item::is_value)
        && let Some(mut next) = table.key_mut(next)
    {
        let decor = next.leaf_decor_mut();
        let below = decor.prefix().and_then(|prefix| prefix.as_str());
        let text = format!("{}{}", kept.text, below.unwrap_or_default());
        decor.set_prefix(text);
        kept.text.clear();
    }
    Some(kept)
}

/// Puts `kept` above the table that stands next, or at the end of the file.
pub(super) fn keep_comments(file: &mut DocumentMut, kept: &Kept) {
    if kept.text.trim().is_empty() {
        return;
    }
    let Some(before) = kept.before else {
        return;
    };
    let mut next: Option<isize> = None;
    each(file.as_table_mut(), &mut |table| {
        let position = table.position().filter(|&p| p > before);
        next = next.into_iter().chain(position).min();
    });
    match next {
        Some(next) => each(file.as_table_mut(), &mut |table| {
            if table.position() == Some(next) {
                let below = table.decor().prefix().and_then(|prefix| prefix.as_str());
                let text = format!("{}{}", kept.text, below.unwrap_or_default());
                table.decor_mut().set_prefix(text);
            }
        }),
        None => {
            let end = file.trailing().as_str().unwrap_or_default();
            let text = format!("{}{end}", kept.text);
            file.set_trailing(text);
        }
    }
}
