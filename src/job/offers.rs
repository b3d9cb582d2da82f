//! What a cloth costs: its price, lower ones of longer lengths, and other rolls that it is offered on.

use super::Located;
use super::cloths::{ClothKeys, LEAST_SOLD, ROLL_WIDTH, SOLD_BY};
use super::keys::{Checked, Listed, Quantity, keys};
use super::reader::JobReader;
use super::rules::LengthRule;
use super::table::JobTable;
use super::wording::shown;
use crate::cloth::{Offer, PriceBreak};
use crate::units::{Length, PricePerLength};

/// Most other rolls that a cloth can be offered on: the job is planned for each of them.
const MAX_OFFERS: usize = 12;
pub(super) const PRICE: Checked<Quantity, PricePerLength> = Checked {
    kind: Quantity,
    check: |reader, _, price| is_price(reader, price, "38.50 USD/yd"),
};
const PRICE_BREAK: LengthRule = LengthRule::positive("length of a price break")
    .help("write the length from which the price holds, for example \"10 yd\"")
    .likely(1.0..=1_000_000.0)
    .most(10_000_000.0);
keys! {
    /// What `[[cloth.NAME.price_break]]` says.
    PriceBreakKeys: "a price break", "[[cloth.NAME.price_break]]", "A lower price that holds from a length on; in an offer likewise.";
    from: Length = PRICE_BREAK, Required, "10 yd", "the length from which it holds";
    price: PricePerLength = Quantity, Required, "34.00 USD/yd", "by running length";
}

keys! {
    /// What `[[cloth.NAME.offer]]` says.
    OfferKeys: "an offer", "[[cloth.NAME.offer]]", "Another roll of the same cloth. What is left out is as the cloth's own, but for prices.";
    roll_width: Length = ROLL_WIDTH, Means("as the cloth's"), "1270 mm", "from selvedge to selvedge";
    price: PricePerLength = PRICE, Means("not priced"), "38.50 USD/yd", "by running length";
    price_break: Vec<JobTable<'t>> = Listed(PriceBreakKeys::keys), Means("one price"), "[{ from = \"10 yd\", price = \"34.00 USD/yd\" }]", "lower prices of longer lengths";
    sold_by: Length = SOLD_BY, Means("as the cloth's"), "1 yd", "sold in multiples of this";
    least_sold: Length = LEAST_SOLD, Means("as the cloth's"), "1 yd", "shortest length that is sold";
}

/// The `[[cloth.NAME.offer]]` tables: other rolls of the same cloth.
pub(super) fn read_offers(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    cloth: &ClothKeys<'_>,
) -> Vec<Offer> {
    let mut offers = Vec::new();
    for offered in cloth.offer.value.clone().unwrap_or_default() {
        let keys = OfferKeys::read(reader, Some(&offered));
        let width = keys.roll_width.value;
        if let (Some(width), Some(place)) = (width, keys.roll_width.place())
            && cloth.selvedge.value * 2.0 >= width
        {
            let message = "two selvedge strips leave nothing of a roll that narrow";
            let help = "make `selvedge` smaller, or leave the offer out";
            reader.error(place, message, help);
        }
        check_offer_price(reader, table, &offered, cloth, &keys);
        let has_price = keys.price.is_there();
        let price = keys.price.value;
        let breaks = keys.price_break.value.unwrap_or_default();
        let price_breaks = read_breaks(reader, &offered, has_price, breaks, price.as_ref());
        let Some(roll_width) = width.or(cloth.roll_width.value) else {
            continue;
        };
        let length =
            |own: Option<Length>, cloths: Option<Length>| own.or(cloths).unwrap_or(Length::ZERO);
        offers.push(Offer {
            roll_width,
            price_breaks,
            sold_by: length(keys.sold_by.value, cloth.sold_by.value),
            least_sold: length(keys.least_sold.value, cloth.least_sold.value),
            price,
        });
    }
    if offers.len() > MAX_OFFERS {
        let help = format!("at most {MAX_OFFERS} are compared");
        reader.error(&table.header, "the cloth has too many offers", &help);
    }
    offers
}

/// An offer can only be compared with the cloth's own price where both or none are priced.
fn check_offer_price(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    offered: &JobTable<'_>,
    cloth: &ClothKeys<'_>,
    offer: &OfferKeys<'_>,
) {
    let (own, price) = match (&cloth.price.value, &offer.price.value) {
        (Some(own), Some(price)) => (own, price),
        (None, None) => return,
        (Some(_), None) if offer.price.is_there() => return,
        (None, Some(_)) if cloth.price.is_there() => return,
        _ => {
            let message = format!("only one of {} and its offer has a price", table.what);
            let help = "give both a price, so that the cheaper can be chosen, or none";
            reader.error(&offered.header, message, help);
            return;
        }
    };
    if own.currency != price.currency {
        let (own, other) = (shown(&own.currency), shown(&price.currency));
        let message = format!("the offer is in {other}, the cloth's price in {own}");
        reader.error(&offered.header, message, "write both in one currency");
    }
}

/// The `[[….price_break]]` tables of a cloth or an offer, whose own price is `price`.
pub(super) fn read_breaks(
    reader: &mut JobReader,
    owner: &JobTable<'_>,
    has_price: bool,
    tables: Vec<JobTable<'_>>,
    price: Option<&PricePerLength>,
) -> Vec<PriceBreak> {
    let read = tables.into_iter().filter_map(|table| {
        let keys = PriceBreakKeys::read(reader, Some(&table));
        let (from, lower) = (keys.from.value?, keys.price.located()?);
        let Some(price) = price else {
            if !has_price {
                let message = format!("{} has a price break but no `price`", owner.what);
                let help =
                    "add the price of shorter lengths, for example `price = \"38.50 USD/yd\"`";
                reader.error(&lower.place, message, help);
            }
            return None;
        };
        check_break(reader, price, &lower).then_some(PriceBreak {
            from,
            price: lower.value,
        })
    });
    read.collect()
}

/// Whether a price break can stand beside the cloth's own price; complains if not.
fn check_break(
    reader: &mut JobReader,
    price: &PricePerLength,
    lower: &Located<PricePerLength>,
) -> bool {
    if lower.value.currency != price.currency {
        let (own, other) = (shown(&price.currency), shown(&lower.value.currency));
        let message = format!("the price break is in {other}, the cloth's price in {own}");
        reader.error(&lower.place, message, "write both in one currency");
        return false;
    }
    if !is_price(reader, lower, "34.00 USD/yd") {
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

/// Complains about a negative price.
fn is_price(reader: &mut JobReader, price: &Located<PricePerLength>, example: &str) -> bool {
    let help = format!("write the price of one yard or metre, for example \"{example}\"");
    reader.insist(
        price.value.amount.to_cents() >= 0,
        &price.place,
        "the price is negative",
        &help,
    )
}
