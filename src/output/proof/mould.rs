//! What is laid on moulds, as it is written, against the moulds.

use super::fault;
use crate::diag::Diagnostics;
use crate::drape::Drape;
use crate::geometry::Outline;
use crate::output::record::{DrapeRecord, PlanRecord};
use crate::ply::{Piece, Pieces};

/// The net area of a written piece may differ by this share from that of its flat cloth.
const SHARE: f64 = 5e-4;

/// Every flat cloth has the area and the lips of darts that the mould and its net give it by another way than its
/// outline, and every whole piece has that outline, which does not cross itself.
pub(super) fn check_drapes(written: &PlanRecord, pieces: &Pieces, faults: &mut Diagnostics) {
    let parts = pieces.job().parts().iter().enumerate();
    for (idx, part) in parts.filter(|(_, part)| part.on_mould.is_some()) {
        let of_part: Vec<&Piece> = (pieces.iter().map(|piece| &**piece))
            .filter(|piece| piece.part_idx() == idx)
            .collect();
        let drapes = Drape::each_once(of_part.iter().filter_map(|piece| piece.drape()));
        let found = written.parts.get(idx).map_or(&[][..], |part| &part.drapes);
        if found.len() != drapes.len() {
            let n = found.len();
            faults.push(fault(format!("part {} has {n} drapes", part.name)));
            continue;
        }
        for (drape, found) in drapes.into_iter().zip(found) {
            check_drape(&part.name, drape, found, faults);
            let own = of_part.iter().filter(|piece| is_whole(piece, drape));
            own.for_each(|piece| check_area(piece, found, written, faults));
        }
    }
}

fn check_drape(part: &str, drape: &Drape, found: &DrapeRecord, faults: &mut Diagnostics) {
    let lips: Vec<[f64; 2]> = found.darts.iter().map(|dart| dart.lips_mm).collect();
    let is_other = (found.angle_deg - drape.angle()).abs() > super::TOLERANCE_DEG;
    if is_other {
        faults.push(fault(format!("part {part} has a drape of another angle")));
    } else if let Some(denied) = drape.denies(found.flat_area_mm2, &lips) {
        let name = drape.name();
        faults.push(fault(format!(
            "the mould of part {part} does not bear out its cloth at {name}: {denied}"
        )));
    }
}

/// Whether a piece is all of its ply, as large as it lies on the mould.
fn is_whole(piece: &Piece, drape: &Drape) -> bool {
    let is_of = piece.drape().is_some_and(|own| own.name() == drape.name());
    is_of && piece.splice().is_none() && piece.ply().step.to_mm() == 0.0
}

fn check_area(piece: &Piece, drape: &DrapeRecord, written: &PlanRecord, faults: &mut Diagnostics) {
    let all = written.layouts.iter().flat_map(|layout| &layout.pieces);
    for set in 1..=piece.sets() {
        let id = piece.id(set);
        let Some(net) = (all.clone().find(|p| p.id == id)).and_then(|p| p.net.outline()) else {
            // Told where the layouts are proved.
            continue;
        };
        let off = (net.area() / drape.flat_area_mm2 - 1.0).abs();
        if off > SHARE || crosses(&net) {
            faults.push(fault(format!("piece {id} is not as it lies on its mould")));
        }
    }
}

fn crosses(net: &Outline) -> bool {
    net.crossing().is_some()
}
