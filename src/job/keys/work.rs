//! Keys of `[cutting]`, `[laminate]`, `[resin]`, `[bag]` and `[mould]`.

use super::Absent::{Is, Means, Required};
use super::Holds::{
    Angle, Choice, Count, Flag, Form, Length, Named, Number, Quantity, Text, Words,
};
use super::{Key, Keys, keys};
use crate::job::bagging::{self, MAX_PLEATS};
use crate::job::rules::{self, AngleRule};
use crate::job::supplies::{self, MAX_COATS};
use crate::laminate::Process;
use crate::units::{
    self, ArealWeight, Coverage, Density, Duration, LayingSpeed, Mass, Modulus, PERCENT, Pressure,
    Price, PricePerLength, Volume, Written as _,
};

/// How openings are written.
const OPENINGS: units::Form = units::Form {
    what: "rule",
    units: "`cut`, `after cure`, or `from` and a length",
    pattern: || {
        format!(
            r"cut|after\s+cure|from\s*{}",
            (units::Length::FORM.pattern)()
        )
    },
};

/// How a mixing ratio is written.
const RATIO: units::Form = units::Form {
    what: "ratio",
    units: "parts A : parts B",
    pattern: || r"[^:]*\d[^:]*:[^:]*\d[^:]*".to_owned(),
};

fn joins() -> Vec<&'static str> {
    vec!["round", "mitre", "bevel"]
}

fn joints() -> Vec<&'static str> {
    vec!["no", "lap", "butt"]
}

fn splice_lines() -> Vec<&'static str> {
    vec!["along", "across", "either"]
}

fn processes() -> Vec<&'static str> {
    [Process::VacuumBag, Process::HandLayup]
        .map(Process::word)
        .to_vec()
}

fn weight_or_volume() -> Vec<&'static str> {
    vec!["weight", "volume"]
}

/// Keys of a job, a part and a ply alike.
pub(super) const CUTTING_KEYS: &[Key] = keys! {
    "trim", Length(&rules::TRIM), Is("25 mm"), "25 mm", "allowance outside the finished edge";
    "overlap", Length(&rules::OVERLAP), Is("0 mm"), "40 mm", "allowance beyond the trim along marked edges, square at their ends";
    "join", Choice(joins), Is("round"), "mitre", "corners of the allowance";
    "mitre_limit", Number { least: 1.0, most: None }, Is("2"), "2.5", "with `join = \"mitre\"`: how many allowances a corner may reach out";
    "openings", Form(OPENINGS, &["cut", "after cure"]), Is("cut"), "from 40 mm", "`cut`, `after cure`, or e.g. `from 40 mm` (smaller ones after cure)";
    "angle_tolerance", Angle(AngleRule::Tolerance), Is("0 deg"), "2 deg", "how far a layout may turn a piece off its angle where that saves cloth";
    "splice", Choice(joints), Is("no"), "lap", "joint for plies larger than their cloth";
    "splice_lines", Choice(splice_lines), Means("along the fibres of a unidirectional, else `either`"), "across", "which way joints run: along or across the warp, or whichever takes less cloth";
    "lap", Length(&rules::LAP), Is("25 mm"), "25 mm", "how far pieces lie on one another in a lap";
    "stagger", Length(&rules::STAGGER), Is("25 mm"), "25 mm", "least clear distance between joints of neighbouring plies";
};

pub(super) static CUTTING: Keys = Keys {
    kind: "`[cutting]`",
    header: "[cutting]",
    about: "For the whole job. A cloth may have its own `gap`, `end_margin`, `table_length` and `least_remnant`; a part or a ply its own of the others, the nearest counts.",
    groups: &[
        keys! {
            "gap", Length(&rules::GAP), Is("3 mm"), "3 mm", "least distance between cut lines";
            "end_margin", Length(&rules::END_MARGIN), Is("10 mm"), "10 mm", "strip at each end of the cloth that is not used";
            "table_length", Length(&rules::TABLE_LENGTH), Means("no table's end"), "3 m", "length of the cutting table: no piece lies across its end; the roll is cut frame by frame";
            "least_remnant", Length(&rules::LEAST_REMNANT), Is("150 mm"), "150 mm", "what is left is kept if a rectangle in it has sides this long";
        },
        CUTTING_KEYS,
    ],
};

pub(super) static LAMINATE: Keys = Keys {
    kind: "`[laminate]`",
    header: "[laminate]",
    about: "How the plies cure. Stiffness is an estimate for comparing layups, not a design approval.",
    groups: &[keys! {
        "process", Choice(processes), Is("vacuum bag"), "hand layup", "45 % fibre by volume under a bag, 35 % by hand, mat 20 %";
        "fibre_volume_fraction", Form(PERCENT, &[]), Means("by `process`"), "45 %", "share of fibre by volume, for all cloths but mat";
        "fibre_weight_fraction", Form(PERCENT, &[]), Means("by `process`"), "55 %", "the same by weight";
        "resin_density", Quantity(Density::FORM), Is("1.10 g/cm3"), "1.10 g/cm3", "of the cured resin";
        "resin_modulus", Quantity(Modulus::FORM), Is("3.4 GPa"), "3.4 GPa", "of the cured resin";
    }],
};

pub(super) static RESIN: Keys = Keys {
    kind: "`[resin]`",
    header: "[resin]",
    about: "What is mixed. Needs `fibre` (or `fibre_density`) in every cloth. Resin is worked out for whole cut plies, plus what peel ply and breather take up, plus waste; batches hold whole plies of one part.",
    groups: &[keys! {
        "name", Text, Is("resin"), "slow epoxy", "what the sheets call it";
        "ratio", Form(RATIO, &[]), Required, "100:30", "parts A to parts B";
        "ratio_by", Choice(weight_or_volume), Is("weight"), "weight", "what the parts count; `volume` needs both densities, for batches are weighed";
        "density_a", Quantity(Density::FORM), Means("no volumes"), "1.15 g/cm3", "of liquid part A";
        "density_b", Quantity(Density::FORM), Means("no volumes"), "0.95 g/cm3", "of liquid part B";
        "pot_life", Quantity(Duration::FORM), Required, "25 min", "from the data sheet";
        "reserve", Form(PERCENT, &[]), Is("20 %"), "20 %", "share of the pot life that is not planned with";
        "largest_batch", Quantity(Mass::FORM), Is("100 g"), "300 g", "largest mass mixed at once";
        "laying_speed", Quantity(LayingSpeed::FORM), Is("1.5 m2/h"), "1.5 m2/h", "laying and wetting out by one person";
        "waste", Form(PERCENT, &[]), Is("10 %"), "10 %", "left in pots, brushes, rollers";
        "cure", Text, Means("not on the sheets"), "24 h at 20 °C", "how it cures, for the sheets";
        "pack", Quantity(Mass::FORM), Means("not in the costs"), "1 kg", "mass of a pack, A and B together";
        "price", Quantity(Price::FORM), Means("not in the costs"), "28.00 USD", "of one pack; needs `pack`";
        "on_hand", Quantity(Mass::FORM), Is("0 g"), "400 g", "what is there already; needs `pack`";
    }],
};

pub(super) static BAG: Keys = Keys {
    kind: "`[bag]`",
    header: "[bag]",
    about: "The vacuum bag of each part. An empty `[bag]` takes the usual stack. The margins of its layers are from US Army TM 55-1520-240-23-4 and TM 1-1500-204-23-1 and FAA AC 43.13-1B.",
    groups: &[keys! {
        "stack", Words, Is("[\"peel-ply\", \"release-film\", \"breather\", \"bag-film\"]"), "[\"peel-ply\", \"breather\", \"bag-film\"]", "layers from the part outwards";
        "vacuum", Quantity(Pressure::FORM), Is("25 inHg"), "25 inHg", "below the atmosphere";
        "tape_margin", Length(&bagging::TAPE_MARGIN), Is("25 mm"), "50 mm", "how far the tape lies beyond the widest layer";
        "film_margin", Length(&bagging::FILM_MARGIN), Is("25 mm"), "50 mm", "how far the film reaches beyond the tape";
        "pleats", Count { most: MAX_PLEATS }, Is("4"), "4", "pleats in the bag of one part";
        "pleat_height", Length(&bagging::PLEAT_HEIGHT), Is("3 in"), "50 mm", "each pleat adds twice this to tape and film edge";
        "tape_roll", Quantity(units::Length::FORM), Is("25 ft"), "25 ft", "sealant tape on a roll";
        "tape_price", Quantity(Price::FORM), Means("not in the costs"), "28.00 USD", "of one roll of tape; needs `tape_roll`";
        "tape_on_hand", Quantity(units::Length::FORM), Is("0 ft"), "25 ft", "tape that is there already; needs `tape_roll`";
        "tape_spare", Form(PERCENT, &[]), Is("10 %"), "10 %", "extra tape for laps and second lines";
        "layer", Named(&BAG_LAYER), Means("the usual layers"), "{ breather = { margin = \"60 mm\" } }", "what differs from the usual layers, and layers of your own";
    }],
};

static BAG_LAYER: Keys = Keys {
    kind: "a bag layer",
    header: "[bag.layer.NAME]",
    about: "One layer of the stack. Layers of your own need a `margin`.",
    groups: &[keys! {
        "margin", Length(&bagging::LAYER_MARGIN), Means("peel ply 1 in, release film 2 in, breather 3 in"), "50 mm", "how far it reaches beyond the part";
        "take_up", Quantity(ArealWeight::FORM), Means("peel ply 60 g/m2, breather 40 g/m2, others none"), "60 g/m2", "resin it takes up";
        "areal_weight", Quantity(ArealWeight::FORM), Means("by layer"), "85 g/m2", "its dry mass by area";
        "roll_width", Length(&rules::ROLL_WIDTH), Is("1500 mm"), "1270 mm", "width of its roll";
        "price", Quantity(PricePerLength::FORM), Means("not in the costs"), "6.50 USD/yd", "by running length";
        "sold_by", Length(&rules::SOLD_BY), Means("any length"), "1 yd", "sold in multiples of this";
        "least_sold", Length(&rules::LEAST_SOLD), Means("any length"), "1 yd", "shortest length that is sold";
        "spare", Form(PERCENT, &[]), Is("0 %"), "5 %", "extra to buy for mishaps";
        "on_hand", Length(&bagging::ON_HAND), Is("0 m"), "3 m", "length that is there already";
        "gap", Length(&rules::GAP), Is("3 mm"), "3 mm", "least distance between cut lines";
    }],
};

pub(super) static MOULD: Keys = Keys {
    kind: "`[mould]`",
    header: "[mould]",
    about: "Release before the first ply.",
    groups: &[keys! {
        "margin", Length(&supplies::MARGIN), Is("150 mm"), "150 mm", "released surface around the part";
        "wax_coats", Count { most: MAX_COATS }, Is("4"), "4", "coats of release wax";
        "wax_wait", Quantity(Duration::FORM), Is("30 min"), "30 min", "wait between two coats";
        "wax", Quantity(ArealWeight::FORM), Is("10 g/m2"), "10 g/m2", "wax in one coat";
        "wax_pack", Quantity(Mass::FORM), Means("not in the costs"), "400 g", "mass of a tin";
        "wax_price", Quantity(Price::FORM), Means("not in the costs"), "28.00 USD", "of one tin; needs `wax_pack`";
        "wax_on_hand", Quantity(Mass::FORM), Is("0 g"), "400 g", "what is there already; needs `wax_pack`";
        "pva", Flag, Is("true"), "false", "whether a PVA film goes on";
        "pva_coverage", Quantity(Coverage::FORM), Is("8 m2/l"), "8 m2/l", "area a litre covers";
        "pva_drying", Quantity(Duration::FORM), Is("45 min"), "45 min", "how long the film dries";
        "pva_pack", Quantity(Volume::FORM), Means("not in the costs"), "1 l", "amount in a bottle";
        "pva_price", Quantity(Price::FORM), Means("not in the costs"), "28.00 USD", "of one bottle; needs `pva_pack`";
        "pva_on_hand", Quantity(Volume::FORM), Is("0 l"), "1 l", "what is there already; needs `pva_pack`";
    }],
};
