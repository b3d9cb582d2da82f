//! Relief cuts: where the mould is saddled the cloth is too narrow further out. Cut along one line from the edge to a tip,
//! it opens there on the mould to a V.

use glam::{DVec2, DVec3, dvec2};

use super::lay::Task;
use super::net::{Net, NetNode};
use super::outline::EdgePlace;
use crate::mould::slit::GapLines;

/// A straight cut in the flat cloth, from its tip out through the edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct FlatCut {
    /// Along the warp and across it, from the start, mm.
    pub(super) tip: DVec2,
    /// Outward, as long as 1.
    pub(super) along: DVec2,
}

/// The flat cut is a V as narrow as a knife makes it: by this share of the way from its tip each lip is off the middle. An
/// outline that runs back on itself would be none.
const HALF_WIDTH: f64 = 0.002;

/// So near the tip (mm) the cloth is whole.
const AT_TIP_MM: f64 = 1e-6;

impl FlatCut {
    /// From a place on the cloth out along a way, the tip on a crossing of its yarns.
    pub(super) fn out(tip: DVec2, along: DVec2, spacing: f64) -> Option<Self> {
        let along = along.try_normalize()?;
        Some(Self { tip, along }.on_crossing(spacing))
    }

    /// The same with its tip on a crossing, the next towards the start.
    pub(super) fn on_crossing(self, spacing: f64) -> Self {
        /// A tip that is on one stays there.
        const ON: f64 = 1.0 + 1e-9;
        Self {
            tip: (self.tip / spacing * ON).trunc() * spacing,
            ..self
        }
    }

    /// How far (mm) a place on the flat cloth is from it.
    pub(super) fn off(&self, p: DVec2) -> f64 {
        let off = p - self.tip;
        match off.dot(self.along) > AT_TIP_MM {
            true => self.along.perp_dot(off).abs(),
            false => f64::INFINITY,
        }
    }

    /// Whether it lies between two places on the flat cloth.
    pub(super) fn crosses(&self, a: DVec2, b: DVec2) -> bool {
        let [ha, hb] = [a, b].map(|p| self.along.perp_dot(p - self.tip));
        let at = a.lerp(b, ha / (ha - hb)) - self.tip;
        (ha > 0.0) != (hb > 0.0) && at.dot(self.along) > AT_TIP_MM
    }

    /// What of a lip lies nearest to `p`; the lips to the right of the way out, 0, and to the left, 1.
    fn on_lip(&self, p: DVec2, lip: usize) -> DVec2 {
        let t = (p - self.tip).dot(self.along).max(0.0);
        self.tip + self.along * t + self.aside(lip) * (HALF_WIDTH * t)
    }

    /// Across it to the side of a lip.
    fn aside(&self, lip: usize) -> DVec2 {
        match lip {
            0 => -self.along.perp(),
            _ => self.along.perp(),
        }
    }
}

/// Less than this (mm) at the mouth is no gap.
const LEAST_GAP_MM: f64 = 0.5;

/// And so far apart are its lips near the tip at least, mm.
const APART_MM: f64 = 2e-3;

/// Crossings of a yarn by which it is carried on to the cut.
const CARRIED: usize = 3;

impl Task<'_> {
    /// Where the lips of `cut` come to lie on the mould with the cloth `net`; `None` where they do not come apart.
    pub(super) fn gap(&self, net: &Net, cut: &FlatCut) -> Option<GapLines> {
        let s = net.spacing;
        // Along the yarns that meet it less aslant.
        let by_row = cut.along.y.abs() >= cut.along.x.abs();
        let node = |across: i32, k: i32| match by_row {
            true => (across, k),
            false => (k, across),
        };
        let [own, other]: [fn(DVec2) -> f64; 2] = match by_row {
            true => [|p| p.y, |p| p.x],
            false => [|p| p.x, |p| p.y],
        };
        let (slope, sign) = (other(cut.along) / own(cut.along), own(cut.along).signum());
        let first = (own(cut.tip) / s * sign).floor() as i32 + 1;
        let tip = net.spot(nearest_node(cut.tip, s))?.at;
        let mut lips = [Vec::new(), Vec::new()];
        let mut across = DVec3::ZERO;
        for row in first.. {
            let k = row * sign as i32;
            let way = f64::from(k) * s - own(cut.tip);
            let meets = (other(cut.tip) + slope * way) / s;
            let half = HALF_WIDTH * way.abs() / own(cut.along).abs() / own(cut.along).abs() / s;
            let carried = [0, 1].map(|lip| {
                let side = other(cut.aside(lip)).signum();
                let on = Row { net, meets, side };
                on.carried(meets + side * half, |across| node(across, k))
            });
            let [Some(right), Some(left)] = carried else {
                break;
            };
            if across == DVec3::ZERO {
                // Between the crossings next to the cut, before it opens much.
                across = (left.1 - right.1).normalize_or_zero();
            }
            lips[0].push(right.0);
            lips[1].push(left.0);
        }
        let mouth = lips[1].last()?.distance(*lips[0].last()?);
        let [right, left] = &mut lips;
        let opens = |right: DVec3, left: DVec3| (left - right).dot(across);
        if mouth < LEAST_GAP_MM || opens(*right.last()?, *left.last()?) <= 0.0 {
            return None;
        }
        for (right, left) in right.iter_mut().zip(left) {
            if opens(*right, *left) < APART_MM {
                let middle = right.midpoint(*left);
                (*right, *left) = (
                    middle - across * (APART_MM / 2.0),
                    middle + across * (APART_MM / 2.0),
                );
            }
        }
        // Straight on past all that matters.
        for lip in &mut lips {
            let [.., before, last] = lip[..] else {
                return None;
            };
            lip.push(last + (last - before).try_normalize()? * (2.0 * self.beyond()));
        }
        Some(GapLines { tip, lips })
    }
}

/// A yarn that comes to a cut from one side.
struct Row<'n> {
    net: &'n Net,
    /// Where it meets the cut, in crossings.
    meets: f64,
    /// The side that it comes from, by the sign of what is counted along it.
    side: f64,
}

impl Row<'_> {
    /// Where it is at `to` (in crossings) as its crossings before the cut tell; and the last of these.
    fn carried(&self, to: f64, node: impl Fn(i32) -> NetNode) -> Option<(DVec3, DVec3)> {
        /// What is nearer (in crossings) to the cut is not laid.
        const NEAR: f64 = 0.1;
        let first = (self.meets * self.side + NEAR).ceil();
        let at: [f64; CARRIED] = std::array::from_fn(|k| self.side * (first + k as f64));
        let mut sum = DVec3::ZERO;
        let mut last = None;
        for (k, own) in at.iter().enumerate() {
            let others = at.iter().enumerate().filter(|(l, _)| *l != k);
            let weight: f64 = others
                .map(|(_, other)| (to - other) / (own - other))
                .product();
            let there = self.net.spot(node(*own as i32))?.at;
            sum += there * weight;
            last.get_or_insert(there);
        }
        Some((sum, last?))
    }
}

fn nearest_node(p: DVec2, spacing: f64) -> NetNode {
    let at = (p / spacing).round();
    (at.x as i32, at.y as i32)
}

/// Lays the lips of a cut, by the numbers of their places on `edge`, onto its lines on the flat cloth.
pub(super) fn straighten(edge: &mut [EdgePlace], lips: &[Vec<usize>; 2], cut: &FlatCut) {
    for (lip, places) in lips.iter().enumerate() {
        for &k in places {
            let flat = &mut edge[k].flat.at;
            *flat = cut.on_lip(*flat, lip);
        }
    }
}

/// Whether the mould between the start and a cell is saddled rather than domed: by how the shear grows both along warp and
/// weft, which no bending of the first yarns changes. In degrees; negative where it is saddled.
fn total_curvature(net: &Net, (i, j): NetNode) -> Option<f64> {
    let shear = |at: NetNode| Some(net.cell(net.cell_number(at)?).sheared.shear);
    let axis = |k: i32| if k < 0 { -1 } else { 0 };
    let grown =
        shear((i, j))? - shear((i, axis(j)))? - shear((axis(i), j))? + shear((axis(i), axis(j)))?;
    let sense = if (i < 0) == (j < 0) { 1.0 } else { -1.0 };
    Some(grown * sense)
}

/// Less total curvature than this (degrees) makes no saddle.
const SADDLED_DEG: f64 = -1.0;

/// Whether the mould between the start and a cell is saddled.
pub(super) fn is_saddled_at(net: &Net, cell: NetNode) -> bool {
    total_curvature(net, cell).is_some_and(|total| total < SADDLED_DEG)
}

/// The same for a place on the flat cloth.
pub(super) fn is_saddled(net: &Net, at: DVec2) -> bool {
    is_saddled_at(net, nearest_node(at, net.spacing))
}

/// Where a place of the mould lies on the flat cloth by the crossing next to it, mm.
pub(super) fn flat_near(net: &Net, at: DVec3) -> Option<DVec2> {
    let off = |k: &usize| net.spots[*k].at.distance_squared(at);
    let nearest = (0..net.spots.len()).min_by(|a, b| off(a).total_cmp(&off(b)))?;
    let (i, j) = net.crossings[nearest];
    Some(dvec2(f64::from(i), f64::from(j)) * net.spacing)
}
