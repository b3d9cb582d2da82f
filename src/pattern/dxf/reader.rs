//! Runs through the records of a drawing and of the blocks inserted in it.

use std::collections::{BTreeMap, HashMap};

use super::document::{Document, Record, Records};
use super::entities::{fault, integer_or, point, real_or, vertex};
use super::tags::{At, Tag, TagFault};
use super::told;
use crate::diag::{Diagnostic, Place, counted};
use crate::geometry::Point;
use crate::geometry::trig::sin_cos;
use crate::pattern::PatternText;
use crate::pattern::affine::Affine;
use crate::pattern::faults::not_read;
use crate::pattern::flatten::Chords;
use crate::pattern::settings::{Colour, Hatches};
use crate::pattern::shape::{Drawing, Id, MOST_FAULTS, Shape, Stroke, Strokes};
use crate::units::Angle;

/// How deep blocks may be inserted in blocks.
const MOST_LEVELS: u32 = 16;

/// Pairs that may be read again for the sake of INSERTs. Larger: a small file that copies a large
/// block a million times keeps the program busy for seconds; smaller: honest arrays are cut off.
const MOST_COPIED_PAIRS: usize = 500_000;

/// A block inserted: where its coordinates go, and what its layer 0 and colour 0 stand for.
#[derive(Clone, Copy, Debug)]
pub(super) struct Frame {
    pub(super) to_mm: Affine,
    layer: Option<LayerRef>,
    colour: Option<Colour>,
    depth: u32,
}

impl Frame {
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
    frame: Frame,
    /// A POLYLINE whose VERTEX records are still to come.
    polyline: Option<Polyline<'a>>,
}

impl Level<'_> {
    pub(super) fn new(frame: Frame) -> Self {
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

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Vertex {
    pub(super) at: Point,
    pub(super) bulge: f64,
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
    pub(super) place: At,
    pub(super) handle: &'a [u8],
    pub(super) layer: LayerRef,
    pub(super) colour: Option<Colour>,
    pub(super) extrusion: [f64; 3],
    pub(super) paper_space: bool,
    pub(super) invisible: bool,
}

pub(super) struct Reader<'d, 'a> {
    file: &'d str,
    pub(super) document: &'d Document<'a>,
    pub(super) chords: &'d Chords,
    pub(super) hatches: Hatches,
    pub(super) drawing: Drawing,
    /// Layers met so far, by their name as written.
    layers: HashMap<&'a [u8], LayerRef>,
    /// The layer of the entity before, by its name as written: entities come in runs.
    last_layer: Option<(&'a [u8], LayerRef)>,
    /// Entities that were not read, by name.
    pub(super) not_read: BTreeMap<String, usize>,
    /// Entities that were not read because of their layer, by layer.
    hidden: BTreeMap<usize, usize>,
    in_paper_space: usize,
    invisible: usize,
    tilted: usize,
    faults: usize,
    copied_pairs: usize,
}

impl<'d, 'a> Reader<'d, 'a> {
    pub(super) fn new(
        file: &'d str,
        document: &'d Document<'a>,
        chords: &'d Chords,
        hatches: Hatches,
        drawing: Drawing,
    ) -> Self {
        Self {
            file,
            document,
            chords,
            hatches,
            drawing,
            layers: HashMap::new(),
            last_layer: None,
            not_read: BTreeMap::new(),
            hidden: BTreeMap::new(),
            in_paper_space: 0,
            invisible: 0,
            tilted: 0,
            faults: 0,
            copied_pairs: 0,
        }
    }

    /// Draws one record; a fault in it becomes a problem and the rest goes on.
    pub(super) fn feed(&mut self, level: &mut Level<'a>, record: &Record<'a>) {
        if let Err(fault) = self.draw(level, record) {
            self.faults += 1;
            if self.faults <= MOST_FAULTS {
                let mut problem = told(self.file, &fault);
                let name = String::from_utf8_lossy(record.name);
                problem.message = format!("{name} left out: {}", problem.message);
                self.drawing.problems.push(problem);
            }
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
        if !self.is_shown(&common) {
            return Ok(());
        }
        let frame = &level.frame;
        match record.name {
            b"LINE" => self.line(frame, &common, record)?,
            b"ARC" => self.arc(frame, &common, record)?,
            b"CIRCLE" => self.circle(frame, &common, record)?,
            b"ELLIPSE" => self.ellipse(frame, &common, record)?,
            b"LWPOLYLINE" => self.lwpolyline(frame, &common, record)?,
            b"SPLINE" => self.spline(frame, &common, record)?,
            b"INSERT" => self.insert(frame, &common, record)?,
            b"TEXT" | b"ATTRIB" => self.text(frame, &common, record)?,
            b"MTEXT" => self.mtext(frame, &common, record)?,
            b"HATCH" if self.hatches == Hatches::Outlines => self.hatch(frame, &common, record)?,
            b"POINT" if self.is_mark(&common) => self.point(frame, &common, record)?,
            b"POLYLINE" => {
                level.polyline = Some(Polyline {
                    common,
                    flags: integer_or(record, 70, 0)?,
                    vertices: Vec::new(),
                });
            }
            name => {
                let name = String::from_utf8_lossy(name).into_owned();
                *self.not_read.entry(name).or_default() += 1;
            }
        }
        Ok(())
    }

    /// Draws the POLYLINE whose vertices have all come, if there is one.
    pub(super) fn end_polyline(&mut self, level: &mut Level<'a>) {
        if let Some(polyline) = level.polyline.take() {
            self.polyline(&level.frame, &polyline);
        }
    }

    fn common(&mut self, frame: &Frame, record: &Record<'a>) -> Result<Common<'a>, TagFault> {
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
                let layer = LayerRef {
                    index: self.drawing.layer(&decoded),
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

    /// Whether what is on the entity's layer is a mark.
    fn is_mark(&self, common: &Common<'a>) -> bool {
        let role = self.drawing.layers[common.layer.index].role;
        role.is_some_and(|r| r.is_mark())
    }

    /// The map from the entity's own plane (Autodesk DXF reference, "Object Coordinate Systems"),
    /// or `None` if that plane is tilted.
    pub(super) fn plane(&mut self, frame: &Frame, common: &Common<'a>) -> Option<Affine> {
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

    fn insert(
        &mut self,
        frame: &Frame,
        common: &Common<'a>,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let document = self.document;
        let name = record.tags.iter().find(|t| t.code == 2);
        let name = name.map_or_else(String::new, |t| document.code_page.decode(t.text()));
        let Some(&block) = document.block(&name) else {
            return Err(fault(
                record,
                format!("its block \"{name}\" is not in the file"),
            ));
        };
        if frame.depth >= MOST_LEVELS {
            let levels = format!("blocks are inserted in blocks more than {MOST_LEVELS} deep");
            return Err(fault(record, levels));
        }
        let Some(plane) = self.plane(frame, common) else {
            return Ok(());
        };
        let columns = integer_or(record, 70, 1)?.max(1);
        let rows = integer_or(record, 71, 1)?.max(1);
        let (dx, dy) = (real_or(record, 44, 0.0)?, real_or(record, 45, 0.0)?);
        let at = point(record, 10)?;
        let (sin, cos) = sin_cos(Angle::degrees(real_or(record, 50, 0.0)?));
        let turned = plane
            .after(&Affine::shift(at.x, at.y))
            .after(&Affine::rotation(sin, cos));
        let sized = Affine::scale(real_or(record, 41, 1.0)?, real_or(record, 42, 1.0)?)
            .after(&Affine::shift(-block.base.x, -block.base.y));
        for row in 0..rows {
            for column in 0..columns {
                let offset = Affine::shift(column as f64 * dx, row as f64 * dy);
                let to_mm = turned.after(&offset).after(&sized);
                if !to_mm.is_finite() {
                    return Err(fault(record, "its scale is too large"));
                }
                let inner = Frame {
                    to_mm,
                    layer: Some(common.layer),
                    colour: common.colour,
                    depth: frame.depth + 1,
                };
                self.copy(&block.entities, inner)?;
                if self.copied_pairs > MOST_COPIED_PAIRS || self.drawing.is_full() {
                    return Ok(());
                }
            }
        }
        Ok(())
    }

    /// Draws a block's entities once.
    fn copy(&mut self, entities: &super::tags::Tags<'a>, frame: Frame) -> Result<(), TagFault> {
        let mut level = Level::new(frame);
        let mut records = Records::new(*entities);
        while let Some(record) = records.next()? {
            if record.name == b"ENDBLK" {
                break;
            }
            self.copied_pairs += record.tags.len() + 1;
            if self.copied_pairs > MOST_COPIED_PAIRS || self.drawing.is_full() {
                break;
            }
            self.feed(&mut level, record);
        }
        self.end_polyline(&mut level);
        // An empty block copied without end is work too.
        self.copied_pairs += 1;
        Ok(())
    }

    pub(super) fn push_text(
        &mut self,
        frame: &Frame,
        common: &Common<'a>,
        at: Point,
        text: String,
    ) {
        if text.is_empty() {
            return;
        }
        if let Some(plane) = self.plane(frame, common) {
            self.drawing.texts.push(PatternText {
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
        if !self.drawing.takes(layer, common.colour) {
            return;
        }
        self.drawing.push(Shape {
            kind,
            id: id(common),
            layer,
            role: self.drawing.layers[layer].role,
            strokes,
        });
    }

    pub(super) fn entity_place(&self, kind: &str, common: &Common<'a>) -> Place {
        let layer = &self.drawing.layers[common.layer.index].name;
        Place::Entity {
            file: self.file.to_owned(),
            entity: format!("{kind} {} on layer {layer}", id(common)),
            at_mm: None,
        }
    }

    /// The drawing, with a word on everything that was not read.
    pub(super) fn finish(mut self) -> Drawing {
        let file = || Place::File(self.file.to_owned());
        let problems = &mut self.drawing.problems;
        if self.faults > MOST_FAULTS {
            let message =
                counted(self.faults - MOST_FAULTS, "more entity", "more entities") + " with faults";
            problems.push(Diagnostic::error(message).at(file()));
        }
        if self.copied_pairs > MOST_COPIED_PAIRS {
            let message = "the inserted blocks make too many copies, so only a part was read";
            problems.push(Diagnostic::error(message).at(file()));
        }
        if let Some(warning) = not_read(&self.not_read) {
            let hatches = self.not_read.contains_key("HATCH");
            problems.push(match hatches {
                true => warning.at(file()).help(
                    "the boundaries of hatches are read if asked for: `hatches = true` in the \
                     job's `[drawing]`, `--hatches` here",
                ),
                false => warning.at(file()),
            });
        }
        if self.tilted > 0 {
            let message =
                counted(self.tilted, "entity", "entities") + " in a tilted plane left out";
            problems.push(
                Diagnostic::warning(message)
                    .at(file())
                    .help("draw the pattern flat, seen from above"),
            );
        }
        let mut hidden: Vec<(&str, usize)> = self
            .hidden
            .iter()
            .map(|(&layer, &n)| (self.drawing.layers[layer].name.as_str(), n))
            .collect();
        hidden.sort_unstable();
        for (layer, n) in hidden {
            let message = format!(
                "layer {layer} is off or frozen: {} left out",
                counted(n, "entity", "entities")
            );
            problems.push(Diagnostic::note(message).at(file()));
        }
        for (n, why) in [
            (self.in_paper_space, "in paper space"),
            (self.invisible, "marked invisible"),
        ] {
            if n > 0 {
                let message = format!("{} {why} left out", counted(n, "entity", "entities"));
                problems.push(Diagnostic::note(message).at(file()));
            }
        }
        self.drawing
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

/// The handle, or a name from the place in the file.
fn id(common: &Common<'_>) -> Id {
    if common.handle.is_empty() {
        return match common.place {
            At::Line(line) => Id::Line(line),
            At::Byte(offset) => Id::Byte(offset),
        };
    }
    let text = String::from_utf8_lossy(common.handle);
    match u64::from_str_radix(&text, 16) {
        // Written as it will be printed again.
        Ok(handle) if handle != 0 && is_plain_handle(common.handle) => Id::Handle(handle),
        _ => Id::Named(text.into()),
    }
}

fn is_plain_handle(handle: &[u8]) -> bool {
    handle[0] != b'0'
        && handle
            .iter()
            .all(|b| b.is_ascii_digit() || (b'A'..=b'F').contains(b))
}
