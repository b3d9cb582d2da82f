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

/// A roll of 1250 mm, and a piece that is wider by so little that it rounds to nothing.
#[test]
fn what_is_too_wide_by_a_hair_is_never_too_wide_by_nothing() {
    let temp = tempfile::tempdir().unwrap();
    let mut n_refused = 0;
    for over in ["0.0001", "0.001", "0.004", "0.02", "0.049"] {
        let width = 1250.0 + over.parse::<f64>().unwrap();
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"2000mm\" height=\"1300mm\" viewBox=\"0 0 2000 1300\">\
             <path id=\"lid\" d=\"M0 0H1900V{width}H0Z\"/></svg>"
        );
        fs::write(temp.path().join("lid.svg"), svg).unwrap();
        let job = format!("[cutting]\ntrim = \"0 mm\"\n{CLOTH}{PART}");
        let job = job.replace(
            "roll_width = \"1 m\"",
            "roll_width = \"1250 mm\"\nselvedge = \"0 mm\"",
        );
        assert!(job.contains("1250 mm"), "{job}");
        fs::write(temp.path().join("job.toml"), job).unwrap();
        let (code, said) = run(&["check", "job.toml"], temp.path());
        assert!(!said.contains(" 0 mm"), "{over}: {said}");
        if code != Some(0) {
            assert!(
                said.contains("less than 0.1 mm (0.004 in) too wide"),
                "{over}: {said}"
            );
            n_refused += 1;
        }
    }
    assert!(n_refused >= 2, "{n_refused}");
}

/// Outlines of very many corners are checked, and divided, in seconds; `run` ends what hangs.
#[test]
fn outlines_of_very_many_corners_are_checked_and_divided_in_time() {
    let temp = tempfile::tempdir().unwrap();
    let star = |n: usize, radius: f64, noise: f64| {
        let corner = |k: usize| {
            let turn = k as f64 / n as f64 * std::f64::consts::TAU;
            let r = radius - noise * (k * 7919 % 997) as f64 / 997.0;
            let (sin, cos) = warpwise::geometry::trig::sin_cos_radians(turn);
            format!("{:.4} {:.4}", 1000.0 + r * cos, 1000.0 + r * sin)
        };
        let corners: Vec<String> = (0..n).map(corner).collect();
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"2000mm\" height=\"2000mm\" viewBox=\"0 0 2000 2000\">\
             <path id=\"lid\" d=\"M{}Z\"/></svg>",
            corners.join("L")
        )
    };
    for (name, svg, cutting) in [
        ("noisy", star(50_000, 400.0, 2.0), "trim = \"10 mm\""),
        (
            "divided",
            star(4000, 900.0, 60.0),
            "trim = \"5 mm\"\nsplice = \"lap\"",
        ),
    ] {
        fs::write(temp.path().join("lid.svg"), svg).unwrap();
        let job = format!("[cutting]\n{cutting}\n{CLOTH}{PART}");
        fs::write(temp.path().join("job.toml"), job).unwrap();
        let (code, said) = run(&["check", "job.toml"], temp.path());
        assert!(code.is_some(), "{name} does not end");
        assert_eq!(code, Some(0), "{name}: {said}");
        assert_eq!(said.contains("is made of"), name == "divided", "{said}");
    }
}

/// A strip in two pieces, too low for any label: where its number in the cutting order has room, that stands on it and the
/// list tells the name; where not, both stand beside it with a line to it.
#[test]
fn a_spliced_piece_too_low_for_its_label_is_named_all_the_same() {
    let temp = tempfile::tempdir().unwrap();
    let cutting = "[cutting]\ntrim = \"0 mm\"\nsplice = \"lap\"\nlap = \"10 mm\"\n";
    let cloth = CLOTH.replace(
        "roll_width",
        "turns = \"none\"\ntable_length = \"500 mm\"\nroll_width",
    );
    fs::write(
        temp.path().join("job.toml"),
        format!("{cutting}{cloth}{PART}"),
    )
    .unwrap();
    for (height, has_number_alone) in [(6, true), (2, false)] {
        let svg = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"1000mm\" height=\"100mm\" viewBox=\"0 0 1000 100\">\
             <path id=\"lid\" d=\"M0 0H900V{height}H0Z\"/></svg>"
        );
        fs::write(temp.path().join("lid.svg"), svg).unwrap();
        let (code, said) = run(
            &["plan", "job.toml", "--effort", "quick", "--threads", "1"],
            temp.path(),
        );
        assert_eq!(code, Some(0), "{said}");
        let read =
            |name: &str| fs::read_to_string(temp.path().join("job-plan").join(name)).unwrap();
        let dxf = read("cut/glass.dxf").replace("\r\n", "\n");
        let lines = dxf.split("\nLINE\n").skip(1);
        let on_labels =
            lines.filter(|line| line.lines().take(8).any(|word| word.trim() == "LABEL"));
        assert_eq!(
            on_labels.count(),
            if has_number_alone { 0 } else { 2 },
            "{height} mm"
        );
        for (name, number) in [("P-1-B", "#1"), ("P-1-A", "#2")] {
            let text = match has_number_alone {
                true => number.to_owned(),
                false => format!("{name}  {number}"),
            };
            assert!(dxf.contains(&format!("\n{text}\n")), "{height} mm: {text}");
            assert!(read("layup/kit-list.html").contains(name), "{name}");
        }
    }
}
