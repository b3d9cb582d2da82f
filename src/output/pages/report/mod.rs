//! `report.html`: the plan for people, on a screen, on a phone in the shop, and on paper.
//!
//! One self-contained file. It is ordered as the work is: what to buy, what to cut, what to lay up.
//! Elements that show a piece carry `data-piece`, those of a roll `data-roll`, so that they can be
//! found from one another.

mod bag;
mod bias;
mod buy;
mod drawing;
mod laminate;
mod left;
mod mould;
mod notes;
mod plies;
mod price;
pub(super) mod resin;
mod rolls;
mod shopping;
pub(super) mod thickness;
mod together;
mod waste;

use super::html::Medium;
use super::layup::{KIT, part_sheet_paths};
use super::model::{Handout, Passage};
use super::prose::{Prose, prose};
use super::words::counted;
use crate::diag::Diagnostics;
use crate::output::files::{cut_file_stems, remnant_files};
use crate::output::notes::head;
use crate::plan::Plan;

/// The script of the report, which stands in the page as it is here.
pub(crate) const SCRIPT: &str = include_str!("script.js");

/// The report on `plan` as one HTML file.
///
/// It links to the cut files beside it, by relative paths, and says what is to be said `of_files`.
#[must_use]
pub(crate) fn report_html(plan: &Plan, of_files: &Diagnostics) -> String {
    // The rolls of several jobs are in their common report.
    let common: Vec<Vec<Passage>> = match plan.is_share() {
        true => vec![notes::remarks(plan, of_files), notes::cautions(plan)],
        false => vec![
            buy::section(plan),
            together::section(plan),
            notes::remarks(plan, of_files),
            notes::cautions(plan),
            rolls::section(plan, &cut_file_stems(plan)),
            left::section(plan, &remnant_files(plan)),
        ],
    };
    let sections: [Vec<Passage>; 11] = [
        plies::section(plan),
        bias::section(plan),
        laminate::section(plan),
        resin::coat(plan),
        resin::section(plan),
        bag::section(plan),
        waste::section(plan),
        shopping::costs(plan),
        price::section(plan),
        shopping::list(plan),
        notes::rounding(),
    ];
    let report = Handout {
        kind: head(plan, "Cut plan"),
        title: plan.title().to_owned(),
        beside: String::new(),
        about: vec![contents(plan), sheets(plan)],
        passages: common.into_iter().chain(sections).flatten().collect(),
    };
    let name = format!("{} – cut plan", plan.title());
    let foot = format!(", seed {}, effort {}.", plan.seed(), plan.effort());
    report.html(&name, &foot, &Medium::Screen { script: SCRIPT })
}

fn contents(plan: &Plan) -> Prose {
    let n_pieces: usize = plan.layouts().iter().map(|l| l.pieces().len()).sum();
    prose! {
        (counted(plan.parts().len(), "part", "parts")) ", "
        (counted(n_pieces, "piece", "pieces")) " on "
        (counted(plan.layouts().len(), "roll", "rolls")) " of "
        (counted(plan.cloths().len(), "cloth", "cloths")) "."
    }
}

/// Links to the sheets for the wall of the shop.
fn sheets(plan: &Plan) -> Prose {
    let parts = plan.parts().iter().zip(part_sheet_paths(plan.parts()));
    let parts = parts.filter(|_| plan.jobs().is_empty());
    let lists = match (plan.is_share(), plan.jobs().is_empty()) {
        (true, _) => "kit lists",
        (_, false) => "cutting lists",
        _ => "cutting and kit lists",
    };
    prose! {
        "Sheets to print: "
        for ((part, path) in parts) { Link(path, part.name()) ", " }
        Link(KIT, lists) "."
        if (plan.is_share()) {
            " Its pieces lie on rolls that it shares with other jobs: " Link("../../report.html", "their common plan") "."
        }
    }
}
