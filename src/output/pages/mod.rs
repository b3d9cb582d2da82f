//! Pages to read and to work by: the report, the comparison, layup sheets and the kit list.

mod layup;
mod report;
mod sheet;

pub(crate) use layup::layup_sheets;
pub use report::compare_html;
pub(crate) use report::report_html;
