//! Pages to read and to work by: the report, the comparison, layup sheets and the kit list.
//!
//! All are made of one model ([`model`]); [`html`] and [`pdf`] write it. Quantities are put into words
//! in [`words`] alone.

mod by_place;
mod charts;
mod compare;
mod desk;
mod html;
mod layup;
mod model;
mod pdf;
mod pleats;
mod prose;
mod report;
mod shared_bag;
mod table;
mod words;

pub use compare::compare_html;
pub(crate) use desk::{
    Desk, DeskDrawing, Print, laid as desk_laid, prints_page, rolls as desk_rolls,
};
pub(crate) use layup::layup_sheets;
pub(super) use layup::sheet_paths;
pub(crate) use report::{SCRIPT as REPORT_SCRIPT, report_html};
