//! The `[cloth.NAME]` tables.

use super::cutting::CuttingKeys;
use super::keys::{Checked, Flag, Key, Listed, OneOf, PER_CENT, Parsed, Quantity, Section, keys};
use super::laminate::{Curing, DENSITY, FIBRE_HELP, StiffnessKeys};
use super::offers::{OfferKeys, PRICE, PriceBreakKeys, read_breaks, read_offers};
use super::reader::JobReader;
use super::rules::{AngleRule, LengthRule};
use super::stock::{self, FlawKeys, StockKeys, StockOf};
use super::table::JobTable;
use super::wording::{shown, suggestion};
use super::{Located, StockEntry, StockShape, check_name};
use crate::cloth::{Cloth, Faces, Look, Rotation, Supply, Weave, WeaveTurns};
use crate::geometry::Face;
use crate::laminate::{Construction, Fibre, Lamina};
use crate::units::{Angle, ArealWeight, Density, Length, PricePerLength};
use crate::words::words;

/// Most cloths in a job.
const MAX_CLOTHS: usize = 500;

pub(super) const GAP: LengthRule = LengthRule::not_negative("gap")
    .help("the gap is the least distance between two cut lines: 0 mm or more")
    .likely(0.0..=100.0)
    .most(1_000.0);
const END_MARGIN: LengthRule = LengthRule::not_negative("end margin")
    .help("the end margin is a strip left unused at each end of the cloth: 0 mm or more")
    .likely(0.0..=500.0)
    .most(10_000.0);
const SELVEDGE: LengthRule = LengthRule::not_negative("selvedge strip")
    .help("the selvedge strip is left unused along each edge of the roll: 0 mm or more")
    .likely(0.0..=100.0)
    .most(10_000.0);
pub(super) const ROLL_WIDTH: LengthRule = LengthRule::positive("roll width")
    .help("write the width of the roll from selvedge to selvedge, for example \"50 in\"")
    .likely(100.0..=5_000.0)
    .most(20_000.0);
/// The widest roll that a job may have.
pub(crate) const fn widest_roll() -> Length {
    ROLL_WIDTH.largest()
}

pub(super) const SOLD_BY: LengthRule = LengthRule::positive("length the cloth is sold by")
    .help("leave `sold_by` out if the shop sells any length")
    .likely(1.0..=200_000.0)
    .most(10_000_000.0);
pub(super) const LEAST_SOLD: LengthRule = LengthRule::positive("least length sold")
    .help("leave `least_sold` out if there is none")
    .likely(1.0..=200_000.0)
    .most(10_000_000.0);
const REPEAT: LengthRule = LengthRule::positive("repeat of the pattern")
    .help("measure from one line to the next like it, for example \"8 mm\"")
    .likely(0.5..=300.0)
    .most(5_000.0);
const EDGE_TAPE: LengthRule = LengthRule::positive("width of the tape")
    .help("write how wide it is, for example \"25 mm\"")
    .likely(5.0..=100.0)
    .most(1_000.0);
const TABLE_LENGTH: LengthRule = LengthRule::positive("cutting table")
    .help("leave `table_length` out if pieces may lie anywhere along the roll")
    .likely(500.0..=30_000.0)
    .most(500_000.0);
const LEAST_REMNANT: LengthRule = LengthRule::positive("least remnant")
    .help("what is left is kept if a rectangle in it has sides at least this long")
    .likely(20.0..=3_000.0)
    .most(100_000.0);

const AREAL_WEIGHT: Checked<Quantity, ArealWeight> = Checked {
    kind: Quantity,
    check: check_areal_weight,
};
/// More than this one way is a unidirectional cloth with a few yarns across.
const WARP_SHARE: Checked<Parsed<f64>, f64> = Checked {
    kind: PER_CENT,
    check: |reader, _, share| {
        let help = "it is the warp's share of the fibre, from the data sheet: 5 % to 95 %; beyond, the cloth is \
                    `unidirectional`";
        let is_possible = (0.05..=0.95).contains(&share.value);
        reader.insist(
            is_possible,
            &share.place,
            "`warp_share` is impossible",
            help,
        )
    },
};
const SPARE: Checked<Parsed<f64>, f64> = Checked {
    kind: PER_CENT,
    check: check_spare,
};

// A gap that a knife can follow on both sides, and room to square off the end of the roll: common
// practice, no source.
keys! {
    /// What `[cutting]` says.
    MarginKeys: "`[cutting]`", "[cutting]", "For the whole job. A cloth may have its own `gap`, `end_margin`, `table_length` and `least_remnant`; a part or a ply its own of the others, the nearest counts.", and CuttingKeys;
    gap: Length = GAP, Is("3 mm"), "3 mm", "least distance between cut lines";
    end_margin: Length = END_MARGIN, Is("10 mm"), "10 mm", "strip at each end of the cloth that is not used";
    table_length: Length = TABLE_LENGTH, Means("no table's end"), "3 m", "length of the cutting table: no piece lies across its end; the roll is cut frame by frame";
    least_remnant: Length = LEAST_REMNANT, Is("150 mm"), "150 mm", "what is left is kept if a rectangle in it has sides this long";
    edge_tape: Length = EDGE_TAPE, Is("25 mm"), "25 mm", "width of the tape that holds edges which ravel; half of it stays on the trim";
}

// The strip along each selvedge is the selvedge itself with its binding threads: common practice, no
// source.
keys! {
    /// What `[cloth.NAME]` says.
    ClothKeys: "a cloth", "[cloth.NAME]", "One for each cloth: what it is, how it is sold, what of it is on hand.";
    weave: Weave = OneOf, Required, "twill", "how the cloth is made; decides how pieces may be turned";
    areal_weight: ArealWeight = AREAL_WEIGHT, Required, "193 g/m2", "mass of the dry cloth by area";
    roll_width: Length = ROLL_WIDTH, Required, "1270 mm", "from selvedge to selvedge";
    selvedge: Length = SELVEDGE, Is("10 mm"), "12 mm", "strip along each selvedge that is not used";
    gap: Length = GAP, Means("as in `[cutting]`"), "3 mm", "least distance between cut lines on this cloth";
    end_margin: Length = END_MARGIN, Means("as in `[cutting]`"), "10 mm", "strip at each end of this cloth that is not used";
    price: PricePerLength = PRICE, Means("no costs"), "38.50 USD/yd", "by running length";
    price_break: Vec<JobTable<'t>> = Listed(PriceBreakKeys::keys), Means("one price"), "[{ from = \"10 yd\", price = \"34.00 USD/yd\" }]", "lower prices of longer lengths; more is bought where that costs less";
    sold_by: Length = SOLD_BY, Means("any length"), "1 yd", "sold in multiples of this (a full roll: `50 m`)";
    least_sold: Length = LEAST_SOLD, Means("any length"), "1 yd", "shortest length that is sold";
    spare: f64 = SPARE, Is("0 %"), "5 %", "extra to buy for mishaps";
    warp_share: f64 = WARP_SHARE, Is("50 %"), "60 %", "share of the fibre of a woven cloth that runs along the warp; other than half, it takes half turns only";
    warp_face: RollFace = OneOf, Means("not named"), "up", "of a satin: which of its faces shows mostly warp, as it comes off the roll";
    line: Angle = AngleRule::Ply, Means("a twill's at 45°"), "45 deg", "how the line of a twill or a print runs, counter-clockwise from the warp, on the upper face as it comes off the roll: lay a square of it down and measure";
    good_face: RollFace = OneOf, Means("either"), "up", "the face that is to be seen: of a satin, a print, a coated cloth; with `seen` of the part it decides which face is up as a ply with `appearance` is laid";
    repeat: Length = REPEAT, Means("not matched"), "8 mm", "after how much its pattern repeats: across its line, or along the warp where it has none or `repeat_weft` is given too; lines of plies with `appearance` then run on across joints and into parts beside them (`runs_on_from`)";
    repeat_weft: Length = REPEAT, Means("as `repeat`, of a cloth without line"), "12 mm", "after how much its pattern repeats along the weft: pieces are then brought together along warp and weft";
    ravels: bool = Flag, Means("by weave: satin and basket do"), "true", "whether edges along warp and weft lose their yarns, so that they are taped before cutting";
    lock: Angle = AngleRule::Corner, Means("unknown"), "50 deg", "how far it can be sheared on a mould before it wrinkles: push a square of it out of shape by hand until it does, and measure how far its corner left 90°";
    lock_across: Angle = AngleRule::Corner, Means("as `lock`"), "35 deg", "of a stitched biaxial: the same where it is pulled across the roll; `lock` is then for pulling along it";
    turns: Rotation = OneOf, Means("by weave"), "half", "rotations that keep the fibres right: `none` for a nap or a print";
    layer_order: LayerOrder = OneOf, Is("kept"), "any", "of a stitched biaxial: `any` where either layer may lie against the mould; then its pieces take quarter turns too, which exchange the layers";
    turn_over: bool = Flag, Means("by weave"), "false", "whether pieces may be cut face down";
    stock: Vec<JobTable<'t>> = Listed(StockKeys::keys), Means("none"), "[{ length = \"3.2 m\" }]", "rolls and remnants on hand, used first, in this order";
    flaw: Vec<JobTable<'t>> = Listed(FlawKeys::keys), Means("none"), "[{ from = \"1.2 m\", length = \"60 mm\" }]", "flawed areas on the roll that is bought";
    offer: Vec<JobTable<'t>> = Listed(OfferKeys::keys), Means("one roll"), "[{ roll_width = \"60 in\" }]", "other rolls of the same cloth; each is planned for itself, splices too, and the cheapest is taken";
    table_length: Length = TABLE_LENGTH, Means("as in `[cutting]`"), "3 m", "length of the cutting table for this cloth";
    least_remnant: Length = LEAST_REMNANT, Means("as in `[cutting]`"), "150 mm", "sides of the smallest remnant that is kept";
    fibre: Fibre = OneOf, Means("thickness, resin and stiffness unknown"), "carbon", "generic density and stiffness";
    fibre_density: Density = DENSITY, Means("by `fibre`"), "1.78 g/cm3", "in place of the generic one";
    fibre_volume_fraction: f64 = PER_CENT, Means("as in `[laminate]`"), "45 %", "share of fibre in the cured ply, by volume";
    fibre_weight_fraction: f64 = PER_CENT, Means("as in `[laminate]`"), "55 %", "the same by weight";
    ply_thickness: Length = Quantity, Means("by the fraction"), "0.25 mm", "of the cured ply as measured, in place of a fraction";
    stiffness: JobTable<'t> = Section(StiffnessKeys::keys), Means("by `fibre`"), "{ e1 = \"115 GPa\", e2 = \"7 GPa\", g12 = \"3 GPa\", nu12 = 0.3 }", "of a woven ply as a whole, of each layer of others; 1 along the warp";
}

/// A cloth as far as it could be read.
struct NamedCloth {
    name: Located<String>,
    weave: Option<Weave>,
    cloth: Option<Cloth>,
    lamina: Option<Lamina>,
    used: bool,
}

/// The cloths of the job, whole or not, and which of them plies have named.
pub(super) struct Cloths {
    entries: Vec<NamedCloth>,
    /// What is on hand, cloth by cloth.
    shelf: Vec<StockEntry>,
}

impl Cloths {
    /// Reads all `[cloth.NAME]` tables of the job.
    pub(super) fn read(
        reader: &mut JobReader,
        named: Vec<(Located<String>, JobTable<'_>)>,
        margins: &MarginKeys<'_>,
        curing: &Curing,
    ) -> Self {
        let mut cloths = Self {
            entries: Vec::new(),
            shelf: Vec::new(),
        };
        if let Some((name, _)) = named.get(MAX_CLOTHS) {
            let help = format!("at most {MAX_CLOTHS} are read; divide the job");
            reader.error(&name.place, "too many cloths", &help);
        }
        for (name, table) in named.into_iter().take(MAX_CLOTHS) {
            check_name(reader, "cloth", &name);
            let same = |e: &&NamedCloth| e.name.value.eq_ignore_ascii_case(&name.value);
            if let Some(first) = cloths.entries.iter().find(same) {
                let help = format!(
                    "{} has {}; names that differ only in case would share a cut file",
                    reader.line(&first.name.place),
                    shown(&first.name.value)
                );
                let message = format!("two cloths are called {}", shown(&name.value));
                reader.error(&name.place, message, &help);
            }
            let keys = ClothKeys::read(reader, Some(&table));
            let (cloth, stock) = read_cloth(
                reader,
                &table,
                (cloths.entries.len(), &name.value),
                &keys,
                margins,
            );
            cloths.shelf.extend(stock);
            cloths.entries.push(NamedCloth {
                weave: keys.weave.value,
                name,
                cloth,
                lamina: curing.lamina(reader, &table, keys),
                used: false,
            });
        }
        cloths.warn_of_currencies(reader);
        cloths
    }

    /// Adds the shelf at `path` to what is on hand of every cloth.
    pub(super) fn put_shelf(&mut self, path: &Located<String>) {
        for (index, entry) in self.entries.iter().enumerate() {
            let margin = (entry.cloth.as_ref()).map_or(Length::ZERO, |cloth| cloth.end_margin);
            self.shelf.push(StockEntry {
                cloth: index,
                name: None,
                shape: StockShape::Shelf { path: path.clone() },
                margin,
                flaws: Vec::new(),
                place: path.place.clone(),
            });
        }
    }

    /// Index of the cloth called `name`; complains if there is none.
    pub(super) fn find(&self, reader: &mut JobReader, name: &Located<String>) -> Option<usize> {
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

    /// The name of a cloth whose edges ravel, and the width of the tape that holds them.
    pub(super) fn edge_tape(&self, index: usize) -> Option<(&str, Length)> {
        let cloth = self.entries[index].cloth.as_ref()?;
        Some((&cloth.name, cloth.edge_tape?))
    }

    /// A cloth that could be read.
    pub(super) fn cloth(&self, index: usize) -> Option<&Cloth> {
        self.entries[index].cloth.as_ref()
    }

    /// A name to show in help texts: that of the first cloth, if there is one.
    pub(super) fn first_name(&self) -> &str {
        let first = self.entries.first();
        first.map_or("twill", |e| e.name.value.as_str())
    }

    pub(super) fn is_empty(&self) -> bool {
        self.entries.is_empty()
    }

    /// Warns of cloths that no ply is cut from.
    pub(super) fn warn_of_unused(&self, reader: &mut JobReader) {
        // What is in the shop is there for other jobs.
        let of_job = (self.entries.iter()).filter(|e| !reader.is_in_shop(&e.name.place));
        let unused: Vec<&NamedCloth> = of_job.filter(|e| !e.used).collect();
        for entry in unused {
            let message = format!("no ply uses cloth {}", shown(&entry.name.value));
            let help = "it is left out of the plan; name it in a ply, or delete the table";
            reader.warn(&entry.name.place, message, help);
        }
    }

    /// Resin cannot be worked out for a cloth that does not say what its fibre is.
    pub(super) fn warn_of_unknown_resin(&self, reader: &mut JobReader) {
        for entry in self.entries.iter().filter(|e| e.used && e.lamina.is_none()) {
            let message = format!(
                "no resin is worked out: cloth {} does not say what its fibre is",
                shown(&entry.name.value)
            );
            reader.warn(&entry.name.place, message, FIBRE_HELP);
        }
    }

    /// Costs in different currencies cannot be added up.
    fn warn_of_currencies(&self, reader: &mut JobReader) {
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
        let whole = |e: NamedCloth| Some((e.cloth?, e.lamina));
        let (cloths, laminae) = self.entries.into_iter().filter_map(whole).unzip();
        (cloths, laminae, self.shelf)
    }
}

/// The cloth, if nothing is wrong with it, and what of it is on hand.
fn read_cloth(
    reader: &mut JobReader,
    table: &JobTable<'_>,
    (index, name): (usize, &str),
    keys: &ClothKeys<'_>,
    margins: &MarginKeys<'_>,
) -> (Option<Cloth>, Vec<StockEntry>) {
    check_usable_width(reader, keys);
    let (roll_width, price) = (keys.roll_width.value, keys.price.value.as_ref());
    let breaks = keys.price_break.value.clone().unwrap_or_default();
    let price_breaks = read_breaks(reader, table, keys.price.is_there(), breaks, price);
    let turns = read_turns(reader, keys);
    let weave = keys.weave.value;
    let warp_face = keys.warp_face.value;
    if let (Some(weave), Some(place)) = (weave, keys.warp_face.place())
        && weave.faces() != Faces::WarpAndWeft
    {
        let message = format!("`warp_face` says nothing of a {} cloth", weave.word());
        reader.warn(place, message, "only a satin has a warp face; leave it out");
    }
    let end_margin = keys.end_margin.value.unwrap_or(margins.end_margin.value);
    let flaws = keys.flaw.value.clone().unwrap_or_default();
    let least_remnant = &margins.least_remnant.value;
    let supply = Supply {
        stock: Vec::new(),
        flaws: stock::read_flaws(reader, table, flaws, roll_width),
        offers: read_offers(reader, table, keys),
        table: keys.table_length.value.or(margins.table_length.value),
        least_remnant: keys.least_remnant.value.unwrap_or(*least_remnant),
        ..Supply::default()
    };
    let of = StockOf {
        table,
        index,
        roll_width,
        end_margin,
    };
    let stock = stock::read_stock(reader, &of, keys.stock.value.clone().unwrap_or_default());
    let cloth = || {
        Some(Cloth {
            name: name.to_owned(),
            weave: weave?,
            turns: turns?,
            warp_share: keys.warp_share.value,
            lock: keys.lock.value,
            lock_across: keys.lock_across.value,
            areal_weight: keys.areal_weight.value?,
            edge_tape: (keys.ravels.value.unwrap_or(weave?.is_loose()))
                .then_some(margins.edge_tape.value),
            warp_face: warp_face.map(Face::from),
            look: Look {
                line: keys.line.value,
                good_face: keys.good_face.value.map(Face::from),
                repeat: keys.repeat.value,
                repeat_weft: keys.repeat_weft.value,
            },
            is_carbon: keys.fibre.value.map(|fibre| fibre == Fibre::CARBON),
            roll_width: roll_width?,
            selvedge: keys.selvedge.value,
            end_margin,
            gap: keys.gap.value.unwrap_or(margins.gap.value),
            price: price.cloned(),
            price_breaks,
            sold_by: keys.sold_by.value.unwrap_or(Length::ZERO),
            least_sold: keys.least_sold.value.unwrap_or(Length::ZERO),
            spare: keys.spare.value,
            supply,
        })
    };
    (cloth(), stock)
}

fn check_usable_width(reader: &mut JobReader, keys: &ClothKeys<'_>) {
    let (Some(width), strip) = (keys.roll_width.value, keys.selvedge.value) else {
        return;
    };
    let place = keys.selvedge.place().or(keys.roll_width.place());
    if strip * 2.0 >= width
        && let Some(place) = place
    {
        let message = format!(
            "two selvedge strips of {} leave nothing of a roll {} wide",
            strip.in_mm_and_inches(),
            width.in_mm_and_inches()
        );
        let help = "make `selvedge` smaller than half of `roll_width`";
        reader.error(place, message, help);
    }
}

/// Complains about an areal weight that is impossible or unlikely.
fn check_areal_weight(
    reader: &mut JobReader,
    _: &'static Key,
    weight: &Located<ArealWeight>,
) -> bool {
    let g = weight.value.to_g_per_m2();
    if g <= 0.0 {
        let wrong = if g < 0.0 { "negative" } else { "zero" };
        let help = "write the mass of the dry cloth by area, for example \"193 g/m2\"";
        reader.error(&weight.place, format!("the areal weight is {wrong}"), help);
        return false;
    }
    if g > 100_000.0 {
        let help = "at most 100000 g/m² is taken";
        reader.error(&weight.place, "the areal weight is impossibly large", help);
        return false;
    }
    if !(10.0..=3000.0).contains(&g) {
        let message = format!("an areal weight of {} is unusual", weight.value);
        let help = "it is usually between 10 and 3000 g/m² (0.3 and 88 oz/yd²); is the unit right?";
        reader.warn(&weight.place, message, help);
    }
    true
}

/// Complains about a share of spare cloth that is impossible or unlikely.
fn check_spare(reader: &mut JobReader, _: &'static Key, spare: &Located<f64>) -> bool {
    let percent = spare.value * 100.0;
    if !(0.0..=1000.0).contains(&percent) {
        let message = format!("a spare of {percent:.0} % is not possible");
        let help = "write the share that is bought extra, for example \"5 %\"";
        reader.error(&spare.place, message, help);
        return false;
    }
    if percent > 50.0 {
        let message = format!("a spare of {percent:.0} % is unusual");
        reader.warn(&spare.place, message, "5 to 10 % is usual");
    }
    true
}

words! {
    /// A face of a cloth as it comes off the roll.
    pub(super) enum RollFace {
        /// The upper one.
        Up = "up",
        /// The lower one.
        Down = "down",
    }
}

impl From<RollFace> for Face {
    fn from(face: RollFace) -> Self {
        match face {
            RollFace::Up => Self::Up,
            RollFace::Down => Self::Down,
        }
    }
}

words! {
    /// Whether it matters which layer of a biaxial lies against the mould.
    pub(super) enum LayerOrder {
        /// It does.
        Kept = "kept",
        /// It does not.
        Any = "any",
    }
}

/// The turns of the weave, or what the job says instead.
fn read_turns(reader: &mut JobReader, keys: &ClothKeys<'_>) -> Option<WeaveTurns> {
    let weave = keys.weave.value?;
    let mut turns = weave.turns();
    let is_uneven = keys.warp_share.value != 0.5;
    if let (true, Some(place)) = (is_uneven, keys.warp_share.place())
        && weave.construction() != Construction::Woven
    {
        let message = format!("`warp_share` does not apply to {} cloth", weave.word());
        reader.error(
            place,
            message,
            "only a woven cloth has warp and weft; leave it out",
        );
        return None;
    }
    let is_any = layers_are_free(reader, keys, weave);
    if is_uneven && turns.rotation == Rotation::Quarter {
        turns.rotation = Rotation::Half;
    }
    if is_any {
        turns.rotation = Rotation::Quarter;
    }
    if let Some(rotation) = keys.turns.clone().located() {
        turns.rotation = rotation.value;
        if weave.has_two_layers() && !is_any && rotation.value == Rotation::Quarter {
            turns.rotation = Rotation::Half;
            let message = "a quarter turn exchanges the two layers of a biaxial, so half turns alone \
                           are used";
            let help = "add `layer_order = \"any\"` if either layer may lie against the mould; a stack \
                        that mirrors itself needs their order";
            reader.warn(&rotation.place, message, help);
        } else {
            if is_uneven && rotation.value == Rotation::Quarter {
                let message =
                    "a quarter turn exchanges warp and weft, which are not alike in this cloth";
                let help =
                    "leave `turns` out, unless it does not matter where the more of the fibre runs";
                reader.warn(&rotation.place, message, help);
            }
            check_rotation(reader, weave, &rotation);
        }
    }
    if let Some(turn_over) = keys.turn_over.clone().located() {
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

/// Whether either layer of a stitched biaxial may lie against the mould.
fn layers_are_free(reader: &mut JobReader, keys: &ClothKeys<'_>, weave: Weave) -> bool {
    let order = &keys.layer_order;
    if let Some(place) = order.place()
        && !weave.has_two_layers()
    {
        let message = format!("`layer_order` does not apply to {} cloth", weave.word());
        let help = "only a stitched biaxial has two layers; leave it out";
        reader.warn(place, message, help);
    }
    weave.has_two_layers() && order.value == LayerOrder::Any
}

/// Warns of a rotation that changes what a ply is.
fn check_rotation(reader: &mut JobReader, weave: Weave, rotation: &Located<Rotation>) {
    let is_crosswise = matches!(rotation.value, Rotation::Quarter | Rotation::Any);
    if !weave.keeps_fibres(rotation.value) {
        let message = format!(
            "a {} cloth turned that way has its fibres in other directions than designed",
            weave.word()
        );
        let help = "leave `turns` out unless the direction of the fibres does not matter; the plan \
                    states the angle of every piece as cut";
        reader.warn(&rotation.place, message, help);
    } else if weave.faces() == Faces::WarpAndWeft && is_crosswise {
        let message = format!(
            "a {} turned a quarter has its long floats across",
            weave.word()
        );
        let help = "warp shows on one face and weft on the other; leave `turns` out to keep the \
                    floats along the warp";
        reader.warn(&rotation.place, message, help);
    }
}
