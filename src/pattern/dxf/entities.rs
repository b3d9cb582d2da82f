//! Entities → strokes and texts, one function each.

use super::document::Record;
use super::nurbs::Spline;
use super::reader::{
    Common, EntityReader, Insertion, MOST_FIT_POINTS_TOLD, Polyline, RawEntity, take_vertex,
};
use super::tags::TagFault;
use super::text::{plain_mtext, plain_text};
use crate::diag::Diagnostic;
use crate::geometry::trig::sin_cos;
use crate::geometry::{Point, Vector};
use crate::pattern::flatten::{Arc, CurvePen, Vertex};
use crate::units::Angle;

impl<'a> EntityReader<'_, 'a> {
    pub(super) fn line(&mut self, entity: &RawEntity<'_, 'a>) -> Result<(), TagFault> {
        let ends = [entity.record.point(10)?, entity.record.point(11)?];
        let points = ends.map(|p| entity.frame.to_mm.point(p)).to_vec();
        self.push("LINE", &entity.common, points, false);
        Ok(())
    }

    pub(super) fn arc(&mut self, entity: &RawEntity<'_, 'a>) -> Result<(), TagFault> {
        let record = entity.record;
        let (centre, radius) = (record.point(10)?, record.real(40)?);
        let (start, end) = (record.real(50)?, record.real(51)?);
        let Some(plane) = self.plane(entity.frame, &entity.common) else {
            return Ok(());
        };
        let on_circle = |degrees: f64| {
            let (sin, cos) = sin_cos(Angle::degrees(degrees));
            centre + Vector::new(cos, sin) * radius
        };
        let (u, v) = (Vector::new(radius, 0.0), Vector::new(0.0, radius));
        let mut pen = CurvePen::new(plane, self.chords);
        pen.move_to(on_circle(start));
        pen.arc_to(&Arc::between(centre, u, v, (start, end)), on_circle(end));
        self.push("ARC", &entity.common, pen.take(), false);
        Ok(())
    }

    pub(super) fn circle(&mut self, entity: &RawEntity<'_, 'a>) -> Result<(), TagFault> {
        let (centre, radius) = (entity.record.point(10)?, entity.record.real(40)?);
        if let Some(plane) = self.plane(entity.frame, &entity.common) {
            let mut pen = CurvePen::new(plane, self.chords);
            pen.ellipse(centre, Vector::new(radius, 0.0), Vector::new(0.0, radius));
            self.push("CIRCLE", &entity.common, pen.take(), true);
        }
        Ok(())
    }

    pub(super) fn ellipse(&mut self, entity: &RawEntity<'_, 'a>) -> Result<(), TagFault> {
        let record = entity.record;
        let (centre, major) = (record.point(10)?, record.point(11)? - Point::default());
        let ratio = record.real(40)?;
        let start = record.real_or(41, 0.0)?;
        let end = record.real_or(42, std::f64::consts::TAU)?;
        // World coordinates; the extrusion says only which way round the minor axis turns.
        let turn = match entity.common.extrusion[2] < 0.0 {
            true => -ratio,
            false => ratio,
        };
        let minor = Vector::new(-major.y, major.x) * turn;
        let mut sweep = end - start;
        if sweep <= 0.0 {
            sweep += std::f64::consts::TAU;
        }
        let mut pen = CurvePen::new(entity.frame.to_mm, self.chords);
        let whole = sweep >= std::f64::consts::TAU - 1e-9;
        if whole {
            pen.ellipse(centre, major, minor);
        } else {
            pen.arc(&Arc {
                centre,
                u: major,
                v: minor,
                start,
                sweep,
            });
        }
        self.push("ELLIPSE", &entity.common, pen.take(), whole);
        Ok(())
    }

    pub(super) fn lwpolyline(&mut self, entity: &RawEntity<'_, 'a>) -> Result<(), TagFault> {
        let mut vertices: Vec<Vertex> = Vec::new();
        for tag in &entity.record.tags {
            take_vertex(&mut vertices, tag)?;
        }
        let closed = entity.record.integer_or(70, 0)? & 1 != 0;
        self.bulged(
            "LWPOLYLINE",
            entity.frame,
            &entity.common,
            &vertices,
            closed,
        );
        Ok(())
    }

    /// An old-style POLYLINE, all its vertices read.
    pub(super) fn polyline(&mut self, frame: &Insertion, polyline: &Polyline<'a>) {
        const CLOSED: i64 = 1;
        const MESH_OR_POLYFACE: i64 = 16 | 64;
        if polyline.flags & MESH_OR_POLYFACE != 0 {
            return self.drawing.pass_over("POLYLINE (mesh)");
        }
        let closed = polyline.flags & CLOSED != 0;
        let (common, vertices) = (&polyline.common, &polyline.vertices);
        self.bulged("POLYLINE", frame, common, vertices, closed);
    }

    fn bulged(
        &mut self,
        kind: &'static str,
        frame: &Insertion,
        common: &Common<'a>,
        vertices: &[Vertex],
        closed: bool,
    ) {
        let plane = self.plane(frame, common);
        if let Some(plane) = plane.filter(|_| !vertices.is_empty()) {
            let mut pen = CurvePen::new(plane, self.chords);
            pen.polyline(vertices, closed);
            self.push(kind, common, pen.take(), closed);
        }
    }

    pub(super) fn spline(&mut self, entity: &RawEntity<'_, 'a>) -> Result<(), TagFault> {
        let spline = Spline::read(entity.record)?;
        self.interpolated += usize::from(spline.is_interpolated());
        if spline.is_interpolated() && self.interpolated <= MOST_FIT_POINTS_TOLD {
            let place = self.entity_place("SPLINE", &entity.common);
            self.drawing.problems.push(
                Diagnostic::warning(
                    "spline is given by fit points only; a smooth curve was laid through them, \
                     which may differ a little from the drawing program's",
                )
                .at(place)
                .help("export splines with control points, or as polylines"),
            );
        }
        let mut pen = CurvePen::new(entity.frame.to_mm, self.chords);
        spline.draw(&mut pen);
        self.push("SPLINE", &entity.common, pen.take(), false);
        Ok(())
    }

    /// A POINT on a layer of marks: a stroke of no length.
    pub(super) fn point(&mut self, entity: &RawEntity<'_, 'a>) -> Result<(), TagFault> {
        let at = entity.frame.to_mm.point(entity.record.point(10)?);
        self.push("POINT", &entity.common, vec![at], false);
        Ok(())
    }

    pub(super) fn text(&mut self, entity: &RawEntity<'_, 'a>) -> Result<(), TagFault> {
        let record = entity.record;
        let aligned = record.integer_or(72, 0)? != 0
            || record.integer_or(73, 0)? != 0
            || (record.name == b"ATTRIB" && record.integer_or(74, 0)? != 0);
        let has_second = record.first(11).is_some();
        let at = record.point(if aligned && has_second { 11 } else { 10 })?;
        let text = record.text(1, self.document.code_page);
        self.push_text(entity.frame, &entity.common, at, plain_text(&text));
        Ok(())
    }

    pub(super) fn mtext(&mut self, entity: &RawEntity<'_, 'a>) -> Result<(), TagFault> {
        let at = entity.record.point(10)?;
        let parts = entity.record.tags.iter();
        let bytes: Vec<u8> = parts
            .filter(|t| matches!(t.code, 1 | 3))
            .flat_map(|t| t.text().iter().copied())
            .collect();
        let text = plain_mtext(&self.document.code_page.decode(&bytes));
        // An MTEXT's point is in world coordinates.
        let world = Common {
            extrusion: [0.0, 0.0, 1.0],
            ..entity.common
        };
        self.push_text(entity.frame, &world, at, text);
        Ok(())
    }
}

/// A VERTEX on the curve, or `None` for one that only shapes a spline.
pub(super) fn vertex(record: &Record<'_>) -> Result<Option<Vertex>, TagFault> {
    const SPLINE_FRAME: i64 = 16;
    if record.integer_or(70, 0)? & SPLINE_FRAME != 0 {
        return Ok(None);
    }
    Ok(Some(Vertex {
        at: record.point(10)?,
        bulge: record.real_or(42, 0.0)?,
    }))
}
