//! What somebody with gloves on must read at the mould, phrase by phrase, on the written sheets of jobs of many kinds:
//! with and without a bag and a mould, joined, face down, in stages, with gel coat and core.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

mod one_part;

use std::collections::BTreeSet;
use std::fs;

use one_part::{RESIN, Shop, close, words};
use serde_json::Value;

/// What a job is made of.
#[derive(Clone, Copy, Debug, Default)]
struct Kind {
    name: &'static str,
    bag: bool,
    /// Coats of wax, and whether PVA goes over them.
    mould: Option<(u32, bool)>,
    resin: bool,
    gel_coat: bool,
    core: bool,
    stages: bool,
    /// Larger than its roll, and so joined with laps.
    joined: bool,
    /// Of satin, of which half the plies lie face down.
    face_down: bool,
    sets: u32,
}

const KINDS: [Kind; 8] = [
    Kind {
        name: "bagged, waxed, joined",
        bag: true,
        mould: Some((3, true)),
        resin: true,
        gel_coat: false,
        core: false,
        stages: false,
        joined: true,
        face_down: false,
        sets: 2,
    },
    Kind {
        name: "open, no mould named, face down",
        bag: false,
        mould: None,
        resin: true,
        gel_coat: false,
        core: false,
        stages: false,
        joined: false,
        face_down: true,
        sets: 1,
    },
    Kind {
        name: "bagged in stages, no mould named, face down",
        bag: true,
        mould: None,
        resin: true,
        gel_coat: false,
        core: false,
        stages: true,
        joined: false,
        face_down: true,
        sets: 2,
    },
    Kind {
        name: "open on wax alone, gel coat",
        bag: false,
        mould: Some((2, false)),
        resin: true,
        gel_coat: true,
        core: false,
        stages: false,
        joined: true,
        face_down: false,
        sets: 1,
    },
    Kind {
        name: "bagged, one coat and PVA, gel coat, core, stages",
        bag: true,
        mould: Some((1, true)),
        resin: true,
        gel_coat: true,
        core: true,
        stages: true,
        joined: false,
        face_down: false,
        sets: 1,
    },
    Kind {
        name: "open in stages, joined",
        bag: false,
        mould: Some((4, true)),
        resin: true,
        gel_coat: false,
        core: false,
        stages: true,
        joined: true,
        face_down: false,
        sets: 1,
    },
    Kind {
        name: "cut only",
        bag: false,
        mould: None,
        resin: false,
        gel_coat: false,
        core: false,
        stages: false,
        joined: false,
        face_down: true,
        sets: 3,
    },
    Kind {
        name: "bagged, resin not named",
        bag: true,
        mould: Some((3, true)),
        resin: false,
        gel_coat: false,
        core: false,
        stages: false,
        joined: true,
        face_down: true,
        sets: 1,
    },
];

impl Kind {
    /// A plate of glass, planned.
    fn planned(&self) -> Shop {
        let mut job = String::new();
        if self.resin {
            job += &RESIN.replace("waste", "largest_batch = \"2 kg\"\nwaste");
        }
        if self.bag {
            job += "[bag]\n";
        }
        if let Some((coats, pva)) = self.mould {
            job += &format!("[mould]\nwax_coats = {coats}\n");
            if !pva {
                job += "pva = false\n";
            }
        }
        if self.gel_coat {
            job += "[gel_coat]\nname = \"gel coat\"\nareal_weight = \"600 g/m2\"\nratio = \"100:2\"\n\
                    pot_life = \"15 min\"\nlargest_batch = \"1 kg\"\n";
        }
        let weave = if self.face_down {
            "satin\"\nwarp_face = \"up"
        } else {
            "twill"
        };
        job += &format!(
            "[cutting]\ntrim = \"20 mm\"\n{}[cloth.glass]\nweave = \"{weave}\"\nareal_weight = \"200 g/m2\"\n\
             roll_width = \"1 m\"\nfibre = \"e-glass\"\n[[part]]\nname = \"PLATE\"\npattern = \"plate.svg\"\n\
             cloth = \"glass\"\noutline = \"skin\"\nlayup = \"[0/90]s\"\nsets = {}\n",
            if self.joined {
                "splice = \"lap\"\n"
            } else {
                ""
            },
            self.sets
        );
        if self.face_down {
            job += "face = \"mirrored\"\n";
        }
        if self.stages {
            job += "stages = [2, 2]\n";
        }
        if self.core {
            job += "[[part.core]]\nname = \"foam\"\non_ply = 2\nthickness = \"5 mm\"\ndensity = \"80 kg/m3\"\n";
        }
        let size = if self.joined {
            (1400, 1300)
        } else {
            (600, 400)
        };
        Shop::new(size, &job)
    }

    const fn n_stages(&self) -> usize {
        if self.stages { 2 } else { 1 }
    }
}

/// The words of a page.
fn page(shop: &Shop, name: &str) -> String {
    let html = shop.read(name);
    let body = &html[html.find("<body").unwrap()..];
    let body = body.split("<script").next().unwrap();
    words(body).replace('\u{a0}', " ").replace("&#39;", "'")
}

/// Where `first` and `second` stand.
fn in_order(text: &str, steps: &[&str], kind: &Kind) {
    let mut at = 0;
    for step in steps {
        let next = text[at..].find(step);
        at += next
            .unwrap_or_else(|| panic!("{}: {step:?} is missing or too early in {text}", kind.name));
    }
}

fn has(text: &str, phrase: &str, is_asked: bool, kind: &Kind) {
    assert_eq!(
        text.contains(phrase),
        is_asked,
        "{}: {phrase:?} in {text}",
        kind.name
    );
}

#[test]
fn every_sheet_has_the_phrases_of_its_kind_and_no_others() {
    for kind in &KINDS {
        let shop = kind.planned();
        let sheet = page(&shop, "layup/PLATE.html");
        let report = page(&shop, "report.html");
        releases_the_mould(kind, &sheet);
        keeps_the_tape_line_clean(kind, &sheet);
        pumps_on_again(kind, &sheet);
        turns_pieces_over(kind, &shop, &sheet);
        has(
            &sheet,
            "wet a lap out to the edge of the lower piece",
            kind.joined,
            kind,
        );
        has(
            &report,
            "wet it out to its edge, then lay B over it",
            kind.joined,
            kind,
        );
        resin_passes_the_film(kind, &shop, &sheet);
        has(&sheet, "a full pot heats itself and can burn", true, kind);
        has(&report, "heats itself and can smoke and burn", true, kind);
        has(
            &sheet,
            "Gel coat, or a thin wet coat of resin, if the job wants one",
            !kind.gel_coat,
            kind,
        );
        has(&sheet, "Ply 1 only when it is tacky", kind.gel_coat, kind);
        has(&sheet, "Lay the core", kind.core, kind);
        has(&sheet, "Stage 2 of 2", kind.stages, kind);
        has(&report, "at any altitude", kind.bag, kind);
        if !kind.bag {
            tells_nothing_of_bags(kind, &shop);
        }
    }
}

/// A release step always, with blanks where the job says nothing of it, and 0° on the flange before it.
fn releases_the_mould(kind: &Kind, sheet: &str) {
    let zero = "Mark the part's 0° on the flange";
    match kind.mould {
        None => {
            let release = "Release the mould as its data sheet says";
            in_order(
                sheet,
                &[
                    zero,
                    release,
                    "Release",
                    "Coats",
                    "Wait",
                    "Lay up, from the mould up",
                ],
                kind,
            );
            has(sheet, "Wax ", false, kind);
            has(sheet, "PVA film", false, kind);
        }
        Some((coats, pva)) => {
            has(
                sheet,
                "Release the mould as its data sheet says",
                false,
                kind,
            );
            has(sheet, "PVA film", pva, kind);
            in_order(
                sheet,
                &[
                    zero,
                    "Wax ",
                    "after each, then buff",
                    &format!("coat {coats}"),
                ],
                kind,
            );
            has(sheet, &format!("coat {}", coats + 1), false, kind);
            if pva {
                in_order(sheet, &["then buff", "PVA film over the wax"], kind);
            }
        }
    }
}

/// The line of the tape is masked before any release, and the tape stuck when the mask is off; in later stages anew.
fn keeps_the_tape_line_clean(kind: &Kind, sheet: &str) {
    let mask = "Mask the line of the sealant tape";
    has(sheet, mask, kind.bag, kind);
    if !kind.bag {
        return;
    }
    let release = match kind.mould {
        None => "Release the mould",
        Some(_) => "Wax ",
    };
    let masked = [
        mask,
        "keep wax, PVA and resin off this line",
        release,
        "Peel the masking off. Stick the sealant tape on the clean line",
    ];
    in_order(sheet, &masked, kind);
    if kind.gel_coat {
        in_order(
            sheet,
            &[
                "Peel the masking off. Stick the sealant tape",
                "Put it on evenly",
            ],
            kind,
        );
    }
    let anew = sheet
        .matches("Old sealant tape off, its line clean, new tape on it")
        .count();
    assert_eq!(anew, kind.n_stages() - 1, "{}", kind.name);
}

/// One leak check for each bag, and the pump on again before anything else.
fn pumps_on_again(kind: &Kind, sheet: &str) {
    let n_bags = if kind.bag { kind.n_stages() } else { 0 };
    let checks: Vec<&str> = sheet.split("Leak check, pump off").skip(1).collect();
    assert_eq!(checks.len(), n_bags, "{}", kind.name);
    for after in checks {
        // Before the next box to tick but one: nothing is done between.
        let on = after.find("Pump on again, and leave it on until the part has cured");
        let n_boxes = on.map(|at| after[..at].matches('☐').count());
        assert_eq!(n_boxes, Some(1), "{}: {after}", kind.name);
    }
}

/// Every piece that is cut turned over is named where its ply is laid and where it is cut, and no other is.
fn turns_pieces_over(kind: &Kind, shop: &Shop, sheet: &str) {
    let plan = shop.plan();
    let layouts = plan["layouts"].as_array().unwrap().iter();
    let pieces: Vec<&Value> = layouts
        .flat_map(|l| l["pieces"].as_array().unwrap())
        .collect();
    let id = |piece: &Value| piece["id"].as_str().unwrap().to_owned();
    let over = |is: bool| pieces.iter().filter(move |p| p["turned_over"] == is);
    let turned: BTreeSet<String> = over(true).map(|p| id(p)).collect();
    // Twill may be turned over as well where that saves cloth.
    assert!(!turned.is_empty() || !kind.face_down, "{}", kind.name);
    let phrase = "face down: cut as drawn, roll face up; turn the piece over before laying: ";
    let told = sheet.split(phrase).skip(1).flat_map(|rest| {
        let ids = rest.split(' ').map(|id| id.trim_end_matches(','));
        ids.take_while(|id| id.starts_with("PLATE-"))
            .map(str::to_owned)
    });
    assert_eq!(
        told.collect::<BTreeSet<_>>(),
        turned,
        "{}: {sheet}",
        kind.name
    );
    // Who cuts reads it as well.
    let list = page(shop, "layup/kit-list.html");
    has(&list, "face down", !turned.is_empty(), kind);
}

/// Film through which resin passes is called perforated, beside the breather that takes it.
fn resin_passes_the_film(kind: &Kind, shop: &Shop, sheet: &str) {
    let plan = shop.plan();
    let layers = plan["bagging"]["layers"].as_array();
    let names: Vec<&str> = layers.map_or_else(Vec::new, |l| {
        l.iter().map(|l| l["name"].as_str().unwrap()).collect()
    });
    assert_eq!(
        names.contains(&"release-film") && names.contains(&"breather"),
        kind.bag,
        "{names:?}"
    );
    let told = sheet
        .matches("Perforated: resin passes through it into the breather")
        .count();
    assert_eq!(
        told,
        if kind.bag { kind.n_stages() } else { 0 },
        "{}",
        kind.name
    );
    if kind.bag {
        in_order(sheet, &["release-film", "Perforated", "breather ,"], kind);
    }
}

/// Nobody without a bag reads of tape, pump or gauge on any paper; the side away from the mould has its name, and
/// a stage that another follows ends under peel ply.
fn tells_nothing_of_bags(kind: &Kind, shop: &Shop) {
    for name in ["layup/PLATE.html", "layup/kit-list.html", "report.html"] {
        let text = page(shop, name)
            .to_lowercase()
            .replace("bag side", "")
            // What a remark says of the job file.
            .replace("`[bag]`", "")
            .replace("vacuum cleaner", "")
            .replace("to the bag", "");
        for word in [
            "sealant",
            "vacuum",
            "bag",
            "breather",
            "pump",
            "gauge",
            "leak",
            "pleat",
            "masked",
            "release-film",
            "inhg",
        ] {
            assert!(
                !text.contains(word),
                "{}: {name}: {word} in {text}",
                kind.name
            );
        }
    }
}

/// 600 × 400 mm, two stages, two sets: every layer of the bag is cut once for each stage and set, as large as the part
/// and its margin all round (50.8 mm of peel ply and release film, 76.2 mm of breather: the reference of the margins is
/// the job's own figures), and each roll gives at least the area of its pieces.
#[test]
fn the_layers_of_each_stage_are_cut_laid_and_bought() {
    let margins = [
        ("peel-ply", 30.0),
        ("release-film", 40.0),
        ("breather", 60.0),
    ];
    let mut job = format!("{RESIN}[bag]\n");
    for (name, margin) in margins {
        job += &format!("[bag.layer.{name}]\nmargin = \"{margin} mm\"\nroll_width = \"1.2 m\"\n");
    }
    job += "[cutting]\ntrim = \"0 mm\"\n[cloth.glass]\nweave = \"twill\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n\
            fibre = \"e-glass\"\n[[part]]\nname = \"PLATE\"\npattern = \"plate.svg\"\ncloth = \"glass\"\nlayup = \"[0/90]s\"\n\
            sets = 2\nstages = [2, 2]\n";
    let shop = Shop::new((600, 400), &job);
    let plan = shop.plan();
    let layers = plan["bagging"]["layers"].as_array().unwrap();
    assert_eq!(layers.len(), 4);
    for (name, margin) in margins {
        let layer = layers.iter().find(|l| l["name"] == name).unwrap();
        let pieces = layer["layout"]["pieces"].as_array().unwrap();
        let ids: BTreeSet<&str> = pieces.iter().map(|p| p["id"].as_str().unwrap()).collect();
        assert_eq!((pieces.len(), ids.len()), (4, 4), "{name}");
        // Round corners of the margin are within its square.
        let (length, width) = (600.0 + 2.0 * margin, 400.0 + 2.0 * margin);
        let need = shop.shopping()[name]["needed"].as_f64().unwrap();
        assert!(
            need * 1200.0
                >= 4.0 * (length * width - (4.0 - std::f64::consts::PI) * margin * margin),
            "{name}: {need}"
        );
        // Two beside each other fit no roll of 1.2 m the long way; four one behind the other are the most.
        assert!(need <= 4.0 * length + 20.0, "{name}: {need}");
    }
    // Resin is taken up by peel ply and breather of each stage: 600 × 400 mm at 60 and 40 g/m².
    let stages = plan["resin"]["parts"][0]["stages"].as_array().unwrap();
    for stage in stages {
        close(&stage["take_up_g"], 0.24 * 100.0, 1e-3);
    }
    // The kit for one stage names its own pieces, and the report tells how many bags there are.
    let sheet = page(&shop, "layup/PLATE.html");
    assert_eq!(sheet.matches("Bag it, from the part outwards").count(), 2);
    assert_eq!(
        sheet
            .matches("Each stage has a bag of its own, cut for the whole part")
            .count(),
        2
    );
    assert_eq!(sheet.matches("One bag for each of the 2 sets").count(), 2);
}

/// What people read is made of words, none of which has a capital in its middle as names in the code have.
#[test]
fn no_name_of_the_code_stands_among_the_words() {
    for kind in [&KINDS[0], &KINDS[4]] {
        let shop = kind.planned();
        for name in ["layup/PLATE.html", "layup/kit-list.html", "report.html"] {
            let text = page(&shop, name);
            let is_name = |word: &&str| {
                let letters: Vec<char> = word.chars().collect();
                letters
                    .windows(3)
                    .any(|w| w[0].is_uppercase() && w[1].is_lowercase())
                    && letters
                        .windows(2)
                        .any(|w| w[0].is_lowercase() && w[1].is_uppercase())
            };
            let words = text.split(|c: char| !c.is_alphabetic());
            let names: Vec<&str> = words
                .filter(|word| word.len() > 3 && is_name(word))
                .collect();
            assert!(names.is_empty(), "{name}: {names:?}");
        }
    }
}

/// No paper, list or record says that something is minus nothing.
#[test]
fn nothing_is_minus_zero() {
    for kind in &KINDS[..5] {
        let shop = kind.planned();
        let out = shop.folder.path().join("job-plan");
        let mut folders = vec![out];
        while let Some(folder) = folders.pop() {
            for entry in fs::read_dir(folder).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    folders.push(path);
                    continue;
                }
                let Ok(text) = fs::read_to_string(&path) else {
                    continue;
                };
                for (at, sign) in text.match_indices(['-', '\u{2212}']) {
                    let number: String = text[at + sign.len()..]
                        .chars()
                        .take_while(|c| c.is_ascii_digit() || *c == '.')
                        .collect();
                    let before = text[..at].chars().next_back();
                    let is_sign = before.is_none_or(|c| !c.is_alphanumeric() && c != '-');
                    let is_zero =
                        !number.is_empty() && number.contains('.') && number.parse() == Ok(0.0);
                    assert!(
                        !(is_sign && is_zero),
                        "{}: {} says -{number}",
                        kind.name,
                        path.display()
                    );
                }
            }
        }
    }
}

/// Two plies all over, a doubler on the left and one on the right: three lie one on another at most. A ply of 200 g/m² of
/// glass (2.54 g/cm³) at 35 % by volume is 200 / (1000 · 2.54 · 0.35) = 0.2250 mm, three are 0.67 mm; four, 0.90 mm, are
/// nowhere.
#[test]
fn no_thickness_is_told_that_is_nowhere_on_the_part() {
    let shop = Shop::new((600, 400), &one_part::carbon("", ""));
    let here = shop.folder.path();
    let drawing = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"600mm\" height=\"400mm\" viewBox=\"0 0 600 400\">\
         <path id=\"skin\" d=\"M0 0H600V400H0Z\"/><g id=\"left\"><path d=\"M20 20H200V380H20Z\"/></g>\
         <g id=\"right\"><path d=\"M400 20H580V380H400Z\"/></g></svg>";
    fs::write(here.join("plate.svg"), drawing).unwrap();
    let ply = |outline: &str| format!("[[part.ply]]\nangle = 0\noutline = \"{outline}\"\n");
    let plies = ["skin", "left", "right", "skin"].map(ply).concat();
    let job = one_part::carbon(RESIN, &plies)
        .replace("layup = \"[0/45]s\"\n", "")
        .replace("\"carbon\"", "\"e-glass\"");
    fs::write(here.join("job.toml"), job).unwrap();
    let mut run = assert_cmd::Command::cargo_bin("warpwise").unwrap();
    let plan = ["plan", "job.toml", "--effort", "quick", "--threads", "1"];
    run.current_dir(here).args(plan).assert().success();
    let sheet = page(&shop, "layup/PLATE.html");
    let expected = sheet.split("Expected for one set: ").nth(1).unwrap();
    let expected = expected.split("Weight").next().unwrap();
    assert!(
        expected.contains("0.67 mm") && expected.contains("where it is thickest"),
        "{expected}"
    );
    // Nor while it grows: one, two here, two there, three.
    assert!(!sheet.contains("0.90 mm"), "{sheet}");
    for so_far in ["0.22 mm", "0.45 mm", "0.67 mm"] {
        assert!(sheet.contains(so_far), "{so_far}: {sheet}");
    }
}
