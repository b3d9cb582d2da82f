//! The `[cloth.NAME]` tables.

use super::laminate::Curing;
use super::reader::Reader;
use super::rules::{self, LIKELY_SPARE, MAX_CLOTHS};
use super::stock;
use super::table::Table;
use super::wording::{shown, suggestion};
use super::{Located, StockEntry};
use crate::cloth::{
    Cloth, Faces, LEAST_REMNANT, Offer, PriceBreak, Rotation, Supply, Weave, WeaveTurns,
};
use crate::laminate::Lamina;
use crate::units::{ArealWeight, Length, PricePerLength, read_percent};
use crate::words::Word as _;

/// Strip along each selvedge that is not used unless the job says otherwise: the selvedge itself
/// with its binding threads (common practice, no source).
const SELVEDGE: Length = Length::mm(10.0);

/// Defaults for all cloths, from `[cutting]`.
#[derive(Clone, Copy)]
pub(super) struct Margins {
    pub gap: Length,
    pub end_margin: Length,
    pub table: Option<Length>,
    pub least_remnant: Length,
}

impl Margins {
    /// What is in force where `table` is read inside something that has `self` in force.
    pub(super) fn overridden_by(self, reader: &mut Reader, table: &Table<'_>) -> Self {
        let gap = table.length(reader, "gap");
        let end_margin = table.length(reader, "end_margin");
        let table_length = table.length(reader, "table_length");
        let least_remnant = table.length(reader, "least_remnant");
        Self {
            gap: gap.map_or(self.gap, |gap| gap.value),
            end_margin: end_margin.map_or(self.end_margin, |margin| margin.value),
            table: table_length.map_or(self.table, |length| Some(length.value)),
            least_remnant: least_remnant.map_or(self.least_remnant, |least| least.value),
        }
    }
}

impl Default for Margins {
    /// A gap that a knife can follow on both sides, and room to square off the end of the roll
    /// (common practice, no source).
    fn default() -> Self {
        Self {
            gap: Length::mm(3.0),
            end_margin: Length::mm(10.0),
            table: None,
            least_remnant: LEAST_REMNANT,
        }
    }
}

/// Most other rolls that a cloth can be offered on: each is laid out once for the comparison.
const MAX_OFFERS: usize = 12;

/// A cloth as far as it could be read.
struct Entry {
    name: Located<String>,
    weave: Option<Weave>,
    cloth: Option<Cloth>,
    lamina: Option<Lamina>,
    used: bool,
}

/// The cloths of the job, whole or not, and which of them plies have named.
pub(super) struct Cloths {
    entries: Vec<Entry>,
    /// What is on hand, cloth by cloth.
    shelf: Vec<StockEntry>,
}

impl Cloths {
    /// Reads all `[cloth.NAME]` tables of `job`.
    pub(super) fn read(
        reader: &mut Reader,
        job: &Table<'_>,
        margins: Margins,
        curing: &Curing,
    ) -> Self {
        let mut entries: Vec<Entry> = Vec::new();
        let mut shelf = Vec::new();
        let named = job.named_tables(reader, "cloth");
        if let Some((name, _)) = named.get(MAX_CLOTHS) {
            let help = format!("at most {MAX_CLOTHS} are read; divide the job");
            reader.error(&name.place, "too many cloths", &help);
        }
        for (name, table) in named.into_iter().take(MAX_CLOTHS) {
            super::check_name(reader, "cloth", &name);
            let same = |e: &&Entry| e.name.value.eq_ignore_ascii_case(&name.value);
            if let Some(first) = entries.iter().find(same) {
                let help = format!(
                    "line {} has {}; names that differ only in case would share a cut file",
                    reader.line(&first.name.place),
                    shown(&first.name.value)
                );
                let message = format!("two cloths are called {}", shown(&name.value));
                reader.error(&name.place, message, &help);
            }
            let weave = read_weave(reader, &table);
            let place = (entries.len(), &name.value[..]);
            let cloth = read_cloth(reader, &table, place, weave, margins, &mut shelf);
            let weight = cloth.as_ref().map(|cloth| cloth.areal_weight);
            let lamina = curing.lamina(reader, &table, weave, weight);
            entries.push(Entry {
                weave,
                name,
                cloth,
                lamina,
                used: false,
            });
        }
        let cloths = Self { entries, shelf };
        cloths.warn_of_currencies(reader);
        cloths
    }

    /// Index of the cloth called `name`; complains if there is none.
    pub(super) fn find(&self, reader: &mut Reader, name: &Located<String>) -> Option<usize> {
        let found = self.entries.iter().position(|e| e.name.value == name.value);
        // Where no cloth could be read at all, that has been said.
        if found.is_none() && !self.entries.is_empty() {
            let words: Vec<&str> = self.entries.iter().map(|e| e.name.value.as_str()).collect();
            let help = suggestion(&name.value, &words, "cloths of this job are");
            let message = format!("there is no cloth {}", shown(&name.value));
            reader.error(&name.place, message, &help);
        }
        found
    }

    /// Remembers that a ply is cut from the cloth.
    pub(super) fn mark_used(&mut self, index: usize) {
        self.entries[index].used = true;
    }

    /// The weave of a cloth, if it could be read.
    pub(super) fn weave(&self, index: usize) -> Option<Weave> {
        self.entries[index].weave
    }

    /// A name to show in help texts: that of the first cloth, if there is one.
    pub(super) fn first_name(&self) -> &str {
        self.entries
            .first()
            .map_or("twill", |e| e.name.value.as_str())
    }

    pub(super) fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Warns of cloths that no ply is cut from.
    pub(super) fn warn_of_unused(&self, reader: &mut Reader) {
        for entry in self.entries.iter().filter(|e| !e.used) {
            let message = format!("no ply uses cloth {}", shown(&entry.name.value));
            let help = "it is left out of the plan; name it in a ply, or delete the table";
            reader.warn(&entry.name.place, message, help);
        }
    }

    /// Resin cannot be worked out for a cloth that does not say what its fibre is.
    pub(super) fn warn_of_unknown_resin(&self, reader: &mut Reader) {
        for entry in self.entries.iter().filter(|e| e.used && e.lamina.is_none()) {
            let message = format!(
                "no resin is worked out: cloth {} does not say what its fibre is",
                shown(&entry.name.value)
            );
            let help = "add `fibre = \"carbon\"` (or \"e-glass\", \"aramid\"), or `fibre_density`";
            reader.warn(&entry.name.place, message, help);
        }
    }

    /// Costs in different currencies cannot be added up.
    fn warn_of_currencies(&self, reader: &mut Reader) {
        let mut priced = self.entries.iter().filter_map(|entry| {
            let price = entry.cloth.as_ref()?.price.as_ref()?;
            Some((&entry.name, price.currency.as_str()))
        });
        let Some((_, first)) = priced.next() else {
            return;
        };
        if let Some((name, other)) = priced.find(|(_, currency)| *currency != first) {
            let message = format!("prices are in {} and in {}", shown(first), shown(other));
            let help = "write all prices in one currency, so that costs can be added up";
            reader.warn(&name.place, message, help);
        }
    }

    /// The cloths and what their plies become, only those without an error; and what of them is on
    /// hand.
    pub(super) fn into_cloths(self) -> (Vec<Cloth>, Vec<Option<Lamina>>, Vec<StockEntry>) {
        let whole = |e: Entry| Some((e.cloth?, e.lamina));
        let (cloths, laminae) = self.entries.into_iter().filter_map(whole).unzip();
        (cloths, laminae, self.shelf)
    }
}

fn read_weave(reader: &mut Reader, table: &Table<'_>) -> Option<Weave> {
    table.require(reader, "weave");
    table
        .choice(reader, "weave", Weave::WORDS)
        .map(|weave| weave.value)
}

fn read_cloth(
    reader: &mut Reader,
    table: &Table<'_>,
    (index, name): (usize, &str),
    weave: Option<Weave>,
    margins: Margins,
    shelf: &mut Vec<StockEntry>,
) -> Option<Cloth> {
    table.check_keys(reader);
    table.require(reader, "areal_weight");
    table.require(reader, "roll_width");
    let areal_weight = table
        .quantity::<ArealWeight>(reader, "areal_weight")
        .filter(|weight| rules::check_areal_weight(reader, weight));
    let roll_width = table.length(reader, "roll_width");
    let selvedge = table.length(reader, "selvedge");
    if let Some(width) = &roll_width {
        check_usable_width(reader, width, selvedge.as_ref());
    }
    let margins = margins.overridden_by(reader, table);
    let sold_by = table.length(reader, "sold_by");
    let least_sold = table.length(reader, "least_sold");
    let price = read_price(reader, table);
    let price_breaks = read_breaks(reader, table, name, price.as_ref());
    let spare = read_spare(reader, table);
    let turns = read_turns(reader, table, weave);
    let width = roll_width.as_ref().map(|width| width.value);
    let shop = Shop {
        width,
        selvedge: selvedge
            .as_ref()
            .map_or(SELVEDGE, |selvedge| selvedge.value),
        price: price.as_ref(),
        sold_by: sold_by.as_ref().map_or(Length::ZERO, |length| length.value),
        least_sold: least_sold
            .as_ref()
            .map_or(Length::ZERO, |length| length.value),
    };
    let supply = Supply {
        stock: Vec::new(),
        flaws: stock::read_flaws(reader, table, &format!("cloth.{name}"), width),
        offers: read_offers(reader, table, name, &shop),
        table: margins.table,
        least_remnant: margins.least_remnant,
    };
    shelf.extend(stock::read_stock(
        reader,
        table,
        index,
        name,
        width,
        margins.end_margin,
    ));
    Some(Cloth {
        name: name.to_owned(),
        weave: weave?,
        turns: turns?,
        areal_weight: areal_weight?.value,
        roll_width: roll_width?.value,
        selvedge: selvedge.map_or(SELVEDGE, |selvedge| selvedge.value),
        end_margin: margins.end_margin,
        gap: margins.gap,
        price,
        price_breaks,
        sold_by: sold_by.map_or(Length::ZERO, |length| length.value),
        least_sold: least_sold.map_or(Length::ZERO, |length| length.value),
        spare,
        supply,
    })
}

/// What the cloth itself says of how it is sold, for the offers beside it.
struct Shop<'a> {
    width: Option<Length>,
    selvedge: Length,
    price: Option<&'a PricePerLength>,
    sold_by: Length,
    least_sold: Length,
}

/// The `[[cloth.NAME.offer]]` tables: other rolls of the same cloth.
fn read_offers(reader: &mut Reader, cloth: &Table<'_>, name: &str, shop: &Shop<'_>) -> Vec<Offer> {
    let mut offers = Vec::new();
    let header = format!("cloth.{name}.offer");
    for table in cloth.listed_tables(reader, "offer", &header) {
        table.check_keys(reader);
        let width = table.length(reader, "roll_width");
        if let Some(width) = width.as_ref().filter(|w| shop.selvedge * 2.0 >= w.value) {
            let message = "two selvedge strips leave nothing of a roll that narrow";
            reader.error(
                &width.place,
                message,
                "make `selvedge` smaller, or leave the offer out",
            );
        }
        let price = read_price(reader, &table);
        check_offer_price(reader, cloth, &table, shop.price, price.as_ref());
        let sold_by = table.length(reader, "sold_by");
        let least_sold = table.length(reader, "least_sold");
        let breaks = read_breaks(reader, &table, &format!("{name}.offer"), price.as_ref());
        let Some(roll_width) = width.map(|width| width.value).or(shop.width) else {
            continue;
        };
        offers.push(Offer {
            roll_width,
            price_breaks: breaks,
            sold_by: sold_by.map_or(shop.sold_by, |length| length.value),
            least_sold: least_sold.map_or(shop.least_sold, |length| length.value),
            price,
        });
    }
    if offers.len() > MAX_OFFERS {
        let help = format!("at most {MAX_OFFERS} are compared");
        reader.error(&cloth.header, "the cloth has too many offers", &help);
    }
    offers
}

/// An offer can only be compared with the cloth's own price where both or none are priced.
fn check_offer_price(
    reader: &mut Reader,
    cloth: &Table<'_>,
    offer: &Table<'_>,
    own: Option<&PricePerLength>,
    price: Option<&PricePerLength>,
) {
    let (own, price) = match (own, price) {
        (Some(own), Some(price)) => (own, price),
        (None, None) => return,
        (Some(_), None) if offer.has("price") => return,
        (None, Some(_)) if cloth.has("price") => return,
        _ => {
            let message = format!("only one of {} and its offer has a price", cloth.what);
            let help = "give both a price, so that the cheaper can be chosen, or none";
            reader.error(&offer.header, message, help);
            return;
        }
    };
    if own.currency != price.currency {
        let (own, other) = (shown(&own.currency), shown(&price.currency));
        let message = format!("the offer is in {other}, the cloth's price in {own}");
        reader.error(&offer.header, message, "write both in one currency");
    }
}

fn check_usable_width(
    reader: &mut Reader,
    width: &Located<Length>,
    selvedge: Option<&Located<Length>>,
) {
    let (strip, place) = match selvedge {
        Some(selvedge) => (selvedge.value, &selvedge.place),
        None => (SELVEDGE, &width.place),
    };
    if strip * 2.0 >= width.value {
        let message = format!(
            "two selvedge strips of {} leave nothing of a roll {} wide",
            strip.in_mm_and_inches(),
            width.value.in_mm_and_inches()
        );
        let help = "make `selvedge` smaller than half of `roll_width`";
        reader.error(place, message, help);
    }
}

fn read_price(reader: &mut Reader, table: &Table<'_>) -> Option<PricePerLength> {
    let price: Located<PricePerLength> = table.quantity(reader, "price")?;
    if price.value.amount.to_cents() < 0 {
        let help = "write the price of one yard or metre, for example \"38.50 USD/yd\"";
        reader.error(&price.place, "the price is negative", help);
        return None;
    }
    Some(price.value)
}

/// The `[[cloth.NAME.price_break]]` tables.
fn read_breaks(
    reader: &mut Reader,
    cloth: &Table<'_>,
    name: &str,
    price: Option<&PricePerLength>,
) -> Vec<PriceBreak> {
    let mut breaks: Vec<PriceBreak> = Vec::new();
    let header = format!("cloth.{name}.price_break");
    for table in cloth.listed_tables(reader, "price_break", &header) {
        table.check_keys(reader);
        table.require(reader, "from");
        table.require(reader, "price");
        let from = table.length(reader, "from");
        let lower: Option<Located<PricePerLength>> = table.quantity(reader, "price");
        let (Some(from), Some(lower)) = (from, lower) else {
            continue;
        };
        if check_break(reader, cloth, price, &lower) {
            breaks.push(PriceBreak {
                from: from.value,
                price: lower.value,
            });
        }
    }
    breaks
}

/// Whether a price break can stand beside the cloth's own price; complains if not.
fn check_break(
    reader: &mut Reader,
    cloth: &Table<'_>,
    price: Option<&PricePerLength>,
    lower: &Located<PricePerLength>,
) -> bool {
    let Some(price) = price else {
        if !cloth.has("price") {
            let message = format!("{} has a price break but no `price`", cloth.what);
            let help = "add the price of shorter lengths, for example `price = \"38.50 USD/yd\"`";
            reader.error(&lower.place, message, help);
        }
        return false;
    };
    if lower.value.currency != price.currency {
        let (own, other) = (shown(&price.currency), shown(&lower.value.currency));
        let message = format!("the price break is in {other}, the cloth's price in {own}");
        reader.error(&lower.place, message, "write both in one currency");
        return false;
    }
    if lower.value.amount.to_cents() < 0 {
        let help = "write the price of one yard or metre, for example \"34.00 USD/yd\"";
        reader.error(&lower.place, "the price is negative", help);
        return false;
    }
    // By the kilometre, so that rounding to hundredths says nothing.
    let kilometre = Length::mm(1e6);
    if lower.value.of(kilometre) >= price.of(kilometre) {
        let message = format!("the price break at {} is not below {price}", lower.value);
        let help = "longer lengths usually cost less by the yard or metre; is the price right?";
        reader.warn(&lower.place, message, help);
    }
    true
}

/// Spare cloth as a fraction; none if absent or wrong.
fn read_spare(reader: &mut Reader, table: &Table<'_>) -> f64 {
    let Some(spare) = table.read_with(reader, "spare", read_percent) else {
        return 0.0;
    };
    let percent = spare.value * 100.0;
    if !(0.0..=1000.0).contains(&percent) {
        let message = format!("a spare of {percent:.0} % is not possible");
        let help = "write the share that is bought extra, for example \"5 %\"";
        reader.error(&spare.place, message, help);
    } else if spare.value > LIKELY_SPARE {
        let message = format!("a spare of {percent:.0} % is unusual");
        reader.warn(&spare.place, message, "5 to 10 % is usual");
    }
    spare.value
}

/// The turns of the weave, or what the job says instead.
fn read_turns(reader: &mut Reader, table: &Table<'_>, weave: Option<Weave>) -> Option<WeaveTurns> {
    let rotation = table.choice(reader, "turns", Rotation::WORDS);
    let turn_over = table.flag(reader, "turn_over");
    let weave = weave?;
    let mut turns = weave.turns();
    if let Some(rotation) = rotation {
        turns.rotation = rotation.value;
        if !weave.keeps_fibres(rotation.value) {
            let message = format!(
                "a {} cloth turned that way has its fibres in other directions than designed",
                weave.word()
            );
            let help = "leave `turns` out unless the direction of the fibres does not matter; the plan \
                        states the angle of every piece as cut";
            reader.warn(&rotation.place, message, help);
        } else if weave.faces() == Faces::WarpAndWeft
            && matches!(rotation.value, Rotation::Quarter | Rotation::Any)
        {
            let message = format!(
                "a {} turned a quarter has its long floats across",
                weave.word()
            );
            let help = "warp shows on one face and weft on the other; leave `turns` out to keep the \
                        floats along the warp";
            reader.warn(&rotation.place, message, help);
        }
    }
    if let Some(turn_over) = turn_over {
        turns.turn_over = turn_over.value;
        if turn_over.value && weave.faces() == Faces::WarpAndWeft {
            let message = format!(
                "a {} that is turned over shows its other face",
                weave.word()
            );
            let help = "the faces carry warp and weft unequally; leave `turn_over` out to keep \
                        one face up";
            reader.warn(&turn_over.place, message, help);
        }
    }
    Some(turns)
}
