//! Whether and how a ply that is larger than its cloth may be divided.

use super::reader::Reader;
use super::table::Table;
use crate::geometry::{Bounds, Point};
use crate::units::Length;

/// How the pieces of a divided ply are joined.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JointKind {
    /// One lies on the other.
    Lap,
    /// Edge against edge.
    Butt,
}

impl JointKind {
    /// The word for it in a job file and in `plan.json`.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Lap => "lap",
            Self::Butt => "butt",
        }
    }
}

/// Which way splice lines may run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum SpliceLines {
    /// Along the warp.
    Along,
    /// Across the warp.
    Across,
    /// Whichever takes less cloth.
    Either,
}

/// What the job says of splices in a ply.
#[derive(Clone, Copy, Debug, PartialEq)]
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

impl Default for SpliceRule {
    /// No splices; a lap and a stagger of 25 mm where they are permitted (common practice for wet
    /// fabric is a lap of 13 to 25 mm, no source; MIL-HDBK-17-3F rule A-31 wants 15 mm at least
    /// between butts).
    fn default() -> Self {
        Self {
            joint: None,
            lines: None,
            lap: Length::mm(25.0),
            stagger: Length::mm(25.0),
        }
    }
}

impl SpliceRule {
    /// What is in force where `table` is read inside something that has `self` in force.
    pub(super) fn overridden_by(self, reader: &mut Reader, table: &Table<'_>) -> Self {
        let mut rule = self;
        let joints = [
            ("no", None),
            ("lap", Some(JointKind::Lap)),
            ("butt", Some(JointKind::Butt)),
        ];
        if let Some(joint) = table.choice(reader, "splice", &joints) {
            rule.joint = joint.value;
        }
        let lines = [
            ("along", SpliceLines::Along),
            ("across", SpliceLines::Across),
            ("either", SpliceLines::Either),
        ];
        if let Some(lines) = table.choice(reader, "splice_lines", &lines) {
            rule.lines = Some(lines.value);
        }
        if let Some(lap) = table.length(reader, "lap") {
            rule.lap = lap.value;
        }
        if let Some(stagger) = table.length(reader, "stagger") {
            rule.stagger = stagger.value;
        }
        rule
    }
}

/// Reads the boxes of a part in which no splice may lie, in the frame of the drawing.
pub(super) fn read_keep_out(reader: &mut Reader, part: &Table<'_>) -> Vec<Bounds> {
    const KEY: &str = "keep_out_box";
    let mut boxes = Vec::new();
    for table in part.listed_tables(reader, KEY, "part.keep_out_box") {
        let keys = ["x", "y", "width", "height"];
        table.check_keys(reader);
        for key in keys {
            table.require(reader, key);
        }
        let x = table.length(reader, "x");
        let y = table.length(reader, "y");
        let width = table.length(reader, "width");
        let height = table.length(reader, "height");
        if let (Some(x), Some(y), Some(width), Some(height)) = (x, y, width, height) {
            let min = Point::new(x.value.to_mm(), y.value.to_mm());
            let max = Point::new(min.x + width.value.to_mm(), min.y + height.value.to_mm());
            boxes.push(Bounds { min, max });
        }
    }
    boxes
}
