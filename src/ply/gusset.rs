//! Gussets: pieces of a ply that are let in where a cut in it opens on the mould.

use super::{Piece, Splice, marks, turns};
use crate::drape::{Gusset, Relief};
use crate::geometry::{Turn, offset};
use crate::inputs::trim_on_mould;

/// The letters of gussets in the order of their cuts; pieces of a divided ply begin at A.
pub(crate) fn letters() -> impl Iterator<Item = char> {
    'G'..='Z'
}

/// Of so many pieces a ply may be divided that has gussets, too.
pub(super) const MOST_BESIDE: usize = 6;

impl Piece {
    /// Whether it is let in where a cut of its ply opens on the mould.
    #[must_use]
    pub fn is_gusset(&self) -> bool {
        self.relief().is_some()
    }

    /// The cut that it is let into, with it, if it is a gusset.
    #[must_use]
    pub fn relief(&self) -> Option<&Relief> {
        let splice = self.splice.as_ref()?;
        let mut reliefs = self.drape()?.reliefs().iter().zip(letters());
        let (relief, _) = reliefs.find(|(_, letter)| *letter == splice.letter)?;
        splice.joints.is_empty().then_some(relief)
    }

    /// The gussets of a ply in one piece, whose outline as drawn is turned by `turn`.
    pub(super) fn gussets(&self, turn: Turn) -> Vec<Self> {
        let reliefs = self.drape().map_or(&[][..], |drape| drape.reliefs());
        let pieces = reliefs.iter().zip(letters());
        pieces
            .map(|(relief, letter)| self.gusset(&relief.gusset, letter, reliefs.len(), turn))
            .collect()
    }

    fn gusset(&self, gusset: &Gusset, letter: char, n: usize, turn: Turn) -> Self {
        let cutting = &self.ply().cutting;
        let net = turn.outline(&gusset.net);
        let cut = match trim_on_mould(self.ply()) {
            Some(trim) => turn.outline(gusset.cut(Some(trim))),
            // Whose step or cloth lets no trim be measured there gets it all round.
            None => {
                offset(&net, cutting.trim.to_mm(), cutting.join).unwrap_or_else(|_| net.clone())
            }
        };
        let (cut, net) = (cut.writable(), net.writable());
        let [right, left] = &gusset.lips;
        let mouths = [right, left].into_iter().filter_map(|lip| lip.first());
        let mouths = mouths.map(|&p| turn.apply(p));
        let tip = right.last().map(|&p| turn.apply(p));
        Self {
            on_bias: turns::lies_on_bias(self.cloth().weave, &cut.outer, self.zero, self.warp()),
            marks: marks::of_gusset(tip, mouths, &net.outer, &cut.outer),
            circles: Vec::new(),
            splice: Some(Splice {
                letter,
                of: n + 1,
                joints: Vec::new(),
                lap_area: (net.area() - gusset.bare.area()).max(0.0),
                clear: cut.clone(),
            }),
            cut,
            net,
            ..self.clone()
        }
    }
}
