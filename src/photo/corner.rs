//! Where two pieces of a traced edge meet: in a sharp corner, in a round one, or smoothly.

use super::pieces::{EdgeSharpness, FittedPiece, SMOOTH};
use super::ring::{EdgePoint, StretchWay};
use super::shape::{TOGETHER, meeting, nearest};
use crate::geometry::{Circle, Point, Vector};

/// The area that a picture takes of a sharp corner, as a part of what its blur takes of a small turn, by trials on rendered pictures.
const TAKEN: f64 = 0.5;
/// A corner of which so many times that is missing was cut round.
const ROUND: f64 = 6.0;

/// Where two pieces meet.
pub(super) struct Corner {
    /// Where the first ends and the second begins, and what lies between them if it is cut round.
    pub(super) ends: [Point; 2],
    pub(super) round: Option<Circle>,
    /// How far it may be off, mm.
    pub(super) error: f64,
}

/// What a picture lacks of a corner (mm²), and the length of edge that tells (mm).
#[derive(Default)]
struct MissingArea {
    area: f64,
    seen: f64,
    /// Of that length each part as many times as the noise of its points is, squared, mm³.
    noise: f64,
}

impl EdgeSharpness {
    /// Where two pieces of `points` meet, and whether they do so sharply; less sure places are seen with `weak_blur`.
    pub(super) fn corner(
        &self,
        points: &[EdgePoint],
        weak_blur: f64,
        [before, after]: [&FittedPiece; 2],
    ) -> Corner {
        let n = points.len();
        let (a, b) = (&before.shape, &after.shape);
        // What lies between them in the ring.
        let gap = (after.stretch.from + n - before.stretch.to % n) % n;
        let middle = before.stretch.to + gap / 2;
        let ends = [(middle + n - 1) % n, middle % n].map(|k| points[k].at);
        let at = ends[0].towards(ends[1], 0.5);
        let far = 12.0 * self.blur + ends[0].distance(ends[1]);
        let off_at = |at: Point| {
            let [before, after] = [before, after].map(|piece| piece.error(at, self.noise));
            before.max(after)
        };
        let Some(met) = meeting(a, b, at).filter(|met| met.distance(at) < far) else {
            return self.smooth([before, after], at);
        };
        let off = off_at(met);
        let (into, out) = (a.way(met), b.way(met));
        let turn = into.angle(&out);
        let slope = libm::tan(0.5 * turn.abs().min(2.9));
        // The more pointed a corner, the further it moves for what its edges are off.
        let moved = off * libm::hypot(1.0, slope).min(5.0);
        let sharp = |error: f64| Corner {
            ends: [met; 2],
            round: None,
            error,
        };
        if turn.abs() < 2.0 * SMOOTH {
            return sharp(moved);
        }
        let is_weak =
            { points.iter() }.any(|p| p.is_weak() && p.at.distance(met) < 4.0 * self.blur);
        let blur = if is_weak { weak_blur } else { self.blur };
        let missing = self.missing(points, blur, [before, after], met);
        let noise = TOGETHER * missing.noise * 2.0 * blur / 3.0;
        let doubt = missing.seen * off + noise.sqrt();
        let expected = TAKEN * slope * blur * blur;
        // Of an arc of radius r between two lines that turn by θ, r² (tan(θ / 2) - θ / 2) is missing.
        let area = slope - 0.5 * turn.abs();
        let radius_of = |missing: f64| (missing.max(0.0) / area.max(1e-6)).sqrt();
        let depth_of = |radius: f64| radius * (libm::hypot(1.0, slope) - 1.0);
        let least = missing.area - ROUND * expected;
        let radius = radius_of(missing.area - expected);
        let shorter = before.length().min(after.length());
        if least < 2.0 * doubt || radius * slope > 0.4 * shorter {
            let error = 0.5 * depth_of(radius_of(missing.area - expected + doubt));
            return sharp(moved.max(error));
        }
        let inward = Vector::new(-into.direction().y, into.direction().x) * turn.signum();
        let tangents = [
            into.direction() * (-radius * slope),
            out.direction() * (radius * slope),
        ];
        let ends = tangents.map(|tangent| met + tangent);
        let error = depth_of(radius) - depth_of(radius_of(least - doubt));
        Corner {
            ends,
            round: Some(Circle {
                centre: ends[0] + inward * radius,
                radius,
            }),
            error: moved.max(error),
        }
    }

    /// Where two pieces that hardly turn into each other go on near `at`: where they are nearest to each other, and there each gives
    /// way by how unsure it is. A long edge stays where it is seen when a short arc beside it is seen badly.
    fn smooth(&self, pieces: [&FittedPiece; 2], at: Point) -> Corner {
        let [a, b] = pieces.map(|piece| piece.shape);
        let reach = 0.5 * pieces[0].length().min(pieces[1].length());
        let near = nearest(&a, &b, at).filter(|near| near.distance(at) < reach);
        let at = near.unwrap_or(at);
        let [first, second] = pieces.map(|piece| piece.error(at, self.noise));
        let ways = [a, b].map(|shape| shape.way(at).at);
        let part = first.powi(2) / (first.powi(2) + second.powi(2));
        let part = if part.is_finite() { part } else { 0.5 };
        Corner {
            ends: [ways[0].towards(ways[1], part); 2],
            round: None,
            error: first.max(second) + 0.5 * ways[0].distance(ways[1]),
        }
    }

    /// The area between two pieces that meet and what is seen of their corner: of a sharp one tan(turn / 2) σ², of a round one more.
    fn missing(
        &self,
        points: &[EdgePoint],
        blur: f64,
        pieces: [&FittedPiece; 2],
        met: Point,
    ) -> MissingArea {
        let n = points.len();
        let reach = 4.0 * blur;
        let ways: [StretchWay; 2] = pieces.map(|piece| piece.shape.way(met));
        let side = ways[0].angle(&ways[1]).signum();
        let mut missing = MissingArea::default();
        for k in 0..n {
            let (p, next) = (points[k].at, points[(k + 1) % n].at);
            if p.distance(met) > 3.0 * reach {
                continue;
            }
            let [into, out] = [0, 1].map(|i| (p - met).dot(ways[i].direction()));
            if (if into + out < 0.0 { -into } else { out }) > reach {
                continue;
            }
            let [before, after] = pieces.map(|piece| piece.shape.left(p) * side);
            let way = ways[usize::from(after <= before)];
            let step = (next - p).dot(way.direction()).max(0.0);
            missing.area += before.min(after) * step;
            missing.seen += step;
            missing.noise += step * self.noise * self.noise / points[k].weight;
        }
        missing
    }
}
