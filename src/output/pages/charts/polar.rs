//! Young's modulus by direction as a polar plot: the further out the line, the stiffer that way.

use crate::geometry::{Point, trig};
use crate::laminate::InPlane;
use crate::output::drawing::shape::Drawing;
use crate::output::formats::svg::figure::ChartView;
use crate::output::pages::model::Svg;
use crate::units::{Angle, Modulus};

/// Radius of the outer ring, in the picture's own units.
const RADIUS: f64 = 80.0;
/// Size of the letters.
const LETTERS: f64 = 9.0;
/// Degrees from point to point of the line.
const STEP: usize = 3;

/// The plot of `sheet`; 0° points right, 90° up. `label` names it for those who cannot see it.
pub(in crate::output::pages) fn plot(sheet: &InPlane, label: &str) -> Svg {
    let values: Vec<(Angle, f64)> = (0..360)
        .step_by(STEP)
        .map(|degrees| {
            let direction = Angle::degrees(degrees as f64);
            (direction, sheet.along(direction).to_gpa())
        })
        .collect();
    let most = values.iter().map(|(_, e)| *e).fold(0.0, f64::max);
    let full = round_up(most);
    let along: Vec<Point> = values
        .iter()
        .map(|(direction, e)| around(*direction, RADIUS * e / full))
        .collect();
    let at = |degrees: f64| sheet.along(Angle::degrees(degrees));
    let in_words = format!(
        "{label}: {} along 0°, {} along 45°, {} along 90°, {} along −45°",
        gpa(at(0.0)),
        gpa(at(45.0)),
        gpa(at(90.0)),
        gpa(at(-45.0))
    );
    let mut drawing = Drawing::default();
    for share in [0.5, 1.0] {
        drawing.dot("grid".into(), Point::default(), RADIUS * share);
    }
    let spokes = (0..4).map(|i| {
        let end = around(Angle::degrees(f64::from(i) * 45.0), RADIUS);
        vec![Point::new(-end.x, -end.y), end]
    });
    drawing.lines("grid".into(), spokes.collect());
    drawing.area("along".into(), vec![along]);
    let mut text = |class: &'static str, at: (f64, f64), text: &str| {
        drawing.words(class, at, LETTERS, text);
    };
    text("", (84.0, 4.0), "0°");
    text("middle", (0.0, -85.0), "90°");
    text("", (59.0, -60.0), "45°");
    text("", (59.0, 66.0), "−45°");
    let rings = format!("rings at {} and {} GPa", trimmed(full / 2.0), trimmed(full));
    text("scale", (0.0, 112.0), &rings);
    let view = ChartView {
        class: "polar",
        shown: [-108.0, -100.0, 216.0, 218.0],
        decimals: 1,
        is_stretched: false,
        label: Some(in_words),
    };
    Svg(view.svg(&drawing))
}

/// The point so far out in a direction, with y down.
fn around(direction: Angle, radius: f64) -> Point {
    let (sin, cos) = trig::sin_cos(direction);
    Point::new(radius * cos, -radius * sin)
}

fn gpa(modulus: Modulus) -> String {
    format!("{:.1} GPa", modulus.to_gpa())
}

/// The next of 1, 2, 4, 6, 8 times a power of ten: half of it reads well on the inner ring.
fn round_up(value: f64) -> f64 {
    let mut ten = 0.001;
    while ten * 10.0 < value {
        ten *= 10.0;
    }
    let nice = [1.0, 2.0, 4.0, 6.0, 8.0, 10.0];
    let factor = nice.into_iter().find(|f| f * ten >= value);
    factor.unwrap_or(10.0) * ten
}

fn trimmed(value: f64) -> String {
    let text = format!("{value:.3}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}
