//! Pieces on their rolls: which roll to buy, where each piece lies, what is left.

pub(super) mod kinds;
pub(super) mod label;
pub(super) mod left;
pub(super) mod offers;
pub(super) mod piece;
pub(super) mod pins;
pub(super) mod rolls;
pub(super) mod run_on;
mod tried;

pub use piece::{Label, PlacedJoint, PlacedPiece, PlacedSplice};
pub use pins::check_pins;
pub use run_on::{ForPattern, RunsOn};
pub use tried::cloth_of_trial;

use std::sync::Arc;

use super::cutting::CutOrder;
use crate::cloth::{Cloth, Flaw, Stock};
use crate::geometry::Outline;
use crate::units::Length;

/// The pieces cut from one roll.
#[derive(Clone, Debug)]
pub struct Layout {
    pub(in crate::plan) cloth: Arc<Cloth>,
    pub(in crate::plan) roll: String,
    /// Index into the cloth's stock.
    pub(in crate::plan) stock: Option<usize>,
    pub(in crate::plan) offer: Option<usize>,
    pub(in crate::plan) whole: Outline,
    pub(in crate::plan) frames: Vec<[f64; 2]>,
    pub(in crate::plan) used_length: Length,
    pub(in crate::plan) pieces: Vec<PlacedPiece>,
    pub(in crate::plan) order: CutOrder,
}

impl Layout {
    /// The cloth, as it is bought.
    #[must_use]
    pub fn cloth(&self) -> &Cloth {
        &self.cloth
    }

    /// Name of the roll, for example `twill-1`; names the cut files.
    #[must_use]
    pub fn roll(&self) -> &str {
        &self.roll
    }

    /// The stock on hand that it is; `None` for the roll that is bought.
    #[must_use]
    pub fn stock(&self) -> Option<&Stock> {
        self.stock.map(|idx| &self.cloth.supply.stock[idx])
    }

    /// Which of the rolls that the cloth is offered on is bought: index into
    /// [`Cloth::ways_to_buy`]. `None` of stock, and where there is but one.
    #[must_use]
    pub fn offer(&self) -> Option<usize> {
        self.offer
    }

    /// The whole of what is cut: the stock's outline, or the length that is bought; roll frame.
    #[must_use]
    pub fn whole(&self) -> &Outline {
        &self.whole
    }

    /// Flawed areas, roll frame.
    #[must_use]
    pub fn flaws(&self) -> &[Flaw] {
        self.stock()
            .map_or(&self.cloth.supply.flaws, |stock| &stock.flaws)
    }

    /// Where the frames on the cutting table begin and end along the warp, mm, in the order in
    /// which they are cut; none if the job gives no table.
    #[must_use]
    pub fn frames(&self) -> &[[f64; 2]] {
        &self.frames
    }

    /// Width of the roll.
    #[must_use]
    pub fn roll_width(&self) -> Length {
        let of_stock = |stock: &Stock| Length::mm(stock.width());
        self.stock().map_or(self.cloth.roll_width, of_stock)
    }

    /// Lowest and highest usable y in the roll frame, mm.
    #[must_use]
    pub fn usable_y(&self) -> (f64, f64) {
        let of_stock = |stock: &Stock| stock.usable_y(self.cloth.selvedge);
        self.stock().map_or_else(|| self.cloth.usable_y(), of_stock)
    }

    /// Unused strip at each end of the used length.
    #[must_use]
    pub fn end_margin(&self) -> Length {
        self.stock()
            .map_or(self.cloth.end_margin, |stock| stock.margin)
    }

    /// Least distance between two cut lines.
    #[must_use]
    pub fn gap(&self) -> Length {
        self.cloth.gap
    }

    /// Length of roll used, from x = 0, end margins included.
    #[must_use]
    pub fn used_length(&self) -> Length {
        self.used_length
    }

    /// Σ cut area / (roll width × used length), 0 … 1.
    #[must_use]
    pub fn utilisation(&self) -> f64 {
        let cut: f64 = self.pieces.iter().map(|piece| piece.cut.area()).sum();
        let roll = (self.roll_width() * self.used_length).to_mm2();
        if roll > 0.0 { cut / roll } else { 0.0 }
    }

    /// The pieces, by their number in the sequence.
    #[must_use]
    pub fn pieces(&self) -> &[PlacedPiece] {
        &self.pieces
    }

    /// In which order they are labelled and cut.
    #[must_use]
    pub fn order(&self) -> &CutOrder {
        &self.order
    }
}

impl Layout {
    /// Length of the drawing: what is used of a bought roll, all of a remnant.
    #[must_use]
    pub fn drawn_length(&self) -> Length {
        match self.stock {
            Some(_) => Length::mm(self.whole.bounds().max.x),
            None => self.used_length,
        }
    }

    /// The number, from 1, of the frame on the table that `piece` lies in.
    #[must_use]
    pub fn frame_of(&self, piece: &PlacedPiece) -> Option<usize> {
        let middle = piece.cut.bounds().centre().x;
        let frame = self.frames.iter().position(|f| middle <= f[1])?;
        Some(frame + 1)
    }
}
