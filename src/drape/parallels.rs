//! Unidirectional cloth: fibres that keep their length and their distance, and slip along each other.
//!
//! The first fibre runs straight through the start. From it straight lines across the fibres go out, and every further
//! fibre is a curve at the same distance from the first all along (its parallel). Nothing is stretched, so the flat
//! cloth has the area of the mould; what was square to the fibres is not so any more where the mould is curved twice: the
//! angle that it leans by is the slip. It is the total curvature between the first fibre, the cross line through the
//! start, the fibre and the line across it there.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, HashMap};

use glam::{DVec2, DVec3, dvec2};

use super::net::{Ground, Net, NetNode, NetStart, Rules};
use crate::geometry::trig;
use crate::mould::surface::Spot;

/// Most crossings of a net, in those that its ground would have flat; and as many more, for small parts.
const MOST_CROSSINGS: f64 = 4.0;
const SOME_CROSSINGS: usize = 2_000;

struct ParallelFibres<'a> {
    ground: Ground<'a>,
    rules: &'a Rules,
    most: usize,
    /// Of each crossing, by its number along the first fibre and across: where it is, and the direction of the line
    /// across there, away from the first fibre.
    at: HashMap<NetNode, (Spot, DVec3)>,
}

/// The fibres from `start` on, as a net of them and the lines across.
pub(super) fn laid(ground: &Ground<'_>, start: NetStart, rules: &Rules) -> Net {
    let laid = (0..ground.surface.n_faces()).filter(|&face| ground.laid[face as usize]);
    let area: f64 = laid.map(|face| ground.surface.area(face)).sum();
    let most = MOST_CROSSINGS * area / (rules.spacing * rules.spacing);
    let mut fibres = ParallelFibres {
        ground: *ground,
        rules,
        most: most as usize + SOME_CROSSINGS,
        at: HashMap::new(),
    };
    fibres.first(start);
    fibres.go_on();
    fibres.net()
}

impl ParallelFibres<'_> {
    fn first(&mut self, start: NetStart) {
        let normal = self.ground.surface.normal(start.spot.face);
        // Not on an edge.
        let middle = self.ground.surface.middle(start.spot.face);
        let spot = Spot {
            at: start.spot.at.lerp(middle, 1e-6),
            ..start.spot
        };
        self.column((0, 0), spot, normal.cross(start.warp));
        for side in [1, -1] {
            let (mut here, mut along) = (spot, start.warp * f64::from(side));
            for k in 1.. {
                let next = self.ground.step(self.rules, here, along, 0.0);
                let Some((next, on)) = next.ok().filter(|_| self.is_room()) else {
                    break;
                };
                // Once round a closed mould is enough.
                if k > 1 && next.at.distance(spot.at) < 0.5 * self.rules.spacing {
                    break;
                }
                self.beside((k * side, 0), next, on * f64::from(side));
                if !self.is_laid(next) {
                    break;
                }
                (here, along) = (next, on);
            }
        }
    }

    fn is_room(&self) -> bool {
        self.at.len() < self.most
    }

    fn is_laid(&self, spot: Spot) -> bool {
        self.ground.laid[spot.face as usize]
    }

    /// The line across a fibre that runs along `along` at `spot`.
    fn beside(&mut self, at: NetNode, spot: Spot, along: DVec3) {
        let normal = self.ground.surface.smooth_normal(spot);
        self.column(at, spot, normal.cross(along).normalize_or_zero());
    }

    /// Crossings on the straight line through `spot` along `weft`, both ways, as far as there are none yet.
    fn column(&mut self, (k, j): NetNode, spot: Spot, weft: DVec3) {
        self.at.insert((k, j), (spot, weft));
        for side in [1, -1] {
            let (mut here, mut along) = (spot, weft * f64::from(side));
            for off in 1.. {
                let at = (k, j + off * side);
                if !self.is_laid(here) || self.at.contains_key(&at) || !self.is_room() {
                    break;
                }
                let Ok((next, on)) = self.ground.step(self.rules, here, along, 0.0) else {
                    break;
                };
                self.at
                    .insert(at, (next, on.normalize_or_zero() * f64::from(side)));
                (here, along) = (next, on);
            }
        }
    }

    /// Where the first fibre ends before the others, the one nearest to it goes straight on, with a line across.
    fn go_on(&mut self) {
        let mut ends: BinaryHeap<Reverse<(i32, NetNode, i32)>> = BinaryHeap::new();
        let end = |(k, j): NetNode, side: i32| Reverse((k.abs() + j.abs(), (k, j), side));
        let known: Vec<NetNode> = self.at.keys().copied().collect();
        for at in known {
            ends.extend([end(at, 1), end(at, -1)]);
        }
        while let Some(Reverse((_, (k, j), side))) = ends.pop() {
            let (spot, weft) = self.at[&(k, j)];
            let next = (k + side, j);
            let is_inward = k * side < 0;
            if is_inward || self.at.contains_key(&next) || !self.is_laid(spot) || !self.is_room() {
                continue;
            }
            let normal = self.ground.surface.smooth_normal(spot);
            let along = weft.cross(normal) * f64::from(side);
            let Ok((there, on)) = self.ground.step(self.rules, spot, along, 0.0) else {
                continue;
            };
            self.beside(next, there, on * f64::from(side));
            let column = |own: i32| (next.0, own);
            let mut new = vec![next];
            new.extend(
                (j + 1..)
                    .map(column)
                    .take_while(|at| self.at.contains_key(at)),
            );
            let below = (1..).map(|off| column(j - off));
            new.extend(below.take_while(|at| self.at.contains_key(at)));
            for at in new {
                ends.push(end(at, side));
            }
        }
    }

    /// Flat, every fibre keeps its length, counted from the line across through the start.
    fn net(self) -> Net {
        let mut order: Vec<NetNode> = self.at.keys().copied().collect();
        order.sort_unstable_by_key(|&(k, j)| (k.abs(), k, j.abs(), j));
        let mut along: HashMap<NetNode, f64> = HashMap::new();
        for &(k, j) in &order {
            let before = (k - k.signum(), j);
            let inner = (k, j - j.signum());
            let own = match (along.get(&before), along.get(&inner)) {
                _ if k == 0 => 0.0,
                (Some(u), _) => {
                    let (from, to) = (self.at[&before].0, self.at[&(k, j)].0.at);
                    let straight = || from.at.distance(to);
                    let length = self.ground.surface.way(from, to).unwrap_or_else(straight);
                    u + f64::from(k.signum()) * length
                }
                (None, Some(u)) => *u,
                (None, None) => f64::from(k) * self.rules.spacing,
            };
            along.insert((k, j), own);
        }
        let s = self.rules.spacing;
        let crossing = |&at: &NetNode| (at, self.at[&at].0, dvec2(along[&at], f64::from(at.1) * s));
        Net::of_crossings(
            s,
            order.iter().map(crossing).collect(),
            |net, [a, b, c, d]| {
                let leans = |low: u32, high: u32| {
                    let off: DVec2 = net.flat[high as usize] - net.flat[low as usize];
                    off.x / off.y
                };
                let slip = (leans(a, d) + leans(b, c)) / 2.0;
                trig::atan2_radians(slip, 1.0).to_degrees()
            },
        )
    }
}
