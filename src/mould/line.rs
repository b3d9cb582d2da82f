//! Closed lines around a part, as they are seen from one side of its mould.

use glam::{DVec2, DVec3};

use super::area::ClosedLine;
use super::cut::Triangles;
use crate::geometry::{Outline, Ring};

/// A drawing of a line around a part and of openings in it, seen from one side of the mould.
#[derive(Clone, Debug, PartialEq)]
pub struct LineSeen {
    /// The way from the drawing to the mould; up on the drawing is z, or y where the way is along z.
    pub along: [f64; 3],
    /// Where the origin of the drawing lies, mm.
    pub at: [f64; 3],
    /// What is drawn, mm.
    pub outline: Outline,
}

/// A way so near to z (by the sine of the angle between) goes along it.
const ALONG_Z: f64 = 1e-6;

impl LineSeen {
    /// The way from the mould to the drawing.
    pub(super) fn from(&self) -> DVec3 {
        -DVec3::from_array(self.along).normalize_or_zero()
    }
}

/// Closed lines in the plane of who looks at them.
#[derive(Clone, Debug)]
pub(super) struct SeenRings {
    right: DVec3,
    up: DVec3,
    edges: Vec<[DVec2; 2]>,
}

/// The sides of a closed line with these corners.
fn closed(points: Vec<DVec2>) -> Vec<[DVec2; 2]> {
    let next = points.iter().cycle().skip(1);
    points.iter().zip(next).map(|(a, b)| [*a, *b]).collect()
}

impl SeenRings {
    pub(super) fn of_line(line: &ClosedLine) -> Self {
        let axes = [DVec3::X, DVec3::Y, DVec3::Z];
        Self {
            right: axes[(line.axis + 1) % 3],
            up: axes[(line.axis + 2) % 3],
            edges: closed(line.points.iter().copied().map(DVec2::from_array).collect()),
        }
    }

    pub(super) fn of_drawing(line: &LineSeen) -> Self {
        let from = line.from();
        let is_along_z = from.cross(DVec3::Z).length() < ALONG_Z;
        let upright = if is_along_z { DVec3::Y } else { DVec3::Z };
        let right = upright.cross(from).normalize_or_zero();
        let up = from.cross(right);
        let at = DVec3::from_array(line.at);
        let at = DVec2::new(at.dot(right), at.dot(up));
        let edges = |ring: &Ring| {
            let points = ring.points().iter();
            closed(points.map(|p| at + DVec2::new(p.x, p.y)).collect())
        };
        Self {
            right,
            up,
            edges: line.outline.rings().flat_map(edges).collect(),
        }
    }

    /// A closed line with these corners, seen from where it encloses most.
    pub(super) fn round(points: &[DVec3]) -> Self {
        let next = points.iter().cycle().skip(1);
        let from: DVec3 = points.iter().zip(next).map(|(a, b)| a.cross(*b)).sum();
        let right = from.any_orthogonal_vector().normalize_or_zero();
        let up = from.cross(right).normalize_or_zero();
        let seen = |p: &DVec3| DVec2::new(p.dot(right), p.dot(up));
        Self {
            right,
            up,
            edges: closed(points.iter().map(seen).collect()),
        }
    }

    fn project(&self, p: DVec3) -> DVec2 {
        DVec2::new(p.dot(self.right), p.dot(self.up))
    }

    /// Whether a place is seen within the lines, and not in an opening.
    pub(super) fn contains(&self, p: DVec3) -> bool {
        let p = self.project(p);
        let crosses = |[a, b]: &[DVec2; 2]| {
            (a.y > p.y) != (b.y > p.y) && p.x < a.x + (b.x - a.x) * (p.y - a.y) / (b.y - a.y)
        };
        self.edges.iter().filter(|edge| crosses(edge)).count() % 2 == 1
    }

    /// How far (mm) a place is seen from the lines.
    pub(super) fn distance(&self, p: DVec3) -> f64 {
        let p = self.project(p);
        let off = |&[a, b]: &[DVec2; 2]| {
            let along = b - a;
            let t = (p - a).dot(along) / along.length_squared().max(f64::MIN_POSITIVE);
            (a + along * t.clamp(0.0, 1.0)).distance(p)
        };
        self.edges.iter().map(off).fold(f64::INFINITY, f64::min)
    }

    /// Cuts the triangles that a side of the lines passes.
    pub(super) fn cut(&self, triangles: &mut Triangles) {
        let box_of = |triangles: &Triangles, face: u32| {
            let corners = triangles.faces[face as usize];
            let [a, b, c] = corners.map(|c| self.project(triangles.points[c as usize]));
            [a.min(b).min(c), a.max(b).max(c)]
        };
        let mut boxes: Vec<[DVec2; 2]> = (0..triangles.faces.len() as u32)
            .map(|face| box_of(triangles, face))
            .collect();
        let meeting = |boxes: &[[DVec2; 2]], [low, high]: [DVec2; 2]| -> Vec<u32> {
            let meets = |b: &[DVec2; 2]| b[0].cmple(high).all() && b[1].cmpge(low).all();
            let all = boxes.iter().zip(0..);
            all.filter(|(b, _)| meets(b))
                .map(|(_, face)| face)
                .collect()
        };
        for &[a, b] in &self.edges {
            let along = b - a;
            let length = along.length();
            if length == 0.0 {
                continue;
            }
            let unit = along / length;
            let height = |p: DVec3| unit.perp_dot(self.project(p) - a);
            let passes = |corners: [DVec3; 3]| {
                let along = corners.map(|p| unit.dot(self.project(p) - a));
                let before = along.iter().all(|&t| t < 0.0);
                let after = along.iter().all(|&t| t > length);
                !before && !after
            };
            let near = meeting(&boxes, [a.min(b), a.max(b)]);
            let around = near.iter().map(|&face| boxes[face as usize]);
            let Some(around) = around.reduce(|[p, q], [low, high]| [p.min(low), q.max(high)])
            else {
                continue;
            };
            // Neighbours share an edge with what is cut.
            let among = meeting(&boxes, around);
            triangles.cut_some([&near, &among], height, passes);
            let changed = among
                .iter()
                .copied()
                .chain(boxes.len() as u32..triangles.faces.len() as u32);
            for face in changed {
                let own = box_of(triangles, face);
                match boxes.get_mut(face as usize) {
                    Some(known) => *known = own,
                    None => boxes.push(own),
                }
            }
        }
    }
}
