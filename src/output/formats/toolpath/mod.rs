//! What a plotter or cutter does with a layout, frame by frame: lines to draw, then lines to cut,
//! in the plan's cut order.
//!
//! A line that reaches beyond its frame is divided where the frame ends, so nothing is drawn or cut
//! where there is no cloth under the tool.

mod knife;

pub(in crate::output) use knife::{Blade, MoveKind};

use crate::geometry::Point;
use crate::number::{COORDINATE, rounded};
use crate::output::drawing::roll::roll;
use crate::output::drawing::shape::Drawn;
use crate::output::style::{CUT_FILE_TEXT, Layer};
use crate::plan::{Layout, Plan, ordered};

/// What is done while the cloth lies still. Coordinates count from the frame's own corner.
pub(in crate::output) struct Stop {
    /// Where it begins along the roll, mm.
    pub(in crate::output) from: f64,
    /// Lines for pens: what there is of the roll itself, then the pieces in the order of labelling.
    pub(in crate::output) drawn: Vec<ToolLine>,
    /// Lines for the knife, in the order of cutting.
    pub(in crate::output) cuts: Vec<ToolLine>,
}

/// A line from pen down to pen up.
#[derive(Clone)]
pub(in crate::output) struct ToolLine {
    pub(in crate::output) layer: Layer,
    /// Index of the piece, unless it belongs to the roll itself.
    pub(in crate::output) piece: Option<usize>,
    /// Its points; the first is not repeated at the end of a closed line.
    pub(in crate::output) points: Vec<Point>,
    pub(in crate::output) closed: bool,
}

/// A line that reaches beyond its frame by no more than this (mm) is not divided: a piece as long as
/// the table, its coordinates rounded. Larger: the tool leaves the table; smaller: such a piece is cut
/// in two goes.
const BEYOND_MM: f64 = 0.01;

/// The frames of `layout`.
pub(in crate::output) fn frames(plan: &Plan, layout: &Layout) -> Vec<Stop> {
    let found;
    let order = if layout.order().frames.is_empty() {
        found = ordered(layout.pieces(), &[[0.0, layout.used_length().to_mm()]]);
        &found
    } else {
        layout.order()
    };
    let drawing = roll(plan, layout, CUT_FILE_TEXT);
    let mut of_piece: Vec<Vec<ToolLine>> = vec![Vec::new(); layout.pieces().len()];
    let mut all = Vec::new();
    for item in &drawing.items {
        match item.piece {
            Some(piece) => of_piece[piece].extend(strokes(item)),
            None => all.extend(strokes(item)),
        }
    }
    for strokes in &mut of_piece {
        strokes.sort_by_key(|stroke| PENS.iter().position(|&layer| layer == stroke.layer));
    }
    let labelled = order.frames.iter().flat_map(|frame| &frame.labels);
    all.extend(labelled.flat_map(|&piece| of_piece[piece].clone()));
    let cuts: Vec<ToolLine> = order
        .frames
        .iter()
        .flat_map(|frame| &frame.cuts)
        .map(|cut| ToolLine {
            layer: Layer::Cut,
            piece: Some(cut.piece),
            points: cut.points.iter().map(|&p| as_written(p)).collect(),
            closed: true,
        })
        .collect();
    let n_frames = order.frames.len();
    order
        .frames
        .iter()
        .enumerate()
        .map(|(k, frame)| {
            // Nothing lies before the start of the roll or beyond the last frame.
            let from = if frame.from == 0.0 {
                f64::NEG_INFINITY
            } else {
                frame.from
            };
            let to = if k + 1 == n_frames {
                f64::INFINITY
            } else {
                frame.to
            };
            let within = |strokes: &[ToolLine]| -> Vec<ToolLine> {
                strokes
                    .iter()
                    .flat_map(|stroke| stroke.between(from, to, frame.from))
                    .collect()
            };
            Stop {
                from: frame.from,
                drawn: within(&all),
                cuts: within(&cuts),
            }
        })
        .collect()
}

/// `point` to the last digit that all formats share.
fn as_written(point: Point) -> Point {
    Point::new(rounded(point.x, COORDINATE), rounded(point.y, COORDINATE))
}

/// What pens draw of a piece, in the order in which they do.
const PENS: [Layer; 5] = [
    Layer::Notch,
    Layer::Fibre,
    Layer::Splice,
    Layer::Label,
    Layer::Net,
];

/// The strokes of `item`, unless it is for the knife.
fn strokes(item: &Drawn<Layer>) -> impl Iterator<Item = ToolLine> {
    let lines = (item.layer != Layer::Cut).then(|| item.shape.pen_lines());
    lines
        .into_iter()
        .flatten()
        .map(|(points, closed)| ToolLine {
            layer: item.layer,
            piece: item.piece,
            points,
            closed,
        })
}

impl ToolLine {
    /// What of it lies between `from` and `to` along the roll, counted from `origin`.
    fn between(&self, from: f64, to: f64, origin: f64) -> Vec<Self> {
        let shifted = |points: Vec<Point>, closed: bool| Self {
            layer: self.layer,
            piece: self.piece,
            points: points
                .into_iter()
                .map(|p| Point::new(p.x - origin, p.y))
                .collect(),
            closed,
        };
        let nearly = from - BEYOND_MM..=to + BEYOND_MM;
        if self.points.iter().all(|p| nearly.contains(&p.x)) {
            return vec![shifted(self.points.clone(), self.closed)];
        }
        let mut runs: Vec<Vec<Point>> = Vec::new();
        let first = self.points.first().copied().filter(|_| self.closed);
        let line: Vec<Point> = self.points.iter().copied().chain(first).collect();
        for edge in line.windows(2) {
            let Some([a, b]) = clipped([edge[0], edge[1]], from, to) else {
                continue;
            };
            match runs.last_mut() {
                Some(run) if run.last() == Some(&a) => run.push(b),
                _ => runs.push(vec![a, b]),
            }
        }
        // The start of a closed line is no place to lift the tool.
        if self.closed
            && runs.len() > 1
            && let (Some(head), Some(tail)) = (runs.first(), runs.last())
            && head.first() == tail.last()
        {
            let mut joined = runs.pop().unwrap_or_default();
            joined.extend(runs.remove(0).into_iter().skip(1));
            runs.push(joined);
        }
        runs.into_iter().map(|run| shifted(run, false)).collect()
    }
}

/// The part of an edge with `from` ≤ x ≤ `to`, if it is more than a point.
fn clipped([a, b]: [Point; 2], from: f64, to: f64) -> Option<[Point; 2]> {
    if a.x.max(b.x) < from || a.x.min(b.x) > to {
        return None;
    }
    let at = |x: f64| {
        let t = (x - a.x) / (b.x - a.x);
        Point::new(x, a.y + (b.y - a.y) * t)
    };
    let inside = |p: Point| {
        if p.x < from {
            at(from)
        } else if p.x > to {
            at(to)
        } else {
            p
        }
    };
    let (start, end) = (inside(a), inside(b));
    (start != end).then_some([start, end])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn square() -> ToolLine {
        ToolLine {
            layer: Layer::Cut,
            piece: Some(0),
            points: [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)]
                .map(|(x, y)| Point::new(x, y))
                .to_vec(),
            closed: true,
        }
    }

    #[test]
    fn a_line_across_the_end_of_a_frame_is_divided_there() {
        let left = square().between(f64::NEG_INFINITY, 4.0, 0.0);
        assert_eq!(left.len(), 1);
        let points: Vec<(f64, f64)> = left[0].points.iter().map(|p| (p.x, p.y)).collect();
        assert_eq!(points, [(4.0, 10.0), (0.0, 10.0), (0.0, 0.0), (4.0, 0.0)]);
        let right = square().between(4.0, f64::INFINITY, 4.0);
        let points: Vec<(f64, f64)> = right[0].points.iter().map(|p| (p.x, p.y)).collect();
        assert_eq!(points, [(0.0, 0.0), (6.0, 0.0), (6.0, 10.0), (0.0, 10.0)]);
        assert!(!right[0].closed);
    }

    #[test]
    fn what_lies_within_a_frame_stays_whole() {
        let whole = square().between(-1.0, 11.0, -1.0);
        assert!(whole.len() == 1 && whole[0].closed);
        assert!(square().between(20.0, 30.0, 20.0).is_empty());
        let rounded = square().between(0.004, 9.996, 0.0);
        assert!(rounded.len() == 1 && rounded[0].closed);
    }
}
