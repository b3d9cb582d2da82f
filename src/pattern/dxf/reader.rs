//! Runs through the records of a drawing and of the blocks inserted in it.

use std::collections::{BTreeMap, HashMap};

use super::document::{Document, Record, Records};
use super::entities::vertex;
use super::tags::{Tag, TagFault, TagPlace};
use super::told;
use crate::diag::{Diagnostic, Place, counted, shortened};
use crate::geometry::Point;
use crate::geometry::trig::sin_cos;
use crate::pattern::PatternText;
use crate::pattern::affine::Affine;
use crate::pattern::flatten::{Chords, Vertex};
use crate::pattern::settings::{Colour, Hatches};
use crate::pattern::shape::{Id, Quota, RawDrawing, RawShape, Stroke, Strokes};
use crate::units::Angle;

/// How deep blocks may be inserted in blocks.
const MOST_LEVELS: u32 = 16;

/// Bytes that may be read again for the sake of INSERTs, beyond twice the file's size. Larger: a small file
/// that copies a large block a million times keeps the program busy for seconds; smaller: honest arrays
/// are cut off.
const COPIED_BYTES: usize = 8 << 20;

/// Letters of the user's text that a message shows.
const LETTERS_SHOWN: usize = 80;

/// What an inserted block costs beside its bytes.
const BYTES_OF_A_COPY: usize = 16;

/// Splines by fit points that are told one by one.
pub(super) const MOST_FIT_POINTS_TOLD: usize = 20;

/// A block inserted: where its coordinates go, and what its layer 0 and colour 0 stand for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Insertion {
    pub(super) to_mm: Affine,
    layer: Option<LayerRef>,
    colour: Option<Colour>,
    depth: u32,
}

impl Insertion {
    pub(super) fn top(to_mm: Affine) -> Self {
        Self {
            to_mm,
            layer: None,
            colour: None,
            depth: 0,
        }
    }
}

/// One run through a list of entities: the drawing's own, or a block's.
pub(super) struct Level<'a> {
    frame: Insertion,
    /// A POLYLINE whose VERTEX records are still to come.
    polyline: Option<Polyline<'a>>,
}

impl Level<'_> {
    pub(super) fn new(frame: Insertion) -> Self {
        Self {
            frame,
            polyline: None,
        }
    }
}

pub(super) struct Polyline<'a> {
    pub(super) common: Common<'a>,
    pub(super) flags: i64,
    pub(super) vertices: Vec<Vertex>,
}

/// An entity to draw: its pairs, what all entities have, and the block it stands in.
pub(super) struct RawEntity<'e, 'a> {
    pub(super) record: &'e Record<'a>,
    pub(super) common: Common<'a>,
    pub(super) frame: &'e Insertion,
}

/// Takes a pair of a boundary with bulges in: codes 10, 20 and 42; others say nothing here.
pub(super) fn take_vertex(vertices: &mut Vec<Vertex>, tag: &Tag) -> Result<(), TagFault> {
    match (tag.code, vertices.last_mut()) {
        (10, _) => vertices.push(Vertex {
            at: Point::new(tag.real()?, 0.0),
            bulge: 0.0,
        }),
        (20, Some(vertex)) => vertex.at.y = tag.real()?,
        (42, Some(vertex)) => vertex.bulge = tag.real()?,
        _ => {}
    }
    Ok(())
}

/// A layer in the drawing, and what the layer table says of it.
#[derive(Clone, Copy, Debug)]
pub(super) struct LayerRef {
    /// Position in the drawing's layers.
    index: usize,
    is_hidden: bool,
    colour: Option<Colour>,
}

/// What all entities have.
#[derive(Clone, Copy, Debug)]
pub(super) struct Common<'a> {
    pub(super) place: TagPlace,
    pub(super) handle: &'a [u8],
    pub(super) layer: LayerRef,
    pub(super) colour: Option<Colour>,
    pub(super) extrusion: [f64; 3],
    pub(super) paper_space: bool,
    pub(super) invisible: bool,
}

pub(super) struct EntityReader<'d, 'a> {
    pub(super) document: &'d Document<'a>,
    pub(super) chords: &'d Chords,
    pub(super) hatches: Hatches,
    pub(super) drawing: RawDrawing,
    /// Layers met so far, by their name as written.
    layers: HashMap<&'a [u8], LayerRef>,
    /// The layer of the entity before, by its name as written: entities come in runs.
    last_layer: Option<(&'a [u8], LayerRef)>,
    /// Entities that were not read because of their layer, by layer.
    hidden: BTreeMap<usize, usize>,
    in_paper_space: usize,
    invisible: usize,
    tilted: usize,
    copied: Quota,
    /// Splines that were drawn through their fit points.
    pub(super) interpolated: usize,
}

impl<'d, 'a> EntityReader<'d, 'a> {
    pub(super) fn new(
        document: &'d Document<'a>,
        chords: &'d Chords,
        hatches: Hatches,
        drawing: RawDrawing,
    ) -> Self {
        Self {
            document,
            chords,
            hatches,
            drawing,
            layers: HashMap::new(),
            last_layer: None,
            hidden: BTreeMap::new(),
            in_paper_space: 0,
            invisible: 0,
            tilted: 0,
            copied: Quota::new(COPIED_BYTES.saturating_add(2 * document.bytes)),
            interpolated: 0,
        }
    }

    /// Draws one record; a fault in it becomes a problem and the rest goes on.
    pub(super) fn feed(&mut self, level: &mut Level<'a>, record: &Record<'a>) {
        if let Err(fault) = self.draw(level, record) {
            self.drawing.fault(|drawing| {
                let mut problem = told(&drawing.file, &fault);
                let name = String::from_utf8_lossy(record.name);
                problem.message = format!("{name} left out: {}", problem.message);
                problem
            });
        }
    }

    fn draw(&mut self, level: &mut Level<'a>, record: &Record<'a>) -> Result<(), TagFault> {
        match record.name {
            b"VERTEX" => {
                if let Some(polyline) = &mut level.polyline {
                    polyline.vertices.extend(vertex(record)?);
                }
                return Ok(());
            }
            // Whatever comes instead of a VERTEX ends a POLYLINE, even if its SEQEND is missing.
            _ => self.end_polyline(level),
        }
        // ATTDEF is the template of an attribute; what is filled in comes as ATTRIB.
        if matches!(record.name, b"SEQEND" | b"ATTDEF") {
            return Ok(());
        }
        let common = self.common(&level.frame, record)?;
        if !self.is_shown(&common) || !self.is_wanted(record.name, &common) {
            return Ok(());
        }
        let entity = RawEntity {
            record,
            common,
            frame: &level.frame,
        };
        match record.name {
            b"LINE" => self.line(&entity)?,
            b"ARC" => self.arc(&entity)?,
            b"CIRCLE" => self.circle(&entity)?,
            b"ELLIPSE" => self.ellipse(&entity)?,
            b"LWPOLYLINE" => self.lwpolyline(&entity)?,
            b"SPLINE" => self.spline(&entity)?,
            b"INSERT" => self.insert(&entity)?,
            b"TEXT" | b"ATTRIB" => self.text(&entity)?,
            b"MTEXT" => self.mtext(&entity)?,
            b"HATCH" if self.hatches == Hatches::Outlines => self.hatch(&entity)?,
            b"POINT" if self.is_mark(&common) => self.point(&entity)?,
            b"POLYLINE" => {
                level.polyline = Some(Polyline {
                    common,
                    flags: record.integer_or(70, 0)?,
                    vertices: Vec::new(),
                });
            }
            name => self.drawing.pass_over(&String::from_utf8_lossy(name)),
        }
        Ok(())
    }

    /// Draws the POLYLINE whose vertices have all come, if there is one.
    pub(super) fn end_polyline(&mut self, level: &mut Level<'a>) {
        if let Some(polyline) = level.polyline.take() {
            self.polyline(&level.frame, &polyline);
        }
    }

    fn common(&mut self, frame: &Insertion, record: &Record<'a>) -> Result<Common<'a>, TagFault> {
        let mut layer: &[u8] = b"";
        let (mut index, mut true_colour) = (256, None);
        let mut handle: &[u8] = b"";
        let mut extrusion = [0.0, 0.0, 1.0];
        let (mut paper_space, mut invisible) = (false, false);
        for tag in &record.tags {
            match tag.code {
                5 => handle = tag.text(),
                8 => layer = tag.text(),
                60 => invisible = tag.integer()? != 0,
                62 => index = tag.integer()?,
                67 => paper_space = tag.integer()? != 0,
                210 => extrusion[0] = tag.real()?,
                220 => extrusion[1] = tag.real()?,
                230 => extrusion[2] = tag.real()?,
                420 => true_colour = Some(tag.integer()?),
                _ => {}
            }
        }
        let layer = match (layer, frame.layer) {
            (b"" | b"0", Some(layer)) => layer,
            (b"", None) => self.layer(b"0"),
            (name, _) => self.layer(name),
        };
        Ok(Common {
            place: record.place,
            handle,
            layer,
            colour: match index {
                _ if true_colour.is_some() => colour((index, true_colour)),
                // BYLAYER and BYBLOCK.
                256 => layer.colour,
                0 => frame.colour.or(layer.colour),
                index => colour((index, None)),
            },
            extrusion,
            paper_space,
            invisible,
        })
    }

    /// The layer with the name written `name`.
    fn layer(&mut self, name: &'a [u8]) -> LayerRef {
        if let Some((last, layer)) = self.last_layer
            && last == name
        {
            return layer;
        }
        let layer = match self.layers.get(name) {
            Some(&known) => known,
            None => {
                let decoded = self.document.code_page.decode(name);
                let table = self.document.layer(&decoded);
                let short = self.drawing.short_name(&decoded);
                let layer = LayerRef {
                    index: self.drawing.layer(short),
                    is_hidden: table.off || table.frozen,
                    colour: colour(table.colour),
                };
                self.layers.insert(name, layer);
                layer
            }
        };
        self.last_layer = Some((name, layer));
        layer
    }

    fn is_shown(&mut self, common: &Common<'a>) -> bool {
        if common.paper_space {
            self.in_paper_space += 1;
        } else if common.invisible {
            self.invisible += 1;
        } else if common.layer.is_hidden {
            *self.hidden.entry(common.layer.index).or_default() += 1;
        } else {
            return true;
        }
        false
    }

    /// Whether an entity is to be drawn: what is left out for its layer or colour is counted and never
    /// flattened. An INSERT is no line of its own.
    fn is_wanted(&mut self, name: &[u8], common: &Common<'a>) -> bool {
        let is_line = match name {
            b"LINE" | b"ARC" | b"CIRCLE" | b"ELLIPSE" | b"LWPOLYLINE" | b"POLYLINE" | b"SPLINE" => {
                true
            }
            b"HATCH" => self.hatches == Hatches::Outlines,
            b"POINT" => self.is_mark(common),
            _ => false,
        };
        !is_line || self.drawing.takes(common.layer.index, common.colour)
    }

    /// Whether what is on the entity's layer is a mark.
    fn is_mark(&self, common: &Common<'a>) -> bool {
        let role = self.drawing.layers[common.layer.index].role;
        role.is_some_and(|r| r.is_mark())
    }

    /// The map from the entity's own plane (Autodesk DXF reference, "Object Coordinate Systems"),
    /// or `None` if that plane is tilted.
    pub(super) fn plane(&mut self, frame: &Insertion, common: &Common<'a>) -> Option<Affine> {
        let [x, y, z] = common.extrusion;
        if x.abs().max(y.abs()) > 1e-6 * z.abs() {
            self.tilted += 1;
            None
        } else if z < 0.0 {
            Some(frame.to_mm.after(&Affine::scale(-1.0, 1.0)))
        } else {
            Some(frame.to_mm)
        }
    }

    fn insert(&mut self, entity: &RawEntity<'_, 'a>) -> Result<(), TagFault> {
        let RawEntity {
            record,
            common,
            frame,
        } = entity;
        let name = record.text(2, self.document.code_page);
        let Some(&block) = self.document.block(&name) else {
            let name = shortened(&name, LETTERS_SHOWN);
            return Err(record.fault(format!("its block \"{name}\" is not in the file")));
        };
        if frame.depth >= MOST_LEVELS {
            let levels = format!("blocks are inserted in blocks more than {MOST_LEVELS} deep");
            return Err(record.fault(levels));
        }
        let Some(plane) = self.plane(frame, common) else {
            return Ok(());
        };
        let columns = record.integer_or(70, 1)?.max(1);
        let rows = record.integer_or(71, 1)?.max(1);
        let (dx, dy) = (record.real_or(44, 0.0)?, record.real_or(45, 0.0)?);
        let at = record.point(10)?;
        let (sin, cos) = sin_cos(Angle::degrees(record.real_or(50, 0.0)?));
        let turned = plane
            .after(&Affine::shift(at.x, at.y))
            .after(&Affine::rotation(sin, cos));
        let sized = Affine::scale(record.real_or(41, 1.0)?, record.real_or(42, 1.0)?)
            .after(&Affine::shift(-block.base.x, -block.base.y));
        for row in 0..rows {
            for column in 0..columns {
                let offset = Affine::shift(column as f64 * dx, row as f64 * dy);
                let to_mm = turned.after(&offset).after(&sized);
                if !to_mm.is_finite() {
                    return Err(record.fault("its scale is too large"));
                }
                let inner = Insertion {
                    to_mm,
                    layer: Some(common.layer),
                    colour: common.colour,
                    depth: frame.depth + 1,
                };
                self.copy(&block.entities, inner)?;
                if self.copied.is_over() || self.drawing.is_full() {
                    return Ok(());
                }
            }
        }
        Ok(())
    }

    /// Draws a block's entities once.
    fn copy(
        &mut self,
        entities: &super::tags::TagReader<'a>,
        frame: Insertion,
    ) -> Result<(), TagFault> {
        let mut level = Level::new(frame);
        let mut records = Records::new(*entities);
        while let Some(record) = records.next()? {
            if record.name == b"ENDBLK" {
                break;
            }
            if !self.copied.spend(record.bytes) || self.drawing.is_full() {
                break;
            }
            self.feed(&mut level, record);
        }
        self.end_polyline(&mut level);
        // An empty block copied without end is work too.
        self.copied.spend(BYTES_OF_A_COPY);
        Ok(())
    }

    pub(super) fn push_text(
        &mut self,
        frame: &Insertion,
        common: &Common<'a>,
        at: Point,
        text: String,
    ) {
        if text.is_empty() {
            return;
        }
        if let Some(plane) = self.plane(frame, common) {
            self.drawing.push_text(PatternText {
                text,
                layer: self.drawing.layers[common.layer.index].name.clone(),
                at: plane.point(at),
            });
        }
    }

    pub(super) fn push(
        &mut self,
        kind: &'static str,
        common: &Common<'a>,
        points: Vec<Point>,
        closed: bool,
    ) {
        self.push_strokes(kind, common, Strokes::One(Stroke { points, closed }));
    }

    pub(super) fn push_strokes(
        &mut self,
        kind: &'static str,
        common: &Common<'a>,
        strokes: Strokes,
    ) {
        let layer = common.layer.index;
        let id = self.id(common);
        self.drawing.push(RawShape {
            kind,
            id,
            layer,
            role: self.drawing.layers[layer].role,
            strokes,
        });
    }

    /// The handle, or a name from the place in the file.
    fn id(&mut self, common: &Common<'_>) -> Id {
        if common.handle.is_empty() {
            return match common.place {
                TagPlace::Line(line) => Id::Line(line),
                TagPlace::Byte(offset) => Id::Byte(offset),
            };
        }
        let text = String::from_utf8_lossy(common.handle);
        match u64::from_str_radix(&text, 16) {
            // Written as it will be printed again.
            Ok(handle) if handle != 0 && is_plain_handle(common.handle) => Id::Handle(handle),
            _ => Id::Named(self.drawing.short_name(&text).into()),
        }
    }

    pub(super) fn entity_place(&mut self, kind: &str, common: &Common<'a>) -> Place {
        let id = self.id(common);
        let layer = &self.drawing.layers[common.layer.index].name;
        Place::Entity {
            file: self.drawing.file.clone(),
            entity: format!("{kind} {id} on layer {layer}"),
            at_mm: None,
        }
    }

    /// The drawing, with a word on everything that was not read.
    pub(super) fn finish(self) -> RawDrawing {
        let entities = |n| counted(n, "entity", "entities");
        let mut drawing = self.drawing;
        drawing.tell_more_faults("more entity", "more entities");
        if self.interpolated > MOST_FIT_POINTS_TOLD {
            let more = self.interpolated - MOST_FIT_POINTS_TOLD;
            let message =
                counted(more, "more spline", "more splines") + " given by fit points only";
            drawing.problem(Diagnostic::warning(message));
        }
        if self.copied.is_over() {
            let message = "the inserted blocks make too many copies, so only a part was read";
            drawing.problem(Diagnostic::error(message));
        }
        drawing.tell_not_read();
        if self.tilted > 0 {
            let message = entities(self.tilted) + " in a tilted plane left out";
            drawing.problem(
                Diagnostic::warning(message).help("draw the pattern flat, seen from above"),
            );
        }
        let hidden = self.hidden.into_iter();
        let mut hidden: Vec<(String, usize)> = hidden
            .map(|(layer, n)| (drawing.layers[layer].name.clone(), n))
            .collect();
        hidden.sort_unstable();
        for (layer, n) in hidden {
            drawing.note_if_any(n, |n| {
                format!("layer {layer} is off or frozen: {} left out", entities(n))
            });
        }
        drawing.note_if_any(self.in_paper_space, |n| {
            entities(n) + " in paper space left out"
        });
        drawing.note_if_any(self.invisible, |n| {
            entities(n) + " marked invisible left out"
        });
        drawing
    }
}

/// A colour from an index (group 62) and a true colour (group 420).
fn colour(written: (i64, Option<i64>)) -> Option<Colour> {
    match written {
        (_, Some(rgb)) => {
            let [_, r, g, b] = u32::try_from(rgb & 0xff_ffff).ok()?.to_be_bytes();
            Some(Colour::Rgb([r, g, b]))
        }
        (index, None) => u8::try_from(index).ok().map(Colour::Index),
    }
}

fn is_plain_handle(handle: &[u8]) -> bool {
    handle[0] != b'0'
        && handle
            .iter()
            .all(|b| b.is_ascii_digit() || (b'A'..=b'F').contains(b))
}
