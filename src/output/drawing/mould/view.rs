//! A surface seen along a direction: where its places are drawn, and which of them are hidden.
//!
//! A picture of depths decides: every triangle is painted into it, the nearest stays. So hidden parts are hidden
//! whatever the triangles, and what is drawn is bounded by the picture, not by the mould.

use std::collections::BTreeMap;

use glam::{DVec2, DVec3, dvec2};

use super::mask::AreaMask;
use crate::geometry::{Bounds, Point, line_simplified};
use crate::mould::surface::{NONE, Surface};

/// Pixels of the picture of depths to a pixel of the drawing.
const FINER: f64 = 2.0;

/// So much (pixels of the depths) nearer may a place be than what hides it.
const TOLERANCE: f64 = 2.5;

/// Most pixels that are painted, over and over. More: a small file of huge triangles takes minutes; fewer: the
/// picture of a mould in many layers lacks some.
const MOST_PAINTED: usize = 60_000_000;

/// A line may be off by this, pixels of the drawing.
const SIMPLIFY: f64 = 0.3;

/// Cosine of the bend (25°) from which an edge of the mould is drawn.
const CREASE: f64 = 0.906;

/// Most points of edges; the longest lines come first.
const MOST_POINTS: usize = 2_500;

/// Lines along edges that are shorter (pixels) are not drawn.
const SHORTEST: f64 = 5.0;

/// From where a surface is seen.
#[derive(Clone, Copy, Debug)]
pub(super) struct Eye {
    right: DVec3,
    up: DVec3,
    toward: DVec3,
}

impl Eye {
    /// The eye in direction `from`, z upward if that can be.
    pub(super) fn from(from: DVec3) -> Self {
        let toward = from.normalize_or(DVec3::Z);
        let upward = if toward.z.abs() > 0.999 {
            DVec3::Y
        } else {
            DVec3::Z
        };
        let right = upward.cross(toward).normalize_or(DVec3::X);
        Self {
            right,
            up: toward.cross(right),
            toward,
        }
    }

    fn plane(&self, p: DVec3) -> DVec2 {
        dvec2(self.right.dot(p), self.up.dot(p))
    }
}

/// Which triangles are drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sides {
    /// Those that turn their front to the eye.
    Front,
    /// All.
    Both,
}

/// A surface seen.
pub(super) struct MouldView<'s> {
    surface: &'s Surface,
    eye: Eye,
    sides: Sides,
    /// Pixels of the drawing to a millimetre.
    scale: f64,
    /// What is drawn at the upper left corner, mm in the plane of the picture.
    corner: DVec2,
    /// Of the drawing, pixels.
    size: (f64, f64),
    width: usize,
    height: usize,
    depths: Vec<f32>,
    faces: Vec<u32>,
}

impl<'s> MouldView<'s> {
    /// `surface` as seen by `eye`, in at most so many pixels; `None` if it has no extent.
    pub(super) fn new(
        surface: &'s Surface,
        eye: Eye,
        sides: Sides,
        (wide, high): (f64, f64),
    ) -> Option<Self> {
        let of_faces = surface.faces().iter().flatten();
        let points = of_faces.map(|&k| eye.plane(surface.points()[k as usize]));
        let points = points.map(|p| Point::new(p.x, p.y));
        let bounds = Bounds::of(points)?;
        let (w, h) = (bounds.width(), bounds.height());
        let scale = (wide / w.max(1e-9)).min(high / h.max(1e-9));
        if !(scale.is_finite() && scale > 0.0) {
            return None;
        }
        let size = ((w * scale).max(1.0), (h * scale).max(1.0));
        let pixels = |length: f64| (length * FINER).ceil() as usize + 1;
        let (width, height) = (pixels(size.0), pixels(size.1));
        let mut view = Self {
            surface,
            eye,
            sides,
            scale,
            corner: dvec2(bounds.min.x, bounds.max.y),
            size,
            width,
            height,
            depths: vec![f32::NEG_INFINITY; width * height],
            faces: vec![NONE; width * height],
        };
        let mut n_painted = 0;
        for face in 0..surface.n_faces() {
            if n_painted > MOST_PAINTED {
                break;
            }
            if !view.is_drawn(face) {
                continue;
            }
            let corners = surface.corners(face).map(|p| view.pixel(p));
            n_painted += fill((view.width, view.height), corners, |at, share| {
                let depth = weighed(share, corners.map(|c| c.z)) as f32;
                if depth > view.depths[at] {
                    view.depths[at] = depth;
                    view.faces[at] = face;
                }
            });
        }
        Some(view)
    }

    /// Size of the drawing, pixels.
    pub(super) const fn size(&self) -> (f64, f64) {
        self.size
    }

    fn is_drawn(&self, face: u32) -> bool {
        self.sides == Sides::Both || self.is_front(face)
    }

    fn is_front(&self, face: u32) -> bool {
        self.surface.normal(face).dot(self.eye.toward) > 0.0
    }

    /// In the picture of depths: x, y down, and the nearness in its pixels.
    fn pixel(&self, p: DVec3) -> DVec3 {
        let flat = self.eye.plane(p) - self.corner;
        DVec3::new(flat.x, -flat.y, self.eye.toward.dot(p)) * self.scale * FINER
    }

    /// Where `p` is drawn, pixels.
    pub(super) fn at(&self, p: DVec3) -> Point {
        let p = self.pixel(p) / FINER;
        Point::new(p.x, p.y)
    }

    /// Whether nothing hides `p`.
    pub(super) fn is_seen(&self, p: DVec3) -> bool {
        self.seen_on(p, |_| true)
    }

    /// Whether nothing hides `p`, and one of the triangles seen around it is `wanted`.
    pub(super) fn seen_on(&self, p: DVec3, wanted: impl Fn(u32) -> bool) -> bool {
        let pixel = self.pixel(p);
        let (x, y) = (pixel.x.floor() as i64, pixel.y.floor() as i64);
        let around = (-1..=1).flat_map(|dy| (-1..=1).map(move |dx| (x + dx, y + dy)));
        around.into_iter().any(|(x, y)| {
            let is_in = (0..self.width as i64).contains(&x) && (0..self.height as i64).contains(&y);
            is_in && {
                let at = y as usize * self.width + x as usize;
                let face = self.faces[at];
                face != NONE && wanted(face) && f64::from(self.depths[at]) <= pixel.z + TOLERANCE
            }
        })
    }

    /// The areas where a triangle is seen that is `wanted`, as rings in pixels of the drawing.
    pub(super) fn area(&self, wanted: impl Fn(u32) -> bool) -> Vec<Vec<Point>> {
        self.rings(&self.faces(wanted))
    }

    /// The pixels where a triangle is seen that is `wanted`.
    pub(super) fn faces(&self, wanted: impl Fn(u32) -> bool) -> AreaMask {
        self.mask(|at| self.faces[at] != NONE && wanted(self.faces[at]))
    }

    pub(super) fn mask(&self, is_wanted: impl Fn(usize) -> bool) -> AreaMask {
        AreaMask::of(self.width, self.height, is_wanted)
    }

    /// The rings of `mask` in pixels of the drawing.
    pub(super) fn rings(&self, mask: &AreaMask) -> Vec<Vec<Point>> {
        let drawn = |ring: Vec<Point>| ring.into_iter().map(Self::drawn).collect();
        mask.rings().into_iter().map(drawn).collect()
    }

    /// Where a place of the picture of depths is drawn.
    pub(super) fn drawn(p: Point) -> Point {
        Point::new(p.x / FINER, p.y / FINER)
    }

    /// How far (pixels of the drawing) a distance in a mask is.
    pub(super) fn drawn_length(length: f64) -> f64 {
        length / FINER
    }

    /// The values of four-cornered cells at the pixels where a triangle is seen that is `wanted`; pixels between
    /// cells take their neighbours'.
    pub(super) fn values(
        &self,
        cells: impl Iterator<Item = [(DVec3, f64); 4]>,
        wanted: impl Fn(u32) -> bool,
    ) -> Vec<Option<f64>> {
        let is_wanted = |at: usize| self.faces[at] != NONE && wanted(self.faces[at]);
        let mut values = vec![None; self.depths.len()];
        for cell in cells {
            let pixels = cell.map(|(p, _)| self.pixel(p));
            // A flat cell cuts through what bends under it.
            let bulge = (pixels[0] - pixels[2])
                .length()
                .max((pixels[1] - pixels[3]).length())
                / 3.0;
            for [a, b, c] in [[0, 1, 2], [0, 2, 3]] {
                let corners = [pixels[a], pixels[b], pixels[c]];
                fill((self.width, self.height), corners, |at, share| {
                    let depth = weighed(share, corners.map(|p| p.z));
                    let off = (depth - f64::from(self.depths[at])).abs();
                    if is_wanted(at) && off <= bulge + TOLERANCE {
                        values[at] = Some(weighed(share, [cell[a].1, cell[b].1, cell[c].1]));
                    }
                });
            }
        }
        for _ in 0..4.max(self.width / 40) {
            let before = values.clone();
            let mut is_full = true;
            for at in (0..values.len()).filter(|&at| before[at].is_none() && is_wanted(at)) {
                let (x, y) = (at % self.width, at / self.width);
                let left = (x > 0).then(|| at - 1);
                let right = (x + 1 < self.width).then_some(at + 1);
                let above = at.checked_sub(self.width);
                let below = (y + 1 < self.height).then_some(at + self.width);
                let near = [left, right, above, below].into_iter().flatten();
                let near: Vec<f64> = near.filter_map(|at| before[at]).collect();
                if !near.is_empty() {
                    values[at] = Some(near.iter().sum::<f64>() / near.len() as f64);
                }
                is_full = false;
            }
            if is_full {
                break;
            }
        }
        values
    }

    /// What is seen of a line through `points`, where `is_seen` says so.
    pub(super) fn seen_of(
        &self,
        points: &[DVec3],
        is_seen: impl Fn(DVec3) -> bool,
    ) -> Vec<Vec<Point>> {
        let mut lines = Vec::new();
        let mut run: Vec<Point> = Vec::new();
        let mut end = |run: &mut Vec<Point>| {
            if run.len() > 1 {
                lines.push(line_simplified(run, SIMPLIFY));
            }
            run.clear();
        };
        for pair in points.windows(2) {
            let (from, to) = (pair[0], pair[1]);
            let steps = (self.at(from).distance(self.at(to)) * FINER)
                .ceil()
                .clamp(1.0, 4_000.0) as u32;
            for k in u32::from(!run.is_empty())..=steps {
                let p = from.lerp(to, f64::from(k) / f64::from(steps));
                match is_seen(p) {
                    true => run.push(self.at(p)),
                    false => end(&mut run),
                }
            }
        }
        end(&mut run);
        lines
    }

    /// The edges that are drawn of the surface itself: its borders, where it bends sharply, and where it turns away.
    pub(super) fn edges(&self) -> Vec<Vec<Point>> {
        let surface = self.surface;
        let mut ends: BTreeMap<u32, Vec<u32>> = BTreeMap::new();
        for face in (0..surface.n_faces()).filter(|&face| self.is_drawn(face)) {
            for (k, next) in surface.across(face).into_iter().enumerate() {
                let is_edge = next == NONE
                    || self.is_front(face) != self.is_front(next)
                    || (face < next && surface.normal(face).dot(surface.normal(next)) < CREASE);
                if is_edge {
                    let corners = surface.faces()[face as usize];
                    let (a, b) = (corners[k], corners[(k + 1) % 3]);
                    ends.entry(a).or_default().push(b);
                    ends.entry(b).or_default().push(a);
                }
            }
        }
        let mut lines: Vec<(f64, Vec<Point>)> = Vec::new();
        for chain in chains(ends) {
            let points: Vec<DVec3> = chain
                .iter()
                .map(|&k| surface.points()[k as usize])
                .collect();
            for line in self.seen_of(&points, |p| self.is_seen(p)) {
                let length: f64 = line.windows(2).map(|w| w[0].distance(w[1])).sum();
                if length >= SHORTEST {
                    lines.push((length, line));
                }
            }
        }
        lines.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut left = MOST_POINTS;
        let mut drawn = Vec::new();
        for (_, line) in lines {
            if line.len() > left {
                break;
            }
            left -= line.len();
            drawn.push(line);
        }
        drawn
    }
}

/// Lines from corner to corner, as long as they go on.
fn chains(mut ends: BTreeMap<u32, Vec<u32>>) -> Vec<Vec<u32>> {
    ends.values_mut().for_each(|to| {
        to.sort_unstable();
        to.dedup();
    });
    let mut chains = Vec::new();
    let take = |ends: &mut BTreeMap<u32, Vec<u32>>, from: u32| -> Option<u32> {
        let next = ends.get_mut(&from)?.pop()?;
        if let Some(back) = ends.get_mut(&next) {
            back.retain(|&k| k != from);
        }
        Some(next)
    };
    // Where lines end or fork first, then those that are closed.
    let firsts: Vec<u32> = ends
        .iter()
        .filter(|(_, to)| to.len() != 2)
        .map(|(&k, _)| k)
        .collect();
    let all: Vec<u32> = ends.keys().copied().collect();
    for first in firsts.iter().chain(&all) {
        while let Some(next) = take(&mut ends, *first) {
            let mut chain = vec![*first, next];
            let mut here = next;
            while let Some(next) = take(&mut ends, here) {
                chain.push(next);
                here = next;
            }
            chains.push(chain);
        }
    }
    chains
}

/// `values` of the corners of a triangle, mixed.
fn weighed(share: [f64; 3], values: [f64; 3]) -> f64 {
    share.iter().zip(values).map(|(s, v)| s * v).sum()
}

/// Tells `paint` the pixels whose middles lie in a triangle, by their index, and how near each corner is; how many
/// there were.
fn fill(
    (width, height): (usize, usize),
    [a, b, c]: [DVec3; 3],
    mut paint: impl FnMut(usize, [f64; 3]),
) -> usize {
    let (p, q) = (b - a, c - a);
    let det = p.x * q.y - p.y * q.x;
    if det == 0.0 || !det.is_finite() {
        return 0;
    }
    // The middles of pixels between two places.
    let range = |low: f64, high: f64, most: usize| {
        let first = (low - 0.5).ceil().clamp(0.0, most as f64) as usize;
        let end = ((high - 0.5).floor() + 1.0).clamp(0.0, most as f64) as usize;
        first..end
    };
    let mut n = 0;
    let (low, high) = (a.y.min(b.y).min(c.y), a.y.max(b.y).max(c.y));
    for row in range(low, high, height) {
        let y = row as f64 + 0.5;
        let sides = [[a, b], [b, c], [c, a]];
        let crossed = sides.into_iter().filter(|[p, q]| (p.y <= y) != (q.y <= y));
        let crossings = crossed.map(|[p, q]| p.x + (q.x - p.x) * (y - p.y) / (q.y - p.y));
        let (left, right) = crossings.fold((f64::INFINITY, f64::NEG_INFINITY), |(l, r), x| {
            (l.min(x), r.max(x))
        });
        for column in range(left, right, width) {
            let (dx, dy) = (column as f64 + 0.5 - a.x, y - a.y);
            let (u, v) = ((dx * q.y - dy * q.x) / det, (p.x * dy - p.y * dx) / det);
            paint(row * width + column, [1.0 - u - v, u, v]);
            n += 1;
        }
    }
    n
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two level squares, the upper one over the middle of the lower.
    fn squares() -> Surface {
        let square = |half: f64, z: f64| {
            [(-half, -half), (half, -half), (half, half), (-half, half)]
                .map(|(x, y)| DVec3::new(x, y, z))
        };
        let points = [square(50.0, 0.0), square(20.0, 30.0)].concat();
        let faces = [0, 4]
            .map(|k| [[k, k + 1, k + 2], [k, k + 2, k + 3]])
            .concat();
        Surface::new(points, faces)
    }

    #[test]
    fn what_lies_below_something_is_hidden() {
        let surface = squares();
        let above =
            MouldView::new(&surface, Eye::from(DVec3::Z), Sides::Front, (300.0, 300.0)).unwrap();
        assert!(above.is_seen(DVec3::new(0.0, 0.0, 30.0)));
        assert!(!above.is_seen(DVec3::ZERO));
        assert!(above.is_seen(DVec3::new(40.0, 0.0, 0.0)));
        // A line across the lower square is seen on both sides of the upper.
        let line = [-45.0, 45.0].map(|x| DVec3::new(x, 0.0, 0.0));
        let seen = above.seen_of(&line, |p| above.is_seen(p));
        let lengths: Vec<f64> = seen
            .iter()
            .map(|run| run[0].distance(run[run.len() - 1]))
            .collect();
        assert_eq!(lengths.len(), 2);
        assert!(
            lengths.iter().all(|length| (length - 75.0).abs() < 3.0),
            "{lengths:?}"
        );
        // x to the right, y up; the upper square is seen whole.
        let corner = above.at(DVec3::new(50.0, 50.0, 0.0));
        assert!(
            (corner.x - 300.0).abs() < 1e-9 && corner.y.abs() < 1e-9,
            "{corner:?}"
        );
        let upper = above.area(|face| face >= 2);
        let area = crate::geometry::Ring::new(upper[0].iter().copied())
            .unwrap()
            .area();
        assert!((area / 14_400.0 - 1.0).abs() < 0.02, "{area}");
        // From below both turn their backs, and nothing is drawn.
        let below =
            MouldView::new(&surface, Eye::from(-DVec3::Z), Sides::Front, (300.0, 300.0)).unwrap();
        assert!(below.area(|_| true).is_empty() && below.edges().is_empty());
        let edges = above.edges();
        assert_eq!(edges.len(), 2, "{edges:?}");
    }
}
