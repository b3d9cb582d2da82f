//! Cloth on a mould: how it shears there, and its flat outline.

mod even;
mod flat;
mod laid;
mod net;
mod outline;
#[cfg(test)]
mod tests;

use std::sync::Arc;

use glam::DVec3;

use crate::geometry::{Outline, Point, Ring, Vector, trig};
use crate::mould::area::Area;
use crate::mould::surface::{NONE, Spot};
use crate::words::words;
use flat::{FlatPlace, Flattening};
pub(crate) use laid::LaidNet;
use net::{FirstYarns, Ground, Net, NetStart, Rules, YarnTurns};
use outline::NoOutline;

words! {
    /// How the first yarns of a cloth lie.
    pub enum Smoothing {
        /// Straight from the start.
        Straight = "straight",
        /// Bent so that the shear is spread evenly, as a patient person smooths the cloth out.
        Evenly = "evenly",
    }
}

/// How a part is laid.
#[derive(Clone, Debug, PartialEq)]
pub struct LayChoice {
    /// Where the cloth is put down first, mm; the middle of the part if left out.
    pub start: Option<[f64; 3]>,
    /// The part's 0° there, as a direction in space; if left out x, or y where x stands upright.
    pub zero: Option<[f64; 3]>,
    /// How it is smoothed out.
    pub smoothing: Smoothing,
    /// Between crossings of the net that is computed, mm; by the size of the part if left out.
    pub spacing: Option<f64>,
}

/// Why a cloth cannot be laid.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum DrapeError {
    /// The start lies this far (mm) from the part.
    FarStart(f64),
    /// The part's 0° stands upright on the mould at the start.
    UprightZero,
    /// The cloth does not get to this place (mm) of the edge: it would shear beyond what any cloth can.
    NotCovered([f64; 3]),
    /// The part closes upon itself at this place (mm) of its edge.
    Closes([f64; 3]),
    /// The cloth lies over itself when it is flat.
    Overlaps,
    /// The net of so many crossings is finer than can be computed.
    TooFine(u64),
}

/// A cloth laid on a part of a mould.
#[derive(Clone, Debug)]
pub struct Drape {
    angle_deg: f64,
    start: [f64; 3],
    straight: Shear,
    evened: Shear,
    smoothing: Smoothing,
    mould_area: f64,
    on: OnArea,
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

/// A start further than this (mm) from the part is a slip.
const FAR_START_MM: f64 = 20.0;

/// More shear (degrees) than any cloth bears.
const LIMIT_DEG: f64 = 80.0;

/// A mould whose edges bend more than this (degrees) has folds.
const FOLD_DEG: f64 = 6.0;

/// How far beyond the part a net goes on where the mould does, in its spacing.
const BEYOND: f64 = 2.5;

/// Points of a flat edge this near (mm) to the line between others are left out.
const SIMPLIFY_MM: f64 = 0.01;

/// Crossings of a net if its spacing is not stated, about; and the bounds of that spacing, mm.
const USUAL_CROSSINGS: f64 = 20_000.0;
const USUAL_SPACING_MM: [f64; 2] = [0.5, 5.0];

/// Most crossings that are asked for.
const MOST_CROSSINGS: f64 = 2_000_000.0;

/// Lays a cloth on `area` with its warp at `angle_deg`, counter-clockwise from the part's 0° as seen from the bag
/// side.
///
/// # Errors
/// When it cannot lie there.
pub(crate) fn drape(
    area: &Arc<Area>,
    lay: &LayChoice,
    angle_deg: f64,
) -> Result<Drape, DrapeError> {
    let mould_area = area.on_mould();
    let spacing = spacing(lay, mould_area)?;
    let spot = start(area, lay)?;
    let zero = zero(area, lay, spot).ok_or(DrapeError::UprightZero)?;
    let (sin, cos) = trig::sin_cos_radians(angle_deg.to_radians());
    let warp = zero * cos + area.surface.normal(spot.face).cross(zero) * sin;
    let start = NetStart { spot, warp };
    let rules = Rules {
        spacing,
        limit: LIMIT_DEG,
        lines: lines(area),
    };
    let ground = Ground {
        surface: &area.surface,
        inside: &area.inside,
        laid: &area.grown(BEYOND * spacing),
    };
    let straight = Net::lay(&ground, start, &rules, &YarnTurns::default());
    let evened = even::evened(&ground, &straight, start, &rules);
    let net = LaidNet::of(match lay.smoothing {
        Smoothing::Straight => &straight,
        Smoothing::Evenly => &evened,
    });
    let straight = Flattened::new(&straight, area);
    let evened = Flattened::new(&evened, area);
    let as_laid = match lay.smoothing {
        Smoothing::Straight => &straight,
        Smoothing::Evenly => &evened,
    };
    let edges = as_laid
        .edges
        .as_ref()
        .map_err(|&why| DrapeError::from(why))?;
    let turned = |place: &FlatPlace| {
        let p = place.at;
        Point::new(p.x * cos - p.y * sin, p.x * sin + p.y * cos)
    };
    let ring = |edge: &Vec<FlatPlace>| Ring::new(edge.iter().map(turned)).ok();
    let mut rings = edges.iter().map(ring);
    let outer = rings.next().flatten().ok_or(DrapeError::Overlaps)?;
    let outline = Outline {
        outer,
        openings: rings.collect::<Option<_>>().ok_or(DrapeError::Overlaps)?,
    };
    let outline = outline.simplified(SIMPLIFY_MM);
    if outline.crossing().is_some() {
        return Err(DrapeError::Overlaps);
    }
    Ok(Drape {
        angle_deg,
        start: spot.at.to_array(),
        straight: straight.shear,
        evened: evened.shear,
        smoothing: lay.smoothing,
        mould_area,
        on: OnArea {
            area: Arc::clone(area),
            net,
            zero,
        },
        outline,
    })
}

impl Drape {
    /// The direction of its warp, degrees counter-clockwise from the part's 0° at the start.
    #[must_use]
    pub const fn angle(&self) -> f64 {
        self.angle_deg
    }

    /// What its flat outline is called.
    #[must_use]
    pub fn name(&self) -> String {
        Self::name_at(self.angle_deg)
    }

    /// What the flat outline of a cloth at this angle is called.
    pub(crate) fn name_at(angle_deg: f64) -> String {
        format!("{angle_deg}°")
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

    /// The part with the cloth on it, for drawing.
    pub(crate) const fn on(&self) -> &OnArea {
        &self.on
    }

    /// Its flat outline: x along the part's 0° at the start, which lies at the origin; as seen from the bag
    /// side, mm.
    #[must_use]
    pub const fn outline(&self) -> &Outline {
        &self.outline
    }

    /// Where the first warp and weft yarns leave the flat outline: along +warp, −warp, +weft, −weft.
    #[must_use]
    pub fn start_lines(&self) -> [Option<Point>; 4] {
        let (sin, cos) = trig::sin_cos_radians(self.angle_deg.to_radians());
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

/// A net with its edges on the flat cloth.
struct Flattened {
    edges: Result<Vec<Vec<FlatPlace>>, NoOutline>,
    shear: Shear,
}

impl Flattened {
    fn new(net: &Net, area: &Area) -> Self {
        let flattening = Flattening::new(net, &area.surface);
        let of = |edge: &Vec<_>| outline::flat_edge(area, edge, &flattening, net.spacing);
        let edges: Result<Vec<_>, _> = area.edges.iter().map(of).collect();
        let along = edges.iter().flatten().flatten();
        let along = along.map(|(place, at)| (flattening.shear(place), *at));
        let is_inside = |spot: &Spot| area.inside[spot.face as usize];
        let within = net
            .cells()
            .filter(|(_, corners)| corners.iter().all(is_inside));
        let within = within.map(|(cell, corners)| (cell.shear, corners[0].at));
        let most = within.chain(along).reduce(|most, next| {
            if next.0.abs() > most.0.abs() {
                next
            } else {
                most
            }
        });
        let shear = most.map_or_else(Shear::default, |(degrees, at)| Shear {
            degrees: degrees.abs(),
            at: at.to_array(),
        });
        let places =
            |edge: Vec<(FlatPlace, DVec3)>| edge.into_iter().map(|(place, _)| place).collect();
        Self {
            edges: edges.map(|edges| edges.into_iter().map(places).collect()),
            shear,
        }
    }
}

impl From<NoOutline> for DrapeError {
    fn from(why: NoOutline) -> Self {
        match why {
            NoOutline::NotCovered(at) => Self::NotCovered(at),
            NoOutline::Closes(at) => Self::Closes(at),
        }
    }
}

fn spacing(lay: &LayChoice, area: f64) -> Result<f64, DrapeError> {
    let [least, most] = USUAL_SPACING_MM;
    let usual = (area / USUAL_CROSSINGS).sqrt().clamp(least, most);
    let spacing = lay.spacing.unwrap_or(usual);
    let n = area / (spacing * spacing);
    match n > MOST_CROSSINGS {
        true => Err(DrapeError::TooFine(n as u64)),
        false => Ok(spacing),
    }
}

fn start(area: &Area, lay: &LayChoice) -> Result<Spot, DrapeError> {
    let is_inside = |face: u32| area.inside[face as usize];
    let Some(start) = lay.start else {
        return area.middle().ok_or(DrapeError::FarStart(f64::INFINITY));
    };
    let start = DVec3::from_array(start);
    let spot = area.surface.nearest(start, is_inside);
    let off = |spot: &Spot| spot.at.distance(start);
    let far = spot.as_ref().map_or(f64::INFINITY, off);
    spot.filter(|_| far <= FAR_START_MM)
        .ok_or(DrapeError::FarStart(far))
}

/// The part's 0° in the plane of the mould at the start.
fn zero(area: &Area, lay: &LayChoice, start: Spot) -> Option<DVec3> {
    /// The cosine of the steepest 0°.
    const UPRIGHT: f64 = 0.1;
    let laid = |zero: DVec3| {
        let laid = area.surface.in_plane(start.face, zero)?;
        (laid.dot(zero.normalize_or_zero()) > UPRIGHT).then_some(laid)
    };
    match lay.zero {
        Some(zero) => laid(DVec3::from_array(zero)),
        None => laid(DVec3::X).or_else(|| laid(DVec3::Y)),
    }
}

/// On folds the first yarns run straight over the triangles, elsewhere in sections.
fn lines(area: &Area) -> FirstYarns {
    let surface = &area.surface;
    let least = trig::sin_cos_radians(FOLD_DEG.to_radians()).1;
    let is_folded = |face: u32| {
        let across = surface
            .across(face)
            .into_iter()
            .filter(|&next| next != NONE && area.inside[next as usize]);
        across
            .into_iter()
            .any(|next| surface.normal(face).dot(surface.normal(next)) < least)
    };
    let mut inside = (0..surface.n_faces()).filter(|&face| area.inside[face as usize]);
    if inside.any(is_folded) {
        FirstYarns::Unfolded
    } else {
        FirstYarns::Sections
    }
}
