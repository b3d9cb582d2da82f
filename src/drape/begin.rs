//! How a cloth begins on its part: where, along what, and how finely it is followed.

use glam::DVec3;

use super::net::FirstYarns;
use super::{DrapeError, LayChoice};
use crate::geometry::trig;
use crate::mould::area::Area;
use crate::mould::surface::{NONE, Spot};

/// A start further than this (mm) from the part is a slip.
const FAR_START_MM: f64 = 20.0;

/// A mould whose edges bend more than this (degrees) has folds.
const FOLD_DEG: f64 = 6.0;

/// Crossings of a net if its spacing is not stated, about; and the bounds of that spacing, mm.
const USUAL_CROSSINGS: f64 = 20_000.0;
const USUAL_SPACING_MM: [f64; 2] = [0.5, 5.0];

/// Most crossings that are asked for.
const MOST_CROSSINGS: f64 = 2_000_000.0;

/// How far apart the crossings of the net are, mm: as is stated, or as fine as the part wants.
pub(super) fn spacing(lay: &LayChoice, area: f64) -> Result<f64, DrapeError> {
    let [least, most] = USUAL_SPACING_MM;
    let usual = (area / USUAL_CROSSINGS).sqrt().clamp(least, most);
    let spacing = lay.spacing.unwrap_or(usual);
    let n = area / (spacing * spacing);
    match n > MOST_CROSSINGS {
        true => Err(DrapeError::TooFine(n as u64)),
        false => Ok(spacing),
    }
}

/// Where a cloth is laid first: as is stated, or in the middle of the part.
pub(super) fn start(area: &Area, lay: &LayChoice) -> Result<Spot, DrapeError> {
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
pub(super) fn zero(area: &Area, lay: &LayChoice, start: Spot) -> Option<DVec3> {
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

/// On folds the first yarns run straight over the triangles, elsewhere and on scans in sections.
pub(super) fn lines(area: &Area) -> FirstYarns {
    // What is left of the noise of a scan would lead them astray.
    if area.smoothed.is_some() {
        return FirstYarns::Sections;
    }
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
