//! Cloth on a mould: how it shears there, and its flat outline.

mod begin;
mod choice;
mod dart;
mod even;
mod flat;
mod laid;
mod lay;
mod loose;
mod net;
mod outline;
mod parallels;
mod proof;
mod quick;
#[cfg(test)]
mod tests;
mod trial;
mod trim;

use std::sync::Arc;

use glam::{DQuat, DVec2, DVec3};

use crate::geometry::{Outline, Point, Ring, Vector, trig};
use crate::mould::area::Area;
use crate::mould::extent::FilmExtent;
use crate::mould::surface::{Spot, nearest_on};
use begin::{lines, spacing, start, zero};
pub(crate) use choice::{ClothGive, PlyLies};
pub use choice::{Darts, DrapeError, Fibres, LayChoice, Smoothing};
pub use dart::Dart;
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
    let mut task = Task {
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
    };
    let told: Vec<Vec<DVec3>> = (lay.dart_lines.iter())
        .map(|line| line.iter().copied().map(DVec3::from_array).collect())
        .collect();
    let cut = match told.is_empty() {
        true => None,
        false => Some(area.slit(&told, task.beyond()).ok_or(DrapeError::NoDart)?),
    };
    let base = cut.as_ref().unwrap_or(area);
    let mut laid = Some(
        task.lay_both(base)
            .ok_or(DrapeError::FarStart(f64::INFINITY))?,
    );
    let darted = match (lay.darts, give.fibres, &laid) {
        (Darts::WhereNeeded, Fibres::Crossed, Some(whole)) => {
            let whole = as_laid(whole, lay.smoothing);
            dart::where_needed(&task, [area, base], whole, &told, give.locks)
        }
        _ => None,
    };
    if darted.is_some() {
        laid = None;
    }
    let saddled = darted.as_ref().is_some_and(|darted| darted.saddled);
    let area = match (darted, cut) {
        (Some(darted), _) => Arc::new(darted.area),
        (None, Some(cut)) => Arc::new(cut),
        (None, None) => Arc::clone(area),
    };
    for _ in 0..MOST_ANEW {
        let both = match laid.take() {
            Some(both) => both,
            None => (task.lay_both(&area)).ok_or(DrapeError::FarStart(f64::INFINITY))?,
        };
        let laid = flattened(&task, &area, &both, spot, saddled, lies, &name);
        let is_finest = mould_area > MOST_IF_FINER * (FINER * task.spacing).powi(2);
        if is_finest || !matches!(laid, Err(DrapeError::NotBorneOut(..))) {
            return laid;
        }
        let may_bend = !task.over_bends && area.smoothed.is_none();
        match may_bend {
            true => task.over_bends = true,
            false => task.spacing *= FINER,
        }
    }
    let both = (task.lay_both(&area)).ok_or(DrapeError::FarStart(f64::INFINITY))?;
    flattened(&task, &area, &both, spot, saddled, lies, &name)
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

/// The cloth of `task` on `area` as it is cut, laid, flat and borne out.
fn flattened(
    task: &Task<'_>,
    area: &Arc<Area>,
    both: &[LaidCloth; 2],
    spot: Spot,
    saddled: bool,
    lies: PlyLies,
    name: &str,
) -> Result<Drape, DrapeError> {
    let Task { lay, angle_deg, .. } = *task;
    let PlyLies { give, .. } = lies;
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
    let lips: Vec<[Vec<EdgePlace>; 2]> = (dart::lips(&edges[0]).into_iter())
        .map(|(_, lips)| lips)
        .collect();
    let darts: Vec<Dart> = lips
        .iter()
        .filter_map(|lips| Dart::of(lips, turned, &outline))
        .collect();
    let proof = DrapeProof::of(&as_laid.net, area, give.fibres, &lips);
    let lip_lengths: Vec<[f64; 2]> = darts.iter().map(|dart| dart.lip_lengths).collect();
    if let Some(denied) = proof.denies(outline.area(), &lip_lengths) {
        return Err(DrapeError::NotBorneOut(denied, task.spacing));
    }
    let mouths = dart::without_lips(&edges[0]);
    let uncut = match darts.is_empty() {
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
        name: name.to_owned(),
        lies,
        start: spot.at.to_array(),
        straight: straight.most(),
        evened: evened.most(),
        by_sense: as_laid.shear,
        smoothing: lay.smoothing,
        mould_area: area.on_mould(),
        on: OnArea {
            net: LaidNet::of(&as_laid.net, &area.inside),
            zero: task.zero,
            area: Arc::clone(area),
        },
        outline,
        uncut,
        trimmed,
        darts,
        proof,
        saddled,
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
        self.mould_area / self.outline.area()
    }

    /// How far (mm) a place of the part lies from its nearest edge.
    pub(crate) fn off_edge(&self, at: [f64; 3]) -> f64 {
        let at = DVec3::from_array(at);
        let sides = self.on.area.edges.iter().flatten();
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
        FilmExtent::of(&self.on.area, self.on.zero)
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

    /// Whether it shears too much where the mould is saddled: there a cut would have to be let in, not out.
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
