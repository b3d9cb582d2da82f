//! Notches and drill marks of a ply: which of the drawing's marks are its own, and what of them is
//! drawn on the cloth.

use super::edges::locate;
use crate::geometry::distance::point_to_segment;
use crate::geometry::{Bounds, Outline, Placement, Point, Ring, Turn, Vector};
use crate::pattern::{Pattern, PatternMark, PatternOutline, Role};

/// A mark that comes this near (mm) to a boundary stands on it.
const TOUCHES_MM: f64 = 0.5;

/// Half the size (mm) of the cross at a drill mark, at least. Smaller: it is lost on the weave.
const CROSS_MM: f64 = 4.0;

/// What a mark on the cloth is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MarkKind {
    /// A notch in the edge.
    Notch,
    /// A place to drill, or to locate by.
    Drill,
}

impl MarkKind {
    /// The word for it in `plan.json`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Notch => "notch",
            Self::Drill => "drill",
        }
    }
}

/// A line of a mark on a piece.
#[derive(Clone, Debug, PartialEq)]
pub struct Mark {
    /// What for.
    pub kind: MarkKind,
    /// At least two vertices, mm, in the frame of the piece's lines.
    pub points: Vec<Point>,
    /// Whether the last vertex connects to the first.
    pub closed: bool,
}

impl Mark {
    /// The mark where `placement` puts it.
    #[must_use]
    pub fn placed(&self, placement: &Placement) -> Self {
        Self {
            points: self.points.iter().map(|&p| placement.apply(p)).collect(),
            ..self.clone()
        }
    }

    fn line(kind: MarkKind, ends: [Point; 2]) -> Self {
        Self {
            kind,
            points: ends.to_vec(),
            closed: false,
        }
    }
}

/// The marks of `pattern` that lie on `outline`, as they are drawn, turned by `turn`.
///
/// A drill mark (a point, a closed line, or anything else) belongs to an outline that its middle
/// lies in; a notch to one that it touches or lies in. Drill marks get a cross. A notch gets a line
/// from the net line straight out to the cut line (both turned already), so that it can be found on
/// the edge; a point on a piece without trim a short one inward.
pub(super) fn of_outline(
    pattern: &Pattern,
    outline: &PatternOutline,
    turn: Turn,
    net: &Outline,
    cut: &Outline,
) -> Vec<Mark> {
    let mut marks = Vec::new();
    for mark in pattern.marks_of(outline) {
        let first = marks.len();
        match mark.role {
            Role::Drill if holds(outline, mark.centre()) => drill(mark, &mut marks),
            Role::Notch if touches(outline, &mark.points) => {
                marks.extend(as_drawn(MarkKind::Notch, mark));
            }
            _ => continue,
        }
        for line in &mut marks[first..] {
            line.points = line.points.iter().map(|&p| turn.apply(p)).collect();
        }
        if mark.role == Role::Notch {
            let foot = foot(&outline.outline.outer, &mark.points);
            let is_drawn = mark.points.len() > 1;
            marks.extend(tick(turn.apply(foot), &net.outer, &cut.outer, is_drawn));
        }
    }
    marks
}

/// The marks of a gusset: a cross at the tip of its cut, and where the lips leave the part.
pub(super) fn of_gusset(
    tip: Option<Point>,
    mouths: impl Iterator<Item = Point>,
    net: &Ring,
    cut: &Ring,
) -> Vec<Mark> {
    let tip = tip.into_iter().flat_map(|tip| cross(tip, CROSS_MM));
    let mouths = mouths.filter_map(|mouth| tick(mouth, net, cut, false));
    tip.chain(mouths).collect()
}

fn cross(centre: Point, arm: f64) -> impl Iterator<Item = Mark> {
    let along = [Vector::new(arm, 0.0), Vector::new(0.0, arm)];
    let ends = along.map(|along| [centre + -along, centre + along]);
    ends.into_iter()
        .map(|ends| Mark::line(MarkKind::Drill, ends))
}

fn holds(outline: &PatternOutline, p: Point) -> bool {
    let cut = outline.drawn_cut.as_ref().map(|cut| &cut.outline);
    outline.outline.outer.contains(p) || cut.is_some_and(|cut| cut.outer.contains(p))
}

fn touches(outline: &PatternOutline, points: &[Point]) -> bool {
    points.iter().any(|&p| holds(outline, p))
        || Bounds::of(points.iter().copied()).is_some_and(|bounds| {
            let near = outline.outline.bounds().union(&bounds);
            let gap = |whole: f64, a: f64, b: f64| whole - a - b;
            let own = outline.outline.bounds();
            // Boxes further apart need no measuring.
            gap(near.width(), own.width(), bounds.width()) <= TOUCHES_MM
                && gap(near.height(), own.height(), bounds.height()) <= TOUCHES_MM
                && points
                    .iter()
                    .any(|&p| nearest(&outline.outline.outer, p).distance(p) <= TOUCHES_MM)
        })
}

fn as_drawn(kind: MarkKind, mark: &PatternMark) -> Option<Mark> {
    (mark.points.len() > 1).then(|| Mark {
        kind,
        points: mark.points.clone(),
        closed: mark.closed,
    })
}

fn drill(mark: &PatternMark, marks: &mut Vec<Mark>) {
    marks.extend(as_drawn(MarkKind::Drill, mark));
    // Open lines are a cross of the drawing's own.
    if mark.closed || mark.points.len() == 1 {
        let bounds = Bounds::of(mark.points.iter().copied());
        let size = bounds.map_or(0.0, |b| b.long_side() / 2.0);
        marks.extend(cross(mark.centre(), size.max(CROSS_MM)));
    }
}

/// The point of the boundary that the mark is nearest to.
fn foot(ring: &Ring, mark: &[Point]) -> Point {
    let feet = mark.iter().map(|&p| (nearest(ring, p), p));
    feet.min_by(|a, b| a.0.distance(a.1).total_cmp(&b.0.distance(b.1)))
        .map_or_else(Point::default, |(foot, _)| foot)
}

/// Length (mm) of a notch in a piece that is cut at its net line.
const IN_NET_MM: f64 = 3.0;

/// A line from where `foot` is on the net line square out to the cut line; where that is the same line, and nothing of
/// the notch `is_drawn`, a short line inward.
fn tick(foot: Point, net: &Ring, cut: &Ring, is_drawn: bool) -> Option<Mark> {
    let foot = locate(net, foot);
    let (a, b) = net.edges().nth(foot.edge)?;
    let along = b - a;
    let out = Vector::new(along.y, -along.x) * (1.0 / along.length());
    let edge = first_crossing(foot.at, out, cut).unwrap_or_else(|| nearest(cut, foot.at));
    let end = match edge.distance(foot.at) > TOUCHES_MM {
        true => edge,
        false if is_drawn => return None,
        false => foot.at + out * -IN_NET_MM,
    };
    Some(Mark::line(MarkKind::Notch, [foot.at, end]))
}

/// Where a ray from `from` along the unit vector `out` first meets `ring`.
pub(super) fn first_crossing(from: Point, out: Vector, ring: &Ring) -> Option<Point> {
    let reach = |(a, b): (Point, Point)| {
        let (start, end) = (out.cross(a - from), out.cross(b - from));
        if (start > 0.0) == (end > 0.0) {
            return None;
        }
        let at = a.towards(b, start / (start - end));
        Some(out.dot(at - from)).filter(|&t| t >= 0.0)
    };
    let first = ring.edges().filter_map(reach).min_by(f64::total_cmp)?;
    Some(from + out * first)
}

/// The point of `ring` nearest to `p`.
fn nearest(ring: &Ring, p: Point) -> Point {
    let on_edge = |(a, b): (Point, Point)| {
        let along = b - a;
        let t = ((p - a).dot(along) / along.dot(along)).clamp(0.0, 1.0);
        (point_to_segment(p, a, b), a + along * t)
    };
    ring.edges()
        .map(on_edge)
        .min_by(|a, b| a.0.total_cmp(&b.0))
        .map_or(p, |(_, q)| q)
}
