//! Resin, bag, mould and time through the command, against sums written out beside each test.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::collections::BTreeMap;
use std::fs;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;

/// A folder with a rectangular pattern of `size` (mm) and a job, planned.
struct Shop {
    folder: TempDir,
    said: String,
}

impl Shop {
    fn new((length, width): (u32, u32), job: &str) -> Self {
        Self::with("plan", (length, width), job)
    }

    fn with(command: &str, (length, width): (u32, u32), job: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{length}mm\" height=\"{width}mm\" viewBox=\"0 0 {length} {width}\">\
             <path id=\"skin\" d=\"M0 0H{length}V{width}H0Z\"/></svg>"
        );
        fs::write(folder.path().join("plate.svg"), svg).unwrap();
        fs::write(folder.path().join("job.toml"), job).unwrap();
        let mut run = Command::cargo_bin("warpwise").unwrap();
        run.current_dir(folder.path()).args([command, "job.toml"]);
        if command == "plan" {
            run.args(["--effort", "quick", "--threads", "1"]);
        }
        let run = run.output().unwrap();
        let said = String::from_utf8(run.stderr).unwrap();
        assert_eq!(run.status.code(), Some(0), "{said}");
        Self { folder, said }
    }

    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.folder.path().join("job-plan").join(name)).unwrap()
    }

    fn plan(&self) -> Value {
        serde_json::from_str(&self.read("plan.json")).unwrap()
    }

    /// The shopping list by name.
    fn shopping(&self) -> BTreeMap<String, Value> {
        let plan = self.plan();
        let items = plan["shopping"].as_array().unwrap().iter();
        items
            .map(|item| (item["name"].as_str().unwrap().to_owned(), item.clone()))
            .collect()
    }
}

/// A job of one part on 200 g/m² of carbon, with these tables before it and these keys in the part.
fn carbon(tables: &str, part: &str) -> String {
    format!(
        "{tables}\n[cutting]\ntrim = \"0 mm\"\n\n[cloth.twill]\nweave = \"twill\"\nareal_weight = \"200 g/m2\"\n\
         roll_width = \"2 m\"\nfibre = \"carbon\"\n\n[[part]]\nname = \"PLATE\"\npattern = \"plate.svg\"\n\
         cloth = \"twill\"\nlayup = \"[0/45]s\"\n{part}\n"
    )
}

const RESIN: &str = "[resin]\nratio = \"100:30\"\npot_life = \"25 min\"\nwaste = \"0 %\"\n";

fn close(found: &Value, expected: f64, share: f64) {
    let found = found.as_f64().unwrap();
    let off = (found - expected).abs();
    assert!(off <= share * expected.abs(), "{found} is not {expected}");
}

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

/// Length and width of a written outline.
fn extent(cut: &Value) -> [f64; 2] {
    let points = cut["outer"].as_array().unwrap();
    [0, 1].map(|axis| {
        let along: Vec<f64> = points.iter().map(|p| p[axis].as_f64().unwrap()).collect();
        along.iter().copied().fold(f64::MIN, f64::max)
            - along.iter().copied().fold(f64::MAX, f64::min)
    })
}

/// Four plies of 1 m² at 4 m²/h take 15 min each for one person. At 45 % by volume a ply holds
/// 164.79 g of resin (see above), of which a pot of 350 g takes two: two pots of 329.6 g, 30 min of
/// laying each. 3 min mixing: 0, 3, 33, 36, 66 min; the bag takes 20 min more: full vacuum at 86 min, leak
/// check to 91 min. Pot life 60 min, so a film is open for 120 min after 3 min: 123 min.
#[test]
fn the_time_under_a_bag_is_the_sum_of_its_steps() {
    let resin = "[resin]\nratio = \"100:30\"\npot_life = \"60 min\"\nwaste = \"0 %\"\nlargest_batch = \"350 g\"\n\
                 laying_speed = \"4 m2/h\"\n";
    let bag =
        "[bag]\nstack = [\"peel-ply\", \"bag-film\"]\n[bag.layer.peel-ply]\ntake_up = \"0 g/m2\"\n";
    let timeline = |more: &str, part: &str| {
        let shop = Shop::new((1000, 1000), &carbon(&format!("{resin}{more}{bag}"), part));
        let told = shop.plan()["resin"]["parts"][0]["timeline"].clone();
        (told, shop)
    };
    let (told, shop) = timeline("", "");
    let batches: Vec<[f64; 3]> = (told["batches"].as_array().unwrap().iter())
        .map(|b| ["begun_min", "mixed_min", "laid_min"].map(|key| b[key].as_f64().unwrap()))
        .collect();
    assert_eq!(batches, [[0.0, 3.0, 33.0], [33.0, 36.0, 66.0]]);
    let minutes = [
        "last_ply_min",
        "full_vacuum_min",
        "leak_checked_min",
        "first_batch_gels_min",
    ];
    let minutes = minutes.map(|key| told[key].as_f64().unwrap());
    assert_eq!(minutes, [66.0, 86.0, 91.0, 123.0]);
    assert_eq!(told["in_time"], true);
    assert!(!shop.said.contains("gels"), "{}", shop.said);
    let sheet = shop.read("layup/PLATE.html");
    assert!(
        sheet.contains("class=\"timeline\"") && sheet.contains("1:00"),
        "drawn"
    );

    // Ten degrees warmer: half the pot life, so pots of 24 min at most, one ply each, and the film is
    // open for 60 min. 4 · (3 + 15) = 72 min, full vacuum at 92 min, but gelled after 63 min.
    let (told, shop) = timeline("room = \"35 °C\"\n", "");
    assert_eq!(told["batches"].as_array().unwrap().len(), 4);
    close(&told["full_vacuum_min"], 92.0, 1e-9);
    close(&told["first_batch_gels_min"], 63.0, 1e-9);
    assert_eq!(told["in_time"], false);
    assert!(
        shop.said.contains("`PLATE` cannot be bagged in time"),
        "{}",
        shop.said
    );
    // Of the 60 min the bag takes 20 and three more mixings 9: 31 min for 60 min of laying, so two people,
    // who lay two plies from each of two pots: 2 · (3 + 15) + 20 = 56 min. So do two stages of two pots each,
    // with one person. A hardener of 83 min has 41.5 min in the room, less a fifth 33.2 min, which is two
    // plies to a pot: 2 · (3 + 30) + 20 = 86 min, and a film open for 83 min after 3 min. One of 82 min has 85.
    for way in [
        "2 people in place of 1 (full vacuum after 56 min, gels after 63 min)",
        "`stages = [2, 2]` (full vacuum after 56 min, gels after 63 min)",
        "a slower hardener, with a pot life of 83 min at 25 °C (77 °F) (full vacuum after 86 min, gels after 86 min)",
    ] {
        assert!(shop.said.contains(way), "{way}: {}", shop.said);
    }
    assert!(
        shop.read("layup/PLATE.html")
            .contains("Do not start like this")
    );

    // Two people halve the laying: whole minutes again, and in time.
    let (told, shop) = timeline("room = \"95 °F\"\npeople = 2\n", "");
    assert_eq!(told["in_time"], true, "{told}");
    assert!(!shop.said.contains("in time"), "{}", shop.said);
}

/// The job above, too late in a warm room, with what `more` adds to `[resin]` and `part` to the part.
fn warm(command: &str, more: &str, part: &str) -> Shop {
    let tables = format!(
        "[resin]\nratio = \"100:30\"\npot_life = \"60 min\"\nwaste = \"0 %\"\nlargest_batch = \"400 g\"\n\
         laying_speed = \"4 m2/h\"\nroom = \"35 °C\"\n{more}[bag]\nstack = [\"peel-ply\", \"bag-film\"]\n\
         bagging_time = \"20 min\"\n"
    );
    Shop::with(command, (1000, 1000), &carbon(&tables, part))
}

/// 90 min at 25 °C are 45 min in the room, less a fifth 36 min: two plies of 15 min to a pot, 2 · (3 + 30)
/// + 20 = 86 min, and a film open for 90 min after 3 min. The fast one is worse than what there is.
#[test]
fn of_several_hardeners_one_is_mixed_and_each_is_tried() {
    let hardeners = "[resin.hardener.usual]\n[resin.hardener.slow]\nratio = \"100:25\"\npot_life = \"90 min\"\n\
                     [resin.hardener.fast]\npot_life = \"15 min\"\n";
    let late = warm(
        "plan",
        &format!("use_hardener = \"usual\"\n{hardeners}"),
        "",
    );
    let way = "hardener `slow` (full vacuum after 86 min, gels after 93 min)";
    assert!(late.said.contains(way), "{}", late.said);
    for not in ["`fast`", "slower hardener"] {
        assert!(!late.said.contains(not), "{}", late.said);
    }
    let slow = warm("plan", &format!("use_hardener = \"slow\"\n{hardeners}"), "");
    assert!(!slow.said.contains("in time"), "{}", slow.said);
    let resin = &slow.plan()["resin"];
    assert_eq!(resin["hardener"], "slow");
    assert_eq!(resin["parts"][0]["timeline"]["full_vacuum_min"], 86.0);
    assert_eq!(resin["parts"][0]["timeline"]["first_batch_gels_min"], 93.0);
    close(
        &resin["part_b_g"],
        resin["mixed_g"].as_f64().unwrap() * 25.0 / 125.0,
        1e-4,
    );
    assert!(slow.read("layup/PLATE.html").contains("with hardener slow"));
    for (more, complaint) in [
        (
            "[resin.hardener.a]\n[resin.hardener.b]\n",
            "does not say which is mixed in",
        ),
        (
            "use_hardener = \"c\"\n[resin.hardener.a]\n",
            "has no hardener `c`",
        ),
        ("use_hardener = \"c\"\n", "has no hardener `c`"),
    ] {
        let said = refused(&carbon(&format!("{RESIN}{more}"), ""));
        assert!(said.contains(complaint), "{said}");
    }
    let without = RESIN.replace("pot_life = \"25 min\"\n", "");
    let said = refused(&carbon(&without, ""));
    assert!(said.contains("`[resin]` has no `pot_life`"), "{said}");
    let said = refused(&carbon(&format!("{without}[resin.hardener.a]\n"), ""));
    assert!(said.contains("hardener `a` has no `pot_life`"), "{said}");
}

/// `check` lays nothing out, and sees a bag that comes too late all the same.
#[test]
fn check_tells_of_a_bag_that_comes_too_late() {
    let said = warm("check", "", "").said;
    assert!(
        said.contains("`PLATE` cannot be bagged in time: full vacuum 92 min"),
        "{said}"
    );
    assert!(
        said.contains("2 people in place of 1 (full vacuum after 56 min"),
        "{said}"
    );
    assert!(!warm("check", "people = 2\n", "").said.contains("in time"));
}

/// Two stages of two plies: for each 3 + 15 + 3 + 15 = 36 min to its last ply and 20 min to full vacuum, before
/// the 63 min at which its first pot gels. Each has a bag of its own: peel ply takes up 60 g on its square metre,
/// twice, and twice the tape is stuck: round 1102.8 mm and up four pleats of 76.2 mm twice, a tenth to spare.
#[test]
fn stages_have_batches_time_and_bag_of_their_own() {
    let shop = warm("plan", "", "stages = [2, 2]\nsets = 2\n");
    assert!(!shop.said.contains("in time"), "{}", shop.said);
    let plan = shop.plan();
    let resin = &plan["resin"];
    let stages = resin["parts"][0]["stages"].as_array().unwrap();
    for (stage, plies) in stages.iter().zip([[1, 2], [3, 4]]) {
        assert_eq!(stage["plies"], serde_json::json!(plies));
        close(&stage["take_up_g"], 60.0, 1e-3);
        close(&stage["mixed_g"], 2.0 * 164.79 + 60.0, 1e-3);
        assert_eq!(stage["timeline"]["last_ply_min"], 36.0);
        assert_eq!(stage["timeline"]["full_vacuum_min"], 56.0);
        assert_eq!(stage["timeline"]["first_batch_gels_min"], 63.0);
    }
    assert_eq!(stages.len(), 2);
    // Two sets of two stages, two pots each.
    assert_eq!(resin["batches"].as_array().unwrap().len(), 8);
    close(&resin["mixed_g"], 2.0 * (4.0 * 164.79 + 120.0), 1e-3);
    let peel = &plan["bagging"]["layers"][0]["layout"]["pieces"];
    let mut ids: Vec<&str> = (peel.as_array().unwrap().iter())
        .map(|piece| piece["id"].as_str().unwrap())
        .collect();
    ids.sort_unstable();
    let wanted =
        ["stage1#1", "stage1#2", "stage2#1", "stage2#2"].map(|s| format!("PLATE-peel-ply-{s}"));
    assert_eq!(ids, wanted);
    let line = plan["bagging"]["parts"][0]["tape_line_mm"][0]
        .as_f64()
        .unwrap();
    assert!((1100.8..1105.0).contains(&line), "{line}");
    close(
        &plan["bagging"]["tape_mm"],
        4.0 * 1.1 * (4.0 * line + 609.6),
        1e-6,
    );
    // Four squares of 1050.8 mm, one beside the other on a roll 1.5 m wide.
    let needed = shop.shopping()["peel-ply"]["needed"].as_f64().unwrap();
    assert!(
        (4.0 * 1050.8..4.0 * 1050.8 * 1.02).contains(&needed),
        "{needed}"
    );

    let sheet = words(&shop.read("layup/PLATE.html"));
    let mut at = 0;
    for step in [
        "Stage 1 of 2",
        "PLATE-2#1",
        "This stage of one set takes 389.6 g",
        "Bag it, from the part outwards",
        "Pump on again",
        "Let this stage cure",
        "Stage 2 of 2",
        "Tear the peel ply off slowly, all of it",
        "Abrade or wipe it only if the data sheet asks",
        "PLATE-3#1",
        "Bag it, from the part outwards",
        "Demould",
    ] {
        let next = sheet[at..].find(step);
        at += next.unwrap_or_else(|| panic!("{step} is missing or too early"));
    }
}

#[test]
fn stages_that_cannot_be_are_refused() {
    let said = refused(&carbon("[bag]\n", "stages = [2, 1]\n"));
    assert!(
        said.contains("the stages of part `PLATE` hold 3 plies, and it has 4"),
        "{said}"
    );
    let said = refused(&carbon(
        "[bag]\nstack = [\"bag-film\"]\n",
        "stages = [2, 2]\n",
    ));
    assert!(
        said.contains("no peel ply goes between the stages of part `PLATE`"),
        "{said}"
    );
    for stages in ["[0, 4]", "[\"2\", \"2\"]", "4"] {
        let said = refused(&carbon("", &format!("stages = {stages}\n")));
        assert!(said.contains("`stages`"), "{said}");
    }
    // Laid by hand, peel ply is not planned, and that is said.
    let by_hand = Shop::new((300, 200), &carbon(RESIN, "stages = [2, 2]\n"));
    assert!(
        by_hand
            .said
            .contains("peel ply between the stages of part `PLATE` is not planned")
    );
    assert!(words(&by_hand.read("layup/PLATE.html")).contains("Peel ply over all of it"));
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
        ("room = \"90 °C\"\n", "", "nobody lays up at such a `room`"),
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
        "Masking off. Stick the sealant tape",
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
    assert!(sheet.contains("Lay the core") && sheet.contains("wet both faces with 300.0 g"));
    // On plies of one side only, the stack does not mirror.
    let report = words(&job(
        "[[part.core]]\nname = \"pad\"\non_ply = 2\nthickness = \"6 mm\"\nareal_weight = \"4000 g/m2\"\n",
        "report.html",
    ));
    assert!(report.contains("Not symmetric"), "no warning of the pad");
}

/// The text of a page without its tags, spaces evened out.
fn words(html: &str) -> String {
    let mut text = String::new();
    let mut inside = false;
    for letter in html.chars() {
        match letter {
            '<' => inside = true,
            '>' => {
                inside = false;
                text.push(' ');
            }
            _ if !inside => text.push(letter),
            _ => {}
        }
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
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

/// What `check` says of a job that it refuses, of a plate of 1000 × 500 mm.
fn refused(job: &str) -> String {
    let shop = Shop::new((1000, 500), &carbon("", ""));
    fs::write(shop.folder.path().join("job.toml"), job).unwrap();
    let mut run = Command::cargo_bin("warpwise").unwrap();
    run.current_dir(shop.folder.path())
        .args(["check", "job.toml"]);
    let run = run.output().unwrap();
    assert_eq!(run.status.code(), Some(1));
    String::from_utf8(run.stderr).unwrap()
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
        .contains("says nothing of a unidirectional cloth")
    );
}
