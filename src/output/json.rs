//! `plan.json`: the whole plan for machines, and what the re-check reads back.
//!
//! Written by hand rather than through a serialiser so that the layout of the text is ours: keys in
//! a useful order, short members packed into lines, every ring on one line.

use super::files::remnant_files;
use super::number::{ANGLE, COORDINATE, number, vertices};
use crate::cloth::{Cloth, Flaw, PriceBreak, Rotation};
use crate::diag::Severity;
use crate::geometry::{Bounds, Outline, Point, Ring};
use crate::plan::{
    Alternative, ClothUse, Cut, CutFrame, Layout, PartUse, PlacedJoint, PlacedPiece, PlacedSplice,
    Plan, PlyUse, SetCost, StockLeft, Travel,
};
use crate::ply::Mark;
use crate::units::{Angle, Area, Length, Mass, Money};

/// The plan as JSON, ending with a line break.
///
/// Lengths are millimetres (coordinates to 0.0001 mm, in the roll frame: x along the warp, y
/// across), angles degrees counter-clockwise, areas mm², masses grams, money in whole units of its
/// currency. Outer boundaries run counter-clockwise, openings clockwise, the first point is not
/// repeated. What was not computed is left out; an unknown price is `null`.
#[must_use]
pub fn plan_json(plan: &Plan) -> String {
    let mut text = String::new();
    document(plan).write(&mut text, 0);
    text.push('\n');
    text
}

fn document(plan: &Plan) -> Json {
    let mut members = vec![
        ("warpwise", Json::text(env!("CARGO_PKG_VERSION"))),
        ("title", Json::text(&plan.title)),
        ("units", Json::text("mm")),
        ("seed", Json::raw(plan.seed)),
        ("effort", Json::text(&plan.effort)),
        ("cloths", Json::list(plan.cloths.iter().map(cloth_use))),
        ("parts", Json::list(plan.parts.iter().map(part))),
        ("purchase", Json::list(plan.cloths.iter().map(purchase))),
        (
            "layouts",
            Json::list(plan.layouts.iter().map(|l| layout(plan, l))),
        ),
        (
            "stock_left",
            Json::list(
                (plan.stock_left.iter().zip(remnant_files(plan))).map(|(l, file)| left(l, &file)),
            ),
        ),
        ("remarks", Json::list(plan.remarks.iter().map(remark))),
    ];
    if !plan.cost_per_set.is_empty() {
        let sets = plan.cost_per_set.iter().map(set_cost);
        members.push(("cost_per_set", Json::list(sets)));
    }
    Json::object(members)
}

fn set_cost(set: &SetCost) -> Json {
    let length = |(cloth, length): &(String, Length)| {
        Json::object([
            ("cloth", Json::text(cloth)),
            ("length_mm", Json::length(*length)),
        ])
    };
    Json::object([
        ("sets", Json::raw(set.sets)),
        ("this_job", Json::raw(set.is_this_job)),
        ("bought", Json::list(set.bought.iter().map(length))),
        ("cost", Json::money(set.cost)),
        ("cost_of_one", Json::money(set.cost_of_one())),
    ])
}

fn cloth_use(used: &ClothUse) -> Json {
    let cloth = &used.cloth;
    let waste = used.waste;
    Json::object([
        ("name", Json::text(&cloth.name)),
        ("weave", Json::text(cloth.weave.word())),
        ("turns", turns(cloth)),
        (
            "areal_weight_g_m2",
            Json::number(cloth.areal_weight.to_g_per_m2(), 3),
        ),
        ("roll_width_mm", Json::length(cloth.roll_width)),
        ("selvedge_mm", Json::length(cloth.selvedge)),
        ("end_margin_mm", Json::length(cloth.end_margin)),
        ("gap_mm", Json::length(cloth.gap)),
        ("price", price(cloth)),
        ("sold_by_mm", Json::length(cloth.sold_by)),
        ("least_sold_mm", Json::length(cloth.least_sold)),
        ("spare", Json::number(cloth.spare, 6)),
        ("pieces", Json::raw(used.n_pieces)),
        ("used_length_mm", Json::length(used.purchase.used)),
        ("utilisation", Json::number(used.utilisation, 6)),
        ("cut_area_mm2", Json::area(used.cut_area)),
        ("net_area_mm2", Json::area(used.net_area)),
        ("bought_area_mm2", Json::area(used.bought_area())),
        ("stock_area_mm2", Json::area(used.stock_area)),
        ("kept_area_mm2", Json::area(used.kept_area)),
        (
            "waste",
            Json::object([
                ("selvedge_mm2", Json::area(waste.selvedge)),
                ("between_mm2", Json::area(waste.between)),
                ("trim_mm2", Json::area(waste.trim)),
                ("end_mm2", Json::area(waste.end)),
                ("total_mm2", Json::area(waste.total())),
                ("total_g", Json::mass(used.mass_of(waste.total()))),
                ("total_cost", Json::money(used.cost_of(waste.total()))),
            ]),
        ),
    ])
}

fn turns(cloth: &Cloth) -> Json {
    let rotation = match cloth.turns.rotation {
        Rotation::Half => "half",
        Rotation::Quarter => "quarter",
        Rotation::Any => "any",
    };
    Json::object([
        ("rotation", Json::text(rotation)),
        ("turn_over", Json::raw(cloth.turns.turn_over)),
    ])
}

fn price(cloth: &Cloth) -> Json {
    let Some(price) = &cloth.price else {
        return Json::null();
    };
    let mut members = vec![
        ("amount", Json::money(Some(price.amount))),
        ("per", Json::text(price.unit.symbol())),
        ("currency", Json::text(&price.currency)),
    ];
    if !cloth.price_breaks.is_empty() {
        members.push((
            "breaks",
            Json::list(cloth.price_breaks.iter().map(price_break)),
        ));
    }
    Json::object(members)
}

fn price_break(at_break: &PriceBreak) -> Json {
    Json::object([
        ("from_mm", Json::length(at_break.from)),
        ("amount", Json::money(Some(at_break.price.amount))),
        ("per", Json::text(at_break.price.unit.symbol())),
    ])
}

fn purchase(used: &ClothUse) -> Json {
    let currency = used.cloth.price.as_ref().map(|p| p.currency.as_str());
    let mut members = vec![
        ("cloth", Json::text(&used.cloth.name)),
        ("length_mm", Json::length(used.purchase.length)),
        ("used_mm", Json::length(used.purchase.used)),
        ("cost", Json::money(used.purchase.cost)),
        ("roll_width_mm", Json::length(used.cloth.roll_width)),
        ("currency", currency.map_or_else(Json::null, Json::text)),
    ];
    if !used.alternatives.is_empty() {
        let rows = used.alternatives.iter().map(alternative);
        members.push(("alternatives", Json::list(rows)));
    }
    Json::object(members)
}

fn alternative(of: &Alternative) -> Json {
    let bought = of.purchase.as_ref();
    let length = |l: Option<Length>| l.map_or_else(Json::null, Json::length);
    Json::object([
        ("roll_width_mm", Json::length(of.roll_width)),
        ("used_mm", length(bought.map(|p| p.used))),
        ("length_mm", length(bought.map(|p| p.length))),
        ("cost", Json::money(bought.and_then(|p| p.cost))),
        ("fits", Json::raw(bought.is_some())),
        ("chosen", Json::raw(of.is_chosen)),
    ])
}

/// Stock on the shelf afterwards; its outline is in its remnant file.
fn left(left: &StockLeft, file: &str) -> Json {
    let text = |t: Option<&str>| t.map_or_else(Json::null, Json::text);
    Json::object([
        ("cloth", Json::text(&left.cloth)),
        ("name", Json::text(&left.stock.name)),
        ("file", Json::text(file)),
        ("from", text(left.from.as_deref())),
        ("area_mm2", Json::area(Area::mm2(left.stock.outline.area()))),
        ("largest_rectangle", bounds(&left.rectangle)),
    ])
}

fn bounds(bounds: &Bounds) -> Json {
    let sides = [bounds.min.x, bounds.min.y, bounds.max.x, bounds.max.y];
    Json::list(sides.map(|v| Json::number(v, COORDINATE)))
}

fn part(part: &PartUse) -> Json {
    let cloth_mass = part
        .plies
        .iter()
        .fold(Mass::ZERO, |sum, ply| sum + ply.cloth_mass);
    Json::object([
        ("name", Json::text(&part.name)),
        ("sets", Json::raw(part.sets)),
        ("cloth_mass_g", Json::mass(cloth_mass)),
        ("plies", Json::list(part.plies.iter().map(ply))),
    ])
}

fn ply(ply: &PlyUse) -> Json {
    let mut members = vec![
        ("n", Json::raw(ply.n)),
        ("cloth", Json::text(&ply.cloth)),
        ("angle_deg", Json::angle(ply.angle)),
        ("step_mm", Json::length(ply.step)),
        ("area_mm2", Json::area(ply.net_area)),
        ("cut_area_mm2", Json::area(ply.cut_area)),
        (
            "areal_weight_g_m2",
            Json::number(ply.areal_weight.to_g_per_m2(), 3),
        ),
        ("cloth_mass_g", Json::mass(ply.cloth_mass)),
        ("appearance", Json::raw(ply.appearance)),
        ("on_bias", Json::raw(ply.on_bias)),
    ];
    if let Some((kind, lap)) = ply.joint {
        let letters = ply.pieces.iter().map(|l| Json::text(&l.to_string()));
        members.push(("pieces", Json::list(letters)));
        members.push(("joint", Json::text(kind.word())));
        members.push(("lap_mm", Json::length(lap)));
        members.push(("lap_area_mm2", Json::area(ply.lap_area)));
    }
    Json::object(members)
}

fn layout(plan: &Plan, layout: &Layout) -> Json {
    let (low, high) = layout.usable_y;
    let mut members = vec![
        ("cloth", Json::text(&layout.cloth)),
        ("roll", Json::text(&layout.roll)),
    ];
    if let Some(stock) = &layout.stock {
        members.push(("stock", Json::text(stock)));
        members.push(("whole", outline(&layout.whole)));
    }
    members.extend([
        ("roll_width", Json::length(layout.roll_width)),
        (
            "usable_y",
            Json::list([low, high].map(|y| Json::number(y, COORDINATE))),
        ),
        ("end_margin", Json::length(layout.end_margin)),
        ("gap", Json::length(layout.gap)),
        ("used_length", Json::length(layout.used_length)),
        ("utilisation", Json::number(layout.utilisation, 6)),
    ]);
    if !layout.flaws.is_empty() {
        members.push(("flaws", Json::list(layout.flaws.iter().map(flaw))));
    }
    if !layout.frames.is_empty() {
        let frame = |frame: &[f64; 2]| Json::list(frame.map(|x| Json::number(x, COORDINATE)));
        members.push(("frames", Json::list(layout.frames.iter().map(frame))));
    }
    let kept: Vec<Json> = plan.left_of(layout).map(kept).collect();
    if !kept.is_empty() {
        members.push(("kept", Json::list(kept)));
    }
    let pieces = layout.pieces.iter().map(|p| piece(layout, p));
    members.push(("pieces", Json::list(pieces)));
    members.push(("cut_order", cut_order(layout)));
    Json::object(members)
}

fn travel(travel: &Travel) -> Json {
    Json::object([
        ("mm", Json::length(travel.ordered)),
        ("as_placed_mm", Json::length(travel.as_placed)),
    ])
}

/// In which order the layout is labelled and cut; pieces by their ids.
fn cut_order(layout: &Layout) -> Json {
    let order = &layout.order;
    let id = |piece: usize| Json::text(&layout.pieces[piece].id);
    let cut = |cut: &Cut| {
        let start = cut.points.first().copied().unwrap_or_default();
        Json::object([
            ("id", id(cut.piece)),
            (
                "opening",
                cut.opening.map_or_else(Json::null, |k| Json::raw(k + 1)),
            ),
            (
                "start",
                Json::list([start.x, start.y].map(|v| Json::number(v, COORDINATE))),
            ),
        ])
    };
    let frame = |frame: &CutFrame| {
        Json::object([
            ("from", Json::number(frame.from, COORDINATE)),
            ("to", Json::number(frame.to, COORDINATE)),
            ("labels", Json::list(frame.labels.iter().map(|&p| id(p)))),
            ("cuts", Json::list(frame.cuts.iter().map(cut))),
        ])
    };
    Json::object([
        ("cut_travel", travel(&order.cut_travel)),
        ("label_travel", travel(&order.label_travel)),
        ("frames", Json::list(order.frames.iter().map(frame))),
    ])
}

fn flaw(flaw: &Flaw) -> Json {
    Json::object([
        ("margin", Json::length(flaw.margin)),
        ("area", outline(&flaw.area)),
    ])
}

/// What is left of a roll, in its roll frame.
fn kept(left: &StockLeft) -> Json {
    Json::object([
        ("name", Json::text(&left.stock.name)),
        ("outline", outline(&left.outline_on_roll())),
    ])
}

fn piece(layout: &Layout, piece: &PlacedPiece) -> Json {
    let label = &piece.label;
    let mut members = vec![
        ("id", Json::text(&piece.id)),
        ("part", Json::text(&piece.part)),
        ("ply", Json::raw(piece.ply)),
        ("set", Json::raw(piece.set)),
        ("sequence", Json::raw(piece.sequence)),
        ("angle_design", Json::angle(piece.angle_design)),
        ("angle_cut", Json::angle(piece.angle_cut)),
        ("turn", Json::angle(piece.turn)),
        ("turned_over", Json::raw(piece.turned_over)),
        ("on_bias", Json::raw(piece.on_bias)),
        ("appearance", Json::raw(piece.appearance)),
        ("zero_direction", Json::angle(piece.zero_direction)),
        (
            "label",
            Json::object([
                (
                    "centre",
                    Json::list(
                        [label.centre.x, label.centre.y].map(|v| Json::number(v, COORDINATE)),
                    ),
                ),
                ("width", Json::number(label.width, COORDINATE)),
                ("height", Json::number(label.height, COORDINATE)),
                ("angle", Json::angle(label.angle)),
            ]),
        ),
        ("cut", outline(&piece.cut)),
        ("net", outline(&piece.net)),
    ];
    if let Some(frame) = layout.frame_of(piece) {
        members.push(("frame", Json::raw(frame)));
    }
    if !piece.marks.is_empty() {
        members.push(("marks", Json::list(piece.marks.iter().map(mark))));
    }
    if let Some(bias) = piece.bias {
        members.push((
            "bias",
            Json::object([
                ("off_warp_deg", Json::angle(bias.off_warp)),
                ("length_mm", Json::length(bias.length)),
                ("width_mm", Json::length(bias.width)),
                ("longest_mm", Json::length(bias.longest)),
            ]),
        ));
    }
    if let Some(splice) = &piece.splice {
        members.push(("splice", self::splice(splice)));
    }
    Json::object(members)
}

fn splice(splice: &PlacedSplice) -> Json {
    Json::object([
        ("letter", Json::text(&splice.letter.to_string())),
        ("of", Json::raw(splice.of)),
        ("joints", Json::list(splice.joints.iter().map(joint))),
    ])
}

fn joint(placed: &PlacedJoint) -> Json {
    let joint = &placed.joint;
    Json::object([
        ("mate", Json::text(&placed.mate)),
        ("kind", Json::text(joint.kind.word())),
        ("lies", Json::text(joint.lies.word())),
        ("lap_mm", Json::length(joint.lap)),
        ("line", points(&joint.line)),
    ])
}

fn mark(mark: &Mark) -> Json {
    Json::object([
        ("kind", Json::text(mark.kind.word())),
        ("closed", Json::raw(mark.closed)),
        ("points", points(&mark.points)),
    ])
}

fn outline(outline: &Outline) -> Json {
    Json::object([
        ("outer", ring(&outline.outer, Direction::Left)),
        (
            "openings",
            Json::list(outline.openings.iter().map(|o| ring(o, Direction::Right))),
        ),
    ])
}

/// Which way a ring runs around.
#[derive(Clone, Copy, PartialEq)]
enum Direction {
    /// Counter-clockwise.
    Left,
    /// Clockwise.
    Right,
}

/// A ring on one line.
fn ring(ring: &Ring, direction: Direction) -> Json {
    let mut points = vertices(ring);
    if direction == Direction::Right {
        points.reverse();
    }
    self::points(&points)
}

fn points(points: &[Point]) -> Json {
    let points: Vec<String> = points
        .iter()
        .map(|p| format!("[{},{}]", number(p.x, COORDINATE), number(p.y, COORDINATE)))
        .collect();
    Json::raw(format!("[{}]", points.join(",")))
}

fn remark(remark: &crate::diag::Diagnostic) -> Json {
    let severity = match remark.severity {
        Severity::Note => "note",
        Severity::Warning => "warning",
        Severity::Error => "error",
    };
    Json::object([
        ("severity", Json::text(severity)),
        ("message", Json::text(&remark.message)),
        (
            "help",
            remark.help.as_deref().map_or_else(Json::null, Json::text),
        ),
    ])
}

/// A JSON value on its way to text.
enum Json {
    /// Text that is valid JSON already and stays on one line.
    Raw(String),
    Object(Vec<(&'static str, Json)>),
    List(Vec<Json>),
}

/// Lines are filled up to about this many characters.
const LINE: usize = 110;

impl Json {
    fn raw(value: impl ToString) -> Self {
        Self::Raw(value.to_string())
    }

    fn null() -> Self {
        Self::raw("null")
    }

    fn text(text: &str) -> Self {
        Self::Raw(quoted(text))
    }

    /// A number; `null` if it is not finite, which JSON cannot say.
    fn number(value: f64, decimals: i32) -> Self {
        if value.is_finite() {
            Self::Raw(number(value, decimals))
        } else {
            Self::null()
        }
    }

    fn length(length: Length) -> Self {
        Self::number(length.to_mm(), COORDINATE)
    }

    fn area(area: Area) -> Self {
        Self::number(area.to_mm2(), 2)
    }

    fn mass(mass: Mass) -> Self {
        Self::number(mass.to_grams(), 3)
    }

    fn angle(angle: Angle) -> Self {
        Self::number(angle.to_degrees(), ANGLE)
    }

    fn money(money: Option<Money>) -> Self {
        money.map_or_else(Self::null, |m| Self::number(m.to_decimal(), 2))
    }

    fn list(items: impl IntoIterator<Item = Self>) -> Self {
        Self::List(items.into_iter().collect())
    }

    fn object(members: impl IntoIterator<Item = (&'static str, Self)>) -> Self {
        Self::Object(members.into_iter().collect())
    }

    /// Appends the value: on one line if it fits, else its members packed into indented lines.
    fn write(&self, out: &mut String, indent: usize) {
        match self.one_line() {
            Some(line) if line.len() + indent <= LINE || self.is_raw() => out.push_str(&line),
            _ => self.write_lines(out, indent),
        }
    }

    fn is_raw(&self) -> bool {
        matches!(self, Self::Raw(_))
    }

    /// The value on one line, or `None` once it is clear that no line will hold it.
    fn one_line(&self) -> Option<String> {
        let (open, close, members): (_, _, Vec<String>) = match self {
            Self::Raw(text) => return Some(text.clone()),
            Self::List(items) => (
                '[',
                ']',
                items.iter().map(Self::one_line).collect::<Option<_>>()?,
            ),
            Self::Object(members) => (
                '{',
                '}',
                members
                    .iter()
                    .map(|(key, value)| value.one_line().map(|v| format!("\"{key}\": {v}")))
                    .collect::<Option<_>>()?,
            ),
        };
        let line = format!("{open}{}{close}", members.join(", "));
        (line.len() <= LINE).then_some(line)
    }

    fn write_lines(&self, out: &mut String, indent: usize) {
        let (open, close, members): (_, _, Vec<(&str, &Self)>) = match self {
            Self::Raw(text) => return out.push_str(text),
            Self::List(items) => ('[', ']', items.iter().map(|i| ("", i)).collect()),
            Self::Object(members) => ('{', '}', members.iter().map(|(k, v)| (*k, v)).collect()),
        };
        out.push(open);
        let inner = indent + 1;
        // Characters on the current line; over-full to begin with, so that a new line starts.
        let mut filled = LINE + 1;
        for (i, (key, value)) in members.iter().enumerate() {
            if i > 0 {
                out.push(',');
            }
            let mut text = String::new();
            if !key.is_empty() {
                text = format!("\"{key}\": ");
            }
            value.write(&mut text, inner);
            let is_block = text.contains('\n') || text.len() > LINE;
            if is_block || filled + text.len() + 2 > LINE {
                out.push('\n');
                out.extend(std::iter::repeat_n(' ', inner));
                filled = inner + text.len();
            } else {
                out.push(' ');
                filled += text.len() + 2;
            }
            if is_block {
                filled = LINE + 1;
            }
            out.push_str(&text);
        }
        out.push('\n');
        out.extend(std::iter::repeat_n(' ', indent));
        out.push(close);
    }
}

fn quoted(text: &str) -> String {
    serde_json::to_string(text).expect("a string is always valid JSON")
}
