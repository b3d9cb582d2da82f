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
