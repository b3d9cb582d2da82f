//! The surface of what lies on a mould already: where the next ply is laid.

use glam::DVec3;

use super::area::Area;
use super::surface::{NONE, Surface};
use crate::geometry::trig;

/// A corner is not raised further than by this, in the height: over an edge sharper than a right angle the cloth is round.
const MOST: f64 = 1.5;

/// A triangle that keeps less than this of its area, or is turned over, has no room left in its hollow.
const LEAST_LEFT: f64 = 0.05;

impl Area {
    /// The part with its surface `by` mm higher all over. `None` where a hollow is too narrow for that.
    pub(crate) fn raised(&self, by: f64) -> Option<Self> {
        let surface = &self.surface;
        let mut reach = vec![(0.0, 0.0); surface.points().len()];
        for (face, corners) in (0..).zip(surface.faces()) {
            let own = surface.corners(face);
            for k in 0..3 {
                let [a, b, c] = [0, 1, 2].map(|d| own[(k + d) % 3]);
                let angle = (b - a).angle_between(c - a);
                let along = surface.normal(face).dot(surface.corner_normal(corners[k]));
                let (sum, weight) = &mut reach[corners[k] as usize];
                *sum += along * angle;
                *weight += angle;
            }
        }
        // So far along the normal of a corner that the triangles round it lie at the height.
        let raised = |(corner, &p): (u32, &DVec3)| {
            let (sum, weight) = reach[corner as usize];
            let far = if sum > 0.0 {
                (weight / sum).min(MOST)
            } else {
                1.0
            };
            p + surface.corner_normal(corner) * (by * far)
        };
        let points: Vec<DVec3> = (0..).zip(surface.points()).map(raised).collect();
        let next = Surface::new(points, surface.faces().to_vec());
        let has_room = |face: u32| {
            let stays = next.normal(face).dot(surface.normal(face)) > 0.0;
            stays && next.area(face) >= LEAST_LEFT * surface.area(face)
        };
        let mut inside = (0..surface.n_faces()).filter(|&face| self.inside[face as usize]);
        if !inside.all(has_room) {
            return None;
        }
        let mut edges = self.edges.clone();
        for side in edges.iter_mut().flatten() {
            let corners = next.corners(side.face);
            (side.from, side.to) = (corners[side.k], corners[(side.k + 1) % 3]);
        }
        Some(Self {
            surface: next,
            edges,
            ..self.clone()
        })
    }

    /// By how much (radians) the part turns away at most from the way it faces in the mean.
    pub(crate) fn spread_of_normals(&self) -> f64 {
        let inside = || (0..self.surface.n_faces()).filter(|&face| self.inside[face as usize]);
        let sum: DVec3 = inside()
            .map(|face| self.surface.normal(face) * self.surface.area(face))
            .sum();
        let mean = sum.normalize_or_zero();
        let least = inside()
            .filter(|&face| self.surface.across(face) != [NONE; 3])
            .map(|face| self.surface.normal(face).dot(mean))
            .fold(1.0, f64::min);
        trig::atan2_radians((1.0 - least * least).max(0.0).sqrt(), least)
    }
}
