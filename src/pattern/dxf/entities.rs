//! Entities → strokes and texts, one function each.

use super::document::Record;
use super::nurbs::Spline;
use super::reader::{Common, Frame, Polyline, Reader, Vertex, take_vertex};
use super::tags::TagFault;
use super::text::{plain_mtext, plain_text};
use crate::diag::Diagnostic;
use crate::geometry::trig::sin_cos;
use crate::geometry::{Point, Vector};
use crate::pattern::flatten::{Arc, Pen};
use crate::units::Angle;

impl<'a> Reader<'_, 'a> {
    pub(super) fn line(
        &mut self,
        frame: &Frame,
        common: &Common<'a>,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let (from, to) = (point(record, 10)?, point(record, 11)?);
        let points = vec![frame.to_mm.point(from), frame.to_mm.point(to)];
        self.push("LINE", common, points, false);
        Ok(())
    }

    pub(super) fn arc(
        &mut self,
        frame: &Frame,
        common: &Common<'a>,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let centre = point(record, 10)?;
        let radius = real(record, 40)?;
        let (start, end) = (real(record, 50)?, real(record, 51)?);
        let Some(plane) = self.plane(frame, common) else {
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
        let mut pen = Pen::new(plane, self.chords);
        pen.move_to(on_circle(start));
        pen.arc_to(&arc, on_circle(end));
        self.push("ARC", common, pen.take(), false);
        Ok(())
    }

    pub(super) fn circle(
        &mut self,
        frame: &Frame,
        common: &Common<'a>,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let centre = point(record, 10)?;
        let radius = real(record, 40)?;
        if let Some(plane) = self.plane(frame, common) {
            let mut pen = Pen::new(plane, self.chords);
            pen.ellipse(centre, Vector::new(radius, 0.0), Vector::new(0.0, radius));
            self.push("CIRCLE", common, pen.take(), true);
        }
        Ok(())
    }

    pub(super) fn ellipse(
        &mut self,
        frame: &Frame,
        common: &Common<'a>,
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
        let mut pen = Pen::new(frame.to_mm, self.chords);
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

    pub(super) fn lwpolyline(
        &mut self,
        frame: &Frame,
        common: &Common<'a>,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let mut vertices: Vec<Vertex> = Vec::new();
        for tag in &record.tags {
            take_vertex(&mut vertices, tag)?;
        }
        let closed = integer_or(record, 70, 0)? & 1 != 0;
        self.bulged("LWPOLYLINE", frame, common, &vertices, closed);
        Ok(())
    }

    /// An old-style POLYLINE, all its vertices read.
    pub(super) fn polyline(&mut self, frame: &Frame, polyline: &Polyline<'a>) {
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
            &polyline.common,
            &polyline.vertices,
            closed,
        );
    }

    pub(super) fn bulged(
        &mut self,
        kind: &'static str,
        frame: &Frame,
        common: &Common<'a>,
        vertices: &[Vertex],
        closed: bool,
    ) {
        let (Some(plane), Some(first)) = (self.plane(frame, common), vertices.first()) else {
            return;
        };
        let mut pen = Pen::new(plane, self.chords);
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

    pub(super) fn spline(
        &mut self,
        frame: &Frame,
        common: &Common<'a>,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let spline = Spline::read(record)?;
        if spline.is_interpolated() {
            let place = self.entity_place("SPLINE", common);
            self.drawing.problems.push(
                Diagnostic::warning(
                    "spline is given by fit points only; a smooth curve was laid through them, \
                     which may differ a little from the drawing program's",
                )
                .at(place)
                .help("export splines with control points, or as polylines"),
            );
        }
        let mut pen = Pen::new(frame.to_mm, self.chords);
        spline.draw(&mut pen);
        self.push("SPLINE", common, pen.take(), false);
        Ok(())
    }

    /// A POINT on a layer of marks: a stroke of no length.
    pub(super) fn point(
        &mut self,
        frame: &Frame,
        common: &Common<'a>,
        record: &Record<'a>,
    ) -> Result<(), TagFault> {
        let at = frame.to_mm.point(point(record, 10)?);
        self.push("POINT", common, vec![at], false);
        Ok(())
    }

    pub(super) fn text(
        &mut self,
        frame: &Frame,
        common: &Common<'a>,
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

    pub(super) fn mtext(
        &mut self,
        frame: &Frame,
        common: &Common<'a>,
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
            ..*common
        };
        self.push_text(frame, &world, at, text);
        Ok(())
    }
}

/// A VERTEX on the curve, or `None` for one that only shapes a spline.
pub(super) fn vertex(record: &Record<'_>) -> Result<Option<Vertex>, TagFault> {
    const SPLINE_FRAME: i64 = 16;
    if integer_or(record, 70, 0)? & SPLINE_FRAME != 0 {
        return Ok(None);
    }
    Ok(Some(Vertex {
        at: point(record, 10)?,
        bulge: real_or(record, 42, 0.0)?,
    }))
}

pub(super) fn fault(record: &Record<'_>, message: impl Into<String>) -> TagFault {
    TagFault {
        at: record.place,
        message: message.into(),
    }
}

pub(super) fn real(record: &Record<'_>, code: i32) -> Result<f64, TagFault> {
    match record.tags.iter().find(|t| t.code == code) {
        Some(tag) => tag.real(),
        None => Err(fault(record, format!("its group code {code} is missing"))),
    }
}

pub(super) fn real_or(record: &Record<'_>, code: i32, default: f64) -> Result<f64, TagFault> {
    let tag = record.tags.iter().find(|t| t.code == code);
    tag.map_or(Ok(default), |t| t.real())
}

pub(super) fn integer_or(record: &Record<'_>, code: i32, default: i64) -> Result<i64, TagFault> {
    let tag = record.tags.iter().find(|t| t.code == code);
    tag.map_or(Ok(default), |t| t.integer())
}

/// The point with x in group `code` and y ten above.
pub(super) fn point(record: &Record<'_>, code: i32) -> Result<Point, TagFault> {
    Ok(Point::new(real(record, code)?, real(record, code + 10)?))
}
