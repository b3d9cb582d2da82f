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

/// The strip of two carbon plies off-axis, with a glass biaxial in the shop that is far cheaper.
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

/// Plies of 0.5 mm that are alike in all directions, 34 GPa: E·h³/12 and E·h by hand.
///
/// 2 mm of aluminium (70 GPa, EN 1999-1-1) is reached in bending from 2·(70/34)^⅓ = 2.544 mm on: by 6
/// plies; in tension from 2·70/34 = 4.118 mm on: by 9.
#[test]
fn so_many_layers_are_as_stiff_as_a_sheet() {
    let job = format!(
        "{JOB}\n[cloth.glass.stiffness]\ne1 = \"34 GPa\"\ne2 = \"34 GPa\"\ng12 = \"{} GPa\"\nnu12 = 0.3\n",
        34.0 / 2.6
    );
    let job = job
        .replace(
            "price =",
            "ply_thickness = \"0.5 mm\"\nfibre = \"e-glass\"\nprice =",
        )
        .replace("areal_weight = \"200 g/m2\"", "areal_weight = \"500 g/m2\"");
    // The table of the cloth's stiffness stands after the parts; TOML does not mind.
    for (load, plies) in [("bending", 6), ("tension", 9), ("both", 9)] {
        let more = ["--as-stiff-as", "2 mm aluminium", "--stiff-in", load];
        let ways = ways(&job, "quick", &more);
        let designed = &ways[0]["stack"];
        assert_eq!(
            (&designed["plies"], &designed["reaches"]),
            (&3.into(), &false.into())
        );
        let close = |found: &Value, wanted: f64| {
            let found = found.as_f64().unwrap();
            assert!(
                (found / wanted - 1.0).abs() < 1e-4,
                "{load}: {found}, not {wanted}"
            );
        };
        for way in &ways[1..] {
            let stack = &way["stack"];
            assert_eq!(stack["plies"], plies, "{load}: {way}");
            assert_eq!(stack["reaches"], true);
            let h = 0.5 * f64::from(plies);
            for along in stack["stiffness"].as_array().unwrap() {
                close(&along["bending"], 34.0 / 70.0 * (h / 2.0).powi(3));
                close(&along["tension"], 34.0 / 70.0 * h / 2.0);
            }
            close(&stack["thickness_mm"], h);
            // 500 g/m² of glass of 2.54 g/cm³ in 0.5 mm, the rest resin of 1.20 g/cm³.
            let glass = 0.5 / 2.54;
            close(
                &stack["areal_weight_g_per_m2"],
                f64::from(plies) * (500.0 + (0.5 - glass) * 1200.0),
            );
            assert_eq!(way["pieces"], plies);
        }
    }
}

#[test]
fn a_wish_that_no_stack_reaches_is_told() {
    let bench = tempfile::tempdir().unwrap();
    let known = JOB.replace("price =", "fibre = \"e-glass\"\nprice =");
    for (job, wish, told) in [
        (JOB, "2 mm steel", "fibre"),
        (&known, "80 mm steel", "60 plies"),
        (&known, "2 mm cheese", "2 mm aluminium"),
    ] {
        let output = run(&bench, job, &["--as-stiff-as", wish]);
        let said = String::from_utf8(output.stderr).unwrap();
        assert!(!output.status.success() && said.contains(told), "{said}");
    }
}
