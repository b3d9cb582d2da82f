//! From loose triangles to one surface; every repair is counted.

use std::collections::{HashMap, VecDeque};

use glam::DVec3;

use super::read::Soup;
use super::surface::{NONE, Surface};
use crate::diag::counted;

/// What was mended in a file of triangles.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
#[non_exhaustive]
pub struct Mended {
    /// Corners that were the same point as another.
    pub welded: usize,
    /// Triangles without area.
    pub degenerate: usize,
    /// Triangles that stood there already.
    pub duplicate: usize,
    /// Triangles turned over to agree with their neighbours.
    pub turned: usize,
    /// Edges of more than two triangles: the surface is cut there.
    pub forked_edges: usize,
    /// Edges whose two triangles cannot be brought to agree: the surface has one side only.
    pub one_sided_edges: usize,
    /// Faces left out because a corner is no number, or not there.
    pub unreadable: usize,
}

impl Mended {
    /// What was done, in words; points that are written once for each triangle are no fault.
    pub(crate) fn told(&self) -> Option<String> {
        let all = [
            (
                self.unreadable,
                "unreadable triangle left out",
                "unreadable triangles left out",
            ),
            (
                self.degenerate,
                "triangle without area left out",
                "triangles without area left out",
            ),
            (
                self.duplicate,
                "double triangle left out",
                "double triangles left out",
            ),
            (self.turned, "triangle turned over", "triangles turned over"),
            (
                self.forked_edges,
                "edge of more than two triangles cut",
                "edges of more than two triangles cut",
            ),
        ];
        let done = all.into_iter().filter(|(n, ..)| *n > 0);
        let done: Vec<String> = done.map(|(n, one, many)| counted(n, one, many)).collect();
        (!done.is_empty()).then(|| done.join(", "))
    }
}

/// Points nearer than this (mm) are one.
const WELD_MM: f64 = 1e-4;

/// Twice the area of a triangle by the square of its longest side: below this it has none.
const NO_AREA: f64 = 1e-9;

/// A surface, the group of each of its faces (none where the file has no groups), and what was mended.
pub(crate) struct Whole {
    pub(crate) surface: Surface,
    pub(crate) groups: Vec<u32>,
    pub(crate) mended: Mended,
}

/// Joins equal points, drops triangles without area and doubles, and turns all triangles of a piece to
/// the same side.
pub(crate) fn mend(soup: &Soup) -> Whole {
    let (points, index) = weld(&soup.points);
    let mut mended = Mended {
        welded: soup.points.len() - points.len(),
        unreadable: soup.n_unreadable,
        ..Mended::default()
    };
    let faces = soup
        .faces
        .iter()
        .map(|face| face.map(|c| index[c as usize]));
    let has_area = |face: &[u32; 3]| {
        let [a, b, c] = face.map(|c| points[c as usize]);
        let sides = [b - a, c - a, c - b].map(DVec3::length_squared);
        (b - a).cross(c - a).length() > NO_AREA * sides.into_iter().fold(0.0, f64::max)
    };
    let mut kept: Vec<([u32; 3], u32)> = (faces.zip(0..)).filter(|(f, _)| has_area(f)).collect();
    mended.degenerate = soup.faces.len() - kept.len();
    let n = kept.len();
    drop_doubles(&mut kept);
    mended.duplicate = n - kept.len();
    let groups = match soup.groups.is_empty() {
        true => Vec::new(),
        false => kept.iter().map(|&(_, k)| soup.groups[k as usize]).collect(),
    };
    let mut faces: Vec<[u32; 3]> = kept.into_iter().map(|(face, _)| face).collect();
    let surface = Surface::new(points, faces.clone());
    mended.forked_edges = surface.n_forked();
    let turns = Winding::of(&surface);
    mended.turned = turns.over.iter().filter(|&&over| over).count();
    mended.one_sided_edges = turns.n_one_sided;
    let surface = match mended.turned {
        0 => surface,
        _ => {
            for (face, _) in faces.iter_mut().zip(&turns.over).filter(|(_, over)| **over) {
                face.swap(1, 2);
            }
            Surface::new(surface.into_points(), faces)
        }
    };
    Whole {
        surface,
        groups,
        mended,
    }
}

/// Keeps the first of all faces with the same three corners.
fn drop_doubles(faces: &mut Vec<([u32; 3], u32)>) {
    let mut keys: Vec<([u32; 3], u32)> = faces
        .iter()
        .map(|&(mut face, k)| {
            face.sort_unstable();
            (face, k)
        })
        .collect();
    keys.sort_unstable();
    keys.dedup_by_key(|(face, _)| *face);
    if keys.len() < faces.len() {
        let mut first: Vec<u32> = keys.into_iter().map(|(_, k)| k).collect();
        first.sort_unstable();
        faces.retain(|(_, k)| first.binary_search(k).is_ok());
    }
}

/// One point for all that are nearer than [`WELD_MM`], and the number of the point that each became.
fn weld(points: &[DVec3]) -> (Vec<DVec3>, Vec<u32>) {
    // Nearly all doubles are exact, and sorting finds them faster than cells do.
    let bits = |p: DVec3| p.to_array().map(|v| (v + 0.0).to_bits());
    let mut order: Vec<u32> = (0..points.len() as u32).collect();
    order.sort_unstable_by_key(|&k| (bits(points[k as usize]), k));
    let mut near = Near::default();
    let mut index = vec![0; points.len()];
    let mut firsts: Vec<(u32, u32)> = Vec::new();
    for same in order.chunk_by(|&a, &b| bits(points[a as usize]) == bits(points[b as usize])) {
        firsts.push((same[0], same.len() as u32));
    }
    let mut start = 0;
    let mut runs: Vec<(u32, usize, usize)> = firsts
        .into_iter()
        .map(|(first, n)| {
            let run = (first, start, start + n as usize);
            start = run.2;
            run
        })
        .collect();
    // In the order of the file, so that the surface does not depend on where it lies.
    runs.sort_unstable();
    for (first, from, to) in runs {
        let found = near.find_or_add(points[first as usize]);
        order[from..to]
            .iter()
            .for_each(|&k| index[k as usize] = found);
    }
    (near.kept, index)
}

/// Points by cells of twice the distance within which two are one.
#[derive(Default)]
struct Near {
    kept: Vec<DVec3>,
    cells: HashMap<[i64; 3], u32>,
}

impl Near {
    fn find_or_add(&mut self, p: DVec3) -> u32 {
        let scaled = p / (2.0 * WELD_MM);
        let cell = scaled.floor().to_array().map(|v| v as i64);
        // At most one neighbour to each side is within reach.
        let side = (scaled - scaled.floor()).to_array();
        let side = side.map(|part| if part < 0.5 { -1 } else { 1 });
        for k in 0..8_i64 {
            let step = |d: usize| if k >> d & 1 == 1 { side[d] } else { 0 };
            // What is no number lies in the last cell there is.
            let near = [0, 1, 2].map(|d| cell[d].saturating_add(step(d)));
            if let Some(&found) = self.cells.get(&near)
                && self.kept[found as usize].distance(p) < WELD_MM
            {
                return found;
            }
        }
        let new = self.kept.len() as u32;
        self.kept.push(p);
        self.cells.insert(cell, new);
        new
    }
}

/// Which faces are to be turned over.
struct Winding {
    over: Vec<bool>,
    n_one_sided: usize,
}

impl Winding {
    /// So that all neighbours agree; the larger part of every piece stays as it is.
    fn of(surface: &Surface) -> Self {
        let n = surface.n_faces();
        let mut turned: Vec<Option<bool>> = vec![None; n as usize];
        let mut over = vec![false; n as usize];
        let mut n_one_sided = 0;
        for first in 0..n {
            if turned[first as usize].is_some() {
                continue;
            }
            turned[first as usize] = Some(false);
            let mut piece = vec![first];
            let mut queue = VecDeque::from([first]);
            while let Some(face) = queue.pop_front() {
                let own = turned[face as usize] == Some(true);
                for (k, next) in surface.across(face).into_iter().enumerate() {
                    if next == NONE {
                        continue;
                    }
                    let wanted = own == surface.agree(face, k, next);
                    match turned[next as usize] {
                        Some(is) => n_one_sided += usize::from(is != wanted),
                        None => {
                            turned[next as usize] = Some(wanted);
                            piece.push(next);
                            queue.push_back(next);
                        }
                    }
                }
            }
            let area = |is: bool| -> f64 {
                let of = piece.iter().filter(|&&f| turned[f as usize] == Some(is));
                of.map(|&f| surface.area(f)).sum()
            };
            let most = area(true) > area(false);
            for &face in &piece {
                over[face as usize] = turned[face as usize] == Some(!most);
            }
        }
        Self {
            over,
            n_one_sided: n_one_sided / 2,
        }
    }
}
