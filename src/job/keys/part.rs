//! Keys of `[[part]]`, `[[part.ply]]` and `[drawing]`.

use super::Absent::{Is, Means, Required};
use super::Holds::{
    Angle, Choice, Count, Flag, Form, Length, Listed, Name, Number, Table, Text, TwoLengths, Words,
};
use super::work::CUTTING_KEYS;
use super::{Keys, keys};
use crate::job::rules::{self, AngleRule, MAX_PLIES, MAX_SETS};
use crate::units::LengthUnit;

fn sides() -> Vec<&'static str> {
    vec!["bag", "tool"]
}

fn crossings() -> Vec<&'static str> {
    vec!["refuse", "split"]
}

pub(super) static PART: Keys = Keys {
    kind: "a part",
    header: "[[part]]",
    about: "One for each thing you make: `cloth` and `layup`, or a table `[[part.ply]]` for each ply. Cutting keys hold for its plies.",
    groups: &[
        keys! {
            "name", Name, Required, "RUD", "first half of the id of each piece";
            "pattern", Text, Required, "rudder.svg", "the drawing, relative to the job file";
            "units", Form(LengthUnit::FORM, &["mm", "cm", "m", "in", "ft", "yd", "mil", "um"]), Means("as in the file"), "in", "unit of a drawing that does not state one";
            "drawing", Table(&DRAWING), Means("as in the job's `[drawing]`"), "{ hatches = true }", "how this drawing is read";
            "seen_from", Choice(sides), Is("bag"), "tool", "which side of the part the drawing shows: `bag` is looking down on the mould";
            "zero_direction", Angle(AngleRule::Direction), Means("the drawing's 0° line, else +x"), "45 deg", "the part's 0°, as an angle from +x";
            "zero_line", Text, Means("the drawing's 0° line, else +x"), "ZERO", "the part's 0°, as the layer or id of a line";
            "sets", Count { most: MAX_SETS }, Means("as the drawing says (`QTY 2`), else 1"), "2", "how many to make";
            "mirror", Name, Means("no pair"), "STBD", "name of the other hand of a left and right pair, made as often: mirrored outlines and angles";
            "cloth", Text, Means("each ply names its own"), "twill", "the cloth of plies that do not name one";
            "outline", Text, Means("the only one, or the one that says `PLY n`"), "skin", "layer, id or inner label of the outline, for plies that do not say";
            "step", Length(&rules::STEP), Is("0 mm"), "-5 mm", "how much larger (smaller, if negative) the outline of the first ply is made";
            "taper", Length(&rules::TAPER), Is("0 mm"), "-12.5 mm", "how much larger (smaller, if negative) each following ply is: drop-offs, stepped patches";
            "overlap_edges", Words, Means("the drawing's `overlap` layer"), "\"flange\"", "layer or id of open lines that mark edges with `overlap`, one or a list";
            "keep_out_box", Listed(&KEEP_OUT_BOX), Means("none"), "[{ x = \"100 mm\", y = \"50 mm\", width = \"80 mm\", height = \"80 mm\" }]", "boxes on the drawing in which no splice may lie";
            "layup", Text, Means("`[[part.ply]]`"), "[0/45/-45/90]s", "all plies in laminate code, first against the mould";
            "ply", Listed(&PLY), Means("`layup`"), "[{ cloth = \"twill\", angle = 45 }]", "the plies, first against the mould";
            "tool", TwoLengths, Means("by the part"), "[\"1100 mm\", \"500 mm\"]", "length and width of its mould, for tape and bag";
        },
        CUTTING_KEYS,
    ],
};

static PLY: Keys = Keys {
    kind: "a ply",
    header: "[[part.ply]]",
    about: "One for each ply, first against the mould. Cutting keys hold for this ply.",
    groups: &[
        keys! {
            "cloth", Text, Means("the part's"), "twill", "name of a cloth";
            "angle", Angle(AngleRule::Ply), Means("required, but for a cloth without direction"), "45 deg", "of the warp against 0°, counter-clockwise, above -90° up to 90°; of a stitched biaxial that of its +45° layer";
            "outline", Text, Means("the part's"), "skin", "layer, id or inner label of the outline";
            "layers", Count { most: MAX_PLIES }, Is("1"), "2", "that many plies alike";
            "number", Count { most: MAX_PLIES }, Means("counts on"), "3", "ply number";
            "step", Length(&rules::STEP), Means("as the part's `step` and `taper` say"), "-5 mm", "how much larger (smaller, if negative) the outline is made; stands in place of the part's `step` and `taper`";
            "taper", Length(&rules::TAPER), Means("all layers alike"), "-12.5 mm", "with `layers`: how much larger each layer is than the one before";
            "appearance", Flag, Is("false"), "true", "will be seen: never turned but end for end, never face down";
            "shift", TwoLengths, Means("drawn in place"), "[\"-250 mm\", \"60 mm\"]", "how far (x, y) from where it is drawn to where it lies on the part; for the thickness map and the bag, not for cutting";
        },
        CUTTING_KEYS,
    ],
};

static KEEP_OUT_BOX: Keys = Keys {
    kind: "a keep-out box",
    header: "[[part.keep_out_box]]",
    about: "A box on the drawing in which no splice may lie.",
    groups: &[keys! {
        "x", Length(&rules::PLACE), Required, "100 mm", "its lower left corner";
        "y", Length(&rules::PLACE), Required, "100 mm", "its lower left corner";
        "width", Length(&rules::BOX_SIDE), Required, "100 mm", "along x";
        "height", Length(&rules::BOX_SIDE), Required, "100 mm", "along y";
    }],
};

pub(super) static DRAWING: Keys = Keys {
    kind: "a drawing",
    header: "[drawing]",
    about: "How drawings are read; `[part.drawing]` for that of one part. Layers are named by one name or a list; capitals, blanks, `-` and `_` do not count. Files of one name are read once, so parts that share one read it alike.",
    groups: &[
        keys! {
            "cut", Words, Means("`cut`, beside a `net` layer"), "\"KNIFE\"", "layers of cut lines, allowance included: nothing is added to them";
            "net", Words, Means("`net`"), "\"FINISHED\"", "layers of finished edges";
            "zero", Words, Means("`zero`, `0 deg`, `warp`, `fibre`, `grain`"), "\"ZERO\"", "layers of the part's 0° direction, from the start of a line to its end";
            "overlap", Words, Means("`overlap`, `lap`"), "\"flange\"", "layers of open lines on finished edges that carry `overlap`";
            "notch", Words, Means("`notch`"), "\"NOTCHES\"", "layers of notches; they go to layer `NOTCH` of the cut files";
            "drill", Words, Means("`drill`, `locate`"), "\"HOLES\"", "layers of points or circles to drill or locate by; likewise";
            "keep_out", Words, Means("`keep out`, `no splice`"), "\"SPAR\"", "layers of closed lines in which no splice may lie";
            "dart", Words, Means("`dart`"), "\"DARTS\"", "layers of darts: a V, or a triangle, from the finished edge to its point; its legs run on through the allowance";
            "ignore", Words, Means("`defpoints`"), "[\"DIMENSIONS\", \"NOTES\"]", "layers that are not read";
        },
        keys! {
            "layers", Words, Means("all"), "[\"SKIN\", \"CORE\"]", "read only these layers";
            "colours", Words, Means("all"), "\"red\"", "read only these colours: `\"red\"`, `\"#ff0000\"`, or DXF numbers";
            "hatches", Flag, Is("false"), "true", "read the boundaries of DXF hatches";
            "crossing", Choice(crossings), Is("refuse"), "split", "outlines that cross themselves: refused, or split into loops";
            "dpi", Number { least: rules::LEAST_DPI, most: Some(rules::MOST_DPI) }, Means("96"), "96", "pixels in an inch, for SVG without a physical size";
            "join_gap", Length(&rules::JOIN_GAP), Is("0.1 mm"), "0.1 mm", "gaps up to this are closed";
            "chord", Length(&rules::CHORD), Is("0.005 mm"), "0.01 mm", "how far chords may leave a curve";
        },
    ],
};
