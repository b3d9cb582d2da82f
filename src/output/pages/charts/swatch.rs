//! A small round picture of a cloth's fibres as they lie on the part.

use maud::html;

use crate::cloth::Weave;
use crate::geometry::trig;
use crate::output::pages::model::Svg;
use crate::units::{FibreAxis, PlyAngle};

/// Radius of the picture, in its own units.
const RADIUS: f64 = 15.0;
/// From line to line.
const SPACING: f64 = 5.0;

/// The fibres of a ply of `weave` designed at `angle`; the part's 0° points right.
pub(in crate::output::pages) fn swatch(weave: Weave, angle: PlyAngle) -> Svg {
    let data: Vec<(&str, String)> = weave
        .fibres_of(angle)
        .zip(weave.fibres())
        .map(|(fibres, &from_warp)| {
            let class = if from_warp == 0.0 { "warp" } else { "weft" };
            (class, lines(fibres))
        })
        .collect();
    Svg(html! {
        svg .swatch viewBox="-16 -16 32 32" aria-hidden="true" {
            circle r=(RADIUS) {}
            @for (class, d) in data { path .(class) d=(d) {} }
        }
    })
}

/// Parallel chords of the circle along `direction`, the part's 0° to the right, as path data with y down.
fn lines(direction: FibreAxis) -> String {
    let (sin, cos) = trig::sin_cos(direction.from_zero());
    let mut data = String::new();
    for i in -2..=2 {
        let off = f64::from(i) * SPACING;
        let half = (RADIUS * RADIUS - off * off).sqrt();
        let (x, y) = (-sin * off, cos * off);
        data.push_str(&format!(
            "M{:.1},{:.1}L{:.1},{:.1}",
            x - half * cos,
            -(y - half * sin),
            x + half * cos,
            -(y + half * sin)
        ));
    }
    data
}
