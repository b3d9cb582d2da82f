//! The pieces of a divided ply: their lines, joints and marks.

use super::bands::{Bands, Part};
use super::{Joint, Lies, Splice, turned};
use crate::geometry::{Outline, Point, Turn, Vector, clip};
use crate::job::JointKind;
use crate::ply::{Mark, Piece, turns};
use crate::units::Length;

/// Room along a joint (mm) that the piece's own label keeps clear, for the joint's text, where the
/// lap is narrower.
const TEXT_MM: f64 = 12.0;

/// A step (mm) from a line to one side of it, to ask what lies there: more than the clipping grid,
/// less than shows in the ends of a joint on a slanted edge.
const ASIDE_MM: f64 = 0.001;

/// A mark that ends this near (mm) to a piece is on it.
const ON_EDGE_MM: f64 = 0.02;

/// The pieces of `whole`, divided at heights `at`.
pub(super) fn pieces(
    whole: &Piece,
    bands: &mut Bands<'_>,
    at: &[f64],
    joint: JointKind,
) -> Vec<Piece> {
    let mut ends = vec![f64::NEG_INFINITY];
    ends.extend(at);
    ends.push(f64::INFINITY);
    let parts: Vec<(usize, Part)> = ends
        .windows(2)
        .enumerate()
        .flat_map(|(k, ends)| {
            let parts = bands.between(ends[0], ends[1]);
            parts
                .unwrap_or_default()
                .into_iter()
                .map(move |part| (k, part))
        })
        .collect();
    let division = Division {
        bands,
        ends: &ends,
        parts: &parts,
        joint,
    };
    let back = Turn::rotation(-bands.frame.angle);
    (0..parts.len())
        .map(|idx| division.piece(whole, idx, back))
        .collect()
}

/// A ply divided, in the frame where the lines are level.
struct Division<'d, 'b> {
    bands: &'d Bands<'b>,
    /// Heights of the lines, the infinite ends among them.
    ends: &'d [f64],
    /// Each piece with the number of its band.
    parts: &'d [(usize, Part)],
    joint: JointKind,
}

/// The side of a band that a line is on.
#[derive(Clone, Copy, PartialEq)]
enum Side {
    Below,
    Above,
}

impl Division<'_, '_> {
    fn piece(&self, whole: &Piece, idx: usize, back: Turn) -> Piece {
        let (band, part) = &self.parts[idx];
        let half = self.bands.lap / 2.0;
        let (below, above) = (self.ends[*band], self.ends[*band + 1]);
        let joints = [Side::Below, Side::Above]
            .into_iter()
            .flat_map(|side| self.joints(idx, side))
            .map(|joint| Joint {
                line: joint.line.map(|p| back.apply(p)),
                inward: turned(back, joint.inward),
                ..joint
            })
            .collect();
        let on_others = clip::band(&part.net, f64::NEG_INFINITY, below + half);
        let cut = back.outline(&part.cut).writable();
        Piece {
            on_bias: turns::lies_on_bias(
                self.bands.cloth.weave,
                &cut.outer,
                whole.zero,
                whole.warp(),
            ),
            net: back.outline(&part.net).writable(),
            marks: self.marks(&whole.marks, part, (below - half, above + half), back),
            splice: Some(Splice {
                letter: letter(idx),
                of: self.parts.len(),
                joints,
                lap_area: match self.joint {
                    JointKind::Lap => on_others.iter().map(Outline::area).sum(),
                    JointKind::Butt => 0.0,
                },
                clear: back.outline(&self.clear(part, below, above)),
            }),
            cut,
            ..whole.clone()
        }
    }

    /// The joints of a piece along one of its lines.
    fn joints(&self, idx: usize, side: Side) -> Vec<Joint> {
        let (band, part) = &self.parts[idx];
        let lap = self.bands.lap;
        let (line, mates, inward, lies) = match side {
            Side::Below => (
                self.ends[*band],
                band.checked_sub(1),
                Vector::new(0.0, 1.0),
                Lies::Over,
            ),
            Side::Above => (
                self.ends[*band + 1],
                Some(*band + 1),
                Vector::new(0.0, -1.0),
                Lies::Under,
            ),
        };
        let Some(mate_band) = mates.filter(|_| line.is_finite()) else {
            return Vec::new();
        };
        // The neighbour ends half a lap into this piece.
        let height = line + inward.y * lap / 2.0;
        // Just inside both pieces, as far as both are there.
        let other = height - inward.y * ASIDE_MM;
        let own = match self.joint {
            JointKind::Lap => other,
            JointKind::Butt => height + inward.y * ASIDE_MM,
        };
        clip::chords(&part.cut, own)
            .into_iter()
            .filter_map(|(from, to)| {
                let middle = Point::new((from + to) / 2.0, other);
                let mate = self
                    .parts
                    .iter()
                    .position(|(band, p)| *band == mate_band && p.cut.contains(middle))?;
                Some(Joint {
                    kind: self.joint,
                    mate: letter(mate),
                    lies: match self.joint {
                        JointKind::Lap => lies,
                        JointKind::Butt => Lies::Beside,
                    },
                    lap: Length::mm(lap),
                    line: [Point::new(from, height), Point::new(to, height)],
                    inward,
                })
            })
            .collect()
    }

    /// The largest part of the piece that no joint touches.
    fn clear(&self, part: &Part, below: f64, above: f64) -> Outline {
        let room = (self.bands.lap / 2.0).max(TEXT_MM);
        clip::band(&part.cut, below + room, above - room)
            .into_iter()
            .reduce(|a, b| if b.area() > a.area() { b } else { a })
            .unwrap_or_else(|| part.cut.clone())
    }

    /// What of `marks` lies on the piece between two heights.
    fn marks(&self, marks: &[Mark], part: &Part, limits: (f64, f64), back: Turn) -> Vec<Mark> {
        let mut kept = Vec::new();
        for mark in marks {
            let points: Vec<Point> = mark
                .points
                .iter()
                .map(|&p| self.bands.frame.apply(p))
                .collect();
            let lines = if points.iter().all(|p| limits.0 <= p.y && p.y <= limits.1) {
                vec![(points, mark.closed)]
            } else {
                let open = inside(&points, mark.closed, limits);
                open.into_iter().map(|line| (line, false)).collect()
            };
            for (points, closed) in lines {
                if points.iter().any(|&p| is_on(part, p)) {
                    kept.push(Mark {
                        kind: mark.kind,
                        points: points.iter().map(|&p| back.apply(p)).collect(),
                        closed,
                    });
                }
            }
        }
        kept
    }
}

/// `A` for 0.
fn letter(idx: usize) -> char {
    u8::try_from(idx).map_or('Z', |i| char::from(b'A' + i.min(25)))
}

/// Whether `p` lies on the piece; a tick may end on its edge.
fn is_on(part: &Part, p: Point) -> bool {
    let near = |(a, b)| crate::geometry::distance::point_to_segment(p, a, b) <= ON_EDGE_MM;
    part.cut.outer.contains(p) || part.cut.outer.edges().any(near)
}

/// The stretches of a line between two heights.
fn inside(points: &[Point], closed: bool, (low, high): (f64, f64)) -> Vec<Vec<Point>> {
    let mut lines: Vec<Vec<Point>> = Vec::new();
    let mut edges: Vec<(Point, Point)> = points.windows(2).map(|w| (w[0], w[1])).collect();
    if closed && let (Some(&last), Some(&first)) = (points.last(), points.first()) {
        edges.push((last, first));
    }
    for (a, b) in edges {
        let rise = b.y - a.y;
        let at = |y: f64| if rise == 0.0 { 0.0 } else { (y - a.y) / rise };
        if rise == 0.0 && (a.y < low || a.y > high) {
            continue;
        }
        let (from, to) = match rise.total_cmp(&0.0) {
            std::cmp::Ordering::Equal => (0.0, 1.0),
            std::cmp::Ordering::Greater => (at(low).max(0.0), at(high).min(1.0)),
            std::cmp::Ordering::Less => (at(high).max(0.0), at(low).min(1.0)),
        };
        if from >= to {
            continue;
        }
        let (start, end) = (a.towards(b, from), a.towards(b, to));
        match lines.last_mut() {
            Some(line) if line.last().is_some_and(|p| p.distance(start) < 1e-9) => line.push(end),
            _ => lines.push(vec![start, end]),
        }
    }
    lines
}
