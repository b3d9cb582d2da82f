//! A net as it lies on the mould, as much of it as a picture shows.

use std::collections::BTreeMap;

use glam::DVec3;

use super::net::{Net, NetNode};
use crate::mould::surface::Spot;

/// Most crossings that are kept.
const MOST: f64 = 40_000.0;

/// A net on a mould: every crossing, or one in several.
#[derive(Clone, Debug)]
pub(crate) struct LaidNet {
    /// From crossing to crossing, in those of the net.
    stride: i32,
    /// Between crossings of the net, mm.
    spacing: f64,
    nodes: BTreeMap<NetNode, LaidNode>,
}

/// A crossing of yarns.
#[derive(Clone, Copy, Debug)]
pub(crate) struct LaidNode {
    /// Where, mm.
    pub(crate) at: DVec3,
    /// The shear around it, degrees, without sign.
    pub(crate) shear: f64,
    /// Whether it lies on the part, not beyond its edge.
    is_inside: bool,
}

impl LaidNet {
    /// `inside` tells of each triangle whether it belongs to the part.
    pub(super) fn of(net: &Net, inside: &[bool]) -> Self {
        let stride = (net.spots.len() as f64 / MOST).sqrt().ceil().max(1.0) as i32;
        let mut shears = vec![(0.0, 0_u32); net.spots.len()];
        for ((cell, _), corners) in net.cells().zip(net.corners_of_cells()) {
            for corner in corners {
                let (sum, n) = &mut shears[corner as usize];
                *sum += cell.shear;
                *n += 1;
            }
        }
        let is_kept = |at: &NetNode| at.0 % stride == 0 && at.1 % stride == 0;
        let kept = net.crossings.iter().zip(&net.spots).zip(shears);
        let kept = kept.filter(|((at, _), (_, n))| is_kept(at) && *n > 0);
        let node = |((&at, spot), (sum, n)): ((&NetNode, &Spot), (f64, u32))| {
            let shear = (sum / f64::from(n)).abs();
            let is_inside = inside[spot.face as usize];
            let node = LaidNode {
                at: spot.at,
                shear,
                is_inside,
            };
            (at, node)
        };
        Self {
            stride,
            spacing: net.spacing,
            nodes: kept.map(node).collect(),
        }
    }

    /// The cells between crossings that are kept.
    pub(crate) fn cells(&self) -> impl Iterator<Item = [LaidNode; 4]> + '_ {
        let s = self.stride;
        self.nodes.iter().filter_map(move |(&(i, j), &first)| {
            let at = |i, j| self.nodes.get(&(i, j)).copied();
            Some([first, at(i + s, j)?, at(i + s, j + s)?, at(i, j + s)?])
        })
    }

    /// The directions of warp and weft at the crossing next to `p`, each as long as 1.
    pub(super) fn yarns_at(&self, p: DVec3) -> Option<[DVec3; 2]> {
        let off = |node: &LaidNode| node.at.distance_squared(p);
        let nearest = self
            .nodes
            .iter()
            .min_by(|a, b| off(a.1).total_cmp(&off(b.1)));
        self.yarns_of(*nearest?.0)
    }

    /// The same at the start.
    pub(super) fn yarns_at_start(&self) -> Option<[DVec3; 2]> {
        self.yarns_of((0, 0))
    }

    fn yarns_of(&self, (i, j): NetNode) -> Option<[DVec3; 2]> {
        let s = self.stride;
        let here = self.nodes.get(&(i, j))?.at;
        let at = |i, j| self.nodes.get(&(i, j)).map_or(here, |node| node.at);
        let warp = at(i + s, j) - at(i - s, j);
        let weft = at(i, j + s) - at(i, j - s);
        Some([warp.try_normalize()?, weft.try_normalize()?])
    }

    /// `told`, and further crossings on the part up to `n`, each as far as can be from those before.
    pub(super) fn spread(&self, told: &[DVec3], n: usize) -> Vec<DVec3> {
        let inside = self.nodes.values().filter(|node| node.is_inside);
        let mut left: Vec<(f64, DVec3)> = inside.map(|node| (f64::INFINITY, node.at)).collect();
        let mut all: Vec<DVec3> = Vec::new();
        for k in 0..n {
            let next = match told.get(k) {
                Some(&told) => Some(told),
                None => left
                    .iter()
                    .max_by(|a, b| a.0.total_cmp(&b.0))
                    .map(|&(_, at)| at),
            };
            let Some(next) = next else { break };
            for (off, at) in &mut left {
                *off = off.min(at.distance_squared(next));
            }
            if !all.contains(&next) {
                all.push(next);
            }
        }
        all
    }

    /// The largest shear on the part, degrees, where warp and weft are counted up from the start, warp up and weft down, warp
    /// down and weft up, both down.
    pub(super) fn most_by_field(&self) -> [Option<f64>; 4] {
        let mut most = [None; 4];
        for (&(i, j), node) in self.nodes.iter().filter(|(_, node)| node.is_inside) {
            if i != 0 && j != 0 {
                let field = &mut most[2 * usize::from(i < 0) + usize::from(j < 0)];
                *field = Some(field.map_or(node.shear, |most: f64| most.max(node.shear)));
            }
        }
        most
    }

    /// Yarns about so far apart (mm) along warp and weft, each as far as it runs; and how far apart they are.
    pub(crate) fn yarns(&self, apart: f64) -> (Vec<Vec<DVec3>>, f64) {
        let own = f64::from(self.stride) * self.spacing;
        let every = self.stride * (apart / own).round().max(1.0) as i32;
        let mut warps: BTreeMap<i32, Vec<(i32, DVec3)>> = BTreeMap::new();
        let mut wefts = warps.clone();
        for (&(i, j), node) in &self.nodes {
            if j % every == 0 && j != 0 {
                warps.entry(j).or_default().push((i, node.at));
            }
            if i % every == 0 && i != 0 {
                wefts.entry(i).or_default().push((j, node.at));
            }
        }
        let all = warps.into_values().chain(wefts.into_values());
        let lines = all.flat_map(|line| self.runs(&line)).collect();
        (lines, f64::from(every) * self.spacing)
    }

    /// The first warp yarn and the first weft yarn.
    pub(crate) fn first_yarns(&self) -> [Vec<Vec<DVec3>>; 2] {
        let along = |of: fn(NetNode) -> (i32, i32)| {
            let on = self.nodes.iter().map(|(&at, node)| (of(at), node.at));
            let on = on.filter(|((_, across), _)| *across == 0);
            let mut line: Vec<(i32, DVec3)> = on.map(|((along, _), p)| (along, p)).collect();
            line.sort_by_key(|(along, _)| *along);
            self.runs(&line)
        };
        [along(|at| at), along(|(i, j)| (j, i))]
    }

    /// A line of crossings, parted where one is missing.
    fn runs(&self, line: &[(i32, DVec3)]) -> Vec<Vec<DVec3>> {
        let parts = line.chunk_by(|a, b| b.0 - a.0 == self.stride);
        let points = parts.map(|part| part.iter().map(|(_, p)| *p).collect::<Vec<_>>());
        points.filter(|points| points.len() > 1).collect()
    }
}
