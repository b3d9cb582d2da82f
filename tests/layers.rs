//! What is drawn of joints, flaws, frames and remnants, in every form that a job may ask for.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::collections::BTreeMap;
use std::fs;

use assert_cmd::Command;
use dxf::entities::{Entity, EntityType};

/// A plate of 200 × 100 mm with a round opening.
const PLATE: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">
<path id="plate" d="M20 20H220V120H20Z M100 70a20 20 0 1 0 40 0a20 20 0 1 0 -40 0Z"/></svg>"#;

/// An offcut of 800 × 600 mm with one corner cut off.
const OFFCUT: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="900mm" height="700mm" viewBox="0 0 900 700">
<path id="offcut" d="M50 50H850L700 650H50Z"/></svg>"#;

/// Plates in two pieces, on a flawed roll that goes over a short table.
const SPLICED: &str = r#"
[cutting]
trim = "10 mm"
splice = "lap"
splice_lines = "along"
table_length = "300 mm"

[cloth.glass]
weave = "plain"
areal_weight = "200 g/m2"
roll_width = "120 mm"
[[cloth.glass.flaw]]
from = "100 mm"
length = "40 mm"
across = "0 mm"
width = "30 mm"

[[part]]
name = "PLATE"
pattern = "plate.svg"
zero_direction = "0 deg"
cloth = "glass"
sets = 2
layup = "[0]"
"#;

/// Whole plates on an odd offcut, of which some is kept.
const ON_AN_OFFCUT: &str = r#"
[cloth.glass]
weave = "plain"
areal_weight = "200 g/m2"
roll_width = "1 m"
[[cloth.glass.stock]]
name = "offcut"
file = "offcut.svg"

[[part]]
name = "PLATE"
pattern = "plate.svg"
zero_direction = "0 deg"
cloth = "glass"
layup = "[0]"
"#;

/// The files of the plan for `job` with more in its `[output]`.
fn files(job: &str, output: &str) -> BTreeMap<String, Vec<u8>> {
    let folder = tempfile::tempdir().unwrap();
    let path = |name: &str| folder.path().join(name);
    fs::write(path("plate.svg"), PLATE).unwrap();
    fs::write(path("offcut.svg"), OFFCUT).unwrap();
    let kinds = r#"files = ["dxf", "svg", "hpgl", "gcode", "templates"]"#;
    fs::write(
        path("job.toml"),
        format!("{job}\n[output]\n{kinds}\n{output}"),
    )
    .unwrap();
    let run = Command::cargo_bin("warpwise")
        .unwrap()
        .current_dir(folder.path())
        .args(["plan", "job.toml", "--effort", "quick", "--quiet"])
        .output()
        .unwrap();
    assert!(run.status.success(), "{run:?}");
    let cut = fs::read_dir(path("job-plan/cut")).unwrap();
    let mut files: BTreeMap<String, Vec<u8>> = cut
        .map(|entry| entry.unwrap().path())
        .map(|path| {
            let ending = path.extension().unwrap().to_str().unwrap().to_owned();
            (ending, fs::read(path).unwrap())
        })
        .collect();
    let plan = fs::read(path("job-plan/plan.json")).unwrap();
    files.insert("json".to_owned(), plan);
    files
}

/// What a drawing holds, block or not.
fn entities(drawing: &dxf::Drawing) -> Vec<&Entity> {
    let in_blocks = drawing.blocks().flat_map(|block| &block.entities);
    let all = drawing.entities().chain(in_blocks);
    all.filter(|e| !matches!(e.specific, EntityType::Insert(_)))
        .collect()
}

/// How much lies on each layer, and how far it reaches in mm.
fn layers(drawing: &dxf::Drawing, mm: f64) -> BTreeMap<String, (usize, [f64; 4])> {
    let mut layers = BTreeMap::new();
    for entity in entities(drawing) {
        let points: Vec<(f64, f64)> = match &entity.specific {
            EntityType::LwPolyline(line) => line.vertices.iter().map(|v| (v.x, v.y)).collect(),
            EntityType::Polyline(line) => {
                let at = |v: &dxf::entities::Vertex| (v.location.x, v.location.y);
                line.vertices().map(at).collect()
            }
            EntityType::Line(line) => vec![(line.p1.x, line.p1.y), (line.p2.x, line.p2.y)],
            _ => continue,
        };
        let name = entity.common.layer.clone();
        let none = [f64::INFINITY, f64::INFINITY, -f64::INFINITY, -f64::INFINITY];
        let (n, reach) = layers.entry(name).or_insert((0, none));
        *n += 1;
        for (x, y) in points {
            let (x, y) = (x * mm, y * mm);
            *reach = [
                reach[0].min(x),
                reach[1].min(y),
                reach[2].max(x),
                reach[3].max(y),
            ];
        }
    }
    // Texts and letters are told apart elsewhere.
    layers.remove("LABEL");
    layers
}

fn drawing(files: &BTreeMap<String, Vec<u8>>) -> dxf::Drawing {
    dxf::Drawing::load(&mut &files["dxf"][..]).unwrap()
}

/// Paths and lines of each layer of an SVG, by the name of the group they are in.
fn svg_paths(svg: &[u8]) -> BTreeMap<String, usize> {
    let text = std::str::from_utf8(svg).unwrap();
    let document = roxmltree::Document::parse(text).unwrap();
    let mut found = BTreeMap::new();
    for node in document.descendants().filter(|n| n.has_tag_name("path")) {
        let name = |n: roxmltree::Node<'_, '_>| {
            let name = n.attribute("class").or(n.attribute("id"))?;
            name.chars()
                .all(|c| c.is_ascii_uppercase())
                .then(|| name.to_owned())
        };
        let layer = node.ancestors().find_map(name).unwrap();
        *found.entry(layer).or_insert(0) += 1;
    }
    found.remove("LABEL");
    found
}

#[test]
fn every_form_shows_the_same_of_the_cloth() {
    for (job, wanted) in [
        (SPLICED, ["CLOTH", "SPLICE", "FLAW", "FRAME"].as_slice()),
        (ON_AN_OFFCUT, &["CLOTH", "KEEP"]),
    ] {
        let usual = files(job, "");
        let expected = layers(&drawing(&usual), 1.0);
        let paths = svg_paths(&usual["svg"]);
        for layer in wanted {
            assert!(expected.contains_key(*layer), "{layer} of {expected:?}");
            let is_rect = *layer == "CLOTH" && job == SPLICED;
            assert!(is_rect || paths.contains_key(*layer), "{layer}: {paths:?}");
        }
        for form in [
            "dxf = \"R12\"",
            "pieces = \"blocks\"",
            "dxf = \"R12\"\npieces = \"blocks\"\ntext = \"strokes\"\narcs = true",
            "units = \"in\"\ntext = \"strokes\"",
        ] {
            let files = files(job, form);
            let mm = if form.contains("units") { 25.4 } else { 1.0 };
            let found = layers(&drawing(&files), mm);
            for (layer, (n, reach)) in &expected {
                assert_eq!(found[layer].0, *n, "{layer} with {form}");
                // A bulge reaches beyond its vertices.
                let is_round = form.contains("arcs") && ["CUT", "NET"].contains(&layer.as_str());
                for (a, b) in found[layer].1.iter().zip(reach) {
                    assert!(is_round || (a - b).abs() < 1e-3, "{layer} with {form}");
                }
            }
            assert_eq!(svg_paths(&files["svg"]), paths, "{form}");
        }
    }
}

#[test]
fn texts_at_joints_are_there_as_texts_and_as_strokes() {
    let words = |drawing: &dxf::Drawing| -> Vec<String> {
        let text = |entity: &&Entity| match &entity.specific {
            EntityType::Text(text) => Some(text.value.clone()),
            _ => None,
        };
        entities(drawing).iter().filter_map(text).collect()
    };
    for pieces in ["exploded", "blocks"] {
        let files = files(SPLICED, &format!("pieces = \"{pieces}\""));
        let words = words(&drawing(&files));
        for mate in ["PLATE-1-A#1 under", "PLATE-1-B#2 over"] {
            assert!(words.iter().any(|w| w.contains(mate)), "{mate}: {words:?}");
        }
    }
    let files = files(SPLICED, "text = \"strokes\"");
    assert!(words(&drawing(&files)).is_empty());
}

#[test]
fn work_goes_frame_by_frame_on_the_table() {
    let files = files(
        SPLICED,
        "[output.layers]\nsplice = { pen = 5 }\nflaw = { pen = 6, name = \"STAIN\" }\n\
         [output.gcode]\npen = \"T1\"",
    );
    let plan: serde_json::Value = serde_json::from_slice(&files["json"]).unwrap();
    let layout = &plan["layouts"][0];
    let on_table = layout["frames"].as_array().unwrap();
    let in_order = layout["cut_order"]["frames"].as_array().unwrap();
    assert!(on_table.len() > 1);
    assert_eq!(on_table.len(), in_order.len());
    let mut free = Vec::new();
    for (frame, order) in on_table.iter().zip(in_order) {
        assert_eq!([&frame[0], &frame[1]], [&order["from"], &order["to"]]);
        let cuts = order["cuts"].as_array().unwrap().iter();
        free.extend(cuts.filter(|c| c["opening"].is_null()).map(|c| &c["id"]));
    }
    let pieces = layout["pieces"].as_array().unwrap();
    assert_eq!(free, pieces.iter().map(|p| &p["id"]).collect::<Vec<_>>());
    // Nobody is in two frames, and every frame has its piece.
    let frame_of = |p: &serde_json::Value| p["frame"].as_u64().unwrap();
    assert!(
        pieces
            .windows(2)
            .all(|p| frame_of(&p[0]) <= frame_of(&p[1]))
    );

    let hpgl = std::str::from_utf8(&files["hpgl"]).unwrap();
    assert_eq!(hpgl.matches("PG;").count(), on_table.len() - 1);
    assert!(hpgl.contains("SP5;") && hpgl.contains("SP6;"));
    let gcode = std::str::from_utf8(&files["nc"]).unwrap();
    assert_eq!(gcode.matches("M0\n").count(), on_table.len() - 1);
    assert!(layers(&drawing(&files), 1.0).contains_key("STAIN"));
}

#[test]
fn frames_of_a_machine_are_drawn_without_a_table() {
    let job = SPLICED.replace("table_length = \"300 mm\"\n", "");
    let files = files(&job, "frame = \"260 mm\"");
    let plan: serde_json::Value = serde_json::from_slice(&files["json"]).unwrap();
    let order = plan["layouts"][0]["cut_order"]["frames"]
        .as_array()
        .unwrap();
    assert!(order.len() > 1 && plan["layouts"][0]["frames"].is_null());
    let (n, [x0, y0, x1, y1]) = layers(&drawing(&files), 1.0)["FRAME"];
    assert_eq!(n, order.len() - 1);
    assert_eq!((y0, y1), (0.0, 120.0));
    let begins = |k: usize| order[k]["from"].as_f64().unwrap();
    assert!((x0 - begins(1)).abs() < 0.01 && (x1 - begins(order.len() - 1)).abs() < 0.01);
    let svg = std::str::from_utf8(&files["svg"]).unwrap();
    assert!(svg.contains("id=\"FRAME\""));
}
