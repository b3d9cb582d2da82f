//! Several parts in one bag: how they lie in it.

use super::bag_roll::search;
use super::bagging::{Laid, sides, turns};
use crate::geometry::{Outline, Placement, Vector};
use crate::job::{BagLayer, Bagging, LayerKind, Part, parts_by_bag};
use crate::nest::{Container, Continue, Problem, Shape};
use crate::units::{Angle, Length};

/// A bag over several parts, one set of each.
#[derive(Clone, Debug, PartialEq)]
pub struct SharedBag {
    /// The name that the parts give it.
    pub name: String,
    /// Its parts, by their index.
    pub parts: Vec<usize>,
    /// How each lies in it: the part's outline, from a corner of the tape line on, the longer side of that along x.
    pub lying: Vec<Outline>,
    /// Where the 0° of each points, counter-clockwise from the longer side of the tape line.
    pub zeros: Vec<Angle>,
}

/// The parts of one bag, by their index among those that are laid.
pub(super) struct SharedBagGroup {
    /// `None` for a part that has a bag of its own.
    pub name: Option<String>,
    pub parts: Vec<usize>,
}

impl SharedBagGroup {
    /// The bags of these parts, in the order of their first parts.
    pub(super) fn all(laid: &[Laid<'_>]) -> Vec<Self> {
        let parts: Vec<&Part> = laid.iter().map(|laid| laid.part.part()).collect();
        let groups = parts_by_bag(&parts).into_iter();
        groups
            .map(|(name, parts)| Self {
                name: name.map(str::to_owned),
                parts,
            })
            .collect()
    }
}

/// Parts side by side, each as far from the others as its layers reach.
pub(super) struct Arranged {
    /// Of each part, from its frame.
    pub placements: Vec<Placement>,
    /// Length and width of the rectangle around them and those layers.
    pub around: (f64, f64),
}

/// Breadths that are tried between the least and the greatest.
const BREADTHS: u32 = 24;

/// Lays `outlines`, each with `apart` mm of its own all round, so that the film over them takes as few widths of its
/// roll as can be and then the shortest tape. `around` tells how far the film reaches beyond their rectangle, `tool` how
/// much room there is for them on the mould.
pub(super) fn arrange(
    outlines: &[Outline],
    film: &BagLayer,
    beyond: f64,
    tool: Option<(f64, f64)>,
) -> Option<Arranged> {
    let shapes: Vec<Shape> = outlines
        .iter()
        .map(|outline| {
            let quarter = turns(outline);
            let half = quarter.iter().map(|turn| {
                let mut turn = *turn;
                turn.angle = (turn.angle + Angle::degrees(180.0)).as_rotation();
                turn
            });
            Shape {
                outline: outline.clone(),
                turns: quarter.iter().copied().chain(half).collect(),
                tolerance: Angle::ZERO,
                demand: 1,
            }
        })
        .collect();
    let least = outlines.iter().map(|o| sides(o).1).fold(0.0, f64::max);
    let most = outlines.iter().map(|o| sides(o).0).sum::<f64>();
    let usable = film.roll.usable_width().to_mm();
    let even = (0..=BREADTHS).map(|i| least + (most - least) * f64::from(i) / f64::from(BREADTHS));
    let breadths = even
        .chain(exact(outlines))
        .filter(|breadth| *breadth >= least);
    // As broad as one width of film covers, too.
    let one_width = Some(usable - beyond).filter(|breadth| *breadth >= least);
    let tried = breadths.chain(one_width).filter_map(|breadth| {
        let problem = Problem {
            shapes: shapes.clone(),
            container: Container::strip(breadth),
            gap: 0.0,
        };
        let found = search(&problem, &|_| Continue::Stop)?;
        let mut placements: Vec<(usize, Placement)> = found
            .placed()
            .iter()
            .map(|placed| (placed.shape, placed.placement))
            .collect();
        placements.sort_by_key(|(shape, _)| *shape);
        let placements: Vec<Placement> = placements
            .into_iter()
            .map(|(_, placement)| placement)
            .collect();
        let lying = placements
            .iter()
            .zip(outlines)
            .map(|(p, outline)| p.outline(outline).bounds());
        let bounds = lying.reduce(|a, b| a.union(&b))?;
        let (length, width) = (bounds.width(), bounds.height());
        let (long, short) = (length.max(width), length.min(width));
        let misfit = tool.is_some_and(|(l, w)| long > l || short > w);
        let widths = ((short + beyond) / usable).ceil();
        Some(((misfit, widths, long + short), placements, bounds))
    });
    let (_, placements, bounds) = tried.min_by(|a, b| {
        let ((a, n, p), (b, m, q)) = (a.0, b.0);
        a.cmp(&b).then(n.total_cmp(&m)).then(p.total_cmp(&q))
    })?;
    // The longer side along x.
    let upright = bounds.height() > bounds.width();
    let placements = placements.into_iter().map(|placement| {
        let shift = placement.shift - (bounds.min - crate::geometry::Point::new(0.0, 0.0));
        if !upright {
            return Placement { shift, ..placement };
        }
        // A quarter turn to the right about the corner, and back up.
        let mut turn = placement.turn;
        turn.angle = (turn.angle + Angle::degrees(270.0)).as_rotation();
        Placement {
            turn,
            shift: Vector::new(shift.y, bounds.width() - shift.x),
        }
    });
    Some(Arranged {
        placements: placements.collect(),
        around: (
            bounds.width().max(bounds.height()),
            bounds.width().min(bounds.height()),
        ),
    })
}

/// Breadths into which the outlines fit side by side without room to spare: the sides of each, and of the first ones
/// together.
fn exact(outlines: &[Outline]) -> impl Iterator<Item = f64> {
    /// So much more than the sum, mm, is no room, but more than rounding.
    const HAIR: f64 = 0.1;
    /// With more parts than these, sides of single ones say little.
    const FEW: usize = 12;
    let (mut long, mut short) = (0.0, 0.0);
    let mut breadths = Vec::new();
    for (n, outline) in outlines.iter().enumerate() {
        let (length, width) = sides(outline);
        (long, short) = (long + length, short + width);
        breadths.extend([long, short]);
        if n < FEW {
            breadths.extend([length, width]);
        }
    }
    breadths.into_iter().map(|breadth| breadth + HAIR)
}

/// The widest of the layers that each part has for itself.
pub(super) fn widest_own(setup: &Bagging) -> f64 {
    let own = setup.layers.iter().filter(|layer| !layer.covers_bag());
    own.map(|layer| layer.margin.to_mm()).fold(0.0, f64::max)
}

/// The layer that is the bag itself.
pub(super) fn film(setup: &Bagging) -> Option<&BagLayer> {
    setup
        .layers
        .iter()
        .find(|layer| layer.kind == LayerKind::Bag)
}

/// `outline` as it lies from a corner of the tape line on, which is `edge` mm outside the rectangle of the arrangement.
pub(super) fn from_tape(placement: &Placement, outline: &Outline, edge: (f64, f64)) -> Outline {
    let shift = placement.shift + Vector::new(edge.0, edge.1);
    Placement {
        shift,
        ..*placement
    }
    .outline(outline)
}

/// Length and width of what covers the whole of a shared bag as far as `margin` beyond its parts.
pub(super) fn common_sheet(around: (f64, f64), margin: Length, own: f64) -> (f64, f64) {
    let more = 2.0 * (margin.to_mm() - own).max(0.0);
    (around.0 + more, around.1 + more)
}
