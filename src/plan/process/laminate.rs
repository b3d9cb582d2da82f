//! The laminate of a part: thickness, stiffness, and whether it will stay flat.

use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

use crate::job::{Job, Part, Ply, StackLayer};
use crate::laminate::{Asymmetry, Imbalance, InPlane, Layer, Plate, StackPly, balance, symmetry};
use crate::plan::Layout;
use crate::ply::{CoreShape, Piece};
use crate::units::{Angle, Length, PlyAngle};

/// Plies of a part, one upon the other.
#[derive(Clone, Debug, PartialEq)]
pub struct Laminate {
    /// The numbers of its plies, from the mould up.
    pub plies: Vec<u32>,
    /// The cores between them, by their index in the part, from the mould up.
    pub cores: Vec<usize>,
    /// Cured thickness; `None` unless it is known of every ply.
    pub thickness: Option<Length>,
    /// Whether it mirrors itself about its middle, or the plies that break that.
    pub symmetry: Result<(), Asymmetry>,
    /// Whether fibre at every angle has its opposite, or the ply that breaks that.
    pub balance: Result<(), Imbalance>,
    /// Its stiffness; `None` unless it is known of every ply. A core of unknown stiffness bears nothing.
    pub plate: Option<Plate>,
    /// What it acts as in its plane.
    pub in_plane: Option<InPlane>,
}

impl Laminate {
    /// The laminate of those layers of `part` that are `chosen`, its plies cut at `angles`.
    pub(in crate::plan) fn of(
        job: &Job,
        part: &Part,
        angles: &[PlyAngle],
        chosen: impl Fn(StackLayer) -> bool,
    ) -> Self {
        let all = part.layers().into_iter().zip(part.stack(job.cloths()));
        let (kept, stack): (Vec<StackLayer>, Vec<StackPly>) = (all)
            .filter(|(layer, _)| chosen(*layer))
            .map(|(layer, ply)| {
                let angle = match layer {
                    StackLayer::Ply(idx) => angles[idx].from_zero(),
                    StackLayer::Core(_) => ply.angle,
                };
                (layer, StackPly { angle, ..ply })
            })
            .unzip();
        let lamina = |cloth: usize| job.laminae()[cloth].as_ref();
        let layers: Option<Vec<Vec<Layer>>> = (kept.iter().zip(&stack))
            .map(|(layer, ply)| match *layer {
                StackLayer::Ply(_) => lamina(ply.cloth)?.layers(ply),
                StackLayer::Core(idx) => Some(vec![part.cores[idx].layer()]),
            })
            .collect();
        let plate = layers.and_then(|layers| Plate::of(&layers.concat()));
        let thickness = |(layer, ply): (&StackLayer, &StackPly)| match *layer {
            StackLayer::Ply(_) => Some(lamina(ply.cloth)?.thickness),
            StackLayer::Core(idx) => Some(part.cores[idx].thickness),
        };
        let cores = kept.iter().filter_map(|layer| match *layer {
            StackLayer::Ply(_) => None,
            StackLayer::Core(idx) => Some(idx),
        });
        Self {
            plies: stack.iter().filter_map(|ply| ply.n).collect(),
            cores: cores.collect(),
            thickness: (kept.iter().zip(&stack))
                .try_fold(Length::ZERO, |sum, layer| Some(sum + thickness(layer)?)),
            symmetry: symmetry(&stack),
            balance: balance(&stack),
            in_plane: plate.as_ref().and_then(Plate::in_plane),
            plate,
        }
    }
}

/// The stack of those sets of a part that are cut alike.
#[derive(Clone, Debug, PartialEq)]
pub struct StackAsCut {
    /// The numbers of the sets, from 1.
    pub sets: Vec<u32>,
    /// The angles of its plies as they are cut, from the mould up; of a biaxial that of the layer
    /// against the mould.
    pub angles: Vec<PlyAngle>,
    /// All plies together, as where all of them lie.
    pub laminate: Laminate,
    /// Those that cover the whole part, where there are others that do not.
    pub full_plies: Option<Laminate>,
}

/// The angles of the plies of every part as they are cut.
///
/// They differ from the design where the job permits turns that change what lies where: quarter
/// turns of a biaxial, which exchange its layers (see [`BiaxialLayers`](crate::cloth::BiaxialLayers)),
/// and turns that the weave itself does not permit. What the layout uses of an angle tolerance is not in them: the
/// job holds it to be as designed.
pub(in crate::plan) struct AnglesAsCut<'a> {
    job: &'a Job,
    /// How far the warp is off its designed direction on the part, by part, ply number and set. The
    /// pieces of a divided ply are alike in that.
    off: BTreeMap<(&'a str, u32, u32), Angle>,
}

impl<'a> AnglesAsCut<'a> {
    pub(in crate::plan) fn of(job: &'a Job, layouts: &'a [Layout]) -> Self {
        let pieces = layouts.iter().flat_map(|layout| &layout.pieces);
        let off = pieces.map(|piece| {
            let warp = -piece.turn();
            (
                (piece.part(), piece.ply(), piece.set),
                warp - piece.warp_direction(),
            )
        });
        Self {
            job,
            off: off.collect(),
        }
    }

    /// The stack of `part` as its `sets` sets are cut, and other stacks where not all sets are cut
    /// alike; stacks that are not symmetric come first. Layers of the part's whole size are `full`.
    pub(in crate::plan) fn stacks(
        &self,
        part: &Part,
        sets: u32,
        full: &BTreeSet<StackLayer>,
    ) -> (StackAsCut, Vec<StackAsCut>) {
        let angles = |set: u32| -> Vec<PlyAngle> {
            let plies = part.plies.iter();
            plies.map(|ply| self.of_ply(part, ply, set)).collect()
        };
        let stack = |set: u32| {
            let angles = angles(set);
            let laminate =
                |chosen: &dyn Fn(StackLayer) -> bool| Laminate::of(self.job, part, &angles, chosen);
            StackAsCut {
                sets: vec![set],
                laminate: laminate(&|_| true),
                full_plies: (full.len() < part.plies.len() + part.cores.len())
                    .then(|| laminate(&|layer| full.contains(&layer))),
                angles,
            }
        };
        let mut stacks = vec![stack(1)];
        for set in 2..=sets {
            let angles = angles(set);
            match stacks.iter_mut().find(|like| like.angles == angles) {
                Some(like) => like.sets.push(set),
                None => stacks.push(stack(set)),
            }
        }
        stacks.sort_by_key(|stack| stack.laminate.symmetry.is_ok());
        let first = stacks.remove(0);
        (first, stacks)
    }

    fn of_ply(&self, part: &Part, ply: &Ply, set: u32) -> PlyAngle {
        /// Written angles of ply and turn may differ by this beside the tolerance, degrees.
        const NOISE_DEG: f64 = 1e-6;
        let design = part.angle_of(ply);
        let Some(off) = self.off.get(&(part.name.as_str(), ply.n, set)) else {
            return design;
        };
        let cloth = &self.job.cloths()[ply.cloth];
        let repeat = match cloth.repeats_after() {
            // A quarter turn brings the fibres where they were, but in the other order.
            Some(_) if cloth.weave.has_two_layers() => 180.0,
            Some(repeat) => repeat,
            None => return design,
        };
        let off = off.to_degrees().rem_euclid(repeat);
        let square = (off / 90.0).round() * 90.0;
        let tolerance = ply.cutting.angle_tolerance.to_degrees() + NOISE_DEG;
        let kept = if (off - square).abs() <= tolerance {
            square.rem_euclid(repeat)
        } else {
            off
        };
        if kept == 0.0 {
            design
        } else {
            design.turned(Angle::degrees(kept)).in_range()
        }
    }
}

/// Share of the largest ply's area from which a ply of another shape is held to cover the part.
/// Larger: a ply stepped by a few millimetres for a tapered edge counts as partial; smaller: a
/// ply that leaves out a corner counts as full.
const FULL: f64 = 0.95;

/// Which layers of a part cover the whole of it: as large as the largest ply, openings apart, or
/// nearly.
pub(in crate::plan) fn full_layers(
    pieces: &[&Arc<Piece>],
    cores: &[&CoreShape],
) -> BTreeSet<StackLayer> {
    let mut areas: BTreeMap<StackLayer, f64> = BTreeMap::new();
    for piece in pieces {
        let area = areas.entry(StackLayer::Ply(piece.ply_idx())).or_default();
        match piece.drape() {
            // Flat, it is larger by what lies beneath and by how it is pushed out of square.
            Some(_) => *area = piece.on_part().outer.area(),
            None => *area += piece.net().outer.area(),
        }
    }
    let largest = areas.values().copied().fold(0.0, f64::max);
    let cores = cores.iter().map(|core| {
        let area = core.outline().outer.area();
        (StackLayer::Core(core.core_idx()), area)
    });
    areas.extend(cores);
    areas
        .into_iter()
        .filter(|(_, area)| *area >= FULL * largest)
        .map(|(layer, _)| layer)
        .collect()
}
