//! `plan --watch` from outside: saves are followed by new plans, a broken job keeps the old one.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fs;
use std::io::{BufRead as _, BufReader, Read as _, Write as _};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::time::{Duration, Instant};

const DRAWING: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm"
    viewBox="0 0 300 200"><path id="lid" d="M10 10H290V190H10Z"/></svg>"#;

fn job(title: &str, gap: &str) -> String {
    format!(
        "title = \"{title}\"\n[cutting]\ngap = {gap}\n[cloth.glass]\nweave = \"plain\"\n\
         areal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n[[part]]\nname = \"LID\"\n\
         pattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0]\"\n"
    )
}

/// A running `plan --watch`, ended with the test.
struct Watch {
    child: Child,
    host: String,
    key: String,
}

impl Drop for Watch {
    fn drop(&mut self) {
        _ = self.child.kill();
        _ = self.child.wait();
    }
}

impl Watch {
    fn start(folder: &Path) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_warpwise"))
            .args([
                "plan",
                "job.toml",
                "--watch",
                "--port",
                "0",
                "--threads",
                "1",
            ])
            .current_dir(folder)
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        let first = lines.next().unwrap().unwrap();
        // Read on, so that the pipe never fills.
        std::thread::spawn(move || lines.count());
        let (_, rest) = first.split_once("http://").unwrap();
        let (host, rest) = rest.split_once("/report.html?key=").unwrap();
        let (key, _) = rest.split_once(' ').unwrap();
        let (host, key) = (host.to_owned(), key.to_owned());
        Self { child, host, key }
    }

    fn page(&self) -> String {
        let mut stream = TcpStream::connect(&self.host).unwrap();
        let Self { host, key, .. } = self;
        let request = format!("GET /report.html?key={key} HTTP/1.1\r\nHost: {host}\r\n\r\n");
        stream.write_all(request.as_bytes()).unwrap();
        let mut page = String::new();
        stream.read_to_string(&mut page).unwrap();
        page
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
}
