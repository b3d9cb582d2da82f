//! The sheet of one part: from the bare mould to the finished part, in the order of the work.

use super::{Sheets, joints, stack};
use crate::diag::counted;
use crate::job::LayerKind;
use crate::output::pages::report::bag::{by_text, in_all_units};
use crate::output::pages::report::resin::plies as plies_of_batch;
use crate::output::pages::report::thickness;
use crate::output::pages::report::words::{
    UNKNOWN, angle, mass_text, piece_area_text, thickness_text,
};
use crate::output::pages::report::work_words::{grams_text, minutes};
use crate::output::pages::sheet::{Block, Column, ColumnKind, Row, Sheet, Table, Text};
use crate::plan::{BagUse, MouldUse, PartUse, PlyUse, ResinUse, RollUse, ThicknessMap};
use crate::units::Mass;

pub(super) fn sheet(sheets: &Sheets<'_>, idx: usize) -> Sheet {
    let plan = sheets.plan;
    let part = &plan.parts()[idx];
    let fills = Text::new()
        .blank("Date")
        .blank("Laid by")
        .blank("Room °C / °F")
        .blank("Humidity %");
    let mut blocks = vec![
        Block::Paragraph(fills),
        cautions(plan.work().resin.is_some()),
        Block::Heading("Make the mould ready".to_owned()),
        Block::Steps(mould_steps(sheets, idx)),
        Block::Heading("Lay up, from the mould up".to_owned()),
        Block::Paragraph(Text::of(
            "The dashed line is the part's 0°. Arrows point along the warp, counter-clockwise from 0° \
             seen from the bag side; a thin line is the weft. Each arrow is true on the ply, which is \
             drawn lying down.",
        )),
    ];
    if let Some(laid) = plan.work().laid.get(idx) {
        blocks.extend(
            stack::figures(plan, part, laid)
                .into_iter()
                .map(Block::Figure),
        );
    }
    joints::section(sheets, idx, &mut blocks);
    blocks.extend([
        Block::Heading("Ply by ply".to_owned()),
        Block::Paragraph(Text::of(
            "For each ply: lay it, line it up with 0°, wet it out with the roller from the middle \
             outwards, tick it off.",
        )),
        Block::Table(ply_table(sheets, idx)),
    ]);
    if let Some(resin) = &plan.work().resin {
        batches(sheets, resin, idx, &mut blocks);
    }
    if let Some(bags) = &plan.work().bagging {
        bag(bags, part, idx, &mut blocks);
    }
    finish(sheets, part, idx, &mut blocks);
    Sheet {
        kind: format!("{}: layup sheet", plan.title()),
        title: part.name.clone(),
        beside: counted(part.sets as usize, "set", "sets"),
        blocks,
    }
}

/// What can hurt. Common practice, no source; data sheets go before it.
fn cautions(has_resin: bool) -> Block {
    let lead = Text::new()
        .strong("Data sheets, local code and licensed practice come first.")
        .and(" This sheet is arithmetic on the numbers it was given and approves no design.");
    let mut points = vec![
        Text::new().strong("Dust:").and(
            " respirator (P2, N95 or better) and eye protection for cutting, trimming, sanding. Carbon \
             dust conducts: keep it off sockets and machines.",
        ),
        Text::new().strong("Resin:").and(
            " nitrile gloves and sleeves, fresh ones when wet; soap and water, never solvent, on skin. \
             Air the room.",
        ),
    ];
    if has_resin {
        points.push(Text::new().strong("Heat:").and(
            " a full pot heats itself and can burn. Mix one batch at a time, pour it out flat.",
        ));
    }
    points.push(
        Text::new()
            .strong("Blades:")
            .and(" cut away from hands; cover the blade when you put it down."),
    );
    Block::Cautions(lead, points)
}

/// A step that is ticked off.
fn step(words: &str) -> Text {
    Text::new().tick("").and(words)
}

fn mould_steps(sheets: &Sheets<'_>, idx: usize) -> Vec<Text> {
    let work = sheets.plan.work();
    let mut steps = vec![step(
        "Clean the mould of dust, old release and fingerprints.",
    )];
    if let Some(mould) = &work.mould {
        release_steps(mould, idx, &mut steps);
    }
    if let Some(bag) = work.bagging.as_ref().map(|bags| &bags.parts[idx]) {
        steps.push(
            step("Stick down the line of sealant tape before the first ply, along ")
                .quantity(by_text(bag.tape_line))
                .and(", ")
                .quantity(bag.tape.in_metres_and_yards())
                .and(" with its pleats. Leave the paper on: the line stays free of resin and wax."),
        );
    }
    steps.push(step(
        "Mark the part's 0° on the mould. Lay out pieces, bag layers, tools and gloves before any \
         resin is mixed.",
    ));
    steps
}

fn release_steps(mould: &MouldUse, idx: usize, steps: &mut Vec<Text>) {
    let setup = &mould.setup;
    let area = mould.areas[idx];
    let wax = Mass::grams((setup.wax * area).to_grams() * f64::from(setup.wax_coats));
    if setup.wax_coats > 0 {
        let text = Text::of("Wax ")
            .quantity(piece_area_text(area))
            .and(", the part and ")
            .quantity(setup.margin.in_mm_and_inches())
            .and(" all round: ")
            .and(counted(setup.wax_coats as usize, "coat", "coats"))
            .and(", about ")
            .quantity(mass_text(wax))
            .and(format!(
                " in all; wait {} after each, then buff. ",
                minutes(setup.wax_wait)
            ));
        let coats = 1..=setup.wax_coats;
        steps.push(coats.fold(text, |text, coat| text.tick(format!("coat {coat}"))));
    }
    if let Some(coverage) = setup.pva {
        steps.push(
            step("PVA film over the wax: ")
                .quantity(coverage.volume_for(area).in_litres_and_ounces())
                .and(" at ")
                .quantity(coverage.to_string())
                .and(format!("; let it dry {}.", minutes(setup.pva_drying))),
        );
    }
}

fn ply_table(sheets: &Sheets<'_>, idx: usize) -> Table {
    let part = &sheets.plan.parts()[idx];
    let running = stack::running_thickness(part);
    let has_resin = sheets.plan.work().resin.is_some();
    let mut columns = vec![
        Column::new("Ply", ColumnKind::Name),
        Column::new("Pieces, a tick for each", ColumnKind::Words),
        Column::new("Cloth", ColumnKind::Words),
        Column::new("Angle", ColumnKind::Number),
        Column::new("Thickness so far", ColumnKind::Number),
    ];
    if has_resin {
        columns.push(Column::new("Resin in it", ColumnKind::Number));
        columns.push(Column::new("Batch", ColumnKind::Words));
    }
    columns.push(Column::new("Heed", ColumnKind::Words));
    let rows = part.plies.iter().enumerate().map(|(ply_idx, ply)| {
        let thickness = running[ply_idx].map(thickness_text);
        let mut cells = vec![
            Text::of(ply.n.to_string()),
            pieces(sheets, part, ply),
            Text::of(ply.cloth.as_str()),
            Text::new().strong(angle(ply.angle)),
            Text::new().quantity(thickness.unwrap_or_default()),
        ];
        if has_resin {
            let resin = ply.resin_in(ply.cut_area).map(grams_text);
            cells.push(Text::new().quantity(resin.unwrap_or_default()));
            cells.push(Text::of(batch_numbers(sheets, idx, part, ply_idx)));
        }
        cells.push(heed(sheets, part, ply));
        Row { about: None, cells }
    });
    Table {
        rows: rows.collect(),
        columns,
    }
}

fn pieces(sheets: &Sheets<'_>, part: &PartUse, ply: &PlyUse) -> Text {
    let all = (1..=part.sets).flat_map(|set| sheets.index.of(&part.name, ply.n, set));
    all.fold(Text::new(), |text, piece| text.tick(piece.id()))
}

/// The batches of a ply over all sets, first to last.
fn batch_numbers(sheets: &Sheets<'_>, idx: usize, part: &PartUse, ply: usize) -> String {
    let mut seen: Vec<String> = Vec::new();
    for set in 1..=part.sets {
        let text = sheets.batches(idx, set, ply);
        if !seen.contains(&text) {
            seen.push(text);
        }
    }
    seen.join(", ")
}

fn heed(sheets: &Sheets<'_>, part: &PartUse, ply: &PlyUse) -> Text {
    let own: Vec<_> = (1..=part.sets)
        .flat_map(|set| sheets.index.of(&part.name, ply.n, set))
        .collect();
    let turned: Vec<&str> = own
        .iter()
        .filter(|piece| piece.turned_over())
        .map(|piece| piece.id())
        .collect();
    let off = own
        .iter()
        .filter(|piece| {
            piece
                .angle_cut()
                .off(piece.angle_design())
                .to_degrees()
                .abs()
                > 0.005
        })
        .map(|piece| format!("{} cut at {}", piece.id(), angle(piece.angle_cut())));
    let mut remarks: Vec<String> = Vec::new();
    let mut say = |is_so: bool, words: &str| {
        if is_so {
            remarks.push(words.to_owned());
        }
    };
    say(ply.appearance, "will be seen");
    say(ply.on_bias, "bias: do not pull");
    say(
        sheets.plan.weave_of(&ply.cloth).frays(ply.on_bias),
        "taped edges: trim the tape off outside the net line",
    );
    say(
        !ply.pieces.is_empty(),
        "spliced: join as drawn and as the pieces are marked",
    );
    if !turned.is_empty() {
        remarks.push(format!("cut face down: {}", turned.join(", ")));
    }
    remarks.extend(off);
    Text::of(remarks.join(" · "))
}

fn batches(sheets: &Sheets<'_>, resin: &ResinUse, idx: usize, blocks: &mut Vec<Block>) {
    let plan = sheets.plan;
    let own = (1..).zip(&resin.batches).filter(|(_, batch)| {
        let first = &resin.steps[batch.steps.start];
        first.part == idx
    });
    let rows = own.map(|(n, batch)| {
        let mixed = resin.divide(batch.mass);
        let plies = plies_of_batch(plan, &sheets.index, resin, batch);
        Row {
            about: None,
            cells: vec![
                Text::new().tick(n.to_string()),
                Text::of(plies),
                Text::new().strong_quantity(grams_text(mixed.a)),
                Text::new().strong_quantity(grams_text(mixed.b)),
                Text::of(minutes(batch.time)),
                Text::new(),
                Text::new(),
            ],
        }
    });
    blocks.extend([
        Block::Heading(format!("Mix {}", resin.system.name)),
        Block::Paragraph(
            Text::of(format!(
                "100 : {:.1} by weight, to 0.5 %. Scrape the sides, fold and do not whip. Pot life {}; \
                 half of it above ",
                resin.system.ratio.hardener_to_100(),
                minutes(resin.system.pot_life)
            ))
            .quantity("32 °C (90 °F)")
            .and("."),
        ),
        Block::Table(Table {
            columns: vec![
                Column::new("Batch", ColumnKind::Name),
                Column::new("For", ColumnKind::Words),
                Column::new("Part A", ColumnKind::Number),
                Column::new("Part B", ColumnKind::Number),
                Column::new("Work", ColumnKind::Number),
                Column::new("Mixed at", ColumnKind::Write),
                Column::new("Lot A / B", ColumnKind::Write),
            ],
            rows: rows.collect(),
        }),
    ]);
}

fn bag(bags: &BagUse, part: &PartUse, idx: usize, blocks: &mut Vec<Block>) {
    let bag = &bags.parts[idx];
    let setup = &bags.setup;
    let mut steps: Vec<Text> = bags
        .rolls
        .iter()
        .map(|roll| layer(bags, roll, idx))
        .collect();
    steps.push(step(
        "Connector on a pad of breather beside the part, not on it; hose and gauge; close the bag.",
    ));
    steps.push(
        step("Vacuum ")
            .strong(in_all_units(setup.vacuum))
            .and(": ")
            .quantity(bag.force.in_kilonewtons_and_pounds())
            .and(" on ")
            .quantity(piece_area_text(bag.area))
            .and(
                ". Check that the mould can bear it. Work folds and bridges out at low vacuum first.",
            ),
    );
    steps.push(
        step(
            "Leak check, pump off: it may lose 1 inHg (34 mbar) in a minute, unless the data sheets ask \
             for less.",
        )
        .blank("Start")
        .blank("after 1 min")
        .blank("after 5 min")
        .blank("lost"),
    );
    blocks.push(Block::Heading("Bag it, from the part outwards".to_owned()));
    blocks.push(Block::Steps(steps));
    if part.sets > 1 {
        let words = format!("One bag for each of the {} sets.", part.sets);
        blocks.push(Block::Paragraph(Text::of(words)));
    }
}

/// A layer of the bag and how it goes on.
fn layer(bags: &BagUse, roll: &RollUse, idx: usize) -> Text {
    let setup = &bags.setup;
    let text = step("").strong(roll.layer.roll.name.as_str());
    if roll.layer.kind == LayerKind::Bag {
        text.and(" ")
            .quantity(by_text(bags.parts[idx].film))
            .and(": paper off the tape bit by bit, film pressed down, ")
            .and(counted(setup.pleats as usize, "pleat", "pleats"))
            .and(" of ")
            .quantity(setup.pleat_height.in_mm_and_inches())
            .and(" where the film must follow a corner or a hollow.")
    } else {
        text.and(", ")
            .quantity(roll.layer.margin.in_mm_and_inches())
            .and(" beyond the part all round.")
    }
}

fn finish(sheets: &Sheets<'_>, part: &PartUse, idx: usize, blocks: &mut Vec<Block>) {
    let work = sheets.plan.work();
    let cure = work.resin.as_ref().and_then(|r| r.system.cure.as_ref());
    let cure = match cure {
        Some(cure) => format!("Cure: {cure}."),
        None => "Cure: as the resin's data sheet says.".to_owned(),
    };
    let weight = part.resin_mass().map(|resin| part.cloth_mass() + resin);
    let mut expected = step("Weigh and measure. Expected for one set: ");
    expected = match weight {
        Some(weight) => expected.quantity(mass_text(weight)),
        None => expected.and("mass not known"),
    };
    if let Some(t) = part.laminate.thickness {
        expected = expected
            .and(", ")
            .quantity(thickness_text(t))
            .and(" with all plies one upon another");
    }
    let has_film = work.mould.as_ref().is_some_and(|mould| mould.pva.is_some());
    let demould = step(if has_film {
        "Demould with plastic wedges, slowly, from an edge; wash the PVA off with water."
    } else {
        "Demould with plastic wedges, slowly, from an edge."
    });
    blocks.push(Block::Heading("Cure and demould".to_owned()));
    blocks.push(Block::Steps(vec![
        step(&cure)
            .blank("Vacuum off")
            .blank("Warm from")
            .blank("to"),
        demould,
        step("Trim to the net line, wet or with extraction."),
        expected.and(".").blank("Mass").blank("Thickness"),
    ]));
    let map = work.thickness.get(idx).and_then(Option::as_ref);
    if let Some(map) = map.filter(|map| map.regions.len() > 1) {
        regions(part, map, blocks);
    }
}

/// How thick the part comes out where.
fn regions(part: &PartUse, map: &ThicknessMap, blocks: &mut Vec<Block>) {
    blocks.push(Block::Heading("Thickness by region".to_owned()));
    blocks.push(Block::Paragraph(Text::of(
        "0° to the right, seen from the bag side.",
    )));
    blocks.extend(thickness::drawing(part, map).map(Block::Figure));
    let rows = map.regions.iter().enumerate().map(|(i, region)| Row {
        about: None,
        cells: vec![
            Text::of(thickness::letter(i)),
            Text::of(thickness::list(&region.plies)),
            Text::new().quantity(
                region
                    .thickness
                    .map_or_else(|| UNKNOWN.to_owned(), thickness_text),
            ),
            Text::new().quantity(piece_area_text(region.area)),
        ],
    });
    blocks.push(Block::Table(Table {
        columns: vec![
            Column::new("Region", ColumnKind::Name),
            Column::new("Plies", ColumnKind::Words),
            Column::new("Thickness", ColumnKind::Number),
            Column::new("Area", ColumnKind::Number),
        ],
        rows: rows.collect(),
    }));
    if !map.apart.is_empty() {
        let words = format!(
            "Not in the map, as it is not known where they lie: plies {}.",
            thickness::list(&map.apart)
        );
        blocks.push(Block::Paragraph(Text::of(words)));
    }
}
