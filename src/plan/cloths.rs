//! What the plan says of each cloth: what is used, bought, wasted and left.

use std::sync::Arc;

use super::ForPattern;
use crate::cloth::{Cloth, PriceBreak, Purchase, Stock};
use crate::geometry::{Bounds, Vector};
use crate::units::{Area, Length, Mass, Money, PricePerLength};

/// What the plan uses of one cloth.
#[derive(Clone, Debug)]
pub struct ClothUse {
    /// The cloth.
    pub cloth: Arc<Cloth>,
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
    /// Area of the stock on hand that is cut.
    pub stock_area: Area,
    /// Area of what is left of all rolls and goes on the shelf.
    pub kept_area: Area,
    /// What it takes that lines run on.
    pub for_pattern: ForPattern,
    /// Where the cloth goes that is in no net piece and is not kept.
    pub waste: Waste,
    /// Every roll the cloth is offered on, where there are several.
    pub alternatives: Vec<Alternative>,
}

/// A roll that a cloth is offered on, with what the job would need of it.
#[derive(Clone, Debug, PartialEq)]
pub struct Alternative {
    /// Width from selvedge to selvedge.
    pub roll_width: Length,
    /// Price by running length, if known.
    pub price: Option<PricePerLength>,
    /// Lower prices for longer lengths.
    pub price_breaks: Vec<PriceBreak>,
    /// It is sold in multiples of this length (zero: any length).
    pub sold_by: Length,
    /// What to buy of it where everything is planned for it, splices too; or which piece does not fit.
    pub purchase: Result<Purchase, String>,
    /// Whether it is the one that the plan takes.
    pub is_chosen: bool,
}

/// What to buy, and the cost, for some number of sets.
#[derive(Clone, Debug, PartialEq)]
pub struct SetCost {
    /// How many sets.
    pub sets: u32,
    /// Whether that is how many the job makes.
    pub is_this_job: bool,
    /// Length to buy of each cloth, by its name.
    pub bought: Vec<(String, Length)>,
    /// Area to buy of all cloths.
    pub area: Area,
    /// Cost of all sets, if all prices are known and in one currency.
    pub cost: Option<Money>,
}

/// Stock on the shelf after the job.
#[derive(Clone, Debug, PartialEq)]
pub struct StockLeft {
    /// Name of the cloth.
    pub cloth: String,
    /// Name of the roll it was cut from; `None` if it was not touched.
    pub from: Option<String>,
    /// From its own frame to that of the roll it comes from, mm.
    pub shift: Vector,
    /// The stock, in its own roll frame. Its name names its file.
    pub stock: Stock,
    /// The largest usable rectangle in it, in its own roll frame.
    pub rectangle: Bounds,
}

/// Cloth bought or taken from stock that ends up in no part and not on the shelf.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Waste {
    /// The strips along both selvedges, over the used length.
    pub selvedge: Area,
    /// Usable width × used length not inside any cut line.
    pub between: Area,
    /// Inside the cut lines, outside the net lines.
    pub trim: Area,
    /// Beyond the used length, where it is too small to keep.
    pub end: Area,
}

impl Waste {
    /// All of it.
    #[must_use]
    pub fn total(&self) -> Area {
        self.selvedge + self.between + self.trim + self.end
    }
}

impl std::ops::Add for Waste {
    type Output = Self;
    fn add(self, other: Self) -> Self {
        Self {
            selvedge: self.selvedge + other.selvedge,
            between: self.between + other.between,
            trim: self.trim + other.trim,
            end: self.end + other.end,
        }
    }
}

impl ClothUse {
    /// Area bought: roll width × length bought.
    #[must_use]
    pub fn bought_area(&self) -> Area {
        self.cloth.roll_width * self.purchase.length
    }

    /// All cloth that the job takes: what is bought, and the stock that is cut.
    #[must_use]
    pub fn cloth_in(&self) -> Area {
        self.bought_area() + self.stock_area
    }

    /// Mass of `area` of this cloth, dry.
    #[must_use]
    pub fn mass_of(&self, area: Area) -> Mass {
        self.cloth.areal_weight * area
    }

    /// The share of `area` in what the job pays for this cloth, if the price is known; stock on
    /// hand costs nothing.
    #[must_use]
    pub fn cost_of(&self, area: Area) -> Option<Money> {
        let all = self.cloth_in().to_mm2();
        self.purchase
            .cost
            .filter(|_| all > 0.0)
            .map(|cost| cost.share(area.to_mm2() / all))
    }
}
