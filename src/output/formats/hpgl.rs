//! `cut/<roll>.hpgl`: one roll for pen plotters and knife cutters.
//!
//! HP-GL as every plotter takes it (IN, SP, PU, PD, PG): 1016 units in an inch, x along the roll,
//! pens by layer, texts as strokes. Each frame is a page with its own origin; `PG` moves the cloth
//! on. Where the job wants 16-bit numbers, a scale (IP, SC) makes one number of so many units that all
//! stay within. From memory of the HP-GL reference; checked with an independent viewer.

use std::fmt::Write as _;

use super::toolpath::{Blade, Stop, ToolLine, frames};
use crate::geometry::Point;
use crate::job::{HpglNumbers, Knife};
use crate::output::style::Layer;
use crate::plan::{Layout, Plan};
use crate::units::Length;

/// Units in a millimetre: 1016 in an inch.
const UNITS_PER_MM: f64 = 1016.0 / 25.4;

/// How many of its numbers a scale sets to so many units, where 16 bits hold as many units.
const SCALED: u32 = 1000;

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
    let frames = frames(plan, layout);
    let units = match outputs.hpgl_numbers {
        HpglNumbers::Any => 1,
        HpglNumbers::SixteenBit => {
            // A drag knife swivels about its axis and cuts on beyond the start.
            let swivel = match knife {
                Knife::Drag { offset, .. } => offset * 2.0,
                _ => Length::ZERO,
            };
            units_to_a_number(&frames, swivel + outputs.overcut)
        }
    };
    if units > 1 {
        let scaled = (HpglNumbers::LARGEST / units).clamp(1, SCALED);
        let end = scaled * units;
        _ = writeln!(text, "IP0,0,{end},{end};SC0,{scaled},0,{scaled};");
    }
    let per_mm = UNITS_PER_MM / f64::from(units);
    for (k, frame) in frames.iter().enumerate() {
        if k > 0 {
            text.push_str("PU;PG;\n");
        }
        draw(&mut text, plan, frame, per_mm);
        if let Some(pen) = outputs.pen(Layer::Cut) {
            _ = writeln!(text, "SP{pen};");
            for stroke in &frame.cuts {
                let pass = blade.pass(&stroke.points, stroke.closed);
                let steps = pass.steps.iter().map(|step| step.to);
                line(&mut text, std::iter::once(pass.start).chain(steps), per_mm);
            }
        }
    }
    text.push_str("PU0,0;SP0;\n");
    text
}

/// How many units a number stands for, so that 16 bits hold all of `frames` and the `reach` of the
/// knife beyond their lines.
fn units_to_a_number(frames: &[Stop], reach: Length) -> u32 {
    let lines = frames
        .iter()
        .flat_map(|frame| frame.drawn.iter().chain(&frame.cuts));
    let points = lines.flat_map(|line| &line.points);
    let farthest = points.map(|p| p.x.abs().max(p.y.abs())).fold(0.0, f64::max);
    let units = (farthest + reach.to_mm()) * UNITS_PER_MM / f64::from(HpglNumbers::LARGEST);
    units.ceil().max(1.0) as u32
}

/// Everything that pens draw, pen by pen.
fn draw(text: &mut String, plan: &Plan, frame: &Stop, per_mm: f64) {
    let pen_of = |stroke: &ToolLine| plan.outputs().pen(stroke.layer);
    let mut pens: Vec<u8> = frame.drawn.iter().filter_map(pen_of).collect();
    pens.sort_unstable();
    pens.dedup();
    for pen in pens {
        _ = writeln!(text, "SP{pen};");
        for stroke in frame.drawn.iter().filter(|s| pen_of(s) == Some(pen)) {
            let first = stroke.points.first().copied().filter(|_| stroke.closed);
            line(text, stroke.points.iter().copied().chain(first), per_mm);
        }
    }
}

/// Pen up to the first point, pen down along the others, in numbers of which so many are a millimetre.
fn line(text: &mut String, points: impl Iterator<Item = Point>, per_mm: f64) {
    let unit = |mm: f64| (mm * per_mm).round() as i64;
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
