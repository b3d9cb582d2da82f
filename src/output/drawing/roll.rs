//! A roll with its pieces as every cut file and picture shows it, on the layers of cut files.

use std::cell::OnceCell;

use super::joint;
use super::label::{TextSize, lay_out, tag_texts};
use super::piece::PieceLines;
use super::shape::{Drawing, Shape};
use super::tag::{self, Tag};
use crate::cloth::Flaw;
use crate::geometry::{Bounds, BoxTree, Outline, Point, clip};
use crate::output::style::Layer;
use crate::plan::{Layout, PlacedPiece, Plan};

/// The roll of `layout` in the roll frame, its texts within `size`: first what there is of the roll
/// itself, then its pieces, numbered as in the layout.
pub(in crate::output) fn roll(plan: &Plan, layout: &Layout, size: TextSize) -> Drawing<Layer> {
    let mut drawing = Drawing::default();
    around(&mut drawing, plan, layout);
    let mut tags = RollTags::new(layout, size);
    for (i, piece) in layout.pieces().iter().enumerate() {
        draw_piece(&mut drawing, i, piece, &mut tags);
    }
    drawing
}

/// Piece number `i` with its lines, marks, joints and label.
fn draw_piece(
    drawing: &mut Drawing<Layer>,
    i: usize,
    piece: &PlacedPiece,
    tags: &mut RollTags<'_>,
) {
    let size = tags.size;
    let mut add = |layer, shape| drawing.add(layer, Some(i), shape);
    let lines = PieceLines::of(piece);
    for (layer, shape) in lines.outlines() {
        add(layer, shape);
    }
    let mut label = lay_out(piece, size);
    if !label.is_legible
        && let Some(Tag { text, line, .. }) = tags.beside(piece)
    {
        add(Layer::Label, Shape::Edge(line));
        label.lines = vec![text];
        label.pointers.clear();
    }
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

/// The box of a piece by its index.
type BoxOf<'a> = Box<dyn Fn(usize) -> (Bounds, f64) + 'a>;

/// Tags beside the pieces of a roll that are too small for their labels.
struct RollTags<'a> {
    layout: &'a Layout,
    size: TextSize,
    /// Boxes of the pieces; made when a piece asks.
    boxes: OnceCell<BoxTree<BoxOf<'a>>>,
    taken: Vec<Bounds>,
    /// How many more pieces may ask.
    left: usize,
}

/// Tags on one roll. More: a picture of words that takes long to make; fewer: tiny numbers that
/// there would have been room for.
const MOST_TAGS: usize = 1000;

impl<'a> RollTags<'a> {
    fn new(layout: &'a Layout, size: TextSize) -> Self {
        Self {
            layout,
            size,
            boxes: OnceCell::new(),
            taken: Vec::new(),
            left: MOST_TAGS,
        }
    }

    /// The tag of `piece`, on cloth that is free of pieces and of other tags.
    fn beside(&mut self, piece: &PlacedPiece) -> Option<Tag> {
        self.left = self.left.checked_sub(1)?;
        let (pieces, whole) = (self.layout.pieces(), self.layout.whole());
        let boxes = self.boxes.get_or_init(|| {
            let box_of = |i: usize| (pieces[i].cut().bounds(), 0.0);
            BoxTree::by_place(pieces.len(), Box::new(box_of))
        });
        let drawn = drawn_box(self.layout);
        let room = |words: &Bounds| {
            drawn.holds(words, 0.0)
                && !self.taken.iter().any(|other| other.meets(words))
                && (self.layout.stock().is_none()
                    || words
                        .corners()
                        .iter()
                        .all(|&corner| whole.outer.contains(corner)))
        };
        let own = piece.cut();
        let beside = |text: &str, at| {
            let far = tag::reach(text, self.size);
            let near = (boxes.nearest(at)).map(|i| pieces[i].cut());
            let others: Vec<&Outline> = near
                .take_while(|cut| cut.bounds().distance(at) <= far)
                .filter(|cut| !std::ptr::eq(*cut, own))
                .collect();
            tag::beside((at, own), text, self.size, &room, &others)
        };
        let found = (tag_texts(piece).iter()).find_map(|text| {
            tag::aims(own, piece.label().centre).find_map(|aim| beside(text, aim))
        });
        self.taken.extend(found.as_ref().map(|tag| tag.bounds));
        found
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::output::drawing::face::usual_width;
    use crate::output::style::CUT_FILE_TEXT;
    use crate::plan::tests::{layout, piece, planned};
    use crate::units::Length;

    fn bar(id: &str, from: (f64, f64), to: (f64, f64)) -> PlacedPiece {
        let bounds = Bounds {
            min: Point::new(from.0, from.1),
            max: Point::new(to.0, to.1),
        };
        piece(id, bounds.outline().unwrap())
    }

    /// Three strips of 2 mm, the middle one free at its end alone, and a speck.
    #[test]
    fn a_piece_too_low_for_its_label_is_named_beside_it() {
        let pieces = vec![
            bar("LOW-1#1", (0.0, 20.0), (400.0, 22.0)),
            bar("LOW-1#2", (0.0, 25.0), (400.0, 27.0)),
            bar("LOW-1#3", (0.0, 30.0), (400.0, 32.0)),
            bar("DOT-1#1", (450.0, 40.0), (451.0, 41.0)),
        ];
        let roll_of = layout(Length::mm(500.0), Length::mm(60.0), pieces);
        let drawing = roll(&planned(), &roll_of, CUT_FILE_TEXT);
        let mut taken: Vec<Bounds> = Vec::new();
        for (i, piece) in roll_of.pieces().iter().enumerate() {
            let own = (drawing.items.iter())
                .filter(|item| item.piece == Some(i) && item.layer == Layer::Label);
            let own: Vec<&Shape> = own.map(|item| &item.shape).collect();
            let [Shape::Edge([words, tip]), Shape::Text(text)] = own[..] else {
                panic!("{}: {own:?}", piece.id());
            };
            assert!(text.text.contains(piece.id()) && text.height >= CUT_FILE_TEXT.least);
            assert!(piece.cut().outer.contains(*tip));
            let half = usual_width(&text.text) * text.height / 2.0;
            let bounds = Bounds {
                min: Point::new(text.at.x - half, text.at.y - text.height / 2.0),
                max: Point::new(text.at.x + half, text.at.y + text.height / 2.0),
            };
            let others = roll_of.pieces().iter().map(|p| p.cut().bounds());
            assert!(
                !others
                    .chain(taken.iter().copied())
                    .any(|other| other.meets(&bounds))
            );
            assert!(drawn_box(&roll_of).holds(&bounds, 0.0));
            let line = [*words, *tip];
            let crossed =
                (roll_of.pieces().iter()).filter(|p| !clip::line_within(p.cut(), line).is_empty());
            assert!(crossed.count() <= 1, "{line:?}");
            taken.push(bounds);
        }
    }
}
