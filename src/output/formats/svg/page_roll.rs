//! A roll drawn to scale as inline SVG, for the report.
//!
//! User units are millimetres with y down. Sizes that are a matter of reading, not of cloth (text,
//! arrows, margins), are given in pixels of the size at which a wide screen shows the drawing.

use maud::{Markup, html};

use super::elements::Scale;
use super::figure::{ClassLook, on_page, pattern, shapes};
use crate::geometry::{Bounds, Point, Vector};
use crate::number::number;
use crate::output::drawing::label::TextSize;
use crate::output::drawing::roll::frame_borders;
use crate::output::drawing::roll_view::{RollView, Room};
use crate::output::drawing::shape::{Align, Drawing, Drawn, Pointer, Shape, TextLine, arrow_head};
use crate::output::style::{CAPITALS_PER_SIZE, Layer, hatch};
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::units::{Angle, PlyAngle};

/// Pixels on a wide screen.
const ROOM: Room = Room {
    row: 880.0,
    highest: 620.0,
    lowest: 380.0,
    letters: TextSize {
        least: 6.5,
        most: 10.0,
    },
};
/// Room for the notes around the roll, pixels: left, top, right, bottom.
const MARGIN: [f64; 4] = [34.0, 24.0, 8.0, 62.0];
/// The notes below a roll need this many pixels at least.
const NOTES: f64 = 460.0;

/// A roll in the page.
pub(in crate::output) struct PageRoll<'a> {
    pub(in crate::output) view: RollView<'a>,
    /// Tells this roll's patterns from those of others.
    layout_idx: usize,
    /// An angle in words.
    in_words: &'a dyn Fn(PlyAngle) -> String,
    /// Shapes of the roll, and what stands around them.
    scale: Scale,
    fine: Scale,
}

impl<'a> PageRoll<'a> {
    pub(in crate::output) fn new(
        plan: &'a Plan,
        layout: &'a Layout,
        layout_idx: usize,
        in_words: &'a dyn Fn(PlyAngle) -> String,
    ) -> Self {
        let view = RollView::new(plan, layout, ROOM);
        let scale = |decimals| Scale {
            top: Some(view.width),
            ..on_page(decimals)
        };
        Self {
            scale: scale(1),
            fine: scale(2),
            view,
            layout_idx,
            in_words,
        }
    }

    /// The row called `name` from one place along the roll to another, on a page for rows of `widest` mm.
    pub(in crate::output) fn row(&self, [from, to]: [f64; 2], widest: f64, name: &str) -> Markup {
        let step = to - from;
        let (px, width) = (self.view.px, self.view.width);
        let [left, top, right, bottom] = MARGIN.map(|m| m * px);
        let full_width = (left + widest + right).max(NOTES * px);
        let full_height = top + width + bottom;
        html! {
            svg .roll role="img" data-roll=(self.view.layout.roll())
                viewBox=(format!("{} {} {} {}", f(-left), f(-top), f(full_width), f(full_height)))
                preserveAspectRatio="xMinYMin"
                style=(format!("--px:{};--wide:{}px", f(px), f(full_width / px)))
                aria-label={ (name) " to scale with its pieces; the table below lists them" } {
                @if from == 0.0 { defs { (self.hatches()) (self.crosses()) } }
                svg x="0" y="0" width=(f(step)) height=(f(width))
                    viewBox=(format!("{} 0 {} {}", f(from), f(step), f(width))) {
                    (self.cloth())
                    @for (piece, items) in self.view.pieces_between(from, to) { (self.piece(piece, items)) }
                    (self.edges())
                }
                g .notes font-size=(f(11.0 * px)) { (shapes(&self.notes(from, to), &on_page(2))) }
            }
        }
    }

    /// The hatches of the pieces.
    fn hatches(&self) -> Markup {
        hatches(self.layout_idx, &self.view.hatch(), self.view.px)
    }

    /// The crosses of flaws.
    fn crosses(&self) -> Markup {
        if self.view.layout.flaws().is_empty() {
            return Markup::default();
        }
        let side = 5.0 * self.view.px;
        let at = |x: f64, y: f64| Point::new(x * side, y * side);
        let mut drawing = Drawing::default();
        let cross = [[at(0.0, 0.0), at(1.0, 1.0)], [at(0.0, 1.0), at(1.0, 0.0)]];
        drawing.lines("flaw-cross".into(), cross.map(Vec::from).to_vec());
        pattern(&self.flaw_id(), (side, side), None, &drawing)
    }

    fn flaw_id(&self) -> String {
        format!("flaw-{}", self.layout_idx)
    }

    /// The look of a flaw.
    pub(in crate::output) fn flaw(&self) -> ClassLook {
        ClassLook::from("flaw").filled(&self.flaw_id())
    }

    /// The roll with what is not used of it.
    fn cloth(&self) -> Markup {
        let is_stock = self.view.layout.stock().is_some();
        let clip = format!("whole-{}", self.layout_idx);
        let unused = self.view.unused().into_iter().map(Shape::Rectangle);
        html! {
            @if is_stock {
                clipPath id=(clip) { (self.drawn(ClassLook::from("").with("clip-rule", "evenodd".to_owned()), &self.whole())) }
            }
            g clip-path=[is_stock.then(|| format!("url(#{clip})"))] {
                (ClassLook::from("cloth").markup(&self.fine, &self.new_roll()))
                @for strip in unused { (ClassLook::from("unused").markup(&self.fine, &strip)) }
                @for kept in self.view.of_roll(Layer::Keep) { (self.drawn("kept", kept)) }
                @for flaw in self.view.of_roll(Layer::Flaw) { (self.drawn(self.flaw(), flaw)) }
            }
        }
    }

    /// The edge of the roll, borders of frames, and the names of what is left.
    fn edges(&self) -> Markup {
        let (layout, px, width) = (self.view.layout, self.view.px, self.view.width);
        let mut drawing = Drawing::default();
        let number = |n: usize, x: f64, drawing: &mut Drawing<ClassLook>| {
            let at = (x + 4.0 * px, 11.0 * px);
            drawing.words("frame-name", at, 10.0 * px, format!("frame {n}"));
        };
        for (i, x) in frame_borders(layout).enumerate() {
            drawing.line("frame".into(), &[0.0, width].map(|y| Point::new(x, y)));
            number(i + 2, x, &mut drawing);
            if i == 0 {
                number(1, layout.frames()[0][0], &mut drawing);
            }
        }
        for left in self.view.plan.left_of(layout) {
            let place = left.place();
            if place.max.x <= self.view.length + 0.01 {
                let at = (place.centre().x, width - place.centre().y);
                let name = left.stock.name.as_str();
                drawing.words("left-name", at, 10.0 * px, name);
            }
        }
        html! {
            @if layout.stock().is_some() {
                (self.drawn("edge", &self.whole()))
            } @else {
                (ClassLook::from("edge").markup(&self.fine, &self.new_roll()))
            }
            (shapes(&drawing, &on_page(2)))
        }
    }

    /// The whole roll or remnant.
    fn whole(&self) -> Shape {
        Shape::area(self.view.layout.whole(), &[])
    }

    /// A roll as it is bought, as far as it is drawn.
    fn new_roll(&self) -> Shape {
        Shape::Rectangle(Bounds {
            min: Point::default(),
            max: Point::new(self.view.length, self.view.width),
        })
    }

    /// `shape` with this look.
    fn drawn(&self, look: impl Into<ClassLook>, shape: &Shape) -> Markup {
        look.into().markup(&self.scale, shape)
    }

    fn piece(&self, piece: &PlacedPiece, items: &[Drawn<Layer>]) -> Markup {
        let tint = self.view.tint(piece.part());
        html! {
            g class={ "piece on-" (tint) } data-piece=(piece.id()) {
                title {
                    (piece.id()) ", number " (piece.sequence()) ", "
                    ((self.in_words)(piece.angle_design()))
                }
                @for item in items {
                    @match &item.shape {
                        cut @ Shape::Area { .. } if item.layer == Layer::Cut => {
                            (self.drawn(format!("cut tint-{tint}"), cut))
                            @for direction in self.view.hatch() {
                                (self.drawn(ClassLook::from("").filled(&hatch_id(self.layout_idx, direction)), cut))
                            }
                        }
                        Shape::Pointer(Pointer { head: Some(head), shaft }) => {
                            (self.compass(items, shaft, head))
                        }
                        // Blanks divide the words for those who hear them.
                        shape @ Shape::Text(_) => { (self.scale.markup(shape, &[])) " " }
                        shape if item.layer == Layer::Label => { (self.drawn("tag-line", shape)) }
                        shape if item.layer == Layer::Net => { (self.drawn("net", shape)) }
                        shape if item.layer == Layer::Splice => { (self.drawn("splice", shape)) }
                        _ => {}
                    }
                }
            }
        }
    }

    /// The warp arrow of a piece over the tick beside it, both on halos, so that no line of the
    /// hatch is taken for an arrow.
    fn compass(&self, items: &[Drawn<Layer>], shaft: &[Point; 2], head: &[Point; 3]) -> Markup {
        let ticks = items.iter().filter_map(|item| match &item.shape {
            Shape::Pointer(Pointer { head: None, shaft }) => Some(Shape::Edge(*shaft)),
            _ => None,
        });
        let ticks: Vec<Shape> = ticks.collect();
        let shaft = Shape::Edge(*shaft);
        let head = Shape::Line {
            points: head.to_vec(),
            closed: true,
        };
        html! {
            (self.drawn("halo", &shaft))
            @for tick in &ticks { (self.drawn("halo", tick)) (self.drawn("zero", tick)) }
            (self.drawn("arrow", &shaft))
            (self.drawn("head", &head))
        }
    }

    /// Dimensions, warp direction and scale bars around one row.
    fn notes(&self, from: f64, to: f64) -> Drawing<ClassLook> {
        let (px, width) = (self.view.px, self.view.width);
        let length = to - from;
        let tick = 4.0 * px;
        let mut drawing = Drawing::default();
        let below = width + 13.0 * px;
        let line = |ends: [(f64, f64); 2]| ends.map(|(x, y)| Point::new(x, y)).to_vec();
        let end = |x: f64| line([(x, below - tick), (x, below + tick)]);
        let along = line([(0.0, below), (length, below)]);
        drawing.lines("line".into(), vec![along, end(0.0), end(length)]);
        let size = 11.0 * px;
        let length_text = self.view.length_text(from, to);
        drawing.words("", (0.0, below + 14.0 * px), size, length_text);
        let left = -12.0 * px;
        let end = |y: f64| line([(left - tick, y), (left + tick, y)]);
        let across = line([(left, 0.0), (left, width)]);
        drawing.lines("line".into(), vec![across, end(0.0), end(width)]);
        let roll_width = self.view.layout.roll_width().in_mm_and_inches();
        let beside = Point::new(left - 7.0 * px, width / 2.0);
        let text = TextLine {
            angle: Angle::degrees(90.0),
            ..TextLine::level(
                format!("roll width {roll_width}"),
                beside,
                Align::Left,
                size * CAPITALS_PER_SIZE,
            )
        };
        drawing.add("middle".into(), None, Shape::Text(text));
        self.warp_arrow(&mut drawing);
        // One bar in each unit system, side by side.
        let [metric, inches] = self.view.scale_bars(120.0);
        let second = metric.0 + 70.0 * px;
        for (x, bar) in [(0.0, metric), (second, inches)] {
            self.scale_bar(x, bar, &mut drawing);
        }
        drawing
    }

    fn warp_arrow(&self, drawing: &mut Drawing<ClassLook>) {
        let px = self.view.px;
        let y = -10.0 * px;
        let at = |x: f64| Point::new(x * px, y);
        drawing.line("arrow".into(), &[at(0.0), at(58.0)]);
        let tip = at(60.0);
        let head = arrow_head((10.0, 4.0), |x, y| tip + Vector::new(x, y) * px);
        drawing.area("head".into(), vec![head.to_vec()]);
        drawing.words("", (66.0 * px, y + 4.0 * px), 11.0 * px, "warp");
    }

    fn scale_bar(&self, x: f64, (length, name): (f64, &str), drawing: &mut Drawing<ClassLook>) {
        let px = self.view.px;
        let (y, height) = (self.view.width + 44.0 * px, 5.0 * px);
        drawing.rectangle("bar-frame".into(), (x, y), (length, height));
        drawing.rectangle("bar-half".into(), (x, y), (length / 2.0, height));
        let beside = (x + length + 6.0 * px, y + 7.0 * px);
        drawing.words("", beside, 11.0 * px, name);
    }
}

/// The hatch of a roll in each of `directions`, where a pixel shows `px` mm.
pub(in crate::output) fn hatches(layout_idx: usize, directions: &[Angle], px: f64) -> Markup {
    let cell = hatch::spacing(directions.len()) * px;
    // Long, so that a line has few joints.
    let long = 40.0 * cell;
    let line = [0.0, long].map(|x| Point::new(x, cell / 2.0));
    let mut drawing = Drawing::default();
    drawing.line("hatch".into(), &line);
    let of = |direction: Angle| {
        let turn = number(-direction.to_degrees(), 2);
        let id = hatch_id(layout_idx, direction);
        pattern(&id, (long, cell), Some(turn), &drawing)
    };
    html! { @for direction in directions { (of(*direction)) } }
}

/// What the hatch of a roll in one direction is called.
pub(in crate::output) fn hatch_id(layout_idx: usize, direction: Angle) -> String {
    let degrees = number(direction.to_degrees(), 2);
    format!("hatch-{layout_idx}-{degrees}")
}

/// A coordinate of the drawing.
fn f(value: f64) -> String {
    number(value, 2)
}
