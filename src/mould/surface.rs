//! A surface of triangles, and lines drawn on it.

use glam::DVec3;

/// No triangle.
pub(crate) const NONE: u32 = u32::MAX;

/// A surface of triangles, each of which knows its neighbours. All are seen counter-clockwise from the
/// side on which the cloth lies.
#[derive(Clone, Debug)]
pub(crate) struct Surface {
    points: Vec<DVec3>,
    faces: Vec<[u32; 3]>,
    /// The triangle over the edge from corner k to the next, or [`NONE`].
    across: Vec<[u32; 3]>,
    normals: Vec<DVec3>,
    /// Of the points: the mean of the triangles around, each by its angle there.
    point_normals: Vec<DVec3>,
    n_forked: usize,
}

/// A place on a surface.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Spot {
    /// Index of its triangle.
    pub(crate) face: u32,
    /// Where, mm.
    pub(crate) at: DVec3,
}

/// Why a line on the surface ended before it came where it should.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Stop {
    /// The surface ends.
    Border,
    /// There is no way on: the line closed upon itself or met a triangle without area.
    Lost,
}

/// A stretch of a line within one triangle.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stretch {
    pub(crate) face: u32,
    pub(crate) from: DVec3,
    pub(crate) to: DVec3,
}

impl Surface {
    /// The surface of `faces`, whose corners are indices into `points`, in the same order seen from one
    /// side. An edge of more than two triangles counts as a border.
    pub(crate) fn new(points: Vec<DVec3>, faces: Vec<[u32; 3]>) -> Self {
        let mut edges: Vec<(u32, u32, u32, u8)> = Vec::with_capacity(3 * faces.len());
        for (f, face) in (0..).zip(&faces) {
            for k in 0..3 {
                let (a, b) = (face[k], face[(k + 1) % 3]);
                edges.push((a.min(b), a.max(b), f, k as u8));
            }
        }
        edges.sort_unstable();
        let mut across = vec![[NONE; 3]; faces.len()];
        let mut n_forked = 0;
        for same in edges.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
            if let [(.., f, k), (.., g, l)] = *same {
                across[f as usize][usize::from(k)] = g;
                across[g as usize][usize::from(l)] = f;
            }
            n_forked += usize::from(same.len() > 2);
        }
        drop(edges);
        let normals = faces
            .iter()
            .map(|face| {
                let [a, b, c] = face.map(|k| points[k as usize]);
                (b - a).cross(c - a).normalize_or_zero()
            })
            .collect::<Vec<DVec3>>();
        let mut point_normals = vec![DVec3::ZERO; points.len()];
        for (face, normal) in faces.iter().zip(&normals) {
            for k in 0..3 {
                let [a, b, c] = [0, 1, 2].map(|d| points[face[(k + d) % 3] as usize]);
                let angle = (b - a).angle_between(c - a);
                if angle.is_finite() {
                    point_normals[face[k] as usize] += *normal * angle;
                }
            }
        }
        point_normals
            .iter_mut()
            .for_each(|n| *n = n.normalize_or_zero());
        Self {
            points,
            faces,
            across,
            normals,
            point_normals,
            n_forked,
        }
    }

    pub(crate) fn points(&self) -> &[DVec3] {
        &self.points
    }

    pub(crate) fn into_points(self) -> Vec<DVec3> {
        self.points
    }

    pub(crate) fn faces(&self) -> &[[u32; 3]] {
        &self.faces
    }

    pub(crate) fn n_faces(&self) -> u32 {
        self.faces.len() as u32
    }

    /// The surface parted along these sides of triangles: there is no way across them.
    pub(crate) fn part_at(&mut self, sides: &[(u32, usize)]) {
        for &(face, k) in sides {
            self.across[face as usize][k] = NONE;
        }
    }

    /// The normal at a corner.
    pub(crate) fn corner_normal(&self, corner: u32) -> DVec3 {
        self.point_normals[corner as usize]
    }

    /// Whether the surface goes on straight from one place to another.
    pub(crate) fn reaches(&self, from: Spot, to: DVec3) -> bool {
        let along = to - from.at;
        let across = self.smooth_normal(from).cross(along);
        let least = along.length_squared() * (1.0 - 1e-6);
        let there = |stretch: Stretch| {
            let off = (stretch.to - from.at).length_squared();
            (off >= least).then_some(())
        };
        least == 0.0 || self.section(from, across, along, there).is_ok()
    }

    /// How far it is from one place straight to another over the triangles, mm; `None` where there is no such way.
    pub(crate) fn way(&self, from: Spot, to: DVec3) -> Option<f64> {
        let along = to - from.at;
        let across = self.smooth_normal(from).cross(along);
        let whole = along.length_squared();
        let mut sum = 0.0;
        let walked = self.section(from, across, along, |stretch| {
            let on = |p: DVec3| (p - from.at).dot(along);
            let (a, b) = (on(stretch.from), on(stretch.to));
            let is_there = b >= whole * (1.0 - 1e-12);
            let share = match is_there && b > a {
                true => ((whole - a) / (b - a)).clamp(0.0, 1.0),
                false => 1.0,
            };
            sum += stretch.from.distance(stretch.to) * share;
            is_there.then_some(())
        });
        walked.ok().map(|()| sum)
    }

    /// How many edges belong to more than two triangles.
    pub(crate) fn n_forked(&self) -> usize {
        self.n_forked
    }

    /// Whether two triangles are seen alike from one side: they run along their edge, `k` of `face`, in
    /// opposite senses.
    pub(crate) fn agree(&self, face: u32, k: usize, next: u32) -> bool {
        let own = self.faces[face as usize];
        let (a, b) = (own[k], own[(k + 1) % 3]);
        let other = self.faces[next as usize];
        !(0..3).any(|l| (other[l], other[(l + 1) % 3]) == (a, b))
    }

    /// The place on the surface that is nearest to `p`, of the triangles that are `wanted`.
    pub(crate) fn nearest(&self, p: DVec3, wanted: impl Fn(u32) -> bool) -> Option<Spot> {
        let mut best: Option<(f64, Spot)> = None;
        for face in (0..self.n_faces()).filter(|&face| wanted(face)) {
            let at = nearest_in(self.corners(face), p);
            let off = at.distance_squared(p);
            if best.is_none_or(|(least, _)| off < least) {
                best = Some((off, Spot { face, at }));
            }
        }
        best.map(|(_, spot)| spot)
    }

    pub(crate) fn across(&self, face: u32) -> [u32; 3] {
        self.across[face as usize]
    }

    pub(crate) fn normal(&self, face: u32) -> DVec3 {
        self.normals[face as usize]
    }

    /// The normal at a place, evened out between the corners of its triangle.
    pub(crate) fn smooth_normal(&self, spot: Spot) -> DVec3 {
        let [a, b, c] = self.corners(spot.face);
        let normal = self.normal(spot.face);
        let part = |p: DVec3, q: DVec3| (p - spot.at).cross(q - spot.at).dot(normal);
        let parts = [part(b, c), part(c, a), part(a, b)];
        let corners = self.faces[spot.face as usize];
        let sum: DVec3 = (0..3)
            .map(|k| self.point_normals[corners[k] as usize] * parts[k])
            .sum();
        sum.try_normalize().unwrap_or(normal)
    }

    pub(crate) fn corners(&self, face: u32) -> [DVec3; 3] {
        self.faces[face as usize].map(|k| self.points[k as usize])
    }

    pub(crate) fn middle(&self, face: u32) -> DVec3 {
        let [a, b, c] = self.corners(face);
        (a + b + c) / 3.0
    }

    pub(crate) fn area(&self, face: u32) -> f64 {
        let [a, b, c] = self.corners(face);
        (b - a).cross(c - a).length() / 2.0
    }

    /// Follows the line in which the surface meets the plane through `from` across `normal`, starting to
    /// the side of `toward`, until `visit` has found what it looks for.
    pub(crate) fn section<T>(
        &self,
        from: Spot,
        normal: DVec3,
        toward: DVec3,
        mut visit: impl FnMut(Stretch) -> Option<T>,
    ) -> Result<T, Stop> {
        let height = |corner: u32| normal.dot(self.points[corner as usize] - from.at);
        // Where the plane meets edge k of a face; by sign alone, so that a corner in the plane is no case
        // of its own.
        let crossing = |face: u32, k: usize| -> Option<DVec3> {
            let corners = self.faces[face as usize];
            let (a, b) = (corners[k], corners[(k + 1) % 3]);
            let (ha, hb) = (height(a), height(b));
            ((ha >= 0.0) != (hb >= 0.0)).then(|| {
                let (pa, pb) = (self.points[a as usize], self.points[b as usize]);
                pa + (pb - pa) * (ha / (ha - hb))
            })
        };
        let exits = (0..3).filter_map(|k| Some((k, crossing(from.face, k)?)));
        let (mut edge, mut to) = exits
            .max_by(|(_, a), (_, b)| a.dot(toward).total_cmp(&b.dot(toward)))
            .ok_or(Stop::Lost)?;
        let mut here = from;
        for _ in 0..self.faces.len() {
            let stretch = Stretch {
                face: here.face,
                from: here.at,
                to,
            };
            if let Some(found) = visit(stretch) {
                return Ok(found);
            }
            let next = self.across[here.face as usize][edge];
            if next == NONE {
                return Err(Stop::Border);
            }
            let entry = self.entry(next, here.face, edge).ok_or(Stop::Lost)?;
            here = Spot { face: next, at: to };
            (edge, to) = [(entry + 1) % 3, (entry + 2) % 3]
                .into_iter()
                .find_map(|k| Some((k, crossing(next, k)?)))
                .ok_or(Stop::Lost)?;
        }
        Err(Stop::Lost)
    }

    /// Which edge of `next` is edge `edge` of `face`.
    pub(crate) fn entry(&self, next: u32, face: u32, edge: usize) -> Option<usize> {
        let corners = self.faces[face as usize];
        let (a, b) = (corners[edge], corners[(edge + 1) % 3]);
        let own = self.faces[next as usize];
        (0..3).find(|&k| {
            let (c, d) = (own[k], own[(k + 1) % 3]);
            (c, d) == (b, a) || (c, d) == (a, b)
        })
    }

    /// Goes straight on over the triangles, as if they were laid flat one after another, from `from` along
    /// `direction`, until `visit` has found what it looks for; also tells the direction there.
    pub(crate) fn straight<T>(
        &self,
        from: Spot,
        direction: DVec3,
        mut visit: impl FnMut(Stretch) -> Option<T>,
    ) -> Result<(T, DVec3), Stop> {
        let mut here = from;
        let mut along = self.in_plane(here.face, direction).ok_or(Stop::Lost)?;
        let mut entry: Option<usize> = None;
        for _ in 0..self.faces.len() {
            let left = self.normal(here.face).cross(along);
            let corners = self.corners(here.face);
            let height = |k: usize| left.dot(corners[k % 3] - here.at);
            let edge = match entry {
                // The first corner of the edge it came over lies to the left, the second to the right.
                Some(k) if height(k + 2) >= 0.0 => (k + 1) % 3,
                Some(k) => (k + 2) % 3,
                // Out where the right side gives way to the left.
                None => (0..3)
                    .find(|&k| height(k) < 0.0 && height(k + 1) >= 0.0)
                    .ok_or(Stop::Lost)?,
            };
            let (ha, hb) = (height(edge), height(edge + 1));
            let share = if ha == hb {
                0.5
            } else {
                (ha / (ha - hb)).clamp(0.0, 1.0)
            };
            let to = corners[edge].lerp(corners[(edge + 1) % 3], share);
            let stretch = Stretch {
                face: here.face,
                from: here.at,
                to,
            };
            if let Some(found) = visit(stretch) {
                return Ok((found, along));
            }
            let next = self.across[here.face as usize][edge];
            if next == NONE {
                return Err(Stop::Border);
            }
            let k = self.entry(next, here.face, edge).ok_or(Stop::Lost)?;
            // The part along the edge stays, the part across it tilts with the triangle.
            let hinge = (corners[(edge + 1) % 3] - corners[edge]).normalize_or_zero();
            let across = -hinge.cross(self.normal(here.face));
            let (lengthwise, outward) = (along.dot(hinge), along.dot(-across));
            let into = self.normal(next).cross(hinge);
            // Seen from the next triangle the edge runs the other way.
            let into = -into;
            along = (hinge * lengthwise + into * outward.max(0.0)).normalize_or_zero();
            here = Spot { face: next, at: to };
            entry = Some(k);
        }
        Err(Stop::Lost)
    }

    /// `direction` laid into the plane of a triangle.
    pub(crate) fn in_plane(&self, face: u32, direction: DVec3) -> Option<DVec3> {
        let normal = self.normal(face);
        (direction - normal * normal.dot(direction)).try_normalize()
    }
}

/// The point between two ends nearest to `p`.
pub(crate) fn nearest_on([from, to]: [DVec3; 2], p: DVec3) -> DVec3 {
    let along = to - from;
    let t = (p - from).dot(along) / along.length_squared().max(f64::MIN_POSITIVE);
    from + along * t.clamp(0.0, 1.0)
}

/// The point of a triangle nearest to `p`: by which of its corners, edges or inner side `p` lies before.
fn nearest_in([a, b, c]: [DVec3; 3], p: DVec3) -> DVec3 {
    let (ab, ac, ap) = (b - a, c - a, p - a);
    let (xx, xy, yy) = (ab.dot(ab), ab.dot(ac), ac.dot(ac));
    let (x, y) = (ap.dot(ab), ap.dot(ac));
    let det = xx * yy - xy * xy;
    let (v, w) = ((x * yy - y * xy) / det, (y * xx - x * xy) / det);
    if v >= 0.0 && w >= 0.0 && v + w <= 1.0 {
        return a + ab * v + ac * w;
    }
    let feet = [[a, b], [b, c], [c, a]].map(|side| nearest_on(side, p));
    let nearer = |q: DVec3, r: DVec3| {
        if r.distance_squared(p) < q.distance_squared(p) {
            r
        } else {
            q
        }
    };
    nearer(nearer(feet[0], feet[1]), feet[2])
}

/// Where on `stretch` the distance to `centre` grows to `radius`, if it does.
pub(crate) fn leaves(stretch: &Stretch, centre: DVec3, radius: f64) -> Option<Spot> {
    let reach = |p: DVec3| (p - centre).length_squared() - radius * radius;
    if reach(stretch.to) < 0.0 {
        return None;
    }
    let (from, along) = (stretch.from - centre, stretch.to - stretch.from);
    let (a, b, c) = (along.length_squared(), from.dot(along), reach(stretch.from));
    if a == 0.0 {
        return None;
    }
    // The larger root of a·t² + 2·b·t + c.
    let root = (b * b - a * c).max(0.0).sqrt();
    let t = if b > 0.0 {
        -c / (b + root)
    } else {
        (root - b) / a
    };
    let t = t.clamp(0.0, 1.0);
    Some(Spot {
        face: stretch.face,
        at: stretch.from + along * t,
    })
}
