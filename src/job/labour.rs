//! What the work on a part costs beside its material: the table `[labour]`.

use super::keys::{Amount, ShareUpTo, keys};
use super::reader::JobReader;
use super::resin::ResinSystem;
use super::supplies::PACK_PRICE;
use super::table::JobTable;
use crate::units::{Duration, LayingSpeed, Price};

/// What an hour costs, how long the steps take that no other table tells of, and what is put on top.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Labour {
    /// What an hour of one person costs.
    pub hourly_rate: Price,
    /// Making the mould of one set ready: cleaning, waxing and buffing, without the waiting between.
    pub mould: Duration,
    /// Marking out, cutting and labelling one piece.
    pub cutting: Duration,
    /// Demoulding, trimming and checking one set.
    pub finishing: Duration,
    /// What else one set takes.
    pub other: Duration,
    /// How fast one person lays and wets out, as `[resin]` says or usually.
    pub laying_speed: LayingSpeed,
    /// Rent, power, blades and rags, as a share of material and labour.
    pub overheads: f64,
    /// What is earned, as a share of the price.
    pub margin: f64,
}

// Times, overheads and margin are common practice, no source: a shop has its own.
keys! {
    /// What `[labour]` says.
    LabourKeys: "`[labour]`", "[labour]", "What a part must be sold for: the hours of its steps at an hourly rate, material, overheads and margin. Laying takes the `laying_speed` and each batch the `mixing_time` of `[resin]`, each bag the `bagging_time` and `leak_check` of `[bag]`; a coat takes the `speed` of `[gel_coat]`. All times count for one person.";
    hourly_rate: Price = PACK_PRICE, Required, "45.00 EUR", "what an hour of one person costs";
    mould_time: Duration = Amount::OrNone(Duration::to_minutes), Is("30 min"), "30 min", "making the mould of one set ready, without the waiting between coats";
    cutting_time: Duration = Amount::OrNone(Duration::to_minutes), Is("3 min"), "3 min", "marking out, cutting and labelling one piece";
    finishing_time: Duration = Amount::OrNone(Duration::to_minutes), Is("45 min"), "45 min", "demoulding, trimming and checking one set";
    other_time: Duration = Amount::OrNone(Duration::to_minutes), Is("0 min"), "15 min", "what else one set takes, such as painting or fittings";
    overheads: f64 = ShareUpTo { most: 5.0 }, Is("15 %"), "15 %", "rent, power, blades and rags, as a share of material and labour";
    margin: f64 = ShareUpTo { most: 0.9 }, Is("0 %"), "20 %", "what is earned, as a share of the price";
}

/// How fast one person lays and wets out where no `[resin]` says (common practice, no source).
const LAYING_M2_PER_HOUR: f64 = 1.5;

/// Reads `[labour]` beside `resin`; `None` after a complaint.
pub(super) fn read_labour(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    resin: Option<&ResinSystem>,
) -> Option<Labour> {
    let keys = LabourKeys::read(reader, Some(table));
    Some(Labour {
        hourly_rate: keys.hourly_rate.value?,
        mould: keys.mould_time.value,
        cutting: keys.cutting_time.value,
        finishing: keys.finishing_time.value,
        other: keys.other_time.value,
        laying_speed: resin.map_or(LayingSpeed::m2_per_hour(LAYING_M2_PER_HOUR), |resin| {
            resin.laying_speed
        }),
        overheads: keys.overheads.value,
        margin: keys.margin.value,
    })
}
