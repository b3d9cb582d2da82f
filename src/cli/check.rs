//! `warpwise check`: everything but the layout.

use std::fmt::Write as _;

use super::args::CheckOptions;
use super::{Failure, input, messages};
use crate::diag::counted;
use crate::ply::Pieces;
use crate::units::{Area, Length};

pub(super) fn run(options: &CheckOptions) -> Result<(), Failure> {
    let prepared = input::prepare(&options.job, options.quiet)?;
    if options.quiet {
        return Ok(());
    }
    if options.json {
        messages::print_json(&pieces_json(&prepared.pieces));
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
    for (idx, cloth) in job.cloths().iter().enumerate() {
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
        _ = writeln!(
            text,
            "  {}: {}, {} cut; more than {} of the roll",
            cloth.name,
            counted(n as usize, "piece", "pieces"),
            Area::mm2(area).in_m2_and_yd2(),
            least.in_metres_and_yards()
        );
    }
    messages::print(&text);
    Ok(())
}

/// The pieces as JSON, each with its number of sets.
fn pieces_json(pieces: &Pieces) -> serde_json::Value {
    let entries: Vec<serde_json::Value> = pieces
        .iter()
        .map(|piece| {
            let ply = piece.ply();
            serde_json::json!({
                "id": piece.id(1).split('#').next().unwrap_or_default(),
                "part": piece.part().name,
                "ply": ply.n,
                "sets": piece.sets(),
                "cloth": piece.cloth().name,
                "angle_design": piece.part().angle_of(ply).to_degrees(),
                "cut_area_mm2": piece.cut().area(),
                "net_area_mm2": piece.net().area(),
                "on_bias": piece.on_bias(),
                "appearance": ply.appearance,
                "turns": piece.turns().iter().map(|t| t.angle.to_degrees()).collect::<Vec<_>>(),
            })
        })
        .collect();
    serde_json::json!({ "title": pieces.job().title(), "pieces": entries })
}
