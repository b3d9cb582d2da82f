//! Pattern files → outlines: one file per format, chaining of loose segments, healing.
//!
//! Reads bytes, never a disk. All geometry that comes out is in the pattern frame: x right, y up,
//! millimetres, true size.

use crate::diag::{Diagnostics, Place};
use crate::geometry::{Outline, Point, Tolerance};
use crate::units::LengthUnit;

/// How to read a pattern file.
#[derive(Clone, Copy, Debug)]
pub struct Settings {
    /// Flattening and chaining tolerances.
    pub tolerance: Tolerance,
    /// Unit of the coordinates, where the file does not say or is wrong.
    pub unit: Option<LengthUnit>,
}

/// What a pattern file holds.
#[derive(Clone, Debug)]
pub struct Pattern {
    /// The file's name as the user gave it.
    pub file: String,
    /// Where its unit comes from.
    pub unit: UnitFound,
    /// Closed outlines with their openings, in the order of the file.
    pub outlines: Vec<PatternOutline>,
    /// Lines that are not closed: directions, marked edges, or faults.
    pub lines: Vec<PatternLine>,
    /// Texts.
    pub texts: Vec<PatternText>,
    /// What is wrong or remarkable: errors and warnings with places.
    pub problems: Diagnostics,
}

/// Where a pattern's unit comes from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum UnitFound {
    /// The file says.
    File(LengthUnit),
    /// The settings say.
    Given(LengthUnit),
    /// Nobody says: coordinates were taken as millimetres.
    Assumed,
}

/// One closed outline of a pattern file.
#[derive(Clone, Debug)]
pub struct PatternOutline {
    /// Element id (SVG) or entity handle (DXF); unique in the file, made up if there is none.
    pub id: String,
    /// Layer name; empty if there is none.
    pub layer: String,
    /// Texts whose anchor lies inside the outline (and in no smaller outline).
    pub labels: Vec<String>,
    /// The outline, flattened.
    pub outline: Outline,
    /// Where it is, for messages.
    pub place: Place,
}

/// One open line of a pattern file.
#[derive(Clone, Debug)]
pub struct PatternLine {
    /// Element id or entity handle.
    pub id: String,
    /// Layer name; empty if there is none.
    pub layer: String,
    /// At least two vertices, from the start as drawn to the end.
    pub points: Vec<Point>,
    /// Where it is, for messages.
    pub place: Place,
}

/// One text of a pattern file.
#[derive(Clone, Debug)]
pub struct PatternText {
    /// The text, plain.
    pub text: String,
    /// Layer name; empty if there is none.
    pub layer: String,
    /// Its anchor.
    pub at: Point,
}
