//! Marks that the job adds to the drawing of a part: `[[part.mark]]`.

use super::keys::{OneOf, Places, keys};
use super::reader::JobReader;
use super::table::JobTable;
use crate::diag::Place;
use crate::geometry::Point;
use crate::pattern::Role;
use crate::units::Length;
use crate::words::words;

words! {
    /// What a mark of the job stands for.
    pub enum MarkedAs {
        /// An edge that carries the `overlap`.
        Overlap = "overlap",
        /// A notch.
        Notch = "notch",
        /// A dart: from the edge to its point and back.
        Dart = "dart",
        /// A drill or locating mark.
        Drill = "drill",
    }
}

impl MarkedAs {
    /// What a drawing has for it.
    #[must_use]
    pub const fn role(self) -> Role {
        match self {
            Self::Overlap => Role::Overlap,
            Self::Notch => Role::Notch,
            Self::Dart => Role::Dart,
            Self::Drill => Role::Drill,
        }
    }
}

/// A mark on the drawing of a part that the drawing itself has not.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct DrawnMark {
    /// What it stands for.
    pub is: MarkedAs,
    /// Where it is, in mm of the drawing.
    pub points: Vec<Point>,
    /// Where it is written.
    pub place: Place,
}

keys! {
    /// What `[[part.mark]]` says.
    DrawnMarkKeys: "a mark", "[[part.mark]]", "A mark that the drawing itself has not, in its millimetres: what one of its layers of marks would hold.";
    is: MarkedAs = OneOf, Required, "notch", "`overlap`: an edge with the `overlap` of the part, from end to end; `notch`: a point on the edge, or a short line through it; `dart`: from the edge to its point and back to the edge; `drill`: a point to drill or locate by";
    points: Vec<[Length; 2]> = Places, Required, "[[\"120 mm\", \"0 mm\"]]", "its places, x and y on the drawing";
}

/// Reads the `[[part.mark]]` tables of a part.
pub(super) fn read_marks(reader: &mut JobReader, tables: Vec<JobTable<'_>>) -> Vec<DrawnMark> {
    let mut marks = Vec::new();
    for table in tables {
        let keys = DrawnMarkKeys::read(reader, Some(&table));
        let (Some(is), Some(points)) = (keys.is.value, keys.points.value) else {
            continue;
        };
        let least = match is {
            MarkedAs::Notch | MarkedAs::Drill => 1,
            MarkedAs::Overlap => 2,
            MarkedAs::Dart => 3,
        };
        if points.len() < least {
            let help = match is {
                MarkedAs::Dart => "it takes three: from the edge to its point and back to the edge",
                _ => "an edge has two ends",
            };
            reader.error(&table.header, "the mark has too few points", help);
            continue;
        }
        marks.push(DrawnMark {
            is,
            points: (points.iter())
                .map(|[x, y]| Point::new(x.to_mm(), y.to_mm()))
                .collect(),
            place: table.header,
        });
    }
    marks
}
