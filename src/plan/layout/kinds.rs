//! Pieces that are alike, as shapes for the nesting engine.

use std::sync::Arc;

use super::pins::Pinned;
use crate::nest::Shape;
use crate::ply::{Piece, RunOn};

/// Pieces that are alike on the cutting table: same cut line, same turns.
pub(in crate::plan) struct Kind<'a> {
    /// The first of them.
    pub like: &'a Arc<Piece>,
    /// Every piece with its set, in the order of the job.
    pub members: Vec<(&'a Arc<Piece>, u32)>,
}

impl<'a> Kind<'a> {
    /// The kinds among `pieces`, in the order of the job, without those that are pinned.
    pub(in crate::plan) fn collect(pieces: &[&'a Arc<Piece>], pinned: &[Pinned]) -> Vec<Self> {
        let mut kinds: Vec<Self> = Vec::new();
        for &piece in pieces {
            let is_free = |set: &u32| pinned.iter().all(|pin| !pin.is(piece, *set));
            let members: Vec<(&Arc<Piece>, u32)> = (1..=piece.sets())
                .filter(is_free)
                .map(|set| (piece, set))
                .collect();
            if members.is_empty() {
                continue;
            }
            let alike = |kind: &&mut Self| {
                kind.like.tolerance() == piece.tolerance()
                    && kind.like.turns() == piece.turns()
                    && RunOn::is_like(kind.like.run_on(), piece.run_on())
                    && kind.like.cut() == piece.cut()
            };
            match kinds.iter_mut().find(alike) {
                Some(kind) => kind.members.extend(members),
                None => kinds.push(Self {
                    like: piece,
                    members,
                }),
            }
        }
        kinds
    }

    pub(in crate::plan) fn cut_area(&self) -> f64 {
        self.like.cut().area() * self.members.len() as f64
    }

    /// The shapes of `kinds`, in their order.
    pub(in crate::plan) fn shapes(kinds: &[Self]) -> Vec<Shape> {
        kinds
            .iter()
            .map(|kind| Shape {
                outline: kind.like.cut().clone(),
                turns: kind.like.turns().to_vec(),
                tolerance: kind.like.tolerance(),
                demand: kind.members.len(),
            })
            .collect()
    }
}
