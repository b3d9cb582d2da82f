//! `cut/<roll>.nc`: one roll for a flatbed cutter.
//!
//! Plain G-code as RS274/NGC describes it (NIST IR 6556): millimetres, absolute. `G0` with the knife
//! up, `G1` with the knife down, and where the job keeps arcs, `G2` and `G3` with the centre as `I`
//! and `J` from the start of the arc; a drag or tangential knife goes along chords. The job gives
//! heights, feed, header and footer. Each frame counts from its own corner and the machine waits (`M0`) for the cloth.

use super::toolpath::{Blade, MoveKind, Stop, ToolLine, frames};
use crate::geometry::{Circle, Point, Vector};
use crate::job::{Arcs, Gcode, Knife};
use crate::number::{number, rounded};
use crate::output::drawing::arcs::along;
use crate::output::notes::head;
use crate::output::style::Layer;
use crate::plan::{Layout, Plan};
use crate::units::Length;

/// Decimals of a coordinate: a micrometre.
const DECIMALS: i32 = 3;

/// The roll of `layout` as G-code.
///
/// Labels are drawn only if the job says how a pen is taken.
#[must_use]
pub(crate) fn layout_gcode(plan: &Plan, layout: &Layout) -> String {
    let mut program = Program::new(plan, layout);
    let frames = frames(plan, layout);
    for (k, frame) in frames.iter().enumerate() {
        if k > 0 {
            let moved = frame.from - frames[k - 1].from;
            program.raise();
            program.remark(&format!(
                "frame {}: move the cloth on by {} mm",
                k + 1,
                number(moved, 1)
            ));
            program.say("M0");
        }
        program.draw(frame);
        program.cut(frame);
    }
    program.finish()
}

struct Program<'a> {
    plan: &'a Plan,
    layout: &'a Layout,
    gcode: &'a Gcode,
    blade: Blade,
    text: String,
    is_up: bool,
}

impl<'a> Program<'a> {
    fn new(plan: &'a Plan, layout: &'a Layout) -> Self {
        let gcode = &plan.outputs().gcode;
        let mut program = Self {
            plan,
            layout,
            gcode,
            blade: Blade::new(plan.outputs().knife, plan.outputs().overcut),
            text: String::new(),
            is_up: false,
        };
        let title = format!("{}: {}", plan.title(), layout.roll());
        program.remark(&head(plan, title));
        program.remark(&format!(
            "millimetres, x along the roll {} mm, y across from the lower selvedge",
            number(layout.used_length().to_mm(), 1)
        ));
        program.lines(&gcode.header);
        program.raise();
        program
    }

    fn finish(mut self) -> String {
        self.raise();
        self.say("G0 X0 Y0");
        self.lines(&self.gcode.footer);
        self.text
    }

    fn say(&mut self, line: &str) {
        self.text.push_str(line);
        self.text.push('\n');
    }

    fn lines(&mut self, lines: &str) {
        lines.lines().for_each(|line| self.say(line));
    }

    /// A comment; whatever could end it early or is not ASCII becomes a blank.
    fn remark(&mut self, remark: &str) {
        let plain = |c: char| match c {
            // Some readers take a semicolon for a comment even in a comment.
            '(' | ')' | '%' | ';' => ' ',
            c if c.is_ascii_graphic() => c,
            _ => ' ',
        };
        let remark: String = remark.chars().map(plain).collect();
        self.say(&format!("({remark})"));
    }

    fn height(&mut self, height: Length) {
        let z = number(height.to_mm(), DECIMALS);
        if height == self.gcode.up {
            self.say(&format!("G0 Z{z}"));
        } else {
            let feed = number(self.gcode.feed.to_mm_per_min(), 1);
            self.say(&format!("G1 Z{z} F{feed}"));
        }
    }

    fn raise(&mut self) {
        if !self.is_up {
            self.height(self.gcode.up);
            self.is_up = true;
        }
    }

    fn lower(&mut self) {
        self.height(self.gcode.down);
        self.is_up = false;
    }

    fn draw(&mut self, frame: &Stop) {
        let Some(pen) = &self.gcode.pen else {
            return;
        };
        let outputs = self.plan.outputs();
        let is_drawn = |stroke: &&ToolLine| outputs.pen(stroke.layer).is_some();
        self.lines(pen);
        let mut piece = None;
        for stroke in frame.drawn.iter().filter(is_drawn) {
            self.name(stroke.piece, "label", &mut piece);
            let first = stroke.points.first().copied().filter(|_| stroke.closed);
            let mut points = stroke.points.iter().copied().chain(first);
            let Some(start) = points.next() else {
                continue;
            };
            self.say(&format!("G0 {}", xy(start)));
            self.lower();
            for point in points {
                self.say(&format!("G1 {}", xy(point)));
            }
            self.raise();
        }
    }

    fn cut(&mut self, frame: &Stop) {
        if self.plan.outputs().pen(Layer::Cut).is_none() {
            return;
        }
        if let Some(knife) = &self.gcode.knife {
            self.lines(knife);
        }
        let mut piece = None;
        let has_arcs = self.plan.outputs().arcs == Arcs::Kept
            && matches!(self.plan.outputs().knife, Knife::Plain);
        for stroke in &frame.cuts {
            self.name(stroke.piece, "cut", &mut piece);
            if has_arcs {
                self.cut_in_arcs(stroke, frame);
            } else {
                self.cut_along(stroke);
            }
        }
    }

    /// Cuts along `stroke` with arcs where its chords lie on one.
    fn cut_in_arcs(&mut self, stroke: &ToolLine, frame: &Stop) {
        let pass = self.blade.pass(&stroke.points, stroke.closed);
        let steps = pass.steps.iter().map(|step| step.to);
        let points: Vec<Point> = std::iter::once(pass.start).chain(steps).collect();
        let to_frame = Vector::new(-frame.from, 0.0);
        let of_piece = stroke
            .piece
            .map(|piece| self.layout.pieces()[piece].circles());
        let circles: Vec<Circle> = (of_piece.into_iter().flatten())
            .map(|circle| Circle {
                centre: circle.centre + to_frame,
                ..circle
            })
            .collect();
        let line = along(&points, &circles);
        self.say(&format!("G0 {}", xy(line[0].point)));
        self.lower();
        for ends in line.windows(2) {
            let (from, to) = (ends[0].point, ends[1].point);
            if ends[0].bulge == 0.0 {
                self.say(&format!("G1 {}", xy(to)));
                continue;
            }
            let command = if ends[0].bulge > 0.0 { "G3" } else { "G2" };
            // From where the machine is: the start as written.
            let centre = ends[0].centre(to);
            let i = number(centre.x - rounded(from.x, DECIMALS), DECIMALS);
            let j = number(centre.y - rounded(from.y, DECIMALS), DECIMALS);
            self.say(&format!("{command} {} I{i} J{j}", xy(to)));
        }
        self.raise();
    }

    fn cut_along(&mut self, stroke: &ToolLine) {
        let pass = self.blade.pass(&stroke.points, stroke.closed);
        let axis = self.gcode.axis;
        let is_turned = matches!(self.plan.outputs().knife, Knife::Tangential { .. });
        let heading = |degrees: f64| match is_turned {
            true => format!(" {axis}{}", number(degrees, DECIMALS)),
            false => String::new(),
        };
        self.say(&format!("G0 {}{}", xy(pass.start), heading(pass.heading)));
        // A blade that swivels before the first cut does so at its own height.
        let mut at_height = None;
        for step in &pass.steps {
            if step.kind == MoveKind::Turn {
                self.raise();
                self.say(&format!("G0{}", heading(step.heading)));
                at_height = None;
                continue;
            }
            let wanted = match (step.kind, self.gcode.swivel) {
                (MoveKind::Swivel, Some(swivel)) => swivel,
                _ => self.gcode.down,
            };
            if at_height != Some(wanted) {
                self.height(wanted);
                self.is_up = false;
                at_height = Some(wanted);
            }
            self.say(&format!("G1 {}{}", xy(step.to), heading(step.heading)));
        }
        self.raise();
    }

    /// Says which piece comes next.
    fn name(&mut self, piece: Option<usize>, what: &str, last: &mut Option<usize>) {
        if let Some(piece) = piece.filter(|_| *last != piece) {
            *last = Some(piece);
            self.remark(&format!("{what} {}", self.layout.pieces()[piece].id()));
        }
    }
}

fn xy(point: Point) -> String {
    format!(
        "X{} Y{}",
        number(point.x, DECIMALS),
        number(point.y, DECIMALS)
    )
}
