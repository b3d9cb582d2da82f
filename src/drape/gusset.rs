//! Gussets: what of the mould a cloth leaves bare where a relief cut opens is laid with a piece of the same cloth.
//!
//! It lies on the gap as a cloth of its own, its yarns between those on both sides; it laps onto these along both lips and
//! past the tip, and ends with the part at the mouth.

use glam::{DQuat, DVec2, DVec3};

use super::dart::lips;
use super::flat::Flattening;
use super::lay::{LaidCloth, Task};
use super::net::Net;
use super::outline::EdgePlace;
use super::proof::DrapeProof;
use super::trim::{TrimChoice, Trimmed};
use super::{Darts, LayChoice, SIMPLIFY_MM, Shear};
use crate::geometry::{Join, Outline, Point, Ring, Vector, clip, offset};
use crate::mould::area::EdgeSide;
use crate::mould::slit::GapArea;
use crate::mould::surface::Spot;

/// A piece that is let into a relief cut.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct Gusset {
    /// What of the mould it covers alone, mm².
    pub mould_area: f64,
    /// As much of it, flat: in the frame of [`super::Drape::outline`], its tip on that of the cut, mm.
    pub bare: Outline,
    /// The same with its laps, as far as the part goes.
    pub net: Outline,
    /// Each lip of the cut on it, from the mouth to the tip.
    pub lips: [Vec<Point>; 2],
    /// The largest shear of what it covers alone.
    pub shear: Shear,
    /// How wide the cut opens at its mouth, mm.
    pub opens: f64,
    /// How far it laps on the mould, mm.
    pub lap: f64,
    /// As it is cut with each trim.
    cuts: Vec<(TrimChoice, Outline)>,
    proof: DrapeProof,
}

impl Gusset {
    /// As it is cut: with a trim at its mouth, if there is one.
    pub(crate) fn cut(&self, trim: Option<TrimChoice>) -> &Outline {
        let of = |choice| self.cuts.iter().find(|(own, _)| *own == choice);
        trim.and_then(of).map_or(&self.net, |(_, cut)| cut)
    }

    /// Whether its mould bears out an area of what it covers alone, mm².
    pub(crate) fn is_borne_out(&self, bare: f64) -> bool {
        self.proof.denies(bare, &[]).is_none()
    }
}

/// The net of a gusset has so many crossings across its mouth at least, and its cloth is laid anew, each time finer by this
/// factor, until the mould bears it out.
const ACROSS: f64 = 4.0;
const FINER: f64 = 0.7;
const MOST_ANEW: i32 = 6;

/// It is put down this share of the way from the tip to the mouth.
const START: f64 = 0.7;

/// The yarns beside it are those so far (in crossings of the net) off its lips.
const BESIDE: f64 = 2.0;

/// Beyond all that is cut, mm.
const FAR_MM: f64 = 1e4;

/// A relief cut on the mould: the lips of the cloth that is cut, each from the mouth to the tip.
pub(super) struct ReliefLips<'a> {
    pub(super) lips: &'a [Vec<EdgePlace>; 2],
    pub(super) net: &'a Net,
}

impl Task<'_> {
    /// The gusset for what lies in `gap` of a cloth with these lips; `turn` is from its warp to the frame of outlines. `None`
    /// where it cannot lie there.
    pub(super) fn gusset(
        &self,
        gap: &GapArea,
        beside: &ReliefLips<'_>,
        turn: impl Fn(DVec2) -> Point,
    ) -> Option<Gusset> {
        let [right, left] = beside.lips;
        let mouths = [right.first()?, left.first()?].map(|place| place.at);
        let tip = right.last()?;
        let opens = mouths[0].distance(mouths[1]);
        let inside = |face: u32| gap.area.inside[face as usize];
        let start = tip.at.lerp(mouths[0].midpoint(mouths[1]), START);
        let start = gap.area.surface.nearest(start, inside)?;
        let normal = gap.area.surface.normal(start.face);
        let bisector = beside.bisector(normal)?;
        let about = |degrees: f64| DQuat::from_axis_angle(normal, degrees.to_radians());
        let zero = about(-45.0 - self.angle_deg) * bisector;
        let lay = LayChoice {
            start: Some(start.at.to_array()),
            zero: Some(zero.to_array()),
            darts: Darts::No,
            dart_lines: Vec::new(),
            ..self.lay.clone()
        };
        let lap = self.lay.gusset_lap;
        let reach = self.trims.iter().map(|trim| trim.by).fold(lap, f64::max);
        let all_round = [TrimChoice {
            by: reach,
            join: Join::Round,
        }];
        let first = self.spacing.min(opens / ACROSS);
        (0..MOST_ANEW).find_map(|k| {
            let task = Task {
                lay: &lay,
                start: start.at,
                zero,
                spacing: first * FINER.powi(k),
                trims: &all_round,
                cuts: &[],
                ..*self
            };
            let laid = task.lay(&gap.area, self.smoothing())?;
            let proof = DrapeProof::of(&laid.net, &gap.area, self.fibres, &[]);
            let flat = FlatGusset {
                gap,
                laid: &laid,
                lap,
                tip: turn(tip.flat.at),
                turn: &turn,
            };
            let bare = flat.bare()?;
            if proof.denies(bare.area(), &[]).is_some() {
                return None;
            }
            let grown = flat.grown(reach)?;
            let net = flat.within_part(&grown, 0.0)?;
            let of_trim = |&trim: &TrimChoice| Some((trim, flat.within_part(&grown, trim.by)?));
            Some(Gusset {
                mould_area: gap.area.on_mould(),
                cuts: self.trims.iter().map(of_trim).collect::<Option<_>>()?,
                lips: flat.lips()?,
                bare,
                net,
                shear: laid.most(),
                opens,
                lap,
                proof,
            })
        })
    }
}

impl ReliefLips<'_> {
    /// The mean of the directions between warp and weft on both sides of the cut, in the plane across `normal`.
    fn bisector(&self, normal: DVec3) -> Option<DVec3> {
        let mut sum = DVec3::ZERO;
        for (lip, side) in self.lips.iter().zip([-1.0, 1.0]) {
            let [mouth, tip] = [lip.first()?, lip.last()?].map(|place| place.flat.at);
            let aside = (mouth - tip).try_normalize()?.perp() * side;
            let s = self.net.spacing;
            let at = tip.lerp(mouth, START) + aside * (BESIDE * s);
            let cell = (at / s).floor();
            let cell = self.net.cell_number((cell.x as i32, cell.y as i32))?;
            let [a, b, c, d] = self.net.corners_at(cell);
            let (warp, weft) = ((b - a + c - d), (d - a + c - b));
            sum += (warp.try_normalize()? + weft.try_normalize()?).try_normalize()?;
        }
        (sum - normal * normal.dot(sum)).try_normalize()
    }
}

/// A gusset on the flat cloth.
struct FlatGusset<'a, F> {
    gap: &'a GapArea,
    laid: &'a LaidCloth,
    lap: f64,
    /// Where its tip is to lie.
    tip: Point,
    turn: F,
}

impl<F: Fn(DVec2) -> Point> FlatGusset<'_, F> {
    fn edge(&self) -> Option<&Vec<EdgePlace>> {
        self.laid.edges.as_ref().ok()?.first()
    }

    /// Its lips as places, each from the mouth to the tip.
    fn lip_places(&self) -> Option<[Vec<EdgePlace>; 2]> {
        let mut all = lips(self.edge()?, &self.gap.area.tips);
        (all.len() == 1).then(|| all.swap_remove(0).1)
    }

    /// In the frame of outlines.
    fn placed(&self) -> Option<impl Fn(DVec2) -> Point> {
        let [lip, _] = self.lip_places()?;
        let own = (self.turn)(lip.last()?.flat.at);
        let by = self.tip - own;
        Some(move |p: DVec2| (self.turn)(p) + by)
    }

    fn lips(&self) -> Option<[Vec<Point>; 2]> {
        let placed = self.placed()?;
        let lips = self.lip_places()?;
        Some(lips.map(|lip| lip.iter().map(|place| placed(place.flat.at)).collect()))
    }

    fn bare(&self) -> Option<Outline> {
        let placed = self.placed()?;
        let points = self.edge()?.iter().map(|place| placed(place.flat.at));
        Ring::new(points).ok().map(Outline::solid)
    }

    /// With its laps, and `by` mm beyond the mouth.
    fn grown(&self, by: f64) -> Option<Outline> {
        let choice = TrimChoice {
            by,
            join: Join::Round,
        };
        let flattening = Flattening::new(&self.laid.net, &self.gap.area);
        let edges = self.laid.edges.as_ref().ok()?;
        let placed = self.placed()?;
        let on_mould = Trimmed::of(
            (choice, Some(self.lap)),
            &self.gap.area,
            edges,
            &flattening,
            &placed,
        );
        match on_mould {
            Some(trimmed) => Some(trimmed.outline),
            // The mould ends all round: flat, then.
            None => offset(&self.bare()?, self.lap.max(by), Join::Round).ok(),
        }
    }

    /// What of `grown` lies within the edge of the part and `beyond` mm past it.
    fn within_part(&self, grown: &Outline, beyond: f64) -> Option<Outline> {
        let part = self.part_by_mouth()?;
        let part = offset(&part, beyond, Join::Round).ok()?;
        let common = clip::common(grown, &part).into_iter();
        let largest = common.max_by(|a, b| a.area().total_cmp(&b.area()))?;
        Some(Outline::solid(largest.outer).simplified(SIMPLIFY_MM))
    }

    /// The part round the mouth, and far in: its edge as it lies on the flat cloth of the gusset.
    fn part_by_mouth(&self) -> Option<Outline> {
        let placed = self.placed()?;
        let flattening = Flattening::new(&self.laid.net, &self.gap.area);
        let edge = &self.gap.part_edge;
        let n = edge.len();
        let is_mouth = |side: &EdgeSide| self.gap.area.inside[side.face as usize];
        let is_mouth = |k: usize| is_mouth(&edge[k % n]);
        // From a side that is none.
        let first = (0..n).find(|&k| !is_mouth(k) && is_mouth(k + 1))? + 1;
        let count = (first..first + n).take_while(|&k| is_mouth(k)).count();
        let surface = &self.gap.area.surface;
        let flat = |side: &EdgeSide, at: DVec3| {
            let at = at.lerp(surface.middle(side.face), 1e-9);
            let place = flattening.place(Spot {
                face: side.face,
                at,
            })?;
            Some(placed(place.at))
        };
        let far = self.lap * 2.0;
        let mouth = edge[first % n].from;
        let near = |at: DVec3| at.distance(mouth) < far + edge_length(edge, first, count);
        let before = (1..n - count).map(|k| &edge[(first + n - k) % n]);
        let before = before.map_while(|side| near(side.from).then(|| flat(side, side.from))?);
        let mut line: Vec<Point> = before.collect();
        line.reverse();
        line.extend((first..first + count).filter_map(|k| flat(&edge[k % n], edge[k % n].from)));
        let after = (first + count..first + n).map(|k| &edge[k % n]);
        line.extend(after.map_while(|side| near(side.from).then(|| flat(side, side.from))?));
        // Straight on both ways, and round the tip.
        let (from, to) = (*line.first()?, *line.last()?);
        let along = to - from;
        let along = along * (FAR_MM / along.length());
        let left = Vector::new(-along.y, along.x);
        let corners = [
            to + along,
            to + along + left,
            from - along + left,
            from - along,
        ];
        Ring::new(line.into_iter().chain(corners))
            .ok()
            .map(Outline::solid)
    }
}

fn edge_length(edge: &[EdgeSide], first: usize, count: usize) -> f64 {
    let sides = (first..first + count).map(|k| &edge[k % edge.len()]);
    sides.map(|side| side.from.distance(side.to)).sum()
}
