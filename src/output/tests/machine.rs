//! Files for machines and for paper, read back by other means than those that wrote them.

use crate::job::{Arcs, DxfVersion, FileKind, Knife, Layer, PieceForm, TextForm};
use crate::output;
use crate::output::drawing::page::Page;
use crate::output::drawing::templates::Purpose;
use crate::output::drawing::{label_sheet, templates};
use crate::output::formats::pdf::document;
use crate::plan::tests::sample;
use crate::plan::{Layout, Plan};
use crate::units::{Length, LengthUnit};

/// Closed lines of a file, each by its points in mm.
type Lines = Vec<Vec<(f64, f64)>>;

fn area(points: &[(f64, f64)]) -> f64 {
    let next = points.iter().cycle().skip(1);
    let twice: f64 = points
        .iter()
        .zip(next)
        .map(|(a, b)| a.0 * b.1 - a.1 * b.0)
        .sum();
    twice / 2.0
}

/// The net areas of all boundaries as a sorted list, for comparison.
fn areas(lines: &Lines) -> Vec<f64> {
    let mut areas: Vec<f64> = lines.iter().map(|line| area(line).abs()).collect();
    areas.sort_by(f64::total_cmp);
    areas
}

fn expected(layout: &Layout) -> Vec<f64> {
    let rings = layout.pieces().iter().flat_map(|p| p.cut().rings());
    let mut areas: Vec<f64> = rings.map(|ring| ring.area()).collect();
    areas.sort_by(f64::total_cmp);
    areas
}

/// Areas agree to what the rounding of a boundary of `perimeter` mm by `step` mm can do.
fn assert_same(what: &str, found: &[f64], layout: &Layout, step: f64) {
    let expected = expected(layout);
    assert_eq!(found.len(), expected.len(), "{what}");
    for (a, b) in found.iter().zip(&expected) {
        assert!(
            (a - b).abs() < 4.0 * b.sqrt() * step + 0.01,
            "{what}: {a} instead of {b}"
        );
    }
}

/// What the knife (pen 2) draws.
fn hpgl_cuts(text: &str) -> Lines {
    let mut lines: Lines = Vec::new();
    let mut pen = 0;
    for command in text.split(';').map(str::trim).filter(|c| !c.is_empty()) {
        let (name, rest) = command.split_at(2);
        let numbers: Vec<f64> = rest.split(',').filter_map(|n| n.parse().ok()).collect();
        let points = numbers.chunks(2).map(|p| (p[0] / 40.0, p[1] / 40.0));
        match name {
            "SP" => pen = numbers[0] as i32,
            "PU" if pen == 2 && !numbers.is_empty() => lines.push(points.collect()),
            "PD" if pen == 2 => lines.last_mut().unwrap().extend(points),
            "IN" | "PU" | "PD" => {}
            other => panic!("{other} is no command that we write"),
        }
    }
    lines.retain(|line| line.len() > 2);
    lines
}

/// What is cut with the knife below zero.
fn gcode_cuts(text: &str) -> Lines {
    let (mut x, mut y, mut z) = (0.0, 0.0, 1.0);
    let mut lines: Lines = Vec::new();
    for line in text.lines().filter(|line| !line.starts_with('(')) {
        let was = z;
        for word in line.split_ascii_whitespace() {
            let value = word[1..].parse::<f64>();
            match &word[..1] {
                "X" => x = value.unwrap(),
                "Y" => y = value.unwrap(),
                "Z" => z = value.unwrap(),
                _ => {}
            }
        }
        if z < 0.0 {
            if was > 0.0 {
                lines.push(Vec::new());
            }
            lines.last_mut().unwrap().push((x, y));
        }
    }
    lines
}

#[test]
fn machines_cut_what_the_plan_says() {
    let plan = sample::plan();
    for layout in plan.layouts() {
        let hpgl = hpgl_cuts(&output::formats::hpgl::layout_hpgl(&plan, layout));
        assert_same("HP-GL", &areas(&hpgl), layout, 0.025);
        let gcode = gcode_cuts(&output::formats::gcode::layout_gcode(&plan, layout));
        assert_same("G-code", &areas(&gcode), layout, 0.002);
    }
}

#[test]
fn a_layer_without_a_pen_is_not_drawn() {
    let mut plan = sample::plan();
    for (layer, setting) in Layer::ALL
        .iter()
        .zip(&mut sample::outputs_of(&mut plan).layers)
    {
        setting.pen = Some(u8::from(*layer == Layer::Label) * 4);
    }
    let text = output::formats::hpgl::layout_hpgl(&plan, &plan.layouts()[0]);
    assert!(text.contains("SP4;") && !text.contains("SP1;") && !text.contains("SP2;"));
}

#[test]
fn a_tangential_knife_has_its_axis_and_a_drag_knife_swivels() {
    let mut plan = sample::plan();
    sample::outputs_of(&mut plan).gcode.axis = 'C';
    sample::outputs_of(&mut plan).knife = Knife::Tangential {
        lift_from: crate::units::Angle::degrees(30.0),
    };
    let text = output::formats::gcode::layout_gcode(&plan, &plan.layouts()[0]);
    assert!(text.contains(" C") && text.contains("G0 C"));
    sample::outputs_of(&mut plan).knife = Knife::Drag {
        offset: Length::mm(0.5),
        swivel_from: crate::units::Angle::degrees(15.0),
    };
    sample::outputs_of(&mut plan).gcode.swivel = Some(Length::mm(-0.1));
    let text = output::formats::gcode::layout_gcode(&plan, &plan.layouts()[0]);
    assert!(text.contains("Z-0.1 ") && text.contains("Z-0.5 "));
}

/// The cut lines of a DXF, read by the `dxf` crate; arcs count as the polygon of their ends plus
/// their segments' areas.
fn dxf_areas(plan: &Plan, layout: &Layout, scale: f64) -> Vec<f64> {
    use ::dxf::entities::EntityType;
    let bytes = output::formats::dxf::layout_dxf(plan, layout);
    let drawing = ::dxf::Drawing::load(&mut bytes.as_slice()).unwrap();
    let in_blocks = drawing.blocks().flat_map(|block| block.entities.iter());
    let mut areas = Vec::new();
    for entity in drawing.entities().chain(in_blocks) {
        if entity.common.layer != "CUT" {
            continue;
        }
        let vertices: Vec<(f64, f64, f64)> = match &entity.specific {
            EntityType::LwPolyline(line) => {
                line.vertices.iter().map(|v| (v.x, v.y, v.bulge)).collect()
            }
            EntityType::Polyline(line) => line
                .vertices()
                .map(|v| (v.location.x, v.location.y, v.bulge))
                .collect(),
            _ => continue,
        };
        let points: Vec<(f64, f64)> = vertices
            .iter()
            .map(|v| (v.0 * scale, v.1 * scale))
            .collect();
        let mut whole = area(&points);
        for (i, vertex) in vertices.iter().enumerate().filter(|(_, v)| v.2 != 0.0) {
            let (a, b) = (points[i], points[(i + 1) % points.len()]);
            let chord = (b.0 - a.0).hypot(b.1 - a.1);
            let angle = 4.0 * libm::atan(vertex.2);
            let radius = chord / (2.0 * libm::sin(angle / 2.0)).abs();
            whole += radius * radius / 2.0 * (angle - libm::sin(angle));
        }
        areas.push(whole.abs());
    }
    areas.sort_by(f64::total_cmp);
    areas
}

#[test]
fn every_form_of_dxf_measures_the_same() {
    let mut plan = sample::plan();
    for dxf in [DxfVersion::R2000, DxfVersion::R12] {
        for pieces in [PieceForm::Exploded, PieceForm::Blocks] {
            for (units, scale) in [(LengthUnit::Millimetre, 1.0), (LengthUnit::Inch, 25.4)] {
                for arcs in [Arcs::Chords, Arcs::Kept] {
                    sample::outputs_of(&mut plan).dxf = dxf;
                    sample::outputs_of(&mut plan).pieces = pieces;
                    sample::outputs_of(&mut plan).units = units;
                    sample::outputs_of(&mut plan).arcs = arcs;
                    sample::outputs_of(&mut plan).text = TextForm::Strokes;
                    for layout in plan.layouts() {
                        let what = format!("{dxf:?} {pieces:?} {units} {arcs:?}");
                        assert_same(&what, &dxf_areas(&plan, layout, scale), layout, 0.01);
                    }
                }
            }
        }
    }
}

#[test]
fn pages_are_pdf_and_the_same_every_time() {
    let plan = sample::plan();
    let pages: [fn(&Plan) -> Vec<Page>; 3] = [
        |plan| templates::patterns(plan, Purpose::Cut).pages,
        |plan| templates::patterns(plan, Purpose::Trim).pages,
        label_sheet::pages,
    ];
    for pages in pages {
        let pdf = || document("", &pages(&plan));
        let bytes = pdf();
        assert!(bytes.starts_with(b"%PDF-1.7") && bytes.ends_with(b"%%EOF"));
        assert_eq!(bytes, pdf());
    }
    assert!(plan.outputs().wants(FileKind::Templates));
}

#[test]
fn pictures_of_rolls_are_png_and_the_same_every_time() {
    let plan = sample::plan();
    for layout in plan.layouts() {
        let picture = output::Picture::of_roll(&plan, layout);
        let bytes = picture.png().expect("a picture");
        assert!(bytes.starts_with(b"\x89PNG"));
        assert_eq!(
            Some(&bytes),
            output::Picture::of_roll(&plan, layout).png().as_ref()
        );
        let svg = picture.svg();
        for piece in layout.pieces() {
            assert!(
                svg.contains(&format!("#{}", piece.sequence())),
                "{}",
                piece.id()
            );
        }
    }
}
