//! Sheets for the wall of the shop: how each part is laid up, the kits, and labels.
//!
//! Every sheet is one self-contained HTML file that prints on A4 and Letter: black on white, tick
//! boxes, lines to fill in.

mod kit;
mod labels;
mod sheet;
mod stack;

use std::collections::BTreeSet;

use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::files::{OutputFile, unique_name};
use super::style::{GENERATOR, paper_css};
use crate::plan::{PieceIndex, Plan};

const STYLE: &str = include_str!("style.css");

/// All sheets of `plan`: one for each part, the kit lists, the labels.
#[must_use]
pub fn layup_sheets(plan: &Plan) -> Vec<OutputFile> {
    let sheets = Sheets::new(plan);
    let file = |path: String, page: Markup| {
        let mut text = page.into_string();
        text.push('\n');
        OutputFile {
            path,
            bytes: text.into_bytes(),
        }
    };
    let mut files: Vec<OutputFile> = part_sheet_paths(plan)
        .into_iter()
        .enumerate()
        .map(|(idx, path)| {
            let title = format!("{} – layup sheet", plan.parts[idx].name);
            file(path, page(&title, sheet::sheet(&sheets, idx)))
        })
        .collect();
    files.push(file(
        KIT.to_owned(),
        page("Kit and cutting lists", kit::lists(&sheets)),
    ));
    files.push(file(
        LABELS.to_owned(),
        page("Labels", labels::labels(&sheets)),
    ));
    files
}

/// Path of the kit and cutting lists in the out directory.
pub(super) const KIT: &str = "layup/kit-list.html";
/// Path of the label sheets.
pub(super) const LABELS: &str = "layup/label-sheet.html";

/// Path of each part's sheet in the out directory.
pub(super) fn part_sheet_paths(plan: &Plan) -> Vec<String> {
    let mut taken: BTreeSet<String> = ["kit-list", "label-sheet"].map(str::to_owned).into();
    plan.parts
        .iter()
        .map(|part| format!("layup/{}.html", unique_name(&part.name, &mut taken)))
        .collect()
}

/// The plan with what every sheet looks up in it.
struct Sheets<'a> {
    plan: &'a Plan,
    index: PieceIndex<'a>,
}

impl<'a> Sheets<'a> {
    fn new(plan: &'a Plan) -> Self {
        Self {
            plan,
            index: plan.piece_index(),
        }
    }

    /// The numbers of the batches for a ply of one set, for people: `2` or `3 to 5`.
    fn batches(&self, part: usize, set: u32, ply: usize) -> String {
        let resin = self.plan.work.resin.as_ref();
        let numbers = resin.map_or_else(Vec::new, |resin| resin.batches_of(part, set, ply));
        match numbers.as_slice() {
            [] => String::new(),
            [one] => one.to_string(),
            [first, .., last] => format!("{first} to {last}"),
        }
    }
}

fn page(title: &str, body: Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="generator" content=(GENERATOR);
                title { (title) }
                style { (PreEscaped(paper_css())) (PreEscaped(STYLE)) }
            }
            body { main { (body) } footer { p { "Made by " (GENERATOR) "." } } }
        }
    }
}

/// A line to write on, after its name.
fn fill_in(name: &str) -> Markup {
    html! { span .fill { (name) " " span .blank {} } }
}

const TICK: &str = "☐";
