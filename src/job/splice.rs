//! Whether and how a ply that is larger than its cloth may be divided.

use super::keys::keys;
use super::reader::JobReader;
use super::rules::LengthRule;
use super::table::JobTable;
use crate::geometry::{Bounds, Point};
use crate::units::Length;
use crate::words::{Word, words};

words! {
    /// How the pieces of a divided ply are joined.
    pub enum JointKind {
        /// One lies on the other.
        Lap = "lap",
        /// Edge against edge.
        Butt = "butt",
    }
}

impl Word for Option<JointKind> {
    fn words() -> Vec<(&'static str, Self)> {
        let joints = JointKind::ALL.map(|joint| (joint.word(), Some(joint)));
        [("no", None)].into_iter().chain(joints).collect()
    }
}

words! {
    /// Which way splice lines may run.
    pub enum SpliceLines {
        /// Along the warp.
        Along = "along",
        /// Across the warp.
        Across = "across",
        /// Whichever takes less cloth.
        Either = "either",
    }
}

/// What the job says of splices in a ply.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct SpliceRule {
    /// The joint; none if the ply may not be divided. Never assumed: some structures want laps,
    /// others forbid them.
    pub joint: Option<JointKind>,
    /// Which way the lines may run; none if the job does not say. Then they run along the fibres
    /// of a unidirectional and either way in other cloths.
    pub lines: Option<SpliceLines>,
    /// How far one piece lies on the other in a lap joint.
    pub lap: Length,
    /// Least clear distance between the joints of neighbouring plies.
    pub stagger: Length,
}

const PLACE: LengthRule = LengthRule::any("corner of the box")
    .likely(-100_000.0..=100_000.0)
    .most(1_000_000.0);
const BOX_SIDE: LengthRule = LengthRule::positive("side of the box")
    .help("`x` and `y` are its lower left corner on the drawing")
    .likely(1.0..=100_000.0)
    .most(1_000_000.0);

keys! {
    /// What `[[part.keep_out_box]]` says.
    KeepOutBoxKeys: "a keep-out box", "[[part.keep_out_box]]", "A box on the drawing in which no splice may lie.";
    x: Length = PLACE, Required, "100 mm", "its lower left corner";
    y: Length = PLACE, Required, "100 mm", "its lower left corner";
    width: Length = BOX_SIDE, Required, "100 mm", "along x";
    height: Length = BOX_SIDE, Required, "100 mm", "along y";
}

/// Reads the boxes of a part in which no splice may lie, in the frame of the drawing.
pub(super) fn read_keep_out(reader: &mut JobReader, boxes: Vec<JobTable<'_>>) -> Vec<Bounds> {
    let read = boxes.into_iter().filter_map(|table| {
        let keys = KeepOutBoxKeys::read(reader, Some(&table));
        let min = Point::new(keys.x.value?.to_mm(), keys.y.value?.to_mm());
        let (width, height) = (keys.width.value?.to_mm(), keys.height.value?.to_mm());
        let max = Point::new(min.x + width, min.y + height);
        Some(Bounds { min, max })
    });
    read.collect()
}
