//! `warpwise new` from outside.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fs;
use std::path::Path;
use std::process::Output;

use assert_cmd::Command;
use tempfile::TempDir;

fn svg(content: &str) -> String {
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm" viewBox="0 0 400 300">{content}</svg>"#
    )
}

/// Two outlines on layers of their own.
const TWO: &str = r#"<g id="deck"><path d="M10 10H210V110H10Z"/></g><g id="keel"><path d="M10 150H110V250H10Z"/></g>"#;
/// Two outlines that say for which plies they are.
const PLIES: &str = r#"<path id="a" d="M10 10H210V110H10Z"/><text x="50" y="50">PLIES 1, 3</text>
<path id="b" d="M10 150H110V250H10Z"/><text x="50" y="200">PLY 2</text>"#;

fn bench(files: &[(&str, &str)]) -> TempDir {
    let bench = tempfile::tempdir().unwrap();
    for (name, content) in files {
        let path = bench.path().join(name);
        fs::create_dir_all(path.parent().unwrap()).unwrap();
        fs::write(path, svg(content)).unwrap();
    }
    bench
}

fn run(folder: &Path, arguments: &[&str]) -> Output {
    Command::cargo_bin("warpwise")
        .unwrap()
        .current_dir(folder)
        .args(arguments)
        .output()
        .unwrap()
}

fn told(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

#[test]
fn a_starting_job_plans_at_once() {
    let bench = bench(&[("drawings/boat.svg", TWO)]);
    let made = run(
        bench.path(),
        &[
            "new",
            "drawings/boat.svg",
            "--out",
            "jobs/boat.toml",
            "--weave",
            "twill",
            "--layup",
            "[0/45]s",
            "--sets",
            "3",
        ],
    );
    assert!(made.status.success(), "{}", told(&made));
    // Seen from the job file, the drawing is in the folder beside.
    let text = fs::read_to_string(bench.path().join("jobs/boat.toml")).unwrap();
    assert!(
        text.contains(r#"pattern = "../drawings/boat.svg""#),
        "{text}"
    );
    let checked = run(bench.path(), &["check", "jobs/boat.toml", "--json"]);
    assert!(checked.status.success(), "{}", told(&checked));
    let checked: serde_json::Value = serde_json::from_slice(&checked.stdout).unwrap();
    let pieces = checked["pieces"].as_array().unwrap();
    let parts: Vec<&str> = pieces.iter().map(|p| p["part"].as_str().unwrap()).collect();
    assert_eq!(parts, [["DECK"; 4], ["KEEL"; 4]].concat());

    let planned = run(
        bench.path(),
        &["plan", "jobs/boat.toml", "--effort", "0.1s"],
    );
    assert!(planned.status.success(), "{}", told(&planned));
}

#[test]
fn outlines_that_name_their_plies_become_one_part() {
    let bench = bench(&[("pod.svg", PLIES)]);
    let made = run(bench.path(), &["new", "pod.svg"]);
    assert!(made.status.success(), "{}", told(&made));
    let text = fs::read_to_string(bench.path().join("pod.toml")).unwrap();
    assert_eq!(text.matches("[[part]]").count(), 1);
    let plies: Vec<&str> = (text.lines())
        .filter(|line| line.starts_with("number") || line.starts_with("outline"))
        .collect();
    assert_eq!(
        plies,
        [
            "number = 1",
            r#"outline = "a""#,
            "number = 2",
            r#"outline = "b""#,
            "number = 3",
            r#"outline = "a""#
        ]
    );
}

#[test]
fn what_is_there_is_left_alone_and_what_is_wrong_is_said_at_its_line() {
    let bench = bench(&[("boat.svg", TWO)]);
    let job = bench.path().join("boat.toml");
    fs::write(&job, "mine").unwrap();
    let refused = run(bench.path(), &["new", "boat.svg"]);
    assert_eq!(refused.status.code(), Some(3));
    assert_eq!(fs::read_to_string(&job).unwrap(), "mine");

    let wrong = run(
        bench.path(),
        &["new", "boat.svg", "--out", "b.toml", "--layup", "[0/45"],
    );
    assert_eq!(wrong.status.code(), Some(1));
    assert!(told(&wrong).contains("b.toml:"), "{}", told(&wrong));

    let missing = run(bench.path(), &["new", "none.svg", "--out", "c.toml"]);
    assert_eq!(missing.status.code(), Some(1));
    assert!(!bench.path().join("c.toml").exists());
}

#[test]
fn what_holds_for_several_drawings_is_told_once() {
    let bench = tempfile::tempdir().unwrap();
    let drawing = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1200 800"><path d="M50 50H1150V750H50Z"/></svg>"#;
    for name in ["fore.svg", "aft.svg", "mid.svg"] {
        fs::write(bench.path().join(name), drawing).unwrap();
    }
    let drawings = ["fore.svg", "aft.svg", "mid.svg", "fore.svg"];
    let made = run(
        bench.path(),
        &[&["new", "--out", "boat.toml"], &drawings[..]].concat(),
    );
    assert!(made.status.success(), "{}", told(&made));
    let told = told(&made);
    assert_eq!(told.matches("warning:").count(), 1, "{told}");
    assert!(told.contains("fore.svg, aft.svg, mid.svg"), "{told}");
    // The drawing that was named twice is three parts with the others, not four.
    let job = fs::read_to_string(bench.path().join("boat.toml")).unwrap();
    assert_eq!(job.matches("[[part]]").count(), 3, "{job}");
}

#[test]
fn what_inspect_shows_of_a_drawing_without_a_unit_is_what_is_planned() {
    let bench = tempfile::tempdir().unwrap();
    let drawing = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 1200 800"><path d="M50 50H1150V750H50Z"/></svg>"#;
    fs::write(bench.path().join("pod.svg"), drawing).unwrap();
    let seen = run(bench.path(), &["inspect", "pod.svg", "--json"]);
    let seen: serde_json::Value = serde_json::from_slice(&seen.stdout).unwrap();
    let area = seen["files"][0]["outlines"][0]["area_mm2"]
        .as_f64()
        .unwrap();
    let made = run(bench.path(), &["new", "pod.svg"]);
    assert!(made.status.success(), "{}", told(&made));
    // One matter, one warning.
    let n_warnings = told(&made).matches("states no unit").count();
    assert_eq!(n_warnings, 1, "{}", told(&made));
    let checked = run(bench.path(), &["check", "pod.toml", "--json"]);
    let checked: serde_json::Value = serde_json::from_slice(&checked.stdout).unwrap();
    let planned = checked["pieces"][0]["net_area_mm2"].as_f64().unwrap();
    assert!((planned / area - 1.0).abs() < 1e-9, "{planned} {area}");
    // 1100 px of 1/96 in.
    let said = run(bench.path(), &["check", "pod.toml"]);
    let said = String::from_utf8(said.stdout).unwrap();
    assert!(
        said.contains("POD: 291 mm (11.46 in) × 185.2 mm (7.29 in)"),
        "{said}"
    );
}

#[test]
fn a_stated_layup_gives_numbered_plies_their_angles_or_says_that_it_does_not() {
    let bench = bench(&[("pod.svg", PLIES)]);
    let angles = |layup: &str, out: &str| {
        let made = run(
            bench.path(),
            &["new", "pod.svg", "--layup", layup, "--out", out],
        );
        let text = fs::read_to_string(bench.path().join(out)).unwrap();
        let angles = text
            .lines()
            .filter_map(|l| Some(l.strip_prefix("angle = \"")?.split(' ').next()?.to_owned()));
        (angles.collect::<Vec<_>>(), told(&made))
    };
    let (given, said) = angles("[0/45/-45]", "a.toml");
    assert_eq!(given, ["0", "45", "-45"]);
    assert!(!said.contains("is not used"), "{said}");
    let (given, said) = angles("[0/45]s", "b.toml");
    assert_eq!(given, ["0", "0", "0"]);
    assert!(
        said.contains("is not used for pod.svg: it has 4 plies"),
        "{said}"
    );
}

/// On a terminal a drawing without a unit is asked about, a wrong answer again, and the answer counts.
#[cfg(unix)]
#[test]
fn a_doubtful_unit_is_asked_about_on_a_terminal() {
    use std::io::{Read as _, Write as _};
    use std::os::unix::ffi::OsStrExt as _;
    use std::process::Stdio;

    use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};

    let drawing = r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 40"><path d="M5 5H55V35H5Z"/></svg>"#;
    let bench = tempfile::tempdir().unwrap();
    fs::write(bench.path().join("pod.svg"), drawing).unwrap();
    let terminal = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&terminal).unwrap();
    unlockpt(&terminal).unwrap();
    let name = ptsname(&terminal, Vec::new()).unwrap();
    let name = std::ffi::OsStr::from_bytes(name.as_bytes());
    let theirs = || {
        let file = fs::File::options().read(true).write(true).open(name);
        Stdio::from(file.unwrap())
    };
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_warpwise"));
    command.current_dir(bench.path()).args(["new", "pod.svg"]);
    command.stdin(theirs()).stdout(theirs()).stderr(theirs());
    let mut child = command.spawn().unwrap();
    // Its copies of the other end would keep the reading from ending.
    drop(command);
    let mut ours = fs::File::from(terminal);
    // The unit, the weave, the weight and the price twice each, as they are wrong at first; then nothing: the usual.
    ours.write_all(b"furlong\ncm\nknit\ntwill\n200\n245 g/m2\n\n12.50\n12.50 EUR/m\n\n\n\n")
        .unwrap();
    let (mut said, mut buffer) = (Vec::new(), [0; 4096]);
    // A terminal whose last writer has gone ends with an error.
    while let Ok(n @ 1..) = ours.read(&mut buffer) {
        said.extend_from_slice(&buffer[..n]);
    }
    let said = String::from_utf8_lossy(&said);
    assert!(child.wait().unwrap().success(), "{said}");
    assert!(said.contains("pod.svg does not state its unit"), "{said}");
    // 50 units: 13 mm as pixels of 1/96 in, 500 mm as centimetres.
    assert!(
        said.contains("px: 13 mm") && said.contains("cm: 500 mm"),
        "{said}"
    );
    assert!(said.contains("there is no unit furlong"), "{said}");
    let job = fs::read_to_string(bench.path().join("pod.toml")).unwrap();
    assert!(job.contains("units = \"cm\""), "{job}");
    for question in [
        "Weave of the cloth",
        "Its areal weight",
        "Its price by running length",
    ] {
        assert_eq!(said.matches(question).count(), 2, "{question}: {said}");
    }
    for key in [
        "weave = \"twill\"",
        "areal_weight = \"245 g/m2\"",
        "\nprice = \"12.50 EUR/m\"",
    ] {
        assert!(job.contains(key), "{key}: {job}");
    }
    let checked = run(bench.path(), &["check", "pod.toml"]);
    let checked = String::from_utf8(checked.stdout).unwrap();
    assert!(checked.contains("POD: 500 mm"), "{checked}");
}
