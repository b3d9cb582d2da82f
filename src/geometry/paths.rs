//! The one bridge to the library that offsets and combines outlines.
//!
//! The library works on an integer grid, so straight edges on it come out exactly where they were
//! asked for. It wants rings by their sense: outer boundaries counter-clockwise, openings clockwise.

use clipper2_rust::{
    EndType, FillRule, JoinType, PathD, PathsD, PointD, difference_d, inflate_paths_d, intersect_d,
    union_subjects_d,
};

use super::outline::signed_area;
use super::{Join, Outline, Point, Ring};

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
        Self(inflate_paths_d(
            &self.0, by, join, ends, limit, FINE, arc_mm,
        ))
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
