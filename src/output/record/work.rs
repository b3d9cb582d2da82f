//! What the work takes beside cloth, and what all of it costs.

use std::collections::BTreeMap;

use super::{LayoutRecord, OutlineRecord, amount, grams, mm, mm2};
use crate::job::{BagLayer, Labour};
use crate::json::record;
use crate::laminate::{Batch, Mixed};
use crate::number::rounded;
use crate::plan::{
    Amount, BagUse, CoatUse, CostBreakdown, Costs, ItemKind, JoinedLayer, MouldUse, PartBag,
    PartCoat, PartPrice, PartResin, PartUse, PieceIndex, Plan, Pleats, PlyUse, ResinUse, RollUse,
    SharedBag, ShoppingItem, Stage, TimedBatch, Timeline, WorkStep,
};
use crate::units::{Area, Duration, Length, Mass, Money};

/// The pleats of a part on a mould.
fn of_mould<'a>(part: &PartUse, bag: &'a PartBag) -> Option<&'a Pleats> {
    (!part.drapes().is_empty()).then_some(&bag.pleats)
}

fn hollows(pleats: &Pleats) -> [Vec<[f64; 3]>; 2] {
    let place = |at: &[f64; 3]| at.map(|at| rounded(at, 3));
    [0, 1].map(|k| pleats.hollows[k].iter().map(place).collect())
}

fn minutes(time: Duration) -> f64 {
    rounded(time.to_minutes(), 2)
}

record! {
    /// The resin of the order.
    pub struct ResinRecord of (plan: &Plan, resin: &ResinUse, order: &PartResin) {
        /// Its name.
        name: String = resin.system.name.clone(),
        /// The hardener, where the job names it.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        hardener: Option<String> = resin.system.hardener.name.clone(),
        /// What is mixed in all.
        #[serde(flatten)]
        mix: MixRecord = MixRecord::of(order.mixed(), resin.divide(order.mixed())),
        /// Where it goes.
        #[serde(flatten)]
        goes: ResinShareRecord = ResinShareRecord::of(order),
        /// The largest mass that is mixed at once.
        largest_batch_g: f64 = grams(resin.system.limits().mass),
        /// How long it may be worked with, as its maker says.
        pot_life_min: f64 = rounded(resin.system.hardener.pot_life.to_minutes(), 3),
        /// The same in the room where it is mixed.
        pot_life_in_room_min: f64 = rounded(resin.system.pot_life_in_room().to_minutes(), 3),
        /// How many lay up at once.
        people: u32 = resin.system.people,
        /// How long the work with a batch may take.
        longest_batch_min: f64 = rounded(resin.system.limits().time.to_minutes(), 3),
        /// How fast cloth is laid and wetted, m²/h.
        laying_speed_m2_h: f64 = rounded(resin.system.laying_speed.to_m2_per_hour(), 3),
        /// Part by part.
        parts: Vec<PartResinRecord> = (plan.parts().iter())
            .filter_map(|part| Some(PartResinRecord::of(part, part.resin.as_ref()?)))
            .collect(),
        /// In the order of mixing.
        batches: Vec<BatchRecord> = {
            let index = plan.piece_index();
            let batches = (1..).zip(&resin.batches);
            batches.map(|(n, batch)| BatchRecord::of(plan, &index, resin, n, batch)).collect()
        },
    }

    /// Resin and hardener.
    pub struct MixRecord of (mixed: Mass, divided: Mixed) {
        /// Both together.
        mixed_g: f64 = grams(mixed),
        /// Resin.
        part_a_g: f64 = grams(divided.a),
        /// Hardener.
        part_b_g: f64 = grams(divided.b),
    }

    /// Where resin goes.
    pub struct ResinShareRecord of (resin: &PartResin) {
        /// Inside the net lines.
        in_parts_g: f64 = grams(resin.in_part),
        /// On the faces of cores; left out where there are none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        in_cores_g: Option<f64> = (resin.in_cores > Mass::ZERO).then(|| grams(resin.in_cores)),
        /// In the cloth outside them.
        in_trim_g: f64 = grams(resin.in_trim),
        /// In the layers of the bag.
        take_up_g: f64 = grams(resin.take_up),
        /// In pots, brushes and rollers.
        left_over_g: f64 = grams(resin.left_over),
    }

    /// Resin for one set of a part.
    pub struct PartResinRecord of (part: &PartUse, of_set: &PartResin) {
        /// Its name.
        part: String = part.name().to_owned(),
        /// How many sets are made.
        sets: u32 = part.sets,
        /// Mixed for one.
        mixed_g_per_set: f64 = grams(of_set.mixed()),
        /// Where it goes.
        #[serde(flatten)]
        goes: ResinShareRecord = ResinShareRecord::of(of_set),
        /// When what happens to it; of the first stage, where it is laid in stages.
        timeline: Option<TimelineRecord> = (part.stages.first())
            .and_then(|stage| stage.timeline.as_ref())
            .map(TimelineRecord::of),
        /// Stage by stage; left out where all plies are laid at once.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        stages: Vec<StageRecord> = match &part.stages[..] {
            [_] => Vec::new(),
            stages => stages.iter().map(|stage| StageRecord::of(part, stage)).collect(),
        },
    }

    /// What of a set is laid wet in wet and goes under one bag.
    pub struct StageRecord of (part: &PartUse, stage: &Stage) {
        /// The numbers of its plies.
        plies: Vec<u32> = part.plies[stage.plies.clone()].iter().map(PlyUse::n).collect(),
        /// Mixed for it.
        mixed_g: f64 = grams(stage.resin.mixed()),
        /// Where it goes.
        #[serde(flatten)]
        goes: ResinShareRecord = ResinShareRecord::of(&stage.resin),
        /// When what happens.
        timeline: Option<TimelineRecord> = stage.timeline.as_ref().map(TimelineRecord::of),
    }

    /// The time of one set, in minutes from when its first batch is begun.
    pub struct TimelineRecord of (times: &Timeline) {
        /// Its batches.
        batches: Vec<TimedBatchRecord> = times.batches.iter().map(TimedBatchRecord::of).collect(),
        /// The last ply is wetted out.
        last_ply_min: f64 = minutes(times.last_ply()),
        /// The bag presses.
        full_vacuum_min: Option<f64> = times.bag.map(|bag| minutes(bag.full_vacuum)),
        /// The leak check is over.
        leak_checked_min: Option<f64> = times.bag.map(|bag| minutes(bag.leak_checked)),
        /// The first batch is no longer workable in a thin film.
        first_batch_gels_min: f64 = minutes(times.open_until),
        /// Whether the bag presses before that.
        in_time: bool = times.is_in_time(),
    }

    /// A batch in its time.
    pub struct TimedBatchRecord of (timed: &TimedBatch) {
        /// Its number.
        n: usize = timed.batch + 1,
        /// It is begun to be weighed.
        begun_min: f64 = minutes(timed.begun),
        /// It is mixed.
        mixed_min: f64 = minutes(timed.mixed),
        /// It is used up.
        laid_min: f64 = minutes(timed.laid),
    }

    /// Resin that is mixed at once.
    pub struct BatchRecord of (
        plan: &Plan, index: &PieceIndex<'_>, resin: &ResinUse, number: usize, batch: &Batch,
    ) {
        /// Its number, from 1.
        n: usize = number,
        /// Ids of the pieces that it wets.
        plies: Vec<String> = (resin.steps[batch.steps.clone()].iter())
            .flat_map(|step| {
                let part = &plan.parts()[step.part];
                index.of(part.name(), part.plies[step.ply].n(), step.set)
            })
            .map(|piece| piece.id().to_owned())
            .collect(),
        /// How much.
        #[serde(flatten)]
        mix: MixRecord = MixRecord::of(batch.mass, resin.divide(batch.mass)),
        /// How long the work with it takes.
        minutes: f64 = rounded(batch.time.to_minutes(), 2),
        /// Which of how many batches for its only ply it is.
        #[serde(skip_serializing_if = "Option::is_none")]
        share_of_ply: Option<[usize; 2]> = (batch.share.1 > 1).then(|| batch.share.into()),
    }

    /// Gel coat or wet coat before the first ply.
    pub struct GelCoatRecord of (plan: &Plan, coat: &CoatUse) {
        /// Its name.
        name: String = coat.setup.name.clone(),
        /// Whether it is a resin of its own; else it is the laminating resin.
        own_resin: bool = coat.setup.is_own,
        /// How much is put on.
        areal_weight_g_m2: f64 = rounded(coat.setup.areal_weight.to_g_per_m2(), 3),
        /// What is mixed for the order.
        #[serde(flatten)]
        mix: MixRecord = MixRecord::of(coat.mixed, coat.divide(coat.mixed)),
        /// Part by part.
        parts: Vec<PartCoatRecord> = (plan.parts().iter())
            .filter_map(|part| Some(PartCoatRecord::of(part, coat, part.coat.as_ref()?)))
            .collect(),
    }

    /// The coat of one set of a part.
    pub struct PartCoatRecord of (part: &PartUse, coat: &CoatUse, of_set: &PartCoat) {
        /// Its name.
        part: String = part.name().to_owned(),
        /// How many sets are made.
        sets: u32 = part.sets,
        /// What is coated.
        area_mm2: f64 = mm2(of_set.area),
        /// Inside the net lines, openings taken off: what the part keeps.
        in_part_g: f64 = grams(of_set.in_part),
        /// Put on beyond them.
        beyond_part_g: f64 = grams(of_set.beyond),
        /// In pots and brushes.
        left_over_g: f64 = grams(of_set.left_over),
        /// The batches of a set, in the order of mixing.
        batches: Vec<MixRecord> = (of_set.batches.iter())
            .map(|batch| MixRecord::of(batch.mass, coat.divide(batch.mass)))
            .collect(),
        /// All of it is on, counted from when its first batch is begun.
        on_min: f64 = minutes(of_set.on),
        /// It is tacky, where the job says how long that takes.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        tacky_min: Option<f64> = of_set.tacky.map(minutes),
    }

    /// The bags of the order.
    pub struct BaggingRecord of (plan: &Plan, bags: &BagUse) {
        /// Vacuum in kPa.
        vacuum_kpa: f64 = rounded(bags.setup.vacuum.to_kilopascals(), 3),
        /// The same in mbar.
        vacuum_mbar: f64 = rounded(bags.setup.vacuum.to_millibars(), 2),
        /// The same in inches of mercury.
        vacuum_inhg: f64 = rounded(bags.setup.vacuum.to_inches_of_mercury(), 3),
        /// Sealant tape for all bags, spare included.
        tape_mm: f64 = mm(bags.tape),
        /// Share that is added to it as spare.
        tape_spare: f64 = rounded(bags.setup.tape_spare, 6),
        /// Part by part.
        parts: Vec<PartBagRecord> = (plan.parts().iter())
            .filter_map(|part| Some(PartBagRecord::of(part, part.bag.as_ref()?)))
            .collect(),
        /// Bags over several parts; left out where there are none.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        shared: Vec<SharedBagRecord> =
            bags.shared.iter().map(|bag| SharedBagRecord::of(plan, bag)).collect(),
        /// From the part outwards.
        layers: Vec<BagLayerRecord> =
            bags.rolls.iter().map(|roll| BagLayerRecord::of(plan, roll, &roll.layer)).collect(),
    }

    /// A bag over one set of several parts.
    pub struct SharedBagRecord of (plan: &Plan, bag: &SharedBag) {
        /// Its name, with which the ids of its sheets begin.
        name: String = bag.name.clone(),
        /// Its parts.
        parts: Vec<String> = bag.parts.iter().map(|idx| plan.parts()[*idx].name().to_owned()).collect(),
        /// How they lie in it, from a corner of the rectangle of tape on, the longer side of that along x.
        lying: Vec<OutlineRecord> = bag.lying.iter().map(OutlineRecord::of).collect(),
        /// Where the 0° of each points, counter-clockwise from that side.
        zeros_deg: Vec<f64> = bag.zeros.iter().map(|zero| rounded(zero.as_rotation().to_degrees(), 6)).collect(),
    }

    /// The bag of one set of a part; in a shared bag, tape, film and force on the mould are those of the whole bag.
    pub struct PartBagRecord of (part: &PartUse, bag: &PartBag) {
        /// Its name.
        part: String = part.name().to_owned(),
        /// How many sets are made.
        sets: u32 = part.sets,
        /// The bag that it shares with others.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        shares: Option<String> = bag.shared.map(|_| part.bag_name().to_owned()),
        /// Area the vacuum presses on.
        area_mm2: f64 = mm2(bag.area),
        /// Force on it, N.
        force_n: f64 = rounded(bag.force.to_newtons(), 2),
        /// Force on the mould inside the tape, N.
        mould_force_n: f64 = rounded(bag.mould_force.to_newtons(), 2),
        /// Length and width of the rectangle of tape.
        tape_line_mm: [f64; 2] = <[Length; 2]>::from(bag.tape_line).map(mm),
        /// Length of the tape.
        tape_mm: f64 = mm(bag.tape),
        /// Length of the tape over seams of the film.
        seam_tape_mm: f64 = mm(bag.seam),
        /// Length and width of the film.
        film_mm: [f64; 2] = <[Length; 2]>::from(bag.film).map(mm),
        /// How many pleats it has.
        pleats: u32 = bag.pleats.count,
        /// On each long side of the tape and on each short one, where the mould wants more than the job says.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        pleats_on_sides: Option<[u32; 2]> = bag.pleats.on_sides,
        /// By how much the line over the mould is longer than the part's edge, along the long sides and the short ones.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        over_mould_mm: Option<[f64; 2]> = of_mould(part, bag).map(|pleats| pleats.over.map(mm)),
        /// Hollows on those lines, in the axes of the mould.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        hollows_at_mm: Option<[Vec<[f64; 3]>; 2]> = of_mould(part, bag).map(hollows),
    }

    /// A layer of the bags.
    pub struct BagLayerRecord of (plan: &Plan, roll: &RollUse, layer: &BagLayer) {
        /// Its name.
        name: String = layer.roll.name.clone(),
        /// How far it reaches beyond the part.
        margin_mm: f64 = mm(layer.margin),
        /// Resin that it takes up, g/m².
        take_up_g_m2: f64 = rounded(layer.take_up.to_g_per_m2(), 3),
        /// Length used.
        used_mm: f64 = mm(roll.purchase.used),
        /// Length on hand.
        on_hand_mm: f64 = mm(layer.on_hand),
        /// To buy.
        length_mm: f64 = mm(roll.purchase.length),
        /// What that costs.
        cost: Option<f64> = roll.purchase.cost.map(amount),
        /// Currency of the cost.
        currency: Option<String> = layer.roll.price.as_ref().map(|price| price.currency.clone()),
        /// Ids of layers wider than the roll.
        too_wide: Vec<String> = roll.joined.iter().map(|joined| joined.id.clone()).collect(),
        /// How far the widths of one lap.
        lap_mm: f64 = mm(layer.lap),
        /// Of which pieces those layers are joined.
        joined: Vec<JoinedLayerRecord> = roll.joined.iter().map(JoinedLayerRecord::of).collect(),
        /// Its pieces on its roll.
        layout: LayoutRecord = LayoutRecord::of(plan, &roll.layout),
    }

    /// The layer of one bag, joined from several widths of its roll.
    pub struct JoinedLayerRecord of (joined: &JoinedLayer) {
        /// `PART-LAYER[#SET]`.
        id: String = joined.id.clone(),
        /// Ids of its pieces, in the order of laying.
        pieces: Vec<String> = joined.pieces.clone(),
        /// Length of all its seams.
        seam_mm: f64 = mm(joined.seam),
    }

    /// How moulds are made ready.
    pub struct MouldRecord of (plan: &Plan, mould: &MouldUse) {
        /// How far beyond the part they are released.
        margin_mm: f64 = mm(mould.setup.margin),
        /// Coats of wax.
        wax_coats: u32 = mould.setup.wax_coats,
        /// Wax for the order.
        wax_g: f64 = grams(mould.wax),
        /// PVA for the order, l.
        pva_l: Option<f64> = mould.pva.map(|pva| rounded(pva.to_litres(), 4)),
        /// Part by part.
        parts: Vec<MouldPartRecord> = (plan.parts().iter())
            .filter_map(|part| Some(MouldPartRecord::of(part, part.released?)))
            .collect(),
    }

    /// The mould of a part.
    pub struct MouldPartRecord of (part: &PartUse, area: Area) {
        /// Its name.
        part: String = part.name().to_owned(),
        /// Surface to release for one set.
        area_mm2: f64 = mm2(area),
    }

    /// What the order costs.
    pub struct CostsRecord of (plan: &Plan, costs: &Costs) {
        /// The currency of all prices.
        currency: String = costs.currency.clone(),
        /// The whole order.
        order: CostRecord = CostRecord::of(&costs.order),
        /// Of that, cloth in no part.
        cloth_waste: f64 = amount(costs.cloth_waste),
        /// Of that, resin in no part.
        resin_waste: f64 = amount(costs.resin_waste),
        /// One set of each part.
        sets: Vec<PartCostRecord> = (plan.parts().iter())
            .filter_map(|part| Some(PartCostRecord::of(part, part.cost.as_ref()?)))
            .collect(),
        /// What has no price and is not in the sums.
        unpriced: Vec<String> = costs.unpriced.clone(),
    }

    /// A cost, by what it is spent on.
    pub struct CostRecord of (of: &CostBreakdown) {
        /// Cloth.
        cloth: f64 = amount(of.cloth),
        /// Resin.
        resin: f64 = amount(of.resin),
        /// Sheets for cores; left out where there are none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        core: Option<f64> = (of.core > Money::ZERO).then(|| amount(of.core)),
        /// Bag layers and tape.
        bag: f64 = amount(of.bag),
        /// Wax and PVA.
        mould: f64 = amount(of.mould),
        /// Gel coat; left out where there is none.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        gel_coat: Option<f64> = (of.coat > Money::ZERO).then(|| amount(of.coat)),
        /// All of it.
        total: f64 = amount(of.total()),
    }

    /// What one set of a part costs.
    pub struct PartCostRecord of (part: &PartUse, of: &CostBreakdown) {
        /// Its name.
        part: String = part.name().to_owned(),
        /// The cost.
        #[serde(flatten)]
        cost: CostRecord = CostRecord::of(of),
    }

    /// What the order must be sold for.
    pub struct PricesRecord of (plan: &Plan, whole: Money, labour: &Labour) {
        /// The currency.
        currency: String = labour.hourly_rate.currency.clone(),
        /// What an hour of one person costs.
        hourly_rate: f64 = amount(labour.hourly_rate.amount),
        /// Overheads, as a share of material and labour.
        overheads: f64 = rounded(labour.overheads, 4),
        /// Margin, as a share of the price.
        margin: f64 = rounded(labour.margin, 4),
        /// The whole order.
        order: f64 = amount(whole),
        /// One set of each part.
        sets: Vec<PartPriceRecord> = (plan.parts().iter())
            .filter_map(|part| Some(PartPriceRecord::of(part, part.price.as_ref()?)))
            .collect(),
    }

    /// What one set of a part must be sold for.
    pub struct PartPriceRecord of (part: &PartUse, of: &PartPrice) {
        /// Its name.
        part: String = part.name().to_owned(),
        /// Step by step, in minutes of one person.
        minutes: BTreeMap<String, f64> = (of.hours.iter())
            .map(|&(step, time)| (step_key(step).to_owned(), minutes(time)))
            .collect(),
        /// Material.
        material: f64 = amount(of.material),
        /// All of that at the hourly rate.
        labour: f64 = amount(of.labour),
        /// Overheads on both.
        overheads: f64 = amount(of.overheads),
        /// What is earned.
        margin: f64 = amount(of.margin),
        /// All of it.
        price: f64 = amount(of.total()),
    }

    /// A line of the shopping list.
    pub struct ItemRecord of (item: &ShoppingItem) {
        /// What it is called.
        name: String = item.name.clone(),
        /// What it is.
        kind: String = match item.kind {
            ItemKind::Cloth => "cloth",
            ItemKind::Core => "core",
            ItemKind::GelCoat => "gel coat",
            ItemKind::Resin => "resin",
            ItemKind::BagLayer => "bag layer",
            ItemKind::SealantTape => "sealant tape",
            ItemKind::Wax => "wax",
            ItemKind::Pva => "pva",
            ItemKind::EdgeTape => "edge tape",
        }
        .to_owned(),
        /// Unit of the amounts: `mm`, `g`, `l` or `mm2`.
        unit: String = match item.needed {
            Amount::Length(_) => "mm",
            Amount::Mass(_) => "g",
            Amount::Volume(_) => "l",
            Amount::Area(_) => "mm2",
        }
        .to_owned(),
        /// What the order takes, spare included.
        needed: f64 = quantity(item.needed),
        /// What is there already.
        on_hand: f64 = quantity(item.on_hand),
        /// What to buy.
        buy: f64 = quantity(item.buy),
        /// How many packs that is.
        #[serde(skip_serializing_if = "Option::is_none")]
        packs: Option<u64> = item.packs.map(|(n, _)| n),
        /// What is in one.
        #[serde(skip_serializing_if = "Option::is_none")]
        pack: Option<f64> = item.packs.map(|(_, pack)| quantity(pack)),
        /// What it costs.
        cost: Option<f64> = item.cost.map(amount),
    }
}

const fn step_key(step: WorkStep) -> &'static str {
    match step {
        WorkStep::Mould => "mould",
        WorkStep::Cutting => "cutting",
        WorkStep::Coat => "coat",
        WorkStep::LayingUp => "laying_up",
        WorkStep::Bagging => "bagging",
        WorkStep::Finishing => "finishing",
        WorkStep::Other => "other",
    }
}

fn quantity(amount: Amount) -> f64 {
    match amount {
        Amount::Length(length) => mm(length),
        Amount::Mass(mass) => grams(mass),
        Amount::Volume(volume) => rounded(volume.to_litres(), 4),
        Amount::Area(area) => mm2(area),
    }
}
