//! The paper that templates are printed on, and what of it shows them.

use crate::geometry::Vector;
use crate::job::Paper;
use crate::output::drawing::label::SEPARATOR;
use crate::plan::Plan;

/// Height of the strip below the pattern with the sheet's name and a scale, mm.
const FOOT: f64 = 13.0;
/// A page of a paper roll is at most this long, mm: PDF allows 5080.
const LONGEST: f64 = 4000.0;

/// The paper and how it is divided.
pub(super) struct PatternPaper {
    pub(super) name: String,
    pub(super) width: f64,
    /// None for a roll, whose pages are as long as what is on them.
    height: Option<f64>,
    pub(super) margin: f64,
    pub(super) tile: Tile,
    /// Number, revision and date of the job, for the foot of each sheet.
    pub(super) marks: String,
}

impl PatternPaper {
    pub(super) fn of(paper: Paper, plan: &Plan) -> Self {
        let outputs = plan.outputs();
        let (width, height) = paper.size();
        let margin = outputs.paper_margin.to_mm();
        Self {
            name: paper.name(),
            width,
            height,
            margin,
            marks: plan.marks().in_words().join(SEPARATOR),
            tile: Tile {
                width: width - 2.0 * margin,
                height: height.unwrap_or(LONGEST) - 2.0 * margin - FOOT,
                overlap: outputs.paper_overlap.to_mm(),
            },
        }
    }

    /// Height of a page on which the pattern is `used` mm high.
    pub(super) fn height(&self, used: f64) -> f64 {
        self.height.unwrap_or(used + 2.0 * self.margin + FOOT)
    }

    /// Lower left corner of the pattern on the page.
    pub(super) fn corner(&self) -> Vector {
        Vector::new(self.margin, self.margin + FOOT)
    }
}

/// The part of a page that shows the pattern, and how neighbours overlap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Tile {
    /// Width and height in mm.
    pub(super) width: f64,
    pub(super) height: f64,
    /// How far neighbours overlap, mm.
    pub(super) overlap: f64,
}

impl Tile {
    /// From one sheet's corner to the next one's.
    pub(super) fn step(&self) -> (f64, f64) {
        (self.width - self.overlap, self.height - self.overlap)
    }

    /// Sheets needed for an extent of `mm`, of which each shows `size`.
    pub(super) fn count(&self, mm: f64, size: f64) -> usize {
        /// A hair over is rounding, not another sheet.
        const HAIR_MM: f64 = 1e-6;
        let more = (mm - size - HAIR_MM).max(0.0) / (size - self.overlap);
        1 + more.ceil() as usize
    }
}
