//! `cut/<roll>.svg`: one roll to scale, for cutters and drawing programs.
//!
//! One user unit is one millimetre, or one inch if the job wants inches. The roll lies as a person
//! sees it: x to the right along the warp, y up across the roll (so written y is roll width − y).
//! One group per layer; in each, one group per piece. The group of layer CUT carries the piece's id
//! as its `id`; the others add the layer's name, since an id may stand only once in a file.
//! `data-piece` is the id in all of them. As blocks, the pieces are groups and the layers are groups
//! in them, so that a piece moves as one.

use std::fmt::Write as _;

use svg::Document;
use svg::node::element::{Element, Group, Path};

use super::elements::{Scale, printable, worded};
use crate::job::{Arcs, Outputs, PieceForm, TextForm};
use crate::number::COORDINATE;
use crate::output::drawing::label::is_printable;
use crate::output::drawing::roll::roll;
use crate::output::drawing::shape::{Drawn, Pointer, Shape};
use crate::output::drawing::strokes::strokes;
use crate::output::notes::head;
use crate::output::style::{CUT_FILE_TEXT, DASH, Layer, hex, index_colour};
use crate::pattern::Colour;
use crate::plan::{Layout, Plan};
use crate::units::LengthUnit;

/// The cut file of `layout` as SVG 1.1.
#[must_use]
pub(crate) fn layout_svg(plan: &Plan, layout: &Layout) -> String {
    let outputs = plan.outputs();
    let unit = outputs.units;
    let scale = Scale {
        factor: 1.0 / unit.in_mm(),
        top: Some(layout.roll_width().to_mm()),
        decimals: match unit {
            LengthUnit::Millimetre => COORDINATE,
            _ => COORDINATE + 2,
        },
        has_arcs: outputs.arcs == Arcs::Kept,
    };
    let (length, width) = (
        scale.length(layout.drawn_length().to_mm()),
        scale.length(layout.roll_width().to_mm()),
    );
    let mut document = Document::new()
        .set("version", "1.1")
        .set("width", format!("{length}{}", unit.symbol()))
        .set("height", format!("{width}{}", unit.symbol()))
        .set("viewBox", format!("0 0 {length} {width}"))
        .add(worded(
            "title",
            &head(plan, format!("{}: {}", plan.title(), layout.roll())),
        ));
    let writer = CutSvg { outputs, scale };
    let drawing = roll(plan, layout, CUT_FILE_TEXT);
    let (of_roll, of_pieces): (Vec<_>, Vec<_>) = drawing
        .items
        .chunk_by(|a, b| a.piece == b.piece)
        .partition(|items| items[0].piece.is_none());
    let pieces: Vec<(&str, &[Drawn<Layer>])> = (layout.pieces().iter())
        .map(|piece| piece.id())
        .zip(of_pieces)
        .collect();
    for layer in Layer::ALL {
        let mut shown: Vec<Element> = Vec::new();
        for items in &of_roll {
            shown.extend(writer.elements(layer, items));
        }
        if outputs.pieces == PieceForm::Exploded {
            for &(id, items) in &pieces {
                let elements = writer.elements(layer, items);
                if !elements.is_empty() {
                    let group = elements
                        .into_iter()
                        .fold(writer.holder(layer, id), Group::add);
                    shown.push(group.into());
                }
            }
        }
        let is_empty = shown.is_empty();
        if !is_empty || (outputs.pieces == PieceForm::Exploded && is_always_there(layer)) {
            let name = outputs.layer_name(layer);
            // A group at the top with an id and a title is what drawing programs show by its name.
            let group = (writer.layer_group(layer).set("id", name)).add(worded("title", name));
            document = document.add(shown.into_iter().fold(group, Group::add));
        }
    }
    if outputs.pieces == PieceForm::Blocks {
        for &(id, items) in &pieces {
            document = document.add(writer.block(id, items));
        }
    }
    let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    _ = writeln!(text, "{document}");
    text
}

/// How a job wants its SVG.
struct CutSvg<'a> {
    outputs: &'a Outputs,
    scale: Scale,
}

/// Whether the group of `layer` stands in the file although it shows nothing.
const fn is_always_there(layer: Layer) -> bool {
    !matches!(
        layer,
        Layer::Splice | Layer::Flaw | Layer::Frame | Layer::Keep
    )
}

impl CutSvg<'_> {
    fn colour(&self, layer: Layer) -> String {
        match self.outputs.layer(layer).colour {
            Some(Colour::Rgb(rgb)) => hex(rgb),
            Some(Colour::Index(index)) => hex(index_colour(index)),
            None => hex(layer.colour()),
        }
    }

    /// A group in the style of `layer`.
    fn layer_group(&self, layer: Layer) -> Group {
        let is_text = layer == Layer::Label && self.outputs.text == TextForm::Text;
        if is_text {
            return Group::new()
                .set("fill", self.colour(layer))
                .set("font-family", "sans-serif")
                .set("text-anchor", "middle");
        }
        let group = Group::new()
            .set("fill", "none")
            .set("stroke", self.colour(layer))
            .set("stroke-width", self.scale.length(layer.line_width()));
        if layer.is_dashed() {
            let (dash, space) = (self.scale.length(DASH.0), self.scale.length(DASH.1));
            group.set("stroke-dasharray", format!("{dash} {space}"))
        } else {
            group
        }
    }

    /// The group that holds what a layer shows of the piece `id`.
    fn holder(&self, layer: Layer, id: &str) -> Group {
        let own = match layer {
            Layer::Cut => xml_id(id),
            _ => format!("{}.{}", xml_id(id), self.outputs.layer_name(layer)),
        };
        Group::new().set("id", own).set("data-piece", printable(id))
    }

    /// The piece `id` as one group, its layers as groups in it.
    fn block(&self, id: &str, items: &[Drawn<Layer>]) -> Group {
        let block = Group::new()
            .set("id", xml_id(id))
            .set("data-piece", printable(id));
        Layer::ALL.iter().fold(block, |block, &layer| {
            let elements = self.elements(layer, items);
            if elements.is_empty() {
                return block;
            }
            let name = self.outputs.layer_name(layer);
            let group = self
                .layer_group(layer)
                .set("class", name)
                .set("id", format!("{}.{name}", xml_id(id)));
            block.add(elements.into_iter().fold(group, Group::add))
        })
    }

    /// Those of `items` that are on `layer`.
    fn elements(&self, layer: Layer, items: &[Drawn<Layer>]) -> Vec<Element> {
        let mut elements = Vec::new();
        let mut letters: Vec<String> = Vec::new();
        for item in items.iter().filter(|item| item.layer == layer) {
            match &item.shape {
                Shape::Text(line) if self.outputs.text == TextForm::Strokes => {
                    let lines = strokes(line).into_iter();
                    letters.extend(lines.map(|line| self.scale.line(&line, false)));
                }
                Shape::Pointer(pointer) => {
                    elements.extend(self.scale.elements(&Shape::Pointer(Pointer {
                        head: None,
                        ..*pointer
                    })));
                    elements.extend(pointer.head.map(|head| {
                        let head = self.scale.line(&head, true);
                        let fill = self.colour(layer);
                        Path::new().set("fill", fill).set("d", head).into()
                    }));
                }
                // The line of a tag; the layer's own style is that of letters.
                Shape::Edge(edge) if layer == Layer::Label => {
                    let line = Path::new()
                        .set("fill", "none")
                        .set("stroke", self.colour(layer))
                        .set("stroke-width", self.scale.length(layer.line_width()))
                        .set("d", self.scale.line(edge, false));
                    elements.push(line.into());
                }
                shape => elements.extend(self.scale.elements(shape)),
            }
        }
        if !letters.is_empty() {
            elements.push(Path::new().set("d", letters.join(" ")).into());
        }
        elements
    }
}

/// `id` as an XML id, which may hold no white space.
fn xml_id(id: &str) -> String {
    let mut text = String::new();
    for c in id.chars() {
        if c.is_whitespace() || !is_printable(c) {
            _ = write!(text, "_x{:02X}_", u32::from(c));
        } else {
            text.push(c);
        }
    }
    text
}
