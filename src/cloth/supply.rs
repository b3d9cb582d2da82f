//! Where the cloth comes from: what is on hand, what the shop offers, and where it is flawed.

use super::PriceBreak;
use crate::geometry::{Bounds, Outline, Point};
use crate::units::{Length, PricePerLength};

/// Where the cloth of a job comes from and how it is laid on the table.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply {
    /// What is on hand, in the order in which it is used.
    pub stock: Vec<Stock>,
    /// Flawed areas on the roll that is bought, in its roll frame.
    pub flaws: Vec<Flaw>,
    /// Other rolls of the same cloth that the shop offers.
    pub offers: Vec<Offer>,
    /// Length of the cutting table; pieces never lie across the end of the table.
    pub table: Option<Length>,
    /// What is left is kept as stock if a rectangle in it has sides at least this long.
    pub least_remnant: Length,
    /// The number from which remnants that are left are named: on a shelf that is kept, the first that
    /// no label has.
    pub first_remnant: u32,
}

/// Sides of the largest rectangle of a remnant that is worth a place on the shelf, unless the job
/// says otherwise (common practice, no source).
pub const LEAST_REMNANT: Length = Length::mm(150.0);

impl Default for Supply {
    /// Nothing on hand, one roll on offer, no flaws and no table's end.
    fn default() -> Self {
        Self {
            stock: Vec::new(),
            flaws: Vec::new(),
            offers: Vec::new(),
            table: None,
            least_remnant: LEAST_REMNANT,
            first_remnant: 1,
        }
    }
}

/// A roll or remnant on hand.
#[derive(Clone, Debug, PartialEq)]
pub struct Stock {
    /// What it is called; unique among the stock of its cloth.
    pub name: String,
    /// Its outline in its roll frame: x along the warp, the corner of its box at the origin.
    pub outline: Outline,
    /// Which of its edges along the warp are selvedges.
    pub selvedges: Selvedges,
    /// Strip along its other edges that is not used.
    pub margin: Length,
    /// Its flawed areas.
    pub flaws: Vec<Flaw>,
    /// The maker's lot, if it is known.
    pub lot: Option<String>,
    /// Whether it is on the shelf that is kept, where names are given once.
    pub is_on_shelf: bool,
}

/// Whether the lowest and the highest edge of a remnant are selvedges.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Selvedges {
    /// Along y = 0.
    pub low: bool,
    /// Along the highest y.
    pub high: bool,
}

impl Selvedges {
    /// Both edges, as of a whole roll.
    pub const BOTH: Self = Self {
        low: true,
        high: true,
    };
}

/// An area that no piece may cover: a stain, a broken yarn, a seam.
#[derive(Clone, Debug, PartialEq)]
pub struct Flaw {
    /// Its outline in the roll frame; it may reach beyond the cloth.
    pub area: Outline,
    /// Least distance of a cut line from it.
    pub margin: Length,
}

/// Another roll of the same cloth that a shop offers.
#[derive(Clone, Debug, PartialEq)]
pub struct Offer {
    /// Width from selvedge to selvedge.
    pub roll_width: Length,
    /// Price by running length, if known.
    pub price: Option<PricePerLength>,
    /// Lower prices for longer lengths.
    pub price_breaks: Vec<PriceBreak>,
    /// It is sold in multiples of this length (zero: any length).
    pub sold_by: Length,
    /// The shortest length that is sold (zero: none).
    pub least_sold: Length,
}

impl Stock {
    /// Whether it is a rectangle along the axes.
    #[must_use]
    pub fn is_rectangle(&self) -> bool {
        self.outline.openings.is_empty() && is_box(self.outline.outer.points())
    }

    /// Its extent along the warp, mm.
    #[must_use]
    pub fn length(&self) -> f64 {
        self.outline.bounds().width()
    }

    /// Its extent across the warp, mm.
    #[must_use]
    pub fn width(&self) -> f64 {
        self.outline.bounds().height()
    }

    /// Lowest and highest usable y, mm, where a selvedge takes a strip of `selvedge`.
    #[must_use]
    pub fn usable_y(&self, selvedge: Length) -> (f64, f64) {
        let strip = |is_selvedge| if is_selvedge { selvedge } else { self.margin }.to_mm();
        (
            strip(self.selvedges.low),
            self.width() - strip(self.selvedges.high),
        )
    }
}

/// Whether four corners are those of a box along the axes.
fn is_box(points: &[Point]) -> bool {
    let Some(Bounds { min, max }) = Bounds::of(points.iter().copied()) else {
        return false;
    };
    points.len() == 4
        && points
            .iter()
            .all(|p| (p.x == min.x || p.x == max.x) && (p.y == min.y || p.y == max.y))
}
