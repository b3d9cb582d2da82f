//! What the commands write: whole or not at all, and over nobody's work, whatever happens meanwhile.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::collections::BTreeSet;
use std::fs;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};

const DRAWING: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="300mm"
 viewBox="0 0 400 300"><path id="lid" d="M10 10H310V210L10 260Z"/></svg>"#;

const CLOTH: &str =
    "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n";

/// A folder with a drawing and jobs `a` and `b` of it.
fn bench() -> tempfile::TempDir {
    let temp = tempfile::tempdir().unwrap();
    fs::write(temp.path().join("lid.svg"), DRAWING).unwrap();
    for (name, layup) in [("a", "[0]"), ("b", "[0/45]s")] {
        let text = format!(
            "title = \"{name}\"\n{CLOTH}[[part]]\nname = \"{name}\"\npattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"{layup}\"\n"
        );
        fs::write(temp.path().join(format!("{name}.toml")), text).unwrap();
    }
    temp
}

fn command(folder: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_warpwise"));
    command
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped());
    command
}

fn run(folder: &Path, arguments: &[&str]) -> (i32, String) {
    told(&command(folder, arguments).output().unwrap())
}

fn told(output: &Output) -> (i32, String) {
    let text = String::from_utf8_lossy(&output.stderr).into_owned();
    (output.status.code().unwrap_or(-1), text)
}

const PLAN_A: [&str; 8] = [
    "plan",
    "a.toml",
    "--out",
    "out",
    "--effort",
    "quick",
    "--threads",
    "1",
];
const PLAN_B: [&str; 8] = [
    "plan",
    "b.toml",
    "--out",
    "out",
    "--effort",
    "quick",
    "--threads",
    "1",
];

fn start(folder: &Path, arguments: &[&str]) -> Child {
    command(folder, arguments).spawn().unwrap()
}

fn send(child: &Child, signal: Signal) {
    // It may have ended already.
    _ = kill_process(Pid::from_child(child), signal);
}

/// The job that the whole plan in `out` is of; panics if it is not whole.
fn whole_plan(out: &Path) -> String {
    let manifest = fs::read_to_string(out.join(".warpwise")).unwrap();
    let listed: BTreeSet<String> = manifest.lines().map(str::to_owned).collect();
    let mut found = BTreeSet::new();
    let mut open = vec![out.to_owned()];
    while let Some(folder) = open.pop() {
        for entry in fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                open.push(path);
            } else if path.file_name().unwrap() != ".warpwise" {
                let name = path.strip_prefix(out).unwrap().to_str().unwrap();
                found.insert(name.to_owned());
            }
        }
    }
    assert_eq!(listed, found);
    let plan: serde_json::Value =
        serde_json::from_slice(&fs::read(out.join("plan.json")).unwrap()).unwrap();
    let title = plan["title"].as_str().unwrap().to_owned();
    let report = fs::read_to_string(out.join("report.html")).unwrap();
    assert!(report.contains(&format!("<title>{title}")), "of two jobs");
    title
}

/// What lies in `folder` beside drawing, jobs and `out`.
fn beside(folder: &Path) -> Vec<String> {
    let names = fs::read_dir(folder).unwrap();
    let names = names.map(|entry| entry.unwrap().file_name().into_string().unwrap());
    names
        .filter(|name| !["lid.svg", "a.toml", "b.toml", "out"].contains(&name.as_str()))
        .collect()
}

#[test]
fn runs_at_once_into_one_folder_leave_one_whole_plan() {
    let temp = bench();
    let here = temp.path();
    let mut n_refused = 0;
    for round in 0_u64..12 {
        let mut runs = vec![start(here, &PLAN_A)];
        thread::sleep(Duration::from_millis(7 * (round % 4)));
        runs.extend((0..round % 2 + 1).map(|_| start(here, &PLAN_B)));
        let mut n_done = 0;
        for run in runs {
            match told(&run.wait_with_output().unwrap()) {
                (0, _) => n_done += 1,
                (3, why) => {
                    assert!(why.contains("at work on this folder"), "{why}");
                    n_refused += 1;
                }
                other => panic!("{other:?}"),
            }
        }
        assert!(n_done > 0, "nobody wrote");
        whole_plan(&here.join("out"));
        assert_eq!(beside(here), Vec::<String>::new());
    }
    assert!(n_refused > 0, "they never met");
}

#[test]
fn a_kill_at_any_moment_leaves_the_earlier_plan_or_the_new_one() {
    let temp = bench();
    let here = temp.path();
    assert_eq!(run(here, &PLAN_A).0, 0);
    for round in 0_u64..24 {
        let mut child = start(here, if round % 2 == 0 { &PLAN_B } else { &PLAN_A });
        thread::sleep(Duration::from_millis(5 * round));
        send(&child, Signal::KILL);
        child.wait().unwrap();
        whole_plan(&here.join("out"));
        let (code, why) = run(here, &PLAN_A);
        assert_eq!(code, 0, "{why}");
        assert_eq!(whole_plan(&here.join("out")), "a");
        assert_eq!(beside(here), Vec::<String>::new());
    }
}

#[test]
fn a_second_interrupt_leaves_nothing_or_comes_too_late() {
    let temp = bench();
    let here = temp.path();
    assert_eq!(run(here, &PLAN_A).0, 0);
    for round in 0_u64..24 {
        let child = start(here, &PLAN_B);
        thread::sleep(Duration::from_millis(10 + 5 * round));
        send(&child, Signal::INT);
        thread::sleep(Duration::from_millis(round % 3));
        send(&child, Signal::INT);
        let output = child.wait_with_output().unwrap();
        let code = output.status.code();
        let title = whole_plan(&here.join("out"));
        match code {
            Some(0) => assert_eq!(title, "b"),
            // Without a code: the first one came before the program listened to it.
            Some(130) | None => assert_eq!(title, "a"),
            other => panic!("{other:?}: {}", told(&output).1),
        }
        if code.is_some() {
            assert_eq!(beside(here), Vec::<String>::new(), "{code:?}");
        }
        assert_eq!(run(here, &PLAN_A).0, 0);
    }
}

#[test]
fn results_go_over_nobodys_work() {
    let temp = bench();
    let here = temp.path();
    let refused = |arguments: &[&str], why: &str| {
        let before: Vec<_> = ["lid.svg", "a.toml"]
            .map(|name| fs::read(here.join(name)).unwrap())
            .into();
        let (code, said) = run(here, arguments);
        assert!(
            code == 3 && said.contains(why),
            "{arguments:?}: {code} {said}"
        );
        let after: Vec<_> = ["lid.svg", "a.toml"]
            .map(|name| fs::read(here.join(name)).unwrap())
            .into();
        assert_eq!(before, after);
    };
    fs::hard_link(here.join("lid.svg"), here.join("same.svg")).unwrap();
    fs::write(here.join("letter.svg"), "<svg/>").unwrap();
    symlink("letter.svg", here.join("link.svg")).unwrap();
    fs::create_dir(here.join("folder")).unwrap();
    for target in ["lid.svg", "./lid.svg", "same.svg"] {
        refused(
            &["inspect", "lid.svg", "--replace", "--svg", target],
            "read by the command",
        );
        refused(
            &["inspect", "lid.svg", "--replace", "--png", target],
            "read by the command",
        );
    }
    // Told before the searches, which would take many minutes.
    let begun = Instant::now();
    for html in ["a.toml", "lid.svg"] {
        let arguments = [
            "compare",
            "a.toml",
            "--effort",
            "200s",
            "--replace",
            "--html",
            html,
        ];
        refused(&arguments, "read by the command");
    }
    assert!(begun.elapsed() < Duration::from_secs(120));
    refused(
        &["inspect", "lid.svg", "--svg", "letter.svg"],
        "did not write it",
    );
    refused(
        &["inspect", "lid.svg", "--replace", "--svg", "link.svg"],
        "link or a device",
    );
    refused(
        &["inspect", "lid.svg", "--replace", "--svg", "/dev/null"],
        "link or a device",
    );
    refused(
        &["inspect", "lid.svg", "--replace", "--svg", "folder"],
        "folder",
    );
    assert_eq!(
        fs::read_to_string(here.join("letter.svg")).unwrap(),
        "<svg/>"
    );
    // Its own pictures, and what the user gives up, are replaced.
    for _ in 0..2 {
        let own = [
            "inspect", "lid.svg", "--quiet", "--svg", "seen.svg", "--png", "seen.png",
        ];
        assert_eq!(run(here, &own).0, 0);
        let own = [
            "compare",
            "a.toml",
            "--effort",
            "quick",
            "--html",
            "ways.html",
        ];
        assert_eq!(run(here, &own).0, 0);
        assert_eq!(run(here, &["man", "pages"]).0, 0);
    }
    let given_up = ["inspect", "lid.svg", "--replace", "--svg", "letter.svg"];
    assert_eq!(run(here, &given_up).0, 0);
}

#[test]
fn a_place_that_will_not_do_is_refused_before_the_search() {
    let temp = bench();
    let here = temp.path();
    assert_eq!(run(here, &PLAN_A).0, 0);
    // Longer than the test would wait.
    let refused = |job: &str, out: &str, why: &str| {
        let (code, said) = run(here, &["plan", job, "--out", out, "--effort", "3600s"]);
        assert!(code == 3 && said.contains(why), "{out}: {code} {said}");
    };
    refused("a.toml", ".", "the folder you are in");
    refused("a.toml", "/", "the folder you are in");
    symlink("out", here.join("link")).unwrap();
    refused("a.toml", "link", "is a link");
    refused("a.toml", "lid.svg/out", "cannot be");
    fs::create_dir(here.join("out/mine")).unwrap();
    refused("a.toml", "out", "did not write: mine");
    fs::remove_dir(here.join("out/mine")).unwrap();
    // A shelf in the folder that is replaced.
    let on_shelf = fs::read_to_string(here.join("a.toml")).unwrap()
        + "[[cloth.glass.stock]]\nfile = \"out/stock\"\n";
    fs::create_dir_all(here.join("out/stock")).unwrap();
    fs::write(here.join("c.toml"), on_shelf).unwrap();
    if fs::read_dir(here.join("out/stock"))
        .unwrap()
        .next()
        .is_none()
    {
        fs::remove_dir(here.join("out/stock")).unwrap();
        panic!("the demo of this test leaves no stock");
    }
    refused("c.toml", "out", "which each plan replaces");
}

#[test]
fn output_that_cannot_be_printed_is_told_by_the_exit_code() {
    let temp = bench();
    let here = temp.path();
    for arguments in [
        &["check", "a.toml"][..],
        &["schema"],
        &["inspect", "lid.svg", "--json"],
        &["completions", "bash"],
        &["plan", "--help"],
        &["--version"],
        &["board", "board.pdf", "--replace"],
        &["open", "a.toml", "--no-browser", "--port", "0"],
        &["open", "lid.svg", "--no-browser", "--port", "0"],
        &["shop", "--help"],
        &["shelf", "shelf"],
        &["compare", "a.toml", "--times", "2"],
        &["plan", "a.toml", "--effort", "quick"],
        &["plan", "a.toml", "--effort", "quick", "--json"],
    ] {
        let full = fs::File::options().write(true).open("/dev/full").unwrap();
        let output = command(here, arguments).stdout(full).output().unwrap();
        let (code, said) = told(&output);
        assert!(
            code == 3 && said.contains("cannot be printed"),
            "{arguments:?}: {code} {said}"
        );
        let mut child = start(here, arguments);
        drop(child.stdout.take());
        assert_eq!(child.wait().unwrap().code(), Some(0), "{arguments:?}");
    }
}
