//! Moulds: a file of triangles → one mended surface → the part of it that is laid.
//!
//! Reads bytes, never a disk. All that comes out is in mm, in the axes of the file. What is mended is counted in
//! [`Mended`] and told; nothing is left out without a word.

pub(crate) mod area;
pub(crate) mod cut;
pub(crate) mod extent;
pub(crate) mod inspect;
mod lap;
mod line;
mod mend;
mod raise;
mod read;
pub(crate) mod slit;
mod smooth;
pub(crate) mod surface;
#[cfg(test)]
mod tests;

pub use area::{AreaChoice, AreaError, ClosedLine};
pub use inspect::{CandidateInspection, GroupInspection, MouldInspection};
pub use line::LineSeen;
pub use mend::Mended;
pub use read::MouldFormat;

use glam::DVec3;

use crate::diag::{Diagnostic, Diagnostics, Place, counted};
use crate::units::{Length, LengthUnit};
use mend::{Whole, mend};
use read::ReadError;
use surface::Surface;

/// A mould, read and mended.
#[derive(Clone, Debug)]
pub struct Mould {
    file: String,
    format: MouldFormat,
    surface: Surface,
    /// By triangle; empty where the file has none.
    groups: Vec<u32>,
    names: Vec<Vec<String>>,
    mended: Mended,
}

/// No mould reaches further than this (mm) from the origin of its file.
const FARTHEST_MM: f64 = 1e6;

impl Mould {
    /// Reads a file of triangles; `file` is its name for messages, whose ending tells the format. `unit` is that of
    /// its numbers: no format states one.
    ///
    /// # Errors
    /// A file that cannot be read, without a unit, or without a surface.
    pub fn read(
        file: &str,
        bytes: Vec<u8>,
        unit: Option<LengthUnit>,
    ) -> Result<(Self, Diagnostics), Diagnostics> {
        let place = Place::File(file.to_owned());
        let Some(format) = MouldFormat::of(file) else {
            let message =
                "a mould is a file of triangles: STL, OBJ or PLY, by the ending of its name";
            let help = "export the surface as one of these, or name a drawing with `pattern`";
            return Err(Diagnostic::error(message).at(place).help(help).into());
        };
        let mut soup = read::read(format, bytes).map_err(|error| refused(file, error))?;
        let Some(unit) = unit else {
            let help = "say in which with `units`, for example `units = \"mm\"`; compare a size";
            let message = format!(
                "the file states no unit; it is {} large",
                size(&soup.points)
            );
            return Err(Diagnostic::error(message).at(place).help(help).into());
        };
        soup.points.iter_mut().for_each(|p| *p *= unit.in_mm());
        let is_far = |p: &DVec3| p.is_finite() && p.abs().max_element() > FARTHEST_MM;
        if soup.points.iter().any(is_far) {
            let message = "it reaches further than 1 km from its origin";
            let help = "is `units` right? Move the mould to its origin if it is";
            return Err(Diagnostic::error(message).at(place).help(help).into());
        }
        let Whole {
            surface,
            groups,
            mended,
        } = mend(&soup);
        if surface.n_faces() == 0 {
            let message = "none of its triangles has an area";
            return Err(Diagnostic::error(message).at(place).into());
        }
        let mut said = Diagnostics::new();
        if let Some(repairs) = mended.told() {
            said.push(Diagnostic::note(format!("mended: {repairs}")).at(place.clone()));
        }
        if mended.one_sided_edges > 0 {
            let message = format!(
                "at {} the triangles cannot be brought to one side",
                counted(mended.one_sided_edges, "edge", "edges")
            );
            let help = "the cloth ends there; mend the surface in the program that made it";
            said.push(Diagnostic::warning(message).at(place).help(help));
        }
        let mould = Self {
            file: file.to_owned(),
            format,
            surface,
            groups,
            names: soup.names,
            mended,
        };
        Ok((mould, said))
    }

    /// The file's name as the user gave it.
    #[must_use]
    pub fn file(&self) -> &str {
        &self.file
    }

    /// Its format.
    #[must_use]
    pub const fn format(&self) -> MouldFormat {
        self.format
    }

    /// What was mended.
    #[must_use]
    pub const fn mended(&self) -> &Mended {
        &self.mended
    }

    /// How many triangles it has.
    #[must_use]
    pub fn n_triangles(&self) -> usize {
        self.surface.n_faces() as usize
    }

    /// Groups, materials and colours by name, in the order of the file.
    #[must_use]
    pub fn groups(&self) -> Vec<&str> {
        let mut all: Vec<&str> = Vec::new();
        for name in self.names.iter().flatten() {
            if !all.contains(&name.as_str()) {
                all.push(name);
            }
        }
        all
    }

    /// Its box: the lowest and the highest x, y, z, mm.
    #[must_use]
    pub fn bounds(&self) -> [[f64; 3]; 2] {
        box_of(self.surface.points()).map(|p| p.to_array())
    }

    /// Its area, mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        (0..self.surface.n_faces())
            .map(|face| self.surface.area(face))
            .sum()
    }

    /// The part of it that `choice` asks for.
    ///
    /// # Errors
    /// When there is nothing like it, or it has no edge.
    pub(crate) fn part(&self, choice: &AreaChoice) -> Result<area::Area, AreaError> {
        area::Area::of(&self.surface, &self.groups, &self.names, choice)
    }
}

/// A place on a mould in words, to so many decimals of a millimetre.
pub(crate) fn place_in_words(place: [f64; 3], decimals: usize) -> String {
    // Without a sign where nothing is left of it.
    let least = 0.5 * 0.1_f64.powi(decimals as i32);
    let [x, y, z] = place.map(|v| if v.abs() < least { 0.0 } else { v });
    format!("({x:.decimals$}, {y:.decimals$}, {z:.decimals$}) mm")
}

fn refused(file: &str, error: ReadError) -> Diagnostic {
    let place = match error.line {
        Some(line) => Place::Line {
            file: file.to_owned(),
            line,
        },
        None => Place::File(file.to_owned()),
    };
    Diagnostic::error(error.message)
        .at(place)
        .help("export the mould again, as triangles")
}

fn box_of(points: &[DVec3]) -> [DVec3; 2] {
    let finite = points.iter().copied().filter(|p| p.is_finite());
    let empty = [DVec3::INFINITY, DVec3::NEG_INFINITY];
    finite.fold(empty, |[low, high], p| [low.min(p), high.max(p)])
}

/// How large a file's points are in millimetres and in inches.
fn size(points: &[DVec3]) -> String {
    let [low, high] = box_of(points);
    let of = |unit: LengthUnit| {
        let sides = (high - low).to_array();
        let sides = sides.map(|side| Length::mm(side * unit.in_mm()).in_mm_and_inches());
        format!("{} if in {unit}", sides.join(" × "))
    };
    format!("{}, {}", of(LengthUnit::Millimetre), of(LengthUnit::Inch))
}
