//! From places on the mould to places on the flat cloth.

use glam::{DVec2, DVec3, dvec2};

use super::net::{Net, NetCell, NetNode};
use super::quick::{QuickMap, QuickSet};
use crate::geometry::trig;
use crate::mould::area::Area;
use crate::mould::surface::{Spot, Surface};

/// The cells of a net by where they lie, so that the one around a place is found.
pub(super) struct Flattening<'n> {
    net: &'n Net,
    surface: &'n Surface,
    /// Of each triangle, whether a cell near it may lie beyond a cut; empty where there is none.
    by_slits: Vec<bool>,
    /// By place, the numbers of the cells there.
    buckets: QuickMap<[i32; 3], Vec<u32>>,
}

/// A place on the flat cloth.
#[derive(Clone, Copy, Debug)]
pub(super) struct FlatPlace {
    /// Along the warp and across it, from the start, mm.
    pub(super) at: DVec2,
    /// Where in its cell, in its size.
    in_cell: DVec2,
    /// How far beyond its cell it lies, in its size; 0 within one.
    pub(super) beyond: f64,
    pub(super) cell: NetNode,
}

/// How far inward (as a share of the way to the middle of its triangle) a place is looked from past cuts.
const OFF_CUT: f64 = 1e-3;

/// Steps of the search for a place in a cell.
const STEPS: usize = 8;

/// How far beyond the last cell its straight continuation is trusted, in its size.
const REACH: f64 = 3.0;

impl<'n> Flattening<'n> {
    /// For places by the edges of the part and beyond it: what lies further in is never looked for.
    pub(super) fn new(net: &'n Net, area: &'n Area) -> Self {
        let mut buckets: QuickMap<[i32; 3], Vec<u32>> = QuickMap::default();
        let by_edges = near_edges(area, (REACH + 3.0) * net.spacing);
        for ((_, corners), k) in net.cells().zip(0..) {
            let middle = middle(corners);
            let is_inside = |spot: &Spot| area.inside[spot.face as usize];
            if !corners.iter().all(is_inside) || by_edges(middle) {
                let bucket = bucket(middle, net.spacing);
                buckets.entry(bucket).or_default().push(k);
            }
        }
        Self {
            net,
            surface: &area.surface,
            by_slits: area.by_slits((REACH + 1.0) * net.spacing),
            buckets,
        }
    }

    /// Where `spot` lies on the flat cloth; a little beyond the net as its last cell goes on.
    pub(super) fn place(&self, spot: Spot) -> Option<FlatPlace> {
        let normal = self.surface.normal(spot.face);
        (1..=REACH as i32 + 1).find_map(|reach| self.near(spot, normal, reach))
    }

    /// From one place to another near it, both of triangle `face`, on the flat cloth: by how the line between them lies
    /// to the yarns there.
    pub(super) fn step(&self, face: u32, from: DVec3, to: DVec3) -> Option<DVec2> {
        let middle = (from + to) / 2.0;
        let at = middle.lerp(self.surface.middle(face), OFF_CUT);
        let place = self.place(Spot { face, at })?;
        let shear = self.shear(&place).to_radians();
        let corners = self.net.corners_at(self.net.cell_number(place.cell)?);
        Some(unsheared(corners, shear, to - from))
    }

    fn near(&self, spot: Spot, normal: DVec3, reach: i32) -> Option<FlatPlace> {
        let [x, y, z] = bucket(spot.at, self.net.spacing);
        let by_slit = self.by_slits.get(spot.face as usize) == Some(&true);
        let mut found: Vec<(FlatPlace, DVec3)> = Vec::new();
        for dx in -reach..=reach {
            for dy in -reach..=reach {
                for dz in -reach..=reach {
                    let here = self.buckets.get(&[x + dx, y + dy, z + dz]);
                    for &k in here.into_iter().flatten() {
                        found.extend(self.in_cell(k, spot.at, normal));
                    }
                }
            }
        }
        found.sort_by(|(a, _), (b, _)| (a.beyond.total_cmp(&b.beyond)).then(a.cell.cmp(&b.cell)));
        // Off the cut that it may lie on.
        let from = Spot {
            at: spot.at.lerp(self.surface.middle(spot.face), OFF_CUT),
            ..spot
        };
        let seen = |middle: DVec3| !by_slit || self.surface.reaches(from, middle);
        let mut found = found.into_iter();
        let (mut nearest, _) = found.find(|(_, middle)| seen(*middle))?;
        if by_slit && nearest.beyond > 0.0 {
            // Beyond the last cells: the mean of what all of them tell, so that a lip is one smooth line.
            let reach = 2.0 * nearest.beyond;
            let (mut sum, mut weight) = (nearest.at, 1.0);
            let near = found.take_while(|(place, _)| place.beyond < reach);
            for (place, _) in near.filter(|(_, middle)| seen(*middle)) {
                let own = (reach - place.beyond) / nearest.beyond;
                sum += place.at * own;
                weight += own;
            }
            nearest.at = sum / weight;
        }
        Some(nearest)
    }

    /// Where a place lies by the cell of number `k`; and the middle of that.
    fn in_cell(&self, k: u32, p: DVec3, normal: DVec3) -> Option<(FlatPlace, DVec3)> {
        let NetCell { sheared, corners } = self.net.cell(k);
        let cell = sheared.at;
        let spots = corners.map(|k| self.net.spots[k as usize]);
        let [a, b, c, d] = spots.map(|spot| spot.at);
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
        let [e, f, g, h] = corners.map(|k| self.net.flat[k as usize]);
        let at =
            e * ((1.0 - x) * (1.0 - y)) + f * (x * (1.0 - y)) + g * (x * y) + h * ((1.0 - x) * y);
        let in_cell = dvec2(x, y);
        let place = FlatPlace {
            at,
            in_cell,
            beyond,
            cell,
        };
        is_near.then(|| (place, middle(spots)))
    }

    /// The shear at a place, degrees: that of its cell, and on from the middle of the cell as its neighbours
    /// tell; steps between cells, as at a fold, are not carried on.
    pub(super) fn shear(&self, place: &FlatPlace) -> f64 {
        let (i, j) = place.cell;
        let of = |di: i32, dj: i32| {
            let k = self.net.cell_number((i + di, j + dj))?;
            Some(self.net.cell(k).sheared.shear)
        };
        let own = of(0, 0).unwrap_or(0.0);
        let slope = |before, after| slope(own, before, after);
        let at = place.in_cell - DVec2::splat(0.5);
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

/// What `along` is on the flat cloth, where a cell with these corners is sheared by so much (radians): its yarns turn
/// about their bisectors to that shear, and from there to square.
pub(super) fn unsheared([a, b, c, d]: [DVec3; 4], shear: f64, along: DVec3) -> DVec2 {
    let warp = (b - a + c - d).normalize_or_zero();
    let weft = (d - a + c - b).normalize_or_zero();
    let long = along.dot((warp + weft).normalize_or_zero());
    let wide = along.dot((warp - weft).normalize_or_zero());
    let (sin, cos) = trig::sin_cos_radians((std::f64::consts::FRAC_PI_2 - shear) / 2.0);
    dvec2(long / cos + wide / sin, long / cos - wide / sin) / 2.0
}

/// Blocks along the edges of a part that are noted, about.
const MOST_BLOCKS: f64 = 1e6;

/// Whether a place may lie within `by` mm of the edges of the part.
fn near_edges(area: &Area, by: f64) -> impl Fn(DVec3) -> bool {
    let mut blocks: QuickSet<[i32; 3]> = QuickSet::default();
    let sides = || area.edges.iter().flatten();
    let length: f64 = sides().map(|side| side.from.distance(side.to)).sum();
    // Slivers have more edge than can be followed: then every place counts.
    let is_endless = length > MOST_BLOCKS * by;
    for side in sides().filter(|_| !is_endless) {
        let n = (3.0 * side.from.distance(side.to) / by).ceil().max(1.0) as u32;
        for k in 0..=n {
            let at = side.from.lerp(side.to, f64::from(k) / f64::from(n));
            blocks.insert(bucket(at, by));
        }
    }
    let own: Vec<[i32; 3]> = blocks.iter().copied().collect();
    for [x, y, z] in own {
        for k in 0..27 {
            blocks.insert([x + k % 3 - 1, y + k / 3 % 3 - 1, z + k / 9 - 1]);
        }
    }
    move |at| is_endless || blocks.contains(&bucket(at, by))
}

fn middle(corners: [Spot; 4]) -> DVec3 {
    corners.iter().map(|c| c.at).sum::<DVec3>() / 4.0
}

fn bucket(p: DVec3, size: f64) -> [i32; 3] {
    (p / size).floor().to_array().map(|v| v as i32)
}

/// How a value goes on from cell to cell, told by `own` and by those before and after; a step is no slope.
pub(super) fn slope(own: f64, before: Option<f64>, after: Option<f64>) -> f64 {
    match (before, after) {
        (Some(b), Some(a)) if (own - b) * (a - own) > 0.0 => {
            let (x, y) = (own - b, a - own);
            if x.abs() < y.abs() { x } else { y }
        }
        (Some(_), Some(_)) | (None, None) => 0.0,
        (Some(b), None) => own - b,
        (None, Some(a)) => a - own,
    }
}
