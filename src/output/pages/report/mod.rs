//! `report.html`: the plan for people, on a screen, on a phone in the shop, and on paper.
//!
//! One self-contained file: style inside, drawings as inline SVG, nothing fetched. It is ordered as
//! the work is: what to buy, what to cut, what to lay up. Elements that show a piece carry
//! `data-piece`, those of a roll `data-roll`, so that they can be found from one another.

pub(super) mod bag;
mod bias;
mod choices;
mod compare;
mod drawing;
mod laminate;
mod left;
mod notes;
mod plies;
mod polar;
mod purchase;
pub(super) mod resin;
mod rolls;
pub(super) mod shopping;
mod swatch;
pub(super) mod thickness;
mod waste;
pub(super) mod words;
pub(super) mod work_words;

pub use compare::compare_html;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::layup::{KIT, LABELS, part_sheet_paths};
use crate::diag::counted;
use crate::output::files::{cut_file_stems, remnant_files};
use crate::output::style::{GENERATOR, screen_css};
use crate::plan::Plan;

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("script.js");

/// The report on `plan` as one HTML file.
///
/// It links to the cut files beside it, by relative paths.
#[must_use]
pub(crate) fn report_html(plan: &Plan) -> String {
    let costs = plan.costs();
    let body = html! {
        (header(plan, costs.is_some()))
        main {
            (purchase::section(plan))
            @if !plan.remarks().is_empty() { (notes::remarks(plan)) }
            (notes::cautions())
            (rolls::section(plan, &cut_file_stems(plan)))
            @if !plan.stock_left().is_empty() { (left::section(plan, &remnant_files(plan))) }
            (plies::section(plan))
            @if bias::is_needed(plan) { (bias::section(plan)) }
            (laminate::section(plan))
            @if let Some(resin) = &plan.work().resin { (resin::section(plan, resin)) }
            @if let Some(bags) = &plan.work().bagging { (bag::section(plan, bags)) }
            (waste::section(plan))
            @if let Some(costs) = &costs { (shopping::costs(plan, costs)) }
            (shopping::list(plan))
            (notes::rounding())
        }
        footer { p { "Made by " (GENERATOR) ", seed " (plan.seed()) ", effort " (plan.effort()) "." } }
        script { (PreEscaped(SCRIPT)) }
    };
    page(&format!("{} – cut plan", plan.title()), &body)
}

/// A page called `title` in the look of the report.
fn page(title: &str, body: &Markup) -> String {
    let page = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content=(GENERATOR);
                title { (title) }
                style { (PreEscaped(screen_css())) (PreEscaped(STYLE)) }
            }
            body { (body) }
        }
    };
    page.into_string() + "\n"
}

fn header(plan: &Plan, has_costs: bool) -> Markup {
    let n_pieces: usize = plan.layouts().iter().map(|l| l.pieces().len()).sum();
    html! {
        header {
            p .kind { "Cut plan" }
            h1 { (plan.title()) }
            p {
                (counted(plan.parts().len(), "part", "parts")) ", "
                (counted(n_pieces, "piece", "pieces")) " on "
                (counted(plan.layouts().len(), "roll", "rolls")) " of "
                (counted(plan.cloths().len(), "cloth", "cloths")) "."
            }
            p .sheets {
                "Sheets to print: "
                @for (part, path) in plan.parts().iter().zip(part_sheet_paths(plan)) {
                    a href=(path) { (part.name) } ", "
                }
                a href=(KIT) { "cutting and kit lists" } ", " a href=(LABELS) { "labels" } "."
            }
            nav aria-label="Contents" {
                ul {
                    li { a href="#buy" { "Buy" } }
                    @if !plan.remarks().is_empty() { li { a href="#remarks" { "Remarks" } } }
                    li { a href="#cautions" { "Cautions" } }
                    li { a href="#rolls" { "Cut" } }
                    @if !plan.stock_left().is_empty() { li { a href="#left" { "Left" } } }
                    li { a href="#plies" { "Lay up" } }
                    @if bias::is_needed(plan) { li { a href="#bias" { "Bias" } } }
                    li { a href="#laminate" { "Laminate" } }
                    @if plan.work().resin.is_some() { li { a href="#resin" { "Resin" } } }
                    @if plan.work().bagging.is_some() { li { a href="#bag" { "Bag" } } }
                    li { a href="#waste" { "Waste" } }
                    @if has_costs { li { a href="#cost" { "Cost" } } }
                    li { a href="#shopping" { "Shopping list" } }
                    li { a href="#rounding" { "Rounding" } }
                }
            }
        }
    }
}
