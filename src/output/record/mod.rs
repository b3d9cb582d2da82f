//! `plan.json` as types: what is written and what is read back is one list of members.
//!
//! Where a name does not end in its unit, lengths are millimetres (coordinates to 0.0001 mm, in the
//! roll frame: x along the warp, y across), angles degrees counter-clockwise, money whole units of its
//! currency. What was not computed is left out of the file; what is not known (a price, the fibre of a
//! cloth and what follows from it) is `null`: both are `None`, or an empty list, here.
//!
//! # Example
//!
//! ```
//! use warpwise::output::record::PlanRecord;
//!
//! fn ids(plan_json: &str) -> serde_json::Result<Vec<String>> {
//!     let plan: PlanRecord = serde_json::from_str(plan_json)?;
//!     let pieces = plan.layouts.into_iter().flat_map(|layout| layout.pieces);
//!     Ok(pieces.map(|piece| piece.id).collect())
//! }
//! assert!(ids("{}").is_err());
//! ```

mod cloth;
mod jobs;
mod layout;
mod part;
mod work;

pub use cloth::{
    AlternativeRecord, BoughtRecord, ClothRecord, PriceBreakRecord, PriceRecord, PurchaseRecord,
    SetCostRecord, StockLeftRecord, TurnsRecord, WasteRecord,
};
pub use jobs::{JobRecord, SavingRecord, TakenRecord};
pub use layout::{
    BiasRecord, CutFrameRecord, CutOrderRecord, CutRecord, FlawRecord, JointRecord, KeptRecord,
    LabelRecord, LayoutRecord, MarkRecord, PieceRecord, SpliceRecord, TravelRecord,
};
pub use part::{
    DrapeRecord, ElasticRecord, FullPliesRecord, InPlaneRecord, LaminateRecord, PartRecord,
    PlyJointRecord, PlyRecord, RegionRecord, RegionsRecord, StackAsCutRecord, StackRecord,
    StiffnessRecord,
};
pub use work::{
    BagLayerRecord, BaggingRecord, BatchRecord, CostRecord, CostsRecord, GelCoatRecord, ItemRecord,
    JoinedLayerRecord, MixRecord, MouldPartRecord, MouldRecord, PartBagRecord, PartCoatRecord,
    PartCostRecord, PartPriceRecord, PartResinRecord, PricesRecord, ResinRecord, ResinShareRecord,
    SharedBagRecord,
};

pub use crate::json::OutlineRecord;

use crate::diag::{Diagnostic, Severity};
use crate::json::record;
use crate::number::{ANGLE, COORDINATE, rounded};
use crate::output::files::remnant_files;
use crate::plan::Plan;
use crate::units::{Angle, Area, Length, Mass, Modulus, Money};

record! {
    /// `plan.json`.
    pub struct PlanRecord of (plan: &Plan) {
        /// Version of the program that wrote it.
        warpwise: String = env!("CARGO_PKG_VERSION").to_owned(),
        /// Title of the job.
        title: String = plan.title().to_owned(),
        /// Number of the job, if it gives one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        job_number: Option<String> = plan.marks().number().map(str::to_owned),
        /// Revision of the job, if it gives one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        revision: Option<String> = plan.marks().revision().map(str::to_owned),
        /// Date that the job gives its papers, as it is written there.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        date: Option<String> = plan.marks().date().map(str::to_owned),
        /// `mm`.
        units: String = "mm".to_owned(),
        /// Seed of the search.
        seed: u64 = plan.seed(),
        /// Effort as the user named it.
        effort: String = plan.effort().to_owned(),
        /// Every cloth that has pieces.
        cloths: Vec<ClothRecord> = plan.cloths().iter().map(ClothRecord::of).collect(),
        /// Every part.
        parts: Vec<PartRecord> = plan.parts().iter().map(PartRecord::of).collect(),
        /// The resin of the order, if it is known.
        resin: Option<ResinRecord> = (plan.work().resin.as_ref())
            .map(|resin| ResinRecord::of(plan, resin, &resin.order)),
        /// The bags of the order, if the job has any.
        bagging: Option<BaggingRecord> =
            plan.work().bagging.as_ref().map(|bags| BaggingRecord::of(plan, bags)),
        /// How moulds are made ready, if the job says.
        mould: Option<MouldRecord> =
            plan.work().mould.as_ref().map(|mould| MouldRecord::of(plan, mould)),
        /// Gel coat or wet coat before ply 1, if the job has one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        gel_coat: Option<GelCoatRecord> =
            plan.work().coat.as_ref().map(|coat| GelCoatRecord::of(plan, coat)),
        /// What the order costs, if that is known.
        costs: Option<CostsRecord> =
            plan.costs().map(|costs| CostsRecord::of(plan, costs)),
        /// What it must be sold for; left out unless the job says what work costs.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        prices: Option<PricesRecord> =
            plan.price_of_order().zip(plan.job().labour()).map(|(order, labour)| PricesRecord::of(plan, order, labour)),
        /// Everything to buy, in the order of the work.
        shopping: Vec<ItemRecord> = plan.shopping().iter().map(ItemRecord::of).collect(),
        /// What to buy of every cloth.
        purchase: Vec<PurchaseRecord> = plan.cloths().iter().map(PurchaseRecord::of).collect(),
        /// Every roll that is cut.
        layouts: Vec<LayoutRecord> =
            plan.layouts().iter().map(|layout| LayoutRecord::of(plan, layout)).collect(),
        /// What is on the shelf afterwards.
        stock_left: Vec<StockLeftRecord> = (plan.stock_left().iter().zip(remnant_files(plan)))
            .map(|(left, file)| StockLeftRecord::of(left, file))
            .collect(),
        /// The jobs that are planned together, if there are several.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        jobs: Vec<JobRecord> = plan.jobs().iter().map(JobRecord::of).collect(),
        /// What each cloth takes together and one job after the other, if there are several.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        savings: Vec<SavingRecord> = plan.savings().iter().map(SavingRecord::of).collect(),
        /// Warnings and notes.
        remarks: Vec<RemarkRecord> = plan.remarks().iter().map(RemarkRecord::of).collect(),
        /// What a set costs by how many are made, if that was asked.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        cost_per_set: Vec<SetCostRecord> =
            plan.cost_per_set().iter().map(SetCostRecord::of).collect(),
    }

    /// Something that a person should know.
    pub struct RemarkRecord of (remark: &Diagnostic) {
        /// `note`, `warning` or `error`.
        severity: String = match remark.severity {
            Severity::Note => "note",
            Severity::Warning => "warning",
            Severity::Error => "error",
        }
        .to_owned(),
        /// What.
        message: String = remark.message.clone(),
        /// What to do about it.
        help: Option<String> = remark.help.clone(),
    }
}

fn mm(length: Length) -> f64 {
    rounded(length.to_mm(), COORDINATE)
}

fn mm2(area: Area) -> f64 {
    rounded(area.to_mm2(), 2)
}

fn grams(mass: Mass) -> f64 {
    rounded(mass.to_grams(), 3)
}

fn degrees(angle: Angle) -> f64 {
    rounded(angle.to_degrees(), ANGLE)
}

fn mpa(modulus: Modulus) -> f64 {
    rounded(modulus.to_mpa(), 1)
}

fn amount(money: Money) -> f64 {
    rounded(money.to_decimal(), 2)
}
