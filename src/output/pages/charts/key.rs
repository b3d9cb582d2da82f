//! Keys to drawings and charts: a chip of what is drawn, and what it means.

use maud::{Markup, html};

use crate::geometry::Point;
use crate::output::drawing::shape::Drawing;
use crate::output::formats::svg::figure::{ChartView, ClassLook};

/// Lower corner and sides of the area in a chip.
const AREA: ((f64, f64), (f64, f64)) = ((1.0, 1.0), (26.0, 14.0));

/// The key called `name`.
pub(in crate::output::pages) fn key(name: &str, entries: &[(Markup, String)]) -> Markup {
    html! {
        ul .key aria-label=(name) { @for (chip, words) in entries { li { (chip) (words) } } }
    }
}

/// A chip that shows `drawing`, in a box of 28 × 16.
pub(in crate::output::pages) fn chip(drawing: &Drawing<ClassLook>) -> Markup {
    let view = ChartView {
        class: "chip",
        shown: [0.0, 0.0, 28.0, 16.0],
        decimals: 2,
        is_stretched: false,
        label: None,
    };
    view.svg(drawing)
}

/// A chip of an area in this look.
pub(in crate::output::pages) fn area(look: impl Into<ClassLook>) -> Markup {
    hatched(look, &[])
}

/// A chip of an area in this look with the lines of a hatch on it.
pub(in crate::output::pages) fn hatched(
    look: impl Into<ClassLook>,
    lines: &[Vec<[Point; 2]>],
) -> Markup {
    let mut drawing = Drawing::default();
    drawing.rectangle(look.into(), AREA.0, AREA.1);
    for lines in lines {
        let lines = lines.iter().map(|ends| ends.to_vec()).collect();
        drawing.lines("hatch".into(), lines);
    }
    chip(&drawing)
}

/// A chip of a line in this look.
pub(in crate::output::pages) fn line(look: &'static str) -> Markup {
    let mut drawing = Drawing::default();
    drawing.line(look.into(), &[Point::new(1.0, 8.0), Point::new(27.0, 8.0)]);
    chip(&drawing)
}
