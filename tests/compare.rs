//! `warpwise compare` from outside.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fs;
use std::process::Output;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;

/// A strip of 1000 × 100 mm.
const STRIP: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="1100mm" height="200mm" viewBox="0 0 1100 200">
<path id="strip" d="M20 20H1020V120H20Z"/>
</svg>"#;

/// Straight and at 45°, on a roll on which the strip at 45° just fits.
const JOB: &str = r#"
[cutting]
trim = "0 mm"
gap = "0 mm"
end_margin = "0 mm"

[cloth.glass]
weave = "twill"
areal_weight = "200 g/m2"
roll_width = "1.2 m"
selvedge = "0 mm"
turn_over = false
price = "10 EUR/m"
sold_by = "0.1 m"

[[part]]
name = "SPAR"
pattern = "strip.svg"
cloth = "glass"
sets = 1
layup = "[0/45/-45]"
"#;

fn run(bench: &TempDir, job: &str, more: &[&str]) -> Output {
    fs::write(bench.path().join("strip.svg"), STRIP).unwrap();
    fs::write(bench.path().join("job.toml"), job).unwrap();
    Command::cargo_bin("warpwise")
        .unwrap()
        .current_dir(bench.path())
        .args(["compare", "job.toml"])
        .args(more)
        .output()
        .unwrap()
}

fn ways(job: &str, effort: &str, more: &[&str]) -> Vec<Value> {
    let bench = tempfile::tempdir().unwrap();
    let output = run(
        &bench,
        job,
        &[&["--json", "--effort", effort], more].concat(),
    );
    assert!(output.status.success(), "{output:?}");
    let told: Value = serde_json::from_slice(&output.stdout).unwrap();
    told["ways"].as_array().unwrap().clone()
}

fn way<'a>(ways: &'a [Value], name: &str) -> &'a Value {
    let found = ways.iter().find(|way| way["name"] == name);
    found.unwrap_or_else(|| panic!("no way called {name} in {ways:#?}"))
}

#[test]
fn straight_plies_take_what_arithmetic_says() {
    let ways = ways(JOB, "0.2s", &["--all", "--widths", "1.2 m, 2.4 m"]);
    let designed = way(&ways, "as designed");
    assert_eq!(designed["pieces_on_bias"], 2);

    // Twelve strips of 100 mm side by side fill the width: three take 1 m, or crosswise 0.3 m.
    let straight = way(&ways, "all at 0/90");
    assert_eq!(straight["pieces_on_bias"], 0);
    let length = straight["cloths"][0]["used_length"].as_f64().unwrap();
    assert!((length - 300.0).abs() < 0.3, "{length}");
    assert_eq!(straight["cost"][0]["amount"], 3.0);

    // At 45° the strip is (1000 + 100)/√2 = 777.8 mm long on the roll, whatever its turn.
    let length = designed["cloths"][0]["used_length"].as_f64().unwrap();
    assert!(length > 777.8, "{length}");
    assert!(straight["used_area_mm2"].as_f64() < designed["used_area_mm2"].as_f64());
}

#[test]
fn every_way_changes_what_it_says() {
    let ways = ways(
        JOB,
        "0.2s",
        &["--all", "--widths", "1.2 m, 2.4 m, 500 mm", "--times", "3"],
    );
    // The roll is 1.2 m wide already, so that width is no other way.
    let names: Vec<&str> = ways.iter().map(|w| w["name"].as_str().unwrap()).collect();
    assert_eq!(
        names,
        [
            "as designed",
            "all at 0/90",
            "45s from biaxial",
            "glass 2400 mm wide",
            "glass 500 mm wide",
            "±3° tolerance",
            "turned over",
            "3 times the order",
        ]
    );
    // The same price by area: twice the width at twice the price.
    let wide = way(&ways, "glass 2400 mm wide");
    assert!(wide["change"].as_str().unwrap().contains("20.00 EUR/m"));
    assert_eq!(wide["cloths"][0]["roll_width"], 2400.0);
    // Strips at 45° are straight on a biaxial.
    let biaxial = way(&ways, "45s from biaxial");
    assert_eq!(biaxial["pieces_on_bias"], 0);
    assert_eq!(biaxial["cloths"].as_array().unwrap().len(), 2);
    // At 45° the strip is 777.8 mm wide on the roll.
    let narrow = way(&ways, "glass 500 mm wide");
    assert!(
        narrow["problems"][0].as_str().unwrap().contains("wide"),
        "{narrow}"
    );
    let more = way(&ways, "3 times the order");
    assert_eq!(more["pieces"], 9);
    let mass = |way: &Value| way["cloth_mass_g"].as_f64().unwrap();
    assert!((mass(more) - 3.0 * mass(&ways[0])).abs() < 1e-3);
}

#[test]
fn a_named_effort_gives_the_same_on_any_number_of_threads() {
    let one = ways(JOB, "quick", &["--threads", "1"]);
    let two = ways(JOB, "quick", &["--threads", "2"]);
    assert_eq!(one, two);
}

#[test]
fn the_page_is_written_whole_and_shows_every_way() {
    let bench = tempfile::tempdir().unwrap();
    let output = run(
        &bench,
        JOB,
        &["--quiet", "--effort", "0.1s", "--html", "ways.html"],
    );
    assert!(output.status.success(), "{output:?}");
    assert!(output.stdout.is_empty());
    let page = fs::read_to_string(bench.path().join("ways.html")).unwrap();
    for name in ["as designed", "all at 0/90", "45s from biaxial"] {
        assert!(page.contains(name));
    }
    assert!(!page.contains("http://") && !page.contains("https://"));

    let output = run(
        &bench,
        JOB,
        &["--effort", "0.1s", "--html", "strip.svg/ways.html"],
    );
    assert_eq!(output.status.code(), Some(3));
}

#[test]
fn what_is_asked_for_wrongly_is_refused() {
    let bench = tempfile::tempdir().unwrap();
    let output = run(&bench, JOB, &["--cloth", "glas"]);
    assert_eq!(output.status.code(), Some(1));
    let told = String::from_utf8(output.stderr).unwrap();
    assert!(told.contains("`glass`"), "{told}");
    for wrong in [
        ["--widths", "38"],
        ["--tolerance", "60 deg"],
        ["--times", "0"],
    ] {
        assert_eq!(run(&bench, JOB, &wrong).status.code(), Some(2), "{wrong:?}");
    }
}

/// The strip of two carbon plies askew, with a glass biaxial in the shop that is far cheaper.
const CARBON: &str = r#"
[cutting]
trim = "0 mm"

[cloth.carbon]
weave = "twill"
fibre = "carbon"
areal_weight = "200 g/m2"
roll_width = "1.2 m"
price = "40 EUR/m"
offer = [{ roll_width = "1.5 m", price = "44 EUR/m" }]

[cloth.double]
weave = "biaxial"
fibre = "e-glass"
areal_weight = "300 g/m2"
roll_width = "1.2 m"
price = "6 EUR/m"

[[part]]
name = "SPAR"
pattern = "strip.svg"
cloth = "carbon"
layup = "[0/45]s"
"#;

#[test]
fn widths_alone_are_widths_alone_without_what_else_the_shop_offers() {
    let ways = ways(CARBON, "quick", &["--widths", "900 mm"]);
    let names: Vec<&str> = ways.iter().map(|w| w["name"].as_str().unwrap()).collect();
    assert_eq!(names, ["as designed", "carbon 900 mm wide"]);
    // That width, not the 1.5 m of the offer.
    assert_eq!(ways[1]["cloths"][0]["roll_width"], 900.0);
    assert_eq!(ways[1]["laminate_change"], Value::Null);
}

#[test]
fn a_cheaper_laminate_that_is_less_stiff_is_never_just_the_cheapest() {
    let ways = ways(CARBON, "0.1s", &[]);
    let biaxial = way(&ways, "45s from biaxial");
    // Carbon stays carbon: 200 g/m2 twice, dry, over 0.1 m² of each of four plies.
    let cloths: Vec<&str> = (biaxial["cloths"].as_array().unwrap().iter())
        .map(|cloth| cloth["cloth"].as_str().unwrap())
        .collect();
    assert_eq!(cloths, ["carbon", "carbon-biaxial"]);
    assert_eq!(biaxial["cloth_mass_g"], 80.0);
    // Without plies at 45° the sheet shears more easily.
    let straight = way(&ways, "all at 0/90");
    assert_eq!(straight["laminate_change"]["may_be_less_stiff"], true);
    let shear = |way: &Value| way["parts"][0]["gxy_mpa"].as_f64().unwrap();
    let share = 100.0 * (1.0 - shear(straight) / shear(&ways[0]));
    let told = straight["laminate_change"]["told"].as_str().unwrap();
    assert!(told.contains(&format!("Gxy −{share:.0} %")), "{told}");

    let bench = tempfile::tempdir().unwrap();
    let output = run(&bench, CARBON, &["--effort", "0.1s"]);
    let text = String::from_utf8(output.stdout).unwrap();
    let cheapest = text.lines().find(|l| l.starts_with("Cheapest: ")).unwrap();
    assert!(
        !cheapest.contains("0/90") && !cheapest.contains("biaxial"),
        "{text}"
    );
    let marked = text
        .lines()
        .find(|l| l.starts_with("Cheaper, but "))
        .unwrap();
    assert!(marked.contains("less stiff"), "{text}");
    let apart = text.find("less stiff:").unwrap();
    assert!(text.find("  all at 0/90").unwrap() > apart, "{text}");
}

#[test]
fn a_laminate_of_unknown_stiffness_is_not_called_as_stiff() {
    let ways = ways(JOB, "0.1s", &[]);
    let straight = way(&ways, "all at 0/90");
    assert_eq!(straight["laminate_change"]["may_be_less_stiff"], true);
    assert_eq!(way(&ways, "turned over")["laminate_change"], Value::Null);
}
