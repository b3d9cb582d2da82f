//! A roll with its pieces → shapes to paint: a preview of the layout.

mod key;

use super::{Dash, Item, MOST_HEIGHT, Paint, Picture, WIDTH, Words};
use crate::diag::counted;
use crate::geometry::{Bounds, Point, Vector, trig};
use crate::output::drawing::label::TextSize;
use crate::output::drawing::roll::frame_borders;
use crate::output::drawing::roll_view::{RollView, Room};
use crate::output::drawing::shape::{Item as Drawn, Pointer, Shape, TextLine};
use crate::output::style::{CAPITALS_PER_SIZE, Colour, DRAWN, Layer, hatch, stroke, text};
use crate::plan::{Layout, PlacedPiece, Plan};
use crate::units::{Angle, Length};

/// Room around everything, pixels.
const MARGIN: f32 = 40.0;
/// Room for the roll's width on its left, pixels.
const ASIDE: f32 = 46.0;
/// Pixels of a sheet as wide as this picture for one of the report's screen.
const FINER: f64 = 1.6;
const ROOM: Room = Room {
    row: (WIDTH - 2.0 * MARGIN - ASIDE) as f64,
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
const LEADING: f32 = 1.45;

const NET_DASH: Dash = &[6.4, 3.2];
const FRAME_DASH: Dash = &[16.0, 6.4];
const KEEP_DASH: Dash = &[2.4, 4.8];
const SPLICE_DASH: Dash = &[12.8, 3.2, 2.4, 3.2];

impl Picture {
    /// A picture of `layout` of `plan` to scale: pieces with hatch, arrow and label, what is not
    /// used of the roll, its measures, and a key.
    #[must_use]
    pub fn of_roll(plan: &Plan, layout: &Layout) -> Self {
        let view = RollView::new(plan, layout, ROOM);
        let mut sketch = Sketch {
            items: Vec::new(),
            below: MARGIN,
        };
        sketch.heading(&view);
        for row in view.rows() {
            if sketch.below > MOST_HEIGHT - 2.0 * ROOM.lowest as f32 {
                sketch.rest(row[0]);
                break;
            }
            sketch.row(&view, row);
        }
        sketch.key(&view);
        Self {
            height: (sketch.below + MARGIN).ceil(),
            items: sketch.items,
        }
    }
}

/// Width in pixels of a line that is `mm` wide on paper.
fn width(mm: f64) -> f32 {
    (stroke::pixels(mm) * FINER) as f32
}

/// A picture in the making.
struct Sketch {
    items: Vec<Item>,
    /// Where the next thing begins.
    below: f32,
}

/// From the roll frame to pixels, for one row.
struct Frame {
    px: f64,
    from: f64,
    left: f64,
    bottom: f64,
}

impl Frame {
    fn at(&self, p: Point) -> (f32, f32) {
        let x = self.left + (p.x - self.from) / self.px;
        let y = self.bottom - p.y / self.px;
        (x as f32, y as f32)
    }

    fn run(&self, points: &[Point]) -> Vec<(f32, f32)> {
        points.iter().map(|&p| self.at(p)).collect()
    }

    fn rings(&self, rings: &[Vec<Point>]) -> Vec<Vec<(f32, f32)>> {
        rings.iter().map(|ring| self.run(ring)).collect()
    }

    /// The lines of a shape.
    fn shape(&self, shape: &Shape) -> Vec<Vec<(f32, f32)>> {
        let lines = shape.pen_lines();
        lines.iter().map(|(points, _)| self.run(points)).collect()
    }
}

impl Sketch {
    fn lines(&mut self, runs: Vec<Vec<(f32, f32)>>, closed: bool, paint: Paint) {
        self.items.push(Item::Lines {
            runs,
            closed,
            paint,
        });
    }

    fn line(&mut self, a: (f32, f32), b: (f32, f32), paint: Paint) {
        self.lines(vec![vec![a, b]], false, paint);
    }

    fn write(&mut self, text: &str, at: (f32, f32), size: f32, colour: Colour) {
        self.items.push(Item::Text(Words {
            text: text.to_owned(),
            at,
            size,
            centred: false,
            turn: 0.0,
            colour,
            halo: DRAWN.card,
        }));
    }

    fn heading(&mut self, view: &RollView<'_>) {
        let layout = view.layout;
        self.below += text::TITLE;
        let title = format!("{}: {}", view.plan.title(), layout.roll());
        self.write(&title, (MARGIN, self.below), text::TITLE, DRAWN.ink);
        self.below += text::BODY * LEADING;
        let stock = layout.stock();
        let stock = stock.map_or_else(String::new, |name| format!(", from stock {name}"));
        let facts = format!(
            "{} on {} of {}{stock}, {} wide; utilisation {:.1} %; gap {}",
            counted(layout.pieces().len(), "piece", "pieces"),
            layout.used_length().in_metres_and_yards(),
            layout.cloth().name,
            layout.roll_width().in_mm_and_inches(),
            layout.utilisation() * 100.0,
            layout.gap().in_mm_and_inches(),
        );
        self.write(&facts, (MARGIN, self.below), text::BODY, DRAWN.soft);
        self.below += text::BODY;
    }

    /// Says that nothing is drawn from `from` mm on.
    fn rest(&mut self, from: f64) {
        let from = Length::mm(from).in_metres_and_yards();
        self.below += text::BODY * LEADING;
        let told = format!("The rest of the roll, from {from} on, is not drawn.");
        self.write(&told, (MARGIN, self.below), text::BODY, DRAWN.ink);
        self.below += text::BODY * LEADING;
    }

    fn row(&mut self, view: &RollView<'_>, [from, to]: [f64; 2]) {
        /// Room for the warp arrow above and the measures below the roll.
        const ABOVE: f32 = 30.0;
        const BELOW: f32 = 84.0;
        let (wide, high) = ((to - from) / view.px, view.width / view.px);
        let (left, top) = (MARGIN + ASIDE, self.below + ABOVE);
        let frame = Frame {
            px: view.px,
            from,
            left: f64::from(left),
            bottom: f64::from(top) + high,
        };
        let (right, bottom) = (left + wide as f32, top + high as f32);
        self.items.push(Item::Within([left, top, right, bottom]));
        self.cloth(view, &frame);
        for (piece, items) in view.pieces_between(from, to) {
            self.piece(view, piece, items, &frame);
        }
        self.edges(view, &frame);
        self.items.push(Item::Everywhere);
        self.notes(view, [from, to], [left, top, right, bottom]);
        self.below = bottom + BELOW;
    }

    fn cloth(&mut self, view: &RollView<'_>, frame: &Frame) {
        let rectangle = |bounds: &Bounds| vec![frame.run(&bounds.corners())];
        let whole = frame.shape(&Shape::area(view.layout.whole(), &[]));
        self.lines(whole, true, Paint::area(DRAWN.cloth));
        for strip in view.unused() {
            let paint = Paint {
                area: Some(DRAWN.unused),
                ..Paint::line(DRAWN.soft, 0.6)
            };
            self.lines(rectangle(&strip), true, paint);
        }
        for kept in view.of_roll(Layer::Keep) {
            let paint = Paint {
                area: Some(DRAWN.card),
                ..Paint::dashed(DRAWN.keep, width(stroke::LINE), KEEP_DASH)
            };
            self.lines(frame.shape(kept), true, paint);
        }
        for flaw in view.of_roll(Layer::Flaw) {
            if let Shape::Area { rings, .. } = flaw {
                self.crosses(rings, view, frame);
            }
        }
    }

    /// A flawed area: crossing lines.
    fn crosses(&mut self, flaw: &[Vec<Point>], view: &RollView<'_>, frame: &Frame) {
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
        frame: &Frame,
    ) {
        let ground = DRAWN.tints[view.tint(piece.part())];
        for layer in PAINTED {
            let shown = items.iter().filter(|item| item.layer == layer);
            let shapes: Vec<&Shape> = shown.map(|item| &item.shape).collect();
            match layer {
                Layer::Cut => self.cloth_of(view, piece, ground, &shapes, frame),
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
        piece: &PlacedPiece,
        ground: Colour,
        areas: &[&Shape],
        frame: &Frame,
    ) {
        for area in areas {
            let Shape::Area { rings, .. } = area else {
                continue;
            };
            self.lines(frame.rings(rings), true, Paint::area(ground));
            let directions = view.hatch(piece.angle_design());
            let spacing = hatch::spacing(directions.len()) * FINER * view.px;
            for direction in directions {
                let lines = hatch::lines(rings, direction.from_zero(), spacing);
                let runs = lines.iter().map(|line| frame.run(line)).collect();
                let paint = Paint::line(DRAWN.hatch, width(stroke::HATCH));
                self.lines(runs, false, paint);
            }
            let cut = Paint::line(DRAWN.cut, width(stroke::LINE));
            self.lines(frame.rings(rings), true, cut);
        }
    }

    /// A line or a text of a piece.
    fn shape(&mut self, layer: Layer, shape: &Shape, ground: Colour, frame: &Frame) {
        if let Shape::Text(line) = shape {
            self.label(line, ground, frame);
            return;
        }
        let paint = match layer {
            Layer::Net => Paint::dashed(DRAWN.net, width(stroke::THIN), NET_DASH),
            Layer::Splice => Paint::dashed(DRAWN.splice, width(stroke::LINE), SPLICE_DASH),
            _ => Paint::line(DRAWN.mark, width(stroke::THIN)),
        };
        let closed = match shape {
            Shape::Line { closed, .. } => *closed,
            shape => matches!(shape, Shape::Area { .. }),
        };
        self.lines(frame.shape(shape), closed, paint);
    }

    fn compass(&mut self, pointers: &[&Shape], ground: Colour, frame: &Frame) {
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
    fn label(&mut self, line: &TextLine, ground: Colour, frame: &Frame) {
        let size = (line.height / frame.px / CAPITALS_PER_SIZE) as f32;
        let (_, long) = super::font::outline(&line.text, size);
        let half = (f64::from(long) / 2.0 + 3.0) * frame.px;
        let middle = line.centre(0.0);
        let (sin, cos) = trig::sin_cos(line.angle);
        let corner = |along: f64, up: f64| {
            let (along, up) = (along * half, up * line.height);
            middle + Vector::new(along * cos - up * sin, along * sin + up * cos)
        };
        let bare = [(-1.0, -0.8), (1.0, -0.8), (1.0, 0.75), (-1.0, 0.75)];
        let bare = bare.map(|(along, up)| corner(along, up));
        self.lines(vec![frame.run(&bare)], true, Paint::area(ground));
        self.items.push(Item::Text(Words {
            text: line.text.clone(),
            at: frame.at(line.baseline()),
            size,
            centred: true,
            turn: line.angle.to_degrees() as f32,
            colour: DRAWN.ink,
            halo: ground,
        }));
    }

    fn edges(&mut self, view: &RollView<'_>, frame: &Frame) {
        let layout = view.layout;
        let whole = frame.shape(&Shape::area(layout.whole(), &[]));
        // What is bought may be longer than what is drawn.
        if layout.stock().is_some() {
            self.lines(whole, true, Paint::line(DRAWN.soft, 1.5));
        }
        let borders: Vec<f64> = frame_borders(layout).collect();
        for &x in &borders {
            let ends = [Point::new(x, 0.0), Point::new(x, view.width)];
            let paint = Paint::dashed(DRAWN.ink, width(stroke::LINE), FRAME_DASH);
            self.lines(vec![frame.run(&ends)], false, paint);
        }
        let first = borders.first().map(|_| 0.0);
        for (n, x) in first.into_iter().chain(borders).enumerate() {
            let (x, y) = frame.at(Point::new(x, view.width));
            let name = format!("frame {}", n + 1);
            self.write(
                &name,
                (x + 6.0, y + text::NOTE + 4.0),
                text::NOTE,
                DRAWN.ink,
            );
        }
        for left in view.plan.left_of(layout) {
            let place = left.place();
            if place.max.x <= view.length + 0.01 {
                let (x, y) = frame.at(place.centre());
                self.items.push(Item::Text(Words {
                    text: left.stock.name.clone(),
                    at: (x, y + text::NOTE / 3.0),
                    size: text::NOTE,
                    centred: true,
                    turn: 0.0,
                    colour: DRAWN.ink,
                    halo: DRAWN.card,
                }));
            }
        }
    }

    /// Warp arrow, measures and scale bars around one row.
    fn notes(
        &mut self,
        view: &RollView<'_>,
        [from, to]: [f64; 2],
        [left, top, right, bottom]: [f32; 4],
    ) {
        const TICK: f32 = 6.0;
        let thin = Paint::line(DRAWN.soft, 1.5);
        self.lines(
            vec![vec![
                (left, top),
                (right, top),
                (right, bottom),
                (left, bottom),
            ]],
            true,
            thin,
        );
        let (arrow_y, tip) = (top - 14.0, left + 96.0);
        let fibre = Paint::line(DRAWN.fibre, width(stroke::LINE));
        self.line((left, arrow_y), (tip - 4.0, arrow_y), fibre);
        let head = vec![
            (tip, arrow_y),
            (tip - 16.0, arrow_y - 6.0),
            (tip - 16.0, arrow_y + 6.0),
        ];
        self.lines(vec![head], true, Paint::area(DRAWN.fibre));
        let after = (tip + 10.0, arrow_y + text::NOTE / 3.0);
        self.write("warp", after, text::NOTE, DRAWN.soft);
        let y = bottom + 18.0;
        self.line((left, y), (right, y), thin);
        for x in [left, right] {
            self.line((x, y - TICK), (x, y + TICK), thin);
        }
        let length = view.length_text(from, to);
        let size = text::NOTE;
        self.write(&length, (left, y + TICK + size * 1.2), size, DRAWN.soft);
        let x = left - 16.0;
        self.line((x, top), (x, bottom), thin);
        for y in [top, bottom] {
            self.line((x - TICK, y), (x + TICK, y), thin);
        }
        self.items.push(Item::Text(Words {
            text: format!("roll width {}", view.layout.roll_width().in_mm_and_inches()),
            at: (x - TICK - 6.0, (top + bottom) / 2.0),
            size,
            centred: true,
            turn: 90.0,
            colour: DRAWN.soft,
            halo: DRAWN.card,
        }));
        let mut x = left;
        for (mm, name) in view.scale_bars(220.0) {
            let long = (mm / view.px) as f32;
            let bar = |from: f32, to: f32| {
                let (y0, y1) = (y + 38.0, y + 46.0);
                vec![vec![(from, y0), (to, y0), (to, y1), (from, y1)]]
            };
            self.lines(bar(x, x + long), true, thin);
            self.lines(bar(x, x + long / 2.0), true, Paint::area(DRAWN.soft));
            self.write(name, (x + long + 10.0, y + 47.0), size, DRAWN.soft);
            x += long + 130.0;
        }
    }
}
