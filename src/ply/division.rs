//! Plies in one piece → pieces that fit the rolls that their cloths are bought on.
//!
//! A cloth may be on offer on several rolls, and a ply that one of them holds whole is divided on
//! another. So the pieces of a job are made for one way of buying each cloth, and can be made anew for
//! others.

use std::sync::Arc;

use super::splice::Seams;
use super::{Piece, fit, gusset, run_on, splice, tell, turns};
use crate::cloth::Cloth;
use crate::diag::{Diagnostic, Diagnostics};
use crate::geometry::Ring;
use crate::job::Job;

/// The plies of a job, each in one piece, and where their parts may not be spliced.
#[derive(Clone, Debug, Default)]
pub(super) struct Wholes {
    /// Part by part, in the order of laying.
    pub plies: Vec<Piece>,
    /// Keep-out areas by part, seen from the bag side.
    pub keep_out: Vec<Vec<Ring>>,
}

/// The pieces for one way of buying each cloth.
#[derive(Default)]
pub(super) struct Divided {
    pub list: Vec<Arc<Piece>>,
    /// What is said of each division, with the cloth of the ply.
    pub said: Vec<(usize, Diagnostic)>,
    /// Plies that cannot be cut from the roll of their cloth, by cloth; those alike once.
    pub misfits: Vec<(usize, Diagnostic)>,
    /// Pieces whose lines cannot run on.
    pub apart: Diagnostics,
}

impl Wholes {
    /// The pieces where each cloth of `job` is bought in the way `ways` says, by the order of
    /// [`Cloth::ways_to_buy`].
    pub(super) fn divided(&self, job: &Job, ways: &[usize]) -> Divided {
        let bought = job.cloths().iter().zip(ways);
        let bought: Vec<Cloth> = bought
            .filter_map(|(cloth, &way)| cloth.bought(way))
            .collect();
        let mut divided = Divided::default();
        let mut misfits = Diagnostics::new();
        let mut seams = Seams::new();
        let mut part = None;
        for whole in &self.plies {
            if part != Some(whole.part) {
                seams = Seams::new();
                part = Some(whole.part);
            }
            let cloth = &bought[whole.cloth];
            let mut said = Diagnostics::new();
            match self.fitting(whole, cloth, &mut seams, &mut said) {
                Ok(pieces) => divided.list.extend(pieces.into_iter().map(Arc::new)),
                Err(problem) => {
                    let before = misfits.iter().count();
                    tell(problem.clone(), &mut misfits);
                    if misfits.iter().count() > before {
                        divided.misfits.push((whole.cloth, problem));
                    }
                }
            }
            let said = said.into_iter().map(|said| (whole.cloth, said));
            divided.said.extend(said);
        }
        run_on::bring_together(job, &mut divided.list, &mut divided.apart);
        divided
    }

    /// `whole` if it fits `cloth`, else the pieces it is divided into, where that is permitted.
    fn fitting(
        &self,
        whole: &Piece,
        cloth: &Cloth,
        seams: &mut Seams,
        said: &mut Diagnostics,
    ) -> Result<Vec<Piece>, Diagnostic> {
        let mut whole = whole.clone();
        whole.usable_width = cloth.usable_width();
        match fit::check(cloth, &whole) {
            Ok(()) => Ok(vec![whole]),
            Err(_) if whole.ply().cutting.splice.joint.is_some() && !whole.is_gusset() => {
                turns::keep_layers(cloth.weave, &mut whole.turns);
                let keep_out = &self.keep_out[whole.part];
                let pieces = splice::divide(&whole, cloth, keep_out, seams, said)?;
                let has_gussets = whole
                    .drape()
                    .is_some_and(|drape| !drape.reliefs().is_empty());
                match has_gussets && pieces.len() > gusset::MOST_BESIDE {
                    true => Err(splice::too_many(&whole, pieces.len())),
                    false => Ok(pieces),
                }
            }
            Err(problem) => Err(problem),
        }
    }

    /// The ways of buying the cloths of `job` on which most plies fit, in as few pieces as can be; the
    /// first described among equals, the widest where some ply fits none.
    pub(super) fn fitting_ways(&self, job: &Job) -> Vec<usize> {
        let mut ways = vec![0; job.cloths().len()];
        for (idx, cloth) in job.cloths().iter().enumerate() {
            let widths: Vec<f64> = (cloth.ways_to_buy())
                .map(|way| way.usable_width().to_mm())
                .collect();
            if widths.len() < 2 {
                continue;
            }
            let rank = |way: usize| {
                let mut ways = ways.clone();
                ways[idx] = way;
                let divided = self.divided(job, &ways);
                let n_misfits = divided.misfits.iter().filter(|m| m.0 == idx).count();
                let narrow = if n_misfits > 0 { -widths[way] } else { 0.0 };
                (n_misfits, divided.list.len(), narrow)
            };
            let ranked = (0..widths.len()).map(|way| (rank(way), way));
            let better = |a: &(usize, usize, f64), b: &(usize, usize, f64)| {
                (a.0.cmp(&b.0))
                    .then(a.2.total_cmp(&b.2))
                    .then(a.1.cmp(&b.1))
            };
            let best = ranked.min_by(|a, b| better(&a.0, &b.0));
            ways[idx] = best.map_or(0, |(_, way)| way);
        }
        ways
    }
}
