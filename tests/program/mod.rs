//! The program run from outside, as a person runs it.

use std::path::Path;

use assert_cmd::Command;

/// Exit code, standard output and standard error of the program, run in `folder`.
pub(crate) fn warpwise(folder: &Path, arguments: &[&str]) -> (i32, String, String) {
    let mut command = Command::cargo_bin("warpwise").unwrap();
    let done = command.args(arguments).current_dir(folder).output();
    let done = done.unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    let code = done.status.code().unwrap();
    (code, text(done.stdout), text(done.stderr))
}
