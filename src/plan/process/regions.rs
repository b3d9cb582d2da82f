//! A part divided by which plies lie where: ply drop-offs and overlaps, with the thickness of each
//! region.

use super::laminate::Laminate;
use super::shape::{PlacedLayer, coarse};
use crate::geometry::{InscribedBox, Outline, Placement, Region, Turn, Vector, largest_box};
use crate::job::{Job, StackLayer};
use crate::laminate::InPlane;
use crate::plan::PartUse;
use crate::units::{Angle, Area, Length};

/// The thickness of a part by region, in a frame whose x is the part's 0° direction.
#[derive(Clone, Debug, PartialEq)]
pub struct ThicknessMap {
    /// The regions, those with most plies first, then the largest first.
    pub regions: Vec<ThicknessRegion>,
    /// Numbers of plies that the drawing shows apart from the part, so that it is not known where
    /// they lie.
    pub apart: Vec<u32>,
}

/// Where the same plies lie.
#[derive(Clone, Debug, PartialEq)]
pub struct ThicknessRegion {
    /// The numbers of the plies, from the mould up.
    pub plies: Vec<u32>,
    /// The cores among them, by their index in the part.
    pub cores: Vec<usize>,
    /// Cured thickness; `None` unless it is known of every ply.
    pub thickness: Option<Length>,
    /// What its own plies together act as in its plane; `None` unless it is known of every ply.
    pub in_plane: Option<InPlane>,
    /// Its area.
    pub area: Area,
    /// Its outlines to within 0.5 mm.
    pub outlines: Vec<Outline>,
    /// The largest box for a letter within the first of them.
    pub free: InscribedBox,
}

/// Width of the box for a letter, in its heights.
const LETTER: f64 = 1.2;

/// Most regions that are told apart; a part with more is not mapped.
const MAX_REGIONS: usize = 60;

impl ThicknessMap {
    /// The map of `part`, which is part `part_idx` of `job` and whose 0° is at `zero`; its plies and
    /// cores lie as `layers` say. `None` if it falls into too many regions to be read.
    pub(in crate::plan) fn of(
        job: &Job,
        part_idx: usize,
        part: &PartUse,
        layers: [&[PlacedLayer]; 2],
        zero: Angle,
    ) -> Option<Self> {
        let layers = || layers.into_iter().flatten();
        let apart = layers().filter(|layer| !layer.in_place);
        let apart = apart.filter_map(|layer| match layer.layer {
            StackLayer::Ply(ply) => Some(part.plies[ply].n()),
            StackLayer::Core(_) => None,
        });
        let apart = apart.collect();
        // Plies of one shape count as one, so that their common edges cannot differ by rounding.
        let mut shapes: Vec<(&PlacedLayer, Vec<StackLayer>)> = Vec::new();
        for ply in layers().filter(|layer| layer.in_place) {
            match shapes.iter_mut().find(|(like, _)| like.net == ply.net) {
                Some((_, same)) => same.push(ply.layer),
                None => shapes.push((ply, vec![ply.layer])),
            }
        }
        let mut found: Vec<(Vec<StackLayer>, Region)> = Vec::new();
        let mut covered = Region::default();
        let mut shapes = shapes.into_iter().peekable();
        while let Some((like, of_shape)) = shapes.next() {
            let shape = like.kept.clone();
            let mut next = Vec::new();
            for (under, region) in found {
                let both = region.intersection(&shape);
                let rest = region.difference(&shape);
                if !both.is_empty() {
                    next.push(([under.as_slice(), &of_shape].concat(), both));
                }
                if !rest.is_empty() {
                    next.push((under, rest));
                }
            }
            let alone = shape.difference(&covered);
            if !alone.is_empty() {
                next.push((of_shape, alone));
            }
            if shapes.peek().is_some() {
                covered = covered.union(&shape);
            }
            found = next;
            if found.len() > MAX_REGIONS {
                return None;
            }
        }
        let turn = Placement {
            turn: Turn::rotation(-zero),
            shift: Vector::default(),
        };
        let mut regions: Vec<ThicknessRegion> = found
            .into_iter()
            .filter_map(|(layers, region)| {
                let of_part = &job.parts()[part_idx];
                let angles = &part.stack.angles;
                let laminate = Laminate::of(job, of_part, angles, |layer| layers.contains(&layer));
                let outlines = region.outlines();
                let outlines: Vec<Outline> =
                    outlines.iter().map(|o| turn.outline(&coarse(o))).collect();
                Some(ThicknessRegion {
                    thickness: laminate.thickness,
                    in_plane: laminate.in_plane,
                    plies: laminate.plies,
                    cores: laminate.cores,
                    area: Area::mm2(region.area()),
                    free: largest_box(outlines.first()?, LETTER),
                    outlines,
                })
            })
            .collect();
        regions.sort_by(|a, b| {
            let by_plies = b.plies.len().cmp(&a.plies.len());
            by_plies.then(b.area.to_mm2().total_cmp(&a.area.to_mm2()))
        });
        Some(Self { regions, apart })
    }
}
