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
