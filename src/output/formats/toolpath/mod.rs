//! What a plotter or cutter does with a layout, frame by frame: lines to draw, then lines to cut,
//! in the plan's cut order.
//!
//! A line that reaches beyond its frame is divided where the frame ends, so nothing is drawn or cut
//! where there is no cloth under the tool.

mod knife;

pub(in crate::output) use knife::{Blade, Kind};

use crate::geometry::{Outline, Point};
use crate::output::drawing::joint;
use crate::output::drawing::label::{LabelDrawing, lay_out};
use crate::output::drawing::layers::{Drawn, around};
use crate::output::drawing::strokes::strokes;
use crate::output::number::{COORDINATE, rounded};
use crate::output::style::{CUT_FILE_TEXT, Layer};
use crate::plan::{CutFrame, Layout, PlacedPiece, Plan, ordered};

/// What is done while the cloth lies still. Coordinates count from the frame's own corner.
pub(in crate::output) struct Frame {
    /// Where it begins along the roll, mm.
    pub(in crate::output) from: f64,
    /// Lines for pens: what there is of the roll itself, then the pieces in the order of labelling.
    pub(in crate::output) drawn: Vec<Stroke>,
    /// Lines for the knife, in the order of cutting.
    pub(in crate::output) cuts: Vec<Stroke>,
}

/// A line from pen down to pen up.
pub(in crate::output) struct Stroke {
    pub(in crate::output) layer: Layer,
    /// Index of the piece, unless it belongs to the roll itself.
    pub(in crate::output) piece: Option<usize>,
    /// Its points; the first is not repeated at the end of a closed line.
    pub(in crate::output) points: Vec<Point>,
    pub(in crate::output) closed: bool,
}

/// The frames of `layout`.
pub(in crate::output) fn frames(plan: &Plan, layout: &Layout) -> Vec<Frame> {
    let found;
    let order = if layout.order().frames.is_empty() {
        found = ordered(layout.pieces(), &[[0.0, layout.used_length().to_mm()]]);
        &found
    } else {
        layout.order()
    };
    let labels: Vec<LabelDrawing> = layout
        .pieces()
        .iter()
        .map(|piece| lay_out(piece, CUT_FILE_TEXT))
        .collect();
    let drawn = |frame: &CutFrame| -> Vec<Stroke> {
        let labelled = frame.labels.iter();
        labelled
            .flat_map(|&p| marks(p, &layout.pieces()[p], &labels[p]))
            .collect()
    };
    let mut all = roll(plan, layout);
    all.extend(order.frames.iter().flat_map(drawn));
    let cuts: Vec<Stroke> = order
        .frames
        .iter()
        .flat_map(|frame| &frame.cuts)
        .map(|cut| Stroke {
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
            // Nothing lies before the first frame or beyond the last.
            let from = if k == 0 {
                f64::NEG_INFINITY
            } else {
                frame.from
            };
            let to = if k + 1 == n_frames {
                f64::INFINITY
            } else {
                frame.to
            };
            let within = |strokes: &[Stroke]| -> Vec<Stroke> {
                strokes
                    .iter()
                    .flat_map(|stroke| stroke.between(from, to, frame.from))
                    .collect()
            };
            Frame {
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

/// What is drawn of the roll itself.
fn roll(plan: &Plan, layout: &Layout) -> Vec<Stroke> {
    let stroke = |layer: Layer, points: &[Point], closed: bool| Stroke {
        layer,
        piece: None,
        points: points.to_vec(),
        closed,
    };
    let strokes = |(layer, drawn): (Layer, Drawn)| -> Vec<Stroke> {
        match drawn {
            Drawn::Border(ends) => vec![stroke(layer, &ends, false)],
            Drawn::Area(outline) => outline
                .rings()
                .map(|ring| stroke(layer, ring.points(), true))
                .collect(),
        }
    };
    around(plan, layout).into_iter().flat_map(strokes).collect()
}

/// What is drawn on a piece.
fn marks(piece: usize, placed: &PlacedPiece, label: &LabelDrawing) -> Vec<Stroke> {
    let stroke = |layer: Layer, points: Vec<Point>, closed: bool| Stroke {
        layer,
        piece: Some(piece),
        points,
        closed,
    };
    let mut all = Vec::new();
    for mark in placed.marks() {
        all.push(stroke(Layer::Notch, mark.points.clone(), mark.closed));
    }
    if let Some(compass) = &label.compass {
        all.push(stroke(Layer::Fibre, compass.shaft.to_vec(), false));
        all.push(stroke(Layer::Fibre, compass.head.to_vec(), true));
        all.extend(
            compass
                .zero
                .map(|tick| stroke(Layer::Fibre, tick.to_vec(), false)),
        );
    }
    for joined in placed.joints() {
        all.push(stroke(Layer::Splice, joined.joint.line.to_vec(), false));
    }
    for line in label
        .texts()
        .cloned()
        .chain(joint::texts(placed, CUT_FILE_TEXT))
    {
        let letters = strokes(&line).into_iter();
        all.extend(letters.map(|points| stroke(Layer::Label, points, false)));
    }
    let net = |outline: &Outline| -> Vec<Stroke> {
        let rings = outline.rings();
        rings
            .map(|ring| stroke(Layer::Net, ring.points().to_vec(), true))
            .collect()
    };
    all.extend(net(placed.net()));
    all
}

impl Stroke {
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
        if self.points.iter().all(|p| p.x >= from && p.x <= to) {
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

    fn square() -> Stroke {
        Stroke {
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
    }
}
