//! What the work takes beside cloth: the tables `[resin]` and `[mould]`.

use super::keys::{
    Amount, Checked, Count, Flag, KeyEntry, KeyPlaces, OfForm, OneOf, Quantity, Refused, ShareUpTo,
    SomeText, keys,
};
use super::reader::JobReader;
use super::rules::LengthRule;
use super::table::JobTable;
use super::wording::shown;
use crate::laminate::{BatchLimits, MixRatio, pot_life_in};
use crate::units::{
    Area, ArealWeight, Coverage, Density, Duration, Form, LayingSpeed, Length, Mass, Price,
    Temperature, Volume,
};
use crate::words::words;

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

/// A two-part resin.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct ResinSystem {
    /// What it is called on the sheets.
    pub name: String,
    /// Parts A and B by weight.
    pub ratio: MixRatio,
    /// Densities of parts A and B, if known: then volumes are told as well.
    pub densities: Option<(Density, Density)>,
    /// Pot life as the data sheet states it.
    pub pot_life: Duration,
    /// The temperature at which it states it.
    pub pot_life_at: Temperature,
    /// The temperature of the room.
    pub room: Temperature,
    /// How long mixed resin stays workable in a thin film, in a room as warm as the data sheet's; `None`
    /// if the job does not say.
    pub open_time: Option<Duration>,
    /// How long weighing and mixing a batch takes.
    pub mixing_time: Duration,
    /// How many people lay up at once.
    pub people: u32,
    /// Share of the pot life that is kept in reserve.
    pub reserve: f64,
    /// The largest mass that is mixed at once.
    pub largest_batch: Mass,
    /// How fast one person lays and wets out cloth.
    pub laying_speed: LayingSpeed,
    /// What stays in pots, brushes and rollers, as a share of what the cloth and the bag take.
    pub waste: f64,
    /// How it cures, in the words of its data sheet.
    pub cure: Option<String>,
    /// How it is sold; `None` if the job does not say.
    pub supply: Option<Packs<Mass>>,
}

impl ResinSystem {
    /// What bounds a batch: the largest safe mass, and the pot life in the room less its reserve.
    #[must_use]
    pub fn limits(&self) -> BatchLimits {
        BatchLimits {
            mass: self.largest_batch,
            time: self.pot_life_in_room() * (1.0 - self.reserve),
        }
    }

    /// The pot life in the room.
    #[must_use]
    pub fn pot_life_in_room(&self) -> Duration {
        pot_life_in(self.pot_life, self.pot_life_at, self.room)
    }

    /// How long mixed resin stays workable in a thin film in the room: as the job states, else twice
    /// the pot life (common practice, no source).
    #[must_use]
    pub fn open_time_in_room(&self) -> Duration {
        let stated = self.open_time.unwrap_or(self.pot_life * OPEN_PER_POT_LIFE);
        pot_life_in(stated, self.pot_life_at, self.room)
    }

    /// How long `people` need to lay and wet out `area`.
    #[must_use]
    pub fn laying_time(&self, area: Area) -> Duration {
        self.laying_speed.time_for(area) * (1.0 / f64::from(self.people))
    }
}

/// Open time of a thin film in pot lives, where nothing else is known: a film gives off the heat that
/// makes a pot gel. Larger: a bag may be closed on resin that has gelled; smaller: work that is well in
/// time is warned of.
const OPEN_PER_POT_LIFE: f64 = 2.0;

/// Most people at one part.
const MAX_PEOPLE: u32 = 50;

/// A temperature at which people lay up.
const WARMTH: Checked<Quantity, Temperature> = Checked {
    kind: Quantity,
    check: |reader, key, warmth| {
        let help = "write for example \"23 °C\" or \"73 °F\"; resin is laid up between 0 and 60 °C";
        let message = format!("nobody lays up at such a `{}`", key.name);
        let is_possible = (0.0..=60.0).contains(&warmth.value.to_celsius());
        reader.insist(is_possible, &warmth.place, message, help)
    },
};

words! {
    /// What the parts of a ratio count.
    pub(super) enum RatioBy {
        Weight = "weight",
        Volume = "volume",
    }
}

/// How a mixing ratio is written.
const RATIO: OfForm<MixRatio> = OfForm {
    form: Form {
        what: "ratio",
        units: "parts A : parts B",
        pattern: || r"[^:]*\d[^:]*:[^:]*\d[^:]*".to_owned(),
    },
    words: &[],
    read: |text| {
        text.parse().map_err(|_| {
            let help =
                "write parts of resin to parts of hardener, for example \"100:30\" or \"3:1\"";
            Refused::Other(
                format!("`ratio` cannot be {}", shown(text)),
                help.to_owned(),
            )
        })
    },
};

// Defaults are common practice, no source. The reserve of the pot life: mixing and handing over
// take their time, and a warm day is shorter. The largest batch: 100 g in a pot is usual.
keys! {
    /// What `[resin]` says.
    ResinKeys: "`[resin]`", "[resin]", "What is mixed. Needs `fibre` (or `fibre_density`) in every cloth. Resin is worked out for whole cut plies, plus what peel ply and breather take up, plus waste; batches hold whole plies of one part.";
    name: String = SomeText, Is("resin"), "slow epoxy", "what the sheets call it";
    ratio: MixRatio = RATIO, Required, "100:30", "parts A to parts B";
    ratio_by: RatioBy = OneOf, Is("weight"), "weight", "what the parts count; `volume` needs both densities, for batches are weighed";
    density_a: Density = Amount::AboveZero(Density::to_g_per_cm3), Means("no volumes"), "1.15 g/cm3", "of liquid part A";
    density_b: Density = Amount::AboveZero(Density::to_g_per_cm3), Means("no volumes"), "0.95 g/cm3", "of liquid part B";
    pot_life: Duration = Amount::AboveZero(Duration::to_minutes), Required, "25 min", "from the data sheet";
    pot_life_at: Temperature = WARMTH, Is("25 °C"), "25 °C", "temperature at which the data sheet states it";
    room: Temperature = WARMTH, Means("as warm as `pot_life_at`"), "30 °C", "temperature of the room; pot life and open time halve for each 10 °C more (common practice, no source; above 32 °C a handbook halves them at once: US Army TM 1-1500-204-23-11, p. 169)";
    open_time: Duration = Amount::AboveZero(Duration::to_minutes), Means("twice the pot life (common practice)"), "60 min", "how long it stays workable in a thin film, from the data sheet; full vacuum comes before";
    mixing_time: Duration = Amount::AboveZero(Duration::to_minutes), Is("3 min"), "3 min", "weighing and mixing one batch";
    people: u32 = Count { most: MAX_PEOPLE }, Is("1"), "2", "how many lay up at once";
    reserve: f64 = ShareUpTo { most: 0.9 }, Is("20 %"), "20 %", "share of the pot life that is not planned with";
    largest_batch: Mass = Amount::AboveZero(Mass::to_grams), Is("100 g"), "300 g", "largest mass mixed at once";
    laying_speed: LayingSpeed = Amount::AboveZero(LayingSpeed::to_m2_per_hour), Is("1.5 m2/h"), "1.5 m2/h", "laying and wetting out by one person";
    waste: f64 = ShareUpTo { most: 2.0 }, Is("10 %"), "10 %", "left in pots, brushes, rollers";
    cure: String = SomeText, Means("not on the sheets"), "24 h at 20 °C", "how it cures, for the sheets";
    pack: Mass = Amount::AboveZero(Mass::to_grams), Means("not in the costs"), "1 kg", "mass of a pack, A and B together";
    price: Price = PACK_PRICE, Means("not in the costs"), "28.00 USD", "of one pack; needs `pack`";
    on_hand: Mass = Amount::OnHand(Mass::to_grams), Is("0 g"), "400 g", "what is there already; needs `pack`";
}

/// Reads `[resin]`; `None` after a complaint.
pub(super) fn read_resin(reader: &mut JobReader, table: &JobTable<'_>) -> Option<ResinSystem> {
    let keys = ResinKeys::read(reader, Some(table));
    let densities = keys.density_a.value.zip(keys.density_b.value);
    let ratio = keys.ratio.value.map(|ratio| match keys.ratio_by.value {
        RatioBy::Weight => Some(ratio),
        RatioBy::Volume => densities.map(|(a, b)| ratio.from_volumes(a, b)),
    });
    if ratio == Some(None)
        && let Some(place) = keys.ratio_by.place()
    {
        let help = "add `density_a` and `density_b` from the data sheet: batches are weighed";
        reader.error(place, "a ratio by volume needs both densities", help);
    }
    let supply = packs(reader, &keys.pack, keys.price, &keys.on_hand);
    let pot_life = keys.pot_life.value;
    let open_time = keys.open_time.located();
    if let (Some(open), Some(pot_life)) = (&open_time, pot_life)
        && open.value < pot_life
    {
        let help = "a thin film stays workable longer than a full pot; are the two exchanged?";
        reader.warn(&open.place, "`open_time` is shorter than `pot_life`", help);
    }
    let open_time = open_time.map(|open| open.value);
    Some(ResinSystem {
        pot_life_at: keys.pot_life_at.value,
        room: keys.room.value.unwrap_or(keys.pot_life_at.value),
        open_time,
        mixing_time: keys.mixing_time.value,
        people: keys.people.value,
        name: keys.name.value,
        ratio: ratio.flatten()?,
        densities,
        pot_life: keys.pot_life.value?,
        reserve: keys.reserve.value,
        largest_batch: keys.largest_batch.value,
        laying_speed: keys.laying_speed.value,
        waste: keys.waste.value,
        cure: keys.cure.value,
        supply,
    })
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
fn packs<T: Copy>(
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
