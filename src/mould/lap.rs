//! Laps: a part that goes on beyond a limit onto the part beside it, so far as measured on the mould.
//!
//! The way to the limit is that on the flat: from each bit of it the triangles beyond are laid flat one beside the other.

use std::collections::{BTreeSet, HashMap, VecDeque};

use glam::{DVec2, DVec3};

use super::cut::Triangles;
use super::surface::{NONE, Surface, nearest_on};

/// Of a triangle: the part is there; it may be.
pub(super) const INSIDE: u32 = 1;
pub(super) const ALLOWED: u32 = 2;

/// Sides of triangles in a lap are at most this share of it: between the corners of a triangle the way is taken for straight.
const FINE: f64 = 0.1;

/// Rounds in which sides are halved: a side of 100 m is a tenth of a lap of 10 mm then.
const MOST_ROUNDS: u32 = 17;

/// A corner this near (mm) to a limit lies on it.
const ON_LIMIT_MM: f64 = 1e-5;

/// How a part goes on beyond its limits along an axis.
pub(super) struct Lap {
    pub(super) axis: usize,
    /// Where they are there, mm.
    pub(super) limits: Vec<f64>,
    /// How far it goes on, mm.
    pub(super) by: f64,
    /// As of an edge that ends the part.
    pub(super) least: Option<f64>,
}

impl Lap {
    /// Lets the part among `triangles` go on over those that it may be on.
    pub(super) fn add_to(&self, triangles: &mut Triangles) {
        let lap = self.by;
        let side = FINE * lap;
        let mut band = Band::default();
        for _ in 0..MOST_ROUNDS {
            band = Band::of(triangles, self, lap + 2.0 * side);
            if !triangles.halve(&band.faces, side) {
                break;
            }
        }
        let ways = band.ways(triangles, lap + 2.0 * side);
        let n = triangles.points.len() as u32;
        let all: Vec<u32> = (0..triangles.faces.len() as u32).collect();
        let way = |corner: u32| ways.get(&corner).copied().unwrap_or(f64::INFINITY);
        // What the front has not come to is not near the end of the lap.
        let beyond = |corner: u32| way(corner).min(2.0 * lap) - lap;
        triangles.cut_corners([&band.faces, &all], |corner, _| beyond(corner), |_| true);
        let is_on = |&corner: &u32| corner >= n || way(corner) <= lap + ON_LIMIT_MM;
        let may_be = |of: u32| of & (ALLOWED | INSIDE) == ALLOWED;
        for (face, of) in triangles.faces.iter().zip(&mut triangles.groups) {
            if may_be(*of) && face.iter().all(is_on) {
                *of |= INSIDE;
            }
        }
    }
}

/// What lies beside the part beyond a limit.
#[derive(Default)]
struct Band {
    faces: Vec<u32>,
    /// Sides along the limit, as the triangles beyond it have them.
    seeds: Vec<[u32; 2]>,
}

impl Band {
    /// As far as `reach` mm from the limits.
    fn of(triangles: &Triangles, lap: &Lap, reach: f64) -> Self {
        let surface = Surface::new(triangles.points.clone(), triangles.faces.clone());
        let of = |face: u32| triangles.groups[face as usize];
        let may_be = |face: u32| of(face) & (ALLOWED | INSIDE) == ALLOWED;
        let is_on = |p: DVec3| {
            let at = p.to_array()[lap.axis];
            lap.limits
                .iter()
                .any(|limit| (at - limit).abs() < ON_LIMIT_MM)
        };
        let mut band = Self::default();
        let mut queue = VecDeque::new();
        for face in (0..surface.n_faces()).filter(|&face| of(face) & INSIDE != 0) {
            let (corners, own) = (surface.corners(face), surface.faces()[face as usize]);
            for (k, next) in surface.across(face).into_iter().enumerate() {
                let ends = [corners[k], corners[(k + 1) % 3]];
                if next != NONE && may_be(next) && ends.into_iter().all(is_on) {
                    band.seeds.push([own[(k + 1) % 3], own[k]]);
                    queue.push_back((next, ends));
                }
            }
        }
        let mut seen = vec![false; triangles.faces.len()];
        while let Some((face, line)) = queue.pop_front() {
            // What is too far from one bit of the limit may be near another.
            if !seen[face as usize] && off_line(surface.corners(face), line) <= reach {
                seen[face as usize] = true;
                band.faces.push(face);
                let next = surface.across(face).into_iter();
                let normal = surface.normal(face);
                let goes_on = |next: u32| {
                    lap.least
                        .is_none_or(|least| normal.dot(surface.normal(next)) >= least)
                };
                let next = next.filter(|&next| next != NONE && may_be(next) && goes_on(next));
                queue.extend(next.map(|next| (next, line)));
            }
        }
        band
    }

    /// The way over the triangles from the limit to each corner, as far as `reach`, mm.
    fn ways(&self, triangles: &Triangles, reach: f64) -> HashMap<u32, f64> {
        let mut across: HashMap<(u32, u32), u32> = HashMap::new();
        for &face in &self.faces {
            let [a, b, c] = triangles.faces[face as usize];
            across.extend([(a, b), (b, c), (c, a)].map(|side| (side, face)));
        }
        let mut ways: HashMap<u32, f64> = HashMap::new();
        // Where the limit ends with the part it is taken to go on straight: the lap is not rounded off there.
        let firsts: BTreeSet<u32> = self.seeds.iter().map(|side| side[0]).collect();
        let lasts: BTreeSet<u32> = self.seeds.iter().map(|side| side[1]).collect();
        for &[a, b] in &self.seeds {
            let goes_on = [!lasts.contains(&a), !firsts.contains(&b)];
            let length = triangles.points[a as usize].distance(triangles.points[b as usize]);
            // The triangles beyond a side, laid flat one beside the other: the side along x.
            let flat = [DVec2::ZERO, DVec2::new(length, 0.0)];
            let mut queue = VecDeque::from([([a, b], flat)]);
            let mut seen = BTreeSet::new();
            ways.extend([(a, 0.0), (b, 0.0)]);
            while let Some((side, flat)) = queue.pop_front() {
                let is_reached = beside(flat, length, reach);
                let Some(&face) = across.get(&(side[0], side[1])).filter(|_| is_reached) else {
                    continue;
                };
                if !seen.insert(face) {
                    continue;
                }
                let corners = triangles.faces[face as usize];
                let Some(&third) = corners.iter().find(|corner| !side.contains(corner)) else {
                    continue;
                };
                let at = unfolded(triangles, side, flat, third);
                let [low, high] = [at.x.min(0.0), (at.x - length).max(0.0)];
                let [low, high] = [(low, goes_on[0]), (high, goes_on[1])]
                    .map(|(off, goes_on)| if goes_on { 0.0 } else { off });
                let way = DVec2::new(low + high, at.y).length();
                let best = ways.entry(third).or_insert(f64::INFINITY);
                *best = best.min(way);
                // As the triangles beyond have them.
                queue.push_back(([third, side[1]], [at, flat[1]]));
                queue.push_back(([side[0], third], [flat[0], at]));
            }
        }
        ways
    }
}

/// Whether a side that is laid flat comes beside the first `length` mm of x, or near it, within `reach`.
fn beside([p, q]: [DVec2; 2], length: f64, reach: f64) -> bool {
    let near = reach / 2.0;
    let (low, high) = (p.min(q), p.max(q));
    low.x <= length + near && high.x >= -near && low.y <= reach && high.y >= 0.0
}

/// Where the `third` corner of the triangle beyond a side comes to lie when it is laid flat beside that.
fn unfolded(triangles: &Triangles, side: [u32; 2], [p, q]: [DVec2; 2], third: u32) -> DVec2 {
    let [a, b, c] = [side[0], side[1], third].map(|corner| triangles.points[corner as usize]);
    let along = (b - a).normalize_or_zero();
    let on = (c - a).dot(along);
    let off = (c - a - along * on).length();
    let flat = (q - p).normalize_or_zero();
    p + flat * on + flat.perp() * off
}

/// How near a triangle comes to a line, by its corners and the ends of the line, mm.
fn off_line(corners: [DVec3; 3], line: [DVec3; 2]) -> f64 {
    let off = |p: DVec3, side: [DVec3; 2]| p.distance(nearest_on(side, p));
    let sides = [0, 1, 2].map(|k| [corners[k], corners[(k + 1) % 3]]);
    let of_corners = corners.into_iter().map(|p| off(p, line));
    let of_ends = sides
        .into_iter()
        .flat_map(|side| line.map(|end| off(end, side)));
    of_corners.chain(of_ends).fold(f64::INFINITY, f64::min)
}

#[cfg(test)]
mod tests {
    use glam::dvec3;

    use super::*;
    use crate::geometry::trig;
    use crate::mould::AreaChoice;
    use crate::mould::area::Area;

    fn grid(n: usize, at: impl Fn(f64, f64) -> DVec3) -> Surface {
        let share = |k: usize| k as f64 / n as f64;
        let points = (0..=n).flat_map(|j| (0..=n).map(move |i| (i, j)));
        let points = points.map(|(i, j)| at(share(i), share(j))).collect();
        let id = |i: usize, j: usize| (j * (n + 1) + i) as u32;
        let squares = (0..n).flat_map(|j| (0..n).map(move |i| (i, j)));
        let faces = squares.flat_map(|(i, j)| {
            let (a, b, c, d) = (id(i, j), id(i + 1, j), id(i + 1, j + 1), id(i, j + 1));
            [[a, b, c], [a, c, d]]
        });
        Surface::new(points, faces.collect())
    }

    fn part(surface: &Surface, choice: &AreaChoice) -> Area {
        Area::of(surface, &[], &[], choice).unwrap()
    }

    /// On a ball a circle that lies so much further on, seen from the middle, is another circle, which a plane cuts out: the
    /// part ends there, on either side of the limit, and both laps together lie twice.
    #[test]
    fn a_lap_on_a_ball_ends_along_a_circle() {
        const R: f64 = 100.0;
        const LAP: f64 = 15.0;
        let ball = grid(60, |u, v| {
            dvec3(2.4 * u - 1.2, 2.4 * v - 1.2, 1.0).normalize() * R
        });
        let limited = |above, below, lap| {
            let along_x = |at| [at, None, None];
            let choice = AreaChoice {
                above: along_x(above),
                below: along_x(below),
                laps: along_x(lap),
                ..AreaChoice::default()
            };
            part(&ball, &choice)
        };
        let at = Some(30.0);
        let whole = limited(None, None, None).on_mould();
        let halves = [
            (limited(at, None, Some(LAP)), -1.0),
            (limited(None, at, Some(LAP)), 1.0),
        ];
        let polar = trig::atan2_radians((R * R - 30.0 * 30.0_f64).sqrt(), 30.0);
        let ends = |way: f64| R * trig::sin_cos_radians(polar - way * LAP / R).1;
        let mut both = 0.0;
        for (half, way) in &halves {
            let exact = match *way < 0.0 {
                true => limited(Some(ends(*way)), None, None),
                false => limited(None, Some(ends(*way)), None),
            };
            let (own, exact) = (half.on_mould(), exact.on_mould());
            assert!((own / exact - 1.0).abs() < 2e-4, "{own} for {exact}");
            // Off the edge of the mould, where it goes on straight.
            let is_end = |p: &DVec3| (p.x - ends(*way)).abs() < 1.0 && p.y.abs() < 60.0;
            let at_end = half.edges[0].iter().map(|side| side.from).filter(is_end);
            let off: Vec<f64> = at_end.map(|p| (p.x - ends(*way)).abs()).collect();
            assert!(off.len() > 50);
            let worst = off.into_iter().fold(0.0, f64::max);
            assert!(worst < 0.05, "{worst} mm off the circle");
            both += own;
        }
        // A zone of a ball is as large as its height says; what of it lies beside the mould is cut out alike by planes.
        let zone = limited(Some(ends(-1.0)), Some(ends(1.0)), None).on_mould();
        assert!(
            ((both - whole) / zone - 1.0).abs() < 2e-3,
            "{}",
            (both - whole) / zone
        );
    }

    /// A floor and a wall of two triangles each: the lap goes on up the wall by what the floor leaves of it, unless a crease
    /// ends the part.
    #[test]
    fn a_lap_goes_up_a_wall() {
        let points = [
            (0.0, 0.0, 0.0),
            (100.0, 0.0, 0.0),
            (100.0, 60.0, 0.0),
            (0.0, 60.0, 0.0),
            (100.0, 0.0, 50.0),
            (100.0, 60.0, 50.0),
        ];
        let points = points.map(|(x, y, z)| dvec3(x, y, z)).to_vec();
        let faces = vec![[0, 1, 2], [0, 2, 3], [1, 4, 5], [1, 5, 2]];
        let surface = Surface::new(points, faces);
        let mut choice = AreaChoice {
            below: [Some(90.0), None, None],
            laps: [Some(25.0), None, None],
            ..AreaChoice::default()
        };
        let area = part(&surface, &choice).on_mould();
        assert!((area - 60.0 * 115.0).abs() < 1e-3, "{area}");
        choice.crease_deg = Some(30.0);
        let area = part(&surface, &choice).on_mould();
        assert!((area - 60.0 * 100.0).abs() < 1e-3, "{area}");
    }
}
