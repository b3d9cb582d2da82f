//! Pieces and layouts made by hand, for the tests of what is done with them.

pub(crate) mod sample;
mod warm;

use std::sync::Arc;

use crate::cloth::{Cloth, Supply, Weave};
use crate::geometry::{Bounds, Face, Outline, Placement, Point, Turn, Vector};
use crate::inputs::{InputFile, Inputs};
use crate::job::Job;
use crate::nest::{Continue, Effort};
use crate::plan::layout::label::label_for;
use crate::plan::layout::piece::PieceSource;
use crate::plan::{CutOrder, Label, Layout, PlacedPiece, Plan, Settings, build};
use crate::ply::{self, Piece};
use crate::units::{Angle, ArealWeight, Length};

/// A piece called `id` that lies as it was drawn.
pub(crate) fn piece(id: &str, cut: Outline) -> PlacedPiece {
    PlacedPiece {
        source: PieceSource::Bag {
            part: id.to_owned(),
            zero: Angle::ZERO,
            turned: Angle::ZERO,
            splice: None,
        },
        id: id.to_owned(),
        set: 1,
        placement: Placement {
            turn: Turn::rotation(Angle::ZERO),
            shift: Vector::default(),
        },
        sequence: 0,
        net: cut.clone(),
        label: label_for(id, &cut),
        runs_on: None,
        cut,
    }
}

/// Piece RUD-12#3, number 27 of its roll, face down and on the bias: a full label.
pub(crate) fn labelled(outline: Outline, label: Label) -> PlacedPiece {
    let text = "[cloth.c]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
        [[part]]\nname = \"RUD\"\npattern = \"p.svg\"\nsets = 3\n\
        [[part.ply]]\ncloth = \"c\"\nangle = -45\nnumber = 12\n";
    let (job, _) = Job::read("job.toml", text).unwrap();
    let lines = [outline.clone(), outline.clone()];
    // So that 0° points to 225° on the roll.
    let zero = Angle::degrees(-90.0);
    let source = Piece::made(&Arc::new(job), (0, 0), lines, zero, true);
    PlacedPiece {
        source: PieceSource::Ply(Arc::new(source)),
        set: 3,
        sequence: 27,
        placement: Placement {
            turn: Turn {
                angle: Angle::degrees(225.0),
                face: Face::Down,
            },
            shift: Vector::default(),
        },
        label,
        runs_on: None,
        ..piece("RUD-12#3", outline)
    }
}

/// A roll of plain cloth with these pieces.
pub(crate) fn layout(length: Length, width: Length, pieces: Vec<PlacedPiece>) -> Layout {
    let cloth = Cloth {
        name: "c".to_owned(),
        weave: Weave::Plain,
        turns: Weave::Plain.turns(),
        warp_share: 0.5,
        edge_tape: None,
        warp_face: None,
        look: crate::cloth::Look::default(),
        lock: None,
        lock_across: None,
        areal_weight: ArealWeight::g_per_m2(200.0),
        is_carbon: None,
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
        cloth: Arc::new(cloth),
        stock: None,
        offer: None,
        whole: whole.outline().unwrap(),
        frames: Vec::new(),
        used_length: length,
        pieces,
        order: CutOrder::default(),
    }
}

/// A plan of two plates, made as any other.
pub(crate) fn planned() -> Plan {
    let text = "[cloth.c]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
        [[part]]\nname = \"P\"\npattern = \"p.svg\"\ncloth = \"c\"\nlayup = \"[0/90]\"\n";
    plan_of(text, r#"<path d="M10 10H290V190H10Z"/>"#)
}

/// The plan of a job, all of whose drawings show `shapes`, in mm.
pub(crate) fn plan_of(job: &str, shapes: &str) -> Plan {
    let drawing = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm"
        viewBox="0 0 300 200">{shapes}</svg>"#
    );
    let (job, _) = Job::read("job.toml", job).unwrap();
    let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.clone().into_bytes())]);
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
