//! A drawing before it is written in one release of DXF or another.

use std::fmt::Write as _;

use crate::geometry::Point;
use crate::job::{Layer, Outputs};
use crate::number::number;
use crate::output::drawing::arcs::Vertex;
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

/// Pairs of group code and value, as all releases write them.
pub(super) trait Groups {
    fn out(&mut self) -> &mut String;

    /// Decimals of coordinates.
    fn decimals(&self) -> i32;

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
}
