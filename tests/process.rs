//! Resin, bag, mould and time through the command, against sums written out beside each test.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

mod one_part;

use std::fs;

use assert_cmd::Command;
use one_part::{RESIN, Shop, carbon, close, refused, words};
use serde_json::Value;

/// Without a bag nothing presses the resin out. A ply of 1 m² holds 200 g / 1.78 g/cm³ =
/// 112.36 cm³ of fibre; at 35 % by volume (hand layup, common practice) that goes with 112.36 ·
/// 65/35 = 208.67 cm³ of resin, 250.4 g at 1.20 g/cm³ (cured epoxy, Kaw 2006, table 3.2, from
/// memory); at 45 % with 137.33 cm³, 164.8 g.
#[test]
fn the_fibre_share_follows_from_whether_there_is_a_bag() {
    let in_parts = |tables: &str| {
        let job = carbon(&format!("{RESIN}{tables}"), "");
        Shop::new((1000, 1000), &job).plan()["resin"]["in_parts_g"].clone()
    };
    close(&in_parts(""), 4.0 * 250.40, 1e-4);
    close(&in_parts("[bag]\n"), 4.0 * 164.79, 1e-4);
    // What the job states goes before it.
    close(
        &in_parts("[laminate]\nprocess = \"vacuum bag\"\n"),
        4.0 * 164.79,
        1e-4,
    );
    close(
        &in_parts("[laminate]\nprocess = \"hand layup\"\n[bag]\n"),
        4.0 * 250.40,
        1e-4,
    );
}

/// A plate of 1500 × 1000 mm with 10 mm of trim, on a roll 800 mm wide, joined by a lap of 40 mm.
///
/// The lap is 1500 × 40 = 60 000 mm² of the part, so 1 560 000 mm² of cloth stay in it, 312 g, with
/// 1.56 · 164.79 g of resin (as above). The square-cornered pieces are 1520 × 1020 mm and 1520 × 40 mm
/// of lap, 1 611 200 mm², so 51 200 mm² are trim.
#[test]
fn laps_stay_in_the_part_and_are_neither_trim_nor_waste() {
    let splice = "splice = \"lap\"\nlap = \"40 mm\"\nsplice_lines = \"along\"\ntrim = \"10 mm\"\njoin = \"mitre\"\n";
    let job = carbon(&format!("{RESIN}[bag]\n"), splice)
        .replace(
            "roll_width = \"2 m\"",
            "roll_width = \"800 mm\"\nselvedge = \"0 mm\"\nsold_by = \"1 m\"",
        )
        .replace("[0/45]s", "[0]");
    let plan = Shop::new((1500, 1000), &job).plan();
    let ply = &plan["parts"][0]["plies"][0];
    close(&ply["area_mm2"], 1_500_000.0, 1e-9);
    close(&ply["lap_area_mm2"], 60_000.0, 1e-6);
    close(&ply["cloth_mass_g"], 312.0, 1e-6);
    let resin = &plan["resin"];
    close(&resin["in_parts_g"], 1.56 * 164.79, 1e-4);
    close(&resin["in_trim_g"], 0.0512 * 164.79, 1e-4);
    close(&plan["parts"][0]["resin_mass_g"], 1.56 * 164.79, 1e-4);
    // Peel ply and breather take up 60 and 40 g/m², over the plate with its trim, once.
    close(&resin["take_up_g"], 100.0 * 1.52 * 1.02, 1e-3);
    let cloth = &plan["cloths"][0];
    let area = |value: &Value| value.as_f64().unwrap();
    close(&cloth["net_area_mm2"], 1_560_000.0, 1e-6);
    let waste = &cloth["waste"];
    close(&waste["trim_mm2"], 51_200.0, 1e-5);
    let went = area(&cloth["net_area_mm2"])
        + ["selvedge_mm2", "between_mm2", "trim_mm2", "end_mm2"]
            .map(|kind| area(&waste[kind]))
            .iter()
            .sum::<f64>()
        + area(&cloth["kept_area_mm2"]);
    let bought = plan["purchase"][0]["length_mm"].as_f64().unwrap() * 800.0;
    assert!((went - bought).abs() < 1.0, "{went} mm² of {bought} mm²");
}

/// A part of 1460 × 1100 mm with the usual margins on rolls of 1000 mm, laps of 50 mm.
///
/// Breather, 76.2 mm (3 in) beyond the part: at least 1612.4 × 1252.4 mm. Two widths of (1612.4 + 50)
/// / 2 = 831.2 mm cover it the short way, so the roll gives at least 2 · 1252.4 = 2504.8 mm. The film
/// stands 25 mm outside the tape, which runs 25 mm outside the breather; four pleats of 76.2 mm add
/// 609.6 / 4 = 152.4 mm to each side: at least 1864.8 × 1504.8 mm, of two widths of 957.4 mm; the seam is
/// as long as the film is wide. Cutting with shears may add up to 2 mm on every side of a layer.
#[test]
fn layers_wider_than_their_roll_are_joined_drawn_and_bought() {
    let narrow = ["peel-ply", "release-film", "breather", "bag-film"]
        .map(|layer| format!("[bag.layer.{layer}]\nroll_width = \"1000 mm\"\n"))
        .concat();
    let shop = Shop::new((1460, 1100), &carbon(&format!("[bag]\n{narrow}"), ""));
    assert!(
        shop.said
            .contains("wider than the roll of breather: PLATE-breather")
    );
    let plan = shop.plan();
    let layers = plan["bagging"]["layers"].as_array().unwrap();
    assert_eq!(layers.len(), 4);
    for layer in layers {
        let name = layer["name"].as_str().unwrap();
        let joined = &layer["joined"][0];
        let pieces = [format!("PLATE-{name}-A"), format!("PLATE-{name}-B")];
        assert_eq!(joined["pieces"], serde_json::json!(pieces));
        let placed = layer["layout"]["pieces"].as_array().unwrap();
        assert_eq!(placed.len(), 2, "{name}");
        let bought = shop.shopping()[name]["buy"].as_f64().unwrap();
        assert!(bought > 0.0, "{name} is bought");
        let least = match name {
            "breather" => 2.0 * 1252.4,
            "bag-film" => 2.0 * 1504.8,
            "release-film" => 2.0 * (1100.0 + 2.0 * 50.8),
            _ => 2.0 * (1100.0 + 2.0 * 25.4),
        };
        assert!(bought > least && bought < least * 1.02, "{name}: {bought}");
        // Lap and all, the two are as large as what they cover together.
        if name == "bag-film" {
            let area: f64 = placed
                .iter()
                .map(|piece| extent(&piece["cut"]))
                .map(|[l, w]| l * w)
                .sum();
            let (length, width) = (
                plan["bagging"]["parts"][0]["film_mm"][0].as_f64().unwrap(),
                plan["bagging"]["parts"][0]["film_mm"][1].as_f64().unwrap(),
            );
            assert!((area - width * (length + 50.0)).abs() < 10.0);
            close(&joined["seam_mm"], width, 1e-4);
        }
        assert!(
            shop.read(&format!("bag/{name}.svg")).contains(&pieces[1]),
            "{name} is drawn"
        );
    }
    // Tape: round the line, up the pleats, along the seam, and a tenth more.
    let bag = &plan["bagging"]["parts"][0];
    let line =
        2.0 * (bag["tape_line_mm"][0].as_f64().unwrap() + bag["tape_line_mm"][1].as_f64().unwrap());
    let seam = bag["film_mm"][1].as_f64().unwrap();
    close(
        &plan["bagging"]["tape_mm"],
        1.1 * (line + 609.6 + seam),
        1e-4,
    );
}

/// Rectangles of many sizes: no layer takes more of its roll than rows filled from the longest sheet on, each
/// sheet as it was written, with its long side along the roll or across.
#[test]
fn no_bag_layer_takes_more_than_rows_of_its_sheets() {
    for seed in 0..3_u32 {
        let shop = Shop::new((400, 300), &carbon("", ""));
        let mut job = String::from(
            "[bag]\n[cloth.c]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"2 m\"\n",
        );
        for n in 0..6 {
            let (length, width) = (
                200 + (seed * 397 + n * 211) % 700,
                90 + (seed * 131 + n * 73) % 300,
            );
            fs::write(
                shop.folder.path().join(format!("{n}.svg")),
                format!(
                    "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{length}mm\" height=\"{width}mm\" \
                     viewBox=\"0 0 {length} {width}\"><path id=\"p\" d=\"M0 0H{length}V{width}H0Z\"/></svg>"
                ),
            )
            .unwrap();
            job += &format!(
                "[[part]]\nname = \"P{n}\"\npattern = \"{n}.svg\"\ncloth = \"c\"\nlayup = \"[0]\"\n"
            );
        }
        fs::write(shop.folder.path().join("job.toml"), job).unwrap();
        let mut run = Command::cargo_bin("warpwise").unwrap();
        run.current_dir(shop.folder.path());
        run.args(["plan", "job.toml", "--effort", "quick"])
            .assert()
            .success();
        for layer in shop.plan()["bagging"]["layers"].as_array().unwrap() {
            let pieces = layer["layout"]["pieces"].as_array().unwrap();
            let sheets = pieces.iter().map(|piece| extent(&piece["cut"]));
            let sheets: Vec<[f64; 2]> = sheets.collect();
            let (along, across) = (rows(&sheets, f64::max), rows(&sheets, f64::min));
            let used = layer["used_mm"].as_f64().unwrap();
            assert!(
                used <= along.min(across) + 0.1,
                "{seed} {}: {used} mm, in rows {along} or {across}",
                layer["name"]
            );
        }
    }
}

/// Two plates of 600 × 300 mm in one bag, with the usual margins and four pleats of 3 in.
///
/// Their release film reaches 50.8 mm beyond each, so side by side they and their films take 701.6 × 803.2 mm, and
/// with the breather (76.2 mm) 752.4 × 854.0. The tape lies 25 mm outside that, 904.0 × 802.4 mm, and what the shears
/// are off. Pleats add 8 · 76.2 mm to the tape, a quarter of that to each side of the film, which reaches 25 mm beyond
/// the tape.
#[test]
fn several_parts_share_one_bag() {
    let two = |bag: &str| {
        let part = |name: &str| {
            format!(
                "[[part]]\nname = \"{name}\"\npattern = \"plate.svg\"\ncloth = \"twill\"\nlayup = \"[0]\"\n{bag}\n"
            )
        };
        let job = carbon(&format!("{RESIN}[bag]\n"), "");
        let tables = job.split("[[part]]").next().unwrap();
        Shop::new(
            (600, 300),
            &format!("{tables}{}{}", part("ONE"), part("TWO")),
        )
    };
    let (apart, shared) = (two(""), two("bag = \"pair\""));
    let plan = shared.plan();
    let bagging = &plan["bagging"];
    let number = |value: &Value| value.as_f64().unwrap();
    let near = |found: f64, wanted: f64| {
        assert!(
            (0.0..6.0).contains(&(found - wanted)),
            "{found} is not {wanted}"
        );
    };
    for part in bagging["parts"].as_array().unwrap() {
        near(number(&part["tape_line_mm"][0]), 904.0);
        near(number(&part["tape_line_mm"][1]), 802.4);
        let line = number(&part["tape_line_mm"][0]) + number(&part["tape_line_mm"][1]);
        close(&part["tape_mm"], 2.0 * line + 609.6, 1e-6);
        close(
            &part["film_mm"][0],
            number(&part["tape_line_mm"][0]) + 152.4 + 50.0,
            1e-6,
        );
        // Each part bears its own force, the mould that of all inside the tape.
        close(&part["force_n"], 84_660.0 * 0.18, 1e-3);
        close(
            &part["mould_force_n"],
            0.084_66 * number(&part["tape_line_mm"][0]) * number(&part["tape_line_mm"][1]),
            1e-3,
        );
    }
    // Once for both.
    close(
        &bagging["tape_mm"],
        1.1 * number(&bagging["parts"][0]["tape_mm"]),
        1e-6,
    );
    let ids = |layer: usize| -> Vec<&str> {
        let pieces = bagging["layers"][layer]["layout"]["pieces"]
            .as_array()
            .unwrap();
        pieces
            .iter()
            .map(|piece| piece["id"].as_str().unwrap())
            .collect()
    };
    let mut own = ids(0);
    own.sort_unstable();
    assert_eq!(own, ["ONE-peel-ply", "TWO-peel-ply"]);
    assert_eq!(
        (ids(2), ids(3)),
        (vec!["pair-breather"], vec!["pair-bag-film"])
    );
    assert_eq!(
        bagging["shared"][0]["parts"],
        serde_json::json!(["ONE", "TWO"])
    );
    // The second part is laid before the bag is closed: twice the work, one bagging.
    let times = |plan: &Value, part: usize, what: &str| {
        number(&plan["resin"]["parts"][part]["timeline"][what])
    };
    let alone = apart.plan();
    let laid = times(&alone, 0, "last_ply_min") + times(&alone, 1, "last_ply_min");
    for part in 0..2 {
        assert!((times(&plan, part, "last_ply_min") - laid).abs() < 0.05);
        let bagged = times(&plan, part, "full_vacuum_min") - laid;
        assert!((bagged - 20.0).abs() < 0.05, "{bagged}");
        let batches = plan["resin"]["parts"][part]["timeline"]["batches"]
            .as_array()
            .unwrap();
        assert_eq!(
            batches.len(),
            plan["resin"]["batches"].as_array().unwrap().len()
        );
    }
    let sheet = words(&shared.read("layup/TWO.html"));
    assert!(sheet.contains("One bag for ONE and TWO"), "{sheet}");
    assert!(sheet.contains("How ONE and TWO lie in bag pair"));
    assert!(words(&shared.read("report.html")).contains("How ONE and TWO lie in bag pair"));
}

/// Two parts of two plies, each ply a stage: stage by stage both lie under one bag. So there is twice the film, breather and
/// tape of both laid at once, and the bag of a stage is closed when the other part's ply of that stage is laid. One batch
/// serves a ply; those of the first part are the first two.
#[test]
fn parts_laid_in_stages_share_a_bag_stage_by_stage() {
    let two = |keys: [&str; 2]| {
        let part = |name: &str, keys: &str| {
            format!(
                "[[part]]\nname = \"{name}\"\npattern = \"plate.svg\"\ncloth = \"twill\"\nlayup = \"[0/0]\"\n\
                 bag = \"pair\"\n{keys}\n"
            )
        };
        let job = carbon(&format!("{RESIN}[bag]\n"), "");
        let tables = job.split("[[part]]").next().unwrap();
        format!("{tables}{}{}", part("ONE", keys[0]), part("TWO", keys[1]))
    };
    let at_once = Shop::new((600, 300), &two(["", ""])).plan();
    let shop = Shop::new((600, 300), &two(["stages = [1, 1]"; 2]));
    let plan = shop.plan();
    let ids = |layer: usize| -> Vec<String> {
        let pieces = &plan["bagging"]["layers"][layer]["layout"]["pieces"];
        let ids = pieces.as_array().unwrap().iter();
        let mut ids: Vec<String> = ids.map(|p| p["id"].as_str().unwrap().to_owned()).collect();
        ids.sort_unstable();
        ids
    };
    let peel = ["ONE", "TWO"].map(|part| [1, 2].map(|n| format!("{part}-peel-ply-stage{n}")));
    assert_eq!(ids(0), peel.concat());
    assert_eq!(ids(2), ["pair-breather-stage1", "pair-breather-stage2"]);
    assert_eq!(ids(3), ["pair-bag-film-stage1", "pair-bag-film-stage2"]);
    let tape = at_once["bagging"]["tape_mm"].as_f64().unwrap();
    close(&plan["bagging"]["tape_mm"], 2.0 * tape, 1e-6);
    for part in plan["resin"]["parts"].as_array().unwrap() {
        for (stage, batches) in part["stages"]
            .as_array()
            .unwrap()
            .iter()
            .zip([[1, 3], [2, 4]])
        {
            let timeline = &stage["timeline"];
            let timed = timeline["batches"].as_array().unwrap().iter();
            let timed: Vec<i64> = timed.map(|b| b["n"].as_i64().unwrap()).collect();
            assert_eq!(timed, batches);
            let minutes = |key: &str| timeline[key].as_f64().unwrap();
            let laid = timeline["batches"][1]["laid_min"].as_f64().unwrap();
            assert_eq!(minutes("last_ply_min"), laid);
            assert!((minutes("full_vacuum_min") - laid - 20.0).abs() < 0.05);
        }
    }
    let sheet = words(&shop.read("layup/TWO.html"));
    assert_eq!(
        sheet.matches("One bag for ONE and TWO").count(),
        2,
        "{sheet}"
    );
    // A bag is cured as a whole, so its parts have equally many stages.
    let said = refused(&two(["stages = [1, 1]", ""]));
    assert!(
        said.contains("part `TWO` is laid in 1 stage, and `ONE` of the same bag in 2 stages"),
        "{said}"
    );
}

/// Quantities that drawings say count where the job says none: of a bag with one lid and two plates `check` says that they
/// are not made equally often.
#[test]
fn check_finds_quantities_in_drawings_that_share_no_bag() {
    let job = carbon("[bag]\n", "bag = \"pair\"");
    let second = job.split_once("[[part]]").unwrap().1;
    let second = second
        .replace("PLATE", "LID")
        .replace("plate.svg", "lid.svg");
    let shop = Shop::new((600, 300), &carbon("", ""));
    let path = |name: &str| shop.folder.path().join(name);
    let lid = fs::read_to_string(path("plate.svg")).unwrap();
    let lid = lid.replace("</svg>", "<text x=\"100\" y=\"100\">QTY 2</text></svg>");
    fs::write(path("lid.svg"), lid).unwrap();
    fs::write(path("job.toml"), format!("{job}[[part]]{second}")).unwrap();
    let check = || {
        let mut command = Command::cargo_bin("warpwise").unwrap();
        let run = command
            .current_dir(shop.folder.path())
            .args(["check", "job.toml"]);
        let run = run.output().unwrap();
        (run.status.code(), String::from_utf8(run.stderr).unwrap())
    };
    let (code, said) = check();
    assert_eq!(code, Some(1), "{said}");
    assert!(
        said.contains("bag `pair` are not made equally often: 1 of `PLATE`, 2 of `LID`"),
        "{said}"
    );
    assert!(said.contains("job.toml:"), "{said}");
    // Told apart from what the job says itself.
    let both =
        format!("{job}[[part]]{second}").replace("bag = \"pair\"", "bag = \"pair\"\nsets = 2");
    fs::write(path("job.toml"), both).unwrap();
    assert_eq!(check().0, Some(0));
}

/// Length of rows on a roll of 1500 mm, gap 3 mm, end margins of 10 mm; the longer or the shorter side of each
/// sheet lies along it.
fn rows(sheets: &[[f64; 2]], along: fn(f64, f64) -> f64) -> f64 {
    let lying = sheets
        .iter()
        .map(|&[a, b]| (along(a, b), a + b - along(a, b)));
    let mut lying: Vec<(f64, f64)> = lying.collect();
    lying.sort_by(|a, b| b.0.total_cmp(&a.0));
    let (mut length, mut left) = (20.0 - 3.0, 0.0);
    for (along, across) in lying {
        if across > left {
            length += along + 3.0;
            left = 1500.0;
        }
        left -= across + 3.0;
    }
    length
}

/// Length and width of a written outline.
fn extent(cut: &Value) -> [f64; 2] {
    let points = cut["outer"].as_array().unwrap();
    [0, 1].map(|axis| {
        let along: Vec<f64> = points.iter().map(|p| p[axis].as_f64().unwrap()).collect();
        along.iter().copied().fold(f64::MIN, f64::max)
            - along.iter().copied().fold(f64::MAX, f64::min)
    })
}

/// Three sets are three bags: no batch is for two of them. One set of four plies of 0.04 m² holds
/// 4 · 6.592 g = 26.37 g: pots of 20 g would be 19.8 and 6.6 g, evened out they are two plies each. Of
/// 13.18 g a part in 10 is B, 1.2 g, of which 0.5 % is 0.006 g: a scale that shows 0.001 g.
#[test]
fn batches_are_of_one_bag_and_evened_out() {
    let resin = "[resin]\nratio = \"100:10\"\npot_life = \"25 min\"\nwaste = \"0 %\"\nlargest_batch = \"20 g\"\n";
    let bag = "[bag]\nstack = [\"bag-film\"]\n";
    let shop = Shop::new(
        (200, 200),
        &carbon(&format!("{resin}{bag}"), "sets = 3\nmoulds = 2"),
    );
    let plan = shop.plan();
    let batches = plan["resin"]["batches"].as_array().unwrap();
    assert_eq!(batches.len(), 6);
    for (batch, plies) in batches.iter().zip([[1, 2], [3, 4]].iter().cycle()) {
        close(&batch["mixed_g"], 13.183, 1e-3);
        let set = 1 + (batch["n"].as_u64().unwrap() - 1) / 2;
        let ids = plies.map(|ply| format!("PLATE-{ply}#{set}"));
        assert_eq!(batch["plies"], serde_json::json!(ids));
    }
    let sheet = shop.read("layup/PLATE.html");
    assert!(sheet.contains("a scale that shows 0.001 g"));
    assert!(sheet.contains("1.199"), "part B to the milligram");
    assert!(sheet.contains("2 moulds"), "rounds are told");
}

#[test]
fn nobody_and_no_mould_are_refused() {
    for (resin, part, message) in [
        ("people = 0\n", "", "`people` cannot be `0`"),
        ("", "moulds = 0", "`moulds` cannot be `0`"),
        (
            "room = \"90 °C\"\n",
            "",
            "`room` is too cold or too hot to lay up in",
        ),
    ] {
        let job = carbon(&format!("{RESIN}{resin}"), part);
        let folder = tempfile::tempdir().unwrap();
        fs::write(folder.path().join("job.toml"), job).unwrap();
        let mut run = Command::cargo_bin("warpwise").unwrap();
        let run = run
            .current_dir(folder.path())
            .args(["check", "job.toml"])
            .output()
            .unwrap();
        assert_eq!(run.status.code(), Some(1));
        assert!(
            String::from_utf8(run.stderr).unwrap().contains(message),
            "{message}"
        );
    }
}

/// In which order the work is told: a line of tape sticks to no wax, and a bag is pumped on again.
#[test]
fn the_sheet_tells_the_work_in_its_order() {
    let job = carbon(&format!("{RESIN}[bag]\n[mould]\n"), "");
    let sheet = Shop::new((1000, 800), &job).read("layup/PLATE.html");
    let mut at = 0;
    for step in [
        "0° on the flange",
        "Mask the line of the sealant tape",
        "PVA film over the wax",
        "Peel the masking off. Stick the sealant tape",
        "Trial bag before any resin",
        "Perforated: resin passes",
        "Pull a little vacuum",
        "Leak check, pump off",
        "Pump on again",
        "Demould after the time",
        "Hardener lot",
    ] {
        let next = sheet[at..].find(step);
        at += next.unwrap_or_else(|| panic!("{step} is missing or too early"));
    }
    // 1000 × 800 mm with the breather 76.2 mm and the tape 25 mm beyond, to the millimetre or two of the
    // shears: 1202.4 × 1002.4 mm at 84.66 kPa are 102 kN on the mould, 67.7 kN on the part.
    assert!(sheet.contains("102."), "force on the mould");
    // Without `[mould]` there is still a release, and without a bag nothing of one.
    let bare = Shop::new((300, 200), &carbon(RESIN, "")).read("layup/PLATE.html");
    assert!(bare.contains("Release the mould as its data sheet says"));
    assert!(bare.contains("a full pot heats itself"));
    for word in [
        "sealant",
        "vacuum",
        "Vacuum:",
        "masked",
        "Pump",
        "bag layers",
    ] {
        assert!(!bare.contains(word), "{word} without a bag");
    }
    assert!(
        !Shop::new((300, 200), &carbon(&format!("{RESIN}[bag]\n"), ""))
            .read("layup/PLATE.html")
            .contains("Trial bag")
    );
}

/// A sandwich of two carbon twills on 10 mm of foam, 1000 × 500 mm. 100 g of twill (200 g/m², 0.5 m²) hold
/// 100/1.78 · 65/35 · 1.20 = 125.2 g of resin by hand; the foam weighs 0.5 m² · 10 mm · 80 kg/m³ =
/// 400 g, its two faces take 2 · 0.5 m² · 300 g/m² = 300 g. A ply is 200/(1000 · 1.78 · 0.35) =
/// 0.3210 mm thick.
///
/// Bending stiffness of thin faces on a core that bears nothing: D = E_f · t_f · d²/2, d from middle to
/// middle of the faces (H. G. Allen, *Analysis and Design of Structural Sandwich Panels*, 1969, from
/// memory). With E_f/(1 − ν²) = A11/2t that is A11 · d²/4 here. A core with moduli of its own adds
/// E/(1 − ν²) · c³/12.
#[test]
fn a_core_counts_in_mass_thickness_and_stiffness() {
    let job = |more: &str, rest: &str| {
        let core = "[[part.core]]\nname = \"foam\"\non_ply = 1\nthickness = \"10 mm\"\n\
                    density = \"80 kg/m3\"\nface_resin = \"300 g/m2\"\n";
        let job = carbon(RESIN, &format!("sets = 2\n{core}{more}"));
        Shop::new((1000, 500), &job.replace("[0/45]s", "[0/0]")).read(rest)
    };
    let plan: Value = serde_json::from_str(&job("", "plan.json")).unwrap();
    let part = &plan["parts"][0];
    let ply = 200.0 / (1000.0 * 1.78 * 0.35);
    close(&part["thickness_mm"], 10.0 + 2.0 * ply, 1e-5);
    close(&part["core_mass_g"], 400.0, 1e-9);
    close(&part["resin_mass_g"], 2.0 * 125.20 + 300.0, 1e-4);
    close(&part["mass_g"], 200.0 + 400.0 + 2.0 * 125.20 + 300.0, 1e-4);
    assert_eq!(part["symmetric"], true);
    let stiffness = &part["stiffness"];
    let d = 10.0 + ply;
    let faces = stiffness["a_n_per_mm"][0].as_f64().unwrap();
    close(&stiffness["d_n_mm"][0], faces * d * d / 4.0, 1e-3);
    // Σ mixed goes with the plies; the faces of the core are wetted with the ply they lie on.
    close(&plan["resin"]["in_cores_g"], 600.0, 1e-9);
    // Without trim all other resin stays in the plies.
    close(&plan["resin"]["in_parts_g"], 4.0 * 125.20, 1e-4);
    assert_eq!(plan["resin"]["in_trim_g"], 0.0);
    close(&plan["resin"]["mixed_g"], 2.0 * (250.40 + 300.0), 1e-4);
    let first = plan["resin"]["batches"].as_array().unwrap().iter();
    let first = first.filter(|batch| batch["plies"][0] == "PLATE-1#1");
    let first: f64 = first.map(|batch| batch["mixed_g"].as_f64().unwrap()).sum();
    assert!((first - 425.20).abs() < 0.05, "{first}");
    let items = plan["shopping"].as_array().unwrap();
    let foam = items.iter().find(|item| item["kind"] == "core").unwrap();
    assert_eq!(
        (&foam["buy"], &foam["unit"]),
        (&Value::from(1e6 as i64), &Value::from("mm2"))
    );

    // Laid in two stages, the core closes the first: its upper face is wetted with the skin over it.
    let staged = carbon(
        RESIN,
        "stages = [1, 1]\n[[part.core]]\non_ply = 1\nthickness = \"10 mm\"\ndensity = \"80 kg/m3\"\nface_resin = \"300 g/m2\"\n",
    );
    let staged = Shop::new((1000, 500), &staged.replace("[0/45]s", "[0/0]")).plan();
    for stage in staged["resin"]["parts"][0]["stages"].as_array().unwrap() {
        close(&stage["in_cores_g"], 150.0, 1e-9);
        close(&stage["in_parts_g"], 125.20, 1e-4);
    }

    // A foam of 75 MPa, ν = 75/56 − 1.
    let moduli = "modulus = \"75 MPa\"\nshear_modulus = \"28 MPa\"\n";
    let plan: Value = serde_json::from_str(&job(moduli, "plan.json")).unwrap();
    let nu: f64 = 75.0 / 56.0 - 1.0;
    let of_core = 75.0 / (1.0 - nu * nu);
    let a11 = &plan["parts"][0]["stiffness"]["a_n_per_mm"][0];
    close(a11, faces + of_core * 10.0, 1e-6);
    let d11 = faces * d * d / 4.0 + of_core * 1000.0 / 12.0;
    close(&plan["parts"][0]["stiffness"]["d_n_mm"][0], d11, 1e-3);

    let sheet = words(&job("", "layup/PLATE.html"));
    assert!(sheet.contains("while it is wet") && sheet.contains("Wet both faces, with 300.0 g"));
    // On plies of one side only, the stack does not mirror.
    let report = words(&job(
        "[[part.core]]\nname = \"pad\"\non_ply = 2\nthickness = \"6 mm\"\nareal_weight = \"4000 g/m2\"\n",
        "report.html",
    ));
    assert!(report.contains("Not symmetric"), "no warning of the pad");
}

#[test]
fn a_core_that_cannot_be_is_refused() {
    for (core, complaint) in [
        ("thickness = \"10 mm\"\ndensity = \"80 kg/m3\"", "`on_ply`"),
        (
            "on_ply = 9\nthickness = \"10 mm\"\ndensity = \"80 kg/m3\"",
            "no ply 9",
        ),
        ("on_ply = 1\nthickness = \"10 mm\"", "given nowhere"),
        (
            "on_ply = 1\nthickness = \"10 mm\"\ndensity = \"80 kg/m3\"\nareal_weight = \"800 g/m2\"",
            "given twice",
        ),
        (
            "on_ply = 1\nthickness = \"10 mm\"\ndensity = \"80 kg/m3\"\nmodulus = \"75 MPa\"",
            "one modulus of two",
        ),
        (
            "on_ply = 1\nthickness = \"10 mm\"\ndensity = \"80 kg/m3\"\nmodulus = \"28 MPa\"\nshear_modulus = \"75 MPa\"",
            "no core is like that",
        ),
        (
            "on_ply = 1\nthickness = \"10 mm\"\ndensity = \"80 kg/m3\"\noutline = \"foma\"",
            "`foma`",
        ),
        (
            "on_ply = 1\nthickness = \"10 mm\"\ndensity = \"80 kg/m3\"\nstep = \"-400 mm\"",
            "nothing is left of core",
        ),
    ] {
        let said = refused(&carbon("", &format!("[[part.core]]\n{core}")));
        assert!(said.contains(complaint), "{core}: {said}");
    }
}

/// A plain weave of 70 % warp at 0°. Each direction is its share of a layer with all fibres one way (the
/// rule of mixtures on top of itself): A11/h = 0.7 · Q11 + 0.3 · Q22, A22/h the other way round, so the two
/// add up to Q11 + Q22 whatever the share, and their difference is (0.7 − 0.3) of that of one layer.
#[test]
fn a_cloth_with_more_warp_than_weft_is_stiffer_along_its_warp() {
    let plan = |cloth: &str, layup: &str| {
        let job = carbon("", "").replace("[0/45]s", layup);
        let job = job.replace("roll_width", &format!("{cloth}\nroll_width"));
        Shop::new((400, 300), &job).plan()
    };
    let per_thickness = |plan: &Value, entry: usize| {
        let laminate = &plan["parts"][0];
        let a = laminate["stiffness"]["a_n_per_mm"][entry].as_f64().unwrap();
        a / (200.0 / (1000.0 * 1.78 * 0.35))
    };
    let of_layer = &plan("", "[0]")["parts"][0]["plies"][0]["elastic"];
    let [e1, e2, nu12] = ["e1_mpa", "e2_mpa", "nu12"].map(|key| of_layer[key].as_f64().unwrap());
    let rest = 1.0 - nu12 * nu12 * e2 / e1;
    let uneven = plan("warp_share = \"70 %\"", "[0]");
    for (entry, warp) in [(0, 0.7), (3, 0.3)] {
        let expected = (warp * e1 + (1.0 - warp) * e2) / rest;
        let off = per_thickness(&uneven, entry) / expected - 1.0;
        assert!(off.abs() < 1e-4, "{entry}: off by {off}");
    }
    let crossed = plan("warp_share = \"70 %\"", "[0/90]");
    assert_eq!(crossed["parts"][0]["symmetric"], false);
    assert_eq!(plan("", "[0/90]")["parts"][0]["symmetric"], true);
    // A quarter turn would lay the warp where the weft belongs.
    let pieces = crossed["layouts"][0]["pieces"].as_array().unwrap();
    for piece in pieces {
        let off = piece["angle_cut"].as_f64().unwrap() - piece["angle_design"].as_f64().unwrap();
        assert!(
            (off / 180.0 - (off / 180.0).round()).abs() < 1e-9,
            "{piece}"
        );
    }
    assert!(
        refused(&carbon("", "").replace(
            "weave = \"twill\"",
            "weave = \"unidirectional\"\nwarp_share = \"70 %\"",
        ))
        .contains("does not apply to unidirectional cloth")
    );
}

/// A plate of 1 × 0.5 m gets 0.5 mm of a gel coat of 1.2 g/cm³, 600 g/m², 20 mm beyond it all round, with
/// round corners: 0.5 + 2 · 1.5 · 0.02 + π · 0.02² = 0.561 257 m², 336.754 g, of which the part keeps 300 g.
/// With a tenth in the pots 370.43 g are mixed at 100 : 2, 363.17 + 7.26 g, in two batches of at most 200 g.
/// Two people put on 10 m²/h each: 1.684 min, and twice 3 min to mix.
#[test]
fn a_gel_coat_is_mixed_bought_and_in_the_weight() {
    let coat = "[gel_coat]\nname = \"white coat\"\nfilm = \"0.5 mm\"\ndensity = \"1.2 g/cm3\"\nmargin = \"20 mm\"\n\
                ratio = \"100:2\"\npot_life = \"15 min\"\nlargest_batch = \"200 g\"\ntacky_after = \"40 min\"\n\
                pack = \"250 g\"\nprice = \"9.00 EUR\"\n";
    let resin = format!("{RESIN}people = 2\npack = \"1 kg\"\nprice = \"20.00 EUR\"\n");
    let bare = Shop::new((1000, 500), &carbon(&resin, "sets = 3\n"));
    let coated = Shop::new(
        (1000, 500),
        &carbon(&format!("{resin}{coat}"), "sets = 3\n"),
    );
    let (without, plan) = (bare.plan(), coated.plan());
    assert!(without["gel_coat"].is_null() && without["parts"][0]["gel_coat_mass_g"].is_null());
    let area = 0.5 + 2.0 * 1.5 * 0.02 + std::f64::consts::PI * 0.02 * 0.02;
    let (on, mixed) = (600.0 * area, 660.0 * area);
    let of_part = &plan["gel_coat"]["parts"][0];
    close(&of_part["area_mm2"], area * 1e6, 1e-4);
    close(&of_part["in_part_g"], 300.0, 1e-6);
    close(&of_part["beyond_part_g"], on - 300.0, 1e-3);
    close(&of_part["left_over_g"], 0.1 * on, 1e-3);
    let batches = of_part["batches"].as_array().unwrap();
    assert_eq!(batches.len(), 2);
    for batch in batches {
        close(&batch["mixed_g"], mixed / 2.0, 1e-3);
        close(&batch["part_b_g"], mixed / 2.0 * 2.0 / 102.0, 1e-3);
    }
    close(&of_part["on_min"], area / 20.0 * 60.0 + 6.0, 1e-2);
    close(&of_part["tacky_min"], area / 20.0 * 60.0 + 46.0, 1e-2);
    close(&plan["gel_coat"]["mixed_g"], 3.0 * mixed, 1e-3);
    let mass = without["parts"][0]["mass_g"].as_f64().unwrap();
    close(&plan["parts"][0]["mass_g"], mass + 300.0, 1e-6);
    close(&plan["parts"][0]["gel_coat_mass_g"], 300.0, 1e-6);
    // 1111.29 g are five packs of 250 g.
    let bought = &coated.shopping()["white coat"];
    assert_eq!(bought["kind"], "gel coat");
    close(&bought["cost"], 45.0, 1e-9);
    close(
        &plan["costs"]["sets"][0]["gel_coat"],
        9.0 * mixed / 250.0,
        1e-3,
    );
    // The resin for the plies, its batches and times are as before.
    assert_eq!(plan["resin"], without["resin"]);
    let sheet = words(&coated.read("layup/PLATE.html"));
    for said in [
        "white coat for one set: mix 2 batches, one after the other, each of 185",
        "600 g/m² (17.7 oz/yd²)",
        "0.50 mm (0.0197 in) wet (film gauge)",
        "Ply 1 only when it is tacky: the data sheet says when, about 40 min after it is on",
        "Gel coat on after 8 min , tacky after about 48 min : only then the first mix of resin.",
        "the white coat in the weight and not in the thickness",
    ] {
        assert!(sheet.contains(said), "{said}: {sheet}");
    }
    let bare = words(&bare.read("layup/PLATE.html"));
    assert!(bare.contains("Gel coat, or a thin wet coat of resin, if the job wants one."));
}

/// 250 g/m² of the laminating resin on 0.5 m² are 125 g, with a tenth in the pot 137.5 g, at 100 : 30.
#[test]
fn a_wet_coat_is_of_the_laminating_resin_and_bought_with_it() {
    let coat = "[gel_coat]\nname = \"wet coat\"\nareal_weight = \"250 g/m2\"\n";
    let resin = format!("{RESIN}pack = \"1 kg\"\nprice = \"20.00 EUR\"\n");
    let bare = Shop::new((1000, 500), &carbon(&resin, ""));
    let coated = Shop::new((1000, 500), &carbon(&format!("{resin}{coat}"), ""));
    let needed = |shop: &Shop| shop.shopping()["resin"]["needed"].as_f64().unwrap();
    let more = needed(&coated) - needed(&bare);
    assert!((more - 137.5).abs() < 0.01, "{more}");
    close(
        &coated.plan()["gel_coat"]["part_b_g"],
        137.5 * 30.0 / 130.0,
        1e-4,
    );
    assert!(!coated.shopping().contains_key("wet coat"));
    let cost = |shop: &Shop| shop.plan()["costs"]["order"]["total"].as_f64().unwrap();
    let more = cost(&coated) - cost(&bare);
    assert!((more - 2.75).abs() < 0.011, "{more}");
}

#[test]
fn a_gel_coat_that_cannot_be_mixed_is_told() {
    for (keys, resin, told) in [
        (
            "areal_weight = \"600 g/m2\"\n",
            "",
            "does not say what the gel coat is mixed of",
        ),
        (
            "ratio = \"100:2\"\nareal_weight = \"600 g/m2\"\n",
            "",
            "has no `pot_life`",
        ),
        (
            "pot_life = \"9 min\"\nareal_weight = \"600 g/m2\"\n",
            RESIN,
            "`ratio` is missing",
        ),
        (
            "film = \"0.5 mm\"\n",
            RESIN,
            "does not say how much gel coat",
        ),
        (
            "film = \"0.5 mm\"\ndensity = \"1.2 g/cm3\"\nareal_weight = \"1 g/m2\"\n",
            RESIN,
            "says twice how much gel coat",
        ),
    ] {
        let said = refused(&carbon(&format!("{resin}[gel_coat]\n{keys}"), ""));
        assert!(said.contains(told), "{told}: {said}");
    }
}
