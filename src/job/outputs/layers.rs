//! The layers of cut files: the table `[output.layers]`.

use super::Outputs;
use crate::job::drawing::COLOURS;
use crate::job::keys::{Checked, Number, Section, SomeText, keys};
use crate::job::reader::JobReader;
use crate::job::table::JobTable;
use crate::job::wording::shown;
use crate::pattern::Colour;
use crate::words::words;

words! {
    /// A layer of a cut file. They are listed in the order in which they are drawn.
    #[non_exhaustive]
    pub enum Layer {
        /// The edge of the roll over the used length, or of the whole remnant.
        Cloth = "cloth",
        /// Where the knife goes.
        Cut = "cut",
        /// Where the finished part ends.
        Net = "net",
        /// Warp arrow and the part's 0° direction.
        Fibre = "fibre",
        /// Texts.
        Label = "label",
        /// Marks on the cut line.
        Notch = "notch",
        /// Where the neighbour of a spliced piece comes to lie.
        Splice = "splice",
        /// Flawed areas of the cloth.
        Flaw = "flaw",
        /// Borders between the frames on the cutting table.
        Frame = "frame",
        /// What is left and worth keeping.
        Keep = "keep",
    }
}

impl Layer {
    /// Its usual name in a cut file.
    #[must_use]
    pub const fn name(self) -> &'static str {
        match self {
            Self::Cut => "CUT",
            Self::Net => "NET",
            Self::Fibre => "FIBRE",
            Self::Label => "LABEL",
            Self::Cloth => "CLOTH",
            Self::Notch => "NOTCH",
            Self::Splice => "SPLICE",
            Self::Flaw => "FLAW",
            Self::Frame => "FRAME",
            Self::Keep => "KEEP",
        }
    }

    /// The pen of a plotter that draws it where the job does not say: the knife in holder 2, a pen
    /// in holder 1; what is only to be seen on a screen is not drawn.
    #[must_use]
    pub const fn usual_pen(self) -> u8 {
        match self {
            Self::Cut => 2,
            Self::Fibre | Self::Label | Self::Notch | Self::Splice => 1,
            Self::Net | Self::Cloth | Self::Flaw | Self::Frame | Self::Keep => 0,
        }
    }
}

/// What a job says of one layer.
#[derive(Clone, Debug, Default, PartialEq)]
#[non_exhaustive]
pub struct LayerSetting {
    /// Another name in cut files.
    pub name: Option<String>,
    /// Another colour in cut files.
    pub colour: Option<Colour>,
    /// The pen of a plotter; 0 for not drawn.
    pub pen: Option<u8>,
}

/// HP-GL counts pens from 1; the largest carousels held eight.
const MOST_PENS: f64 = 8.0;
/// Longest name of a layer: R12 takes 31 characters.
const MOST_LAYER_NAME: usize = 31;

const PEN: Checked<Number, f64> = Checked {
    kind: Number {
        least: 0.0,
        most: Some(MOST_PENS),
    },
    check: |reader, _, pen| {
        let help = "write a whole number from 1 to 8, or 0 if the layer is not to be drawn";
        reader.insist(
            pen.value <= MOST_PENS && pen.value.fract() == 0.0,
            &pen.place,
            "there is no such pen",
            help,
        )
    },
};

const LAYER_NAME: Checked<SomeText, String> = Checked {
    kind: SomeText,
    check: |reader, _, name| {
        let may = |c: char| c.is_ascii_alphanumeric() || "-_$".contains(c);
        let help = "use letters a to z and A to Z, digits, `-`, `_` and `$`, at most 31 in all";
        let message = format!("{} cannot name a layer", shown(&name.value));
        reader.insist(
            name.value.len() <= MOST_LAYER_NAME && name.value.chars().all(may),
            &name.place,
            message,
            help,
        )
    },
};

keys! {
    /// What `[output.layers]` says.
    LayersKeys: "`[output.layers]`", "[output.layers]", "Names, colours and pens of the layers of cut files.";
    cloth: JobTable<'t> = Section(LayerKeys::keys), Means("its usual name and pen"), "{ name = \"KNIFE\", colour = \"red\", pen = 3 }", "the edge of the roll or remnant";
    cut: JobTable<'t> = Section(LayerKeys::keys), Means("its usual name and pen"), "{ name = \"KNIFE\", colour = \"red\", pen = 3 }", "where the knife goes";
    net: JobTable<'t> = Section(LayerKeys::keys), Means("its usual name and pen"), "{ name = \"KNIFE\", colour = \"red\", pen = 3 }", "where the finished part ends";
    fibre: JobTable<'t> = Section(LayerKeys::keys), Means("its usual name and pen"), "{ name = \"KNIFE\", colour = \"red\", pen = 3 }", "warp arrow and the part's 0° direction";
    label: JobTable<'t> = Section(LayerKeys::keys), Means("its usual name and pen"), "{ name = \"KNIFE\", colour = \"red\", pen = 3 }", "texts";
    notch: JobTable<'t> = Section(LayerKeys::keys), Means("its usual name and pen"), "{ name = \"KNIFE\", colour = \"red\", pen = 3 }", "marks on the cut line";
    splice: JobTable<'t> = Section(LayerKeys::keys), Means("its usual name and pen"), "{ name = \"KNIFE\", colour = \"red\", pen = 3 }", "where the neighbour of a spliced piece comes to lie";
    flaw: JobTable<'t> = Section(LayerKeys::keys), Means("its usual name and pen"), "{ name = \"KNIFE\", colour = \"red\", pen = 3 }", "flawed areas of the cloth";
    frame: JobTable<'t> = Section(LayerKeys::keys), Means("its usual name and pen"), "{ name = \"KNIFE\", colour = \"red\", pen = 3 }", "borders between the frames on the cutting table";
    keep: JobTable<'t> = Section(LayerKeys::keys), Means("its usual name and pen"), "{ name = \"KNIFE\", colour = \"red\", pen = 3 }", "what is left and worth keeping";
}

keys! {
    /// What `[output.layers.LAYER]` says.
    LayerKeys: "a layer", "[output.layers.LAYER]", "One layer of cut files.";
    name: String = LAYER_NAME, Means("its key in capitals"), "KNIFE", "its name in cut files: letters, digits, `-`, `_` and `$`";
    colour: String = SomeText, Means("its usual colour"), "red", "a name, a value such as `#ff0000`, or a DXF colour number such as `1`";
    pen: f64 = PEN, Means("cut 2; fibre, label, notch and splice 1; others 0"), "2", "pen of a plotter, a whole number; 0 is not drawn";
}

/// Reads `[output.layers]`.
pub(super) fn read_layers(reader: &mut JobReader, table: &JobTable<'_>, outputs: &mut Outputs) {
    let keys = LayersKeys::read(reader, Some(table));
    for layer in Layer::ALL {
        if let Some(table) = of_layer(&keys, layer) {
            outputs.layers[layer as usize] = layer_setting(reader, table);
        }
    }
    for layer in Layer::ALL {
        let name = outputs.layer_name(layer).to_lowercase();
        let same = |other: &Layer| outputs.layer_name(*other).to_lowercase() == name;
        let mut before = Layer::ALL.into_iter().take_while(|&l| l != layer);
        if let Some(other) = before.find(same) {
            let message = format!(
                "the layers `{}` and `{}` have one name",
                other.word(),
                layer.word()
            );
            let help = "give each layer a name of its own, or the cutter cannot tell them apart";
            reader.error(&table.header, message, help);
        }
    }
}

fn of_layer<'k, 't>(keys: &'k LayersKeys<'t>, layer: Layer) -> Option<&'k JobTable<'t>> {
    let entry = match layer {
        Layer::Cloth => &keys.cloth,
        Layer::Cut => &keys.cut,
        Layer::Net => &keys.net,
        Layer::Fibre => &keys.fibre,
        Layer::Label => &keys.label,
        Layer::Notch => &keys.notch,
        Layer::Splice => &keys.splice,
        Layer::Flaw => &keys.flaw,
        Layer::Frame => &keys.frame,
        Layer::Keep => &keys.keep,
    };
    entry.value.as_ref()
}

fn layer_setting(reader: &mut JobReader, table: &JobTable<'_>) -> LayerSetting {
    let keys = LayerKeys::read(reader, Some(table));
    let colour = keys.colour.located().and_then(|colour| {
        let read = colour.value.parse::<Colour>();
        read.map_err(|error| {
            reader.error(
                &colour.place,
                error.to_string(),
                &format!("{COLOURS} \"1\""),
            );
        })
        .ok()
    });
    LayerSetting {
        name: keys.name.value,
        colour,
        pen: keys.pen.value.map(|pen| pen as u8),
    }
}
