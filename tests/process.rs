//! Resin, bag, mould and time through the command, against sums written out beside each test.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::collections::BTreeMap;
use std::fs;

use assert_cmd::Command;
use serde_json::Value;
use tempfile::TempDir;

/// A folder with a rectangular pattern of `size` (mm) and a job, planned.
struct Shop {
    folder: TempDir,
    said: String,
}

impl Shop {
    fn new((length, width): (u32, u32), job: &str) -> Self {
        Self::with("plan", (length, width), job)
    }

    fn with(command: &str, (length, width): (u32, u32), job: &str) -> Self {
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

    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.folder.path().join("job-plan").join(name)).unwrap()
    }

    fn plan(&self) -> Value {
        serde_json::from_str(&self.read("plan.json")).unwrap()
    }

    /// The shopping list by name.
    fn shopping(&self) -> BTreeMap<String, Value> {
        let plan = self.plan();
        let items = plan["shopping"].as_array().unwrap().iter();
        items
            .map(|item| (item["name"].as_str().unwrap().to_owned(), item.clone()))
            .collect()
    }
}

/// A job of one part on 200 g/m² of carbon, with these tables before it and these keys in the part.
fn carbon(tables: &str, part: &str) -> String {
    format!(
        "{tables}\n[cutting]\ntrim = \"0 mm\"\n\n[cloth.twill]\nweave = \"twill\"\nareal_weight = \"200 g/m2\"\n\
         roll_width = \"2 m\"\nfibre = \"carbon\"\n\n[[part]]\nname = \"PLATE\"\npattern = \"plate.svg\"\n\
         cloth = \"twill\"\nlayup = \"[0/45]s\"\n{part}\n"
    )
}

const RESIN: &str = "[resin]\nratio = \"100:30\"\npot_life = \"25 min\"\nwaste = \"0 %\"\n";

fn close(found: &Value, expected: f64, share: f64) {
    let found = found.as_f64().unwrap();
    let off = (found - expected).abs();
    assert!(off <= share * expected.abs(), "{found} is not {expected}");
}

/// Without a bag nothing presses the resin out. A ply of 1 m² holds 200 g / 1.78 g/cm³ =
/// 112.36 cm³ of fibre; at 35 % by volume (hand layup, common practice) that goes with 112.36 ·
/// 65/35 = 208.67 cm³ of resin, 250.4 g at 1.20 g/cm³ (cured epoxy, Kaw 2006, table 3.2, from
/// memory); at 45 % with 137.33 cm³, 164.8 g.
#[test]
fn the_fibre_share_follows_from_whether_there_is_a_bag() {
    let in_parts = |tables: &str| {
        let job = carbon(&format!("{RESIN}{tables}"), "");
        Shop::new((1000, 1000), &job).plan()["resin"]["in_parts_g"].clone()
    };
    close(&in_parts(""), 4.0 * 250.40, 1e-4);
    close(&in_parts("[bag]\n"), 4.0 * 164.79, 1e-4);
    // What the job states goes before it.
    close(
        &in_parts("[laminate]\nprocess = \"vacuum bag\"\n"),
        4.0 * 164.79,
        1e-4,
    );
    close(
        &in_parts("[laminate]\nprocess = \"hand layup\"\n[bag]\n"),
        4.0 * 250.40,
        1e-4,
    );
}

/// A part of 1460 × 1100 mm with the usual margins on rolls of 1000 mm, laps of 50 mm.
///
/// Breather, 76.2 mm (3 in) beyond the part: at least 1612.4 × 1252.4 mm. Two widths of (1612.4 + 50)
/// / 2 = 831.2 mm cover it the short way, so the roll gives at least 2 · 1252.4 = 2504.8 mm. The film
/// stands 25 mm outside the tape, which runs 25 mm outside the breather; four pleats of 76.2 mm add
/// 609.6 / 4 = 152.4 mm to each side: at least 1864.8 × 1504.8 mm, of two widths of 957.4 mm; the seam is
/// as long as the film is wide. Cutting with shears may add up to 2 mm on every side of a layer.
#[test]
fn layers_wider_than_their_roll_are_joined_drawn_and_bought() {
    let narrow = ["peel-ply", "release-film", "breather", "bag-film"]
        .map(|layer| format!("[bag.layer.{layer}]\nroll_width = \"1000 mm\"\n"))
        .concat();
    let shop = Shop::new((1460, 1100), &carbon(&format!("[bag]\n{narrow}"), ""));
    assert!(
        shop.said
            .contains("wider than the roll of breather: PLATE-breather")
    );
    let plan = shop.plan();
    let layers = plan["bagging"]["layers"].as_array().unwrap();
    assert_eq!(layers.len(), 4);
    for layer in layers {
        let name = layer["name"].as_str().unwrap();
        let joined = &layer["joined"][0];
        let pieces = [format!("PLATE-{name}-A"), format!("PLATE-{name}-B")];
        assert_eq!(joined["pieces"], serde_json::json!(pieces));
        let placed = layer["layout"]["pieces"].as_array().unwrap();
        assert_eq!(placed.len(), 2, "{name}");
        let bought = shop.shopping()[name]["buy"].as_f64().unwrap();
        assert!(bought > 0.0, "{name} is bought");
        let least = match name {
            "breather" => 2.0 * 1252.4,
            "bag-film" => 2.0 * 1504.8,
            "release-film" => 2.0 * (1100.0 + 2.0 * 50.8),
            _ => 2.0 * (1100.0 + 2.0 * 25.4),
        };
        assert!(bought > least && bought < least * 1.02, "{name}: {bought}");
        // Lap and all, the two are as large as what they cover together.
        if name == "bag-film" {
            let area: f64 = placed
                .iter()
                .map(|piece| extent(&piece["cut"]))
                .map(|[l, w]| l * w)
                .sum();
            let (length, width) = (
                plan["bagging"]["parts"][0]["film_mm"][0].as_f64().unwrap(),
                plan["bagging"]["parts"][0]["film_mm"][1].as_f64().unwrap(),
            );
            assert!((area - width * (length + 50.0)).abs() < 10.0);
            close(&joined["seam_mm"], width, 1e-4);
        }
        assert!(
            shop.read(&format!("bag/{name}.svg")).contains(&pieces[1]),
            "{name} is drawn"
        );
    }
    // Tape: round the line, up the pleats, along the seam, and a tenth more.
    let bag = &plan["bagging"]["parts"][0];
    let line =
        2.0 * (bag["tape_line_mm"][0].as_f64().unwrap() + bag["tape_line_mm"][1].as_f64().unwrap());
    let seam = bag["film_mm"][1].as_f64().unwrap();
    close(
        &plan["bagging"]["tape_mm"],
        1.1 * (line + 609.6 + seam),
        1e-4,
    );
}

/// Length and width of a written outline.
fn extent(cut: &Value) -> [f64; 2] {
    let points = cut["outer"].as_array().unwrap();
    [0, 1].map(|axis| {
        let along: Vec<f64> = points.iter().map(|p| p[axis].as_f64().unwrap()).collect();
        along.iter().copied().fold(f64::MIN, f64::max)
            - along.iter().copied().fold(f64::MAX, f64::min)
    })
}
