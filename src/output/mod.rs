//! A checked plan → the bytes of every file a user gets: one file per format.
//!
//! Value in, bytes out: nothing here touches a disk. Every writer reads [`crate::plan::Plan`] and
//! nothing else (but [`Picture`], which shows patterns before there is a plan), and rounds coordinates in the same way, so the formats agree with each other to
//! the last written digit. A roll is drawn once, in `drawing`, and the formats write that drawing;
//! colours and widths of lines are in `style`.
//!
//! # Example
//!
//! ```
//! # use warpwise::{inputs::{InputFile, Inputs}, job::Job, nest, plan, ply};
//! # let drawing = br#"<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm"
//! #     viewBox="0 0 600 400"><path id="lid" d="M10 10H510V310H10Z"/></svg>"#;
//! # let text = "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
//! #     [[part]]\nname = \"LID\"\npattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0]\"\n";
//! # let (job, _) = Job::read("lid.toml", text).unwrap();
//! # let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.to_vec())]);
//! # let (inputs, _) = Inputs::read(job, open).unwrap();
//! # let (pieces, _) = ply::pieces(&inputs).unwrap();
//! # let settings = plan::Settings { effort: nest::Effort::Quick, effort_name: "quick".to_owned(), seed: 1, threads: 1 };
//! # let plan = plan::build(&pieces, &settings, &|_| nest::Continue::Yes).unwrap();
//! use warpwise::output::{ProvenPlan, all};
//!
//! // `plan` as in the crate's example: a lid of one ply. Its numbers are proved first.
//! let proven = ProvenPlan::prove(plan).unwrap();
//!
//! // Everything that `warpwise plan` writes, for a program that keeps it elsewhere.
//! let files = all(&proven);
//! assert!(files.iter().any(|file| file.path == "cut/glass.dxf"));
//! let csv = files.iter().find(|file| file.path == "pieces.csv").unwrap();
//! assert!(String::from_utf8_lossy(&csv.bytes).contains("\nLID-1,"));
//! ```

mod drawing;
mod files;
mod folder;
mod formats;
pub mod made;
mod notes;
mod pages;
mod proof;
pub mod record;
mod style;
#[cfg(test)]
mod tests;

pub use files::OutputFile;
pub(crate) use folder::papers;
pub use folder::{all, all_with_remarks};
pub use formats::picture::Picture;
pub use formats::svg::outlines_svg;
pub use pages::compare_html;
pub(crate) use pages::{
    Desk, DeskDrawing, Print, REPORT_SCRIPT, desk_laid, desk_rolls, prints_page,
};
pub use proof::{ProvenPlan, recheck};

use crate::photo::board::Board;

/// The PDF of a board to photograph templates on: sheets to tape together, or one page of `size` (mm).
#[must_use]
pub fn board_pdf(board: &Board, size: [f64; 2]) -> Vec<u8> {
    let pages = drawing::board::pages(board, size);
    formats::pdf::document("Board to photograph templates on", &pages)
}
