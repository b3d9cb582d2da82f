//! What the work takes beside cloth: the tables `[resin]` and `[mould]`.

use super::Located;
use super::reader::Reader;
use super::rules::{LengthRule, Sign};
use super::table::Table;
use super::wording::shown;
use crate::laminate::{BatchLimits, MixRatio};
use crate::units::{
    ArealWeight, Coverage, Density, Duration, LayingSpeed, Length, Mass, Price, Volume, Written,
    read_percent,
};

/// Something that is not cut from a roll: how it is sold, and how much is there already.
#[derive(Clone, Debug, PartialEq)]
pub struct Supply<T> {
    /// Amount in one pack.
    pub pack: T,
    /// Price of one pack, if known.
    pub price: Option<Price>,
    /// Amount on hand.
    pub on_hand: T,
}

/// A two-part resin.
#[derive(Clone, Debug, PartialEq)]
pub struct ResinSystem {
    /// What it is called on the sheets.
    pub name: String,
    /// Parts A and B by weight.
    pub ratio: MixRatio,
    /// Densities of parts A and B, if known: then volumes are told as well.
    pub densities: Option<(Density, Density)>,
    /// Pot life as the data sheet states it.
    pub pot_life: Duration,
    /// Share of the pot life that is kept in reserve.
    pub reserve: f64,
    /// The largest mass that is mixed at once.
    pub largest_batch: Mass,
    /// How fast cloth is laid and wetted out.
    pub laying_speed: LayingSpeed,
    /// What stays in pots, brushes and rollers, as a share of what the cloth and the bag take.
    pub waste: f64,
    /// How it cures, in the words of its data sheet.
    pub cure: Option<String>,
    /// How it is sold; `None` if the job does not say.
    pub supply: Option<Supply<Mass>>,
}

impl ResinSystem {
    /// What bounds a batch: the largest safe mass, and the pot life less its reserve.
    #[must_use]
    pub fn limits(&self) -> BatchLimits {
        BatchLimits {
            mass: self.largest_batch,
            time: self.pot_life * (1.0 - self.reserve),
        }
    }
}

/// Share of the pot life kept in reserve unless the job says otherwise: mixing and handing over
/// take their time, and a warm day is shorter (common practice, no source).
const RESERVE: f64 = 0.20;
/// The largest batch unless the job says otherwise: 100 g in a pot is usual (common practice, no source).
const LARGEST_BATCH: Mass = Mass::grams(100.0);
/// Laying and wetting out by one person (common practice, no source).
const LAYING_SPEED: LayingSpeed = LayingSpeed::m2_per_hour(1.5);
/// What stays in pots, brushes and rollers (common practice, no source).
const WASTE: f64 = 0.10;

/// Reads `[resin]`; `None` if there is none, or after a complaint.
pub(super) fn read_resin(reader: &mut Reader, job: &Table<'_>) -> Option<ResinSystem> {
    let table = job.table(reader, "resin", "`[resin]`")?;
    table.check_keys(reader);
    table.require(reader, "ratio");
    table.require(reader, "pot_life");
    let name = table.word(reader, "name");
    let ratio = read_ratio(reader, &table);
    let pot_life = positive(reader, &table, "pot_life", Duration::to_minutes);
    let reserve = share(reader, &table, "reserve", 0.9);
    let largest = positive(reader, &table, "largest_batch", Mass::to_grams);
    let speed = positive(reader, &table, "laying_speed", LayingSpeed::to_m2_per_hour);
    let waste = share(reader, &table, "waste", 2.0);
    let cure = table.word(reader, "cure");
    let pack_keys = ["pack", "price", "on_hand"];
    let supply = supply(reader, &table, pack_keys, Mass::to_grams, Mass::ZERO);
    let (ratio, densities) = ratio?;
    Some(ResinSystem {
        name: name.map_or_else(|| "resin".to_owned(), |name| name.value),
        ratio,
        densities,
        pot_life: pot_life?,
        reserve: reserve.unwrap_or(RESERVE),
        largest_batch: largest.unwrap_or(LARGEST_BATCH),
        laying_speed: speed.unwrap_or(LAYING_SPEED),
        waste: waste.unwrap_or(WASTE),
        cure: cure.map(|cure| cure.value),
        supply,
    })
}

/// The ratio by weight, and the densities of both parts if they are given.
fn read_ratio(
    reader: &mut Reader,
    table: &Table<'_>,
) -> Option<(MixRatio, Option<(Density, Density)>)> {
    let text = table.word(reader, "ratio");
    let by = table.choice(reader, "ratio_by", &[("weight", false), ("volume", true)]);
    let a = positive(reader, table, "density_a", Density::to_g_per_cm3);
    let b = positive(reader, table, "density_b", Density::to_g_per_cm3);
    let densities = a.zip(b);
    let text = text?;
    let Ok(ratio) = text.value.parse::<MixRatio>() else {
        let message = format!("`ratio` cannot be {}", shown(&text.value));
        let help = "write parts of resin to parts of hardener, for example \"100:30\" or \"3:1\"";
        reader.error(&text.place, message, help);
        return None;
    };
    match (by.filter(|by| by.value), densities) {
        (None, densities) => Some((ratio, densities)),
        (Some(_), Some((a, b))) => Some((ratio.from_volumes(a, b), densities)),
        (Some(by), None) => {
            let help = "add `density_a` and `density_b` from the data sheet: batches are weighed";
            reader.error(&by.place, "a ratio by volume needs both densities", help);
            None
        }
    }
}

/// How a mould is made ready before the first ply.
#[derive(Clone, Debug, PartialEq)]
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
    pub wax_supply: Option<Supply<Mass>>,
    /// What a litre of PVA covers; `None` if no film is put on.
    pub pva: Option<Coverage>,
    /// How long the film dries.
    pub pva_drying: Duration,
    /// How the PVA is sold; `None` if the job does not say.
    pub pva_supply: Option<Supply<Volume>>,
}

/// Release margin, coats, wait, wax by area, coverage and drying are common practice, no source;
/// the makers' sheets go before them.
impl Default for MouldPreparation {
    fn default() -> Self {
        Self {
            margin: Length::mm(150.0),
            wax_coats: 4,
            wax_wait: Duration::minutes(30.0),
            wax: ArealWeight::g_per_m2(10.0),
            wax_supply: None,
            pva: Some(Coverage::m2_per_litre(8.0)),
            pva_drying: Duration::minutes(45.0),
            pva_supply: None,
        }
    }
}

pub(super) const MARGIN: LengthRule = LengthRule {
    what: "margin of the mould",
    sign: Sign::NotNegative,
    sign_help: "it is the released surface beyond the part: 0 mm or more",
    likely: 10.0..=1_000.0,
    most: 10_000.0,
};

/// Most coats of wax.
pub(super) const MAX_COATS: u32 = 20;

/// Reads `[mould]`; `None` if there is none.
pub(super) fn read_mould(reader: &mut Reader, job: &Table<'_>) -> Option<MouldPreparation> {
    let table = job.table(reader, "mould", "`[mould]`")?;
    table.check_keys(reader);
    let usual = MouldPreparation::default();
    let margin = table.length(reader, "margin");
    let coats = table.count(reader, "wax_coats");
    let wait = positive(reader, &table, "wax_wait", Duration::to_minutes);
    let wax = positive(reader, &table, "wax", ArealWeight::to_g_per_m2);
    let has_pva = table.flag(reader, "pva").is_none_or(|flag| flag.value);
    let coverage = positive(reader, &table, "pva_coverage", |c: Coverage| {
        1.0 / c.volume_for(crate::units::Area::mm2(1e6)).to_litres()
    });
    let drying = positive(reader, &table, "pva_drying", Duration::to_minutes);
    let wax_keys = ["wax_pack", "wax_price", "wax_on_hand"];
    let pva_keys = ["pva_pack", "pva_price", "pva_on_hand"];
    Some(MouldPreparation {
        margin: margin.map_or(usual.margin, |margin| margin.value),
        wax_coats: coats.map_or(usual.wax_coats, |coats| coats.value),
        wax_wait: wait.unwrap_or(usual.wax_wait),
        wax: wax.unwrap_or(usual.wax),
        wax_supply: supply(reader, &table, wax_keys, Mass::to_grams, Mass::ZERO),
        pva: coverage.or(usual.pva).filter(|_| has_pva),
        pva_drying: drying.unwrap_or(usual.pva_drying),
        pva_supply: supply(reader, &table, pva_keys, Volume::to_litres, Volume::ZERO),
    })
}

/// Reads a supply under `keys`: pack, price, on hand.
pub(super) fn supply<T: Copy + Written>(
    reader: &mut Reader,
    table: &Table<'_>,
    [pack, price, on_hand]: [&str; 3],
    size: fn(T) -> f64,
    nothing: T,
) -> Option<Supply<T>> {
    let amount = positive(reader, table, pack, size);
    let money = table.quantity::<Price>(reader, price);
    let left = table.quantity::<T>(reader, on_hand);
    if let Some(left) = left.as_ref().filter(|left| size(left.value) < 0.0) {
        let help = "write what is there, or leave it out";
        reader.error(&left.place, format!("`{on_hand}` is negative"), help);
    }
    if let Some(money) = money.as_ref().filter(|m| m.value.amount.to_cents() < 0) {
        let help = format!(
            "write the price of one pack, for example {}",
            table.example(price)
        );
        reader.error(&money.place, "the price is negative", &help);
    }
    if !table.has(pack)
        && let Some(place) = table
            .key_place(reader, price)
            .or_else(|| table.key_place(reader, on_hand))
    {
        let help = format!("add {}: the price is that of one pack", table.example(pack));
        reader.error(&place, format!("`{pack}` is missing"), &help);
    }
    Some(Supply {
        pack: amount?,
        price: money.map(|money| money.value),
        on_hand: left.map_or(nothing, |left| left.value),
    })
}

/// A quantity above zero; complains about others.
pub(super) fn positive<T: Copy + Written>(
    reader: &mut Reader,
    table: &Table<'_>,
    key: &str,
    size: impl Fn(T) -> f64,
) -> Option<T> {
    let found: Located<T> = table.quantity(reader, key)?;
    if size(found.value) > 0.0 {
        return Some(found.value);
    }
    let help = format!("write for example {}", table.example(key));
    reader.error(&found.place, format!("`{key}` is not above zero"), &help);
    None
}

/// A share from zero to `most`.
pub(super) fn share(reader: &mut Reader, table: &Table<'_>, key: &str, most: f64) -> Option<f64> {
    let found = table.read_with(reader, key, read_percent)?;
    if (0.0..=most).contains(&found.value) {
        return Some(found.value);
    }
    let help = format!(
        "write for example {}; at most {:.0} % is taken",
        table.example(key),
        most * 100.0
    );
    let message = format!("`{key}` cannot be {:.0} %", found.value * 100.0);
    reader.error(&found.place, message, &help);
    None
}
