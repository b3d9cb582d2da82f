//! What is laid on moulds, as it is written, against the moulds.

use super::fault;
use crate::diag::Diagnostics;
use crate::drape::Drape;
use crate::output::record::{DrapeRecord, PlanRecord};
use crate::ply::{Piece, Pieces};

/// The net area of a written piece may differ by this share from that of its flat cloth.
const SHARE: f64 = 5e-4;

/// Every flat cloth has the area and the lips of darts that the mould and its net give it by another way than its
/// outline, and every whole piece has the area of its own, and does not cross itself.
pub(super) fn check_drapes(written: &PlanRecord, pieces: &Pieces, faults: &mut Diagnostics) {
    let parts = pieces.job().parts().iter().enumerate();
    for (idx, part) in parts.filter(|(_, part)| part.on_mould.is_some()) {
        let of_part: Vec<&Piece> = (pieces.iter().map(|piece| &**piece))
            .filter(|piece| piece.part_idx() == idx)
            .collect();
        let drapes = Drape::each_once(of_part.iter().filter_map(|piece| piece.drape_on_mould()));
        let found = written.parts.get(idx).map_or(&[][..], |part| &part.drapes);
        if found.len() != drapes.len() {
            let n = found.len();
            faults.push(fault(format!("part {} has {n} drapes", part.name)));
            continue;
        }
        for (drape, found) in drapes.into_iter().zip(found) {
            check_drape(&part.name, drape, found, faults);
        }
        let whole = of_part.iter().filter(|piece| is_whole(piece));
        whole.for_each(|piece| check_area(piece, written, faults));
    }
}

fn check_drape(part: &str, drape: &Drape, found: &DrapeRecord, faults: &mut Diagnostics) {
    let cuts = found.reliefs.iter().map(|relief| &relief.cut);
    let cuts = found.darts.iter().chain(cuts);
    let lips: Vec<[f64; 2]> = cuts.map(|cut| cut.lips_mm).collect();
    let gussets = drape.reliefs().iter().zip(&found.reliefs);
    let is_borne_out = drape.reliefs().len() == found.reliefs.len()
        && gussets
            .into_iter()
            .all(|(relief, found)| relief.gusset.is_borne_out(found.flat_area_mm2));
    let is_other = (found.angle_deg - drape.angle()).abs() > super::TOLERANCE_DEG;
    if is_other {
        faults.push(fault(format!("part {part} has a drape of another angle")));
    } else if let Some(denied) = drape.denies(found.flat_area_mm2, &lips) {
        let name = drape.name();
        faults.push(fault(format!(
            "the mould of part {part} does not bear out its cloth at {name}: {denied}"
        )));
    } else if !is_borne_out {
        let name = drape.name();
        faults.push(fault(format!(
            "the mould of part {part} does not bear out a gusset of its cloth at {name}"
        )));
    }
}

/// Whether a piece is all of its ply, as large as it lies on the mould.
fn is_whole(piece: &Piece) -> bool {
    piece.splice().is_none() && piece.ply().step.to_mm() == 0.0
}

fn check_area(piece: &Piece, written: &PlanRecord, faults: &mut Diagnostics) {
    let Some(drape) = piece.drape() else { return };
    let lips: Vec<[f64; 2]> = drape.cuts().map(|cut| cut.lip_lengths).collect();
    let all = written.layouts.iter().flat_map(|layout| &layout.pieces);
    for set in 1..=piece.sets() {
        let id = piece.id(set);
        let Some(net) = (all.clone().find(|p| p.id == id)).and_then(|p| p.net.outline()) else {
            // Told where the layouts are proved.
            continue;
        };
        let is_flat = (net.area() / drape.outline().area() - 1.0).abs() <= SHARE;
        let is_borne_out = drape.denies(drape.outline().area(), &lips).is_none();
        if !is_flat || !is_borne_out || net.crossing().is_some() {
            faults.push(fault(format!("piece {id} is not as it lies on its mould")));
        }
    }
}
