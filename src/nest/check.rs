//! Whether a layout is valid, by another route than the search: original outlines, clipped
//! triangles for overlap, distances of edges for the gap.

use std::fmt;

use super::{Container, Nesting, Placed, Problem, Shape, convex};
use crate::geometry::distance::point_to_segment;
use crate::geometry::{Bounds, Outline, Point, Ring, near_pairs, signed_area};

/// Something wrong with a layout.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub enum LayoutFault {
    /// A shape is placed more or less often than demanded.
    Count {
        /// Index into [`Problem::shapes`].
        shape: usize,
        /// How often it is placed.
        placed: usize,
    },
    /// A shape that does not exist, or a turn that is not permitted.
    Turn {
        /// Index into [`Nesting::placed`].
        placed: usize,
    },
    /// A piece sticks out of the container's box, or past the stated length.
    Outside {
        /// Index into [`Nesting::placed`].
        placed: usize,
        /// By how much, mm.
        by: f64,
    },
    /// A piece sticks out of the remnant's outline, or covers one of its openings.
    OffRemnant {
        /// Index into [`Nesting::placed`].
        placed: usize,
        /// Area outside, mm².
        area: f64,
    },
    /// A piece covers a forbidden area.
    OnForbidden {
        /// Index into [`Nesting::placed`].
        placed: usize,
        /// Index into [`Container::forbidden`].
        forbidden: usize,
        /// Common area, mm².
        area: f64,
    },
    /// A piece is nearer to a forbidden area than its margin.
    NearForbidden {
        /// Index into [`Nesting::placed`].
        placed: usize,
        /// Index into [`Container::forbidden`].
        forbidden: usize,
        /// Their distance, mm.
        distance: f64,
    },
    /// Two pieces overlap.
    Overlap {
        /// Indices into [`Nesting::placed`].
        pair: (usize, usize),
        /// Common area, mm².
        area: f64,
    },
    /// Two pieces are nearer than the gap.
    TooNear {
        /// Indices into [`Nesting::placed`].
        pair: (usize, usize),
        /// Their distance, mm.
        distance: f64,
    },
}

impl fmt::Display for LayoutFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Count { shape, placed } => {
                write!(
                    f,
                    "shape {shape} is placed {placed} times, which is not its demand"
                )
            }
            Self::Turn { placed } => write!(f, "piece {placed} has a turn that is not permitted"),
            Self::Outside { placed, by } => {
                write!(f, "piece {placed} sticks out of the container by {by} mm")
            }
            Self::OffRemnant { placed, area } => {
                write!(f, "piece {placed} has {area} mm² off the remnant")
            }
            Self::OnForbidden {
                placed,
                forbidden,
                area,
            } => write!(
                f,
                "piece {placed} covers {area} mm² of forbidden area {forbidden}"
            ),
            Self::NearForbidden {
                placed,
                forbidden,
                distance,
            } => write!(
                f,
                "piece {placed} is {distance} mm from forbidden area {forbidden}"
            ),
            Self::Overlap { pair: (a, b), area } => {
                write!(f, "pieces {a} and {b} share {area} mm²")
            }
            Self::TooNear {
                pair: (a, b),
                distance,
            } => write!(f, "pieces {a} and {b} are {distance} mm apart"),
        }
    }
}

impl std::error::Error for LayoutFault {}

impl LayoutFault {
    /// The piece it is about, as an index into [`Nesting::placed`]; the second one of a pair.
    #[must_use]
    pub const fn piece(&self) -> Option<usize> {
        match *self {
            Self::Count { .. } => None,
            Self::Turn { placed }
            | Self::Outside { placed, .. }
            | Self::OffRemnant { placed, .. }
            | Self::OnForbidden { placed, .. }
            | Self::NearForbidden { placed, .. } => Some(placed),
            Self::Overlap { pair, .. } | Self::TooNear { pair, .. } => Some(pair.1),
        }
    }
}

/// Two pieces may share this part of the smaller one's area: rounding at contact.
pub const OVERLAP_SHARE: f64 = 1e-6;
/// A piece may stick out, and the gap be short, by this share of the container's width or the gap.
pub const RELATIVE_SLACK: f64 = 1e-9;
/// A turn may be off its permitted range by this many degrees: rounding.
const TURN_SLACK_DEG: f64 = 1e-9;

/// All faults of `layout`; none if it is valid.
#[must_use]
pub fn check(problem: &Problem, layout: &Nesting) -> Vec<LayoutFault> {
    let mut faults = counts(problem, layout);
    faults.extend(check_container(
        &problem.shapes,
        &problem.container,
        problem.gap,
        layout,
    ));
    faults
}

/// All faults of what somebody `placed` in a container, whatever the demand.
#[must_use]
pub fn check_placed(
    shapes: &[Shape],
    container: &Container,
    gap: f64,
    placed: Vec<Placed>,
) -> Vec<LayoutFault> {
    let left = container.bounds().min.x;
    let ends = placed.iter().filter_map(|item| {
        let shape = shapes.get(item.shape)?;
        Some(item.placement.outline(&shape.outline).bounds().max.x - left)
    });
    let length = ends.fold(0.0, f64::max);
    check_container(shapes, container, gap, &Nesting { placed, length })
}

/// All faults of `layout`, whatever the demand.
pub(super) fn check_container(
    shapes: &[Shape],
    container: &Container,
    gap: f64,
    layout: &Nesting,
) -> Vec<LayoutFault> {
    let mut faults = Vec::new();
    let mut pieces = Vec::with_capacity(layout.placed.len());
    let forbidden = Keepout::of(container);
    for (placed, item) in layout.placed.iter().enumerate() {
        let Some(shape) = shapes.get(item.shape) else {
            faults.push(LayoutFault::Turn { placed });
            return faults;
        };
        if !is_permitted(shape, item) {
            faults.push(LayoutFault::Turn { placed });
        }
        let piece = Cover::new(item.placement.outline(&shape.outline));
        if let Some(by) = sticks_out(container, layout.length, &piece.bounds) {
            faults.push(LayoutFault::Outside { placed, by });
        }
        faults.extend(forbidden.iter().filter_map(|f| f.fault(placed, &piece)));
        pieces.push(piece);
    }
    faults.extend(pairs(&pieces, gap));
    faults
}

/// A place no piece may cover.
struct Keepout {
    area: Cover,
    margin: f64,
    /// Index into [`Container::forbidden`]; `None` for what is no part of the remnant.
    forbidden: Option<usize>,
}

impl Keepout {
    fn of(container: &Container) -> Vec<Self> {
        let size = container.bounds();
        // Wide enough that its triangles are none of them slivers along the box.
        let beyond = 0.25 * (size.width() + size.height());
        let outside = container.outside(beyond).into_iter().map(|outline| Self {
            area: Cover::new(outline),
            margin: 0.0,
            forbidden: None,
        });
        let listed = container.forbidden.iter().enumerate();
        let forbidden = listed.map(|(index, f)| Self {
            area: Cover::new(f.area.clone()),
            margin: f.margin,
            forbidden: Some(index),
        });
        outside.chain(forbidden).collect()
    }

    fn fault(&self, placed: usize, piece: &Cover) -> Option<LayoutFault> {
        match (
            pair_fault(&self.area, piece, self.margin, (0, 0))?,
            self.forbidden,
        ) {
            (LayoutFault::Overlap { area, .. }, None) => {
                Some(LayoutFault::OffRemnant { placed, area })
            }
            (LayoutFault::Overlap { area, .. }, Some(forbidden)) => {
                Some(LayoutFault::OnForbidden {
                    placed,
                    forbidden,
                    area,
                })
            }
            (LayoutFault::TooNear { distance, .. }, Some(forbidden)) => {
                Some(LayoutFault::NearForbidden {
                    placed,
                    forbidden,
                    distance,
                })
            }
            _ => None,
        }
    }
}

fn counts(problem: &Problem, layout: &Nesting) -> Vec<LayoutFault> {
    let mut placed = vec![0; problem.shapes.len()];
    for item in &layout.placed {
        if let Some(count) = placed.get_mut(item.shape) {
            *count += 1;
        }
    }
    (problem.shapes.iter().zip(placed).enumerate())
        .filter(|(_, (shape, placed))| shape.demand != *placed)
        .map(|(shape, (_, placed))| LayoutFault::Count { shape, placed })
        .collect()
}

fn is_permitted(shape: &Shape, item: &Placed) -> bool {
    let turn = item.placement.turn;
    let slack = shape.tolerance.to_degrees() + TURN_SLACK_DEG;
    shape.turns.iter().any(|t| {
        let off = (t.angle - turn.angle).as_rotation().to_degrees();
        t.face == turn.face && off.min(360.0 - off) <= slack
    })
}

fn sticks_out(container: &Container, length: f64, bounds: &Bounds) -> Option<f64> {
    let whole = container.bounds();
    let end = (whole.min.x + length).min(whole.max.x);
    let by = (whole.min.x - bounds.min.x)
        .max(whole.min.y - bounds.min.y)
        .max(bounds.max.x - end)
        .max(bounds.max.y - whole.max.y);
    (by > RELATIVE_SLACK * whole.height().max(length)).then_some(by)
}

/// A placed outline with what the pair tests need.
struct Cover {
    outline: Outline,
    bounds: Bounds,
    area: f64,
    triangles: Vec<[Point; 3]>,
}

impl Cover {
    fn new(outline: Outline) -> Self {
        let triangles = convex::triangles(&outline).unwrap_or_else(|| {
            // No proper triangulation: a fan of the hull is larger, so no overlap is missed.
            let hull = convex::hull(outline.outer.points());
            (1..hull.len().saturating_sub(1))
                .map(|k| [hull[0], hull[k], hull[k + 1]])
                .collect()
        });
        Self {
            bounds: outline.bounds(),
            area: outline.area(),
            outline,
            triangles,
        }
    }

    /// The triangles near `other`, each with its box.
    fn near(&self, other: &Bounds) -> impl Iterator<Item = (&[Point; 3], Bounds)> {
        let boxed =
            (self.triangles.iter()).filter_map(|t| Some((t, Bounds::of(t.iter().copied())?)));
        boxed.filter(|(_, own)| own.overlaps(other))
    }
}

fn pairs(pieces: &[Cover], gap: f64) -> Vec<LayoutFault> {
    let boxes: Vec<Bounds> = pieces.iter().map(|piece| piece.bounds).collect();
    let pairs = near_pairs(&boxes, gap).into_iter();
    let in_order = pairs.map(|(a, b)| (a.min(b), a.max(b)));
    in_order
        .filter_map(|pair| pair_fault(&pieces[pair.0], &pieces[pair.1], gap, pair))
        .collect()
}

fn pair_fault(a: &Cover, b: &Cover, gap: f64, pair: (usize, usize)) -> Option<LayoutFault> {
    if !a.bounds.grown(gap).overlaps(&b.bounds) {
        return None;
    }
    let area = common_area(a, b);
    if area > OVERLAP_SHARE * a.area.min(b.area) {
        return Some(LayoutFault::Overlap { pair, area });
    }
    if gap > 0.0 {
        let distance = boundary_distance(&a.outline, &b.outline, gap);
        if distance < gap * (1.0 - RELATIVE_SLACK) {
            return Some(LayoutFault::TooNear { pair, distance });
        }
    }
    None
}

/// Area common to two pieces, triangle by triangle.
fn common_area(a: &Cover, b: &Cover) -> f64 {
    let mut sum = 0.0;
    // Most triangles lie far from where the two are near.
    let beside: Vec<(&[Point; 3], Bounds)> = b.near(&a.bounds).collect();
    for (t, box_t) in a.near(&b.bounds) {
        for (u, box_u) in &beside {
            if box_t.overlaps(box_u) {
                sum += clipped_area(t, u);
            }
        }
    }
    sum
}

/// Area of triangle `t` clipped by the three sides of triangle `u`.
fn clipped_area(t: &[Point; 3], u: &[Point; 3]) -> f64 {
    let (mut polygon, mut kept) = (t.to_vec(), Vec::new());
    for k in 0..3 {
        let (p, q) = (u[k], u[(k + 1) % 3]);
        convex::clip(&polygon, &mut kept, |r| (q - p).cross(r - p));
        std::mem::swap(&mut polygon, &mut kept);
        if polygon.len() < 3 {
            return 0.0;
        }
    }
    signed_area(&polygon).max(0.0)
}

/// Least distance of the boundaries, as far as it is below `gap`.
fn boundary_distance(a: &Outline, b: &Outline, gap: f64) -> f64 {
    let mut least = gap;
    // What is a gap away from the other's box is so from the other.
    let beside = |outline: &Outline, other: &Bounds| -> Vec<(Point, Point)> {
        let edges = outline.rings().flat_map(Ring::edges);
        let is_near = |(p, q): &(Point, Point)| {
            let apart = (p.x.min(q.x) - other.max.x)
                .max(other.min.x - p.x.max(q.x))
                .max(p.y.min(q.y) - other.max.y)
                .max(other.min.y - p.y.max(q.y));
            apart < gap
        };
        edges.filter(is_near).collect()
    };
    let of_b = beside(b, &a.bounds());
    for (p, q) in beside(a, &b.bounds()) {
        for &(r, s) in &of_b {
            let apart = (p.x.min(q.x) - r.x.max(s.x))
                .max(r.x.min(s.x) - p.x.max(q.x))
                .max(p.y.min(q.y) - r.y.max(s.y))
                .max(r.y.min(s.y) - p.y.max(q.y));
            if apart < least {
                least = least.min(segment_distance((p, q), (r, s)));
            }
        }
    }
    least
}

fn segment_distance((p, q): (Point, Point), (r, s): (Point, Point)) -> f64 {
    let side = |a: Point, b: Point, c: Point| (b - a).cross(c - a);
    let crosses = side(p, q, r) * side(p, q, s) < 0.0 && side(r, s, p) * side(r, s, q) < 0.0;
    if crosses {
        return 0.0;
    }
    point_to_segment(p, r, s)
        .min(point_to_segment(q, r, s))
        .min(point_to_segment(r, p, q))
        .min(point_to_segment(s, p, q))
}
