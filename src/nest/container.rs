//! Where shapes are placed, and how a container looks to the search.
//!
//! To the search every container is a strip, of some length or without end, and what may not be
//! covered is a set of convex obstacles that lie still. An odd-shaped remnant is its box as a
//! strip, and the obstacles are what the box has and the remnant has not. So containment in any
//! outline costs the search no other kind of test than the one it does best.

use super::shape::grown;
use super::{convex, simplify};
use crate::geometry::{Bounds, Outline, Point};

/// Where shapes are placed. Its edges may be touched; margins to them are the caller's business.
#[derive(Clone, Debug)]
pub struct Container {
    /// Its extent, which fixes the frame of all that lies in it.
    pub extent: Extent,
    /// What may not be covered, in the container's frame.
    pub forbidden: Vec<Forbidden>,
}

/// The extent of a container.
#[derive(Clone, Debug)]
pub enum Extent {
    /// A strip from x = 0 with y from 0 to `width` mm, without end, whose used length is to be
    /// small.
    Strip {
        /// Width in mm.
        width: f64,
    },
    /// A rectangle with x from 0 to `length` mm and y from 0 to `width` mm.
    Sheet {
        /// Length in mm.
        length: f64,
        /// Width in mm.
        width: f64,
    },
    /// What is within this outline, in mm, anywhere in the plane; openings have been cut out
    /// already. An outline that crosses itself holds nothing.
    Remnant(Outline),
}

/// An area that no shape may cover: a flaw, a stain, a seam.
#[derive(Clone, Debug)]
pub struct Forbidden {
    /// Its outline, in mm, in the container's frame. It may stick out of the container.
    pub area: Outline,
    /// Least distance of any shape from it, mm; zero if it may be touched. The gap between shapes
    /// does not count here.
    pub margin: f64,
}

impl Container {
    /// A strip of `width` mm without forbidden areas.
    #[must_use]
    pub const fn strip(width: f64) -> Self {
        Self::of(Extent::Strip { width })
    }

    /// A rectangle of `length` by `width` mm without forbidden areas.
    #[must_use]
    pub const fn sheet(length: f64, width: f64) -> Self {
        Self::of(Extent::Sheet { length, width })
    }

    /// An odd-shaped container without forbidden areas.
    #[must_use]
    pub const fn remnant(outline: Outline) -> Self {
        Self::of(Extent::Remnant(outline))
    }

    const fn of(extent: Extent) -> Self {
        Self {
            extent,
            forbidden: Vec::new(),
        }
    }

    /// Its area in mm², openings taken off, forbidden areas not; infinite for a strip.
    #[must_use]
    pub fn area(&self) -> f64 {
        match &self.extent {
            Extent::Strip { .. } => f64::INFINITY,
            Extent::Sheet { length, width } => length * width,
            Extent::Remnant(outline) => outline.area(),
        }
    }

    /// Whether it has no end.
    pub(super) const fn is_endless(&self) -> bool {
        matches!(self.extent, Extent::Strip { .. })
    }

    /// Whether there is anything to keep off.
    pub(super) fn has_obstacles(&self) -> bool {
        matches!(self.extent, Extent::Remnant(_)) || !self.forbidden.is_empty()
    }

    /// Its box. A strip's is infinitely long.
    #[must_use]
    pub fn bounds(&self) -> Bounds {
        let from_zero = |x: f64, y: f64| Bounds {
            min: Point::default(),
            max: Point::new(x, y),
        };
        match &self.extent {
            Extent::Strip { width } => from_zero(f64::INFINITY, *width),
            Extent::Sheet { length, width } => from_zero(*length, *width),
            Extent::Remnant(outline) => outline.bounds(),
        }
    }

    /// What of its box the container has not, beyond the box by `beyond` mm, as outlines: around
    /// the remnant's outer boundary, and in each of its openings.
    pub(super) fn outside(&self, beyond: f64) -> Vec<Outline> {
        let Extent::Remnant(outline) = &self.extent else {
            return Vec::new();
        };
        outline.outside(beyond)
    }

    /// Area that pieces can cover at most, mm²; infinite for a strip.
    ///
    /// Forbidden areas that overlap each other count twice, so this is no strict bound; it only
    /// shares out work.
    pub(super) fn free_area(&self) -> f64 {
        let forbidden: f64 = self.forbidden.iter().map(|f| f.area.area()).sum();
        (self.area() - forbidden).max(0.0)
    }

    /// Convex parts of all that may not be covered, in the frame whose origin is the corner of the
    /// container's box. Together they hold all of it and a little more where that saves parts.
    ///
    /// Around a remnant they reach `beyond` mm out of its box: the further, the surer the
    /// shallowest way out of them leads in.
    pub(super) fn obstacles(&self, beyond: f64) -> Vec<Vec<Point>> {
        let origin = Point::default() - self.bounds().min;
        let outside = self.outside(beyond);
        let outside = outside.iter().map(|outline| simpler(outline.clone()));
        let forbidden = (self.forbidden.iter()).map(|f| simpler(grown(&f.area, f.margin)));
        outside
            .chain(forbidden)
            .flat_map(|outline| convex::parts(&outline.shifted(origin)))
            .collect()
    }
}

/// Obstacles with no more vertices than this stay as they are.
const FEW_VERTICES: usize = 20;
/// What an obstacle may grow by to save vertices, in the unit of the search. Larger: cloth given away at curved edges;
/// smaller: more parts to test against.
const OBSTACLE_GIVE: simplify::Give = simplify::Give {
    bulges: 0.1,
    hollows: 0.2,
};

fn simpler(outline: Outline) -> Outline {
    let n_vertices: usize = outline.rings().map(|r| r.points().len()).sum();
    if n_vertices <= FEW_VERTICES || convex::triangles(&outline).is_none() {
        return outline;
    }
    simplify::outward(&outline, OBSTACLE_GIVE)
}
