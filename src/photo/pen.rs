//! Pen marks on a template: a line is the part's 0°, a cross a place to start or to locate by.

use super::shape::line;
use crate::geometry::{Point, Vector, trig};

/// A pen mark.
#[derive(Clone, Debug)]
pub(super) enum PenMark {
    /// From its left end to its right.
    Line([Point; 2]),
    Cross(Point),
    /// Something else, such as a letter.
    Other,
}

impl PenMark {
    /// A place on it; what nobody understands has none.
    pub(super) fn place(&self) -> Option<Point> {
        match self {
            Self::Line([from, to]) => Some(from.towards(*to, 0.5)),
            Self::Cross(at) => Some(*at),
            Self::Other => None,
        }
    }

    /// Whether both are one mark, seen in two pictures.
    pub(super) fn is_same(&self, other: &Self) -> bool {
        /// Marks of two pictures nearer than this (mm) are the same.
        const NEAR: f64 = 4.0;
        match (self, other) {
            (Self::Line(a), Self::Line(b)) => (0..2).all(|i| a[i].distance(b[i]) < NEAR),
            (Self::Cross(a), Self::Cross(b)) => a.distance(*b) < NEAR,
            _ => false,
        }
    }
}

/// Shortest 0° line, mm.
const LEAST_LINE: f64 = 30.0;
/// Widest line of a pen, to either side of its middle, mm.
const WIDEST: f64 = 2.2;
/// Least and largest length of a stroke of a cross, mm.
const CROSS: [f64; 2] = [5.0, 80.0];

/// What the dark places (mm) are; each stands for so many square millimetres.
pub(super) fn read(points: &[Point], area: f64) -> PenMark {
    let Some((middle, along)) = line(points) else {
        return PenMark::Other;
    };
    let (length, width) = extent(points, middle, along);
    if length[1] - length[0] >= LEAST_LINE && width <= WIDEST {
        let ends = length.map(|s| middle + along * s);
        let forward = (ends[1].x, ends[1].y) > (ends[0].x, ends[0].y);
        return PenMark::Line(if forward { ends } else { [ends[1], ends[0]] });
    }
    cross(points, area).map_or(PenMark::Other, PenMark::Cross)
}

/// How far points reach along a line through `middle`, and how far nearly all of them are off it.
fn extent(points: &[Point], middle: Point, along: Vector) -> ([f64; 2], f64) {
    let s = points.iter().map(|&p| (p - middle).dot(along));
    let reach = s.fold([f64::MAX, f64::MIN], |[l, h], s| [l.min(s), h.max(s)]);
    let mut offs: Vec<f64> = points
        .iter()
        .map(|&p| along.cross(p - middle).abs())
        .collect();
    offs.sort_by(f64::total_cmp);
    (reach, offs[(offs.len() - 1) * 97 / 100])
}

/// Where the two strokes of a cross meet.
fn cross(points: &[Point], area: f64) -> Option<Point> {
    let first = stroke(points)?;
    let rest: Vec<Point> = points
        .iter()
        .copied()
        .filter(|&p| first.1.cross(p - first.0).abs() > WIDEST)
        .collect();
    let second = stroke(&rest)?;
    let on = |(at, along): (Point, Vector)| {
        let own = points
            .iter()
            .copied()
            .filter(|&p| along.cross(p - at).abs() < WIDEST);
        own.collect::<Vec<_>>()
    };
    let lines = [line(&on(first))?, line(&on(second))?];
    let long = lines.iter().all(|&(at, along)| {
        let (reach, _) = extent(&on((at, along)), at, along);
        (CROSS[0]..CROSS[1]).contains(&(reach[1] - reach[0]))
    });
    let [(a, v), (b, w)] = lines;
    let turn = v.cross(w);
    let off = |p: &&Point| {
        lines
            .iter()
            .all(|&(at, along)| along.cross(**p - at).abs() > WIDEST)
    };
    let clean = points.iter().filter(off).count() as f64 * area < 6.0;
    (long && clean && turn.abs() > 0.6).then(|| a + v * ((b - a).cross(w) / turn))
}

/// The line with most of the points on it: through their middle or not.
fn stroke(points: &[Point]) -> Option<(Point, Vector)> {
    const TURNS: usize = 60;
    let first = *points.first()?;
    let mut best: (usize, Option<(Point, Vector)>) = (4, None);
    for k in 0..TURNS {
        let (sin, cos) = trig::sin_cos_radians(std::f64::consts::PI * k as f64 / TURNS as f64);
        let along = Vector::new(cos, sin);
        let mut offs: Vec<f64> = points.iter().map(|&p| along.cross(p - first)).collect();
        offs.sort_by(f64::total_cmp);
        let mut low = 0;
        for high in 0..offs.len() {
            while offs[high] - offs[low] > WIDEST {
                low += 1;
            }
            if high - low > best.0 {
                let off = 0.5 * (offs[high] + offs[low]);
                best = (
                    high - low,
                    Some((first + Vector::new(-sin, cos) * off, along)),
                );
            }
        }
    }
    best.1
}
