//! What the work takes beside cloth.

use super::bagging::{self, BagUse, Laid};
use super::mould::MouldUse;
use super::regions::ThicknessMap;
use super::shape::{Footprint, PlacedPly, coarse, footprint, placed_plies};
use super::{PartUse, ResinUse};
use crate::diag::Diagnostics;
use crate::geometry::{Outline, Turn};
use crate::job::Job;
use crate::ply::Piece;
use crate::units::Angle;

/// What the work takes beside cloth, and how the parts come out.
#[derive(Clone, Debug, Default)]
pub struct Work {
    /// The plies of each part, in the order of the parts and from the mould up.
    pub laid: Vec<Vec<LaidPly>>,
    /// The thickness of each part by region, in the order of the parts; `None` for a part that
    /// falls into too many.
    pub thickness: Vec<Option<ThicknessMap>>,
    /// The resin; `None` if the job does not say which, or what a fibre is.
    pub resin: Option<ResinUse>,
    /// The vacuum bags; `None` if the job has none.
    pub bagging: Option<BagUse>,
    /// Release for the moulds; `None` if the job does not say how they are made ready.
    pub mould: Option<MouldUse>,
    /// What is to be said about it.
    pub remarks: Diagnostics,
}

/// The shape of a ply on its part.
#[derive(Clone, Debug, PartialEq)]
pub struct LaidPly {
    /// Its net outline to within 0.5 mm, in a frame whose x is the part's 0° direction, seen from
    /// the bag side.
    pub outline: Outline,
    /// Whether the drawing (or the job's `shift`) shows where it lies on the part.
    pub in_place: bool,
}

fn laid(plies: &[PlacedPly], zero: Angle) -> Vec<LaidPly> {
    let turn = Turn::rotation(-zero);
    plies
        .iter()
        .map(|ply| LaidPly {
            outline: turn.outline(&coarse(&ply.net)),
            in_place: ply.in_place,
        })
        .collect()
}

impl Work {
    /// What `job` takes for its `pieces`, which become `parts`.
    pub(super) fn of(job: &Job, pieces: &[Piece], parts: &[PartUse]) -> Self {
        let plies: Vec<Vec<PlacedPly>> = (0..parts.len())
            .map(|part_idx| placed_plies(job, part_idx, pieces))
            .collect();
        let zeros: Vec<Angle> = (0..parts.len())
            .map(|part_idx| {
                let first = pieces.iter().find(|piece| piece.part == part_idx);
                first.map_or(Angle::ZERO, |piece| piece.zero)
            })
            .collect();
        let thickness = parts.iter().zip(&plies).zip(&zeros);
        let thickness = thickness
            .map(|((part, plies), &zero)| ThicknessMap::of(part, plies, zero))
            .collect();
        // Every part has plies, or the job would not have been read.
        let footprints: Option<Vec<Footprint>> = plies.iter().map(|p| footprint(p)).collect();
        let footprints = footprints.unwrap_or_default();
        let laid = plies.iter().zip(&zeros);
        let laid = laid.map(|(plies, &zero)| self::laid(plies, zero)).collect();
        let mut work = Self {
            laid,
            thickness,
            resin: ResinUse::of(job, parts),
            ..Self::default()
        };
        if footprints.len() != parts.len() {
            return work;
        }
        if let Some(setup) = &job.mould {
            work.mould = Some(MouldUse::of(setup, parts, &footprints));
        }
        if let Some(setup) = &job.bagging {
            let laid: Vec<Laid<'_>> = parts
                .iter()
                .enumerate()
                .map(|(idx, part)| Laid {
                    part,
                    footprint: &footprints[idx],
                    zero: zeros[idx],
                    tool: job.parts[idx].tool,
                })
                .collect();
            let (bags, remarks) = bagging::bags(setup, &laid, job.outputs.frame);
            work.bagging = Some(bags);
            work.remarks = remarks;
        }
        work
    }
}
