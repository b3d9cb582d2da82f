//! `plan.json`: the whole plan for machines, and what the re-check reads back.
//!
//! Written by hand rather than through a serialiser so that the layout of the text is ours: keys in
//! a useful order, short members packed into lines, every ring on one line.

mod order;
mod value;
mod work;

use order::cut_order;
use value::Json;

use super::files::remnant_files;
use super::number::{COORDINATE, number, vertices};
use crate::cloth::{Cloth, Flaw, PriceBreak, Rotation};
use crate::diag::Severity;
use crate::geometry::{Bounds, Outline, Point, Ring};
use crate::laminate::{InPlane, LayerStiffness, Symmetric};
use crate::plan::{
    Alternative, ClothUse, Laminate, Layout, PartUse, PlacedJoint, PlacedPiece, PlacedSplice, Plan,
    PlyUse, SetCost, StackAsCut, StockLeft, ThicknessMap,
};
use crate::ply::Mark;
use crate::units::{Area, Length, Modulus};

/// The plan as JSON, ending with a line break.
///
/// Lengths are millimetres (coordinates to 0.0001 mm, in the roll frame: x along the warp, y
/// across), angles degrees counter-clockwise, areas mm², masses grams, money in whole units of its
/// currency. Outer boundaries run counter-clockwise, openings clockwise, the first point is not
/// repeated. `layers_deg` of a piece of stitched biaxial are the directions of its layers on the part,
/// from the mould up; a part whose sets are not cut alike has `as_cut` with a stack for each kind of set. What was not computed is left out; what is not known
/// (a price, the fibre of a cloth and what follows from it) is `null`.
#[must_use]
pub(crate) fn plan_json(plan: &Plan) -> String {
    let mut text = String::new();
    document(plan).write(&mut text, 0);
    text.push('\n');
    text
}

fn document(plan: &Plan) -> Json {
    let mut members = vec![
        ("warpwise", Json::text(env!("CARGO_PKG_VERSION"))),
        ("title", Json::text(plan.title())),
        ("units", Json::text("mm")),
        ("seed", Json::raw(plan.seed())),
        ("effort", Json::text(plan.effort())),
        ("cloths", Json::list(plan.cloths().iter().map(cloth_use))),
        (
            "parts",
            Json::list(
                plan.parts().iter().enumerate().map(|(idx, p)| {
                    part(p, plan.work().thickness.get(idx).and_then(Option::as_ref))
                }),
            ),
        ),
        (
            "resin",
            Json::known(plan.work().resin.as_ref(), |resin| work::resin(plan, resin)),
        ),
        (
            "bagging",
            Json::known(plan.work().bagging.as_ref(), |bags| {
                work::bagging(plan, bags)
            }),
        ),
        (
            "mould",
            Json::known(plan.work().mould.as_ref(), |mould| work::mould(plan, mould)),
        ),
        (
            "costs",
            Json::known(plan.costs().as_ref(), |costs| work::costs(plan, costs)),
        ),
        (
            "shopping",
            Json::list(plan.shopping().iter().map(work::item)),
        ),
        ("purchase", Json::list(plan.cloths().iter().map(purchase))),
        (
            "layouts",
            Json::list(plan.layouts().iter().map(|l| layout(plan, l))),
        ),
        (
            "stock_left",
            Json::list(
                (plan.stock_left().iter().zip(remnant_files(plan))).map(|(l, file)| left(l, &file)),
            ),
        ),
        ("remarks", Json::list(plan.remarks().iter().map(remark))),
    ];
    if !plan.cost_per_set().is_empty() {
        let sets = plan.cost_per_set().iter().map(set_cost);
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
        Rotation::None => "none",
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

fn part(part: &PartUse, map: Option<&ThicknessMap>) -> Json {
    let cloth_mass = part.cloth_mass();
    let resin_mass = part.resin_mass();
    let mut members = vec![
        ("name", Json::text(&part.name)),
        ("sets", Json::raw(part.sets)),
        ("cloth_mass_g", Json::mass(cloth_mass)),
        ("resin_mass_g", Json::known(resin_mass, Json::mass)),
        (
            "mass_g",
            Json::known(resin_mass, |resin| Json::mass(cloth_mass + resin)),
        ),
    ];
    members.extend(stack(&part.stack));
    if !part.other_stacks.is_empty() {
        let all = std::iter::once(&part.stack).chain(&part.other_stacks);
        members.push(("as_cut", Json::list(all.map(stack_as_cut))));
    }
    members.push(("regions", Json::known(map, work::regions)));
    members.push(("plies", Json::list(part.plies.iter().map(ply))));
    Json::object(members)
}

fn stack(stack: &StackAsCut) -> Vec<(&'static str, Json)> {
    let mut members = laminate(&stack.laminate);
    let full = stack.full_plies.as_ref();
    members.push((
        "full_plies",
        Json::known(full, |full| {
            let plies = Json::list(full.plies.iter().map(Json::raw));
            Json::object([("plies", plies)].into_iter().chain(laminate(full)))
        }),
    ));
    members
}

/// One of several stacks of a part, with the sets that are cut so.
fn stack_as_cut(of: &StackAsCut) -> Json {
    let sets = Json::list(of.sets.iter().map(Json::raw));
    let angles = Json::list(of.angles.iter().copied().map(Json::ply_angle));
    let first = [("sets", sets), ("plies_deg", angles)];
    Json::object(first.into_iter().chain(stack(of)))
}

/// What is known of a laminate.
fn laminate(laminate: &Laminate) -> Vec<(&'static str, Json)> {
    let mut members = vec![
        (
            "thickness_mm",
            Json::known(laminate.thickness, Json::length),
        ),
        ("symmetric", Json::raw(laminate.symmetry.is_ok())),
        ("balanced", Json::raw(laminate.balance.is_ok())),
    ];
    members.extend(in_plane(laminate.in_plane.as_ref()));
    members.push((
        "stiffness",
        Json::known(laminate.plate.as_ref(), |plate| {
            let six = |m: &Symmetric| Json::list(m.to_array().map(|v| Json::number(v, 3)));
            Json::object([
                (
                    "order",
                    Json::list(["11", "12", "16", "22", "26", "66"].map(Json::text)),
                ),
                ("a_n_per_mm", six(&plate.a)),
                ("b_n", six(&plate.b)),
                ("d_n_mm", six(&plate.d)),
            ])
        }),
    ));
    members
}

/// What a laminate acts as in its plane; moduli to 0.1 MPa.
fn in_plane(known: Option<&InPlane>) -> [(&'static str, Json); 4] {
    let modulus =
        |of: fn(&InPlane) -> Modulus| Json::known(known, |sheet| Json::modulus(of(sheet)));
    [
        ("ex_mpa", modulus(|sheet| sheet.ex)),
        ("ey_mpa", modulus(|sheet| sheet.ey)),
        ("gxy_mpa", modulus(|sheet| sheet.gxy)),
        (
            "nu_xy",
            Json::known(known, |sheet| Json::number(sheet.nu_xy, 6)),
        ),
    ]
}

fn ply(ply: &PlyUse) -> Json {
    let lamina = ply.lamina.as_ref();
    let mut members = vec![
        ("n", Json::raw(ply.n)),
        ("cloth", Json::text(&ply.cloth)),
        ("angle_deg", Json::ply_angle(ply.angle)),
        ("step_mm", Json::length(ply.step)),
        ("area_mm2", Json::area(ply.net_area)),
        ("cut_area_mm2", Json::area(ply.cut_area)),
        (
            "areal_weight_g_m2",
            Json::number(ply.areal_weight.to_g_per_m2(), 3),
        ),
        (
            "fibre_density_g_cm3",
            Json::known(lamina, |l| {
                Json::number(l.constituents.fibre.to_g_per_cm3(), 6)
            }),
        ),
        (
            "resin_density_g_cm3",
            Json::known(lamina, |l| {
                Json::number(l.constituents.resin.to_g_per_cm3(), 6)
            }),
        ),
        (
            "fibre_volume_fraction",
            Json::known(lamina, |l| Json::number(l.fraction.get(), 6)),
        ),
        (
            "fibre_weight_fraction",
            Json::known(lamina, |l| {
                Json::number(l.constituents.by_weight(l.fraction).get(), 6)
            }),
        ),
        (
            "thickness_mm",
            Json::known(lamina, |l| Json::number(l.thickness.to_mm(), 6)),
        ),
        ("cloth_mass_g", Json::mass(ply.cloth_mass)),
        ("resin_mass_g", Json::known(ply.resin_mass(), Json::mass)),
        (
            "elastic",
            Json::known(lamina.and_then(|l| l.stiffness), elastic),
        ),
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

fn elastic(stiffness: LayerStiffness) -> Json {
    let of = match stiffness {
        LayerStiffness::Fibres(_) => "a layer with all fibres one way",
        LayerStiffness::Cloth(_) => "the cured cloth",
    };
    let elastic = stiffness.elastic();
    Json::object([
        ("of", Json::text(of)),
        ("e1_mpa", Json::modulus(elastic.e1)),
        ("e2_mpa", Json::modulus(elastic.e2)),
        ("g12_mpa", Json::modulus(elastic.g12)),
        ("nu12", Json::number(elastic.nu12, 6)),
    ])
}

fn layout(plan: &Plan, layout: &Layout) -> Json {
    let (low, high) = layout.usable_y();
    let mut members = vec![
        ("cloth", Json::text(&layout.cloth().name)),
        ("roll", Json::text(layout.roll())),
    ];
    if let Some(stock) = &layout.stock() {
        members.push(("stock", Json::text(stock)));
        members.push(("whole", outline(layout.whole())));
    }
    members.extend([
        ("roll_width", Json::length(layout.roll_width())),
        (
            "usable_y",
            Json::list([low, high].map(|y| Json::number(y, COORDINATE))),
        ),
        ("end_margin", Json::length(layout.end_margin())),
        ("gap", Json::length(layout.gap())),
        ("used_length", Json::length(layout.used_length())),
        ("utilisation", Json::number(layout.utilisation(), 6)),
    ]);
    if !layout.flaws().is_empty() {
        members.push(("flaws", Json::list(layout.flaws().iter().map(flaw))));
    }
    if !layout.frames().is_empty() {
        let frame = |frame: &[f64; 2]| Json::list(frame.map(|x| Json::number(x, COORDINATE)));
        members.push(("frames", Json::list(layout.frames().iter().map(frame))));
    }
    let kept: Vec<Json> = plan.left_of(layout).map(kept).collect();
    if !kept.is_empty() {
        members.push(("kept", Json::list(kept)));
    }
    let pieces = layout.pieces().iter().map(|p| piece(layout, p));
    members.push(("pieces", Json::list(pieces)));
    members.push(("cut_order", cut_order(layout)));
    Json::object(members)
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
    let label = &piece.label();
    let mut members = vec![
        ("id", Json::text(piece.id())),
        ("part", Json::text(piece.part())),
        ("ply", Json::raw(piece.ply())),
        ("set", Json::raw(piece.set())),
        ("sequence", Json::raw(piece.sequence())),
        ("angle_design", Json::ply_angle(piece.angle_design())),
        ("angle_cut", Json::ply_angle(piece.angle_cut())),
        ("turn", Json::angle(piece.turn())),
        ("turned_over", Json::raw(piece.turned_over())),
        ("on_bias", Json::raw(piece.on_bias())),
        ("appearance", Json::raw(piece.appearance())),
        ("zero_direction", Json::angle(piece.zero_direction())),
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
        ("cut", outline(piece.cut())),
        ("net", outline(piece.net())),
    ];
    if let Some(layers) = piece.layers() {
        let from_mould = [layers.against_mould(), layers.towards_bag()];
        members.push((
            "layers_deg",
            Json::list(from_mould.map(|axis| Json::angle(axis.from_zero()))),
        ));
    }
    if let Some(frame) = layout.frame_of(piece) {
        members.push(("frame", Json::raw(frame)));
    }
    if !piece.marks().is_empty() {
        members.push(("marks", Json::list(piece.marks().iter().map(mark))));
    }
    if let Some(bias) = piece.bias() {
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
    if let Some(splice) = &piece.splice() {
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
    let mut points = vertices(ring.points());
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
