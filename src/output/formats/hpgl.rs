//! `cut/<roll>.hpgl`: one roll for pen plotters and knife cutters.
//!
//! HP-GL as every plotter takes it (IN, SP, PU, PD, PG): 1016 units in an inch, x along the roll,
//! pens by layer, texts as strokes. Each frame is a page with its own origin; `PG` moves the cloth
//! on. From memory of the HP-GL reference; checked with an independent viewer.

use std::fmt::Write as _;

use super::toolpath::{Blade, Stop, ToolLine, frames};
use crate::geometry::Point;
use crate::job::Knife;
use crate::output::style::Layer;
use crate::plan::{Layout, Plan};

/// Units in a millimetre: 1016 in an inch.
const UNITS_PER_MM: f64 = 1016.0 / 25.4;

/// Most points in one command, so that the lines fit small buffers.
const MOST_POINTS: usize = 24;

/// The roll of `layout` as HP-GL.
#[must_use]
pub(crate) fn layout_hpgl(plan: &Plan, layout: &Layout) -> String {
    let outputs = plan.outputs();
    // A plotter cannot turn a blade; its own controller does, or the knife swivels.
    let knife = match outputs.knife {
        Knife::Tangential { .. } => Knife::Plain,
        knife => knife,
    };
    let mut blade = Blade::new(knife, outputs.overcut);
    let mut text = String::from("IN;\n");
    for (k, frame) in frames(plan, layout).iter().enumerate() {
        if k > 0 {
            text.push_str("PU;PG;\n");
        }
        draw(&mut text, plan, frame);
        if let Some(pen) = outputs.pen(Layer::Cut) {
            _ = writeln!(text, "SP{pen};");
            for stroke in &frame.cuts {
                let pass = blade.pass(&stroke.points, stroke.closed);
                let steps = pass.steps.iter().map(|step| step.to);
                line(&mut text, std::iter::once(pass.start).chain(steps));
            }
        }
    }
    text.push_str("PU0,0;SP0;\n");
    text
}

/// Everything that pens draw, pen by pen.
fn draw(text: &mut String, plan: &Plan, frame: &Stop) {
    let pen_of = |stroke: &ToolLine| plan.outputs().pen(stroke.layer);
    let mut pens: Vec<u8> = frame.drawn.iter().filter_map(pen_of).collect();
    pens.sort_unstable();
    pens.dedup();
    for pen in pens {
        _ = writeln!(text, "SP{pen};");
        for stroke in frame.drawn.iter().filter(|s| pen_of(s) == Some(pen)) {
            let first = stroke.points.first().copied().filter(|_| stroke.closed);
            line(text, stroke.points.iter().copied().chain(first));
        }
    }
}

/// Pen up to the first point, pen down along the others.
fn line(text: &mut String, points: impl Iterator<Item = Point>) {
    let unit = |mm: f64| (mm * UNITS_PER_MM).round() as i64;
    let mut points: Vec<(i64, i64)> = points.map(|p| (unit(p.x), unit(p.y))).collect();
    points.dedup();
    let Some(((x, y), rest)) = points.split_first() else {
        return;
    };
    _ = write!(text, "PU{x},{y};");
    // A line that shrinks to a point is still a dot.
    let rest = if rest.is_empty() { &points[..1] } else { rest };
    for chunk in rest.chunks(MOST_POINTS) {
        let pairs: Vec<String> = chunk.iter().map(|(x, y)| format!("{x},{y}")).collect();
        _ = writeln!(text, "PD{};", pairs.join(","));
    }
}
