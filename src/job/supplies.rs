//! What the work takes beside cloth: the table `[mould]`, and how things are sold.

use super::keys::{Amount, Checked, Count, Flag, KeyEntry, KeyPlaces, Quantity, keys};
use super::reader::JobReader;
use super::rules::LengthRule;
use super::table::JobTable;
use crate::units::{Area, ArealWeight, Coverage, Duration, Length, Mass, Price, Volume};

/// Something that is not cut from a roll: how it is sold, and how much is there already.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Packs<T> {
    /// Amount in one pack.
    pub pack: T,
    /// Price of one pack, if known.
    pub price: Option<Price>,
    /// Amount on hand.
    pub on_hand: T,
}

/// How a mould is made ready before the first ply.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct MouldPreparation {
    /// How far the released surface reaches beyond the part.
    pub margin: Length,
    /// Coats of release wax; none for none.
    pub wax_coats: u32,
    /// The wait between two of them.
    pub wax_wait: Duration,
    /// Wax in one coat.
    pub wax: ArealWeight,
    /// How the wax is sold; `None` if the job does not say.
    pub wax_supply: Option<Packs<Mass>>,
    /// What a litre of PVA covers; `None` if no film is put on.
    pub pva: Option<Coverage>,
    /// How long the film dries.
    pub pva_drying: Duration,
    /// How the PVA is sold; `None` if the job does not say.
    pub pva_supply: Option<Packs<Volume>>,
}

const MARGIN: LengthRule = LengthRule::not_negative("margin of the mould")
    .help("it is the released surface beyond the part: 0 mm or more")
    .likely(10.0..=1_000.0)
    .most(10_000.0);

/// Most coats of wax.
const MAX_COATS: u32 = 20;

// Release margin, coats, wait, wax by area, coverage and drying are common practice, no source; the
// makers' sheets go before them.
keys! {
    /// What `[mould]` says.
    MouldKeys: "`[mould]`", "[mould]", "Release before the first ply.";
    margin: Length = MARGIN, Is("150 mm"), "150 mm", "released surface around the part";
    wax_coats: u32 = Count { most: MAX_COATS }, Is("4"), "4", "coats of release wax";
    wax_wait: Duration = Amount::AboveZero(Duration::to_minutes), Is("30 min"), "30 min", "wait between two coats";
    wax: ArealWeight = Amount::AboveZero(ArealWeight::to_g_per_m2), Is("10 g/m2"), "10 g/m2", "wax in one coat";
    wax_pack: Mass = Amount::AboveZero(Mass::to_grams), Means("not in the costs"), "400 g", "mass of a tin";
    wax_price: Price = PACK_PRICE, Means("not in the costs"), "28.00 USD", "of one tin; needs `wax_pack`";
    wax_on_hand: Mass = Amount::OnHand(Mass::to_grams), Is("0 g"), "400 g", "what is there already; needs `wax_pack`";
    pva: bool = Flag, Is("true"), "false", "whether a PVA film goes on";
    pva_coverage: Coverage = Amount::AboveZero(square_metres_per_litre), Is("8 m2/l"), "8 m2/l", "area a litre covers";
    pva_drying: Duration = Amount::AboveZero(Duration::to_minutes), Is("45 min"), "45 min", "how long the film dries";
    pva_pack: Volume = Amount::AboveZero(Volume::to_litres), Means("not in the costs"), "1 l", "amount in a bottle";
    pva_price: Price = PACK_PRICE, Means("not in the costs"), "28.00 USD", "of one bottle; needs `pva_pack`";
    pva_on_hand: Volume = Amount::OnHand(Volume::to_litres), Is("0 l"), "1 l", "what is there already; needs `pva_pack`";
}

/// Reads `[mould]`.
pub(super) fn read_mould(reader: &mut JobReader, table: &JobTable<'_>) -> MouldPreparation {
    let keys = MouldKeys::read(reader, Some(table));
    MouldPreparation {
        margin: keys.margin.value,
        wax_coats: keys.wax_coats.value,
        wax_wait: keys.wax_wait.value,
        wax: keys.wax.value,
        wax_supply: packs(reader, &keys.wax_pack, keys.wax_price, &keys.wax_on_hand),
        pva: Some(keys.pva_coverage.value).filter(|_| keys.pva.value),
        pva_drying: keys.pva_drying.value,
        pva_supply: packs(reader, &keys.pva_pack, keys.pva_price, &keys.pva_on_hand),
    }
}

fn square_metres_per_litre(coverage: Coverage) -> f64 {
    1.0 / coverage.volume_for(Area::mm2(1e6)).to_litres()
}

/// What one pack costs.
pub(super) const PACK_PRICE: Checked<Quantity, Price> = Checked {
    kind: Quantity,
    check: |reader, key, price| {
        let example = key.shown_example();
        let help = format!("write the price of one pack, for example {example}");
        reader.insist(
            price.value.amount.to_cents() >= 0,
            &price.place,
            "the price is negative",
            &help,
        )
    },
};

/// How something is sold; `None` if the size of its packs is not known.
pub(super) fn packs<T: Copy>(
    reader: &mut JobReader,
    pack: &KeyEntry<Option<T>>,
    price: KeyEntry<Option<Price>>,
    on_hand: &KeyEntry<T>,
) -> Option<Packs<T>> {
    check_pack(reader, pack, [&price.at, &on_hand.at]);
    Some(Packs {
        pack: pack.value?,
        price: price.value,
        on_hand: on_hand.value,
    })
}

/// Complains if `pack` is left out where others speak of packs.
fn check_pack<V>(reader: &mut JobReader, pack: &KeyEntry<V>, others: [&Option<KeyPlaces>; 2]) {
    let other = others.into_iter().find_map(Option::as_ref);
    if let (false, Some(at)) = (pack.is_there(), other) {
        let help = format!("add {}: the price is that of one pack", pack.example());
        let message = format!("`{}` is missing", pack.key.name);
        reader.error(&at.key, message, &help);
    }
}
