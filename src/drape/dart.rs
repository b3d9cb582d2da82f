//! Darts: where a cloth is cut so that it need not shear more than it bears.
//!
//! Where the mould is domed the shear grows outwards along the longer diagonal of the cells, and across it there is
//! too much cloth. A cut along that diagonal, from where the shear is small out through the edge, lets it out: flat,
//! it opens to a V.

use std::collections::{BTreeMap, BTreeSet};

use glam::{DVec2, DVec3, dvec2};

use super::cuts::{CutCloth, Cuts, NotCut, Reliefs};
use super::flat::Flattening;
use super::lay::{LaidCloth, Task};
use super::net::{Net, NetNode, ShearedCell};
use super::outline::EdgePlace;
use super::relief::{FlatCut, is_saddled_at, straighten};
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

/// A part cut for darts and reliefs, and the cloth laid on it.
pub(super) struct Darted {
    pub(super) area: Area,
    pub(super) reliefs: Reliefs,
    /// The lines along which its darts are cut.
    pub(super) darts: Vec<Vec<DVec3>>,
    /// Where a cut would open on the mould, but cannot be made.
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
    kind: PlanKind,
}

/// What becomes of a cut.
#[derive(Clone, Copy, Debug, PartialEq)]
enum PlanKind {
    /// A V is cut out.
    Dart,
    /// It opens on the mould.
    Relief,
    /// Neither can be made there.
    LeftOut,
}

/// The part cut where darts and reliefs keep the cloth from shearing beyond `locks`: they are added and deepened until
/// nothing does, or nothing gets better. `whole` is the cloth on `base`, which is `area` with the cuts that are `told`.
/// `None` where no cut helps; and whether one would open on the mould that cannot be made.
pub(super) fn where_needed(
    task: &Task<'_>,
    [area, base]: [&Area; 2],
    whole: &LaidCloth,
    told: &Cuts,
    locks: Locks,
) -> (Option<Darted>, bool) {
    let mut plans: Vec<DartPlan> = Vec::new();
    let mut saddled = false;
    let mut least = whole.over(locks);
    if least <= 0.0 {
        return (None, false);
    }
    let mut best: Option<Darted> = None;
    let mut now: Option<(Area, LaidCloth)> = None;
    for _ in 0..ROUNDS {
        let (laid, on) = now
            .as_ref()
            .map_or((whole, base), |(area, laid)| (laid, area));
        let places = too_sheared(&laid.net, &whole.net, &on.inside, locks);
        if !amended(&mut plans, &places, &whole.net) {
            break;
        }
        let mut cuts = told.clone();
        let (mut of_darts, mut of_reliefs) = (Vec::new(), Vec::new());
        for (k, plan) in plans.iter().enumerate() {
            match plan.kind {
                PlanKind::Dart => {
                    if let Some(line) = plan.line(&whole.net) {
                        cuts.darts.push(line);
                        of_darts.push(k);
                    }
                }
                PlanKind::Relief => {
                    if let Some(cut) = plan.relief(task.spacing) {
                        cuts.reliefs.push(cut);
                        of_reliefs.push(k);
                    }
                }
                PlanKind::LeftOut => {}
            }
        }
        let CutCloth { area, laid, gaps } = match cuts.made(task, area) {
            Ok(cut) => cut,
            Err(NotCut::Closed(k)) if k >= told.reliefs.len() => {
                saddled = true;
                plans[of_reliefs[k - told.reliefs.len()]].kind = PlanKind::LeftOut;
                continue;
            }
            Err(_) => {
                saddled |= !of_reliefs.is_empty();
                break;
            }
        };
        let laps = laid.laps();
        let lapping = laps.iter().filter_map(|k| k.checked_sub(told.darts.len()));
        for k in lapping {
            plans[of_darts[k]].opens();
        }
        let over = laid.over(locks);
        if over < least && laps.is_empty() {
            least = over;
            let reliefs = Reliefs {
                cuts: cuts.reliefs,
                gaps,
            };
            best = Some(Darted {
                area: area.clone(),
                reliefs,
                darts: cuts.darts,
                saddled: false,
            });
        }
        if over <= 0.0 && laps.is_empty() {
            break;
        }
        now = Some((area, laid));
    }
    (best.map(|best| Darted { saddled, ..best }), saddled)
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
    /// Along the diagonal there that a cut is to follow, in cells, toward the start.
    inward: DVec2,
    /// The mould between it and the start is saddled.
    is_saddled: bool,
}

/// Places where cells hang together that shear beyond `locks`.
fn too_sheared(net: &Net, whole: &Net, inside: &[bool], locks: Locks) -> Vec<TooSheared> {
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
        places.push(ridge(&piece, &over, whole));
    }
    places
}

fn ridge(piece: &[NetNode], over: &BTreeMap<NetNode, (f64, DVec3)>, whole: &Net) -> TooSheared {
    let middle = |at: NetNode| dvec2(f64::from(at.0) + 0.5, f64::from(at.1) + 0.5);
    let size = |at: &NetNode| over[at].0.abs();
    let worst = piece
        .iter()
        .copied()
        .reduce(|a, b| if size(&b) > size(&a) { b } else { a });
    let worst = worst.unwrap_or_default();
    let (shear, at) = over[&worst];
    let is_saddled = is_saddled_at(whole, worst);
    let diagonal = match is_saddled {
        // Where there is too little cloth round the start, the cut runs out from there.
        true => outward(middle(worst)),
        // Where there is too much, along the longer diagonal of the cells.
        false => dvec2(1.0, shear.signum()),
    };
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
        is_saddled,
    }
}

/// Along the diagonal of the field of a place, away from the start, in cells.
fn outward(at: DVec2) -> DVec2 {
    dvec2(at.x.signum(), at.y.signum())
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
    // A relief helps all of its field: what lies beside it shears less the further in it begins.
    let helps = |k: usize| {
        let plan = &plans[k];
        let is_relief = plan.kind == PlanKind::Relief && place.is_saddled;
        is_relief && outward(plan.worst) == outward(place.worst)
    };
    let near = near
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .filter(|&(off, k)| off < HELPED || helps(k));
    if let Some((_, k)) = near
        && plans[k].n_deeper < MOST_DEEPER
    {
        let plan = &mut plans[k];
        if plan.kind == PlanKind::LeftOut {
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
            kind: match place.is_saddled {
                true => PlanKind::Relief,
                false => PlanKind::Dart,
            },
        })
    }

    /// Flat, its lips lie over one another: on the mould it opens.
    fn opens(&mut self) {
        self.kind = PlanKind::Relief;
        self.inward = -outward(self.worst);
    }

    fn relief(&self, spacing: f64) -> Option<FlatCut> {
        FlatCut::out(self.tip * spacing, -self.inward, spacing)
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
///
/// `tips` are those of cuts whose lips lie apart.
pub(super) fn lips(edge: &[EdgePlace], tips: &[(u32, DVec3)]) -> Vec<(u32, [Vec<EdgePlace>; 2])> {
    let places = |lip: Vec<usize>| lip.into_iter().map(|k| edge[k]).collect();
    let all = runs(edge, tips).into_iter();
    all.map(|(slit, lips)| (slit, lips.map(places))).collect()
}

/// The lips as [`lips`], by the numbers of their places.
fn runs(edge: &[EdgePlace], tips: &[(u32, DVec3)]) -> Vec<(u32, [Vec<usize>; 2])> {
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
        let tip = match tips.iter().find(|(cut, _)| *cut == slit) {
            Some((_, tip)) => (from..=k)
                .min_by(|&a, &b| {
                    let off = |k: usize| edge[at(k)].at.distance_squared(*tip);
                    off(a).total_cmp(&off(b))
                })
                .unwrap_or(from),
            // Both run over the same places; the last of them is the first of what follows.
            None => from + (k - from) / 2,
        };
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
/// further in. Cuts with `tips` of their own open on the mould: flat their lips are those of `cuts`.
pub(super) fn part_at_tips(
    edge: &mut Vec<EdgePlace>,
    flattening: &Flattening<'_>,
    spacing: f64,
    (tips, cuts): (&[(u32, DVec3)], &[FlatCut]),
) {
    let opens = |slit: u32| tips.iter().position(|(cut, _)| *cut == slit);
    for (slit, lips) in runs(edge, tips) {
        if let Some(k) = opens(slit) {
            if let Some(cut) = cuts.get(k) {
                straighten(edge, &lips, cut);
            }
            continue;
        }
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
    for (slit, [inward, outward]) in runs(edge, tips) {
        if opens(slit).is_some() {
            continue;
        }
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
