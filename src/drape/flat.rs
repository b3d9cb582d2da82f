//! From places on the mould to places on the flat cloth.

use std::collections::HashMap;

use glam::{DVec2, DVec3, dvec2};

use super::net::{Net, NetNode, ShearedCell};
use crate::mould::surface::{Spot, Surface};

/// The cells of a net by where they lie, so that the one around a place is found.
pub(super) struct Flattening<'n> {
    net: &'n Net,
    surface: &'n Surface,
    buckets: HashMap<[i32; 3], Vec<NetNode>>,
    shear: HashMap<NetNode, f64>,
}

/// A place on the flat cloth.
#[derive(Clone, Copy, Debug)]
pub(super) struct FlatPlace {
    /// Along the warp and across it, from the start, mm.
    pub(super) at: DVec2,
    /// How far beyond its cell it lies, in its size; 0 within one.
    pub(super) beyond: f64,
    pub(super) cell: NetNode,
}

/// Steps of the search for a place in a cell.
const STEPS: usize = 8;

/// How far beyond the last cell its straight continuation is trusted, in its size.
const REACH: f64 = 3.0;

impl<'n> Flattening<'n> {
    pub(super) fn new(net: &'n Net, surface: &'n Surface) -> Self {
        let mut buckets: HashMap<[i32; 3], Vec<NetNode>> = HashMap::new();
        let mut shear = HashMap::new();
        for (ShearedCell { at, shear: own }, corners) in net.cells() {
            let middle = corners.iter().map(|c| c.at).sum::<DVec3>() / 4.0;
            let bucket = bucket(middle, net.spacing);
            buckets.entry(bucket).or_default().push(at);
            shear.insert(at, own);
        }
        Self {
            net,
            surface,
            buckets,
            shear,
        }
    }

    /// Where `spot` lies on the flat cloth; a little beyond the net as its last cell goes on.
    pub(super) fn place(&self, spot: Spot) -> Option<FlatPlace> {
        let normal = self.surface.normal(spot.face);
        (1..=REACH as i32 + 1).find_map(|reach| self.near(spot.at, normal, reach))
    }

    fn near(&self, p: DVec3, normal: DVec3, reach: i32) -> Option<FlatPlace> {
        let [x, y, z] = bucket(p, self.net.spacing);
        let mut best: Option<FlatPlace> = None;
        for dx in -reach..=reach {
            for dy in -reach..=reach {
                for dz in -reach..=reach {
                    let here = self.buckets.get(&[x + dx, y + dy, z + dz]);
                    for &cell in here.into_iter().flatten() {
                        let Some(found) = self.in_cell(cell, p, normal) else {
                            continue;
                        };
                        let rank = |place: &FlatPlace| (place.beyond, place.cell);
                        if best.is_none_or(|best| rank(&found) < rank(&best)) {
                            best = Some(found);
                        }
                    }
                }
            }
        }
        best
    }

    fn in_cell(&self, cell: NetNode, p: DVec3, normal: DVec3) -> Option<FlatPlace> {
        let [a, b, c, d] = self.net.corners(cell)?.map(|spot| spot.at);
        let (along, across) = ((b - a + c - d) / 2.0, (d - a + c - b) / 2.0);
        // The other side of a thin mould is near, too.
        if along.cross(across).dot(normal) <= 0.0 {
            return None;
        }
        let place = |x: f64, y: f64| {
            a * ((1.0 - x) * (1.0 - y)) + b * (x * (1.0 - y)) + c * (x * y) + d * ((1.0 - x) * y)
        };
        let (mut x, mut y) = (0.5, 0.5);
        for _ in 0..STEPS {
            let off = p - place(x, y);
            let dx = (b - a) * (1.0 - y) + (c - d) * y;
            let dy = (d - a) * (1.0 - x) + (c - b) * x;
            let (xx, xy, yy) = (dx.dot(dx), dx.dot(dy), dy.dot(dy));
            let (fx, fy) = (off.dot(dx), off.dot(dy));
            let det = xx * yy - xy * xy;
            if det <= 0.0 {
                return None;
            }
            x += (fx * yy - fy * xy) / det;
            y += (fy * xx - fx * xy) / det;
        }
        let out = |t: f64| (-t).max(t - 1.0).max(0.0);
        let beyond = out(x).max(out(y));
        let s = self.net.spacing;
        let is_near = (p - place(x, y)).length() <= s && beyond <= REACH;
        is_near.then(|| FlatPlace {
            at: dvec2((f64::from(cell.0) + x) * s, (f64::from(cell.1) + y) * s),
            beyond,
            cell,
        })
    }

    /// The shear at a place, degrees: that of its cell, and on from the middle of the cell as its neighbours
    /// tell; steps between cells, as at a fold, are not carried on.
    pub(super) fn shear(&self, place: &FlatPlace) -> f64 {
        let (i, j) = place.cell;
        let of = |di: i32, dj: i32| self.shear.get(&(i + di, j + dj)).copied();
        let own = of(0, 0).unwrap_or(0.0);
        let slope = |before: Option<f64>, after: Option<f64>| match (before, after) {
            (Some(b), Some(a)) if (own - b) * (a - own) > 0.0 => {
                let (x, y) = (own - b, a - own);
                if x.abs() < y.abs() { x } else { y }
            }
            (Some(_), Some(_)) | (None, None) => 0.0,
            (Some(b), None) => own - b,
            (None, Some(a)) => a - own,
        };
        let at = place.at / self.net.spacing - dvec2(f64::from(i) + 0.5, f64::from(j) + 0.5);
        let at = at.clamp(DVec2::splat(-1.0), DVec2::splat(1.0));
        let carried = own + slope(of(-1, 0), of(1, 0)) * at.x + slope(of(0, -1), of(0, 1)) * at.y;
        let around: Option<Vec<f64>> = (0..9).map(|k| of(k / 3 - 1, k % 3 - 1)).collect();
        // Between its neighbours, where there are all of them.
        around.map_or(carried, |around| {
            let least = around.iter().copied().fold(f64::INFINITY, f64::min);
            let most = around.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            carried.clamp(least, most)
        })
    }
}

fn bucket(p: DVec3, size: f64) -> [i32; 3] {
    (p / size).floor().to_array().map(|v| v as i32)
}
