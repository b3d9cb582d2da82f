//! `warpwise check`: everything but the layout.

use std::fmt::Write as _;
use std::sync::Arc;

use super::args::CheckOptions;
use super::{Failure, input, messages};
use crate::cloth::{Cloth, Purchase};
use crate::diag::counted;
use crate::drape::{Drape, Trial};
use crate::inputs::Inputs;
use crate::job::{Part, SharedTable};
use crate::json::record;
use crate::mould::place_in_words;
use crate::output::record::DrapeRecord;
use crate::plan;
use crate::ply::{Piece, Pieces};
use crate::units::{Area, Length};

pub(super) fn run(options: &CheckOptions) -> Result<(), Failure> {
    let prepared = input::prepare(&options.jobs, options.quiet)?;
    messages::show_all(prepared.pieces.remarks_on_offers());
    // Resin and bags are each job's own.
    let own = prepared.each.iter().map(|job| &job.pieces);
    for pieces in own.chain([&prepared.pieces]) {
        messages::show_all(&plan::late_bags(pieces));
    }
    if options.quiet {
        return Ok(());
    }
    if options.json {
        messages::print_json(&CheckRecord::of(&prepared.pieces, &prepared.inputs));
        return Ok(());
    }
    let job = prepared.inputs.job();
    let mut text = String::new();
    let n_pieces: u32 = prepared.pieces.iter().map(|p| p.sets()).sum();
    _ = writeln!(
        text,
        "{}: {}, {}",
        job.title(),
        counted(job.parts().len(), "part", "parts"),
        counted(n_pieces as usize, "piece", "pieces"),
    );
    text.push_str(&from_shop(&prepared.pieces));
    for (idx, part) in job.parts().iter().enumerate() {
        let of_part = || prepared.pieces.iter().filter(|p| p.part_idx() == idx);
        let nets = of_part().map(|p| p.net().bounds());
        let Some(size) = nets.reduce(|all, net| all.union(&net)) else {
            continue;
        };
        let (long, short) = (Length::mm(size.width()), Length::mm(size.height()));
        _ = writeln!(
            text,
            "  {}: {} × {}, {}",
            part.name,
            long.in_mm_and_inches(),
            short.in_mm_and_inches(),
            counted(part.plies.len(), "ply", "plies"),
        );
        for drape in drapes(of_part()) {
            _ = writeln!(text, "    {}", on_mould(drape));
        }
    }
    text.push_str(&on_moulds(&prepared.inputs));
    for (idx, cloth) in prepared.pieces.cloths_bought().enumerate() {
        let of_cloth = || prepared.pieces.iter().filter(|p| p.cloth_idx() == idx);
        let area: f64 = of_cloth()
            .map(|p| p.cut().area() * f64::from(p.sets()))
            .sum();
        let n: u32 = of_cloth().map(|p| p.sets()).sum();
        if n == 0 {
            continue;
        }
        // No layout can be shorter than the area over the usable width.
        let least = Length::mm(area / cloth.usable_width().to_mm());
        let roll = match cloth.supply.offers.is_empty() {
            true => "the roll".to_owned(),
            false => format!("a roll {} wide", cloth.roll_width.in_mm_and_inches()),
        };
        _ = writeln!(
            text,
            "  {}: {}, {} cut; more than {} of {roll}",
            cloth.name,
            counted(n as usize, "piece", "pieces"),
            Area::mm2(area).in_m2_and_yd2(),
            least.in_metres_and_yards()
        );
    }
    messages::print(&text);
    Ok(())
}

/// How each cloth would lie on the mould of each part, by direction and start.
fn on_moulds(inputs: &Inputs) -> String {
    let mut text = String::new();
    for (part, cloth, tried) in each_trial(inputs) {
        _ = writeln!(
            text,
            "  {} of {} on its mould, largest shear or slip by direction of the warp (coarse, without darts):",
            part.name, cloth.name
        );
        for of_start in tried.chunk_by(|a, b| a.trial.start == b.trial.start) {
            text.push_str(&of_one_start(of_start));
        }
        text.push_str(&cloth_by_direction(cloth, &tried));
    }
    text
}

/// A direction and a start with what the cloth would cost that lies so.
struct Tried {
    trial: Trial,
    /// Of those from the start that the job tells.
    purchase: Option<Purchase>,
}

/// What all plies of a cloth would take if they lay by each direction.
fn cloth_by_direction(cloth: &Cloth, tried: &[Tried]) -> String {
    let currency = cloth
        .price
        .as_ref()
        .map_or("", |price| price.currency.as_str());
    let each = tried.iter().filter_map(|tried| {
        let purchase = tried.purchase.as_ref()?;
        let cost = purchase
            .cost
            .map_or_else(String::new, |cost| format!(" ({cost} {currency})"));
        let length = purchase.used.in_metres_and_yards();
        Some(format!("{}° {length}{cost}", tried.trial.angle_deg))
    });
    let each: Vec<String> = each.collect();
    match each.is_empty() {
        true => String::new(),
        false => format!(
            "    off the roll if all its plies lay so: {}\n",
            each.join(", ")
        ),
    }
}

/// Each cloth of each part on a mould, tried.
fn each_trial(inputs: &Inputs) -> Vec<(&Part, &Cloth, Vec<Tried>)> {
    let job = inputs.job();
    let mut all = Vec::new();
    for part in job.parts() {
        let mut cloths: Vec<usize> = part.plies.iter().map(|ply| ply.cloth).collect();
        cloths.sort_unstable();
        cloths.dedup();
        for idx in cloths {
            let cloth = &job.cloths()[idx];
            let trials = inputs.trials(part, cloth);
            let Some(told) = trials.first().map(|trial| trial.start) else {
                continue;
            };
            let tried = trials.into_iter().map(|trial| Tried {
                purchase: (trial.start == told)
                    .then(|| plan::cloth_of_trial(part, cloth, idx, &trial))
                    .flatten(),
                trial,
            });
            let tried: Vec<Tried> = tried.collect();
            if tried.len() > 1 {
                all.push((part, cloth, tried));
            }
        }
    }
    all
}

fn of_one_start(tried: &[Tried]) -> String {
    let trials = || tried.iter().map(|tried| &tried.trial);
    let start = place_in_words(tried[0].trial.start, 0);
    let shears = trials().map(|trial| {
        let shear = trial
            .shear_deg
            .map_or("-".to_owned(), |shear| format!("{shear:.0}°"));
        format!("{}° {shear}", trial.angle_deg)
    });
    let shears: Vec<String> = shears.collect();
    let laid = trials().filter_map(|trial| Some((trial.shear_deg?, trial)));
    let best = laid.min_by(|(a, _), (b, _)| a.total_cmp(b));
    let best = best.map_or_else(String::new, |(_, best)| {
        let area = Area::mm2(best.flat_area).in_m2_and_yd2();
        format!("; least at {}°, of {area} of cloth", best.angle_deg)
    });
    format!("    start {start}: {}{best}\n", shears.join(", "))
}

/// How `pieces` lie on their mould, as [`crate::plan::PartUse::drapes`] tells it of a plan.
fn drapes<'a>(pieces: impl Iterator<Item = &'a Arc<Piece>>) -> Vec<&'a Drape> {
    Drape::each_once(pieces.filter_map(|piece| piece.drape_on_mould()))
}

/// How a cloth lies on its mould, in words.
fn on_mould(drape: &Drape) -> String {
    let flat = drape.outline().bounds();
    let area = |mm2: f64| Area::mm2(mm2).in_m2_and_yd2();
    format!(
        "cloth at {}: {} on the mould, flat {} × {}, {}; shears by {:.1}° at most, at {} ({:.1}° laid straight, \
         {:.1}° evenly)",
        drape.name(),
        area(drape.mould_area()),
        Length::mm(flat.width()).in_mm_and_inches(),
        Length::mm(flat.height()).in_mm_and_inches(),
        area(drape.outline().area()),
        drape.shear().degrees,
        place_in_words(drape.shear().at, 0),
        drape.straight().degrees,
        drape.evened().degrees,
    )
}

/// Which keys are from the shop file and which the job says itself, table by table; those of cloths
/// that nothing is cut from are left out.
fn from_shop(pieces: &Pieces) -> String {
    let job = pieces.job();
    let Some(from) = job.from_shop() else {
        return String::new();
    };
    let mut text = format!("  from {}\n", from.file);
    let is_cut = |name: &str| pieces.iter().any(|piece| piece.cloth().name == name);
    for table in &from.tables {
        let mut header = table.table.split('.');
        let of_cloth = (header.next() == Some("cloth")).then(|| header.next());
        if of_cloth.flatten().is_some_and(|name| !is_cut(name)) {
            continue;
        }
        let header = match table.table.as_str() {
            "" => String::new(),
            header => format!("[{header}] "),
        };
        _ = write!(text, "    {header}{}", table.from_shop.join(", "));
        if !(header.is_empty() || table.from_job.is_empty()) {
            _ = write!(text, "; the job's own: {}", table.from_job.join(", "));
        }
        text.push('\n');
    }
    text
}

record! {
    /// The pieces of a job for machines.
    struct CheckRecord of (pieces: &Pieces, inputs: &Inputs) {
        title: String = pieces.job().title().to_owned(),
        /// What is from the shop file.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        from_shop: Vec<SharedRecord> = (pieces.job().from_shop().into_iter())
            .flat_map(|from| from.tables.iter().map(SharedRecord::of))
            .collect(),
        pieces: Vec<CheckedPieceRecord> =
            pieces.iter().map(|piece| CheckedPieceRecord::of(piece)).collect(),
        /// How plies lie on their moulds, as in `plan.json`.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        drapes: Vec<CheckedDrapeRecord> = (pieces.job().parts().iter().enumerate())
            .flat_map(|(idx, part)| {
                let of_part = pieces.iter().filter(move |piece| piece.part_idx() == idx);
                drapes(of_part).into_iter().map(move |drape| CheckedDrapeRecord::of(&part.name, drape))
            })
            .collect(),
        /// How cloths would lie by other directions and from other starts, each by a coarse net and without darts.
        #[serde(default, skip_serializing_if = "Vec::is_empty")]
        trials: Vec<TrialRecord> = (each_trial(inputs).iter())
            .flat_map(|(part, cloth, tried)| {
                tried.iter().map(|tried| TrialRecord::of(&part.name, &cloth.name, tried))
            })
            .collect(),
    }

    /// How a cloth would lie on the mould of a part.
    struct TrialRecord of (part: &str, cloth: &str, tried: &Tried) {
        part: String = part.to_owned(),
        cloth: String = cloth.to_owned(),
        start_mm: [f64; 3] = tried.trial.start,
        /// The direction of its warp.
        angle_deg: f64 = tried.trial.angle_deg,
        /// Largest shear or slip; null where it would not get to the edge.
        max_shear_deg: Option<f64> = tried.trial.shear_deg,
        flat_area_mm2: f64 = tried.trial.flat_area,
        /// Length off the roll if all plies of the cloth lay so, by a quick layout; from the first start only.
        length_mm: Option<f64> = tried.purchase.as_ref().map(|of| of.used.to_mm()),
        /// What that costs, where the cloth has a price.
        cost: Option<f64> = tried.purchase.as_ref().and_then(|of| Some(of.cost?.to_decimal())),
    }

    /// How plies in one direction lie on the mould.
    struct CheckedDrapeRecord of (part: &str, drape: &Drape) {
        part: String = part.to_owned(),
        #[serde(flatten)]
        drape: DrapeRecord = DrapeRecord::of(drape),
    }

    /// A table that is from the shop file, in whole or in part.
    struct SharedRecord of (shared: &SharedTable) {
        table: String = shared.table.clone(),
        from_shop: Vec<String> = shared.from_shop.clone(),
        from_job: Vec<String> = shared.from_job.clone(),
    }

    /// A piece of every set.
    struct CheckedPieceRecord of (piece: &Piece) {
        id: String = piece.name(),
        part: String = piece.part().name.clone(),
        ply: u32 = piece.ply().n,
        sets: u32 = piece.sets(),
        cloth: String = piece.cloth().name.clone(),
        angle_design: f64 = piece.part().angle_of(piece.ply()).to_degrees(),
        cut_area_mm2: f64 = piece.cut().area(),
        net_area_mm2: f64 = piece.net().area(),
        on_bias: bool = piece.on_bias(),
        appearance: bool = piece.ply().appearance,
        turns: Vec<f64> = piece.turns().iter().map(|turn| turn.angle.to_degrees()).collect(),
    }
}
