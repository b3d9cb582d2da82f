//! Cutting the triangles of a surface along a line, so that each lies to one side of it.

use std::collections::HashMap;

use glam::DVec3;

use super::surface::Surface;

/// A corner this near (mm) to the line lies on it.
const ON_LINE_MM: f64 = 1e-6;

/// Triangles, and the group of each if they have any.
#[derive(Clone, Debug, Default)]
pub(crate) struct Triangles {
    pub(crate) points: Vec<DVec3>,
    pub(crate) faces: Vec<[u32; 3]>,
    pub(crate) groups: Vec<u32>,
}

impl Triangles {
    pub(crate) fn of(surface: &Surface, groups: &[u32]) -> Self {
        Self {
            points: surface.points().to_vec(),
            faces: surface.faces().to_vec(),
            groups: groups.to_vec(),
        }
    }

    /// A new corner at `p` inside a triangle; its number.
    pub(crate) fn insert(&mut self, face: u32, p: DVec3) -> u32 {
        let new = self.points.len() as u32;
        self.points.push(p);
        let [a, b, c] = self.faces[face as usize];
        self.faces[face as usize] = [a, b, new];
        self.faces.extend([[b, c, new], [c, a, new]]);
        if let Some(&group) = self.groups.get(face as usize) {
            self.groups.extend([group; 2]);
        }
        new
    }

    /// Cuts all triangles where `height` (mm, of a point) passes zero.
    pub(crate) fn cut(&mut self, height: impl Fn(DVec3) -> f64) {
        let all: Vec<u32> = (0..self.faces.len() as u32).collect();
        self.cut_some([&all, &all], height, |_| true);
    }

    /// Cuts those triangles of the first list that are `wanted` where `height` (mm, of a point) passes zero, and
    /// their neighbours along the same edges, all of which are in the second list.
    pub(crate) fn cut_some(
        &mut self,
        [those, around]: [&[u32]; 2],
        height: impl Fn(DVec3) -> f64,
        wanted: impl Fn([DVec3; 3]) -> bool,
    ) {
        self.cut_corners([those, around], |_, p| height(p), wanted);
    }

    /// The same where the height is that of a corner, by its number and place.
    pub(super) fn cut_corners(
        &mut self,
        [those, around]: [&[u32]; 2],
        height: impl Fn(u32, DVec3) -> f64,
        wanted: impl Fn([DVec3; 3]) -> bool,
    ) {
        let height = |corner: u32, p: DVec3| {
            Some(height(corner, p))
                .filter(|h| h.abs() > ON_LINE_MM)
                .unwrap_or(0.0)
        };
        let mut new: HashMap<(u32, u32), u32> = HashMap::new();
        for &k in those {
            let face = self.faces[k as usize];
            let corners = face.map(|c| self.points[c as usize]);
            let heights = [0, 1, 2].map(|k| height(face[k], corners[k]));
            let is_cut = |k: &usize| heights[*k] * heights[(k + 1) % 3] < 0.0;
            if !(0..3).any(|k| is_cut(&k)) || !wanted(corners) {
                continue;
            }
            for k in (0..3).filter(is_cut) {
                let (a, b) = edge(&face, k);
                new.entry((a, b)).or_insert_with(|| {
                    // From the lower number, so that both triangles would find the same point.
                    let [p, q] = [a, b].map(|c| self.points[c as usize]);
                    let (ha, hb) = (height(a, p), height(b, q));
                    self.points.push(p + (q - p) * (ha / (ha - hb)));
                    self.points.len() as u32 - 1
                });
            }
        }
        self.divide(around, &new);
    }

    /// Halves those sides of some triangles that are longer than `most` mm; whether there are any.
    pub(super) fn halve(&mut self, those: &[u32], most: f64) -> bool {
        let mut new: HashMap<(u32, u32), u32> = HashMap::new();
        for &face in those {
            let corners = self.faces[face as usize];
            for (a, b) in [0, 1, 2].map(|k| edge(&corners, k)) {
                let [p, q] = [a, b].map(|c| self.points[c as usize]);
                if p.distance(q) > most {
                    new.entry((a, b)).or_insert_with(|| {
                        self.points.push(p.midpoint(q));
                        self.points.len() as u32 - 1
                    });
                }
            }
        }
        let all: Vec<u32> = (0..self.faces.len() as u32).collect();
        self.divide(&all, &new);
        !new.is_empty()
    }

    /// Divides those triangles that have `new` corners on their edges.
    fn divide(&mut self, those: &[u32], new: &HashMap<(u32, u32), u32>) {
        for &k in those.iter().filter(|_| !new.is_empty()) {
            let k = k as usize;
            let face = self.faces[k];
            let cuts = [0, 1, 2].map(|side| new.get(&edge(&face, side)).copied());
            let mut parts = divided(face, cuts).into_iter();
            self.faces[k] = parts.next().unwrap_or(face);
            for part in parts {
                self.faces.push(part);
                if !self.groups.is_empty() {
                    self.groups.push(self.groups[k]);
                }
            }
        }
    }
}

/// The edge from corner `k` to the next, the lower number first.
fn edge(face: &[u32; 3], k: usize) -> (u32, u32) {
    let (a, b) = (face[k], face[(k + 1) % 3]);
    (a.min(b), a.max(b))
}

/// A triangle with new corners on its edges, cut along the lines between them.
fn divided(face: [u32; 3], cuts: [Option<u32>; 3]) -> Vec<[u32; 3]> {
    let turned = |k: usize| [face[k], face[(k + 1) % 3], face[(k + 2) % 3]];
    match cuts {
        [None, None, None] => vec![face],
        [Some(x), Some(y), Some(z)] => {
            let [a, b, c] = face;
            vec![[a, x, z], [x, b, y], [z, y, c], [x, y, z]]
        }
        _ => {
            // Two cuts in a row, or one.
            let k = (0..3)
                .find(|&k| cuts[k].is_some() && cuts[(k + 1) % 3].is_some())
                .or_else(|| cuts.iter().position(Option::is_some))
                .unwrap_or(0);
            let [a, b, c] = turned(k);
            match (cuts[k], cuts[(k + 1) % 3]) {
                (Some(x), Some(y)) => vec![[x, b, y], [a, x, y], [a, y, c]],
                (Some(x), None) => vec![[a, x, c], [x, b, c]],
                _ => vec![face],
            }
        }
    }
}
