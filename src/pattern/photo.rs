//! A photograph as a drawing: templates are outlines, pen lines the 0° direction, crosses drill marks.

use super::settings::Settings;
use super::shape::{Id, RawDrawing, RawShape, Stroke, Strokes};
use super::{Format, UnitFound};
use crate::diag::Diagnostics;
use crate::geometry::Point;
use crate::photo::{self, PhotoFile, SeenTemplate};
use crate::units::LengthUnit;

/// Layers by what is on them; the last two have their meaning by name.
const TEMPLATE: &str = "TEMPLATE";
const ZERO: &str = "ZERO";
const CROSS: &str = "LOCATE";

/// Reads photographs of one template, of which the first names the drawing.
pub(super) fn read(
    files: &[PhotoFile<'_>],
    settings: &Settings,
) -> Result<RawDrawing, Diagnostics> {
    let sight = photo::read_all(files, &settings.photo)?;
    let unit = UnitFound::File(LengthUnit::Millimetre);
    let name = files.first().map_or("", |file| file.name);
    let size = files.iter().map(|file| file.bytes.len()).sum();
    let mut drawing = RawDrawing::new(name, Format::Photo, unit, settings, size, sight.told);
    for (n, template) in (1..).zip(&sight.templates) {
        add_template(&mut drawing, n, template);
    }
    Ok(drawing)
}

fn add_template(drawing: &mut RawDrawing, n: usize, template: &SeenTemplate) {
    let closed = |points: &Vec<Point>| Stroke {
        points: points.clone(),
        closed: true,
    };
    let lines = std::iter::once(&template.edge).chain(&template.openings);
    drawing.circles.extend(template.circles.iter().copied());
    add(
        drawing,
        TEMPLATE,
        format!("template-{n}"),
        lines.map(closed).collect(),
    );
    let open = |points: &[Point]| {
        vec![Stroke {
            points: points.to_vec(),
            closed: false,
        }]
    };
    for (i, ends) in (1..).zip(&template.lines) {
        add(drawing, ZERO, format!("line-{n}-{i}"), open(ends));
    }
    for (i, &at) in (1..).zip(&template.crosses) {
        add(drawing, CROSS, format!("cross-{n}-{i}"), open(&[at]));
    }
}

fn add(drawing: &mut RawDrawing, layer: &str, id: String, strokes: Vec<Stroke>) {
    let layer = drawing.layer(layer);
    if !drawing.takes(layer, None) {
        return;
    }
    let role = drawing.role_by_id(layer, &id);
    drawing.push(RawShape {
        kind: "template",
        id: Id::Named(id.into()),
        layer,
        role,
        strokes: Strokes::from(strokes),
    });
}
