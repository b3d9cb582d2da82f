//! Parts and their plies, as cards from the mould up.

use maud::{Markup, html};

use super::fields::{anchor, button, folded, listed, name_of, remove, table_without};
use super::{DeskDrawing, json};
use crate::cloth::Cloth;
use crate::job::edit::{Edit, Field, PlaceStep, TableFields};
use crate::output::pages::words::angle;
use crate::plan::{PartUse, PlyUse};

pub(super) fn parts(
    job: &TableFields,
    known: &[Cloth],
    drawings: &[DeskDrawing],
    planned: &[PartUse],
) -> Markup {
    let mut cloths: Vec<String> = job.inner("cloth").map(name_of).collect();
    let more = known.iter().map(|cloth| &cloth.name);
    let more: Vec<String> = more
        .filter(|name| !cloths.contains(name))
        .cloned()
        .collect();
    cloths.extend(more);
    html! {
        section aria-labelledby="parts-title" {
            h2 id="parts-title" { "Parts" }
            @for part in job.inner("part") {
                @let planned = of_name(planned, part);
                article .block {
                    h3 { (name_of(part)) }
                    @for drawing in drawings.iter().filter(|drawing| Some(drawing.part()) == part.value("name")) {
                        (drawing.shown(job, part))
                    }
                    (plies(part, planned, &cloths))
                    (table_without(part, if has_cards(part) { &[] } else { &CODE }))
                    @for inner in part.tables.iter().filter(|inner| !is_ply(part, inner)) { (folded(inner)) }
                    (remove(part, "Take this part out of the job"))
                }
            }
            (listed(job, "part", "Another part"))
        }
    }
}

fn of_name<'p>(parts: &'p [PartUse], part: &TableFields) -> Option<&'p PartUse> {
    let name = part.value("name")?;
    parts.iter().find(|planned| planned.name() == name)
}

fn is_ply(part: &TableFields, inner: &TableFields) -> bool {
    matches!(inner.at.get(part.at.len()), Some(PlaceStep::Key(key)) if key == "ply")
}

/// What makes all plies of a part that has no table for each.
const CODE: [&str; 2] = ["cloth", "layup"];

fn has_cards(part: &TableFields) -> bool {
    part.inner("ply").next().is_some()
}

/// The plies: cards that can be changed where each has a table, else as the laminate code makes them.
fn plies(part: &TableFields, planned: Option<&PartUse>, cloths: &[String]) -> Markup {
    let own: Vec<&TableFields> = part.inner("ply").collect();
    let n = own.len();
    let list_at = json(&part.place_of("ply"));
    html! {
        @if n > 0 {
            p .about { "From the mould up; drag a card by its handle, or move it with the arrows." }
            ol .stack data-list=(list_at) {
                @for (i, ply) in own.iter().enumerate() { (card(part, ply, (i, n), cloths)) }
            }
            (listed(part, "ply", "Another ply"))
        } @else {
            (code(part, cloths))
            @if let Some(planned) = planned {
                ol .stack .coded { @for ply in &planned.plies { (coded(ply)) } }
                @if part.value("layup").is_some() { (as_cards(part, planned)) }
            } @else { (listed(part, "ply", "First ply")) }
        }
    }
}

/// All plies in one line: their cloth and the laminate code.
fn code(part: &TableFields, cloths: &[String]) -> Markup {
    let at = part.place_of("layup");
    let layup = part.value("layup").unwrap_or("");
    html! {
        p .code {
            label { "all plies of " (cloth_choice(part, part.value("cloth").unwrap_or(""), cloths)) }
            label { "from the mould up " input type="text" value=(layup) data-at=(json(&at)) placeholder="such as [0/45/-45/90]s"
                autocomplete="off" spellcheck="false"; }
        }
    }
}

fn cloth_choice(table: &TableFields, cloth: &str, cloths: &[String]) -> Markup {
    html! {
        select data-at=(json(&table.place_of("cloth"))) {
            @if !cloths.iter().any(|known| known == cloth) { option selected value=(cloth) { (cloth) } }
            @for known in cloths { option value=(known) selected[known == cloth] { (known) } }
        }
    }
}

/// One ply with its table.
fn card(
    part: &TableFields,
    ply: &TableFields,
    (i, n): (usize, usize),
    cloths: &[String],
) -> Markup {
    let at = |to: usize| Edit::Move {
        at: ply.at.clone(),
        to,
    };
    let id = format!("at-{}", anchor(&ply.at));
    let cloth = ply.value("cloth").or(part.value("cloth")).unwrap_or("");
    let field = |name: &str| ply.fields.iter().find(|field| field.name == name);
    html! {
        li id=(id) data-index=(i) {
            span .handle aria-hidden="true" draggable="true" title="Drag" { "⠿" }
            span .n { (i + 1) }
            label { "cloth " (cloth_choice(ply, cloth, cloths)) }
            @for name in ["angle", "outline"] {
                label { (name) " " (short_input(ply, name, field(name))) }
            }
            span .moves {
                button type="button" aria-label={ "Ply " (i + 1) " towards the mould" } disabled[i == 0] data-edit=(json(&at(i.saturating_sub(1)))) { "↑" }
                button type="button" aria-label={ "Ply " (i + 1) " away from the mould" } disabled[i + 1 == n] data-edit=(json(&at(i + 1))) { "↓" }
                (button("Twice", &Edit::Repeat { at: ply.at.clone() }))
                (button("Take out", &Edit::Remove { at: ply.at.clone() }))
            }
            details id={ (id) "-all" } {
                summary { "all keys" }
                (table_without(ply, &["cloth", "angle", "outline"]))
                @for inner in &ply.tables { (folded(inner)) }
            }
        }
    }
}

fn short_input(ply: &TableFields, name: &str, field: Option<&Field>) -> Markup {
    let value = field.map_or("", |field| &field.value);
    html! { input type="text" .short value=(value) data-at=(json(&ply.place_of(name))) autocomplete="off"; }
}

/// A ply that a laminate code makes.
fn coded(ply: &PlyUse) -> Markup {
    html! {
        li {
            span .n { (ply.n()) }
            span { (ply.cloth().name) }
            span { (angle(ply.drawn_angle().on_drawing())) }
        }
    }
}

/// Writes the plies of a laminate code as tables of their own, so that they can be moved.
fn as_cards(part: &TableFields, planned: &PartUse) -> Markup {
    let plies = planned.plies.iter();
    let plies = plies.map(|ply| (ply.cloth().name.clone(), ply.drawn_angle().on_drawing()));
    let edits = part.ply_tables(plies);
    html! { p { button type="button" data-edit=(json(&edits)) { "Make a card of each ply" } } }
}
