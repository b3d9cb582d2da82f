//! Runs through the records of a drawing and of the blocks inserted in it.

use std::collections::BTreeMap;

use super::document::{Document, Record};
use super::entities::{fault, integer_or, point, real_or, vertex};
use super::tags::{At, TagFault};
use super::told;
use crate::diag::{Diagnostic, Place};
use crate::geometry::Point;
use crate::geometry::trig::sin_cos;
use crate::pattern::PatternText;
use crate::pattern::affine::Affine;
use crate::pattern::faults::not_read;
use crate::pattern::shape::{Drawing, MOST_FAULTS, MOST_POINTS, Shape, Stroke, counted};
use crate::units::Angle;

/// How deep blocks may be inserted in blocks.
const MOST_LEVELS: u32 = 16;

/// Copies of entities that INSERTs may make in all.
const MOST_COPIES: usize = 1_000_000;

/// A block inserted: where its coordinates go, and the layer that its layer 0 stands for.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    pub(super) to_mm: Affine,
    layer: Option<String>,
    depth: u32,
}

impl Frame {
    pub(super) fn top(to_mm: Affine) -> Self {
        Self {
            to_mm,
            layer: None,
            depth: 0,
        }
    }
}

/// One run through a list of entities: the drawing's own, or a block's.
pub(super) struct Level {
    frame: Frame,
    /// A POLYLINE whose VERTEX records are still to come.
    polyline: Option<Polyline>,
}

impl Level {
    pub(super) fn new(frame: Frame) -> Self {
        Self {
            frame,
            polyline: None,
        }
    }
}

pub(super) struct Polyline {
    pub(super) common: Common,
    pub(super) flags: i64,
    pub(super) vertices: Vec<Vertex>,
}

#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Vertex {
    pub(super) at: Point,
    pub(super) bulge: f64,
}

/// What all entities have.
#[derive(Clone, Debug)]
pub(super) struct Common {
    pub(super) place: At,
    pub(super) handle: String,
    pub(super) layer: String,
    pub(super) extrusion: [f64; 3],
    pub(super) paper_space: bool,
    pub(super) invisible: bool,
}

pub(super) struct Reader<'d, 'a> {
    file: &'d str,
    pub(super) document: &'d Document<'a>,
    pub(super) chord: f64,
    pub(super) drawing: Drawing,
    /// Entities that were not read, by name.
    pub(super) not_read: BTreeMap<String, usize>,
    /// Entities that were not read because of their layer, by layer.
    hidden: BTreeMap<String, usize>,
    in_paper_space: usize,
    invisible: usize,
    tilted: usize,
    faults: usize,
    copies: usize,
    points: usize,
}

impl<'d, 'a> Reader<'d, 'a> {
    pub(super) fn new(
        file: &'d str,
        document: &'d Document<'a>,
        chord: f64,
        drawing: Drawing,
    ) -> Self {
        Self {
            file,
            document,
            chord,
            drawing,
            not_read: BTreeMap::new(),
            hidden: BTreeMap::new(),
            in_paper_space: 0,
            invisible: 0,
            tilted: 0,
            faults: 0,
            copies: 0,
            points: 0,
        }
    }

    /// Draws one record; a fault in it becomes a problem and the rest goes on.
    pub(super) fn feed(&mut self, level: &mut Level, record: &Record<'a>) {
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

    fn draw(&mut self, level: &mut Level, record: &Record<'a>) -> Result<(), TagFault> {
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
            b"LINE" => self.line(frame, common, record)?,
            b"ARC" => self.arc(frame, common, record)?,
            b"CIRCLE" => self.circle(frame, common, record)?,
            b"ELLIPSE" => self.ellipse(frame, common, record)?,
            b"LWPOLYLINE" => self.lwpolyline(frame, common, record)?,
            b"SPLINE" => self.spline(frame, common, record)?,
            b"INSERT" => self.insert(frame, &common, record)?,
            b"TEXT" | b"ATTRIB" => self.text(frame, &common, record)?,
            b"MTEXT" => self.mtext(frame, &common, record)?,
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
    pub(super) fn end_polyline(&mut self, level: &mut Level) {
        if let Some(polyline) = level.polyline.take() {
            self.polyline(&level.frame, polyline);
        }
    }

    fn common(&self, frame: &Frame, record: &Record<'a>) -> Result<Common, TagFault> {
        let mut common = Common {
            place: record.place,
            handle: String::new(),
            layer: String::new(),
            extrusion: [0.0, 0.0, 1.0],
            paper_space: false,
            invisible: false,
        };
        for tag in &record.tags {
            match tag.code {
                5 => common.handle = String::from_utf8_lossy(tag.text()).into_owned(),
                8 => common.layer = self.document.code_page.decode(tag.text()),
                60 => common.invisible = tag.integer()? != 0,
                67 => common.paper_space = tag.integer()? != 0,
                210 => common.extrusion[0] = tag.real()?,
                220 => common.extrusion[1] = tag.real()?,
                230 => common.extrusion[2] = tag.real()?,
                _ => {}
            }
        }
        if common.layer.is_empty() {
            common.layer.push('0');
        }
        if let ("0", Some(layer)) = (common.layer.as_str(), &frame.layer) {
            common.layer.clone_from(layer);
        }
        Ok(common)
    }

    fn is_shown(&mut self, common: &Common) -> bool {
        let layer = self.document.layer(&common.layer);
        if common.paper_space {
            self.in_paper_space += 1;
        } else if common.invisible {
            self.invisible += 1;
        } else if layer.off || layer.frozen {
            *self.hidden.entry(common.layer.clone()).or_default() += 1;
        } else {
            return true;
        }
        false
    }

    /// The map from the entity's own plane (Autodesk DXF reference, "Object Coordinate Systems"),
    /// or `None` if that plane is tilted.
    pub(super) fn plane(&mut self, frame: &Frame, common: &Common) -> Option<Affine> {
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
        common: &Common,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let document = self.document;
        let name = record.tags.iter().find(|t| t.code == 2);
        let name = name.map_or_else(String::new, |t| document.code_page.decode(t.text()));
        let Some(block) = document.block(&name) else {
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
        let copies = usize::try_from(columns.saturating_mul(rows)).unwrap_or(usize::MAX);
        let at = point(record, 10)?;
        let (sin, cos) = sin_cos(Angle::degrees(real_or(record, 50, 0.0)?));
        let turned = plane
            .after(&Affine::shift(at.x, at.y))
            .after(&Affine::rotation(sin, cos));
        let sized = Affine::scale(real_or(record, 41, 1.0)?, real_or(record, 42, 1.0)?)
            .after(&Affine::shift(-block.base.x, -block.base.y));
        if self
            .copies
            .saturating_add(copies.saturating_mul(block.records.len()))
            > MOST_COPIES
        {
            let many = format!("inserted blocks make more than {MOST_COPIES} copies");
            return Err(fault(record, many));
        }
        for row in 0..rows {
            for column in 0..columns {
                self.copies += block.records.len();
                let offset = Affine::shift(column as f64 * dx, row as f64 * dy);
                let to_mm = turned.after(&offset).after(&sized);
                if !to_mm.is_finite() {
                    return Err(fault(record, "its scale is too large"));
                }
                let mut level = Level::new(Frame {
                    to_mm,
                    layer: Some(common.layer.clone()),
                    depth: frame.depth + 1,
                });
                for inner in &block.records {
                    self.feed(&mut level, inner);
                }
                self.end_polyline(&mut level);
                if self.copies > MOST_COPIES {
                    return Ok(());
                }
            }
        }
        Ok(())
    }

    pub(super) fn push_text(&mut self, frame: &Frame, common: &Common, at: Point, text: String) {
        if text.is_empty() {
            return;
        }
        if let Some(plane) = self.plane(frame, common) {
            self.drawing.texts.push(PatternText {
                text,
                layer: common.layer.clone(),
                at: plane.point(at),
            });
        }
    }

    pub(super) fn push(
        &mut self,
        kind: &'static str,
        common: Common,
        points: Vec<Point>,
        closed: bool,
    ) {
        self.points += points.len();
        if self.points > MOST_POINTS {
            return;
        }
        let id = id(&common);
        let layer = self.drawing.layer(&common.layer);
        self.drawing.shapes.push(Shape {
            kind,
            id,
            layer,
            strokes: vec![Stroke { points, closed }],
        });
    }

    pub(super) fn entity_place(&self, kind: &str, common: &Common) -> Place {
        Place::Entity {
            file: self.file.to_owned(),
            entity: format!("{kind} {} on layer {}", id(common), common.layer),
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
        if self.points > MOST_POINTS {
            let message = format!("the file flattens to more than {MOST_POINTS} points");
            problems.push(
                Diagnostic::error(message)
                    .at(file())
                    .help("check the unit, or draw with fewer curves"),
            );
        }
        if let Some(warning) = not_read(&self.not_read) {
            problems.push(warning.at(file()));
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
        for (layer, n) in &self.hidden {
            let message = format!(
                "layer {layer} is off or frozen: {} left out",
                counted(*n, "entity", "entities")
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

/// The handle, or a name from the place in the file.
fn id(common: &Common) -> String {
    match (common.handle.is_empty(), common.place) {
        (false, _) => common.handle.clone(),
        (true, At::Line(line)) => format!("line-{line}"),
        (true, At::Byte(offset)) => format!("byte-{offset}"),
    }
}
