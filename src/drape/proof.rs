//! A cloth on its part held against the mould by another way than the one that gave its flat outline.
//!
//! The outline comes of places on the mould that are sought in the cells of the net. Here nothing is sought: the area of
//! the triangles goes to the cell next to it and is divided by the cosine of its shear; yarns are walked along over the
//! triangles; a lip is added up from how each bit of its line lies to the yarns beside it.

use std::cell::OnceCell;

use glam::{DVec2, DVec3};

use super::Fibres;
use super::flat::{slope, unsheared};
use super::net::{Net, NetCell, NetNode, ShearedCell};
use super::outline::EdgePlace;
use super::quick::QuickMap;
use crate::geometry::trig;
use crate::mould::area::Area;
use crate::mould::surface::{Spot, Surface};

/// What the mould and the net say of a flat cloth.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct DrapeProof {
    /// Its area, mm²; `None` for a mat, which is stretched.
    pub(crate) flat_area: Option<f64>,
    /// By how much of their length yarns lie longer or shorter on the triangles than flat, at most.
    pub(crate) yarns_off: f64,
    /// The lengths of the lips of its darts on the flat cloth, mm.
    pub(crate) lips: Vec<[f64; 2]>,
    /// Whether the mould was scanned.
    is_scan: bool,
}

impl std::fmt::Display for Denied {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::Area(off) => write!(f, "its flat area is off by {:.2} %", 100.0 * off),
            Self::Yarns(off) => write!(f, "a yarn is off by {:.2} % of its length", 100.0 * off),
            Self::Lips(off) => write!(f, "a lip of a dart is off by {off:.2} mm"),
        }
    }
}

impl DrapeProof {
    /// The share by which areas and lengths may differ.
    const SHARE: f64 = 5e-4;
    /// And what is left of the noise of a scan adds to both.
    const SHARE_ON_SCAN: f64 = 5e-3;
    /// Lips may differ by so much (mm) in any case: no hand cuts finer.
    const LIP_MM: f64 = 0.1;

    /// What of a flat cloth with this area (mm²) and lips (mm) is not so, if anything.
    pub(crate) fn denies(&self, flat_area: f64, lips: &[[f64; 2]]) -> Option<Denied> {
        let most = match self.is_scan {
            true => Self::SHARE_ON_SCAN,
            false => Self::SHARE,
        };
        let off = |known: f64| (flat_area / known - 1.0).abs();
        if let Some(off) = self.flat_area.map(off).filter(|off| *off > most) {
            return Some(Denied::Area(off));
        }
        if self.yarns_off > most {
            return Some(Denied::Yarns(self.yarns_off));
        }
        if lips.len() != self.lips.len() {
            return Some(Denied::Lips(f64::INFINITY));
        }
        let pairs = lips.iter().flatten().zip(self.lips.iter().flatten());
        let off = |(told, known): (&f64, &f64)| {
            let off = (told - known).abs();
            (off > Self::LIP_MM.max(most * known)).then_some(Denied::Lips(off))
        };
        pairs.map(off).find_map(|denied| denied)
    }
}

/// What of a flat cloth its mould does not bear out.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum Denied {
    /// Its area, by this share.
    Area(f64),
    /// The length of a yarn, by this share.
    Yarns(f64),
    /// The length of the lip of a dart, by so many mm.
    Lips(f64),
}

/// Yarns that are walked along, of either kind.
const YARNS: usize = 24;

/// Shorter yarns (in cells) are not measured.
const SHORT: usize = 8;

/// The cells of a net by where they are.
struct Cells<'n> {
    net: &'n Net,
    surface: &'n Surface,
    by_slits: Vec<bool>,
    /// Made when the first place is looked for there.
    buckets: OnceCell<QuickMap<[i32; 3], Vec<u32>>>,
    /// Of each its middle, and across it to its side of the mould.
    middles: Vec<[DVec3; 2]>,
}

impl<'n> Cells<'n> {
    fn new(net: &'n Net, area: &'n Area) -> Self {
        let middle = |(_, corners): (ShearedCell, [Spot; 4])| {
            let [a, b, c, d] = corners.map(|spot| spot.at);
            [(a + b + c + d) / 4.0, (c - a).cross(d - b)]
        };
        Self {
            net,
            surface: &area.surface,
            by_slits: area.by_slits(4.0 * net.spacing),
            buckets: OnceCell::new(),
            middles: net.cells().map(middle).collect(),
        }
    }

    /// As [`Self::next_to`], from a cell near by over its neighbours as long as they are nearer.
    fn next_from(&self, first: u32, spot: Spot) -> Option<u32> {
        let off = |k: u32| self.middles[k as usize][0].distance_squared(spot.at);
        let (mut here, mut least) = (first, off(first));
        for _ in 0..MOST_STEPS {
            let (i, j) = self.net.cell(here).sheared.at;
            let before = here;
            for k in (0..9).filter(|&k| k != 4) {
                let next = self.net.cell_number((i + k / 3 - 1, j + k % 3 - 1));
                if let Some((own, next)) = next.map(|next| (off(next), next))
                    && own < least
                {
                    (here, least) = (next, own);
                }
            }
            if here == before {
                let is_on_side =
                    self.middles[here as usize][1].dot(self.surface.normal(spot.face)) > 0.0;
                let is_near = least <= (NEAR * self.net.spacing).powi(2);
                return (is_on_side && is_near).then_some(here);
            }
        }
        None
    }

    /// The cell whose middle is nearest to a place.
    fn nearest(&self, at: DVec3) -> Option<u32> {
        let off = |k: &u32| self.middles[*k as usize][0].distance_squared(at);
        (0..self.middles.len() as u32).min_by(|a, b| off(a).total_cmp(&off(b)))
    }

    fn is_by_slit(&self, face: u32) -> bool {
        self.by_slits.get(face as usize) == Some(&true)
    }

    fn buckets(&self) -> &QuickMap<[i32; 3], Vec<u32>> {
        self.buckets.get_or_init(|| {
            let mut buckets: QuickMap<[i32; 3], Vec<u32>> = QuickMap::default();
            for ([middle, _], k) in self.middles.iter().zip(0..) {
                let bucket = bucket(*middle, self.net.spacing);
                buckets.entry(bucket).or_default().push(k);
            }
            buckets
        })
    }

    /// The cell next to a place, on its side of the mould and of all cuts.
    fn next_to(&self, spot: Spot) -> Option<u32> {
        let by_slit = self.is_by_slit(spot.face);
        [1, 2, 4].into_iter().find_map(|reach| {
            let off = |k: &u32| self.middles[*k as usize][0].distance_squared(spot.at);
            let near = self.near(spot, reach);
            if !by_slit {
                return near.min_by(|a, b| off(a).total_cmp(&off(b)).then(a.cmp(b)));
            }
            let mut near: Vec<u32> = near.collect();
            near.sort_by(|a, b| off(a).total_cmp(&off(b)).then(a.cmp(b)));
            let seen = |k: &u32| self.surface.reaches(spot, self.middles[*k as usize][0]);
            near.into_iter().find(seen)
        })
    }

    /// The cells on its side of the mould in so many buckets around a place.
    fn near(&self, spot: Spot, reach: i32) -> impl Iterator<Item = u32> {
        let [x, y, z] = bucket(spot.at, self.net.spacing);
        let normal = self.surface.normal(spot.face);
        let around = -reach..=reach;
        let places = around.clone().flat_map(move |dx| {
            let around = around.clone();
            let column = around
                .clone()
                .flat_map(move |dy| around.clone().map(move |dz| (dy, dz)));
            column.map(move |(dy, dz)| [x + dx, y + dy, z + dz])
        });
        let buckets = self.buckets();
        let cells = places.filter_map(|place| buckets.get(&place)).flatten();
        let is_on_side = move |k: &u32| self.middles[*k as usize][1].dot(normal) > 0.0;
        cells.copied().filter(is_on_side)
    }

    /// The shear (radians) at a place beside cell `k`: its own, and on from its middle as both its neighbours tell.
    fn shear(&self, k: u32, at: DVec3) -> f64 {
        let NetCell { sheared, .. } = self.net.cell(k);
        let [a, b, c, d] = self.net.corners_at(k);
        let (i, j) = sheared.at;
        let of = |at: NetNode| {
            self.net
                .cell_number(at)
                .map(|k| self.net.cell(k).sheared.shear)
        };
        let own = sheared.shear;
        let slope = |before, after| slope(own, before, after);
        let off = along_yarns([a, b, c, d], at - (a + b + c + d) / 4.0);
        let shear = own
            + slope(of((i - 1, j)), of((i + 1, j))) * off.x
            + slope(of((i, j - 1)), of((i, j + 1))) * off.y;
        shear.to_radians()
    }
}

/// `off` in sides of a cell, along its warp and weft.
fn along_yarns([a, b, c, d]: [DVec3; 4], off: DVec3) -> DVec2 {
    let (warp, weft) = ((b - a + c - d) / 2.0, (d - a + c - b) / 2.0);
    let (xx, xy, yy) = (warp.dot(warp), warp.dot(weft), weft.dot(weft));
    let (x, y) = (off.dot(warp), off.dot(weft));
    let det = (xx * yy - xy * xy).max(f64::MIN_POSITIVE);
    DVec2::new((x * yy - y * xy) / det, (y * xx - x * xy) / det)
}

impl DrapeProof {
    pub(super) fn of(net: &Net, area: &Area, fibres: Fibres, lips: &[[Vec<EdgePlace>; 2]]) -> Self {
        let cells = Cells::new(net, area);
        Self {
            flat_area: match fibres {
                Fibres::Crossed => Some(sheared_area(&cells, area)),
                Fibres::Parallel => Some(area.on_mould()),
                Fibres::Loose => None,
            },
            yarns_off: match fibres {
                // Of fibres all one way the lines across them are none.
                Fibres::Parallel => yarns_off(net, area, &[0]),
                Fibres::Crossed => yarns_off(net, area, &[0, 1]),
                Fibres::Loose => 0.0,
            },
            lips: lips
                .iter()
                .map(|[inward, outward]| {
                    // A side belongs to the place that it goes on from, round the edge.
                    let in_turn: Vec<EdgePlace> = outward.iter().rev().copied().collect();
                    [lip_length(&cells, inward), lip_length(&cells, &in_turn)]
                })
                .collect(),
            is_scan: area.smoothed.is_some(),
        }
    }
}

/// Steps from a cell to the one next to a place, at most; and how far (in cells) that may be.
const MOST_STEPS: u32 = 64;
const NEAR: f64 = 2.5;

/// Larger bits of the area (in sides of a cell) are divided before they go to a cell.
const LARGEST_BIT: f64 = 3.0;

/// The area of the part, each bit of it divided by the cosine of the shear there.
fn sheared_area(cells: &Cells<'_>, area: &Area) -> f64 {
    // Of each cell the area next to it, and that times its place.
    let n = cells.net.corners_of_cells().count();
    let mut shares = vec![(0.0, DVec3::ZERO); n];
    let open = area.over_openings();
    let is_laid =
        |face: &u32| area.inside[*face as usize] && open.get(*face as usize) != Some(&true);
    // Of each triangle a cell near it: where its neighbours begin.
    let mut near: Vec<Option<u32>> = vec![None; area.inside.len()];
    let mut last = (0..area.surface.n_faces())
        .find(is_laid)
        .and_then(|face| cells.nearest(area.surface.middle(face)));
    for face in (0..area.surface.n_faces()).filter(is_laid) {
        let beside = area.surface.across(face).into_iter();
        let mut beside = beside.filter_map(|next| *near.get(next as usize)?);
        let mut first = beside.next_back().or(last);
        let mut bits = vec![area.surface.corners(face)];
        while let Some([a, b, c]) = bits.pop() {
            let longest = a.distance(b).max(b.distance(c)).max(c.distance(a));
            if longest > LARGEST_BIT * cells.net.spacing {
                let [ab, bc, ca] = [(a + b) / 2.0, (b + c) / 2.0, (c + a) / 2.0];
                bits.extend([[a, ab, ca], [ab, b, bc], [ca, bc, c], [ab, bc, ca]]);
                continue;
            }
            let own = (b - a).cross(c - a).length() / 2.0;
            let at = (a + b + c) / 3.0;
            let spot = Spot { face, at };
            let walked = first
                .filter(|_| !cells.is_by_slit(face))
                .and_then(|first| cells.next_from(first, spot));
            if let Some(k) = walked.or_else(|| cells.next_to(spot)) {
                first = Some(k);
                let (sum, placed) = &mut shares[k as usize];
                *sum += own;
                *placed += at * own;
            }
        }
        near[face as usize] = first;
        last = first;
    }
    let shares = shares
        .into_iter()
        .zip(0..)
        .filter(|((own, _), _)| *own > 0.0);
    let flat = shares
        .map(|((own, placed), k)| own / trig::sin_cos_radians(cells.shear(k, placed / own)).1);
    flat.sum()
}

/// The largest share by which a yarn's way over the triangles differs from its flat length.
fn yarns_off(net: &Net, area: &Area, kinds: &[u8]) -> f64 {
    let mut most = 0.0_f64;
    for &along in kinds {
        let of = |at: &NetNode| {
            if along == 0 {
                (at.1, at.0)
            } else {
                (at.0, at.1)
            }
        };
        let chosen = chosen_yarns(net.crossings.iter().map(|at| of(at).0));
        let all = net.crossings.iter().zip(0..).map(|(at, k)| (of(at), k));
        let is_chosen = |((yarn, _), _): &((i32, i32), u32)| chosen.binary_search(yarn).is_ok();
        let mut all: Vec<((i32, i32), u32)> = all.filter(is_chosen).collect();
        all.sort_unstable();
        let runs = all
            .chunk_by(|((yarn, k), _), ((next, l), _)| yarn == next && k + 1 == *l)
            .filter(|run| run.len() > SHORT);
        for run in runs {
            let (mut flat, mut walked) = (0.0, 0.0);
            for pair in run.windows(2) {
                let [a, b] = [pair[0].1, pair[1].1].map(|k| k as usize);
                let (from, to) = (net.spots[a], net.spots[b]);
                let inside = |spot: Spot| area.inside[spot.face as usize];
                if inside(from)
                    && inside(to)
                    && let Some(way) = area.surface.way(from, to.at)
                {
                    walked += way;
                    flat += net.flat[a].distance(net.flat[b]);
                }
            }
            if flat > SHORT as f64 * net.spacing {
                most = most.max((walked / flat - 1.0).abs());
            }
        }
    }
    most
}

/// The numbers of about [`YARNS`] yarns in rising order, of those that are not short, from those of all crossings.
fn chosen_yarns(of_crossings: impl Iterator<Item = i32> + Clone) -> Vec<i32> {
    let first = of_crossings.clone().min().unwrap_or(0);
    let last = of_crossings.clone().max().unwrap_or(first);
    let mut lengths = vec![0; (last - first) as usize + 1];
    of_crossings.for_each(|yarn| lengths[(yarn - first) as usize] += 1);
    let long = (first..).zip(lengths).filter(|(_, n)| *n > SHORT);
    let long: Vec<i32> = long.map(|(yarn, _)| yarn).collect();
    long.iter()
        .copied()
        .step_by(long.len() / YARNS + 1)
        .collect()
}

/// The length of a lip on the flat cloth, mm.
fn lip_length(cells: &Cells<'_>, lip: &[EdgePlace]) -> f64 {
    let bits = lip.windows(2).filter_map(|pair| {
        let (from, to) = (pair[0].at, pair[1].at);
        let face = pair[0].face;
        let middle = (from + to) / 2.0;
        let inward = middle.lerp(cells.surface.middle(face), 1e-3);
        let k = cells.next_to(Spot { face, at: inward })?;
        let corners = cells.net.corners_at(k);
        let sheared = cells.shear(k, middle);
        Some(unsheared(corners, sheared, to - from).length())
    });
    bits.sum()
}

fn bucket(p: DVec3, size: f64) -> [i32; 3] {
    (p / size).floor().to_array().map(|v| v as i32)
}
