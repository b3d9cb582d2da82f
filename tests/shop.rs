//! The shop file: what jobs take from it, what they say themselves, and where a fault in it is told.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

mod program;

use std::fs;
use std::path::Path;

use program::warpwise;
use proptest::prelude::*;
use warpwise::diag::{Diagnostics, SourceText};
use warpwise::job::{Job, STARTING_SHOP, Shop, StockShape, shop_schema};

const SHOP: &str = r#"shelf = "shelf"
[cutting]
trim = "20 mm"
gap = "5 mm"
[resin.slow]
ratio = "100:28"
pot_life = "60 min"
people = 3
[resin.fast]
name = "fast one"
ratio = "100:30"
pot_life = "20 min"
[bag]
vacuum = "26 inHg"
[bag.layer.breather]
margin = "60 mm"
[mould]
wax_coats = 6
[cloth.twill]
weave = "twill"
fibre = "carbon"
areal_weight = "200 g/m2"
roll_width = "50 in"
price = "40 USD/yd"
price_break = [{ from = "10 yd", price = "34 USD/yd" }]
stock = [{ file = "offcut.svg" }]
[cloth.glass]
weave = "plain"
areal_weight = "160 g/m2"
roll_width = "1 m"
"#;

const PART: &str =
    "[[part]]\nname = \"A\"\npattern = \"a.svg\"\ncloth = \"twill\"\nlayup = \"[0]\"\n";

fn read_in(shop: &str, job: &str) -> Result<(Job, Diagnostics), Diagnostics> {
    Job::read_with_shop("job.toml", job, &mut |path| {
        Ok(SourceText {
            name: format!("at/{path}"),
            text: shop.to_owned(),
        })
    })
}

fn good(job: &str) -> Job {
    let (job, said) = read_in(SHOP, &format!("shop = \"../shop.toml\"\n{job}{PART}")).unwrap();
    assert_eq!(said.to_string(), "");
    job
}

fn wrong(shop: &str, job: &str) -> String {
    read_in(shop, job).unwrap_err().to_string()
}

#[test]
fn a_job_takes_all_that_it_does_not_say() {
    let job = good("");
    let cloth = &job.cloths()[0];
    assert_eq!(
        (
            cloth.name.as_str(),
            cloth.roll_width.to_mm(),
            cloth.gap.to_mm()
        ),
        ("twill", 1270.0, 5.0)
    );
    assert_eq!(cloth.price_breaks.len(), 1);
    assert_eq!(job.parts()[0].plies[0].cutting.trim.to_mm(), 20.0);
    let resin = job.resin().unwrap();
    assert_eq!((resin.name.as_str(), resin.people), ("slow", 3));
    assert_eq!(job.mould().unwrap().wax_coats, 6);
    assert_eq!(job.bagging().unwrap().layers.len(), 4);
    // Paths are those of the shop file.
    assert_eq!(job.shelf().unwrap().value, "../shelf");
    let StockShape::File { path, .. } = &job.stock()[0].shape else {
        panic!("{:?}", job.stock()[0])
    };
    assert_eq!(path.value, "../offcut.svg");
    // Nothing is said of cloths that are there for other jobs.
    assert_eq!(job.cloths().len(), 2);
}

#[test]
fn a_job_says_what_it_must_key_by_key() {
    let job = good(
        "[cutting]\ntrim = \"10 mm\"\n[resin]\ntake = \"fast\"\npeople = 2\n[bag.layer.breather]\n\
         take_up = \"20 g/m2\"\n[cloth.twill]\nroll_width = \"38 in\"\nprice = \"30 EUR/m\"\nstock = []\n",
    );
    let cloth = &job.cloths()[0];
    assert_eq!(
        (cloth.roll_width.to_mm(), cloth.gap.to_mm()),
        (38.0 * 25.4, 5.0)
    );
    // Price breaks go with the price that they lower.
    assert_eq!((cloth.price_breaks.len(), job.stock().len()), (0, 2));
    assert_eq!(job.parts()[0].plies[0].cutting.trim.to_mm(), 10.0);
    let resin = job.resin().unwrap();
    assert_eq!((resin.name.as_str(), resin.people), ("fast one", 2));
    let breather = job
        .bagging()
        .unwrap()
        .layers
        .iter()
        .find(|l| l.roll.name == "breather");
    let breather = breather.unwrap();
    assert_eq!(
        (breather.margin.to_mm(), breather.take_up.to_g_per_m2()),
        (60.0, 20.0)
    );
    let from = job.from_shop().unwrap();
    let of = |table: &str| {
        let found = from.tables.iter().find(|t| t.table == table).unwrap();
        (found.from_shop.join(" "), found.from_job.join(" "))
    };
    assert_eq!(of("cutting"), ("gap".to_owned(), "trim".to_owned()));
    assert_eq!(of("resin.fast").1, "take people");
    assert_eq!(
        of("cloth.twill"),
        (
            "weave fibre areal_weight".to_owned(),
            "roll_width price stock".to_owned()
        )
    );
    assert_eq!(
        of("bag.layer.breather"),
        ("margin".to_owned(), "take_up".to_owned())
    );
}

#[test]
fn a_resin_of_the_jobs_own_mixes_with_none_of_the_shop() {
    let job = good("[resin]\nratio = \"2:1\"\npot_life = \"30 min\"\n");
    let resin = job.resin().unwrap();
    assert_eq!((resin.name.as_str(), resin.people), ("resin", 1));
    let without = good("without = [\"resin\", \"bag\", \"mould\", \"shelf\"]\n");
    assert!(without.resin().is_none() && without.bagging().is_none());
    assert!(without.mould().is_none() && without.shelf().is_none());
}

#[test]
fn a_fault_is_told_in_the_file_and_line_that_has_it() {
    let job = format!("shop = \"shop.toml\"\n{PART}");
    let told = wrong(&SHOP.replace("50 in", "50"), &job);
    assert!(told.contains("`roll_width` has no unit"), "{told}");
    let line = SHOP
        .lines()
        .position(|line| line.contains("50 in"))
        .unwrap()
        + 1;
    assert!(
        told.contains(&format!("--> at/shop.toml:{line}:")),
        "{told}"
    );
    assert!(told.contains("roll_width = \"50\""), "{told}");

    let told = wrong(&SHOP.replace("[mould]", "[mold]"), &job);
    assert!(
        told.contains("has no key `mold`") && told.contains("at/shop.toml:"),
        "{told}"
    );
    let told = wrong(&SHOP.replace("[mould]", "[mould"), &job);
    assert!(told.contains("a table header is not closed"), "{told}");
    assert!(told.contains("--> at/shop.toml:"), "{told}");
    // A fault of the job keeps its own line, and is told first.
    let told = wrong(
        &SHOP.replace("26 inHg", "26"),
        &format!("shop = \"shop.toml\"\n[cloth.twill]\nselvedge = \"5\"\n{PART}"),
    );
    let (own, shops) = (
        told.find("--> job.toml:3:").unwrap(),
        told.find("--> at/shop.toml:").unwrap(),
    );
    assert!(own < shops, "{told}");
    // Names that differ in case: one in each file.
    let told = wrong(
        SHOP,
        &format!(
            "shop = \"s.toml\"\n[cloth.Glass]\nweave = \"plain\"\nareal_weight = \"160 g/m2\"\nroll_width = \"1 m\"\n{PART}"
        ),
    );
    assert!(told.contains("two cloths are called `glass`"), "{told}");
    assert!(told.contains("line 2 has `Glass`"), "{told}");
}

#[test]
fn what_a_shop_cannot_give_is_told() {
    let with = |line: &str| wrong(SHOP, &format!("shop = \"shop.toml\"\n{line}\n{PART}"));
    assert!(with("[resin]\ntake = \"slwo\"").contains("did you mean `slow`?"));
    assert!(with("without = [\"beg\"]").contains("did you mean `bag`?"));
    let alone = |line: &str| {
        Job::read("job.toml", &format!("{line}\n{PART}"))
            .unwrap_err()
            .to_string()
    };
    assert!(alone("without = [\"bag\"]").contains("there is none"));
    assert!(
        alone("[resin]\ntake = \"slow\"\nratio = \"2:1\"\npot_life = \"9 min\"")
            .contains("shop file")
    );
    assert!(alone("shop = \"shop.toml\"").contains("the shop file cannot be read"));
    assert!(alone("shop = 3").contains("a text in quotes"));
}

#[test]
fn the_starting_shop_is_good_and_its_keys_are_in_its_schema() {
    let (shop, said) = Shop::read("shop.toml", STARTING_SHOP).unwrap();
    assert_eq!(said.to_string(), "");
    assert_eq!(
        (shop.cloths.len(), shop.resins.len(), shop.shelf),
        (10, 1, None)
    );
    let schema = shop_schema();
    for (key, about) in schema["properties"].as_object().unwrap() {
        let example: toml::Value = serde_json::from_value(about["examples"][0].clone()).unwrap();
        let text = toml::to_string(&toml::Table::from_iter([(key.clone(), example)])).unwrap();
        assert!(Shop::read("shop.toml", &text).is_ok(), "{text}");
    }
    assert!(
        Shop::read("shop.toml", PART)
            .unwrap_err()
            .to_string()
            .contains("has no key `part`")
    );
}

/// The README's job, in the shop that the program writes.
#[test]
fn the_job_of_the_readme_is_good_in_the_starting_shop() {
    let readme = include_str!("../README.md");
    let (_, section) = readme.split_once("### One shop, many jobs").unwrap();
    let job = section.split("```toml\n").nth(1).unwrap();
    let (job, _) = job.split_once("```").unwrap();
    let (job, said) = read_in(STARTING_SHOP, job).unwrap();
    assert_eq!(said.to_string(), "");
    assert!(job.mould().is_none() && job.bagging().is_some());
    let cloth = job.cloths().iter().find(|c| c.name == "carbon-twill-200");
    assert!(cloth.unwrap().price.is_some());
}

#[test]
fn from_an_empty_folder_to_a_plan_with_the_cloth_of_the_shop() {
    let temp = tempfile::tempdir().unwrap();
    let here = temp.path();
    let drawing = Path::new(env!("CARGO_MANIFEST_DIR")).join("patterns/hatch.dxf");
    fs::create_dir(here.join("jobs")).unwrap();
    fs::copy(drawing, here.join("jobs/hatch.dxf")).unwrap();
    assert_eq!(warpwise(here, &["shop", "--new"]).0, 0);
    let (code, _, said) = warpwise(here, &["shop", "--new"]);
    assert!(code == 3 && said.contains("left as it is"), "{said}");
    let (code, told, _) = warpwise(here, &["shop"]);
    assert!(code == 0 && told.contains("10 cloths, 1 resin"), "{told}");

    let new = [
        "new",
        "jobs/hatch.dxf",
        "--out",
        "jobs/hatch.toml",
        "--shop",
        "shop.toml",
    ];
    let (code, _, said) = warpwise(here, &[&new[..], &["--cloth", "carbon-twil"]].concat());
    assert!(
        code == 1 && said.contains("there are glass-plain-200"),
        "{said}"
    );
    assert_eq!(
        warpwise(here, &[&new[..], &["--cloth", "carbon-twill-200"]].concat()).0,
        0
    );
    let (code, told, _) = warpwise(here, &["check", "jobs/hatch.toml"]);
    assert_eq!(code, 0);
    assert!(told.contains("from ../shop.toml\n"), "{told}");
    assert!(
        told.contains("[cloth.carbon-twill-200] weave, fibre, areal_weight, roll_width\n"),
        "{told}"
    );
    assert!(!told.contains("glass"), "{told}");
    let plan = [
        "plan",
        "jobs/hatch.toml",
        "--effort",
        "quick",
        "--out",
        "out",
    ];
    assert_eq!(warpwise(here, &plan).0, 0);
    let report = fs::read_to_string(here.join("out/report.html")).unwrap();
    assert!(report.contains("epoxy"));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is written in one of the two, each is read or refused with a reason that can be shown.
    #[test]
    fn slips_in_a_shop_file_never_panic(at in 0.0..1.0f64, gone in 0usize..9, put in "\\PC{0,3}|\"|\\[|=|\n|\u{feff}") {
        let chars: Vec<char> = SHOP.chars().collect();
        let at = (chars.len() as f64 * at) as usize;
        let end = (at + gone).min(chars.len());
        let shop: String = chars[..at].iter().collect::<String>() + &put + &chars[end..].iter().collect::<String>();
        let job = format!("shop = \"shop.toml\"\n[cloth.twill]\nprice = \"1 USD/m\"\n{PART}");
        if let Err(problems) = read_in(&shop, &job) {
            prop_assert!(!problems.to_string().is_empty());
        }
        let _ = Shop::read("shop.toml", &shop);
    }
}
