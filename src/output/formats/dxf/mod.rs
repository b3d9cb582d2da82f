//! `cut/<roll>.dxf`: one roll to scale, for cutters and CAD programs.
//!
//! Model space only; the roll's lower left corner is the origin, x runs along the warp. Boundaries
//! are closed polylines, openings polylines of their own. Every entity of a piece carries the
//! piece's id as extended data of the application `WARPWISE`. The job decides on R2000 or R12,
//! millimetres or inches, loose lines or a block for each piece, chords or arcs, texts or strokes.
//!
//! The frame of the file is our own and not the `dxf` crate's writer: that one (0.6.2) writes table
//! heads without handles, which cannot be set from outside and which an audit counts as seven
//! repairs in the smallest drawing, and puts the time of day and two random GUIDs into every
//! header, so that no two runs give the same bytes. It cannot write R12 that strict readers take.

mod drawing;
mod r12;
mod r2000;

use drawing::{Block, Drawing, Entity, Shape, Text};

use crate::geometry::{Circle, Outline, Point, trig};
use crate::job::{Arcs, DxfVersion, Outputs, PieceForm, TextForm};
use crate::output::drawing::arcs::{Vertex, with_arcs};
use crate::output::drawing::joint;
use crate::output::drawing::label::{Compass, TextLine, lay_out, text_width};
use crate::output::drawing::layers::{Drawn, around};
use crate::output::drawing::strokes::strokes;
use crate::output::number::vertices;
use crate::output::style::{CUT_FILE_TEXT, Layer};
use crate::plan::{Layout, PlacedPiece, Plan};

/// The cut file of `layout` as DXF.
#[must_use]
pub fn layout_dxf(plan: &Plan, layout: &Layout) -> Vec<u8> {
    let outputs = plan.outputs();
    let drawing = drawing(plan, layout);
    match outputs.dxf {
        DxfVersion::R2000 => r2000::write(&drawing),
        DxfVersion::R12 => r12::write(&drawing),
    }
}

/// `layout` as the job of `plan` wants it drawn.
fn drawing(plan: &Plan, layout: &Layout) -> Drawing {
    let outputs = plan.outputs();
    let scale = 1.0 / outputs.units.in_mm();
    let (length, width) = (layout.drawn_length().to_mm(), layout.roll_width().to_mm());
    let mut drawing = Drawing {
        size: (length * scale, width * scale),
        unit: outputs.units,
        layers: drawing::layers(outputs),
        entities: Vec::new(),
        blocks: Vec::new(),
    };
    let mut roll = Sketch::new(outputs, None);
    for (layer, drawn) in around(plan, layout) {
        match drawn {
            Drawn::Area(outline) => roll.outline(layer, &outline, &[]),
            Drawn::Border(ends) => roll.edge(layer, ends),
        }
    }
    drawing.entities.append(&mut roll.entities);
    for piece in layout.pieces() {
        let mut sketch = Sketch::new(outputs, Some(piece.id()));
        sketch.piece(piece);
        if outputs.pieces == PieceForm::Exploded {
            drawing.entities.append(&mut sketch.entities);
            continue;
        }
        let low = piece.cut().bounds().min;
        let base = Point::new(low.x * scale, low.y * scale);
        let name = block_name(piece.id(), &drawing.blocks);
        drawing.entities.push(Entity {
            layer: Layer::Cut,
            id: Some(piece.id().to_owned()),
            shape: Shape::Insert {
                block: name.clone(),
                at: base,
            },
        });
        drawing.blocks.push(Block {
            name,
            base,
            entities: sketch.entities,
        });
    }
    drawing
}

/// `id` as a name that every release takes, and that no other block has.
fn block_name(id: &str, taken: &[Block]) -> String {
    /// R12 takes 31 characters; some are left for a number.
    const LONGEST: usize = 26;
    let plain = |c: char| match c {
        c if c.is_ascii_alphanumeric() => c.to_ascii_uppercase(),
        '-' | '_' | '$' => c,
        _ => '_',
    };
    let name: String = id.chars().map(plain).take(LONGEST).collect();
    let is_taken = |name: &str| taken.iter().any(|block| block.name == name);
    if !is_taken(&name) {
        return name;
    }
    let mut numbered = (2..).map(|n| format!("{name}_{n}"));
    numbered
        .find(|name| !is_taken(name))
        .expect("there are more numbers than blocks")
}

/// Entities of one piece in the making; takes millimetres.
struct Sketch<'a> {
    outputs: &'a Outputs,
    scale: f64,
    id: Option<&'a str>,
    entities: Vec<Entity>,
}

impl<'a> Sketch<'a> {
    fn new(outputs: &'a Outputs, id: Option<&'a str>) -> Self {
        Self {
            outputs,
            scale: 1.0 / outputs.units.in_mm(),
            id,
            entities: Vec::new(),
        }
    }

    fn piece(&mut self, piece: &PlacedPiece) {
        self.outline(Layer::Cut, piece.cut(), piece.circles());
        self.outline(Layer::Net, piece.net(), piece.circles());
        for mark in piece.marks() {
            self.line(Layer::Notch, &mark.points, mark.closed);
        }
        let label = lay_out(piece, CUT_FILE_TEXT);
        if let Some(drawing) = &label.compass {
            self.compass(drawing);
        }
        label.texts().for_each(|line| self.words(line));
        for joined in piece.joints() {
            self.edge(Layer::Splice, joined.joint.line);
        }
        joint::texts(piece, CUT_FILE_TEXT).for_each(|line| self.words(&line));
    }

    fn push(&mut self, layer: Layer, shape: Shape) {
        self.entities.push(Entity {
            layer,
            id: self.id.map(str::to_owned),
            shape,
        });
    }

    fn scaled(&self, point: Point) -> Point {
        Point::new(point.x * self.scale, point.y * self.scale)
    }

    fn outline(&mut self, layer: Layer, outline: &Outline, circles: &[Circle]) {
        for ring in outline.rings() {
            let points = vertices(ring);
            match self.outputs.arcs {
                Arcs::Chords => self.line(layer, &points, true),
                Arcs::Kept => self.polyline(layer, with_arcs(&points, circles), true),
            }
        }
    }

    fn line(&mut self, layer: Layer, points: &[Point], closed: bool) {
        let vertices = points.iter().map(|&p| Vertex::corner(p)).collect();
        self.polyline(layer, vertices, closed);
    }

    fn polyline(&mut self, layer: Layer, mut vertices: Vec<Vertex>, closed: bool) {
        for vertex in &mut vertices {
            vertex.point = self.scaled(vertex.point);
        }
        self.push(layer, Shape::Polyline { vertices, closed });
    }

    fn compass(&mut self, compass: &Compass) {
        self.edge(Layer::Fibre, compass.shaft);
        self.line(Layer::Fibre, &compass.head, true);
        if let Some(tick) = compass.zero {
            self.edge(Layer::Fibre, tick);
        }
    }

    /// A straight line alone.
    fn edge(&mut self, layer: Layer, ends: [Point; 2]) {
        let ends = ends.map(|p| self.scaled(p));
        self.push(layer, Shape::Line(ends));
    }

    /// Writes `line` as the job wants its texts.
    fn words(&mut self, line: &TextLine) {
        match self.outputs.text {
            TextForm::Text => self.text(line),
            TextForm::Strokes => {
                for stroke in strokes(line) {
                    self.line(Layer::Label, &stroke, false);
                }
            }
        }
    }

    /// Writes `line` centred on its baseline; the start given beside it serves readers that ignore
    /// justification.
    fn text(&mut self, line: &TextLine) {
        let middle = line.baseline();
        let (sin, cos) = trig::sin_cos(line.angle);
        let half = text_width(&line.text) * line.height / 2.0;
        let start = Point::new(middle.x - half * cos, middle.y - half * sin);
        let text = Text {
            text: line.text.clone(),
            start: self.scaled(start),
            middle: self.scaled(middle),
            height: line.height * self.scale,
            angle: line.angle,
        };
        self.push(Layer::Label, Shape::Text(text));
    }
}

/// Decimals of a coordinate: 0.1 µm and finer in both units.
fn decimals(drawing: &Drawing) -> i32 {
    use crate::output::number::COORDINATE;
    match drawing.unit {
        crate::units::LengthUnit::Millimetre => COORDINATE,
        _ => COORDINATE + 2,
    }
}
