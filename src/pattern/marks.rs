//! What layers of marks hold, and cut lines that are drawn beside their net lines.

use super::chain::length;
use super::openings::{Looks, Piled};
use super::settings::Role;
use super::{PatternLine, PatternOutline};
use crate::diag::Place;
use crate::geometry::{Bounds, BoxTree, Outline, Point, Vector};

/// A net line may leave its cut line by this (mm): where no allowance is drawn, the two coincide.
const COINCIDES_MM: f64 = 0.05;

/// Places along a net line that are held against its cut line.
const PROBES: usize = 48;

/// Something drawn on a layer of marks.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct PatternMark {
    /// What it stands for.
    pub role: Role,
    /// Element id or entity handle.
    pub id: String,
    /// Layer name; empty if there is none.
    pub layer: String,
    /// At least one vertex; a single one is a point.
    pub points: Vec<Point>,
    /// Whether the last vertex connects to the first.
    pub closed: bool,
    /// Where it is, for messages.
    pub place: Place,
}

impl PatternMark {
    pub(super) fn new(role: Role, line: PatternLine, closed: bool) -> Self {
        Self {
            role,
            id: line.id,
            layer: line.layer,
            points: line.points,
            closed,
            place: line.place,
        }
    }

    /// Whether it is among [`super::Pattern::lines`] too: an open line that gives a direction or an
    /// edge.
    #[must_use]
    pub fn is_line(&self) -> bool {
        matches!(self.role, Role::Zero | Role::Overlap) && !self.closed && self.points.len() > 1
    }

    /// Its length along the line, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        length(&self.points)
    }

    /// The middle of its box.
    #[must_use]
    pub fn centre(&self) -> Point {
        Bounds::of(self.points.iter().copied()).map_or_else(Point::default, |b| b.centre())
    }
}

/// A cut line that the drawing shows, allowance included.
#[derive(Clone, Debug)]
#[non_exhaustive]
pub struct DrawnCut {
    /// Its id.
    pub id: String,
    /// Its layer.
    pub layer: String,
    /// The line with its openings.
    pub outline: Outline,
    /// Whether the drawing shows no net line in it, so that [`PatternOutline::outline`] is the cut
    /// line too.
    pub stands_alone: bool,
}

/// Gives every net line the cut line around it; cut lines without a net line stand for both.
///
/// `roles` says of each of `outlines` whether it is a cut line, a net line or plain. Plain ones are
/// left as they are. An error if too many lie over each other.
pub(super) fn pair_cut_lines(
    outlines: Vec<PatternOutline>,
    roles: &[Option<Role>],
) -> Result<Vec<PatternOutline>, Piled> {
    let of = |role: Role| (0..outlines.len()).filter(move |&i| roles[i] == Some(role));
    let cuts: Vec<usize> = of(Role::Cut).collect();
    let area = |i: usize| outlines[i].outline.outer.area();
    let boxes: Vec<(Bounds, f64)> = (cuts.iter())
        .map(|&i| (outlines[i].outline.bounds(), area(i)))
        .collect();
    let tree = BoxTree::by_place(boxes.len(), |i| boxes[i]);
    let looks = Looks::of(outlines.len());
    let mut owner: Vec<Option<usize>> = vec![None; outlines.len()];
    for net in of(Role::Net) {
        // The smallest cut line around a net line is its own.
        let heart = shrunk(outlines[net].outline.bounds());
        let around = looks.first_around(&tree, (heart, 0.9 * area(net)), |c| {
            owner[cuts[c]].is_none() && lies_in(&outlines[net].outline, &outlines[cuts[c]].outline)
        })?;
        if let Some(c) = around {
            owner[cuts[c]] = Some(net);
        }
    }
    let mut drawn: Vec<Option<DrawnCut>> = vec![None; outlines.len()];
    for &cut in &cuts {
        let line = &outlines[cut];
        drawn[owner[cut].unwrap_or(cut)] = Some(DrawnCut {
            id: line.id.clone(),
            layer: line.layer.clone(),
            outline: line.outline.clone(),
            stands_alone: owner[cut].is_none(),
        });
    }
    let kept = outlines.into_iter().zip(drawn).zip(owner);
    Ok(kept
        .filter(|(_, owner)| owner.is_none())
        .map(|((outline, drawn_cut), _)| PatternOutline {
            drawn_cut,
            ..outline
        })
        .collect())
}

/// The box without what may stick out where lines coincide.
fn shrunk(bounds: Bounds) -> Bounds {
    let by = Vector::new(
        COINCIDES_MM.min(bounds.width() / 2.0),
        COINCIDES_MM.min(bounds.height() / 2.0),
    );
    Bounds {
        min: bounds.min + by,
        max: bounds.max + -by,
    }
}

/// Whether the outer boundary of `inner` lies in that of `outer`; they may coincide in places.
fn lies_in(inner: &Outline, outer: &Outline) -> bool {
    let boxed = outer.bounds().holds(&inner.bounds(), COINCIDES_MM);
    let points = inner.outer.points();
    let step = points.len().div_ceil(PROBES);
    boxed
        && points
            .iter()
            .step_by(step)
            .all(|&p| outer.outer.contains(p) || outer.outer.distance(p) <= COINCIDES_MM)
}
