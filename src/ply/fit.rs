//! Whether a piece fits the usable width of its cloth, and what would help if it does not.

use super::{Bias, Piece, both, name};
use crate::cloth::{Cloth, Rotation, WeaveTurns};
use crate::diag::{Diagnostic, Remedy};
use crate::geometry::{Bounds, Outline, Turn, fit_tolerance};
use crate::job::Ply;
use crate::units::Length;

/// Whether a piece with these sides along and across the roll fits `cloth` and the table.
pub(super) fn fits(cloth: &Cloth, (length, width): (f64, f64)) -> bool {
    let usable = cloth.usable_width().to_mm();
    let slack = fit_tolerance(usable);
    let table = cloth.usable_table();
    width <= usable + slack && table.is_none_or(|table| length <= table.to_mm() + slack)
}

/// Refuses a piece that is too wide for the roll or too long for the table at every permitted turn.
pub(super) fn check(cloth: &Cloth, piece: &Piece) -> Result<(), Diagnostic> {
    let (part, ply) = (piece.part(), piece.ply());
    let usable = cloth.usable_width().to_mm();
    let sizes: Vec<(Turn, (f64, f64))> = piece
        .turns
        .iter()
        .filter(|turn| {
            piece
                .turns
                .first()
                .is_some_and(|first| turn.face == first.face)
        })
        .map(|&turn| (turn, size_at(&piece.cut, turn)))
        .collect();
    if sizes.iter().any(|&(_, size)| fits(cloth, size)) {
        return Ok(());
    }
    let widths: Vec<(Turn, f64)> = sizes.iter().map(|&(turn, size)| (turn, size.1)).collect();
    let in_width = sizes
        .iter()
        .filter(|(_, size)| size.1 <= usable + fit_tolerance(usable));
    let lengths: Vec<(Turn, f64)> = in_width.map(|&(turn, size)| (turn, size.0)).collect();
    if let (Some(table), [_, ..]) = (cloth.usable_table(), &lengths[..]) {
        return Err(too_long(cloth, piece, table, &lengths));
    }
    if let Some(problem) = too_large(cloth, piece) {
        return Err(problem);
    }
    let narrowest = widths
        .iter()
        .map(|&(_, width)| width)
        .fold(f64::INFINITY, f64::min);
    Err(Diagnostic::error(format!(
        "{} is {} too wide for `{}`: the usable width is {}, the piece is {}",
        name(part, ply),
        excess(narrowest - usable),
        cloth.name,
        both(usable),
        by_width(&widths),
    ))
    .at(ply.place.clone())
    .help(help(ply, cloth, piece, narrowest))
    .remedy(lap(piece, "wider than the roll", &[])))
}

/// Permits lap joints in the part of `piece`.
fn lap(piece: &Piece, what: &str, more: &[(&'static str, &'static str)]) -> Remedy {
    let part = piece.part().name.clone();
    let (cloth, lap) = (piece.cloth(), piece.ply().cutting.splice.lap);
    Remedy {
        label: format!("Permit lap joints in {part}"),
        about: format!(
            "{part} is {what} of {}: it can be cut in pieces that lie {} over each other",
            cloth.name,
            lap.in_mm_and_inches()
        ),
        part,
        keys: [("splice", "lap")].iter().chain(more).copied().collect(),
    }
}

/// Refuses a piece that is both wider than the roll and longer than the table at every permitted turn: no splice
/// helps, as lines in one direction leave one of the two as it is.
pub(super) fn too_large(cloth: &Cloth, piece: &Piece) -> Option<Diagnostic> {
    let (part, ply) = (piece.part(), piece.ply());
    let (usable, table) = (cloth.usable_width().to_mm(), cloth.usable_table()?.to_mm());
    let (width, length) = (narrowest(piece), shortest(piece));
    if width <= usable + fit_tolerance(usable) || length <= table + fit_tolerance(usable) {
        return None;
    }
    let problem = Diagnostic::error(format!(
        "{} is {} too wide for `{}` and {} too long for its cutting table, and a ply is divided in one direction \
         only: {} of the width and {} of the table are usable",
        name(part, ply),
        excess(width - usable),
        cloth.name,
        excess(length - table),
        both(usable),
        both(table),
    ));
    Some(problem.at(ply.place.clone()).help(
        "divide it in the drawing into outlines that are short enough for the table, each a part of its own with \
         its overlap; or use a wider roll; or make `table_length` longer, or leave it out, and permit a splice: \
         `splice = \"lap\"`",
    ))
}

/// Refuses a piece that the table is too short for.
fn too_long(cloth: &Cloth, piece: &Piece, table: Length, lengths: &[(Turn, f64)]) -> Diagnostic {
    let (ply, table) = (piece.ply(), table.to_mm());
    let shortest = lengths
        .iter()
        .map(|&(_, length)| length)
        .fold(f64::INFINITY, f64::min);
    let mut ways = vec![table_help(cloth)];
    if 2.0 * ply.cutting.trim.to_mm() > shortest - table {
        ways.push("or a smaller `trim`, which counts on both sides".to_owned());
    }
    let across: &[_] = match cloth.weave.runs_one_way() {
        true => &[("splice_lines", "across")],
        false => &[],
    };
    ways.push(match cloth.weave.runs_one_way() {
        true => "or permit a splice across the fibres: `splice = \"lap\"` with `splice_lines = \"across\"`",
        false => "or permit a splice: `splice = \"lap\"`",
    }
    .to_owned());
    Diagnostic::error(format!(
        "{} is {} too long for the cutting table of `{}`: {} of it are usable, the piece is {}",
        name(piece.part(), ply),
        excess(shortest - table),
        cloth.name,
        both(table),
        by_width(lengths),
    ))
    .at(ply.place.clone())
    .help(ways.join("; "))
    .remedy(lap(piece, "longer than the cutting table", across))
}

/// What would help a piece that is longer than the cutting table.
pub(crate) fn table_help(cloth: &Cloth) -> String {
    let table = cloth.supply.table.unwrap_or(Length::ZERO);
    let margins = if cloth.end_margin == Length::ZERO {
        String::new()
    } else {
        let margin = cloth.end_margin.in_mm_and_inches();
        format!(", less the `end_margin` of {margin}")
    };
    format!(
        "no piece may lie across the end of the cutting table, {} long{margins}; make \
         `table_length` longer, or leave it out",
        table.in_metres_and_yards()
    )
}

/// By how much (mm) something is too wide: never nothing.
pub(super) fn excess(mm: f64) -> String {
    /// What is less than this rounds to nothing.
    const LEAST_TOLD_MM: f64 = 0.05;
    if mm < LEAST_TOLD_MM {
        "less than 0.1 mm (0.004 in)".to_owned()
    } else {
        both(mm)
    }
}

/// `232.1 mm (9.14 in) at a turn of 45°, 135°; 310 mm (12.20 in) at a turn of 0°`.
fn by_width(widths: &[(Turn, f64)]) -> String {
    let mut groups: Vec<(String, Vec<String>)> = Vec::new();
    for (turn, width) in widths {
        let (width, turn) = (both(*width), turn.angle.to_string());
        match groups.iter_mut().find(|(same, _)| *same == width) {
            Some((_, turns)) => turns.push(turn),
            None => groups.push((width, vec![turn])),
        }
    }
    let texts: Vec<String> = groups
        .iter()
        .map(|(width, turns)| format!("{width} at a turn of {}", turns.join(", ")))
        .collect();
    texts.join("; ")
}

fn help(ply: &Ply, cloth: &Cloth, piece: &Piece, narrowest: f64) -> String {
    let mut ways = Vec::new();
    // A quarter turn or the freedom of a hidden ply may be enough.
    let quarter = WeaveTurns {
        rotation: Rotation::Quarter,
        turn_over: false,
    };
    let crosswise = piece.turns.first().is_some_and(|straight| {
        quarter.list().iter().any(|t| {
            let turn = Turn::rotation(straight.angle + t.angle);
            width_at(&piece.cut, turn) <= cloth.usable_width().to_mm()
        })
    });
    if crosswise && ply.appearance && cloth.turns.rotation == Rotation::Quarter {
        ways.push("it would fit across the roll, but a ply that will be seen (`appearance`) may not be turned so".to_owned());
    } else if crosswise && cloth.weave.keeps_fibres(Rotation::Quarter) {
        let way = if cloth.weave.has_two_layers() {
            "it fits across the roll if either layer of the cloth may lie against the mould \
             (`layer_order = \"any\"`)"
        } else {
            "it fits across the roll if the cloth is alike both ways (`turns = \"quarter\"`)"
        };
        ways.push(way.to_owned());
    }
    let straight = piece.turns.first();
    if piece.on_bias
        && let Some(bias) = straight.and_then(|turn| {
            Bias::of(
                &turn.outline(&piece.cut).outer,
                cloth.usable_width(),
                piece.zero + turn.angle,
            )
        })
        && bias.longest.to_mm() > 0.0
    {
        ways.push(format!(
            "it lies at {:.1}° to the warp, where a strip {} wide can be {} long",
            bias.off_warp.to_degrees(),
            bias.width.in_mm_and_inches(),
            bias.longest.in_mm_and_inches(),
        ));
    }
    ways.push(format!(
        "a roll at least {} wide with the same selvedge strips would do",
        both(narrowest + (cloth.roll_width - cloth.usable_width()).to_mm())
    ));
    if 2.0 * ply.cutting.trim.to_mm() > narrowest - cloth.usable_width().to_mm() {
        ways.push("or a smaller `trim`, which counts on both sides".to_owned());
    }
    let joint = if cloth.weave.runs_one_way() {
        "`splice = \"lap\"` or `\"butt\"`"
    } else {
        "`splice = \"lap\"`"
    };
    ways.push(format!("or permit a splice: {joint}"));
    ways.join("; ")
}

/// The least width (mm) of `piece` across the roll in any permitted turn.
pub(super) fn narrowest(piece: &Piece) -> f64 {
    let widths = piece.turns.iter().map(|&turn| width_at(&piece.cut, turn));
    widths.fold(f64::INFINITY, f64::min)
}

/// The least length (mm) of `piece` along the roll in any permitted turn.
pub(super) fn shortest(piece: &Piece) -> f64 {
    let sizes = piece.turns.iter().map(|&turn| size_at(&piece.cut, turn));
    sizes
        .map(|(length, _)| length)
        .fold(f64::INFINITY, f64::min)
}

/// Extent of `outline` across the roll at `turn`, mm.
fn width_at(outline: &Outline, turn: Turn) -> f64 {
    size_at(outline, turn).1
}

/// Extents of `outline` along and across the roll at `turn`, mm.
pub(super) fn size_at(outline: &Outline, turn: Turn) -> (f64, f64) {
    // Turning the whole outline would copy its openings for nothing.
    let turned = outline.outer.points().iter().map(|&p| turn.apply(p));
    Bounds::of(turned).map_or((0.0, 0.0), |b| (b.width(), b.height()))
}
