//! The `warpwise` command from outside: exit codes, messages, files.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Output;

use assert_cmd::Command;
use tempfile::TempDir;

/// A plate of 200 × 100 mm with a round opening, on a layer called `skin`, and a 0° line.
const PLATE: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">
<g id="skin"><path id="plate" d="M20 20H220V120H20Z M100 70a20 20 0 1 0 40 0a20 20 0 1 0 -40 0Z"/></g>
<g id="zero"><path id="up" d="M250 120V20"/></g>
</svg>"##;

const JOB: &str = r#"
[cutting]
trim = "10 mm"
gap = "4 mm"

[cloth.glass]
weave = "plain"
areal_weight = "200 g/m2"
roll_width = "1 m"
price = "8 EUR/m"
sold_by = "0.5 m"

[[part]]
name = "PLATE"
pattern = "plate.svg"
outline = "skin"
zero_line = "zero"
cloth = "glass"
sets = 2
layup = "[0/45]s"
"#;

/// A folder with a pattern and a job in it, and `warpwise` run inside.
struct Bench(TempDir);

impl Bench {
    fn new(job: &str) -> Self {
        let bench = Self(tempfile::tempdir().unwrap());
        fs::write(bench.path("plate.svg"), PLATE).unwrap();
        fs::write(bench.path("job.toml"), job).unwrap();
        bench
    }

    fn path(&self, name: &str) -> PathBuf {
        self.0.path().join(name)
    }

    fn run(&self, arguments: &[&str]) -> Output {
        Command::cargo_bin("warpwise")
            .unwrap()
            .current_dir(self.0.path())
            .args(arguments)
            .output()
            .unwrap()
    }

    /// Every file below `folder` by its path.
    fn files(&self, folder: &str) -> BTreeMap<String, Vec<u8>> {
        let mut found = BTreeMap::new();
        let root = self.path(folder);
        let mut open = vec![root.clone()];
        while let Some(path) = open.pop() {
            for entry in fs::read_dir(path).unwrap() {
                let path = entry.unwrap().path();
                if path.is_dir() {
                    open.push(path);
                } else {
                    let name = path.strip_prefix(&root).unwrap().display().to_string();
                    found.insert(name, fs::read(path).unwrap());
                }
            }
        }
        found
    }
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// Runs a job that is wrong and returns what it says; nothing may be written.
fn refused(job: &str) -> String {
    let bench = Bench::new(job);
    for command in ["check", "plan"] {
        let run = bench.run(&[command, "job.toml"]);
        assert_eq!(run.status.code(), Some(1), "{}", text(&run.stderr));
        assert!(run.stdout.is_empty());
    }
    assert_eq!(fs::read_dir(bench.0.path()).unwrap().count(), 2);
    text(&bench.run(&["check", "job.toml"]).stderr)
}

#[test]
fn a_job_chooses_its_files_and_how_they_are_cut() {
    let output = r#"
[output]
files = ["dxf", "hpgl", "gcode"]
dxf = "R12"
frame = "300 mm"

[output.layers]
cut = { name = "KNIFE", pen = 3 }

[output.knife]
kind = "drag"
offset = "0.5 mm"
overcut = "1 mm"

[output.gcode]
feed = "50 mm/s"
footer = "M30"
"#;
    let bench = Bench::new(&format!("{JOB}{output}"));
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    let files = bench.files("job-plan");
    let cut: Vec<&str> = files
        .keys()
        .map(String::as_str)
        .filter(|name| name.starts_with("cut/") || name.starts_with("paper/"))
        .collect();
    assert_eq!(cut, ["cut/glass.dxf", "cut/glass.hpgl", "cut/glass.nc"]);
    let dxf = text(&files["cut/glass.dxf"]);
    assert!(dxf.contains("AC1009") && dxf.contains("KNIFE") && !dxf.contains("LWPOLYLINE"));

    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();
    let order = &plan["layouts"][0]["cut_order"];
    let frames = order["frames"].as_array().unwrap();
    assert!(frames.len() > 1, "{order}");
    assert!(frames.iter().all(|f| {
        let long = f["to"].as_f64().unwrap() - f["from"].as_f64().unwrap();
        long <= 300.0 + 1e-6
    }));
    // Every piece is labelled once; its opening is cut before its edge.
    let mut labelled = 0;
    let mut opened = Vec::new();
    for frame in frames {
        labelled += frame["labels"].as_array().unwrap().len();
        for cut in frame["cuts"].as_array().unwrap() {
            let id = cut["id"].as_str().unwrap();
            if cut["opening"].is_null() {
                assert!(
                    opened.contains(&id),
                    "{id} came free with its opening uncut"
                );
            } else {
                opened.push(id);
            }
        }
    }
    assert_eq!((labelled, opened.len()), (8, 8));

    let hpgl = text(&files["cut/glass.hpgl"]);
    assert_eq!(hpgl.matches("PG;").count(), frames.len() - 1);
    assert!(hpgl.starts_with("IN;") && hpgl.contains("SP3;") && !hpgl.contains("SP2;"));
    let gcode = text(&files["cut/glass.nc"]);
    assert_eq!(gcode.matches("M0\n").count(), frames.len() - 1);
    assert!(gcode.contains("F3000") && gcode.ends_with("M30\n"));
    assert!(gcode.contains("(cut PLATE-1#1)"), "pieces are named");
}

#[test]
fn a_plan_is_written_whole_and_told_in_short() {
    let bench = Bench::new(JOB);
    let run = bench.run(&["plan", "job.toml", "--effort", "quick"]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    assert_eq!(text(&run.stderr), "");
    let said = text(&run.stdout);
    assert!(
        said.contains("glass") && said.contains("EUR") && said.contains("job-plan"),
        "{said}"
    );

    let files = bench.files("job-plan");
    let names: Vec<&str> = files.keys().map(String::as_str).collect();
    assert_eq!(
        names,
        [
            ".warpwise",
            "cut/glass.dxf",
            "cut/glass.svg",
            "labels.pdf",
            "layup/PLATE.html",
            "layup/kit-list.html",
            "layup/sheets.pdf",
            "pieces.csv",
            "plan.json",
            "report.html",
            "stock/glass-r1.json",
            "templates/templates-A4.pdf",
            "templates/trim-A4.pdf"
        ]
    );
    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();
    let pieces = plan["layouts"][0]["pieces"].as_array().unwrap();
    let mut ids: Vec<&str> = pieces.iter().map(|p| p["id"].as_str().unwrap()).collect();
    ids.sort_unstable();
    assert_eq!(
        ids,
        [
            "PLATE-1#1",
            "PLATE-1#2",
            "PLATE-2#1",
            "PLATE-2#2",
            "PLATE-3#1",
            "PLATE-3#2",
            "PLATE-4#1",
            "PLATE-4#2"
        ]
    );
    // 0° is +y of the drawing, so a 0° ply is turned by −90°, a +45° ply by −135°, each with the
    // quarter turns of a plain weave.
    for piece in pieces {
        let turn = piece["turn"].as_f64().unwrap();
        let design = piece["angle_design"].as_f64().unwrap();
        assert_eq!((turn + 90.0 + design).rem_euclid(90.0), 0.0, "{piece}");
    }
}

#[test]
fn same_seed_same_bytes_at_any_number_of_threads() {
    let bench = Bench::new(JOB);
    for (out, threads) in [("one", "1"), ("two", "2"), ("again", "2")] {
        let run = bench.run(&[
            "plan",
            "job.toml",
            "--effort",
            "quick",
            "--seed",
            "7",
            "--threads",
            threads,
            "--out",
            out,
            "--quiet",
        ]);
        assert!(run.status.success() && run.stdout.is_empty());
    }
    assert!(bench.files("one") == bench.files("two"));
    assert!(bench.files("two") == bench.files("again"));
}

/// Plies 1° off the straight run of the cloth, from drawings seen from either side.
const SLANTED: &str = r#"
[cutting]
trim = "10 mm"
gap = "4 mm"
angle_tolerance = "TOLERANCE deg"

[cloth.tape]
weave = "unidirectional"
areal_weight = "200 g/m2"
roll_width = "200 mm"

[[part]]
name = "BAG"
pattern = "plate.svg"
outline = "skin"
zero_direction = "1 deg"
cloth = "tape"
sets = 2
layup = "[0]"

[[part]]
name = "TOOL"
pattern = "plate.svg"
outline = "skin"
zero_direction = "1 deg"
seen_from = "tool"
cloth = "tape"
layup = "[0]"
"#;

#[test]
fn what_the_layout_uses_of_the_angle_tolerance_is_told_true() {
    let plan = |tolerance: &str| -> (Bench, serde_json::Value) {
        let bench = Bench::new(&SLANTED.replace("TOLERANCE", tolerance));
        let run = bench.run(&["plan", "job.toml", "--effort", "quick"]);
        assert!(run.status.success(), "{}", text(&run.stderr));
        let json = fs::read(bench.path("job-plan/plan.json")).unwrap();
        (bench, serde_json::from_slice(&json).unwrap())
    };
    let used = |plan: &serde_json::Value| plan["layouts"][0]["used_length"].as_f64().unwrap();
    let (_, exact) = plan("0");
    let (bench, turned) = plan("2");
    assert!(used(&turned) < used(&exact) - 0.5, "{}", used(&turned));

    let csv = text(&fs::read(bench.path("job-plan/pieces.csv")).unwrap());
    let report = text(&fs::read(bench.path("job-plan/report.html")).unwrap());
    let same_fibre = |a: f64, b: f64| {
        let off = (a - b).rem_euclid(180.0);
        off.min(180.0 - off) < 1e-5
    };
    let mut most: f64 = 0.0;
    for piece in turned["layouts"][0]["pieces"].as_array().unwrap() {
        let number = |key: &str| piece[key].as_f64().unwrap();
        let (turn, cut) = (number("turn"), number("angle_cut"));
        most = most.max((cut - number("angle_design")).abs());
        // The warp runs along the roll; carried back to the part it must lie as stated.
        // Seen from the bag side, the 0° of a drawing seen from the tool side points the other way.
        let zero = match piece["part"].as_str().unwrap() {
            "BAG" => 1.0,
            _ => -1.0,
        };
        let on_part = -turn - zero;
        assert!(same_fibre(on_part, cut), "{piece}");
        // The plate's long edge was drawn level.
        let corner = |k: usize, axis: usize| piece["net"]["outer"][k][axis].as_f64().unwrap();
        let long = (0..4)
            .map(|k| {
                (
                    corner((k + 1) % 4, 0) - corner(k, 0),
                    corner((k + 1) % 4, 1) - corner(k, 1),
                )
            })
            .find(|(x, y)| x.hypot(*y) > 150.0)
            .unwrap();
        let level = warpwise::geometry::trig::direction(long.0, long.1).to_degrees();
        let face = if piece["turned_over"].as_bool().unwrap() {
            -1.0
        } else {
            1.0
        };
        assert!(
            (level - face * turn)
                .rem_euclid(180.0)
                .min((face * turn - level).rem_euclid(180.0))
                < 1e-3
        );
        assert!(csv.contains(&format!(",{}", piece["angle_cut"])), "{csv}");
        let shown = format!("{}", warpwise::units::Angle::degrees(cut)).replace('-', "−");
        assert!(report.contains(&format!(">{shown}<")), "{shown}");
    }
    assert!(most > 0.2 && most <= 2.0 + 1e-6, "{most}");
}

/// A tape of which the job says that it may be laid across.
const ACROSS: &str = r#"
[cutting]
trim = "0 mm"

[cloth.tape]
weave = "unidirectional"
areal_weight = "200 g/m2"
roll_width = "150 mm"
turns = "quarter"

[[part]]
name = "PLATE"
pattern = "plate.svg"
outline = "skin"
cloth = "tape"
layup = "[0/90]"
"#;

#[test]
fn turns_against_the_weave_are_told_with_the_angle_they_give() {
    // The plate is 200 × 100 mm: it fits 130 mm of usable width only lengthwise.
    let bench = Bench::new(ACROSS);
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    insta::assert_snapshot!("turns_against_the_weave", text(&run.stderr));
    let plan: serde_json::Value =
        serde_json::from_slice(&bench.files("job-plan")["plan.json"]).unwrap();
    for piece in plan["layouts"][0]["pieces"].as_array().unwrap() {
        // 0° of the plate is across it; the tape runs along it in both plies.
        assert_eq!(piece["angle_cut"], 90.0, "{piece}");
    }
    let remarks = plan["remarks"].as_array().unwrap();
    assert!(
        remarks[0]["message"]
            .as_str()
            .unwrap()
            .contains("other directions")
    );
}

/// Two plies of a biaxial that mirror each other, on a roll on which the plate fits only lengthwise:
/// one of them straight, the other a quarter turn off.
const MIRRORED: &str = r#"
[cutting]
trim = "0 mm"

[cloth.biax]
weave = "biaxial"
areal_weight = "300 g/m2"
fibre = "e-glass"
roll_width = "150 mm"
turns = "quarter"
layer_order = "any"

[[part]]
name = "PLATE"
pattern = "plate.svg"
outline = "skin"
cloth = "biax"
layup = "[45/-45]"
"#;

#[test]
fn a_quarter_turn_exchanges_the_layers_of_a_biaxial_and_the_plan_says_so() {
    let bench = Bench::new(MIRRORED);
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    let files = bench.files("job-plan");
    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();
    let pieces = plan["layouts"][0]["pieces"].as_array().unwrap();
    // Both lie with the same layer against the mould, so they do not mirror each other.
    let layers: Vec<_> = pieces.iter().map(|piece| &piece["layers_deg"]).collect();
    assert_eq!(layers.len(), 2);
    assert_eq!(layers[0], layers[1], "{pieces:?}");
    let part = &plan["parts"][0];
    assert_eq!(part["symmetric"], false);
    let (a11, h) = (&part["stiffness"]["a_n_per_mm"][0], &part["thickness_mm"]);
    let b16 = part["stiffness"]["b_n"][2].as_f64().unwrap();
    let coupling = b16.abs() / (a11.as_f64().unwrap() * h.as_f64().unwrap());
    // [45/−45] twice over with 35 % of E-glass (72.4 GPa, 30.17 GPa, 0.2) in epoxy (3.4 GPa, 0.3): worked
    // out apart by the rule of mixtures and Halpin–Tsai.
    assert!((coupling - 0.049_616).abs() < 0.000_05, "{coupling}");
    let against = layers[0][0].as_f64().unwrap();
    let words = format!("{against}° layer against the mould").replace('-', "−");
    for file in ["report.html", "layup/PLATE.html"] {
        let told = text(&files[file]).matches(&words).count();
        assert_eq!(told, 2, "{file}");
    }
    let csv = text(&files["pieces.csv"]);
    assert_eq!(csv.matches(&format!(",{against}\r\n")).count(), 2, "{csv}");
}

#[test]
fn quarter_turns_of_a_biaxial_keep_its_layers_in_order_unless_the_job_lets_them_go() {
    let kept = MIRRORED.replace("layer_order = \"any\"\n", "");
    let bench = Bench::new(&kept.replace("150 mm", "500 mm"));
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    assert!(text(&run.stderr).contains("a quarter turn exchanges the two layers"));
    let files = bench.files("job-plan");
    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();
    assert_eq!(plan["parts"][0]["symmetric"], true);
    for piece in plan["layouts"][0]["pieces"].as_array().unwrap() {
        assert_eq!(piece["layers_deg"][0], piece["angle_design"], "{piece}");
    }
    // Where only a quarter turn would do, the message says what would help.
    let bench = Bench::new(&kept);
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert_eq!(run.status.code(), Some(1));
    assert!(text(&run.stderr).contains("`layer_order = \"any\"`"));
}

#[test]
fn sets_that_are_not_cut_alike_are_told_apart() {
    // On 305 mm of usable cloth lie one plate lengthwise and one across: which are which is the
    // search's business, but every set is told as it is cut.
    let job = MIRRORED.replace("150 mm", "325 mm");
    let bench = Bench::new(&job.replace("layup = \"[45/-45]\"", "layup = \"[45/-45]\"\nsets = 5"));
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    let files = bench.files("job-plan");
    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();
    let part = &plan["parts"][0];
    let pieces = plan["layouts"][0]["pieces"].as_array().unwrap();
    let lower = |set: u64, ply: u64| {
        let is_it = |p: &&serde_json::Value| p["set"] == set && p["ply"] == ply;
        pieces.iter().find(is_it).unwrap()["layers_deg"][0].clone()
    };
    let mirrors = |set: u64| lower(set, 1) != lower(set, 2);
    assert_eq!(part["symmetric"], (1..=5).all(mirrors));
    let stacks = part["as_cut"].as_array().unwrap();
    let mut sets = Vec::new();
    for stack in stacks {
        for set in stack["sets"].as_array().unwrap() {
            let set = set.as_u64().unwrap();
            assert_eq!(
                stack["plies_deg"],
                serde_json::json!([lower(set, 1), lower(set, 2)])
            );
            assert_eq!(stack["symmetric"], mirrors(set));
            sets.push(set);
        }
    }
    sets.sort_unstable();
    assert_eq!(sets, [1, 2, 3, 4, 5]);
    assert!(text(&files["report.html"]).contains("The sets are not cut alike"));
}

/// The plate with 10 mm trim is 220 × 120 mm: too large for 100 mm of cloth either way.
const NARROW: &str = r#"
[cutting]
trim = "10 mm"
gap = "4 mm"
splice = "lap"
splice_lines = "along"

[cloth.glass]
weave = "plain"
areal_weight = "200 g/m2"
roll_width = "120 mm"

[[part]]
name = "PLATE"
pattern = "plate.svg"
outline = "skin"
zero_direction = "0 deg"
cloth = "glass"
sets = 2
layup = "[0]"
"#;

#[test]
fn spliced_plies_show_in_every_output() {
    let bench = Bench::new(NARROW);
    let run = bench.run(&["plan", "job.toml", "--effort", "quick"]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    insta::assert_snapshot!("spliced", text(&run.stderr));
    let files = bench.files("job-plan");
    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();
    let pieces = plan["layouts"][0]["pieces"].as_array().unwrap();
    let mut ids: Vec<&str> = pieces.iter().map(|p| p["id"].as_str().unwrap()).collect();
    ids.sort_unstable();
    assert_eq!(
        ids,
        ["PLATE-1-A#1", "PLATE-1-A#2", "PLATE-1-B#1", "PLATE-1-B#2"]
    );
    let ply = &plan["parts"][0]["plies"][0];
    assert_eq!(ply["pieces"], serde_json::json!(["A", "B"]));

    let (csv, report) = (text(&files["pieces.csv"]), text(&files["report.html"]));
    let svg = text(&files["cut/glass.svg"]);
    let dxf = dxf::Drawing::load(&mut &files["cut/glass.dxf"][..]).unwrap();
    let on_splice = dxf.entities().filter(|e| e.common.layer == "SPLICE");
    // The lap of each set lies over the opening in places, so some lines are in two pieces.
    let joints = |p: &serde_json::Value| p["splice"]["joints"].as_array().unwrap().len();
    assert_eq!(on_splice.count(), pieces.iter().map(joints).sum::<usize>());
    let mut nets = 0.0;
    for piece in pieces {
        let id = piece["id"].as_str().unwrap();
        let splice = &piece["splice"];
        assert_eq!(splice["of"], 2);
        let joint = &splice["joints"][0];
        let mate = joint["mate"].as_str().unwrap();
        // The mate is the other half of the same set.
        assert_eq!(mate[mate.len() - 2..], id[id.len() - 2..]);
        assert_ne!(mate, id);
        let (lies, words) = match splice["letter"].as_str().unwrap() {
            "A" => ("under", format!("{mate} over, lap 25 mm")),
            _ => ("over", format!("{mate} under, lap 25 mm")),
        };
        assert_eq!(joint["lies"], lies);
        assert!(svg.contains(&format!("id=\"{id}.SPLICE\"")), "{svg}");
        assert!(svg.contains(&words), "{svg}");
        assert!(csv.contains(&format!(",lap,{mate},")), "{csv}");
        assert!(report.contains(&format!("lap {lies} {mate}")));
        nets += ring_area(&piece["net"]["outer"]);
        for opening in piece["net"]["openings"].as_array().unwrap() {
            nets -= ring_area(opening).abs();
        }
    }
    // Both sets of the pieces: the ply and its lap.
    let number = |key: &str| ply[key].as_f64().unwrap();
    assert!((nets / 2.0 - number("area_mm2") - number("lap_area_mm2")).abs() < 1.0);
    let mass = (number("area_mm2") + number("lap_area_mm2")) * 200e-6;
    assert!((number("cloth_mass_g") - mass).abs() < 1e-3);
    assert!(report.contains("spliced: A, B"));
}

fn ring_area(ring: &serde_json::Value) -> f64 {
    let at = |p: &serde_json::Value, axis: usize| p[axis].as_f64().unwrap();
    let points = ring.as_array().unwrap();
    let next = points.iter().cycle().skip(1);
    let twice = points
        .iter()
        .zip(next)
        .map(|(a, b)| at(a, 0) * at(b, 1) - at(a, 1) * at(b, 0));
    twice.sum::<f64>() / 2.0
}

/// What a laminator needs to know of a strip on the bias is in the report and in plan.json.
#[test]
fn pieces_on_the_bias_are_told_with_their_limit() {
    let bench = Bench::new(&NARROW.replace("120 mm", "320 mm").replace("[0]", "[45]"));
    let run = bench.run(&["plan", "job.toml", "--effort", "quick"]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    let files = bench.files("job-plan");
    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();
    let bias = &plan["layouts"][0]["pieces"][0]["bias"];
    let number = |key: &str| bias[key].as_f64().unwrap();
    let near = |a: f64, b: f64| (a - b).abs() < 1e-3;
    assert!(near(number("off_warp_deg"), 45.0) && near(number("width_mm"), 120.0));
    // Geometry: W·√2 − w.
    assert!(near(number("longest_mm"), 300.0 * 2.0_f64.sqrt() - 120.0));
    let report = text(&files["report.html"]);
    assert!(report.contains("id=\"bias\"") && report.contains("304.3 mm"));
    // A strip of no width.
    assert!(report.contains("424.3 mm"));
}

/// A left and a right gusset from one drawing, of a tape that may not be turned over, and a roll
/// of which the first full metre is cheaper than most of one.
const PAIR: &str = r#"
[cutting]
trim = "0 mm"

[cloth.tape]
weave = "unidirectional"
areal_weight = "200 g/m2"
roll_width = "400 mm"
price = "10 EUR/m"

[[cloth.tape.price_break]]
from = "1 m"
price = "1 EUR/m"

[[part]]
name = "PORT"
mirror = "STBD"
pattern = "gusset.svg"
cloth = "tape"
zero_direction = "10 deg"
SIDE
layup = "[30]"
"#;

/// Sides of 120, 160 and 200 mm, met in this order counter-clockwise.
const GUSSET: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">
<path d="M20 180V60L180 180Z"/></svg>"#;

#[test]
fn a_mirrored_pair_is_two_hands_with_mirrored_fibres() {
    for side in ["", "seen_from = \"tool\""] {
        let bench = Bench::new(&PAIR.replace("SIDE", side));
        fs::write(bench.path("gusset.svg"), GUSSET).unwrap();
        let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
        assert!(run.status.success(), "{}", text(&run.stderr));
        let plan: serde_json::Value =
            serde_json::from_slice(&bench.files("job-plan")["plan.json"]).unwrap();
        // For each hand: designed angle; is the side of 160 mm followed by the one of 120 mm on a
        // way round that keeps the cloth to the left; from the longest side counter-clockwise to
        // the warp and to the 0°.
        let hand = |id: &str| {
            let pieces = plan["layouts"][0]["pieces"].as_array().unwrap();
            let piece = pieces.iter().find(|p| p["id"] == id).unwrap();
            assert_eq!(piece["turned_over"], false);
            let at = |k: usize, axis: usize| piece["net"]["outer"][k % 3][axis].as_f64().unwrap();
            let sides: Vec<(f64, f64)> = (0..3)
                .map(|k| (at(k + 1, 0) - at(k, 0), at(k + 1, 1) - at(k, 1)))
                .collect();
            let long = |k: usize| sides[k % 3].0.hypot(sides[k % 3].1).round();
            let k = (0..3).find(|&k| long(k) == 160.0).unwrap();
            let longest = (0..3).find(|&k| long(k) == 200.0).unwrap();
            let (x, y) = sides[longest];
            let slope = warpwise::geometry::trig::direction(x, y).to_degrees();
            let from_longest = |degrees: f64| (degrees - slope).rem_euclid(180.0);
            let zero = piece["zero_direction"].as_f64().unwrap();
            (
                piece["angle_design"].as_f64().unwrap(),
                long(k + 1),
                [from_longest(0.0), from_longest(zero)],
            )
        };
        let (port, stbd) = (hand("PORT-1"), hand("STBD-1"));
        assert_ne!(port.1, stbd.1);
        // The longest side falls by 3 in 4, the 0° rises by 10°, the fibres by 40° on the drawing.
        // Seen from the bag side, every angle of one of the hands is the opposite one.
        let [as_drawn, over] = if side.is_empty() {
            [&port, &stbd]
        } else {
            [&stbd, &port]
        };
        let falls = 36.869_897_6;
        for (hand, sign) in [(as_drawn, 1.0), (over, -1.0)] {
            assert_eq!(hand.0, sign * 30.0, "{side} {port:?} {stbd:?}");
            for (found, drawn) in hand.2.iter().zip([40.0 + falls, 10.0 + falls]) {
                let off = (found - sign * drawn).rem_euclid(180.0);
                assert!(off.min(180.0 - off) < 0.01, "{side} {port:?} {stbd:?}");
            }
        }

        // Less than a metre is used; a whole one costs 1 EUR.
        assert_eq!(plan["purchase"][0]["length_mm"], 1000.0);
        assert_eq!(plan["purchase"][0]["cost"], 1.0);
        assert!(
            text(&run.stderr).contains("would do, but"),
            "{}",
            text(&run.stderr)
        );
    }
}

/// A plate 200 × 100 mm of a stitched biaxial, drawn from the mould side.
const BIAXIAL: &str = r#"
[cloth.bx]
weave = "biaxial"
areal_weight = "300 g/m2"
roll_width = "400 mm"

[cloth.tape]
weave = "unidirectional"
areal_weight = "200 g/m2"
roll_width = "400 mm"

[[part]]
name = "PLATE"
pattern = "gusset.svg"
seen_from = "tool"
cloth = "bx"

[[part.ply]]
angle = "45 deg"

[[part.ply]]
angle = "30 deg"
cloth = "tape"
"#;

#[test]
fn the_arrow_of_a_layup_sheet_is_the_warp_and_a_tool_side_drawing_is_told() {
    let bench = Bench::new(BIAXIAL);
    fs::write(bench.path("gusset.svg"), GUSSET).unwrap();
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    let files = bench.files("job-plan");
    let sheet = text(&files["layup/PLATE.html"]);
    // Drawn at 45° from the mould side the first layer lies at −45°, and the warp 45° from it.
    let numbers = |class: &str, n: usize| -> Vec<f64> {
        let path = format!("<path class=\"{class}\" d=\"M");
        let data = sheet.split(path.as_str()).nth(n).expect(class);
        let data = data.split('"').next().unwrap();
        let numbers = data.split(['L', ',']).map(|n| n.trim().parse::<f64>());
        numbers.collect::<Result<_, _>>().unwrap()
    };
    let slope = |line: &[f64]| (line[3] - line[1]) / (line[2] - line[0]);
    let across = numbers("warp", 1);
    // Along −90° on the part: to the lower left in the drawing of the lying ply.
    assert!(
        (slope(&across).abs() - 0.42 / 0.45).abs() < 0.02,
        "{across:?}"
    );
    for words in [
        ">−45°</text>",
        ">45°</text>",
        "−45°, warp 90°",
        "(45°)",
        "−30°",
        "(30°)",
    ] {
        assert!(sheet.contains(words), "{words}: {sheet}");
    }
    assert_eq!(sheet.matches("from the mould side").count(), 1);
    assert!(text(&files["layup/kit-list.html"]).contains("−45°, warp 90°"));
    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();
    assert_eq!(plan["parts"][0]["plies"][1]["angle_deg"], -30.0);
    let csv = text(&files["pieces.csv"]);
    assert!(csv.contains(",-30,-30,"), "{csv}");
    assert!(!files.contains_key("layup/label-sheet.html"));
}

#[test]
fn a_millimetre_too_long_is_told() {
    let job = r#"
[cutting]
end_margin = "0 mm"
trim = "0 mm"
[cloth.tape]
weave = "unidirectional"
turns = "none"
areal_weight = "200 g/m2"
roll_width = "125 mm"
selvedge = "0 mm"
sold_by = "159 mm"
[[part]]
name = "GUSSET"
pattern = "gusset.svg"
cloth = "tape"
layup = "[0]"
"#;
    let bench = Bench::new(job);
    fs::write(bench.path("gusset.svg"), GUSSET).unwrap();
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    let said = text(&run.stderr);
    assert!(
        said.contains("`tape` takes 1 mm (0.04 in) more than"),
        "{said}"
    );
    // Bought by the metre, it is far from less.
    let run = Bench::new(&job.replace("159", "1000"));
    fs::write(run.path("gusset.svg"), GUSSET).unwrap();
    let run = run.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert!(run.status.success() && !text(&run.stderr).contains("more than"));
}

#[test]
fn results_go_only_where_they_harm_nothing() {
    let bench = Bench::new(JOB);
    fs::create_dir(bench.path("mine")).unwrap();
    fs::write(bench.path("mine/letter.txt"), "dear").unwrap();
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--out", "mine"]);
    assert_eq!(run.status.code(), Some(3));
    assert!(text(&run.stderr).contains("not written by warpwise"));
    assert_eq!(bench.files("mine").len(), 1);
}

#[test]
fn wrong_usage_is_exit_code_2() {
    let bench = Bench::new(JOB);
    for arguments in [
        &["plan"][..],
        &["carve", "job.toml"],
        &["plan", "job.toml", "--effort", "hard"],
    ] {
        assert_eq!(bench.run(arguments).status.code(), Some(2), "{arguments:?}");
    }
}

#[test]
fn every_command_has_an_example_in_its_help() {
    let bench = Bench::new(JOB);
    let commands = [
        "plan", "check", "inspect", "compare", "new", "shop", "open", "board", "cut", "shelf",
    ];
    for command in commands {
        let help = text(&bench.run(&[command, "--help"]).stdout);
        let examples = help.split_once("Example").map(|(_, examples)| examples);
        let example = format!("warpwise {command} ");
        assert!(examples.is_some_and(|it| it.contains(&example)), "{help}");
    }
}

#[test]
fn summaries_for_machines_are_json() {
    let bench = Bench::new(JOB);
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--json"]);
    let summary: serde_json::Value = serde_json::from_slice(&run.stdout).unwrap();
    assert_eq!(summary["out"], "job-plan");
    assert!(summary["purchase"][0]["length_mm"].as_f64().unwrap() >= 500.0);
    let run = bench.run(&["check", "job.toml", "--json"]);
    let check: serde_json::Value = serde_json::from_slice(&run.stdout).unwrap();
    assert_eq!(check["pieces"].as_array().unwrap().len(), 4);
    let run = bench.run(&["inspect", "plate.svg", "--json"]);
    let inspection: serde_json::Value = serde_json::from_slice(&run.stdout).unwrap();
    assert_eq!(inspection["files"][0]["outlines"][0]["openings"], 1);
}

#[test]
fn a_job_file_that_is_not_there_is_named() {
    let bench = Bench::new(JOB);
    let run = bench.run(&["plan", "none.toml"]);
    assert_eq!(run.status.code(), Some(1));
    assert_eq!(
        text(&run.stderr),
        "error: the job file cannot be read: there is no such file\n  at none.toml\n"
    );
}

#[test]
fn what_only_the_pattern_can_tell_points_into_the_job() {
    insta::assert_snapshot!(
        "unknown_layer",
        refused(&JOB.replace("\"skin\"", "\"skim\""))
    );
    insta::assert_snapshot!(
        "unknown_zero_line",
        refused(&JOB.replace("\"zero\"", "\"cero\""))
    );
    insta::assert_snapshot!(
        "missing_pattern",
        neutral(&refused(&JOB.replace("plate.svg", "plaid.svg")))
    );
}

#[test]
fn impossible_pieces_say_by_how_much() {
    insta::assert_snapshot!("too_wide", refused(&JOB.replace("\"1 m\"", "\"150 mm\"")));
    let stepped = JOB.replace(
        "layup = \"[0/45]s\"",
        "[[part.ply]]\nangle = 0\nstep = \"-60 mm\"",
    );
    insta::assert_snapshot!("stepped_away", refused(&stepped));
}

#[test]
fn patterns_that_hold_no_outline_are_refused() {
    let wrong = [
        ("empty", ""),
        ("prose", "This is a shopping list."),
        (
            "open_only",
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="10mm" height="10mm" viewBox="0 0 10 10"><path d="M0 0H9"/></svg>"#,
        ),
        (
            "cut_short",
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"10mm\"",
        ),
        (
            "dxf_cut_short",
            "0\nSECTION\n2\nENTITIES\n0\nLINE\n8\n0\n10\n0.0\n",
        ),
    ];
    for (name, drawing) in wrong {
        let bench = Bench::new(JOB);
        fs::write(bench.path("plate.svg"), drawing).unwrap();
        let run = bench.run(&["check", "job.toml"]);
        assert_eq!(run.status.code(), Some(1), "{name}");
        insta::assert_snapshot!(format!("pattern_{name}"), text(&run.stderr));
    }
}

/// The separator of paths is the system's own.
fn neutral(said: &str) -> String {
    said.replace('\\', "/")
}

#[test]
fn the_first_job_of_the_examples_is_short_and_checks() {
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples");
    let first = fs::read_to_string(examples.join("first-job.toml")).unwrap();
    assert!(first.lines().count() <= 25);
    for job in ["first-job.toml", "dinghy.toml"] {
        Command::cargo_bin("warpwise")
            .unwrap()
            .arg("check")
            .arg(examples.join(job))
            .assert()
            .success();
    }
}

#[test]
fn a_time_effort_says_that_it_is_not_repeatable() {
    let bench = Bench::new(JOB);
    let run = bench.run(&["plan", "job.toml", "--effort", "0.2s"]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    assert!(
        text(&run.stdout).contains("not repeatable"),
        "{}",
        text(&run.stdout)
    );
    assert!(text(&bench.files("job-plan")["report.html"]).contains("limited by the clock"));
    let run = bench.run(&["plan", "job.toml", "--effort", "quick"]);
    assert!(!text(&run.stdout).contains("not repeatable"));
    assert!(!text(&bench.files("job-plan")["report.html"]).contains("limited by the clock"));
}

/// Starts a plan of two cloths that would take ten minutes, and presses Ctrl-C in the first.
#[cfg(unix)]
fn interrupted(bench: &Bench, extra: &[&str]) -> Output {
    use std::process::{Command, Stdio};
    use std::time::Duration;

    // A signal that comes before the search has begun ends the program at once: wait longer then.
    for wait in [0.5, 2.0, 8.0, 30.0] {
        let child = Command::new(env!("CARGO_BIN_EXE_warpwise"))
            .current_dir(bench.0.path())
            .args(["plan", "job.toml", "--effort", "600s"])
            .args(extra)
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        std::thread::sleep(Duration::from_secs_f64(wait));
        let id = child.id().to_string();
        assert!(
            Command::new("kill")
                .args(["-INT", &id])
                .status()
                .unwrap()
                .success()
        );
        let run = child.wait_with_output().unwrap();
        if run.status.code().is_some() {
            return run;
        }
    }
    panic!("the program ends at Ctrl-C however long one waits");
}

#[cfg(unix)]
#[test]
fn ctrl_c_writes_the_best_plan_so_far_and_says_so() {
    let second = r#"
[cloth.felt]
weave = "non-directional"
areal_weight = "150 g/m2"
roll_width = "1.5 m"

[[part]]
name = "BLEED"
pattern = "plate.svg"
outline = "skin"
cloth = "felt"
sets = 3
layup = "[0]"
"#;
    let bench = Bench::new(&format!("{JOB}{second}"));
    let run = interrupted(&bench, &["--quiet"]);
    assert_eq!(run.status.code(), Some(0), "{}", text(&run.stderr));
    assert!(text(&run.stderr).contains("stopped early: this is the best plan found so far"));
    let files = bench.files("job-plan");
    assert!(text(&files["report.html"]).contains("stopped early"));
    // The cloth whose turn had not come has a layout too, and no piece is missing.
    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();
    let counts: Vec<usize> = (plan["layouts"].as_array().unwrap().iter())
        .map(|layout| layout["pieces"].as_array().unwrap().len())
        .collect();
    assert_eq!(counts, [8, 3]);
    // Nothing is left beside the plan.
    assert_eq!(fs::read_dir(bench.0.path()).unwrap().count(), 3);
}

/// An offcut of 800 × 600 mm with one corner cut off.
const OFFCUT: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="700mm" viewBox="0 0 900 700">
<path id="offcut" d="M50 50H850L700 650H50Z"/></svg>"##;

/// `JOB` with more lines in its cloth.
fn job_with(cutting: &str, cloth: &str, sets: u32) -> String {
    JOB.replace("[cutting]", &format!("[cutting]\n{cutting}"))
        .replace("[[part]]", &format!("{cloth}\n[[part]]"))
        .replace("sets = 2", &format!("sets = {sets}"))
}

fn planned(bench: &Bench, job: &str, more: &[&str]) -> serde_json::Value {
    let arguments = [&["plan", job, "--effort", "quick", "--quiet"], more].concat();
    let run = bench.run(&arguments);
    assert!(run.status.success(), "{}", text(&run.stderr));
    let stem = job.trim_end_matches(".toml");
    let bytes = fs::read(bench.path(&format!("{stem}-plan/plan.json"))).unwrap();
    serde_json::from_slice(&bytes).unwrap()
}

#[test]
fn stock_is_used_first_and_what_is_left_serves_the_next_job() {
    let stock = r#"
[[cloth.glass.stock]]
name = "offcut"
file = "offcut.svg"
[[cloth.glass.stock.flaw]]
from = "200 mm"
length = "50 mm"
across = "100 mm"
width = "50 mm"
margin = "5 mm"
[[cloth.glass.stock]]
name = "roll-7"
length = "1.4 m"
"#;
    let bench = Bench::new(&job_with("", stock, 4));
    fs::write(bench.path("offcut.svg"), OFFCUT).unwrap();
    let plan = planned(&bench, "job.toml", &[]);
    let layouts = plan["layouts"].as_array().unwrap();
    assert_eq!(layouts[0]["stock"], "offcut");
    assert_eq!(layouts[1]["stock"], "roll-7");
    assert_eq!(layouts.len(), 2);
    assert_eq!(plan["purchase"][0]["length_mm"], 0);
    assert_eq!(plan["purchase"][0]["cost"], 0);
    let files = bench.files("job-plan");
    for file in ["cut/glass-1.dxf", "cut/glass-2.svg", "stock/glass-r1.json"] {
        assert!(files.contains_key(file), "{file}");
    }
    let areas = |key: &str| plan["cloths"][0][key].as_f64().unwrap();
    let lost = areas("stock_area_mm2")
        - areas("net_area_mm2")
        - areas("kept_area_mm2")
        - plan["cloths"][0]["waste"]["total_mm2"].as_f64().unwrap();
    assert!(lost.abs() < 1.0, "{lost} mm² are lost");

    let next = "\n[[cloth.glass.stock]]\nfile = \"job-plan/stock\"\n";
    fs::write(bench.path("next.toml"), job_with("", next, 1)).unwrap();
    let plan = planned(&bench, "next.toml", &[]);
    let from = plan["layouts"][0]["stock"].as_str().unwrap();
    assert!(from.starts_with("glass-r"), "{from}");
}

#[test]
fn the_cheapest_roll_on_offer_is_bought_and_a_set_costs_less_in_numbers() {
    let offers = r#"
[[cloth.glass.offer]]
roll_width = "0.5 m"
price = "3 EUR/m"
[[cloth.glass.offer]]
roll_width = "0.11 m"
price = "1 EUR/m"
"#;
    let bench = Bench::new(&job_with("", offers, 2));
    let plan = planned(&bench, "job.toml", &["--cost-per-set", "4"]);
    let bought = &plan["purchase"][0];
    let offers = bought["alternatives"].as_array().unwrap();
    assert_eq!(offers.len(), 3);
    assert_eq!(offers[2]["fits"], false);
    let cheapest = (offers.iter())
        .filter_map(|offer| offer["cost"].as_f64())
        .fold(f64::INFINITY, f64::min);
    let chosen = offers.iter().find(|offer| offer["chosen"] == true).unwrap();
    assert_eq!(chosen["cost"], cheapest);
    assert_eq!(bought["roll_width_mm"], chosen["roll_width_mm"]);
    let curve = plan["cost_per_set"].as_array().unwrap();
    let sets: Vec<u64> = curve.iter().map(|s| s["sets"].as_u64().unwrap()).collect();
    assert_eq!(sets, [1, 2, 3, 4]);
    assert_eq!(curve[1]["this_job"], true);
    let one = |i: usize| curve[i]["cost_of_one"].as_f64().unwrap();
    assert!(one(3) <= one(0));
}

#[test]
fn a_piece_longer_than_the_table_is_refused_with_a_reason() {
    let said = refused(&JOB.replace(
        "sold_by = \"0.5 m\"",
        "sold_by = \"0.5 m\"\ntable_length = \"150 mm\"",
    ));
    assert!(said.contains("end of the cutting table"), "{said}");
    assert!(said.contains("ply 2 of part `PLATE` is"), "{said}");
    assert!(
        said.contains("too long for the cutting table of `glass`"),
        "{said}"
    );
}

/// A plate of 220 × 120 mm with its trim on a table of 210 mm: two pieces with a lap of 25 mm. The roll
/// is too narrow to turn it a quarter.
#[test]
fn a_ply_longer_than_the_table_is_spliced_at_its_end_where_that_is_permitted() {
    let long = NARROW
        .replace(
            "roll_width = \"120 mm\"",
            "roll_width = \"150 mm\"\ntable_length = \"210 mm\"",
        )
        .replace("splice_lines = \"along\"", "");
    let refused = Bench::new(&long.replace("splice = \"lap\"", ""));
    let run = refused.run(&["check", "job.toml"]);
    assert_eq!(run.status.code(), Some(1));
    assert!(
        text(&run.stderr).contains("or permit a splice"),
        "{}",
        text(&run.stderr)
    );

    let bench = Bench::new(&long);
    let run = bench.run(&["check", "job.toml"]);
    assert!(run.status.success(), "{}", text(&run.stderr));
    let said = text(&run.stderr);
    assert!(said.contains("too long for the cutting table"), "{said}");
    let plan = planned(&bench, "job.toml", &[]);
    let pieces = plan["layouts"][0]["pieces"].as_array().unwrap();
    assert_eq!(pieces.len(), 4);
    for piece in pieces {
        assert_eq!(piece["splice"]["of"], 2);
        let xs = (piece["cut"]["outer"].as_array().unwrap().iter()).map(|p| p[0].as_f64().unwrap());
        let (low, high) = xs.fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(x), b.max(x)));
        assert!(high - low <= 210.0, "{low} to {high}");
    }
}

/// Resin, mould and bag for the plate of [`JOB`].
const WORK: &str = r#"
[resin]
ratio = "100:30"
pot_life = "25 min"
largest_batch = "20 g"
waste = "10 %"
pack = "500 g"
price = "20 EUR"
cure = "24 h at 20 °C <and> dry"

[mould]
wax_coats = 2

[bag]
vacuum = "25 inHg"

[bag.layer.breather]
price = "4 EUR/m"
"#;

fn with_work(job: &str) -> String {
    let with_fibre = job.replace(
        "roll_width = \"1 m\"",
        "roll_width = \"1 m\"\nfibre = \"e-glass\"",
    );
    format!("{WORK}{with_fibre}")
}

fn grams(value: &serde_json::Value) -> f64 {
    value.as_f64().unwrap()
}

#[test]
fn resin_bag_and_sheets_come_with_the_plan() {
    let job = with_work(JOB).replace("fibre = \"e-glass\"", "fibre = \"e-glass\"\nravels = true");
    let bench = Bench::new(&job);
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert_eq!(run.status.code(), Some(0), "{}", text(&run.stderr));
    let files = bench.files("job-plan");
    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();

    // Mass balance: cloth + resin = parts + trim + taken up + left in the pots.
    let resin = &plan["resin"];
    let sum: f64 = ["in_parts_g", "in_trim_g", "take_up_g", "left_over_g"]
        .iter()
        .map(|key| grams(&resin[key]))
        .sum();
    assert!((sum - grams(&resin["mixed_g"])).abs() < 0.01);
    let weighed = grams(&resin["part_a_g"]) + grams(&resin["part_b_g"]);
    assert!((weighed - grams(&resin["mixed_g"])).abs() < 0.01);
    assert!((grams(&resin["part_b_g"]) / grams(&resin["part_a_g"]) - 0.3).abs() < 1e-4);
    let part = &plan["parts"][0];
    assert!((grams(&resin["in_parts_g"]) - 2.0 * grams(&part["resin_mass_g"])).abs() < 0.01);

    // Batches keep their limit, serve every ply, and make up the whole.
    let batches = resin["batches"].as_array().unwrap();
    let mixed: f64 = batches.iter().map(|batch| grams(&batch["mixed_g"])).sum();
    assert!((mixed - grams(&resin["mixed_g"])).abs() < 0.01);
    assert!(batches.iter().all(|batch| grams(&batch["mixed_g"]) <= 20.0));
    let served: Vec<&str> = batches
        .iter()
        .flat_map(|batch| batch["plies"].as_array().unwrap())
        .map(|id| id.as_str().unwrap())
        .collect();
    assert_eq!(served.len(), 8);
    assert_eq!((served[0], served[7]), ("PLATE-1#1", "PLATE-4#2"));

    // The plate is 200 × 100 mm less a hole of 20 mm radius; 25 inHg are 84.66 kPa.
    let bag = &plan["bagging"]["parts"][0];
    let area = 20_000.0 - std::f64::consts::PI * 400.0;
    assert!((grams(&bag["area_mm2"]) / area - 1.0).abs() < 1e-3);
    assert!((grams(&plan["bagging"]["vacuum_kpa"]) - 84.66).abs() < 0.005);
    assert!((grams(&bag["force_n"]) / (84_659.725 * area * 1e-6) - 1.0).abs() < 1e-3);
    for layer in plan["bagging"]["layers"].as_array().unwrap() {
        assert_eq!(layer["layout"]["pieces"].as_array().unwrap().len(), 2);
    }

    for (name, expected) in [
        ("layup/PLATE.html", "24 h at 20 °C &lt;and&gt; dry"),
        ("layup/PLATE.html", "PLATE-4#2"),
        ("layup/PLATE.html", "coat 2"),
        ("layup/kit-list.html", "in the order of laying"),
        (
            "layup/kit-list.html",
            "tape the edge before cutting, beside the finished edge",
        ),
        ("bag/breather.svg", "PLATE-breather#2"),
        ("report.html", "layup/PLATE.html"),
        ("report.html", "Shopping list"),
    ] {
        assert!(text(&files[name]).contains(expected), "{name}: {expected}");
    }
}

#[test]
fn without_fibre_no_resin_is_guessed() {
    let bench = Bench::new(&format!("{WORK}{JOB}"));
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert_eq!(run.status.code(), Some(0), "{}", text(&run.stderr));
    assert!(text(&run.stderr).contains("no resin is worked out: cloth `glass`"));
    let files = bench.files("job-plan");
    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();
    assert!(plan["resin"].is_null() && plan["parts"][0]["thickness_mm"].is_null());
}

#[test]
fn a_bag_that_is_wider_than_its_roll_is_told() {
    let narrow = "[bag.layer.bag-film]\nroll_width = \"120 mm\"\n";
    let bench = Bench::new(&with_work(JOB).replace(
        "[bag.layer.breather]",
        &format!("{narrow}\n[bag.layer.breather]"),
    ));
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert_eq!(run.status.code(), Some(0), "{}", text(&run.stderr));
    assert!(
        text(&run.stderr)
            .contains("wider than the roll of bag-film: PLATE-bag-film#1, PLATE-bag-film#2")
    );
    let plan: serde_json::Value =
        serde_json::from_slice(&bench.files("job-plan")["plan.json"]).unwrap();
    let film = &plan["bagging"]["layers"][3];
    assert_eq!(film["too_wide"].as_array().unwrap().len(), 2);
}

#[test]
fn ply_drop_offs_show_by_region() {
    let job = r#"
[cloth.glass]
weave = "plain"
areal_weight = "200 g/m2"
fibre = "e-glass"
roll_width = "1 m"

[[part]]
name = "PLATE"
pattern = "plate.svg"
outline = "skin"
zero_line = "zero"
cloth = "glass"
trim = "0 mm"

[[part.ply]]
angle = 0

[[part.ply]]
angle = 0
step = "-10 mm"

[[part.ply]]
angle = 0
shift = ["400 mm", "0 mm"]
"#;
    let bench = Bench::new(job);
    let run = bench.run(&["plan", "job.toml", "--effort", "quick", "--quiet"]);
    assert_eq!(run.status.code(), Some(0), "{}", text(&run.stderr));
    let plan: serde_json::Value =
        serde_json::from_slice(&bench.files("job-plan")["plan.json"]).unwrap();
    let map = &plan["parts"][0]["regions"];
    assert_eq!(map["apart"].as_array().unwrap(), &[3]);
    let regions: Vec<(String, f64)> = map["regions"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| (r["plies"].to_string(), grams(&r["area_mm2"])))
        .collect();
    let hole = |r: f64| std::f64::consts::PI * r * r;
    let inner = 180.0 * 80.0 - hole(30.0);
    let all = 20_000.0 - hole(20.0);
    assert_eq!(regions[0].0, "[1,2]");
    assert_eq!(regions[1].0, "[1]");
    assert!((regions[0].1 / inner - 1.0).abs() < 1e-3, "{regions:?}");
    assert!(
        (regions[1].1 / (all - inner) - 1.0).abs() < 1e-3,
        "{regions:?}"
    );
}

/// Plies of 100 m × 1 m; `[bag]` on rolls that are wide enough.
const STRIP: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" width="100000mm" height="1000mm" viewBox="0 0 100000 1000">
<path id="strip" d="M0 0H100000V1000H0Z"/></svg>"##;

fn strips(bench: &Bench, cloth: &str, sets: u32) -> String {
    fs::write(bench.path("plate.svg"), STRIP).unwrap();
    let job = job_with("trim = \"0 mm\"", cloth, sets)
        .replace("trim = \"10 mm\"\n", "")
        .replace("outline = \"skin\"\nzero_line = \"zero\"\n", "")
        .replace("roll_width = \"1 m\"", "roll_width = \"1.27 m\"")
        .replace("[0/45]s", "[0]");
    fs::write(bench.path("job.toml"), &job).unwrap();
    job
}

/// No cut line lies on another, and every piece is on a roll: both are worked out here from boxes.
fn assert_laid_apart(plan: &serde_json::Value, n_pieces: usize) {
    let mut n = 0;
    for layout in plan["layouts"].as_array().unwrap() {
        let mut spans: Vec<(f64, f64)> = Vec::new();
        for piece in layout["pieces"].as_array().unwrap() {
            let points = piece["cut"]["outer"].as_array().unwrap();
            let x: Vec<f64> = points.iter().map(|p| p[0].as_f64().unwrap()).collect();
            let (low, high) = (
                x.iter().copied().fold(f64::MAX, f64::min),
                x.iter().copied().fold(0.0, f64::max),
            );
            assert!((high - low - 100_000.0).abs() < 0.01);
            spans.push((low, high));
        }
        spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        assert!(spans.windows(2).all(|w| w[1].0 >= w[0].1 + 4.0 - 0.01));
        assert!(layout["used_length"].as_f64().unwrap() >= spans.last().unwrap().1);
        n += spans.len();
    }
    assert_eq!(n, n_pieces);
}

#[test]
fn more_than_a_kilometre_of_one_cloth_is_planned() {
    let bench = Bench::new(JOB);
    strips(&bench, "", 11);
    let plan = planned(&bench, "job.toml", &[]);
    assert_laid_apart(&plan, 11);
    assert!(plan["purchase"][0]["length_mm"].as_f64().unwrap() > 1.1e6);
    // What is on hand is used first here too.
    strips(&bench, "stock = [{ length = \"250 m\" }]", 13);
    let plan = planned(&bench, "job.toml", &[]);
    assert_laid_apart(&plan, 13);
    assert_eq!(plan["layouts"].as_array().unwrap().len(), 2);
}

#[test]
fn more_than_a_kilometre_of_bag_film_is_planned() {
    let bench = Bench::new(JOB);
    let job = strips(&bench, "", 11);
    let bag = "[bag]\nvacuum = \"25 inHg\"\n\
        [bag.layer.breather]\nroll_width = \"2 m\"\n[bag.layer.bag-film]\nroll_width = \"2 m\"\n";
    fs::write(bench.path("job.toml"), format!("{bag}{job}")).unwrap();
    let plan = planned(&bench, "job.toml", &[]);
    let layers = plan["bagging"]["layers"].as_array().unwrap();
    let film = layers.iter().find(|l| l["name"] == "bag-film").unwrap();
    assert_eq!(film["layout"]["pieces"].as_array().unwrap().len(), 11);
    assert!(film["layout"]["used_length"].as_f64().unwrap() > 1.1e6);
}

#[test]
fn more_cloth_than_can_be_laid_out_is_refused_before_the_search() {
    let bench = Bench::new(JOB);
    strips(&bench, "", 2000);
    let run = bench.run(&["plan", "job.toml", "--effort", "normal", "--quiet"]);
    assert_eq!(run.status.code(), Some(1));
    let said = text(&run.stderr);
    assert!(said.contains("more than 100 km of `glass`"), "{said}");
    assert!(!said.contains("fault of warpwise"), "{said}");
}

/// A bonnet of 1300 × 800 mm, 300 mm strut and splices; cloth 1000 mm wide, and what else is offered.
fn bonnet(own: (u32, u32), offers: &[(u32, u32)]) -> String {
    let roll = |(width, price): (u32, u32)| {
        format!("roll_width = \"{width} mm\"\nprice = \"{price} EUR/m\"\nsold_by = \"0.1 m\"\n")
    };
    let offers = offers
        .iter()
        .map(|&offer| format!("[[cloth.twill.offer]]\n{}", roll(offer)));
    format!(
        "[cutting]\ntrim = \"10 mm\"\nsplice = \"lap\"\n\n[cloth.twill]\nweave = \"twill\"\n\
         areal_weight = \"200 g/m2\"\n{}{}\n[[part]]\nname = \"BONNET\"\npattern = \"bonnet.svg\"\n\
         outline = \"bonnet\"\ncloth = \"twill\"\nlayup = \"[0/45]\"\n[[part]]\nname = \"STRUT\"\n\
         pattern = \"bonnet.svg\"\noutline = \"strut\"\ncloth = \"twill\"\nlayup = \"[0/45/0]\"\n",
        roll(own),
        offers.collect::<String>()
    )
}

/// An offer is planned wholly for itself, splices included, and never makes a job dearer.
#[test]
fn an_offer_never_makes_a_job_dearer() {
    let bench = Bench::new(JOB);
    let rolls = [(1000, 20), (1270, 26), (1524, 33)];
    let (length, width) = (1900, 930);
    let drawing = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"3000mm\" height=\"2000mm\" viewBox=\"0 0 3000 2000\">\
         <path id=\"bonnet\" d=\"M0 0H{length}L{} {width}H60Z\"/><path id=\"strut\" d=\"M0 1500H{}V1590H0Z\"/></svg>",
        length - 120,
        length / 2
    );
    fs::write(bench.path("bonnet.svg"), drawing).unwrap();
    let cost = |job: &str| -> f64 {
        fs::write(bench.path("job.toml"), job).unwrap();
        let plan = planned(&bench, "job.toml", &[]);
        let bought = &plan["purchase"][0];
        let chosen = bought["alternatives"].as_array().into_iter().flatten();
        for chosen in chosen.filter(|offer| offer["chosen"] == true) {
            assert_eq!(chosen["roll_width_mm"], bought["roll_width_mm"]);
            assert_eq!(chosen["cost"], bought["cost"]);
        }
        bought["cost"].as_f64().unwrap()
    };
    let alone = rolls.map(|roll| cost(&bonnet(roll, &[])));
    let [first, own, last] = rolls;
    for (offers, alone) in [
        (&[first][..], alone[0].min(alone[1])),
        (
            &[first, last],
            alone.into_iter().fold(f64::INFINITY, f64::min),
        ),
    ] {
        let together = cost(&bonnet(own, offers));
        assert!(
            together <= alone + 1e-9,
            "{own:?} and {offers:?}: {together}, alone {alone}"
        );
    }
}

/// A roll of 1270 mm is 50 800 units wide, more than 16 bits hold (32 767). With two units to a number
/// it is 25 400 wide, and a page of 1600 mm is 32 000 long.
#[test]
fn hp_gl_stays_within_sixteen_bits_where_a_plotter_reads_no_more() {
    let job = |numbers: &str| {
        JOB.replace("roll_width = \"1 m\"", "roll_width = \"1270 mm\"")
            .replace("sets = 2", "sets = 24")
            + &format!("\n[output]\nfiles = [\"hpgl\"]\n{numbers}\n")
    };
    let run = |job: &str| {
        let bench = Bench::new(job);
        let run = bench.run(&["plan", "job.toml", "--effort", "quick"]);
        assert!(run.status.success(), "{}", text(&run.stderr));
        let files = bench.files("job-plan");
        (text(&run.stderr), text(&files["cut/glass.hpgl"]), files)
    };
    let numbers = |hpgl: &str| -> Vec<i64> {
        let words = hpgl.split(|c: char| c != '-' && !c.is_ascii_digit());
        words.filter_map(|word| word.parse().ok()).collect()
    };
    let (said, plain, _) = run(&job(""));
    assert!(said.contains("hpgl_numbers = \"16 bit\""), "{said}");
    assert!(numbers(&plain).into_iter().max() > Some(32_767));

    let (said, hpgl, files) = run(&job("hpgl_numbers = \"16 bit\""));
    assert!(!said.contains("16 bit"), "{said}");
    assert!(hpgl.starts_with("IN;\nIP0,0,2000,2000;SC0,1000,0,1000;\n"));
    assert!(
        numbers(&hpgl)
            .into_iter()
            .all(|n| (-32_768..=32_767).contains(&n))
    );
    let plan: serde_json::Value = serde_json::from_slice(&files["plan.json"]).unwrap();
    let layout = &plan["layouts"][0];
    let frames = layout["cut_order"]["frames"].as_array().unwrap();
    assert!(frames.len() > 1);
    assert_eq!(hpgl.matches("PG;").count(), frames.len() - 1);
    // Two units of 1/1016 in to a number: every corner of the pieces on the first page is there.
    let pairs: std::collections::BTreeSet<(i64, i64)> = hpgl
        .split("PG;")
        .next()
        .unwrap()
        .split(';')
        .flat_map(|command| {
            numbers(command)
                .chunks_exact(2)
                .map(|p| (p[0], p[1]))
                .collect::<Vec<_>>()
        })
        .collect();
    let end = frames[0]["to"].as_f64().unwrap();
    let mut n_seen = 0;
    for piece in layout["pieces"].as_array().unwrap() {
        let points = piece["cut"]["outer"].as_array().unwrap().iter();
        let at = points.map(|p| (p[0].as_f64().unwrap(), p[1].as_f64().unwrap()));
        let on_page: Vec<(f64, f64)> = at.filter(|p| p.0 < end).collect();
        for (x, y) in on_page {
            let number = |mm: f64| (mm * 20.0).round() as i64;
            assert!(pairs.contains(&(number(x), number(y))), "{x}, {y}");
            n_seen += 1;
        }
    }
    assert!(n_seen > 100);
}
