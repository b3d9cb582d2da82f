//! Pieces that may be turned a little: their convex parts as they lie, and where those overlap.
//!
//! Angles are free here, so there are no tables: two convex parts are told apart by a separating
//! axis, found from their turned corners. Obstacles are bodies too, after the pieces, and never move.

use std::ops::Range;

use crate::geometry::{Bounds, Point, Vector, fit_tolerance, trig};
use crate::nest::convex;
use crate::nest::measure::{edges, farthest};
use crate::nest::shape::{Detail, Scene, ShapeVariant};
use crate::nest::strip::{Pose, Poses};
use crate::units::Angle;

/// Costs in units of about a nanosecond, as budgets count them: a pair of pieces, a pair of boxes of
/// parts, one look along an axis, the middle of an overlap, a corner that is turned or meets an
/// edge.
mod cost {
    pub(super) const PAIR: u64 = 8;
    pub(super) const BOX: u64 = 2;
    pub(super) const AXIS: u64 = 10;
    pub(super) const CENTRE: u64 = 300;
    pub(super) const TURNED: u64 = 4;
    pub(super) const CORNER: u64 = 1;
}

/// A variant, not turned.
#[derive(Clone, Debug)]
struct Solid {
    /// Ranges of the corners of its convex parts; first those that meet other pieces.
    parts: Vec<(usize, usize)>,
    /// Which parts meet other pieces, and which meet obstacles: the same, or those of the shape not grown.
    meet_pieces: Range<usize>,
    meet_obstacles: Range<usize>,
    /// Corners of all parts, about the origin, and the outward normals of the edges that start
    /// there.
    corners: Vec<Point>,
    normals: Vec<Vector>,
    /// How far each edge is from the origin along its normal; turning does not change it.
    offsets: Vec<f64>,
    /// Corners of the hull of the true outline.
    rim: Vec<Point>,
    /// Square of the radius of gyration of its box, mm²: how hard it is to turn.
    inertia: f64,
    /// Most that any corner moves when it turns by one radian, mm.
    radius: f64,
}

/// A piece as it lies; all corners are about its origin.
#[derive(Clone, Debug)]
struct Body {
    pose: Pose,
    /// Index of its solid, which is that of its variant.
    solid: usize,
    /// Most degrees off, to either side.
    limit: f64,
    corners: Vec<Point>,
    normals: Vec<Vector>,
    rim: Vec<Point>,
    /// Boxes of the parts.
    parts: Vec<Bounds>,
    /// Box of the true outline.
    net: Bounds,
    /// Box of all parts.
    grown: Bounds,
}

/// Two convex parts that overlap.
#[derive(Clone, Copy, Debug)]
pub(super) struct Contact {
    /// How deep, mm.
    pub depth: f64,
    /// Unit vector along which the second has to move by that.
    pub way: Vector,
    /// Middle of the overlap, from the origin of the first piece.
    pub centre: Vector,
}

/// All pieces in a strip, and the obstacles in it.
#[derive(Clone, Debug)]
pub(super) struct Bodies<'a> {
    pub scene: &'a Scene,
    /// Length of the strip, mm.
    pub length: f64,
    /// Depths up to this (mm) are contact.
    contact: f64,
    solids: Vec<Solid>,
    /// Those of the pieces first, those of the obstacles after them.
    bodies: Vec<Body>,
    n_pieces: usize,
    /// The work done, as budgets count it.
    pub work: u64,
}

impl<'a> Bodies<'a> {
    /// The pieces of `scene` as `poses` says; `limits` in degrees.
    pub(super) fn new(scene: &'a Scene, contact: f64, poses: &[Pose], limits: &[f64]) -> Self {
        let solids: Vec<Solid> = scene.variants.iter().map(Solid::of).collect();
        let pieces = (poses.iter().zip(limits).enumerate()).map(|(k, (&pose, &limit))| {
            let solid = scene.pieces[k].choices[pose.choice].variant;
            Body::new(pose, solid, limit, &solids)
        });
        let obstacles = (scene.obstacles.iter())
            .map(|o| Body::new(Pose::straight(0, o.at), o.variant, 0.0, &solids));
        let bodies: Vec<Body> = pieces.chain(obstacles).collect();
        Self {
            n_pieces: poses.len(),
            scene,
            length: f64::INFINITY,
            contact,
            solids,
            bodies,
            work: 0,
        }
    }

    pub(super) fn n_pieces(&self) -> usize {
        self.n_pieces
    }

    /// Number of pieces and obstacles.
    pub(super) fn n_all(&self) -> usize {
        self.bodies.len()
    }

    pub(super) fn pose(&self, piece: usize) -> Pose {
        self.bodies[piece].pose
    }

    pub(super) fn poses(&self) -> Poses {
        self.pieces().iter().map(|b| b.pose).collect()
    }

    fn pieces(&self) -> &[Body] {
        &self.bodies[..self.n_pieces]
    }

    /// Most degrees that `piece` may be off its turn, to either side.
    pub(super) fn limit_of(&self, piece: usize) -> f64 {
        self.bodies[piece].limit
    }

    /// Holds `piece` to `limit` degrees from its next move on.
    pub(super) fn limit(&mut self, piece: usize, limit: f64) {
        self.bodies[piece].limit = limit;
    }

    /// Most that any corner of `piece` can move when it turns by one radian, mm.
    pub(super) fn radius(&self, piece: usize) -> f64 {
        self.solids[self.bodies[piece].solid].radius
    }

    /// Puts `piece` at `pose`.
    pub(super) fn put(&mut self, piece: usize, pose: Pose) {
        let body = &mut self.bodies[piece];
        let is_turned = body.pose.tilt != pose.tilt || body.pose.choice != pose.choice;
        body.pose = pose;
        if is_turned {
            body.solid = self.scene.pieces[piece].choices[pose.choice].variant;
            self.turn(piece);
        }
    }

    fn turn(&mut self, piece: usize) {
        let body = &mut self.bodies[piece];
        let solid = &self.solids[body.solid];
        body.turn(solid);
        self.work += cost::TURNED * (8 + solid.corners.len() + solid.rim.len()) as u64;
    }

    /// Box on the strip of a piece, grown by half the gap, or of an obstacle.
    pub(super) fn bounds(&self, k: usize) -> Bounds {
        let body = &self.bodies[k];
        body.grown.shifted(body.pose.shift())
    }

    /// Largest x of any piece.
    pub(super) fn used_length(&self) -> f64 {
        let end = |b: &Body| b.pose.at.x + b.net.max.x;
        self.pieces().iter().map(end).fold(0.0, f64::max)
    }

    /// The parts of `k` that count where it meets `other`.
    fn parts_against(&self, k: usize, other: usize) -> Range<usize> {
        let solid = &self.solids[self.bodies[k].solid];
        if other < self.n_pieces {
            solid.meet_pieces.clone()
        } else {
            solid.meet_obstacles.clone()
        }
    }

    /// Number of pairs of convex parts of a piece and another or an obstacle.
    pub(super) fn n_part_pairs(&self, i: usize, j: usize) -> usize {
        self.parts_against(i, j).len() * self.parts_against(j, i).len()
    }

    /// Sum of the depths (mm) of all parts of a piece and another or an obstacle; some value above
    /// `bound` once the sum has passed it.
    pub(super) fn loss(&mut self, i: usize, j: usize, bound: f64) -> f64 {
        let (own, others) = (self.parts_against(i, j), self.parts_against(j, i));
        let mut work = cost::PAIR + cost::BOX * (own.len() * others.len()) as u64;
        let by = self.bodies[j].pose.at - self.bodies[i].pose.at;
        let mut sum = 0.0;
        'all: for p in own {
            for q in others.clone() {
                let pair = self.pair((i, p), (j, q));
                if let Some((depth, _)) = pair.depth(by, self.contact, &mut 0, &mut work) {
                    sum += depth;
                    if sum > bound {
                        break 'all;
                    }
                }
            }
        }
        self.work += work;
        sum
    }

    /// Calls `act` with every contact of piece `i` and `j`, another or an obstacle, one pair of parts
    /// after another; it may move the pieces. `axes` remembers, for each pair of parts, what told them apart.
    pub(super) fn contacts(
        &mut self,
        (i, j): (usize, usize),
        axes: &mut [u32],
        act: &mut dyn FnMut(&mut Self, Contact),
    ) {
        self.work += cost::PAIR;
        let (own, others) = (self.parts_against(i, j), self.parts_against(j, i));
        let mut slot = 0;
        for p in own {
            self.work += cost::BOX * others.len() as u64;
            for q in others.clone() {
                let by = self.bodies[j].pose.at - self.bodies[i].pose.at;
                let mut work = 0;
                let pair = self.pair((i, p), (j, q));
                let found = pair.depth(by, self.contact, &mut axes[slot], &mut work);
                let found = found.map(|(depth, way)| Contact {
                    depth,
                    way,
                    centre: pair.centre(by),
                });
                self.work += work;
                if let Some(contact) = found {
                    self.work += cost::CENTRE;
                    act(self, contact);
                }
                slot += 1;
            }
        }
    }

    #[inline]
    fn pair(&self, (i, p): (usize, usize), (j, q): (usize, usize)) -> PartPair<'_> {
        PartPair {
            own: self.part(i, p),
            other: self.part(j, q),
        }
    }

    #[inline]
    fn part(&self, piece: usize, part: usize) -> TiltedPart<'_> {
        let body = &self.bodies[piece];
        let solid = &self.solids[body.solid];
        let (first, end) = solid.parts[part];
        TiltedPart {
            bounds: &body.parts[part],
            corners: &body.corners[first..end],
            normals: &body.normals[first..end],
            offsets: &solid.offsets[first..end],
        }
    }

    /// Moves `piece` by `by` and turns it by `turn` degrees, as far as its limit and the strip
    /// allow.
    pub(super) fn shove(&mut self, piece: usize, by: Vector, turn: f64) {
        let body = &mut self.bodies[piece];
        body.pose.at = body.pose.at + by;
        let tilt = (body.pose.tilt + turn).clamp(-body.limit, body.limit);
        if tilt != body.pose.tilt {
            body.pose.tilt = tilt;
            self.turn(piece);
        }
        self.confine(piece);
    }

    /// How far a push along `way` at `lever` from the origin of `piece` turns it, in radians for
    /// each mm that the push moves its middle; zero if it cannot turn that way.
    pub(super) fn turn_for_push(&self, piece: usize, lever: Vector, way: Vector) -> f64 {
        let arm = lever.cross(way);
        let body = &self.bodies[piece];
        if body.limit > 0.0 && arm.signum() * body.pose.tilt < body.limit {
            arm / self.solids[body.solid].inertia
        } else {
            0.0
        }
    }

    /// Brings `piece` back into the strip: what sticks out is pushed in, which also turns it, and
    /// the rest is shifted. Where it has no room at all it is put in the middle.
    pub(super) fn confine(&mut self, piece: usize) {
        let width = self.scene.width;
        if self.bodies[piece].limit > 0.0 {
            for (wall, way) in [
                (0.0, Vector::new(1.0, 0.0)),
                (-self.length, Vector::new(-1.0, 0.0)),
                (0.0, Vector::new(0.0, 1.0)),
                (-width, Vector::new(0.0, -1.0)),
            ] {
                self.push_off_wall(piece, wall, way);
            }
        }
        let strip = Point::new(self.length, width);
        let body = &mut self.bodies[piece];
        let hold = |v: f64, lo: f64, hi: f64| {
            if lo <= hi {
                v.clamp(lo, hi)
            } else {
                0.5 * (lo + hi)
            }
        };
        let (at, net) = (body.pose.at, &body.net);
        body.pose.at = Point::new(
            hold(at.x, -net.min.x, strip.x - net.max.x),
            hold(at.y, -net.min.y, strip.y - net.max.y),
        );
    }

    /// Pushes `piece` off the wall on whose inner side points reach at least `wall` along `way`.
    fn push_off_wall(&mut self, piece: usize, wall: f64, way: Vector) {
        let body = &self.bodies[piece];
        let low = (way.x.max(0.0) * body.net.min.x - (-way.x).max(0.0) * body.net.max.x)
            + (way.y.max(0.0) * body.net.min.y - (-way.y).max(0.0) * body.net.max.y);
        let out = wall - way.dot(body.pose.at - Point::default()) - low;
        if out <= 0.0 {
            return;
        }
        let lever = body.rim[farthest(&body.rim, -way)] - Point::default();
        let turn = self.turn_for_push(piece, lever, way);
        if turn == 0.0 {
            return;
        }
        let push = out / (1.0 + turn * lever.cross(way));
        let body = &mut self.bodies[piece];
        body.pose.at = body.pose.at + way * push;
        let tilt = body.pose.tilt + (turn * push).to_degrees();
        body.pose.tilt = tilt.clamp(-body.limit, body.limit);
        self.turn(piece);
    }

    /// Whether `piece` lies in the strip.
    pub(super) fn is_inside(&self, piece: usize) -> bool {
        self.overhang(piece) <= fit_tolerance(self.scene.width)
    }

    /// How far `piece` sticks out of the strip, mm; not positive if it lies inside.
    pub(super) fn overhang(&self, piece: usize) -> f64 {
        let (at, net) = (self.bodies[piece].pose.at, &self.bodies[piece].net);
        let x = (-at.x - net.min.x).max(at.x + net.max.x - self.length);
        let y = (-at.y - net.min.y).max(at.y + net.max.y - self.scene.width);
        x.max(y)
    }
}

impl Solid {
    fn of(variant: &ShapeVariant) -> Self {
        let (w, h) = (variant.net.width(), variant.net.height());
        let mut solid = Self {
            parts: Vec::new(),
            meet_pieces: 0..0,
            meet_obstacles: 0..0,
            corners: Vec::new(),
            normals: Vec::new(),
            offsets: Vec::new(),
            rim: convex::hull(variant.rim()),
            inertia: (w * w + h * h) / 12.0,
            radius: 0.0,
        };
        solid.meet_pieces = solid.add_all(variant.parts_in(Detail::Fine));
        solid.meet_obstacles = match variant.bare_in(Detail::Fine) {
            Some(bare) => solid.add_all(bare),
            None => solid.meet_pieces.clone(),
        };
        let far = solid.corners.iter().chain(&solid.rim);
        solid.radius = far
            .map(|&p| p.distance(Point::default()))
            .fold(0.0, f64::max);
        solid
    }

    /// Adds convex parts; their numbers.
    fn add_all(&mut self, parts: &[Vec<Point>]) -> Range<usize> {
        let before = self.parts.len();
        for part in parts {
            let first = self.corners.len();
            self.corners.extend(part);
            for edge in edges(part) {
                // An edge without length never separates anything.
                let is_edge = edge.normal != Vector::default();
                self.offsets
                    .push(if is_edge { edge.offset } else { f64::INFINITY });
                self.normals.push(edge.normal);
            }
            self.parts.push((first, self.corners.len()));
        }
        before..self.parts.len()
    }
}

impl Body {
    fn new(pose: Pose, solid: usize, limit: f64, solids: &[Solid]) -> Self {
        let mut body = Self {
            pose,
            solid,
            limit,
            corners: Vec::new(),
            normals: Vec::new(),
            rim: Vec::new(),
            parts: Vec::new(),
            net: EMPTY,
            grown: EMPTY,
        };
        body.turn(&solids[solid]);
        body
    }

    /// Turns the corners of `solid` by the tilt.
    fn turn(&mut self, solid: &Solid) {
        let (sin, cos) = trig::sin_cos(Angle::degrees(self.pose.tilt));
        let turned = |x: f64, y: f64| Vector::new(x * cos - y * sin, x * sin + y * cos);
        let point = |p: &Point| Point::default() + turned(p.x, p.y);
        self.corners.clear();
        self.corners.extend(solid.corners.iter().map(point));
        self.normals.clear();
        self.normals
            .extend(solid.normals.iter().map(|n| turned(n.x, n.y)));
        self.rim.clear();
        self.rim.extend(solid.rim.iter().map(point));
        self.net = around(&self.rim);
        self.grown = self.net;
        self.parts.clear();
        for &(first, end) in &solid.parts {
            let bounds = around(&self.corners[first..end]);
            self.grown = self.grown.union(&bounds);
            self.parts.push(bounds);
        }
    }
}

/// A convex part of a piece as it lies.
#[derive(Clone, Copy)]
struct TiltedPart<'a> {
    bounds: &'a Bounds,
    corners: &'a [Point],
    normals: &'a [Vector],
    offsets: &'a [f64],
}

/// Two convex parts.
#[derive(Clone, Copy)]
struct PartPair<'a> {
    own: TiltedPart<'a>,
    other: TiltedPart<'a>,
}

impl PartPair<'_> {
    /// How deep the parts overlap, the other lying at `by`, and the way out for that; `None` if
    /// they do not. `axis` is looked along first, and says in the end what told them apart.
    #[inline]
    fn depth(
        &self,
        by: Vector,
        contact: f64,
        axis: &mut u32,
        work: &mut u64,
    ) -> Option<(f64, Vector)> {
        let (a, b) = (self.own.bounds, self.other.bounds);
        let room = (a.max.x - b.min.x - by.x)
            .min(b.max.x + by.x - a.min.x)
            .min(a.max.y - b.min.y - by.y)
            .min(b.max.y + by.y - a.min.y);
        if room <= contact {
            return None;
        }
        *work += cost::AXIS;
        if self.along(*axis as usize, by).0 <= contact {
            return None;
        }
        let (n, m) = (self.own.corners.len(), self.other.corners.len());
        *work += cost::CORNER * (2 * n * m) as u64;
        let mut best = (f64::INFINITY, Vector::default());
        for k in 0..n + m {
            let (depth, way) = self.along(k, by);
            if depth < best.0 {
                best = (depth, way);
                if depth <= contact {
                    *axis = k as u32;
                    return None;
                }
            }
        }
        Some(best)
    }

    /// How far the parts overlap along the normal of edge `k`, counted through both, and that
    /// normal as a way out for the other part.
    #[inline]
    fn along(&self, k: usize, by: Vector) -> (f64, Vector) {
        let n = self.own.corners.len();
        if k < n {
            let normal = self.own.normals[k];
            let low = least(self.other.corners, normal);
            (self.own.offsets[k] - low - normal.dot(by), normal)
        } else {
            let normal = self.other.normals[k - n];
            let low = least(self.own.corners, normal);
            (self.other.offsets[k - n] - low + normal.dot(by), -normal)
        }
    }

    /// Centroid of what the parts have in common.
    fn centre(&self, by: Vector) -> Vector {
        let mut ring: Vec<Point> = self.other.corners.iter().map(|&c| c + by).collect();
        let mut kept = Vec::with_capacity(ring.len() + 4);
        for (&normal, &offset) in self.own.normals.iter().zip(self.own.offsets) {
            convex::clip(&ring, &mut kept, |c| {
                offset - normal.dot(c - Point::default())
            });
            if kept.is_empty() {
                break;
            }
            std::mem::swap(&mut ring, &mut kept);
        }
        centroid(&ring)
    }
}

/// Holds nothing.
const EMPTY: Bounds = Bounds {
    min: Point::new(f64::INFINITY, f64::INFINITY),
    max: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
};

fn around(points: &[Point]) -> Bounds {
    Bounds::of(points.iter().copied()).unwrap_or(EMPTY)
}

/// How far `points` reach, at least, along `normal`.
#[inline]
fn least(points: &[Point], normal: Vector) -> f64 {
    let mut least = f64::INFINITY;
    for p in points {
        let reach = normal.x * p.x + normal.y * p.y;
        if reach < least {
            least = reach;
        }
    }
    least
}

/// Centroid of a convex polygon; of its corners if it has hardly any area.
fn centroid(ring: &[Point]) -> Vector {
    let Some(&o) = ring.first() else {
        return Vector::default();
    };
    let (mut twice, mut sum) = (0.0, Vector::default());
    let mut plain = Vector::default();
    for (k, &r) in ring.iter().enumerate() {
        let s = ring[(k + 1) % ring.len()];
        let cross = (r - o).cross(s - o);
        twice += cross;
        sum = sum + ((r - o) + (s - o)) * (cross / 3.0);
        plain = plain + (r - o);
    }
    let extent = plain.dot(plain) / (ring.len() * ring.len()) as f64;
    let inner = if twice > 1e-12 * extent {
        sum * (1.0 / twice)
    } else {
        plain * (1.0 / ring.len() as f64)
    };
    (o - Point::default()) + inner
}
