//! One cloth, one direction: laid on the part as it is, or as it is cut.

use glam::DVec3;

use super::dart::{Locks, lips, part_at_tips};
use super::flat::Flattening;
use super::net::{FirstYarns, Ground, Net, NetStart, Rules, YarnTurns};
use super::outline::{self, EdgePlace, NoOutline};
use super::relief::FlatCut;
use super::{
    BEYOND, Fibres, LIMIT_DEG, LayChoice, Shear, Smoothing, TrimChoice, even, loose, parallels,
};
use crate::geometry::{Outline, Point, Ring, trig};
use crate::mould::area::Area;
use crate::mould::surface::Spot;

/// What is laid and how, on the part however it is cut.
#[derive(Clone, Copy)]
pub(super) struct Task<'a> {
    pub(super) lay: &'a LayChoice,
    pub(super) start: DVec3,
    /// The part's 0° there.
    pub(super) zero: DVec3,
    pub(super) angle_deg: f64,
    pub(super) spacing: f64,
    pub(super) lines: FirstYarns,
    /// As of [`Rules`].
    pub(super) over_bends: bool,
    pub(super) fibres: Fibres,
    /// How far it is to reach beyond the part.
    pub(super) trims: &'a [TrimChoice],
    /// Where the flat cloth is cut so that it opens on the mould.
    pub(super) cuts: &'a [FlatCut],
}

/// Crossings of a net on which the turns of the first yarns are found well enough to begin with.
const COARSE_CROSSINGS: f64 = 10_000.0;

/// A cloth on a part with its edges on the flat cloth.
#[derive(Clone)]
pub(super) struct LaidCloth {
    pub(super) net: Net,
    pub(super) edges: Result<Vec<Vec<EdgePlace>>, NoOutline>,
    /// The largest shear by its sense, as of [`Locks`].
    pub(super) shear: [Shear; 2],
    /// As of its area.
    pub(super) tips: Vec<(u32, DVec3)>,
}

impl Task<'_> {
    pub(super) const fn smoothing(&self) -> Smoothing {
        self.lay.smoothing
    }

    /// How far beyond the part the mould matters, mm.
    pub(super) fn beyond(&self) -> f64 {
        self.on_beyond() + 2.0 * self.spacing
    }

    /// How far the net goes on there, mm.
    fn on_beyond(&self) -> f64 {
        let trim = self.trims.iter().map(|trim| trim.by).fold(0.0, f64::max);
        BEYOND * self.spacing + trim
    }

    /// Lays it in one way; `None` where there is no start.
    pub(super) fn lay(&self, area: &Area, smoothing: Smoothing) -> Option<LaidCloth> {
        self.lay_as(area, &[smoothing])?.pop()
    }

    /// Lays it straight, and evened too.
    pub(super) fn lay_both(&self, area: &Area) -> Option<[LaidCloth; 2]> {
        let all = self.lay_as(area, &[Smoothing::Straight, Smoothing::Evenly])?;
        all.try_into().ok()
    }

    fn lay_as(&self, area: &Area, ways: &[Smoothing]) -> Option<Vec<LaidCloth>> {
        let spot = area
            .surface
            .nearest(self.start, |face| area.inside[face as usize])?;
        let zero = area.surface.in_plane(spot.face, self.zero)?;
        let (sin, cos) = trig::sin_cos_radians(self.angle_deg.to_radians());
        let warp = zero * cos + area.surface.normal(spot.face).cross(zero) * sin;
        let start = NetStart { spot, warp };
        let rules = Rules {
            spacing: self.spacing,
            limit: LIMIT_DEG,
            lines: self.lines,
            over_bends: self.over_bends,
        };
        let ground = Ground {
            surface: &area.surface,
            inside: &area.inside,
            laid: &area.grown(self.on_beyond()),
            by_slits: &area.by_slits(2.0 * self.spacing),
            slits: &area.slit_lines(),
            cuts: self.cuts,
        };
        let straight = match self.fibres {
            Fibres::Crossed | Fibres::Loose => {
                Net::lay(&ground, start, &rules, &YarnTurns::default())
            }
            Fibres::Parallel => parallels::laid(&ground, start, &rules),
        };
        let times = (straight.spots.len() as f64 / COARSE_CROSSINGS)
            .sqrt()
            .floor();
        let coarse = Rules {
            spacing: times * self.spacing,
            ..rules
        };
        let by_slits = area.by_slits(2.0 * coarse.spacing);
        let coarse_ground = Ground {
            by_slits: &by_slits,
            ..ground
        };
        let evened = || {
            let coarse = (times > 1.0).then_some((coarse_ground, coarse));
            even::evened(&ground, &straight, start, &rules, coarse)
        };
        if self.fibres == Fibres::Loose {
            let net = loose::relaxed(&evened().unwrap_or(straight));
            return Some(vec![LaidCloth::new(net, area, self.cuts); ways.len()]);
        }
        let is_evened = self.fibres == Fibres::Crossed && ways.contains(&Smoothing::Evenly);
        let evened = is_evened.then(evened).flatten();
        let is_straight = ways.contains(&Smoothing::Straight) || evened.is_none();
        let straight = is_straight.then(|| LaidCloth::new(straight, area, self.cuts));
        let evened = evened.map(|net| LaidCloth::new(net, area, self.cuts));
        let way = |way: &Smoothing| match way {
            Smoothing::Straight => straight.clone(),
            Smoothing::Evenly => evened.as_ref().or(straight.as_ref()).cloned(),
        };
        ways.iter().map(way).collect()
    }
}

impl LaidCloth {
    fn new(net: Net, area: &Area, cuts: &[FlatCut]) -> Self {
        let flattening = Flattening::new(&net, area);
        let of = |edge: &Vec<_>| outline::flat_edge(area, edge, &flattening, net.spacing);
        let mut edges: Result<Vec<Vec<EdgePlace>>, _> = area.edges.iter().map(of).collect();
        for edge in edges.iter_mut().flatten() {
            part_at_tips(edge, &flattening, net.spacing, (&area.tips, cuts));
        }
        let along = edges.iter().flatten().flatten();
        let along = along.map(|place: &EdgePlace| (flattening.shear(&place.flat), place.at));
        let is_inside = |spot: &Spot| area.inside[spot.face as usize];
        let within = net
            .cells()
            .filter(|(_, corners)| corners.iter().all(is_inside));
        let within = within.map(|(cell, corners)| (cell.shear, corners[0].at));
        let mut shear = [Shear::default(); 2];
        for (degrees, at) in within.chain(along) {
            let most = &mut shear[usize::from(degrees < 0.0)];
            if degrees.abs() > most.degrees {
                *most = Shear {
                    degrees: degrees.abs(),
                    at: at.to_array(),
                };
            }
        }
        Self {
            net,
            edges,
            shear,
            tips: area.tips.clone(),
        }
    }

    /// The largest shear of either sense.
    pub(super) fn most(&self) -> Shear {
        let [closed, opened] = self.shear;
        if opened.degrees > closed.degrees {
            opened
        } else {
            closed
        }
    }

    /// The area of its flat outline, mm²; `None` where it does not get to the edge.
    pub(super) fn flat_area(&self) -> Option<f64> {
        let twice = |edge: &Vec<EdgePlace>| -> f64 {
            let next = edge.iter().cycle().skip(1);
            edge.iter()
                .zip(next)
                .map(|(a, b)| a.flat.at.perp_dot(b.flat.at))
                .sum()
        };
        // Openings run the other way round.
        let edges = self.edges.as_ref().ok()?;
        Some(edges.iter().map(twice).sum::<f64>() / 2.0)
    }

    /// Its flat outline, the warp along x; `None` where it does not get to the edge or lies over itself.
    pub(super) fn outline(&self) -> Option<Outline> {
        let flat = |place: &EdgePlace| Point::new(place.flat.at.x, place.flat.at.y);
        let ring = |edge: &Vec<EdgePlace>| Ring::new(edge.iter().map(flat)).ok();
        let mut rings = self.edges.as_ref().ok()?.iter().map(ring);
        let outline = Outline {
            outer: rings.next()??,
            openings: rings.collect::<Option<_>>()?,
        };
        outline.crossing().is_none().then_some(outline)
    }

    /// By how much (degrees) it shears beyond what it bears; negative where it does not.
    pub(super) fn over(&self, locks: Locks) -> f64 {
        let over = |k: usize| self.shear[k].degrees - locks[k];
        over(0).max(over(1))
    }

    /// The darts whose lips lie over one another on the flat cloth.
    pub(super) fn laps(&self) -> Vec<usize> {
        let tips = &self.tips;
        let edges = self.edges.iter().flatten();
        let laps = |(slit, [inward, outward]): (u32, [Vec<EdgePlace>; 2])| {
            let [tip, a] = [inward.last()?, inward.first()?].map(|place| place.flat.at);
            let b = outward.first()?.flat.at;
            ((tip - a).perp_dot(b - tip) > 0.0).then_some(slit as usize)
        };
        edges
            .flat_map(|edge| lips(edge, tips))
            .filter_map(laps)
            .collect()
    }
}
