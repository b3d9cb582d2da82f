//! A shelf that is kept, from outside: what jobs take and leave, whatever happens meanwhile.
//!
//! The tests read journal and remnant files by themselves, so that they do not repeat the program's own
//! reckoning.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::thread;
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};

/// Largest area that may be lost or found over all jobs, mm².
const BALANCE_MM2: f64 = 1.0;

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

fn told(output: &Output) -> (i32, String) {
    let text = [&output.stdout[..], &output.stderr[..]].concat();
    let text = String::from_utf8_lossy(&text).into_owned();
    (output.status.code().unwrap_or(-1), text)
}

fn run(folder: &Path, arguments: &[&str]) -> (i32, String) {
    told(&command(folder, arguments).output().unwrap())
}

fn good(folder: &Path, arguments: &[&str]) -> String {
    let (code, text) = run(folder, arguments);
    assert_eq!(code, 0, "{arguments:?}: {text}");
    text
}

fn start(folder: &Path, arguments: &[&str]) -> Child {
    command(folder, arguments).spawn().unwrap()
}

fn kill(mut child: Child) {
    _ = kill_process(Pid::from_child(&child), Signal::KILL);
    child.wait().unwrap();
}

/// A job of `sets` rectangles of so many mm, of two plies each.
fn write_job(folder: &Path, name: &str, (length, width): (u32, u32), sets: u32) {
    let drawing = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"2000mm\" height=\"2000mm\" viewBox=\"0 0 2000 2000\">\
         <path d=\"M100 100H{}V{}H100Z\"/></svg>",
        100 + length,
        100 + width
    );
    fs::write(folder.join(format!("{name}.svg")), drawing).unwrap();
    let job = format!(
        "shelf = \"shelf\"\ntitle = \"{name}\"\n[cutting]\ntrim = \"10 mm\"\n[cloth.glass]\nweave = \"plain\"\n\
         areal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\nsold_by = \"1 m\"\nleast_remnant = \"100 mm\"\n\
         [[part]]\nname = \"{name}\"\npattern = \"{name}.svg\"\ncloth = \"glass\"\nlayup = \"[0/90]\"\nsets = {sets}\n"
    );
    fs::write(folder.join(format!("{name}.toml")), job).unwrap();
}

fn plan(folder: &Path, name: &str) -> String {
    good(folder, &plan_of(&format!("{name}.toml")))
}

fn plan_of(job: &str) -> [&str; 6] {
    ["plan", job, "--effort", "quick", "--threads", "1"]
}

fn put(folder: &Path, length: &str, width: &str, more: &[&str]) {
    let put = [
        "shelf", "shelf", "--cloth", "glass", "--length", length, "--width", width,
    ];
    good(folder, &[&put, more].concat());
}

/// A line of the journal, as it stands there.
#[derive(Clone, Debug)]
struct Line {
    deed: String,
    job: String,
    /// Name → area, mm², and lot.
    off: BTreeMap<String, (f64, String)>,
    on: BTreeMap<String, (f64, String)>,
    /// Fresh, in parts, waste, over all cloths.
    cloth: [f64; 3],
}

/// The whole lines of the journal of `shelf`.
fn journal(shelf: &Path) -> Vec<Line> {
    let text = fs::read_to_string(shelf.join("journal.txt")).unwrap_or_default();
    let whole = text.rfind('\n').map_or("", |end| &text[..end]);
    let mut lines = Vec::new();
    for (idx, line) in whole.lines().enumerate() {
        let fields: Vec<&str> = line.split('|').map(str::trim).collect();
        assert_eq!(fields[0], (idx + 1).to_string(), "{line}");
        let list = |word: &str| {
            let found = fields[5..]
                .iter()
                .find_map(|field| field.strip_prefix(word));
            let entries = found.map_or(Vec::new(), |list| list.split(';').collect());
            entries
                .into_iter()
                .map(|entry| {
                    let (words, lot) = entry.split_once("lot=").unwrap_or((entry, ""));
                    (
                        words
                            .split_whitespace()
                            .map(str::to_owned)
                            .collect::<Vec<_>>(),
                        lot.trim().to_owned(),
                    )
                })
                .collect::<Vec<_>>()
        };
        let moved = |word: &str| {
            list(word)
                .into_iter()
                .map(|(words, lot)| (words[0].clone(), (words[2].parse().unwrap(), lot)))
                .collect()
        };
        let mut cloth = [0.0; 3];
        for (words, _) in list("cloth:") {
            for (sum, word) in cloth.iter_mut().zip(&words[1..]) {
                *sum += word.parse::<f64>().unwrap();
            }
        }
        let (deed, job) = (fields[2].to_owned(), fields[3].to_owned());
        lines.push(Line {
            deed,
            job,
            off: moved("off:"),
            on: moved("on:"),
            cloth,
        });
    }
    lines
}

/// The area inside a closed line, mm².
fn shoelace(ring: &serde_json::Value) -> f64 {
    let points: Vec<[f64; 2]> = serde_json::from_value(ring.clone()).unwrap();
    let next = points.iter().cycle().skip(1);
    let sum: f64 = points
        .iter()
        .zip(next)
        .map(|(a, b)| a[0] * b[1] - b[0] * a[1])
        .sum();
    (sum / 2.0).abs()
}

/// The area of a remnant file, mm².
fn area(file: &Path) -> f64 {
    let file: serde_json::Value = serde_json::from_slice(&fs::read(file).unwrap()).unwrap();
    let outline = &file["outline"];
    let openings = outline["openings"].as_array().into_iter().flatten();
    shoelace(&outline["outer"]) - openings.map(shoelace).sum::<f64>()
}

/// Checks that journal and files of the shelf in `folder` agree, nothing is lost and nothing there
/// twice; returns what is there with its area. `is_finished`: no run was ended since the last one wrote.
fn sound(folder: &Path, is_finished: bool) -> BTreeMap<String, f64> {
    let shelf = folder.join("shelf");
    let mut there: BTreeMap<String, (usize, f64)> = BTreeMap::new();
    let mut ever = BTreeSet::new();
    let mut balance = 0.0;
    let lines = journal(&shelf);
    let mut waiting: BTreeMap<String, usize> = BTreeMap::new();
    for (idx, line) in lines.iter().enumerate() {
        match line.deed.as_str() {
            "reserved" => {
                waiting.insert(line.job.clone(), idx);
                continue;
            }
            "released" => {
                waiting.remove(&line.job);
                continue;
            }
            "cut" => assert!(
                waiting.remove(&line.job).is_some(),
                "cut and not planned: {line:?}"
            ),
            _ => {}
        }
        for (name, (area, _)) in &line.off {
            let (_, was) = there
                .remove(name)
                .unwrap_or_else(|| panic!("{name} is taken and not there"));
            assert!((was - area).abs() < 0.01, "{name}: {was} and {area}");
        }
        for (name, (area, _)) in &line.on {
            assert!(ever.insert(name.clone()), "{name} is a name twice");
            there.insert(name.clone(), (idx + 1, *area));
        }
        let sum =
            |of: &BTreeMap<String, (f64, String)>| of.values().map(|(area, _)| area).sum::<f64>();
        if line.deed == "cut" {
            let [fresh, parts, waste] = line.cloth;
            let lost = sum(&line.off) + fresh - parts - waste - sum(&line.on);
            assert!(lost.abs() < BALANCE_MM2, "{lost} mm² are lost: {line:?}");
            balance += fresh - parts - waste;
        } else {
            balance += sum(&line.on) - sum(&line.off);
        }
    }
    let on_shelf: f64 = there.values().map(|(_, area)| area).sum();
    assert!(
        (on_shelf - balance).abs() < BALANCE_MM2,
        "{} mm² are lost over all jobs",
        on_shelf - balance
    );

    let named = |name: &str| shelf.join(format!("{name}.json"));
    let hidden = |name: &str, n: usize| shelf.join(format!(".{name}.json-{n}"));
    for (name, (n, written)) in &there {
        let found: Vec<PathBuf> = [named(name), hidden(name, *n)]
            .into_iter()
            .filter(|p| p.exists())
            .collect();
        assert_eq!(found.len(), 1, "{name}: {found:?}");
        let found = area(&found[0]);
        assert!(
            (found - written).abs() < 0.01,
            "{name}: {found} and {written}"
        );
    }
    if is_finished && shelf.exists() {
        let mut expected: BTreeSet<PathBuf> = there.keys().map(|name| named(name)).collect();
        for &idx in waiting.values() {
            expected.extend(lines[idx].on.keys().map(|name| hidden(name, idx + 1)));
        }
        expected.insert(shelf.join("journal.txt"));
        let found: BTreeSet<PathBuf> = fs::read_dir(&shelf)
            .unwrap()
            .map(|e| e.unwrap().path())
            .collect();
        assert_eq!(found, expected);
    }
    there
        .into_iter()
        .map(|(name, (_, area))| (name, area))
        .collect()
}

/// Numbers that look like chance and are the same each time.
struct Chance(u64);

impl Chance {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }
}

#[test]
fn ten_jobs_in_a_row_lose_no_cloth_and_count_none_twice() {
    let temp = tempfile::tempdir().unwrap();
    let here = temp.path();
    let mut chance = Chance(1);
    put(here, "2.2 m", "1 m", &["--roll", "--lot", "B 7"]);
    put(here, "640 mm", "480 mm", &[]);
    let (mut n_from_shelf, mut in_parts) = (0, 0.0);
    for n in 0..10 {
        let name = format!("J{n}");
        let size = (
            150 + chance.below(500) as u32,
            150 + chance.below(400) as u32,
        );
        let sets = 1 + chance.below(3) as u32;
        write_job(here, &name, size, sets);
        plan(here, &name);
        sound(here, true);
        // What the plan prints on labels is what the shelf will know.
        let line = journal(&here.join("shelf")).pop().unwrap();
        let printed: BTreeSet<String> = match fs::read_dir(here.join(format!("{name}-plan/stock")))
        {
            Ok(files) => files
                .map(|file| {
                    file.unwrap()
                        .path()
                        .file_stem()
                        .unwrap()
                        .to_str()
                        .unwrap()
                        .to_owned()
                })
                .collect(),
            Err(_) => BTreeSet::new(),
        };
        assert_eq!(printed, line.on.keys().cloned().collect());
        good(here, &["cut", &format!("{name}.toml"), "--who", "Ann"]);
        sound(here, true);
        let line = journal(&here.join("shelf")).pop().unwrap();
        let net = f64::from(size.0 * size.1 * 2 * sets);
        assert!((line.cloth[1] - net).abs() < BALANCE_MM2, "{line:?}: {net}");
        n_from_shelf += usize::from(!line.off.is_empty());
        in_parts += net;
    }
    assert!(
        n_from_shelf >= 7,
        "only {n_from_shelf} jobs took from the shelf"
    );
    let parts: f64 = journal(&here.join("shelf"))
        .iter()
        .filter(|l| l.deed == "cut")
        .map(|l| l.cloth[1])
        .sum();
    assert!((parts - in_parts).abs() < BALANCE_MM2);
    let told = good(here, &["shelf", "shelf", "--journal"]);
    assert!(told.contains("Ann") && told.contains("(lot B 7)"), "{told}");
}

/// How many kills; the outside checks ask for more.
fn n_kills() -> u64 {
    std::env::var("WARPWISE_KILLS")
        .ok()
        .and_then(|n| n.parse().ok())
        .unwrap_or(20)
}

#[test]
fn a_kill_at_any_moment_loses_no_remnant_and_doubles_none() {
    let temp = tempfile::tempdir().unwrap();
    let here = temp.path();
    put(here, "3 m", "1 m", &["--roll"]);
    write_job(here, "A", (300, 200), 1);
    let began = Instant::now();
    plan(here, "A");
    let of_plan = began.elapsed();
    let began = Instant::now();
    put(here, "500 mm", "400 mm", &[]);
    let of_put = began.elapsed();
    let mut chance = Chance(7);
    let mut n_booked = 0;
    for round in 0..n_kills() {
        let before = journal(&here.join("shelf")).len();
        let share = chance.below(1000) as f64 / 1000.0;
        let (arguments, wait): (Vec<&str>, Duration) = match round % 4 {
            // The end of a plan, where it books.
            0 => (plan_of("A.toml").into(), of_plan.mul_f64(0.7 + 0.4 * share)),
            1 => {
                plan(here, "A");
                (
                    vec!["cut", "A.toml", "--lot", "glass=L1"],
                    of_put.mul_f64(1.3 * share),
                )
            }
            _ => {
                let put = [
                    "shelf", "shelf", "--cloth", "glass", "--length", "600 mm", "--width", "300 mm",
                ];
                (put.into(), of_put.mul_f64(1.3 * share))
            }
        };
        let child = start(here, &arguments);
        thread::sleep(wait);
        kill(child);
        sound(here, false);
        n_booked +=
            usize::from(journal(&here.join("shelf")).len() > before + usize::from(round % 4 == 1));
        // Readers see it whole, and whoever writes next finishes it.
        good(here, &["shelf", "shelf", "--json"]);
        put(here, "250 mm", "250 mm", &[]);
        let there = sound(here, true);
        assert!(there.len() > round as usize, "{there:?}");
    }
    assert!(n_booked > 0, "every kill came too early");
    let beside: Vec<_> = fs::read_dir(here)
        .unwrap()
        .map(|e| e.unwrap().file_name())
        .collect();
    assert!(
        beside
            .iter()
            .all(|name| !name.to_string_lossy().contains("shelf.warpwise")),
        "{beside:?}"
    );
}

#[test]
fn runs_at_once_take_different_cloth_and_give_different_names() {
    let temp = tempfile::tempdir().unwrap();
    let here = temp.path();
    let puts: Vec<Child> = (0..6)
        .map(|_| {
            start(
                here,
                &[
                    "shelf", "shelf", "--cloth", "glass", "--length", "700 mm", "--width", "600 mm",
                ],
            )
        })
        .collect();
    for child in puts {
        assert_eq!(told(&child.wait_with_output().unwrap()).0, 0);
    }
    assert_eq!(sound(here, true).len(), 6);
    let names = ["A", "B", "C"];
    for name in names {
        write_job(here, name, (400, 300), 1);
    }
    let jobs = names.map(|name| format!("{name}.toml"));
    let plans: Vec<Child> = jobs.iter().map(|job| start(here, &plan_of(job))).collect();
    for child in plans {
        let (code, text) = told(&child.wait_with_output().unwrap());
        assert_eq!(code, 0, "{text}");
    }
    let mut reserved: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for line in journal(&here.join("shelf"))
        .iter()
        .filter(|line| line.deed == "reserved")
    {
        reserved.insert(line.job.clone(), line.off.keys().cloned().collect());
    }
    let all: Vec<&String> = reserved.values().flatten().collect();
    assert!(
        all.len() >= 3 && all.iter().collect::<BTreeSet<_>>().len() == all.len(),
        "{reserved:?}"
    );
    // The same job cut twice at once is cut once.
    let cuts = [
        start(here, &["cut", "A.toml"]),
        start(here, &["cut", "A.toml"]),
    ];
    let mut codes = cuts.map(|child| told(&child.wait_with_output().unwrap()));
    codes.sort();
    assert_eq!((codes[0].0, codes[1].0), (0, 1), "{codes:?}");
    assert!(codes[1].1.contains("A was cut already"), "{}", codes[1].1);
    sound(here, true);
}

#[test]
fn a_plan_reserves_and_another_job_keeps_off() {
    let temp = tempfile::tempdir().unwrap();
    let here = temp.path();
    put(here, "700 mm", "600 mm", &["--name", "older"]);
    put(here, "690 mm", "600 mm", &["--name", "newer"]);
    put(here, "4 m", "1 m", &["--roll", "--name", "roll"]);
    write_job(here, "A", (300, 200), 1);
    plan(here, "A");
    let last = |deed: &str| {
        journal(&here.join("shelf"))
            .into_iter()
            .rfind(|l| l.deed == deed)
            .unwrap()
    };
    let names = |line: &Line| line.off.keys().cloned().collect::<Vec<_>>();
    // The smallest that will do, and of about one size the oldest.
    assert_eq!(names(&last("reserved")), ["older"]);
    // Again is the same: labels that are printed stay true.
    let first = last("reserved");
    plan(here, "A");
    assert_eq!(last("reserved").on, first.on);
    write_job(here, "B", (300, 200), 1);
    plan(here, "B");
    assert_eq!(names(&last("reserved")), ["newer"]);
    let told = good(here, &["shelf", "shelf"]);
    assert!(
        told.contains("A waits to be cut") && told.contains("B waits to be cut"),
        "{told}"
    );
    let (code, said) = run(here, &["shelf", "shelf", "--scrap", "newer"]);
    assert!(
        code == 1 && said.contains("`newer` is reserved for B"),
        "{said}"
    );
    good(here, &["shelf", "shelf", "--release", "B"]);
    good(here, &["shelf", "shelf", "--scrap", "newer"]);
    let (code, said) = run(here, &["cut", "B.toml"]);
    assert!(
        code == 1 && said.contains("nothing is reserved for B"),
        "{said}"
    );
    good(here, &["cut", "A.toml"]);
    let (code, said) = run(here, &["cut", "A.toml"]);
    assert!(code == 1 && said.contains("A was cut already"), "{said}");
    sound(here, true);
}

#[test]
fn lots_stay_with_their_cloth() {
    let temp = tempfile::tempdir().unwrap();
    let here = temp.path();
    write_job(here, "A", (600, 700), 1);
    plan(here, "A");
    let (code, said) = run(here, &["cut", "A.toml", "--lot", "twill=B1"]);
    assert!(
        code == 1 && said.contains("takes no cloth `twill`"),
        "{said}"
    );
    good(here, &["cut", "A.toml", "--lot", "glass=B1"]);
    let lines = journal(&here.join("shelf"));
    let left = &lines.last().unwrap().on;
    assert!(
        !left.is_empty() && left.values().all(|(_, lot)| lot == "B1"),
        "{left:?}"
    );
    let file = here.join(format!("shelf/{}.json", left.keys().next().unwrap()));
    assert!(
        fs::read_to_string(file)
            .unwrap()
            .contains("\"lot\": \"B1\"")
    );
    // What is left of it is of the same lot, which nobody needs to say again.
    write_job(here, "B", (150, 150), 1);
    plan(here, "B");
    good(here, &["cut", "B.toml"]);
    let lines = journal(&here.join("shelf"));
    let line = lines.last().unwrap();
    assert!(
        line.off
            .values()
            .chain(line.on.values())
            .all(|(_, lot)| lot == "B1"),
        "{line:?}"
    );
    assert!(!line.off.is_empty());
}

#[test]
fn what_is_wrong_with_a_shelf_is_told() {
    let temp = tempfile::tempdir().unwrap();
    let here = temp.path();
    let shelf = here.join("shelf");
    put(here, "900 mm", "700 mm", &["--name", "one"]);
    write_job(here, "A", (300, 200), 1);
    let again = [
        "shelf", "shelf", "--cloth", "glass", "--length", "1 m", "--width", "1 m", "--name", "ONE",
    ];
    let (code, said) = run(here, &again);
    assert!(
        code == 1 && said.contains("there is a remnant `ONE` already"),
        "{said}"
    );
    let (code, said) = run(here, &["shelf", "shelf", "--put", "shelf/one.json"]);
    assert!(code == 1 && said.contains("already"), "{said}");
    good(
        here,
        &["shelf", "shelf", "--put", "shelf/one.json", "--rename"],
    );
    assert!(shelf.join("glass-r1.json").exists());
    let kept = fs::read(shelf.join("one.json")).unwrap();
    let journal = fs::read(shelf.join("journal.txt")).unwrap();

    // The same stock by another key.
    let job = fs::read_to_string(here.join("A.toml")).unwrap();
    for (file, why) in [
        ("shelf/one.json", "is there twice"),
        ("shelf/.", "a shelf that is kept"),
    ] {
        let twice = job.replace(
            "[[part]]",
            &format!("[[cloth.glass.stock]]\nfile = \"{file}\"\n[[part]]"),
        );
        fs::write(here.join("B.toml"), twice).unwrap();
        let (code, said) = run(here, &["check", "B.toml"]);
        assert!(code == 1 && said.contains(why), "{said}");
    }
    // A copy that a synced folder made; cloth that is there again; a file that is gone.
    let refused = |why: &str| {
        for command in [
            &plan_of("A.toml")[..],
            &["shelf", "shelf"],
            &["check", "A.toml"],
        ] {
            let (code, said) = run(here, command);
            assert!(code == 1 && said.contains(why), "{command:?}: {said}");
        }
    };
    fs::write(shelf.join("journal (conflicted copy).txt"), &journal).unwrap();
    refused("two machines wrote to it");
    fs::remove_file(shelf.join("journal (conflicted copy).txt")).unwrap();
    good(here, &["shelf", "shelf", "--scrap", "one"]);
    put(here, "300 mm", "300 mm", &[]);
    fs::write(shelf.join("one.json"), &kept).unwrap();
    refused("`one` was scrapped");
    fs::remove_file(shelf.join("one.json")).unwrap();
    fs::write(shelf.join("found.json"), &kept).unwrap();
    let (code, said) = run(here, &["check", "A.toml"]);
    assert!(
        code == 0 && said.contains("the journal knows nothing of it"),
        "{said}"
    );
    fs::remove_file(shelf.join("found.json")).unwrap();
    fs::rename(shelf.join("glass-r1.json"), here.join("lost.json")).unwrap();
    refused("the file of `glass-r1` is gone");
    fs::rename(here.join("lost.json"), shelf.join("glass-r1.json")).unwrap();

    // A line that was written in part counts for nothing, and the next one takes its place.
    let whole = fs::read_to_string(shelf.join("journal.txt")).unwrap();
    fs::write(
        shelf.join("journal.txt"),
        format!("{whole}4 | 2026-01-01T00:0"),
    )
    .unwrap();
    put(here, "310 mm", "300 mm", &[]);
    sound(here, true);
    // One that cannot be is told with its number.
    let broken = whole.replace("scrapped", "lost");
    fs::write(shelf.join("journal.txt"), broken).unwrap();
    let (code, said) = run(here, &["shelf", "shelf"]);
    assert!(code == 1 && said.contains("journal.txt, line 3"), "{said}");
}

/// The commands that the README shows, one after another.
#[test]
fn the_commands_of_the_readme_work() {
    let temp = tempfile::tempdir().unwrap();
    let here = temp.path();
    write_job(here, "hatch", (400, 300), 1);
    let readme = include_str!("../README.md");
    let (_, section) = readme.split_once("### A shelf that is kept").unwrap();
    let commands = section.split("```").nth(1).unwrap();
    let mut told = String::new();
    for line in commands
        .lines()
        .filter_map(|line| line.strip_prefix("warpwise "))
    {
        // Words, of which those in quotes hold blanks.
        let quoted = line.split('"').enumerate();
        let words: Vec<&str> = quoted
            .flat_map(|(n, part)| match n % 2 {
                0 => part.split_whitespace().collect(),
                _ => vec![part],
            })
            .collect();
        told = good(here, &words);
    }
    assert!(told.contains("off: glass-r1 (lot B1207)"), "{told}");
    sound(here, true);
}

/// An off-cut is put on the shelf as it was drawn: an L of 600 × 400 mm without a corner of 300 × 200 mm.
#[test]
fn an_off_cut_comes_onto_the_shelf_as_it_was_drawn() {
    let folder = tempfile::tempdir().unwrap();
    let svg = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"700mm\" height=\"500mm\" viewBox=\"0 0 700 500\">\
               <path id=\"rest\" d=\"M50 50H650V250H350V450H50Z\"/></svg>";
    fs::write(folder.path().join("rest.svg"), svg).unwrap();
    let put = [
        "shelf",
        "shelf",
        "--cloth",
        "glass",
        "--drawing",
        "rest.svg",
        "--lot",
        "7",
    ];
    good(folder.path(), &put);
    let lines = journal(&folder.path().join("shelf"));
    let (area, lot) = &lines[0].on["glass-r1"];
    assert!(
        (area - (600.0 * 400.0 - 300.0 * 200.0)).abs() < 1.0,
        "{area} mm²"
    );
    assert_eq!(lot, "7");
    let two = svg.replace(
        "</svg>",
        "<path id=\"other\" d=\"M660 10H690V40H660Z\"/></svg>",
    );
    fs::write(folder.path().join("two.svg"), two).unwrap();
    let put = ["shelf", "shelf", "--cloth", "glass", "--drawing", "two.svg"];
    let (code, said) = run(folder.path(), &put);
    assert_eq!(code, 1);
    assert!(said.contains("does not hold one outline alone"), "{said}");
    assert_eq!(journal(&folder.path().join("shelf")).len(), 1);
}
