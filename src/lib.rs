//! From flat ply outlines and a laminate schedule to cut files and the cloth to buy.
//!
//! warpwise does the whole job of a small wet layup before any resin is mixed. The stages, in
//! order, and what each promises:
//!
//! 1. [`pattern`] reads SVG and DXF bytes into closed outlines in millimetres, true size, never
//!    mirrored, with every fault named.
//! 2. [`job`] reads the job file into checked parts, plies and cloths, with every problem at its
//!    place in the file.
//!    [`stock`] adds the rolls and remnants on hand that it names.
//! 3. [`ply`] makes the pieces: step, allowance, and the turns the cloth permits. A
//!    [`ply::Piece`] fits its cloth.
//! 4. [`nest`] lays shapes on a strip. It knows no cloth; every layout that leaves it is valid.
//! 5. [`plan`] ties them together: layouts in the roll frame, yardage, waste, purchase. It proves
//!    the written numbers before they count.
//! 6. [`output`] turns a plan into files, as bytes.
//! 7. [`cli`] is the only one that touches the disk, the terminal and the clock.
//!
//! Below them lie [`units`], [`diag`], [`geometry`] and [`cloth`].
//!
//! # Example
//!
//! The whole way from a drawing and a job to the files of the out folder:
//!
//! ```
//! use std::collections::BTreeMap;
//! use warpwise::{job, nest, output, pattern, plan, ply};
//!
//! let drawing = br#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm"
//!     viewBox="0 0 300 200"><path id="gusset" d="M10 10H290L10 190Z"/></svg>"#;
//! let text = r#"
//!     [cloth.glass]
//!     weave = "plain"
//!     areal_weight = "200 g/m2"
//!     roll_width = "1.27 m"
//!
//!     [[part]]
//!     name = "GUSSET"
//!     pattern = "gusset.svg"
//!     cloth = "glass"
//!     layup = "[0/45]s"
//! "#;
//! let (job, _warnings) = job::Job::read("gusset.toml", text).unwrap();
//! let settings = pattern::Settings::default();
//! let read = pattern::read("gusset.svg", drawing, &settings).unwrap();
//! let patterns = BTreeMap::from([("gusset.svg".to_owned(), read)]);
//! let (pieces, _warnings) = ply::pieces(&job, &patterns).unwrap();
//! let settings = plan::Settings {
//!     effort: nest::Effort::Quick,
//!     effort_name: "quick".to_owned(),
//!     seed: 1,
//!     threads: 1,
//! };
//! let plan = plan::build(&job, &pieces, &settings, &|_| nest::Continue::Yes).unwrap();
//! assert_eq!(plan.layouts[0].pieces.len(), 4);
//! let files = output::all(&plan);
//! assert!(files.iter().any(|f| f.path == "report.html"));
//! ```

pub mod cli;
pub mod cloth;
pub mod diag;
pub mod geometry;
pub mod job;
pub mod laminate;
pub mod nest;
pub mod output;
pub mod pattern;
pub mod plan;
pub mod ply;
pub mod stock;
pub mod units;
mod words;
