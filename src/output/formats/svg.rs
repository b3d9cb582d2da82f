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
use svg::node::element::{Element, Group, Line, Path, Rectangle};
use svg::node::{Node as _, Text};

use crate::geometry::{Circle, Outline, Point};
use crate::job::{Arcs, Outputs, PieceForm, TextForm};
use crate::output::drawing::arcs::{Vertex, with_arcs};
use crate::output::drawing::joint;
use crate::output::drawing::label::{Compass, LabelDrawing, TextLine, is_printable, lay_out};
use crate::output::drawing::layers::{Drawn, around};
use crate::output::drawing::strokes::strokes;
use crate::output::number::{COORDINATE, number, vertices};
use crate::output::style::{CAPITALS_PER_SIZE, CUT_FILE_TEXT, DASH, Layer, hex, index_colour};
use crate::pattern::Colour;
use crate::plan::{Layout, PlacedJoint, PlacedPiece, Plan};
use crate::ply::Mark;
use crate::units::LengthUnit;

/// The cut file of `layout` as SVG 1.1.
#[must_use]
pub fn layout_svg(plan: &Plan, layout: &Layout) -> String {
    let outputs = plan.outputs();
    let unit = outputs.units;
    let sheet = Sheet {
        scale: 1.0 / unit.in_mm(),
        width: layout.roll_width().to_mm(),
        decimals: match unit {
            LengthUnit::Millimetre => COORDINATE,
            _ => COORDINATE + 2,
        },
    };
    let (length, width) = (
        sheet.length(layout.drawn_length().to_mm()),
        sheet.length(layout.roll_width().to_mm()),
    );
    let mut document = Document::new()
        .set("version", "1.1")
        .set("width", format!("{length}{}", unit.symbol()))
        .set("height", format!("{width}{}", unit.symbol()))
        .set("viewBox", format!("0 0 {length} {width}"))
        .add(worded(
            "title",
            &format!("{}: {}", plan.title(), layout.roll()),
        ));
    let writer = Writer { outputs, sheet };
    let labels: Vec<LabelDrawing> = layout
        .pieces()
        .iter()
        .map(|piece| lay_out(piece, CUT_FILE_TEXT))
        .collect();
    let pieces = || layout.pieces().iter().zip(&labels);
    for layer in Layer::ALL {
        let name = outputs.layer_name(layer);
        let mut group = writer.layer_group(layer).set("id", name);
        let of_roll = writer.of_roll(plan, layout, layer);
        let mut is_empty = of_roll.is_empty();
        group = of_roll.into_iter().fold(group, Group::add);
        if outputs.pieces == PieceForm::Exploded {
            for (piece, label) in pieces() {
                let holder = writer.piece_group(layer, piece);
                if let Some(drawing) = writer.draw(holder, layer, piece, label) {
                    group = group.add(drawing);
                    is_empty = false;
                }
            }
        }
        if !is_empty || (outputs.pieces == PieceForm::Exploded && is_always_there(layer)) {
            document = document.add(group);
        }
    }
    if outputs.pieces == PieceForm::Blocks {
        for (piece, label) in pieces() {
            document = document.add(writer.block(piece, label));
        }
    }
    let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    _ = writeln!(text, "{document}");
    text
}

/// How a job wants its SVG.
struct Writer<'a> {
    outputs: &'a Outputs,
    sheet: Sheet,
}

/// Whether the group of `layer` stands in the file although it shows nothing.
const fn is_always_there(layer: Layer) -> bool {
    !matches!(
        layer,
        Layer::Splice | Layer::Flaw | Layer::Frame | Layer::Keep
    )
}

impl Writer<'_> {
    /// What `layer` shows of the roll itself.
    fn of_roll(&self, plan: &Plan, layout: &Layout, layer: Layer) -> Vec<Element> {
        if layer == Layer::Cloth && layout.stock().is_none() {
            let size = (layout.drawn_length(), layout.roll_width());
            let edge = Rectangle::new()
                .set("x", 0)
                .set("y", 0)
                .set("width", self.sheet.length(size.0.to_mm()))
                .set("height", self.sheet.length(size.1.to_mm()));
            return vec![edge.into()];
        }
        around(plan, layout)
            .iter()
            .filter(|(of, _)| *of == layer)
            .map(|(_, drawn)| match drawn {
                Drawn::Area(outline) => self.path(outline, &[]).into(),
                Drawn::Border(ends) => Path::new().set("d", self.sheet.line(ends, false)).into(),
            })
            .collect()
    }

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
            .set("stroke-width", self.sheet.length(layer.line_width()));
        if layer.is_dashed() {
            let (dash, space) = (self.sheet.length(DASH.0), self.sheet.length(DASH.1));
            group.set("stroke-dasharray", format!("{dash} {space}"))
        } else {
            group
        }
    }

    /// The group that holds what a layer shows of a piece.
    fn piece_group(&self, layer: Layer, piece: &PlacedPiece) -> Group {
        let id = xml_id(piece.id());
        let id = match layer {
            Layer::Cut => id,
            _ => format!("{id}.{}", self.outputs.layer_name(layer)),
        };
        Group::new()
            .set("id", id)
            .set("data-piece", printable(piece.id()))
    }

    /// A piece as one group, its layers as groups in it.
    fn block(&self, piece: &PlacedPiece, label: &LabelDrawing) -> Group {
        let block = Group::new()
            .set("id", xml_id(piece.id()))
            .set("data-piece", printable(piece.id()));
        Layer::ALL.iter().fold(block, |block, &layer| {
            let name = self.outputs.layer_name(layer);
            let holder = self
                .layer_group(layer)
                .set("class", name)
                .set("id", format!("{}.{name}", xml_id(piece.id())));
            match self.draw(holder, layer, piece, label) {
                Some(drawing) => block.add(drawing),
                None => block,
            }
        })
    }

    /// What `layer` shows of `piece`, if anything, in `group`.
    fn draw(
        &self,
        group: Group,
        layer: Layer,
        piece: &PlacedPiece,
        label: &LabelDrawing,
    ) -> Option<Group> {
        let sheet = &self.sheet;
        match layer {
            Layer::Cut => Some(group.add(self.path(piece.cut(), piece.circles()))),
            Layer::Net => Some(group.add(self.path(piece.net(), piece.circles()))),
            Layer::Fibre => label.compass.as_ref().map(|c| {
                let fill = self.colour(layer);
                compass(sheet, group, c, &fill)
            }),
            Layer::Label => {
                let at_joints = joint::texts(piece, CUT_FILE_TEXT);
                let lines = label.texts().cloned().chain(at_joints);
                Some(self.words(group, lines))
            }
            Layer::Splice => piece.splice().map(|splice| {
                let path = |j: &PlacedJoint| Path::new().set("d", sheet.line(&j.joint.line, false));
                splice.joints.iter().map(path).fold(group, Group::add)
            }),
            Layer::Notch => (!piece.marks().is_empty()).then(|| {
                let path =
                    |mark: &Mark| Path::new().set("d", sheet.line(&mark.points, mark.closed));
                piece.marks().iter().map(path).fold(group, Group::add)
            }),
            Layer::Cloth | Layer::Flaw | Layer::Frame | Layer::Keep => None,
        }
    }

    /// `lines` in `group` as the job wants its texts.
    fn words(&self, group: Group, lines: impl Iterator<Item = TextLine>) -> Group {
        let sheet = &self.sheet;
        match self.outputs.text {
            TextForm::Text => lines.fold(group, |group, line| group.add(text(sheet, &line))),
            TextForm::Strokes => {
                let lines = lines.flat_map(|line| strokes(&line));
                let data: Vec<String> = lines.map(|line| sheet.line(&line, false)).collect();
                group.add(Path::new().set("d", data.join(" ")))
            }
        }
    }

    /// `outline` as the job wants its arcs; `circles` are those that are known.
    fn path(&self, outline: &Outline, circles: &[Circle]) -> Path {
        let data = match self.outputs.arcs {
            Arcs::Chords => self.sheet.path_data(outline),
            Arcs::Kept => self.sheet.arc_data(outline, circles),
        };
        Path::new().set("fill-rule", "evenodd").set("d", data)
    }
}

fn compass(sheet: &Sheet, group: Group, compass: &Compass, fill: &str) -> Group {
    let line = |[a, b]: [Point; 2]| {
        let ((x1, y1), (x2, y2)) = (sheet.xy(a), sheet.xy(b));
        Line::new()
            .set("x1", x1)
            .set("y1", y1)
            .set("x2", x2)
            .set("y2", y2)
    };
    let group = group.add(line(compass.shaft)).add(
        Path::new()
            .set("fill", fill)
            .set("d", sheet.closed(&compass.head)),
    );
    match compass.zero {
        Some(tick) => group.add(line(tick)),
        None => group,
    }
}

fn text(sheet: &Sheet, line: &TextLine) -> Element {
    let (x, y) = sheet.xy(line.baseline());
    let mut text = worded("text", &line.text);
    text.assign("x", x.as_str());
    text.assign("y", y.as_str());
    text.assign(
        "font-size",
        number(
            line.height * sheet.scale / CAPITALS_PER_SIZE,
            sheet.decimals - 2,
        ),
    );
    let degrees = line.angle.to_degrees();
    if degrees != 0.0 {
        // Counter-clockwise on the roll is negative where y runs down.
        let turn = format!("rotate({} {x} {y})", number(-degrees, 4));
        text.assign("transform", turn);
    }
    text
}

/// An element that holds `words` and no white space around them.
fn worded(element: &str, words: &str) -> Element {
    let mut element = Element::new(element);
    element.append(Text::new(printable(words)));
    element
}

/// From the roll frame to a page where y runs down.
pub(in crate::output) struct Sheet {
    /// Units of the page in a millimetre.
    pub(in crate::output) scale: f64,
    /// Roll width in mm.
    pub(in crate::output) width: f64,
    /// Decimals of written coordinates.
    pub(in crate::output) decimals: i32,
}

impl Sheet {
    /// `point` as written.
    pub(in crate::output) fn xy(&self, point: Point) -> (String, String) {
        (self.length(point.x), self.length(self.width - point.y))
    }

    /// A length in mm as written.
    fn length(&self, mm: f64) -> String {
        number(mm * self.scale, self.decimals)
    }

    /// Path data of all boundaries, each closed, with arcs where chords lie on one.
    fn arc_data(&self, outline: &Outline, circles: &[Circle]) -> String {
        let mut data = String::new();
        for ring in outline.rings() {
            let line = in_quarters(&with_arcs(&vertices(ring), circles));
            for (i, vertex) in line.iter().enumerate() {
                let (x, y) = self.xy(vertex.point);
                if i == 0 {
                    _ = write!(data, "M{x},{y}");
                }
                let next = line[(i + 1) % line.len()].point;
                let (x, y) = self.xy(next);
                if vertex.bulge == 0.0 {
                    if i + 1 < line.len() {
                        _ = write!(data, " L{x},{y}");
                    }
                } else {
                    let radius = self.length(vertex.radius(next));
                    // To the left is against the clock, also where y runs down the page.
                    let sweep = i32::from(vertex.bulge < 0.0);
                    _ = write!(data, " A{radius},{radius} 0 0 {sweep} {x},{y}");
                }
            }
            data.push('Z');
        }
        data
    }

    /// Path data of all boundaries, each closed.
    pub(in crate::output) fn path_data(&self, outline: &Outline) -> String {
        outline
            .rings()
            .map(|ring| self.closed(&vertices(ring)))
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// Path data of the closed line through `points`.
    pub(in crate::output) fn closed(&self, points: &[Point]) -> String {
        self.line(points, true)
    }

    /// Path data of the line through `points`, closed or not.
    pub(in crate::output) fn line(&self, points: &[Point], closed: bool) -> String {
        let mut data = String::new();
        for (i, &point) in points.iter().enumerate() {
            let (x, y) = self.xy(point);
            let command = if i == 0 { "M" } else { " L" };
            _ = write!(data, "{command}{x},{y}");
        }
        if closed {
            data.push('Z');
        }
        data
    }
}

/// A closed line with arcs of more than a quarter turn halved: SVG gives an arc by its radius, and
/// where the ends are nearly a diameter apart a rounded radius says little about the centre.
fn in_quarters(line: &[Vertex]) -> Vec<Vertex> {
    /// Bulge of a quarter turn, tan 22.5°, and a little more for what is rounded.
    const QUARTER: f64 = 0.415;
    let next = line.iter().cycle().skip(1);
    line.iter()
        .zip(next)
        .flat_map(|(vertex, next)| {
            if vertex.bulge.abs() > QUARTER {
                vertex.halves(next.point).to_vec()
            } else {
                vec![*vertex]
            }
        })
        .collect()
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

/// `text` without the characters XML 1.0 cannot hold.
fn printable(text: &str) -> String {
    text.chars().filter(|&c| is_printable(c)).collect()
}
