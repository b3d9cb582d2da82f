//! Plane geometry in millimetres: outlines, placements, offsets, distances and overlap.
//!
//! This module has never heard of cloth, fibre or file formats. x runs right, y up, angles are
//! counter-clockwise.

mod asked;
mod bounds;
mod box_tree;
mod buckets;
mod circle;
pub mod clip;
mod crossing;
pub mod distance;
mod free;
mod inscribed;
mod level;
mod offset;
mod outline;
mod pairs;
mod paths;
mod placement;
mod point;
mod region;
pub mod trig;

pub use bounds::{Bounds, fit_tolerance};
pub(crate) use box_tree::{BoxTree, SizedBox};
pub(crate) use buckets::Buckets;
pub use circle::Circle;
pub use crossing::{Crossing, crossing, crossing_of_two, crossings};
pub use free::{largest_rectangle, largest_rectangles};
pub use inscribed::{InscribedBox, largest_box};
pub(crate) use level::level_pairs;
pub use offset::{Join, OffsetError, grown_at_least, offset, surrounding};
pub use outline::{Outline, Ring, RingFault};
pub(crate) use outline::{line_simplified, signed_area};
pub(crate) use pairs::near_pairs;
pub use placement::{Face, Placement, Turn};
pub use point::{Point, Vector};
pub use region::Region;

/// The tolerances of the whole program, in one place.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tolerance {
    /// Largest distance in mm between a curve and the chord that stands for it. Larger: areas
    /// of small openings are off by more than 0.01 %; smaller: files and layouts grow slow.
    pub chord: f64,
    /// Ends of segments nearer than this (mm) are the same point when segments are chained.
    /// Larger: separate outlines merge; smaller: drawings with small gaps stay open.
    pub join: f64,
}

impl Default for Tolerance {
    fn default() -> Self {
        Self {
            chord: 0.005,
            join: 0.1,
        }
    }
}
