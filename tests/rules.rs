//! Rules of handbooks and standards where the program follows them, each with its source, through the command.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

mod one_part;

use one_part::{RESIN, Shop, carbon, close, words};
use warpwise::job::HpglNumbers;

/// US Army TM 1-1500-204-23-11, pp. 172 and 184: 20 inHg at least where no data say otherwise. FAA AC 43.13-1B,
/// p. 3-8: 22 inHg for a repair bag. 1 inHg is 3386.39 Pa (NIST SP 811).
#[test]
fn a_vacuum_below_twenty_inches_is_called_weak() {
    let said = |vacuum: &str| {
        let bag = format!("[bag]\nvacuum = \"{vacuum}\"\n");
        Shop::with("check", (300, 200), &carbon(&bag, "")).said
    };
    let weak = said("19.9 inHg");
    assert!(
        weak.contains("is weak")
            && weak.contains("22 inHg (75 kPa) is usual at least, 20 inHg (68 kPa)"),
        "{weak}"
    );
    for enough in ["20 inHg", "67.8 kPa", "22 inHg", "25 inHg"] {
        assert!(!said(enough).contains("weak"), "{enough}");
    }
    // 22 inHg are 74 500 Pa: on 0.06 m² 4470 N.
    let plan = Shop::new((300, 200), &carbon("[bag]\nvacuum = \"22 inHg\"\n", "")).plan();
    close(
        &plan["bagging"]["parts"][0]["force_n"],
        22.0 * 3386.389 * 0.06,
        1e-5,
    );
}

/// US Army TM 1-1500-204-23-11, p. 184: a drop of 1 inHg in a minute with the source shut off, where no limit is
/// given. 1 inHg is 33.86 mbar (NIST SP 811).
#[test]
fn the_leak_limit_is_an_inch_of_mercury_in_a_minute_and_names_its_source() {
    let sheet = words(&Shop::new((300, 200), &carbon("[bag]\n", "")).read("layup/PLATE.html"));
    assert!(sheet.contains(
        "it may lose 1 inHg (34 mbar) in a minute at most, unless the data sheets ask for less (US Army TM 1-1500-204-23-11, p. 184)"
    ));
}

/// US Army TM 1-1500-204-23-11, p. 169: half of the listed pot life above 90 °F (32.2 °C). Below, half for every
/// 10 °C more (common practice, no source): 25 · 2^-0.7 = 15.389 min at 32 °C.
#[test]
fn pot_life_is_at_most_half_above_ninety_fahrenheit() {
    let in_room = |room: &str| {
        let resin = format!("{RESIN}room = \"{room}\"\n");
        Shop::new((300, 200), &carbon(&resin, "")).plan()["resin"]["pot_life_in_room_min"].clone()
    };
    close(&in_room("32 °C"), 15.389, 1e-4);
    close(&in_room("33 °C"), 12.5, 1e-9);
    close(&in_room("45 °C"), 6.25, 1e-9);
    let sheet = words(&Shop::new((300, 200), &carbon(RESIN, "")).read("layup/PLATE.html"));
    assert!(sheet.contains("half of it above 32 °C (90 °F)"));
}

/// MIL-HDBK-17-3F, rule A-31: 15 mm (0.6 in) at least between butts of plies of one angle nearer than four plies;
/// rule A-32: a gap of 2 mm (0.08 in) at most.
#[test]
fn joints_stand_fifteen_millimetres_apart_and_butts_gape_two_at_most() {
    let said = |stagger: &str| {
        let splice = format!("splice = \"butt\"\nstagger = \"{stagger}\"\n");
        Shop::with("check", (300, 200), &carbon("", &splice)).said
    };
    assert!(said("14.9 mm").contains("stagger"), "{}", said("14.9 mm"));
    assert!(!said("15 mm").contains("stagger"));
    // Two plies of 700 mm on a roll of 500 mm: the joints that the plan makes by itself are apart by that and more.
    let job = carbon("", "splice = \"butt\"\nsplice_lines = \"along\"\n")
        .replace("roll_width = \"2 m\"", "roll_width = \"500 mm\"")
        .replace("weave = \"twill\"", "weave = \"unidirectional\"")
        .replace("[0/45]s", "[0/0]");
    let shop = Shop::new((900, 700), &job);
    let plan = shop.plan();
    let heights: Vec<f64> = (plan["layouts"][0]["pieces"].as_array().unwrap().iter())
        .filter(|piece| piece["id"].as_str().unwrap().ends_with("-A"))
        .map(|piece| {
            let net = piece["net"]["outer"].as_array().unwrap().iter();
            let y: Vec<f64> = net.map(|point| point[1].as_f64().unwrap()).collect();
            y.iter().copied().fold(f64::MIN, f64::max) - y.iter().copied().fold(f64::MAX, f64::min)
        })
        .collect();
    let [first, second] = heights[..] else {
        panic!("{heights:?}");
    };
    assert!((first - second).abs() >= 15.0, "{heights:?}");
    let report = words(&shop.read("report.html"));
    assert!(report.contains("a gap of 2 mm (0.08 in) at most (MIL-HDBK-17-3F, rule A-32)"));
}

/// HP-GL/2 clamped integers end at 32 767 units, of which 40 make a millimetre (HP-GL/2 reference, clamped integer
/// range): 819.175 mm.
#[test]
fn sixteen_bits_of_hpgl_reach_over_eight_hundred_and_nineteen_millimetres() {
    assert!((HpglNumbers::REACH.to_mm() - 32_767.0 / 40.0).abs() < 1e-9);
    let said = |width: &str| {
        let job = carbon("[output]\nfiles = [\"hpgl\"]\n", "")
            .replace("roll_width = \"2 m\"", &format!("roll_width = \"{width}\""));
        Shop::new((300, 200), &job).said
    };
    assert!(
        said("820 mm").contains("larger than 16 bits"),
        "{}",
        said("820 mm")
    );
    assert!(!said("819 mm").contains("16 bits"));
}

/// Letter paper is 8.5 × 11 in (ANSI/ASME Y14.1), 215.9 × 279.4 mm, 612 × 792 points of 1/72 in (ISO 32000-1).
#[test]
fn templates_on_letter_paper_have_pages_of_letter() {
    let job = carbon(
        "[output]\nfiles = [\"templates\"]\npaper = \"letter\"\n",
        "",
    );
    let shop = Shop::new((300, 200), &job);
    let templates = std::fs::read_dir(shop.folder.path().join("job-plan/templates")).unwrap();
    let mut n_pages = 0;
    for file in templates.map(|file| file.unwrap().path()) {
        let bytes = std::fs::read(file).unwrap();
        let text = String::from_utf8_lossy(&bytes);
        for page in text.split("/MediaBox").skip(1) {
            let box_of = page.trim_start().trim_start_matches('[');
            let sides: Vec<f64> = box_of
                .split([' ', ']'])
                .take(4)
                .map(|n| n.parse().unwrap())
                .collect();
            let mut sides = [sides[2] - sides[0], sides[3] - sides[1]];
            sides.sort_by(f64::total_cmp);
            assert!(
                (sides[0] - 612.0).abs() < 0.01 && (sides[1] - 792.0).abs() < 0.01,
                "{sides:?}"
            );
            n_pages += 1;
        }
    }
    assert!(n_pages > 1, "{n_pages} pages");
}
