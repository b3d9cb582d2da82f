//! What is on the shelf afterwards.

use crate::output::pages::model::Passage;
use crate::output::pages::prose::prose;
use crate::output::pages::table::TableOf;
use crate::output::pages::words::{cloth_area, width};
use crate::plan::Plan;
use crate::units::{Area, Length};

pub(super) fn section(plan: &Plan, files: &[String]) -> Vec<Passage> {
    if plan.stock_left().is_empty() {
        return Vec::new();
    }
    let side = |mm: f64| width(Length::mm(mm));
    let table = TableOf::new("Stock that is left", plan.stock_left().iter().zip(files))
        .caption("Stock that is left")
        .name("Name", |(left, _)| &left.stock.name)
        .words("Cloth", |(left, _)| &left.cloth)
        .words("From", |(left, _)| {
            left.from.as_deref().unwrap_or("not touched")
        })
        .number("Largest rectangle, along × across", |(left, _)| {
            prose! {
                (side(left.rectangle.width())) " × " (side(left.rectangle.height()))
            }
        })
        .number("Area", |(left, _)| {
            cloth_area(Area::mm2(left.stock.outline.area()))
        })
        .words(
            "File",
            |(_, file)| prose! { Link(file.as_str(), file.as_str()) },
        );
    vec![
        Passage::section("What is left", "left", "Left over"),
        Passage::lead(prose! {
            "Label these and put them on the shelf. Name the file, or its folder, as " Code("file")
            " in a " Code("[[cloth.NAME.stock]]")
            " of the next job: it is used before any cloth is bought."
        }),
        table.done(),
    ]
}
