//! The table of the job file's keys against the program itself: every key it lists is read, every
//! example is good, every default is what happens without the key; and the reference is up to date.
//!
//! `WARPWISE_RECORD=1` writes the reference anew.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fs;
use std::path::Path;

use serde_json::Value;
use warpwise::diag::{Diagnostics, SourceText};
use warpwise::job::{Job, reference, schema};

/// A job that has every table, each with a mark after which one more key of it can stand.
const JOB: &str = r##"
shop = "shop.toml"
# [the job file]
[cutting]
# [cutting]
[drawing]
# [drawing]
[laminate]
# [laminate]
[resin]
ratio = "100:30"
pot_life = "25 min"
pack = "1 kg"
# [resin]
[resin.hardener.slow]
# [resin.hardener.NAME]
[bag]
tape_roll = "25 ft"
# [bag]
[bag.layer.breather]
# [bag.layer.NAME]
[mould]
wax_pack = "400 g"
pva_pack = "1 l"
# [mould]
[gel_coat]
areal_weight = "600 g/m2"
ratio = "100:2"
pot_life = "15 min"
pack = "1 kg"
# [gel_coat]
[labour]
hourly_rate = "45 EUR"
# [labour]
[output]
# [output]
[output.layers.cut]
# [output.layers.LAYER]
[output.layers]
# [output.layers]
[output.knife]
kind = "plain"
# [output.knife]
[output.gcode]
# [output.gcode]
[cloth.twill]
weave = "twill"
areal_weight = "193 g/m2"
roll_width = "1270 mm"
fibre = "carbon"
price = "40 USD/yd"
repeat = "8 mm"
# [cloth.NAME]
[cloth.twill.stiffness]
e1 = "60 GPa"
e2 = "60 GPa"
g12 = "4 GPa"
nu12 = 0.05
# [cloth.NAME.stiffness]
[[cloth.twill.price_break]]
from = "10 yd"
price = "34 USD/yd"
# [[cloth.NAME.price_break]]
[[cloth.twill.offer]]
price = "41 USD/yd"
# [[cloth.NAME.offer]]
[[cloth.twill.stock]]
length = "3 m"
# [[cloth.NAME.stock]]
[[cloth.twill.flaw]]
from = "1 m"
length = "10 mm"
# [[cloth.NAME.flaw]]
[[part]]
name = "HOOD"
pattern = "hood.svg"
cloth = "twill"
ply = [{ angle = 0, appearance = true }]
[[part]]
name = "A"
pattern = "a.svg"
cloth = "twill"
# [[part]]
[[part.keep_out_box]]
x = "1 mm"
y = "1 mm"
width = "10 mm"
height = "10 mm"
# [[part.keep_out_box]]
[[part.mark]]
is = "notch"
points = [["120 mm", "0 mm"]]
# [[part.mark]]
[[part.ply]]
angle = 0
# [[part.ply]]
[[part]]
name = "B"
pattern = "b.svg"
cloth = "twill"
layup = "[0/90]s"
[[part.core]]
on_ply = 1
thickness = "5 mm"
density = "100 kg/m3"
# [[part.core]]
[[part]]
name = "C"
mould = "c.stl"
units = "mm"
cloth = "twill"
layup = "[0/90]s"
[part.area]
seed = ["0 mm", "0 mm", "0 mm"]
# [part.area]
[part.area.above]
z = "1 mm"
# [part.area.above]
[part.area.lap]
z = "20 mm"
# [part.area.lap]
[part.lay]
net = "2 mm"
# [part.lay]
[[pin]]
piece = "B-1"
along = "1.2 m"
across = "100 mm"
# [[pin]]
"##;

/// The shop that it names; the job says everything itself.
const SHOP: &str = "[resin.slow]\nratio = \"100:30\"\npot_life = \"60 min\"\n";

fn read(text: &str) -> Result<(Job, Diagnostics), Diagnostics> {
    Job::read_with_shop("job.toml", text, &mut |path| {
        Ok(SourceText {
            name: path.to_owned(),
            text: SHOP.to_owned(),
        })
    })
}

/// The job with `line` after the mark of the table `header`; a line that has the key already goes.
fn with(header: &str, line: &str) -> String {
    let mark = format!("# {header}\n");
    assert_eq!(JOB.matches(&mark).count(), 1, "no place for {header}");
    let (before, after) = JOB.split_once(&mark).unwrap();
    let table_start = before.rfind("\n[").unwrap_or(0);
    let (outer, table) = before.split_at(table_start);
    let key = line.split(" = ").next().unwrap();
    let kept = table.lines().filter(|l| l.split(" = ").next() != Some(key));
    let table: String = kept.map(|l| format!("{l}\n")).collect();
    format!("{outer}{table}{line}\n{after}")
}

/// The tables of the schema: how each begins in a job, and its keys.
fn tables(schema: &Value) -> Vec<(String, &Value)> {
    let mut tables = vec![("[the job file]".to_owned(), &schema["properties"])];
    let defs = schema["$defs"].as_object().unwrap().iter();
    for (name, table) in defs.filter(|(name, _)| !name.starts_with("quantity.")) {
        let header = [format!("# [{name}]\n"), format!("# [[{name}]]\n")]
            .into_iter()
            .find(|mark| JOB.contains(mark.as_str()))
            .unwrap_or_else(|| panic!("the test's job has no table {name}"));
        tables.push((header[2..].trim().to_owned(), &table["properties"]));
    }
    tables
}

/// `value` as TOML has it on one line.
fn toml(value: &Value) -> String {
    match value {
        Value::Object(table) => {
            let entries = table.iter().map(|(key, v)| format!("{key} = {}", toml(v)));
            format!("{{ {} }}", entries.collect::<Vec<_>>().join(", "))
        }
        Value::Array(list) => format!("[{}]", list.iter().map(toml).collect::<Vec<_>>().join(", ")),
        other => other.to_string(),
    }
}

/// What a key wants beside it.
fn beside(header: &str, key: &str) -> &'static str {
    match (header, key) {
        ("[[cloth.NAME.flaw]]", "across") => "\nwidth = \"50 mm\"",
        ("[[cloth.NAME.flaw]]", "width") => "\nacross = \"50 mm\"",
        ("[[part.core]]", "price") => "\nsheet = [\"1200 mm\", \"800 mm\"]",
        ("[gel_coat]", "density") => "\nfilm = \"0.5 mm\"",
        ("[resin]", "post_cure_ramp" | "post_cure_soak") => "\npost_cure = \"60 °C\"",
        ("[[part.core]]", "modulus") => "\nshear_modulus = \"28 MPa\"",
        ("[[part.core]]", "shear_modulus") => "\nmodulus = \"75 MPa\"",
        ("[[part]]", "stages") => "\nlayup = \"[0/90]s\"",
        ("[[part]]", "runs_on_from") => "\nply = [{ angle = 0, appearance = true }]",
        ("[part.area]", "line_along" | "line_at" | "line_units") => "\nline = \"trim.svg\"",
        ("[part.area.lap]", "x") => "\n[part.area.below]\nx = \"9 m\"",
        ("[part.area.lap]", "y") => "\n[part.area.below]\ny = \"9 m\"",
        ("[output.knife]", "kind") => "\noffset = \"0.5 mm\"",
        _ => "",
    }
}

/// What a key cannot stand beside: lines that go then.
fn instead_of(header: &str, key: &str) -> &'static [&'static str] {
    match (header, key) {
        ("[[cloth.NAME.stock]]", "file") => &["length = \"3 m\"\n"],
        ("[[part]]", "mould") => &[
            "pattern = \"a.svg\"\n",
            "[[part.keep_out_box]]\nx = \"1 mm\"\ny = \"1 mm\"\nwidth = \"10 mm\"\nheight = \"10 mm\"\n",
            "[[part.mark]]\nis = \"notch\"\npoints = [[\"120 mm\", \"0 mm\"]]\n",
        ],
        ("[[part]]", "layup" | "stages" | "runs_on_from") => &["\n[[part.ply]]", "angle = 0\n"],
        ("[gel_coat]", "density") => &["areal_weight = \"600 g/m2\"\n"],
        ("[[part.core]]", "areal_weight") => &["density = \"100 kg/m3\"\n"],
        _ => &[],
    }
}

#[test]
fn every_key_of_the_schema_is_read_and_its_example_is_good() {
    let schema = schema();
    let (mut n, mut bad) = (0, Vec::new());
    for (header, keys) in tables(&schema) {
        for (key, about) in keys.as_object().unwrap() {
            // Tables as a whole stand in the job already.
            let inner = about.to_string();
            if inner.contains("$ref") && !inner.contains("#/$defs/quantity.") {
                continue;
            }
            let line = format!("{key} = {}", toml(&about["examples"][0]));
            let mut text = with(&header, &(line.clone() + beside(&header, key)));
            for gone in instead_of(&header, key) {
                let at = text.rfind(gone).unwrap();
                text.replace_range(at..at + gone.len(), "");
            }
            if let Err(problems) = read(&text) {
                let said = problems.iter().map(|p| p.message.clone());
                bad.push(format!(
                    "{header} {line}: {}",
                    said.collect::<Vec<_>>().join("; ")
                ));
            }
            n += 1;
        }
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
    assert!(n > 150, "only {n} keys");
}

#[test]
fn a_default_written_out_changes_nothing() {
    let schema = schema();
    let read = |text: &str| read(text).unwrap().0;
    // Places in the file differ by the line that is added.
    let plain = |job: &Job| {
        format!("{job:?}")
            .split("span: ")
            .map(|rest| {
                rest.split_once('}')
                    .map_or(rest, |(_, after)| after)
                    .to_owned()
            })
            .collect::<String>()
    };
    let without_text = |job: &Job, text: &str| plain(job).replace(&format!("{text:?}"), "");
    let mut n = 0;
    for (header, keys) in tables(&schema) {
        for (key, about) in keys.as_object().unwrap() {
            if about["default"].is_null() {
                continue;
            }
            let text = with(&header, &format!("{key} = {}", toml(&about["default"])));
            let expected = with(&header, &format!("{key} = left_out"));
            let expected = expected.replace(&format!("{key} = left_out\n"), "");
            assert_eq!(
                without_text(&read(&text), &text),
                without_text(&read(&expected), &expected),
                "{header} {key}"
            );
            n += 1;
        }
    }
    assert!(n > 50, "only {n} defaults");
}

/// What a schema can see of a mistake, it must see alike: a misspelt key is unknown to both.
#[test]
fn a_misspelt_key_is_known_to_neither() {
    for (header, keys) in tables(&schema()) {
        assert!(!keys.as_object().unwrap().contains_key("kolour"));
        let problems = read(&with(&header, "kolour = 1")).unwrap_err();
        assert!(
            problems
                .iter()
                .any(|p| p.message.contains("has no key `kolour`")),
            "{header}: {:?}",
            problems.iter().map(|p| &p.message).collect::<Vec<_>>()
        );
    }
}

#[test]
fn the_reference_is_up_to_date() {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/job-reference.md");
    if std::env::var_os("WARPWISE_RECORD").is_some() {
        fs::write(&file, reference()).unwrap();
    }
    let written = fs::read_to_string(&file)
        .unwrap_or_default()
        .replace("\r\n", "\n");
    assert!(
        written == reference(),
        "write it anew: WARPWISE_RECORD=1 cargo test --test schema"
    );
}

/// The README names what a beginner needs and sends its readers to the reference for the rest.
#[test]
fn links_from_the_readme_lead_to_headings_of_the_reference() {
    let readme = Path::new(env!("CARGO_MANIFEST_DIR")).join("README.md");
    let readme = fs::read_to_string(readme).unwrap();
    let reference = reference();
    let headings: Vec<String> = (reference.lines())
        .filter_map(|line| line.strip_prefix("## "))
        .map(|heading| heading.replace(['`', '[', ']', '.'], "").to_lowercase())
        .collect();
    let links = readme.split("examples/job-reference.md#").skip(1);
    let links: Vec<&str> = links.filter_map(|rest| rest.split(')').next()).collect();
    assert!(links.len() >= 8, "{links:?}");
    for link in links {
        assert!(
            headings.iter().any(|h| h == link),
            "no heading #{link}: {headings:?}"
        );
    }
}
