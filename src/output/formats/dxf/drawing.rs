//! A drawing before it is written in one release of DXF or another.

use std::fmt::{Display, Write as _};

use crate::geometry::Point;
use crate::job::{Layer, Outputs};
use crate::number::{ANGLE, number};
use crate::output::drawing::arcs::Vertex;
use crate::output::drawing::label::SEPARATOR;
use crate::output::style::INDEXED;
use crate::pattern::Colour;
use crate::units::{Angle, LengthUnit};

/// What is drawn. Coordinates are in the unit of the file.
pub(super) struct ModelSpace {
    /// Extent along x and y from the origin.
    pub(super) size: (f64, f64),
    pub(super) unit: LengthUnit,
    pub(super) layers: Vec<LayerStyle>,
    pub(super) entities: Vec<Entity>,
    pub(super) blocks: Vec<DxfBlock>,
}

/// A layer as it is written.
pub(super) struct LayerStyle {
    pub(super) name: String,
    /// Colour index, 1 … 255.
    pub(super) colour: u8,
    /// Width of its lines in mm.
    pub(super) line_width: f64,
    pub(super) is_dashed: bool,
}

/// Entities that move as one. Their coordinates are those of the drawing.
pub(super) struct DxfBlock {
    pub(super) name: String,
    pub(super) base: Point,
    pub(super) entities: Vec<Entity>,
}

/// Something drawn, with the piece it belongs to.
pub(super) struct Entity {
    pub(super) layer: Layer,
    pub(super) id: Option<String>,
    pub(super) shape: EntityShape,
}

pub(super) enum EntityShape {
    Polyline {
        vertices: Vec<Vertex>,
        closed: bool,
    },
    Line([Point; 2]),
    Text(EntityText),
    /// A block, where it was drawn.
    Insert {
        block: String,
        at: Point,
    },
}

/// A single line of text, centred on its baseline.
pub(super) struct EntityText {
    pub(super) text: String,
    /// Left end of the baseline, estimated.
    pub(super) start: Point,
    /// Middle of the baseline.
    pub(super) middle: Point,
    /// Height of capitals.
    pub(super) height: f64,
    pub(super) angle: Angle,
}

impl ModelSpace {
    /// The style of `layer`.
    pub(super) fn layer(&self, layer: Layer) -> &LayerStyle {
        let idx = Layer::ALL.iter().position(|&l| l == layer);
        &self.layers[idx.expect("every layer is among all layers")]
    }
}

/// The layers as `outputs` wants them.
pub(super) fn layers(outputs: &Outputs) -> Vec<LayerStyle> {
    Layer::ALL
        .iter()
        .map(|&layer| LayerStyle {
            name: outputs.layer_name(layer).to_owned(),
            colour: match outputs.layer(layer).colour {
                Some(Colour::Index(index)) => index,
                Some(Colour::Rgb(rgb)) => nearest_index(rgb),
                None => layer.colour_index(),
            },
            line_width: layer.line_width(),
            is_dashed: layer.is_dashed(),
        })
        .collect()
}

/// The colour index nearest to a colour, among those whose values are fixed (Autodesk DXF
/// reference); black is 7, which is black on paper.
fn nearest_index(rgb: [u8; 3]) -> u8 {
    let off = |other: [u8; 3]| -> u32 {
        let channels = rgb.iter().zip(other);
        channels.map(|(a, b)| u32::from(a.abs_diff(b)).pow(2)).sum()
    };
    let nearest = INDEXED.iter().min_by_key(|(_, other)| off(*other));
    nearest.map_or(7, |(index, _)| *index)
}

/// The application that extended data is tagged with.
pub(super) const APPLICATION: &str = "WARPWISE";

/// Pairs of group code and value, and entities made of them; a release says what is its own.
pub(super) trait Groups {
    /// The usual style of text.
    const STYLE: &'static str;
    /// What is written for `%%`, which begins a code.
    const PERCENTS: &'static str;

    fn out(&mut self) -> &mut String;

    /// Decimals of coordinates.
    fn decimals(&self) -> i32;

    fn int(&mut self, code: u16, value: impl Display);

    /// Begins an entity on the layer called `layer`: its kind, and its class where there are classes.
    fn begin(&mut self, kind: &str, class: &str, layer: &str);

    /// What is written of a line through points; `id` is that of its piece.
    fn polyline(&mut self, layer: &str, line: (&[Vertex], bool), id: Option<&str>);

    /// What comes after a text.
    fn end_text(&mut self) {}

    /// `text` on one line of the file.
    fn plain(text: &str) -> String;

    fn text(&mut self, code: u16, value: &str) {
        _ = writeln!(self.out(), "{code:>3}\n{value}");
    }

    fn real(&mut self, code: u16, value: f64) {
        let mut text = number(value, self.decimals());
        if !text.contains('.') {
            text.push_str(".0");
        }
        self.text(code, &text);
    }

    fn point(&mut self, code: u16, point: Point) {
        self.real(code, point.x);
        self.real(code + 10, point.y);
        self.real(code + 20, 0.0);
    }

    fn entity(&mut self, space: &ModelSpace, entity: &Entity) {
        let layer = &space.layer(entity.layer).name;
        let id = entity.id.as_deref();
        match &entity.shape {
            EntityShape::Polyline { vertices, closed } => {
                return self.polyline(layer, (vertices, *closed), id);
            }
            EntityShape::Line([from, to]) => {
                self.begin("LINE", "AcDbLine", layer);
                self.point(10, *from);
                self.point(11, *to);
            }
            EntityShape::Text(text) => {
                self.begin("TEXT", "AcDbText", layer);
                self.words(text);
            }
            EntityShape::Insert { block, at } => {
                self.begin("INSERT", "AcDbBlockReference", layer);
                self.text(2, block);
                self.point(10, *at);
            }
        }
        self.identity(id);
    }

    fn words(&mut self, text: &EntityText) {
        self.point(10, text.start);
        self.real(40, text.height);
        self.text(1, &Self::shown(&text.text));
        self.text(50, &number(text.angle.to_degrees(), ANGLE));
        self.text(7, Self::STYLE);
        self.int(72, 1);
        self.point(11, text.middle);
        self.end_text();
    }

    fn identity(&mut self, id: Option<&str>) {
        if let Some(id) = id {
            self.text(1001, APPLICATION);
            self.text(1000, &Self::plain(id));
        }
    }

    /// `text` so that a program shows what was meant.
    ///
    /// TEXT has codes of its own: `%%d` is a degree sign, `^J` a control character, `\U+00FC` in R2000
    /// any character. What only looks like such a code is written in a way that is none. Our own
    /// separator becomes spaces, since the smaller machines have few signs.
    fn shown(text: &str) -> String {
        let text = text
            .replace(SEPARATOR, "  ")
            .replace("%%", Self::PERCENTS)
            .replace('^', "^ ")
            .replace('°', "%%d");
        Self::plain(&text)
    }
}
