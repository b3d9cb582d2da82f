//! Keys of `[cloth.NAME]` and the tables in it.

use super::Absent::{Is, Means, Required};
use super::Holds::{
    Choice, Flag, Form, Length, Listed, Name, Number, Places, Quantity, Table, Text,
};
use super::{Keys, keys};
use crate::cloth::{Rotation, Weave};
use crate::job::rules;
use crate::laminate::Fibre;
use crate::units::{
    self, ArealWeight, Density, LengthUnit, Modulus, PERCENT, PricePerLength, Written as _,
};

fn weaves() -> Vec<&'static str> {
    Weave::ALL.map(Weave::word).to_vec()
}

fn turns() -> Vec<&'static str> {
    Rotation::ALL.map(Rotation::word).to_vec()
}

fn fibres() -> Vec<&'static str> {
    Fibre::ALL.map(|fibre| fibre.word).to_vec()
}

pub(super) static CLOTH: Keys = Keys {
    kind: "a cloth",
    header: "[cloth.NAME]",
    about: "One for each cloth: what it is, how it is sold, what of it is on hand.",
    groups: &[
        keys! {
            "weave", Choice(weaves), Required, "twill", "how the cloth is made; decides how pieces may be turned";
            "areal_weight", Quantity(ArealWeight::FORM), Required, "193 g/m2", "mass of the dry cloth by area";
            "roll_width", Length(&rules::ROLL_WIDTH), Required, "1270 mm", "from selvedge to selvedge";
            "selvedge", Length(&rules::SELVEDGE), Is("10 mm"), "12 mm", "strip along each selvedge that is not used";
            "gap", Length(&rules::GAP), Means("as in `[cutting]`"), "3 mm", "least distance between cut lines on this cloth";
            "end_margin", Length(&rules::END_MARGIN), Means("as in `[cutting]`"), "10 mm", "strip at each end of this cloth that is not used";
            "price", Quantity(PricePerLength::FORM), Means("no costs"), "38.50 USD/yd", "by running length";
            "price_break", Listed(&PRICE_BREAK), Means("one price"), "[{ from = \"10 yd\", price = \"34.00 USD/yd\" }]", "lower prices of longer lengths; more is bought where that costs less";
            "sold_by", Length(&rules::SOLD_BY), Means("any length"), "1 yd", "sold in multiples of this (a full roll: `50 m`)";
            "least_sold", Length(&rules::LEAST_SOLD), Means("any length"), "1 yd", "shortest length that is sold";
            "spare", Form(PERCENT, &[]), Is("0 %"), "5 %", "extra to buy for mishaps";
            "turns", Choice(turns), Means("by weave"), "half", "rotations that keep the fibres right: `none` for a nap or a print";
            "turn_over", Flag, Means("by weave"), "false", "whether pieces may be cut face down";
            "stock", Listed(&STOCK), Means("none"), "[{ length = \"3.2 m\" }]", "rolls and remnants on hand, used first, in this order";
            "flaw", Listed(&FLAW), Means("none"), "[{ from = \"1.2 m\", length = \"60 mm\" }]", "flawed areas on the roll that is bought";
            "offer", Listed(&OFFER), Means("one roll"), "[{ roll_width = \"60 in\" }]", "other rolls of the same cloth; each is laid out in a short search and the cheapest is taken";
            "table_length", Length(&rules::TABLE_LENGTH), Means("as in `[cutting]`"), "3 m", "length of the cutting table for this cloth";
            "least_remnant", Length(&rules::LEAST_REMNANT), Means("as in `[cutting]`"), "150 mm", "sides of the smallest remnant that is kept";
        },
        keys! {
            "fibre", Choice(fibres), Means("thickness, resin and stiffness unknown"), "carbon", "generic density and stiffness";
            "fibre_density", Quantity(Density::FORM), Means("by `fibre`"), "1.78 g/cm3", "in place of the generic one";
            "fibre_volume_fraction", Form(PERCENT, &[]), Means("as in `[laminate]`"), "45 %", "share of fibre in the cured ply, by volume";
            "fibre_weight_fraction", Form(PERCENT, &[]), Means("as in `[laminate]`"), "55 %", "the same by weight";
            "ply_thickness", Quantity(units::Length::FORM), Means("by the fraction"), "0.25 mm", "of the cured ply as measured, in place of a fraction";
            "stiffness", Table(&STIFFNESS), Means("by `fibre`"), "{ e1 = \"115 GPa\", e2 = \"7 GPa\", g12 = \"3 GPa\", nu12 = 0.3 }", "of a woven ply as a whole, of each layer of others; 1 along the warp";
        },
    ],
};

static PRICE_BREAK: Keys = Keys {
    kind: "a price break",
    header: "[[cloth.NAME.price_break]]",
    about: "A lower price that holds from a length on; in an offer likewise.",
    groups: &[keys! {
        "from", Length(&rules::PRICE_BREAK), Required, "10 yd", "the length from which it holds";
        "price", Quantity(PricePerLength::FORM), Required, "34.00 USD/yd", "by running length";
    }],
};

static OFFER: Keys = Keys {
    kind: "an offer",
    header: "[[cloth.NAME.offer]]",
    about: "Another roll of the same cloth. What is left out is as the cloth's own, but for prices.",
    groups: &[keys! {
        "roll_width", Length(&rules::ROLL_WIDTH), Means("as the cloth's"), "1270 mm", "from selvedge to selvedge";
        "price", Quantity(PricePerLength::FORM), Means("not priced"), "38.50 USD/yd", "by running length";
        "price_break", Listed(&PRICE_BREAK), Means("one price"), "[{ from = \"10 yd\", price = \"34.00 USD/yd\" }]", "lower prices of longer lengths";
        "sold_by", Length(&rules::SOLD_BY), Means("as the cloth's"), "1 yd", "sold in multiples of this";
        "least_sold", Length(&rules::LEAST_SOLD), Means("as the cloth's"), "1 yd", "shortest length that is sold";
    }],
};

static STOCK: Keys = Keys {
    kind: "stock",
    header: "[[cloth.NAME.stock]]",
    about: "A roll or remnant on hand: a `length` (and a `width`, if it is not the whole roll), or a `file`.",
    groups: &[keys! {
        "name", Name, Means("from the file, else made up"), "roll-3", "what its label says";
        "length", Length(&rules::STOCK_LENGTH), Means("`file`"), "3.2 m", "along the warp";
        "width", Length(&rules::STOCK_WIDTH), Means("the whole roll"), "400 mm", "across the warp";
        "file", Text, Means("`length`"), "offcut.svg", "a drawing (warp along x), a remnant file, or a folder of remnant files, those of other cloths passed over; relative to the job file";
        "outline", Text, Means("the only one"), "LAYER or id", "which outline of a drawing";
        "units", Form(LengthUnit::FORM, &["mm", "cm", "m", "in", "ft", "yd", "mil", "um"]), Means("as in the file"), "in", "unit of a drawing that does not state one";
        "margin", Length(&rules::STOCK_MARGIN), Means("`end_margin`"), "10 mm", "strip along its edges that is not used (selvedges have their own)";
        "flaw", Listed(&FLAW), Means("none"), "[{ from = \"1.2 m\", length = \"60 mm\" }]", "flawed areas on it";
    }],
};

static FLAW: Keys = Keys {
    kind: "a flaw",
    header: "[[cloth.NAME.flaw]]",
    about: "A flawed area, from the beginning of the roll and its lower selvedge; in stock likewise. `from` and `length`, or `points`.",
    groups: &[keys! {
        "from", Length(&rules::FLAW_AT), Means("`points`"), "1.2 m", "where it begins along the warp";
        "length", Length(&rules::FLAW_SIZE), Means("`points`"), "60 mm", "how far it goes along the warp";
        "across", Length(&rules::FLAW_AT), Means("all across, with `width`"), "100 mm", "where it begins from the lower selvedge";
        "width", Length(&rules::FLAW_SIZE), Means("all across, with `across`"), "50 mm", "how far it goes across";
        "points", Places, Means("`from` and `length`"), "[[\"1 m\", \"0 mm\"], [\"1.2 m\", \"0 mm\"], [\"1.1 m\", \"60 mm\"]]", "its corners, along and across";
        "margin", Length(&rules::STOCK_MARGIN), Is("0 mm"), "10 mm", "strip around it that is not used";
    }],
};

static STIFFNESS: Keys = Keys {
    kind: "`stiffness`",
    header: "[cloth.NAME.stiffness]",
    about: "Elastic constants of the cured ply.",
    groups: &[keys! {
        "e1", Quantity(Modulus::FORM), Required, "115 GPa", "modulus along the warp";
        "e2", Quantity(Modulus::FORM), Required, "7 GPa", "modulus across it";
        "g12", Quantity(Modulus::FORM), Required, "3 GPa", "shear modulus";
        "nu12", Number { least: 0.0, most: None }, Required, "0.3", "Poisson's ratio, stretched along the warp";
    }],
};
