//! Triangles from a file: STL, OBJ, PLY.

mod obj;
mod ply;
mod stl;

use glam::DVec3;

/// What a file holds, as it is written: corners may stand there several times, triangles may lie as they
/// will.
#[derive(Clone, Debug, Default, PartialEq)]
pub(crate) struct Soup {
    /// In the file's own unit.
    pub(crate) points: Vec<DVec3>,
    /// Indices of points.
    pub(crate) faces: Vec<[u32; 3]>,
    /// Index into [`Self::names`] of each face; empty where the file has none.
    pub(crate) groups: Vec<u32>,
    /// What faces stand under together: their group, material and colour, as far as they have them.
    pub(crate) names: Vec<Vec<String>>,
    /// Faces left out since a corner is not a number, or not there.
    pub(crate) n_unreadable: usize,
}

/// The kind of a file of triangles.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum MouldFormat {
    /// Triangles alone, binary or text.
    Stl,
    /// Points and faces as text, in groups.
    Obj,
    /// Points and faces, binary or text.
    Ply,
}

impl MouldFormat {
    /// By the ending of a file's name.
    #[must_use]
    pub fn of(name: &str) -> Option<Self> {
        let (_, extension) = name.rsplit_once('.')?;
        Some(match extension.to_ascii_lowercase().as_str() {
            "stl" => Self::Stl,
            "obj" => Self::Obj,
            "ply" => Self::Ply,
            _ => return None,
        })
    }
}

/// Most triangles of a file, and points of one that shares them.
const MOST: usize = 4_000_000;
/// Most points in all: an STL has three of its own for each triangle.
const MOST_POINTS: usize = 3 * MOST;

/// Why a file cannot be read.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct ReadError {
    pub(crate) line: Option<usize>,
    pub(crate) message: String,
}

impl ReadError {
    fn new(message: impl Into<String>) -> Self {
        Self {
            line: None,
            message: message.into(),
        }
    }
    fn at(line: usize, message: impl Into<String>) -> Self {
        Self {
            line: Some(line),
            message: message.into(),
        }
    }
    fn too_many() -> Self {
        Self::new(format!("more than {MOST} triangles or points"))
    }
}

/// Reads `bytes`.
pub(super) fn read(format: MouldFormat, bytes: Vec<u8>) -> Result<Soup, ReadError> {
    let soup = match format {
        MouldFormat::Stl => stl::read(bytes),
        MouldFormat::Obj => obj::read(&bytes),
        MouldFormat::Ply => ply::read(&bytes),
    }?;
    if soup.faces.is_empty() {
        return Err(ReadError::new("the file holds no triangles"));
    }
    Ok(soup)
}

impl Soup {
    fn point(&mut self, point: DVec3) -> Result<(), ReadError> {
        if self.points.len() == MOST_POINTS {
            return Err(ReadError::too_many());
        }
        self.points.push(point);
        Ok(())
    }

    /// A polygon as a fan of triangles.
    fn polygon(&mut self, corners: &[u32], group: Option<u32>) -> Result<(), ReadError> {
        let is_good = |&k: &u32| self.points.get(k as usize).is_some_and(|p| p.is_finite());
        if corners.len() < 3 || !corners.iter().all(is_good) {
            self.n_unreadable += 1;
            return Ok(());
        }
        for pair in corners[1..].windows(2) {
            if self.faces.len() == MOST {
                return Err(ReadError::too_many());
            }
            self.faces.push([corners[0], pair[0], pair[1]]);
            self.groups.extend(group);
        }
        Ok(())
    }
}
