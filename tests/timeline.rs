//! The time under a bag, hardeners and stages through the command, against sums written out beside each test.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

mod one_part;

use one_part::{RESIN, Shop, carbon, close, refused, words};

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
