//! What is mixed: the table `[resin]` and its hardeners.

use super::keys::{
    Amount, Checked, Count, KeyEntry, Name, Named, OfForm, OneOf, Quantity, Refused, ShareUpTo,
    SomeText, keys,
};
use super::reader::JobReader;
use super::supplies::{PACK_PRICE, Packs, packs};
use super::table::JobTable;
use super::wording::{shown, suggestion};
use super::{Located, check_name};
use crate::laminate::{BatchLimits, MixRatio, pot_life_in};
use crate::units::{
    Area, Density, Duration, Form, HeatingRate, LayingSpeed, Mass, Price, Temperature,
};
use crate::words::words;

/// A two-part resin.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct ResinSystem {
    /// What it is called on the sheets.
    pub name: String,
    /// The hardener that is mixed in.
    pub hardener: Hardener,
    /// Those that could be mixed in instead.
    pub other_hardeners: Vec<Hardener>,
    /// The temperature at which data sheets state pot lives and open times.
    pub pot_life_at: Temperature,
    /// The temperature of the room.
    pub room: Temperature,
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
    /// How long the part stays in its mould at least, if the job says.
    pub demould_after: Option<Duration>,
    /// How hard it is before it leaves the mould, in the words of its data sheet: `Barcol 35`, `Shore D 80`.
    pub hardness: Option<String>,
    /// How it is cured hot afterwards, if the job says.
    pub post_cure: Option<PostCure>,
    /// How it is sold; `None` if the job does not say.
    pub supply: Option<Packs<Mass>>,
}

/// A cure in the heat after the part has left its mould.
#[derive(Clone, Copy, Debug, PartialEq)]
#[non_exhaustive]
pub struct PostCure {
    /// How warm it gets.
    pub at: Temperature,
    /// How fast it is warmed at most, if the job says.
    pub ramp: Option<HeatingRate>,
    /// How long it is held there, if the job says.
    pub soak: Option<Duration>,
}

/// A hardener of a resin, and what the two make together.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Hardener {
    /// What it is called; `None` where the job knows of one only.
    pub name: Option<String>,
    /// Parts A and B by weight.
    pub ratio: MixRatio,
    /// Densities of parts A and B, if known: then volumes are told as well.
    pub densities: Option<(Density, Density)>,
    /// Pot life as the data sheet states it.
    pub pot_life: Duration,
    /// How long mixed resin stays workable in a thin film, in a room as warm as the data sheet's; `None`
    /// if the job does not say.
    pub open_time: Option<Duration>,
    /// How it cures, in the words of its data sheet.
    pub cure: Option<String>,
}

impl ResinSystem {
    /// Its name, and that of the hardener where there is one.
    #[must_use]
    pub fn title(&self) -> String {
        match &self.hardener.name {
            Some(hardener) => format!("{} with hardener {hardener}", self.name),
            None => self.name.clone(),
        }
    }

    /// The same resin with `hardener` mixed in.
    #[must_use]
    pub fn with_hardener(&self, hardener: Hardener) -> Self {
        Self {
            hardener,
            ..self.clone()
        }
    }

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
        pot_life_in(self.hardener.pot_life, self.pot_life_at, self.room)
    }

    /// How long mixed resin stays workable in a thin film in the room: as the job states, else twice
    /// the pot life (common practice, no source).
    #[must_use]
    pub fn open_time_in_room(&self) -> Duration {
        let Hardener {
            pot_life,
            open_time,
            ..
        } = self.hardener;
        let stated = open_time.unwrap_or(pot_life * OPEN_PER_POT_LIFE);
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
pub(super) const WARMTH: Checked<Quantity, Temperature> = Checked {
    kind: Quantity,
    check: |reader, key, warmth| {
        let help = "write for example \"23 °C\" or \"73 °F\"; resin is laid up between 0 and 60 °C";
        let message = format!("`{}` is too cold or too hot to lay up in", key.name);
        let is_possible = (0.0..=60.0).contains(&warmth.value.to_celsius());
        reader.insist(is_possible, &warmth.place, message, help)
    },
};

/// A temperature at which parts are cured hot.
const OVEN: Checked<Quantity, Temperature> = Checked {
    kind: Quantity,
    check: |reader, key, warmth| {
        let help = "write for example \"60 °C\" or \"140 °F\"; 30 to 250 °C is taken";
        let message = format!("nobody cures at such a `{}`", key.name);
        let is_possible = (30.0..=250.0).contains(&warmth.value.to_celsius());
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
pub(super) const RATIO: OfForm<MixRatio> = OfForm {
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
    take: String = Name, Means("the first one"), "slow", "which resin of the shop file this is, but for the keys here; a `ratio` without it is a resin of the job's own";
    name: String = SomeText, Is("resin"), "slow epoxy", "what the sheets call it";
    hardener: Vec<(Located<String>, JobTable<'t>)> = Named(HardenerKeys::keys), Means("one hardener, which the keys here describe"), "{ slow = { pot_life = \"60 min\" } }", "hardeners that there are for the resin, each with its own pot life";
    use_hardener: String = SomeText, Means("the only one"), "slow", "which of them is mixed in";
    ratio: MixRatio = RATIO, Means("required, unless each hardener says"), "100:30", "parts A to parts B";
    ratio_by: RatioBy = OneOf, Is("weight"), "weight", "what the parts of every ratio count; `volume` needs both densities, for batches are weighed";
    density_a: Density = Amount::AboveZero(Density::to_g_per_cm3), Means("no volumes"), "1.15 g/cm3", "of liquid part A";
    density_b: Density = Amount::AboveZero(Density::to_g_per_cm3), Means("no volumes"), "0.95 g/cm3", "of liquid part B";
    pot_life: Duration = Amount::AboveZero(Duration::to_minutes), Means("required, unless each hardener says"), "25 min", "from the data sheet";
    pot_life_at: Temperature = WARMTH, Is("25 °C"), "25 °C", "temperature at which the data sheet states it";
    room: Temperature = WARMTH, Means("as warm as `pot_life_at`"), "30 °C", "temperature of the room; pot life and open time halve for each 10 °C more (common practice, no source); above 32 °C (90 °F) they are at most half (US Army TM 1-1500-204-23-11, p. 169)";
    open_time: Duration = Amount::AboveZero(Duration::to_minutes), Means("twice the pot life (common practice)"), "60 min", "how long it stays workable in a thin film, from the data sheet; full vacuum comes before";
    mixing_time: Duration = Amount::AboveZero(Duration::to_minutes), Is("3 min"), "3 min", "weighing and mixing one batch";
    people: u32 = Count { most: MAX_PEOPLE }, Is("1"), "2", "how many lay up at once";
    reserve: f64 = ShareUpTo { most: 0.9 }, Is("20 %"), "20 %", "share of the pot life that is not planned with";
    largest_batch: Mass = Amount::AboveZero(Mass::to_grams), Is("100 g"), "300 g", "largest mass mixed at once";
    laying_speed: LayingSpeed = Amount::AboveZero(LayingSpeed::to_m2_per_hour), Is("1.5 m2/h"), "1.5 m2/h", "laying and wetting out by one person";
    waste: f64 = ShareUpTo { most: 2.0 }, Is("10 %"), "10 %", "left in pots, brushes, rollers";
    cure: String = SomeText, Means("not on the sheets"), "24 h at 20 °C", "how it cures, for the sheets";
    demould_after: Duration = Amount::AboveZero(Duration::to_minutes), Means("as its data sheet says"), "24 h", "how long the part stays in its mould at least";
    hardness: String = SomeText, Means("a fingernail leaves no mark"), "Barcol 35", "how hard it is before it leaves the mould, as its data sheet says: Shore D, Barcol";
    post_cure: Temperature = OVEN, Means("as its data sheet says"), "60 °C", "how warm a hot post-cure gets";
    post_cure_ramp: HeatingRate = Amount::AboveZero(HeatingRate::to_celsius_per_hour), Means("as its data sheet says"), "10 °C/h", "how fast it is warmed for that at most; needs `post_cure`";
    post_cure_soak: Duration = Amount::AboveZero(Duration::to_minutes), Means("as its data sheet says"), "8 h", "how long it is held there; needs `post_cure`";
    pack: Mass = Amount::AboveZero(Mass::to_grams), Means("not in the costs"), "1 kg", "mass of a pack, A and B together";
    price: Price = PACK_PRICE, Means("not in the costs"), "28.00 USD", "of one pack; needs `pack`";
    on_hand: Mass = Amount::OnHand(Mass::to_grams), Is("0 g"), "400 g", "what is there already; needs `pack`";
}

keys! {
    /// What `[resin.hardener.NAME]` says.
    HardenerKeys: "a hardener", "[resin.hardener.NAME]", "A hardener of the resin. What it does not say is as in `[resin]`; only a hardener without a `pot_life` of its own takes the `open_time` there.";
    ratio: MixRatio = RATIO, Means("as in `[resin]`"), "100:26", "parts A to parts B";
    density_b: Density = Amount::AboveZero(Density::to_g_per_cm3), Means("as in `[resin]`"), "0.95 g/cm3", "of liquid part B";
    pot_life: Duration = Amount::AboveZero(Duration::to_minutes), Means("as in `[resin]`"), "60 min", "from the data sheet";
    open_time: Duration = Amount::AboveZero(Duration::to_minutes), Means("twice the pot life (common practice)"), "150 min", "how long the mixture stays workable in a thin film, from the data sheet";
    cure: String = SomeText, Means("as in `[resin]`"), "48 h at 20 °C", "how it cures, for the sheets";
}

/// Reads `[resin]`; `None` after a complaint.
pub(super) fn read_resin(reader: &mut JobReader, table: &JobTable<'_>) -> Option<ResinSystem> {
    let keys = ResinKeys::read(reader, Some(table));
    if let Some(place) = keys.take.place()
        && !reader.has_shop()
    {
        let help = "name the file at the head of the job: `shop = \"shop.toml\"`";
        reader.error(place, "`take` is for a resin of the shop file", help);
    }
    let supply = packs(reader, &keys.pack, keys.price, &keys.on_hand);
    let tables = keys.hardener.value.unwrap_or_default();
    let of_resin = OfResin {
        table,
        ratio: keys.ratio,
        ratio_by: keys.ratio_by,
        density_a: keys.density_a.value,
        density_b: keys.density_b.value,
        pot_life: keys.pot_life,
        open_time: keys.open_time,
        cure: keys.cure.value,
    };
    let names: Vec<&str> = (tables.iter())
        .map(|(name, _)| name.value.as_str())
        .collect();
    let chosen = chosen(reader, table, &names, keys.use_hardener);
    let mut hardeners: Vec<Option<Hardener>> = Vec::new();
    if tables.is_empty() {
        hardeners.push(of_resin.hardener(reader, None));
    }
    for named in &tables {
        check_name(reader, "hardener", &named.0);
        hardeners.push(of_resin.hardener(reader, Some(named)));
    }
    let mut hardeners: Vec<Hardener> = hardeners.into_iter().collect::<Option<_>>()?;
    Some(ResinSystem {
        pot_life_at: keys.pot_life_at.value,
        room: keys.room.value.unwrap_or(keys.pot_life_at.value),
        mixing_time: keys.mixing_time.value,
        people: keys.people.value,
        name: keys.name.value,
        hardener: hardeners.remove(chosen?),
        other_hardeners: hardeners,
        reserve: keys.reserve.value,
        largest_batch: keys.largest_batch.value,
        laying_speed: keys.laying_speed.value,
        waste: keys.waste.value,
        demould_after: keys.demould_after.value,
        hardness: keys.hardness.value,
        post_cure: read_post_cure(
            reader,
            &keys.post_cure,
            &keys.post_cure_ramp,
            &keys.post_cure_soak,
        ),
        supply,
    })
}

/// The hot cure; complains of a ramp or a soak to no temperature.
fn read_post_cure(
    reader: &mut JobReader,
    at: &KeyEntry<Option<Temperature>>,
    ramp: &KeyEntry<Option<HeatingRate>>,
    soak: &KeyEntry<Option<Duration>>,
) -> Option<PostCure> {
    let other = ramp.at.as_ref().or(soak.at.as_ref());
    if let (false, Some(other)) = (at.is_there(), other) {
        let help = format!("add {}: how warm it gets", at.example());
        reader.error(&other.key, "`post_cure` is missing", &help);
    }
    Some(PostCure {
        at: at.value?,
        ramp: ramp.value,
        soak: soak.value,
    })
}

/// Which of the hardeners with these `names` is mixed in; the first where there are none.
fn chosen(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    names: &[&str],
    stated: KeyEntry<Option<String>>,
) -> Option<usize> {
    let Some(stated) = stated.located() else {
        if names.len() > 1 {
            let message = "`[resin]` has several hardeners and does not say which is mixed in";
            let help = format!("add `use_hardener = \"{}\"`", names[0]);
            reader.error(&table.header, message, &help);
            return None;
        }
        return Some(0);
    };
    let found = names.iter().position(|name| *name == stated.value);
    if found.is_none() {
        let message = format!("`[resin]` has no hardener {}", shown(&stated.value));
        let help = match names {
            [] => "describe it in a table such as `[resin.hardener.slow]`".to_owned(),
            names => suggestion(&stated.value, names, "hardeners are"),
        };
        reader.error(&stated.place, message, &help);
    }
    found
}

/// What `[resin]` says for hardeners that do not say it themselves.
struct OfResin<'a, 't> {
    table: &'a JobTable<'t>,
    ratio: KeyEntry<Option<MixRatio>>,
    ratio_by: KeyEntry<RatioBy>,
    density_a: Option<Density>,
    density_b: Option<Density>,
    pot_life: KeyEntry<Option<Duration>>,
    open_time: KeyEntry<Option<Duration>>,
    cure: Option<String>,
}

impl OfResin<'_, '_> {
    /// The hardener with that name and table, or the only one; `None` after a complaint.
    fn hardener(
        &self,
        reader: &mut JobReader,
        named: Option<&(Located<String>, JobTable<'_>)>,
    ) -> Option<Hardener> {
        let keys = HardenerKeys::read(reader, named.map(|(_, table)| table));
        let table = named.map_or(self.table, |(_, table)| table);
        // One with a pot life of its own has an open time of its own.
        let open_time = match keys.pot_life.is_there() || keys.open_time.is_there() {
            true => keys.open_time.located(),
            false => self.open_time.clone().located(),
        };
        if !(keys.ratio.is_there() || self.ratio.is_there()) {
            table.require(reader, self.ratio.key);
        }
        if !(keys.pot_life.is_there() || self.pot_life.is_there()) {
            table.require(reader, self.pot_life.key);
        }
        let pot_life = keys.pot_life.value.or(self.pot_life.value)?;
        if let Some(open) = &open_time
            && open.value < pot_life
        {
            let help = "a thin film stays workable longer than a full pot; are the two exchanged?";
            reader.warn(&open.place, "`open_time` is shorter than `pot_life`", help);
        }
        let density_b = keys.density_b.value.or(self.density_b);
        let densities = self.density_a.zip(density_b);
        let ratio = keys.ratio.value.or(self.ratio.value)?;
        let ratio = match self.ratio_by.value {
            RatioBy::Weight => Some(ratio),
            RatioBy::Volume => densities.map(|(a, b)| ratio.from_volumes(a, b)),
        };
        if ratio.is_none()
            && let Some(place) = self.ratio_by.place()
        {
            let help = "add `density_a` and `density_b` from the data sheet: batches are weighed";
            reader.error(place, "a ratio by volume needs both densities", help);
        }
        Some(Hardener {
            name: named.map(|(name, _)| name.value.clone()),
            ratio: ratio?,
            densities,
            pot_life,
            open_time: open_time.map(|open| open.value),
            cure: keys.cure.value.or_else(|| self.cure.clone()),
        })
    }
}
