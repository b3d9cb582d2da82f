//! Pages to read and to work by: the report, the comparison, layup sheets and the kit list.

mod layup;
mod report;
mod sheet;

pub use layup::layup_sheets;
pub use report::{compare_html, report_html};
