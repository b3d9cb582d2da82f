//! Young's modulus by direction as a polar plot: the further out the line, the stiffer that way.

use maud::html;

use crate::geometry::trig;
use crate::laminate::InPlane;
use crate::output::pages::model::Svg;
use crate::units::{Angle, Modulus};

/// Radius of the outer ring, in the picture's own units.
const RADIUS: f64 = 80.0;
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
    let mut line = String::new();
    for (i, (direction, e)) in values.iter().enumerate() {
        let (sin, cos) = trig::sin_cos(*direction);
        let r = RADIUS * e / full;
        line.push_str(if i == 0 { "M" } else { "L" });
        line.push_str(&format!("{:.1},{:.1}", r * cos, -r * sin));
    }
    line.push('Z');
    let at = |degrees: f64| sheet.along(Angle::degrees(degrees));
    let in_words = format!(
        "{label}: {} along 0°, {} along 45°, {} along 90°, {} along −45°",
        gpa(at(0.0)),
        gpa(at(45.0)),
        gpa(at(90.0)),
        gpa(at(-45.0))
    );
    Svg(html! {
        svg .polar viewBox="-108 -100 216 218" role="img" aria-label=(in_words) {
            @for share in [0.5, 1.0] {
                circle .grid r=(format!("{:.1}", RADIUS * share)) {}
            }
            path .grid d=(spokes()) {}
            path .along d=(line) {}
            text x="84" y="4" { "0°" }
            text x="0" y="-85" .middle { "90°" }
            text x="59" y="-60" { "45°" }
            text x="59" y="66" { "−45°" }
            text x="0" y="112" .scale { "rings at " (trimmed(full / 2.0)) " and " (trimmed(full)) " GPa" }
        }
    })
}

fn gpa(modulus: Modulus) -> String {
    format!("{:.1} GPa", modulus.to_gpa())
}

/// Lines through the middle every 45°.
fn spokes() -> String {
    (0..4)
        .map(|i| {
            let (sin, cos) = trig::sin_cos(Angle::degrees(f64::from(i) * 45.0));
            let (x, y) = (RADIUS * cos, RADIUS * sin);
            format!("M{:.1},{:.1}L{:.1},{:.1}", -x, y, x, -y)
        })
        .collect()
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
