//! The job file as written, checked: parts, laminate schedules, cloths and cutting settings.
//!
//! [`Job::read`] turns TOML text into a [`Job`] or into every problem it can find, each with its
//! place in the file. It opens no pattern file: what only a pattern can tell (an unknown layer, an
//! outline that is not there) is checked later, against the [`Place`]s kept here.
//!
//! # Example
//!
//! ```
//! use warpwise::job::Job;
//! use warpwise::units::{Angle, Length};
//!
//! let text = r#"
//!     [cloth.glass]
//!     weave = "plain"
//!     areal_weight = "200 g/m2"
//!     roll_width = "50 in"
//!
//!     [[part]]
//!     name = "LID"
//!     pattern = "lid.svg"
//!     cloth = "glass"
//!     layup = "[0/45]s"
//! "#;
//! let (job, warnings) = Job::read("lid.toml", text).unwrap();
//! assert_eq!(warnings.iter().count(), 0);
//! let plies = &job.parts()[0].plies;
//! let drawn: Vec<f64> = plies.iter().map(|ply| ply.drawn_angle.on_drawing().to_degrees()).collect();
//! assert_eq!(drawn, [0.0, 45.0, 45.0, 0.0]);
//! assert_eq!(job.cloths()[0].roll_width, Length::inches(50.0));
//!
//! // A mistake is told with its line, and all of them at once.
//! let wrong = text.replace("plain", "plane").replace("50 in", "50");
//! let problems = Job::read("lid.toml", &wrong).unwrap_err();
//! assert_eq!(problems.iter().count(), 2);
//! ```

mod bagging;
mod cloths;
mod coat;
mod core;
mod cutting;
mod drawing;
mod drawn;
pub mod edit;
mod keys;
mod labour;
mod laminate;
mod layup;
mod marks;
mod mould;
mod offers;
mod outputs;
mod part;
mod parts;
mod pins;
mod read;
mod reader;
mod resin;
mod rules;
mod schedule;
mod seen;
mod shop;
mod splice;
mod stack;
mod starter;
mod stock;
mod supplies;
mod syntax;
mod table;
mod together;
mod view;
mod wording;

pub(crate) use bagging::MAX_PLEATS;
pub use bagging::{BagLayer, Bagging, LayerKind, parts_by_bag};
pub(crate) use cloths::widest_roll;
pub use coat::GelCoat;
pub use core::Core;
pub use cutting::{CutRules, OpeningRule};
pub use drawn::{DrawnMark, MarkedAs};
pub(crate) use keys::{Absent, Holds, Key};
pub use keys::{reference, schema, shop_schema};
pub use labour::Labour;
pub use marks::JobMarks;
pub use mould::{LineDrawing, OnMould};
pub use outputs::{
    Arcs, DxfVersion, FileKind, Gcode, HpglNumbers, Knife, Layer, LayerSetting, Outputs, Paper,
    PieceForm, TextForm,
};
pub use part::{OutlineChoice, Part, Ply, RunsOnFrom, ZeroDirection};
pub use pins::Pin;
use read::check_name;
pub use resin::{Hardener, PostCure, ResinSystem};
pub use rules::{MAX_PIECES, MAX_SETS};
pub use seen::HandLines;
pub use shop::{FromShop, OpenShop, STARTING_SHOP, SharedTable, Shop};
pub use splice::{JointKind, SpliceLines, SpliceRule};
pub use stack::StackLayer;
pub use starter::{ShopCloth, StartingJob, further_parts, starting_job};
pub use stock::{StockEntry, StockShape};
pub use supplies::{MouldPreparation, Packs};
pub use together::{JointJob, NamedJob};
pub use view::{DrawnAngle, DrawnView, Side};

pub use crate::geometry::Join;

use crate::cloth::Cloth;
use crate::diag::Place;
use crate::laminate::Lamina;

/// A checked job. Only [`Job::read`] makes one.
#[derive(Clone, Debug, PartialEq)]
pub struct Job {
    title: String,
    marks: JobMarks,
    cloths: Vec<Cloth>,
    laminae: Vec<Option<Lamina>>,
    resin: Option<ResinSystem>,
    bagging: Option<Bagging>,
    mould: Option<MouldPreparation>,
    gel_coat: Option<GelCoat>,
    labour: Option<Labour>,
    parts: Vec<Part>,
    outputs: Outputs,
    stock: Vec<StockEntry>,
    pins: Vec<Pin>,
    shelf: Option<Located<String>>,
    from_shop: Option<FromShop>,
}

impl Job {
    /// What the job is called; the file's stem if it does not say.
    #[must_use]
    pub fn title(&self) -> &str {
        &self.title
    }

    /// Number, date and revision, for the heads of papers.
    #[must_use]
    pub const fn marks(&self) -> &JobMarks {
        &self.marks
    }

    /// The cloths in the order of the file.
    #[must_use]
    pub fn cloths(&self) -> &[Cloth] {
        &self.cloths
    }

    /// What a ply of each cloth becomes when it cures, in the order of [`Job::cloths`]; `None` where
    /// the job does not say what the fibre is.
    #[must_use]
    pub fn laminae(&self) -> &[Option<Lamina>] {
        &self.laminae
    }

    /// The resin, if the job says which.
    #[must_use]
    pub const fn resin(&self) -> Option<&ResinSystem> {
        self.resin.as_ref()
    }

    /// The vacuum bag, if there is one.
    #[must_use]
    pub const fn bagging(&self) -> Option<&Bagging> {
        self.bagging.as_ref()
    }

    /// How the moulds are made ready, if the job says.
    #[must_use]
    pub const fn mould(&self) -> Option<&MouldPreparation> {
        self.mould.as_ref()
    }

    /// What is put on the mould before ply 1, if anything.
    #[must_use]
    pub const fn gel_coat(&self) -> Option<&GelCoat> {
        self.gel_coat.as_ref()
    }

    /// What the work costs, if the job says.
    #[must_use]
    pub const fn labour(&self) -> Option<&Labour> {
        self.labour.as_ref()
    }

    /// The parts in the order of the file.
    #[must_use]
    pub fn parts(&self) -> &[Part] {
        &self.parts
    }

    /// Which files are wanted, and how.
    #[must_use]
    pub const fn outputs(&self) -> &Outputs {
        &self.outputs
    }

    /// What is on hand, cloth by cloth in the order of the file. [`crate::inputs::Inputs`] makes
    /// each cloth's stock of it.
    #[must_use]
    pub fn stock(&self) -> &[StockEntry] {
        &self.stock
    }

    /// The pieces that stay where they are put.
    #[must_use]
    pub fn pins(&self) -> &[Pin] {
        &self.pins
    }

    /// The folder of the shelf that is kept, relative to the job file, if there is one.
    #[must_use]
    pub const fn shelf(&self) -> Option<&Located<String>> {
        self.shelf.as_ref()
    }

    /// What the job has from its shop file, if it names one.
    #[must_use]
    pub const fn from_shop(&self) -> Option<&FromShop> {
        self.from_shop.as_ref()
    }

    /// The same job with these kinds of file wanted.
    #[must_use]
    pub fn with_files(mut self, files: Vec<FileKind>) -> Self {
        self.outputs.files = files;
        self
    }

    /// The wishes for files, for tests of them.
    #[cfg(test)]
    pub(crate) fn outputs_mut(&mut self) -> &mut Outputs {
        &mut self.outputs
    }

    /// The parts, for tests with other names.
    #[cfg(test)]
    pub(crate) fn parts_mut(&mut self) -> &mut [Part] {
        &mut self.parts
    }

    /// The same job with what is left of each cloth named from the number that `first` tells.
    #[must_use]
    pub fn with_remnants_from(mut self, first: impl Fn(&str) -> u32) -> Self {
        for cloth in &mut self.cloths {
            cloth.supply.first_remnant = first(&cloth.name);
        }
        self
    }

    /// Lets all pieces go where the search lays them, for those who cut other numbers of them.
    pub(crate) fn unpin(&mut self) {
        self.pins.clear();
    }

    /// The same job with these pins.
    pub(crate) fn with_pins(mut self, pins: Vec<Pin>) -> Self {
        self.pins = pins;
        self
    }

    /// The cloths, for those who try the job in another way.
    pub(crate) fn cloths_mut(&mut self) -> &mut [Cloth] {
        &mut self.cloths
    }

    /// The plies of all parts, for those who try the job in another way.
    pub(crate) fn plies_mut(&mut self) -> impl Iterator<Item = &mut Ply> {
        self.parts.iter_mut().flat_map(|part| &mut part.plies)
    }

    /// The same job with `part` in place of the one at `index`, for those who try another laminate.
    pub(crate) fn with_part(mut self, index: usize, part: Part) -> Self {
        self.parts[index] = part;
        self
    }

    /// Adds a cloth and what its plies become; returns its index.
    pub(crate) fn add_cloth(&mut self, cloth: Cloth, lamina: Option<Lamina>) -> usize {
        self.cloths.push(cloth);
        self.laminae.push(lamina);
        self.cloths.len() - 1
    }
}

/// A value of the job file with its place, for problems that are found later.
#[derive(Clone, Debug, PartialEq)]
pub struct Located<T> {
    /// The value.
    pub value: T,
    /// Where it is written.
    pub place: Place,
}
