//! Several jobs that are planned together.

use super::{BaggingRecord, CostsRecord, MouldRecord, ResinRecord, amount, mm};
use crate::cloth::Purchase;
use crate::json::record;
use crate::plan::{JobShare, PartUse, Saving};

record! {
    /// One of several jobs, and what is its own.
    pub struct JobRecord of (job: &JobShare) {
        /// Its name among the others, which names its folder in `jobs/`.
        name: String = job.name().to_owned(),
        /// Its title.
        title: String = job.plan().title().to_owned(),
        /// Its number, if it gives one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        job_number: Option<String> = job.plan().marks().number().map(str::to_owned),
        /// Its revision, if it gives one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        revision: Option<String> = job.plan().marks().revision().map(str::to_owned),
        /// The date that it gives its papers.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        date: Option<String> = job.plan().marks().date().map(str::to_owned),
        /// Names of its parts.
        parts: Vec<String> = job.plan().parts().iter().map(PartUse::name).map(str::to_owned).collect(),
        /// Its resin, if it is known.
        resin: Option<ResinRecord> = (job.plan().work().resin.as_ref())
            .map(|resin| ResinRecord::of(job.plan(), resin, &resin.order)),
        /// Its bags, if it has any.
        bagging: Option<BaggingRecord> = (job.plan().work().bagging.as_ref())
            .map(|bags| BaggingRecord::of(job.plan(), bags)),
        /// How its moulds are made ready, if it says.
        mould: Option<MouldRecord> = (job.plan().work().mould.as_ref())
            .map(|mould| MouldRecord::of(job.plan(), mould)),
        /// What it costs with its share of the cloth by cut area, if that is known.
        costs: Option<CostsRecord> =
            job.plan().costs().map(|costs| CostsRecord::of(job.plan(), costs)),
    }

    /// What a cloth takes one job after the other, and together.
    pub struct SavingRecord of (saving: &Saving) {
        /// Name of the cloth.
        cloth: String = saving.cloth.clone(),
        /// Currency of the costs; empty without a price.
        currency: String = saving.currency.clone(),
        /// If each job is laid out by itself, on what those before it leave of the stock.
        one_by_one: TakenRecord = TakenRecord::of(&saving.one_by_one),
        /// As planned.
        together: TakenRecord = TakenRecord::of(&saving.together),
    }

    /// What is taken of a cloth.
    pub struct TakenRecord of (purchase: &Purchase) {
        /// What the layouts use of the bought roll.
        used_mm: f64 = mm(purchase.used),
        /// What is bought.
        length_mm: f64 = mm(purchase.length),
        /// What that costs, if the price is known.
        cost: Option<f64> = purchase.cost.map(amount),
    }
}
