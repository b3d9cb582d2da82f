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
        (0..self.n_all()).map(|k| self.bounds(k)).collect()
    }

    fn meet(&self, (i, j): (usize, usize)) -> Option<Vec<u32>> {
        (i.min(j) < self.n_pieces()).then(|| vec![0; self.n_part_pairs(i, j)])
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
        for piece in 0..self.n_pieces() {
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

/// Pushes both pieces of a contact apart, or the one that meets an obstacle off it.
fn push_contact(bodies: &mut Bodies, (i, j): (usize, usize), contact: &Contact) {
    let lever_i = contact.centre;
    let lever_j = contact.centre - (bodies.pose(j).at - bodies.pose(i).at);
    let sides = [(i, lever_i, -contact.way), (j, lever_j, contact.way)];
    let pushed = sides.map(|(k, lever, way)| {
        let turn = bodies.turn_for_push(k, lever, way);
        (k, way, turn, 1.0 + turn * lever.cross(way))
    });
    let movable = pushed.iter().filter(|(k, ..)| *k < bodies.n_pieces());
    // How far the contact opens for each mm that the middles are pushed.
    let opens: f64 = movable.map(|(.., opens)| opens).sum();
    let push = push_length(contact.depth, bodies.scene.unit) / opens;
    for (k, way, turn, _) in pushed {
        if k < bodies.n_pieces() {
            bodies.shove(k, way * push, (turn * push).to_degrees());
        }
    }
}
