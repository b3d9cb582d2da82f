//! `plan --watch` from outside: saves are followed by new plans, a broken job keeps the old one.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

mod served;

use std::fs;
use std::path::Path;
use std::time::{Duration, Instant};

use served::Served;

const DRAWING: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm"
    viewBox="0 0 300 200"><path id="lid" d="M10 10H290V190H10Z"/></svg>"#;

fn job(title: &str, gap: &str) -> String {
    format!(
        "title = \"{title}\"\n[cutting]\ngap = {gap}\n[cloth.glass]\nweave = \"plain\"\n\
         areal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n[[part]]\nname = \"LID\"\n\
         pattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0]\"\n"
    )
}

/// A running `plan --watch`.
struct Watch(Served);

impl Watch {
    fn start(folder: &Path) -> Self {
        let arguments = [
            "plan",
            "job.toml",
            "--watch",
            "--port",
            "0",
            "--threads",
            "1",
        ];
        Self(Served::start(folder, &arguments, "/report.html"))
    }

    fn page(&self) -> String {
        self.0.ask("GET", "/report.html", "").1
    }

    /// Waits until `is_there`.
    fn wait(&self, what: &str, is_there: impl Fn() -> bool) {
        let start = Instant::now();
        while !is_there() {
            assert!(start.elapsed() < Duration::from_secs(120), "no {what}");
            std::thread::sleep(Duration::from_millis(50));
        }
    }
}

#[test]
fn saves_are_followed_by_new_plans_and_a_broken_job_keeps_the_old_one() {
    let temp = tempfile::tempdir().unwrap();
    let file = |name: &str| temp.path().join(name);
    // As an editor that saves by renaming does.
    let save = |name: &str, text: &str| {
        fs::write(file("new~"), text).unwrap();
        fs::rename(file("new~"), file(name)).unwrap();
    };
    let report = || fs::read_to_string(file("job-plan/report.html")).unwrap_or_default();
    fs::write(file("job.toml"), job("First lid", "\"3 mm\"")).unwrap();

    // The drawing is not there yet.
    let watch = Watch::start(temp.path());
    watch.wait("problem", || watch.page().contains("there is no such file"));
    save("lid.svg", DRAWING);
    watch.wait("first plan", || watch.page().contains("First lid"));
    assert!(report().contains("First lid"));
    assert!(watch.page().contains("refresh.js"));
    assert!(
        !report().contains("refresh.js"),
        "the file on disk must ask for nothing"
    );

    save("job.toml", &job("Broken lid", "3"));
    save("job.toml", &job("Broken lid", "3"));
    std::thread::sleep(Duration::from_secs(2));
    assert!(watch.page().contains("First lid") && report().contains("First lid"));

    save("job.toml", &job("Second lid", "\"3 mm\""));
    watch.wait("second plan", || watch.page().contains("Second lid"));
    assert!(report().contains("Second lid"));

    // A larger drawing alone is enough.
    let before = fs::read(file("job-plan/plan.json")).unwrap();
    save("lid.svg", &DRAWING.replace("M10 10H290", "M5 10H290"));
    watch.wait("third plan", || {
        fs::read(file("job-plan/plan.json")).is_ok_and(|plan| plan != before)
    });
    assert!(watch.0.n_lines() > 1, "nothing is said of the plans");
}
