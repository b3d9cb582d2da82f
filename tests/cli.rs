//! The command line as a whole: exit codes, what the program says of itself.

#![allow(clippy::unwrap_used, reason = "a test stops at its first surprise")]

mod program;

use std::fs;
use std::path::Path;

use program::warpwise;

/// The codes that scripts rely on; they stand in the help, the README and the man pages too.
#[test]
fn exit_codes_are_what_they_are_said_to_be() {
    let temp = tempfile::tempdir().unwrap();
    let repository = Path::new(env!("CARGO_MANIFEST_DIR"));
    let demo = repository.join("examples/dinghy.toml");
    let demo = demo.to_str().unwrap();
    fs::write(temp.path().join("bad.toml"), "titel = 1\n").unwrap();
    fs::create_dir(temp.path().join("taken")).unwrap();
    fs::write(temp.path().join("taken/mine.txt"), "mine").unwrap();
    for (arguments, code) in [
        (&["check", demo, "--quiet"][..], 0),
        (&["--help"], 0),
        (&["--version"], 0),
        (&["check", "bad.toml"], 1),
        (&["check", "none.toml"], 1),
        (&["plan", "bad.toml"], 1),
        (&["inspect", "none.svg"], 1),
        (&["plan"], 2),
        (&["plan", demo, "--effort", "hard"], 2),
        (&["plan", demo, "--port", "80"], 2),
        (&["completions", "cmd"], 2),
        (&["plan", demo, "--out", "taken"], 3),
        (&["man", "bad.toml"], 3),
    ] {
        let (found, said, complained) = warpwise(temp.path(), arguments);
        assert_eq!(found, code, "{arguments:?}\n{said}{complained}");
        // Every refusal says why.
        assert_eq!(
            complained.is_empty(),
            code == 0,
            "{arguments:?}\n{complained}"
        );
    }
    let (_, help, _) = warpwise(temp.path(), &["--help"]);
    let readme = fs::read_to_string(repository.join("README.md")).unwrap();
    for code in ["0", "1", "2", "3", "130"] {
        assert!(
            help.lines()
                .any(|line| line.trim_start().starts_with(&format!("{code} ")))
        );
        assert!(
            readme.contains(&format!("\n| {code} |")),
            "{code} is not in the README"
        );
    }
}

#[test]
fn every_command_has_a_man_page_and_an_example() {
    let temp = tempfile::tempdir().unwrap();
    assert_eq!(warpwise(temp.path(), &["man", "pages"]).0, 0);
    let (_, help, _) = warpwise(temp.path(), &["--help"]);
    let (_, after) = help.split_once("Commands:").unwrap();
    let commands = after.lines().skip(1).take_while(|line| !line.is_empty());
    let names = commands.filter_map(|line| line.strip_prefix("  ")?.split(' ').next());
    let mut n = 0;
    for name in names.filter(|name| !name.is_empty() && *name != "help") {
        let file = temp.path().join(format!("pages/warpwise-{name}.1"));
        let page = fs::read_to_string(&file).unwrap_or_else(|_| panic!("no page for {name}"));
        assert!(
            page.contains("EXIT STATUS") && page.contains("EXAMPLES"),
            "{name}"
        );
        n += 1;
    }
    assert!(n >= 8, "only {n} commands");
    assert!(temp.path().join("pages/warpwise.1").exists());
}

#[test]
fn schema_and_completions_are_printed() {
    let here = Path::new(".");
    let (code, schema, _) = warpwise(here, &["schema"]);
    let schema: serde_json::Value = serde_json::from_str(&schema).unwrap();
    assert_eq!((code, &schema), (0, &warpwise::job::schema()));
    let (_, reference, _) = warpwise(here, &["schema", "--markdown"]);
    assert_eq!(reference, warpwise::job::reference());
    for shell in ["bash", "zsh", "fish", "powershell", "elvish"] {
        let (code, script, _) = warpwise(here, &["completions", shell]);
        assert!(code == 0 && script.contains("cost-per-set"), "{shell}");
    }
}

/// A drawing in inches is told in inches, a width that will not do names its piece, a roll of tape its usual length.
#[test]
fn inches_widths_and_rolls_of_tape_are_told_as_they_are() {
    let temp = tempfile::tempdir().unwrap();
    let here = temp.path();
    let drawing = "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"10in\" height=\"8in\" viewBox=\"0 0 10 8\">\
                   <path d=\"M1 1H9V7H1Z\"/></svg>";
    fs::write(here.join("lid.svg"), drawing).unwrap();
    let (_, said, _) = warpwise(here, &["inspect", "lid.svg"]);
    assert!(
        said.contains("unit in,") && said.contains("203.2 × 152.4"),
        "{said}"
    );

    let job = "[cutting]\ntrim = \"10 mm\"\n[cloth.glass]\nweave = \"plain\"\nareal_weight = \"200 g/m2\"\n\
               roll_width = \"50 in\"\nprice = \"10 EUR/m\"\n[[cloth.glass.offer]]\nroll_width = \"5 in\"\n\
               price = \"1 EUR/m\"\n[[part]]\nname = \"LID\"\npattern = \"lid.svg\"\ncloth = \"glass\"\nlayup = \"[0]\"\n";
    fs::write(here.join("lid.toml"), job).unwrap();
    let plan = [
        "plan", "lid.toml", "--effort", "quick", "--out", "out", "--quiet",
    ];
    assert_eq!(warpwise(here, &plan).0, 0);
    let plan: serde_json::Value =
        serde_json::from_slice(&fs::read(here.join("out/plan.json")).unwrap()).unwrap();
    // 152.4 and two trims of 10 mm.
    let why = plan["purchase"][0]["alternatives"][1]["misfit"]
        .as_str()
        .unwrap();
    assert!(
        why.starts_with("ply 1 of part `LID` is") && why.contains("the piece is 172.4 mm"),
        "{why}"
    );

    fs::write(
        here.join("lid.toml"),
        format!("{job}[bag]\ntape_roll = \"0 ft\"\n"),
    )
    .unwrap();
    let (code, _, complained) = warpwise(here, &["check", "lid.toml"]);
    let is_told = complained.contains("`tape_roll` is not above zero")
        && complained.contains("`tape_roll = \"25 ft\"`");
    assert!(code == 1 && is_told, "{complained}");
}
