//! Pieces and layouts made by hand, for the tests of what is done with them.

pub(crate) mod sample;

use std::sync::Arc;

use crate::cloth::{Cloth, Supply, Weave};
use crate::geometry::{Bounds, Outline, Point};
use crate::inputs::{InputFile, Inputs};
use crate::job::Job;
use crate::nest::{Continue, Effort};
use crate::plan::layout::label::label_for;
use crate::plan::{CutOrder, Label, Layout, PlacedPiece, Plan, Settings, build};
use crate::ply;
use crate::units::{Angle, ArealWeight, Length, PlyAngle};

/// A piece called `id` that lies as it was drawn.
pub(crate) fn piece(id: &str, cut: Outline) -> PlacedPiece {
    PlacedPiece {
        id: id.to_owned(),
        part: id.to_owned(),
        ply: 1,
        set: 1,
        sequence: 0,
        angle_design: PlyAngle::default(),
        angle_cut: PlyAngle::default(),
        layers: None,
        turn: Angle::ZERO,
        turned_over: false,
        on_bias: false,
        bias: None,
        appearance: false,
        net: cut.clone(),
        marks: Vec::new(),
        circles: Vec::new(),
        splice: None,
        zero_direction: Angle::ZERO,
        warp_direction: Angle::ZERO,
        label: label_for(id, &cut),
        cut,
    }
}

/// Piece RUD-12#3, number 27 of its roll, face down and on the bias: a full label.
pub(crate) fn labelled(outline: Outline, label: Label) -> PlacedPiece {
    PlacedPiece {
        part: "RUD".to_owned(),
        ply: 12,
        set: 3,
        sequence: 27,
        angle_design: PlyAngle::degrees(-45.0),
        angle_cut: PlyAngle::degrees(-45.0),
        turn: Angle::degrees(225.0),
        turned_over: true,
        on_bias: true,
        zero_direction: Angle::degrees(225.0),
        warp_direction: Angle::degrees(-45.0),
        label,
        ..piece("RUD-12#3", outline)
    }
}

/// A roll of plain cloth with these pieces.
pub(crate) fn layout(length: Length, width: Length, pieces: Vec<PlacedPiece>) -> Layout {
    let cloth = Cloth {
        name: "c".to_owned(),
        weave: Weave::Plain,
        turns: Weave::Plain.turns(),
        areal_weight: ArealWeight::g_per_m2(200.0),
        roll_width: width,
        selvedge: Length::ZERO,
        end_margin: Length::ZERO,
        gap: Length::ZERO,
        price: None,
        price_breaks: Vec::new(),
        sold_by: Length::ZERO,
        least_sold: Length::ZERO,
        spare: 0.0,
        supply: Supply::default(),
    };
    let whole = Bounds {
        min: Point::default(),
        max: Point::new(length.to_mm(), width.to_mm()),
    };
    Layout {
        roll: cloth.name.clone(),
        usable_y: cloth.usable_y(),
        cloth: Arc::new(cloth),
        stock: None,
        whole: whole.outline().unwrap(),
        flaws: Vec::new(),
        frames: Vec::new(),
        roll_width: width,
        end_margin: Length::ZERO,
        gap: Length::ZERO,
        used_length: length,
        utilisation: 0.5,
        pieces,
        order: CutOrder::default(),
    }
}

/// A plan of two plates, made as any other.
pub(crate) fn planned() -> Plan {
    let text = "[cloth.c]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
        [[part]]\nname = \"P\"\npattern = \"p.svg\"\ncloth = \"c\"\nlayup = \"[0/90]\"\n";
    let drawing = br#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm"
        viewBox="0 0 300 200"><path d="M10 10H290V190H10Z"/></svg>"#;
    let (job, _) = Job::read("job.toml", text).unwrap();
    let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.to_vec())]);
    let (inputs, _) = Inputs::read(job, open).unwrap();
    let (pieces, _) = ply::pieces(&inputs).unwrap();
    let settings = Settings {
        effort: Effort::Quick,
        effort_name: "quick".to_owned(),
        seed: 1,
        threads: 1,
    };
    build(&pieces, &settings, &|_| Continue::Yes).unwrap()
}

/// The same plan with its second piece laid upon the first.
pub(crate) fn with_overlap(mut plan: Plan) -> Plan {
    let [first, second, ..] = &mut plan.layouts[0].pieces[..] else {
        panic!("two pieces on the roll");
    };
    let by = first.cut.bounds().min - second.cut.bounds().min;
    second.cut = second.cut.shifted(by);
    second.net = second.net.shifted(by);
    plan
}
