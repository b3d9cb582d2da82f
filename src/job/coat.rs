//! What is put on the mould before the first ply: the table `[gel_coat]`.

use super::keys::{Amount, ShareUpTo, SomeText, keys};
use super::reader::JobReader;
use super::resin::{RATIO, ResinSystem, WARMTH};
use super::rules::LengthRule;
use super::supplies::{PACK_PRICE, Packs, packs};
use super::table::JobTable;
use crate::laminate::{BatchLimits, MixRatio, pot_life_in};
use crate::units::{ArealWeight, Density, Duration, LayingSpeed, Length, Mass, Price, Temperature};

/// A gel coat, or a wet coat of the laminating resin: what lies between mould and first ply.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct GelCoat {
    /// What it is called on the sheets.
    pub name: String,
    /// How much of it is put on.
    pub areal_weight: ArealWeight,
    /// How thick it is while it is wet, if the job says.
    pub film: Option<Length>,
    /// How far it reaches beyond the part.
    pub margin: Length,
    /// Whether it is a resin of its own; else it is the laminating resin.
    pub is_own: bool,
    /// Parts A and B by weight.
    pub ratio: MixRatio,
    /// What bounds a batch: its largest mass, and the pot life in the room less a reserve.
    pub limits: BatchLimits,
    /// How long weighing and mixing a batch takes.
    pub mixing_time: Duration,
    /// How fast one person puts it on.
    pub speed: LayingSpeed,
    /// How many do so at once.
    pub people: u32,
    /// From when it is on until it is tacky, if the job says.
    pub tacky_after: Option<Duration>,
    /// What stays in pots and brushes, as a share of what is put on.
    pub waste: f64,
    /// How it is sold, if it is a resin of its own and the job says.
    pub supply: Option<Packs<Mass>>,
}

const FILM: LengthRule = LengthRule::positive("thickness of the wet film")
    .help("write what a film gauge shows, for example \"0.5 mm\"")
    .likely(0.1..=1.5)
    .most(10.0);

const MARGIN: LengthRule = LengthRule::not_negative("margin of the gel coat")
    .help("it is how far it reaches beyond the part: 0 mm or more")
    .likely(0.0..=200.0)
    .most(10_000.0);

/// Share of the pot life that is not planned with (common practice, no source).
const RESERVE: f64 = 0.2;

/// How long mixing a batch takes where no `[resin]` says.
const MIXING: Duration = Duration::minutes(3.0);

// Speed, largest batch and waste are common practice, no source; the data sheet goes before them.
keys! {
    /// What `[gel_coat]` says.
    GelCoatKeys: "`[gel_coat]`", "[gel_coat]", "Gel coat, or a wet coat of the laminating resin, on the mould before ply 1: weighed, mixed, bought, and in the weight of the part as it is put on. How much is said by `areal_weight`, or by `film` and `density`. Without `ratio` it is the resin of `[resin]`.";
    name: String = SomeText, Is("gel coat"), "white gel coat", "what the sheets and the shopping list call it";
    areal_weight: ArealWeight = Amount::AboveZero(ArealWeight::to_g_per_m2), Means("`film` and `density`"), "600 g/m2", "how much is put on";
    film: Length = FILM, Means("not on the sheets"), "0.5 mm", "how thick it is put on, as a wet-film gauge shows it";
    density: Density = Amount::AboveZero(Density::to_g_per_cm3), Means("`areal_weight`"), "1.2 g/cm3", "of the mixed gel coat, wet; needs `film`";
    margin: Length = MARGIN, Is("0 mm"), "20 mm", "how far it reaches beyond the part all round";
    ratio: MixRatio = RATIO, Means("the resin of `[resin]`"), "100:2", "parts A to parts B by weight, of a gel coat with a resin of its own";
    pot_life: Duration = Amount::AboveZero(Duration::to_minutes), Means("that of `[resin]`; required with `ratio`"), "15 min", "from the data sheet";
    pot_life_at: Temperature = WARMTH, Is("25 °C"), "25 °C", "temperature at which the data sheet states it";
    largest_batch: Mass = Amount::AboveZero(Mass::to_grams), Is("500 g"), "500 g", "largest mass mixed at once";
    speed: LayingSpeed = Amount::AboveZero(LayingSpeed::to_m2_per_hour), Is("10 m2/h"), "10 m2/h", "brushing or rolling on, by one person";
    tacky_after: Duration = Amount::AboveZero(Duration::to_minutes), Means("as its data sheet says"), "45 min", "from when it is on until it is tacky and ply 1 may follow";
    waste: f64 = ShareUpTo { most: 2.0 }, Is("10 %"), "10 %", "left in pots and brushes";
    pack: Mass = Amount::AboveZero(Mass::to_grams), Means("not in the costs"), "1 kg", "mass of a pack, A and B together; needs `ratio`";
    price: Price = PACK_PRICE, Means("not in the costs"), "28.00 USD", "of one pack; needs `pack`";
    on_hand: Mass = Amount::OnHand(Mass::to_grams), Is("0 g"), "400 g", "what is there already; needs `pack`";
}

/// Reads `[gel_coat]` beside `resin`, if the job has one; `None` after a complaint.
pub(super) fn read_gel_coat(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    resin: Option<&ResinSystem>,
) -> Option<GelCoat> {
    let keys = GelCoatKeys::read(reader, Some(table));
    let areal_weight = areal_weight(reader, table, &keys);
    let mixed = mixed(reader, table, &keys, resin);
    let supply = packs(reader, &keys.pack, keys.price, &keys.on_hand);
    let (ratio, time) = mixed?;
    Some(GelCoat {
        areal_weight: areal_weight?,
        name: keys.name.value,
        film: keys.film.value,
        margin: keys.margin.value,
        is_own: keys.ratio.is_there(),
        ratio,
        limits: BatchLimits {
            mass: keys.largest_batch.value,
            time,
        },
        mixing_time: resin.map_or(MIXING, |resin| resin.mixing_time),
        speed: keys.speed.value,
        people: resin.map_or(1, |resin| resin.people),
        tacky_after: keys.tacky_after.value,
        waste: keys.waste.value,
        supply,
    })
}

/// How much is put on, by area.
fn areal_weight(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    keys: &GelCoatKeys<'_>,
) -> Option<ArealWeight> {
    let of_film = (keys.density.value.zip(keys.film.value))
        .map(|(density, film)| ArealWeight::of_layer(film, density));
    let message = match (of_film, keys.areal_weight.value) {
        (Some(one), None) => return Some(one),
        (None, Some(one)) if !keys.density.is_there() => return Some(one),
        (Some(_), Some(_)) => "the job says twice how much gel coat is put on",
        _ => "the job does not say how much gel coat is put on",
    };
    // A value that was complained about is no missing one.
    if !reader.has_errors() {
        let help = "give its `areal_weight`, or how thick its `film` is and its `density`";
        reader.error(&table.header, message, help);
    }
    None
}

/// How it is mixed, and how long a batch may be worked with.
fn mixed(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    keys: &GelCoatKeys<'_>,
    resin: Option<&ResinSystem>,
) -> Option<(MixRatio, Duration)> {
    let own = [&keys.pot_life.at, &keys.pack.at].into_iter().flatten();
    match (keys.ratio.value, keys.pot_life.value, resin) {
        (Some(ratio), Some(pot_life), _) => {
            let at = keys.pot_life_at.value;
            let in_room = pot_life_in(pot_life, at, resin.map_or(at, |resin| resin.room));
            return Some((ratio, in_room * (1.0 - RESERVE)));
        }
        (Some(_), None, _) if !keys.pot_life.is_there() => {
            table.require(reader, keys.pot_life.key);
        }
        (None, ..) if own.clone().next().is_some() => {
            let help = "a wet coat of the resin of `[resin]` has the pot life and the pack given there; a gel \
                        coat has a `ratio` of its own";
            for at in own {
                reader.error(&at.key, "`ratio` is missing", help);
            }
        }
        (None, None, Some(resin)) if !keys.ratio.is_there() => {
            return Some((resin.hardener.ratio, resin.limits().time));
        }
        (None, None, None) if !reader.has_errors() => {
            let help = "a gel coat has a `ratio` and a `pot_life` of its own; a wet coat is of the resin of `[resin]`";
            reader.error(
                &table.header,
                "the job does not say what the gel coat is mixed of",
                help,
            );
        }
        _ => {}
    }
    None
}
