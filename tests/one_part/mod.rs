//! A shop with one job of one rectangular part, for tests of what follows from the plies.

#![allow(dead_code, reason = "each test file takes what it needs")]

use std::collections::BTreeMap;
use std::fs;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;

/// A folder with a rectangular pattern of `size` (mm) and a job, planned.
pub(crate) struct Shop {
    pub(crate) folder: TempDir,
    pub(crate) said: String,
}

impl Shop {
    pub(crate) fn new((length, width): (u32, u32), job: &str) -> Self {
        Self::with("plan", (length, width), job)
    }

    pub(crate) fn with(command: &str, (length, width): (u32, u32), job: &str) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{length}mm\" height=\"{width}mm\" viewBox=\"0 0 {length} {width}\">\
             <path id=\"skin\" d=\"M0 0H{length}V{width}H0Z\"/></svg>"
        );
        fs::write(folder.path().join("plate.svg"), svg).unwrap();
        fs::write(folder.path().join("job.toml"), job).unwrap();
        let mut run = Command::cargo_bin("warpwise").unwrap();
        run.current_dir(folder.path()).args([command, "job.toml"]);
        if command == "plan" {
            run.args(["--effort", "quick", "--threads", "1"]);
        }
        let run = run.output().unwrap();
        let said = String::from_utf8(run.stderr).unwrap();
        assert_eq!(run.status.code(), Some(0), "{said}");
        Self { folder, said }
    }

    pub(crate) fn read(&self, name: &str) -> String {
        fs::read_to_string(self.folder.path().join("job-plan").join(name)).unwrap()
    }

    pub(crate) fn plan(&self) -> Value {
        serde_json::from_str(&self.read("plan.json")).unwrap()
    }

    /// The shopping list by name.
    pub(crate) fn shopping(&self) -> BTreeMap<String, Value> {
        let plan = self.plan();
        let items = plan["shopping"].as_array().unwrap().iter();
        items
            .map(|item| (item["name"].as_str().unwrap().to_owned(), item.clone()))
            .collect()
    }
}

/// A job of one part on 200 g/m² of carbon, with these tables before it and these keys in the part.
pub(crate) fn carbon(tables: &str, part: &str) -> String {
    format!(
        "{tables}\n[cutting]\ntrim = \"0 mm\"\n\n[cloth.twill]\nweave = \"twill\"\nareal_weight = \"200 g/m2\"\n\
         roll_width = \"2 m\"\nfibre = \"carbon\"\n\n[[part]]\nname = \"PLATE\"\npattern = \"plate.svg\"\n\
         cloth = \"twill\"\nlayup = \"[0/45]s\"\n{part}\n"
    )
}

pub(crate) const RESIN: &str =
    "[resin]\nratio = \"100:30\"\npot_life = \"25 min\"\nwaste = \"0 %\"\n";

pub(crate) fn close(found: &Value, expected: f64, share: f64) {
    let found = found.as_f64().unwrap();
    let off = (found - expected).abs();
    assert!(off <= share * expected.abs(), "{found} is not {expected}");
}

/// The text of a page without its tags, spaces evened out.
pub(crate) fn words(html: &str) -> String {
    let mut text = String::new();
    let mut inside = false;
    for letter in html.chars() {
        match letter {
            '<' => inside = true,
            '>' => {
                inside = false;
                text.push(' ');
            }
            _ if !inside => text.push(letter),
            _ => {}
        }
    }
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// What `check` says of a job that it refuses, of a plate of 1000 × 500 mm.
pub(crate) fn refused(job: &str) -> String {
    let shop = Shop::new((1000, 500), &carbon("", ""));
    fs::write(shop.folder.path().join("job.toml"), job).unwrap();
    let mut run = Command::cargo_bin("warpwise").unwrap();
    run.current_dir(shop.folder.path())
        .args(["check", "job.toml"]);
    let run = run.output().unwrap();
    assert_eq!(run.status.code(), Some(1));
    String::from_utf8(run.stderr).unwrap()
}
