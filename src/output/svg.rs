//! `cut/<roll>.svg`: one roll to scale, for cutters and drawing programs.
//!
//! One user unit is one millimetre. The roll lies as a person sees it: x to the right along the
//! warp, y up across the roll (so written y is roll width − y). One group per layer; in each, one
//! group per piece. The group of layer CUT carries the piece's id as its `id`; the others add the
//! layer's name, since an id may stand only once in a file. `data-piece` is the id in all of them.

use std::fmt::Write as _;

use svg::Document;
use svg::node::element::{Element, Group, Line, Path, Rectangle};
use svg::node::{Node as _, Text};

use super::label::{Compass, LabelDrawing, TextLine, is_printable, lay_out};
use super::layers::{drawn_flaw, drawn_kept, frame_borders};
use super::number::{COORDINATE, number, vertices};
use super::style::{CAPITALS_PER_SIZE, CUT_FILE_TEXT, DASH, Layer};
use crate::geometry::{Outline, Point};
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::ply::Mark;

/// The cut file of `layout` as SVG 1.1.
#[must_use]
pub fn layout_svg(plan: &Plan, layout: &Layout) -> String {
    let sheet = Sheet {
        width: layout.roll_width.to_mm(),
        decimals: COORDINATE,
    };
    let (length, width) = (
        number(layout.drawn_length().to_mm(), COORDINATE),
        number(layout.roll_width.to_mm(), COORDINATE),
    );
    let mut document = Document::new()
        .set("version", "1.1")
        .set("width", format!("{length}mm"))
        .set("height", format!("{width}mm"))
        .set("viewBox", format!("0 0 {length} {width}"))
        .add(worded("title", &format!("{}: {}", plan.title, layout.roll)));
    let labels: Vec<LabelDrawing> = layout
        .pieces
        .iter()
        .map(|piece| lay_out(piece, CUT_FILE_TEXT))
        .collect();
    for layer in Layer::ALL {
        let mut group = layer_group(layer);
        if layer == Layer::Cloth && layout.stock.is_none() {
            group = group.add(
                Rectangle::new()
                    .set("x", 0)
                    .set("y", 0)
                    .set("width", length.as_str())
                    .set("height", width.as_str()),
            );
        }
        let around = around(&sheet, plan, layout, layer);
        if around.is_empty() && matches!(layer, Layer::Flaw | Layer::Frame | Layer::Keep) {
            continue;
        }
        group = around.into_iter().fold(group, Group::add);
        for (piece, label) in layout.pieces.iter().zip(&labels) {
            if let Some(drawing) = draw(&sheet, layer, piece, label) {
                group = group.add(drawing);
            }
        }
        document = document.add(group);
    }
    let mut text = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    _ = writeln!(text, "{document}");
    text
}

/// What `layer` shows of the roll itself.
fn around(sheet: &Sheet, plan: &Plan, layout: &Layout, layer: Layer) -> Vec<Path> {
    let outlines: Vec<Outline> = match layer {
        Layer::Cloth if layout.stock.is_some() => vec![layout.whole.clone()],
        Layer::Flaw => (layout.flaws.iter())
            .flat_map(|flaw| drawn_flaw(layout, flaw))
            .collect(),
        Layer::Keep => drawn_kept(plan, layout).collect(),
        Layer::Frame => {
            let border = |x| [Point::new(x, 0.0), Point::new(x, sheet.width)];
            return frame_borders(layout)
                .map(|x| Path::new().set("d", sheet.line(&border(x), false)))
                .collect();
        }
        _ => Vec::new(),
    };
    outlines
        .iter()
        .map(|outline| path(sheet, outline))
        .collect()
}

fn layer_group(layer: Layer) -> Group {
    let group = Group::new().set("id", layer.name());
    if layer == Layer::Label {
        return group
            .set("fill", layer.colour())
            .set("font-family", "sans-serif")
            .set("text-anchor", "middle");
    }
    let group = group
        .set("fill", "none")
        .set("stroke", layer.colour())
        .set("stroke-width", layer.line_width());
    if layer.is_dashed() {
        group.set("stroke-dasharray", format!("{} {}", DASH.0, DASH.1))
    } else {
        group
    }
}

/// What `layer` shows of `piece`, if anything.
fn draw(sheet: &Sheet, layer: Layer, piece: &PlacedPiece, label: &LabelDrawing) -> Option<Group> {
    let group = piece_group(layer, piece);
    match layer {
        Layer::Cut => Some(group.add(path(sheet, &piece.cut))),
        Layer::Net => Some(group.add(path(sheet, &piece.net))),
        Layer::Fibre => label.compass.as_ref().map(|c| compass(sheet, group, c)),
        Layer::Label => Some(
            label
                .texts()
                .fold(group, |group, line| group.add(text(sheet, line))),
        ),
        Layer::Notch => (!piece.marks.is_empty()).then(|| {
            let path = |mark: &Mark| Path::new().set("d", sheet.line(&mark.points, mark.closed));
            piece.marks.iter().map(path).fold(group, Group::add)
        }),
        Layer::Cloth | Layer::Flaw | Layer::Frame | Layer::Keep => None,
    }
}

fn piece_group(layer: Layer, piece: &PlacedPiece) -> Group {
    let id = xml_id(&piece.id);
    let id = match layer {
        Layer::Cut => id,
        _ => format!("{id}.{}", layer.name()),
    };
    Group::new()
        .set("id", id)
        .set("data-piece", printable(&piece.id))
}

fn path(sheet: &Sheet, outline: &Outline) -> Path {
    Path::new()
        .set("fill-rule", "evenodd")
        .set("d", sheet.path_data(outline))
}

fn compass(sheet: &Sheet, group: Group, compass: &Compass) -> Group {
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
            .set("fill", Layer::Fibre.colour())
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
    text.assign("font-size", number(line.height / CAPITALS_PER_SIZE, 2));
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
pub(super) struct Sheet {
    /// Roll width in mm.
    pub(super) width: f64,
    /// Decimals of written coordinates.
    pub(super) decimals: i32,
}

impl Sheet {
    /// `point` as written.
    pub(super) fn xy(&self, point: Point) -> (String, String) {
        (
            number(point.x, self.decimals),
            number(self.width - point.y, self.decimals),
        )
    }

    /// Path data of all boundaries, each closed.
    pub(super) fn path_data(&self, outline: &Outline) -> String {
        outline
            .rings()
            .map(|ring| self.closed(&vertices(ring)))
            .collect::<Vec<_>>()
            .join(" ")
    }

    /// Path data of the closed line through `points`.
    pub(super) fn closed(&self, points: &[Point]) -> String {
        self.line(points, true)
    }

    /// Path data of the line through `points`, closed or not.
    fn line(&self, points: &[Point], closed: bool) -> String {
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
