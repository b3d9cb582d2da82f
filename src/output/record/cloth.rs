//! What is used of the cloths, what is bought, and what is left.

use super::{amount, grams, mm, mm2};
use crate::cloth::{Cloth, PriceBreak};
use crate::json::{corners, record};
use crate::number::rounded;
use crate::plan::{Alternative, ClothUse, SetCost, StockLeft};
use crate::units::{Area, Length, PricePerLength};

record! {
    /// What is used of a cloth.
    pub struct ClothRecord of (used: &ClothUse) {
        /// Its name in the job.
        name: String = used.cloth.name.clone(),
        /// Its weave, as in the job.
        weave: String = used.cloth.weave.word().to_owned(),
        /// How its pieces may be turned.
        turns: TurnsRecord = TurnsRecord::of(&used.cloth),
        /// Areal weight in g/m².
        areal_weight_g_m2: f64 = rounded(used.cloth.areal_weight.to_g_per_m2(), 3),
        /// Width from selvedge to selvedge.
        roll_width_mm: f64 = mm(used.cloth.roll_width),
        /// Strip along each selvedge that is not used.
        selvedge_mm: f64 = mm(used.cloth.selvedge),
        /// Strip at each end that is not used.
        end_margin_mm: f64 = mm(used.cloth.end_margin),
        /// Least distance between two cut lines.
        gap_mm: f64 = mm(used.cloth.gap),
        /// Its price.
        price: Option<PriceRecord> =
            used.cloth.price.as_ref().map(|price| PriceRecord::of(&used.cloth, price)),
        /// It is sold in multiples of this; 0 for any length.
        sold_by_mm: f64 = mm(used.cloth.sold_by),
        /// The least that is sold.
        least_sold_mm: f64 = mm(used.cloth.least_sold),
        /// Share that is bought beyond what is used.
        spare: f64 = rounded(used.cloth.spare, 6),
        /// Number of pieces.
        pieces: usize = used.n_pieces,
        /// Length used of the roll that is bought.
        used_length_mm: f64 = mm(used.purchase.used),
        /// Σ cut area / (roll width × used length), 0 … 1.
        utilisation: f64 = rounded(used.utilisation, 6),
        /// Σ cut area.
        cut_area_mm2: f64 = mm2(used.cut_area),
        /// Σ net area.
        net_area_mm2: f64 = mm2(used.net_area),
        /// Area bought.
        bought_area_mm2: f64 = mm2(used.bought_area()),
        /// Area of the stock that is cut.
        stock_area_mm2: f64 = mm2(used.stock_area),
        /// Area that goes on the shelf.
        kept_area_mm2: f64 = mm2(used.kept_area),
        /// What of the waste is kept free beside pieces so that lines run on; left out if nothing is.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        kept_for_pattern_mm2: Option<f64> =
            Some(used.for_pattern.kept_free).filter(|area| *area > Area::ZERO).map(mm2),
        /// Where the rest goes.
        waste: WasteRecord = WasteRecord::of(used, used.waste.total()),
    }

    /// How pieces of a cloth may be turned.
    pub struct TurnsRecord of (cloth: &Cloth) {
        /// `none`, `half`, `quarter` or `any`.
        rotation: String = cloth.turns.rotation.word().to_owned(),
        /// Whether it may be cut face down.
        turn_over: bool = cloth.turns.turn_over,
    }

    /// The price of a cloth.
    pub struct PriceRecord of (cloth: &Cloth, price: &PricePerLength) {
        /// For one unit.
        amount: f64 = amount(price.amount),
        /// Symbol of that unit of length.
        per: String = price.unit.symbol().to_owned(),
        /// Its currency.
        currency: String = price.currency.clone(),
        /// Lower prices for longer lengths.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        breaks: Vec<PriceBreakRecord> =
            cloth.price_breaks.iter().map(PriceBreakRecord::of).collect(),
    }

    /// A lower price from some length on.
    pub struct PriceBreakRecord of (lower: &PriceBreak) {
        /// From this length.
        from_mm: f64 = mm(lower.from),
        /// For one unit.
        amount: f64 = amount(lower.price.amount),
        /// Symbol of that unit of length.
        per: String = lower.price.unit.symbol().to_owned(),
    }

    /// Cloth that ends up in no part and not on the shelf.
    pub struct WasteRecord of (used: &ClothUse, total: Area) {
        /// Strips along the selvedges.
        selvedge_mm2: f64 = mm2(used.waste.selvedge),
        /// Between the pieces.
        between_mm2: f64 = mm2(used.waste.between),
        /// Inside the cut lines, outside the net lines.
        trim_mm2: f64 = mm2(used.waste.trim),
        /// Beyond the used length.
        end_mm2: f64 = mm2(used.waste.end),
        /// All of it.
        total_mm2: f64 = mm2(total),
        /// Its mass.
        total_g: f64 = grams(used.mass_of(total)),
        /// What was paid for it.
        total_cost: Option<f64> = used.cost_of(total).map(amount),
    }

    /// What to buy of a cloth.
    pub struct PurchaseRecord of (used: &ClothUse) {
        /// Its name.
        cloth: String = used.cloth.name.clone(),
        /// To buy.
        length_mm: f64 = mm(used.purchase.length),
        /// Of that, used.
        used_mm: f64 = mm(used.purchase.used),
        /// What it costs.
        cost: Option<f64> = used.purchase.cost.map(amount),
        /// Width of the roll that is bought.
        roll_width_mm: f64 = mm(used.cloth.roll_width),
        /// Currency of the cost.
        currency: Option<String> = used.cloth.price.as_ref().map(|price| price.currency.clone()),
        /// Every roll on offer, where there are several.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        alternatives: Vec<AlternativeRecord> =
            used.alternatives.iter().map(AlternativeRecord::of).collect(),
    }

    /// A roll on offer.
    pub struct AlternativeRecord of (offer: &Alternative) {
        /// Its width.
        roll_width_mm: f64 = mm(offer.roll_width),
        /// What the job would use of it.
        used_mm: Option<f64> = offer.purchase.as_ref().ok().map(|bought| mm(bought.used)),
        /// What would be bought of it.
        length_mm: Option<f64> = offer.purchase.as_ref().ok().map(|bought| mm(bought.length)),
        /// What that would cost.
        cost: Option<f64> = offer.purchase.as_ref().ok().and_then(|bought| bought.cost).map(amount),
        /// Whether every piece fits it.
        fits: bool = offer.purchase.is_ok(),
        /// Which piece does not, and why.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        misfit: Option<String> = offer.purchase.as_ref().err().cloned(),
        /// Whether it is the one that is bought.
        chosen: bool = offer.is_chosen,
    }

    /// What some number of sets costs.
    pub struct SetCostRecord of (of: &SetCost) {
        /// How many sets.
        sets: u32 = of.sets,
        /// Whether that is how many the job makes.
        this_job: bool = of.is_this_job,
        /// What is bought for them.
        bought: Vec<BoughtRecord> = of.bought.iter().map(BoughtRecord::of).collect(),
        /// What they cost.
        cost: Option<f64> = of.cost.map(amount),
        /// What one of them costs.
        cost_of_one: Option<f64> = of.cost_of_one().map(amount),
    }

    /// Cloth bought for some number of sets.
    pub struct BoughtRecord of (bought: &(String, Length)) {
        /// Its name.
        cloth: String = bought.0.clone(),
        /// How much.
        length_mm: f64 = mm(bought.1),
    }

    /// Stock on the shelf afterwards; its edge is in its [file](crate::cloth::RemnantRecord).
    pub struct StockLeftRecord of (left: &StockLeft, path: String) {
        /// Name of the cloth.
        cloth: String = left.cloth.clone(),
        /// Its own name.
        name: String = left.stock.name.clone(),
        /// Path of its file in the out folder.
        file: String = path,
        /// The roll it was cut from; none if it was not touched.
        from: Option<String> = left.from.clone(),
        /// Its area.
        area_mm2: f64 = mm2(Area::mm2(left.stock.outline.area())),
        /// Lowest x and y, highest x and y of the largest usable rectangle.
        largest_rectangle: [f64; 4] = corners(&left.rectangle),
    }
}
