//! Pushes that also turn: at the middle of the overlap of two convex parts.
//!
//! A push shares itself between shifting and turning as a blow does: by mass and by moment of
//! inertia, all masses alike (position-based dynamics: Müller, Heidelberger, Hennix and Ratcliff
//! 2007, Journal of Visual Communication and Image Representation 18).

use super::bodies::{Bodies, Contact};
use crate::geometry::Bounds;
use crate::nest::push::{Pushed, push_length};
use crate::nest::strip::{Pose, Poses};

/// Remembers, for each pair of parts, the axis that told them apart last.
impl Pushed<Vec<u32>> for Bodies<'_> {
    const PROMISING: f64 = 0.8;

    fn unit(&self) -> f64 {
        self.scene.unit
    }

    fn boxes(&self) -> Vec<Bounds> {
        (0..self.len()).map(|k| self.bounds(k)).collect()
    }

    fn meet(&self, (i, j): (usize, usize)) -> Option<Vec<u32>> {
        Some(vec![0; self.n_part_pairs(i, j)])
    }

    fn push(&mut self, pair: (usize, usize), axes: &mut Vec<u32>, _sweep: usize) -> f64 {
        let mut total = 0.0;
        self.contacts(pair, axes, &mut |bodies, contact| {
            total += contact.depth;
            push_contact(bodies, pair, &contact);
        });
        total
    }

    fn confine_all(&mut self) -> f64 {
        let mut out = 0.0;
        for piece in 0..self.len() {
            if !self.is_inside(piece) {
                out += self.overhang(piece);
                self.confine(piece);
            }
        }
        out
    }

    fn poses(&self) -> Poses {
        self.poses()
    }

    fn way_from(&self, piece: usize, from: Pose) -> f64 {
        let pose = self.pose(piece);
        let swept = self.radius(piece) * (pose.tilt - from.tilt).abs().to_radians();
        pose.at.distance(from.at) + swept
    }
}

/// Pushes both pieces of a contact apart.
fn push_contact(bodies: &mut Bodies, (i, j): (usize, usize), contact: &Contact) {
    let way = contact.way;
    let lever_i = contact.centre;
    let lever_j = contact.centre - (bodies.pose(j).at - bodies.pose(i).at);
    let turn_i = bodies.turn_for_push(i, lever_i, -way);
    let turn_j = bodies.turn_for_push(j, lever_j, way);
    // How far the contact opens for each mm that both middles are pushed.
    let opens = 2.0 + turn_i * lever_i.cross(-way) + turn_j * lever_j.cross(way);
    let push = push_length(contact.depth, bodies.scene.unit) / opens;
    bodies.shove(i, way * -push, (turn_i * push).to_degrees());
    bodies.shove(j, way * push, (turn_j * push).to_degrees());
}
