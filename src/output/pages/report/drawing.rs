//! A roll drawn to scale as inline SVG, a long one in several rows.
//!
//! User units are millimetres with y down. Sizes that are a matter of reading, not of cloth (text,
//! arrows, margins), are given in pixels of the size at which a wide screen shows the drawing.

use maud::{Markup, html};

use crate::geometry::Point;
use crate::number::number;
use crate::output::drawing::label::TextSize;
use crate::output::drawing::roll::frame_borders;
use crate::output::drawing::roll_view::{RollView, Room};
use crate::output::drawing::shape::{Drawn, Pointer, Shape};
use crate::output::formats::svg::elements::Scale;
use crate::output::pages::charts::key;
use crate::output::pages::model::Svg;
use crate::output::pages::words::angle as in_words;
use crate::output::style::{Layer, hatch};
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::units::FibreAxis;

/// Pixels on a wide screen.
const ROOM: Room = Room {
    row: 880.0,
    highest: 620.0,
    lowest: 230.0,
    letters: TextSize {
        least: 5.5,
        most: 9.0,
    },
};
/// Room for the notes around the roll, pixels: left, top, right, bottom.
const MARGIN: [f64; 4] = [34.0, 24.0, 8.0, 62.0];
/// The notes below a roll need this many pixels at least.
const NOTES: f64 = 460.0;

/// The figure of `layout`.
pub(super) fn drawing(plan: &Plan, layout: &Layout, layout_idx: usize) -> Svg {
    let picture = RollFigure::new(plan, layout, layout_idx);
    let rows = picture.view.rows();
    // All rows get the same page width, so that they keep the same scale when it shrinks.
    let widest = rows.iter().map(|[from, to]| to - from).fold(0.0, f64::max);
    Svg(html! {
        figure {
            @for (i, &row) in rows.iter().enumerate() {
                @let name = if rows.len() == 1 {
                    layout.roll().to_owned()
                } else {
                    format!("{}, row {} of {}", layout.roll(), i + 1, rows.len())
                };
                (picture.row(row, widest, &name))
            }
            (picture.legend())
        }
    })
}

struct RollFigure<'a> {
    view: RollView<'a>,
    plan: &'a Plan,
    layout: &'a Layout,
    /// Tells this roll's patterns from those of others.
    layout_idx: usize,
    scale: Scale,
    /// Millimetres per pixel on a wide screen.
    px: f64,
    length: f64,
    width: f64,
}

impl<'a> RollFigure<'a> {
    fn new(plan: &'a Plan, layout: &'a Layout, layout_idx: usize) -> Self {
        let view = RollView::new(plan, layout, ROOM);
        let (px, length, width) = (view.px, view.length, view.width);
        Self {
            view,
            plan,
            layout,
            layout_idx,
            scale: Scale {
                factor: 1.0,
                top: Some(width),
                decimals: 1,
                has_arcs: false,
            },
            px,
            length,
            width,
        }
    }

    fn row(&self, [from, to]: [f64; 2], widest: f64, name: &str) -> Markup {
        let step = to - from;
        let px = self.px;
        let [left, top, right, bottom] = MARGIN.map(|m| m * px);
        let full_width = (left + widest + right).max(NOTES * px);
        let full_height = top + self.width + bottom;
        html! {
            div .scroll tabindex="0" role="region" aria-label={ "Drawing of " (name) } {
                svg .roll role="img" data-roll=(self.layout.roll())
                    viewBox=(format!("{} {} {} {}", f(-left), f(-top), f(full_width), f(full_height)))
                    preserveAspectRatio="xMinYMin"
                    style=(format!("--px:{};--wide:{}px", f(px), f(full_width / px)))
                    aria-label={ (name) " to scale with its pieces; the table below lists them" } {
                    @if from == 0.0 { (self.patterns()) }
                    svg x="0" y="0" width=(f(step)) height=(f(self.width))
                        viewBox=(format!("{} 0 {} {}", f(from), f(step), f(self.width))) {
                        (self.cloth())
                        @for (piece, items) in self.view.pieces_between(from, to) { (self.piece(piece, items)) }
                        (self.edges())
                    }
                    (self.notes(from, to))
                }
            }
        }
    }

    /// The hatches of the pieces, and the crosses of flaws.
    fn patterns(&self) -> Markup {
        let cell = hatch::spacing(self.n_directions()) * self.px;
        let flaw = 5.0 * self.px;
        html! {
            defs {
                @for direction in self.hatches() {
                    // Long, so that a line has few joints.
                    pattern id=(self.hatch_id(direction)) patternUnits="userSpaceOnUse"
                        width=(f(40.0 * cell)) height=(f(cell))
                        patternTransform=(format!("rotate({})", number(-direction.from_zero().to_degrees(), 2))) {
                        path .hatch d=(format!("M0,{}H{}", f(cell / 2.0), f(40.0 * cell))) {}
                    }
                }
                @if !self.layout.flaws().is_empty() {
                    pattern id=(self.flaw_id()) patternUnits="userSpaceOnUse"
                        width=(f(flaw)) height=(f(flaw)) {
                        path .flaw-cross d=(format!("M0,0L{c},{c}M0,{c}L{c},0", c = f(flaw))) {}
                    }
                }
            }
        }
    }

    /// The directions of all hatches on the roll, each once.
    fn hatches(&self) -> Vec<FibreAxis> {
        let angles = self.view.angles().into_iter();
        let mut all: Vec<FibreAxis> = angles.flat_map(|angle| self.view.hatch(angle)).collect();
        let degrees = |axis: &FibreAxis| axis.from_zero().to_degrees();
        all.sort_by(|a, b| degrees(a).total_cmp(&degrees(b)));
        all.dedup();
        all
    }

    /// In how many directions a piece is hatched: one cloth, so all alike.
    fn n_directions(&self) -> usize {
        let of = |piece: &PlacedPiece| self.view.hatch(piece.angle_design()).len();
        self.layout.pieces().iter().map(of).max().unwrap_or(0)
    }

    fn hatch_id(&self, direction: FibreAxis) -> String {
        let degrees = number(direction.from_zero().to_degrees(), 2);
        format!("hatch-{}-{degrees}", self.layout_idx)
    }

    fn flaw_id(&self) -> String {
        format!("flaw-{}", self.layout_idx)
    }

    /// The roll with what is not used of it.
    fn cloth(&self) -> Markup {
        let whole = self.whole();
        let is_stock = self.layout.stock().is_some();
        let clip = format!("whole-{}", self.layout_idx);
        html! {
            @if is_stock { clipPath id=(clip) { path d=(whole) clip-rule="evenodd" {} } }
            g clip-path=[is_stock.then(|| format!("url(#{clip})"))] {
                rect .cloth x="0" y="0" width=(f(self.length)) height=(f(self.width)) {}
                @for strip in self.view.unused() {
                    rect .unused x=(f(strip.min.x)) y=(f(self.width - strip.max.y))
                        width=(f(strip.width())) height=(f(strip.height())) {}
                }
                @for kept in self.view.of_roll(Layer::Keep) { (self.drawn("kept", kept)) }
                g style=(format!("fill:url(#{})", self.flaw_id())) {
                    @for flaw in self.view.of_roll(Layer::Flaw) { (self.drawn("flaw", flaw)) }
                }
            }
        }
    }

    fn edges(&self) -> Markup {
        html! {
            @if self.layout.stock().is_some() {
                path .edge d=(self.whole()) {}
            } @else {
                rect .edge x="0" y="0" width=(f(self.length)) height=(f(self.width)) {}
            }
            @for (i, x) in frame_borders(self.layout).enumerate() {
                path .frame d=(format!("M{},0V{}", f(x), f(self.width))) {}
                (self.frame_number(i + 2, x))
                @if i == 0 { (self.frame_number(1, self.layout.frames()[0][0])) }
            }
            @for left in self.plan.left_of(self.layout) {
                @let place = left.place();
                @if place.max.x <= self.length + 0.01 {
                    text .left-name x=(f(place.centre().x)) y=(f(self.width - place.centre().y))
                        font-size=(f(10.0 * self.px)) { (left.stock.name) }
                }
            }
        }
    }

    fn frame_number(&self, n: usize, x: f64) -> Markup {
        html! {
            text .frame-name x=(f(x + 4.0 * self.px)) y=(f(11.0 * self.px))
                font-size=(f(10.0 * self.px)) { "frame " (n) }
        }
    }

    /// Path data of the whole roll or remnant.
    fn whole(&self) -> String {
        let rings = self.layout.whole().rings();
        let rings: Vec<Vec<Point>> = rings.map(|ring| ring.points().to_vec()).collect();
        self.scale.area(&rings, &[])
    }

    /// `shape` with the look of `class`.
    fn drawn(&self, class: &str, shape: &Shape) -> Markup {
        self.scale.markup(shape, &[("class", class)])
    }

    fn piece(&self, piece: &PlacedPiece, items: &[Drawn<Layer>]) -> Markup {
        let tint = self.view.tint(piece.part());
        html! {
            g class={ "piece on-" (tint) } data-piece=(piece.id()) {
                title {
                    (piece.id()) ", number " (piece.sequence()) ", "
                    (in_words(piece.angle_design()))
                }
                @for item in items {
                    @match &item.shape {
                        Shape::Area { rings, .. } if item.layer == Layer::Cut => {
                            @let cut = self.scale.area(rings, &[]);
                            path class={ "cut tint-" (tint) } d=(cut) fill-rule="evenodd" {}
                            @for direction in self.view.hatch(piece.angle_design()) {
                                path d=(cut) fill-rule="evenodd" fill={ "url(#" (self.hatch_id(direction)) ")" } {}
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
    fn notes(&self, from: f64, to: f64) -> Markup {
        let px = self.px;
        let length = to - from;
        let below = self.width + 13.0 * px;
        let length_text = self.view.length_text(from, to);
        let width_text = format!("roll width {}", self.layout.roll_width().in_mm_and_inches());
        let tick = 4.0 * px;
        let left = -12.0 * px;
        html! {
            g .notes font-size=(f(11.0 * px)) {
                path .line d=(format!(
                    "M0,{b}H{l}M0,{b0}V{b1}M{l},{b0}V{b1}",
                    b = f(below), l = f(length), b0 = f(below - tick), b1 = f(below + tick),
                )) {}
                text x="0" y=(f(below + 14.0 * px)) { (length_text) }
                path .line d=(format!(
                    "M{x},0V{w}M{x0},0H{x1}M{x0},{w}H{x1}",
                    x = f(left), w = f(self.width), x0 = f(left - tick), x1 = f(left + tick),
                )) {}
                text .middle x=(f(left - 7.0 * px)) y=(f(self.width / 2.0))
                    transform=(format!("rotate(-90 {} {})", f(left - 7.0 * px), f(self.width / 2.0))) {
                    (width_text)
                }
                (self.warp_arrow())
                (self.scale_bars(self.width + 44.0 * px))
            }
        }
    }

    fn warp_arrow(&self) -> Markup {
        let px = self.px;
        let y = -10.0 * px;
        html! {
            path .arrow d=(format!("M0,{y}H{x}", y = f(y), x = f(58.0 * px))) {}
            path .head d=(format!(
                "M{x},{y}l{b},{u}v{v}Z",
                x = f(60.0 * px), y = f(y), b = f(-10.0 * px), u = f(-4.0 * px), v = f(8.0 * px),
            )) {}
            text x=(f(66.0 * px)) y=(f(y + 4.0 * px)) { "warp" }
        }
    }

    /// One bar in each unit system, side by side.
    fn scale_bars(&self, y: f64) -> Markup {
        let [metric, inches] = self.view.scale_bars(120.0);
        let second = metric.0 + 70.0 * self.px;
        html! { (self.scale_bar(0.0, y, metric)) (self.scale_bar(second, y, inches)) }
    }

    fn scale_bar(&self, x: f64, y: f64, (length, name): (f64, &str)) -> Markup {
        let height = 5.0 * self.px;
        html! {
            rect .bar-frame x=(f(x)) y=(f(y)) width=(f(length)) height=(f(height)) {}
            rect .bar-half x=(f(x)) y=(f(y)) width=(f(length / 2.0)) height=(f(height)) {}
            text x=(f(x + length + 6.0 * self.px)) y=(f(y + 7.0 * self.px)) { (name) }
        }
    }

    fn legend(&self) -> Markup {
        let view = &self.view;
        let tint = |part| key::area(&format!("chip-cut tint-{}", view.tint(part)));
        let parts = view.parts().into_iter();
        let parts = parts.map(|part| (tint(part), part.to_owned()));
        let hatched = |angle| {
            key::chip(&html! {
                rect .chip-ground x="1" y="1" width="26" height="14" {}
                @for direction in view.hatch(angle) { path .hatch d=(chip_hatch(direction)) {} }
            })
        };
        let angles = view.angles().into_iter();
        let angles = angles.map(|angle| (hatched(angle), in_words(angle)));
        let flaw = || {
            let fill = format!("fill:url(#{})", self.flaw_id());
            key::chip(&html! { rect .flaw x="1" y="1" width="26" height="14" style=(fill) {} })
        };
        let others = [
            Some((key::line("chip-cut"), "cut line")),
            Some((key::line("chip-net"), "net line")),
            (view.has_splices())
                .then(|| (key::line("chip-splice"), "splice: edge of the neighbour")),
            (view.has_kept()).then(|| (key::area("kept"), "kept as stock")),
            (!self.layout.flaws().is_empty()).then(|| (flaw(), "flaw")),
            Some((key::area("unused"), "not used")),
        ];
        let others = others.into_iter().flatten();
        let others = others.map(|(chip, words)| (chip, words.to_owned()));
        let entries: Vec<(Markup, String)> = parts.chain(angles).chain(others).collect();
        html! { figcaption { (key::key("Key to the drawing", &entries)) } }
    }
}

/// The lines of a hatch across a chip of the key.
fn chip_hatch(direction: FibreAxis) -> String {
    let corners = [(1.0, 1.0), (27.0, 1.0), (27.0, 15.0), (1.0, 15.0)];
    let corners = corners.map(|(x, y)| Point::new(x, y));
    // Where y runs down a line that rises has a negative slope.
    let level = -direction.from_zero();
    let lines = hatch::lines(&[corners.to_vec()], level, 5.0);
    let line = |[a, b]: &[Point; 2]| format!("M{},{}L{},{}", f(a.x), f(a.y), f(b.x), f(b.y));
    lines.iter().map(line).collect()
}

/// A coordinate of the drawing.
fn f(value: f64) -> String {
    number(value, 2)
}
