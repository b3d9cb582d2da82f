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

use drawing::{DxfBlock, Entity, EntityShape, EntityText, ModelSpace};

use crate::geometry::{Circle, Point, trig};
use crate::job::{Arcs, DxfVersion, Outputs, PieceForm, TextForm};
use crate::number::vertices;
use crate::output::drawing::arcs::{Vertex, with_arcs};
use crate::output::drawing::face::usual_width;
use crate::output::drawing::roll::roll;
use crate::output::drawing::shape::{Drawn, Shape, TextLine};
use crate::output::style::{CUT_FILE_TEXT, Layer};
use crate::plan::{Layout, PlacedPiece, Plan};

/// The cut file of `layout` as DXF.
#[must_use]
pub(crate) fn layout_dxf(plan: &Plan, layout: &Layout) -> Vec<u8> {
    let outputs = plan.outputs();
    let drawing = drawing(plan, layout);
    match outputs.dxf {
        DxfVersion::R2000 => r2000::write(&drawing),
        DxfVersion::R12 => r12::write(&drawing),
    }
}

/// `layout` as the job of `plan` wants it drawn.
fn drawing(plan: &Plan, layout: &Layout) -> ModelSpace {
    let outputs = plan.outputs();
    let scale = 1.0 / outputs.units.in_mm();
    let (length, width) = (layout.drawn_length().to_mm(), layout.roll_width().to_mm());
    let mut drawing = ModelSpace {
        size: (length * scale, width * scale),
        unit: outputs.units,
        layers: drawing::layers(outputs),
        entities: Vec::new(),
        blocks: Vec::new(),
    };
    let of_roll = roll(plan, layout, CUT_FILE_TEXT);
    for items in of_roll.items.chunk_by(|a, b| a.piece == b.piece) {
        let piece = items[0].piece.map(|i| &layout.pieces()[i]);
        let writer = Entities {
            outputs,
            scale,
            id: piece.map(PlacedPiece::id),
        };
        let entities = items.iter().flat_map(|item| writer.entities(item));
        let Some(piece) = piece.filter(|_| outputs.pieces == PieceForm::Blocks) else {
            drawing.entities.extend(entities);
            continue;
        };
        let entities = entities.collect();
        let low = piece.cut().bounds().min;
        let base = Point::new(low.x * scale, low.y * scale);
        let name = block_name(piece.id(), &drawing.blocks);
        drawing.entities.push(Entity {
            layer: Layer::Cut,
            id: Some(piece.id().to_owned()),
            shape: EntityShape::Insert {
                block: name.clone(),
                at: base,
            },
        });
        drawing.blocks.push(DxfBlock {
            name,
            base,
            entities,
        });
    }
    drawing
}

/// `id` as a name that every release takes, and that no other block has.
fn block_name(id: &str, taken: &[DxfBlock]) -> String {
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

/// How the shapes of a piece, or of the roll itself, become entities.
struct Entities<'a> {
    outputs: &'a Outputs,
    /// Units of the file in a millimetre.
    scale: f64,
    id: Option<&'a str>,
}

impl Entities<'_> {
    /// `item` as the job wants its arcs and texts.
    fn entities(&self, item: &Drawn<Layer>) -> impl Iterator<Item = Entity> {
        let shapes = match &item.shape {
            Shape::Area { rings, circles } => rings
                .iter()
                .map(|ring| self.boundary(&vertices(ring), circles))
                .collect(),
            Shape::Rectangle(bounds) => {
                vec![self.boundary(&vertices(&bounds.corners()), &[])]
            }
            Shape::Edge(ends) => vec![self.edge(*ends)],
            Shape::Pointer(pointer) => {
                let head = pointer.head.map(|head| self.line(&head, true));
                std::iter::once(self.edge(pointer.shaft))
                    .chain(head)
                    .collect()
            }
            Shape::Text(line) if self.outputs.text == TextForm::Text => {
                vec![self.text(line)]
            }
            other => {
                let lines = other.pen_lines().into_iter();
                lines
                    .map(|(points, closed)| self.line(&points, closed))
                    .collect()
            }
        };
        shapes.into_iter().map(|shape| Entity {
            layer: item.layer,
            id: self.id.map(str::to_owned),
            shape,
        })
    }

    fn scaled(&self, point: Point) -> Point {
        Point::new(point.x * self.scale, point.y * self.scale)
    }

    fn boundary(&self, points: &[Point], circles: &[Circle]) -> EntityShape {
        match self.outputs.arcs {
            Arcs::Chords => self.line(points, true),
            Arcs::Kept => self.polyline(with_arcs(points, circles), true),
        }
    }

    fn line(&self, points: &[Point], closed: bool) -> EntityShape {
        self.polyline(points.iter().map(|&p| Vertex::corner(p)).collect(), closed)
    }

    fn polyline(&self, mut vertices: Vec<Vertex>, closed: bool) -> EntityShape {
        for vertex in &mut vertices {
            vertex.point = self.scaled(vertex.point);
        }
        EntityShape::Polyline { vertices, closed }
    }

    /// A straight line alone.
    fn edge(&self, ends: [Point; 2]) -> EntityShape {
        EntityShape::Line(ends.map(|p| self.scaled(p)))
    }

    /// `line` centred on its baseline; the start given beside it serves readers that ignore
    /// justification.
    fn text(&self, line: &TextLine) -> EntityShape {
        let middle = line.baseline();
        let (sin, cos) = trig::sin_cos(line.angle);
        let half = usual_width(&line.text) * line.height / 2.0;
        let start = Point::new(middle.x - half * cos, middle.y - half * sin);
        EntityShape::Text(EntityText {
            text: line.text.clone(),
            start: self.scaled(start),
            middle: self.scaled(middle),
            height: line.height * self.scale,
            angle: line.angle,
        })
    }
}

/// Decimals of a coordinate: 0.1 µm and finer in both units.
fn decimals(drawing: &ModelSpace) -> i32 {
    use crate::number::COORDINATE;
    match drawing.unit {
        crate::units::LengthUnit::Millimetre => COORDINATE,
        _ => COORDINATE + 2,
    }
}
