//! One list of everything to buy: amount, how it is sold, what is on hand, price.

use crate::job::{Core, Packs};
use crate::plan::{PlacedPiece, Plan};
use crate::ply::{EdgeTape, Piece};
use crate::units::{Area, Length, Mass, Money, Price, Volume};

/// An amount of something.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Amount {
    /// Running length.
    Length(Length),
    /// Mass.
    Mass(Mass),
    /// Volume.
    Volume(Volume),
    /// Area of a sheet.
    Area(Area),
}

/// What a line of the list is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ItemKind {
    /// Reinforcement.
    Cloth,
    /// Sheet for cores and inserts.
    Core,
    /// Mixed gel coat, both parts, where it is a resin of its own.
    GelCoat,
    /// Mixed resin, both parts.
    Resin,
    /// A layer of the bag stack.
    BagLayer,
    /// Sealant tape.
    SealantTape,
    /// Release wax.
    Wax,
    /// Release film of PVA.
    Pva,
    /// Tape for the edges of cloth that frays.
    EdgeTape,
}

/// One line of the shopping list.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct ShoppingItem {
    /// What it is.
    pub kind: ItemKind,
    /// What it is called.
    pub name: String,
    /// Width of the roll it comes on, if it comes on one.
    pub roll_width: Option<Length>,
    /// What the order takes, spare included.
    pub needed: Amount,
    /// What is there already.
    pub on_hand: Amount,
    /// What to buy.
    pub buy: Amount,
    /// How many packs or rolls that is, and what is in one; `None` for what is sold by length, or
    /// where it is not known how it is sold.
    pub packs: Option<(u64, Amount)>,
    /// What that costs, if the price is known.
    pub cost: Option<Money>,
    /// Currency of the cost.
    pub currency: String,
}

/// What a job among several takes beside cloth, with its title.
fn beside_cloth(plan: &Plan) -> impl Iterator<Item = ShoppingItem> {
    let items = plan.shopping().into_iter();
    items
        .filter(|item| item.kind != ItemKind::Cloth)
        .map(|item| ShoppingItem {
            name: format!("{} ({})", item.name, plan.title()),
            ..item
        })
}

impl Plan {
    /// What is cut of a cloth: from stock on hand, and what is bought for the rest.
    fn cloth(&self, used: &crate::plan::ClothUse) -> ShoppingItem {
        let from_stock = (self.layouts.iter())
            .filter(|layout| layout.cloth.name == used.cloth.name && layout.stock.is_some())
            .fold(Length::ZERO, |sum, layout| sum + layout.used_length);
        let currency = used.cloth.price.as_ref().map(|p| p.currency.clone());
        ShoppingItem {
            kind: ItemKind::Cloth,
            name: used.cloth.name.clone(),
            roll_width: Some(used.cloth.roll_width),
            needed: Amount::Length(used.purchase.used * (1.0 + used.cloth.spare) + from_stock),
            on_hand: Amount::Length(from_stock),
            buy: Amount::Length(used.purchase.length),
            packs: None,
            cost: used.purchase.cost,
            currency: currency.unwrap_or_default(),
        }
    }

    /// Everything to buy, in the order in which the work needs it: cloth, mould, resin, bag.
    #[must_use]
    pub fn shopping(&self) -> Vec<ShoppingItem> {
        let mut items: Vec<ShoppingItem> =
            self.cloths.iter().map(|used| self.cloth(used)).collect();
        if !self.jobs.is_empty() {
            items.extend(self.jobs.iter().flat_map(|job| beside_cloth(job.plan())));
            return items;
        }
        items.extend(self.core_sheets());
        let edges = self.edge_tape();
        if edges > Length::ZERO {
            items.push(ShoppingItem {
                kind: ItemKind::EdgeTape,
                name: "masking tape for edges that fray".to_owned(),
                roll_width: None,
                needed: Amount::Length(edges),
                on_hand: Amount::Length(Length::ZERO),
                buy: Amount::Length(edges),
                packs: None,
                cost: None,
                currency: String::new(),
            });
        }
        if let Some(mould) = &self.work.mould {
            let setup = &mould.setup;
            let wax = mould.wax.to_grams();
            items.push(packed(
                (ItemKind::Wax, "release wax"),
                (wax, setup.wax_supply.as_ref()),
                |grams| Amount::Mass(Mass::grams(grams)),
                Mass::to_grams,
            ));
            if let Some(pva) = mould.pva {
                items.push(packed(
                    (ItemKind::Pva, "PVA release film"),
                    (pva.to_litres(), setup.pva_supply.as_ref()),
                    |litres| Amount::Volume(Volume::litres(litres)),
                    Volume::to_litres,
                ));
            }
        }
        let coat = self.work.coat.as_ref();
        let (own, wet) = match coat {
            Some(coat) if coat.setup.is_own => (Some(coat), Mass::ZERO),
            coat => (None, coat.map_or(Mass::ZERO, |coat| coat.mixed)),
        };
        items.extend(own.map(|coat| {
            packed(
                (ItemKind::GelCoat, &coat.setup.name),
                (coat.mixed.to_grams(), coat.setup.supply.as_ref()),
                |grams| Amount::Mass(Mass::grams(grams)),
                Mass::to_grams,
            )
        }));
        if let Some(resin) = &self.work.resin {
            let mixed = (resin.order.mixed() + wet).to_grams();
            items.push(packed(
                (ItemKind::Resin, &resin.system.name),
                (mixed, resin.system.supply.as_ref()),
                |grams| Amount::Mass(Mass::grams(grams)),
                Mass::to_grams,
            ));
        }
        if let Some(bags) = &self.work.bagging {
            items.extend(bags.rolls.iter().map(|roll| {
                let price = roll.layer.roll.price.as_ref();
                ShoppingItem {
                    kind: ItemKind::BagLayer,
                    name: roll.layer.roll.name.clone(),
                    roll_width: Some(roll.layer.roll.roll_width),
                    needed: Amount::Length(roll.purchase.used * (1.0 + roll.layer.roll.spare)),
                    on_hand: Amount::Length(roll.layer.on_hand),
                    buy: Amount::Length(roll.purchase.length),
                    packs: None,
                    cost: roll.purchase.cost,
                    currency: price.map_or_else(String::new, |p| p.currency.clone()),
                }
            }));
            items.push(packed(
                (ItemKind::SealantTape, "sealant tape"),
                (bags.tape.to_mm(), Some(&bags.setup.tape)),
                |mm| Amount::Length(Length::mm(mm)),
                Length::to_mm,
            ));
        }
        items
    }

    /// What is needed of each sheet for cores, in the order of the parts.
    fn core_sheets(&self) -> Vec<ShoppingItem> {
        let mut sheets: Vec<(&Core, Area)> = Vec::new();
        for part in &self.parts {
            for of in &part.cores {
                let needed = Area::mm2(of.area().to_mm2() * f64::from(part.sets));
                let (core, name) = (of.core(), &of.core().name);
                match (sheets.iter_mut()).find(|(c, _)| c.is_like(core) && c.name == *name) {
                    Some((_, area)) => *area = *area + needed,
                    None => sheets.push((core, needed)),
                }
            }
        }
        let item = |(core, area): (&Core, Area)| {
            let name = format!("{} {}", core.name, core.thickness.in_mm_and_inches());
            packed(
                (ItemKind::Core, &name),
                (area.to_mm2(), core.supply.as_ref()),
                |mm2| Amount::Area(Area::mm2(mm2)),
                Area::to_mm2,
            )
        };
        sheets.into_iter().map(item).collect()
    }

    /// Tape for all cut edges that fray and have room for it.
    #[must_use]
    pub fn edge_tape(&self) -> Length {
        let pieces = self.layouts.iter().flat_map(|layout| &layout.pieces);
        pieces.map(PlacedPiece::taped_edge).sum()
    }
}

impl PlacedPiece {
    /// Length of the tape that holds its edges while it is cut.
    #[must_use]
    pub fn taped_edge(&self) -> Length {
        let taped = self
            .piece()
            .filter(|piece| matches!(piece.edge_tape(), EdgeTape::Centred | EdgeTape::BesideNet));
        taped.map_or(Length::ZERO, Piece::ravelling_edge)
    }

    /// Length of its cut line, openings included.
    #[must_use]
    pub fn edge(&self) -> Length {
        Length::mm(self.cut.perimeter())
    }
}

/// A need that exceeds what is there by less than this share of a pack does not cost another.
const ROUNDING: f64 = 1e-9;

/// Something that comes in packs, or of which only the amount is known.
fn packed<T: Copy>(
    (kind, name): (ItemKind, &str),
    (needed, supply): (f64, Option<&Packs<T>>),
    amount: impl Fn(f64) -> Amount,
    size: impl Fn(T) -> f64,
) -> ShoppingItem {
    let on_hand = supply.map_or(0.0, |supply| size(supply.on_hand));
    let missing = (needed - on_hand).max(0.0);
    let packs = supply.map(|supply| {
        let n = (missing / size(supply.pack) - ROUNDING).ceil().max(0.0);
        (n as u64, size(supply.pack))
    });
    let price: Option<&Price> = supply.and_then(|supply| supply.price.as_ref());
    ShoppingItem {
        kind,
        name: name.to_owned(),
        roll_width: None,
        needed: amount(needed),
        on_hand: amount(on_hand),
        buy: amount(packs.map_or(missing, |(n, pack)| n as f64 * pack)),
        packs: packs.map(|(n, pack)| (n, amount(pack))),
        cost: price
            .zip(packs)
            .map(|(price, (n, _))| price.amount.share(n as f64)),
        currency: price.map_or_else(String::new, |p| p.currency.clone()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tape(needed_m: f64, on_hand_m: f64) -> ShoppingItem {
        let supply = Packs {
            pack: Length::metres(7.5),
            price: "9.50 USD".parse().ok(),
            on_hand: Length::metres(on_hand_m),
        };
        packed(
            (ItemKind::SealantTape, "tape"),
            (needed_m * 1000.0, Some(&supply)),
            |mm| Amount::Length(Length::mm(mm)),
            Length::to_mm,
        )
    }

    #[test]
    fn whole_packs_are_bought_for_what_is_not_there() {
        let bought =
            |item: &ShoppingItem| (item.packs.map(|p| p.0), item.cost.map(Money::to_cents));
        assert_eq!(bought(&tape(15.0, 0.0)), (Some(2), Some(1900)));
        assert_eq!(bought(&tape(15.1, 0.0)), (Some(3), Some(2850)));
        assert_eq!(bought(&tape(15.1, 1.0)), (Some(2), Some(1900)));
        assert_eq!(bought(&tape(3.0, 7.5)), (Some(0), Some(0)));
    }
}
