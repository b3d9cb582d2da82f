//! The edges of a part on the flat cloth.

use glam::DVec3;

use super::flat::{FlatPlace, Flattening};
use crate::mould::area::{Area, EdgeSide};
use crate::mould::surface::Spot;

/// A point of an edge on the flat cloth further (in cells) than this from the net is not covered.
const FAR: f64 = 3.0;

/// Neighbours on an edge may lie this much further apart on the flat cloth than on the mould: across a cell
/// that is sheared by 80° they come together by 8.2.
const GATHER: f64 = 8.5;

/// Why a part has no flat outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum NoOutline {
    /// The net ends before this place (mm) of the edge.
    NotCovered([f64; 3]),
    /// The cloth comes apart at this place of the edge: the part closes upon itself.
    Closes([f64; 3]),
}

/// A place of an edge.
#[derive(Clone, Copy, Debug)]
pub(super) struct EdgePlace {
    pub(super) flat: FlatPlace,
    /// Where on the mould, mm.
    pub(super) at: DVec3,
    /// The triangle of the side that goes on from here.
    pub(super) face: u32,
    /// The cut of which it is a lip; the last place of a lip outward is that of the edge it comes to.
    pub(super) slit: Option<u32>,
}

/// An edge of the part on the flat cloth, and on the mould.
pub(super) fn flat_edge(
    area: &Area,
    edge: &[EdgeSide],
    flattening: &Flattening<'_>,
    spacing: f64,
) -> Result<Vec<EdgePlace>, NoOutline> {
    let mut places: Vec<EdgePlace> = Vec::new();
    for side in edge {
        let length = side.from.distance(side.to);
        let n = (2.0 * length / spacing).ceil().max(1.0) as u32;
        // A little inward, so that the place is on its own triangle.
        let middle = area.surface.middle(side.face);
        for k in 0..n {
            let at = side.from.lerp(side.to, f64::from(k) / f64::from(n));
            let inward = Spot {
                face: side.face,
                at: at.lerp(middle, 1e-9),
            };
            let flat = flattening.place(inward).filter(|flat| flat.beyond <= FAR);
            let flat = flat.ok_or(NoOutline::NotCovered(at.to_array()))?;
            let EdgeSide { face, slit, .. } = *side;
            places.push(EdgePlace {
                flat,
                at,
                face,
                slit,
            });
        }
    }
    let n = places.len();
    for k in 0..n {
        let (place, next) = (places[k], places[(k + 1) % n]);
        let (flat, apart) = (
            place.flat.at.distance(next.flat.at),
            place.at.distance(next.at),
        );
        if flat > GATHER * apart + spacing {
            return Err(NoOutline::Closes(place.at.to_array()));
        }
    }
    Ok(places)
}
