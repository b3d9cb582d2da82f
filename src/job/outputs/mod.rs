//! Which files a job wants, and how they are to be written: the `[output]` table.

mod read;

pub(super) use read::read;

use std::str::FromStr;

use crate::pattern::Colour;
use crate::units::{Angle, Length, LengthUnit, Speed, UnitError};
use crate::words::words;

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

/// HP-GL counts pens from 1; the largest carousels held eight.
pub(super) const MOST_PENS: u32 = 8;

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

    /// What is drawn on it.
    pub(super) const fn about(self) -> &'static str {
        match self {
            Self::Cut => "where the knife goes",
            Self::Net => "where the finished part ends",
            Self::Fibre => "warp arrow and the part's 0° direction",
            Self::Label => "texts",
            Self::Cloth => "the edge of the roll or remnant",
            Self::Notch => "marks on the cut line",
            Self::Splice => "where the neighbour of a spliced piece comes to lie",
            Self::Flaw => "flawed areas of the cloth",
            Self::Frame => "borders between the frames on the cutting table",
            Self::Keep => "what is left and worth keeping",
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
pub struct LayerSetting {
    /// Another name in cut files.
    pub name: Option<String>,
    /// Another colour in cut files.
    pub colour: Option<Colour>,
    /// The pen of a plotter; 0 for not drawn.
    pub pen: Option<u8>,
}

/// How pieces stand in a DXF or SVG.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum PieceForm {
    /// As loose lines, layer by layer.
    #[default]
    Exploded,
    /// Each piece as a block (DXF) or one group (SVG) that moves as a whole.
    Blocks,
}

/// How texts stand in a DXF or SVG.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum TextForm {
    /// As text, which can be searched and edited.
    #[default]
    Text,
    /// As single strokes, which any plotter can draw.
    Strokes,
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

/// The release of DXF.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum DxfVersion {
    /// AC1015, read by nearly every program.
    #[default]
    R2000,
    /// AC1009, for old machines.
    R12,
}

/// The knife, and how its path is corrected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Knife {
    /// The path is the line itself: lasers, rotary blades, and machines that correct it themselves.
    Plain,
    /// A blade that trails its axis.
    Drag {
        /// By how far the tip trails the axis.
        offset: Length,
        /// The blade is swivelled in place where the line turns by more than this.
        swivel_from: Angle,
    },
    /// A blade that is turned along the line by an axis of its own (G-code only).
    Tangential {
        /// The blade is lifted and turned where the line turns by more than this.
        lift_from: Angle,
    },
}

/// The dialect and the numbers of G-code.
#[derive(Clone, Debug, PartialEq)]
pub struct Gcode {
    /// Height at which the knife travels.
    pub up: Length,
    /// Height at which it cuts.
    pub down: Length,
    /// Height at which a drag knife swivels; as deep as the cut if none.
    pub swivel: Option<Length>,
    /// Speed of cutting.
    pub feed: Speed,
    /// Lines before everything.
    pub header: String,
    /// Lines after everything.
    pub footer: String,
    /// Lines that take a pen; without them labels are not drawn.
    pub pen: Option<String>,
    /// Lines that take the knife.
    pub knife: Option<String>,
    /// Letter of the axis that turns a tangential knife.
    pub axis: char,
}

impl Default for Gcode {
    fn default() -> Self {
        Self {
            up: Length::mm(5.0),
            down: Length::mm(-0.5),
            swivel: None,
            feed: Speed::mm_per_min(3000.0),
            header: "G21\nG90\nG17".to_owned(),
            footer: "M2".to_owned(),
            pen: None,
            knife: None,
            axis: 'A',
        }
    }
}

/// The paper of templates and labels.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Paper {
    /// 210 × 297 mm (ISO 216).
    #[default]
    A4,
    /// 297 × 420 mm (ISO 216).
    A3,
    /// 8.5 × 11 in (ANSI/ASME Y14.1, size A).
    Letter,
    /// 11 × 17 in (ANSI/ASME Y14.1, size B).
    Tabloid,
    /// A roll of this width on a wide-format plotter.
    Roll(Length),
}

impl Paper {
    /// Width and height in mm, upright; a roll has no height.
    #[must_use]
    pub fn size(self) -> (f64, Option<f64>) {
        match self {
            Self::A4 => (210.0, Some(297.0)),
            Self::A3 => (297.0, Some(420.0)),
            Self::Letter => (215.9, Some(279.4)),
            Self::Tabloid => (279.4, Some(431.8)),
            Self::Roll(width) => (width.to_mm(), None),
        }
    }

    /// What it is called, also in file names.
    #[must_use]
    pub fn name(self) -> String {
        match self {
            Self::A4 => "A4".to_owned(),
            Self::A3 => "A3".to_owned(),
            Self::Letter => "Letter".to_owned(),
            Self::Tabloid => "Tabloid".to_owned(),
            Self::Roll(width) => format!("roll-{:.0}mm", width.to_mm()),
        }
    }
}

impl FromStr for Paper {
    type Err = UnitError;

    /// Reads `A4`, `A3`, `letter`, `tabloid`, `roll 24 in`.
    fn from_str(text: &str) -> Result<Self, UnitError> {
        let text = text.trim();
        match text.to_ascii_lowercase().as_str() {
            "a4" => Ok(Self::A4),
            "a3" => Ok(Self::A3),
            "letter" => Ok(Self::Letter),
            "tabloid" => Ok(Self::Tabloid),
            _ => {
                let width = text
                    .get(..4)
                    .filter(|head| head.eq_ignore_ascii_case("roll"))
                    .map_or(text, |_| &text[4..]);
                width.parse().map(Self::Roll)
            }
        }
    }
}

/// Which files are wanted, and how.
#[derive(Clone, Debug, PartialEq)]
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

impl Default for Outputs {
    /// DXF and SVG, templates and labels on A4.
    fn default() -> Self {
        Self {
            files: vec![
                FileKind::Dxf,
                FileKind::Svg,
                FileKind::Templates,
                FileKind::Labels,
            ],
            frame: None,
            units: LengthUnit::Millimetre,
            pieces: PieceForm::default(),
            text: TextForm::default(),
            arcs: Arcs::default(),
            dxf: DxfVersion::default(),
            layers: Default::default(),
            knife: Knife::Plain,
            overcut: Length::ZERO,
            gcode: Gcode::default(),
            paper: Paper::default(),
            paper_margin: Length::mm(8.0),
            paper_overlap: Length::mm(10.0),
        }
    }
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
