//! A roll with its pieces → shapes to paint: a preview of the layout.

mod key;

use super::{MOST_HEIGHT, Picture, WIDTH, letters};
use crate::diag::counted;
use crate::geometry::{Bounds, Point, Vector, trig};
use crate::output::drawing::face;
use crate::output::drawing::label::TextSize;
use crate::output::drawing::roll::frame_borders;
use crate::output::drawing::roll_view::{RollView, Room};
use crate::output::drawing::shape::{Align, Drawing, Drawn, Pointer, Shape, TextLine};
use crate::output::notes::head;
use crate::output::style::{
    CAPITALS_PER_SIZE, Colour, DRAWN, Dash, Layer, Paint, Pen, hatch, stroke, text,
};
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::units::{Angle, Length};

/// Room around everything, pixels.
const MARGIN: f64 = 40.0;
/// Room for the roll's width on its left, pixels.
const ASIDE: f64 = 46.0;
/// Pixels of a sheet as wide as this picture for one of the report's screen.
const FINER: f64 = 1.6;
const ROOM: Room = Room {
    row: WIDTH - 2.0 * MARGIN - ASIDE,
    highest: 1100.0,
    lowest: 360.0,
    letters: TextSize {
        least: 6.5,
        most: 14.0,
    },
};
/// What is painted of a piece, the lowest first.
const PAINTED: [Layer; 6] = [
    Layer::Cut,
    Layer::Net,
    Layer::Notch,
    Layer::Splice,
    Layer::Label,
    Layer::Fibre,
];
/// From a line of text to the next, as a share of its size.
const LEADING: f64 = 1.45;

/// Half the length of the marks at the ends of a measure, pixels.
const TICK: f64 = 6.0;

/// Length of a unit of dashes, pixels.
const DASH: f64 = 1.6;

impl Picture {
    /// A picture of `layout` of `plan` to scale: pieces with hatch, arrow and label, what is not
    /// used of the roll, its measures, and a key.
    #[must_use]
    pub fn of_roll(plan: &Plan, layout: &Layout) -> Self {
        let view = RollView::new(plan, layout, ROOM);
        let mut picture = Self {
            height: MARGIN,
            drawing: Drawing::default(),
            ground: None,
        };
        picture.heading(&view);
        for row in view.rows() {
            if picture.height > MOST_HEIGHT - 2.0 * ROOM.lowest {
                picture.rest(row[0]);
                break;
            }
            picture.row(&view, row);
        }
        picture.key(&view);
        picture.height = (picture.height + MARGIN).ceil();
        picture
    }
}

/// Width in pixels of a line that is `mm` wide on paper.
fn width(mm: f64) -> f64 {
    stroke::pixels(mm) * FINER
}

/// A dashed line that is `mm` wide on paper.
fn dashed(colour: Colour, mm: f64, dash: Dash) -> Paint {
    Paint::pen(Pen::dashed(colour, width(mm), dash, DASH))
}

/// From the roll frame to pixels, for one row.
struct RowFrame {
    px: f64,
    from: f64,
    left: f64,
    bottom: f64,
}

impl RowFrame {
    fn at(&self, p: Point) -> Point {
        let x = self.left + (p.x - self.from) / self.px;
        let y = self.bottom - p.y / self.px;
        Point::new(x, y)
    }

    fn run(&self, points: &[Point]) -> Vec<Point> {
        points.iter().map(|&p| self.at(p)).collect()
    }

    fn rings(&self, rings: &[Vec<Point>]) -> Vec<Vec<Point>> {
        rings.iter().map(|ring| self.run(ring)).collect()
    }

    /// The lines of a shape.
    fn shape(&self, shape: &Shape) -> Vec<Vec<Point>> {
        let lines = shape.pen_lines();
        lines.iter().map(|(points, _)| self.run(points)).collect()
    }
}

impl Picture {
    /// A line of text on the ground of the page.
    fn note(&mut self, text: &str, (x, y): (f64, f64), size: f64, colour: Colour) {
        let paint = letters(colour, DRAWN.card);
        self.write(text, Point::new(x, y), size, Align::Left, paint);
    }

    fn heading(&mut self, view: &RollView<'_>) {
        let layout = view.layout;
        self.height += text::TITLE;
        let title = format!("{}: {}", view.plan.title(), layout.roll());
        let title = head(view.plan, title);
        self.note(&title, (MARGIN, self.height), text::TITLE, DRAWN.ink);
        self.height += text::BODY * LEADING;
        let stock = layout.stock();
        let stock = stock.map_or_else(String::new, |stock| format!(", from stock {}", stock.name));
        let facts = format!(
            "{} on {} of {}{stock}, {} wide; utilisation {:.1} %; gap {}",
            counted(layout.pieces().len(), "piece", "pieces"),
            layout.used_length().in_metres_and_yards(),
            layout.cloth().name,
            layout.roll_width().in_mm_and_inches(),
            layout.utilisation() * 100.0,
            layout.gap().in_mm_and_inches(),
        );
        self.note(&facts, (MARGIN, self.height), text::BODY, DRAWN.soft);
        self.height += text::BODY;
    }

    /// Says that nothing is drawn from `from` mm on.
    fn rest(&mut self, from: f64) {
        let from = Length::mm(from).in_metres_and_yards();
        self.height += text::BODY * LEADING;
        let told = format!("The rest of the roll, from {from} on, is not drawn.");
        self.note(&told, (MARGIN, self.height), text::BODY, DRAWN.ink);
        self.height += text::BODY * LEADING;
    }

    fn row(&mut self, view: &RollView<'_>, [from, to]: [f64; 2]) {
        /// Room for the warp arrow above and the measures below the roll.
        const ABOVE: f64 = 30.0;
        const BELOW: f64 = 84.0;
        let (wide, high) = ((to - from) / view.px, view.width / view.px);
        let (left, top) = (MARGIN + ASIDE, self.height + ABOVE);
        let frame = RowFrame {
            px: view.px,
            from,
            left,
            bottom: top + high,
        };
        let window = Bounds {
            min: Point::new(left, top),
            max: Point::new(left + wide, top + high),
        };
        self.drawing.within = Some(window);
        self.cloth(view, &frame);
        for (piece, items) in view.pieces_between(from, to) {
            self.piece(view, piece, items, &frame);
        }
        self.edges(view, &frame);
        self.drawing.within = None;
        self.notes(view, [from, to], &window);
        self.height = window.max.y + BELOW;
    }

    fn cloth(&mut self, view: &RollView<'_>, frame: &RowFrame) {
        let rectangle = |bounds: &Bounds| vec![frame.run(&bounds.corners())];
        let whole = frame.shape(&Shape::area(view.layout.whole(), &[]));
        self.lines(whole, true, Paint::area(DRAWN.cloth));
        for strip in view.unused() {
            let paint = Paint::line(DRAWN.soft, 0.6).over(DRAWN.unused);
            self.lines(rectangle(&strip), true, paint);
        }
        for kept in view.of_roll(Layer::Keep) {
            let paint = dashed(DRAWN.keep, stroke::LINE, &stroke::KEEP_DASH).over(DRAWN.card);
            self.lines(frame.shape(kept), true, paint);
        }
        for flaw in view.of_roll(Layer::Flaw) {
            if let Shape::Area { rings, .. } = flaw {
                self.crosses(rings, view, frame);
            }
        }
    }

    /// A flawed area: crossing lines.
    fn crosses(&mut self, flaw: &[Vec<Point>], view: &RollView<'_>, frame: &RowFrame) {
        for degrees in [45.0, -45.0] {
            let lines = hatch::lines(flaw, Angle::degrees(degrees), 7.0 * view.px);
            let runs = lines.iter().map(|line| frame.run(line)).collect();
            self.lines(runs, false, Paint::line(DRAWN.flaw, 1.0));
        }
        let paint = Paint::line(DRAWN.flaw, width(stroke::LINE));
        self.lines(frame.rings(flaw), true, paint);
    }

    fn piece(
        &mut self,
        view: &RollView<'_>,
        piece: &PlacedPiece,
        items: &[Drawn<Layer>],
        frame: &RowFrame,
    ) {
        let ground = DRAWN.tints[view.tint(piece.part())];
        for layer in PAINTED {
            let shown = items.iter().filter(|item| item.layer == layer);
            let shapes: Vec<&Shape> = shown.map(|item| &item.shape).collect();
            match layer {
                Layer::Cut => self.cloth_of(view, ground, &shapes, frame),
                Layer::Fibre => self.compass(&shapes, ground, frame),
                _ => {
                    for shape in shapes {
                        self.shape(layer, shape, ground, frame);
                    }
                }
            }
        }
    }

    /// Fill, hatch and cut line of a piece.
    fn cloth_of(
        &mut self,
        view: &RollView<'_>,
        ground: Colour,
        areas: &[&Shape],
        frame: &RowFrame,
    ) {
        for area in areas {
            let Shape::Area { rings, .. } = area else {
                continue;
            };
            self.lines(frame.rings(rings), true, Paint::area(ground));
            let directions = view.hatch();
            let spacing = hatch::spacing(directions.len()) * FINER * view.px;
            for direction in directions {
                let lines = hatch::lines(rings, direction, spacing);
                let runs = lines.iter().map(|line| frame.run(line)).collect();
                let paint = Paint::line(DRAWN.hatch, width(stroke::HATCH));
                self.lines(runs, false, paint);
            }
            let cut = Paint::line(DRAWN.cut, width(stroke::LINE));
            self.lines(frame.rings(rings), true, cut);
        }
    }

    /// A line or a text of a piece.
    fn shape(&mut self, layer: Layer, shape: &Shape, ground: Colour, frame: &RowFrame) {
        if let Shape::Text(line) = shape {
            self.label(line, ground, frame);
            return;
        }
        let paint = match layer {
            Layer::Net => dashed(DRAWN.net, stroke::THIN, &stroke::NET_DASH),
            Layer::Splice => dashed(DRAWN.splice, stroke::LINE, &stroke::SPLICE_DASH),
            _ => Paint::line(DRAWN.mark, width(stroke::THIN)),
        };
        let closed = match shape {
            Shape::Line { closed, .. } => *closed,
            shape => matches!(shape, Shape::Area { .. }),
        };
        self.lines(frame.shape(shape), closed, paint);
    }

    fn compass(&mut self, pointers: &[&Shape], ground: Colour, frame: &RowFrame) {
        let line = width(stroke::LINE);
        let pointers = || {
            pointers.iter().filter_map(|shape| match shape {
                Shape::Pointer(pointer) => Some(pointer),
                _ => None,
            })
        };
        let shaft = |pointer: &Pointer| vec![frame.run(&pointer.shaft)];
        // A halo, so that no line of the hatch is taken for an arrow.
        for pointer in pointers() {
            self.lines(shaft(pointer), false, Paint::line(ground, line + 4.0));
        }
        let (arrows, ticks): (Vec<&Pointer>, Vec<&Pointer>) =
            pointers().partition(|pointer| pointer.head.is_some());
        for tick in ticks {
            self.lines(shaft(tick), false, Paint::line(DRAWN.ink, line));
        }
        for arrow in arrows {
            self.lines(shaft(arrow), false, Paint::line(DRAWN.fibre, line));
            let head = arrow.head.map(|head| frame.run(&head));
            let head = head.into_iter().collect();
            self.lines(head, true, Paint::area(DRAWN.fibre));
        }
    }

    /// A line of text on the bare ground of its piece.
    fn label(&mut self, line: &TextLine, ground: Colour, frame: &RowFrame) {
        let half = face::width(&line.text, line.height) / 2.0 + 3.0 * frame.px;
        let middle = line.centre(0.0);
        let (sin, cos) = trig::sin_cos(line.angle);
        let corner = |along: f64, up: f64| {
            let (along, up) = (along * half, up * line.height);
            middle + Vector::new(along * cos - up * sin, along * sin + up * cos)
        };
        let bare = [(-1.0, -0.8), (1.0, -0.8), (1.0, 0.75), (-1.0, 0.75)];
        let bare = bare.map(|(along, up)| corner(along, up));
        self.lines(vec![frame.run(&bare)], true, Paint::area(ground));
        let on_page = TextLine {
            at: frame.at(line.baseline()),
            align: Align::Middle,
            height: line.height / frame.px,
            ..line.clone()
        };
        self.paint(letters(DRAWN.ink, ground), Shape::Text(on_page));
    }

    fn edges(&mut self, view: &RollView<'_>, frame: &RowFrame) {
        let layout = view.layout;
        let whole = frame.shape(&Shape::area(layout.whole(), &[]));
        // What is bought may be longer than what is drawn.
        if layout.stock().is_some() {
            self.lines(whole, true, Paint::line(DRAWN.soft, 1.5));
        }
        let borders: Vec<f64> = frame_borders(layout).collect();
        for &x in &borders {
            let ends = [Point::new(x, 0.0), Point::new(x, view.width)];
            let paint = dashed(DRAWN.ink, stroke::LINE, &stroke::FRAME_DASH);
            self.lines(vec![frame.run(&ends)], false, paint);
        }
        let first = borders.first().map(|_| 0.0);
        for (n, x) in first.into_iter().chain(borders).enumerate() {
            let Point { x, y } = frame.at(Point::new(x, view.width));
            let name = format!("frame {}", n + 1);
            self.note(
                &name,
                (x + 6.0, y + text::NOTE + 4.0),
                text::NOTE,
                DRAWN.ink,
            );
        }
        for left in view.plan.left_of(layout) {
            let place = left.place();
            if place.max.x <= view.length + 0.01 {
                let at = frame.at(place.centre()) + Vector::new(0.0, text::NOTE / 3.0);
                let paint = letters(DRAWN.ink, DRAWN.card);
                self.write(&left.stock.name, at, text::NOTE, Align::Middle, paint);
            }
        }
    }

    /// Warp arrow, measures and scale bars around one row.
    fn notes(&mut self, view: &RollView<'_>, [from, to]: [f64; 2], window: &Bounds) {
        let Bounds { min, max } = *window;
        let thin = Paint::line(DRAWN.soft, 1.5);
        self.lines(vec![window.corners().to_vec()], true, thin);
        self.warp_arrow(min - Vector::new(0.0, 14.0));
        let size = text::NOTE;
        let y = max.y + 18.0;
        self.measure(Point::new(min.x, y), Point::new(max.x, y));
        let length = view.length_text(from, to);
        let below = (min.x, y + TICK + size * 1.2);
        self.note(&length, below, size, DRAWN.soft);
        let x = min.x - 16.0;
        self.measure(Point::new(x, min.y), Point::new(x, max.y));
        let beside = TextLine {
            text: format!("roll width {}", view.layout.roll_width().in_mm_and_inches()),
            at: Point::new(x - TICK - 6.0, (min.y + max.y) / 2.0),
            align: Align::Middle,
            height: size * CAPITALS_PER_SIZE,
            angle: Angle::degrees(90.0),
        };
        let letters = letters(DRAWN.soft, DRAWN.card);
        self.paint(letters, Shape::Text(beside));
        let mut x = min.x;
        for (mm, name) in view.scale_bars(220.0) {
            let long = mm / view.px;
            let bar = |long: f64| {
                let (min, max) = (Point::new(x, y + 38.0), Point::new(x + long, y + 46.0));
                vec![Bounds { min, max }.corners().to_vec()]
            };
            self.lines(bar(long), true, thin);
            self.lines(bar(long / 2.0), true, Paint::area(DRAWN.soft));
            self.note(name, (x + long + 10.0, y + 47.0), size, DRAWN.soft);
            x += long + 130.0;
        }
    }

    /// The direction of the warp, from `tail` on.
    fn warp_arrow(&mut self, tail: Point) {
        let tip = tail + Vector::new(96.0, 0.0);
        let arrow = Pointer::arrow(tail, tip, (16.0, 6.0));
        let fibre = Paint::line(DRAWN.fibre, width(stroke::LINE));
        self.line(tail, tip - Vector::new(4.0, 0.0), fibre);
        let head = arrow.head.iter().map(|head| head.to_vec()).collect();
        self.lines(head, true, Paint::area(DRAWN.fibre));
        let after = (tip.x + 10.0, tip.y + text::NOTE / 3.0);
        self.note("warp", after, text::NOTE, DRAWN.soft);
    }

    /// A line between the marks that it measures.
    fn measure(&mut self, from: Point, to: Point) {
        let thin = Paint::line(DRAWN.soft, 1.5);
        self.line(from, to, thin);
        let tick = match from.x == to.x {
            true => Vector::new(TICK, 0.0),
            false => Vector::new(0.0, TICK),
        };
        for end in [from, to] {
            self.line(end - tick, end + tick, thin);
        }
    }
}
