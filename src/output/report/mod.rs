//! `report.html`: the plan for people, on a screen, on a phone in the shop, and on paper.
//!
//! One self-contained file: style inside, drawings as inline SVG, nothing fetched. It is ordered as
//! the work is: what to buy, what to cut, what to lay up. Elements that show a piece carry
//! `data-piece`, those of a roll `data-roll`, so that they can be found from one another.

mod bias;
mod choices;
mod compare;
mod drawing;
mod left;
mod notes;
mod plies;
mod purchase;
mod rolls;
mod swatch;
mod waste;
mod words;

pub use compare::compare_html;
use maud::{DOCTYPE, Markup, PreEscaped, html};

use super::files::{cut_file_stems, remnant_files};
use crate::plan::Plan;

const STYLE: &str = include_str!("style.css");
const SCRIPT: &str = include_str!("script.js");

/// The report on `plan` as one HTML file.
///
/// It links to the cut files beside it, by relative paths.
#[must_use]
pub fn report_html(plan: &Plan) -> String {
    let mut text = html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="generator" content=(generator());
                title { (plan.title) " – cut plan" }
                style { (PreEscaped(STYLE)) }
            }
            body {
                (header(plan))
                main {
                    (purchase::section(plan))
                    @if !plan.remarks.is_empty() { (notes::remarks(plan)) }
                    (notes::cautions())
                    (rolls::section(plan, &cut_file_stems(plan)))
                    @if !plan.stock_left.is_empty() { (left::section(plan, &remnant_files(plan))) }
                    (plies::section(plan))
                    @if bias::is_needed(plan) { (bias::section(plan)) }
                    (waste::section(plan))
                    (notes::rounding())
                }
                footer { p { "Made by " (generator()) ", seed " (plan.seed) ", effort " (plan.effort) "." } }
                script { (PreEscaped(SCRIPT)) }
            }
        }
    }
    .into_string();
    text.push('\n');
    text
}

fn generator() -> &'static str {
    concat!("warpwise ", env!("CARGO_PKG_VERSION"))
}

fn header(plan: &Plan) -> Markup {
    let n_pieces: usize = plan.layouts.iter().map(|l| l.pieces.len()).sum();
    html! {
        header {
            p .kind { "Cut plan" }
            h1 { (plan.title) }
            p {
                (words::count(plan.parts.len(), "part", "parts")) ", "
                (words::count(n_pieces, "piece", "pieces")) " on "
                (words::count(plan.layouts.len(), "roll", "rolls")) " of "
                (words::count(plan.cloths.len(), "cloth", "cloths")) "."
            }
            nav aria-label="Contents" {
                ul {
                    li { a href="#buy" { "Buy" } }
                    @if !plan.remarks.is_empty() { li { a href="#remarks" { "Remarks" } } }
                    li { a href="#cautions" { "Cautions" } }
                    li { a href="#rolls" { "Cut" } }
                    @if !plan.stock_left.is_empty() { li { a href="#left" { "Left" } } }
                    li { a href="#plies" { "Lay up" } }
                    @if bias::is_needed(plan) { li { a href="#bias" { "Bias" } } }
                    li { a href="#waste" { "Waste" } }
                    li { a href="#rounding" { "Rounding" } }
                }
            }
        }
    }
}
