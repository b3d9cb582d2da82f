//! What a file of triangles holds, as a table for people and as JSON for machines.

use std::fmt::Write as _;

use glam::DVec3;
use serde::Serialize;

use super::surface::{NONE, Spot, Surface};
use super::{Mould, place_in_words};
use crate::diag::counted;
use crate::geometry::trig;
use crate::units::{Area, Length};

/// What a mould's file holds; serialises to `moulds` of `inspect --json`.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct MouldInspection {
    /// The file's name as the user gave it.
    pub path: String,
    /// Symbol of the unit in which its numbers were read.
    pub unit: String,
    /// Whether the user stated it; no format does.
    pub unit_is_stated: bool,
    /// How many triangles it has, mended.
    pub triangles: usize,
    /// Its area, mm².
    pub area_mm2: f64,
    /// Its box: the lowest and the highest x, y, z, mm.
    pub box_mm: [[f64; 3]; 2],
    /// What was mended, in words; none if nothing was.
    pub mended: Option<String>,
    /// Its groups, with the area of each.
    pub groups: Vec<GroupInspection>,
    /// What of it may be a part: all that hangs together without a sharp edge, the largest first.
    pub candidates: Vec<CandidateInspection>,
}

/// A group, material or colour of a mould's file.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct GroupInspection {
    /// Its name.
    pub name: String,
    /// Its area, mm².
    pub area_mm2: f64,
}

/// A piece of a mould that hangs together without a sharp edge.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[non_exhaustive]
pub struct CandidateInspection {
    /// Its area, mm².
    pub area_mm2: f64,
    /// A point of it, for `seed`, mm.
    pub seed_mm: [f64; 3],
    /// Its box, mm.
    pub box_mm: [[f64; 3]; 2],
    /// The smallest radius toward the side of the cloth (bulging), mm; none where it bulges nowhere.
    pub smallest_bulge_mm: Option<f64>,
    /// The smallest radius away from it (hollow), mm.
    pub smallest_hollow_mm: Option<f64>,
    /// The largest radius, mm; none where it is flat.
    pub largest_radius_mm: Option<f64>,
    /// All its curvature where it is curved both ways alike (as a ball), degrees: what the cloth's shear has to make up
    /// between the yarns and all round.
    pub bowl_deg: f64,
    /// The same where it is curved one way and the other way across (as a saddle); negative.
    pub saddle_deg: f64,
}

/// Edges that bend more than this (degrees) end a candidate, as `crease` in a job does.
pub(crate) const CREASE_DEG: f64 = 30.0;

/// Most candidates that are told, and the smallest share of the mould that one has.
const MOST: usize = 6;
const LEAST_SHARE: f64 = 0.01;

/// Of all bends along edges, so many are taken for dents of the triangles, not of the mould.
const DENTS: f64 = 0.01;

/// What is flatter (mm, times its own size) is flat.
const FLAT: f64 = 30.0;

impl Mould {
    /// What it holds; `unit_is_stated` says whether the user told its unit, whose symbol is `unit`.
    #[must_use]
    pub fn inspect(&self, unit: &str, unit_is_stated: bool) -> MouldInspection {
        let pieces = pieces(&self.surface);
        let candidates = pieces.iter().map(|piece| candidate(&self.surface, piece));
        MouldInspection {
            path: self.file.clone(),
            unit: unit.to_owned(),
            unit_is_stated,
            triangles: self.n_triangles(),
            area_mm2: self.area(),
            box_mm: self.bounds(),
            mended: self.mended.told(),
            groups: self.group_areas(),
            candidates: candidates.collect(),
        }
    }

    fn group_areas(&self) -> Vec<GroupInspection> {
        let mut areas = vec![0.0; self.names.len()];
        for (face, &group) in self.groups.iter().enumerate() {
            areas[group as usize] += self.surface.area(face as u32);
        }
        let of = |name: &str| {
            let under = self.names.iter().zip(&areas);
            let under = under.filter(|(names, _)| names.iter().any(|known| known == name));
            GroupInspection {
                name: name.to_owned(),
                area_mm2: under.map(|(_, area)| area).sum(),
            }
        };
        let all = self.groups().into_iter().map(of);
        all.filter(|group| group.area_mm2 > 0.0).collect()
    }

    pub(crate) fn surface(&self) -> &Surface {
        &self.surface
    }
}

/// The candidates of `surface` as lists of triangles, the largest first.
pub(crate) fn pieces(surface: &Surface) -> Vec<Vec<u32>> {
    let least = trig::sin_cos_radians(CREASE_DEG.to_radians()).1;
    let mut seen = vec![false; surface.n_faces() as usize];
    let mut pieces: Vec<(f64, Vec<u32>)> = Vec::new();
    for first in 0..surface.n_faces() {
        if seen[first as usize] {
            continue;
        }
        seen[first as usize] = true;
        let mut piece = vec![first];
        let mut at = 0;
        while let Some(&face) = piece.get(at) {
            at += 1;
            for next in surface.across(face) {
                if next != NONE
                    && !seen[next as usize]
                    && surface.normal(face).dot(surface.normal(next)) >= least
                {
                    seen[next as usize] = true;
                    piece.push(next);
                }
            }
        }
        pieces.push((piece.iter().map(|&face| surface.area(face)).sum(), piece));
    }
    let whole: f64 = pieces.iter().map(|(area, _)| area).sum();
    pieces.retain(|(area, _)| *area >= LEAST_SHARE * whole);
    pieces.sort_by(|a, b| b.0.total_cmp(&a.0));
    pieces.truncate(MOST);
    pieces.into_iter().map(|(_, piece)| piece).collect()
}

fn candidate(surface: &Surface, piece: &[u32]) -> CandidateInspection {
    let mut is_in = vec![false; surface.n_faces() as usize];
    piece.iter().for_each(|&face| is_in[face as usize] = true);
    let area: f64 = piece.iter().map(|&face| surface.area(face)).sum();
    let middle = piece
        .iter()
        .map(|&face| surface.middle(face) * surface.area(face))
        .sum::<DVec3>()
        / area;
    let seed = surface.nearest(middle, |face| is_in[face as usize]);
    let corners = piece.iter().flat_map(|&face| surface.corners(face));
    let none = [DVec3::INFINITY, DVec3::NEG_INFINITY];
    let reach = corners.fold(none, |[low, high], p| [low.min(p), high.max(p)]);
    let size = (reach[1] - reach[0]).length();
    let is_inner = inner(surface, piece, &is_in);
    let bends = bends(surface, piece, &is_inner);
    let radius = |bend: f64| {
        (bend > 0.0)
            .then(|| 1.0 / bend)
            .filter(|r| *r < FLAT * size)
    };
    let extreme = |sign: f64| {
        let mut own: Vec<f64> = bends.iter().map(|bend| bend * sign).collect();
        own.sort_by(f64::total_cmp);
        let at = own.len().checked_sub(1)?;
        radius(own[((1.0 - DENTS) * at as f64) as usize])
    };
    let mut sizes: Vec<f64> = bends.iter().map(|bend| bend.abs()).collect();
    sizes.sort_by(f64::total_cmp);
    let least = sizes.get((DENTS * sizes.len() as f64) as usize).copied();
    let [bowl_deg, saddle_deg] = curvature(surface, piece, &is_inner);
    CandidateInspection {
        area_mm2: area,
        seed_mm: seed.map_or(middle, |spot| spot.at).to_array(),
        box_mm: reach.map(|p| p.to_array()),
        smallest_bulge_mm: extreme(1.0),
        smallest_hollow_mm: extreme(-1.0),
        largest_radius_mm: least.and_then(radius),
        bowl_deg,
        saddle_deg,
    }
}

/// How the surface bends along each edge inside a piece, 1/mm: how far the normal turns from end to end, by its length;
/// positive where it bulges toward the cloth. At its edge the normal is that of what lies beyond, too.
fn bends(surface: &Surface, piece: &[u32], is_inner: &[bool]) -> Vec<f64> {
    let mut bends = Vec::new();
    for &face in piece {
        let corners = surface.corners(face);
        for (k, next) in surface.across(face).into_iter().enumerate() {
            let ends = [k, (k + 1) % 3].map(|k| surface.faces()[face as usize][k]);
            let is_inside = ends.iter().all(|&corner| is_inner[corner as usize]);
            if next < face || !is_inside {
                continue;
            }
            let (p, q) = (corners[k], corners[(k + 1) % 3]);
            let normal = |at| surface.smooth_normal(Spot { face, at });
            let along = q - p;
            let length = along.length_squared();
            if length > 0.0 {
                bends.push((normal(q) - normal(p)).dot(along) / length);
            }
        }
    }
    bends
}

/// Of each corner, whether no edge of the piece passes it.
fn inner(surface: &Surface, piece: &[u32], is_in: &[bool]) -> Vec<bool> {
    let mut is_inner = vec![true; surface.points().len()];
    for &face in piece {
        let corners = surface.faces()[face as usize];
        for (k, next) in surface.across(face).into_iter().enumerate() {
            if next == NONE || !is_in[next as usize] {
                is_inner[corners[k] as usize] = false;
                is_inner[corners[(k + 1) % 3] as usize] = false;
            }
        }
    }
    is_inner
}

/// The curvature of a piece in degrees, positive and negative: what is missing of a full turn (or too much) around its
/// inner corners (Gauss and Bonnet). Smaller than a tenth of a degree at a corner it is rounding.
fn curvature(surface: &Surface, piece: &[u32], is_inner: &[bool]) -> [f64; 2] {
    let mut around = vec![0.0_f64; surface.points().len()];
    for &face in piece {
        let corners = surface.faces()[face as usize];
        let places = surface.corners(face);
        for k in 0..3 {
            let (a, b) = (
                places[(k + 1) % 3] - places[k],
                places[(k + 2) % 3] - places[k],
            );
            let angle = trig::atan2_radians(a.cross(b).length(), a.dot(b));
            around[corners[k] as usize] += angle.to_degrees();
        }
    }
    let mut sums = [0.0; 2];
    for (turn, _) in around
        .iter()
        .zip(is_inner)
        .filter(|(turn, inner)| **inner && **turn > 0.0)
    {
        let missing = 360.0 - turn;
        sums[usize::from(missing < 0.0)] += missing;
    }
    sums
}

impl MouldInspection {
    /// It in words: the file, its groups, a line for each candidate.
    #[must_use]
    pub fn table(&self) -> String {
        let assumed = if self.unit_is_stated {
            ""
        } else {
            " (assumed: the file states none)"
        };
        let mut text = format!(
            "{}: unit {}{assumed}, {}, {}\n",
            self.path,
            self.unit,
            counted(self.triangles, "triangle", "triangles"),
            Area::mm2(self.area_mm2).in_m2_and_yd2(),
        );
        let [low, high] = self.box_mm;
        let sides = [0, 1, 2].map(|k| Length::mm(high[k] - low[k]).in_mm_and_inches());
        _ = writeln!(
            text,
            "  {} large, from {} to {}",
            sides.join(" × "),
            place_in_words(low, 1),
            place_in_words(high, 1)
        );
        if let Some(mended) = &self.mended {
            _ = writeln!(text, "  mended: {mended}");
        }
        for group in &self.groups {
            let area = Area::mm2(group.area_mm2).in_m2_and_yd2();
            _ = writeln!(text, "  group {}: {area}", group.name);
        }
        for (k, candidate) in self.candidates.iter().enumerate() {
            _ = writeln!(text, "  {}. {}", k + 1, candidate.told());
        }
        text
    }
}

impl CandidateInspection {
    fn told(&self) -> String {
        let length = |mm: f64| Length::mm(mm).in_mm_and_inches();
        let [low, high] = self.box_mm;
        let sides = [0, 1, 2].map(|k| format!("{:.0}", high[k] - low[k]));
        let mut text = format!(
            "{}, {} mm, seed {}",
            Area::mm2(self.area_mm2).in_m2_and_yd2(),
            sides.join(" × "),
            place_in_words(self.seed_mm, 1),
        );
        let radii = [
            ("bulging", self.smallest_bulge_mm),
            ("hollow", self.smallest_hollow_mm),
        ];
        let radii: Vec<String> = radii
            .into_iter()
            .filter_map(|(how, radius)| Some(format!("{how} {}", length(radius?))))
            .collect();
        match radii.is_empty() {
            true => text.push_str("; flat"),
            false => _ = write!(text, "; smallest radius {}", radii.join(", ")),
        }
        if let Some(largest) = self.largest_radius_mm {
            _ = write!(text, ", largest {}", length(largest));
        }
        // A flat or singly curved part does not shear.
        if self.bowl_deg >= 1.0 || self.saddle_deg <= -1.0 {
            _ = write!(text, "; curvature {:.0}° as a bowl", self.bowl_deg.max(0.0));
            if self.saddle_deg <= -1.0 {
                _ = write!(text, ", {:.0}° as a saddle", -self.saddle_deg);
            }
        } else {
            text.push_str("; cloth need not shear on it");
        }
        text
    }
}
