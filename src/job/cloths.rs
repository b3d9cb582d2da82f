//! The `[cloth.NAME]` tables.

use super::Located;
use super::laminate::{CLOTH_KEYS, Curing};
use super::reader::Reader;
use super::rules::{self, LIKELY_SPARE, MAX_CLOTHS};
use super::table::Table;
use super::wording::{shown, suggestion};
use crate::cloth::{Cloth, Rotation, Weave, WeaveTurns};
use crate::laminate::Lamina;
use crate::units::{ArealWeight, Length, PricePerLength, read_percent};

const KEYS: [&str; 12] = [
    "weave",
    "areal_weight",
    "roll_width",
    "selvedge",
    "gap",
    "end_margin",
    "price",
    "sold_by",
    "least_sold",
    "spare",
    "turns",
    "turn_over",
];

/// Strip along each selvedge that is not used unless the job says otherwise: the selvedge itself
/// with its binding threads (common practice, no source).
const SELVEDGE: Length = Length::mm(10.0);

/// Defaults for all cloths, from `[cutting]`.
#[derive(Clone, Copy)]
pub(super) struct Margins {
    pub gap: Length,
    pub end_margin: Length,
}

impl Margins {
    /// The keys, in `[cutting]` and `[cloth.NAME]` alike.
    pub(super) const KEYS: [&str; 2] = ["gap", "end_margin"];

    /// What is in force where `table` is read inside something that has `self` in force.
    pub(super) fn overridden_by(self, reader: &mut Reader, table: &Table<'_>) -> Self {
        let gap = table.length(reader, "gap", &rules::GAP);
        let end_margin = table.length(reader, "end_margin", &rules::END_MARGIN);
        Self {
            gap: gap.map_or(self.gap, |gap| gap.value),
            end_margin: end_margin.map_or(self.end_margin, |margin| margin.value),
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
        }
    }
}

/// A cloth as far as it could be read.
struct Entry {
    name: Located<String>,
    weave: Option<Weave>,
    cloth: Option<Cloth>,
    lamina: Option<Lamina>,
    used: bool,
}

/// The cloths of the job, whole or not, and which of them plies have named.
pub(super) struct Cloths(Vec<Entry>);

impl Cloths {
    /// Reads all `[cloth.NAME]` tables of `job`.
    pub(super) fn read(
        reader: &mut Reader,
        job: &Table<'_>,
        margins: Margins,
        curing: &Curing,
    ) -> Self {
        let mut entries: Vec<Entry> = Vec::new();
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
            let cloth = read_cloth(reader, &table, &name.value, weave, margins);
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
        let cloths = Self(entries);
        cloths.warn_of_currencies(reader);
        cloths
    }

    /// Index of the cloth called `name`; complains if there is none.
    pub(super) fn find(&self, reader: &mut Reader, name: &Located<String>) -> Option<usize> {
        let found = self.0.iter().position(|e| e.name.value == name.value);
        // Where no cloth could be read at all, that has been said.
        if found.is_none() && !self.0.is_empty() {
            let words: Vec<&str> = self.0.iter().map(|e| e.name.value.as_str()).collect();
            let help = suggestion(&name.value, &words, "cloths of this job are");
            let message = format!("there is no cloth {}", shown(&name.value));
            reader.error(&name.place, message, &help);
        }
        found
    }

    /// Remembers that a ply is cut from the cloth.
    pub(super) fn mark_used(&mut self, index: usize) {
        self.0[index].used = true;
    }

    /// The weave of a cloth, if it could be read.
    pub(super) fn weave(&self, index: usize) -> Option<Weave> {
        self.0[index].weave
    }

    /// A name to show in help texts: that of the first cloth, if there is one.
    pub(super) fn first_name(&self) -> &str {
        self.0.first().map_or("twill", |e| e.name.value.as_str())
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Warns of cloths that no ply is cut from.
    pub(super) fn warn_of_unused(&self, reader: &mut Reader) {
        for entry in self.0.iter().filter(|e| !e.used) {
            let message = format!("no ply uses cloth {}", shown(&entry.name.value));
            let help = "it is left out of the plan; name it in a ply, or delete the table";
            reader.warn(&entry.name.place, message, help);
        }
    }

    /// Resin cannot be worked out for a cloth that does not say what its fibre is.
    pub(super) fn warn_of_unknown_resin(&self, reader: &mut Reader) {
        for entry in self.0.iter().filter(|e| e.used && e.lamina.is_none()) {
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
        let mut priced = self.0.iter().filter_map(|entry| {
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

    /// The cloths and what their plies become; only those without an error.
    pub(super) fn into_cloths(self) -> (Vec<Cloth>, Vec<Option<Lamina>>) {
        let whole = |e: Entry| Some((e.cloth?, e.lamina));
        self.0.into_iter().filter_map(whole).unzip()
    }
}

fn read_weave(reader: &mut Reader, table: &Table<'_>) -> Option<Weave> {
    table.require(reader, "weave", "\"twill\"");
    let words = Weave::ALL.map(|weave| (weave.word(), weave));
    table
        .choice(reader, "weave", &words)
        .map(|weave| weave.value)
}

fn read_cloth(
    reader: &mut Reader,
    table: &Table<'_>,
    name: &str,
    weave: Option<Weave>,
    margins: Margins,
) -> Option<Cloth> {
    table.check_keys(reader, "a cloth", &[&KEYS[..], &CLOTH_KEYS].concat());
    table.require(reader, "areal_weight", "\"193 g/m2\"");
    table.require(reader, "roll_width", "\"1270 mm\"");
    let areal_weight = table
        .quantity::<ArealWeight>(reader, "areal_weight", "193 g/m2")
        .filter(|weight| rules::check_areal_weight(reader, weight));
    let roll_width = table.length(reader, "roll_width", &rules::ROLL_WIDTH);
    let selvedge = table.length(reader, "selvedge", &rules::SELVEDGE);
    if let Some(width) = &roll_width {
        check_usable_width(reader, width, selvedge.as_ref());
    }
    let Margins { gap, end_margin } = margins.overridden_by(reader, table);
    let sold_by = table.length(reader, "sold_by", &rules::SOLD_BY);
    let least_sold = table.length(reader, "least_sold", &rules::LEAST_SOLD);
    let price = read_price(reader, table);
    let spare = read_spare(reader, table);
    let turns = read_turns(reader, table, weave);
    Some(Cloth {
        name: name.to_owned(),
        weave: weave?,
        turns: turns?,
        areal_weight: areal_weight?.value,
        roll_width: roll_width?.value,
        selvedge: selvedge.map_or(SELVEDGE, |selvedge| selvedge.value),
        end_margin,
        gap,
        price,
        sold_by: sold_by.map_or(Length::ZERO, |length| length.value),
        least_sold: least_sold.map_or(Length::ZERO, |length| length.value),
        spare,
    })
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
    let price: Located<PricePerLength> = table.quantity(reader, "price", "38.50 USD/yd")?;
    if price.value.amount.to_cents() < 0 {
        let help = "write the price of one yard or metre, for example \"38.50 USD/yd\"";
        reader.error(&price.place, "the price is negative", help);
        return None;
    }
    Some(price.value)
}

/// Spare cloth as a fraction; none if absent or wrong.
fn read_spare(reader: &mut Reader, table: &Table<'_>) -> f64 {
    let Some(spare) = table.read_with(reader, "spare", "5 %", read_percent) else {
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
    let rotations = [
        ("half", Rotation::Half),
        ("quarter", Rotation::Quarter),
        ("any", Rotation::Any),
    ];
    let rotation = table.choice(reader, "turns", &rotations);
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
        } else if weave == Weave::Satin && rotation.value != Rotation::Half {
            let message = "a satin turned a quarter has its long floats across";
            let help = "warp shows on one face and weft on the other; leave `turns` out to keep the \
                        floats along the warp";
            reader.warn(&rotation.place, message, help);
        }
    }
    if let Some(turn_over) = turn_over {
        turns.turn_over = turn_over.value;
        if turn_over.value && weave == Weave::Satin {
            let message = "a satin that is turned over shows its other face";
            let help = "the faces carry warp and weft unequally; leave `turn_over` out to keep \
                        one face up";
            reader.warn(&turn_over.place, message, help);
        }
    }
    Some(turns)
}
