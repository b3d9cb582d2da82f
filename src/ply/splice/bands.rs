//! What two splice lines leave of a ply, in the frame where the lines are level.

use crate::cloth::Cloth;
use crate::geometry::distance::point_to_segment;
use crate::geometry::{Bounds, Outline, Point, Turn, clip};
use crate::ply::{Piece, fit};
use crate::units::Angle;

/// A piece narrower than this (mm) across the lines is no use, nor one narrower than two laps: it
/// slides when it is wetted out. Common practice, no source.
const LEAST_STRIP_MM: f64 = 40.0;

/// One connected piece between two lines.
#[derive(Clone, Debug)]
pub(super) struct Part {
    pub(super) cut: Outline,
    pub(super) net: Outline,
    /// Extents along and across the roll in each permitted turn that fits.
    pub(super) boxes: Vec<(f64, f64)>,
}

/// Why there are no pieces between two lines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Unfit {
    /// One does not fit the cloth in any permitted turn; then none between lines further apart
    /// does.
    TooLarge,
    /// One is a useless strip, or no one piece of the ply.
    NoPiece,
}

/// A ply that is to be divided by level lines.
pub(super) struct Bands<'a> {
    pub(super) frame: Turn,
    pub(super) cut: Outline,
    pub(super) net: Outline,
    pub(super) lap: f64,
    pub(super) bounds: Bounds,
    /// Permitted turns, face up, relative to the frame.
    turns: Vec<Angle>,
    pub(super) cloth: &'a Cloth,
}

impl<'a> Bands<'a> {
    pub(super) fn new(whole: &Piece, frame: Turn, lap: f64, cloth: &'a Cloth) -> Self {
        let cut = frame.outline(&whole.cut);
        Self {
            net: frame.outline(&whole.net),
            bounds: cut.bounds(),
            cut,
            lap,
            turns: whole
                .turns
                .iter()
                .filter(|turn| {
                    whole
                        .turns
                        .first()
                        .is_some_and(|first| turn.face == first.face)
                })
                .map(|t| (t.angle - frame.angle).as_rotation())
                .collect(),
            frame,
            cloth,
        }
    }

    /// The pieces between the lines at `from` and `to` (infinite for the ends of the ply), from left
    /// to right.
    ///
    /// # Errors
    /// A piece that does not fit the cloth, one that is a useless strip, or one that is not a
    /// connected piece of the ply with its allowance.
    pub(super) fn between(&self, from: f64, to: f64) -> Result<Vec<Part>, Unfit> {
        let half = self.lap / 2.0;
        let (low, high) = (from - half, to + half);
        let least = LEAST_STRIP_MM.max(2.0 * self.lap);
        let cuts: Vec<(Outline, Vec<(f64, f64)>)> = clip::band(&self.cut, low, high)
            .into_iter()
            .map(|cut| {
                let boxes = self.boxes(&cut);
                (cut, boxes)
            })
            .collect();
        if cuts.iter().any(|(_, boxes)| boxes.is_empty()) {
            return Err(Unfit::TooLarge);
        }
        let mut nets = clip::band(&self.net, low, high);
        if nets.is_empty() || nets.len() != cuts.len() {
            return Err(Unfit::NoPiece);
        }
        let mut parts = Vec::new();
        for (cut, boxes) in cuts {
            let own = nets.iter().position(|net| holds(&cut, net));
            let net = nets.swap_remove(own.ok_or(Unfit::NoPiece)?);
            if net.bounds().height() < least {
                return Err(Unfit::NoPiece);
            }
            parts.push(Part { cut, net, boxes });
        }
        Ok(parts)
    }

    /// Extents of `cut` along and across the roll in the permitted turns in which it fits.
    fn boxes(&self, cut: &Outline) -> Vec<(f64, f64)> {
        let sizes = self
            .turns
            .iter()
            .map(|&turn| fit::size_at(cut, Turn::rotation(turn)));
        sizes.filter(|&size| fit::fits(self.cloth, size)).collect()
    }
}

/// Whether `net` lies in `cut`, as far as its box and some of its vertices tell: both are pieces of
/// an outline with its allowance.
fn holds(cut: &Outline, net: &Outline) -> bool {
    const ON_EDGE_MM: f64 = 0.02;
    const PROBES: usize = 8;
    let boxed = cut.bounds().holds(&net.bounds(), ON_EDGE_MM);
    let near = |p: Point| {
        let on_edge = |(a, b)| point_to_segment(p, a, b) <= ON_EDGE_MM;
        cut.outer.contains(p) || cut.outer.edges().any(on_edge)
    };
    let points = net.outer.points();
    let step = points.len().div_ceil(PROBES);
    boxed && points.iter().step_by(step).all(|&p| near(p))
}
