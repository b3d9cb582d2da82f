//! The checked result that every output reads.
//!
//! # Example
//!
//! ```
//! # use warpwise::{inputs::{InputFile, Inputs}, job::Job, nest, ply};
//! # let drawing = br#"<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm"
//! #     viewBox="0 0 600 400"><path id="lid" d="M10 10H510V310H10Z"/></svg>"#;
//! # let text = "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
//! #     price = \"10 EUR/m\"\nsold_by = \"0.5 m\"\n\
//! #     [[part]]\nname = \"LID\"\npattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0/90]s\"\n";
//! # let (job, _) = Job::read("lid.toml", text).unwrap();
//! # let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.to_vec())]);
//! # let (inputs, _) = Inputs::read(job, open).unwrap();
//! # let (pieces, _) = ply::pieces(&inputs).unwrap();
//! use warpwise::plan::{Settings, build};
//!
//! // `pieces` as in the crate's example: four plies of 500 × 300 mm, cloth 1 m wide.
//! let settings = Settings { effort: nest::Effort::Quick, ..Settings::default() };
//! let plan = build(&pieces, &settings, &|_| nest::Continue::Yes).unwrap();
//!
//! let glass = &plan.cloths()[0];
//! assert_eq!(glass.n_pieces, 4);
//! // Sold by the half metre.
//! assert!(glass.purchase.used.to_metres() < 0.95);
//! assert_eq!(glass.purchase.length.to_metres(), 1.0);
//! ```

mod build;
mod cloths;
pub mod compare;
mod cutting;
mod foreseen;
mod layout;
mod money;
mod parts;
mod process;
#[cfg(test)]
pub(crate) mod tests;
mod together;

pub(crate) use build::build_while;
pub use build::{Observer, Settings, Step, build};
pub use cloths::{Alternative, ClothUse, SetCost, StockLeft, Waste};
pub use cutting::{Cut, CutFrame, CutOrder, Travel, Visit, ordered, tour, way_length};
pub use foreseen::{Foreseen, ForeseenCloth};
pub use layout::{
    ForPattern, Label, Layout, PlacedJoint, PlacedPiece, PlacedSplice, RunsOn, check_pins,
    cloth_of_trial,
};
pub use money::{
    Amount, CostBreakdown, Costs, ItemKind, PartPrice, ShoppingItem, WorkStep, cost_per_set,
};
pub use parts::{CoreUse, PartUse, PlyUse};
pub(crate) use process::wanted_ids;
pub use process::{
    BagUse, Bagged, CoatUse, FinishedPart, JoinedLayer, LaidPiece, LaidPly, Laminate, MouldUse,
    PartBag, PartCoat, PartResin, PlaceOnMould, Pleats, PlyAtPlace, ResinStep, ResinUse, RollUse,
    SharedBag, StackAsCut, Stage, ThicknessMap, ThicknessRegion, TimedBatch, Timeline, Work,
};
pub use together::{JobPieces, JobShare, Saving, build_together};

use std::collections::BTreeMap;

use self::process::laminate::AnglesAsCut;
use crate::diag::{Diagnostic, Diagnostics};
use crate::job::{Job, JobMarks, Outputs};
use crate::ply::Pieces;

/// A whole plan: all layouts plus what follows from them.
///
/// Everything in it is in the order in which it is written out.
#[derive(Clone, Debug)]
pub struct Plan {
    pieces: Pieces,
    seed: u64,
    effort: String,
    cloths: Vec<ClothUse>,
    layouts: Vec<Layout>,
    parts: Vec<PartUse>,
    stock_left: Vec<StockLeft>,
    cost_per_set: Vec<SetCost>,
    work: Work,
    costs: Option<Costs>,
    jobs: Vec<JobShare>,
    savings: Vec<Saving>,
    is_share: bool,
    remarks: Diagnostics,
}

/// Warns of the parts of these pieces whose bag would come too late, without a layout.
#[must_use]
pub fn late_bags(pieces: &Pieces) -> Diagnostics {
    let job = pieces.job();
    let mut parts = parts::parts(pieces, &AnglesAsCut::of(job, &[]));
    let mut warnings = Diagnostics::new();
    if ResinUse::of(job, &mut parts).is_some() {
        process::late_bags(&parts).for_each(|late| warnings.push(late));
    }
    warnings
}

impl Plan {
    /// The job, with its stock.
    #[must_use]
    pub fn job(&self) -> &Job {
        self.pieces.job()
    }

    /// The pieces to cut.
    #[must_use]
    pub fn pieces(&self) -> &Pieces {
        &self.pieces
    }

    /// Title of the job.
    #[must_use]
    pub fn title(&self) -> &str {
        self.job().title()
    }

    /// Number, date and revision of the job, for the heads of papers.
    #[must_use]
    pub fn marks(&self) -> &JobMarks {
        self.job().marks()
    }

    /// Seed of the search.
    #[must_use]
    pub fn seed(&self) -> u64 {
        self.seed
    }

    /// Effort as the user named it, for example `normal` or `60s`.
    #[must_use]
    pub fn effort(&self) -> &str {
        &self.effort
    }

    /// One entry per cloth of the job that has pieces, in the order of the job file.
    #[must_use]
    pub fn cloths(&self) -> &[ClothUse] {
        &self.cloths
    }

    /// One entry per roll that is cut, cloth by cloth.
    #[must_use]
    pub fn layouts(&self) -> &[Layout] {
        &self.layouts
    }

    /// One entry per part, in the order of the job file.
    #[must_use]
    pub fn parts(&self) -> &[PartUse] {
        &self.parts
    }

    /// Which files are wanted, and how.
    #[must_use]
    pub fn outputs(&self) -> &Outputs {
        self.job().outputs()
    }

    /// What is on the shelf afterwards, cloth by cloth: stock that was not touched, then what is
    /// left of the rolls that are cut and worth keeping.
    #[must_use]
    pub fn stock_left(&self) -> &[StockLeft] {
        &self.stock_left
    }

    /// What a set costs by how many are made; empty unless asked for.
    #[must_use]
    pub fn cost_per_set(&self) -> &[SetCost] {
        &self.cost_per_set
    }

    /// What the work takes beside cloth.
    #[must_use]
    pub fn work(&self) -> &Work {
        &self.work
    }

    /// What the order costs; `None` without any price, or where prices are in several currencies.
    #[must_use]
    pub fn costs(&self) -> Option<&Costs> {
        self.costs.as_ref()
    }

    /// The jobs that are planned together, each with what is its own; empty for a plan of one job.
    #[must_use]
    pub fn jobs(&self) -> &[JobShare] {
        &self.jobs
    }

    /// What each cloth takes together and one job after the other; empty for a plan of one job.
    #[must_use]
    pub fn savings(&self) -> &[Saving] {
        &self.savings
    }

    /// Whether it is the share of one job in a plan of several: its rolls hold pieces of others too.
    #[must_use]
    pub const fn is_share(&self) -> bool {
        self.is_share
    }

    /// The plan of the job that `part` is of: of several that are planned together its share.
    #[must_use]
    pub fn of_job(&self, part: &str) -> &Self {
        let is_of = |share: &&JobShare| share.plan().parts.iter().any(|p| p.name() == part);
        self.jobs.iter().find(is_of).map_or(self, JobShare::plan)
    }

    /// Warnings and notes that came up on the way.
    #[must_use]
    pub fn remarks(&self) -> &Diagnostics {
        &self.remarks
    }
}

/// The pieces of every ply by part, ply number and set.
#[derive(Clone, Debug)]
pub struct PieceIndex<'a>(BTreeMap<&'a str, BTreeMap<(u32, u32), Vec<&'a PlacedPiece>>>);

impl Plan {
    /// Takes on what a set costs by how many are made.
    pub fn set_cost_per_set(&mut self, costs: Vec<SetCost>) {
        self.cost_per_set = costs;
    }

    /// Adds what was said before there was a plan, in front of what there is.
    pub fn put_remarks_first(&mut self, mut remarks: Diagnostics) {
        remarks.append(std::mem::take(&mut self.remarks));
        self.remarks = remarks;
    }

    /// Adds a remark.
    pub fn remark(&mut self, remark: Diagnostic) {
        self.remarks.push(remark);
    }

    /// What is left of the roll of `layout` and worth keeping.
    pub fn left_of<'a>(&'a self, layout: &'a Layout) -> impl Iterator<Item = &'a StockLeft> {
        let is_of = |left: &&StockLeft| {
            left.cloth == layout.cloth.name && left.from.as_ref() == Some(&layout.roll)
        };
        self.stock_left.iter().filter(is_of)
    }

    /// The pieces of every ply.
    #[must_use]
    pub fn piece_index(&self) -> PieceIndex<'_> {
        let mut index: BTreeMap<&str, BTreeMap<(u32, u32), Vec<&PlacedPiece>>> = BTreeMap::new();
        for piece in self.layouts.iter().flat_map(|layout| &layout.pieces) {
            let of_part = index.entry(piece.part()).or_default();
            let of_ply = of_part.entry((piece.ply(), piece.set)).or_default();
            of_ply.push(piece);
        }
        for pieces in index.values_mut().flat_map(BTreeMap::values_mut) {
            pieces.sort_by(|a, b| a.id.cmp(&b.id));
        }
        PieceIndex(index)
    }
}

impl<'a> PieceIndex<'a> {
    /// The pieces that make up one ply of one set, by their ids.
    #[must_use]
    pub fn of(&self, part: &str, ply: u32, set: u32) -> &[&'a PlacedPiece] {
        let of_part = self.0.get(part);
        of_part
            .and_then(|plies| plies.get(&(ply, set)))
            .map_or(&[], Vec::as_slice)
    }
}
