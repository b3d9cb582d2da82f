//! From the line to be cut to the path of the machine that holds the knife.
//!
//! A **drag knife** trails its axis by the blade offset d: where the tip cuts along the direction u
//! at P, the axis stands at P + d·u. At a corner the tip rests and the axis goes round it in an arc
//! from P + d·u₁ to P + d·u₂. While the knife is up the blade keeps its heading, so the next cut
//! begins with such an arc too. A **tangential knife** cuts on its axis and is turned by the
//! machine; where the line turns sharply it is lifted first. Own derivation.

use crate::geometry::{Point, Vector, trig};
use crate::job::Knife;
use crate::units::Length;

/// What the machine does on its way to a point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::output) enum MoveKind {
    /// Cuts.
    Cut,
    /// Swivels a drag knife about its tip.
    Swivel,
    /// Lifts a tangential knife, turns it, and lowers it again; the point is where it is already.
    Turn,
}

/// One move with the knife down (but see [`MoveKind::Turn`]).
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in crate::output) struct KnifeMove {
    pub(in crate::output) kind: MoveKind,
    /// Where the axis goes.
    pub(in crate::output) to: Point,
    /// Heading of a tangential knife, degrees, counted on over full turns.
    pub(in crate::output) heading: f64,
}

/// A cut from knife down to knife up.
#[derive(Clone, Debug, PartialEq)]
pub(in crate::output) struct Pass {
    /// Where the axis stands when the knife goes down.
    pub(in crate::output) start: Point,
    /// Heading of a tangential knife there, degrees.
    pub(in crate::output) heading: f64,
    pub(in crate::output) steps: Vec<KnifeMove>,
}

/// A knife with the heading it was left in.
pub(in crate::output) struct Blade {
    knife: Knife,
    overcut: f64,
    /// Direction of the last cut, of length 1.
    along: Vector,
    /// Heading in degrees, counted on over full turns.
    heading: f64,
}

/// Steps of the arc in which a blade swivels, degrees.
const SWIVEL_STEP_DEG: f64 = 10.0;

/// A swivel that moves the axis by less than this (mm) is left to the blade itself.
const NO_SWIVEL_MM: f64 = 0.01;

impl Blade {
    /// A knife that points along +x.
    pub(in crate::output) fn new(knife: Knife, overcut: Length) -> Self {
        Self {
            knife,
            overcut: overcut.to_mm(),
            along: Vector::new(1.0, 0.0),
            heading: 0.0,
        }
    }

    /// The path that cuts along `points`; a closed line is cut on beyond its start by the overcut.
    pub(in crate::output) fn pass(&mut self, points: &[Point], closed: bool) -> Pass {
        let line = self.line(points, closed);
        match self.knife {
            Knife::Plain => {
                let steps = line.iter().skip(1).map(|&to| KnifeMove {
                    kind: MoveKind::Cut,
                    to,
                    heading: 0.0,
                });
                Pass {
                    start: line[0],
                    heading: 0.0,
                    steps: steps.collect(),
                }
            }
            Knife::Drag {
                offset,
                swivel_from,
            } => self.drag(&line, offset.to_mm(), swivel_from.to_degrees()),
            Knife::Tangential { lift_from } => self.tangential(&line, lift_from.to_degrees()),
        }
    }

    /// The line with its end, without repeated points.
    fn line(&self, points: &[Point], closed: bool) -> Vec<Point> {
        let mut line = points.to_vec();
        line.dedup();
        if closed && line.len() > 1 {
            line.push(line[0]);
            let mut left = self.overcut;
            for i in 1..line.len() {
                let (from, to) = (line[i - 1], line[i]);
                let length = from.distance(to);
                if left <= 0.0 {
                    break;
                }
                line.push(from.towards(to, (left / length).min(1.0)));
                left -= length;
            }
            line.dedup();
        }
        line
    }

    fn drag(&mut self, line: &[Point], offset: f64, swivel_from: f64) -> Pass {
        let start = line[0] + self.along * offset;
        let mut steps = Vec::new();
        for (k, edge) in line.windows(2).enumerate() {
            let along = unit(edge[1] - edge[0]);
            self.swivel(
                edge[0],
                along,
                offset,
                if k == 0 { 0.0 } else { swivel_from },
                &mut steps,
            );
            steps.push(cut(edge[1] + along * offset));
            self.along = along;
        }
        Pass {
            start,
            heading: 0.0,
            steps,
        }
    }

    /// The arc of the axis about the tip at `tip` from the present heading to `along`.
    fn swivel(
        &self,
        tip: Point,
        along: Vector,
        offset: f64,
        from: f64,
        steps: &mut Vec<KnifeMove>,
    ) {
        let turn = angle_between(self.along, along);
        let degrees = turn.to_degrees();
        if degrees.abs() <= from {
            // A bend of a curve: the blade comes round by itself.
            if turn.abs() * offset > NO_SWIVEL_MM {
                steps.push(cut(tip + along * offset));
            }
            return;
        }
        let n = (degrees.abs() / SWIVEL_STEP_DEG).ceil().max(1.0);
        for i in 1..=(n as usize) {
            let (sin, cos) = trig::sin_cos_radians(turn * i as f64 / n);
            let u = self.along;
            let turned = Vector::new(u.x * cos - u.y * sin, u.x * sin + u.y * cos);
            steps.push(KnifeMove {
                kind: MoveKind::Swivel,
                to: tip + turned * offset,
                heading: 0.0,
            });
        }
    }

    fn tangential(&mut self, line: &[Point], lift_from: f64) -> Pass {
        let mut steps = Vec::new();
        let mut first = self.heading;
        for (k, edge) in line.windows(2).enumerate() {
            let along = unit(edge[1] - edge[0]);
            let turn = angle_between(self.along, along).to_degrees();
            self.heading += turn;
            self.along = along;
            if k == 0 {
                first = self.heading;
            } else if turn.abs() > lift_from {
                steps.push(KnifeMove {
                    kind: MoveKind::Turn,
                    to: edge[0],
                    heading: self.heading,
                });
            }
            steps.push(KnifeMove {
                kind: MoveKind::Cut,
                to: edge[1],
                heading: self.heading,
            });
        }
        Pass {
            start: line[0],
            heading: first,
            steps,
        }
    }
}

const fn cut(to: Point) -> KnifeMove {
    KnifeMove {
        kind: MoveKind::Cut,
        to,
        heading: 0.0,
    }
}

fn unit(v: Vector) -> Vector {
    v * (1.0 / v.length())
}

/// The turn from `a` to `b` in radians, −π … π.
fn angle_between(a: Vector, b: Vector) -> f64 {
    trig::atan2_radians(a.cross(b), a.dot(b))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::distance::point_to_segment;
    use crate::units::Angle;

    /// A notched outline with a half-round end.
    fn outline() -> Vec<Point> {
        let mut points: Vec<Point> = [(0.0, 0.0), (30.0, 0.0), (15.0, 5.0), (60.0, 0.0)]
            .map(|(x, y)| Point::new(x, y))
            .to_vec();
        for i in 1..90 {
            let (sin, cos) = trig::sin_cos(Angle::degrees(f64::from(i) * 2.0 - 90.0));
            points.push(Point::new(60.0 + 20.0 * cos, 20.0 + 20.0 * sin));
        }
        points.push(Point::new(0.0, 40.0));
        points
    }

    /// Where the tip goes if it trails the axis by `offset`: it always moves towards the axis.
    fn trailed(pass: &Pass, tip: Point, offset: f64) -> Vec<Point> {
        let mut tips = vec![tip];
        let mut axis = pass.start;
        for step in &pass.steps {
            let n = (axis.distance(step.to) / 0.01).ceil().max(1.0);
            for i in 1..=(n as usize) {
                let at = axis.towards(step.to, i as f64 / n);
                let last = tips[tips.len() - 1];
                let pull = at - last;
                tips.push(at - pull * (offset / pull.length()));
            }
            axis = step.to;
        }
        tips
    }

    #[test]
    fn the_tip_of_a_drag_knife_follows_the_line() {
        let offset = 1.0;
        let points = outline();
        let knife = Knife::Drag {
            offset: Length::mm(offset),
            swivel_from: Angle::degrees(15.0),
        };
        let mut blade = Blade::new(knife, Length::mm(2.0));
        for start in [points[0], points[0]] {
            let pass = blade.pass(&points, true);
            let tips = trailed(&pass, start, offset);
            let off = |p: &Point| {
                let edges = (0..points.len()).map(|i| (points[i], points[(i + 1) % points.len()]));
                edges
                    .map(|(a, b)| point_to_segment(*p, a, b))
                    .fold(f64::INFINITY, f64::min)
            };
            let worst = tips.iter().map(off).fold(0.0, f64::max);
            assert!(worst < 0.03, "the tip is {worst} mm off");
            let covered = points.iter().map(|p| {
                tips.iter()
                    .map(|t| t.distance(*p))
                    .fold(f64::INFINITY, f64::min)
            });
            assert!(covered.fold(0.0, f64::max) < 0.03);
            // 2 mm beyond the start.
            let end = tips[tips.len() - 1];
            assert!(end.distance(Point::new(2.0, 0.0)) < 0.03, "{end:?}");
        }
    }

    #[test]
    fn a_tangential_knife_points_along_and_is_lifted_at_corners() {
        let knife = Knife::Tangential {
            lift_from: Angle::degrees(30.0),
        };
        let pass = Blade::new(knife, Length::ZERO).pass(&outline(), true);
        assert_eq!(pass.heading, 0.0);
        let lifts = pass
            .steps
            .iter()
            .filter(|s| s.kind == MoveKind::Turn)
            .count();
        assert_eq!(lifts, 3, "two at the notch, one at the last corner");
        let mut at = pass.start;
        for step in pass.steps.iter().filter(|s| s.kind == MoveKind::Cut) {
            let along = trig::direction(step.to.x - at.x, step.to.y - at.y);
            let off = (along.to_degrees() - step.heading).rem_euclid(360.0);
            assert!(off.min(360.0 - off) < 1e-6, "{step:?}");
            at = step.to;
        }
    }

    #[test]
    fn a_plain_knife_keeps_to_the_line_and_overcuts() {
        let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)];
        let points = square.map(|(x, y)| Point::new(x, y));
        let pass = Blade::new(Knife::Plain, Length::mm(3.0)).pass(&points, true);
        let ends: Vec<Point> = pass.steps.iter().map(|s| s.to).collect();
        assert_eq!(ends[ends.len() - 2..], [points[0], Point::new(3.0, 0.0)]);
    }
}
