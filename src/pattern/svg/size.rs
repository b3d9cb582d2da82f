//! The true size of the page: width, height, viewBox and preserveAspectRatio → a map to mm.

use roxmltree::Node;
use svgtypes::{Align, AspectRatio, Length, LengthUnit as Css, ViewBox};

use crate::diag::{Diagnostic, Diagnostics, Place};
use crate::pattern::affine::Affine;
use crate::pattern::{CSS_DPI, PX_MM, Settings, UnitFound};
use crate::units::LengthUnit;

/// The page and how its coordinates become pattern coordinates.
#[derive(Debug)]
pub(super) struct DrawingPage {
    pub(super) unit: UnitFound,
    /// From user units (y down) to millimetres (y up, origin at the page's lower left corner).
    pub(super) to_mm: Affine,
    /// What percentages of width and height refer to, in user units.
    pub(super) view: (f64, f64),
}

/// Finds the page of the outermost `svg` element.
pub(super) fn page(
    file: &str,
    svg: Node<'_, '_>,
    settings: &Settings,
    problems: &mut Diagnostics,
) -> DrawingPage {
    let view_box = view_box(svg);
    let size = [stated_mm(svg, "width"), stated_mm(svg, "height")];
    let place = || Place::File(file.to_owned());
    let stated = size.iter().flatten().find_map(|&(_, stated)| stated);
    let physical = stated.is_some();
    let unit = match settings.unit {
        Some(given) => UnitFound::Given(given),
        None => match (stated, settings.dpi) {
            (Some(stated), _) => UnitFound::File(stated),
            (None, Some(dpi)) => UnitFound::Pixels(dpi),
            (None, None) => UnitFound::Assumed,
        },
    };
    match unit {
        UnitFound::Given(given) => {
            if physical {
                let message = format!(
                    "one unit of the drawing was read as 1 {given} as asked, though the file \
                     states a size of its own"
                );
                problems.push(Diagnostic::note(message).at(place()));
            }
            let scale = given.in_mm();
            let (x, y, _, height) = view_box.unwrap_or_else(|| {
                let in_units = |s: Option<StatedSize>| s.map_or(0.0, |(mm, _)| mm / PX_MM);
                (0.0, 0.0, in_units(size[0]), in_units(size[1]))
            });
            return DrawingPage {
                unit,
                to_mm: Affine::new(scale, 0.0, 0.0, -scale, -x * scale, (y + height) * scale),
                view: view_of(view_box, size),
            };
        }
        UnitFound::Assumed => problems.push(
            Diagnostic::warning(
                "the file states no physical size; its pixels are taken as 96 to the inch",
            )
            .at(place())
            .help(
                "save it with width and height in mm, or state `units` or `dpi` in the job \
                 (72 and 90 are common too)",
            ),
        ),
        UnitFound::Pixels(_) | UnitFound::File(_) => {}
    }
    // Sizes were read at 96 pixels to the inch; without a physical one, all are pixels.
    let stretch = match settings.dpi {
        Some(dpi) if !physical => CSS_DPI / dpi,
        _ => 1.0,
    };
    let px_mm = PX_MM * stretch;
    let in_pixels = view_of(view_box, size);
    let size = size.map(|s| s.map(|(mm, physical)| (mm * stretch, physical)));
    let Some(view) = view_box else {
        let height = size[1].map_or(0.0, |(mm, _)| mm);
        return DrawingPage {
            unit,
            to_mm: Affine::new(px_mm, 0.0, 0.0, -px_mm, 0.0, height),
            view: in_pixels,
        };
    };
    let (width, height) = match size.map(|s| s.map(|(mm, _)| mm)) {
        [Some(width), Some(height)] => (width, height),
        [Some(width), None] => (width, width * view.3 / view.2),
        [None, Some(height)] => (height * view.2 / view.3, height),
        [None, None] => (view.2 * px_mm, view.3 * px_mm),
    };
    let fit = fit(view, (width, height), aspect(svg));
    if (fit.a - fit.d).abs() > 1e-3 * fit.a.abs() {
        let message = format!(
            "the page stretches the drawing: 1 unit is {:.4} mm across and {:.4} mm down",
            fit.a, fit.d
        );
        problems.push(Diagnostic::warning(message).at(place()));
    }
    DrawingPage {
        unit,
        to_mm: Affine::new(1.0, 0.0, 0.0, -1.0, 0.0, height).after(&fit),
        view: in_pixels,
    }
}

fn view_of(view_box: Option<(f64, f64, f64, f64)>, size: [Option<StatedSize>; 2]) -> (f64, f64) {
    match (view_box, size) {
        (Some((_, _, width, height)), _) => (width, height),
        (None, [width, height]) => {
            let px = |s: Option<StatedSize>| s.map_or(0.0, |(mm, _)| mm / PX_MM);
            (px(width), px(height))
        }
    }
}

/// The map of a nested `svg` or `symbol` with viewBox into its viewport at the origin.
pub(super) fn nested(element: Node<'_, '_>, viewport: (f64, f64)) -> Affine {
    match view_box(element) {
        Some(view) => fit(view, viewport, aspect(element)),
        None => Affine::IDENTITY,
    }
}

/// The map from a viewBox (x, y, width, height) to a viewport of that width and height.
///
/// # Source
/// SVG 1.1, §7.8.
fn fit(view: (f64, f64, f64, f64), size: (f64, f64), aspect: AspectRatio) -> Affine {
    let (mut x, mut y) = (size.0 / view.2, size.1 / view.3);
    if aspect.align != Align::None {
        let both = if aspect.slice { x.max(y) } else { x.min(y) };
        (x, y) = (both, both);
    }
    let (right, down) = match aspect.align {
        Align::None | Align::XMinYMin => (0.0, 0.0),
        Align::XMidYMin => (0.5, 0.0),
        Align::XMaxYMin => (1.0, 0.0),
        Align::XMinYMid => (0.0, 0.5),
        Align::XMidYMid => (0.5, 0.5),
        Align::XMaxYMid => (1.0, 0.5),
        Align::XMinYMax => (0.0, 1.0),
        Align::XMidYMax => (0.5, 1.0),
        Align::XMaxYMax => (1.0, 1.0),
    };
    Affine::new(
        x,
        0.0,
        0.0,
        y,
        (size.0 - view.2 * x) * right - view.0 * x,
        (size.1 - view.3 * y) * down - view.1 * y,
    )
}

fn aspect(element: Node<'_, '_>) -> AspectRatio {
    element
        .attribute("preserveAspectRatio")
        .and_then(|text| text.parse().ok())
        .unwrap_or(AspectRatio {
            defer: false,
            align: Align::XMidYMid,
            slice: false,
        })
}

fn view_box(element: Node<'_, '_>) -> Option<(f64, f64, f64, f64)> {
    let view: ViewBox = element.attribute("viewBox")?.parse().ok()?;
    let usable = [view.x, view.y, view.w, view.h]
        .iter()
        .all(|v| v.is_finite());
    (usable && view.w > 0.0 && view.h > 0.0).then_some((view.x, view.y, view.w, view.h))
}

/// A width or height in mm, and the unit it is stated in if that is a physical one.
type StatedSize = (f64, Option<LengthUnit>);

/// The width or height that the page states. Points and picas are parts of an inch.
fn stated_mm(svg: Node<'_, '_>, name: &str) -> Option<StatedSize> {
    let length: Length = svg.attribute(name)?.trim().parse().ok()?;
    let (mm, physical) = match length.unit {
        Css::Mm => (1.0, Some(LengthUnit::Millimetre)),
        Css::Cm => (10.0, Some(LengthUnit::Centimetre)),
        Css::In => (25.4, Some(LengthUnit::Inch)),
        Css::Pt => (25.4 / 72.0, Some(LengthUnit::Inch)),
        Css::Pc => (25.4 / 6.0, Some(LengthUnit::Inch)),
        Css::Px | Css::None => (PX_MM, None),
        Css::Em | Css::Ex | Css::Percent => return None,
    };
    let value = length.number * mm;
    (value.is_finite() && value > 0.0).then_some((value, physical))
}

/// A length attribute of a shape in user units; percentages refer to `whole`.
pub(super) fn user_units(text: &str, whole: f64) -> Result<f64, svgtypes::Error> {
    let length: Length = text.trim().parse()?;
    let units = match length.unit {
        Css::Px | Css::None => length.number,
        Css::Percent => length.number / 100.0 * whole,
        Css::Mm => length.number / PX_MM,
        Css::Cm => length.number * 10.0 / PX_MM,
        Css::In => length.number * 96.0,
        Css::Pt => length.number * 96.0 / 72.0,
        Css::Pc => length.number * 16.0,
        // The font is not known; the usual size stands in (CSS 2.1 §15.7: medium, 16 px).
        Css::Em => length.number * 16.0,
        Css::Ex => length.number * 8.0,
    };
    Ok(units)
}
