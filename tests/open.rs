//! `open` from outside: the page changes the job file, and the job file the page.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

mod served;

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use served::Served;

const DRAWING: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm"
    viewBox="0 0 300 200"><path id="lid" d="M10 10H290V190H10Z"/></svg>"#;

const JOB: &str = "\
title = \"Lid\"               # what it says on the lid

[cutting]
gap = \"3 mm\"                # for the shears

[cloth.glass]
weave = \"plain\"
areal_weight = \"200 g/m2\"
fibre = \"e-glass\"
roll_width = \"1 m\"
price = \"10 EUR/m\"

# ---- parts ----

[[part]]
name = \"LID\"
pattern = \"lid.svg\"

[[part.ply]]
cloth = \"glass\"
angle = 0                   # along the lid

# the second
[[part.ply]]
cloth = \"glass\"
angle = 45
";

/// A running `open`.
struct Page {
    served: Served,
    folder: PathBuf,
}

impl Page {
    fn open(folder: &Path, file: &str) -> Self {
        let arguments = ["open", file, "--no-browser", "--port", "0"];
        Self {
            served: Served::start(folder, &arguments, "/"),
            folder: folder.to_owned(),
        }
    }

    /// Status and body of the answer.
    fn ask(&self, method: &str, path: &str, body: &str) -> (u16, String) {
        self.served.ask(method, path, body)
    }

    /// The parts of the page as it is now.
    fn parts(&self) -> Value {
        let (status, text) = self.ask("GET", "/-/parts", "");
        assert_eq!(status, 200, "{text}");
        serde_json::from_str(&text).unwrap()
    }

    fn part(&self, name: &str) -> String {
        self.parts()["parts"][name].as_str().unwrap().to_owned()
    }

    /// Sends changes as a page does that knows the newest state.
    fn edit(&self, edits: &Value) -> (u16, String) {
        let (status, told) = self.ask("POST", "/-/edit", "{\"seen\": 0, \"edits\": []}");
        assert_eq!(status, 200, "{told}");
        let state: Value = serde_json::from_str(&told).unwrap();
        self.edit_of(state["state"].as_u64().unwrap(), edits)
    }

    fn edit_of(&self, seen: u64, edits: &Value) -> (u16, String) {
        let body = json!({ "seen": seen, "edits": edits }).to_string();
        self.ask("POST", "/-/edit", &body)
    }

    fn job(&self) -> String {
        fs::read_to_string(self.folder.join("job.toml")).unwrap()
    }

    fn wait(&self, what: &str, is_there: impl Fn() -> bool) {
        let start = Instant::now();
        while !is_there() {
            let head = self.part("head");
            assert!(
                start.elapsed() < Duration::from_secs(120),
                "no {what}: {head}"
            );
            std::thread::sleep(Duration::from_millis(50));
        }
    }

    fn wait_for_plan(&self) {
        self.wait("plan", || {
            self.part("head").contains("the layout that will be cut")
        });
    }
}

fn folder() -> tempfile::TempDir {
    let temp = tempfile::tempdir().unwrap();
    fs::write(temp.path().join("job.toml"), JOB).unwrap();
    fs::write(temp.path().join("lid.svg"), DRAWING).unwrap();
    temp
}

#[test]
fn what_is_changed_on_the_page_is_changed_in_the_file_and_planned() {
    let temp = folder();
    let page = Page::open(temp.path(), "job.toml");
    let (status, whole) = page.ask("GET", "/", "");
    assert_eq!(status, 200);
    assert!(whole.contains("<h1>Lid</h1>") && whole.contains("for=\"f-cutting-gap\""));
    page.wait_for_plan();

    let at = |at: Value| json!([{ "set": at }]);
    let (status, _) = page.edit(&at(json!({ "at": ["part", 0, "sets"], "to": "3" })));
    assert_eq!(status, 200);
    let (status, _) = page.edit(&at(
        json!({ "at": ["part", 0, "ply", 0, "angle"], "to": "90 deg" }),
    ));
    assert_eq!(status, 200);
    let (status, _) = page.edit(&json!([{ "move": { "at": ["part", 0, "ply", 1], "to": 0 } }]));
    assert_eq!(status, 200);
    let second = "# the second\n[[part.ply]]\ncloth = \"glass\"\nangle = 45\n";
    let first =
        "[[part.ply]]\ncloth = \"glass\"\nangle = \"90 deg\"                   # along the lid\n";
    let (head, _) = JOB.split_once("\n[[part.ply]]").unwrap();
    assert_eq!(page.job(), format!("{head}sets = 3\n\n{second}\n{first}"));

    // What the page shows is what `plan` says.
    page.wait_for_plan();
    let planned = Command::new(env!("CARGO_BIN_EXE_warpwise"))
        .args(["plan", "job.toml", "--out", "by-hand"])
        .current_dir(temp.path())
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&planned.stderr);
    assert!(planned.status.success(), "{told}");
    let said = String::from_utf8(planned.stdout).unwrap();
    let row = said
        .lines()
        .find(|line| line.trim_start().starts_with("glass"));
    let row = row.unwrap_or_else(|| panic!("{said}"));
    let words: Vec<&str> = row
        .split("  ")
        .map(str::trim)
        .filter(|w| !w.is_empty())
        .collect();
    let (metres, _) = words[1].split_once(" (").unwrap();
    let figures = page.part("figures").replace(['\u{a0}', '\u{202f}'], " ");
    assert!(figures.contains(metres), "{metres} is not in {figures}");
    assert!(
        figures.contains(words[2]),
        "{} is not in {figures}",
        words[2]
    );
    let of_page = page.ask("GET", "/plan.json", "").1;
    let of_file = fs::read_to_string(temp.path().join("by-hand/plan.json")).unwrap();
    let layouts = |text: &str| serde_json::from_str::<Value>(text).unwrap()["layouts"].clone();
    assert_eq!(layouts(&of_page), layouts(&of_file));

    let (status, told) = page.ask("POST", "/-/write", "");
    assert_eq!(status, 200, "{told}");
    assert!(temp.path().join("job-plan/report.html").exists());

    for _ in 0..3 {
        assert_eq!(page.ask("POST", "/-/undo", "").0, 200);
    }
    assert_eq!(page.job(), JOB);
    assert_eq!(page.ask("POST", "/-/undo", "").0, 422);
    assert_eq!(page.ask("POST", "/-/redo", "").0, 200);
    assert_eq!(
        page.job(),
        JOB.replace("lid.svg\"\n", "lid.svg\"\nsets = 3\n")
    );
    assert_eq!(page.served.n_lines(), 1, "one line, the address");
}

#[test]
fn the_page_follows_the_file_and_tells_what_is_wrong() {
    let temp = folder();
    let page = Page::open(temp.path(), "job.toml");
    page.wait_for_plan();
    let save = |text: &str| fs::write(temp.path().join("job.toml"), text).unwrap();
    save(&JOB.replace("title = \"Lid\"", "title = \"Cover\""));
    page.wait("the new title", || {
        page.part("head").contains("<h1>Cover</h1>")
    });
    page.wait_for_plan();

    save(&JOB.replace("\"3 mm\"", "3"));
    page.wait("the problem", || {
        page.part("problem").contains("gap</code> has no unit")
    });
    assert!(page.part("figures").contains("as it was before"));
    let (status, _) = page.edit(&json!([{ "set": { "at": ["cutting", "gap"], "to": "4 mm" } }]));
    assert_eq!(status, 200);
    page.wait_for_plan();
    assert!(!page.part("problem").contains("no unit"));
    assert_eq!(page.job(), JOB.replace("\"3 mm\"", "\"4 mm\""));

    // No TOML any more: the page says so, and changes nothing.
    save("title = = 1");
    page.wait("the problem", || page.part("job").contains("not TOML"));
    let (status, told) = page.edit(&json!([{ "set": { "at": ["title"], "to": "x" } }]));
    assert!(status == 422 && told.contains("editor"), "{told}");
    assert_eq!(page.job(), "title = = 1");
    save(JOB);
    page.wait_for_plan();

    // Only what has changed since is sent.
    let turn = page.parts()["turn"].as_u64().unwrap();
    let since = |turn: u64| -> Value {
        let (status, text) = page.ask("GET", &format!("/-/parts/since/{turn}"), "");
        assert_eq!(status, 200);
        serde_json::from_str(&text).unwrap()
    };
    assert_eq!(since(turn)["parts"], json!({}));
    let (status, _) = page.edit(&json!([{ "set": { "at": ["title"], "to": "Lid 2" } }]));
    assert_eq!(status, 200);
    let parts = &since(turn)["parts"];
    assert!(parts["head"].as_str().unwrap().contains("Lid 2"));
    assert!(parts["rolls"].is_null());
    page.wait_for_plan();

    // A page that has not seen the last change of the same.
    let seen = page.parts()["state"].as_u64().unwrap();
    let gap = |to: &str| json!([{ "set": { "at": ["cutting", "gap"], "to": to } }]);
    assert_eq!(page.edit_of(seen, &gap("5 mm")).0, 200);
    let (status, told) = page.edit_of(seen, &gap("6 mm"));
    assert!(
        status == 409 && told.contains("changed elsewhere"),
        "{told}"
    );
    for broken in ["", "{}", "[]", "{\"seen\": 0, \"edits\": 1}"] {
        assert_eq!(page.ask("POST", "/-/edit", broken).0, 400, "{broken}");
    }
}

#[test]
fn a_drawing_is_made_a_job_of() {
    let temp = tempfile::tempdir().unwrap();
    fs::write(temp.path().join("lid.svg"), DRAWING).unwrap();
    let page = Page::open(temp.path(), "lid.svg");
    page.wait_for_plan();
    assert!(temp.path().join("lid.toml").exists());
    assert!(page.part("job").contains("lid.svg"));
}
