//! Parts of the plane and what they have in common: union, intersection, difference.

use clipper2_rust::{FillRule, PathD, PathsD, PointD, difference_d, intersect_d, union_subjects_d};
use geo::Simplify;

use super::outline::signed_area;
use super::{Outline, Point, Ring};

/// Decimals of a millimetre that the clipping grid keeps.
const DECIMALS: i32 = 4;

/// What is smaller than this (mm²) is rounding dust along an edge that two regions share.
const DUST_MM2: f64 = 0.5;

/// A part of the plane: any number of outlines that do not overlap.
#[derive(Clone, Debug, Default)]
pub struct Region(PathsD);

impl Region {
    /// The region inside `outline`.
    #[must_use]
    pub fn of(outline: &Outline) -> Self {
        let path = |points: &[Point]| -> PathD {
            points.iter().map(|p| PointD { x: p.x, y: p.y }).collect()
        };
        let mut paths: PathsD = outline.rings().map(|r| path(r.points())).collect();
        for opening in paths.iter_mut().skip(1) {
            opening.reverse();
        }
        Self(paths)
    }

    /// What lies in this or in `other`.
    #[must_use]
    pub fn union(&self, other: &Self) -> Self {
        if self.0.is_empty() {
            return other.clone();
        }
        let all: PathsD = self.0.iter().chain(&other.0).cloned().collect();
        Self(union_subjects_d(&all, FillRule::NonZero, DECIMALS))
    }

    /// What lies in this and in `other`.
    #[must_use]
    pub fn intersection(&self, other: &Self) -> Self {
        Self(intersect_d(&self.0, &other.0, FillRule::NonZero, DECIMALS))
    }

    /// What lies in this and not in `other`.
    #[must_use]
    pub fn difference(&self, other: &Self) -> Self {
        if other.0.is_empty() {
            return self.clone();
        }
        Self(difference_d(&self.0, &other.0, FillRule::NonZero, DECIMALS))
    }

    /// Area in mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        self.rings().map(|points| signed_area(&points)).sum()
    }

    /// Whether it holds no more than rounding dust.
    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.area() < DUST_MM2
    }

    /// Its outlines, each with its openings, largest first; dust is left out.
    #[must_use]
    pub fn outlines(&self) -> Vec<Outline> {
        let (mut outers, mut openings) = (Vec::new(), Vec::new());
        for points in self.rings() {
            let sense = signed_area(&points);
            if sense.abs() < DUST_MM2 {
                continue;
            }
            if let Ok(ring) = Ring::new(points) {
                if sense > 0.0 {
                    outers.push(Outline::solid(ring));
                } else {
                    openings.push(ring);
                }
            }
        }
        // The smallest outline around an opening is the one it lies in.
        outers.sort_by(|a, b| a.outer.area().total_cmp(&b.outer.area()));
        for opening in openings {
            let at = opening.points()[0].towards(opening.points()[1], 0.5);
            if let Some(around) = outers.iter_mut().find(|outline| outline.outer.contains(at)) {
                around.openings.push(opening);
            }
        }
        outers.reverse();
        outers
    }

    fn rings(&self) -> impl Iterator<Item = Vec<Point>> + '_ {
        let point = |p: &PointD| Point::new(p.x, p.y);
        self.0
            .iter()
            .map(move |path| path.iter().map(point).collect())
    }
}

/// `ring` with fewer vertices, nowhere more than `tolerance` mm off; the ring itself where nothing
/// would be left.
#[must_use]
pub fn simplified(ring: &Ring, tolerance: f64) -> Ring {
    let mut line: geo::LineString = ring.points().iter().map(|p| (p.x, p.y)).collect();
    line.close();
    let mut kept = line.simplify(tolerance).0;
    kept.pop();
    let points = kept.iter().map(|c| Point::new(c.x, c.y));
    Ring::new(points).unwrap_or_else(|_| ring.clone())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square(x: f64, y: f64, side: f64) -> Outline {
        let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
        let ring = Ring::new(corners.map(|(dx, dy)| Point::new(x + dx, y + dy)));
        Outline::solid(ring.expect("a square"))
    }

    #[test]
    fn areas_add_up() {
        let (a, b) = (square(0.0, 0.0, 10.0), square(5.0, 5.0, 10.0));
        let (a, b) = (Region::of(&a), Region::of(&b));
        assert_eq!(a.intersection(&b).area(), 25.0);
        assert_eq!(a.union(&b).area(), 175.0);
        assert_eq!(a.difference(&b).area(), 75.0);
        assert!(a.difference(&a).is_empty() && a.difference(&a).outlines().is_empty());
    }

    #[test]
    fn a_frame_with_an_island_comes_apart_into_two_outlines() {
        let outer = Region::of(&square(0.0, 0.0, 100.0));
        let frame = outer.difference(&Region::of(&square(10.0, 10.0, 80.0)));
        let both = frame.union(&Region::of(&square(40.0, 40.0, 20.0)));
        let outlines = both.outlines();
        let areas: Vec<f64> = outlines.iter().map(Outline::area).collect();
        assert_eq!(areas, [3600.0, 400.0]);
        assert_eq!(outlines[0].openings.len(), 1);
    }

    #[test]
    fn fewer_vertices_within_the_tolerance() {
        let circle = Ring::new((0..360).map(|i| {
            let angle = crate::units::Angle::degrees(f64::from(i));
            let (sin, cos) = crate::geometry::trig::sin_cos(angle);
            Point::new(100.0 * cos, 100.0 * sin)
        }))
        .expect("a circle");
        let fewer = simplified(&circle, 0.5);
        assert!(fewer.points().len() < 60);
        assert!((fewer.area() / circle.area() - 1.0).abs() < 0.01);
    }
}
