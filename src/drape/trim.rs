//! Trim that is added on the mould: what a cloth needs flat so as to reach so far beyond the part there.
//!
//! From every place of the edge a line runs straight over the triangles, square to the edge, as far as the trim reaches; its
//! end comes on the flat cloth as the net goes on there. Where the mould ends sooner, the trim is added on the flat cloth.

use glam::{DVec2, DVec3};

use super::SIMPLIFY_MM;
use super::flat::Flattening;
use super::net::Net;
use super::outline::EdgePlace;
use crate::geometry::{Join, Outline, Point, Region, Ring, offset, trig};
use crate::mould::area::Area;
use crate::mould::surface::{Spot, Stretch};

/// How far a cloth reaches beyond the part.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct TrimChoice {
    /// On the mould, mm.
    pub(crate) by: f64,
    /// How it goes round corners.
    pub(crate) join: Join,
}

/// A cloth as it is cut with its trim.
#[derive(Clone, Debug)]
pub(crate) struct Trimmed {
    pub(crate) choice: TrimChoice,
    /// In the frame of the cloth's outline, the mouths of its darts bridged.
    pub(crate) outline: Outline,
    /// Along which share of the edge the mould ends within the trim.
    pub(crate) off_mould: f64,
}

/// A mould that turns away by a right angle from one triangle to the next goes on no further.
const ENDS: f64 = 0.0;

/// Between the lines that run out from a corner (radians).
const FAN: f64 = 0.1;

/// How far inward (as a share of the way to the middle of its triangle) a line begins.
const INWARD: f64 = 1e-6;

/// Where the mould ends sooner along more than this share of the edge, all of the trim is added flat.
const MOSTLY: f64 = 0.5;

/// Half the width of the widest cleft that is closed, mm; corners stay.
const CLEFT_MM: f64 = 0.01;
const KEPT: Join = Join::Mitre { limit: 4.0 };

/// A line out from the edge, and where its end lies flat.
struct Outward {
    end: DVec2,
    is_on_mould: bool,
}

/// What `edges` become under each of the `choices`: those of the part on the flat cloth, the mouths of darts bridged.
pub(super) fn trimmed(
    choices: &[TrimChoice],
    area: &Area,
    edges: &[Vec<EdgePlace>],
    net: &Net,
    turned: impl Fn(DVec2) -> Point,
) -> Vec<Trimmed> {
    if choices.is_empty() {
        return Vec::new();
    }
    let flattening = Flattening::new(net, area);
    let of = |&choice: &TrimChoice| Trimmed::of((choice, None), area, edges, &flattening, &turned);
    choices.iter().filter_map(of).collect()
}

impl Trimmed {
    /// With a `lap` along the lips of cuts, if there is one.
    pub(super) fn of(
        (choice, lap): (TrimChoice, Option<f64>),
        area: &Area,
        edges: &[Vec<EdgePlace>],
        flattening: &Flattening<'_>,
        turned: impl Fn(DVec2) -> Point,
    ) -> Option<Self> {
        let ring = |points: &[DVec2]| Ring::new(points.iter().map(|p| turned(*p))).ok();
        let flat = |edge: &Vec<EdgePlace>| -> Vec<DVec2> {
            edge.iter().map(|place| place.flat.at).collect()
        };
        let mut rings = edges.iter().map(|edge| ring(&flat(edge)));
        let net = Outline {
            outer: rings.next()??,
            openings: rings.collect::<Option<_>>()?,
        };
        let mut parts = vec![net];
        let (mut off, mut whole) = (0.0, 0.0);
        for edge in edges {
            let band = TrimBand {
                choice,
                lap,
                area,
                edge,
                flattening,
            };
            for k in 0..edge.len() {
                let (triangles, is_on_mould) = band.beside(k);
                let length = edge[k].at.distance(edge[(k + 1) % edge.len()].at);
                whole += length;
                off += if is_on_mould { 0.0 } else { length };
                let triangles = triangles.iter().filter_map(|triangle| ring(triangle));
                parts.extend(triangles.map(Outline::solid));
            }
        }
        let off_mould = off / whole;
        if off_mould > MOSTLY {
            return None;
        }
        let outline = Region::of_all(&parts).outlines().into_iter().next()?;
        // Rounding may have left clefts between triangles.
        let closed =
            offset(&outline, CLEFT_MM, KEPT).and_then(|grown| offset(&grown, -CLEFT_MM, KEPT));
        Some(Self {
            choice,
            outline: closed.ok()?.simplified(SIMPLIFY_MM),
            off_mould,
        })
    }
}

/// The trim along an edge.
struct TrimBand<'a> {
    choice: TrimChoice,
    /// As of [`Trimmed::of`].
    lap: Option<f64>,
    area: &'a Area,
    edge: &'a [EdgePlace],
    flattening: &'a Flattening<'a>,
}

impl TrimBand<'_> {
    fn side(&self, k: usize) -> [&EdgePlace; 2] {
        let n = self.edge.len();
        [&self.edge[k % n], &self.edge[(k + 1) % n]]
    }

    /// How far it reaches out from a side, mm.
    fn by(&self, side: &EdgePlace) -> f64 {
        let lap = self.lap.filter(|_| side.slit.is_some());
        lap.unwrap_or(self.choice.by)
    }

    /// Out from side `k`, on the mould and flat.
    fn outward(&self, k: usize) -> (DVec3, DVec2) {
        let [a, b] = self.side(k);
        let normal = self.area.surface.normal(a.face);
        let flat = (a.flat.at - b.flat.at).perp().normalize_or_zero();
        ((b.at - a.at).cross(normal).normalize_or_zero(), flat)
    }

    /// What lies beside side `k` and round the corner after it, flat, in triangles: whatever way they fold over one another,
    /// together they leave no gap. And whether the mould goes on along all of it.
    fn beside(&self, k: usize) -> (Vec<[DVec2; 3]>, bool) {
        let ([a, b], [_, c]) = (self.side(k), self.side(k + 1));
        let (out, next) = (self.outward(k), self.outward(k + 1));
        let [by, by_next] = [self.by(a), self.by(b)];
        let first = self.line(a, a.face, out, by);
        let mut round = vec![self.line(b, a.face, out, by)];
        if c.at != b.at {
            let normal = self.area.surface.normal(a.face);
            let turn = trig::atan2_radians(normal.dot(out.0.cross(next.0)), out.0.dot(next.0));
            round.extend(self.corner((b, by.max(by_next)), a.face, out, turn));
            round.push(self.line(b, b.face, next, by_next));
        }
        let is_on_mould = first.is_on_mould && round.iter().all(|line| line.is_on_mould);
        let (here, there) = (a.flat.at, b.flat.at);
        let mut triangles = vec![[here, first.end, round[0].end], [here, round[0].end, there]];
        triangles.extend(
            round
                .windows(2)
                .map(|pair| [there, pair[0].end, pair[1].end]),
        );
        (triangles, is_on_mould)
    }

    /// The lines round an outer corner that turns by so much (radians), between those of its sides.
    fn corner(
        &self,
        (at, by): (&EdgePlace, f64),
        face: u32,
        (out, flat): (DVec3, DVec2),
        turn: f64,
    ) -> Vec<Outward> {
        if turn <= 0.0 {
            return Vec::new();
        }
        let normal = self.area.surface.normal(face);
        let line = |angle: f64, by: f64| {
            let (sin, cos) = trig::sin_cos_radians(angle);
            let out = out * cos + normal.cross(out) * sin;
            let flat = flat * cos + flat.perp() * sin;
            self.line(at, face, (out, flat), by)
        };
        let cos_half = trig::sin_cos_radians(turn / 2.0).1;
        match self.choice.join {
            Join::Mitre { limit } if cos_half * limit >= 1.0 => {
                vec![line(turn / 2.0, by / cos_half)]
            }
            Join::Mitre { .. } | Join::Bevel => Vec::new(),
            Join::Round => {
                let n = (turn / FAN).ceil().max(1.0);
                (1..n as u32)
                    .map(|k| line(turn * f64::from(k) / n, by))
                    .collect()
            }
        }
    }

    /// From a place of the edge out over the mould, `flat` where that does not go on.
    fn line(&self, from: &EdgePlace, face: u32, (out, flat): (DVec3, DVec2), by: f64) -> Outward {
        let surface = &self.area.surface;
        let start = Spot {
            face,
            at: from.at.lerp(surface.middle(face), INWARD),
        };
        let (mut left, mut last) = (by, start);
        let mut before = surface.normal(face);
        // It ends there, or with the mould.
        _ = surface.straight(start, out, |Stretch { face, from, to }| {
            let normal = surface.normal(face);
            if normal.dot(before) <= ENDS {
                return Some(());
            }
            before = normal;
            let length = from.distance(to);
            let share = (left / length).min(1.0);
            last = Spot {
                face,
                at: from.lerp(to, if length > 0.0 { share } else { 1.0 }),
            };
            left = (left - length).max(0.0);
            (left == 0.0).then_some(())
        });
        // A little inward, so that it is on its own triangle.
        last.at = last.at.lerp(surface.middle(last.face), 1e-9);
        let on_mould = self
            .flattening
            .place(last)
            .filter(|place| place.beyond <= 1.0);
        match on_mould {
            Some(place) if left < NO_REST_MM => Outward {
                end: place.at,
                is_on_mould: true,
            },
            // All of it: the jagged border of a mould would show in the cut line.
            _ => Outward {
                end: from.flat.at + flat * by,
                is_on_mould: false,
            },
        }
    }
}

/// What may be left of a trim that lies on the mould, mm.
const NO_REST_MM: f64 = 0.1;
