//! Ctrl-C is answered at once, whatever the program is at and however large the job.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fmt::Write as _;
use std::fs;
use std::io::Read as _;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::sync::mpsc;
use std::thread;
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};

/// Within this Ctrl-C is answered. A second on a machine that has nothing else to do.
const AT_ONCE: Duration = Duration::from_secs(6);

/// A job of `n_shapes` × `sets` pieces in `folder`.
fn job(folder: &Path, n_shapes: usize, sets: usize) {
    let (mut drawing, mut parts) = (String::new(), String::new());
    for k in 0..n_shapes {
        let (x, y) = (400 * (k % 10), 300 * (k / 10));
        let (a, b, c) = (120 + 7 * k, 60 + 3 * k, 20 + 2 * k);
        _ = writeln!(
            drawing,
            r#"<path id="o{k}" d="M{x} {y}h{a}l{c} {b}l-{a} {c}q-30 -40 -{c} -{b}Z"/>"#
        );
        _ = writeln!(
            parts,
            "[[part]]\nname = \"P{k}\"\npattern = \"all.svg\"\noutline = \"o{k}\"\ncloth = \"glass\"\n\
             layup = \"[0]\"\nzero_direction = 0\nsets = {sets}"
        );
    }
    let drawing = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="4000mm" height="3000mm" viewBox="0 0 4000 3000">{drawing}</svg>"#
    );
    let cloth =
        "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n";
    fs::write(folder.join("all.svg"), drawing).unwrap();
    fs::write(folder.join("job.toml"), format!("{cloth}{parts}")).unwrap();
}

fn start(folder: &Path) -> Child {
    Command::new(env!("CARGO_BIN_EXE_warpwise"))
        .args(["plan", "job.toml", "--out", "out", "--effort", "quick"])
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap()
}

/// How a Ctrl-C was answered.
#[derive(Debug, PartialEq)]
enum Answer {
    /// The run was left.
    Left,
    /// The search ends and the best so far is written.
    Stops,
    /// The run had ended, or was writing already.
    TooLate,
}

/// Sends a Ctrl-C after `wait` and tells how it was answered; panics if it was not at once.
fn interrupt(folder: &Path, wait: Duration) -> Answer {
    let mut child = start(folder);
    let mut stderr = child.stderr.take().unwrap();
    let (tell, told) = mpsc::channel();
    let reader = thread::spawn(move || {
        let mut bytes = [0; 4096];
        while let Ok(n @ 1..) = stderr.read(&mut bytes) {
            _ = tell.send(String::from_utf8_lossy(&bytes[..n]).into_owned());
        }
    });
    thread::sleep(wait);
    let before: String = told.try_iter().collect();
    let is_over = child.try_wait().unwrap().is_some();
    _ = kill_process(Pid::from_child(&child), Signal::INT);
    let sent = Instant::now();
    let mut said = String::new();
    while let Ok(more) = told.recv_timeout(AT_ONCE.saturating_sub(sent.elapsed())) {
        said.push_str(&more);
        if said.contains("stopping with the best so far") {
            break;
        }
    }
    assert!(
        sent.elapsed() < AT_ONCE,
        "after {wait:?}: {before} | {said}"
    );
    let status = child.wait().unwrap();
    reader.join().unwrap();
    let out = folder.join("out");
    match status.code() {
        Some(130) | None => {
            assert!(!is_over && !out.exists(), "{wait:?}");
            Answer::Left
        }
        Some(0) => {
            assert!(out.join("plan.json").exists());
            fs::remove_dir_all(&out).unwrap();
            if said.contains("stopping with") {
                Answer::Stops
            } else {
                Answer::TooLate
            }
        }
        other => panic!("{other:?} after {wait:?}: {before} | {said}"),
    }
}

#[test]
fn ctrl_c_is_answered_at_once_whatever_the_program_is_at() {
    let temp = tempfile::tempdir().unwrap();
    let here = temp.path();
    job(here, 12, 6);
    let began = Instant::now();
    assert!(start(here).wait_with_output().unwrap().status.success());
    let whole = began.elapsed();
    fs::remove_dir_all(here.join("out")).unwrap();
    let answers: Vec<Answer> = (0..6)
        .map(|k| interrupt(here, whole * k / 6 + Duration::from_millis(1)))
        .collect();
    assert_eq!(answers[0], Answer::Left, "{answers:?}");
    assert!(answers.contains(&Answer::Stops), "{answers:?}");
    let names = fs::read_dir(here).unwrap();
    assert_eq!(names.count(), 2, "something hidden was left behind");
}
