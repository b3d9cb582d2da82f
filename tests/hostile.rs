//! Small files that would hang the program, or make it take more than they are worth.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fs;
use std::path::Path;
use std::time::Duration;

use assert_cmd::Command;

/// Runs a command that must end by itself; returns its exit code and what it complains of.
fn run(arguments: &[&str], folder: &Path) -> (Option<i32>, String) {
    let done = Command::cargo_bin("warpwise")
        .unwrap()
        .args(arguments)
        .current_dir(folder)
        .timeout(Duration::from_secs(60))
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&done.stderr).into_owned();
    (done.status.code(), said)
}

fn drawing(inside: &str) -> String {
    format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"400mm\" height=\"300mm\" viewBox=\"0 0 400 300\">\
         <path id=\"lid\" d=\"M10 10H310V210L10 260Z\"/>{inside}</svg>"
    )
}

/// The width of a column has a limit in the standard library.
#[test]
fn labels_of_any_length_are_listed() {
    let temp = tempfile::tempdir().unwrap();
    let text = |word: &str| format!("<text x=\"100\" y=\"100\">{word}</text>");
    for (name, inside) in [
        ("65535", text(&"x".repeat(65_535))),
        ("65536", text(&"x".repeat(65_536))),
        ("many", text("some words").repeat(4_500)),
    ] {
        let file = format!("{name}.svg");
        fs::write(temp.path().join(&file), drawing(&inside)).unwrap();
        for json in [&["inspect", &file][..], &["inspect", &file, "--json"]] {
            let (code, said) = run(json, temp.path());
            assert_eq!(code, Some(0), "{file}: {said}");
        }
    }
}

#[test]
fn pipes_and_devices_are_no_input() {
    let temp = tempfile::tempdir().unwrap();
    let pipe = temp.path().join("pipe");
    let made = std::process::Command::new("mkfifo").arg(&pipe).status();
    assert!(made.unwrap().success());
    fs::write(temp.path().join("lid.svg"), drawing("")).unwrap();
    let job = |pattern: &str, stock: &str| {
        format!(
            "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n{stock}\
             [[part]]\nname = \"P\"\npattern = \"{pattern}\"\ncloth = \"glass\"\nlayup = \"[0]\"\n"
        )
    };
    let stock = "[[cloth.glass.stock]]\nfile = \"pipe\"\n";
    fs::write(temp.path().join("pattern.toml"), job("pipe", "")).unwrap();
    fs::write(temp.path().join("device.toml"), job("/dev/zero", "")).unwrap();
    fs::write(temp.path().join("stock.toml"), job("lid.svg", stock)).unwrap();
    for arguments in [
        ["inspect", "pipe"],
        ["inspect", "/dev/zero"],
        ["check", "pipe"],
        ["plan", "pipe"],
        ["check", "pattern.toml"],
        ["check", "device.toml"],
        ["check", "stock.toml"],
        ["new", "pipe"],
    ] {
        let (code, said) = run(&arguments, temp.path());
        assert_eq!(code, Some(1), "{arguments:?}: {said}");
        assert!(said.contains("pipe or a device"), "{arguments:?}: {said}");
    }
}

const CLOTH: &str =
    "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n";
const PART: &str =
    "[[part]]\nname = \"P\"\npattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0]\"\n";

/// A remnant of `glass` with a flaw in it.
fn remnant(margin: &str, name: &str) -> String {
    format!(
        r#"{{"warpwise_remnant": 1, "units": "mm", "cloth": "glass", "name": "{name}",
        "outline": {{"outer": [[0,0],[900,0],[900,400],[0,400]]}},
        "flaws": [{{"outer": [[100,100],[150,100],[120,150]], "margin": {margin}}}]}}"#
    )
}

#[test]
fn a_remnant_is_no_larger_than_a_cloth() {
    let temp = tempfile::tempdir().unwrap();
    fs::write(temp.path().join("lid.svg"), drawing("")).unwrap();
    let job = format!("{CLOTH}[[cloth.glass.stock]]\nfile = \"left.json\"\n{PART}");
    fs::write(temp.path().join("job.toml"), job).unwrap();
    for (written, said) in [
        (remnant("30", "r1"), None),
        (remnant("1e12", "r1"), Some("the margin of a flaw")),
        (remnant("1e5", "r1"), Some("the margin of a flaw")),
        (remnant("30", &"r".repeat(300)), Some("the name")),
        (
            remnant("30", "r1").replace("900", "990000"),
            Some("the edge"),
        ),
    ] {
        fs::write(temp.path().join("left.json"), written).unwrap();
        let (code, told) = run(&["check", "job.toml"], temp.path());
        assert_eq!(code, Some(i32::from(said.is_some())), "{told}");
        assert!(told.contains(said.unwrap_or_default()), "{said:?}: {told}");
    }
}

#[test]
fn an_unreadable_file_in_a_folder_of_stock_is_named() {
    use std::os::unix::ffi::OsStrExt as _;
    let temp = tempfile::tempdir().unwrap();
    fs::write(temp.path().join("lid.svg"), drawing("")).unwrap();
    let job = format!("{CLOTH}[[cloth.glass.stock]]\nfile = \"shelf\"\n{PART}");
    fs::write(temp.path().join("job.toml"), job).unwrap();
    let shelf = temp.path().join("shelf");
    fs::create_dir(&shelf).unwrap();
    let (code, said) = run(&["check", "job.toml"], temp.path());
    assert_eq!(code, Some(0), "an empty shelf is no fault: {said}");
    fs::write(shelf.join("good.json"), remnant("30", "good")).unwrap();
    let (code, said) = run(&["check", "job.toml"], temp.path());
    assert_eq!(code, Some(0), "{said}");
    assert!(!said.contains("no stock"), "{said}");
    // A folder with the ending of a file can be read by nobody, not even by root.
    fs::create_dir(shelf.join("bad.json")).unwrap();
    let (code, said) = run(&["check", "job.toml"], temp.path());
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("shelf/bad.json"), "{said}");
    fs::remove_dir(shelf.join("bad.json")).unwrap();
    fs::write(shelf.join("cut-short.json"), "{\"warpwise_remnant\": 1").unwrap();
    let (code, said) = run(&["check", "job.toml"], temp.path());
    assert_eq!(code, Some(1), "{said}");
    assert!(said.contains("shelf/cut-short.json"), "{said}");
    fs::remove_file(shelf.join("cut-short.json")).unwrap();
    let name = std::ffi::OsStr::from_bytes(b"odd-\xff.json");
    // Some file systems take no such name.
    if fs::write(shelf.join(name), remnant("30", "odd")).is_ok() {
        let (code, said) = run(&["check", "job.toml"], temp.path());
        assert_eq!(code, Some(1), "{said}");
        assert!(
            said.contains("odd-") && said.contains("not UTF-8"),
            "{said}"
        );
    }
}

#[test]
fn a_job_can_hold_no_path_that_is_not_text() {
    use std::os::unix::ffi::OsStrExt as _;
    let temp = tempfile::tempdir().unwrap();
    let name = std::ffi::OsStr::from_bytes(b"lid-\xff.svg");
    if fs::write(temp.path().join(name), drawing("")).is_err() {
        return;
    }
    let done = Command::cargo_bin("warpwise")
        .unwrap()
        .arg("new")
        .arg(name)
        .current_dir(temp.path())
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&done.stderr);
    assert_eq!(done.status.code(), Some(1), "{said}");
    assert!(said.contains("not UTF-8"), "{said}");
    assert_eq!(
        fs::read_dir(temp.path()).unwrap().count(),
        1,
        "nothing was written"
    );
}

#[test]
fn a_title_fits_a_label_and_a_roll_a_shop() {
    let temp = tempfile::tempdir().unwrap();
    fs::write(temp.path().join("lid.svg"), drawing("")).unwrap();
    for (letters, code) in [(120, 0), (121, 1), (100_000, 1)] {
        let job = format!("title = \"{}\"\n{CLOTH}{PART}", "ä".repeat(letters));
        fs::write(temp.path().join("job.toml"), job).unwrap();
        let (answer, said) = run(&["check", "job.toml"], temp.path());
        assert_eq!(answer, Some(code), "{said}");
        assert!(
            said.len() < 1000 && (code == 0 || said.contains("too long")),
            "{said}"
        );
    }
    fs::write(temp.path().join("job.toml"), format!("{CLOTH}{PART}")).unwrap();
    for widths in ["1e6 m", "1 m, 21 m", "1e300 m"] {
        let (code, said) = run(&["compare", "job.toml", "--widths", widths], temp.path());
        assert_eq!(code, Some(2), "{said}");
        assert!(said.contains("no roll is wider than"), "{said}");
    }
}

#[test]
fn an_opening_that_a_step_moves_through_the_edge_is_told() {
    let temp = tempfile::tempdir().unwrap();
    let near = "<path d=\"M15 100v40h40v-40Z\"/>";
    fs::write(temp.path().join("lid.svg"), drawing(near)).unwrap();
    for (step, told) in [("-5 mm", "runs through the edge"), ("25 mm", "closes up")] {
        let job = format!("{CLOTH}{PART}step = \"{step}\"\n");
        fs::write(temp.path().join("job.toml"), job).unwrap();
        let (code, said) = run(&["check", "job.toml"], temp.path());
        assert_eq!(code, Some(0), "{said}");
        assert!(said.contains(told), "{step}: {said}");
    }
}
