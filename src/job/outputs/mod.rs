//! Which files a job wants, and how they are to be written: the `[output]` table.

mod layers;
mod machine;
mod paper;

pub use layers::{Layer, LayerSetting};
pub use machine::{Gcode, HpglNumbers, Knife};
pub use paper::Paper;

use layers::LayersKeys;
use machine::{GcodeKeys, KnifeKeys};
use paper::PAPER;

use super::keys::{Flag, OneOf, Section, SomeOf, keys};
use super::reader::JobReader;
use super::rules::LengthRule;
use super::table::JobTable;
use crate::units::{Length, LengthUnit};
use crate::words::{Word, words};

words! {
    /// A kind of file beside the plan, the report and the list of pieces, which are always written.
    #[non_exhaustive]
    pub enum FileKind {
        /// `cut/<roll>.dxf`.
        Dxf = "dxf",
        /// `cut/<roll>.svg`.
        Svg = "svg",
        /// `cut/<roll>.hpgl`.
        Hpgl = "hpgl",
        /// `cut/<roll>.nc`.
        Gcode = "gcode",
        /// `cut/<roll>.png`: a picture of the layout.
        Png = "png",
        /// `templates/…pdf`: true-scale paper patterns.
        Templates = "templates",
        /// `labels.pdf`.
        Labels = "labels",
    }
}

impl FileKind {
    /// The ending of its cut files and what people call them; `None` for papers, of which a plan has
    /// one each.
    #[must_use]
    pub const fn cut_file(self) -> Option<(&'static str, &'static str)> {
        match self {
            Self::Dxf => Some(("dxf", "DXF")),
            Self::Svg => Some(("svg", "SVG")),
            Self::Hpgl => Some(("hpgl", "HP-GL")),
            Self::Gcode => Some(("nc", "G-code")),
            Self::Png => Some(("png", "picture")),
            Self::Templates | Self::Labels => None,
        }
    }
}

words! {
    /// How pieces stand in a DXF or SVG.
    pub enum PieceForm {
        /// As loose lines, layer by layer.
        Exploded = "exploded",
        /// Each piece as a block (DXF) or one group (SVG) that moves as a whole.
        Blocks = "blocks",
    }
}

words! {
    /// How texts stand in a DXF or SVG.
    pub enum TextForm {
        /// As text, which can be searched and edited.
        Text = "text",
        /// As single strokes, which any plotter can draw.
        Strokes = "strokes",
    }
}

words! {
    /// The release of DXF.
    pub enum DxfVersion {
        /// AC1015, read by nearly every program.
        R2000 = "R2000",
        /// AC1009, for old machines.
        R12 = "R12",
    }
}

/// What becomes of the chords of circular arcs.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Arcs {
    /// Polylines of chords, as in `plan.json`.
    #[default]
    Chords,
    /// Arcs wherever chords lie on one.
    Kept,
}

/// Which files are wanted, and how.
#[derive(Clone, Debug, PartialEq)]
#[non_exhaustive]
pub struct Outputs {
    /// The kinds of file, in the order of [`FileKind::ALL`].
    pub files: Vec<FileKind>,
    /// How much of the roll a machine reaches at once, pieces across the end included; all that
    /// lies on the table if none.
    pub frame: Option<Length>,
    /// Unit of DXF and SVG: millimetre or inch.
    pub units: LengthUnit,
    /// How pieces stand in them.
    pub pieces: PieceForm,
    /// How texts stand in them.
    pub text: TextForm,
    /// What becomes of arcs in them.
    pub arcs: Arcs,
    /// The release of DXF.
    pub dxf: DxfVersion,
    /// What the job says of each layer, in the order of [`Layer::ALL`].
    pub layers: [LayerSetting; Layer::ALL.len()],
    /// How large the numbers of HP-GL may be.
    pub hpgl_numbers: HpglNumbers,
    /// The knife of HP-GL and G-code.
    pub knife: Knife,
    /// How far a cut goes on beyond its start.
    pub overcut: Length,
    /// G-code.
    pub gcode: Gcode,
    /// Paper of templates and labels.
    pub paper: Paper,
    /// What a printer leaves white at every edge.
    pub paper_margin: Length,
    /// How far sheets of a template overlap.
    pub paper_overlap: Length,
}

/// Units of DXF and SVG.
impl Word for LengthUnit {
    fn words() -> Vec<(&'static str, Self)> {
        vec![("mm", Self::Millimetre), ("in", Self::Inch)]
    }
}

const FRAME: LengthRule = LengthRule::positive("length of a frame")
    .help("write how much of the roll the machine reaches at once, or leave `frame` out")
    .likely(200.0..=20_000.0)
    .most(1_000_000.0);
const PAPER_MARGIN: LengthRule = LengthRule::not_negative("margin of the paper")
    .help("no printer prints to the edge; write how much it leaves white, for example \"8 mm\"")
    .likely(3.0..=25.0)
    .most(40.0);
const PAPER_OVERLAP: LengthRule = LengthRule::not_negative("overlap of sheets")
    .help("sheets that are glued together overlap by this: 0 mm or more")
    .likely(4.0..=40.0)
    .most(60.0);

keys! {
    /// What `[output]` says.
    OutputKeys: "`[output]`", "[output]", "Which files are wanted, and how.";
    files: Vec<FileKind> = SomeOf { what: "kind of file", all_are: "kinds are" }, Is("[\"dxf\", \"svg\", \"templates\", \"labels\"]"), "[\"dxf\", \"templates\"]", "which files are written beside plan, report and list of pieces";
    frame: Length = FRAME, Means("all that lies on the table"), "1.2 m", "how much of the roll the machine reaches at once; the cut order goes frame by frame, HP-GL and G-code stop between and finish pieces that lie across in two; its borders are on layer `FRAME`. With a `table_length` each of its frames is such a frame, divided where it is longer";
    units: LengthUnit = OneOf, Is("mm"), "in", "of DXF and SVG";
    pieces: PieceForm = OneOf, Is("exploded"), "blocks", "loose lines, layer by layer, or a block that moves as one";
    text: TextForm = OneOf, Is("text"), "strokes", "text, or strokes that any plotter can draw";
    arcs: bool = Flag, Is("false"), "true", "circular arcs stay arcs in DXF, SVG and G-code (there with a plain knife): those of the drawing with their own centre and radius, larger or smaller by the allowance";
    dxf: DxfVersion = OneOf, Is("R2000"), "R12", "release of DXF; `R12` for old machines";
    paper: Paper = PAPER, Is("A4"), "A4", "of templates and labels: `A4`, `A3`, `letter`, `tabloid`, or e.g. `roll 24 in`";
    paper_margin: Length = PAPER_MARGIN, Is("8 mm"), "8 mm", "what the printer leaves white";
    paper_overlap: Length = PAPER_OVERLAP, Is("10 mm"), "10 mm", "how far sheets overlap";
    layers: JobTable<'t> = Section(LayersKeys::keys), Means("the usual names and pens"), "{ cut = { name = \"KNIFE\", pen = 3 } }", "layers of cut files";
    hpgl_numbers: HpglNumbers = OneOf, Is("any"), "16 bit", "HP-GL counts 40 units to the millimetre, so 16 bits end at 819 mm. `16 bit`, for plotters that read no larger numbers: coarser steps (0.05 mm to a roll of 1.6 m, 0.1 mm to 3.2 m), and a `frame` of 1.6 m unless the job gives one";
    knife: JobTable<'t> = Section(KnifeKeys::keys), Means("a plain knife"), "{ kind = \"drag\", offset = \"0.5 mm\" }", "the knife, for HP-GL and G-code";
    gcode: JobTable<'t> = Section(GcodeKeys::keys), Means("the defaults"), "{ feed = \"50 mm/s\" }", "the dialect and numbers of G-code";
}

impl Default for Outputs {
    /// What a job gets that says nothing of its files.
    fn default() -> Self {
        // Nothing can be wrong with a table that is not there.
        read(&mut JobReader::new("", ""), None)
    }
}

/// Reads `[output]`.
pub(super) fn read(reader: &mut JobReader, table: Option<&JobTable<'_>>) -> Outputs {
    let keys = OutputKeys::read(reader, table);
    let knife = keys.knife.value;
    let (knife, overcut) = knife.map_or((Knife::Plain, Length::ZERO), |table| {
        machine::read_knife(reader, &table)
    });
    let mut outputs = Outputs {
        files: keys.files.value,
        frame: keys.frame.value,
        units: keys.units.value,
        pieces: keys.pieces.value,
        text: keys.text.value,
        arcs: match keys.arcs.value {
            true => Arcs::Kept,
            false => Arcs::Chords,
        },
        dxf: keys.dxf.value,
        layers: Default::default(),
        hpgl_numbers: keys.hpgl_numbers.value,
        knife,
        overcut,
        gcode: machine::read_gcode(reader, keys.gcode.value.as_ref()),
        paper: keys.paper.value,
        paper_margin: keys.paper_margin.value,
        paper_overlap: keys.paper_overlap.value,
    };
    if outputs.hpgl_numbers == HpglNumbers::SixteenBit && outputs.wants(FileKind::Hpgl) {
        outputs.frame = outputs.frame.or(Some(HpglNumbers::FRAME));
    }
    if let Some(table) = keys.layers.value {
        layers::read_layers(reader, &table, &mut outputs);
    }
    outputs
}

impl Outputs {
    /// Whether files of this kind are wanted.
    #[must_use]
    pub fn wants(&self, kind: FileKind) -> bool {
        self.files.contains(&kind)
    }

    /// What the job says of `layer`.
    #[must_use]
    pub fn layer(&self, layer: Layer) -> &LayerSetting {
        &self.layers[layer as usize]
    }

    /// The name of `layer` in cut files.
    #[must_use]
    pub fn layer_name(&self, layer: Layer) -> &str {
        self.layer(layer).name.as_deref().unwrap_or(layer.name())
    }

    /// The pen that draws `layer`, if one does.
    #[must_use]
    pub fn pen(&self, layer: Layer) -> Option<u8> {
        let pen = self.layer(layer).pen.unwrap_or(layer.usual_pen());
        (pen > 0).then_some(pen)
    }
}
