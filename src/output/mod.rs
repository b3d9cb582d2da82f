//! A checked plan → the bytes of every file a user gets: one file per format.
//!
//! Value in, bytes out: nothing here touches a disk. Every writer reads [`crate::plan::Plan`] and
//! nothing else (but [`Picture`], which shows patterns before there is a plan), and rounds coordinates in the same way, so the formats agree with each other to
//! the last written digit. What several formats draw (labels, layers, line widths) is decided
//! once, in `label` and `style`.
//!
//! # Example
//!
//! ```
//! # use std::collections::BTreeMap;
//! # use warpwise::{job, nest, pattern, plan, ply};
//! # let drawing = br#"<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm"
//! #     viewBox="0 0 600 400"><path id="lid" d="M10 10H510V310H10Z"/></svg>"#;
//! # let text = "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
//! #     [[part]]\nname = \"LID\"\npattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0]\"\n";
//! # let (job, _) = job::Job::read("lid.toml", text).unwrap();
//! # let read = pattern::read("lid.svg", drawing, &pattern::Settings::default()).unwrap();
//! # let patterns = BTreeMap::from([("lid.svg".to_owned(), read)]);
//! # let (pieces, _) = ply::pieces(&job, &patterns).unwrap();
//! # let settings = plan::Settings { effort: nest::Effort::Quick, effort_name: "quick".to_owned(), seed: 1, threads: 1 };
//! # let plan = plan::build(&job, &pieces, &settings, &|_| nest::Continue::Yes).unwrap();
//! use warpwise::output::{all, pieces_csv};
//!
//! // `plan` as in the crate's example: a lid of one ply.
//! let csv = pieces_csv(&plan);
//! assert!(csv.lines().nth(1).unwrap().starts_with("LID-1,"));
//!
//! // Everything that `warpwise plan` writes, for a program that keeps it elsewhere.
//! let files = all(&plan);
//! assert!(files.iter().any(|file| file.path == "cut/glass.dxf"));
//! ```

mod drawing;
mod files;
mod formats;
mod json;
mod label_sheet;
mod number;
mod pages;
mod style;
#[cfg(test)]
mod tests;

pub use drawing::templates::templates_pdf;
pub use files::{OutputFile, all};
pub use formats::csv::pieces_csv;
pub use formats::dxf::layout_dxf;
pub use formats::gcode::layout_gcode;
pub use formats::hpgl::layout_hpgl;
pub use formats::picture::Picture;
pub use formats::svg::layout_svg;
pub use json::plan_json;
pub use label_sheet::labels_pdf;
pub use pages::{compare_html, layup_sheets, report_html};
