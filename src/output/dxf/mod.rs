//! `cut/<roll>.dxf`: one roll to scale, for cutters and CAD programs.
//!
//! Millimetres, R2000 ASCII, model space only; the roll's lower left corner is the origin, x runs
//! along the warp. Boundaries are closed LWPOLYLINEs, openings polylines of their own. Every entity
//! of a piece carries the piece's id as extended data of the application `WARPWISE`.
//!
//! The frame of the file is our own (`document`) and not the `dxf` crate's writer: that one (0.6.2)
//! writes table heads without handles, which cannot be set from outside and which an audit counts
//! as seven repairs in the smallest drawing, and puts the time of day and two random GUIDs into
//! every header, so that no two runs give the same bytes.

mod document;

use document::Document;

use super::label::{Compass, TextLine, lay_out, text_width};
use super::layers::{drawn_flaw, drawn_kept, frame_borders};
use super::number::vertices;
use super::style::{CUT_FILE_TEXT, Layer};
use crate::geometry::{Outline, Point, trig};
use crate::plan::{Layout, PlacedPiece, Plan};

/// The cut file of `layout` as DXF.
#[must_use]
pub fn layout_dxf(plan: &Plan, layout: &Layout) -> Vec<u8> {
    let (length, width) = (layout.drawn_length().to_mm(), layout.roll_width.to_mm());
    let mut document = Document::new(length, width);
    if layout.stock.is_some() {
        outline(&mut document, Layer::Cloth, &layout.whole, None);
    } else {
        document.polyline(
            Layer::Cloth,
            &[
                Point::new(0.0, 0.0),
                Point::new(length, 0.0),
                Point::new(length, width),
                Point::new(0.0, width),
            ],
            None,
        );
    }
    for flaw in &layout.flaws {
        for part in drawn_flaw(layout, flaw) {
            outline(&mut document, Layer::Flaw, &part, None);
        }
    }
    for x in frame_borders(layout) {
        let border = [Point::new(x, 0.0), Point::new(x, width)];
        document.line(Layer::Frame, border, None);
    }
    for kept in drawn_kept(plan, layout) {
        outline(&mut document, Layer::Keep, &kept, None);
    }
    for piece in &layout.pieces {
        draw(&mut document, piece);
    }
    document.finish()
}

fn draw(document: &mut Document, piece: &PlacedPiece) {
    let id = Some(piece.id.as_str());
    outline(document, Layer::Cut, &piece.cut, id);
    outline(document, Layer::Net, &piece.net, id);
    for mark in &piece.marks {
        document.vertices(Layer::Notch, &mark.points, mark.closed, id);
    }
    let label = lay_out(piece, CUT_FILE_TEXT);
    if let Some(drawing) = &label.compass {
        compass(document, drawing, id);
    }
    for line in label.texts() {
        text(document, line, id);
    }
}

fn outline(document: &mut Document, layer: Layer, outline: &Outline, id: Option<&str>) {
    for ring in outline.rings() {
        document.polyline(layer, &vertices(ring), id);
    }
}

fn compass(document: &mut Document, compass: &Compass, id: Option<&str>) {
    document.line(Layer::Fibre, compass.shaft, id);
    document.polyline(Layer::Fibre, &compass.head, id);
    if let Some(tick) = compass.zero {
        document.line(Layer::Fibre, tick, id);
    }
}

/// Writes `line` centred on its baseline; the start given beside it serves readers that ignore
/// justification.
fn text(document: &mut Document, line: &TextLine, id: Option<&str>) {
    let middle = line.baseline();
    let (sin, cos) = trig::sin_cos(line.angle);
    let half = text_width(&line.text) * line.height / 2.0;
    let start = Point::new(middle.x - half * cos, middle.y - half * sin);
    document.text(document::Text {
        layer: Layer::Label,
        text: &line.text,
        start,
        middle,
        height: line.height,
        angle: line.angle,
        id,
    });
}
