//! A small round picture of a cloth's fibres as they lie on the part.

use crate::cloth::Weave;
use crate::geometry::{Point, Vector, trig};
use crate::output::drawing::shape::Drawing;
use crate::output::formats::svg::figure::ChartView;
use crate::output::pages::model::Svg;
use crate::units::{FibreAxis, PlyAngle};

/// Radius of the picture, in its own units.
const RADIUS: f64 = 15.0;
/// From line to line.
const SPACING: f64 = 5.0;

/// The fibres of a ply of `weave` designed at `angle`; the part's 0° points right.
pub(in crate::output::pages) fn swatch(weave: Weave, angle: PlyAngle) -> Svg {
    let mut drawing = Drawing::default();
    drawing.dot("".into(), Point::default(), RADIUS);
    for (fibres, &from_warp) in weave.fibres_of(angle).zip(weave.fibres()) {
        let class = if from_warp == 0.0 { "warp" } else { "weft" };
        drawing.lines(class.into(), chords(fibres));
    }
    let view = ChartView {
        class: "swatch",
        shown: [-16.0, -16.0, 32.0, 32.0],
        decimals: 1,
        is_stretched: false,
        label: None,
    };
    Svg(view.svg(&drawing))
}

/// Parallel chords of the circle along `direction`, the part's 0° to the right, with y down.
fn chords(direction: FibreAxis) -> Vec<Vec<Point>> {
    let (sin, cos) = trig::sin_cos(direction.from_zero());
    (-2..=2)
        .map(|i| {
            let off = f64::from(i) * SPACING;
            let half = (RADIUS * RADIUS - off * off).sqrt();
            let middle = Point::new(-sin * off, -cos * off);
            let along = Vector::new(cos * half, -sin * half);
            vec![middle - along, middle + along]
        })
        .collect()
}
