//! The vacuum bag: the table `[bag]` and its layers.

use super::cloths::{GAP, LEAST_SOLD, MarginKeys, ROLL_WIDTH, SOLD_BY};
use super::keys::{Amount, Checked, Count, NameList, Named, Quantity, ShareUpTo, keys};
use super::reader::JobReader;
use super::rules::{LengthRule, MAX_NAME};
use super::supplies::{PACK_PRICE, Packs};
use super::table::JobTable;
use super::wording::{shown, suggestion};
use super::{Located, Part, check_name};
use crate::cloth::{Cloth, Weave};
use crate::diag::counted;
use crate::units::{ArealWeight, Duration, Length, Pressure, Price, PricePerLength};

/// What goes over a laid-up part, and the vacuum under it.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Bagging {
    /// The layers from the part outwards.
    pub layers: Vec<BagLayer>,
    /// Depth of the vacuum below the atmosphere.
    pub vacuum: Pressure,
    /// How far the line of sealant tape lies outside the widest layer below the bag.
    pub tape_margin: Length,
    /// How far the bag film reaches beyond the tape.
    pub film_margin: Length,
    /// Pleats in the bag of one part.
    pub pleats: u32,
    /// Height of a pleat; each adds twice its height to the film's edge and to the tape.
    pub pleat_height: Length,
    /// Tape bought beyond the run, as a share of it: laps and second lines.
    pub tape_spare: f64,
    /// From the last ply to full vacuum.
    pub bagging_time: Duration,
    /// How long the leak check takes, pump off.
    pub leak_check: Duration,
    /// How the tape is sold: length of a roll.
    pub tape: Packs<Length>,
}

/// One layer of the bag stack.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct BagLayer {
    /// The roll it is cut from; its name is the layer's.
    pub roll: Cloth,
    /// What it is.
    pub kind: LayerKind,
    /// How far it reaches beyond the part's net outline. Not used for the bag film.
    pub margin: Length,
    /// Resin it takes up under the bag, by area of the wet cloth.
    pub take_up: ArealWeight,
    /// Length of it on hand.
    pub on_hand: Length,
    /// How far its widths lap where it is wider than its roll.
    pub lap: Length,
}

impl BagLayer {
    /// Whether one sheet of it covers all parts of a bag that several share.
    #[must_use]
    pub fn covers_bag(&self) -> bool {
        self.kind == LayerKind::Bag || self.roll.name == BREATHER
    }
}

/// The bags of `parts` by their index, in the order of their first parts; with its name where several share one.
#[must_use]
pub fn parts_by_bag<'a>(parts: &[&'a Part]) -> Vec<(Option<&'a str>, Vec<usize>)> {
    let name = |idx: usize| parts[idx].bag.as_ref().map(|bag| bag.value.as_str());
    let is_first =
        |idx: &usize| name(*idx).is_none() || (0..*idx).all(|before| name(before) != name(*idx));
    let firsts = (0..parts.len()).filter(is_first);
    firsts
        .map(|first| {
            let with = (first..parts.len())
                .filter(|idx| *idx == first || name(*idx).is_some() && name(*idx) == name(first));
            let own: Vec<usize> = with.collect();
            (name(first).filter(|_| own.len() > 1), own)
        })
        .collect()
}

/// Complains about parts that cannot share the bag that they name.
pub(super) fn check_shared(reader: &mut JobReader, parts: &[Part], bagging: Option<&Bagging>) {
    for (i, part) in parts.iter().enumerate() {
        let Some(bag) = &part.bag else { continue };
        let what = format!("part {}", shown(&part.name));
        if bagging.is_none() {
            let message = format!("{what} names a bag, and the job has none");
            reader.error(
                &bag.place,
                message,
                "add a table `[bag]`, or leave out `bag`",
            );
            return;
        }
        if let Some(other) = parts
            .iter()
            .find(|other| other.name.eq_ignore_ascii_case(&bag.value))
        {
            let message = format!("a bag and a part are both called {}", shown(&other.name));
            reader.error(
                &bag.place,
                message,
                "ids of pieces begin with these names: call the bag something else",
            );
        }
        let with = |other: &&Part| other.bag.as_ref().is_some_and(|b| b.value == bag.value);
        let first = parts[..i].iter().find(with);
        let stages = |part: &Part| part.stages().len();
        if let Some(first) = first.filter(|first| stages(first) != stages(part)) {
            let message = format!(
                "{what} is laid in {}, and {} of the same bag in {}",
                counted(stages(part), "stage", "stages"),
                shown(&first.name),
                counted(stages(first), "stage", "stages")
            );
            let help = "a stage is cured before the next is laid, and parts of one bag are cured together, stage by \
                        stage: give them equally many stages, or make the first stages of the one a part of its own, \
                        or leave out `bag`";
            reader.error(&bag.place, message, help);
        }
        if first.is_some_and(|first| first.sets != part.sets) {
            let message = format!(
                "{what} is not made as often as the others of bag {}",
                shown(&bag.value)
            );
            reader.error(
                &bag.place,
                message,
                "a shared bag holds one set of each part: give them the same `sets`",
            );
        }
        if first.is_some_and(|first| first.tool != part.tool) {
            let message = format!(
                "the parts of bag {} name moulds of different sizes",
                shown(&bag.value)
            );
            let help = "`tool` is then the size of what all of them lie on: give it alike for each, or leave it out";
            reader.error(&bag.place, message, help);
        }
        if parts.iter().filter(with).count() == 1 {
            let message = format!("only {what} lies in bag {}", shown(&bag.value));
            reader.warn(
                &bag.place,
                message,
                "name the same bag in the parts that share it",
            );
        }
    }
}

/// What a layer of the stack is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LayerKind {
    /// Cut to the part's outline and a margin.
    Outline,
    /// The bag itself: a rectangle with its pleats.
    Bag,
}

/// A layer that is known by name.
struct Usual {
    name: &'static str,
    margin_mm: f64,
    take_up: f64,
    areal_weight: f64,
}

/// The usual stack from the part outwards.
///
/// # Source
/// Margins: peel ply 1 in past the patch (US Army TM 55-1520-240-23-4, p. 5-397); release film 2 in
/// past a wet resin repair (US Army TM 1-1500-204-23-1, p. 182); bleeder and breather 2 to 3 in
/// (FAA AC 43.13-1B, p. 3-7). Resin taken up and dry weights: common practice, no source.
const USUAL: [Usual; 4] = [
    Usual {
        name: PEEL_PLY,
        margin_mm: 25.4,
        take_up: 60.0,
        areal_weight: 85.0,
    },
    Usual {
        name: "release-film",
        margin_mm: 50.8,
        take_up: 0.0,
        areal_weight: 25.0,
    },
    Usual {
        name: BREATHER,
        margin_mm: 76.2,
        take_up: 40.0,
        areal_weight: 150.0,
    },
    Usual {
        name: BAG_FILM,
        margin_mm: 0.0,
        take_up: 0.0,
        areal_weight: 60.0,
    },
];

/// Keeps what is laid on the cured part clean and rough.
pub(super) const PEEL_PLY: &str = "peel-ply";
const BAG_FILM: &str = "bag-film";
const BREATHER: &str = "breather";

/// The deepest vacuum there can be, Pa: the standard atmosphere (NIST SP 811: 101 325 Pa).
const ATMOSPHERE: f64 = 101_325.0;

/// Below this (inHg) a bag is said to be weak: the least where no data say otherwise.
///
/// # Source
/// US Army TM 1-1500-204-23-11, p. 172: 20 inHg; FAA AC 43.13-1B, p. 3-8: 22 inHg as a rule.
const LEAST_VACUUM: f64 = 20.0;

const fn margin(what: &'static str) -> LengthRule {
    LengthRule::not_negative(what)
        .help("write how far it reaches: 0 mm or more")
        .likely(0.0..=500.0)
        .most(5_000.0)
}

const TAPE_MARGIN: LengthRule = margin("tape margin");
const FILM_MARGIN: LengthRule = margin("film margin");
const PLEAT_HEIGHT: LengthRule = margin("pleat height");
const LAYER_MARGIN: LengthRule = margin("margin of the layer");
const LAP: LengthRule = LengthRule::positive("lap of the layer")
    .help("write how far one width lies on the other, for example \"50 mm\"")
    .likely(10.0..=300.0)
    .most(5_000.0);
const ON_HAND: LengthRule = LengthRule::not_negative("length on hand")
    .help("write what is left of the roll: 0 or more")
    .likely(0.0..=500_000.0)
    .most(10_000_000.0);

const VACUUM: Checked<Quantity, Pressure> = Checked {
    kind: Quantity,
    check: check_vacuum,
};
const TAKE_UP: Checked<Quantity, ArealWeight> = Checked {
    kind: Quantity,
    check: |reader, _, take_up| {
        let help = "write the resin it takes up, for example \"60 g/m2\", or \"0 g/m2\"";
        reader.insist(
            take_up.value.to_g_per_m2() >= 0.0,
            &take_up.place,
            "`take_up` is negative",
            help,
        )
    },
};

/// Most layers of a stack, and most pleats of a bag.
const MAX_LAYERS: usize = 20;
pub(crate) const MAX_PLEATS: u32 = 100;

// Vacuum (above the 22 inHg of FAA AC 43.13-1B), tape margin, film margin, four pleats of 3 in, a
// roll of tape of 25 ft, spare, bagging time and leak check: common practice, no source. The rule that a pleat adds twice its
// height likewise.
keys! {
    /// What `[bag]` says.
    BagKeys: "`[bag]`", "[bag]", "The vacuum bag of each part. An empty `[bag]` takes the usual stack. The margins of its layers are from US Army TM 55-1520-240-23-4 and TM 1-1500-204-23-1 and FAA AC 43.13-1B.";
    stack: Vec<String> = NameList, Is("[\"peel-ply\", \"release-film\", \"breather\", \"bag-film\"]"), "[\"peel-ply\", \"breather\", \"bag-film\"]", "layers from the part outwards";
    vacuum: Pressure = VACUUM, Is("25 inHg"), "25 inHg", "below the atmosphere";
    tape_margin: Length = TAPE_MARGIN, Is("25 mm"), "50 mm", "how far the tape lies beyond the widest layer";
    film_margin: Length = FILM_MARGIN, Is("25 mm"), "50 mm", "how far the film reaches beyond the tape";
    pleats: u32 = Count { most: MAX_PLEATS }, Is("4"), "4", "pleats in the bag of one part";
    pleat_height: Length = PLEAT_HEIGHT, Is("3 in"), "50 mm", "each pleat adds twice this to tape and film edge";
    tape_roll: Length = Amount::AboveZero(Length::to_mm), Is("25 ft"), "25 ft", "sealant tape on a roll";
    tape_price: Price = PACK_PRICE, Means("not in the costs"), "28.00 USD", "of one roll of tape";
    tape_on_hand: Length = Amount::OnHand(Length::to_mm), Is("0 ft"), "25 ft", "tape that is there already";
    tape_spare: f64 = ShareUpTo { most: 5.0 }, Is("10 %"), "10 %", "extra tape for laps and second lines";
    bagging_time: Duration = Amount::AboveZero(Duration::to_minutes), Is("20 min"), "30 min", "from the last ply to full vacuum";
    leak_check: Duration = Amount::AboveZero(Duration::to_minutes), Is("5 min"), "5 min", "how long the leak check takes";
    layer: Vec<(Located<String>, JobTable<'t>)> = Named(BagLayerKeys::keys), Means("the usual layers"), "{ breather = { margin = \"60 mm\" } }", "what differs from the usual layers, and layers of your own";
}

// The width of a roll of film or fabric and the lap of widths: common practice, no source.
keys! {
    /// What `[bag.layer.NAME]` says.
    BagLayerKeys: "a bag layer", "[bag.layer.NAME]", "One layer of the stack. Layers of your own need a `margin`.";
    margin: Length = LAYER_MARGIN, Means("peel ply 1 in, release film 2 in, breather 3 in"), "50 mm", "how far it reaches beyond the part";
    take_up: ArealWeight = TAKE_UP, Means("peel ply 60 g/m2, breather 40 g/m2, others none"), "60 g/m2", "resin it takes up";
    areal_weight: ArealWeight = Amount::AboveZero(ArealWeight::to_g_per_m2), Means("by layer"), "85 g/m2", "its dry mass by area";
    roll_width: Length = ROLL_WIDTH, Is("1500 mm"), "1270 mm", "width of its roll";
    price: PricePerLength = Quantity, Means("not in the costs"), "6.50 USD/yd", "by running length";
    sold_by: Length = SOLD_BY, Means("any length"), "1 yd", "sold in multiples of this";
    least_sold: Length = LEAST_SOLD, Means("any length"), "1 yd", "shortest length that is sold";
    spare: f64 = ShareUpTo { most: 5.0 }, Is("0 %"), "5 %", "extra to buy for mishaps";
    on_hand: Length = ON_HAND, Is("0 m"), "3 m", "length that is there already";
    gap: Length = GAP, Is("3 mm"), "3 mm", "least distance between cut lines";
    lap: Length = LAP, Is("50 mm"), "50 mm", "how far widths lap where the layer is wider than its roll; bag film with sealant tape in the lap";
}

/// Reads `[bag]`.
pub(super) fn read_bagging(reader: &mut JobReader, table: &JobTable<'_>) -> Bagging {
    let keys = BagKeys::read(reader, Some(table));
    let tables = keys.layer.value.unwrap_or_default();
    let stack = keys.stack.value;
    let place = keys.stack.at.map(|at| at.value);
    Bagging {
        layers: read_layers(reader, (&stack, place.as_ref()), &tables),
        vacuum: keys.vacuum.value,
        tape_margin: keys.tape_margin.value,
        film_margin: keys.film_margin.value,
        pleats: keys.pleats.value,
        pleat_height: keys.pleat_height.value,
        tape_spare: keys.tape_spare.value,
        bagging_time: keys.bagging_time.value,
        leak_check: keys.leak_check.value,
        tape: Packs {
            pack: keys.tape_roll.value,
            price: keys.tape_price.value,
            on_hand: keys.tape_on_hand.value,
        },
    }
}

fn check_vacuum(
    reader: &mut JobReader,
    _: &'static super::keys::Key,
    vacuum: &Located<Pressure>,
) -> bool {
    let pascals = vacuum.value.to_pascals();
    if pascals <= 0.0 || pascals > ATMOSPHERE {
        let help = "write how far below the atmosphere it goes, above 0 and at most 29.9 inHg \
                    (101.3 kPa), for example \"25 inHg\"";
        reader.error(&vacuum.place, "there is no such vacuum", help);
        return false;
    }
    let inches = vacuum.value.to_inches_of_mercury();
    if inches < LEAST_VACUUM {
        let message = format!("a vacuum of {inches:.1} inHg is weak");
        let help =
            "22 inHg (75 kPa) is usual at least, 20 inHg (68 kPa) where no data say otherwise";
        reader.warn(&vacuum.place, message, help);
    }
    true
}

/// The layers named by the stack, with what their tables say.
fn read_layers(
    reader: &mut JobReader,
    (names, place): (&[String], Option<&crate::diag::Place>),
    tables: &[(Located<String>, JobTable<'_>)],
) -> Vec<BagLayer> {
    for (name, _) in tables {
        check_name(reader, "bag layer", name);
    }
    for (name, _) in tables {
        if !names.contains(&name.value) {
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            let help = suggestion(&name.value, &names, "layers of the stack are");
            let message = format!("the stack has no layer {}", shown(&name.value));
            reader.error(&name.place, message, &help);
        }
    }
    if let (Some(place), Some(wrong)) = (place, wrong_with_stack(names)) {
        let help = "name each layer once, from the part outwards";
        reader.error(place, format!("the stack {wrong}"), help);
        return Vec::new();
    }
    let mut layers = Vec::new();
    for name in names {
        let table = tables.iter().find(|(n, _)| n.value == *name);
        let usual = USUAL.iter().find(|usual| usual.name == name);
        if let (None, None, Some(place)) = (table, usual, place) {
            let help = format!("add a table `[bag.layer.{name}]` with its `margin`");
            let message = format!("nothing is known of layer {}", shown(name));
            reader.error(place, message, &help);
        } else {
            layers.extend(layer(reader, name, table.map(|(_, t)| t), usual));
        }
    }
    layers
}

fn wrong_with_stack(names: &[String]) -> Option<String> {
    if names.len() > MAX_LAYERS {
        return Some("has too many layers".to_owned());
    }
    if names.iter().any(|n| n.len() > MAX_NAME) {
        return Some("has a name that is too long".to_owned());
    }
    let repeated = (1..names.len()).find(|&i| names[..i].contains(&names[i]))?;
    Some(format!("names {} twice", shown(&names[repeated])))
}

fn layer(
    reader: &mut JobReader,
    name: &str,
    table: Option<&JobTable<'_>>,
    usual: Option<&Usual>,
) -> Option<BagLayer> {
    let keys = BagLayerKeys::read(reader, table);
    if let (Some(table), None) = (table, usual) {
        table.require(reader, keys.margin.key);
    }
    let lap = keys.lap.value;
    if lap * 2.0 > keys.roll_width.value {
        let help =
            "a width laps its neighbours on both sides: make `lap` less than half of `roll_width`";
        let place = keys.lap.at.as_ref().or(keys.roll_width.at.as_ref());
        let place = place.map(|at| at.value.clone());
        let message = "the roll is narrower than two laps";
        reader.error(place.as_ref()?, message, help);
    }
    let areal = |g: f64| ArealWeight::g_per_m2(g);
    let weight = || areal(usual.map_or(100.0, |u| u.areal_weight));
    let take_up = || areal(usual.map_or(0.0, |u| u.take_up));
    let is_film = name == BAG_FILM;
    Some(BagLayer {
        roll: Cloth {
            name: name.to_owned(),
            weave: Weave::NonDirectional,
            turns: Weave::NonDirectional.turns(),
            warp_share: 0.5,
            edge_tape: None,
            warp_face: None,
            look: crate::cloth::Look::default(),
            lock: None,
            lock_across: None,
            areal_weight: keys.areal_weight.value.unwrap_or_else(weight),
            is_carbon: Some(false),
            roll_width: keys.roll_width.value,
            selvedge: Length::ZERO,
            end_margin: MarginKeys::read(reader, None).end_margin.value,
            gap: keys.gap.value,
            price: keys.price.value,
            price_breaks: Vec::new(),
            supply: crate::cloth::Supply::default(),
            sold_by: keys.sold_by.value.unwrap_or(Length::ZERO),
            least_sold: keys.least_sold.value.unwrap_or(Length::ZERO),
            spare: keys.spare.value,
        },
        kind: match is_film {
            true => LayerKind::Bag,
            false => LayerKind::Outline,
        },
        margin: (keys.margin.value).or(usual.map(|u| Length::mm(u.margin_mm)))?,
        take_up: keys.take_up.value.unwrap_or_else(take_up),
        on_hand: keys.on_hand.value,
        lap,
    })
}
