//! `pieces.csv`: one row per piece, for spreadsheets and cutting rooms.
//!
//! RFC 4180: comma separated, CRLF line ends, quotes doubled. UTF-8.

use crate::number::{ANGLE, COORDINATE, number};
use crate::plan::{Layout, PlacedPiece, Plan};

const COLUMNS: [&str; 26] = [
    "id",
    "part",
    "ply",
    "set",
    "cloth",
    "roll",
    "sequence",
    "angle_design_deg",
    "angle_cut_deg",
    "turn_deg",
    "turned_over",
    "on_bias",
    "appearance",
    "x_min_mm",
    "x_max_mm",
    "y_min_mm",
    "y_max_mm",
    "cut_area_mm2",
    "net_area_mm2",
    "cut_length_mm",
    "splice",
    "joint",
    "mates",
    "stock",
    "frame",
    "against_mould_deg",
];

/// One row per piece after a row of column names, roll by roll in cutting order.
///
/// Extents are those of the cut line in the roll frame; `cut_length_mm` is the length of all cut
/// lines of the piece, openings included. `splice`, `joint` and `mates` are empty unless the piece
/// is one of several of its ply: its letter, how it is joined, and the ids of its neighbours.
/// `stock` names the stock on hand it is cut from and `frame` counts the frames on the cutting
/// table; both may be empty. `against_mould_deg` is the direction on the part, as cut, of that layer of
/// a stitched biaxial that lies against the mould; empty for other cloths.
#[must_use]
pub(crate) fn pieces_csv(plan: &Plan) -> String {
    let mut text = COLUMNS.join(",");
    text.push_str("\r\n");
    for layout in plan.layouts() {
        for piece in layout.pieces() {
            text.push_str(&row(layout, piece).join(","));
            text.push_str("\r\n");
        }
    }
    text
}

fn row(layout: &Layout, piece: &PlacedPiece) -> [String; COLUMNS.len()] {
    let bounds = piece.cut().bounds();
    let kinds: Vec<&str> = piece.joints().iter().map(|j| j.joint.kind.word()).collect();
    let mut mates: Vec<String> = piece.joints().into_iter().map(|joint| joint.mate).collect();
    mates.dedup();
    [
        text_cell(piece.id()),
        text_cell(piece.part()),
        piece.ply().to_string(),
        piece.set().to_string(),
        text_cell(&layout.cloth().name),
        text_cell(layout.roll()),
        piece.sequence().to_string(),
        number(piece.angle_design().to_degrees(), ANGLE),
        number(piece.angle_cut().to_degrees(), ANGLE),
        number(piece.turn().to_degrees(), ANGLE),
        yes_no(piece.turned_over()),
        yes_no(piece.on_bias()),
        yes_no(piece.appearance()),
        number(bounds.min.x, COORDINATE),
        number(bounds.max.x, COORDINATE),
        number(bounds.min.y, COORDINATE),
        number(bounds.max.y, COORDINATE),
        number(piece.cut().area(), 2),
        number(piece.net().area(), 2),
        number(piece.edge().to_mm(), 2),
        piece
            .splice()
            .as_ref()
            .map_or_else(String::new, |s| s.letter.to_string()),
        kinds.first().map_or_else(String::new, |k| (*k).to_owned()),
        text_cell(&mates.join(" ")),
        text_cell(layout.stock().map_or("", |stock| &stock.name)),
        (layout.frame_of(piece)).map_or_else(String::new, |frame| frame.to_string()),
        (piece.layers()).map_or_else(String::new, |layers| {
            number(layers.against_mould().from_zero().to_degrees(), ANGLE)
        }),
    ]
}

fn yes_no(value: bool) -> String {
    if value { "yes" } else { "no" }.to_owned()
}

/// A cell that holds a name: quoted where RFC 4180 asks for it, and never taken for a formula.
///
/// Spreadsheets run a cell that begins with one of `= + - @`, a tab or a line end as a formula; an
/// apostrophe in front makes it text (OWASP, "CSV Injection").
fn text_cell(name: &str) -> String {
    let guard = if name.starts_with(['=', '+', '-', '@', '\t', '\r', '\n']) {
        "'"
    } else {
        ""
    };
    let cell = format!("{guard}{name}");
    if cell.contains([',', '"', '\r', '\n']) {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell
    }
}

#[cfg(test)]
mod tests {
    use super::text_cell;

    #[test]
    fn names_are_quoted_and_never_formulas() {
        assert_eq!(text_cell("RUD-1#1"), "RUD-1#1");
        assert_eq!(text_cell("a,\"b\""), "\"a,\"\"b\"\"\"");
        assert_eq!(text_cell("=SUM(A1:A9)"), "'=SUM(A1:A9)");
        assert_eq!(text_cell("@x,y"), "\"'@x,y\"");
    }
}
