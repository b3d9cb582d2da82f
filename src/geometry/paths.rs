//! The one bridge to the library that offsets and combines outlines.
//!
//! The library works on an integer grid, so straight edges on it come out exactly where they were
//! asked for. It wants rings by their sense: outer boundaries counter-clockwise, openings clockwise.

use clipper2_rust::{
    EndType, FillRule, JoinType, PathD, PathsD, PointD, difference_d, inflate_paths_d, intersect_d,
    union_subjects_d,
};

use super::outline::signed_area;
use super::{Join, Outline, Point, Ring, Vector, trig};
use crate::memo::Asked;
use crate::units::Angle;

/// Decimals of a millimetre that the grid keeps where outlines are cut or grown.
pub(super) const FINE: i32 = 5;

/// Decimals for whole regions: edges that two of them share should fall together.
pub(super) const COARSE: i32 = 4;

/// Any number of rings in the library's form.
#[derive(Clone, Debug, Default)]
pub(super) struct Paths(PathsD);

/// What the library answers, told apart by sense.
pub(super) struct Sorted {
    pub(super) outers: Vec<Ring>,
    pub(super) openings: Vec<Ring>,
}

impl Paths {
    /// The boundaries of `outline`.
    pub(super) fn of(outline: &Outline) -> Self {
        let mut paths = Self::of_rings(outline.rings());
        for opening in paths.0.iter_mut().skip(1) {
            opening.reverse();
        }
        paths
    }

    /// Each of `rings` as an outer boundary.
    pub(super) fn of_rings<'a>(rings: impl IntoIterator<Item = &'a Ring>) -> Self {
        let point = |p: &Point| PointD { x: p.x, y: p.y };
        let path = |ring: &Ring| -> PathD { ring.points().iter().map(point).collect() };
        Self(rings.into_iter().map(path).collect())
    }

    /// All of them as they are.
    pub(super) fn together(all: impl Iterator<Item = Self>) -> Self {
        Self(all.flat_map(|paths| paths.0).collect())
    }

    /// The question `asked`, with these.
    pub(super) fn asked(&self, asked: Asked) -> Asked {
        let asked = asked.count(self.0.len());
        let paths = self.0.iter();
        paths.fold(asked, |asked, path| {
            asked.places(path.iter().map(|p| [p.x, p.y]))
        })
    }

    /// What lies in these or in `others`.
    pub(super) fn union(&self, others: &Self, grid: i32) -> Self {
        let all: PathsD = self.0.iter().chain(&others.0).cloned().collect();
        Self(union_subjects_d(&all, FillRule::NonZero, grid))
    }

    /// What lies in these and in `others`.
    pub(super) fn intersection(&self, others: &Self, grid: i32) -> Self {
        Self(intersect_d(&self.0, &others.0, FillRule::NonZero, grid))
    }

    /// What lies in these and not in `others`.
    pub(super) fn difference(&self, others: &Self, grid: i32) -> Self {
        Self(difference_d(&self.0, &others.0, FillRule::NonZero, grid))
    }

    /// These grown by `by` mm, or shrunk; chords of round corners lie within `arc_mm` of them.
    pub(super) fn offset(&self, by: f64, join: Join, arc_mm: f64) -> Self {
        let (join, limit) = match join {
            Join::Round => (JoinType::Round, 2.0),
            // The library's comparison loses a corner that lies exactly at the limit.
            Join::Mitre { limit } => (JoinType::Miter, limit * (1.0 + 1e-6)),
            Join::Bevel => (JoinType::Bevel, 2.0),
        };
        let ends = EndType::Polygon;
        let grown = inflate_paths_d(&self.0, by, join, ends, limit, FINE, arc_mm);
        match join {
            JoinType::Bevel if by > 0.0 => Self(grown).union(&self.bends(by, arc_mm), FINE),
            _ => Self(grown),
        }
    }

    /// What lies before the bends, which are corners of a curve's chords, and within `by` of them: a
    /// bevel there would cut the allowance short.
    fn bends(&self, by: f64, arc_mm: f64) -> Self {
        let point = |p: &PointD| Point::new(p.x, p.y);
        let mut bends = PathsD::new();
        for path in &self.0 {
            let around = (path.iter().cycle().zip(path.iter().cycle().skip(1)))
                .zip(path.iter().cycle().skip(2))
                .take(path.len());
            for ((a, b), c) in around {
                let (a, b, c) = (point(a), point(b), point(c));
                bends.extend(bend(a, b, c, by, arc_mm));
            }
        }
        Self(bends)
    }

    /// Whether there are none.
    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Area in mm², openings taken off.
    pub(super) fn area(&self) -> f64 {
        self.points().map(|points| signed_area(&points)).sum()
    }

    /// The rings of more than `least` mm², each with its vertices as `tidy` leaves them.
    pub(super) fn sorted(&self, least: f64, tidy: impl Fn(Vec<Point>) -> Vec<Point>) -> Sorted {
        let (mut outers, mut openings) = (Vec::new(), Vec::new());
        for points in self.points().map(tidy) {
            let is_outer = signed_area(&points) > 0.0;
            match Ring::new(points) {
                Ok(ring) if ring.area() <= least => {}
                Ok(ring) if is_outer => outers.push(ring),
                Ok(ring) => openings.push(ring),
                Err(_) => {}
            }
        }
        Sorted { outers, openings }
    }

    fn points(&self) -> impl Iterator<Item = Vec<Point>> + '_ {
        let points = |path: &PathD| path.iter().map(|p| Point::new(p.x, p.y)).collect();
        self.0.iter().map(points)
    }
}

/// A corner that turns by less than this (degrees) is one of a curve's chords.
const BEND_DEG: f64 = 40.0;

/// The sector between the offsets of the edges from `a` to `b` and on to `c`, where they gape; none
/// at a true corner.
fn bend(a: Point, b: Point, c: Point, by: f64, arc_mm: f64) -> Option<PathD> {
    let (before, after) = (b - a, c - b);
    let turn = trig::atan2_radians(before.cross(after), before.dot(after)).to_degrees();
    if turn <= 0.0 || turn >= BEND_DEG {
        return None;
    }
    let reach = Vector::new(before.y, -before.x) * (by / before.length());
    // A chord over the angle t lies r (1 - cos t/2) ≈ r t²/8 inside its arc.
    let chord = (8.0 * arc_mm / by).sqrt().to_degrees();
    let n = (turn / chord).ceil().clamp(1.0, 100.0) as u32;
    let on_arc = |k: u32| {
        let (sin, cos) = trig::sin_cos(Angle::degrees(turn * f64::from(k) / f64::from(n)));
        b + Vector::new(reach.x * cos - reach.y * sin, reach.x * sin + reach.y * cos)
    };
    let corners = std::iter::once(b).chain((0..=n).map(on_arc));
    Some(corners.map(|p| PointD { x: p.x, y: p.y }).collect())
}

impl Sorted {
    /// Outlines, each with its openings: the smallest one around an opening is its own.
    pub(super) fn outlines(self) -> Vec<Outline> {
        let mut outlines: Vec<Outline> = self.outers.into_iter().map(Outline::solid).collect();
        for opening in self.openings {
            let inside = opening.points()[0].towards(opening.points()[1], 0.5);
            let around = outlines.iter_mut().filter(|o| o.outer.contains(inside));
            let own = around.min_by(|a, b| a.outer.area().total_cmp(&b.outer.area()));
            if let Some(own) = own {
                own.openings.push(opening);
            }
        }
        outlines
    }
}
