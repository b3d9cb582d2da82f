//! Entities → strokes and texts.

use std::collections::BTreeMap;

use super::document::{Document, Record};
use super::nurbs::Spline;
use super::tags::{At, TagFault};
use super::text::{plain_mtext, plain_text};
use super::told;
use crate::diag::{Diagnostic, Place};
use crate::geometry::trig::sin_cos;
use crate::geometry::{Point, Vector};
use crate::pattern::PatternText;
use crate::pattern::affine::Affine;
use crate::pattern::flatten::{Arc, Pen};
use crate::pattern::shape::{Drawing, Shape, Stroke};
use crate::units::Angle;

/// How deep blocks may be inserted in blocks.
const MOST_LEVELS: u32 = 16;

/// Copies of entities that INSERTs may make in all.
const MOST_COPIES: usize = 1_000_000;

/// Points that a file may flatten to: about 320 MB.
const MOST_POINTS: usize = 20_000_000;

/// Faulty entities that are told one by one.
const MOST_FAULTS: usize = 20;

/// A block inserted: where its coordinates go, and the layer that its layer 0 stands for.
#[derive(Clone, Debug)]
pub(super) struct Frame {
    to_mm: Affine,
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

struct Polyline {
    common: Common,
    flags: i64,
    vertices: Vec<Vertex>,
}

#[derive(Clone, Copy, Debug, Default)]
struct Vertex {
    at: Point,
    bulge: f64,
}

/// What all entities have.
#[derive(Clone, Debug)]
struct Common {
    place: At,
    handle: String,
    layer: String,
    extrusion: [f64; 3],
    paper_space: bool,
    invisible: bool,
}

pub(super) struct Reader<'d, 'a> {
    file: &'d str,
    document: &'d Document<'a>,
    chord: f64,
    pub(super) drawing: Drawing,
    /// Entities that were not read, by name.
    not_read: BTreeMap<String, usize>,
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
            b"SEQEND" => {
                if let Some(polyline) = level.polyline.take() {
                    self.polyline(&level.frame, polyline);
                }
                return Ok(());
            }
            // The template of an attribute; what is filled in comes as ATTRIB.
            b"ATTDEF" => return Ok(()),
            _ => {}
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
    fn plane(&mut self, frame: &Frame, common: &Common) -> Option<Affine> {
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

    fn line(&mut self, frame: &Frame, common: Common, record: &Record<'a>) -> Result<(), TagFault> {
        let (from, to) = (point(record, 10)?, point(record, 11)?);
        let mut pen = Pen::new(frame.to_mm, self.chord);
        pen.move_to(from);
        pen.line_to(to);
        self.push("LINE", common, pen.take(), false);
        Ok(())
    }

    fn arc(&mut self, frame: &Frame, common: Common, record: &Record<'a>) -> Result<(), TagFault> {
        let centre = point(record, 10)?;
        let radius = real(record, 40)?;
        let (start, end) = (real(record, 50)?, real(record, 51)?);
        let Some(plane) = self.plane(frame, &common) else {
            return Ok(());
        };
        let on_circle = |degrees: f64| {
            let (sin, cos) = sin_cos(Angle::degrees(degrees));
            centre + Vector::new(cos, sin) * radius
        };
        let mut sweep = (end - start).rem_euclid(360.0);
        if sweep == 0.0 {
            sweep = 360.0;
        }
        let arc = Arc {
            centre,
            u: Vector::new(radius, 0.0),
            v: Vector::new(0.0, radius),
            start: start.to_radians(),
            sweep: sweep.to_radians(),
        };
        let mut pen = Pen::new(plane, self.chord);
        pen.move_to(on_circle(start));
        pen.arc_to(&arc, on_circle(end));
        self.push("ARC", common, pen.take(), false);
        Ok(())
    }

    fn circle(
        &mut self,
        frame: &Frame,
        common: Common,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let centre = point(record, 10)?;
        let radius = real(record, 40)?;
        if let Some(plane) = self.plane(frame, &common) {
            let mut pen = Pen::new(plane, self.chord);
            pen.ellipse(centre, Vector::new(radius, 0.0), Vector::new(0.0, radius));
            self.push("CIRCLE", common, pen.take(), true);
        }
        Ok(())
    }

    fn ellipse(
        &mut self,
        frame: &Frame,
        common: Common,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let centre = point(record, 10)?;
        let major = point(record, 11)? - Point::default();
        let ratio = real(record, 40)?;
        let start = real_or(record, 41, 0.0)?;
        let end = real_or(record, 42, std::f64::consts::TAU)?;
        // World coordinates; the extrusion says only which way round the minor axis turns.
        let turn = if common.extrusion[2] < 0.0 {
            -ratio
        } else {
            ratio
        };
        let minor = Vector::new(-major.y, major.x) * turn;
        let mut sweep = end - start;
        if sweep <= 0.0 {
            sweep += std::f64::consts::TAU;
        }
        let mut pen = Pen::new(frame.to_mm, self.chord);
        let whole = sweep >= std::f64::consts::TAU - 1e-9;
        if whole {
            pen.ellipse(centre, major, minor);
        } else {
            let arc = Arc {
                centre,
                u: major,
                v: minor,
                start,
                sweep,
            };
            pen.move_to(arc.at_fraction(0.0));
            pen.arc_to(&arc, arc.at_fraction(1.0));
        }
        self.push("ELLIPSE", common, pen.take(), whole);
        Ok(())
    }

    fn lwpolyline(
        &mut self,
        frame: &Frame,
        common: Common,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let mut vertices: Vec<Vertex> = Vec::new();
        for tag in &record.tags {
            match (tag.code, vertices.last_mut()) {
                (10, _) => vertices.push(Vertex {
                    at: Point::new(tag.real()?, 0.0),
                    bulge: 0.0,
                }),
                (20, Some(vertex)) => vertex.at.y = tag.real()?,
                (42, Some(vertex)) => vertex.bulge = tag.real()?,
                _ => {}
            }
        }
        let closed = integer_or(record, 70, 0)? & 1 != 0;
        self.bulged("LWPOLYLINE", frame, common, &vertices, closed);
        Ok(())
    }

    /// An old-style POLYLINE, all its vertices read.
    fn polyline(&mut self, frame: &Frame, polyline: Polyline) {
        const CLOSED: i64 = 1;
        const MESH_OR_POLYFACE: i64 = 16 | 64;
        if polyline.flags & MESH_OR_POLYFACE != 0 {
            *self
                .not_read
                .entry("POLYLINE (mesh)".to_owned())
                .or_default() += 1;
            return;
        }
        let closed = polyline.flags & CLOSED != 0;
        self.bulged(
            "POLYLINE",
            frame,
            polyline.common,
            &polyline.vertices,
            closed,
        );
    }

    fn bulged(
        &mut self,
        kind: &'static str,
        frame: &Frame,
        common: Common,
        vertices: &[Vertex],
        closed: bool,
    ) {
        let (Some(plane), Some(first)) = (self.plane(frame, &common), vertices.first()) else {
            return;
        };
        let mut pen = Pen::new(plane, self.chord);
        pen.move_to(first.at);
        for pair in vertices.windows(2) {
            pen.bulge_to(pair[0].bulge, pair[1].at);
        }
        if closed {
            pen.bulge_to(vertices[vertices.len() - 1].bulge, first.at);
        }
        let mut points = pen.take();
        if closed {
            points.pop();
        }
        self.push(kind, common, points, closed);
    }

    fn spline(
        &mut self,
        frame: &Frame,
        common: Common,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let spline = Spline::read(record)?;
        if spline.is_interpolated() {
            let place = self.entity_place("SPLINE", &common);
            self.drawing.problems.push(
                Diagnostic::warning(
                    "spline is given by fit points only; a smooth curve was laid through them, \
                     which may differ a little from the drawing program's",
                )
                .at(place)
                .help("export splines with control points, or as polylines"),
            );
        }
        let mut pen = Pen::new(frame.to_mm, self.chord);
        spline.draw(&mut pen);
        self.push("SPLINE", common, pen.take(), false);
        Ok(())
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
                if self.copies > MOST_COPIES {
                    return Ok(());
                }
            }
        }
        Ok(())
    }

    fn text(
        &mut self,
        frame: &Frame,
        common: &Common,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let aligned = integer_or(record, 72, 0)? != 0
            || integer_or(record, 73, 0)? != 0
            || (record.name == b"ATTRIB" && integer_or(record, 74, 0)? != 0);
        let has_second = record.tags.iter().any(|t| t.code == 11);
        let anchor = if aligned && has_second { 11 } else { 10 };
        let at = point(record, anchor)?;
        let text = record.tags.iter().find(|t| t.code == 1);
        let text = text.map_or_else(String::new, |t| self.document.code_page.decode(t.text()));
        self.push_text(frame, common, at, plain_text(&text));
        Ok(())
    }

    fn mtext(
        &mut self,
        frame: &Frame,
        common: &Common,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let at = point(record, 10)?;
        let mut bytes = Vec::new();
        for tag in record.tags.iter().filter(|t| matches!(t.code, 1 | 3)) {
            bytes.extend_from_slice(tag.text());
        }
        let text = plain_mtext(&self.document.code_page.decode(&bytes));
        // An MTEXT's point is in world coordinates.
        let world = Common {
            extrusion: [0.0, 0.0, 1.0],
            ..common.clone()
        };
        self.push_text(frame, &world, at, text);
        Ok(())
    }

    fn push_text(&mut self, frame: &Frame, common: &Common, at: Point, text: String) {
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

    fn push(&mut self, kind: &'static str, common: Common, points: Vec<Point>, closed: bool) {
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

    fn entity_place(&self, kind: &str, common: &Common) -> Place {
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
            let message = format!("{} more entities with faults", self.faults - MOST_FAULTS);
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
        if !self.not_read.is_empty() {
            let list: Vec<String> = self
                .not_read
                .iter()
                .map(|(name, n)| format!("{n} {name}"))
                .collect();
            let message = format!(
                "not read, because they are no lines or texts: {}",
                list.join(", ")
            );
            problems.push(Diagnostic::warning(message).at(file()));
        }
        if self.tilted > 0 {
            let message = format!("{} entities in tilted planes were left out", self.tilted);
            problems.push(
                Diagnostic::warning(message)
                    .at(file())
                    .help("draw the pattern flat, seen from above"),
            );
        }
        for (layer, n) in &self.hidden {
            let message = format!("layer {layer} is off or frozen: {n} entities left out");
            problems.push(Diagnostic::note(message).at(file()));
        }
        for (n, why) in [
            (self.in_paper_space, "in paper space"),
            (self.invisible, "marked invisible"),
        ] {
            if n > 0 {
                let message = format!("{n} entities {why} left out");
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

/// A VERTEX on the curve, or `None` for one that only shapes a spline.
fn vertex(record: &Record<'_>) -> Result<Option<Vertex>, TagFault> {
    const SPLINE_FRAME: i64 = 16;
    if integer_or(record, 70, 0)? & SPLINE_FRAME != 0 {
        return Ok(None);
    }
    Ok(Some(Vertex {
        at: point(record, 10)?,
        bulge: real_or(record, 42, 0.0)?,
    }))
}

fn fault(record: &Record<'_>, message: impl Into<String>) -> TagFault {
    TagFault {
        at: record.place,
        message: message.into(),
    }
}

fn real(record: &Record<'_>, code: i32) -> Result<f64, TagFault> {
    match record.tags.iter().find(|t| t.code == code) {
        Some(tag) => tag.real(),
        None => Err(fault(record, format!("its group code {code} is missing"))),
    }
}

fn real_or(record: &Record<'_>, code: i32, default: f64) -> Result<f64, TagFault> {
    let tag = record.tags.iter().find(|t| t.code == code);
    tag.map_or(Ok(default), |t| t.real())
}

fn integer_or(record: &Record<'_>, code: i32, default: i64) -> Result<i64, TagFault> {
    let tag = record.tags.iter().find(|t| t.code == code);
    tag.map_or(Ok(default), |t| t.integer())
}

/// The point with x in group `code` and y ten above.
fn point(record: &Record<'_>, code: i32) -> Result<Point, TagFault> {
    Ok(Point::new(real(record, code)?, real(record, code + 10)?))
}
