//! What two splice lines leave of a ply, in the frame where the lines are level.

use crate::cloth::Cloth;
use crate::geometry::{Bounds, Face, Outline, Point, Turn, clip};
use crate::ply::Piece;
use crate::units::Angle;

/// A piece that is wider than the cloth by less than this (mm) fits.
const EXACT_FIT_MM: f64 = 1e-6;

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
                .filter(|t| t.face == Face::Up)
                .map(|t| (t.angle - frame.angle).as_rotation())
                .collect(),
            frame,
            cloth,
        }
    }

    /// The pieces between the lines at `from` and `to` (infinite for the ends of the ply), from left
    /// to right; none if one of them does not fit the cloth, is a useless strip, or is not one
    /// connected piece of part with its allowance.
    pub(super) fn between(&self, from: f64, to: f64) -> Option<Vec<Part>> {
        let half = self.lap / 2.0;
        let (low, high) = (from - half, to + half);
        let least = LEAST_STRIP_MM.max(2.0 * self.lap);
        let mut nets = clip::band(&self.net, low, high);
        let cuts = clip::band(&self.cut, low, high);
        if nets.is_empty() || nets.len() != cuts.len() {
            return None;
        }
        let mut parts = Vec::new();
        for cut in cuts {
            let inside = |net: &Outline| net.outer.points().iter().all(|&p| near(&cut, p));
            let net = nets.swap_remove(nets.iter().position(inside)?);
            let boxes = self.boxes(&cut);
            if boxes.is_empty() || net.bounds().height() < least {
                return None;
            }
            parts.push(Part { cut, net, boxes });
        }
        Some(parts)
    }

    /// Extents of `cut` along and across the roll in the permitted turns in which it fits.
    fn boxes(&self, cut: &Outline) -> Vec<(f64, f64)> {
        let usable = self.cloth.usable_width().to_mm();
        self.turns
            .iter()
            .filter_map(|&turn| {
                let turn = Turn::rotation(turn);
                let bounds = Bounds::of(cut.outer.points().iter().map(|&p| turn.apply(p)))?;
                (bounds.height() <= usable + EXACT_FIT_MM)
                    .then_some((bounds.width(), bounds.height()))
            })
            .collect()
    }
}

/// Whether `p` lies in the box of `cut`, and in or on it as far as a point on the edge can tell.
fn near(cut: &Outline, p: Point) -> bool {
    const ON_EDGE_MM: f64 = 0.02;
    let b = cut.bounds();
    let boxed = p.x >= b.min.x - ON_EDGE_MM
        && p.x <= b.max.x + ON_EDGE_MM
        && p.y >= b.min.y - ON_EDGE_MM
        && p.y <= b.max.y + ON_EDGE_MM;
    let on_edge = |(a, b)| crate::geometry::distance::point_to_segment(p, a, b) <= ON_EDGE_MM;
    boxed && (cut.outer.contains(p) || cut.outer.edges().any(on_edge))
}
