//! Cloth on a mould: how it shears there, and its flat outline.

mod begin;
mod choice;
mod cuts;
mod dart;
mod even;
mod flat;
mod gusset;
mod laid;
mod lay;
mod loose;
mod net;
mod outline;
mod parallels;
mod proof;
mod quick;
mod relief;
#[cfg(test)]
mod tests;
mod trial;
mod trim;

use std::sync::Arc;

use glam::{DQuat, DVec2, DVec3};

use crate::geometry::{Outline, Point, Ring, Vector, trig};
use crate::mould::area::Area;
use crate::mould::extent::FilmExtent;
use crate::mould::slit::GapArea;
use crate::mould::surface::{Spot, nearest_on};
use begin::{lines, spacing, start, zero};
pub(crate) use choice::{ClothGive, PlyLies};
pub use choice::{Darts, DrapeError, Fibres, LayChoice, Smoothing};
use cuts::{Cuts, Reliefs, ToldCuts, told_cuts};
pub use dart::Dart;
use dart::Darted;
pub use gusset::Gusset;
use gusset::ReliefLips;
pub(crate) use laid::LaidNet;
use lay::{LaidCloth, Task};
use net::FirstYarns;
use outline::EdgePlace;
pub use proof::Denied;
use proof::DrapeProof;
pub use trial::Trial;
pub(crate) use trial::trials;
use trim::trimmed;
pub(crate) use trim::{TrimChoice, Trimmed};

/// A cloth laid on a part of a mould.
#[derive(Clone, Debug)]
pub struct Drape {
    name: String,
    lies: PlyLies,
    start: [f64; 3],
    straight: Shear,
    evened: Shear,
    smoothing: Smoothing,
    mould_area: f64,
    on: OnArea,
    /// As it is laid, where the angle from +warp to +weft closes and where it opens.
    by_sense: [Shear; 2],
    darts: Vec<Dart>,
    reliefs: Vec<Relief>,
    proof: DrapeProof,
    spacing: f64,
    saddled: bool,
    /// The outline with the mouths of its darts bridged.
    uncut: Outline,
    /// The same with each of its trims.
    trimmed: Vec<Trimmed>,
    /// On the flat cloth, x along the part's 0° at the start, as seen from the bag side, mm from the start.
    outline: Outline,
}

/// A cloth on its part, for drawing.
#[derive(Clone, Debug)]
pub(crate) struct OnArea {
    /// The part of the mould.
    pub(crate) area: Arc<Area>,
    /// The whole part, with what gussets cover.
    pub(crate) whole: Arc<Area>,
    /// The cloth as it is laid.
    pub(crate) net: LaidNet,
    /// The part's 0° at the start.
    pub(crate) zero: DVec3,
}

/// The largest shear of a cloth on a part.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Shear {
    /// Its size, degrees.
    pub degrees: f64,
    /// Where, mm.
    pub at: [f64; 3],
}

/// A cut that opens on the mould to a V, and what is let in there.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Relief {
    /// The cut: flat its lips lie side by side.
    pub cut: Dart,
    /// The piece that is let in.
    pub gusset: Gusset,
}

/// More shear (degrees) than any cloth bears.
const LIMIT_DEG: f64 = 80.0;

/// How far beyond the part a net goes on where the mould does, in its spacing.
const BEYOND: f64 = 2.5;

/// Points of a flat edge this near (mm) to the line between others are left out.
const SIMPLIFY_MM: f64 = 0.01;

/// Crossings of a net that is let go, about.
const LOOSE_CROSSINGS: f64 = 3_000.0;

/// Lays a cloth on `area`, which is that of the plies beneath it, and on as far as its `trims` reach. `name` is what it is
/// called.
///
/// # Errors
/// When it cannot lie there.
pub(crate) fn drape(
    area: &Arc<Area>,
    lay: &LayChoice,
    lies: PlyLies,
    name: String,
    trims: &[TrimChoice],
) -> Result<Drape, DrapeError> {
    let PlyLies {
        angle_deg, give, ..
    } = lies;
    let mould_area = area.on_mould();
    let spacing = spacing(lay, mould_area)?;
    let spacing = match give.fibres {
        Fibres::Loose => spacing.max((mould_area / LOOSE_CROSSINGS).sqrt()),
        Fibres::Crossed | Fibres::Parallel => spacing,
    };
    let spot = start(area, lay)?;
    let lines = lines(area);
    let task = Task {
        lay,
        start: spot.at,
        zero: zero(area, lay, spot).ok_or(DrapeError::UprightZero)?,
        angle_deg,
        spacing,
        lines,
        over_bends: lines == FirstYarns::Unfolded,
        fibres: give.fibres,
        trims: match give.fibres {
            Fibres::Crossed | Fibres::Parallel => trims,
            // What lies beyond would draw at the part.
            Fibres::Loose => &[],
        },
        cuts: &[],
    };
    let told: Vec<Vec<DVec3>> = (lay.dart_lines.iter())
        .map(|line| line.iter().copied().map(DVec3::from_array).collect())
        .collect();
    let ToldCuts { cuts: told, made } = told_cuts(&task, area, told)?;
    let base = made.as_ref().map_or(&**area, |made| &made.area);
    let based = Task {
        cuts: &told.reliefs,
        ..task
    };
    let both = based
        .lay_both(base)
        .ok_or(DrapeError::FarStart(f64::INFINITY))?;
    let (darted, mut saddled) = match (lay.darts, give.fibres) {
        (Darts::WhereNeeded, Fibres::Crossed) => {
            let whole = as_laid(&both, lay.smoothing);
            dart::where_needed(&task, [area, base], whole, &told, give.locks)
        }
        _ => (None, false),
    };
    let on = LaidOn {
        whole: area,
        spot,
        lies,
        name: &name,
    };
    if let Some(darted) = darted {
        let is_relieved = darted.reliefs.cuts.len() > told.reliefs.len();
        let laid = borne_out(task, &on, darted, None);
        if laid.is_ok() || !is_relieved {
            return laid;
        }
        // Without what cannot be let in.
        saddled = true;
    }
    let (own, gaps) = match made {
        Some(made) => (made.area, made.gaps),
        None => (Area::clone(area), Vec::new()),
    };
    let told = Darted {
        area: own,
        darts: told.darts,
        reliefs: Reliefs {
            cuts: told.reliefs,
            gaps,
        },
        saddled,
    };
    borne_out(task, &on, told, Some(both))
}

/// What a cloth is laid on, and how.
struct LaidOn<'a> {
    /// The part without cuts.
    whole: &'a Arc<Area>,
    spot: Spot,
    lies: PlyLies,
    name: &'a str,
}

/// The cloth of `task` on the part as it is cut: over its bends, and anew with a finer net until its mould bears it out.
/// `first` is as it was laid there already.
fn borne_out(
    task: Task<'_>,
    on: &LaidOn<'_>,
    cut: Darted,
    mut first: Option<[LaidCloth; 2]>,
) -> Result<Drape, DrapeError> {
    let Darted {
        area,
        reliefs,
        darts,
        saddled,
    } = cut;
    let mut cuts = Cuts {
        darts,
        reliefs: reliefs.cuts,
    };
    let (mut area, mut gaps) = (Arc::new(area), reliefs.gaps);
    let mould_area = on.whole.on_mould();
    let mut task = Task { cuts: &[], ..task };
    for k in 0..=MOST_ANEW {
        let of_cuts = Task {
            cuts: &cuts.reliefs,
            ..task
        };
        let both = first.take().or_else(|| of_cuts.lay_both(&area));
        let both = both.ok_or(DrapeError::FarStart(f64::INFINITY))?;
        let laid = flattened(&of_cuts, on, &area, &gaps, &both);
        let is_finest = mould_area > MOST_IF_FINER * (FINER * task.spacing).powi(2);
        let is_denied = match laid {
            Err(DrapeError::NotBorneOut(..)) => true,
            // The lips of a cut are as rough as the net beside it.
            Err(DrapeError::Overlaps) => !cuts.reliefs.is_empty(),
            _ => false,
        };
        if is_finest || k == MOST_ANEW || !is_denied {
            return laid.map(|laid| Drape { saddled, ..laid });
        }
        let may_bend = !task.over_bends && area.smoothed.is_none();
        match may_bend {
            true => task.over_bends = true,
            false => task.spacing *= FINER,
        }
        // A cut opens as the net lies beside it.
        for cut in &mut cuts.reliefs {
            *cut = cut.on_crossing(task.spacing);
        }
        if !cuts.reliefs.is_empty()
            && let Ok(opened) = cuts.made(&task, on.whole)
        {
            area = Arc::new(opened.area);
            gaps = opened.gaps;
        }
    }
    Err(DrapeError::Overlaps)
}

const fn as_laid([straight, evened]: &[LaidCloth; 2], smoothing: Smoothing) -> &LaidCloth {
    match smoothing {
        Smoothing::Straight => straight,
        Smoothing::Evenly => evened,
    }
}

/// Times that a net is laid anew that is too coarse for its mould: measured over its bends, then finer by this factor; and
/// crossings to which that may lead.
const MOST_ANEW: u32 = 6;
const FINER: f64 = 0.7;
const MOST_IF_FINER: f64 = 300_000.0;

/// The cloth of `task` on `area` with these gaps in it, laid, flat and borne out.
fn flattened(
    task: &Task<'_>,
    on: &LaidOn<'_>,
    area: &Arc<Area>,
    gaps: &[GapArea],
    both: &[LaidCloth; 2],
) -> Result<Drape, DrapeError> {
    let Task { lay, angle_deg, .. } = *task;
    let PlyLies { give, .. } = on.lies;
    let [straight, evened] = both;
    let as_laid = as_laid(both, lay.smoothing);
    let edges = as_laid
        .edges
        .as_ref()
        .map_err(|&why| DrapeError::from(why))?;
    let (sin, cos) = trig::sin_cos_radians(angle_deg.to_radians());
    let turn = |p: DVec2| Point::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos);
    let turned = |place: &EdgePlace| turn(place.flat.at);
    let ring = |edge: &Vec<EdgePlace>| Ring::new(edge.iter().map(turned)).ok();
    let mut rings = edges.iter().map(ring);
    let outer = rings.next().flatten().ok_or(DrapeError::Overlaps)?;
    let openings: Vec<Ring> = rings.collect::<Option<_>>().ok_or(DrapeError::Overlaps)?;
    let outline = Outline { outer, openings }.simplified(SIMPLIFY_MM);
    if outline.crossing().is_some() {
        return Err(DrapeError::Overlaps);
    }
    let n_gaps = gaps.len();
    let first_gap = area.tips.first().map_or(u32::MAX, |(cut, _)| *cut);
    let mut lips = dart::lips(&edges[0], &area.tips);
    // In the order of their cuts, those that open on the mould last.
    lips.sort_by_key(|(cut, _)| *cut);
    let n_darts = lips.iter().filter(|(cut, _)| *cut < first_gap).count();
    if lips.len() != n_darts + n_gaps {
        return Err(DrapeError::Overlaps);
    }
    let lips: Vec<[Vec<EdgePlace>; 2]> = lips.into_iter().map(|(_, lips)| lips).collect();
    let of_lips = |lips: &[Vec<EdgePlace>; 2]| Dart::of(lips, turned, &outline);
    let darts: Vec<Dart> = lips[..n_darts].iter().filter_map(of_lips).collect();
    let proof = DrapeProof::of(&as_laid.net, area, give.fibres, &lips);
    let mut reliefs = Vec::new();
    for (lips, gap) in lips[n_darts..].iter().zip(gaps) {
        let beside = ReliefLips {
            lips,
            net: &as_laid.net,
        };
        let gusset = task.gusset(gap, &beside, turn);
        let relief = of_lips(lips).zip(gusset);
        let (cut, gusset) = relief.ok_or(DrapeError::Overlaps)?;
        reliefs.push(Relief { cut, gusset });
    }
    let cuts = darts.iter().chain(reliefs.iter().map(|relief| &relief.cut));
    let lip_lengths: Vec<[f64; 2]> = cuts.map(|cut| cut.lip_lengths).collect();
    if let Some(denied) = proof.denies(outline.area(), &lip_lengths) {
        return Err(DrapeError::NotBorneOut(denied, task.spacing));
    }
    let mouths = dart::without_lips(&edges[0]);
    let uncut = match lips.is_empty() {
        true => outline.clone(),
        false => Outline {
            outer: Ring::new(mouths.iter().map(turned)).map_err(|_| DrapeError::Overlaps)?,
            openings: outline.openings.clone(),
        }
        .simplified(SIMPLIFY_MM),
    };
    let mut whole = edges.clone();
    whole[0] = mouths;
    let trimmed = trimmed(task.trims, area, &whole, &as_laid.net, turn);
    Ok(Drape {
        name: on.name.to_owned(),
        lies: on.lies,
        start: on.spot.at.to_array(),
        straight: straight.most(),
        evened: evened.most(),
        by_sense: as_laid.shear,
        smoothing: lay.smoothing,
        mould_area: on.whole.on_mould(),
        on: OnArea {
            net: LaidNet::of(&as_laid.net, &area.inside),
            zero: task.zero,
            area: Arc::clone(area),
            whole: Arc::clone(on.whole),
        },
        outline,
        uncut,
        trimmed,
        darts,
        reliefs,
        proof,
        saddled: false,
        spacing: task.spacing,
    })
}

impl Drape {
    /// The direction of its warp, degrees counter-clockwise from the part's 0° at the start.
    #[must_use]
    pub const fn angle(&self) -> f64 {
        self.lies.angle_deg
    }

    /// What it is called: plies that lie so one over the other are called alike.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// How thick the plies are that it is laid on, mm.
    #[must_use]
    pub const fn under(&self) -> f64 {
        self.lies.under
    }

    /// What its flat outline is called.
    pub(crate) fn outline_name(&self) -> String {
        match self.under() {
            0.0 => self.name.clone(),
            under => format!("{} on {under:.1} mm", self.name),
        }
    }

    /// Those of `drapes` that are called differently, in their order.
    pub(crate) fn each_once<'a>(drapes: impl Iterator<Item = &'a Self>) -> Vec<&'a Self> {
        let mut known: Vec<&Self> = Vec::new();
        for drape in drapes {
            if known.iter().all(|other| other.name() != drape.name()) {
                known.push(drape);
            }
        }
        known
    }

    pub(crate) const fn lies(&self) -> PlyLies {
        self.lies
    }

    /// How its fibres give; what is called shear is then the slip of fibres all one way (by how much what was square to
    /// them leans), or the largest change of a right angle in a mat.
    #[must_use]
    pub const fn fibres(&self) -> Fibres {
        self.lies.give.fibres
    }

    /// How it is smoothed out.
    #[must_use]
    pub const fn smoothing(&self) -> Smoothing {
        self.smoothing
    }

    /// Where it is put down first, mm.
    #[must_use]
    pub const fn start(&self) -> [f64; 3] {
        self.start
    }

    /// The largest shear as it is laid.
    #[must_use]
    pub const fn shear(&self) -> Shear {
        match self.smoothing {
            Smoothing::Straight => self.straight,
            Smoothing::Evenly => self.evened,
        }
    }

    /// The largest shear if it is laid straight from the start.
    #[must_use]
    pub const fn straight(&self) -> Shear {
        self.straight
    }

    /// The largest shear if it is smoothed out evenly.
    #[must_use]
    pub const fn evened(&self) -> Shear {
        self.evened
    }

    /// The area of the part on the mould, mm².
    #[must_use]
    pub const fn mould_area(&self) -> f64 {
        self.mould_area
    }

    /// How many times its flat area the part has on the mould.
    pub(crate) fn share_on_mould(&self) -> f64 {
        self.own_area() / self.outline.area()
    }

    /// The area on the mould without what its gussets cover alone, mm².
    fn own_area(&self) -> f64 {
        let gussets = self.reliefs.iter().map(|relief| relief.gusset.mould_area);
        self.mould_area - gussets.sum::<f64>()
    }

    /// How far (mm) a place of the part lies from its nearest edge.
    pub(crate) fn off_edge(&self, at: [f64; 3]) -> f64 {
        let at = DVec3::from_array(at);
        let sides = self.on.whole.edges.iter().flatten();
        let off = sides.map(|side| at.distance(nearest_on([side.from, side.to], at)));
        off.fold(f64::INFINITY, f64::min)
    }

    /// The four fields between its first yarns, as seen along its warp from the start, and the largest shear (degrees) in
    /// each that the part has.
    pub(crate) fn fields(&self) -> Vec<(&'static str, f64)> {
        let names = ["ahead left", "ahead right", "behind left", "behind right"];
        let shears = self.on.net.most_by_field().into_iter();
        let all = names.into_iter().zip(shears);
        all.filter_map(|(name, shear)| Some((name, shear?)))
            .collect()
    }

    /// `told` places, and others on the part up to `n`, spread over it, mm.
    pub(crate) fn spread_places(&self, told: &[[f64; 3]], n: usize) -> Vec<[f64; 3]> {
        let told: Vec<DVec3> = told.iter().copied().map(DVec3::from_array).collect();
        let all = self.on.net.spread(&told, n);
        all.into_iter().map(|at| at.to_array()).collect()
    }

    /// The directions of its warp and weft at a place (mm), degrees counter-clockwise seen from the bag side: from the
    /// part's 0° as it comes there when the mould at the start is tilted straight into the mould there. `None` where
    /// there is no cloth.
    pub(crate) fn directions_at(&self, at: [f64; 3]) -> Option<[f64; 2]> {
        let [warp, weft] = self.on.net.yarns_at(DVec3::from_array(at))?;
        let [first, second] = self.on.net.yarns_at_start()?;
        let normal = warp.cross(weft).try_normalize()?;
        let tilt = DQuat::from_rotation_arc(first.cross(second).try_normalize()?, normal);
        let zero = tilt * self.on.zero;
        let left = normal.cross(zero);
        let angle = |yarn: DVec3| trig::atan2_radians(yarn.dot(left), yarn.dot(zero)).to_degrees();
        let (warp, weft) = (angle(warp), angle(weft));
        // Counted on from the warp.
        Some([warp, warp + (weft - warp).rem_euclid(360.0)])
    }

    /// Between the crossings of the net by which it was computed, mm: as told, or finer so that the mould bears it out.
    #[must_use]
    pub const fn spacing(&self) -> f64 {
        self.spacing
    }

    /// Its flat area (mm²) by the area of the mould and the shear all over it; `None` for a mat, which is stretched.
    #[must_use]
    pub const fn area_by_shear(&self) -> Option<f64> {
        self.proof.flat_area
    }

    /// By which share of their length its yarns lie longer or shorter on the mould than flat, at most.
    #[must_use]
    pub const fn yarns_off(&self) -> f64 {
        self.proof.yarns_off
    }

    /// What of a flat cloth with this area (mm²) and lips of darts (mm) its mould does not bear out.
    pub(crate) fn denies(&self, flat_area: f64, lips: &[[f64; 2]]) -> Option<Denied> {
        self.proof.denies(flat_area, lips)
    }

    /// The part with the cloth on it, for drawing.
    pub(crate) const fn on(&self) -> &OnArea {
        &self.on
    }

    /// How a film lies over the part; `None` where the part faces no way.
    pub(crate) fn extent(&self) -> Option<FilmExtent> {
        FilmExtent::of(&self.on.whole, self.on.zero)
    }

    /// Its flat outline: x along the part's 0° at the start, which lies at the origin; as seen from the bag
    /// side, mm.
    #[must_use]
    pub const fn outline(&self) -> &Outline {
        &self.outline
    }

    /// The largest shear as it is laid where the angle from +warp to +weft closes, and where it opens.
    #[must_use]
    pub const fn by_sense(&self) -> [Shear; 2] {
        self.by_sense
    }

    /// Its darts.
    #[must_use]
    pub fn darts(&self) -> &[Dart] {
        &self.darts
    }

    /// All that is cut into it: its darts, then those that open on the mould.
    pub(crate) fn cuts(&self) -> impl Iterator<Item = &Dart> {
        let reliefs = self.reliefs.iter().map(|relief| &relief.cut);
        self.darts.iter().chain(reliefs)
    }

    /// Its cuts that open on the mould, with what is let in there.
    #[must_use]
    pub fn reliefs(&self) -> &[Relief] {
        &self.reliefs
    }

    /// Whether it shears too much where the mould is saddled, and a cut that opens there cannot be made.
    #[must_use]
    pub const fn is_saddled(&self) -> bool {
        self.saddled
    }

    /// [`Self::outline`] with the mouths of its darts bridged straight.
    pub(crate) const fn uncut(&self) -> &Outline {
        &self.uncut
    }

    /// As it is cut with a trim; `None` unless it was laid for that.
    pub(crate) fn trimmed(&self, choice: TrimChoice) -> Option<&Trimmed> {
        self.trimmed.iter().find(|trimmed| trimmed.choice == choice)
    }

    /// Where the first warp and weft yarns leave the flat outline: along +warp, −warp, +weft, −weft.
    #[must_use]
    pub fn start_lines(&self) -> [Option<Point>; 4] {
        let (sin, cos) = trig::sin_cos_radians(self.angle().to_radians());
        let warp = Vector::new(cos, sin);
        let weft = Vector::new(-sin, cos);
        [warp, -warp, weft, -weft].map(|along| {
            let leaves = |(a, b): (Point, Point)| {
                let (from, to) = (
                    along.cross(a - Point::default()),
                    along.cross(b - Point::default()),
                );
                let crosses = (from > 0.0) != (to > 0.0);
                let at = a.towards(b, from / (from - to));
                let off = along.dot(at - Point::default());
                (crosses && off > 0.0).then_some((off, at))
            };
            let nearest = self.outline.outer.edges().filter_map(leaves);
            nearest.min_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, at)| at)
        })
    }
}
