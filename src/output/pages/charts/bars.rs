//! Where cloth goes, as bars: into the parts, back on the shelf, or into one of four kinds of waste.

use maud::{Markup, html};

use super::key;
use crate::geometry::Point;
use crate::output::drawing::shape::{Drawing, Shape};
use crate::output::formats::svg::figure::{ChartView, ClassLook, pattern, patterns};
use crate::output::pages::model::Svg;
use crate::plan::Waste;
use crate::units::Area;

/// A share of the cloth that is bought or cut from stock.
pub(in crate::output::pages) struct Share {
    /// Style class of its fill.
    class: &'static str,
    pub(in crate::output::pages) name: &'static str,
    pub(in crate::output::pages) area: Area,
}

/// Where all cloth goes, in the order in which it is told.
pub(in crate::output::pages) fn shares(net: Area, waste: &Waste, kept: Area) -> [Share; 6] {
    let share = |class, name, area| Share { class, name, area };
    [
        share("net", "In the parts", net),
        share("trim", "Trim, outside the finished edge", waste.trim),
        share("between", "Between pieces", waste.between),
        share("selvedge", "Selvedge strips", waste.selvedge),
        share("end", "End, too short to keep", waste.end),
        share("kept", "Left as stock", kept),
    ]
}

/// Draws the shares side by side from `x` on between `top` and so far below it, `per_mm2` user units to
/// a mm²; where they end.
fn draw(
    shares: &[Share],
    x: f64,
    per_mm2: f64,
    (top, height): (f64, f64),
    drawing: &mut Drawing<ClassLook>,
) -> f64 {
    let mut end = x;
    for share in shares {
        let (from, length) = (end, share.area.to_mm2().max(0.0) * per_mm2);
        end += length;
        let class = format!("share {}", share.class);
        drawing.rectangle(class.into(), (from, top), (length, height));
    }
    end
}

/// The shares of `all` the cloth as one bar.
pub(in crate::output::pages) fn bar(shares: &[Share], all: Area) -> Svg {
    /// Size of the bar's drawing; only ratios matter.
    const BAR: (f64, f64) = (1000.0, 28.0);
    let per_mm2 = if all > Area::ZERO {
        BAR.0 / all.to_mm2()
    } else {
        0.0
    };
    let mut drawing = Drawing::default();
    draw(shares, 0.0, per_mm2, (0.0, BAR.1), &mut drawing);
    let view = ChartView {
        class: "bar",
        shown: [0.0, 0.0, BAR.0, BAR.1],
        decimals: 1,
        is_stretched: true,
        label: None,
    };
    Svg(view.svg(&drawing))
}

/// One way of doing the job, in a chart of all of them.
pub(in crate::output::pages) struct Way<'a> {
    pub(in crate::output::pages) name: &'a str,
    /// Where its cloth goes, and what is written behind; none if it is not possible.
    pub(in crate::output::pages) cloth: Option<([Share; 6], String)>,
}

/// Width of a bar as long as the most cloth, and the height of a row, user units.
const BAR: f64 = 560.0;
const ROW: f64 = 34.0;
/// Room for the names on the left and the amounts on the right, user units.
const NAMES: f64 = 210.0;
const AMOUNTS: f64 = 190.0;

/// Size of the letters.
const LETTERS: f64 = 13.0;

/// A bar for each of `ways`, each as long as its share of `most` cloth.
pub(in crate::output::pages) fn ways(ways: &[Way<'_>], most: Area) -> Svg {
    let mut drawing = Drawing::default();
    for (k, way) in ways.iter().enumerate() {
        row(way, ROW * k as f64, BAR / most.to_mm2(), &mut drawing);
    }
    let view = ChartView {
        class: "ways",
        shown: [0.0, 0.0, NAMES + BAR + AMOUNTS, ROW * ways.len() as f64],
        decimals: 1,
        is_stretched: false,
        label: Some("Area of cloth for each way; the figures are in the table".to_owned()),
    };
    Svg(html! {
        div .scroll tabindex="0" role="region" aria-label="Cloth of each way" { (view.svg(&drawing)) }
    })
}

fn row(way: &Way<'_>, top: f64, per_mm2: f64, drawing: &mut Drawing<ClassLook>) {
    let middle = top + 0.5 * ROW + 4.5;
    drawing.words("end", (NAMES - 10.0, middle), LETTERS, way.name);
    let (beside, text) = match &way.cloth {
        Some((shares, amount)) => {
            let within = (top + 6.0, ROW - 12.0);
            let end = draw(shares, NAMES, per_mm2, within, drawing);
            (end + 8.0, amount.as_str())
        }
        None => (NAMES, "not possible, see below"),
    };
    drawing.words("soft", (beside, middle), LETTERS, text);
}

/// A pattern of squares with this side, each with `shape` on its ground.
fn fill(id: &str, side: f64, turn: Option<&str>, look: ClassLook, shape: Shape) -> Markup {
    let mut drawing = Drawing::default();
    drawing.rectangle("ground".into(), (0.0, 0.0), (side, side));
    drawing.add(look, None, shape);
    pattern(id, (side, side), turn.map(str::to_owned), &drawing)
}

/// What the fills of the bars mean, and the patterns they use.
pub(in crate::output::pages) fn key() -> Svg {
    let entries = [
        ("net", "in the parts"),
        ("trim", "trim"),
        ("between", "between pieces"),
        ("selvedge", "selvedge"),
        ("end", "end, too short to keep"),
        ("kept", "left as stock"),
    ]
    .map(|(class, name)| (key::area(format!("share {class}")), name.to_owned()));
    let bar = |side: f64| Shape::line(&[Point::new(0.0, 0.0), Point::new(0.0, side)]);
    let (centre, radius) = (Point::new(4.5, 4.5), 1.7);
    let dot = Shape::Dot { centre, radius };
    let ink = |width: &str| ClassLook::from("ink").with("stroke-width", width.to_owned());
    let fills = patterns(&[
        fill("fill-trim", 7.0, Some("45"), ink("5"), bar(7.0)),
        fill("fill-between", 9.0, None, "dot".into(), dot),
        fill("fill-selvedge", 5.0, None, ink("2"), bar(5.0)),
    ]);
    Svg(html! { (fills) (key::key("Fills of the bars", &entries)) })
}
