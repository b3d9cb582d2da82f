//! A layout as a drawing to look at, and as JSON for checks by another program.

use serde_json::json;
use warpwise::nest::{Nesting, Problem};

use super::Instance;

/// Every placed outline with its item and turn.
pub(crate) fn to_json(instance: &Instance, problem: &Problem, layout: &Nesting) -> String {
    let placed: Vec<_> = layout
        .placed()
        .iter()
        .map(|p| {
            let outline = p.outline(&problem.shapes);
            let rings: Vec<Vec<[f64; 2]>> = outline
                .rings()
                .map(|r| r.points().iter().map(|p| [p.x, p.y]).collect())
                .collect();
            json!({
                "item": p.shape,
                "turn_deg": p.placement.turn.angle.to_degrees(),
                "outer": rings[0],
                "openings": rings[1..],
            })
        })
        .collect();
    json!({
        "name": instance.name, "width": instance.strip_width, "length": layout.length(),
        "gap": problem.gap, "placed": placed,
    })
    .to_string()
}

/// The layout as a drawing, one colour for each shape.
pub(crate) fn to_svg(instance: &Instance, problem: &Problem, layout: &Nesting) -> String {
    let (width, length) = (instance.strip_width, layout.length());
    let scale = 1000.0 / length.max(width);
    let mut svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{:.0}\" height=\"{:.0}\" \
         viewBox=\"0 0 {length} {width}\">\n\
         <rect width=\"{length}\" height=\"{width}\" fill=\"#eee\"/>\n",
        length * scale,
        width * scale
    );
    for p in layout.placed() {
        let outline = p.outline(&problem.shapes);
        let mut path = String::new();
        for ring in outline.rings() {
            for (k, q) in ring.points().iter().enumerate() {
                let command = if k == 0 { 'M' } else { 'L' };
                path += &format!("{command}{} {}", q.x, width - q.y);
            }
            path.push('Z');
        }
        let hue = (p.shape * 137) % 360;
        svg += &format!(
            "<path d=\"{path}\" fill=\"hsl({hue} 60% 70%)\" fill-rule=\"evenodd\" stroke=\"#333\" \
             stroke-width=\"{}\"/>\n",
            0.7 / scale
        );
    }
    svg + "</svg>\n"
}
