//! The guide in `examples/guide/` is true: its commands are run, what they print is what it shows, job files that it
//! quotes read so, pictures are what the program makes.
//!
//! In a page, a `sh` block holds commands; a `text` block after it what they print (problems before results, `…` alone on
//! a line for lines left out); a `toml` block is part of a job file. Comments add what no reader wants to see:
//! `<!-- picture: SHOWN is MADE -->` and `<!-- FILE says: TEXT -->`. `WARPWISE_RECORD=1` writes outputs and pictures anew.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fs;
use std::path::{Path, PathBuf};

use assert_cmd::Command;
use tempfile::TempDir;

/// What the shop has: a README that grows is a README that nobody loads.
const LARGEST_PICTURE: usize = 150_000;

fn repository() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn recording() -> bool {
    std::env::var_os("WARPWISE_RECORD").is_some()
}

/// A part of a page: lines of prose, or a fenced block with its language.
struct Block {
    language: Option<String>,
    lines: Vec<String>,
}

fn blocks_of(page: &str) -> Vec<Block> {
    let prose = || Block {
        language: None,
        lines: Vec::new(),
    };
    let mut blocks = vec![prose()];
    for line in page.lines() {
        let inside = blocks.last().unwrap().language.is_some();
        match line.strip_prefix("```") {
            Some(_) if inside => blocks.push(prose()),
            Some(language) => blocks.push(Block {
                language: Some(language.to_owned()),
                lines: Vec::new(),
            }),
            None => blocks.last_mut().unwrap().lines.push(line.to_owned()),
        }
    }
    assert!(
        blocks.last().unwrap().language.is_none(),
        "a block stays open"
    );
    blocks
}

fn page_of(blocks: &[Block]) -> String {
    let mut page = String::new();
    for block in blocks {
        let body = block.lines.iter().map(|line| format!("{line}\n"));
        match &block.language {
            None => page.extend(body),
            Some(language) => {
                page.push_str(&format!("```{language}\n"));
                page.extend(body);
                page.push_str("```\n");
            }
        }
    }
    page
}

/// The words of a command: divided by blanks, but for those in double quotes.
fn words(command: &str) -> Vec<String> {
    let mut words = vec![];
    for (i, part) in command.split('"').enumerate() {
        if i % 2 == 1 {
            words.push(part.to_owned());
        } else {
            words.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    words
}

/// What a person sees: problems, then results.
fn run(folder: &Path, command: &str) -> String {
    let words = words(command);
    assert_eq!(words[0], "warpwise", "`{command}` is no command of ours");
    let done = Command::cargo_bin("warpwise")
        .unwrap()
        .args(&words[1..])
        .current_dir(folder)
        .output()
        .unwrap();
    let text = |bytes| String::from_utf8(bytes).unwrap();
    let seen = text(done.stderr) + &text(done.stdout);
    assert!(done.status.success(), "`{command}`:\n{seen}");
    seen
}

/// Whether `seen` is what is `shown`, where `…` stands for any lines.
fn agrees(shown: &[String], seen: &[&str]) -> bool {
    let runs: Vec<&[String]> = shown.split(|line| line == "…").collect();
    let mut from = 0;
    for (i, run) in runs.iter().enumerate() {
        let found = (from..=seen.len()).find(|&at| {
            seen[at..].len() >= run.len() && run.iter().zip(&seen[at..]).all(|(a, b)| a == b)
        });
        match found {
            // The first run begins the output.
            Some(at) if i > 0 || at == 0 => from = at + run.len(),
            _ => return false,
        }
    }
    // The last run ends it.
    let last = runs.last().unwrap();
    seen.len() >= last.len()
        && seen[seen.len() - last.len()..]
            .iter()
            .zip(*last)
            .all(|(a, b)| a == b)
        && (runs.len() > 1 || from == seen.len())
}

/// The text of a page, without its tags.
fn text_of(html: &str) -> String {
    let mut text = String::new();
    let mut inside = false;
    for c in html.chars() {
        match c {
            '<' => inside = true,
            '>' => {
                inside = false;
                text.push(' ');
            }
            c if !inside => text.push(c),
            _ => {}
        }
    }
    let text = text.replace("&#39;", "'").replace("&amp;", "&");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// A folder with the drawings and jobs of the guide, as a reader finds them.
fn bench() -> TempDir {
    let bench = tempfile::tempdir().unwrap();
    for entry in fs::read_dir(repository().join("examples/guide")).unwrap() {
        let path = entry.unwrap().path();
        let kind = path
            .extension()
            .and_then(|e| e.to_str())
            .unwrap_or_default();
        let name = path.file_name().unwrap();
        // A job that a reader made here does not belong to the guide.
        let made = name == "lid.toml";
        if ["svg", "dxf", "toml"].contains(&kind) && !made {
            fs::copy(&path, bench.path().join(name)).unwrap();
        }
    }
    bench
}

/// Compares a picture with what was made just now, or records it.
fn compare_picture(shown: &Path, made: &[u8]) {
    assert!(
        made.len() <= LARGEST_PICTURE,
        "{} has {} bytes",
        shown.display(),
        made.len()
    );
    if recording() {
        fs::write(shown, made).unwrap();
    }
    let same = fs::read(shown).is_ok_and(|bytes| bytes == made);
    assert!(
        same,
        "{} is not what the program makes: WARPWISE_RECORD=1 cargo test --test guide",
        shown.display()
    );
}

fn check(name: &str) {
    let file = repository().join("examples/guide").join(name);
    let page = fs::read_to_string(&file).unwrap();
    let mut blocks = blocks_of(&page);
    let bench = bench();
    let (mut seen, mut n_commands) = (String::new(), 0);
    for block in &mut blocks {
        match block.language.as_deref() {
            Some("sh") => {
                seen = block
                    .lines
                    .iter()
                    .map(|command| run(bench.path(), command))
                    .collect();
                n_commands += block.lines.len();
            }
            Some("text") => {
                let printed: Vec<&str> = seen.lines().collect();
                let whole = !block.lines.iter().any(|line| line == "…");
                if recording() && whole {
                    block.lines = printed.iter().map(|&line| line.to_owned()).collect();
                }
                assert!(
                    agrees(&block.lines, &printed),
                    "{name} shows\n{}\nbut this is printed\n{seen}",
                    block.lines.join("\n")
                );
            }
            Some("toml") => {
                let quoted = block.lines.join("\n");
                let told = files_of(bench.path()).iter().any(|job| {
                    job.extension().is_some_and(|e| e == "toml")
                        && fs::read_to_string(job).unwrap().contains(&quoted)
                });
                assert!(told, "{name}: no job reads\n{quoted}");
            }
            Some(other) => panic!("{name}: a block of {other}"),
            None => check_prose(name, &block.lines, bench.path()),
        }
    }
    assert!(n_commands >= 2, "{name} has hardly a command");
    if recording() {
        fs::write(&file, page_of(&blocks)).unwrap();
    }
}

fn files_of(folder: &Path) -> Vec<PathBuf> {
    fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect()
}

/// What prose claims: pictures, texts of pages, names of files that were made, links.
fn check_prose(name: &str, lines: &[String], bench: &Path) {
    let guide = repository().join("examples/guide");
    let prose = lines.join("\n");
    for comment in prose
        .split("<!-- ")
        .skip(1)
        .map(|rest| rest.split_once(" -->").unwrap().0)
    {
        if let Some(picture) = comment.strip_prefix("picture: ") {
            let (shown, made) = picture.split_once(" is ").unwrap();
            compare_picture(&guide.join(shown), &fs::read(bench.join(made)).unwrap());
        } else {
            let (page, said) = comment.split_once(" says: ").unwrap();
            let text = text_of(&fs::read_to_string(bench.join(page)).unwrap());
            assert!(text.contains(said), "{name}: {page} does not say `{said}`");
        }
    }
    // Every other part is code.
    for path in prose.split('`').skip(1).step_by(2) {
        let (folder, inside) = path.split_once('/').unwrap_or((path, ""));
        if folder.ends_with("-plan") && !path.contains('"') {
            assert!(
                bench.join(folder).join(inside).exists(),
                "{name}: there is no {path}"
            );
        }
    }
    for link in prose
        .split("](")
        .skip(1)
        .map(|rest| rest.split_once(')').unwrap().0)
    {
        let file = link.split('#').next().unwrap();
        let there = link.contains("://") || guide.join(file).exists() || bench.join(file).exists();
        assert!(there, "{name}: a dead link {link}");
    }
}

#[test]
fn the_first_job_of_the_guide_is_true() {
    check("1-lid.md");
}

#[test]
fn the_second_job_of_the_guide_is_true() {
    check("2-panel.md");
}

#[test]
fn the_third_job_of_the_guide_is_true() {
    check("3-roof.md");
}

#[test]
fn outputs_agree_line_by_line_and_dots_leave_out() {
    let shown = |text: &str| text.lines().map(str::to_owned).collect::<Vec<_>>();
    let seen = ["a", "b", "c", "d"];
    for good in [
        "a\nb\nc\nd",
        "…",
        "a\n…",
        "…\nd",
        "…\nb\n…",
        "a\n…\nd",
        "a\n…\nc\n…",
    ] {
        assert!(agrees(&shown(good), &seen), "{good}");
    }
    for bad in [
        "",
        "a",
        "a\nb\nc",
        "b\n…",
        "…\nc",
        "…\nx\n…",
        "a\n…\nb",
        "a\n…\nd\n…\nb",
        "…\nc\nb\n…",
    ] {
        assert!(!agrees(&shown(bad), &seen), "{bad}");
    }
}

/// The roll that the README shows: the twill of the demo, after a short search.
#[test]
fn the_picture_of_the_readme_is_a_roll_of_the_demo() {
    let bench = tempfile::tempdir().unwrap();
    let job = fs::read_to_string(repository().join("examples/dinghy.toml")).unwrap();
    let patterns = repository()
        .join("patterns")
        .to_str()
        .unwrap()
        .replace('\\', "/");
    let job = job.replace("\"../patterns/", &format!("\"{patterns}/"));
    fs::write(
        bench.path().join("dinghy.toml"),
        job + "\n[output]\nfiles = [\"png\"]\n",
    )
    .unwrap();
    run(
        bench.path(),
        "warpwise plan dinghy.toml --effort quick --quiet",
    );
    let made = fs::read(bench.path().join("dinghy-plan/cut/twill.png")).unwrap();
    compare_picture(
        &repository().join("examples/pictures/dinghy-twill.png"),
        &made,
    );
}
