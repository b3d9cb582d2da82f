//! Sheets for the wall of the shop: how each part is laid up, and the kits.
//!
//! Every sheet is made once and written twice: as one self-contained HTML file, and on pages of one
//! PDF for all of them.

mod bag;
mod finish;
mod flat;
mod joints;
mod kit;
mod mould;
mod part;
mod stack;
mod timeline;

use std::collections::BTreeSet;

use super::html::Medium;
use super::model::Handout;
use super::pdf::pages;
use crate::output::files::{OutputFile, unique_name};
use crate::output::formats::pdf::document;
use crate::output::notes::head;
use crate::plan::{PartUse, PieceIndex, Plan, PlyUse};

/// All sheets of `plan`: one for each part and the kit lists, and all of them as one PDF.
#[must_use]
pub(crate) fn layup_sheets(plan: &Plan) -> Vec<OutputFile> {
    let sheets = Sheets::new(plan);
    // Of several jobs each has the sheets of its own parts.
    let own = if plan.jobs().is_empty() {
        plan.parts()
    } else {
        &[]
    };
    let parts = own.iter();
    let mut all: Vec<Handout> = parts.map(|part| part::sheet(&sheets, part)).collect();
    all.push(kit::lists(&sheets));
    let paths = part_sheet_paths(own).into_iter().chain([KIT.to_owned()]);
    let html = paths.zip(&all).map(|(path, handout)| OutputFile {
        path,
        bytes: handout
            .html(&handout.title, ".", &Medium::Paper)
            .into_bytes(),
    });
    let mut files: Vec<OutputFile> = html.collect();
    files.push(OutputFile {
        path: PDF.to_owned(),
        bytes: document(
            plan.title(),
            &pages(&head(plan, plan.title()), &all, plan.outputs()),
        ),
    });
    files
}

/// Path of the kit and cutting lists in the out directory.
pub(super) const KIT: &str = "layup/kit-list.html";
/// Path of all sheets as one PDF.
pub(super) const PDF: &str = "layup/sheets.pdf";

/// Path of each part's sheet in the out directory.
pub(super) fn part_sheet_paths(parts: &[PartUse]) -> Vec<String> {
    sheet_paths(parts.iter().map(PartUse::name))
}

/// The files of the sheets of parts with these names, in their order.
pub(in crate::output) fn sheet_paths<'a>(parts: impl Iterator<Item = &'a str>) -> Vec<String> {
    let mut taken: BTreeSet<String> = ["kit-list".to_owned()].into();
    parts
        .map(|part| format!("layup/{}.html", unique_name(part, &mut taken)))
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
    fn batches(&self, ply: &PlyUse, set: u32) -> String {
        let resin = self.plan.work().resin.as_ref();
        resin.map_or_else(String::new, |resin| resin.batch_numbers(ply, set))
    }
}
