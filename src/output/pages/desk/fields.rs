//! Tables of the job file as fields.

use maud::{Markup, html};

use super::json;
use crate::cloth::Cloth;
use crate::diag::counted;
use crate::job::edit::{Edit, Field, Many, PlaceStep, TableFields};
use crate::job::{Absent, Holds, Key};
use crate::output::pages::charts::swatch::swatch;
use crate::output::pages::html::prose;
use crate::output::pages::model::Svg;
use crate::output::pages::words::{quantity, width};
use crate::units::{Area, PlyAngle};

/// A card for each cloth: with fields where the job describes it, else as the shop file has it.
pub(super) fn cloths(job: &TableFields, known: &[Cloth]) -> Markup {
    let is_own = |cloth: &&Cloth| job.inner("cloth").any(|own| name_of(own) == cloth.name);
    html! {
        section aria-labelledby="cloths-title" {
            h2 id="cloths-title" { "Cloth" }
            div .blocks {
                @for cloth in job.inner("cloth") {
                    @let known = known.iter().find(|known| known.name == name_of(cloth));
                    article .block {
                        h3 { (name_of(cloth)) }
                        @if let Some(known) = known { (pictured(known)) }
                        (table(cloth))
                    }
                }
                @for cloth in known.iter().filter(|cloth| !is_own(cloth)) {
                    article .block {
                        h3 { (cloth.name) " " span .about { "from the shop file" } }
                        (pictured(cloth))
                    }
                }
            }
            (fresh(job, "cloth", "Another cloth"))
        }
    }
}

/// What a person knows a cloth by: its weave with the warp to the right, weight, width, price, what is on hand.
fn pictured(cloth: &Cloth) -> Markup {
    let area: f64 = cloth
        .supply
        .stock
        .iter()
        .map(|stock| stock.outline.area())
        .sum();
    let Svg(weave) = swatch(cloth.weave, PlyAngle::degrees(0.0));
    html! {
        p .known {
            (weave)
            span {
                (cloth.weave.word()) ", " (prose(&quantity(cloth.areal_weight))) ", " (prose(&width(cloth.roll_width))) " wide"
                @if let Some(price) = &cloth.price { ", " (price) }
                @if area > 0.0 {
                    "; on hand " (prose(&quantity(Area::mm2(area).in_m2_and_yd2()))) " in "
                    (counted(cloth.supply.stock.len(), "piece", "pieces"))
                }
            }
        }
    }
}

/// All tables but parts and cloths.
pub(super) fn rest(job: &TableFields) -> Markup {
    let is_shown = |table: &&TableFields| !matches!(first(table), "part" | "cloth" | "pin");
    html! {
        section aria-labelledby="rest-title" {
            h2 id="rest-title" { "The job" }
            article .block { (table_without(job, &[])) }
            @for inner in job.tables.iter().filter(is_shown) { (folded(inner)) }
            (others(job, &["part", "cloth", "pin"]))
        }
    }
}

/// The text of a declaration, in which keys and values stand in back quotes.
fn said(about: &str) -> Markup {
    let runs = about.split('`').enumerate();
    html! { @for (i, run) in runs { @if i % 2 == 1 { code { (run) } } @else { (run) } } }
}

/// The name of the outermost table that `table` is in.
fn first(table: &TableFields) -> &str {
    match table.at.first() {
        Some(PlaceStep::Key(key)) => key,
        _ => "",
    }
}

/// What a table of a named or listed kind is called.
pub(super) fn name_of(table: &TableFields) -> String {
    match table.at.last() {
        Some(PlaceStep::Key(key)) => key.clone(),
        Some(PlaceStep::Index(index)) => match table.value("name") {
            Some(name) => name.to_owned(),
            None => format!("{} {}", noun(table), index + 1),
        },
        None => String::new(),
    }
}

/// The last word of a table's header.
fn noun(table: &TableFields) -> &str {
    let inside = table.header.trim_matches(['[', ']']);
    inside.rsplit('.').next().unwrap_or(inside)
}

/// A table with all that is in it, folded away.
pub(super) fn folded(table: &TableFields) -> Markup {
    html! {
        details id={ "at-" (anchor(&table.at)) } {
            summary { (name_of(table)) " " span .about { (said(table.about)) } }
            (self::table(table))
        }
    }
}

/// An identifier of a place.
pub(super) fn anchor(at: &[PlaceStep]) -> String {
    let steps: Vec<String> = at.iter().map(PlaceStep::to_string).collect();
    let joined = steps.join("-");
    joined.replace(|c: char| !c.is_ascii_alphanumeric() && c != '-', "_")
}

fn table(table: &TableFields) -> Markup {
    html! {
        (table_without(table, &[]))
        @for inner in &table.tables { (folded(inner)) }
        (others(table, &[]))
        @if !table.at.is_empty() { (remove(table, "Take it out of the job")) }
    }
}

/// The keys of a table but `left_out`, each a field, and those that it could have.
pub(super) fn table_without(table: &TableFields, left_out: &[&str]) -> Markup {
    let is_shown = |name: &str| !left_out.contains(&name);
    html! {
        div .fields {
            @for field in table.fields.iter().filter(|field| is_shown(&field.name)) { (self::field(table, field)) }
        }
        (more(table, left_out))
    }
}

/// One key: its name, a field, what it means.
pub(super) fn field(table: &TableFields, field: &Field) -> Markup {
    let at = table.place_of(&field.name);
    let id = format!("f-{}", anchor(&at));
    let about = field.key.map(|key| key.about);
    html! {
        div .field {
            label for=(id) { (field.name.replace('_', " ")) }
            (input(&id, &at, field))
            @if let Some(about) = about { small id={ (id) "-about" } { (said(about)) } }
        }
    }
}

/// The control of a key alone.
pub(super) fn input(id: &str, at: &[PlaceStep], field: &Field) -> Markup {
    let at = json(&at);
    let described = field.key.map(|_| format!("{id}-about"));
    let choices = match field.key.map(|key| &key.holds) {
        Some(Holds::Choice(words)) => words.clone(),
        Some(Holds::Flag) => vec!["true", "false"],
        _ => Vec::new(),
    };
    let example = field.key.map(|key| key.example);
    html! {
        @if choices.is_empty() {
            input id=(id) type="text" value=(field.value) data-at=(at) placeholder=[example]
                aria-describedby=[described] autocomplete="off" spellcheck="false";
        } @else {
            select id=(id) data-at=(at) aria-describedby=[described] {
                @if !choices.contains(&&field.value[..]) { option selected value=(field.value) { (field.value) } }
                @for word in &choices { option value=(word) selected[*word == field.value] { (word) } }
                @if !matches!(field.key, Some(Key { absent: Absent::Required, .. })) { option value="" { "(leave out)" } }
            }
        }
    }
}

/// Keys that the table could have, to be added.
fn more(table: &TableFields, left_out: &[&str]) -> Markup {
    let others = table
        .others
        .iter()
        .filter(|key| !left_out.contains(&key.name));
    let others: Vec<&&Key> = others.collect();
    let id = format!("more-{}", anchor(&table.at));
    html! {
        @if !others.is_empty() {
            form .more data-inside=(json(&table.at)) {
                label for=(id) { "Add" }
                select id=(id) name="key" {
                    @for key in others { option value=(key.name) title=(key.about) data-example=(key.example) { (key.name.replace('_', " ")) } }
                }
                input type="text" name="value" aria-label="Its value" placeholder=(table.others[0].example) autocomplete="off";
                button type="submit" { "Add" }
                small .meaning aria-live="polite" {}
            }
        }
    }
}

/// Tables that could be in `table`, to be added.
fn others(table: &TableFields, left_out: &[&str]) -> Markup {
    let others = table.other_tables.iter();
    let others = others.filter(|(key, _)| !left_out.contains(&key.name));
    html! {
        div .others {
            @for (key, many) in others {
                @match many {
                    Many::One => { (first_key(table, key)) },
                    Many::Named => { (fresh(table, key.name, &format!("Another {}", key.name))) },
                    Many::Listed => { (listed(table, key.name, &format!("Another {}", key.name))) },
                }
            }
        }
    }
}

/// A single table is there as soon as one of its keys is.
fn first_key(table: &TableFields, key: &Key) -> Markup {
    let at = table.place_of(key.name);
    html! {
        form .more data-inside=(json(&at)) title=(key.about) {
            span { (key.name.replace('_', " ")) ": " (said(key.about)) }
            input type="text" name="key" aria-label="Key" placeholder="key" autocomplete="off";
            input type="text" name="value" aria-label="Its value" autocomplete="off";
            button type="submit" { "Add" }
        }
    }
}

/// A named table is there as soon as one of its keys is.
fn fresh(table: &TableFields, kind: &str, label: &str) -> Markup {
    html! {
        form .more data-named=(json(&table.place_of(kind))) {
            span { (label) }
            input type="text" name="name" aria-label={ "Name of the " (kind) } placeholder="name" autocomplete="off";
            button type="submit" { "Add" }
        }
    }
}

/// One more of a list.
pub(super) fn listed(table: &TableFields, kind: &str, label: &str) -> Markup {
    let mut at = table.place_of(kind);
    at.push(PlaceStep::Index(table.inner(kind).count()));
    html! { (button(label, &Edit::Add { at, keys: Vec::new() })) }
}

/// A button that stands for `edit`.
pub(super) fn button(label: &str, edit: &Edit) -> Markup {
    html! { button type="button" data-edit=(json(edit)) { (label) } }
}

pub(super) fn remove(table: &TableFields, label: &str) -> Markup {
    html! { p { (button(label, &Edit::Remove { at: table.at.clone() })) } }
}
