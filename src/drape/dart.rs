//! Darts: where a cloth is cut so that it need not shear more than it bears.
//!
//! Where the mould is domed the shear grows outwards along the longer diagonal of the cells, and across it there is
//! too much cloth. A cut along that diagonal, from where the shear is small out through the edge, lets it out: flat,
//! it opens to a V.

use std::collections::{BTreeMap, BTreeSet};

use glam::{DVec2, DVec3, dvec2};

use super::flat::Flattening;
use super::lay::{LaidCloth, Task};
use super::net::{Net, NetNode, ShearedCell};
use super::outline::EdgePlace;
use crate::geometry::{Outline, Point};
use crate::mould::area::Area;
use crate::mould::surface::{Spot, nearest_on};

/// A dart: a V that is cut out of the flat cloth, whose lips meet on the mould.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Dart {
    /// Its inner end on the mould, mm.
    pub tip: [f64; 3],
    /// Where it leaves the part there, mm.
    pub mouth: [f64; 3],
    /// The length of its line there, mm.
    pub length: f64,
    /// Each lip on the flat cloth, in the frame of [`super::Drape::outline`]: from the mouth to the tip, mm.
    pub lips: [Vec<Point>; 2],
    /// Their lengths on the flat cloth, mm.
    pub lip_lengths: [f64; 2],
}

impl Dart {
    /// By how much (mm) the first lip is longer flat than the second: the cloth beside it is pushed out of square
    /// otherwise than beside the other. On the mould both lie on one line.
    #[must_use]
    pub fn eased(&self) -> f64 {
        self.lip_lengths[0] - self.lip_lengths[1]
    }

    pub(super) fn of(
        lips: &[Vec<EdgePlace>; 2],
        turned: impl Fn(&EdgePlace) -> Point,
        outline: &Outline,
    ) -> Option<Self> {
        let [inward, outward] = lips;
        let (mouth, tip) = (inward.first()?, inward.last()?);
        let on_mould = inward.windows(2).map(|p| p[0].at.distance(p[1].at));
        let flat = |lip: &Vec<EdgePlace>| lip.iter().map(&turned).collect::<Vec<Point>>();
        let length = |lip: &Vec<Point>| lip.windows(2).map(|p| p[0].distance(p[1])).sum();
        let lips = [inward, outward].map(flat);
        let kept = |lip: &Vec<Point>| {
            let n = lip.len();
            let is_kept = |&(k, p): &(usize, &Point)| {
                k == 0 || k + 1 == n || outline.outer.points().contains(p)
            };
            let kept = lip.iter().enumerate().filter(is_kept);
            kept.map(|(_, p)| *p).collect()
        };
        Some(Self {
            tip: tip.at.to_array(),
            mouth: mouth.at.to_array(),
            length: on_mould.sum(),
            lip_lengths: [length(&lips[0]), length(&lips[1])],
            lips: [kept(&lips[0]), kept(&lips[1])],
        })
    }
}

/// A dart goes in to where the shear is this share of what the cloth bears.
const TIP_SHARE: f64 = 0.6;
/// And, where that does not do, its way to the start is shortened by this.
const DEEPER: f64 = 0.8;
/// Times that a dart is deepened.
const MOST_DEEPER: u32 = 8;
/// Most darts of a cloth: with more of them it is better divided.
const MOST_DARTS: usize = 8;
/// Rounds of laying anew.
const ROUNDS: usize = 24;
/// A place is helped by making a dart longer if it lies within this share of the way from the start to its mouth.
const HELPED: f64 = 0.4;

/// A part cut for darts, and the cloth laid on it.
pub(super) struct Darted {
    pub(super) area: Area,
    /// Where a cut would have to be let in, not out: the mould is saddled there.
    pub(super) saddled: bool,
}

/// The largest shear that a cloth bears by its sense, degrees: where the angle from +warp to +weft closes, and where it
/// opens.
pub(super) type Locks = [f64; 2];

/// A dart on the cloth as it is laid without any, in cells from the start.
#[derive(Clone, Debug)]
struct DartPlan {
    worst: DVec2,
    tip: DVec2,
    inward: DVec2,
    n_deeper: u32,
    /// Flat, its lips lie over one another: the mould is saddled there, and a cut would have to be let in.
    is_let_in: bool,
}

/// The part cut where darts keep the cloth from shearing beyond `locks`: they are added and deepened until nothing
/// does, or nothing gets better. `whole` is the cloth on `base`, `told` are the lines along which `base` is cut already, `area` is not cut. `None`
/// where no cut helps.
pub(super) fn where_needed(
    task: &Task<'_>,
    [area, base]: [&Area; 2],
    whole: &LaidCloth,
    told: &[Vec<DVec3>],
    locks: Locks,
) -> Option<Darted> {
    let mut plans: Vec<DartPlan> = Vec::new();
    let mut saddled = false;
    let mut least = whole.over(locks);
    if least <= 0.0 {
        return None;
    }
    let mut best: Option<Area> = None;
    let mut now: Option<(Area, LaidCloth)> = None;
    for _ in 0..ROUNDS {
        let (laid, on) = now
            .as_ref()
            .map_or((whole, base), |(area, laid)| (laid, area));
        if !amended(
            &mut plans,
            &too_sheared(&laid.net, &on.inside, locks),
            &whole.net,
        ) {
            break;
        }
        let own = plans.iter_mut().filter(|plan| !plan.is_let_in);
        let (mut cut, lines): (Vec<&mut DartPlan>, Vec<_>) = own
            .filter_map(|plan| plan.line(&whole.net).map(|line| (plan, line)))
            .unzip();
        let lines = [told, &lines].concat();
        let next = area.slit(&lines, task.beyond());
        let next = next.and_then(|area| Some((task.lay(&area, task.smoothing())?, area)));
        let Some((laid, area)) = next else { break };
        let laps = laid.laps();
        if !laps.is_empty() {
            saddled = true;
            for (plan, k) in cut.iter_mut().zip(told.len()..) {
                plan.is_let_in = laps.contains(&k);
            }
        }
        let over = laid.over(locks);
        if over < least && laps.is_empty() {
            least = over;
            best = Some(area.clone());
        }
        if over <= 0.0 && laps.is_empty() {
            break;
        }
        now = Some((area, laid));
    }
    match best {
        None if saddled => Some(Darted {
            area: base.clone(),
            saddled,
        }),
        best => best.map(|area| Darted { area, saddled }),
    }
}

/// Adds and deepens darts for `places`; whether one was.
fn amended(plans: &mut Vec<DartPlan>, places: &[TooSheared], whole: &Net) -> bool {
    let before = plans.clone();
    let mut is_amended = false;
    for place in places {
        is_amended |= amend(plans, &before, place, whole);
    }
    is_amended
}

/// What shears by so much of the most that is borne counts as too much where only the edge shears more.
const NEARLY: f64 = 0.98;

/// A place where a cloth shears beyond what it bears.
struct TooSheared {
    /// The middle of its ridge at the cell that shears most.
    worst: DVec2,
    at: DVec3,
    /// Along the longer diagonal there, in cells, toward the start.
    inward: DVec2,
}

/// Places where cells hang together that shear beyond `locks`.
fn too_sheared(net: &Net, inside: &[bool], locks: Locks) -> Vec<TooSheared> {
    let cells = net.cells().filter(|(_, corners)| {
        let is_inside = |spot: &Spot| inside[spot.face as usize];
        corners.iter().all(is_inside)
    });
    let cells: Vec<(ShearedCell, [Spot; 4])> = cells.collect();
    let share = |shear: f64| shear.abs() / if shear > 0.0 { locks[0] } else { locks[1] };
    let most = cells
        .iter()
        .map(|(cell, _)| share(cell.shear))
        .fold(0.0, f64::max);
    // Between the last cells and the edge it may be more than in any.
    let least = (NEARLY * most).min(1.0);
    let mut over: BTreeMap<NetNode, (f64, DVec3)> = BTreeMap::new();
    for (cell, corners) in cells {
        if share(cell.shear) > least {
            over.insert(cell.at, (cell.shear, corners[0].at));
        }
    }
    let mut left: BTreeSet<NetNode> = over.keys().copied().collect();
    let mut places = Vec::new();
    while let Some(first) = left.pop_first() {
        let mut piece = vec![first];
        let mut k = 0;
        while let Some(&(i, j)) = piece.get(k) {
            k += 1;
            let around = (-1..=1).flat_map(|di| (-1..=1).map(move |dj| (i + di, j + dj)));
            piece.extend(around.filter(|next| left.remove(next)));
        }
        places.push(ridge(&piece, &over));
    }
    places
}

fn ridge(piece: &[NetNode], over: &BTreeMap<NetNode, (f64, DVec3)>) -> TooSheared {
    let middle = |at: NetNode| dvec2(f64::from(at.0) + 0.5, f64::from(at.1) + 0.5);
    let size = |at: &NetNode| over[at].0.abs();
    let worst = piece
        .iter()
        .copied()
        .reduce(|a, b| if size(&b) > size(&a) { b } else { a });
    let worst = worst.unwrap_or_default();
    let (shear, at) = over[&worst];
    let diagonal = dvec2(1.0, shear.signum());
    let inward = if diagonal.dot(middle(worst)) > 0.0 {
        -diagonal
    } else {
        diagonal
    };
    // Its own place along the diagonal, the mean of all across it.
    let across = diagonal.perp();
    let least = piece.iter().map(size).fold(f64::INFINITY, f64::min);
    let (mut sum, mut weight) = (0.0, 0.0);
    for &cell in piece {
        let own = size(&cell) - least + 0.1;
        sum += own * across.dot(middle(cell));
        weight += own;
    }
    let own = across.dot(middle(worst));
    TooSheared {
        worst: middle(worst) + across * ((sum / weight - own) / 2.0),
        at,
        inward,
    }
}

/// Deepens the dart that `place` lies by, or adds one; whether there is such a thing.
///
/// A dart that was deepened since it was as in `before` is not deepened again.
fn amend(plans: &mut Vec<DartPlan>, before: &[DartPlan], place: &TooSheared, whole: &Net) -> bool {
    let reach = |plan: &DartPlan| {
        let [tip, mouth] = [plan.tip, plan.worst].map(|at| point(whole, at));
        let (tip, mouth) = (tip?, mouth?);
        let start = whole.spot((0, 0))?.at;
        let near = nearest_on([tip, mouth], place.at);
        Some(near.distance(place.at) / mouth.distance(start))
    };
    let near = plans
        .iter()
        .enumerate()
        .filter_map(|(k, plan)| Some((reach(plan)?, k)));
    let near = near
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|(off, _)| *off < HELPED);
    if let Some((_, k)) = near
        && plans[k].n_deeper < MOST_DEEPER
    {
        let plan = &mut plans[k];
        if plan.is_let_in {
            return false;
        }
        if before
            .get(k)
            .is_none_or(|before| before.n_deeper < plan.n_deeper)
        {
            return true;
        }
        plan.n_deeper += 1;
        let way = plan.inward.dot(-plan.tip).max(0.0) / 2.0;
        plan.tip += plan.inward * (way * (1.0 - DEEPER));
        return way > 1.0;
    }
    if plans.len() >= MOST_DARTS {
        return false;
    }
    let new = DartPlan::at(place, whole);
    plans.extend(new.clone());
    new.is_some()
}

impl DartPlan {
    /// From where the shear is small enough out to `place`.
    fn at(place: &TooSheared, whole: &Net) -> Option<Self> {
        let shear: BTreeMap<NetNode, f64> = whole
            .cells()
            .map(|(cell, _)| (cell.at, cell.shear))
            .collect();
        let cell = |at: DVec2| {
            let at = at.floor();
            shear
                .get(&(at.x as i32, at.y as i32))
                .map(|shear| shear.abs())
        };
        let worst = cell(place.worst)?;
        let mut tip = place.worst;
        // Not past the start.
        while place.inward.dot(tip + place.inward) < 0.0 {
            tip += place.inward;
            if cell(tip).is_none_or(|shear| shear < TIP_SHARE * worst) {
                break;
            }
        }
        Some(Self {
            worst: place.worst,
            tip,
            inward: place.inward,
            n_deeper: 0,
            is_let_in: false,
        })
    }

    fn line(&self, whole: &Net) -> Option<Vec<DVec3>> {
        Some(vec![point(whole, self.tip)?, point(whole, self.worst)?])
    }
}

/// Where a place on the cloth lies, by cells from the start, between its crossings.
fn point(net: &Net, at: DVec2) -> Option<DVec3> {
    let low = at.floor();
    let share = at - low;
    let (i, j) = (low.x as i32, low.y as i32);
    let of = |di: i32, dj: i32| net.spot((i + di, j + dj)).map(|spot| spot.at);
    let below = of(0, 0)?.lerp(of(1, 0)?, share.x);
    let above = of(0, 1)?.lerp(of(1, 1)?, share.x);
    Some(below.lerp(above, share.y))
}

/// The two lips of each dart among the places round the edge of a part, each from the mouth to the tip; by number of
/// their cut.
pub(super) fn lips(edge: &[EdgePlace]) -> Vec<(u32, [Vec<EdgePlace>; 2])> {
    let places = |lip: Vec<usize>| lip.into_iter().map(|k| edge[k]).collect();
    let all = runs(edge).into_iter();
    all.map(|(slit, lips)| (slit, lips.map(places))).collect()
}

/// The lips as [`lips`], by the numbers of their places.
fn runs(edge: &[EdgePlace]) -> Vec<(u32, [Vec<usize>; 2])> {
    let n = edge.len();
    // From a place that is no lip.
    let Some(first) = edge.iter().position(|place| place.slit.is_none()) else {
        return Vec::new();
    };
    let at = |k: usize| (first + k) % n;
    let mut all = Vec::new();
    let mut k = 0;
    while k < n {
        let Some(slit) = edge[at(k)].slit else {
            k += 1;
            continue;
        };
        let from = k;
        while k < n && edge[at(k)].slit == Some(slit) {
            k += 1;
        }
        // Both run over the same places; the last of them is the first of what follows.
        let tip = from + (k - from) / 2;
        let inward = (from..=tip).map(at).collect();
        let outward = (tip..=k).rev().map(at).collect();
        all.push((slit, [inward, outward]));
    }
    all
}

/// Lips nearer than this (mm) are one: there is nothing to cut out.
const TOGETHER_MM: f64 = 0.02;

/// Draws the lips of darts from their tips outward, bit by bit as each lies to the yarns beside it: sought in cells that
/// end before the cut, a lip would be as rough as what is guessed beyond them. Ends darts where nothing is to be cut out
/// further in.
pub(super) fn part_at_tips(edge: &mut Vec<EdgePlace>, flattening: &Flattening<'_>, spacing: f64) {
    for (_, lips) in runs(edge) {
        for (side, lip) in lips.iter().enumerate() {
            if let Some(drawn) = drawn(edge, lip, side, flattening) {
                let before = edge[lip[0]].flat.at;
                for (&k, &at) in lip.iter().zip(&drawn) {
                    edge[k].flat.at = at;
                }
                shift_beside(edge, lip[0], side, before, spacing);
            }
        }
    }
    let mut stays = vec![true; edge.len()];
    for (_, [inward, outward]) in runs(edge) {
        let n = inward.len();
        let flat = |k: usize| edge[k].flat.at;
        let out = flat(inward[0]) + flat(outward[0]) - 2.0 * flat(inward[n - 1]);
        let apart = |k: usize| {
            let across = flat(outward[k]) - flat(inward[k]);
            out.normalize_or_zero().perp_dot(across)
        };
        let open = (0..n).take_while(|&k| apart(k) > TOGETHER_MM).count();
        if open == 0 && apart(0) < -TOGETHER_MM || open + 1 >= n {
            continue;
        }
        // The first pair that is together is the tip; without one that is apart there is no dart.
        let tip = (flat(inward[open]) + flat(outward[open])) / 2.0;
        edge[inward[open]].flat.at = tip;
        (inward[open + 1..].iter()).for_each(|&k| stays[k] = false);
        (outward[open..n - 1].iter()).for_each(|&k| stays[k] = false);
        if open == 0 {
            edge[inward[0]].slit = None;
        }
    }
    let mut stays = stays.into_iter();
    edge.retain(|_| stays.next() == Some(true));
}

/// A lip from its mouth on, `side` 0 inward and 1 outward, on the flat cloth: as long as its bits are, and from where it
/// began towards where it ended before.
fn drawn(
    edge: &[EdgePlace],
    lip: &[usize],
    side: usize,
    flattening: &Flattening<'_>,
) -> Option<Vec<DVec2>> {
    let flat = |k: &usize| edge[*k].flat.at;
    let (mouth, tip) = (flat(lip.first()?), flat(lip.last()?));
    let mut at = DVec2::ZERO;
    let mut drawn = vec![at];
    for pair in lip.windows(2) {
        // A side belongs to the place that it goes on from, round the edge.
        let face = edge[pair[side]].face;
        at += flattening.step(face, edge[pair[0]].at, edge[pair[1]].at)?;
        drawn.push(at);
    }
    // Over many bits the direction drifts a little, the length does not.
    let aim = (tip - mouth).try_normalize()?;
    let own = at.try_normalize()?;
    let turn = aim.rotate(DVec2::new(own.x, -own.y));
    Some(
        drawn
            .into_iter()
            .map(|bit| tip + turn.rotate(bit - at))
            .collect(),
    )
}

/// Over so many cells the edge beside a mouth goes with it.
const BESIDE: f64 = 4.0;

/// The edge beside a mouth, which came from `before`: it goes with the mouth, the less the further off it is.
fn shift_beside(edge: &mut [EdgePlace], mouth: usize, side: usize, before: DVec2, spacing: f64) {
    let n = edge.len();
    let off = edge[mouth].flat.at - before;
    let mut way = 0.0;
    let mut k = mouth;
    for _ in 0..n {
        // Away from the lip.
        let next = if side == 0 {
            (k + n - 1) % n
        } else {
            (k + 1) % n
        };
        way += edge[k].at.distance(edge[next].at);
        let is_lip = edge[if side == 0 { next } else { k }].slit.is_some();
        if is_lip || way >= BESIDE * spacing {
            break;
        }
        edge[next].flat.at += off * (1.0 - way / (BESIDE * spacing));
        k = next;
    }
}

/// The places of an edge without its lips: the mouths are bridged.
pub(super) fn without_lips(edge: &[EdgePlace]) -> Vec<EdgePlace> {
    let n = edge.len();
    let is_mouth = |k: usize| edge[k].slit.is_none() || edge[(k + n - 1) % n].slit.is_none();
    (0..n).filter(|&k| is_mouth(k)).map(|k| edge[k]).collect()
}
