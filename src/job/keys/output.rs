//! Keys of `[output]` and the tables in it.

use super::Absent::{Is, Means, Required};
use super::Holds::{Angle, Choice, Flag, Form, Length, Number, Quantity, Table, Text, WordsOf};
use super::schema::any_capitals;
use super::{Key, Keys, keys};
use crate::job::outputs::{FileKind, Layer, MOST_PENS};
use crate::job::rules::{self, AngleRule};
use crate::units::{self, Speed, Written as _};

/// How paper is written.
const PAPER: units::Form = units::Form {
    what: "paper",
    units: "`A4`, `A3`, `letter`, `tabloid`, or `roll` and its width",
    pattern: || {
        let words = ["A4", "A3", "letter", "tabloid"]
            .map(any_capitals)
            .join("|");
        let roll = any_capitals("roll");
        format!(r"{words}|(?:{roll})?\s*{}", (units::Length::FORM.pattern)())
    },
};

fn files() -> Vec<&'static str> {
    FileKind::ALL.map(FileKind::word).to_vec()
}

fn units_of_files() -> Vec<&'static str> {
    vec!["mm", "in"]
}

fn piece_forms() -> Vec<&'static str> {
    vec!["exploded", "blocks"]
}

fn text_forms() -> Vec<&'static str> {
    vec!["text", "strokes"]
}

fn dxf_versions() -> Vec<&'static str> {
    vec!["R2000", "R12"]
}

fn knives() -> Vec<&'static str> {
    vec!["plain", "drag", "tangential"]
}

fn axes() -> Vec<&'static str> {
    vec!["A", "B", "C"]
}

pub(super) static OUTPUT: Keys = Keys {
    kind: "`[output]`",
    header: "[output]",
    about: "Which files are wanted, and how.",
    groups: &[keys! {
        "files", WordsOf(files), Is("[\"dxf\", \"svg\", \"templates\", \"labels\"]"), "[\"dxf\", \"templates\"]", "which files are written beside plan, report and list of pieces";
        "frame", Length(&rules::FRAME), Means("all that lies on the table"), "1.2 m", "how much of the roll the machine reaches at once; the cut order goes frame by frame, HP-GL and G-code stop between and finish pieces that lie across in two; its borders are on layer `FRAME`. With a `table_length` each of its frames is such a frame, divided where it is longer";
        "units", Choice(units_of_files), Is("mm"), "in", "of DXF and SVG";
        "pieces", Choice(piece_forms), Is("exploded"), "blocks", "loose lines, layer by layer, or a block that moves as one";
        "text", Choice(text_forms), Is("text"), "strokes", "text, or strokes that any plotter can draw";
        "arcs", Flag, Is("false"), "true", "circular arcs stay arcs in DXF, SVG and G-code (there with a plain knife): those of the drawing with their own centre and radius, larger or smaller by the allowance";
        "dxf", Choice(dxf_versions), Is("R2000"), "R12", "release of DXF; `R12` for old machines";
        "paper", Form(PAPER, &["A4", "A3", "letter", "tabloid"]), Is("A4"), "A4", "of templates and labels: `A4`, `A3`, `letter`, `tabloid`, or e.g. `roll 24 in`";
        "paper_margin", Length(&rules::PAPER_MARGIN), Is("8 mm"), "8 mm", "what the printer leaves white";
        "paper_overlap", Length(&rules::PAPER_OVERLAP), Is("10 mm"), "10 mm", "how far sheets overlap";
        "layers", Table(&LAYERS), Means("the usual names and pens"), "{ cut = { name = \"KNIFE\", pen = 3 } }", "layers of cut files";
        "knife", Table(&KNIFE), Means("a plain knife"), "{ kind = \"drag\", offset = \"0.5 mm\" }", "the knife, for HP-GL and G-code";
        "gcode", Table(&GCODE), Means("the defaults"), "{ feed = \"50 mm/s\" }", "the dialect and numbers of G-code";
    }],
};

/// The key of one layer.
const fn layer(layer: Layer) -> Key {
    Key {
        name: layer.word(),
        holds: Table(&LAYER),
        absent: Means("its usual name and pen"),
        example: "{ name = \"KNIFE\", colour = \"red\", pen = 3 }",
        about: layer.about(),
    }
}

static LAYERS: Keys = Keys {
    kind: "`[output.layers]`",
    header: "[output.layers]",
    about: "Names, colours and pens of the layers of cut files.",
    groups: &[&[
        layer(Layer::ALL[0]),
        layer(Layer::ALL[1]),
        layer(Layer::ALL[2]),
        layer(Layer::ALL[3]),
        layer(Layer::ALL[4]),
        layer(Layer::ALL[5]),
        layer(Layer::ALL[6]),
        layer(Layer::ALL[7]),
        layer(Layer::ALL[8]),
        layer(Layer::ALL[9]),
    ]],
};

static LAYER: Keys = Keys {
    kind: "a layer",
    header: "[output.layers.LAYER]",
    about: "One layer of cut files.",
    groups: &[keys! {
        "name", Text, Means("its key in capitals"), "KNIFE", "its name in cut files: letters, digits, `-`, `_` and `$`";
        "colour", Text, Means("its usual colour"), "red", "a name, a value such as `#ff0000`, or a DXF colour number such as `1`";
        "pen", Number { least: 0.0, most: Some(MOST_PENS as f64) }, Means("cut 2; fibre, label, notch and splice 1; others 0"), "2", "pen of a plotter, a whole number; 0 is not drawn";
    }],
};

static KNIFE: Keys = Keys {
    kind: "`[output.knife]`",
    header: "[output.knife]",
    about: "For HP-GL and G-code. HP-GL counts 40 units to the millimetre: a plotter that reads 16-bit numbers needs a `frame` (and a cloth) of at most 819 mm.",
    groups: &[keys! {
        "kind", Choice(knives), Required, "drag", "`drag` trails its axis; `tangential` is turned by an axis of its own (G-code)";
        "offset", Length(&rules::BLADE_OFFSET), Means("required for `drag`"), "0.5 mm", "drag: how far the tip trails the axis";
        "swivel_from", Angle(AngleRule::Corner), Means("15 deg"), "20 deg", "drag: corners sharper than this are swivelled in an arc";
        "lift_from", Angle(AngleRule::Corner), Means("30 deg"), "30 deg", "tangential: at corners sharper than this the knife is lifted and turned";
        "overcut", Length(&rules::OVERCUT), Is("0 mm"), "1 mm", "how far a cut goes on beyond its start";
    }],
};

static GCODE: Keys = Keys {
    kind: "`[output.gcode]`",
    header: "[output.gcode]",
    about: "Try a new machine with a pen on paper first.",
    groups: &[keys! {
        "up", Length(&rules::KNIFE_HEIGHT), Is("5 mm"), "5 mm", "height of the knife when it travels";
        "down", Length(&rules::KNIFE_HEIGHT), Is("-0.5 mm"), "-0.5 mm", "height when it cuts";
        "swivel", Length(&rules::KNIFE_HEIGHT), Means("as `down`"), "-0.2 mm", "height when a drag knife swivels";
        "feed", Quantity(Speed::FORM), Is("3000 mm/min"), "3000 mm/min", "speed of cutting";
        "header", Text, Is("G21\nG90\nG17"), "G21 G90", "lines before everything";
        "footer", Text, Is("M2"), "M2", "lines after everything";
        "pen", Text, Means("labels are not drawn"), "T1 M6", "lines that take a pen";
        "knife", Text, Means("none"), "T2 M6", "lines that take the knife";
        "axis", Choice(axes), Is("A"), "A", "letter of the axis that turns a tangential knife";
    }],
};
