//! Pieces that may be turned a little: their convex parts as they lie, and where those touch.
//!
//! Angles are free here, so there are no tables: two convex parts are told apart by a separating
//! axis, found from their turned corners and remembered for the next time.

use super::super::shape::{Detail, Scene, Variant, fit_tolerance};
use crate::geometry::{Bounds, Point, Vector, trig};
use crate::nest::convex;
use crate::units::Angle;

/// Costs in units of about a nanosecond, as budgets count them: a pair of pieces, a pair of boxes of
/// parts, a look along one axis, an overlap's centre; and for a look along all axes, each time a
/// corner meets an edge.
const PAIR: u64 = 8;
const BOX: u64 = 2;
const AXIS: u64 = 10;
const CENTRE: u64 = 300;
const CORNER: u64 = 1;

/// Where a piece lies: its choice of turn, how far it is turned off it, and its middle.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(in super::super) struct Lie {
    /// Index into the piece's choices.
    pub choice: usize,
    /// Turned by this many degrees on the strip, counter-clockwise.
    pub tilt: f64,
    /// Position of the variant's origin.
    pub at: Point,
}

/// One piece as it lies.
#[derive(Clone, Debug)]
struct Body {
    lie: Lie,
    /// Most degrees off, to either side.
    limit: f64,
    /// Square of the radius of gyration, mm²: how hard it is to turn.
    inertia: f64,
    /// Range of its parts.
    parts: (usize, usize),
    /// Range in the corners of the hull of the net outline; no normals are kept there.
    rim: (usize, usize),
    /// Box of the net outline about the origin.
    net: Bounds,
    /// Box of all parts about the origin.
    grown: Bounds,
}

/// One convex part of a piece.
#[derive(Clone, Debug)]
struct Part {
    /// Range of its corners.
    corners: (usize, usize),
    /// Its box, turned, about the piece's origin.
    bounds: Bounds,
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

/// All pieces in a strip.
#[derive(Clone, Debug)]
pub(super) struct Bodies<'a> {
    scene: &'a Scene,
    /// Length of the strip, mm.
    pub length: f64,
    /// Depths up to this (mm) are contact.
    contact: f64,
    bodies: Vec<Body>,
    parts: Vec<Part>,
    /// Corners as they lie, about the piece's origin, and the outward normals of the edges that
    /// start there.
    corners: Vec<Point>,
    normals: Vec<Vector>,
    /// How far each edge is from the piece's origin along its normal; turning does not change it.
    offsets: Vec<f64>,
    /// Corners and normals when not turned.
    straight: Vec<(Point, Vector)>,
    /// The work done, as budgets count it.
    pub work: u64,
}

impl<'a> Bodies<'a> {
    /// The pieces of `scene` as `lies` says; `limits` in degrees.
    pub(super) fn new(scene: &'a Scene, contact: f64, lies: &[Lie], limits: &[f64]) -> Self {
        let mut bodies = Self {
            scene,
            length: f64::INFINITY,
            contact,
            bodies: Vec::with_capacity(lies.len()),
            parts: Vec::new(),
            corners: Vec::new(),
            normals: Vec::new(),
            offsets: Vec::new(),
            straight: Vec::new(),
            work: 0,
        };
        for ((piece, lie), &limit) in scene.pieces.iter().zip(lies).zip(limits) {
            let variant = &scene.variants[piece.choices[lie.choice].variant];
            bodies.add(variant, Lie { tilt: 0.0, ..*lie }, limit);
        }
        bodies.restore(lies);
        bodies
    }

    fn add(&mut self, variant: &Variant, lie: Lie, limit: f64) {
        let first = self.parts.len();
        for part in variant.parts_in(Detail::Fine) {
            let corners = self.add_corners(part);
            self.parts.push(Part {
                corners,
                bounds: variant.grown,
            });
        }
        let rim = self.add_corners(&convex::hull(variant.rim()));
        let (w, h) = (variant.net.width(), variant.net.height());
        self.bodies.push(Body {
            lie,
            limit,
            // That of the box.
            inertia: (w * w + h * h) / 12.0,
            parts: (first, self.parts.len()),
            rim,
            net: variant.net,
            grown: variant.grown,
        });
        self.turn(self.bodies.len() - 1);
    }

    fn add_corners(&mut self, ring: &[Point]) -> (usize, usize) {
        let first = self.corners.len();
        for (k, &p) in ring.iter().enumerate() {
            let edge = ring[(k + 1) % ring.len()] - p;
            let length = edge.length();
            // An edge without length never separates anything.
            let (normal, offset) = if length > 0.0 {
                let normal = Vector::new(edge.y / length, -edge.x / length);
                (normal, normal.dot(p - Point::default()))
            } else {
                (Vector::default(), f64::INFINITY)
            };
            self.corners.push(p);
            self.normals.push(normal);
            self.offsets.push(offset);
            self.straight.push((p, normal));
        }
        (first, self.corners.len())
    }

    pub(super) fn len(&self) -> usize {
        self.bodies.len()
    }

    pub(super) fn lie(&self, piece: usize) -> Lie {
        self.bodies[piece].lie
    }

    pub(super) fn lies(&self) -> Vec<Lie> {
        self.bodies.iter().map(|b| b.lie).collect()
    }

    /// Puts all pieces where `lies` says; the choices must be those given at the start.
    pub(super) fn restore(&mut self, lies: &[Lie]) {
        for (k, &lie) in lies.iter().enumerate() {
            self.put(k, lie);
        }
    }

    fn put(&mut self, piece: usize, lie: Lie) {
        let body = &mut self.bodies[piece];
        let is_turned = body.lie.tilt != lie.tilt;
        body.lie = lie;
        if is_turned {
            self.turn(piece);
        }
    }

    /// Turns the corners of `piece` by its tilt.
    fn turn(&mut self, piece: usize) {
        let (sin, cos) = trig::sin_cos(Angle::degrees(self.bodies[piece].lie.tilt));
        let turned = |x: f64, y: f64| (x * cos - y * sin, x * sin + y * cos);
        let (first, end) = self.bodies[piece].parts;
        let mut grown: Option<Bounds> = None;
        for part in &mut self.parts[first..end] {
            let mut bounds = EMPTY;
            for k in part.corners.0..part.corners.1 {
                let (p, n) = self.straight[k];
                let (x, y) = turned(p.x, p.y);
                self.corners[k] = Point::new(x, y);
                let (nx, ny) = turned(n.x, n.y);
                self.normals[k] = Vector::new(nx, ny);
                include(&mut bounds, self.corners[k]);
            }
            part.bounds = bounds;
            grown = Some(grown.map_or(bounds, |g| g.union(&bounds)));
        }
        let mut net = EMPTY;
        let rim = self.bodies[piece].rim;
        for k in rim.0..rim.1 {
            let (x, y) = turned(self.straight[k].0.x, self.straight[k].0.y);
            self.corners[k] = Point::new(x, y);
            include(&mut net, self.corners[k]);
        }
        self.work += CORNER * 5 * (1 + (rim.1 - self.parts[first].corners.0) as u64);
        let body = &mut self.bodies[piece];
        body.net = net;
        body.grown = grown.map_or(net, |g| g.union(&net));
    }

    /// Box of `piece` on the strip, grown by half the gap.
    pub(super) fn bounds(&self, piece: usize) -> Bounds {
        let body = &self.bodies[piece];
        let by = body.lie.at - Point::default();
        Bounds {
            min: body.grown.min + by,
            max: body.grown.max + by,
        }
    }

    /// Most that any corner of `piece` can move when it turns by one radian, mm.
    pub(super) fn radius(&self, piece: usize) -> f64 {
        let g = &self.bodies[piece].grown;
        let far = |lo: f64, hi: f64| lo.abs().max(hi.abs());
        Vector::new(far(g.min.x, g.max.x), far(g.min.y, g.max.y)).length()
    }

    /// Largest x of any piece.
    pub(super) fn used_length(&self) -> f64 {
        let end = |b: &Body| b.lie.at.x + b.net.max.x;
        self.bodies.iter().map(end).fold(0.0, f64::max)
    }

    /// Number of pairs of convex parts of two pieces.
    pub(super) fn n_part_pairs(&self, i: usize, j: usize) -> usize {
        let n = |k: usize| self.bodies[k].parts.1 - self.bodies[k].parts.0;
        n(i) * n(j)
    }

    /// Calls `act` with every contact of pieces `i` and `j`, one pair of parts after another; it
    /// may move the pieces. `axes` remembers, for each pair of parts, what told them apart.
    pub(super) fn contacts(
        &mut self,
        (i, j): (usize, usize),
        axes: &mut [u32],
        act: &mut dyn FnMut(&mut Self, Contact),
    ) {
        self.work += PAIR;
        let (a, b) = (self.bodies[i].parts, self.bodies[j].parts);
        let mut slot = 0;
        for p in a.0..a.1 {
            self.work += BOX * (b.1 - b.0) as u64;
            for q in b.0..b.1 {
                let by = self.bodies[j].lie.at - self.bodies[i].lie.at;
                if let Some((depth, way)) = self.depth(p, q, by, &mut axes[slot]) {
                    let centre = self.centre_of_overlap(p, q, by);
                    act(self, Contact { depth, way, centre });
                }
                slot += 1;
            }
        }
    }

    /// Depth of parts `p` and `q`, which lies at `by` from it, and the way out for `q`; `None` if
    /// they do not overlap.
    #[inline]
    fn depth(&mut self, p: usize, q: usize, by: Vector, axis: &mut u32) -> Option<(f64, Vector)> {
        let (a, b) = (&self.parts[p], &self.parts[q]);
        let room = (a.bounds.max.x - b.bounds.min.x - by.x)
            .min(b.bounds.max.x + by.x - a.bounds.min.x)
            .min(a.bounds.max.y - b.bounds.min.y - by.y)
            .min(b.bounds.max.y + by.y - a.bounds.min.y);
        if room <= self.contact {
            return None;
        }
        let (own, other) = (a.corners, b.corners);
        let n_own = own.1 - own.0;
        let n_other = other.1 - other.0;
        let along = |k: usize| {
            if k < n_own {
                let edge = own.0 + k;
                let normal = self.normals[edge];
                let least = support(&self.corners[other.0..other.1], normal);
                (self.offsets[edge] - least - normal.dot(by), normal)
            } else {
                let edge = other.0 + k - n_own;
                let normal = self.normals[edge];
                let least = support(&self.corners[own.0..own.1], normal);
                (self.offsets[edge] - least + normal.dot(by), -normal)
            }
        };
        self.work += AXIS;
        let known = *axis as usize;
        if along(known).0 <= self.contact {
            return None;
        }
        self.work += CORNER * (2 * n_own * n_other) as u64;
        let mut best = (f64::INFINITY, Vector::default());
        for k in 0..n_own + n_other {
            let (depth, way) = along(k);
            if depth < best.0 {
                best = (depth, way);
                if depth <= self.contact {
                    *axis = k as u32;
                    return None;
                }
            }
        }
        Some(best)
    }

    /// Centroid of what parts `p` and `q` have in common.
    fn centre_of_overlap(&mut self, p: usize, q: usize, by: Vector) -> Vector {
        let (own, other) = (self.parts[p].corners, self.parts[q].corners);
        self.work += CENTRE;
        let mut ring: Vec<Point> = self.corners[other.0..other.1]
            .iter()
            .map(|&c| c + by)
            .collect();
        let mut kept: Vec<Point> = Vec::with_capacity(ring.len() + 4);
        for edge in own.0..own.1 {
            let (normal, offset) = (self.normals[edge], self.offsets[edge]);
            let inside = |c: Point| offset - normal.dot(c - Point::default());
            kept.clear();
            for (k, &r) in ring.iter().enumerate() {
                let s = ring[(k + 1) % ring.len()];
                let (dr, ds) = (inside(r), inside(s));
                if dr >= 0.0 {
                    kept.push(r);
                }
                if (dr > 0.0 && ds < 0.0) || (dr < 0.0 && ds > 0.0) {
                    kept.push(r.towards(s, dr / (dr - ds)));
                }
            }
            if kept.is_empty() {
                break;
            }
            std::mem::swap(&mut ring, &mut kept);
        }
        centroid(&ring)
    }

    /// Moves `piece` by `by` and turns it by `turn` degrees, as far as its limit and the strip
    /// allow.
    pub(super) fn shove(&mut self, piece: usize, by: Vector, turn: f64) {
        let body = &mut self.bodies[piece];
        body.lie.at = body.lie.at + by;
        let tilt = (body.lie.tilt + turn).clamp(-body.limit, body.limit);
        if tilt != body.lie.tilt {
            body.lie.tilt = tilt;
            self.turn(piece);
        }
        self.confine(piece);
    }

    /// Whether `piece` can still turn in the direction of `sign`.
    fn can_turn(&self, piece: usize, sign: f64) -> bool {
        let body = &self.bodies[piece];
        body.limit > 0.0 && sign * body.lie.tilt < body.limit
    }

    /// How far a push along `way` at `lever` from the origin of `piece` turns it, in radians for
    /// each mm that the push moves its middle; zero if it cannot turn that way.
    pub(super) fn turn_for_push(&self, piece: usize, lever: Vector, way: Vector) -> f64 {
        let arm = lever.cross(way);
        if self.can_turn(piece, arm.signum()) {
            arm / self.bodies[piece].inertia
        } else {
            0.0
        }
    }

    /// Brings `piece` back into the strip: what sticks out is pushed in, which also turns it, and
    /// the rest is shifted. Where it has no room at all it is put in the middle.
    fn confine(&mut self, piece: usize) {
        let width = self.scene.width;
        for (wall, way) in [
            (0.0, Vector::new(1.0, 0.0)),
            (-self.length, Vector::new(-1.0, 0.0)),
            (0.0, Vector::new(0.0, 1.0)),
            (-width, Vector::new(0.0, -1.0)),
        ] {
            let body = &self.bodies[piece];
            let low = match (way.x, way.y) {
                (1.0, _) => body.net.min.x,
                (-1.0, _) => -body.net.max.x,
                (_, 1.0) => body.net.min.y,
                _ => -body.net.max.y,
            };
            let out = wall - way.dot(body.lie.at - Point::default()) - low;
            if out <= 0.0 || body.limit <= 0.0 {
                continue;
            }
            let lever = self.lowest(piece, way);
            let turn = self.turn_for_push(piece, lever, way);
            if turn == 0.0 {
                continue;
            }
            let push = out / (1.0 + turn * lever.cross(way));
            let body = &mut self.bodies[piece];
            body.lie.at = body.lie.at + way * push;
            body.lie.tilt =
                (body.lie.tilt + (turn * push).to_degrees()).clamp(-body.limit, body.limit);
            self.turn(piece);
        }
        let length = self.length;
        let body = &mut self.bodies[piece];
        let hold = |v: f64, lo: f64, hi: f64| {
            if lo <= hi {
                v.clamp(lo, hi)
            } else {
                0.5 * (lo + hi)
            }
        };
        body.lie.at = Point::new(
            hold(body.lie.at.x, -body.net.min.x, length - body.net.max.x),
            hold(body.lie.at.y, -body.net.min.y, width - body.net.max.y),
        );
    }

    /// The corner of the net hull of `piece` that reaches least along `way`.
    fn lowest(&self, piece: usize, way: Vector) -> Vector {
        let rim = self.bodies[piece].rim;
        let mut low = (f64::INFINITY, Vector::default());
        for c in &self.corners[rim.0..rim.1] {
            let v = *c - Point::default();
            if way.dot(v) < low.0 {
                low = (way.dot(v), v);
            }
        }
        low.1
    }

    /// Whether every piece lies in the strip.
    pub(super) fn all_inside(&self) -> bool {
        let width = self.scene.width;
        let slack = fit_tolerance(width);
        self.bodies.iter().all(|b| {
            let (at, net) = (b.lie.at, &b.net);
            at.x + net.min.x >= -slack
                && at.x + net.max.x <= self.length + slack
                && at.y + net.min.y >= -slack
                && at.y + net.max.y <= width + slack
        })
    }
}

const EMPTY: Bounds = Bounds {
    min: Point::new(f64::INFINITY, f64::INFINITY),
    max: Point::new(f64::NEG_INFINITY, f64::NEG_INFINITY),
};

#[inline]
fn include(bounds: &mut Bounds, p: Point) {
    bounds.min.x = bounds.min.x.min(p.x);
    bounds.min.y = bounds.min.y.min(p.y);
    bounds.max.x = bounds.max.x.max(p.x);
    bounds.max.y = bounds.max.y.max(p.y);
}

/// How far `points` reach, at least, in the direction of `normal`.
#[inline]
fn support(points: &[Point], normal: Vector) -> f64 {
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
