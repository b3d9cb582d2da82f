//! Nothing that a job, a drawing, a stock file, a path or an option carries acts on the terminal, nor
//! on whatever a pipe leads to.

#![cfg(unix)]
#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

use std::fs::{self, File};
use std::io::Read;
use std::os::unix::ffi::OsStrExt as _;
use std::os::unix::process::ExitStatusExt as _;
use std::path::Path;
use std::process::{Command, Stdio};

use rustix::process::{Pid, Signal, kill_process};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use warpwise::diag::{TextColour, is_active};
use warpwise::job::Job;

/// A title for the window, a blinking colour, a C1 colour, a text turned round, a new line, a deletion.
const EVIL: &str = "\u{1b}]0;x\u{7}\u{1b}[5;35;45m\u{9b}5;35;45m\u{202e}\u{85}\u{7f}\u{8}";
/// XML permits no C0.
const IN_XML: &str = "\u{9b}5;35;45m\u{202e}\u{85}\u{2066}";

/// As TOML writes any text.
fn quoted(text: &str) -> String {
    let escaped = text.chars().map(|c| format!("\\U{:08X}", u32::from(c)));
    format!("\"{}\"", escaped.collect::<String>())
}

/// A folder where everything that has a name has an evil one.
fn bench() -> tempfile::TempDir {
    let temp = tempfile::tempdir().unwrap();
    let write = |name: &str, text: &str| fs::write(temp.path().join(name), text).unwrap();
    let drawing = |inside: &str| {
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" xmlns:i=\"http://www.inkscape.org/namespaces/inkscape\" \
             width=\"400mm\" height=\"300mm\" viewBox=\"0 0 400 300\"><title>{IN_XML}</title>\
             <g id=\"g{IN_XML}\" i:groupmode=\"layer\" i:label=\"L{IN_XML}\">\
             <path id=\"x{IN_XML}\" class=\"c{IN_XML}\" d=\"M10 10H310V210L10 260Z\"/>{inside}</g></svg>"
        )
    };
    write("a.svg", &drawing(""));
    write(
        "faulty.svg",
        &drawing(&format!(
            "<path id=\"y{IN_XML}\" d=\"M10 10H310\"/><path id=\"z{IN_XML}\" d=\"M10 10H20V20{IN_XML}\"/>\
             <image id=\"i{IN_XML}\"/><use id=\"u{IN_XML}\" href=\"#{IN_XML}\"/>\
             <path id=\"t{IN_XML}\" transform=\"{IN_XML}\" style=\"{IN_XML}:{IN_XML}\" d=\"M10 10H20V20Z\"/>\
             <text id=\"s{IN_XML}\" x=\"50\" y=\"50\">T{IN_XML}</text>"
        )),
    );
    write(
        "broken.svg",
        &format!("<svg xmlns=\"http://www.w3.org/2000/svg\"><g id=\"{EVIL}\"/></b{EVIL}>"),
    );
    let line = |flag: u8, end: &str| {
        format!(
            "0\nLWPOLYLINE\n5\n{EVIL}\n8\nL{EVIL}\n90\n3\n70\n{flag}\n10\n0\n20\n0\n10\n90\n20\n0\n10\n90\n20\n{end}\n"
        )
    };
    let dxf = |inside: &str| format!("0\nSECTION\n2\nENTITIES\n{inside}0\nENDSEC\n0\nEOF\n");
    write("a.dxf", &dxf(&line(1, "90")));
    let text = format!(
        "0\nTEXT\n8\nL{EVIL}\n10\n5\n20\n5\n40\n2\n1\nT{EVIL}\n0\nX{EVIL}\n8\n0\n0\nINSERT\n8\n0\n2\n{EVIL}\n"
    );
    write(
        "faulty.dxf",
        &dxf(&[&line(0, "90")[..], &line(1, "90"), &text].concat()),
    );
    write("broken.dxf", &dxf(&line(1, EVIL)));
    let evil = quoted(EVIL);
    let cloth = format!(
        "[cloth.{evil}]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n"
    );
    let part = |name: &str, pattern: &str| {
        format!("[[part]]\nname = {name}\npattern = {pattern}\ncloth = {evil}\nlayup = \"[0]\"\n")
    };
    write(
        "a.toml",
        &format!("title = {evil}\n{cloth}{}", part("\"P\"", "\"a.svg\"")),
    );
    write(
        "named.toml",
        &format!("title = {evil}\n{cloth}{}", part(&evil, "\"a.svg\"")),
    );
    write("no-drawing.toml", &format!("{cloth}{}", part(&evil, &evil)));
    let shelf = "[[cloth.glass.stock]]\nfile = \"stock.json\"\n";
    let glass =
        "[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\nroll_width = \"1 m\"\n";
    let plain = part("\"P\"", "\"a.svg\"").replace(&evil, "\"glass\"");
    write("stock.toml", &format!("{glass}{shelf}{plain}"));
    let in_json = EVIL
        .chars()
        .map(|c| format!("\\u{:04x}", u32::from(c)))
        .collect::<String>();
    write(
        "stock.json",
        &format!(
            "{{\"warpwise_remnant\":1,\"units\":\"mm\",\"cloth\":\"{in_json}\",\"name\":\"{in_json}\",\
             \"outline\":{{\"outer\":[[0.0,0.0],[900.0,0.0],[900.0,900.0],[0.0,900.0]]}}}}"
        ),
    );
    write(
        &format!("b{EVIL}.toml"),
        &format!("{cloth}# {EVIL}\nx{EVIL} = 1\n"),
    );
    write(&format!("b{EVIL}.svg"), &drawing(""));
    let shelf = "shelf = \"shelf\"\n";
    write(
        "kept.toml",
        &format!("title = {evil}\n{shelf}{cloth}{}", part(&evil, "\"a.svg\"")),
    );
    let evil_json = in_json.as_str();
    write(
        "named-record.jsonl",
        &format!(
            "{{\"time\":\"\",\"sheet\":\"layup/{evil_json}.html\",\"what\":\"blank 1 Weight\",\"is\":\"{evil_json}\"}}\n\
             {{\"time\":\"\",\"sheet\":\"layup/kit-list.html\",\"what\":\"blank 1 Off the roll of {evil_json}\",\"is\":\"3 m\"}}\n"
        ),
    );
    // A picture that says what it is, and then nothing that a decoder would know.
    let mut picture = b"\x89PNG\r\n\x1a\n\0\0\0\x05".to_vec();
    picture.extend(EVIL.as_bytes());
    fs::write(temp.path().join("p.png"), &picture).unwrap();
    fs::write(temp.path().join(format!("p{EVIL}.png")), &picture).unwrap();
    let camera = [b"\xff\xd8\xff\xfe\0\x40", EVIL.as_bytes(), &[b' '; 64]].concat();
    fs::write(temp.path().join("p.jpg"), camera).unwrap();
    temp
}

/// Where a command prints to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum To {
    Pipe,
    Terminal,
}

/// Everything that a command prints; one that goes on is ended as soon as it has said `until`.
fn printed(folder: &Path, arguments: &[&str], to: To, until: Option<&str>) -> Vec<u8> {
    let mut command = Command::new(env!("CARGO_BIN_EXE_warpwise"));
    command
        .args(arguments)
        .current_dir(folder)
        .stdin(Stdio::null());
    command.env("TERM", "xterm-256color").env_remove("NO_COLOR");
    let (mut read, write): (File, File) = match to {
        To::Pipe => {
            let (read, write) = std::io::pipe().unwrap();
            (
                File::from(std::os::fd::OwnedFd::from(read)),
                File::from(std::os::fd::OwnedFd::from(write)),
            )
        }
        To::Terminal => {
            let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
            grantpt(&ours).unwrap();
            unlockpt(&ours).unwrap();
            let name = ptsname(&ours, Vec::new()).unwrap();
            let theirs = std::ffi::OsStr::from_bytes(name.as_bytes());
            (
                ours.into(),
                File::options().read(true).write(true).open(theirs).unwrap(),
            )
        }
    };
    command.stdout(write.try_clone().unwrap()).stderr(write);
    let mut child = command.spawn().unwrap();
    // Its copies of the other end keep the reading from ending.
    drop(command);
    let mut all = Vec::new();
    let mut buffer = [0; 4096];
    let mut until = until;
    // A terminal whose last writer has gone ends with an error.
    while let Ok(n @ 1..) = read.read(&mut buffer) {
        all.extend_from_slice(&buffer[..n]);
        if until.is_some_and(|word| String::from_utf8_lossy(&all).contains(word)) {
            until = None;
            kill_process(Pid::from_child(&child), Signal::INT).unwrap();
        }
    }
    let status = child.wait().unwrap();
    assert!(
        status.signal().is_none() && status.code() != Some(101),
        "{arguments:?}: {status}"
    );
    all
}

/// What is left of `text` without the colours and moves of the cursor that the program itself uses.
fn without_own_styles(text: &str) -> String {
    let mut left = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once("\u{1b}[") {
        left.push_str(before);
        let end = after.find(|c: char| !c.is_ascii_digit() && c != ';' && c != '?');
        let end = end.unwrap_or(after.len());
        let is_own = after[end..].starts_with(['m', 'K', 'A', 'B', 'G', 'J', 'h', 'l'])
            && &after[..end] != "5;35;45";
        if !is_own {
            left.push_str("\u{1b}[");
        }
        rest = if is_own { &after[end + 1..] } else { after };
    }
    left + rest
}

fn assert_safe(bytes: &[u8], to: To, what: &dyn std::fmt::Debug) {
    let text = String::from_utf8_lossy(bytes);
    let text = match to {
        To::Pipe => text.into_owned(),
        To::Terminal => without_own_styles(&text).replace('\r', ""),
    };
    let active = text.chars().find(|&c| is_active(c));
    assert_eq!(active, None, "{what:?} to a {to:?}: {text:?}");
}

#[test]
fn no_command_passes_on_what_acts_on_a_terminal() {
    let temp = bench();
    let here = temp.path();
    let (bad_job, bad_drawing) = (&format!("b{EVIL}.toml")[..], &format!("b{EVIL}.svg")[..]);
    let (bad_out, bad_file) = (&format!("o{EVIL}")[..], &format!("f{EVIL}.svg")[..]);
    let bad_folder = &format!("m{EVIL}")[..];
    let bad_html = &format!("h{EVIL}.html")[..];
    let (bad_pdf, bad_picture) = (&format!("b{EVIL}.pdf")[..], &format!("p{EVIL}.png")[..]);
    let bad_lot = &format!("{EVIL}={EVIL}")[..];
    let bad_option = &format!("--{EVIL}")[..];
    let quick = ["--effort", "quick", "--threads", "1"];
    let mut commands: Vec<Vec<&str>> = Vec::new();
    for drawing in [
        "a.svg",
        "a.dxf",
        "faulty.svg",
        "faulty.dxf",
        "broken.svg",
        "broken.dxf",
        bad_drawing,
    ] {
        commands.push(vec!["inspect", drawing]);
        commands.push(vec!["inspect", drawing, "--json"]);
    }
    for job in [
        "a.toml",
        "named.toml",
        "no-drawing.toml",
        "stock.toml",
        bad_job,
        bad_drawing,
    ] {
        commands.push(vec!["check", job]);
        commands.push(vec!["check", job, "--json"]);
        commands.push([&["plan", job, "--out", bad_out][..], &quick].concat());
        commands.push([&["plan", job, "--out", bad_out, "--json"][..], &quick].concat());
    }
    for job in ["a.toml", "no-drawing.toml"] {
        commands.push([&["compare", job, "--html", bad_html][..], &quick].concat());
        commands.push([&["compare", job, "--json"][..], &quick].concat());
    }
    commands.extend([
        vec!["inspect", "a.svg", "--svg", bad_file],
        // Not its own.
        vec!["inspect", "a.svg", "--svg", bad_drawing],
        vec!["plan", "a.toml", "--out", bad_drawing],
        vec!["new", "a.svg", "--out", bad_drawing],
        vec!["new", "a.svg", "faulty.dxf", "--out", "new.toml"],
        vec!["new", bad_drawing],
        vec![
            "new", "a.svg", "--out", "w.toml", "--weave", EVIL, "--layup", EVIL, "--price", EVIL,
        ],
        vec!["new", "a.svg", "--out", "u.toml", "--units", EVIL],
        vec!["man", bad_folder],
        vec!["completions", EVIL],
        vec!["schema", EVIL],
        vec!["schema"],
        vec![EVIL],
        vec![bad_option],
        vec!["plan", "a.toml", bad_option, EVIL],
        vec!["plan", "a.toml", "--effort", EVIL],
        vec!["plan", "a.toml", "--threads", EVIL],
        vec!["compare", "a.toml", "--widths", EVIL],
        vec!["board", bad_pdf],
        vec!["board", bad_pdf, "--replace"],
        vec!["board", bad_drawing],
        vec!["board", "b.pdf", "--paper", EVIL],
        vec!["board", "b.pdf", "--width", EVIL],
        vec!["board", "--check", bad_drawing],
        vec!["board", "--check", bad_picture],
        vec!["board", "--check", "p.png", "--board-width", EVIL],
        vec!["board", "--check", "p.png"],
        vec!["board", "--check", "p.jpg"],
        vec!["inspect", "p.png", "p.jpg", bad_picture],
        vec!["open", EVIL],
        vec!["open", bad_drawing, bad_job],
        vec!["open", "a.toml", "--port", EVIL],
        vec!["shop", bad_job],
        vec!["shop", "--new", bad_drawing],
        vec!["shelf", bad_folder],
        vec![
            "shelf",
            "shelf",
            "--lot",
            EVIL,
            "--who",
            EVIL,
            "--put",
            "stock.json",
        ],
        vec![
            "shelf", "shelf", "--cloth", EVIL, "--length", "900 mm", "--width", "400 mm", "--name",
            EVIL, "--lot", EVIL,
        ],
        vec![
            "shelf", "shelf", "--cloth", EVIL, "--length", EVIL, "--width", EVIL,
        ],
        vec!["shelf", "shelf"],
        vec!["shelf", "shelf", "--json"],
        vec!["shelf", "shelf", "--journal"],
        vec!["shelf", "shelf", "--scrap", EVIL],
        vec!["shelf", "shelf", "--release", EVIL],
        [&["plan", "kept.toml", "--out", bad_out][..], &quick].concat(),
        vec!["cut", "kept.toml", "--who", EVIL, "--lot", bad_lot],
        vec!["cut", "kept.toml", "--lot", EVIL],
        vec!["cut", bad_job],
        vec!["made", "named.toml", "--out", bad_out],
        vec!["made", "named.toml", "--out", bad_out, "--json"],
        vec!["made", "a.toml", "--out", bad_folder],
        vec!["made", bad_job],
        vec!["made", "kept.toml", "--out", bad_drawing],
        vec!["shelf", "shelf", "--journal"],
        vec!["again", "kept.toml", EVIL, "--out", bad_out],
        vec!["again", "kept.toml", "P-1", "--out", bad_out],
        vec!["again", bad_job, "P-1"],
    ]);
    for to in [To::Pipe, To::Terminal] {
        for arguments in &commands {
            assert_safe(&printed(here, arguments, to, None), to, arguments);
            // Written again by the next one.
            for made in ["new.toml", "w.toml", "u.toml"] {
                _ = fs::remove_file(here.join(made));
            }
        }
        for job in ["a.toml", "no-drawing.toml"] {
            let arguments = [
                "plan",
                job,
                "--watch",
                "--port",
                "0",
                "--threads",
                "1",
                "--out",
                bad_out,
            ];
            let said = printed(here, &arguments, to, Some("Watching "));
            assert!(String::from_utf8_lossy(&said).contains("Watching has ended"));
            assert_safe(&said, to, &arguments);
        }
        for file in [
            "a.toml",
            "named.toml",
            "no-drawing.toml",
            "faulty.svg",
            bad_drawing,
        ] {
            let arguments = ["open", file, "--no-browser", "--port", "0"];
            let said = printed(here, &arguments, to, Some("http://"));
            let is_shown = String::from_utf8_lossy(&said).contains("http://");
            assert!(is_shown || file.contains("faulty"), "{file}");
            assert_safe(&said, to, &arguments);
        }
    }
}

/// Whoever adds a command adds what it prints to the tests above.
#[test]
fn every_command_is_among_them() {
    let here = Path::new(env!("CARGO_MANIFEST_DIR"));
    let help = String::from_utf8(printed(here, &["--help"], To::Pipe, None)).unwrap();
    let (_, after) = help.split_once("Commands:").unwrap();
    let lines = after.lines().skip(1).take_while(|line| !line.is_empty());
    let names = lines.filter_map(|line| line.strip_prefix("  ")?.split(' ').next());
    let names: Vec<&str> = names.filter(|name| !name.is_empty()).collect();
    assert!(names.len() > 10);
    for name in names.into_iter().filter(|name| *name != "help") {
        assert!(
            include_str!("terminal.rs").contains(&format!("[\"{name}\"")),
            "{name}"
        );
    }
}

/// Each key of the demo in turn with an evil value and an evil name.
#[test]
fn no_problem_with_a_job_passes_on_what_acts_on_a_terminal() {
    let job =
        fs::read_to_string(Path::new(env!("CARGO_MANIFEST_DIR")).join("examples/dinghy.toml"))
            .unwrap();
    let lines: Vec<&str> = job.lines().collect();
    let mut n_problems = 0;
    for (number, line) in lines.iter().enumerate() {
        let evil = quoted(EVIL);
        let mut changed = Vec::new();
        if let Some((key, value)) = line.split_once(" = ") {
            changed.push(format!("{key} = {evil}"));
            changed.push(format!("{key} = \"{EVIL}\""));
            changed.push(format!("{evil} = {value}"));
            changed.push(format!("{key} = [{evil}, {{ {evil} = {evil} }}]"));
        } else if line.starts_with('[') {
            changed.push(format!("[{evil}]"));
            changed.push(format!("[[cloth.{evil}.{evil}]]"));
        }
        for change in changed {
            let mut lines = lines.clone();
            lines[number] = &change;
            let name = format!("job{EVIL}.toml");
            let said = match Job::read(&name, &lines.join("\n")) {
                Ok((_, said)) | Err(said) => said,
            };
            for problem in said.iter() {
                n_problems += 1;
                let text = problem.render(TextColour::Ansi);
                assert_safe(text.as_bytes(), To::Terminal, &change);
                assert_safe(
                    problem.render(TextColour::Plain).as_bytes(),
                    To::Pipe,
                    &change,
                );
            }
        }
    }
    assert!(n_problems > 300, "{n_problems}");
}
