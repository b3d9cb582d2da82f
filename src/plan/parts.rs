//! What the plan says of each part and its plies.

use std::sync::Arc;

use super::money::{CostBreakdown, PartPrice};
use super::process::laminate::{self, AnglesAsCut};
use super::process::{
    FinishedPart, LaidPly, PartBag, PartCoat, PartResin, StackAsCut, Stage, ThicknessMap,
};
use crate::cloth::{Cloth, Weave};
use crate::drape::Drape;
use crate::geometry::{Face, Outline};
use crate::job::{Core, DrawnAngle, DrawnView, Job, JointKind, Part, Ply};
use crate::laminate::Lamina;
use crate::ply::{CoreShape, EdgeTape, Piece, Pieces, Splice};
use crate::units::{Angle, Area, ArealWeight, Length, Mass, PlyAngle};

/// What the plan says of one part.
#[derive(Clone, Debug)]
pub struct PartUse {
    job: Arc<Job>,
    idx: usize,
    /// How many are made.
    pub sets: u32,
    /// Its plies, first against the mould.
    pub plies: Vec<PlyUse>,
    /// Its cores and inserts, in the order of the file.
    pub cores: Vec<CoreUse>,
    /// What they make as cut; where not all sets are cut alike, that of some of them, one that is not
    /// symmetric if there is one.
    pub stack: StackAsCut,
    /// What they make in the other sets, where not all are cut alike.
    pub other_stacks: Vec<StackAsCut>,
    /// How its plies lie on it, from the mould up.
    pub laid: Vec<LaidPly>,
    /// What it is when it is trimmed and drilled.
    pub finished: Option<FinishedPart>,
    /// Its thickness by region; `None` if it falls into too many.
    pub thickness: Option<ThicknessMap>,
    /// The resin of one set; `None` unless it is known of every part.
    pub resin: Option<PartResin>,
    /// What goes under one bag after the other, with resin and time of one set; empty unless the resin is
    /// known of every part. [`Part::stages`] always tells the plies.
    pub stages: Vec<Stage>,
    /// What would bring its bag on in time, where it comes too late.
    pub(in crate::plan) ways_out: Option<String>,
    /// The bag of one set; `None` if the job has none.
    pub bag: Option<PartBag>,
    /// Surface of the mould to release for one set; `None` if the job does not say how.
    pub released: Option<Area>,
    /// What is put on the mould before ply 1 of one set; `None` if the job has no gel coat.
    pub coat: Option<PartCoat>,
    /// What one set costs; `None` where the plan has no costs.
    pub cost: Option<CostBreakdown>,
    /// What one set must be sold for; `None` unless the job says what work costs.
    pub price: Option<PartPrice>,
}

/// What the plan says of a core or an insert.
#[derive(Clone, Debug)]
pub struct CoreUse {
    job: Arc<Job>,
    part: usize,
    core: usize,
    area: Area,
    /// Its edge as it lies on the part, to within 0.5 mm, in the frame of [`PartUse::laid`].
    pub(in crate::plan) outline: Outline,
}

/// What the plan says of one ply.
#[derive(Clone, Debug)]
pub struct PlyUse {
    job: Arc<Job>,
    part: usize,
    ply: usize,
    /// Those of one set.
    pieces: Vec<Arc<Piece>>,
}

impl PartUse {
    /// The part as the job describes it.
    #[must_use]
    pub fn part(&self) -> &Part {
        &self.job.parts()[self.idx]
    }

    /// Its place among the parts of the job and of the plan, from 0.
    #[must_use]
    pub fn index(&self) -> usize {
        self.idx
    }

    /// Name.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.part().name
    }

    /// What of it the drawing shows. All angles of the plan are as seen from the bag side.
    #[must_use]
    pub fn view(&self) -> DrawnView {
        self.part().view
    }

    /// How its plies lie on its mould itself, each direction (of each cloth, where they lie differently) once; empty for a
    /// part that is drawn flat. A ply on others lies as [`PlyUse::drape`] says.
    #[must_use]
    pub fn drapes(&self) -> Vec<&Drape> {
        let pieces = self.plies.iter().flat_map(|ply| &ply.pieces);
        Drape::each_once(pieces.filter_map(|piece| piece.drape_on_mould()))
    }

    /// From which shear (degrees) a cloth that lies so wrinkles; the least of them.
    #[must_use]
    pub fn lock(&self, drape: &Drape) -> Option<f64> {
        let lies_so = |ply: &&PlyUse| ply.drape().is_some_and(|own| own.name() == drape.name());
        let locks = self.plies.iter().filter(lies_so);
        let locks = locks.flat_map(|ply| ply.cloth().locks());
        locks.filter(|lock| lock.is_finite()).reduce(f64::min)
    }

    /// How many moulds there are for it.
    #[must_use]
    pub fn moulds(&self) -> u32 {
        self.part().moulds
    }

    /// How many bags it takes: one for each set and stage.
    #[must_use]
    pub fn n_bags(&self) -> u32 {
        self.sets * self.part().stages().len() as u32
    }

    /// What its bag is called: the name that it shares, or its own.
    #[must_use]
    pub fn bag_name(&self) -> &str {
        self.part()
            .bag
            .as_ref()
            .map_or_else(|| self.name(), |bag| &bag.value)
    }

    /// Whether one of its plies is of carbon; `None` where the job does not say what some fibres are, and none
    /// of the others is.
    #[must_use]
    pub fn is_carbon(&self) -> Option<bool> {
        let plies = || self.plies.iter().map(|ply| ply.cloth().is_carbon);
        if plies().any(|carbon| carbon == Some(true)) {
            Some(true)
        } else {
            plies().all(|carbon| carbon == Some(false)).then_some(false)
        }
    }

    /// Dry cloth in one set, inside the net lines.
    #[must_use]
    pub fn cloth_mass(&self) -> Mass {
        let masses = self.plies.iter().map(PlyUse::cloth_mass);
        masses.fold(Mass::ZERO, |sum, mass| sum + mass)
    }

    /// Resin that stays in one set, inside the net lines and on the faces of cores; `None` unless it is
    /// known of every ply.
    #[must_use]
    pub fn resin_mass(&self) -> Option<Mass> {
        let mut masses = self.plies.iter().map(PlyUse::resin_mass);
        masses.try_fold(self.core_resin(), |sum, mass| Some(sum + mass?))
    }

    /// Its cores and inserts, dry.
    #[must_use]
    pub fn core_mass(&self) -> Mass {
        let masses = self.cores.iter().map(CoreUse::mass);
        masses.fold(Mass::ZERO, |sum, mass| sum + mass)
    }

    /// Resin on the faces of its cores.
    #[must_use]
    pub fn core_resin(&self) -> Mass {
        let masses = self.cores.iter().map(CoreUse::resin_mass);
        masses.fold(Mass::ZERO, |sum, mass| sum + mass)
    }

    /// The gel coat that the part keeps, as it is put on: what evaporates of it is not taken off.
    #[must_use]
    pub fn coat_mass(&self) -> Mass {
        self.coat.as_ref().map_or(Mass::ZERO, |coat| coat.in_part)
    }

    /// What one set weighs, cured and trimmed; `None` unless it is known of every ply.
    #[must_use]
    pub fn mass(&self) -> Option<Mass> {
        Some(self.cloth_mass() + self.core_mass() + self.coat_mass() + self.resin_mass()?)
    }

    /// The cores that are laid on ply `n`.
    pub fn cores_on(&self, n: u32) -> impl Iterator<Item = &CoreUse> {
        self.cores
            .iter()
            .filter(move |core| core.core().on_ply == n)
    }
}

impl CoreUse {
    /// The core as the job describes it.
    #[must_use]
    pub fn core(&self) -> &Core {
        &self.job.parts()[self.part].cores[self.core]
    }

    /// Its edge as it lies on the part, to within 0.5 mm, in the frame of [`PartUse::laid`].
    #[must_use]
    pub const fn outline(&self) -> &Outline {
        &self.outline
    }

    /// Its area, its own openings taken off.
    #[must_use]
    pub const fn area(&self) -> Area {
        self.area
    }

    /// Its mass, dry.
    #[must_use]
    pub fn mass(&self) -> Mass {
        self.core().areal_weight * self.area
    }

    /// Resin that one of its faces takes up.
    #[must_use]
    pub fn face_resin(&self) -> Mass {
        self.core().face_resin * self.area
    }

    /// Resin that its two faces take up.
    #[must_use]
    pub fn resin_mass(&self) -> Mass {
        self.face_resin() + self.face_resin()
    }
}

impl PlyUse {
    /// The ply as the job describes it.
    #[must_use]
    pub fn ply(&self) -> &Ply {
        &self.job.parts()[self.part].plies[self.ply]
    }

    /// Whether it is this ply of this part, both by their places from 0.
    pub(in crate::plan) fn is_at(&self, part: usize, ply: usize) -> bool {
        (self.part, self.ply) == (part, ply)
    }

    /// Its cloth as the job describes it.
    #[must_use]
    pub fn cloth(&self) -> &Cloth {
        &self.job.cloths()[self.ply().cloth]
    }

    /// Number in the part, from 1.
    #[must_use]
    pub fn n(&self) -> u32 {
        self.ply().n
    }

    /// How its cloth is made.
    #[must_use]
    pub fn weave(&self) -> Weave {
        self.cloth().weave
    }

    /// Designed angle.
    #[must_use]
    pub fn angle(&self) -> PlyAngle {
        self.job.parts()[self.part].angle_of(self.ply())
    }

    /// The same in the view of the drawing, as the job has it.
    #[must_use]
    pub fn drawn_angle(&self) -> DrawnAngle {
        self.ply().drawn_angle
    }

    /// How much its net line was grown (positive) or shrunk against the pattern's outline.
    #[must_use]
    pub fn step(&self) -> Length {
        self.ply().step
    }

    /// Whether it will be seen.
    #[must_use]
    pub fn appearance(&self) -> bool {
        self.ply().appearance
    }

    /// Areal weight of its cloth.
    #[must_use]
    pub fn areal_weight(&self) -> ArealWeight {
        self.cloth().areal_weight
    }

    /// What it becomes when it cures, if its fibre is known.
    #[must_use]
    pub fn lamina(&self) -> Option<&Lamina> {
        self.job.laminae()[self.ply().cloth].as_ref()
    }

    /// How it lies on the mould of its part; `None` for one that is drawn flat.
    #[must_use]
    pub fn drape(&self) -> Option<&Drape> {
        self.pieces.iter().find_map(|piece| piece.drape())
    }

    /// Net area of one ply, laps counted once.
    #[must_use]
    pub fn net_area(&self) -> Area {
        Area::mm2(self.laid_area().to_mm2() - self.lap_area().to_mm2())
    }

    /// Net area of its pieces, laps counted twice.
    fn laid_area(&self) -> Area {
        Area::mm2(self.pieces.iter().map(|piece| piece.net().area()).sum())
    }

    /// Cut area of one ply, all its pieces.
    #[must_use]
    pub fn cut_area(&self) -> Area {
        Area::mm2(self.pieces.iter().map(|piece| piece.cut().area()).sum())
    }

    /// Net area that lies twice, in the laps of one ply.
    #[must_use]
    pub fn lap_area(&self) -> Area {
        Area::mm2(self.splices().map(|splice| splice.lap_area).sum())
    }

    /// Letters of the pieces that it is divided into; empty where the ply is one piece but for gussets.
    #[must_use]
    pub fn letters(&self) -> Vec<char> {
        let divided = self.pieces.iter().filter(|piece| !piece.is_gusset());
        let splices = divided.filter_map(|piece| piece.splice());
        splices.map(|splice| splice.letter).collect()
    }

    /// The pieces that it is made of.
    pub(crate) fn pieces(&self) -> impl Iterator<Item = &Piece> {
        self.pieces.iter().map(|piece| &**piece)
    }

    /// Of how many pieces it is made.
    #[must_use]
    pub fn n_pieces(&self) -> usize {
        self.pieces.len()
    }

    /// How its pieces are joined; none where the ply is one piece.
    #[must_use]
    pub fn joint(&self) -> Option<(JointKind, Length)> {
        let joint = self.splices().flat_map(|splice| &splice.joints).next()?;
        Some((joint.kind, joint.lap))
    }

    fn splices(&self) -> impl Iterator<Item = &Splice> {
        self.pieces.iter().filter_map(|piece| piece.splice())
    }

    /// Dry cloth inside the net line of one ply, laps counted twice.
    #[must_use]
    pub fn cloth_mass(&self) -> Mass {
        self.areal_weight() * self.laid_area()
    }

    /// Whether it lies on the bias.
    #[must_use]
    pub fn on_bias(&self) -> bool {
        self.pieces.iter().any(|piece| piece.on_bias())
    }

    /// Whether the face that shows mostly warp looks away from the mould; `None` unless it is a satin whose job
    /// names that face.
    #[must_use]
    pub fn shows_warp(&self) -> Option<bool> {
        let up = self.ply().face.unwrap_or(Face::Up);
        self.cloth().warp_face.map(|warp| warp == up)
    }

    /// Where the line of its cloth runs, from 0°, seen from the bag side, if it will be seen and the job tells of
    /// lines.
    #[must_use]
    pub fn line(&self) -> Option<Angle> {
        let piece = self.pieces.first()?;
        piece.line_under(*piece.turns().first()?)
    }

    /// Whether the good face of its cloth looks away from the mould, if it will be seen and has one.
    #[must_use]
    pub fn shows_good_face(&self) -> Option<bool> {
        let good = self.cloth().look.good_face.filter(|_| self.appearance())?;
        Some(good == self.ply().face.unwrap_or(Face::Up))
    }

    /// How its edges are held before it is cut; of several pieces the first whose edges ravel.
    #[must_use]
    pub fn edge_tape(&self) -> EdgeTape {
        let mut tapes = self.pieces.iter().map(|piece| piece.edge_tape());
        let ravels = tapes.find(|tape| *tape != EdgeTape::Needless);
        ravels.unwrap_or(EdgeTape::Needless)
    }

    /// Resin that stays in it inside the net line, if its fibre is known.
    #[must_use]
    pub fn resin_mass(&self) -> Option<Mass> {
        Some(self.lamina()?.resin_for(self.cloth_mass()))
    }

    /// Resin that `area` of it holds, if its fibre is known.
    #[must_use]
    pub fn resin_in(&self, area: Area) -> Option<Mass> {
        Some(self.lamina()?.resin_for(self.areal_weight() * area))
    }
}

/// The parts of the job of which `pieces` are cut; how their plies lie is told by the work.
pub(in crate::plan) fn parts(pieces: &Pieces, as_cut: &AnglesAsCut<'_>) -> Vec<PartUse> {
    let job = pieces.job();
    let part_use = |(part_idx, part): (usize, &Part)| {
        let of_part: Vec<&Arc<Piece>> =
            pieces.iter().filter(|p| p.part_idx() == part_idx).collect();
        let of_ply = |ply_idx: usize| of_part.iter().filter(move |p| p.ply_idx() == ply_idx);
        let plies = (0..part.plies.len()).map(|ply_idx| PlyUse {
            job: Arc::clone(job),
            part: part_idx,
            ply: ply_idx,
            pieces: of_ply(ply_idx).copied().cloned().collect(),
        });
        // A quantity in the drawing counts where the job does not say.
        let sets = of_part.iter().map(|p| p.sets()).max().unwrap_or(part.sets);
        let shapes = pieces
            .cores()
            .iter()
            .filter(|core| core.part_idx() == part_idx);
        let shapes: Vec<&CoreShape> = shapes.collect();
        let full = laminate::full_layers(&of_part, &shapes);
        let (stack, other_stacks) = as_cut.stacks(part, sets, &full);
        let first = of_part.iter().find_map(|piece| piece.drape());
        // What covers a part on a mould is as large as that is there.
        let on_mould = first.map_or(1.0, Drape::share_on_mould);
        let cores = shapes.iter().map(|shape| CoreUse {
            job: Arc::clone(job),
            part: part_idx,
            core: shape.core_idx(),
            area: Area::mm2(shape.outline().area() * on_mould),
            outline: shape.outline().clone(),
        });
        PartUse {
            job: Arc::clone(job),
            idx: part_idx,
            sets,
            plies: plies.collect(),
            cores: cores.collect(),
            stack,
            other_stacks,
            laid: Vec::new(),
            finished: None,
            thickness: None,
            resin: None,
            stages: Vec::new(),
            ways_out: None,
            bag: None,
            released: None,
            coat: None,
            cost: None,
            price: None,
        }
    };
    job.parts().iter().enumerate().map(part_use).collect()
}
