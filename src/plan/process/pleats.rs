//! Pleats of a bag: film that is gathered at the tape, so that the bag comes into every hollow.
//!
//! The film is a rectangle, and longer than the tape on each of its sides; a pleat of height h takes up 2·h of that. A pleat
//! on a long side gives film along that side, on the line over the mould from one pleat to the one across from it. So a
//! mould wants on each side as many as the longest line over it is longer than the edge beside it, and no fewer than
//! that line has hollows. The rule is our own, of that a pleat adds twice its height: common practice, no source.

use crate::geometry::Bounds;
use crate::job::{Bagging, MAX_PLEATS};
use crate::mould::extent::FilmExtent;
use crate::units::Length;

/// The pleats of one bag.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct Pleats {
    /// How many there are.
    pub count: u32,
    /// On each long side of the tape line and on each short one, where a mould wants more than the job says.
    pub on_sides: Option<[u32; 2]>,
    /// By how much the line over the mould is longer than the edge of the part, along the long sides and along the short
    /// ones; nothing for a flat part.
    pub over: [Length; 2],
    /// Places in the axes of the part's mould (mm) where that line turns up sharply: without a pleat the film spans them.
    pub hollows: [Vec<[f64; 3]>; 2],
    /// By how much the film is longer than the tape line there.
    pub film: [Length; 2],
}

/// So much more film than the line over the mould: it is pushed into place by hand. Common practice, no source.
const EASE: f64 = 1.05;

/// How far what lies in one bag reaches beyond what is seen of it, along the long and the short sides of its tape, mm.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Reach {
    /// Its edge.
    pub edge: [f64; 2],
    /// The line over it, beyond the edge.
    over: [f64; 2],
    hollows: [usize; 2],
}

impl Reach {
    /// Of a part with a bag of its own.
    pub(super) fn of(extent: &FilmExtent) -> Self {
        let [long, short] = &extent.sides;
        Self {
            edge: [long.edge_more, short.edge_more],
            over: [long.over_more, short.over_more],
            hollows: [long.hollows.len(), short.hollows.len()],
        }
    }

    /// By how much a sheet that lies over it has to be larger than is seen.
    pub(super) fn over(&self) -> [f64; 2] {
        [0, 1].map(|k| self.edge[k] + EASE * self.over[k])
    }

    /// Of parts as they lie in one bag, each in the box around it: on every line across the bag what is on that line.
    pub(super) fn of_all(parts: &[(&FilmExtent, Bounds)]) -> Self {
        // Of each part what it wants along x and along y, and where it lies across that.
        let along = |k: usize| {
            let of = move |(extent, lies): &(&FilmExtent, Bounds)| {
                let is_long = (lies.width() >= lies.height()) == (k == 0);
                let across = match k {
                    0 => [lies.min.y, lies.max.y],
                    _ => [lies.min.x, lies.max.x],
                };
                (Self::of(extent), usize::from(!is_long), across)
            };
            parts.iter().map(of).collect::<Vec<_>>()
        };
        let all = [along(0), along(1)];
        let most = |k: usize, of: &dyn Fn(&Self, usize) -> f64| {
            let on_line = |at: f64| -> f64 {
                let there = all[k].iter().filter(|(.., [a, b])| *a <= at && at < *b);
                there.map(|(reach, side, _)| of(reach, *side)).sum()
            };
            // The most lie on a line where one of them begins.
            let lines = all[k].iter().map(|(.., [from, _])| on_line(*from));
            lines.fold(0.0, f64::max)
        };
        Self {
            edge: [0, 1].map(|k| most(k, &|reach, side| reach.edge[side])),
            over: [0, 1].map(|k| most(k, &|reach, side| reach.over[side])),
            hollows: [0, 1].map(|k| most(k, &|reach, side| reach.hollows[side] as f64) as usize),
        }
    }
}

impl Pleats {
    /// Of a bag over what reaches so far.
    pub(super) fn of(setup: &Bagging, reach: Reach) -> Self {
        let each = 2.0 * setup.pleat_height.to_mm();
        let usual = f64::from(setup.pleats) / 4.0;
        let wanted = [0, 1].map(|k| {
            let by_length = match each > 0.0 {
                true => (EASE * reach.over[k] / each).ceil(),
                false => 0.0,
            };
            by_length
                .max(reach.hollows[k] as f64)
                .min(f64::from(MAX_PLEATS))
        });
        let suffices = wanted.iter().all(|n| *n <= usual);
        let on_sides = wanted.map(|n| if suffices { usual } else { n.max(usual.ceil()) });
        let film = [0, 1].map(|k| (on_sides[k] * each).max(EASE * reach.over[k]));
        let counted = on_sides.map(|n| n as u32);
        Self {
            count: if suffices {
                setup.pleats
            } else {
                2 * (counted[0] + counted[1])
            },
            on_sides: (!suffices).then_some(counted),
            over: reach.over.map(Length::mm),
            hollows: Default::default(),
            film: film.map(Length::mm),
        }
    }

    /// Those of a bag over a part of this extent, told in its axes.
    pub(super) fn over(self, extent: Option<&FilmExtent>) -> Self {
        let sides = extent.map(|extent| &extent.sides);
        Self {
            hollows: sides.map_or_else(Default::default, |sides| {
                [sides[0].hollows.clone(), sides[1].hollows.clone()]
            }),
            ..self
        }
    }

    /// What they add to the edge of the film and to the tape.
    pub(super) fn in_edge(&self) -> Length {
        (self.film[0] + self.film[1]) * 2.0
    }
}
