//! What is on the shelf afterwards.

use maud::{Markup, html};

use super::words::{cloth_area, width};
use crate::plan::{Plan, StockLeft};
use crate::units::{Area, Length};

pub(super) fn section(plan: &Plan, files: &[String]) -> Markup {
    html! {
        section #left aria-labelledby="left-title" {
            h2 #left-title { "What is left" }
            p .lead {
                "Label these and put them on the shelf. Name the file, or its folder, as "
                code { "file" } " in a " code { "[[cloth.NAME.stock]]" } " of the next job, and they "
                "are used before cloth is bought."
            }
            div .scroll tabindex="0" role="region" aria-label="Stock that is left" {
                table {
                    caption { "Stock that is left" }
                    thead { tr {
                        th scope="col" { "Name" }
                        th scope="col" { "Cloth" }
                        th scope="col" { "From" }
                        th scope="col" .n { "Largest rectangle, along × across" }
                        th scope="col" .n { "Area" }
                        th scope="col" { "File" }
                    } }
                    tbody { @for (left, file) in plan.stock_left().iter().zip(files) { (row(left, file)) } }
                }
            }
        }
    }
}

fn row(left: &StockLeft, file: &str) -> Markup {
    let side = |mm: f64| width(Length::mm(mm));
    html! {
        tr {
            th scope="row" { (left.stock.name) }
            td { (left.cloth) }
            td { @match &left.from { Some(roll) => (roll), None => "not touched" } }
            td .n { (side(left.rectangle.width())) " × " (side(left.rectangle.height())) }
            td .n { (cloth_area(Area::mm2(left.stock.outline.area()))) }
            td { a href=(file) { (file) } }
        }
    }
}
