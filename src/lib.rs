//! From flat ply outlines and a laminate schedule to cut files and the cloth to buy.
//!
//! warpwise does the whole job of a small wet layup before any resin is mixed. The stages, in
//! order, and what each promises:
//!
//! 1. [`pattern`] reads SVG and DXF bytes, and photographs of templates ([`photo`]), into closed outlines in
//!    millimetres, true size, never mirrored, with every fault named.
//! 2. [`job`] reads the job file into checked parts, plies and cloths, with every problem at its
//!    place in the file.
//! 3. [`inputs`] reads all that the job names: the drawings, and the rolls and remnants on hand. A
//!    part on a [`mould`] is laid there ([`drape`]); its flat outlines take the place of a drawing.
//!    [`ply`] makes the pieces: step, allowance, and the turns the cloth permits. A
//!    [`ply::Piece`] fits its cloth.
//! 4. [`nest`] lays shapes on a strip. It knows no cloth; every layout that leaves it is valid.
//! 5. [`plan`] ties them together: layouts in the roll frame, yardage, waste, purchase.
//! 6. [`output`] proves the numbers of the plan as they are written, and turns a proven plan into
//!    files, as bytes.
//! 7. [`cli`] is the only one that touches the disk, the terminal and the clock.
//!
//! Below them lie [`units`], [`diag`], [`geometry`] and [`cloth`].
//!
//! # Example
//!
//! The whole way from a drawing and a job to the files of the out folder:
//!
//! ```
//! use warpwise::inputs::{InputFile, Inputs};
//! use warpwise::job::Job;
//! use warpwise::output::{self, ProvenPlan};
//! use warpwise::{nest, plan, ply};
//!
//! let drawing = br#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm"
//!     viewBox="0 0 300 200"><path id="gusset" d="M10 10H290L10 190Z"/></svg>"#;
//! let text = r#"
//!     [cloth.glass]
//!     weave = "plain"
//!     areal_weight = "200 g/m2"
//!     roll_width = "1.27 m"
//!     stock = [{ length = "400 mm", width = "1 m" }]
//!
//!     [[part]]
//!     name = "GUSSET"
//!     pattern = "gusset.svg"
//!     cloth = "glass"
//!     layup = "[0/45]s"
//! "#;
//! let (job, _warnings) = Job::read("gusset.toml", text).unwrap();
//! // Asked for every file that the job names; here there is one.
//! let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.to_vec())]);
//! let (inputs, _warnings) = Inputs::read(job, open).unwrap();
//! let (pieces, _warnings) = ply::pieces(&inputs).unwrap();
//! let settings = plan::Settings { effort: nest::Effort::Quick, ..plan::Settings::default() };
//! let plan = plan::build(&pieces, &settings, &|_| nest::Continue::Yes).unwrap();
//! // The piece of stock is used before anything is bought.
//! assert!(plan.layouts()[0].stock().is_some());
//!
//! let proven = ProvenPlan::prove(plan).unwrap();
//! let files = output::all(&proven);
//! assert!(files.iter().any(|f| f.path == "report.html"));
//! ```

pub mod cli;
pub mod cloth;
pub mod diag;
pub mod drape;
pub mod geometry;
pub mod inputs;
pub mod job;
mod json;
pub mod laminate;
mod memo;
pub mod mould;
pub mod nest;
mod number;
pub mod output;
pub mod pattern;
pub mod photo;
pub mod plan;
pub mod ply;
pub mod shelf;
pub mod units;
mod words;
