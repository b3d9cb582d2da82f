//! Tables of the job file as fields.

use maud::{Markup, html};

use super::{json, said};
use crate::cloth::{Cloth, Weave};
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
                        (unused(job, cloth))
                        (named(cloth))
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

/// Of a cloth that no ply is of, the parts that it may be for.
fn unused(job: &TableFields, cloth: &TableFields) -> Markup {
    let name = name_of(cloth);
    let names = |table: &TableFields| table.value("cloth") == Some(&name);
    let is_used = job
        .inner("part")
        .any(|part| names(part) || part.inner("ply").any(names));
    let whole = job
        .inner("part")
        .filter(|part| part.value("layup").is_some());
    html! {
        @if !is_used {
            p .note {
                "No ply is of it yet."
                @for part in whole {
                    " " (button(&format!("Take it for {}", name_of(part)), &Edit::Set { at: part.place_of("cloth"), to: name.clone() }))
                }
            }
        }
    }
}

/// The name of a table that has one, to be changed.
fn named(table: &TableFields) -> Markup {
    let id = format!("name-{}", anchor(&table.at));
    html! {
        div .field {
            label for=(id) { "name" }
            input id=(id) type="text" value=(name_of(table)) data-name=(json(&table.at)) autocomplete="off" spellcheck="false";
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
    html! {
        p .known {
            (weave(cloth.weave))
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

/// Yarns of a woven cloth that are drawn along each side.
const YARNS: u32 = 8;

/// Which yarn lies on top at each crossing, the warp to the right; of other cloths how their fibres run.
fn weave(weave: Weave) -> Markup {
    /// The side of a crossing in the picture, and how far yarns lie apart there.
    const SIDE: f64 = 4.0;
    const APART: f64 = 0.6;
    let is_warp_up = |i: u32, j: u32| match weave {
        Weave::Plain => (i + j).is_multiple_of(2),
        Weave::Basket => (i / 2 + j / 2).is_multiple_of(2),
        Weave::Twill => (i + j) % 4 < 2,
        Weave::Satin => !(i + 3 * j).is_multiple_of(YARNS),
        Weave::Unidirectional | Weave::Biaxial | Weave::NonDirectional => false,
    };
    if matches!(
        weave,
        Weave::Unidirectional | Weave::Biaxial | Weave::NonDirectional
    ) {
        let Svg(fibres) = swatch(weave, PlyAngle::degrees(0.0));
        return fibres;
    }
    let crossings = (0..YARNS).flat_map(|j| (0..YARNS).map(move |i| (i, j)));
    html! {
        svg .weave viewBox="0 0 32 32" aria-hidden="true" {
            @for (i, j) in crossings {
                @let [x, y] = [i, j].map(|n| SIDE * f64::from(n));
                @if is_warp_up(i, j) {
                    rect .warp x=(x) y=(y + APART) width=(SIDE) height=(SIDE - 2.0 * APART) {}
                } @else {
                    rect .weft x=(x + APART) y=(y) width=(SIDE - 2.0 * APART) height=(SIDE) {}
                }
            }
        }
    }
}

/// Keys that most people fill in, by the table: each has its field, whether the file says it or not.
const USUAL: [(&str, &[&str]); 6] = [
    ("the job file", &["title"]),
    (
        "[cloth.NAME]",
        &[
            "weave",
            "areal_weight",
            "roll_width",
            "price",
            "sold_by",
            "fibre",
        ],
    ),
    ("[[part]]", &["name", "sets"]),
    ("[cutting]", &["trim", "gap", "splice"]),
    (
        "[resin]",
        &["name", "ratio", "ratio_by", "pot_life", "pack", "price"],
    ),
    ("[bag]", &["stack", "vacuum"]),
];

fn usual(table: &TableFields) -> &'static [&'static str] {
    let of = USUAL.iter().find(|(header, _)| *header == table.header);
    of.map_or(&[], |(_, names)| names)
}

/// All tables but parts and cloths; those that every job wants lie open.
pub(super) fn rest(job: &TableFields) -> Markup {
    let elsewhere = ["part", "cloth", "pin", "cutting", "resin", "bag"];
    let open = ["cutting", "resin"].into_iter();
    let open = open.filter_map(|name| there_or_not(job, name));
    let open = open.chain(job.inner("bag").cloned());
    html! {
        section aria-labelledby="rest-title" {
            h2 id="rest-title" { "The job" }
            article .block { (table_without(job, &[])) }
            @for table in open {
                article .block {
                    h3 { (title_of(&table)) }
                    (self::table(&table))
                }
            }
            @if job.inner("bag").next().is_none() { (usual_bag(job)) }
            @for inner in job.tables.iter().filter(|table| !elsewhere.contains(&first(table))) { (folded(inner)) }
            (others(job, &elsewhere))
        }
    }
}

/// The layers over a part that most people lay, as `[bag]` lists them.
const USUAL_BAG: &str = r#"["peel-ply", "release-film", "breather", "bag-film"]"#;

fn usual_bag(job: &TableFields) -> Markup {
    let mut at = job.place_of("bag");
    at.push(PlaceStep::Key("stack".to_owned()));
    let edit = Edit::Set {
        at,
        to: USUAL_BAG.to_owned(),
    };
    html! {
        article .block {
            h3 { "bag" }
            p { "Peel ply, release film, breather and bag film over each part, cut and bought with the cloth. "
                (button("Add the usual bag", &edit)) }
        }
    }
}

/// The single table `name` of `job`, empty where the file does not have it.
fn there_or_not(job: &TableFields, name: &str) -> Option<TableFields> {
    let there = job.inner(name).next().cloned();
    let mut could_be = job.other_tables.iter();
    there.or_else(|| job.absent(could_be.find(|(key, _)| key.name == name)?.0))
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

/// The same for the eye: a key in words, a name as it is.
fn title_of(table: &TableFields) -> String {
    let name = name_of(table);
    match name == noun(table) {
        true => name.replace('_', " "),
        false => name,
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
            summary { (title_of(table)) " " span .about { (said(table.about)) } }
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
    let is_written = !table.fields.is_empty() || !table.tables.is_empty();
    html! {
        (table_without(table, &[]))
        @for inner in &table.tables { (folded(inner)) }
        (others(table, &[]))
        @if is_written && !table.at.is_empty() { (remove(table, "Take it out of the job")) }
    }
}

/// The keys of a table but `left_out`: the usual ones and what else it says, each a field, and those that it could have.
pub(super) fn table_without(table: &TableFields, left_out: &[&str]) -> Markup {
    let usual = usual(table);
    let usual = usual.iter().filter(|name| !left_out.contains(name));
    let first: Vec<Field> = usual.filter_map(|name| told_or_not(table, name)).collect();
    let is_other =
        |name: &str| !left_out.contains(&name) && first.iter().all(|field| field.name != name);
    html! {
        div .fields {
            @for field in &first { (self::field(table, field)) }
            @for field in table.fields.iter().filter(|field| is_other(&field.name)) { (self::field(table, field)) }
        }
        (more(table, is_other))
    }
}

/// The key `name` of `table`, empty where the file does not say it.
fn told_or_not(table: &TableFields, name: &str) -> Option<Field> {
    let told = table.fields.iter().find(|field| field.name == name);
    let not = || {
        let key = table.others.iter().find(|key| key.name == name)?;
        Some(Field {
            name: name.to_owned(),
            key: Some(key),
            value: String::new(),
        })
    };
    told.cloned().or_else(not)
}

/// One key: its name, a field, what it means.
pub(super) fn field(table: &TableFields, field: &Field) -> Markup {
    let at = table.place_of(&field.name);
    let id = format!("f-{}", anchor(&at));
    let about = field.key.map(|key| key.about);
    html! {
        div .field {
            label for=(id) {
                (field.name.replace('_', " "))
                @if field.value.is_empty() && is_required(field) { " " span .needed { "needed" } }
            }
            (input(&id, &at, field))
            @if let Some(about) = about { small id={ (id) "-about" } { (said(about)) } }
        }
    }
}

/// The control of a key alone.
pub(super) fn input(id: &str, at: &[PlaceStep], field: &Field) -> Markup {
    let at = json(&at);
    let described = field.key.map(|_| format!("{id}-about"));
    let choices = field.key.and_then(choices).unwrap_or_default();
    let absent = field.key.map(|key| match key.absent {
        Absent::Is(value) => format!("{value} unless told"),
        Absent::Required | Absent::Means(_) => format!("such as {}", key.example),
    });
    html! {
        @if choices.is_empty() {
            input id=(id) type="text" value=(field.value) data-at=(at) placeholder=[absent]
                aria-describedby=[described] autocomplete="off" spellcheck="false";
        } @else {
            select id=(id) data-at=(at) aria-describedby=[described] {
                @if field.value.is_empty() { option selected value="" { (unless_told(field)) } }
                @else if !choices.contains(&&field.value[..]) { option selected value=(field.value) { (field.value) } }
                @for word in &choices { option value=(word) selected[*word == field.value] { (word) } }
                @if !field.value.is_empty() && !is_required(field) { option value="" { "(leave out)" } }
            }
        }
    }
}

/// The words that a key may have, where these are all.
fn choices(key: &Key) -> Option<Vec<&'static str>> {
    match &key.holds {
        Holds::Choice(words) => Some(words.clone()),
        Holds::Flag => Some(vec!["true", "false"]),
        _ => None,
    }
}

fn words(key: &Key) -> Option<String> {
    Some(choices(key)?.join(" "))
}

/// What a list shows where nothing is chosen.
fn unless_told(field: &Field) -> String {
    match field.key.map(|key| &key.absent) {
        Some(Absent::Is(value)) => format!("({value})"),
        _ => "(not told)".to_owned(),
    }
}

/// A declaration as plain text.
fn without_quotes(about: &str) -> String {
    about.replace('`', "")
}

fn is_required(field: &Field) -> bool {
    matches!(
        field.key,
        Some(Key {
            absent: Absent::Required,
            ..
        })
    )
}

/// Keys that the table could have and that are `wanted` here, to be added.
fn more(table: &TableFields, wanted: impl Fn(&str) -> bool) -> Markup {
    let others: Vec<&&Key> = (table.others.iter())
        .filter(|key| wanted(key.name))
        .collect();
    let id = format!("more-{}", anchor(&table.at));
    html! {
        @if let [first, ..] = others[..] {
            form .more data-inside=(json(&table.at)) {
                label for=(id) { "Also" }
                select id=(id) name="key" {
                    @for key in others {
                        option value=(key.name) title=(without_quotes(key.about)) data-example=(key.example) data-words=[words(key)] { (key.name.replace('_', " ")) }
                    }
                }
                input type="text" name="value" aria-label="Its value" placeholder=(first.example) autocomplete="off";
                button type="submit" { "Add" }
                small .meaning aria-live="polite" { (without_quotes(first.about)) }
            }
        }
    }
}

/// Tables that could be in `table`, to be added.
fn others(table: &TableFields, left_out: &[&str]) -> Markup {
    let others = table.other_tables.iter();
    let others = others.filter(|(key, _)| !left_out.contains(&key.name));
    let label = |key: &Key| format!("Another {}", key.name.replace('_', " "));
    html! {
        @for (key, many) in others {
            @match many {
                Many::One => { @if let Some(absent) = table.absent(key) { (folded(&absent)) } },
                Many::Named => { (fresh(table, key.name, &label(key))) },
                Many::Listed => { " " (listed(table, key.name, &label(key))) " " },
            }
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
