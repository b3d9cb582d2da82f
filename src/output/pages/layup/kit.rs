//! The kit list in the order of laying, and the cutting list in the order of cutting.

use super::Sheets;
use crate::cloth::Weave;
use crate::diag::counted;
use crate::output::drawing::label::SEPARATOR;
use crate::output::pages::report::words::angle;
use crate::output::pages::sheet::{About, Block, Column, ColumnKind, Row, Sheet, Table, Text};
use crate::plan::{Layout, PartUse, PlacedPiece};
use crate::units::Length;

pub(super) fn lists(sheets: &Sheets<'_>) -> Sheet {
    let plan = sheets.plan;
    let mut blocks = vec![Block::Paragraph(Text::of(
        "First cut, roll by roll, in the order of the numbers on the cut files; then put the pieces of \
         each set together, the first ply on top. Angles are those of the fibres on the part; turn is \
         how far a piece is turned from the part to the roll, counter-clockwise.",
    ))];
    for layout in plan.layouts() {
        cutting_list(sheets, layout, &mut blocks);
    }
    for (idx, part) in plan.parts().iter().enumerate() {
        kit(sheets, idx, part, &mut blocks);
    }
    let bags = plan.work().bagging.iter().flat_map(|bags| &bags.rolls);
    for roll in bags.filter(|roll| !roll.layout.pieces().is_empty()) {
        cutting_list(sheets, &roll.layout, &mut blocks);
    }
    Sheet {
        kind: plan.title().to_owned(),
        title: "Cutting and kit lists".to_owned(),
        beside: String::new(),
        blocks,
    }
}

fn kit(sheets: &Sheets<'_>, idx: usize, part: &PartUse, blocks: &mut Vec<Block>) {
    let mut rows = Vec::new();
    for set in 1..=part.sets {
        for (ply_idx, ply) in part.plies.iter().enumerate() {
            for piece in sheets.index.of(&part.name, ply.n, set) {
                rows.push(Row {
                    about: Some(About::Kit(piece.id().to_owned())),
                    cells: vec![
                        Text::new().tick(""),
                        Text::of(set.to_string()),
                        Text::of(ply.n.to_string()),
                        Text::of(piece.id()),
                        Text::of(ply.cloth.as_str()),
                        Text::of(angle(ply.angle)),
                        Text::of(sheets.batches(idx, set, ply_idx)),
                    ],
                });
            }
        }
    }
    blocks.push(Block::Heading(format!(
        "Kit of {} in the order of laying",
        part.name
    )));
    blocks.push(Block::Table(Table {
        columns: vec![
            Column::new("Done", ColumnKind::Tick),
            Column::new("Set", ColumnKind::Number),
            Column::new("Ply", ColumnKind::Number),
            Column::new("Piece", ColumnKind::Name),
            Column::new("Cloth", ColumnKind::Words),
            Column::new("Angle", ColumnKind::Number),
            Column::new("Batch", ColumnKind::Words),
        ],
        rows,
    }));
}

fn cutting_list(_sheets: &Sheets<'_>, layout: &Layout, blocks: &mut Vec<Block>) {
    let weave = layout.cloth().weave;
    let pieces = layout.pieces().iter();
    let taped: Length = pieces
        .clone()
        .filter(|piece| weave.frays(piece.on_bias()))
        .map(PlacedPiece::edge)
        .fold(Length::ZERO, |sum, edge| sum + edge);
    let mut about = Text::of(counted(layout.pieces().len(), "piece", "pieces"))
        .and(" on ")
        .quantity(layout.used_length().in_metres_and_yards())
        .and(" of the roll, ")
        .quantity(layout.roll_width().in_mm_and_inches())
        .and(" wide, face up.");
    if taped > Length::ZERO {
        about = about
            .and(
                " Tape the edge before cutting where it says so, along the cut line, and cut through \
                 the middle of the tape: ",
            )
            .quantity(taped.in_metres_and_yards())
            .and(" in all.");
    }
    blocks.push(Block::Heading(format!(
        "Cut from {} in the order of cutting",
        layout.roll()
    )));
    blocks.push(Block::Paragraph(about));
    blocks.push(Block::Table(cutting_table(layout, weave)));
}

fn cutting_table(layout: &Layout, weave: Weave) -> Table {
    // Layers of a bag have no angle and nothing to heed.
    let is_cloth = layout.pieces().iter().any(|piece| piece.ply() > 0);
    let row = |piece: &PlacedPiece| {
        let mut cells = vec![
            Text::new().tick(""),
            Text::of(piece.sequence().to_string()),
            Text::of(piece.id()),
            Text::of(angle(piece.turn())),
            Text::new().quantity(size(piece)),
        ];
        if is_cloth {
            cells.insert(3, Text::of(angle(piece.angle_cut())));
            cells.push(heed(piece, weave.frays(piece.on_bias())));
        }
        Row {
            about: Some(About::Cut(piece.id().to_owned())),
            cells,
        }
    };
    let mut columns = vec![
        Column::new("Cut", ColumnKind::Tick),
        Column::new("#", ColumnKind::Number),
        Column::new("Piece", ColumnKind::Name),
        Column::new("Turn", ColumnKind::Number),
        Column::new("Along × across", ColumnKind::Number),
    ];
    if is_cloth {
        columns.insert(3, Column::new("Angle", ColumnKind::Number));
        columns.push(Column::new("Heed", ColumnKind::Words));
    }
    Table {
        columns,
        rows: layout.pieces().iter().map(row).collect(),
    }
}

fn heed(piece: &PlacedPiece, frays: bool) -> Text {
    let mut text = Text::new();
    let next = |text: Text| {
        if text == Text::new() {
            text
        } else {
            text.and(SEPARATOR)
        }
    };
    if piece.turned_over() {
        text = next(text).strong("face down");
    }
    if piece.appearance() {
        text = next(text).and("will be seen");
    }
    if piece.on_bias() {
        text = next(text).and("bias");
    }
    if frays {
        text = next(text)
            .and("tape the edge before cutting, ")
            .quantity(piece.edge().in_metres_and_yards());
    }
    text
}

fn size(piece: &PlacedPiece) -> String {
    let bounds = piece.cut().bounds();
    let (along, across) = (bounds.width(), bounds.height());
    format!(
        "{along:.0} × {across:.0} mm ({:.1} × {:.1} in)",
        along / 25.4,
        across / 25.4
    )
}
