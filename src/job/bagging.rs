//! The vacuum bag: the table `[bag]` and its layers.

use super::Located;
use super::cloths::Margins;
use super::reader::Reader;
use super::rules::{LengthRule, MAX_NAME, Sign};
use super::supplies::{Supply, positive, supply};
use super::table::Table;
use super::wording::{shown, suggestion};
use crate::cloth::{Cloth, Weave};
use crate::units::{ArealWeight, Length, Pressure, PricePerLength};

/// What goes over a laid-up part, and the vacuum under it.
#[derive(Clone, Debug, PartialEq)]
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
    /// How the tape is sold: length of a roll.
    pub tape: Supply<Length>,
}

/// One layer of the bag stack.
#[derive(Clone, Debug, PartialEq)]
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
        name: "peel-ply",
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
        name: "breather",
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

const BAG_FILM: &str = "bag-film";

/// Width of a roll of film or fabric (common practice, no source).
const ROLL_WIDTH: Length = Length::mm(1500.0);

/// The deepest vacuum there can be, Pa: the standard atmosphere (NIST SP 811: 101 325 Pa).
const ATMOSPHERE: f64 = 101_325.0;

/// Below this (inHg) a bag is said to be weak: the least where no data say otherwise.
///
/// # Source
/// US Army TM 1-1500-204-23-11, p. 172: 20 inHg; FAA AC 43.13-1B, p. 3-8: 22 inHg as a rule.
const LEAST_VACUUM: f64 = 20.0;

const fn margin(what: &'static str) -> LengthRule {
    LengthRule {
        what,
        sign: Sign::NotNegative,
        sign_help: "write how far it reaches: 0 mm or more",
        likely: 0.0..=500.0,
        most: 5_000.0,
    }
}

pub(super) const TAPE_MARGIN: LengthRule = margin("tape margin");
pub(super) const FILM_MARGIN: LengthRule = margin("film margin");
pub(super) const PLEAT_HEIGHT: LengthRule = margin("pleat height");
pub(super) const LAYER_MARGIN: LengthRule = margin("margin of the layer");
pub(super) const ON_HAND: LengthRule = LengthRule {
    what: "length on hand",
    sign: Sign::NotNegative,
    sign_help: "write what is left of the roll: 0 or more",
    likely: 0.0..=500_000.0,
    most: 10_000_000.0,
};

/// Most layers of a stack, and most pleats of a bag.
const MAX_LAYERS: usize = 20;
pub(super) const MAX_PLEATS: u32 = 100;

/// Reads `[bag]`; `None` if there is none.
pub(super) fn read_bagging(reader: &mut Reader, job: &Table<'_>) -> Option<Bagging> {
    let table = job.table(reader, "bag", "`[bag]`")?;
    table.check_keys(reader);
    let vacuum = read_vacuum(reader, &table);
    let tape_margin = table.length(reader, "tape_margin");
    let film_margin = table.length(reader, "film_margin");
    let pleats = table.count(reader, "pleats");
    let height = table.length(reader, "pleat_height");
    let tape_keys = ["tape_roll", "tape_price", "tape_on_hand"];
    let tape = supply(reader, &table, tape_keys, Length::to_mm, Length::ZERO);
    let spare = super::supplies::share(reader, &table, "tape_spare", 5.0);
    let layers = read_layers(reader, &table);
    // Tape margin, film margin, four pleats of 3 in and spare: common practice, no source. The
    // rule that a pleat adds twice its height likewise.
    Some(Bagging {
        layers,
        vacuum: vacuum.unwrap_or_else(usual_vacuum),
        tape_margin: tape_margin.map_or(Length::mm(25.0), |m| m.value),
        film_margin: film_margin.map_or(Length::mm(25.0), |m| m.value),
        pleats: pleats.map_or(4, |p| p.value),
        pleat_height: height.map_or(Length::inches(3.0), |h| h.value),
        tape_spare: spare.unwrap_or(0.10),
        // A roll of 25 ft (common practice, no source).
        tape: tape.unwrap_or(Supply {
            pack: Length::inches(300.0),
            price: None,
            on_hand: Length::ZERO,
        }),
    })
}

/// 25 inHg (common practice, no source; above the 22 inHg of FAA AC 43.13-1B).
fn usual_vacuum() -> Pressure {
    "25 inHg".parse().expect("a pressure with its unit")
}

fn read_vacuum(reader: &mut Reader, table: &Table<'_>) -> Option<Pressure> {
    let vacuum: Located<Pressure> = table.quantity(reader, "vacuum")?;
    let pascals = vacuum.value.to_pascals();
    if pascals <= 0.0 || pascals > ATMOSPHERE {
        let help = "write how far below the atmosphere it goes, above 0 and at most 29.9 inHg \
                    (101.3 kPa), for example \"25 inHg\"";
        reader.error(&vacuum.place, "there is no such vacuum", help);
        return None;
    }
    if vacuum.value.to_inches_of_mercury() < LEAST_VACUUM {
        let message = format!(
            "a vacuum of {:.1} inHg is weak",
            vacuum.value.to_inches_of_mercury()
        );
        let help =
            "22 inHg (75 kPa) is usual at least, 20 inHg (68 kPa) where no data say otherwise";
        reader.warn(&vacuum.place, message, help);
    }
    Some(vacuum.value)
}

/// The layers named by `stack`, with what their tables say.
fn read_layers(reader: &mut Reader, bag: &Table<'_>) -> Vec<BagLayer> {
    let usual_names = USUAL.map(|usual| usual.name.to_owned());
    let stack = bag.words(reader, "stack");
    let tables = bag.named_tables(reader, "layer");
    for (name, _) in &tables {
        super::check_name(reader, "bag layer", name);
    }
    let names = stack.as_ref().map_or(&usual_names[..], |s| &s.value);
    let place = stack.as_ref().map(|s| &s.place);
    for (name, _) in &tables {
        if !names.contains(&name.value) {
            let names: Vec<&str> = names.iter().map(String::as_str).collect();
            let help = suggestion(&name.value, &names, "layers of the stack are");
            let message = format!("the stack has no layer {}", shown(&name.value));
            reader.error(&name.place, message, &help);
        }
    }
    if let Some(place) = place {
        let repeated = (1..names.len()).find(|&i| names[..i].contains(&names[i]));
        let wrong = if names.len() > MAX_LAYERS {
            Some("has too many layers".to_owned())
        } else if names.iter().any(|n| n.len() > MAX_NAME) {
            Some("has a name that is too long".to_owned())
        } else {
            repeated.map(|i| format!("names {} twice", shown(&names[i])))
        };
        if let Some(wrong) = wrong {
            let help = "name each layer once, from the part outwards";
            reader.error(place, format!("the stack {wrong}"), help);
            return Vec::new();
        }
    }
    let mut layers = Vec::new();
    for name in names {
        let table = tables.iter().find(|(n, _)| n.value == *name);
        let usual = USUAL.iter().find(|usual| usual.name == name);
        match (table, usual) {
            (None, None) => {
                if let Some(place) = place {
                    let help = format!("add a table `[bag.layer.{name}]` with its `margin`");
                    let message = format!("nothing is known of layer {}", shown(name));
                    reader.error(place, message, &help);
                }
            }
            (table, usual) => {
                layers.extend(layer(reader, name, table.map(|(_, t)| t), usual));
            }
        }
    }
    layers
}

fn layer(
    reader: &mut Reader,
    name: &str,
    table: Option<&Table<'_>>,
    usual: Option<&Usual>,
) -> Option<BagLayer> {
    let areal = |g: f64| ArealWeight::g_per_m2(g);
    let mut roll = Cloth {
        name: name.to_owned(),
        weave: Weave::NonDirectional,
        turns: Weave::NonDirectional.turns(),
        areal_weight: areal(usual.map_or(100.0, |u| u.areal_weight)),
        roll_width: ROLL_WIDTH,
        selvedge: Length::ZERO,
        end_margin: Margins::default().end_margin,
        gap: Margins::default().gap,
        price: None,
        price_breaks: Vec::new(),
        supply: crate::cloth::Supply::default(),
        sold_by: Length::ZERO,
        least_sold: Length::ZERO,
        spare: 0.0,
    };
    let mut layer_margin = usual.map(|u| Length::mm(u.margin_mm));
    let mut take_up = areal(usual.map_or(0.0, |u| u.take_up));
    let mut on_hand = Length::ZERO;
    if let Some(table) = table {
        table.check_keys(reader);
        if let Some(length) = table.length(reader, "margin") {
            layer_margin = Some(length.value);
        }
        if let Some(up) = table.quantity::<ArealWeight>(reader, "take_up") {
            if up.value.to_g_per_m2() < 0.0 {
                let help = "write the resin it takes up, for example \"60 g/m2\", or \"0 g/m2\"";
                reader.error(&up.place, "`take_up` is negative", help);
            }
            take_up = up.value;
        }
        let weight = positive(reader, table, "areal_weight", ArealWeight::to_g_per_m2);
        roll.areal_weight = weight.unwrap_or(roll.areal_weight);
        let set = |target: &mut Length, found: Option<Located<Length>>| {
            if let Some(found) = found {
                *target = found.value;
            }
        };
        set(&mut roll.roll_width, table.length(reader, "roll_width"));
        set(&mut roll.sold_by, table.length(reader, "sold_by"));
        set(&mut roll.least_sold, table.length(reader, "least_sold"));
        set(&mut roll.gap, table.length(reader, "gap"));
        set(&mut on_hand, table.length(reader, "on_hand"));
        roll.spare = super::supplies::share(reader, table, "spare", 5.0).unwrap_or(0.0);
        roll.price = table
            .quantity::<PricePerLength>(reader, "price")
            .map(|price| price.value);
        if layer_margin.is_none() {
            table.require(reader, "margin");
        }
    }
    Some(BagLayer {
        roll,
        kind: if name == BAG_FILM {
            LayerKind::Bag
        } else {
            LayerKind::Outline
        },
        margin: layer_margin?,
        take_up,
        on_hand,
    })
}
