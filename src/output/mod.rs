//! A checked plan → the bytes of every file a user gets: one file per format.
//!
//! Value in, bytes out: nothing here touches a disk. Every writer reads [`crate::plan::Plan`] and
//! nothing else (but [`Picture`], which shows patterns before there is a plan), and rounds coordinates in the same way, so the formats agree with each other to
//! the last written digit. What several formats draw (labels, layers, line widths) is decided
//! once, in `label` and `style`.

mod arcs;
mod csv;
mod dxf;
mod figure;
mod files;
mod gcode;
mod hpgl;
mod joint;
mod json;
mod label;
mod label_sheet;
mod layers;
mod layup;
mod number;
mod pdf;
mod picture;
mod report;
mod roll_view;
mod sheet;
mod strokes;
mod style;
mod svg;
mod templates;
mod toolpath;

pub use csv::pieces_csv;
pub use dxf::layout_dxf;
pub use files::{OutputFile, all};
pub use gcode::layout_gcode;
pub use hpgl::layout_hpgl;
pub use json::plan_json;
pub use label_sheet::labels_pdf;
pub use layup::layup_sheets;
pub use picture::Picture;
pub use report::{compare_html, report_html};
pub use svg::layout_svg;
pub use templates::templates_pdf;
