//! A woven cloth as a net: yarns of fixed length that turn at their crossings, every crossing on the mould.
//!
//! The net is that of Mack and Taylor (1956, from memory) and Van West, Pipes and Keefe (J. Text. Inst. 81, 1990,
//! 448-460): one warp and one weft yarn are laid, and every other crossing follows from its neighbours.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, VecDeque};

use glam::{DVec2, DVec3, dvec2};

use super::quick::{QuickSet, Tiles};
use super::relief::FlatCut;
use crate::geometry::trig;
use crate::mould::surface::{Spot, Stop, Stretch, Surface, leaves, nearest_on};

/// What a net is laid on.
#[derive(Clone, Copy, Debug)]
pub(super) struct Ground<'a> {
    pub(super) surface: &'a Surface,
    /// Of each triangle, whether it belongs to the part.
    pub(super) inside: &'a [bool],
    /// Of each triangle, whether the net goes on over it.
    pub(super) laid: &'a [bool],
    /// Of each triangle, whether it is so near to a cut that a cell there could span it; empty where there is none.
    pub(super) by_slits: &'a [bool],
    /// The cuts, by their sides, mm.
    pub(super) slits: &'a [[DVec3; 2]],
    /// Along these the cloth itself is cut.
    pub(super) cuts: &'a [FlatCut],
}

impl Ground<'_> {
    /// One crossing further along `direction`, turned by `turn`; and the direction there.
    pub(super) fn step(
        &self,
        rules: &Rules,
        from: Spot,
        direction: DVec3,
        turn: f64,
    ) -> Result<(Spot, DVec3), Stop> {
        let s = rules.spacing;
        let mut left = s;
        let straight = |stretch: Stretch| leaves(&stretch, from.at, s);
        let over_bend = |stretch: Stretch| ends(&stretch, &mut left);
        let is_bent = |next: Spot| rules.over_bends && self.bends(from, next);
        match rules.lines {
            FirstYarns::Unfolded => {
                let along = turned(self.surface.normal(from.face), direction, turn);
                let next = self.surface.straight(from, along, straight)?;
                match is_bent(next.0) {
                    true => self.surface.straight(from, along, over_bend),
                    false => Ok(next),
                }
            }
            FirstYarns::Sections => {
                let normal = self.surface.smooth_normal(from);
                let along = turned(normal, direction, turn);
                let across = normal.cross(along);
                let mut next = self.surface.section(from, across, along, straight)?;
                if is_bent(next) {
                    next = self.surface.section(from, across, along, over_bend)?;
                }
                Ok((next, next.at - from.at))
            }
        }
    }
}

impl Ground<'_> {
    /// Whether the surface bends between two places, so that the way over it is longer than straight through.
    fn bends(&self, a: Spot, b: Spot) -> bool {
        self.surface.normal(a.face).dot(self.surface.normal(b.face)) < UNBENT
    }

    /// `spot` moved over the surface until the ways to it from both ends of two yarns are `s`.
    fn reached(&self, mut spot: Spot, from: [Spot; 2], s: f64) -> Spot {
        for _ in 0..ROUNDS {
            let [Some(a), Some(b)] = from.map(|end| self.surface.way(end, spot.at)) else {
                break;
            };
            let (a, b) = (s - a, s - b);
            if a.abs().max(b.abs()) < PINNED * s {
                break;
            }
            let along = from.map(|end| self.surface.in_plane(spot.face, spot.at - end.at));
            let [Some(u), Some(v)] = along else { break };
            let (cos, normal) = (u.dot(v), self.surface.normal(spot.face));
            if cos.abs() > STEEPEST || normal == DVec3::ZERO {
                break;
            }
            // The step whose parts along both yarns are what they want.
            let det = 1.0 - cos * cos;
            let step = u * ((a - b * cos) / det) + v * ((b - a * cos) / det);
            let mut left = step.length();
            let moved = (self.surface).straight(spot, step, |stretch| ends(&stretch, &mut left));
            let Ok((there, _)) = moved else { break };
            spot = there;
        }
        spot
    }
}

/// Where `stretch` is `left` long; if it is shorter, that is taken off.
fn ends(stretch: &Stretch, left: &mut f64) -> Option<Spot> {
    let own = stretch.from.distance(stretch.to);
    if own < *left {
        *left -= own;
        return None;
    }
    let share = if own > 0.0 { *left / own } else { 0.0 };
    Some(Spot {
        face: stretch.face,
        at: stretch.from.lerp(stretch.to, share),
    })
}

/// The cosine of a bend that is none.
const UNBENT: f64 = 1.0 - 1e-12;
/// Rounds of moving a crossing to the length of its yarns over a bend.
const ROUNDS: usize = 6;
/// The cosine of an angle of yarns that is too sharp for that.
const STEEPEST: f64 = 0.99;

fn turned(axis: DVec3, direction: DVec3, turn: f64) -> DVec3 {
    let (sin, cos) = trig::sin_cos_radians(turn);
    direction * cos + axis.cross(direction) * sin + axis * (axis.dot(direction) * (1.0 - cos))
}

/// Where and how a cloth is put down.
#[derive(Clone, Copy, Debug)]
pub(super) struct NetStart {
    pub(super) spot: Spot,
    /// The warp there.
    pub(super) warp: DVec3,
}

/// How the first yarns run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum FirstYarns {
    /// Straight over the triangles: right where they bend sharply.
    Unfolded,
    /// In plane sections across the evened normal: right on what is curved, steady on the dents of a scan.
    Sections,
}

/// How a net is laid.
#[derive(Clone, Copy, Debug)]
pub(super) struct Rules {
    /// Between crossings, mm.
    pub(super) spacing: f64,
    /// Largest shear, degrees; what would shear more is not laid.
    pub(super) limit: f64,
    pub(super) lines: FirstYarns,
    /// Whether the length of a yarn is measured over the surface, not straight from crossing to crossing: slower, and
    /// of need where the surface bends much from one to the next. Never on what is left of the noise of a scan.
    pub(super) over_bends: bool,
}

/// How far the two first yarns turn at each crossing, radians, counter-clockwise; outward from the start.
#[derive(Clone, Debug, Default)]
pub(super) struct YarnTurns {
    pub(super) warp: [Vec<f64>; 2],
    pub(super) weft: [Vec<f64>; 2],
}

/// A crossing by its number along the warp and the weft from the start.
pub(super) type NetNode = (i32, i32);

/// A net laid on a surface.
#[derive(Clone, Debug)]
pub(super) struct Net {
    pub(super) spacing: f64,
    pub(super) spots: Vec<Spot>,
    pub(super) crossings: Vec<NetNode>,
    /// Where the crossings lie on the flat cloth: along and across its warp, from the start, mm.
    pub(super) flat: Vec<DVec2>,
    index: Tiles,
    cells: Vec<NetCell>,
    /// Of each crossing the number of the cell that it is the first of, or [`NO_CELL`].
    cell_of: Vec<u32>,
}

/// A crossing is the first of no cell.
const NO_CELL: u32 = u32::MAX;

/// A cell with its corners by their places in the lists of a net, in turn from the one nearest to −warp and −weft.
#[derive(Clone, Copy, Debug)]
pub(super) struct NetCell {
    pub(super) sheared: ShearedCell,
    pub(super) corners: [u32; 4],
}

/// A cell of the net: its crossing nearest to −warp and −weft, and how it is sheared.
#[derive(Clone, Copy, Debug)]
pub(super) struct ShearedCell {
    pub(super) at: NetNode,
    /// Degrees; positive where the angle from +warp to +weft is below 90°.
    pub(super) shear: f64,
}

/// Most crossings of a net, in those that its ground would have without shear: a net that closes upon itself would
/// go on for ever.
const MOST_CROSSINGS: f64 = 4.0;
/// And as many more, for small parts.
const SOME_CROSSINGS: usize = 2_000;

impl Net {
    /// Lays a net from `start`, and one cell beyond what is to be laid where the mould goes on.
    pub(super) fn lay(
        ground: &Ground<'_>,
        start: NetStart,
        rules: &Rules,
        turns: &YarnTurns,
    ) -> Self {
        let mut net = Self {
            spacing: rules.spacing,
            spots: Vec::new(),
            crossings: Vec::new(),
            flat: Vec::new(),
            index: Tiles::default(),
            cells: Vec::new(),
            cell_of: Vec::new(),
        };
        let laid = (0..ground.surface.n_faces()).filter(|&face| ground.laid[face as usize]);
        let area: f64 = laid.map(|face| ground.surface.area(face)).sum();
        let most = MOST_CROSSINGS * area / (rules.spacing * rules.spacing);
        let mut laying = Laying {
            most: most as usize + SOME_CROSSINGS,
            ground: *ground,
            rules,
            net: &mut net,
            queue: VecDeque::new(),
            closed: QuickSet::default(),
            ends: BinaryHeap::new(),
            n_looked_at: 0,
        };
        laying.start_lines(start, turns);
        laying.fill();
        while laying.go_on() {
            laying.fill();
        }
        net.set_cells(net.pinned_cells(ground, rules));
        net
    }

    /// The net whose crossings lie on the flat cloth at `flat`, and whose cells are these.
    pub(super) fn of_crossings(
        spacing: f64,
        crossings: Vec<(NetNode, Spot, DVec2)>,
        shear: impl Fn(&Self, [u32; 4]) -> f64,
    ) -> Self {
        let mut index = Tiles::default();
        for ((at, ..), k) in crossings.iter().zip(0..) {
            index.insert(*at, k);
        }
        let mut net = Self {
            spacing,
            index,
            spots: crossings.iter().map(|&(_, spot, _)| spot).collect(),
            flat: crossings.iter().map(|&(.., flat)| flat).collect(),
            crossings: crossings.iter().map(|&(at, ..)| at).collect(),
            cells: Vec::new(),
            cell_of: Vec::new(),
        };
        let cell = |&at: &NetNode| {
            let corners = net.corners(at)?;
            let shear = shear(&net, corners);
            let sheared = ShearedCell { at, shear };
            Some(NetCell { sheared, corners })
        };
        let cells = net.crossings.iter().filter_map(cell).collect();
        net.set_cells(cells);
        net
    }

    fn set_cells(&mut self, cells: Vec<NetCell>) {
        self.cell_of = vec![NO_CELL; self.spots.len()];
        for (cell, k) in cells.iter().zip(0..) {
            self.cell_of[cell.corners[0] as usize] = k;
        }
        self.cells = cells;
    }

    pub(super) fn spot(&self, at: NetNode) -> Option<Spot> {
        Some(self.spots[self.index.get(at)? as usize])
    }

    fn add(&mut self, at: NetNode, spot: Spot) {
        self.index.insert(at, self.spots.len() as u32);
        self.spots.push(spot);
        self.crossings.push(at);
        self.flat
            .push(dvec2(f64::from(at.0), f64::from(at.1)) * self.spacing);
    }

    /// The corners of a cell in turn, if all are there.
    fn corners(&self, (i, j): NetNode) -> Option<[u32; 4]> {
        let of = |at: NetNode| self.index.get(at);
        Some([
            of((i, j))?,
            of((i + 1, j))?,
            of((i + 1, j + 1))?,
            of((i, j + 1))?,
        ])
    }

    /// All cells whose yarns have their length: others span a gap, as that of a dart.
    fn pinned_cells(&self, ground: &Ground<'_>, rules: &Rules) -> Vec<NetCell> {
        let s = self.spacing;
        let cell = |&at: &NetNode| {
            let corners = self.corners(at)?;
            let spots = corners.map(|k| self.spots[k as usize]);
            let p = spots.map(|spot| spot.at);
            let off = |k: usize| p[k].distance(p[(k + 1) % 4]) - s;
            let is_straight = (0..4).all(|k| off(k).abs() <= PINNED * s);
            let over_bend = |k: usize| {
                let way = ground.surface.way(spots[k], p[(k + 1) % 4]);
                off(k) <= PINNED * s && way.is_some_and(|way| (way - s).abs() <= PINNED_BENT * s)
            };
            let is_pinned = is_straight || rules.over_bends && (0..4).all(over_bend);
            let shear = match is_straight {
                true => self.shear(p),
                false => shear_of_middles(p),
            };
            let sheared = ShearedCell { at, shear };
            is_pinned.then_some(NetCell { sheared, corners })
        };
        self.crossings.iter().filter_map(cell).collect()
    }

    /// The shear of a cell, degrees.
    fn shear(&self, [p, q, r, s]: [DVec3; 4]) -> f64 {
        let half = |a: DVec3, b: DVec3| {
            let part = ((a - b).length() / (2.0 * self.spacing)).min(1.0);
            trig::atan2_radians(part, (1.0 - part * part).sqrt())
        };
        (half(p, r) - half(q, s)).to_degrees()
    }

    pub(super) fn cells(&self) -> impl Iterator<Item = (ShearedCell, [Spot; 4])> {
        let spots = |corners: [u32; 4]| corners.map(|k| self.spots[k as usize]);
        self.cells
            .iter()
            .map(move |cell| (cell.sheared, spots(cell.corners)))
    }

    pub(super) fn corners_of_cells(&self) -> impl Iterator<Item = [u32; 4]> {
        self.cells.iter().map(|cell| cell.corners)
    }

    /// The place of a crossing in the lists.
    pub(super) fn number(&self, at: NetNode) -> Option<u32> {
        self.index.get(at)
    }

    /// The number of the cell whose first crossing this is, if it has its yarns' length.
    pub(super) fn cell_number(&self, at: NetNode) -> Option<u32> {
        let cell = self.cell_of[self.index.get(at)? as usize];
        (cell != NO_CELL).then_some(cell)
    }

    /// The corners of the cell of number `k`.
    pub(super) fn corners_at(&self, k: u32) -> [DVec3; 4] {
        let corners = self.cells[k as usize].corners;
        corners.map(|c| self.spots[c as usize].at)
    }

    pub(super) fn cell(&self, k: u32) -> NetCell {
        self.cells[k as usize]
    }
}

/// The shear of a cell whose sides are not all straight, degrees: by the lines between the middles of its sides.
fn shear_of_middles([a, b, c, d]: [DVec3; 4]) -> f64 {
    let warp = (b - a + c - d).normalize_or_zero();
    let weft = (d - a + c - b).normalize_or_zero();
    let sin = warp.dot(weft).clamp(-1.0, 1.0);
    trig::atan2_radians(sin, (1.0 - sin * sin).sqrt()).to_degrees()
}

/// So near (in cells) to a cut no crossing is laid.
const OFF_CUTS: f64 = 0.05;

/// The yarns of a cell have their length to this share of it.
const PINNED: f64 = 1e-6;
/// And over a bend to this.
const PINNED_BENT: f64 = 1e-3;

struct Laying<'a> {
    ground: Ground<'a>,
    rules: &'a Rules,
    net: &'a mut Net,
    queue: VecDeque<NetNode>,
    /// Cells that were tried and cannot be laid.
    closed: QuickSet<NetNode>,
    /// Where a yarn inside has no next crossing: the nearest to the start first.
    ends: BinaryHeap<Reverse<(i32, NetNode, NetNode)>>,
    /// How many crossings were looked at for ends.
    n_looked_at: usize,
    /// Most crossings.
    most: usize,
}

impl Laying<'_> {
    fn is_laid(&self, at: NetNode) -> bool {
        let spot = self.net.spot(at);
        spot.is_some_and(|spot| self.ground.laid[spot.face as usize])
    }

    fn add(&mut self, at: NetNode, spot: Spot) {
        self.net.add(at, spot);
        self.queue.push_back(at);
    }

    fn start_lines(&mut self, start: NetStart, turns: &YarnTurns) {
        let normal = self.ground.surface.normal(start.spot.face);
        // Not on an edge.
        let middle = self.ground.surface.middle(start.spot.face);
        let spot = Spot {
            at: start.spot.at.lerp(middle, 1e-6),
            ..start.spot
        };
        let warp = start.warp;
        let weft = normal.cross(warp);
        self.add((0, 0), spot);
        let lines = [
            (warp, (1, 0), &turns.warp[0]),
            (-warp, (-1, 0), &turns.warp[1]),
            (weft, (0, 1), &turns.weft[0]),
            (-weft, (0, -1), &turns.weft[1]),
        ];
        for (direction, (di, dj), turns) in lines {
            let (mut here, mut along, mut at) = (spot, direction, (0, 0));
            for k in 0..self.most {
                let turn = turns.get(k).copied().unwrap_or(0.0);
                let Ok((next, on)) = self.ground.step(self.rules, here, along, turn) else {
                    break;
                };
                // Once round a closed mould is enough.
                if k > 0 && (next.at - spot.at).length() < 0.5 * self.rules.spacing {
                    break;
                }
                let before = at;
                at = (at.0 + di, at.1 + dj);
                if !self.is_uncut(&[before, at]) {
                    break;
                }
                self.add(at, next);
                if !self.ground.laid[next.face as usize] {
                    break;
                }
                (here, along) = (next, on);
            }
        }
    }

    fn fill(&mut self) {
        while let Some((i, j)) = self.queue.pop_front() {
            for (di, dj) in [(0, 0), (-1, 0), (-1, -1), (0, -1)] {
                self.fill_cell((i + di, j + dj));
            }
        }
    }

    fn fill_cell(&mut self, (i, j): NetNode) {
        let ring = [(i, j), (i + 1, j), (i + 1, j + 1), (i, j + 1)];
        let known = ring.map(|at| self.net.number(at));
        let mut missing = (0..4).filter(|&k| known[k].is_none());
        let (Some(k), None) = (missing.next(), missing.next()) else {
            return;
        };
        let corner = |k: usize| {
            let number = known[k % 4].expect("only one is missing");
            self.net.spots[number as usize]
        };
        let is_laid = |k: usize| self.ground.laid[corner(k).face as usize];
        if !(k + 1..k + 4).any(is_laid) {
            return;
        }
        if !self.is_uncut(&ring) {
            self.closed.insert((i, j));
            return;
        }
        let (beside, opposite, other) = (corner(k + 1), corner(k + 2), corner(k + 3));
        let fourth = self.fourth(beside, opposite, other);
        match fourth.filter(|spot| self.is_whole(beside, other) && self.is_off_cuts(*spot)) {
            Some(spot) if self.net.spots.len() < self.most => self.add(ring[k], spot),
            _ => {
                self.closed.insert((i, j));
            }
        }
    }

    /// Whether no cut lies between two corners of a cell.
    fn is_whole(&self, a: Spot, b: Spot) -> bool {
        let near = self.ground.by_slits.get(a.face as usize);
        near != Some(&true) || self.ground.surface.reaches(a, b.at)
    }

    /// Whether the cloth is whole from crossing to crossing of `ring`.
    fn is_uncut(&self, ring: &[NetNode]) -> bool {
        let s = self.rules.spacing;
        let flat = |at: NetNode| dvec2(f64::from(at.0), f64::from(at.1)) * s;
        self.ground.cuts.iter().all(|cut| {
            let is_off = |&at: &NetNode| cut.off(flat(at)) > OFF_CUTS * s;
            let is_whole = |(&a, &b): (&NetNode, &NetNode)| !cut.crosses(flat(a), flat(b));
            ring.iter().all(is_off) && ring.iter().zip(ring.iter().cycle().skip(1)).all(is_whole)
        })
    }

    /// Whether a place is not on a cut itself, where it would belong to one lip by chance.
    fn is_off_cuts(&self, spot: Spot) -> bool {
        let near = self.ground.by_slits.get(spot.face as usize);
        let least = OFF_CUTS * self.rules.spacing;
        let is_off = |cut: &[DVec3; 2]| nearest_on(*cut, spot.at).distance(spot.at) > least;
        near != Some(&true) || self.ground.slits.iter().all(is_off)
    }

    /// The fourth corner of a cell: in the plane between `a` and `b`, away from `opposite`.
    fn fourth(&self, a: Spot, opposite: Spot, b: Spot) -> Option<Spot> {
        let s = self.rules.spacing;
        let apart = (a.at - b.at).length();
        let half = |degrees: f64| 2.0 * s * trig::sin_cos_radians(degrees.to_radians() / 2.0).0;
        if apart < half(90.0 - self.rules.limit) || apart > half(90.0 + self.rules.limit) {
            return None;
        }
        let across = (b.at - a.at).normalize_or_zero();
        let toward = a.at + b.at - 2.0 * opposite.at;
        let mut was_near = false;
        let found = self
            .ground
            .surface
            .section(opposite, across, toward, |stretch| {
                // It starts at that distance from `a` already.
                let nearest = nearest_distance(&stretch, a.at);
                was_near |= nearest < s * (1.0 - 1e-9);
                let far = (stretch.to - opposite.at).length() > 2.0 * s;
                match was_near.then(|| leaves(&stretch, a.at, s)).flatten() {
                    Some(spot) => Some(Some(spot)),
                    None if far => Some(None),
                    None => None,
                }
            });
        let spot = found.ok().flatten()?;
        // Where a yarn before went over a bend, the plane does not meet both ends alike.
        let is_off = (spot.at.distance(b.at) - s).abs() > PINNED * s;
        let is_bent = self.ground.bends(a, spot) || self.ground.bends(b, spot);
        Some(match self.rules.over_bends && (is_off || is_bent) {
            true => self.ground.reached(spot, [a, b], s),
            false => spot,
        })
    }

    /// Where nothing else reaches, the yarn that is nearest to the start goes straight on by one.
    fn go_on(&mut self) -> bool {
        for &at in &self.net.crossings[self.n_looked_at..] {
            for along in [(1, 0), (-1, 0), (0, 1), (0, -1)] {
                let next = (at.0 + along.0, at.1 + along.1);
                if self.is_laid(at) && self.net.spot(next).is_none() {
                    let steps = at.0.abs() + at.1.abs();
                    self.ends.push(Reverse((steps, at, along)));
                }
            }
        }
        self.n_looked_at = self.net.crossings.len();
        while let Some(Reverse((_, at, along))) = self.ends.pop() {
            if self.reach(at, along).is_some() {
                return true;
            }
        }
        false
    }

    /// The crossing after `at` by the yarn along `along`, if no cell was tried there.
    fn reach(&mut self, (i, j): NetNode, (di, dj): NetNode) -> Option<()> {
        let next = (i + di, j + dj);
        // The two cells beside the yarn piece, by their first crossings.
        let (low_i, low_j) = (i.min(next.0), j.min(next.1));
        let beside = [(low_i, low_j), (low_i - dj.abs(), low_j - di.abs())];
        let is_free = |cell: &NetNode| !self.closed.contains(cell);
        let is_open = self.net.spot(next).is_none() && beside.iter().all(is_free);
        let is_room = self.net.spots.len() < self.most;
        let (before, here) = (self.net.spot((i - di, j - dj))?, self.net.spot((i, j))?);
        if !is_open || !is_room || !self.is_uncut(&[(i, j), next]) {
            return None;
        }
        let (spot, _) = self
            .ground
            .step(self.rules, here, here.at - before.at, 0.0)
            .ok()?;
        self.add(next, spot);
        Some(())
    }
}

fn nearest_distance(stretch: &Stretch, p: DVec3) -> f64 {
    nearest_on([stretch.from, stretch.to], p).distance(p)
}
