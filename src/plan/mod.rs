//! The checked result that every output reads.

mod build;
mod label;
mod order;
mod recheck;
mod tour;

pub use build::{Observer, Settings, Step, build};
pub use order::{Cut, CutFrame, CutOrder, Travel, ordered};
pub use recheck::recheck;
pub use tour::{Visit, tour, way_length};

use crate::cloth::{Cloth, Purchase};
use crate::diag::Diagnostics;
use crate::geometry::{Outline, Point};
use crate::job::Outputs;
use crate::ply::Mark;
use crate::units::{Angle, Area, ArealWeight, Length, Mass, Money};

/// A whole plan: all layouts plus what follows from them.
///
/// Everything in it is in the order in which it is written out.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Title of the job.
    pub title: String,
    /// Seed of the search.
    pub seed: u64,
    /// Effort as the user named it, for example `normal` or `60s`.
    pub effort: String,
    /// One entry per cloth of the job that has pieces, in the order of the job file.
    pub cloths: Vec<ClothUse>,
    /// One entry per roll that is cut, cloth by cloth.
    pub layouts: Vec<Layout>,
    /// One entry per part, in the order of the job file.
    pub parts: Vec<PartUse>,
    /// Which files are wanted, and how.
    pub outputs: Outputs,
    /// Warnings and notes that came up on the way.
    pub remarks: Diagnostics,
}

/// What the plan uses of one cloth.
#[derive(Clone, Debug)]
pub struct ClothUse {
    /// The cloth.
    pub cloth: Cloth,
    /// Number of pieces cut from it.
    pub n_pieces: usize,
    /// Used and bought length and the cost.
    pub purchase: Purchase,
    /// Σ cut area.
    pub cut_area: Area,
    /// Σ net area.
    pub net_area: Area,
    /// Σ cut area / (roll width × used length), 0 … 1.
    pub utilisation: f64,
    /// Where the bought cloth that is in no net piece goes.
    pub waste: Waste,
}

/// Cloth bought that ends up in no part.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Waste {
    /// The strips along both selvedges, over the used length.
    pub selvedge: Area,
    /// Usable width × used length not inside any cut line.
    pub between: Area,
    /// Inside the cut lines, outside the net lines.
    pub trim: Area,
    /// Bought beyond the used length.
    pub end: Area,
}

impl Waste {
    /// All of it.
    #[must_use]
    pub fn total(&self) -> Area {
        self.selvedge + self.between + self.trim + self.end
    }
}

impl ClothUse {
    /// Area bought: roll width × length bought.
    #[must_use]
    pub fn bought_area(&self) -> Area {
        self.cloth.roll_width * self.purchase.length
    }

    /// Mass of `area` of this cloth, dry.
    #[must_use]
    pub fn mass_of(&self, area: Area) -> Mass {
        self.cloth.areal_weight * area
    }

    /// What `area` of the bought cloth cost, if the price is known.
    #[must_use]
    pub fn cost_of(&self, area: Area) -> Option<Money> {
        let bought = self.bought_area().to_mm2();
        self.purchase
            .cost
            .filter(|_| bought > 0.0)
            .map(|cost| cost.share(area.to_mm2() / bought))
    }
}

/// The pieces cut from one roll.
#[derive(Clone, Debug)]
pub struct Layout {
    /// Name of the cloth.
    pub cloth: String,
    /// Name of the roll, for example `twill-1`; names the cut files.
    pub roll: String,
    /// Width of the roll.
    pub roll_width: Length,
    /// Lowest and highest usable y in the roll frame, mm.
    pub usable_y: (f64, f64),
    /// Unused strip at each end of the used length.
    pub end_margin: Length,
    /// Least distance between two cut lines.
    pub gap: Length,
    /// Length of roll used, from x = 0, end margins included.
    pub used_length: Length,
    /// Σ cut area / (roll width × used length), 0 … 1.
    pub utilisation: f64,
    /// The pieces, by their number in the sequence.
    pub pieces: Vec<PlacedPiece>,
    /// In which order they are labelled and cut.
    pub order: CutOrder,
}

/// A piece in its place on the roll. All geometry is in the roll frame: x along the warp.
#[derive(Clone, Debug)]
pub struct PlacedPiece {
    /// `PART-PLY#SET`.
    pub id: String,
    /// Name of the part.
    pub part: String,
    /// Ply number in the part, from 1.
    pub ply: u32,
    /// Set number, from 1.
    pub set: u32,
    /// Number in the cutting sequence of the layout, from 1: the order in which pieces come free.
    pub sequence: usize,
    /// Designed angle of the ply.
    pub angle_design: Angle,
    /// Angle as cut: designed angle plus what the layout used of the tolerance.
    pub angle_cut: Angle,
    /// Whole rotation from the pattern frame (seen from the bag side) to the roll frame, 0 … 360.
    pub turn: Angle,
    /// Whether the cloth faces down when it is cut.
    pub turned_over: bool,
    /// Whether the warp runs neither along nor across the piece's long direction.
    pub on_bias: bool,
    /// Whether the ply will be seen on the finished part.
    pub appearance: bool,
    /// Where the cloth is cut.
    pub cut: Outline,
    /// Where the finished part ends.
    pub net: Outline,
    /// Notches and drill marks.
    pub marks: Vec<Mark>,
    /// Direction of the part's 0° in the roll frame.
    pub zero_direction: Angle,
    /// Designed direction of the warp on the piece, in the frame that `turn` turns it from.
    pub warp_direction: Angle,
    /// Where the label goes.
    pub label: Label,
}

/// A box for the piece's label that lies inside the cut line.
///
/// It holds two lines of text and the warp arrow: the id; then sequence number, angle and marks.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Label {
    /// Middle of the box.
    pub centre: Point,
    /// Extent along the text, mm.
    pub width: f64,
    /// Extent across the text, mm.
    pub height: f64,
    /// 0° for text along x, 90° for text that reads upwards along y.
    pub angle: Angle,
}

/// What the plan says of one part.
#[derive(Clone, Debug)]
pub struct PartUse {
    /// Name.
    pub name: String,
    /// How many are made.
    pub sets: u32,
    /// Its plies, first against the mould.
    pub plies: Vec<PlyUse>,
}

/// What the plan says of one ply.
#[derive(Clone, Debug)]
pub struct PlyUse {
    /// Number in the part, from 1.
    pub n: u32,
    /// Name of the cloth.
    pub cloth: String,
    /// Designed angle.
    pub angle: Angle,
    /// How much its net line was grown (positive) or shrunk against the pattern's outline.
    pub step: Length,
    /// Net area of one ply.
    pub net_area: Area,
    /// Cut area of one ply.
    pub cut_area: Area,
    /// Areal weight of its cloth in g/m².
    pub areal_weight: ArealWeight,
    /// Dry cloth mass inside the net line of one ply.
    pub cloth_mass: Mass,
    /// Whether it will be seen.
    pub appearance: bool,
    /// Whether it lies on the bias.
    pub on_bias: bool,
}
