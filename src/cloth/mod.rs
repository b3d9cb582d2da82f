//! Cloth as it comes on a roll: weaves and the turns they permit, roll sizes, purchase.

mod layers;
mod look;
mod purchase;
mod remnant;
mod supply;
mod weave;

pub use layers::BiaxialLayers;
pub use look::{Look, PatternRepeat, line_under};
pub use purchase::Purchase;
pub(crate) use remnant::LONGEST_MM;
pub use remnant::{
    RemnantError, RemnantFlawRecord, RemnantRecord, SelvedgesRecord, is_remnant_file, read_remnant,
    remnant_file, usable_rectangle,
};
pub use supply::{Flaw, LEAST_REMNANT, Offer, Selvedges, Stock, Supply};
pub use weave::{Faces, Rotation, Weave, WeaveTurns};

use crate::geometry::Face;
use crate::units::{Angle, ArealWeight, Length, PricePerLength};

/// A material that comes on a roll, as the job describes it.
#[derive(Clone, Debug, PartialEq)]
pub struct Cloth {
    /// The name the job gives it; unique in the job.
    pub name: String,
    /// How it is made, which decides how pieces may be turned on it.
    pub weave: Weave,
    /// The turns it permits: the weave's own, or what the job says instead.
    pub turns: WeaveTurns,
    /// Share of its fibre that runs along the warp, for a woven cloth; 0.5 where warp and weft are alike.
    pub warp_share: f64,
    /// How far it can be sheared before it wrinkles, if known.
    pub lock: Option<Angle>,
    /// The same where a stitched biaxial is pulled across the roll, if that differs; then `lock` is for pulling along it.
    pub lock_across: Option<Angle>,
    /// Mass per area of the dry cloth.
    pub areal_weight: ArealWeight,
    /// Width of the tape that holds its edges along warp and weft before they are cut; `None` if they do not
    /// ravel.
    pub edge_tape: Option<Length>,
    /// Which of its faces shows mostly warp, for a satin, as it comes off the roll; `None` if the job does not
    /// say.
    pub warp_face: Option<Face>,
    /// What is seen of it.
    pub look: Look,
    /// Whether its fibres are carbon, if the job says what they are.
    pub is_carbon: Option<bool>,
    /// Width from selvedge to selvedge.
    pub roll_width: Length,
    /// Strip along each selvedge that is not used.
    pub selvedge: Length,
    /// Strip at each end of the used length that is not used.
    pub end_margin: Length,
    /// Least distance between the cut lines of two pieces.
    pub gap: Length,
    /// Price by running length, if known.
    pub price: Option<PricePerLength>,
    /// Lower prices for longer lengths, by the length from which they hold.
    pub price_breaks: Vec<PriceBreak>,
    /// The cloth is sold in multiples of this length (zero: any length).
    pub sold_by: Length,
    /// The shortest length that is sold (zero: none).
    pub least_sold: Length,
    /// Extra length bought for mishaps, as a fraction of the used length (0.05 is 5 %).
    pub spare: f64,
    /// What is on hand, what else is offered, and where the bought roll is flawed.
    pub supply: Supply,
}

impl Cloth {
    /// Whether it is woven with more fibre one way than the other.
    #[must_use]
    pub fn is_uneven(&self) -> bool {
        self.warp_share != 0.5
    }

    /// How far it can be sheared before it wrinkles, degrees: where the angle from its first fibres to its second closes,
    /// and where it opens. Endless where that is not known.
    #[must_use]
    pub fn locks(&self) -> [f64; 2] {
        let degrees = |lock: Option<Angle>| lock.map_or(f64::INFINITY, Angle::to_degrees);
        // The first fibres of a biaxial run at +45° to the roll: they close where it is pulled across the roll.
        let across = self.lock_across.filter(|_| self.weave == Weave::Biaxial);
        [degrees(across.or(self.lock)), degrees(self.lock)]
    }

    /// The rotation (degrees) after which its fibres run as before, as much of them each way; `None`
    /// without a direction.
    #[must_use]
    pub fn repeats_after(&self) -> Option<f64> {
        let repeat = self.weave.fibres_repeat_after()?;
        Some(if self.is_uneven() { 180.0 } else { repeat })
    }
}

/// A price by running length that holds for the whole length bought, from some length on.
#[derive(Clone, Debug, PartialEq)]
pub struct PriceBreak {
    /// The shortest length that is sold at this price.
    pub from: Length,
    /// The price; in the currency of the cloth's own.
    pub price: PricePerLength,
}

impl Cloth {
    /// Lowest and highest y of the usable width in the roll frame, mm.
    #[must_use]
    pub fn usable_y(&self) -> (f64, f64) {
        let selvedge = self.selvedge.to_mm();
        (selvedge, self.roll_width.to_mm() - selvedge)
    }

    /// This cloth as the shop offers it in `offer`.
    #[must_use]
    pub fn offered(&self, offer: &Offer) -> Self {
        Self {
            roll_width: offer.roll_width,
            price: offer.price.clone(),
            price_breaks: offer.price_breaks.clone(),
            sold_by: offer.sold_by,
            least_sold: offer.least_sold,
            ..self.clone()
        }
    }

    /// Every way the cloth can be bought: as the job first describes it, then as in its offers.
    pub fn ways_to_buy(&self) -> impl Iterator<Item = Self> + '_ {
        let offers = self.supply.offers.iter().map(|offer| self.offered(offer));
        std::iter::once(self.clone()).chain(offers)
    }

    /// The cloth bought in the way with this index in [`Cloth::ways_to_buy`].
    pub(crate) fn bought(&self, way: usize) -> Option<Self> {
        self.ways_to_buy().nth(way)
    }

    /// How long a piece may be that lies on the cutting table, whose end keeps the end margin; `None`
    /// where no table ends.
    #[must_use]
    pub fn usable_table(&self) -> Option<Length> {
        Some(self.supply.table? - self.end_margin)
    }

    /// Usable width between the selvedge strips.
    #[must_use]
    pub fn usable_width(&self) -> Length {
        self.roll_width - self.selvedge * 2.0
    }
}
