//! What the sheet for the wall and the report say in words, by what must be said at the mould.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fs;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;
use warpwise::geometry::Point;
use warpwise::inputs::{InputFile, Inputs};
use warpwise::job::Job;
use warpwise::nest::{Continue, Effort};
use warpwise::plan::Settings;

/// A folder with a rectangular plate, `length` × `width` mm, planned by `job`.
fn planned((length, width): (u32, u32), job: &str) -> TempDir {
    planned_with((length, width), "", job)
}

/// The same with `more` in the drawing, and in the outline of the plate what stands there before a `|`.
fn planned_with(size: (u32, u32), more: &str, job: &str) -> TempDir {
    planned_saying(size, more, job).0
}

/// The same with what was told.
fn planned_saying((length, width): (u32, u32), more: &str, job: &str) -> (TempDir, String) {
    let folder = tempfile::tempdir().unwrap();
    let (within, beside) = more.split_once('|').unwrap_or(("", more));
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{length}mm\" height=\"{width}mm\" viewBox=\"0 0 {length} {width}\">\
         <path id=\"skin\" fill-rule=\"evenodd\" d=\"M0 0H{length}V{width}H0Z{within}\"/>{beside}</svg>"
    );
    fs::write(folder.path().join("plate.svg"), svg).unwrap();
    fs::write(folder.path().join("job.toml"), job).unwrap();
    let mut run = Command::cargo_bin("warpwise").unwrap();
    let run = run
        .current_dir(folder.path())
        .args(["plan", "job.toml", "--effort", "quick", "--threads", "1"])
        .output()
        .unwrap();
    let said = String::from_utf8(run.stderr).unwrap();
    assert_eq!(run.status.code(), Some(0), "{said}");
    (folder, said)
}

/// The words of a page, without its drawings and marks, blanks made one.
fn words_of(folder: &TempDir, page: &str) -> String {
    let html = fs::read_to_string(folder.path().join("job-plan").join(page)).unwrap();
    let body = &html[html.find("<body").unwrap()..];
    let body = &body[..body.find("<script").unwrap_or(body.len())];
    let mut text = String::new();
    for (n, part) in body.split('<').enumerate() {
        let (_, after) = if n == 0 {
            ("", part)
        } else {
            part.split_once('>').unwrap_or((part, ""))
        };
        text.push(' ');
        text.push_str(after);
    }
    let text = text.replace('\u{a0}', " ").replace("&#39;", "'");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn job(tables: &str, cloth: &str, part: &str) -> String {
    format!(
        "{tables}\n[cutting]\ntrim = \"20 mm\"\n\n[cloth.twill]\nweave = \"twill\"\nareal_weight = \"200 g/m2\"\n\
         roll_width = \"1 m\"\n{cloth}\n\n[[part]]\nname = \"PLATE\"\npattern = \"plate.svg\"\n\
         cloth = \"twill\"\nlayup = \"[0/45]s\"\n{part}\n"
    )
}

const CARBON: &str = "fibre = \"carbon\"";
const GLASS: &str = "fibre = \"e-glass\"";
const RESIN: &str =
    "[resin]\nratio = \"100:30\"\npot_life = \"25 min\"\nlargest_batch = \"2 kg\"\n";

fn assert_says(text: &str, all: &[&str]) {
    for words in all {
        assert!(text.contains(words), "{words:?} is missing in: {text}");
    }
}

/// Each danger is named once, where the work meets it; the filter is that of US Army TM
/// 1-1500-204-23-11, p. 32 (0.3 µm, HEPA), as are goggles and the eyewash within 100 ft.
#[test]
fn every_danger_is_named_once_and_shortly() {
    let folder = planned(
        (300, 200),
        &job(&format!("{RESIN}[bag]\n[mould]\n"), CARBON, ""),
    );
    let sheet = words_of(&folder, "layup/PLATE.html");
    let once = [
        "Data sheets first",
        "0.3 µm (HEPA",
        "splash goggles",
        "eyewash within 30 m (100 ft)",
        "fresh air",
        "solvent, alcohol and PVA burn",
        "waste pots and soaked rags",
        "resin trap before the pump",
        "exhaust to the outside",
        "no glass vessel under vacuum",
        "Metal that touches carbon corrodes",
        "Carbon dust conducts",
        "Hot post-cure",
    ];
    for words in once {
        assert_eq!(sheet.matches(words).count(), 1, "{words:?}: {sheet}");
    }
    // The data sheets are read before the mould is touched.
    let first = sheet.find("Data sheets first").unwrap();
    assert!(first < sheet.find("Clean the mould").unwrap());
    // Not a wall: all of it takes less than a hundred and fifty words.
    let from = sheet.find("Data sheets, local code").unwrap();
    let to = sheet.find("Make the mould ready").unwrap();
    let n_words = sheet[from..to].split(' ').count();
    assert!(n_words < 150, "{n_words} words of cautions");
    let report = words_of(&folder, "report.html");
    assert_says(
        &report,
        &[
            "0.3 µm (HEPA",
            "eyewash",
            "Vapour",
            "Metal that touches it corrodes",
        ],
    );
}

/// Where all cloth is said to be of another fibre, nobody needs to read of carbon.
#[test]
fn carbon_is_warned_of_where_there_is_carbon() {
    let folder = planned((300, 200), &job(&format!("{RESIN}[bag]\n"), GLASS, ""));
    for page in ["layup/PLATE.html", "report.html"] {
        let text = words_of(&folder, page).to_lowercase();
        assert!(!text.contains("carbon"), "{page}: {text}");
    }
}

/// What was done is written down: times, gauge, room, lots, weight and thickness as made.
#[test]
fn the_sheet_keeps_a_record() {
    let folder = planned((300, 200), &job(&format!("{RESIN}[bag]\n"), CARBON, ""));
    let sheet = words_of(&folder, "layup/PLATE.html");
    assert_says(
        &sheet,
        &[
            "Date",
            "Room °C / °F",
            "Humidity %",
            "Mixed at",
            "Lot A / B",
        ],
    );
    let record = &sheet[sheet.find("Weigh and measure").unwrap()..];
    assert_says(
        record,
        &[
            "Weight",
            "Thickness",
            "First mix",
            "Last ply",
            "Full vacuum",
            "Gauge",
            "Cloth lots",
            "Resin lot",
            "Hardener lot",
        ],
    );
}

/// A dry lap is a weak lap: the lower piece is wet to its edge before the next one covers it.
#[test]
fn a_lap_is_wetted_to_the_edge_of_the_lower_piece() {
    let part = "splice = \"lap\"";
    let folder = planned((1400, 1300), &job(RESIN, GLASS, part));
    let sheet = words_of(&folder, "layup/PLATE.html");
    assert_says(
        &sheet,
        &["Wet a lap out to the edge of the lower piece before the next piece goes over it"],
    );
    assert_says(
        &words_of(&folder, "report.html"),
        &["lay A and wet it out to its edge, then lay B over it"],
    );
}

/// 1.4 m × 1.3 m of four plies of 200 g/m² of glass (2.54 g/cm³): 1.82 m² · 0.8 kg/m² = 1.456 kg of
/// cloth. What is weighed is told to the gram, what is bought in kilograms, areas of boards in m²;
/// nothing in thousands of grams or square centimetres, and nothing is minus zero.
#[test]
fn quantities_are_told_as_a_person_says_them() {
    let resin = "[resin]\nratio = \"100:30\"\npot_life = \"25 min\"\nlargest_batch = \"2 kg\"\n\
                 pack = \"1300 g\"\nprice = \"40 EUR\"\n";
    let folder = planned((1400, 1300), &job(resin, GLASS, "splice = \"lap\""));
    let report = words_of(&folder, "report.html");
    assert_says(
        &report,
        &[
            "1.82 m² (19.6 ft²)",
            " × 1.3 kg (2.87 lb)",
            "100 : 30 by weight",
        ],
    );
    let sheet = words_of(&folder, "layup/PLATE.html");
    let expected = &sheet[sheet.find("Expected for one set").unwrap()..];
    let kilograms = expected.split(" kg (").next().unwrap();
    let kilograms = kilograms.rsplit(' ').next().unwrap();
    assert_eq!(
        kilograms.split('.').next_back().unwrap().len(),
        3,
        "{kilograms} kg to the gram"
    );
    for text in [&report, &sheet] {
        assert!(
            !text.contains("-0.0") && !text.contains("−0.0"),
            "minus zero"
        );
        for (at, _) in text.match_indices(" cm² (") {
            let number = text[..at].rsplit(' ').next().unwrap();
            assert!(number.len() <= 4, "{number} cm²");
        }
    }
    // A batch is weighed in grams, to the step of its scale.
    let table = &sheet[sheet.find("Part A").unwrap()..];
    let table = &table[..table.find("Time for one set").unwrap()];
    assert!(
        table.contains(" g (") && !table.contains(" kg ("),
        "{table}"
    );
}

/// A thing has one word: where the part ends is its finished edge, what it is made on its mould.
#[test]
fn a_thing_has_one_word() {
    let folder = planned(
        (300, 200),
        &job(&format!("{RESIN}[bag]\n[mould]\n"), CARBON, ""),
    );
    for page in ["layup/PLATE.html", "layup/kit-list.html", "report.html"] {
        let text = words_of(&folder, page).to_lowercase();
        for word in [
            "net line",
            "net edge",
            "net area",
            "net outline",
            "finished outline",
            "finished line",
            " tool",
            "utilisation",
            "heed",
            "askew",
        ] {
            assert!(!text.contains(word), "{page}: {word}");
        }
    }
    let help = |command: &str| {
        let mut run = Command::cargo_bin("warpwise").unwrap();
        let out = run.args([command, "--help"]).output().unwrap();
        String::from_utf8(out.stdout).unwrap()
    };
    for command in ["plan", "check", "compare", "inspect", "new", "schema"] {
        let text = help(command);
        for word in ["net line", "net edge", " tool", "finished outline"] {
            assert!(!text.contains(word), "{command}: {word}");
        }
    }
}

/// What has no price costs an unknown sum, not nothing.
#[test]
fn what_has_no_price_is_not_priced() {
    let priced = "price = \"10 EUR/m\"\nfibre = \"carbon\"";
    let folder = planned((300, 200), &job(&format!("{RESIN}[bag]\n"), priced, ""));
    let report = words_of(&folder, "report.html");
    let costs = &report[report.find("What it costs").unwrap()..];
    let row = &costs[costs.find("PLATE, one set").unwrap()..];
    let row = &row[..row.find("The order").unwrap()];
    assert!(!costs.contains(" 0.00 EUR"), "{costs}");
    // Resin and bag; a mould is not in the job.
    assert_eq!(row.matches("not priced").count(), 2, "{row}");
    assert!(!costs[..costs.find("The order").unwrap()].contains("Mould"));
    let bare = planned((300, 200), &job("", CARBON, ""));
    assert_says(&words_of(&bare, "report.html"), &["not priced"]);
}

/// The keys of people, moulds and time as the README shows them, in a job that is whole.
#[test]
fn the_readme_shows_keys_of_working_time_that_plan() {
    let readme = include_str!("../README.md");
    let section = readme
        .split("### People, moulds and working time")
        .nth(1)
        .unwrap();
    let block = section.split("```toml\n").nth(1).unwrap();
    let shown = block.split("```").next().unwrap();
    let rest = "pattern = \"plate.svg\"\ncloth = \"glass\"\nlayup = \"[0/45]s\"\n\n[cloth.glass]\n\
                weave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"50 in\"\nfibre = \"e-glass\"\n";
    let folder = planned((300, 200), &format!("{shown}{rest}"));
    let sheet = words_of(&folder, "layup/HATCH.html");
    assert_says(
        &sheet,
        &[
            "4 sets in 2 moulds: go through this sheet 2 times",
            "2 people laying",
        ],
    );
}

/// The keys of hardeners, stages and cores as the README shows them, in a job that is whole.
#[test]
fn the_readme_shows_keys_of_hardeners_stages_and_cores_that_plan() {
    let readme = include_str!("../README.md");
    let block = readme
        .split("Hardeners, stages and cores are named like this")
        .nth(1)
        .unwrap();
    let shown = block.split("```toml\n").nth(1).unwrap();
    let shown = shown.split("```").next().unwrap();
    let (before, core) = shown.split_once("[[part.core]]").unwrap();
    let rest = "pattern = \"plate.svg\"\ncloth = \"glass\"\nlayup = \"[0/45]s\"\n\n[[part.core]]";
    let cloth = "\n[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"50 in\"\n\
                 fibre = \"e-glass\"\n";
    let folder = planned((300, 200), &format!("{before}{rest}{core}{cloth}"));
    let sheet = words_of(&folder, "layup/HATCH.html");
    assert_says(
        &sheet,
        &[
            "with hardener slow",
            "Stage 2 of 2",
            "Lay the core",
            "Demould after 24 h at least",
        ],
    );
}

/// A doubler is measured from the edges of the part along and across its 0°, by the drawing alone: it
/// reaches from 120 to 320 mm from the left and from 70 to 150 mm from below.
#[test]
fn a_doubler_is_measured_from_two_datums() {
    let more = "M450 50H550V150H450Z|<g id=\"patch\"><path d=\"M120 250H320V330H120Z\"/></g>";
    let plies = |zero: &str| {
        job("", "", "").replace(
            "layup = \"[0/45]s\"",
            &format!(
                "openings = \"after cure\"\nzero_direction = \"{zero}\"\n[[part.ply]]\nangle = 0\noutline = \"skin\"\n\
                 [[part.ply]]\nangle = 45\noutline = \"patch\""
            ),
        )
    };
    let folder = planned_with((600, 400), more, &plies("0 deg"));
    let sheet = words_of(&folder, "layup/PLATE.html");
    let measures = "Ply 2 120 mm (4.72 in); 320 mm (12.60 in) 70 mm (2.76 in); 150 mm (5.91 in)";
    assert_says(&sheet, &[measures, "Mark the datums A and B there too"]);
    // Turned by a quarter, the lower edge is that on the right of the drawing.
    let folder = planned_with((600, 400), more, &plies("90 deg"));
    let sheet = words_of(&folder, "layup/PLATE.html");
    let measures = "Ply 2 70 mm (2.76 in); 150 mm (5.91 in) 280 mm (11.02 in); 480 mm (18.90 in)";
    assert_says(&sheet, &[measures]);
    // The opening is left in the cloth, and drawn as cut later; none is if it is cut with the cloth.
    let page = |folder: &TempDir| {
        fs::read_to_string(folder.path().join("job-plan/layup/PLATE.html")).unwrap()
    };
    assert!(page(&folder).contains("class=\"uncut\""));
    let cut = plies("0 deg").replace("after cure", "cut");
    let folder = planned_with((600, 400), more, &cut);
    assert!(!page(&folder).contains("class=\"uncut\""));
}

/// A ply that is drawn beside the part is measured from its own edges: a doubler of 300 mm, too wide for a roll of 250 mm, is
/// two pieces, and where the upper one ends on the lower one is told as it is in `plan.json`.
#[test]
fn a_ply_drawn_beside_the_part_is_measured_from_its_own_edges() {
    let more = "|<g id=\"patch\"><path d=\"M700 50H1000V350H700Z\"/></g>";
    let job = job("", "", "").replace("\"1 m\"", "\"250 mm\"").replace(
        "layup = \"[0/45]s\"",
        "splice = \"lap\"\nlap = \"30 mm\"\n[[part.ply]]\nangle = 0\noutline = \"skin\"\n\
         [[part.ply]]\nangle = 0\noutline = \"patch\"",
    );
    let folder = planned_with((600, 400), more, &job);
    let sheet = words_of(&folder, "layup/PLATE.html");
    assert_says(
        &sheet,
        &["its place on the part is not given; 300 × 300 mm"],
    );
    let (_, row) = sheet.split_once("Ply 2, from its own edges ").unwrap();
    let told: Vec<f64> = row
        .split(" mm (")
        .map_while(|part| part.rsplit(' ').next()?.parse().ok())
        .take(
            row.split("Lay and tick")
                .next()
                .unwrap()
                .matches("(joint)")
                .count(),
        )
        .collect();
    // From the corners of the net lines of both pieces on the roll: each is as wide as the doubler one way.
    let plan = fs::read(folder.path().join("job-plan/plan.json")).unwrap();
    let plan: Value = serde_json::from_slice(&plan).unwrap();
    let pieces = plan["layouts"][0]["pieces"].as_array().unwrap().iter();
    let sides = |piece: &Value| {
        let points = piece["net"]["outer"].as_array().unwrap().clone();
        [0, 1].map(|axis| {
            let along = points.iter().map(|p| p[axis].as_f64().unwrap());
            let (low, high) = along.fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(v), h.max(v)));
            high - low
        })
    };
    let patch: Vec<[f64; 2]> = pieces.filter(|p| p["ply"] == 2).map(sides).collect();
    let [one, other] = &patch[..] else {
        panic!("{patch:?}")
    };
    let breadth = |sides: &[f64; 2]| sides[0].min(sides[1]);
    assert!(
        (breadth(one) + breadth(other) - 330.0).abs() < 0.1,
        "{patch:?}"
    );
    // One edge of the joint is seen: that of the upper piece.
    let edges = [
        breadth(one),
        breadth(other),
        300.0 - breadth(one),
        300.0 - breadth(other),
    ];
    assert!(!told.is_empty(), "{row}");
    for measure in told {
        assert!(
            edges.iter().any(|edge| (edge - measure).abs() <= 0.6),
            "{measure} of {edges:?}"
        );
    }
}

/// The template to trim and drill by has the holes of every ply that lies on the part: those of the skin, those of a doubler
/// drawn beside it where that comes to lie, and one through both once.
#[test]
fn the_finished_part_has_the_holes_of_all_its_plies() {
    let hole = |x: u32, y: u32| format!("<circle cx=\"{x}\" cy=\"{y}\" r=\"3\"/>");
    // The doubler is drawn 400 mm to the right of its place.
    let drawing = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"900mm\" height=\"300mm\" viewBox=\"0 0 900 300\">\
         <path id=\"skin\" d=\"M10 10H310V210H10Z\"/><g id=\"patch\"><path d=\"M500 60H600V160H500Z\"/></g>\
         <g id=\"drill\">{}{}{}{}</g></svg>",
        hole(40, 40),
        hole(120, 80),
        hole(520, 80),
        hole(580, 140)
    );
    let text = job("", "", "").replace(
        "layup = \"[0/45]s\"",
        "[[part.ply]]\nangle = 0\noutline = \"skin\"\n[[part.ply]]\nangle = 45\noutline = \"patch\"\n\
         shift = [\"-400 mm\", \"0 mm\"]",
    );
    let (job, _) = Job::read("job.toml", &text).unwrap();
    let open = &mut |name: &str| Ok(vec![InputFile::new(name, drawing.clone().into_bytes())]);
    let (inputs, _) = Inputs::read(job, open).unwrap();
    let (pieces, _) = warpwise::ply::pieces(&inputs).unwrap();
    let settings = Settings {
        effort: Effort::Quick,
        ..Settings::default()
    };
    let plan = warpwise::plan::build(&pieces, &settings, &|_| Continue::Yes).unwrap();
    let finished = plan.parts()[0].finished.as_ref().unwrap();
    let middle = |points: &[Point]| {
        let n = points.len() as f64;
        let sum = |of: fn(&Point) -> f64| points.iter().map(of).sum::<f64>() / n;
        (sum(|p| p.x).round() as i64, sum(|p| p.y).round() as i64)
    };
    let rings = finished.holes.iter().filter(|hole| hole.closed);
    let mut found: Vec<(i64, i64)> = rings.map(|hole| middle(&hole.points)).collect();
    found.sort_unstable();
    // y counts upwards from the lower edge of the page.
    assert_eq!(found, [(40, 260), (120, 220), (180, 160)]);
}

/// Where all plies cover the part, nothing is to be measured.
#[test]
fn plies_that_cover_the_part_have_no_datums() {
    let folder = planned((300, 200), &job("", "", ""));
    let sheet = words_of(&folder, "layup/PLATE.html");
    assert!(!sheet.contains("datum"), "{sheet}");
    assert_says(&sheet, &["Plies 1, 4", "Plies 2, 3"]);
}

/// Round the edge of a plate of 3.5 m × 0.9 m lie more than 40 sheets of A4, of which each shows less than
/// 0.2 m of it: many to tape, which is told with what a wider paper takes. A small one is not spoken of.
#[test]
fn many_sheets_of_templates_are_told_with_what_helps() {
    let one = |size| {
        let job = job("", "", "").replace("[0/45]s", "[0]");
        planned_saying(size, "", &job).1
    };
    let said = one((3500, 900));
    assert_says(
        &said,
        &[
            "the templates take",
            "sheets of A4",
            "`paper = \"roll 36 in\"`",
        ],
    );
    let said = one((300, 200));
    assert!(!said.contains("the templates take"), "{said}");
    // What is said of a wider paper is what the templates take on it.
    let counted = |said: &str, after: &str| -> usize {
        let number = said.split(after).nth(1).unwrap().trim_start();
        number.split(' ').next().unwrap().parse().unwrap()
    };
    let on = |paper: &str| {
        let job = job("", "", "").replace("[0/45]s", "[0]");
        let job = format!("{job}\n[output]\npaper = \"{paper}\"\n");
        planned_saying((8000, 900), "", &job).1
    };
    let (a4, a3) = (on("A4"), on("A3"));
    assert_eq!(
        counted(&a4, "`paper = \"A3\"` takes"),
        counted(&a3, "the templates take")
    );
}

/// Number, revision and date of the job stand at the head of every page for people; without them
/// nothing stands there.
#[test]
fn papers_carry_number_revision_and_date_of_the_job() {
    let marks = "number = \"2041\"\nrevision = \"B\"\ndate = \"2025-03-01\"\n";
    let folder = planned((300, 200), &job(marks, "", ""));
    for page in ["report.html", "layup/PLATE.html", "layup/kit-list.html"] {
        assert_says(
            &words_of(&folder, page),
            &["job 2041 · revision B · 2025-03-01"],
        );
    }
    let folder = planned((300, 200), &job("", "", ""));
    assert!(!words_of(&folder, "report.html").contains("revision"));
}

/// The corners of a rectangle cut straight at its margins: 10 mm from the cut end and from the selvedge,
/// 340 × 240 mm with its trim of 20 mm.
#[test]
fn a_rectangle_is_marked_out_by_hand_from_cut_end_and_selvedge() {
    let job = job(
        "",
        "selvedge = \"10 mm\"\nend_margin = \"10 mm\"\nturns = \"none\"",
        "",
    )
    .replace("[0/45]s", "[0]")
    .replace("trim = \"20 mm\"", "trim = \"20 mm\"\njoin = \"mitre\"");
    let folder = planned((300, 200), &job);
    let list = words_of(&folder, "layup/kit-list.html");
    let corner = |x: f64, y: f64| format!("{x:.0} / {y:.0} ({:.2} / {:.2})", x / 25.4, y / 25.4);
    let across = list.split("Mark out on twill by hand").nth(1).unwrap();
    assert_says(across, &["10 (0.39) to 350 (13.78)"]);
    let low: f64 = (across.split("to 350 (13.78) ").nth(1).unwrap())
        .split(' ')
        .next()
        .unwrap()
        .parse()
        .unwrap();
    let corners = [
        (10.0, low),
        (350.0, low),
        (350.0, low + 240.0),
        (10.0, low + 240.0),
    ];
    for (x, y) in corners {
        assert_says(across, &[&corner(x, y)]);
    }
}
