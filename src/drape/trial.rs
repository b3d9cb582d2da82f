//! How a cloth would lie by other directions and from other starts, so that the best can be chosen.

use glam::DVec3;

use super::begin::{lines, spacing, start, zero};
use super::lay::{LaidCloth, Task};
use super::net::FirstYarns;
use super::{ClothGive, Darts, DrapeError, Fibres, LayChoice};
use crate::geometry::Outline;
use crate::mould::area::Area;
use crate::mould::surface::{Spot, Stretch};

/// A direction and a start, and how the cloth would lie.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Trial {
    /// Where it is put down first, mm.
    pub start: [f64; 3],
    /// The direction of its warp, degrees counter-clockwise from the part's 0°.
    pub angle_deg: f64,
    /// The largest shear (slip, for fibres all one way), degrees; `None` where it does not get to the edge.
    pub shear_deg: Option<f64>,
    /// The area of its flat outline, mm².
    pub flat_area: f64,
    outline: Option<Outline>,
}

impl Trial {
    /// Its flat outline, the warp along x; `None` where it does not get to the edge or lies over itself.
    #[must_use]
    pub const fn outline(&self) -> Option<&Outline> {
        self.outline.as_ref()
    }
}

/// Between directions, degrees.
const STEP_DEG: i32 = 15;
/// Crossings of the net of a trial, about: enough to tell which is better.
const CROSSINGS: f64 = 1_200.0;
/// The other starts lie this share of the way to the edge.
const OFF: f64 = 1.0 / 3.0;

/// Every direction in steps of 15° from the start told and from four others, a third of the way to the edge along
/// and across the part's 0°; without darts.
///
/// # Errors
/// When there is no start.
pub(crate) fn trials(
    area: &Area,
    lay: &LayChoice,
    give: ClothGive,
) -> Result<Vec<Trial>, DrapeError> {
    let mould_area = area.on_mould();
    let coarse = (mould_area / CROSSINGS).sqrt();
    let spacing = spacing(lay, mould_area)?.max(coarse);
    let spot = start(area, lay)?;
    let zero = zero(area, lay, spot).ok_or(DrapeError::UprightZero)?;
    let across = area.surface.normal(spot.face).cross(zero);
    let around = [zero, across, -zero, -across].map(|along| off(area, spot, along));
    let starts = std::iter::once(Some(spot)).chain(around).flatten();
    let lay = LayChoice {
        darts: Darts::No,
        ..lay.clone()
    };
    let lines = lines(area);
    let mut all = Vec::new();
    for spot in starts {
        for angle in angles(give) {
            let angle_deg = f64::from(angle);
            let task = Task {
                lay: &lay,
                start: spot.at,
                zero,
                angle_deg,
                spacing,
                lines,
                over_bends: lines == FirstYarns::Unfolded,
                fibres: give.fibres,
                trims: &[],
                cuts: &[],
            };
            let laid = task.lay(area, lay.smoothing);
            let flat = laid.as_ref().and_then(|laid| laid.flat_area());
            all.push(Trial {
                start: spot.at.to_array(),
                angle_deg,
                shear_deg: flat.and(laid.as_ref()).map(|laid| laid.most().degrees),
                flat_area: flat.unwrap_or_default(),
                outline: laid.as_ref().and_then(LaidCloth::outline),
            });
        }
    }
    Ok(all)
}

/// Directions after which a cloth lies as before are left out.
fn angles(give: ClothGive) -> impl Iterator<Item = i32> {
    let [closed, opened] = give.locks;
    let (from, to) = match give.fibres {
        Fibres::Loose => (0, 0),
        Fibres::Crossed if closed == opened => (0, 75),
        Fibres::Crossed | Fibres::Parallel => (-75, 90),
    };
    (from..=to).step_by(STEP_DEG as usize)
}

/// The place on the way from `from` straight to the edge.
fn off(area: &Area, from: Spot, along: DVec3) -> Option<Spot> {
    // Not on an edge.
    let from = Spot {
        at: from.at.lerp(area.surface.middle(from.face), 1e-3),
        ..from
    };
    let mut length = 0.0;
    let is_inside = |stretch: &Stretch| area.inside[stretch.face as usize];
    let add = |stretch: Stretch| {
        let stays = is_inside(&stretch);
        length += if stays {
            stretch.from.distance(stretch.to)
        } else {
            0.0
        };
        (!stays).then_some(())
    };
    // It ends at the edge of the part or of the mould.
    _ = area.surface.straight(from, along, add);
    let mut left = length * OFF;
    let there = |stretch: Stretch| {
        let own = stretch.from.distance(stretch.to);
        let share = left / own;
        left -= own;
        (share <= 1.0).then(|| Spot {
            face: stretch.face,
            at: stretch.from.lerp(stretch.to, share),
        })
    };
    let found = area.surface.straight(from, along, there).ok();
    found.map(|(spot, _)| spot)
}
