//! A roll with its pieces as every cut file and picture shows it, on the layers of cut files.

use super::joint;
use super::label::{TextSize, lay_out};
use super::piece::PieceLines;
use super::shape::{Drawing, Shape};
use crate::cloth::Flaw;
use crate::geometry::{Bounds, Outline, Point, clip};
use crate::output::style::Layer;
use crate::plan::{Layout, PlacedPiece, Plan};

/// The roll of `layout` in the roll frame, its texts within `size`: first what there is of the roll
/// itself, then its pieces, numbered as in the layout.
pub(in crate::output) fn roll(plan: &Plan, layout: &Layout, size: TextSize) -> Drawing<Layer> {
    let mut drawing = Drawing::default();
    around(&mut drawing, plan, layout);
    for (i, piece) in layout.pieces().iter().enumerate() {
        draw_piece(&mut drawing, i, piece, size);
    }
    drawing
}

/// Piece number `i` with its lines, marks, joints and label.
fn draw_piece(drawing: &mut Drawing<Layer>, i: usize, piece: &PlacedPiece, size: TextSize) {
    let mut add = |layer, shape| drawing.add(layer, Some(i), shape);
    let lines = PieceLines::of(piece);
    for (layer, shape) in lines.outlines() {
        add(layer, shape);
    }
    let label = lay_out(piece, size);
    for pointer in label.pointers {
        add(Layer::Fibre, Shape::Pointer(pointer));
    }
    for line in label.lines {
        add(Layer::Label, Shape::Text(line));
    }
    for (layer, shape) in lines.joints() {
        add(layer, shape);
    }
    for line in joint::texts(piece, size) {
        add(Layer::Label, Shape::Text(line));
    }
}

/// Everything that is drawn of the roll itself: its edge, flaws, borders of frames, what is kept.
fn around(drawing: &mut Drawing<Layer>, plan: &Plan, layout: &Layout) {
    let width = layout.roll_width().to_mm();
    let mut add = |layer, shape| drawing.add(layer, None, shape);
    let area = |outline: &Outline| Shape::area(outline, &[]);
    let edge = match layout.stock() {
        Some(_) => area(layout.whole()),
        None => Shape::Rectangle(drawn_box(layout)),
    };
    add(Layer::Cloth, edge);
    for flaw in layout.flaws().iter().flat_map(|f| drawn_flaw(layout, f)) {
        add(Layer::Flaw, area(&flaw));
    }
    for x in machine_borders(layout) {
        let border = [Point::new(x, 0.0), Point::new(x, width)];
        add(Layer::Frame, Shape::Edge(border));
    }
    for kept in drawn_kept(plan, layout) {
        add(Layer::Keep, area(&kept));
    }
}

/// The box of the drawn cloth.
fn drawn_box(layout: &Layout) -> Bounds {
    Bounds {
        min: Point::default(),
        max: Point::new(layout.drawn_length().to_mm(), layout.roll_width().to_mm()),
    }
}

/// What of a flaw lies on the drawn cloth.
fn drawn_flaw(layout: &Layout, flaw: &Flaw) -> Vec<Outline> {
    clip::within(&flaw.area, &drawn_box(layout))
}

/// Where one frame on the cutting table ends and the next begins, mm along the roll.
pub(in crate::output) fn frame_borders(layout: &Layout) -> impl Iterator<Item = f64> + '_ {
    layout.frames().iter().skip(1).map(|frame| frame[0])
}

/// The same with the borders between what a machine reaches at once; pieces may lie across those.
fn machine_borders(layout: &Layout) -> impl Iterator<Item = f64> + '_ {
    let reached = layout.order().frames.iter().skip(1).map(|frame| frame.from);
    let is_divided = layout.order().frames.len() >= layout.frames().len();
    let on_table = frame_borders(layout).filter(move |_| !is_divided);
    reached.filter(move |_| is_divided).chain(on_table)
}

/// What is kept of the drawn cloth; of a bought roll, what lies beyond the used length is not on
/// the drawing.
fn drawn_kept<'a>(plan: &'a Plan, layout: &'a Layout) -> impl Iterator<Item = Outline> + 'a {
    let end = layout.drawn_length().to_mm();
    plan.left_of(layout)
        .filter(move |left| left.place().max.x <= end + 0.01)
        .map(|left| left.outline_on_roll())
}
