//! `warpwise check`: everything but the layout.

use std::fmt::Write as _;

use super::args::CheckOptions;
use super::{Failure, input, messages};
use crate::diag::counted;
use crate::json::record;
use crate::plan;
use crate::ply::{Piece, Pieces};
use crate::units::{Area, Length};

pub(super) fn run(options: &CheckOptions) -> Result<(), Failure> {
    let prepared = input::prepare(&options.job, options.quiet)?;
    messages::show_all(prepared.pieces.remarks_on_offers());
    messages::show_all(&plan::late_bags(&prepared.pieces));
    if options.quiet {
        return Ok(());
    }
    if options.json {
        messages::print_json(&CheckRecord::of(&prepared.pieces));
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
    }
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

record! {
    /// The pieces of a job for machines.
    struct CheckRecord of (pieces: &Pieces) {
        title: String = pieces.job().title().to_owned(),
        pieces: Vec<CheckedPieceRecord> =
            pieces.iter().map(|piece| CheckedPieceRecord::of(piece)).collect(),
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
