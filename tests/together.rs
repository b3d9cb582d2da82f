//! Several jobs over one stock: `warpwise plan A B C`, against each job planned by itself.
//!
//! The three jobs of `examples/shop` and ten generated ones. Areas are measured in what was written, by the
//! tests' own arithmetic.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;
use warpwise::geometry::trig::sin_cos_radians;

/// Largest area that may be lost or found, mm².
const BALANCE_MM2: f64 = 1.0;

fn run(folder: &Path, arguments: &[&str]) -> (i32, String) {
    let mut command = Command::cargo_bin("warpwise").unwrap();
    let output = command
        .current_dir(folder)
        .args(arguments)
        .output()
        .unwrap();
    let text = [&output.stdout[..], &output.stderr[..]].concat();
    (
        output.status.code().unwrap_or(-1),
        String::from_utf8(text).unwrap(),
    )
}

fn good(folder: &Path, arguments: &[&str]) -> String {
    let (code, text) = run(folder, arguments);
    assert_eq!(code, 0, "{arguments:?}: {text}");
    text
}

/// What `plan` of these jobs writes into `out`, and what it says.
fn plan(folder: &Path, jobs: &[&str], out: &str) -> (Value, String) {
    let options = ["--out", out, "--effort", "quick", "--threads", "1"];
    let said = good(folder, &[&["plan"], jobs, &options].concat());
    let text = fs::read(folder.join(out).join("plan.json")).unwrap();
    (serde_json::from_slice(&text).unwrap(), said)
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

/// The pieces of a plan by id, with their cloth.
fn pieces(plan: &Value) -> BTreeMap<String, (String, Value)> {
    let mut found = BTreeMap::new();
    for layout in list(&plan["layouts"]) {
        for piece in list(&layout["pieces"]) {
            let id = piece["id"].as_str().unwrap().to_owned();
            let cloth = layout["cloth"].as_str().unwrap().to_owned();
            let before = found.insert(id.clone(), (cloth, piece.clone()));
            assert!(before.is_none(), "{id} is there twice");
        }
    }
    found
}

fn shoelace(ring: &Value) -> f64 {
    let points: Vec<[f64; 2]> = serde_json::from_value(ring.clone()).unwrap();
    let next = points.iter().cycle().skip(1);
    let cross = points
        .iter()
        .zip(next)
        .map(|(a, b)| a[0] * b[1] - b[0] * a[1]);
    (cross.sum::<f64>() / 2.0).abs()
}

fn area(outline: &Value) -> f64 {
    let openings: f64 = list(&outline["openings"]).iter().map(shoelace).sum();
    shoelace(&outline["outer"]) - openings
}

/// Area inside the cut lines of each cloth, mm².
fn cut_areas(plan: &Value) -> BTreeMap<String, f64> {
    let mut areas = BTreeMap::new();
    for (cloth, piece) in pieces(plan).into_values() {
        *areas.entry(cloth).or_default() += area(&piece["cut"]);
    }
    areas
}

/// Of each cloth the length used, the length bought and the cost.
fn bought(plan: &Value) -> BTreeMap<String, [f64; 3]> {
    let cloths = list(&plan["purchase"]).iter().map(|bought| {
        let name = bought["cloth"].as_str().unwrap().to_owned();
        let layouts = list(&plan["layouts"]).iter();
        let fresh = layouts.filter(|l| l["cloth"] == name.as_str() && l["stock"].is_null());
        let used = fresh.map(|l| number(&l["used_length"])).sum();
        let cost = bought["cost"].as_f64().unwrap_or(0.0);
        (name, [used, number(&bought["length_mm"]), cost])
    });
    cloths.collect()
}

/// The plan of all `jobs` holds what their own plans do, and takes no more.
fn compare(alone: &[(String, Value)], together: &Value) {
    let mut wanted: BTreeMap<String, (String, String)> = BTreeMap::new();
    let (mut areas, mut sums) = (BTreeMap::new(), BTreeMap::<String, [f64; 3]>::new());
    for (title, plan) in alone {
        for (id, (cloth, _)) in pieces(plan) {
            wanted.insert(id, (title.clone(), cloth));
        }
        for (cloth, area) in cut_areas(plan) {
            *areas.entry(cloth).or_default() += area;
        }
        for (cloth, own) in bought(plan) {
            let sum = sums.entry(cloth).or_default();
            sum.iter_mut().zip(own).for_each(|(sum, own)| *sum += own);
        }
    }
    let found: BTreeMap<String, (String, String)> = pieces(together)
        .into_iter()
        .map(|(id, (cloth, piece))| (id, (piece["job"].as_str().unwrap().to_owned(), cloth)))
        .collect();
    assert_eq!(found, wanted);
    for (cloth, area) in cut_areas(together) {
        let of_jobs: f64 = areas[&cloth];
        assert!(
            (area - of_jobs).abs() <= BALANCE_MM2,
            "{cloth}: {area} {of_jobs}"
        );
    }
    let cent_each = 0.01 * alone.len() as f64;
    for (cloth, [used, length, cost]) in bought(together) {
        let of_jobs = sums[&cloth];
        assert!(used <= of_jobs[0] + 1e-3, "{cloth}: {used} {of_jobs:?}");
        assert!(length <= of_jobs[1] + 1e-3, "{cloth}: {length} {of_jobs:?}");
        assert!(
            cost <= of_jobs[2] + cent_each,
            "{cloth}: {cost} {of_jobs:?}"
        );
        let saving = list(&together["savings"]).iter();
        let saving = saving
            .into_iter()
            .find(|s| s["cloth"] == cloth.as_str())
            .unwrap();
        for (at, purchase, key) in [
            (0, used, "used_mm"),
            (1, length, "length_mm"),
            (2, cost, "cost"),
        ] {
            let told = |of: &str| saving[of][key].as_f64().unwrap_or(0.0);
            assert!((told("together") - purchase).abs() < 1e-3, "{saving}");
            assert!(
                (told("one_by_one") - of_jobs[at]).abs() < 1e-3,
                "{saving} {of_jobs:?}"
            );
        }
    }
}

/// `examples/shop` and its drawings in a folder of their own.
fn example() -> TempDir {
    let folder = tempfile::tempdir().unwrap();
    let repository = Path::new(env!("CARGO_MANIFEST_DIR"));
    for (from, to) in [("examples/shop", "jobs/shop"), ("patterns", "patterns")] {
        fs::create_dir_all(folder.path().join(to)).unwrap();
        for entry in fs::read_dir(repository.join(from)).unwrap() {
            let path = entry.unwrap().path();
            if path.is_file() {
                let name = path.file_name().unwrap();
                fs::copy(&path, folder.path().join(to).join(name)).unwrap();
            }
        }
    }
    folder
}

const JOBS: [(&str, &str); 3] = [
    ("jobs/shop/covers.toml", "Tank covers"),
    ("jobs/shop/foredeck.toml", "Foredeck"),
    ("jobs/shop/small.toml", "Small parts"),
];

#[test]
fn three_jobs_take_less_together_and_each_keeps_what_is_its_own() {
    let folder = example();
    let folder = folder.path();
    let alone: Vec<(String, Value)> = JOBS
        .iter()
        .enumerate()
        .map(|(n, (job, title))| {
            let (plan, _) = plan(folder, &[job], &format!("alone-{n}"));
            ((*title).to_owned(), plan)
        })
        .collect();
    let (together, said) = plan(folder, &JOBS.map(|(job, _)| job), "all");
    compare(&alone, &together);
    assert!(said.contains("twill: planned one by one "), "{said}");
    assert!(said.contains(" EUR; together "), "{said}");
    for ((title, alone), job) in alone.iter().zip(list(&together["jobs"])) {
        assert_eq!(job["title"], title.as_str());
        assert_eq!(job["job_number"], alone["job_number"]);
        for own in ["resin", "bagging"] {
            assert_eq!(job[own], alone[own], "{own} of {title}");
        }
        let own = folder.join("all/jobs").join(job["name"].as_str().unwrap());
        assert!(own.join("layup/sheets.pdf").is_file());
        assert!(own.join("bag/peel-ply.dxf").is_file());
        let report = fs::read_to_string(own.join("report.html")).unwrap();
        assert!(report.contains(&format!("<h1>{title}</h1>")), "{title}");
        for part in list(&job["parts"]) {
            let sheet = format!("layup/{}.html", part.as_str().unwrap());
            assert!(own.join(&sheet).is_file(), "{sheet}");
        }
    }
    // What each bears of the cloth is all of it.
    let cents = |costs: &Value| (number(&costs["order"]["cloth"]) * 100.0).round();
    let jobs = list(&together["jobs"]).iter();
    let shares: f64 = jobs.map(|job| cents(&job["costs"])).sum();
    let all: f64 = bought(&together)
        .values()
        .map(|[.., cost]| cost * 100.0)
        .sum();
    assert!((shares - all).abs() <= 3.0, "{shares} {all}");
    // The same again, to the byte.
    let before = fs::read(folder.join("all/plan.json")).unwrap();
    plan(folder, &JOBS.map(|(job, _)| job), "all");
    assert!(before == fs::read(folder.join("all/plan.json")).unwrap());
}

/// What the journal of a shelf says that was taken, put back, bought, in parts and waste, mm².
fn journal(shelf: &Path) -> (BTreeMap<String, [f64; 2]>, [f64; 3]) {
    let text = fs::read_to_string(shelf.join("journal.txt")).unwrap();
    let mut moved: BTreeMap<String, [f64; 2]> = BTreeMap::new();
    let mut cloth = [0.0; 3];
    for line in text.lines() {
        let fields: Vec<&str> = line.split('|').map(str::trim).collect();
        if fields[2] != "cut" {
            continue;
        }
        for field in &fields[5..] {
            let (kind, entries) = field.split_once(':').unwrap();
            for entry in entries.split(';').filter(|entry| !entry.trim().is_empty()) {
                let words: Vec<&str> = entry.split_whitespace().collect();
                let number = |at: usize| words[at].parse::<f64>().unwrap();
                match kind {
                    "off" => moved.entry(words[0].to_owned()).or_default()[0] += number(2),
                    "on" => moved.entry(words[0].to_owned()).or_default()[1] += number(2),
                    "cloth" => cloth
                        .iter_mut()
                        .enumerate()
                        .for_each(|(n, sum)| *sum += number(n + 1)),
                    other => panic!("{other} in {line}"),
                }
            }
        }
    }
    (moved, cloth)
}

/// Everything that came onto the shelf and was bought is in parts, waste or still there.
fn conserved(shelf: &Path, plans: &[&Value]) {
    let (moved, [fresh, in_parts, waste]) = journal(shelf);
    let [off, on] = moved
        .values()
        .fold([0.0, 0.0], |[off, on], own| [off + own[0], on + own[1]]);
    let lost = fresh + off - in_parts - waste - on;
    assert!(lost.abs() <= BALANCE_MM2, "{lost} mm² are lost");
    let net = plans.iter().flat_map(|plan| pieces(plan).into_values());
    let net: f64 = net.map(|(_, piece)| area(&piece["net"])).sum();
    assert!((net - in_parts).abs() <= BALANCE_MM2, "{net} {in_parts}");
    for (name, [off, on]) in &moved {
        assert!(*off == 0.0 || (off - on).abs() <= BALANCE_MM2, "{name}");
        assert_eq!(
            shelf.join(format!("{name}.json")).is_file(),
            *off == 0.0,
            "{name}"
        );
    }
}

fn with_shelf(folder: &Path) {
    let shop = folder.join("jobs/shop/shop.toml");
    let text = fs::read_to_string(&shop).unwrap();
    fs::write(&shop, format!("shelf = \"shelf\"\n{text}")).unwrap();
}

#[test]
fn small_parts_are_cut_from_what_the_jobs_before_left() {
    let folder = example();
    let folder = folder.path();
    with_shelf(folder);
    let mut plans = Vec::new();
    for (n, (job, _)) in JOBS.iter().enumerate() {
        plans.push(plan(folder, &[job], &format!("plan-{n}")).0);
        good(folder, &["cut", job]);
    }
    conserved(
        &folder.join("jobs/shop/shelf"),
        &plans.iter().collect::<Vec<_>>(),
    );
    let from_shelf = list(&plans[2]["layouts"]).iter();
    let from_shelf = from_shelf.filter(|layout| !layout["stock"].is_null());
    let n: usize = from_shelf.map(|layout| list(&layout["pieces"]).len()).sum();
    assert!(n >= 3, "{n} small pieces are cut from remnants");
}

#[test]
fn jobs_together_reserve_and_are_cut_as_one() {
    let folder = example();
    let folder = folder.path();
    with_shelf(folder);
    let put = ["--cloth", "twill", "--length", "1.2 m", "--width", "700 mm"];
    good(folder, &[&["shelf", "jobs/shop/shelf"], &put[..]].concat());
    let jobs = [JOBS[0].0, JOBS[2].0];
    let (plan, _) = plan(folder, &jobs, "two");
    assert!(
        list(&plan["layouts"])
            .iter()
            .any(|l| l["stock"] == "twill-r1")
    );
    let (code, said) = run(folder, &["cut", jobs[0]]);
    assert_eq!(code, 1, "{said}");
    let said = good(folder, &["cut", jobs[0], jobs[1]]);
    assert!(said.contains("Tank covers + Small parts is cut"), "{said}");
    let (moved, [fresh, in_parts, waste]) = journal(&folder.join("jobs/shop/shelf"));
    let [off, on] = moved
        .values()
        .fold([0.0, 0.0], |[off, on], own| [off + own[0], on + own[1]]);
    assert!((off - 1200.0 * 700.0).abs() <= BALANCE_MM2);
    assert!((fresh + off - in_parts - waste - on).abs() <= BALANCE_MM2);
}

/// Numbers that look like chance, the same each time.
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }
}

/// A job of one to three parts with four to seven corners, of one or both cloths.
fn generated(folder: &Path, n: u64) -> (String, String) {
    let mut chance = Chance(n + 1);
    let mut drawing = String::new();
    let mut parts = String::new();
    for part in 0..=chance.below(3) {
        let corners = 4 + chance.below(4);
        let (long, wide) = (120 + chance.below(600), 80 + chance.below(350));
        let points: Vec<String> = (0..corners)
            .map(|k| {
                let turn = (k as f64 + 0.3 + 0.05 * chance.below(9) as f64) / corners as f64;
                let (sin, cos) = sin_cos_radians(turn * std::f64::consts::TAU);
                let at = |mid: f64, by: u64, unit: f64| mid + by as f64 / 2.0 * unit;
                format!("{:.1} {:.1}", at(500.0, long, cos), at(500.0, wide, sin))
            })
            .collect();
        drawing.push_str(&format!(
            "<g id=\"p{part}\"><path d=\"M {} Z\"/></g>",
            points.join(" L ")
        ));
        let cloth = if chance.below(3) == 0 { "uni" } else { "twill" };
        let layup = ["[0]", "[0/90]", "[0/45]s"][chance.below(3) as usize];
        parts.push_str(&format!(
            "[[part]]\nname = \"P{part}\"\npattern = \"g{n}.svg\"\noutline = \"p{part}\"\ncloth = \"{cloth}\"\n\
             layup = \"{layup}\"\nsets = {}\n",
            1 + chance.below(2)
        ));
    }
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1000mm\" height=\"1000mm\" viewBox=\"0 0 1000 1000\">\
         {drawing}</svg>"
    );
    fs::write(folder.join(format!("g{n}.svg")), svg).unwrap();
    let job = format!(
        "title = \"Generated {n}\"\n[output]\nfiles = [\"dxf\"]\n[cutting]\ntrim = \"8 mm\"\n\
         [cloth.twill]\nweave = \"twill\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\nprice = \"11.30 EUR/m\"\n\
         sold_by = \"0.25 m\"\n[cloth.uni]\nweave = \"unidirectional\"\nareal_weight = \"300 g/m2\"\n\
         roll_width = \"800 mm\"\nprice = \"7.15 EUR/m\"\nspare = \"5 %\"\n{parts}"
    );
    fs::write(folder.join(format!("g{n}.toml")), job).unwrap();
    (format!("g{n}.toml"), format!("Generated {n}"))
}

#[test]
fn generated_jobs_never_take_more_together_than_one_by_one() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let mut jobs = Vec::new();
    for n in 0..4 {
        let (file, title) = generated(folder, n);
        let (alone, _) = plan(folder, &[&file], &format!("alone-{n}"));
        jobs.push((file, title, alone));
    }
    for n in [2, 4] {
        for some in jobs.chunks(n) {
            let files: Vec<&str> = some.iter().map(|(file, ..)| &file[..]).collect();
            let (together, _) = plan(folder, &files, "together");
            // Parts that several jobs have are named by their job.
            let alone: Vec<(String, Value)> = some
                .iter()
                .map(|(file, title, plan)| (title.clone(), renamed(plan, file, some)))
                .collect();
            compare(&alone, &together);
        }
    }
}

/// The plan of one job with its parts called as they are among `others`.
fn renamed(plan: &Value, file: &str, others: &[(String, String, Value)]) -> Value {
    let names = |plan: &Value| -> BTreeSet<String> {
        let parts = list(&plan["parts"]).iter();
        parts
            .map(|part| part["name"].as_str().unwrap().to_owned())
            .collect()
    };
    let mut plan = plan.clone();
    for layout in plan["layouts"].as_array_mut().unwrap() {
        for piece in layout["pieces"].as_array_mut().unwrap() {
            let part = piece["part"].as_str().unwrap().to_owned();
            let n = others
                .iter()
                .filter(|(.., other)| names(other).contains(&part))
                .count();
            if n > 1 {
                let job = file.trim_end_matches(".toml");
                piece["id"] = format!("{job}.{}", piece["id"].as_str().unwrap()).into();
            }
        }
    }
    plan
}

#[test]
fn stock_that_both_jobs_list_is_there_once() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let mut files = Vec::new();
    for n in 0..2 {
        let (file, _) = generated(folder, n);
        let text = fs::read_to_string(folder.join(&file)).unwrap();
        let stock = "[[cloth.twill.stock]]\nname = \"rest\"\nlength = \"600 mm\"\n[cloth.uni]";
        fs::write(folder.join(&file), text.replace("[cloth.uni]", stock)).unwrap();
        files.push(file);
    }
    let files: Vec<&str> = files.iter().map(|file| &file[..]).collect();
    let (together, _) = plan(folder, &files, "together");
    let stock: Vec<&Value> = (list(&together["layouts"]).iter())
        .filter(|layout| !layout["stock"].is_null())
        .collect();
    assert_eq!(stock.len(), 1);
    let checked = good(folder, &["check", files[0], files[1]]);
    assert!(checked.contains("Generated 0 + Generated 1"), "{checked}");
}

#[test]
fn jobs_that_do_not_go_together_are_refused() {
    let folder = tempfile::tempdir().unwrap();
    let folder = folder.path();
    let (a, _) = generated(folder, 0);
    let (b, _) = generated(folder, 1);
    let (code, said) = run(folder, &["plan", &a, &a]);
    assert_eq!(code, 1);
    assert!(
        said.contains("this job has the title of g0.toml: `Generated 0`"),
        "{said}"
    );
    let other = fs::read_to_string(folder.join(&b)).unwrap();
    let other = other
        .replace("11.30 EUR/m", "12 EUR/m")
        .replace("200 g/m2", "210 g/m2");
    fs::write(folder.join(&b), other).unwrap();
    let (code, said) = run(folder, &["plan", &a, &b]);
    assert_eq!(code, 1);
    assert!(
        said.contains("cloth `twill` is not as in the jobs before: `areal_weight`, `price` differ"),
        "{said}"
    );
    assert!(!folder.join("g0-g1-plan").exists());
}
